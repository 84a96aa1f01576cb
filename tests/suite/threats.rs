//! Hostile input, one test a threat; the table in DEVELOPERS.md names them.

use std::fs;
use std::path::Path;

use serde_json::{Value, json};

use super::page::{parsed, stands_alone, words};
use crate::support::program::decant;
use crate::support::record::record;
use crate::support::workspace::{Copy, names};

fn page_of(copy: &Copy) -> String {
    let output = copy.output();
    decant(&copy.folder, ["page", "job.yaml", "-o", output.to_str().expect("text")]).must_end_with(0);
    let folder = fs::read_dir(&output)
        .expect("pages")
        .map(|entry| entry.expect("an entry").path())
        .find(|path| path.is_dir())
        .expect("a folder of the record");
    fs::read_to_string(folder.join("index.html")).expect("a page")
}

/// Everything below a folder, with its bytes.
fn tree(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut all = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() && !path.is_symlink() {
            all.extend(tree(&path));
        } else {
            all.push((path.display().to_string(), fs::read(&path).unwrap_or_default()));
        }
    }
    all.sort();
    all
}

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
    let index = fs::read_to_string(copy.output().join("index.html")).expect("an index");
    let html = parsed(&index);
    stands_alone(&index, &html);
    assert!(words(&html).contains(hostile));
}

#[test]
fn a_link_that_is_a_script_is_no_link() {
    for hostile in ["javascript:alert(1)", "data:text/html,x", "JAVASCRIPT://x"] {
        let copy = Copy::of("ferry-terminal");
        copy.change_company("link: https://sds.example/solvary-q75", &format!("link: '{hostile}'"));
        let output = copy.output();
        let run = decant(&copy.folder, ["page", "job.yaml", "-o", output.to_str().expect("text")]);
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
    let output = copy.output();
    decant(
        &copy.folder,
        [
            "render",
            "job.yaml",
            "-o",
            output.to_str().expect("text"),
            "--only",
            "mix-sheet",
        ],
    )
    .must_end_with(0);
    let data = decant(&copy.folder, ["data", "job.yaml", "mix-sheet"]).must_end_with(0);
    let data: Value = serde_json::from_str(&data.stdout).expect("JSON");
    assert!(
        data.to_string().contains("panic()"),
        "the note is not on the sheet at all"
    );
}

#[test]
fn a_job_number_that_is_a_path_is_refused() {
    for hostile in ["../../etc", "/etc/x", "..\\\\x", "a/b"] {
        let copy = Copy::of("ferry-terminal");
        copy.change_job("job: 2026-0413", &format!("job: \"{hostile}\""));
        for command in ["render", "page"] {
            let output = copy.output();
            let run = decant(
                &copy.folder,
                [command, "job.yaml", "-o", output.to_str().expect("text")],
            )
            .must_end_with(2);
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
        let output = copy.output();
        let run = decant(&copy.folder, ["page", "job.yaml", "-o", output.to_str().expect("text")]).must_end_with(2);
        assert!(run.stderr.contains("cannot be seen in print"), "{}", run.stderr);
        // a record is a file that others had in hand
        let mut record = record("fish-hall");
        record["plan"]["site"]["name"] = json!(format!("Pier{hidden}3"));
        let folder = tempfile::tempdir().expect("a temporary folder");
        fs::write(folder.path().join("x-record.json"), record.to_string()).expect("written");
        decant(folder.path(), ["register", ".", "-o", "out"]).must_end_with(0);
        let csv = fs::read_to_string(folder.path().join("out/register.csv")).expect("CSV");
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
    let folder = tempfile::tempdir().expect("a temporary folder");
    fs::write(folder.path().join("x-record.json"), record.to_string()).expect("written");
    decant(folder.path(), ["register", ".", "-o", "out"]).must_end_with(0);
    let csv = fs::read_to_string(folder.path().join("out/register.csv")).expect("CSV");
    let body = csv.split_once("\r\n").expect("a header").1;
    assert!(
        body.contains("\"'=HYPERLINK(") && body.contains(",'+1+cmd|") && body.contains(",'-2,"),
        "{csv}"
    );
    assert!(body.contains(",' @SUM(A1),"), "{csv}");
    for start in ['=', '+', '-', '@', '\t'] {
        let begins = |cell: &str| cell.trim_start_matches('"').starts_with(start);
        assert!(
            !body.lines().flat_map(|line| line.split(',')).any(begins),
            "{start:?} in {csv}"
        );
    }
}

#[cfg(unix)]
#[test]
fn a_symbolic_link_in_the_output_folder_leads_nowhere() {
    use std::os::unix::fs::symlink;
    let copy = Copy::of("ferry-terminal");
    let outside = tempfile::tempdir().expect("a temporary folder");
    let victim = outside.path().join("victim");
    fs::write(&victim, "mine").expect("written");
    // a file's name is taken by a link: the link is replaced, what it led to stays
    let output = copy.output();
    fs::create_dir(&output).expect("a folder");
    for name in ["2026-0413-record.json", "2026-0413-mix-sheet.pdf", "index.html"] {
        symlink(&victim, output.join(name)).expect("a link");
    }
    let folder = output.to_str().expect("text");
    decant(
        &copy.folder,
        ["render", "job.yaml", "-o", folder, "--only", "mix-sheet"],
    )
    .must_end_with(0);
    decant(&copy.folder, ["page", "job.yaml", "-o", folder]).must_end_with(0);
    assert_eq!(fs::read_to_string(&victim).expect("still there"), "mine");
    assert!(!output.join("index.html").is_symlink() && !output.join("2026-0413-record.json").is_symlink());
    // a record's folder is taken by a link: nothing is written at all
    let record = fs::read_dir(&output)
        .expect("pages")
        .map(|entry| entry.expect("an entry").path())
        .find(|path| path.is_dir())
        .expect("a folder of the record");
    fs::remove_dir_all(&record).expect("removed");
    symlink(outside.path(), &record).expect("a link");
    let before = tree(&output);
    let run = decant(&copy.folder, ["page", "job.yaml", "-o", folder]).must_end_with(2);
    assert!(run.stderr.contains("symbolic link"), "{}", run.stderr);
    assert_eq!(names(outside.path()), ["victim"]);
    assert_eq!(tree(&output), before);
}

#[cfg(unix)]
#[test]
fn a_ring_of_symbolic_links_among_records_is_not_followed() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    std::os::unix::fs::symlink(folder.path(), folder.path().join("round")).expect("a link");
    let run = decant(folder.path(), ["register", ".", "-o", "out"]).must_end_with(2);
    assert!(run.stderr.contains("no file named"), "{}", run.stderr);
}

#[test]
fn a_list_of_records_that_somebody_changed_is_refused() {
    let copy = Copy::of("ferry-terminal");
    let output = copy.output();
    fs::create_dir(&output).expect("a folder");
    let entry = json!({ "number": "../../x\"><script>-173a8632", "day": "2026-04-13", "date": "", "site": null, "state": "done", "lang": "en" });
    let list = json!({ "form": "decant index 1", "records": [entry] }).to_string();
    fs::write(output.join("records.json"), list).expect("written");
    let run = decant(&copy.folder, ["page", "job.yaml", "-o", output.to_str().expect("text")]).must_end_with(2);
    assert!(run.stderr.contains("is not a list of records"), "{}", run.stderr);
    assert_eq!(names(&output), ["records.json"]);
}
