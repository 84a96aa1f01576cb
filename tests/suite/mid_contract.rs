//! Changes in mid-contract: what was made stays as it was made, and what is to come follows the contract.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;
use tempfile::TempDir;

use crate::support::program::{Outcome, decant};
use crate::support::workspace::{change, digests, json, names, read, remove, says, short_contract, states, write};

/// Two nights of the sample contract on the northern route: 13 and 27 April, logs of the first.
fn season() -> (TempDir, PathBuf) {
    let tuesdays = "  - { rule: FREQ=MONTHLY;BYDAY=1TU, from: 2026-05-05, routes: south }";
    short_contract("2026-04-30", "2026-04-29", tuesdays, "20260413")
}

fn batch(contract: &Path, file: &str, more: &[&str]) -> Outcome {
    let all = ["batch", file, "-o", "out", "--only", "certificate", "--only", "mix-sheet"];
    decant(contract, all.iter().chain(more))
}

fn job(contract: &Path, number: &str) -> String {
    read(contract.join("out/jobs").join(format!("{number}.yaml")))
}

/// Every file of the jobs of one day, by its digest.
fn night(contract: &Path, day: &str) -> BTreeMap<String, String> {
    let jobs = ["gull", "house", "north"].map(|site| contract.join("out").join(format!("{site}-{day}")));
    jobs.iter().flat_map(|folder| digests(folder)).collect()
}

/// Takes a log out of its folder, and puts it back.
fn take_log(contract: &Path, number: &str) -> impl FnOnce() + use<> {
    let log = contract.join("logs").join(format!("{number}.yaml"));
    let text = read(&log);
    remove(&log);
    move || write(log, text)
}

#[test]
fn a_visit_with_a_log_stays_as_the_crew_had_it() {
    let (_folder, contract) = season();
    let put_back = take_log(&contract, "house-20260413");
    batch(&contract, "contract.yaml", &[]).must_end_with(3);
    let planned = job(&contract, "house-20260413");
    let sheet = contract.join("out/house-20260413/house-20260413-mix-sheet.pdf");
    let printed = fs::read(&sheet).expect("a sheet");
    // the log comes in, and before anybody makes the certificate the contract is changed in everything
    put_back();
    let file = contract.join("contract.yaml");
    change(&file, "start: \"18:00\", takes: 1 h 30 min", "start: \"19:00\", takes: 1 h 45 min");
    change(&file, "Hall: { walls_to: 3 ft }", "Hall: { walls_to: 4 ft }");
    change(&file, "[okafor, lindqvist]", "[lindqvist]");
    let run = batch(&contract, "contract.yaml", &["--remove-stale"]).must_end_with(3);
    let now = job(&contract, "house-20260413");
    let body =
        |text: &str| text.lines().skip(2).filter(|line| !line.starts_with("log:")).collect::<Vec<_>>().join("\n");
    assert_eq!(body(&now), body(&planned));
    assert!(now.contains("log: \"../../logs/house-20260413.yaml\"\n"), "{now}");
    assert_eq!(fs::read(&sheet).expect("a sheet"), printed);
    assert!(contract.join("out/house-20260413/house-20260413-certificate.pdf").is_file());
    // the night to come follows the contract
    let next = job(&contract, "house-20260427");
    says(&next, &["walls_to: 4 ft", "start: \"2026-04-27T22:40\"", "crew: [lindqvist]"]);
    says(
        &run.stderr,
        &["gull-20260413, house-20260413, north-20260413: made, and left as planned, though the contract says"],
    );
    assert!(!run.stderr.contains("Removed"), "{}", run.stderr);
    says(&json(contract.join("out/manifest.json"))["warnings"].to_string(), &["made, and left as planned"]);
}

#[test]
fn a_log_without_a_certificate_is_counted_as_settled() {
    let (_folder, contract) = season();
    // a log that is not whole yet
    write(contract.join("logs/north-20260413.yaml"), "loads: []\nareas: {}\n");
    batch(&contract, "contract.yaml", &[]);
    let run = batch(&contract, "contract.yaml", &[]);
    says(
        &run.stderr,
        &[
            "2 settled: their certificates are issued and stay as they are; 1 more has a log and stays as it was planned\n",
        ],
    );
}

