//! What was issued is settled: no edit of a job, a log, a contract or the company file changes, removes or renumbers it.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;
use tempfile::TempDir;

use crate::support::program::{Outcome, decant};
use crate::support::workspace::{
    Copy, change, digests, json, read, read_bytes, remove, says, sha256, short_contract, states, write,
};

const CERTIFICATE: &str = "2026-0420-certificate.pdf";
const RECORD: &str = "2026-0420-record.json";
const SEAL: &str = "2026-0420-seal.json";

/// Two nights of the sample contract; the second night has no logs yet.
fn season() -> (TempDir, PathBuf) {
    let tuesdays = "  - { rule: FREQ=MONTHLY;BYDAY=1TU, from: 2026-05-05, routes: south }";
    short_contract("2026-04-30", "2026-04-29", tuesdays, "20260413")
}

fn batch(contract: &Path, more: &[&str]) -> Outcome {
    let all = ["batch", "contract.yaml", "-o", "out", "--only", "certificate"];
    decant(contract, all.iter().chain(more))
}

const NIGHT: [&str; 3] = ["gull-20260413", "house-20260413", "north-20260413"];

/// Certificates, records and seals of the first night, by their digests.
fn night(contract: &Path) -> BTreeMap<String, String> {
    let mut all = BTreeMap::new();
    for job in NIGHT {
        let files = digests(&contract.join("out").join(job));
        assert_eq!(files.len(), 3, "{files:?}");
        all.extend(files);
    }
    all
}

#[test]
fn an_edited_dilution_changes_nothing_that_was_issued_and_is_named() {
    let (_folder, contract) = season();
    batch(&contract, &[]).must_end_with(3);
    let issued = night(&contract);
    change(&contract.join("../company.yaml"), "dilution: 2 fl oz/gal", "dilution: 2.5 fl oz/gal");
    let run = batch(&contract, &["--remove-stale"]).must_end_with(1);
    assert_eq!(night(&contract), issued);
    says(
        &run.stderr,
        &[
            "3 settled: their certificates are issued and stay as they are; the jobs of 3 give something else now",
            "the certificate of job house-20260413, revision 1, is issued, and the job gives another one now",
            "--> `plan.treatments[0].",
            " and would be ",
            "write `revision: 2` and `replaces: ",
        ],
    );
    // the nights to come are planned by the new figure
    let states = states(&contract.join("out"));
    assert_eq!((states["gull-20260413"].as_str(), states["gull-20260427"].as_str()), ("settled", "done"));
    // it is said again without looking again, and ends when the edit is taken back
    batch(&contract, &[]).must_end_with(1);
    change(&contract.join("../company.yaml"), "dilution: 2.5 fl oz/gal", "dilution: 2 fl oz/gal");
    let run = batch(&contract, &[]).must_end_with(3);
    says(&run.stderr, &["3 settled: their certificates are issued and stay as they are\n", "settled"]);
    assert_eq!(night(&contract), issued);
}

#[test]
fn a_lot_struck_from_the_list_and_a_firm_that_moves_leave_certificates_alone() {
    let (_folder, contract) = season();
    batch(&contract, &[]).must_end_with(3);
    let issued = night(&contract);
    let company = contract.join("../company.yaml");
    change(&company, "SQ-2603-07: 2027-03-31, ", "");
    change(&company, "phone: ", "phone: 9");
    let run = batch(&contract, &["--remove-stale"]).must_end_with(3);
    assert_eq!(night(&contract), issued);
    says(&run.stderr, &["3 settled: their certificates are issued and stay as they are\n"]);
    assert!(!run.stderr.contains("Removed"), "{}", run.stderr);
    // nor does a company file that cannot be read take anything away
    write(&company, "company: {}");
    batch(&contract, &["--remove-stale"]);
    assert_eq!(night(&contract), issued);
    assert_eq!(json(contract.join("out/manifest.json"))["removed"], Value::from(Vec::<String>::new()));
}

