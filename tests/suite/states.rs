//! What became of a visit is said alike by every command: one was made but for an area, one was not made, one has a log that is not
//! whole, one is still to come. The sums are worked out here, from what the logs say and the sizes of the table of sites.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde_json::Value;
use tempfile::TempDir;

use crate::support::program::{Outcome, decant};
use crate::support::workspace::{change, json, read, says, short_contract, write};

const MADE: &str = "gull-20260413";
const NOT_MADE: &str = "house-20260413";
const WITHHELD: &str = "north-20260413";
const TO_COME: [&str; 3] = ["gull-20260427", "house-20260427", "north-20260427"];

/// Product of each load as the logs have it, in hundredths of a fluid ounce.
const MADE_LOADS: [u32; 7] = [44, 44, 44, 44, 44, 2350, 1600];
const WITHHELD_LOADS: [u32; 2] = [50, 1150];

/// A site of the table: hall by its sides, and counters, in feet. The walls of a hall are treated up to 3 ft.
const MADE_AREA: u32 = 40 * 55 + 2 * (40 + 55) * 3 + 180;
const WITHHELD_AREA: u32 = 24 * 18 + 2 * (24 + 18) * 3 + 25;

fn night() -> (TempDir, PathBuf) {
    let tuesdays = "  - { rule: FREQ=MONTHLY;BYDAY=1TU, from: 2026-05-05, routes: south }";
    let (folder, contract) = short_contract("2026-04-30", "2026-04-29", tuesdays, "20260413");
    change(&folder.path().join("company.yaml"), "\npublish:", "\nmail: { from: records@tern.example }\npublish:");
    let load = |treatment: u32, load: usize, at: &str, water: &str, product: u32| {
        let product = format!("{}.{:02}", product / 100, product % 100);
        format!(
            "  - {{ treatment: {treatment}, load: {load}, lot: SQ-2603-07, mixed: 2026-04-13T{at}, by: R. Okafor, reading: 1200 ppm, water: {water}, product: {product} fl oz }}\n"
        )
    };
    let mut made = "loads:\n".to_owned();
    for (n, at) in ["18:11", "18:24", "18:37", "18:49", "19:02"].into_iter().enumerate() {
        made += &load(1, n + 1, at, "28 fl oz", MADE_LOADS[n]);
    }
    made += &load(2, 1, "19:24", "11.75 gal", MADE_LOADS[5]);
    made += &load(2, 2, "20:42", "8 gal", MADE_LOADS[6]);
    made += "areas:
  - { treatment: 1, area: Counters, started: 2026-04-13T18:12, finished: 2026-04-13T19:07, wet_until: 2026-04-13T19:18 }
  - { treatment: 2, area: Hall, started: 2026-04-13T19:25, finished: 2026-04-13T20:57, wet_until: 2026-04-13T21:08 }
  - { treatment: 2, area: Restrooms, skipped: in use }
";
    write(contract.join("logs").join(format!("{MADE}.yaml")), made);
    let not_made = "loads:
  - { treatment: 1, load: 1, skipped: gate locked }
  - { treatment: 1, load: 2, skipped: gate locked }
  - { treatment: 2, load: 1, skipped: gate locked }
areas:
  - { treatment: 1, area: Counters, skipped: gate locked }
  - { treatment: 2, area: Hall, skipped: gate locked }
";
    write(contract.join("logs").join(format!("{NOT_MADE}.yaml")), not_made);
    let mut withheld = "loads:\n".to_owned();
    withheld += &load(1, 1, "23:11", "28 fl oz", WITHHELD_LOADS[0]);
    withheld += &load(2, 1, "23:34", "5.5 gal", WITHHELD_LOADS[1]);
    withheld += "areas:
  - { treatment: 1, area: Counters, started: 2026-04-13T23:12, finished: 2026-04-13T23:16, wet_until: 2026-04-13T23:27 }
  - { treatment: 2, area: Hall, started: 2026-04-13T23:35, finished: 2026-04-13T23:56, wet_until: 2026-04-14T00:07 }
";
    write(contract.join("logs").join(format!("{WITHHELD}.yaml")), withheld);
    decant(&contract, ["batch", "contract.yaml", "-o", "out"]).must_end_with(0);
    (folder, contract)
}

