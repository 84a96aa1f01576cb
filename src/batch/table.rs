//! The summary as a table for spreadsheets.

use super::Failed;

/// A cell that no spreadsheet takes for a formula: a text that begins like one gets an apostrophe before it. Programs
/// differ in what they look for, so that marks at full width and control characters count too.
pub fn plain_cell(text: &str) -> String {
    let starts = |c: char| {
        matches!(
            c,
            '=' | '+' | '-' | '@' | '＝' | '＋' | '－' | '＠' | '\t' | '\r' | '\n'
        )
    };
    let begins = |text: &str| text.chars().next().is_some_and(starts);
    if begins(text) || begins(text.trim_start()) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

/// The table in UTF-8, its cells as [`plain_cell`] leaves them.
pub(super) fn table<'a>(header: &[&str], rows: impl IntoIterator<Item = &'a Vec<String>>) -> Result<Vec<u8>, Failed> {
    let cannot = |e: csv::Error| Failed::new(format!("the summary cannot be written: {e}"));
    let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    writer.write_record(header).map_err(cannot)?;
    for row in rows {
        writer
            .write_record(row.iter().map(|cell| plain_cell(cell)))
            .map_err(cannot)?;
    }
    writer
        .into_inner()
        .map_err(|e| Failed::new(format!("the summary cannot be written: {e}")))
}