#[test]
fn a_store_that_closes_neither_loses_its_visits_nor_moves_those_behind_it() {
    let (_folder, contract) = season();
    batch(&contract, &[]).must_end_with(3);
    let issued = night(&contract);
    let start = |job: &str| {
        let text = read(contract.join("out/jobs").join(format!("{job}.yaml")));
        let line = text.lines().find(|line| line.contains("start:")).expect("a start");
        line.trim().to_owned()
    };
    let (made, due) = (start("north-20260413"), start("north-20260427"));
    // the second stop of the night is gone
    let sites = contract.join("sites.csv");
    let text = read(&sites);
    let left: String = text.split_inclusive('\n').filter(|line| !line.starts_with("house,")).collect();
    assert_ne!(left, text);
    write(&sites, left);
    let run = batch(&contract, &["--remove-stale"]).must_end_with(3);
    assert_eq!(night(&contract), issued);
    assert!(contract.join("out/jobs/house-20260413.yaml").is_file());
    assert!(!contract.join("out/jobs/house-20260427.yaml").exists());
    says(&run.stderr, &["3 settled: their certificates are issued and stay as they are\n"]);
    // the stop behind it keeps its time on the night that was, and moves up on the night to come
    assert_eq!(start("north-20260413"), made);
    assert_ne!(start("north-20260427"), due);
    assert_eq!(states(&contract.join("out"))["house-20260413"], "settled");
    // nor does `expand` remove what was issued
    decant(&contract, ["expand", "contract.yaml", "-o", "out/jobs", "--replace", "--remove-stale"]).must_end_with(0);
    assert!(contract.join("out/jobs/house-20260413.yaml").is_file());
}

#[test]
fn numbers_with_the_time_in_them_stay_with_the_visits_that_were_made() {
    let (_folder, contract) = season();
    change(&contract.join("contract.yaml"), "contract: HB-26", "contract: HB-26\njob_number: \"{site}-{date}-{time}\"");
    // the code of a label holds only so long a link
    change(&contract.join("../company.yaml"), "records.tern-and-tide.example", "r.example");
    for site in ["gull", "house", "north"] {
        let logs = contract.join("logs");
        fs::rename(logs.join(format!("{site}-20260413.yaml")), logs.join(format!("{site}-20260413-1800.yaml")))
            .expect("renamed");
    }
    batch(&contract, &[]).must_end_with(3);
    let north = contract.join("out/north-20260413-1800");
    let issued = digests(&north);
    assert_eq!(issued.len(), 3);
    // the number has the time that is written in the contract: the route's
    change(&contract.join("contract.yaml"), "start: \"18:00\"", "start: \"18:30\"");
    batch(&contract, &["--remove-stale"]).must_end_with(3);
    assert_eq!(digests(&north), issued);
    let states = states(&contract.join("out"));
    assert!(!states.contains_key("north-20260413-1830"), "{states:?}");
    assert_eq!(states["north-20260413-1800"], "settled");
    assert!(states.contains_key("north-20260427-1830"), "{states:?}");
}

#[test]
fn a_certificate_that_is_gone_is_made_again_and_one_that_was_altered_is_named() {
    let (_folder, contract) = season();
    batch(&contract, &[]).must_end_with(3);
    let issued = night(&contract);
    let pdf = contract.join("out/house-20260413/house-20260413-certificate.pdf");
    remove(&pdf);
    batch(&contract, &[]).must_end_with(3);
    assert_eq!(night(&contract), issued);
    let whole = read_bytes(&pdf);
    write(&pdf, b"%PDF-1.7 spoilt");
    let run = batch(&contract, &["--remove-stale"]).must_end_with(1);
    says(&run.stderr, &["what was issued of house-20260413 is not as it was written: house-20260413-certificate.pdf"]);
    assert_eq!(read_bytes(&pdf), b"%PDF-1.7 spoilt");
    write(&pdf, &whole);
    batch(&contract, &[]).must_end_with(3);
    assert_eq!(night(&contract), issued);
}

/// The first revision of a sample, rendered; where, and the digests of what was issued.
fn rendered(copy: &Copy) -> (PathBuf, BTreeMap<String, String>) {
    let output = copy.output();
    copy.render(&[]).must_end_with(0);
    let mut issued = digests(&output);
    issued.retain(|name, _| [CERTIFICATE, RECORD, SEAL].contains(&name.as_str()));
    assert_eq!(issued.len(), 3);
    (output, issued)
}

