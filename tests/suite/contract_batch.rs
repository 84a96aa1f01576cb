//! `decant batch CONTRACT`: every visit made from the contract itself, with what a batch of job files can do.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

use serde_json::Value;
use tempfile::TempDir;

use crate::support::program::{Outcome, decant};
use crate::support::workspace::{
    change, make_folder, names, read, read_bytes, remove, sample_contract, states, states_in, write,
};

/// The sample, its season cut down to the first two Mondays and one Tuesday.
fn sample() -> (TempDir, PathBuf) {
    let (folder, contract) = sample_contract();
    change(&contract.join("contract.yaml"), "until: 2026-09-30", "until: 2026-05-05");
    change(&contract.join("contract.yaml"), "  - { on: [2026-06-19T05:30], sites: gull }", "#");
    change(&contract.join("contract.yaml"), "2026-05-25, 2026-07-03, 2026-09-07", "2026-05-01");
    (folder, contract)
}

fn batch(folder: &Path, more: &[&str]) -> Outcome {
    let all = ["batch", "contract.yaml", "-o", "out", "--only", "mix-sheet"];
    decant(folder, all.iter().chain(more))
}

fn all(states: &BTreeMap<String, String>, state: &str) -> bool {
    states.values().all(|s| s == state)
}

/// Takes the logs away: visits to come, of which nothing is issued.
fn without_logs(contract: &Path) {
    fs::remove_dir_all(contract.join("logs")).expect("removed");
    make_folder(contract.join("logs"));
}

#[test]
fn a_contract_is_made_whole_and_made_once() {
    let (_folder, contract) = sample();
    batch(&contract, &[]).must_end_with(0);
    let out = contract.join("out");
    let jobs = names(&out.join("jobs"));
    // three sites on two Mondays, three on one Tuesday
    assert_eq!(jobs.len(), 2 * 3 + 3);
    for job in &jobs {
        let number = job.trim_end_matches(".yaml");
        assert!(out.join(number).join(format!("{number}-mix-sheet.pdf")).is_file(), "{number}");
    }
    assert!(all(&states(&out), "done"));
    let again = batch(&contract, &[]).must_end_with(0);
    // a visit whose certificate is issued is settled
    let mut states = states(&out);
    assert_eq!(states["house-20260413"], "settled", "{}", again.stderr);
    states.retain(|_, state| state != "settled");
    assert_eq!(states.len(), 1 + 3, "{states:?}");
    assert!(all(&states, "up-to-date"), "{}", again.stderr);
    // the jobs are job files like any other: their paths lead on
    decant(&contract, ["plan", "out/jobs/gull-20260413.yaml"]).must_end_with(0);
}

#[test]
fn visits_that_are_gone_leave_stale_jobs_that_are_removed_when_asked() {
    let (_folder, contract) = sample();
    without_logs(&contract);
    batch(&contract, &[]).must_end_with(0);
    let jobs = contract.join("out/jobs");
    let by_hand = jobs.join("slip-20260505.yaml");
    let text = read(&by_hand);
    write(&by_hand, text + "label_copies: 2\n");
    change(&contract.join("contract.yaml"), "until: 2026-05-05", "until: 2026-05-01");
    change(
        &contract.join("contract.yaml"),
        "  - { rule: FREQ=MONTHLY;BYDAY=1TU, from: 2026-05-05, routes: south }",
        "#",
    );
    let run = batch(&contract, &[]).must_end_with(0);
    assert!(
        run.stderr.contains("  out/jobs/light-20260505.yaml\n") && run.stderr.contains("--remove-stale"),
        "{}",
        run.stderr
    );
    assert_eq!(names(&jobs).len(), 9);
    let run = batch(&contract, &["--remove-stale"]).must_end_with(0);
    assert!(run.stderr.contains("Job files removed"), "{}", run.stderr);
    // what somebody changed stays, and is told
    assert_eq!(names(&jobs).len(), 7);
    assert!(by_hand.is_file() && run.stderr.contains("  out/jobs/slip-20260505.yaml\n"), "{}", run.stderr);
    assert!(!contract.join("out/light-20260505").exists());
    // `expand` tells the same
    let run = decant(&contract, ["expand", "contract.yaml", "-o", "out/jobs"]).must_end_with(0);
    assert!(run.stderr.contains("  out/jobs/slip-20260505.yaml\n"), "{}", run.stderr);
}

