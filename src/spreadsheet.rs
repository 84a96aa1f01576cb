//! Tables for spreadsheets: CSV after RFC 4180, in UTF-8, with no cell that a spreadsheet would calculate.

use csv::{Terminator, WriterBuilder};

/// A cell that no spreadsheet takes for a formula: a text that begins like one gets an apostrophe before it. Programs
/// differ in what they look for, so that marks at full width and control characters count too.
pub fn plain_cell(text: &str) -> String {
    let starts = |c: char| matches!(c, '=' | '+' | '-' | '@' | '＝' | '＋' | '－' | '＠' | '\t' | '\r' | '\n');
    let begins = |text: &str| text.chars().next().is_some_and(starts);
    if begins(text) || begins(text.trim_start()) { format!("'{text}") } else { text.to_owned() }
}

/// What [`plain_cell`] was given: a text without the apostrophe that it put before a mark.
pub fn without_apostrophe(text: &str) -> &str {
    text.strip_prefix('\'').filter(|rest| plain_cell(rest) != *rest).unwrap_or(text)
}

/// A table, its cells as [`plain_cell`] leaves them.
///
/// # Errors
/// A fault of the writer, which has no cause in the cells.
pub fn table<R>(header: &[&str], rows: impl IntoIterator<Item = R>) -> Result<Vec<u8>, csv::Error>
where
    R: IntoIterator<Item: AsRef<str>>,
{
    let mut writer = WriterBuilder::new().terminator(Terminator::CRLF).flexible(true).from_writer(Vec::new());
    writer.write_record(header)?;
    for row in rows {
        writer.write_record(row.into_iter().map(|cell| plain_cell(cell.as_ref())))?;
    }
    writer.into_inner().map_err(|e| e.into_error().into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_cell_is_a_formula() {
        for text in ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "  =1", "＝1", "\u{a0}+1"] {
            assert_eq!(plain_cell(text), format!("'{text}"), "{text:?}");
            assert_eq!(without_apostrophe(&plain_cell(text)), text);
        }
        for text in ["", "600", "4-5", "a=b", "Gull Point"] {
            assert_eq!((plain_cell(text).as_str(), without_apostrophe(text)), (text, text));
        }
        let rows = [["Gull Point", "=HYPERLINK(\"x\")"], ["1,140", "plain"]];
        let text = String::from_utf8(table(&["site", "note"], rows).expect("a table")).expect("text");
        assert_eq!(text, "site,note\r\nGull Point,\"'=HYPERLINK(\"\"x\"\")\"\r\n\"1,140\",plain\r\n");
    }
}
