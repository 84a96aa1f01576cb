//! Letters that hide, or turn the order of others about.

use serde_json::json;

use crate::support::program::decant;
use crate::support::record::record;
use crate::support::workspace::{Copy, read, temporary, write};

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
        let folder = temporary();
        write(folder.path().join("x-record.json"), record.to_string());
        decant(folder.path(), ["register", ".", "-o", "out"]).must_end_with(0);
        let csv = read(folder.path().join("out/register.csv"));
        assert!(csv.contains("Pier 3") && !csv.contains(hidden), "{csv}");
    }
}
