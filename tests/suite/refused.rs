//! Bad input: the exact words on stderr, exit code 2, nothing on stdout.

use std::collections::BTreeSet;

use crate::support::case::{cases, difference, none_differ};
use crate::support::program::decant;

#[test]
fn every_bad_input_is_refused_in_the_expected_words() {
    let mut differences = Vec::new();
    for case in cases("refused") {
        let run = decant(&case.folder, ["plan", "job.yaml"]);
        if run.code != Some(2) || !run.stdout.is_empty() {
            differences.push(format!("{}: exit {:?}, stdout: {:?}", case.name, run.code, run.stdout));
        }
        differences.extend(difference(&case, "expected.txt", &run.stderr));
    }
    none_differ(&differences);
}

#[test]
fn there_are_bad_inputs_of_many_kinds() {
    let all = cases("refused");
    assert!(all.len() >= 25, "only {} cases", all.len());
    let mut codes = BTreeSet::new();
    for case in &all {
        let text = std::fs::read_to_string(case.folder.join("expected.txt")).unwrap_or_default();
        codes.extend(text.lines().filter_map(|l| Some(l.strip_prefix("error[")?.split_once(']')?.0.to_owned())));
    }
    assert!(codes.len() >= 25, "only {} kinds of problem: {codes:?}", codes.len());
}
