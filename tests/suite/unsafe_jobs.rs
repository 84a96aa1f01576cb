//! Jobs and logs at which a careful person would stop: the refusal, the cautions, or the verdicts that each must end in.

use std::fs;

use serde_json::Value;

use crate::support::case::{Case, cases, difference, none_differ};
use crate::support::program::decant;
use crate::support::workspace::{read_bytes, temporary};

#[test]
fn every_unsafe_job_is_stopped_or_cautioned() {
    let all = cases("unsafe");
    let mut differences = Vec::new();
    for case in &all {
        let found = planned(case);
        if found.is_empty() {
            differences.push(format!("{}: planned without a caution", case.name));
        }
        differences.extend(difference(case, "expected.txt", &found));
        if case.folder.join("log.yaml").exists() {
            differences.extend(difference(case, "certificate.txt", &judged(case)));
        }
    }
    none_differ(&differences);
}

/// `exit N` and what was said, for a job that is refused; else one line for each kind of caution.
fn planned(case: &Case) -> String {
    let run = decant(&case.folder, ["plan", "--json", "job.yaml"]);
    if run.code != Some(0) {
        return format!("exit {}\n{}", run.code.unwrap_or(-1), run.stderr);
    }
    let plan: Value = serde_json::from_str(&run.stdout).expect("a plan is JSON");
    let cautions = plan["cautions"].as_array().expect("a list of cautions");
    let mut lines: Vec<String> =
        cautions.iter().map(|caution| format!("caution {}\n", caution["code"].as_str().expect("a code"))).collect();
    lines.sort();
    lines.dedup();
    lines.concat() + &run.stderr
}

/// How asking for the certificate ends, what was said, and every verdict of the record: `RULE OUTCOME`.
fn judged(case: &Case) -> String {
    let output = temporary();
    let folder = output.path().to_str().expect("a temporary folder's name is text");
    let run = decant(&case.folder, ["render", "job.yaml", "-o", folder, "--only", "certificate"]);
    let mut found = format!("exit {}\n", run.code.unwrap_or(-1));
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let entries = fs::read_dir(output.path()).expect("the output folder can be read");
    for path in entries.map(|entry| entry.expect("an entry can be read").path()) {
        if path.to_string_lossy().ends_with("-record.json") {
            let record: Value = serde_json::from_slice(&read_bytes(&path)).expect("JSON");
            for verdict in record["verdicts"].as_array().expect("a list of verdicts") {
                found += &format!("verdict {} {}\n", text(&verdict["rule"]), text(&verdict["outcome"]));
            }
        }
    }
    found + &run.stderr.replace(folder, "OUTPUT")
}
