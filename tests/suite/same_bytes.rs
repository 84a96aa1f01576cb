//! The same job gives the same bytes, whenever and from wherever it is rendered.

use std::path::Path;

use sha2::{Digest, Sha256};

use crate::support::program::decant;
use crate::support::workspace::{digests, root, temporary};

fn rendered(from: &Path, job: &str) -> std::collections::BTreeMap<String, String> {
    let output = temporary();
    let folder = output.path().to_str().expect("a temporary folder's name is text");
    decant(from, ["render", job, "-o", folder]).must_end_with(0);
    digests(output.path())
}

#[test]
fn two_runs_and_two_working_directories_give_the_same_bytes() {
    let first = rendered(root(), "samples/ferry-terminal/job.yaml");
    assert!(first.len() >= 4, "{first:?}");
    assert_eq!(first, rendered(root(), "samples/ferry-terminal/job.yaml"), "a second run");
    assert_eq!(first, rendered(&root().join("samples/ferry-terminal"), "job.yaml"), "another working directory");
}

#[test]
fn the_record_holds_the_plan_and_is_named_by_its_digest() {
    let output = temporary();
    let folder = output.path().to_str().expect("a temporary folder's name is text");
    let job = "samples/fish-hall/job.yaml";
    decant(root(), ["render", job, "-o", folder, "--only", "mix-sheet"]).must_end_with(0);
    let record: serde_json::Value =
        serde_json::from_slice(&std::fs::read(output.path().join("2026-0420-record.json")).expect("the record"))
            .expect("a record is JSON");
    let reported = decant(root(), ["plan", "--json", job]).must_end_with(0);
    assert_eq!(record["plan"], serde_json::from_str::<serde_json::Value>(&reported.stdout).expect("a plan is JSON"));
    let plan = serde_json_canonicalizer::to_vec(&record["plan"]).expect("canonical JSON");
    let digest: String = Sha256::digest(plan).iter().map(|byte| format!("{byte:02x}")).collect();
    let number = format!("2026-0420-{}", &digest[..8]);
    assert_eq!(record["number"], number.as_str());
    let plan = decant(root(), ["plan", job]).must_end_with(0);
    assert!(plan.stdout.contains(&format!("Record {number}\n")), "{number} is not in:\n{}", plan.stdout);
}
