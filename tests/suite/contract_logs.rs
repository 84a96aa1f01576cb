//! Logs: of a contract's folder under any ending, and a log that cannot be used keeps nobody from a plan or a label.

use std::fs;
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use crate::support::program::{Outcome, decant};
use crate::support::workspace::{Copy, copy_file, json, names, read, remove, says, short_contract, write};

/// One Tuesday of the sample contract.
fn tuesday() -> (TempDir, PathBuf) {
    let mondays = "  - { rule: FREQ=WEEKLY;INTERVAL=2;BYDAY=MO, from: 2026-04-13, routes: north }";
    short_contract("2026-05-05", "2026-05-01", mondays, "20260505")
}

fn batch(contract: &Path) -> Outcome {
    decant(contract, ["batch", "contract.yaml", "-o", "out", "--only", "certificate"])
}

fn has_certificate(contract: &Path, job: &str) -> bool {
    contract.join("out").join(job).join(format!("{job}-certificate.pdf")).is_file()
}

const TABLE: &str = "what,treatment,load,area,lot,mixed,by,reading,started,finished,wet_until
load,1,1,,SQ-2603-07,2026-05-05 08:11,R. Okafor,1200 ppm,,,
area,1,,Benches and rails,,,,,2026-05-05 08:12,2026-05-05 08:18,2026-05-05 08:29
";

#[test]
fn a_contract_takes_logs_under_any_ending_that_a_job_takes() {
    let (_folder, contract) = tuesday();
    let logs = contract.join("logs");
    write(logs.join("slip-20260505.csv"), TABLE);
    remove(logs.join("slip-20260505.yaml"));
    fs::rename(logs.join("light-20260505.yaml"), logs.join("light-20260505.yml")).expect("renamed");
    let run = batch(&contract).must_end_with(0);
    for job in ["slip-20260505", "light-20260505", "mussel-20260505"] {
        assert!(has_certificate(&contract, job), "{job}: {}", run.stderr);
    }
    assert!(
        json(contract.join("out/manifest.json"))["unused"].is_null(),
        "{}",
        json(contract.join("out/manifest.json"))["unused"]
    );
}

#[test]
fn a_log_of_no_visit_and_two_of_one_are_told() {
    let (_folder, contract) = tuesday();
    let logs = contract.join("logs");
    write(logs.join("slip-20260505.csv"), TABLE);
    copy_file(logs.join("light-20260505.yaml"), logs.join("light-20260506.yaml"));
    write(logs.join("mussel-20260505.docx"), "PK");
    // a photograph is no log
    write(logs.join("IMG_0412.jpg"), "JFIF");
    let run = batch(&contract).must_end_with(3);
    says(
        &run.stderr,
        &[
            "warning[log-unused]",
            "light-20260506.yaml: it is named as no visit of the contract",
            "slip-20260505.csv: the visit slip-20260505 has several logs, so that none of them is taken",
            "slip-20260505.yaml: the visit slip-20260505 has several logs",
            "mussel-20260505.docx: a log ends in .csv, .json, .tsv, .xlsx, .yaml, .yml, not in .docx",
        ],
    );
    assert!(!run.stderr.contains("IMG_0412"), "{}", run.stderr);
    assert!(!has_certificate(&contract, "slip-20260505"));
    assert!(has_certificate(&contract, "light-20260505"));
    assert_eq!(json(contract.join("out/manifest.json"))["unused"].as_array().map(Vec::len), Some(4));
    let run = decant(&contract, ["expand", "contract.yaml", "-o", "jobs"]).must_end_with(0);
    says(&run.stderr, &["light-20260506.yaml: it is named as no visit"]);
}

#[test]
fn a_log_that_cannot_be_used_blocks_the_certificate_alone() {
    for (log, problem) in [
        (Some("loads: ["), "error[yaml-syntax]"),
        (Some("loads:\n  - { load: 1, mixed: yesterday }\n"), "error[bad-time]"),
        // it speaks of a load that the plan does not have
        (Some("loads:\n  - { load: 99, skipped: gate locked }\n"), "error["),
        (None, "error["),
    ] {
        let copy = Copy::of("fish-hall");
        match log {
            Some(text) => write(copy.folder.join("log.yaml"), text),
            None => remove(copy.folder.join("log.yaml")),
        }
        let caution = "caution: the log of job 2026-0420 cannot be used";
        let run = decant(&copy.folder, ["plan", "job.yaml"]).must_end_with(0);
        says(&run.stderr, &[caution, problem]);
        assert!(run.stdout.contains("2026-0420"), "{}", run.stdout);
        let run = decant(&copy.folder, ["labels", "job.yaml", "-o", "run.pdf"]).must_end_with(0);
        says(&run.stderr, &[caution, problem]);
        let run = decant(&copy.folder, ["load-out", "job.yaml", "-o", "van.pdf"]).must_end_with(0);
        says(&run.stderr, &[caution]);
        let output = copy.output();
        let folder = output.to_str().expect("a name is text");
        let run = decant(&copy.folder, ["render", "job.yaml", "-o", folder, "--only", "mix-sheet"]).must_end_with(0);
        says(&run.stderr, &[caution]);
        let run = decant(&copy.folder, ["render", "job.yaml", "-o", folder]).must_end_with(1);
        says(&run.stderr, &[caution, problem, "The certificate is withheld until the log can be used."]);
        let made = names(&output);
        assert!(made.contains(&"2026-0420-mix-sheet.pdf".to_owned()), "{made:?}");
        assert!(!made.iter().any(|name| name.contains("certificate")), "{made:?}");
        // what says what was done needs the log
        decant(&copy.folder, ["render", "job.yaml", "-o", "c", "--only", "certificate"]).must_end_with(2);
        decant(&copy.folder, ["render", "job.yaml", "-o", "c", "--only", "certificate", "--draft"]).must_end_with(2);
        // a page says that the certificate is pending, and nothing of the work
        let run = decant(&copy.folder, ["page", "job.yaml", "-o", "site"]).must_end_with(0);
        says(&run.stderr, &["its certificate is pending: "]);
        says(&read(copy.folder.join("site/index.html")), &["certificate pending"]);
    }
}

#[test]
fn in_a_batch_too() {
    let (_folder, contract) = tuesday();
    write(contract.join("logs/slip-20260505.yaml"), "loads: [");
    let run =
        decant(&contract, ["batch", "contract.yaml", "-o", "out", "--only", "certificate", "--only", "mix-sheet"]);
    let run = run.must_end_with(1);
    says(&run.stderr, &["caution: the log of job slip-20260505 cannot be used", "yaml-syntax"]);
    assert!(contract.join("out/slip-20260505/slip-20260505-mix-sheet.pdf").is_file());
    assert!(contract.join("out/2026-05-05-south/2026-05-05-south-mix-sheets.pdf").is_file());
    assert!(has_certificate(&contract, "light-20260505"));
    let manifest = json(contract.join("out/manifest.json"));
    let jobs = manifest["jobs"].as_array().expect("jobs");
    let slip = jobs.iter().find(|job| job["job"] == "slip-20260505").expect("the job");
    assert_eq!(slip["state"], "done");
    assert!(slip["trouble"].as_str().is_some_and(|t| t.contains("cannot be used")), "{slip}");
}