/// What a command calls each visit.
fn of(called: [&str; 4]) -> BTreeMap<String, &str> {
    let [made, not_made, withheld, to_come] = called;
    let past = [(MADE, made), (NOT_MADE, not_made), (WITHHELD, withheld)];
    past.into_iter().chain(TO_COME.map(|job| (job, to_come))).map(|(job, state)| (job.to_owned(), state)).collect()
}

fn each<'a>(list: &'a Value, key: &str, state: &str) -> BTreeMap<String, &'a str> {
    let word = |value: &'a Value| value.as_str().unwrap_or_default();
    list.as_array().expect("a list").iter().map(|one| (word(&one[key]).to_owned(), word(&one[state]))).collect()
}

fn run(contract: &Path, command: &str, more: &[&str]) -> Outcome {
    decant(contract, [&[command, "contract.yaml"], more].concat())
}

/// Rows of a CSV without its head, each cut into its cells.
fn rows(text: &str) -> Vec<Vec<&str>> {
    text.lines().skip(1).map(|line| line.split(',').collect()).collect()
}

/// Product in fluid ounces and area in square feet by site, as the register and the service report have them.
fn used(text: &str) -> BTreeMap<&str, (f64, f64)> {
    let figure = |cell: &str| cell.parse::<f64>().expect("a figure");
    // 1 ft is 0.3048 m by definition
    let cells = |row: &Vec<_>| (figure(row[8]), (figure(row[11]) / (0.3048 * 0.3048) * 10.0).round() / 10.0);
    rows(text).iter().map(|row| (row[0], cells(row))).collect()
}