#[test]
fn a_job_file_that_somebody_changed_is_neither_lost_nor_followed() {
    let (_folder, contract) = sample();
    without_logs(&contract);
    batch(&contract, &[]).must_end_with(0);
    let job = contract.join("out/jobs/gull-20260413.yaml");
    let by_hand = read(&job) + "label_copies: 2\n";
    write(&job, &by_hand);
    let run = batch(&contract, &[]).must_end_with(2);
    assert!(run.stderr.contains("  out/jobs/gull-20260413.yaml\n"), "{}", run.stderr);
    assert_eq!(read(&job), by_hand);
    // a change of the contract reaches files that nobody touched
    remove(&job);
    change(&contract.join("contract.yaml"), "17:30", "16:30");
    batch(&contract, &[]).must_end_with(0);
    let states = states(&contract.join("out"));
    assert!(all(&states, "done"), "{states:?}");
}

#[test]
fn a_bad_site_takes_no_other_along_and_is_told_at_its_cell() {
    let (_folder, contract) = sample();
    change(&contract.join("contract.yaml"), "Counters (ft2), unit: ft2", "Counters (ft2)");
    change(&contract.join("sites.csv"), ",180,", ",180 ft2x,");
    change(&contract.join("sites.csv"), ",60,", ",60 ft2,");
    change(&contract.join("sites.csv"), ",25,", ",25 ft2,");
    let run = batch(&contract, &[]).must_end_with(1);
    assert!(run.stderr.contains("  --> sites.csv:2:"), "{}", run.stderr);
    let states = states(&contract.join("out"));
    assert_eq!(states["gull-20260413"], "failed");
    assert_eq!(states["house-20260413"], "done");
    assert_eq!(names(&contract.join("out/gull-20260413")), Vec::<String>::new());
}

#[test]
fn shards_of_a_contract_are_each_made_once_and_joined() {
    let (_folder, contract) = sample();
    for part in ["1/2", "2/2"] {
        let run = ["batch", "contract.yaml", "--only", "mix-sheet", "--shard", part, "-o"];
        decant(&contract, run.iter().chain([&format!("part-{}", &part[..1]).as_str()])).must_end_with(0);
    }
    decant(&contract, ["merge", "part-1", "part-2", "-o", "joined"]).must_end_with(0);
    let (one, two) = (
        states_in(&contract.join("part-1/manifest-1-of-2.json")),
        states_in(&contract.join("part-2/manifest-2-of-2.json")),
    );
    assert!(!one.is_empty() && !two.is_empty() && one.keys().all(|job| !two.contains_key(job)));
    let joined = states(&contract.join("joined"));
    assert_eq!(joined.len(), one.len() + two.len());
    batch(&contract, &[]).must_end_with(0);
    assert_eq!(joined.keys().collect::<Vec<_>>(), states(&contract.join("out")).keys().collect::<Vec<_>>());
}

fn manifest_of(out: &Path, kind: &str) -> Vec<String> {
    let bytes = read_bytes(out.join("manifest.json"));
    let manifest: Value = serde_json::from_slice(&bytes).expect("a manifest is JSON");
    let jobs = manifest["jobs"].as_array().expect("jobs").iter();
    let of_kind = jobs.filter(|job| job["kind"] == kind);
    of_kind.map(|job| job["job"].as_str().expect("a number").to_owned()).collect()
}

