//! Values that mean harm: on a page, on paper, in a spreadsheet and as names of files they are text or refused.

use serde_json::{Value, json};

use super::super::page::{parsed, stands_alone, words};
use super::page_of;
use crate::support::program::decant;
use crate::support::record::record;
use crate::support::workspace::{Copy, read, temporary, write};

#[test]
fn html_in_a_name_is_text_on_the_page() {
    let hostile = r#"<img src=x onerror=alert(1)> "'&amp; </title><script>alert(2)</script> {{ 7*7 }} {% raw %}"#;
    let copy = Copy::of("ferry-terminal");
    let yaml = hostile.replace('\'', "''");
    copy.change_job("  name: Gull Point Ferry Terminal", &format!("  name: '{yaml}'"));
    copy.change_company("  name: Tern & Tide Hygiene", &format!("  name: '{yaml}'"));
    copy.change_company("    name: Solvary Q-75", &format!("    name: '{yaml}'"));
    let text = page_of(&copy);
    let html = parsed(&text);
    stands_alone(&text, &html);
    let said = words(&html);
    assert!(said.matches(hostile).count() >= 4, "{said}");
    let index = read(copy.output().join("index.html"));
    let html = parsed(&index);
    stands_alone(&index, &html);
    assert!(words(&html).contains(hostile));
}

#[test]
fn a_link_that_is_a_script_is_no_link() {
    for hostile in ["javascript:alert(1)", "data:text/html,x", "JAVASCRIPT://x"] {
        let copy = Copy::of("ferry-terminal");
        copy.change_company("link: https://sds.example/solvary-q75", &format!("link: '{hostile}'"));
        let run = copy.written(&["page", "job.yaml"]);
        if run.code == Some(0) {
            let text = page_of(&copy);
            assert!(!text.contains(hostile), "{hostile} is on the page");
        } else {
            // refused where it is read is as good
            assert_eq!(run.code, Some(2), "{}", run.stderr);
        }
    }
}

#[test]
fn typst_in_a_name_is_text_on_paper() {
    let copy = Copy::of("ferry-terminal");
    let hostile = r##"#read("/etc/passwd") *bold* $x$ @ref \ #panic()"##;
    copy.change_job("notes:", &format!("notes:\n  - '{hostile}'"));
    copy.render(&["--only", "mix-sheet"]).must_end_with(0);
    let data = decant(&copy.folder, ["data", "job.yaml", "mix-sheet"]).must_end_with(0);
    let data: Value = serde_json::from_str(&data.stdout).expect("JSON");
    assert!(data.to_string().contains("panic()"), "the note is not on the sheet at all");
}

#[test]
fn a_job_number_that_is_a_path_is_refused() {
    for hostile in ["../../etc", "/etc/x", "..\\\\x", "a/b"] {
        let copy = Copy::of("ferry-terminal");
        copy.change_job("job: 2026-0413", &format!("job: \"{hostile}\""));
        for command in ["render", "page"] {
            let run = copy.written(&[command, "job.yaml"]).must_end_with(2);
            assert!(run.stderr.contains("job.yaml:"), "{}", run.stderr);
        }
        assert!(!copy.output().exists());
    }
}

#[test]
fn letters_that_turn_the_order_about_are_refused_and_cleaned_out_of_records() {
    for hidden in ['\u{202E}', '\u{2066}', '\u{200F}'] {
        let copy = Copy::of("ferry-terminal");
        copy.change_job("  name: Gull Point", &format!("  name: Gull {hidden}Point"));
        let run = copy.written(&["page", "job.yaml"]).must_end_with(2);
        assert!(run.stderr.contains("cannot be seen in print"), "{}", run.stderr);
        // a record is a file that others had in hand
        let mut record = record("fish-hall");
        record["plan"]["site"]["name"] = json!(format!("Pier{hidden}3"));
        let folder = temporary();
        write(folder.path().join("x-record.json"), record.to_string());
        decant(folder.path(), ["register", ".", "-o", "out"]).must_end_with(0);
        let csv = read(folder.path().join("out/register.csv"));
        assert!(csv.contains("Pier 3") && !csv.contains(hidden), "{csv}");
    }
}

#[test]
fn a_formula_in_a_record_is_text_in_a_spreadsheet() {
    let mut record = record("fish-hall");
    let plan = &mut record["plan"];
    plan["site"]["name"] = json!("=HYPERLINK(\"https://x.example\",\"Pier\")");
    plan["treatments"][0]["product"]["name"] = json!("+1+cmd|' /C calc'!A0");
    plan["treatments"][0]["product"]["registration"] = json!("\t@SUM(A1)");
    plan["treatments"][1]["product"]["name"] = json!("-2");
    let folder = temporary();
    write(folder.path().join("x-record.json"), record.to_string());
    decant(folder.path(), ["register", ".", "-o", "out"]).must_end_with(0);
    let csv = read(folder.path().join("out/register.csv"));
    let body = csv.split_once("\r\n").expect("a header").1;
    assert!(body.contains("\"'=HYPERLINK(") && body.contains(",'+1+cmd|") && body.contains(",'-2,"), "{csv}");
    assert!(body.contains(",' @SUM(A1),"), "{csv}");
    for start in ['=', '+', '-', '@', '\t'] {
        let begins = |cell: &str| cell.trim_start_matches('"').starts_with(start);
        assert!(!body.lines().flat_map(|line| line.split(',')).any(begins), "{start:?} in {csv}");
    }
}