#[test]
fn every_command_says_the_same_of_a_visit() {
    let (_folder, contract) = night();
    let status = run(&contract, "status", &["--from", "2026-04-13", "--to", "2026-04-30", "--json"]).must_end_with(0);
    let status: Value = serde_json::from_str(&status.stdout).expect("JSON");
    let stands = each(&status["visits"], "job", "stands");
    let past = [(MADE, "ready"), (NOT_MADE, "not-made"), (WITHHELD, "withheld")];
    past.iter().for_each(|(job, state)| assert_eq!(stands[*job], *state));

    let manifest = json(contract.join("out/manifest.json"));
    let mut visits = each(&manifest["jobs"], "job", "visit");
    visits.retain(|_, visit| !visit.is_empty());
    assert_eq!(visits, of(["deviates", "not-made", "withheld", "not-yet"]));

    let report = "HB-26-service-report";
    run(&contract, "service-report", &["-o", "report"]).must_end_with(0);
    let visits = read(contract.join(format!("report/{report}-visits.csv")));
    let found: BTreeMap<String, &str> = rows(&visits).iter().map(|row| (row[0].to_owned(), row[3])).collect();
    assert_eq!(found, of(["deviates", "not-made", "withheld", "not-yet"]));
    // readings of what was mixed alone
    let count =
        |cell: usize| rows(&visits).iter().map(|row| row[cell].parse::<usize>().expect("a count")).sum::<usize>();
    assert_eq!(count(5), MADE_LOADS.len() + WITHHELD_LOADS.len());

    run(&contract, "page", &["-o", "site"]).must_end_with(0);
    let records = json(contract.join("site/records.json"));
    let listed: BTreeMap<String, &str> = each(&records["records"], "number", "state")
        .into_iter()
        .map(|(number, state)| (number.rsplit_once('-').expect("a digest").0.to_owned(), state))
        .collect();
    let mut wanted = of(["deviates", "not-made", "pending", ""]);
    wanted.retain(|_, state| !state.is_empty());
    assert_eq!(listed, wanted);

    let calendar = run(&contract, "calendar", &["-o", "visits.ics"]).must_end_with(0);
    assert_eq!(calendar.stderr, "");
    let calendar = read(contract.join("visits.ics")).replace("\r\n ", "");
    let events: Vec<&str> = calendar.split("BEGIN:VEVENT").skip(1).collect();
    assert_eq!(events.len(), 6);
    for event in events {
        assert_eq!(event.contains("STATUS:CANCELLED"), event.contains(NOT_MADE), "{event}");
    }

    let named = [MADE, NOT_MADE, WITHHELD].map(|job| format!("out/jobs/{job}.yaml"));
    let open = decant(&contract, ["log".to_owned()].into_iter().chain(named)).must_end_with(3);
    assert_eq!(open.stdout.matches("This visit was not made.").count(), 1);
    says(&open.stdout, &[&format!("{NOT_MADE}  Old Customs House\n  This visit was not made.")]);

    // one line of those that are to come, however many; no fault where nothing is due
    let mail = run(&contract, "mail", &["--dry-run"]).must_end_with(1);
    says(
        &mail.stderr,
        &[
            &format!("{NOT_MADE}: not made: there is no certificate, and nothing is mailed\n"),
            &format!("{}: no service log yet, and nothing is mailed\n", TO_COME.join(", ")),
            &format!("The certificate of job {WITHHELD} is withheld"),
        ],
    );
    assert_eq!(mail.stdout.matches(", revision 1, to ").count(), 1, "{}", mail.stdout);
    let due = ["out/jobs/gull-20260413.yaml", "out/jobs/house-20260413.yaml", "out/jobs/gull-20260427.yaml"];
    let mail = |jobs: &[&str]| decant(&contract, [&["mail"], jobs, &["--documents", "out", "--dry-run"]].concat());
    mail(&due).must_end_with(0);
    mail(&due[1..]).must_end_with(3);

    let labels = run(&contract, "labels", &["--on", "2026-04-13", "-o", "night.pdf"]).must_end_with(0);
    assert_eq!(labels.stderr.matches("was not made").count(), 1, "{}", labels.stderr);
    let none = decant(&contract, ["labels", due[1], "-o", "one.pdf"]).must_end_with(2);
    says(&none.stderr, &["none of these visits was made, and no label is printed"]);
    assert!(!contract.join("one.pdf").exists());

    let summary = read(contract.join("out/summary.csv"));
    // the address is quoted, and has commas
    let loads = |state: &str| summary.lines().skip(1).filter(|line| line.contains(&format!(",{state},"))).count();
    let made = MADE_LOADS.len() + WITHHELD_LOADS.len();
    assert_eq!([loads("mixed"), loads("skipped"), loads("planned")], [made, 3, 7 + 3 + 2]);
}

#[test]
fn registers_count_what_was_done_alone() {
    let (_folder, contract) = night();
    let sum = |loads: &[u32]| f64::from(loads.iter().sum::<u32>()) / 100.0;
    let wanted = BTreeMap::from([
        ("Gull Point Ferry Terminal", (sum(&MADE_LOADS), f64::from(MADE_AREA))),
        ("North Pier Waiting Room", (sum(&WITHHELD_LOADS), f64::from(WITHHELD_AREA))),
    ]);
    run(&contract, "register", &["-o", "register"]).must_end_with(0);
    let register = read(contract.join("register/register.csv"));
    assert_eq!(used(&register), wanted, "{register}");
    assert_eq!(rows(&register).len(), 2, "{register}");
    run(&contract, "service-report", &["-o", "report"]).must_end_with(0);
    let products = read(contract.join("report/HB-26-service-report-products.csv"));
    assert_eq!(used(&products), wanted, "{products}");
    // and so does the report of the batch, whose visits may be issued
    let products = read(contract.join("out/HB-26-service-report/HB-26-service-report-products.csv"));
    assert_eq!(used(&products), wanted, "{products}");
    // the whole night comes to nothing where nobody was let in
    for job in [MADE, WITHHELD] {
        write(contract.join(format!("logs/{job}.yaml")), "loads: []\nareas: {}\n");
    }
    decant(&contract, ["register", "out/house-20260413", "-o", "none"]).must_end_with(0);
    assert_eq!(rows(&read(contract.join("none/register.csv"))).len(), 0);
}
