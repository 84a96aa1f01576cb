//! Contracts through the program: the sample, tables of other writers, and files that are there already.

use std::fs;
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use crate::support::program::{Outcome, decant};
use crate::support::workspace::{change, names, read, root, sample_contract, says, write};

fn expand(folder: &Path, more: &[&str]) -> Outcome {
    decant(folder, ["expand", "contract.yaml", "-o", "jobs/2026"].iter().chain(more))
}

#[test]
fn the_sample_is_expanded_into_jobs_that_can_be_planned() {
    let (_folder, contract) = sample_contract();
    let run = expand(&contract, &[]).must_end_with(0);
    assert!(run.stderr.starts_with("Visits of each site:\n  Ferry Slip 4: 5 visits\n"), "{}", run.stderr);
    let reported: Vec<&str> = run.stdout.lines().collect();
    let mut written: Vec<String> = reported.iter().map(|path| path.replace("jobs/2026/", "")).collect();
    // 13 Mondays for three sites, 5 first Tuesdays for three, one more for one
    assert_eq!(written.len(), 13 * 3 + 5 * 3 + 1);
    assert_eq!(reported[..2], ["jobs/2026/gull-20260413.yaml", "jobs/2026/house-20260413.yaml"]);
    // 25 May is a holiday
    assert!(written.contains(&"gull-20260526.yaml".to_owned()));
    assert!(!written.contains(&"gull-20260525.yaml".to_owned()));
    written.sort();
    assert_eq!(names(&contract.join("jobs/2026")), written);
    for job in reported.iter().take(3).chain(reported.iter().filter(|path| path.contains("202605")).rev().take(4)) {
        let plan = decant(&contract, ["plan", job]).must_end_with(0);
        assert!(plan.stdout.contains("Port Ansel Harbour Board"), "{}", plan.stdout);
    }
    let job = read(contract.join(reported[1]));
    assert!(job.contains("address: \"7 Custom House Square, 1st floor, Port Ansel 00417\"\n"), "{job}");
    assert!(job.contains("company: \"../../../company.yaml\"\n") && !job.contains("Restrooms"), "{job}");
}

#[test]
fn the_expanded_sample_is_rendered() {
    let (_folder, contract) = sample_contract();
    expand(&contract, &[]).must_end_with(0);
    let job = "jobs/2026/house-20260413.yaml";
    decant(&contract, ["render", job, "-o", "out", "--only", "mix-sheet"]).must_end_with(0);
    assert!(contract.join("out/house-20260413-mix-sheet.pdf").is_file());
}

#[test]
fn a_file_that_is_there_and_differs_is_not_lost() {
    let (_folder, contract) = sample_contract();
    let first = expand(&contract, &[]).must_end_with(0);
    let again = expand(&contract, &[]).must_end_with(0);
    assert_eq!(first.stdout, again.stdout);
    let job = contract.join("jobs/2026/gull-20260413.yaml");
    let ours = read(&job);
    let by_hand = format!("{ours}label_copies: 2\n");
    write(&job, &by_hand);
    change(&contract.join("contract.yaml"), "until: 2026-09-30", "until: 2026-10-15");
    let refused = expand(&contract, &[]).must_end_with(2);
    assert_eq!(refused.stdout, "");
    assert!(refused.stderr.contains("  jobs/2026/gull-20260413.yaml\n"), "{}", refused.stderr);
    assert_eq!(read(&job), by_hand);
    let count = names(&contract.join("jobs/2026")).len();
    assert_eq!(count, first.stdout.lines().count(), "something was written");
    let replaced = expand(&contract, &["--replace"]).must_end_with(0);
    assert_eq!(read(&job), ours);
    assert!(replaced.stdout.lines().count() > count);
}

