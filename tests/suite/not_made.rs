//! What was not made is not said to be done: by no document, page, register or report.

use std::fs;

use serde_json::Value;

use crate::support::program::{Outcome, decant};
use crate::support::workspace::{Copy, json, names, read, write};

const LOADS: &str = "loads:\n  - { treatment: 1, load: 1, lot: SQ-2603-11, mixed: 2026-04-20T21:41, by: R. Okafor, reading: 600 ppm }\n";

/// The log of a visit at which the gate was locked.
const NOT_MADE: &str = "loads:
  - { treatment: 1, load: 1, skipped: gate locked }
  - { treatment: 2, load: 1, skipped: gate locked }
areas:
  - { treatment: 1, area: Filleting tables, skipped: gate locked }
  - { treatment: 1, area: Packing belt, skipped: gate locked }
  - { treatment: 2, area: Hall floor, skipped: gate locked }
";

/// The log of a visit of which the second treatment, and one area of the first, were not made.
fn partly() -> String {
    format!(
        "{LOADS}  - {{ treatment: 2, load: 1, skipped: the floor drain was blocked }}
areas:
  - {{ treatment: 1, area: Filleting tables, started: 2026-04-20T21:42, finished: 2026-04-20T21:52, wet_until: 2026-04-20T22:02, rinsed: 2026-04-20T22:06 }}
  - {{ treatment: 1, area: Packing belt, skipped: the belt was running }}
  - {{ treatment: 2, area: Hall floor, skipped: the floor drain was blocked }}
checks:
  - {{ treatment: 1, area: Filleting tables, spot: table 3, wetted: 2026-04-20T21:45, seen_wet: 2026-04-20T21:56 }}
"
    )
}

fn with_log(log: &str) -> Copy {
    let copy = Copy::of("fish-hall");
    write(copy.folder.join("log.yaml"), log);
    copy
}

fn run(copy: &Copy, command: &str, more: &[&str]) -> Outcome {
    let output = copy.output();
    let output = output.to_str().expect("a temporary folder's name is text");
    decant(&copy.folder, [&[command, "job.yaml", "-o", output], more].concat())
}

/// The page of the only record, and the index.
fn pages(copy: &Copy) -> (String, String) {
    run(copy, "page", &[]).must_end_with(0);
    let folders = fs::read_dir(copy.output()).expect("a folder of pages");
    let page = folders
        .map(|entry| entry.expect("an entry").path())
        .find(|path| path.is_dir())
        .expect("the record's folder")
        .join("index.html");
    let read = |path| read(path);
    (read(page), read(copy.output().join("index.html")))
}

#[test]
fn a_visit_that_was_not_made_has_no_certificate() {
    let copy = with_log(NOT_MADE);
    let reported = run(&copy, "render", &[]).must_end_with(3);
    assert!(reported.stderr.contains("The visit was not made"), "{}", reported.stderr);
    assert!(reported.stderr.contains("--only notice"), "{}", reported.stderr);
    let made = names(&copy.output());
    assert!(!made.iter().any(|name| name.contains("certificate")), "{made:?}");
    let record = json(copy.output().join("2026-0420-record.json"));
    assert!(record["certificate"].is_null());
    // nobody applied, so nobody is judged, and no moment is early or late
    let rules = record["verdicts"].as_array().expect("a list");
    assert!(rules.iter().all(|v| v["rule"] == "done" || v["rule"] == "mixed"), "{rules:#?}");
    assert!(rules.iter().all(|v| v["outcome"] == "deviates"), "{rules:#?}");
    // nor is there a draft of one
    let reported = run(&copy, "render", &["--only", "certificate", "--draft"]).must_end_with(3);
    assert!(reported.stderr.contains("The visit was not made"), "{}", reported.stderr);
    let made = names(&copy.output());
    assert!(!made.iter().any(|name| name.contains("certificate")), "{made:?}");
}

#[test]
fn a_notice_of_it_is_made_if_asked_for() {
    let copy = with_log(NOT_MADE);
    run(&copy, "render", &["--only", "notice"]).must_end_with(0);
    assert!(names(&copy.output()).contains(&"2026-0420-notice.pdf".to_owned()));
    let reported = decant(&copy.folder, ["data", "job.yaml", "notice"]).must_end_with(0);
    let data: Value = serde_json::from_str(&reported.stdout).expect("data is JSON");
    let areas = data["areas"].as_array().expect("a list");
    assert_eq!(areas.len(), 3);
    assert!(areas.iter().all(|area| area["reason"] == "gate locked"), "{areas:#?}");
    // a visit that was made has none
    let copy = Copy::of("fish-hall");
    let reported = run(&copy, "render", &["--only", "notice"]).must_end_with(2);
    assert!(reported.stderr.contains("does not say that this visit was not made"), "{}", reported.stderr);
}

#[test]
fn the_page_and_its_index_say_so() {
    let (page, index) = pages(&with_log(NOT_MADE));
    assert!(page.contains("This visit was not made."), "{page}");
    for never in
        ["Re-entry", "What was used", "Dilution", "Areas treated", "was done", "Who did the work", "fl oz", "600 ppm"]
    {
        assert!(!page.contains(never), "{never:?} stands on the page:\n{page}");
    }
    assert!(index.contains("<td role=\"cell\">not made</td>"), "{index}");
}

