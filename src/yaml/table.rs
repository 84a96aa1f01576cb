//! A table from a spreadsheet (CSV), read as though it were YAML: each row an item of a list, each cell a text with its
//! line and column. Whoever reads the values need not know which of the two the user wrote.

use std::collections::HashMap;
use std::path::Path;
use std::sync::{Arc, OnceLock};

use serde_yaml::{Mapping, Value};

use super::locate::Index;
use super::path::ValuePath;
use super::{Shape, Source, decode, nearest, read_bounded, spot_in, whole_file};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::separated::{BadQuote, Field, Lines, Rows};

/// Rows of a table, at most: a visit has a few hundred loads and areas.
const MOST_ROWS: usize = 20_000;

/// How the rows of a table become values.
#[derive(Debug)]
pub struct TableShape {
    /// The words of the column [`KIND`], each with the list its rows go to; without a list the row's cells are the file's own
    /// keys.
    rows: Vec<(&'static str, Option<&'static str>)>,
    /// All other columns.
    columns: Vec<&'static str>,
    /// Rows with a key of the name [`KIND`]; its column is called as they are.
    renamed: Vec<&'static str>,
}

/// The column that says what a row is.
const KIND: &str = "what";

impl TableShape {
    /// The table of a file whose keys are lists of groups, such as `loads`, and single values, such as `revision`. A row of a
    /// list is called by the list's name without its `s`; all single values stand in one row, which is called by the first of
    /// them. A column is named as its key is, but for a key with the name of the column that says what a row is: that has the
    /// row's name.
    pub(crate) fn of(file: &Shape) -> TableShape {
        let mut shape = TableShape { rows: Vec::new(), columns: Vec::new(), renamed: Vec::new() };
        for key in file.keys() {
            let Shape::List { of, .. } = &key.shape else {
                if shape.rows.iter().all(|(_, list)| list.is_some()) {
                    shape.rows.push((key.name, None));
                }
                shape.add(key.name);
                continue;
            };
            let row = key.name.strip_suffix('s').unwrap_or(key.name);
            shape.rows.push((row, Some(key.name)));
            for inner in of.keys() {
                if inner.name == KIND {
                    shape.renamed.push(row);
                }
                shape.add(if inner.name == KIND { row } else { inner.name });
            }
        }
        shape
    }

    fn add(&mut self, column: &'static str) {
        if !self.columns.contains(&column) {
            self.columns.push(column);
        }
    }

    /// The key that a cell of a column stands for in a row of a kind.
    fn key(&self, kind: &str, column: &'static str) -> &'static str {
        if kind == column && self.renamed.contains(&column) { KIND } else { column }
    }
}

/// One cell as it stands, and where it begins.
struct Cell {
    text: String,
    at: (usize, usize),
}

impl Source {
    /// Reads a table as UTF-8 with a comma, semicolon or tab between cells (RFC 4180 but for that). Every problem is told to
    /// `report`, with its line and column; rows without one are read all the same.
    pub fn read_table(file: &Path, shape: &TableShape, report: &mut Diagnostics) -> Option<Arc<Source>> {
        match read_bounded(file).and_then(|bytes| decode(file, bytes)) {
            Ok(text) => Source::table_from_text(file, &text, shape, report),
            Err(problem) => {
                report.push(*problem);
                None
            }
        }
    }