#[test]
fn a_site_that_ends_keeps_what_was_made_and_loses_what_was_to_come() {
    let (_folder, contract) = season();
    batch(&contract, "contract.yaml", &[]).must_end_with(3);
    let made = night(&contract, "20260413");
    let file = contract.join("contract.yaml");
    // ended before the visit that was made, by a slip of the office; and one more site from the second night on
    change(
        &file,
        "    takes: 3 h 40 min\n",
        "    takes: 3 h 40 min\n  house: { until: 2026-04-12 }\n  light: { from: 2026-04-20, route: north, order: 4 }\n",
    );
    let run = batch(&contract, "contract.yaml", &["--remove-stale"]).must_end_with(3);
    assert_eq!(night(&contract, "20260413").len(), made.len());
    assert_eq!(night_of_made(&contract), made);
    let states = states(&contract.join("out"));
    assert_eq!(states["house-20260413"], "settled");
    assert!(!states.contains_key("house-20260427") && !states.contains_key("light-20260413"), "{states:?}");
    assert_eq!(states["light-20260427"], "done");
    says(
        &run.stderr,
        &["3 settled", "Removed, since they no longer belong:\n  out/house-20260427/house-20260427-mix-sheet.pdf"],
    );
    // the round of the night that was has its three stops still
    assert_eq!(states["2026-04-13-north"], "up-to-date");
}

fn night_of_made(contract: &Path) -> BTreeMap<String, String> {
    night(contract, "20260413")
}

#[test]
fn a_move_keeps_the_number_and_touches_nothing_that_was_made() {
    let (_folder, contract) = season();
    batch(&contract, "contract.yaml", &[]).must_end_with(3);
    let made = night(&contract, "20260413");
    let moves = "moves:\n  - { routes: north, from: 2026-04-13, to: 2026-04-15 }\n  - { sites: gull, from: 2026-04-27, to: 2026-04-28T22:00 }\n";
    let file = contract.join("contract.yaml");
    let text = read(&file);
    write(&file, text.clone() + moves);
    let run = batch(&contract, "contract.yaml", &["--remove-stale"]).must_end_with(3);
    assert_eq!(night(&contract, "20260413"), made);
    says(&run.stderr, &["warning[moved-after]: the visit to `gull` of 2026-04-13 was made, and stays as it was"]);
    assert!(job(&contract, "gull-20260413").contains("start: \"2026-04-13T18:00\""));
    assert!(job(&contract, "gull-20260427").contains("start: \"2026-04-28T22:00\""));
    // the others of that night move up
    assert!(job(&contract, "house-20260427").contains("start: \"2026-04-27T18:00\""));
    let states_now = states(&contract.join("out"));
    assert!(
        states_now.contains_key("2026-04-28-north") && states_now.contains_key("2026-04-13-north"),
        "{states_now:?}"
    );
    // the move is made, its log comes in, and then somebody takes the move out
    let log = read(contract.join("logs/gull-20260413.yaml"));
    let log = log.replace("2026-04-14T", "2026-04-29T").replace("2026-04-13T", "2026-04-28T");
    write(contract.join("logs/gull-20260427.yaml"), log);
    batch(&contract, "contract.yaml", &[]);
    write(&file, text);
    batch(&contract, "contract.yaml", &["--remove-stale"]);
    assert!(job(&contract, "gull-20260427").contains("start: \"2026-04-28T22:00\""));
    assert!(states(&contract.join("out")).contains_key("2026-04-28-north"));
}

#[test]
fn a_log_that_comes_after_its_store_is_gone_still_has_its_certificate() {
    let (_folder, contract) = season();
    let put_back = take_log(&contract, "house-20260413");
    batch(&contract, "contract.yaml", &[]).must_end_with(3);
    let sites = contract.join("sites.csv");
    let left: String = read(&sites).split_inclusive('\n').filter(|line| !line.starts_with("house,")).collect();
    write(&sites, left);
    put_back();
    let run = batch(&contract, "contract.yaml", &["--remove-stale"]).must_end_with(3);
    assert!(contract.join("out/house-20260413/house-20260413-certificate.pdf").is_file(), "{}", run.stderr);
    assert!(!contract.join("out/house-20260427").exists());
    assert!(!run.stderr.contains("log-unused"), "{}", run.stderr);
    // and a correction of it is a revision
    let log = contract.join("logs/house-20260413.yaml");
    let record = crate::support::workspace::sha256(
        &fs::read(contract.join("out/house-20260413/house-20260413-record.json")).expect("a record"),
    );
    let text = read(&log);
    write(&log, format!("revision: 2\nreplaces: {record}\n{text}"));
    batch(&contract, "contract.yaml", &["--remove-stale"]).must_end_with(3);
    assert!(contract.join("out/house-20260413/house-20260413-record-r2.json").is_file());
}