#[test]
fn the_register_counts_no_treatment_and_no_product() {
    let copy = with_log(NOT_MADE);
    run(&copy, "render", &["--only", "labels"]).must_end_with(0);
    let output = copy.output();
    decant(&output, ["register", ".", "-o", "sums"]).must_end_with(0);
    let csv = read(output.join("sums/register.csv"));
    assert_eq!(csv.lines().filter(|line| !line.is_empty()).count(), 1, "{csv}");
}

#[test]
fn the_service_report_has_a_state_for_it() {
    let copy = with_log(NOT_MADE);
    run(&copy, "service-report", &[]).must_end_with(0);
    let table = |name: &str| read(copy.output().join(format!("service-report-{name}.csv")));
    assert!(table("visits").contains(",not-made,"), "{}", table("visits"));
    assert_eq!(table("products").lines().count(), 1, "{}", table("products"));
    assert_eq!(table("readings").lines().count(), 1, "{}", table("readings"));
}

#[test]
fn nothing_is_mailed_of_it() {
    let copy = with_log(NOT_MADE);
    copy.set_company("mail: { from: records@tern-and-tide.example, server: smtp.provider.example }");
    run(&copy, "render", &[]).must_end_with(3);
    let output = copy.output();
    let output = output.to_str().expect("text");
    let reported = decant(&copy.folder, ["mail", "job.yaml", "--documents", output, "--dry-run"]);
    assert_ne!(reported.code, Some(0));
    assert!(reported.stderr.contains("2026-0420: not made: there is no certificate"), "{}", reported.stderr);
}

#[test]
fn of_a_visit_that_was_made_in_part_only_what_was_done_is_done() {
    let copy = with_log(&partly());
    let reported = run(&copy, "render", &["--only", "certificate"]).must_end_with(3);
    assert!(reported.stderr.contains("Packing belt: not treated"), "{}", reported.stderr);
    let record = json(copy.output().join("2026-0420-record.json"));
    let page = &record["certificate"]["data"];
    let named = |list: &str, key: &str| -> Vec<String> {
        let all = page[list].as_array().expect("a list");
        all.iter().map(|row| row[key].as_str().unwrap_or_default().to_owned()).collect()
    };
    assert_eq!(named("areas", "name"), ["Filleting tables"]);
    assert_eq!(named("products", "name"), ["Solvary Q-75"]);
    assert_eq!(named("readings", "product"), ["Solvary Q-75"]);
    let reported = named("deviations", "").len();
    assert!(reported >= 3, "{:#?}", page["deviations"]);
    // re-entry is the first treatment's: the second, which was not made, would have been later
    let reentry = record["plan"]["reentry"].as_str().expect("a moment");
    let facts = page["facts"].as_array().expect("a list");
    let shown = facts[0]["big"].as_str().expect("a time");
    assert!(shown < &reentry[11..16], "{shown} {reentry}");
    assert!(!facts.iter().any(|fact| fact["big"].as_str().is_some_and(|big| big.contains("·"))), "{facts:#?}");
    // the register adds up what was mixed and treated
    let output = copy.output();
    decant(&output, ["register", ".", "-o", "sums"]).must_end_with(0);
    let csv = read(output.join("sums/register.csv"));
    assert!(csv.contains("Solvary Q-75") && !csv.contains("Ostrane"), "{csv}");
    // 320 ft² are 29.73 m²; the belt's 260 ft² were not treated
    assert!(csv.contains(",29.73"), "{csv}");
}

#[test]
fn strength_as_mixed_is_what_was_read() {
    let (page, _) = pages(&Copy::of("fish-hall"));
    let (_, after) = page.split_once("Strength, as mixed").expect("the caption");
    let value = after.split("</dd>").next().unwrap_or_default();
    assert!(value.contains("600 ppm"), "{value}");
    // before the work it is the plan's, and called so
    let copy = Copy::of("fish-hall");
    copy.change_job("log: log.yaml", "");
    let (page, _) = pages(&copy);
    assert!(page.contains("Strength, planned") && !page.contains("Strength, as mixed"), "{page}");
}

#[test]
fn amounts_that_the_log_does_not_hold_are_called_planned() {
    let copy = Copy::of("fish-hall");
    run(&copy, "render", &["--only", "certificate"]).must_end_with(0);
    let used = json(copy.output().join("2026-0420-record.json"))["certificate"]["data"]["products"][0]["used"].clone();
    assert!(used.as_str().is_some_and(|used| used.contains("as planned")), "{used}");
}

#[test]
fn early_and_late_are_deviations_with_their_minutes() {
    // the sample's first moment is 21:41
    for (start, code, sentence) in [
        ("21:11", 0, ""),
        ("21:10", 3, "31 min later than planned"),
        ("22:11", 0, ""),
        ("22:20", 3, "39 min earlier than planned"),
    ] {
        let copy = Copy::of("fish-hall");
        copy.change_job("start: 2026-04-20T21:30", &format!("start: 2026-04-20T{start}"));
        let reported = run(&copy, "render", &["--only", "certificate"]).must_end_with(code);
        assert!(reported.stderr.contains(sentence), "{start}: {}", reported.stderr);
        let page = json(copy.output().join("2026-0420-record.json"))["certificate"]["data"].clone();
        let deviations = page["deviations"].to_string();
        assert_eq!(deviations.contains("than planned"), code == 3, "{start}: {deviations}");
    }
}
