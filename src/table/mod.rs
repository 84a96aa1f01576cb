//! Tables of sites and service logs: CSV, TSV and XLSX, read within bounds, every cell with its place.
//!
//! What stands in a cell is data: nothing is worked out, followed or run.

mod keyed;
mod separated;
mod workbook;
mod workbook_bounds;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::civil::Date;
use sha2::{Digest, Sha256};

use crate::diagnostic::{Diagnostic, Diagnostics, Place, is_unseen};
use crate::input::{self, InputError};
use crate::separated::Lines;
use crate::yaml::{Written, alike, nearest};

pub use keyed::{TableShape, visits};

/// The largest table read, in bytes.
pub const LARGEST_TABLE: u64 = 16 << 20;

/// The most rows read, headings included.
pub const MOST_ROWS: usize = 50_000;

/// The most columns read.
pub const MOST_COLUMNS: usize = 1_000;

/// The most cells read: a full table has twenty columns.
const MOST_CELLS: usize = MOST_ROWS * 20;

/// The longest text of a cell, in characters.
const LONGEST_CELL: usize = 2_000;

/// What a cell holds.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Cell {
    /// Nothing.
    Empty,
    /// Text, as one line.
    Text(String),
    /// A number that a spreadsheet holds as one: its figures, and the text it shows where its format says how.
    Number { figures: String, shown: Option<String> },
    /// Yes or no.
    Flag(bool),
    /// A time of day: hour and minute.
    Time(i8, i8),
    /// A date.
    Date(Date),
    /// A date, a date with its time, or a time of day with seconds, as a log may have it.
    Moment(String),
    /// What cannot be read, with the problem it is.
    Bad(&'static str, String, &'static str),
}

/// A table: headings, then rows.
#[derive(Debug)]
pub(crate) struct Table {
    file: PathBuf,
    form: Form,
    /// Row 0 holds the headings. Rows may differ in length.
    rows: Vec<Vec<Cell>>,
    /// SHA-256 of the file.
    digest: [u8; 32],
}

/// A cell of a table, as the place of a value.
#[derive(Debug)]
struct CellAt(Arc<Table>, usize, usize);

impl Written for CellAt {
    fn place(&self) -> Place {
        self.0.place(self.1, self.2)
    }
}

/// What is needed to say where a cell is.
#[derive(Debug)]
enum Form {
    /// The text, and for each row the bytes at which its fields begin.
    Separated { text: String, fields: Vec<Vec<usize>>, lines: Lines },
    /// The sheet's name, the number of the row of headings from 0, and where the first cell of a merged range was found.
    Sheet { name: String, heading: u32 },
}

/// Which table is meant.
#[derive(Clone, Debug, Default)]
pub(crate) struct Which {
    /// The sheet of a workbook.
    pub sheet: Option<String>,
    /// The row that holds the headings, from 1.
    pub heading: u32,
    /// What stands between fields, where the file's name does not say.
    pub separator: Option<u8>,
    /// Whether it is a log, which people fill in by hand: rows may be shorter than the headings, the separator is the mark that
    /// stands most often among them, and of several sheets the one called `log` is meant.
    pub log: bool,
}

impl Table {
    /// Reads a table. Every way this can fail as a whole is added to `report`; a cell that cannot be read is a problem
    /// when it is asked for.
    pub(crate) fn read(file: &Path, which: &Which, report: &mut Diagnostics) -> Option<Arc<Table>> {
        let by_ending = |bytes: Vec<u8>| match extension(file).as_str() {
            "csv" => separated::read(file, bytes, b',', which),
            "tsv" => separated::read(file, bytes, b'\t', which),
            _ => workbook::read(file, bytes, which),
        };
        let read = if is_table(file) {
            bytes_of(file).and_then(|bytes| {
                let digest = Sha256::digest(&bytes).into();
                by_ending(bytes).map(|table| Table { digest, ..table })
            })
        } else {
            let hint = "save it from the spreadsheet as XLSX, CSV or TSV";
            Err(refuse(file, "table-unknown", "a table is a file .csv, .tsv or .xlsx", hint))
        };
        match read {
            Ok(table) => Some(Arc::new(table)),
            Err(problem) => {
                report.push(*problem);
                None
            }
        }
    }

    /// The numbers of the rows below the headings that hold anything.
    pub(crate) fn filled_rows(&self) -> impl Iterator<Item = usize> {
        let filled = |row: &usize| self.rows[*row].iter().any(|cell| *cell != Cell::Empty);
        (1..self.rows.len()).filter(filled)
    }

    /// How many cells a row has.
    fn width(&self, row: usize) -> usize {
        self.rows.get(row).map_or(0, Vec::len)
    }

    /// A cell; what lies beyond its row is empty.
    pub(crate) fn cell(&self, row: usize, column: usize) -> &Cell {
        self.rows.get(row).and_then(|cells| cells.get(column)).unwrap_or(&Cell::Empty)
    }

    /// The heading of a column.
    pub(crate) fn heading(&self, column: usize) -> &str {
        match self.cell(0, column) {
            Cell::Text(text) => text,
            Cell::Number { figures, shown } => shown.as_deref().unwrap_or(figures),
            _ => "",
        }
    }

    /// What stands over each column; nothing over one without a heading.
    pub(crate) fn headings(&self) -> Vec<&str> {
        (0..self.rows.first().map_or(0, Vec::len)).map(|column| self.heading(column)).collect()
    }

