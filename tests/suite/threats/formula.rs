//! A formula in a record: text in a spreadsheet.

use serde_json::json;

use crate::support::program::decant;
use crate::support::record::record;
use crate::support::workspace::{read, temporary, write};

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