#[test]
fn problems_of_the_contract_and_of_its_table_are_told_together_and_nothing_is_written() {
    let (_folder, contract) = sample_contract();
    change(&contract.join("contract.yaml"), "BYDAY=1TU", "BYDAY=1TX");
    change(&contract.join("sites.csv"), "24 ft x 18 ft,12 ft", ",12 ft");
    change(&contract.join("sites.csv"), "mussel", "light");
    let run = expand(&contract, &[]).must_end_with(2);
    for part in [
        "error[cell-empty]: the size of the area `Hall` at the site `north` is not given\n  --> sites.csv:4:",
        "error[site-twice]: the site `light` stands in this table twice\n  --> sites.csv:6:1",
        "first in line 5",
        "error[bad-rule]: `TX` is no weekday\n  --> contract.yaml:",
        "3 problems found; nothing was written",
    ] {
        assert!(run.stderr.contains(part), "no {part:?} in:\n{}", run.stderr);
    }
    assert!(run.stdout.is_empty() && !contract.join("jobs").exists());
}

/// The sample's contract with a workbook in the place of its table.
fn with_workbook(name: &str) -> (TempDir, PathBuf) {
    let (folder, contract) = sample_contract();
    let workbook = root().join("tests/tables").join(name).with_extension("xlsx");
    fs::copy(&workbook, contract.join("sites.xlsx")).unwrap_or_else(|e| panic!("{}: {e}", workbook.display()));
    let text = "\
contract: HB-26
company: ../company.yaml
client: { name: Port Ansel Harbour Board }
until: 2026-05-31
kinds:
  terminal:
    treatments:
      - { product: solvary-q75, directions: hard-surface, sprayer: bottle, areas: [Hall, Counters] }
site_table:
  file: sites.xlsx
  sheet: Sites 2026
  header: 3
  columns:
    key: Code
    name: Site
    address: Address
    postcode: Postcode
    kind: Kind
    order: Stop
    start: Begins
    areas: { Hall: { floor: Hall }, Counters: { surfaces: { column: Counters, unit: ft2 } } }
    air: { humidity: Humidity }
crew: okafor
visits: { rule: FREQ=WEEKLY;COUNT=1, from: 2026-05-04, start: \"06:15\" }
";
    write(contract.join("contract.yaml"), text);
    (folder, contract)
}

#[test]
fn a_workbook_keeps_the_zeros_of_its_post_codes() {
    let (_folder, contract) = with_workbook("sound");
    let run = expand(&contract, &[]).must_end_with(0);
    assert_eq!(run.stdout.lines().count(), 3);
    let job = |site: &str| read(contract.join(format!("jobs/2026/{site}-20260504.yaml")));
    let (gull, north, customs) = (job("gull"), job("north"), job("house"));
    for (job, parts) in [
        (&gull, ["1 Breakwater Road 00417\n", "T18:00\"\n", "surfaces: 180 ft2 }", "humidity: \"45 %\""]),
        (&north, ["22 North Pier 00419\n", "T06:15\"\n", "surfaces: 25.5 ft2 }", "humidity: \"7 %\""]),
        (&customs, ["Square 98101\n", "T21:30\"\n", "name: \"=1+1 is a name\"", "areas: [Counters]"]),
    ] {
        for part in parts {
            assert!(job.contains(part), "no {part:?} in\n{job}");
        }
    }
}

#[test]
fn what_is_wrong_in_a_workbook_is_told_with_its_cell() {
    for (name, reported) in [
        (
            "formula-without-value",
            "error[formula-without-value]: this formula has no value stored with it\n  --> sites.xlsx  Sites 2026!C5",
        ),
        ("merged", "error[cell-merged]: the cells E4 to E6 are merged\n  --> sites.xlsx  Sites 2026!E4"),
        ("error-cell", "error[cell-error]: this cell holds the error #REF!\n  --> sites.xlsx  Sites 2026!B5"),
        (
            "site-twice",
            "error[site-twice]: the site `gull` stands in this table twice\n  --> sites.xlsx  Sites 2026!A6\n  = first in Sites 2026!A4",
        ),
        (
            "zeros-lost",
            "error[number-where-text]: the number 417 stands here, which has lost any zeros it began with\n  --> sites.xlsx  Sites 2026!D4",
        ),
        (
            "number-without-unit",
            "error[number-without-unit]: the number 432 has no unit\n  --> sites.xlsx  Sites 2026!H5",
        ),
        (
            "date-cell",
            "error[cell-is-a-date]: a date stands here, which is kept as a number\n  --> sites.xlsx  Sites 2026!C6",
        ),
        ("empty-cell", "error[cell-empty]: the site `north` has no name\n  --> sites.xlsx  Sites 2026!B5"),
        ("no-key", "error[cell-empty]: this site has no key\n  --> sites.xlsx  Sites 2026!A5"),
        ("column-missing", "error[column-missing]: no column is headed `Counters`\n  --> sites.xlsx  Sites 2026!A3"),
        ("no-time", "error[bad-time]: no time of day stands here\n  --> sites.xlsx  Sites 2026!G5"),
    ] {
        let (_folder, contract) = with_workbook(name);
        let run = expand(&contract, &[]).must_end_with(2);
        assert!(run.stderr.contains(reported), "{name}: no {reported:?} in:\n{}", run.stderr);
        assert!(run.stdout.is_empty() && !contract.join("jobs").exists());
    }
}

#[test]
fn a_huge_table_is_refused_before_it_is_read() {
    let (_folder, contract) = sample_contract();
    let file = fs::File::create(contract.join("sites.csv")).expect("a file");
    file.set_len(100 << 20).expect("a sparse file");
    let run = expand(&contract, &[]).must_end_with(2);
    assert!(run.stderr.starts_with("error[table-too-large]: the file is larger than 16 MiB"), "{}", run.stderr);
}

/// A contract of the messy workbook, with what an office writes at first.
fn with_stores() -> (TempDir, PathBuf) {
    let (folder, contract) = sample_contract();
    fs::copy(root().join("tests/tables/messy.xlsx"), contract.join("stores.xlsx")).expect("copied");
    let text = "\
contract: ST-26
company: ../company.yaml
client: { name: Quay Street Stores }
kind: corner-store
kinds:
  corner-store:
    treatments:
      - { product: solvary-q75, directions: hard-surface, sprayer: pump, areas: [Floor, Restrooms] }
site_table:
  file: stores.xlsx
  sheet: Stores 2026
  columns:
    key: store no
    name: Store
    address: Street
    postcode: ZIP
    kind: Type
    phone: Phone
    from: From
    notes: [Opened, Alarm]
    areas: { Floor: { floor: Sales floor }, Restrooms: { floor: Restrooms } }
crew: okafor
visits: { rule: FREQ=WEEKLY;COUNT=2, from: 2026-05-04, start: \"22:00\" }
";
    write(contract.join("contract.yaml"), text);
    (folder, contract)
}

#[test]
fn a_messy_workbook_is_expanded_in_two_rounds() {
    let (_folder, contract) = with_stores();
    let run = expand(&contract, &[]).must_end_with(2);
    // one thing is wrong, in 43 + 9 cells: said once for each column
    let errors: Vec<&str> = run.stderr.lines().filter(|line| line.starts_with("error")).collect();
    assert_eq!(errors, ["error[number-without-unit]: the number 1200 has no unit"], "{}", run.stderr);
    says(&run.stderr, &["  --> stores.xlsx  Stores 2026 !F2\n", "  = the same in 51 more: G2, F3, F4", "unit: ft2"]);
    let file = contract.join("contract.yaml");
    let text = read(&file);
    let unit = |heading: &str| format!("{{ floor: {{ column: {heading}, unit: ft2 }} }}");
    let text = text.replace("{ floor: Sales floor }", &unit("Sales floor"));
    write(&file, text.replace("{ floor: Restrooms }", &unit("Restrooms")));
    let run = expand(&contract, &[]).must_end_with(0);
    // a store that opens later is in no visit, and one crew is at 42 places at once
    says(
        &run.stderr,
        &["warning[site-unvisited]: no visit is planned to `102`", "warning[crew-at-two-places]: `okafor`"],
    );
    assert_eq!(run.stdout.lines().count(), 42 * 2);
    let job = read(contract.join("jobs/2026/103-20260504.yaml"));
    says(
        &job,
        &[
            "name: Store 103\n",
            "phone: \"5555550103\"\n",
            "\"Opened: 2019-05-04\"",
            "\"Alarm: 4714\"",
            "areas: [Floor]\n",
        ],
    );
    let plan = decant(&contract, ["data", "jobs/2026/103-20260504.yaml", "mix-sheet"]).must_end_with(0);
    says(&plan.stdout, &["\"label\": \"At the site\"", "\"value\": \"5555550103\""]);
}