#[track_caller]
fn is_settled(output: &Path, issued: &BTreeMap<String, String>) {
    let now = digests(output);
    for (name, digest) in issued {
        assert_eq!(now.get(name), Some(digest), "{name}");
    }
}

#[test]
fn render_never_writes_over_what_was_issued() {
    let copy = Copy::of("fish-hall");
    let (output, issued) = rendered(&copy);
    let all = digests(&output);
    // the same again is no change
    copy.render(&[]).must_end_with(0);
    assert_eq!(digests(&output), all);
    let log = copy.folder.join("log.yaml");
    change(&log, "reading: 1600 ppm", "reading: 1600 to 3200 ppm");
    let run = copy.render(&[]).must_end_with(1);
    let record = sha256(&read_bytes(output.join(RECORD)));
    says(
        &run.stderr,
        &[
            "the certificate of job 2026-0420, revision 1, is issued",
            "nothing was written",
            "--> `applied.loads[1].reading.high.value` was 1600 and would be 3200",
            &format!("write `revision: 2` and `replaces: {record}` into the log"),
            "--replace-draft",
        ],
    );
    assert!(!run.stderr.contains("put that file back"), "{}", run.stderr);
    assert_eq!(digests(&output), all, "labels and sheet stay as well");
    // the way out
    let text = read(&log);
    write(&log, format!("revision: 2\nreplaces: {record}\n{text}"));
    copy.render(&[]).must_end_with(0);
    is_settled(&output, &issued);
    assert!(output.join("2026-0420-record-r2.json").is_file());
    // and not back again
    write(&log, text.replace("1600 to 3200 ppm", "1600 ppm"));
    let run = copy.render(&[]).must_end_with(1);
    says(&run.stderr, &["revision 2 of the certificate of job 2026-0420 is issued, and the log gives revision 1"]);
}

#[test]
fn a_draft_a_gone_log_and_another_job_are_not_written_over_a_certificate() {
    let copy = Copy::of("fish-hall");
    let (output, issued) = rendered(&copy);
    let run = copy.render(&["--draft", "--only", "certificate"]);
    assert_ne!(run.code, Some(0), "{}", run.stderr);
    is_settled(&output, &issued);
    copy.change_job("name: Packing hall, Pier 3", "name: Packing hall, Pier 4");
    let run = copy.render(&[]).must_end_with(1);
    says(&run.stderr, &["--> `plan.site.name` was \"Packing hall, Pier 3\" and would be \"Packing hall, Pier 4\""]);
    is_settled(&output, &issued);
    copy.change_job("name: Packing hall, Pier 4", "name: Packing hall, Pier 3");
    copy.change_job("log: log.yaml", "");
    let run = copy.render(&[]).must_end_with(1);
    says(&run.stderr, &["--> `applied` was "]);
    is_settled(&output, &issued);
    // with its record gone, the certificate itself holds what was issued
    remove(output.join(RECORD));
    copy.render(&[]).must_end_with(1);
    assert_eq!(digests(&output).get(CERTIFICATE), issued.get(CERTIFICATE));
}

#[test]
fn a_draft_that_lies_there_makes_way_for_the_certificate() {
    let copy = Copy::of("fish-hall");
    let output = copy.output();
    copy.render(&["--draft", "--only", "certificate"]).must_end_with(0);
    let draft = digests(&output);
    // the record is issued without its page
    copy.render(&["--only", "mix-sheet"]).must_end_with(0);
    assert_eq!(digests(&output).get(CERTIFICATE), draft.get(CERTIFICATE));
    copy.render(&[]).must_end_with(0);
    assert_ne!(digests(&output).get(CERTIFICATE), draft.get(CERTIFICATE));
    decant(&output, ["verify", "."]).must_end_with(0);
}

#[test]
fn what_differs_in_nothing_but_its_page_is_settled() {
    let copy = Copy::of("fish-hall");
    let (output, issued) = rendered(&copy);
    let all = digests(&output);
    copy.set_company("style: { lines: [Since yesterday.] }");
    let run = copy.render(&[]).must_end_with(0);
    says(&run.stderr, &["the certificate of job 2026-0420, revision 1, is issued and stays as it is"]);
    is_settled(&output, &issued);
    // labels and sheets of another number than the certificate's are not made either
    copy.change_company("phone: ", "phone: 9");
    copy.render(&[]).must_end_with(0);
    is_settled(&output, &issued);
    assert_eq!(digests(&output).keys().collect::<Vec<_>>(), all.keys().collect::<Vec<_>>());
}