    /// Reads text as though it stood in `file`.
    pub fn table_from_text(
        file: &Path,
        text: &str,
        shape: &TableShape,
        report: &mut Diagnostics,
    ) -> Option<Arc<Source>> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text).to_owned();
        let tell = |code, (line, column): (usize, usize), message: String| {
            let mut place = whole_file(file);
            place.spot = Some(spot_in(&text, line, column));
            Diagnostic::error(code, message).at(place)
        };
        let rows = match split(&text) {
            Ok(rows) => rows,
            Err((at, message)) => {
                report.push(tell("table-syntax", at, message));
                return None;
            }
        };
        let mut rows = rows.into_iter();
        let Some(head) = rows.next() else {
            report.push(Diagnostic::error("file-empty", "the file is empty").at(whole_file(file)));
            return None;
        };
        let columns = read_head(&head, shape, &tell, report)?;
        let mut lists: HashMap<&str, Vec<Value>> = HashMap::new();
        let mut root = Mapping::new();
        let mut index = Index::default();
        index.mark(ValuePath::root(), (1, 1));
        for row in rows {
            // what is shown is shown; a table may have a fault in each of a million rows
            if report.is_full() {
                break;
            }
            let filled = |cell: &&Cell| !cell.text.trim().is_empty();
            let Some(first) = row.iter().find(filled) else { continue };
            if let Some(extra) = row.iter().skip(columns.len()).find(filled) {
                let message = format!("this cell is past the last of the {} columns", columns.len());
                let problem = tell("table-extra-cell", extra.at, message);
                report.push(problem.hint("put a text that holds the separator in \"quotation marks\""));
                continue;
            }
            let at = |name: &str| columns.iter().position(|c| *c == name).and_then(|i| row.get(i));
            let Some(word) = at(KIND).filter(filled) else {
                let problem = tell("table-no-kind", first.at, format!("the row has nothing under `{}`", KIND));
                report.push(problem.hint(words_of(shape)));
                continue;
            };
            let Some((kind, list)) = shape.rows.iter().find(|(known, _)| *known == word.text.trim()) else {
                let message = format!("`{}` is no kind of row", word.text.trim());
                report.push(tell("table-unknown-kind", word.at, message).hint(words_of(shape)));
                continue;
            };
            let path = match list {
                Some(list) => ValuePath::root().key(list).index(lists.get(list).map_or(0, Vec::len)),
                None => ValuePath::root(),
            };
            if list.is_some() {
                index.mark(path.clone(), first.at);
            }
            let mut map = Mapping::new();
            for (name, cell) in columns.iter().zip(&row).filter(|(name, cell)| **name != KIND && filled(cell)) {
                let key = shape.key(kind, name);
                index.mark(path.key(key), cell.at);
                map.insert(Value::from(key), Value::from(cell.text.trim()));
            }
            match list {
                Some(list) => lists.entry(list).or_default().push(Value::Mapping(map)),
                None => {
                    let twice = map.keys().any(|key| root.contains_key(key));
                    if twice {
                        let message = format!("a second row of the kind `{kind}`");
                        report.push(tell("table-twice", word.at, message).hint("keep one of the two"));
                    }
                    root.extend(map);
                }
            }
        }
        if lists.values().map(Vec::len).sum::<usize>() > MOST_ROWS {
            let message = format!("the table has more than {MOST_ROWS} rows");
            report.push(Diagnostic::error("table-too-long", message).at(whole_file(file)));
            return None;
        }
        for (list, rows) in lists {
            root.insert(Value::from(list), Value::Sequence(rows));
        }
        Some(Arc::new(Source { index: OnceLock::from(index), ..Source::new(file, text, Value::Mapping(root)) }))
    }
}

fn words_of(shape: &TableShape) -> String {
    let words: Vec<&str> = shape.rows.iter().map(|(word, _)| *word).collect();
    format!("one of: {}", words.join(", "))
}

/// The names of the columns, in order. `None` if one is not known, stands twice, or `what` is not among them.
fn read_head(
    head: &[Cell],
    shape: &TableShape,
    tell: &impl Fn(&'static str, (usize, usize), String) -> Diagnostic,
    report: &mut Diagnostics,
) -> Option<Vec<&'static str>> {
    let known: Vec<&'static str> = [KIND].iter().chain(&shape.columns).copied().collect();
    let mut columns: Vec<&'static str> = Vec::new();
    let mut sound = true;
    // a spreadsheet may leave empty cells behind the last column
    let used = head.iter().rposition(|c| !c.text.trim().is_empty()).map_or(0, |i| i + 1);
    for cell in &head[..used] {
        let name = cell.text.trim();
        match known.iter().find(|k| **k == name) {
            Some(found) if columns.contains(found) => {
                sound = false;
                report.push(tell("table-column-twice", cell.at, format!("the column `{name}` stands twice")));
            }
            Some(found) => columns.push(found),
            None => {
                sound = false;
                let problem = tell("table-unknown-column", cell.at, format!("no column is called `{name}`"));
                report.push(match nearest(name, &known) {
                    Some(near) => problem.hint(format!("did you mean `{near}`?")),
                    None => problem.hint(format!("columns: {}", known.join(", "))),
                });
            }
        }
    }
    if sound && !columns.contains(&KIND) {
        let problem = tell("table-no-head", (1, 1), format!("the first row names no column `{}`", KIND));
        report.push(problem.hint("the first row holds the names of the columns"));
        return None;
    }
    sound.then_some(columns)
}

/// Line and column of a quotation mark that is out of place, and what is wrong.
type Misplaced = ((usize, usize), String);

