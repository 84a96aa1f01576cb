//! Typst in a name: text on paper.

use serde_json::Value;

use crate::support::program::decant;
use crate::support::workspace::Copy;

#[test]
fn typst_in_a_name_is_text_on_paper() {
    let copy = Copy::of("ferry-terminal");
    let hostile = r##"#read("/etc/passwd") *bold* $x$ @ref \ #panic()"##;
    copy.change_job("notes:", &format!("notes:\n  - '{hostile}'"));
    let output = copy.output();
    decant(&copy.folder, ["render", "job.yaml", "-o", output.to_str().expect("text"), "--only", "mix-sheet"])
        .must_end_with(0);
    let data = decant(&copy.folder, ["data", "job.yaml", "mix-sheet"]).must_end_with(0);
    let data: Value = serde_json::from_str(&data.stdout).expect("JSON");
    assert!(data.to_string().contains("panic()"), "the note is not on the sheet at all");
}