    /// The column under a heading.
    pub(crate) fn column(&self, heading: &str) -> Result<usize, Box<Diagnostic>> {
        let headings = self.headings();
        let named = if headings.contains(&heading) { Some(heading) } else { alike(heading, headings.iter().copied()) };
        let mut found = headings.iter().enumerate().filter(|(_, text)| Some(**text) == named);
        match (found.next(), found.next()) {
            (Some((column, _)), None) => Ok(column),
            (Some(_), Some((second, _))) => Err(Box::new(
                Diagnostic::error("column-twice", format!("two columns are headed `{heading}`"))
                    .at(self.place(0, second))
                    .hint("head them differently"),
            )),
            (None, _) => {
                let known: Vec<&str> = headings.into_iter().filter(|text| !text.is_empty()).collect();
                let problem = Diagnostic::error("column-missing", format!("no column is headed `{heading}`"));
                let problem = problem.at(self.place(0, 0));
                Err(Box::new(match nearest(heading, &known) {
                    Some(near) => problem.hint(format!("did you mean `{near}`?")),
                    None => problem.hint(format!("headings there: {}", first_of(&known))),
                }))
            }
        }
    }

    /// A cell as the place that a value was written at.
    pub(crate) fn written(self: &Arc<Self>, row: usize, column: usize) -> Arc<dyn Written> {
        Arc::new(CellAt(self.clone(), row, column))
    }

    /// Where a cell is: line and column of the text, or the sheet's name and the cell as a spreadsheet names it.
    pub(crate) fn place(&self, row: usize, column: usize) -> Place {
        let file = self.file.display().to_string();
        match &self.form {
            Form::Sheet { name, heading } => {
                let number = *heading as usize + row + 1;
                let path = format!("{name}!{}{number}", letters(column));
                Place { file, path, spot: None }
            }
            Form::Separated { text, fields, lines } => {
                let starts = fields.get(row).map_or(&[][..], Vec::as_slice);
                let at = starts.get(column).or(starts.last()).copied().unwrap_or(0);
                Place { file, path: String::new(), spot: Some(lines.spot(text, at)) }
            }
        }
    }
}

/// The letters that a spreadsheet names a column by, the first being 0.
fn letters(column: usize) -> String {
    let mut rest = column + 1;
    let mut name = Vec::new();
    while rest > 0 {
        // below 26, so it is a letter
        name.push(char::from(b'A' + u8::try_from((rest - 1) % 26).unwrap_or(0)));
        rest = (rest - 1) / 26;
    }
    name.iter().rev().collect()
}

/// The first of some names, which may be as many as a file has bytes.
fn first_of(names: &[&str]) -> String {
    const MOST: usize = 30;
    let more = if names.len() > MOST { ", …" } else { "" };
    let shown: Vec<&str> = names.iter().take(MOST).copied().collect();
    format!("{}{more}", shown.join(", "))
}

/// Text of a cell as one line, or why it is none.
fn text_cell(text: &str) -> Cell {
    let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if line.is_empty() {
        return Cell::Empty;
    }
    if line.chars().count() > LONGEST_CELL {
        let message = format!("this cell is longer than {LONGEST_CELL} characters");
        return Cell::Bad("text-too-long", message, "a quote that is not closed may have swallowed what follows");
    }
    match line.chars().find(|c| is_unseen(*c)) {
        Some(bad) => Cell::Bad(
            "unprintable-character",
            format!("this holds a character that cannot be seen in print (U+{:04X})", u32::from(bad)),
            "remove it; it may have come in by copying",
        ),
        None => Cell::Text(line),
    }
}

type Problem = Box<Diagnostic>;

/// Whether a file's name says that it is a table.
pub fn is_table(file: &Path) -> bool {
    matches!(extension(file).as_str(), "csv" | "tsv" | "xlsx")
}

fn extension(file: &Path) -> String {
    file.extension().map(|e| e.to_string_lossy().to_ascii_lowercase()).unwrap_or_default()
}

fn whole(file: &Path) -> Place {
    Place { file: file.display().to_string(), path: String::new(), spot: None }
}

fn refuse(file: &Path, code: &'static str, message: impl Into<String>, hint: &str) -> Problem {
    let problem = Diagnostic::error(code, message).at(whole(file));
    Box::new(if hint.is_empty() { problem } else { problem.hint(hint) })
}

fn bytes_of(file: &Path) -> Result<Vec<u8>, Problem> {
    input::read(file, LARGEST_TABLE).map_err(|e| match e {
        InputError::System(_) | InputError::Folder | InputError::NotOrdinary => {
            let message = format!("cannot read the table `{}`: {e}", file.display());
            refuse(
                file,
                "file-unreadable",
                message,
                "check the name; it is looked for in the folder of the file that names it",
            )
        }
        InputError::TooLarge(_) => too_large(file, format!("the file is larger than {} MiB", LARGEST_TABLE >> 20)),
    })
}

fn too_large(file: &Path, message: String) -> Problem {
    refuse(file, "table-too-large", message, "keep only what is of this contract or this night in it")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_named_as_a_spreadsheet_names_them() {
        assert_eq!([0, 25, 26, 51, 701, 702].map(letters), ["A", "Z", "AA", "AZ", "ZZ", "AAA"]);
    }

    #[test]
    fn text_is_one_line_and_can_be_seen() {
        assert_eq!(text_cell("  1 Quay\r\n Lane "), Cell::Text("1 Quay Lane".into()));
        assert_eq!(text_cell("\u{a0} \n"), Cell::Empty);
        assert!(matches!(text_cell("a\u{202e}b"), Cell::Bad("unprintable-character", ..)));
        assert!(matches!(text_cell(&"x".repeat(2_001)), Cell::Bad("text-too-long", ..)));
    }
}