#[test]
fn a_round_has_its_load_out_its_sheets_and_its_labels_and_the_contract_its_report() {
    let (_folder, contract) = sample();
    let run = |more: &[&str]| {
        let all = ["batch", "contract.yaml", "-o", "out"];
        decant(&contract, all.iter().chain(more)).must_end_with(0)
    };
    let log = contract.join("logs/slip-20260505.yaml");
    let slip = read_bytes(&log);
    remove(&log);
    run(&[]);
    let out = contract.join("out");
    let rounds = ["2026-04-13-north", "2026-04-27-north", "2026-05-05-south"];
    assert_eq!(manifest_of(&out, "route"), rounds);
    assert_eq!(manifest_of(&out, "report"), ["HB-26-service-report"]);
    assert_eq!(manifest_of(&out, "visit").len(), 9);
    assert_eq!(
        names(&out.join("2026-04-13-north")),
        ["labels-roll-4x6", "labels-sheet-4x2", "load-out", "mix-sheets"].map(|d| format!("2026-04-13-north-{d}.pdf"))
    );
    assert_eq!(
        names(&out.join("HB-26-service-report")),
        ["-products.csv", "-readings.csv", "-visits.csv", ".pdf"].map(|d| format!("HB-26-service-report{d}"))
    );
    let visits = read(out.join("HB-26-service-report/HB-26-service-report-visits.csv"));
    for row in [
        "gull-20260413,Gull Point Ferry Terminal,2026-04-13T18:00,done,7,7,7\r\n",
        "house-20260413,Old Customs House,2026-04-13T21:40,deviates,3,3,2\r\n",
        "gull-20260427,Gull Point Ferry Terminal,2026-04-27T18:00,withheld,7,6,6\r\n",
        "slip-20260505,Ferry Slip 4,2026-05-05T08:00,not-yet,1,0,0\r\n",
    ] {
        assert!(visits.contains(row), "no {row:?} in\n{visits}");
    }
    // a log that comes in changes its visit and the report; the van's round, of which all visits were made, is history
    let before = visits;
    write(&log, slip);
    run(&[]);
    let states = states(&out);
    let done: Vec<&str> = states.iter().filter(|(_, s)| *s == "done").map(|(job, _)| job.as_str()).collect();
    assert_eq!(done, ["HB-26-service-report", "slip-20260505"]);
    let visits = read(out.join("HB-26-service-report/HB-26-service-report-visits.csv"));
    // visits that were issued are counted by their records, and come to the same
    assert_eq!(
        visits,
        before.replace(
            "slip-20260505,Ferry Slip 4,2026-05-05T08:00,not-yet,1,0,0",
            "slip-20260505,Ferry Slip 4,2026-05-05T08:00,done,1,1,1"
        )
    );
    // and once more nothing is made
    run(&[]);
    let states = crate::support::workspace::states(&out);
    assert!(states.values().all(|state| state == "settled" || state == "up-to-date"), "{states:?}");
}

#[test]
fn a_round_with_a_bad_visit_is_not_made_and_the_report_says_so() {
    let (_folder, contract) = sample();
    change(&contract.join("contract.yaml"), "Counters (ft2), unit: ft2", "Counters (ft2)");
    change(&contract.join("sites.csv"), ",180,", ",180 ft2x,");
    change(&contract.join("sites.csv"), ",60,", ",60 ft2,");
    change(&contract.join("sites.csv"), ",25,", ",25 ft2,");
    decant(&contract, ["batch", "contract.yaml", "-o", "out"]).must_end_with(1);
    let out = contract.join("out");
    let states = states(&out);
    // a load-out that lacks a visit would be taken for a whole one
    assert_eq!(states["2026-04-13-north"], "failed");
    assert_eq!(states["2026-05-05-south"], "done");
    let visits = read(out.join("HB-26-service-report/HB-26-service-report-visits.csv"));
    assert!(visits.contains("gull-20260413,gull-20260413,,unplanned,0,0,0"), "{visits}");
}

#[test]
fn a_load_out_of_job_files_and_a_report_of_a_folder() {
    let (_folder, contract) = sample();
    decant(&contract, ["expand", "contract.yaml", "-o", "jobs"]).must_end_with(0);
    let jobs = ["jobs/gull-20260413.yaml", "jobs/house-20260413.yaml"];
    let run = ["load-out", jobs[0], jobs[1], "-o", "van.pdf", "--van", "north"];
    let run = decant(&contract, run).must_end_with(0);
    assert_eq!((run.stdout.as_str(), run.stderr.as_str()), ("van.pdf\n", ""));
    assert!(contract.join("van.pdf").is_file());
    let run = decant(&contract, ["service-report", "jobs", "-o", "report"]).must_end_with(0);
    assert_eq!(run.stdout.lines().count(), 4);
    assert_eq!(names(&contract.join("report")).len(), 4);
}