/// The sample contract in two files of one number: the northern route and the southern.
fn halves() -> (TempDir, PathBuf) {
    let (folder, contract) = short_contract("2026-05-06", "2026-04-29", "# Six sites", "20260413");
    let text = read(contract.join("contract.yaml"));
    let north = text.replace("  - { rule: FREQ=MONTHLY;BYDAY=1TU, from: 2026-05-05, routes: south }", "#");
    let south = text.replace("  - { rule: FREQ=WEEKLY;INTERVAL=2;BYDAY=MO, from: 2026-04-13, routes: north }", "#");
    assert!(north != text && south != text);
    write(contract.join("north.yaml"), north);
    write(contract.join("south.yaml"), south);
    remove(contract.join("contract.yaml"));
    (folder, contract)
}

#[test]
fn one_half_of_a_contract_never_calls_the_others_documents_stale() {
    let (_folder, contract) = halves();
    let run = |files: &[&str]| {
        let all = ["batch"].iter().chain(files).chain(&["-o", "out", "--remove-stale"]);
        let run = decant(&contract, all);
        assert!(!run.stderr.contains("emoved") && !run.stderr.contains("no longer belong"), "{}", run.stderr);
        let manifest = json(contract.join("out/manifest.json"));
        assert_eq!(
            (&manifest["stale"], &manifest["removed"]),
            (&Value::from(Vec::<Value>::new()), &Value::from(Vec::<Value>::new()))
        );
        run
    };
    run(&["north.yaml"]).must_end_with(0);
    let south = run(&["south.yaml"]).must_end_with(0);
    assert!(!south.stderr.contains("log-unused"), "{}", south.stderr);
    run(&["north.yaml"]).must_end_with(0);
    let report = |rows: usize| {
        let visits = read(contract.join("out/HB-26-service-report/HB-26-service-report-visits.csv"));
        assert_eq!(visits.lines().count(), 1 + rows, "{visits}");
    };
    // the report is the contract's, whichever half it is made with
    report(6 + 3);
    run(&["north.yaml", "south.yaml"]).must_end_with(0);
    report(6 + 3);
    let jobs = names(&contract.join("out/jobs")).len();
    assert_eq!(jobs, 9);
    // `expand` knows them apart too
    let run = decant(&contract, ["expand", "south.yaml", "-o", "out/jobs", "--remove-stale"]).must_end_with(0);
    assert!(!run.stderr.contains("removed"), "{}", run.stderr);
    assert_eq!(names(&contract.join("out/jobs")).len(), jobs);
    // a third file with a visit of the same number would write over the other's
    fs::copy(contract.join("north.yaml"), contract.join("again.yaml")).expect("copied");
    let run = decant(&contract, ["batch", "again.yaml", "-o", "out"]).must_end_with(2);
    says(
        &run.stderr,
        &["another contract has visits of the same numbers", "gull-20260413.yaml is of out/jobs/../../north.yaml"],
    );
    // but neither one that was renamed, nor one that has another number now
    change(&contract.join("again.yaml"), "contract: HB-26", "contract: HB-27");
    remove(contract.join("north.yaml"));
    decant(&contract, ["batch", "again.yaml", "-o", "out", "--remove-stale"]).must_end_with(0);
    assert_eq!(names(&contract.join("out/jobs")).len(), jobs);
}

/// Number of the record of a visit.
fn record(contract: &Path, number: &str) -> String {
    let file = contract.join("out").join(number).join(format!("{number}-record.json"));
    json(file)["number"].as_str().unwrap_or_default().to_owned()
}

