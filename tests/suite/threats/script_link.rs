//! A link that is a script: no link on a page.

use super::page_of;
use crate::support::program::decant;
use crate::support::workspace::Copy;

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