/// Every document below a folder with what tells whether it was written again; state, manifest and summary are of each run.
fn stamps(out: &Path) -> BTreeMap<String, (u64, i64, i64)> {
    let mut found = BTreeMap::new();
    for folder in fs::read_dir(out).expect("a folder").map(|entry| entry.expect("an entry").path()) {
        let name = folder.file_name().unwrap_or_default().to_string_lossy().into_owned();
        for file in fs::read_dir(&folder)
            .into_iter()
            .flatten()
            .map(|entry| entry.expect("a file"))
            .filter(|_| name != ".decant")
        {
            let meta = file.metadata().expect("metadata");
            let stamp = (meta.ino(), meta.mtime(), meta.mtime_nsec());
            found.insert(format!("{name}/{}", file.file_name().to_string_lossy()), stamp);
        }
    }
    found
}

#[test]
fn an_edit_is_written_into_what_it_touches_and_nothing_else_is_written_again() {
    let (folder, contract) = sample();
    without_logs(&contract);
    change(&contract.join("contract.yaml"), "FREQ=WEEKLY;INTERVAL=2;BYDAY=MO", "FREQ=WEEKLY;BYDAY=MO;COUNT=1");
    let out = contract.join("out");
    let batch = |contract: &Path| decant(contract, ["batch", "contract.yaml", "-o", "out"]).must_end_with(0).stderr;
    batch(&contract);
    let mut before = stamps(&out);
    let mut written = || {
        batch(&contract);
        let now = stamps(&out);
        assert_eq!(before.keys().collect::<Vec<_>>(), now.keys().collect::<Vec<_>>());
        let new = now.iter().filter(|(name, stamp)| before.get(*name) != Some(stamp)).map(|(name, _)| name.clone());
        let new: Vec<String> = new.collect();
        before = now;
        new
    };
    let folders = |files: &[String]| -> BTreeSet<String> {
        files.iter().map(|file| file.split('/').next().unwrap_or_default().to_owned()).collect()
    };
    let set = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect::<BTreeSet<_>>();
    assert_eq!(written(), Vec::<String>::new());
    // one site: its visits and its van's day; the report counts what was done alone
    change(&contract.join("sites.csv"), "30 ft x 24 ft", "30 ft x 20 ft");
    let all = written();
    assert_eq!(folders(&all), set(&["2026-04-13-north", "house-20260413", "jobs"]));
    assert!(
        all.contains(&"jobs/house-20260413.yaml".to_owned()) && !all.iter().any(|file| file.contains("gull")),
        "{all:?}"
    );
    // a lot stands on the load-outs alone
    let company = folder.path().join("company.yaml");
    change(&company, "SQ-2603-11: 2027-03-31", "SQ-2603-11: 2027-03-31, SQ-2609-01: 2027-09-30");
    let load_outs = ["2026-04-13-north", "2026-05-05-south"].map(|route| format!("{route}/{route}-load-out.pdf"));
    assert_eq!(written(), load_outs);
    // a product that nobody uses yet stands nowhere
    let text = read(&company);
    let (from, to) = (text.find("  solvary-q75:").expect("a product"), text.find("\n  ostrane-p5:").expect("the next"));
    let new = text[from..to].replace("solvary-q75", "other").replace("Solvary", "Other");
    write(&company, format!("{}\n{new}{}", &text[..to], &text[to..]));
    assert_eq!(written(), Vec::<String>::new());
    // where it is moved to it is as it was
    let (old, elsewhere) = (folder.path().to_owned(), folder.path().join("else/where"));
    make_folder(&elsewhere);
    for name in ["company.yaml", "logo.svg", "harbour-contract"] {
        fs::rename(old.join(name), elsewhere.join(name)).expect("moved");
    }
    let contract = elsewhere.join("harbour-contract");
    let stderr = batch(&contract);
    assert!(stderr.contains("up to date             9\n"), "{stderr}");
    assert_eq!(stamps(&contract.join("out")), before);
}