#[test]
fn an_edit_of_the_company_file_leaves_what_the_crew_was_given() {
    let (folder, contract) = season();
    let company = folder.path().join("company.yaml");
    let logs = ["gull", "house", "north"].map(|site| take_log(&contract, &format!("{site}-20260413")));
    let all = |more: &[&str]| decant(&contract, [&["batch", "contract.yaml", "-o", "out"], more].concat());
    all(&[]).must_end_with(0);
    let (given, next) = (record(&contract, "gull-20260413"), record(&contract, "gull-20260427"));
    let (tonight, van) = (night(&contract, "20260413"), digests(&contract.join("out/2026-04-13-north")));
    // the crew was there, its logs come in, and before anybody makes the certificates the office edits the company file
    logs.into_iter().for_each(|put_back| put_back());
    for (from, to, path) in [
        ("phone: 555-0142", "phone: 555-0177", "`plan.company.phone` was \"555-0142\" and would be \"555-0177\""),
        ("dilution: 2 fl oz/gal", "dilution: 1.9 fl oz/gal", "`plan.treatments[0].directions.dilution"),
    ] {
        change(&company, from, to);
        // twice: what was said once is not forgotten
        for more in [&["--remove-stale"][..], &[]] {
            let run = all(more).must_end_with(1);
            assert_eq!(night(&contract, "20260413"), tonight, "{}", run.stderr);
            assert_eq!(digests(&contract.join("out/2026-04-13-north")), van, "what the van had is made again");
            says(
                &run.stderr,
                &[
                    "0 settled: their certificates are issued and stay as they are; 3 more have a log and stay as they were planned\n",
                    &format!(
                        "what the crew was given carries the record {given}; its files give the record gull-20260413-"
                    ),
                    path,
                    "take out/gull-20260413/gull-20260413-record.json away",
                ],
            );
            assert!(!run.stderr.contains("Removed, since"), "{}", run.stderr);
            assert_eq!(states(&contract.join("out"))["gull-20260413"], "settled");
        }
        // `render` says the same, and so does whoever asks for the certificate alone
        let job = "out/jobs/gull-20260413.yaml";
        let run = decant(&contract, ["render", job, "-o", "out/gull-20260413", "--only", "certificate"]);
        says(&run.must_end_with(1).stderr, &["what the crew was given carries the record", path]);
        assert_eq!(night(&contract, "20260413"), tonight);
        // what is to come follows the company file
        assert_ne!(record(&contract, "gull-20260427"), next);
        change(&company, to, from);
    }
    // as it was: the certificate is of the record that is on the labels
    let run = all(&[]).must_end_with(0);
    assert!(!run.stderr.contains("error"), "{}", run.stderr);
    assert_eq!(record(&contract, "gull-20260413"), given);
    assert!(contract.join("out/gull-20260413/gull-20260413-certificate.pdf").is_file());
    assert_eq!(digests(&contract.join("out/2026-04-13-north")), van);
    decant(&contract, ["verify", "out"]).must_end_with(0);
    // and then no edit is of any account to it
    change(&company, "phone: 555-0142", "phone: 555-0177");
    let issued = night(&contract, "20260413");
    all(&[]).must_end_with(0);
    assert_eq!(night(&contract, "20260413"), issued);
}

#[test]
fn a_visit_of_which_the_crew_was_given_nothing_is_planned_by_the_files_as_they_are() {
    let (folder, contract) = season();
    let put_back = take_log(&contract, "gull-20260413");
    batch(&contract, "contract.yaml", &[]);
    let given = record(&contract, "gull-20260413");
    put_back();
    change(&folder.path().join("company.yaml"), "phone: 555-0142", "phone: 555-0177");
    batch(&contract, "contract.yaml", &[]).must_end_with(1);
    remove(contract.join("out/gull-20260413/gull-20260413-record.json"));
    batch(&contract, "contract.yaml", &[]).must_end_with(3);
    assert_ne!(record(&contract, "gull-20260413"), given);
    assert!(contract.join("out/gull-20260413/gull-20260413-certificate.pdf").is_file());
}

#[test]
fn a_holiday_that_is_added_later_plans_nothing_anew_that_was_made() {
    let (_folder, contract) = season();
    let _stays_away = take_log(&contract, "house-20260413");
    batch(&contract, "contract.yaml", &[]).must_end_with(3);
    let all = |day: &str| -> Vec<String> {
        names(&contract.join("out/jobs")).into_iter().filter(|job| job.contains(day)).collect()
    };
    let to_come = all("20260427").into_iter().map(|job| read(contract.join("out/jobs").join(job))).collect::<Vec<_>>();
    change(&contract.join("contract.yaml"), "days: [", "days: [2026-04-13, ");
    batch(&contract, "contract.yaml", &["--remove-stale"]).must_end_with(3);
    // those that were made stay where they were made; the one that nobody made is made on the next working day
    assert_eq!(all("20260413"), ["gull-20260413.yaml", "north-20260413.yaml"]);
    assert_eq!(all("20260414"), ["house-20260414.yaml"]);
    // and no number to come is another
    let now: Vec<_> = all("20260427").into_iter().map(|job| read(contract.join("out/jobs").join(job))).collect();
    assert_eq!(now, to_come);
}
