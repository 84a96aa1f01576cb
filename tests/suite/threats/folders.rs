//! Folders that somebody else had in hand: links in them, and a list of records that was changed.

use std::fs;
use std::os::unix::fs::symlink;

use serde_json::json;

use super::{record_folder, tree};
use crate::support::program::decant;
use crate::support::workspace::{Copy, make_folder, names, read, temporary, write};

#[test]
fn a_symbolic_link_in_the_output_folder_leads_nowhere() {
    let copy = Copy::of("ferry-terminal");
    let outside = temporary();
    let victim = outside.path().join("victim");
    write(&victim, "mine");
    // a file's name is taken by a link: the link is replaced, what it led to stays
    let output = copy.output();
    make_folder(&output);
    for name in ["2026-0413-record.json", "2026-0413-mix-sheet.pdf", "index.html"] {
        symlink(&victim, output.join(name)).expect("a link");
    }
    copy.render(&["--only", "mix-sheet"]).must_end_with(0);
    copy.written(&["page", "job.yaml"]).must_end_with(0);
    assert_eq!(read(&victim), "mine");
    assert!(!output.join("index.html").is_symlink() && !output.join("2026-0413-record.json").is_symlink());
    // a record's folder is taken by a link: nothing is written at all
    let record = record_folder(&output);
    fs::remove_dir_all(&record).expect("removed");
    symlink(outside.path(), &record).expect("a link");
    let before = tree(&output);
    let run = copy.written(&["page", "job.yaml"]).must_end_with(2);
    assert!(run.stderr.contains("symbolic link"), "{}", run.stderr);
    assert_eq!(names(outside.path()), ["victim"]);
    assert_eq!(tree(&output), before);
}

#[test]
fn a_ring_of_symbolic_links_among_records_is_not_followed() {
    let folder = temporary();
    symlink(folder.path(), folder.path().join("round")).expect("a link");
    let run = decant(folder.path(), ["register", ".", "-o", "out"]).must_end_with(2);
    assert!(run.stderr.contains("no file named"), "{}", run.stderr);
}

#[test]
fn a_list_of_records_that_somebody_changed_is_refused() {
    let copy = Copy::of("ferry-terminal");
    let output = copy.output();
    make_folder(&output);
    let entry = json!({ "number": "../../x\"><script>-173a8632", "day": "2026-04-13", "date": "", "site": null, "state": "done", "lang": "en" });
    let list = json!({ "form": "decant index 1", "records": [entry] }).to_string();
    write(output.join("records.json"), list);
    let run = copy.written(&["page", "job.yaml"]).must_end_with(2);
    assert!(run.stderr.contains("is not a list of records"), "{}", run.stderr);
    assert_eq!(names(&output), ["records.json"]);
}