#[test]
fn replace_draft_replaces_only_what_never_went_out() {
    let copy = Copy::of("fish-hall");
    let (output, issued) = rendered(&copy);
    change(&copy.folder.join("log.yaml"), "reading: 1600 ppm", "reading: 1600 to 3200 ppm");
    copy.render(&["--replace-draft"]).must_end_with(0);
    let now = digests(&output);
    assert!(issued.iter().all(|(name, digest)| now.get(name).is_some_and(|new| new != digest)));
    decant(&output, ["verify", "."]).must_end_with(0);
    // once it is in the send log, never
    let log = copy.company_folder().join("mail-log.jsonl");
    let line = |state: &str| {
        format!(
            "{{\"form\":\"decant send log 1\"}}\n{{\"at\":\"2026-04-21T07:00:00Z\",\"job\":\"2026-0420\",\"revision\":1,\
             \"record\":\"ab\",\"to\":\"a@b.example\",\"message\":\"<x@y.example>\",\"state\":\"{state}\",\"told\":null}}\n"
        )
    };
    change(&copy.folder.join("log.yaml"), "reading: 1600 to 3200 ppm", "reading: 1600 ppm");
    for (text, part) in [
        (line("sent"), "went out by mail at 2026-04-21T07:00:00Z"),
        // nobody knows whether it arrived
        (line("sending"), "went out by mail at"),
        (line("unknown"), "went out by mail at"),
        ("rubbish\n".to_owned(), "cannot be known"),
    ] {
        write(&log, text);
        let run = copy.render(&["--replace-draft"]).must_end_with(1);
        says(&run.stderr, &[part, "nothing was written", "`revision: 2`"]);
        assert_eq!(digests(&output), now);
    }
    write(&log, line("refused"));
    copy.render(&["--replace-draft"]).must_end_with(0);
    assert_ne!(digests(&output), now);
}

#[test]
fn a_batch_replaces_a_draft_when_asked() {
    let (_folder, contract) = season();
    batch(&contract, &[]).must_end_with(3);
    let issued = night(&contract);
    change(&contract.join("logs/house-20260413.yaml"), "by: R. Okafor", "by: J. Lindqvist");
    let run = batch(&contract, &[]).must_end_with(1);
    says(&run.stderr, &["the job of 1 gives something else now", "`applied.loads[0].by`"]);
    assert_eq!(night(&contract), issued);
    batch(&contract, &["--replace-draft"]).must_end_with(3);
    let now = night(&contract);
    assert_ne!(now["house-20260413-record.json"], issued["house-20260413-record.json"]);
    assert_eq!(now["gull-20260413-record.json"], issued["gull-20260413-record.json"]);
    batch(&contract, &[]).must_end_with(3);
    assert_eq!(night(&contract), now);
}

#[test]
fn a_copy_is_settled_where_it_lies_and_looks_at_its_own_files() {
    let (folder, contract) = season();
    let named = |home: &str| format!("{home}/contract.yaml");
    let batch = |home: &str| {
        let (file, out) = (named(home), format!("{home}/out"));
        decant(folder.path(), ["batch", &file, "-o", &out, "--only", "certificate"])
    };
    batch("harbour-contract").must_end_with(3);
    let copy = folder.path().join("copy");
    let copied = Command::new("cp").arg("-r").args([&contract, &copy]).status().expect("cp runs");
    assert!(copied.success());
    let issued = night(&copy);
    let run = batch("copy").must_end_with(3);
    says(&run.stderr, &["3 settled: their certificates are issued and stay as they are\n"]);
    // what is written into the log of the copy is noticed there, though that of the first is as it was
    change(&copy.join("logs/house-20260413.yaml"), "by: R. Okafor", "by: J. Lindqvist");
    let run = batch("copy").must_end_with(1);
    says(&run.stderr, &["the job of 1 gives something else now", "`applied.loads[0].by`"]);
    assert_eq!(night(&copy), issued);
    let run = batch("harbour-contract").must_end_with(3);
    says(&run.stderr, &["3 settled: their certificates are issued and stay as they are\n"]);
}
