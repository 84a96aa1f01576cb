//! A list of records that somebody changed.

use serde_json::json;

use crate::support::program::decant;
use crate::support::workspace::{Copy, make_folder, names, write};

#[test]
fn a_list_of_records_that_somebody_changed_is_refused() {
    let copy = Copy::of("ferry-terminal");
    let output = copy.output();
    make_folder(&output);
    let entry = json!({ "number": "../../x\"><script>-173a8632", "day": "2026-04-13", "date": "", "site": null, "state": "done", "lang": "en" });
    let list = json!({ "form": "decant index 1", "records": [entry] }).to_string();
    write(output.join("records.json"), list);
    let run = decant(&copy.folder, ["page", "job.yaml", "-o", output.to_str().expect("text")]).must_end_with(2);
    assert!(run.stderr.contains("is not a list of records"), "{}", run.stderr);
    assert_eq!(names(&output), ["records.json"]);
}
