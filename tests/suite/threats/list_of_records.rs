//! A list of records that somebody changed.

use std::fs;

use serde_json::json;

use crate::support::program::decant;
use crate::support::workspace::{Copy, names};

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