/// The cells of a text, row by row; or the first quotation mark that is out of place, with what is wrong.
fn split(text: &str) -> Result<Vec<Vec<Cell>>, Misplaced> {
    let head = text.lines().next().unwrap_or("");
    // the mark that stands most often in the first row; the comma where there is but one column
    let separator = [b',', b';', b'\t'].into_iter().rev().max_by_key(|mark| head.matches(char::from(*mark)).count());
    let lines = Lines::of(text);
    let cell = |field: Field| Cell { at: lines.position(text, field.at), text: field.text };
    let rows = Rows::of(text, 0, separator.unwrap_or(b',')).strict().map(|row| {
        row.map(|fields| fields.into_iter().map(cell).collect()).map_err(|bad| {
            let (at, reported) = match bad {
                BadQuote::Unclosed(at) => (at, "a quotation mark is opened here and never closed".to_owned()),
                BadQuote::EndsEarly(at) => {
                    let next = text[at..].chars().next().unwrap_or_default();
                    (at, format!("`{next}` stands behind a closed quotation mark"))
                }
                BadQuote::Within(at) => (at, "a quotation mark in the middle of a cell: put the whole cell in quotation marks and double those within".to_owned()),
            };
            (lines.position(text, at), reported)
        })
    });
    rows.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::yaml::{Declared, keys, list_of};

    keys! {
        /// A file.
        #[allow(dead_code)]
        struct File {
            /// Loads.
            loads: Vec<Load> = list_of::<Load>(), optional;
            /// Deviations.
            deviations: Vec<Deviation> = list_of::<Deviation>(), optional;
            /// The revision.
            revision: String, optional;
        }
    }

    keys! {
        /// A load.
        #[allow(dead_code)]
        struct Load {
            /// Which.
            load: String, optional;
            /// Its lot.
            lot: String, optional;
        }
    }

    keys! {
        /// A deviation.
        #[allow(dead_code)]
        struct Deviation {
            /// What.
            what: String, optional;
        }
    }

    fn read(text: &str) -> (Option<Arc<Source>>, String) {
        let mut report = Diagnostics::new();
        let source = Source::table_from_text(Path::new("log.csv"), text, &TableShape::of(&File::shape()), &mut report);
        (source, report.to_string())
    }

    #[test]
    fn rows_become_items_with_their_places() {
        let text = "\u{feff}what;load;lot;deviation;revision\r\nload;1;\"A;\"\"1\"\"\";;\r\n;;;;\r\ndeviation;;;door locked;\r\nrevision;;;;2\r\n";
        let (source, reported) = read(text);
        assert_eq!(reported, "");
        let source = source.expect("a table");
        assert!(source.holds(&["revision"]));
        let mut texts = Vec::new();
        source.each_text(|text, path| texts.push((path.to_string(), text.to_owned())));
        assert!(texts.contains(&("loads[0].lot".into(), "A;\"1\"".into())), "{texts:?}");
        assert!(texts.contains(&("deviations[0].what".into(), "door locked".into())), "{texts:?}");
        let place = source.place(&ValuePath::root().key("loads").index(0).key("lot"));
        let spot = place.spot.expect("a spot");
        assert_eq!((spot.line, spot.column), (2, 8));
    }

    #[test]
    fn every_fault_has_its_line_and_column() {
        for (text, code, at) in [
            ("what,laod\n", "table-unknown-column", "log.csv:1:6"),
            ("what,load,load\n", "table-column-twice", "log.csv:1:11"),
            ("load\n1\n", "table-no-head", "log.csv:1:1"),
            ("what,load\nlaod,1\n", "table-unknown-kind", "log.csv:2:1"),
            ("what,load\n,1\n", "table-no-kind", "log.csv:2:2"),
            ("what,load\nload,1,2\n", "table-extra-cell", "log.csv:2:8"),
            ("what,load\nload,\"1\n", "table-syntax", "log.csv:2:6"),
            ("what,load\nload,a\"1\n", "table-syntax", "log.csv:2:7"),
            ("what,load\nload,\"a\"1\n", "table-syntax", "log.csv:2:9"),
            ("what,revision\nrevision,2\nrevision,3\n", "table-twice", "log.csv:3:1"),
        ] {
            let (_, reported) = read(text);
            assert!(reported.contains(&format!("[{code}]")) && reported.contains(at), "{text:?} gave\n{reported}");
        }
    }
}
