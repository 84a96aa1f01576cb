//! Tables of sites that mean harm: what stands in a cell is a name or an error at its cell, and never anything else.

use std::path::Path;

use serde_json::Value;

use super::tree;
use crate::support::program::{Outcome, decant};
use crate::support::workspace::{read, sample_contract, write};

const HALL: &str = "Gull Point Ferry Terminal";

fn with_cell(contract: &Path, from: &str, to: &str) {
    let sites = contract.join("sites.csv");
    let text = read(&sites);
    assert!(text.contains(from), "no {from:?} in the table");
    write(&sites, text.replacen(from, to, 1));
}

fn expand(contract: &Path) -> Outcome {
    decant(contract, ["expand", "contract.yaml", "-o", "jobs"])
}

/// Refused with its cell, and nothing in the folder or above is changed.
fn refused(from: &str, to: &str, reported: &[&str]) {
    let (folder, contract) = sample_contract();
    with_cell(&contract, from, to);
    let before = tree(folder.path());
    let run = expand(&contract).must_end_with(2);
    for part in reported {
        assert!(run.stderr.contains(part), "{to:?}: no {part:?} in\n{}", run.stderr);
    }
    assert!(!run.stderr.contains("panicked"), "{}", run.stderr);
    assert_eq!(tree(folder.path()), before, "{to:?}");
}

#[test]
fn a_key_that_is_a_path_writes_nothing() {
    for key in ["../gull", "/tmp/gull", "..", "a/b", "a\\b", ".gull", "gull\u{0}"] {
        refused("gull,", &format!("{key},"), &["sites.csv:2"]);
    }
}

#[test]
fn letters_that_hide_are_refused_at_their_cell() {
    for hidden in ['\u{202E}', '\u{2066}', '\u{200F}', '\u{7}', '\u{1b}'] {
        refused(HALL, &format!("Gull{hidden} Point"), &["sites.csv:2"]);
    }
}

#[test]
fn a_table_that_is_none_is_told() {
    // one quote too many, which would swallow the next site
    refused(HALL, "\"Gull Point", &["sites.csv:3:25", "ends here, and more of it follows"]);
    let (_folder, contract) = sample_contract();
    write(contract.join("sites.csv"), b"Code,Site\ngull,\xff\xfe\n");
    let run = expand(&contract).must_end_with(2);
    assert!(run.stderr.contains("sites.csv"), "{}", run.stderr);
    for bytes in [b"PK\x03\x04 and then nothing".as_slice(), b"", b"<html>"] {
        let (_folder, contract) = sample_contract();
        write(contract.join("sites.xlsx"), bytes);
        let text = read(contract.join("contract.yaml"));
        let text = text.replace("file: sites.csv", "file: sites.xlsx\n  sheet: Sites");
        write(contract.join("contract.yaml"), text);
        let run = expand(&contract).must_end_with(2);
        assert!(run.stderr.contains("sites.xlsx"), "{}", run.stderr);
        assert!(!run.stderr.contains("panicked"), "{}", run.stderr);
    }
}

/// YAML, HTML, Typst and a formula: each is the site's name in the job, and the job has no key that the contract did not give.
#[test]
fn a_name_stays_a_name_in_the_job_that_is_written() {
    for name in [
        "x\" } visit: { start: 2026-01-01T00:00",
        "x # and no more",
        "&anchor *anchor !!binary x",
        "{{ 7 * 7 }} {% raw %}",
        "=HYPERLINK(\"https://x.example\")",
        "<script>alert(1)</script>",
        "#read(\"/etc/passwd\") $x$ @ref",
        "company: ../../other.yaml",
        "null",
        "0017",
    ] {
        let (_folder, contract) = sample_contract();
        with_cell(&contract, HALL, &format!("\"{}\"", name.replace('"', "\"\"")));
        let run = expand(&contract).must_end_with(0);
        let job = run.stdout.lines().next().expect("a job");
        let plan = decant(&contract, ["plan", job, "--json"]).must_end_with(0);
        let plan: Value = serde_json::from_str(&plan.stdout).expect("JSON");
        assert_eq!(plan["site"]["name"], name);
        assert_eq!(plan["client"]["name"], "Port Ansel Harbour Board");
        assert_eq!(plan["start"], "2026-04-13T18:00:00");
    }
}

#[test]
fn a_line_in_a_cell_makes_no_line_in_the_job() {
    let (_folder, contract) = sample_contract();
    with_cell(&contract, HALL, "\"Gull Point\nclient: { name: Somebody else }\"");
    let run = expand(&contract).must_end_with(0);
    let job = run.stdout.lines().next().expect("a job");
    let plan = decant(&contract, ["plan", job, "--json"]).must_end_with(0);
    let plan: Value = serde_json::from_str(&plan.stdout).expect("JSON");
    assert_eq!(plan["site"]["name"], "Gull Point client: { name: Somebody else }");
    assert_eq!(plan["client"]["name"], "Port Ansel Harbour Board");
}
