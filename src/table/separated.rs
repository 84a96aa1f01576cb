//! CSV and TSV, as RFC 4180 describes them.

use std::path::Path;

use super::{
    Cell, Form, MOST_CELLS, MOST_COLUMNS, MOST_ROWS, Problem, Table, Which, refuse, text_cell, too_large, whole,
};
use crate::diagnostic::Diagnostic;
use crate::separated::{BadQuote, Lines, Rows};

/// `usual` stands between fields where nothing else is known of it.
pub(super) fn read(file: &Path, bytes: Vec<u8>, usual: u8, which: &Which) -> Result<Table, Problem> {
    let text = String::from_utf8(bytes).map_err(|e| {
        let good = &e.as_bytes()[..e.utf8_error().valid_up_to()];
        let line = good.iter().filter(|b| **b == b'\n').count() + 1;
        let byte = e.as_bytes()[good.len()];
        let message = format!("line {line} is not UTF-8 text (byte 0x{byte:02X})");
        let hint = "save it from the spreadsheet as XLSX, or as `CSV UTF-8`: what is another encoding's letter nobody can tell";
        refuse(file, "file-not-utf8", message, hint)
    })?;
    let text = text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text);
    // headings further down: what stands above them is no part of the table
    let skipped: usize = text.split_inclusive('\n').take(which.heading.saturating_sub(1) as usize).map(str::len).sum();
    let lines = Lines::of(&text);
    let at = |byte: usize| {
        let mut place = whole(file);
        place.spot = Some(lines.spot(&text, byte));
        place
    };
    let mut rows: Vec<Vec<Cell>> = Vec::new();
    let mut fields = Vec::new();
    let mut cells = 0;
    let separator = which.separator.unwrap_or_else(|| if which.log { most_often(&text, usual) } else { usual });
    let mut source = Rows::of(&text, skipped, separator);
    if which.log {
        source = source.strict();
    }
    loop {
        let begin = source.position();
        let Some(read) = source.next() else { break };
        let row = read.map_err(|bad| {
            let (code, message, byte) = match bad {
                BadQuote::EndsEarly(byte) => {
                    ("quote-ends-early", "a field in quotes ends here, and more of it follows", byte - 1)
                }
                BadQuote::Within(byte) => {
                    ("quote-within", "a quote stands in the middle of a field: put the whole field in quotes", byte)
                }
                BadQuote::Unclosed(_) => {
                    ("quote-unclosed", "a quote opens here or further on in this row and is never closed", begin)
                }
            };
            let hint = "a quote inside quotes is written twice: `\"\"`";
            Box::new(Diagnostic::error(code, message).at(at(byte)).hint(hint))
        })?;
        if row.is_empty() {
            continue;
        }
        if rows.len() == MOST_ROWS || row.len() > MOST_COLUMNS {
            return Err(too_large(file, format!("more than {MOST_ROWS} rows or {MOST_COLUMNS} columns")));
        }
        cells += row.len();
        if cells > MOST_CELLS {
            return Err(too_large(file, format!("more than {MOST_CELLS} cells")));
        }
        let wanted = rows.first().map_or(row.len(), Vec::len);
        if row.len() != wanted && !which.log {
            let message = format!("this row has {} fields, the headings are {wanted}", row.len());
            let problem = Diagnostic::error("row-uneven", message).at(at(begin));
            let hint = "a text that holds the separator stands in quotes; `separator` says what stands between fields";
            return Err(Box::new(problem.hint(hint)));
        }
        rows.push(row.iter().map(|field| text_cell(&field.text)).collect());
        fields.push(row.iter().map(|field| field.at).collect());
    }
    if rows.is_empty() {
        return Err(refuse(file, "table-empty", "the table holds nothing", "its first row holds the headings"));
    }
    Ok(Table { file: file.to_owned(), form: Form::Separated { text, fields, lines }, rows, digest: [0; 32] })
}

/// The mark that stands most often in the first line; `usual` where it has none.
fn most_often(text: &str, usual: u8) -> u8 {
    let head = text.lines().next().unwrap_or("");
    let count = |mark: &u8| head.matches(char::from(*mark)).count();
    [b'\t', b';', b','].into_iter().filter(|mark| count(mark) > 0).max_by_key(count).unwrap_or(usual)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(text: &str, separator: u8) -> Result<Table, String> {
        let which = Which { heading: 1, ..Which::default() };
        read(Path::new("sites.csv"), text.as_bytes().to_vec(), separator, &which).map_err(|p| p.to_string())
    }

    #[test]
    fn a_quote_too_many_swallows_no_rows() {
        let reported = table("Code,Name\na,\"Hall\nb,\"Pier, 3\"\nc,Slip\n", b',').unwrap_err();
        assert!(reported.contains("quote-ends-early") && reported.contains("sites.csv:3:3"), "{reported}");
        // inches in a field without quotes are no quotes
        assert!(table("Code,Name\na,5' 6\"\n", b',').is_ok());
    }

    #[test]
    fn other_separators_and_rows_of_nothing() {
        let table = table("A;B\n;\n1;=1+1\n", b';').unwrap();
        assert_eq!(table.filled_rows().collect::<Vec<_>>(), [2]);
        assert_eq!(table.cell(2, 1), &Cell::Text("=1+1".into()));
        assert_eq!((table.column("B").unwrap(), table.cell(9, 9)), (1, &Cell::Empty));
    }

    #[test]
    fn what_is_wrong_is_told_with_line_and_column() {
        for (text, reported) in [
            ("", "error[table-empty]"),
            ("A,B\n1,2\n3\n", "error[row-uneven]: this row has 1 fields, the headings are 2\n  --> sites.csv:3:1"),
            ("A,B\n1,\"2\n3,4\n5,6\n", "error[quote-unclosed]"),
        ] {
            let refused = table(text, b',').unwrap_err();
            assert!(refused.starts_with(reported), "{refused}");
        }
        let two = table("A,B,A\n", b',').unwrap();
        assert!(
            two.column("A")
                .unwrap_err()
                .to_string()
                .contains("column-twice]: two columns are headed `A`\n  --> sites.csv:1:5")
        );
        let missing = two.column("Bb").unwrap_err().to_string();
        assert!(missing.contains("column-missing") && missing.contains("did you mean `B`?"), "{missing}");
    }

    #[test]
    fn a_table_of_too_many_rows_or_columns_is_refused() {
        assert!(table(&"1\n".repeat(MOST_ROWS + 1), b',').unwrap_err().contains("table-too-large"));
        assert!(table(&",".repeat(MOST_COLUMNS), b',').unwrap_err().contains("table-too-large"));
        assert!(table(&"1\n".repeat(MOST_ROWS), b',').is_ok());
    }

    #[test]
    fn bytes_that_are_no_text_name_their_line() {
        let which = Which { heading: 1, ..Which::default() };
        let refused = read(Path::new("s.csv"), b"A\nn\xe9\n".to_vec(), b',', &which).unwrap_err().to_string();
        assert!(refused.contains("line 2 is not UTF-8 text (byte 0xE9)"), "{refused}");
    }
}
