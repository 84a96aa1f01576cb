//! A table read as though it were YAML: each row an item of a list, each cell a text with its place. Whoever reads the values
//! need not know which of the two the user wrote. One table may hold the rows of several visits.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;

use super::{Cell, Table, Which};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::spreadsheet::without_apostrophe;
use crate::yaml::{Shape, Source, Tree, TreeValue, nearest};

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

/// The column that says which visit a row is of, by the job's number, where the table holds several.
const VISIT: &str = "job";

impl TableShape {
    /// The table of a file whose keys are lists of groups, such as `loads`, and single values, such as `revision`. A row of a
    /// list is called by the list's name without its `s`; single values stand in rows that are called by one of them. A column is named as its key is, but for a key with the name of the column that says what a row is: that has the
    /// row's name.
    pub(crate) fn of(file: &Shape) -> TableShape {
        let mut shape = TableShape { rows: Vec::new(), columns: Vec::new(), renamed: Vec::new() };
        for key in file.keys() {
            let Shape::List { of, .. } = &key.shape else {
                shape.rows.push((key.name, None));
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

    /// All columns, in order.
    pub(crate) fn columns(&self) -> Vec<&'static str> {
        [VISIT, KIND].iter().chain(&self.columns).copied().collect()
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

/// A table with its columns found.
struct Keyed<'s> {
    table: Arc<Table>,
    shape: &'s TableShape,
    columns: Vec<&'static str>,
}

impl Source {
    /// Reads a table: the rows of the visit `of`, or all rows where no column says which visit they are of. Every problem is
    /// reported at its cell; rows without one are read all the same.
    pub(crate) fn read_table(
        file: &Path,
        shape: &TableShape,
        of: &str,
        report: &mut Diagnostics,
    ) -> Option<Arc<Source>> {
        let keyed = Keyed::read(file, shape, report)?;
        let rows = keyed.rows_of(of, report);
        let tree = keyed.tree(&rows, report);
        Some(Source::of_table(file, tree, keyed.table.digest))
    }
}

/// The visits that a table has rows of, by the jobs' numbers; none where no column says it.
pub fn visits(file: &Path, shape: &TableShape, report: &mut Diagnostics) -> BTreeSet<String> {
    let keyed = Keyed::read(file, shape, report);
    keyed.map(|keyed| keyed.visits().into_keys().collect()).unwrap_or_default()
}

impl<'s> Keyed<'s> {
    fn read(file: &Path, shape: &'s TableShape, report: &mut Diagnostics) -> Option<Keyed<'s>> {
        let table = Table::read(file, &Which { heading: 1, log: true, ..Which::default() }, report)?;
        let columns = read_head(&table, shape, report)?;
        Some(Keyed { table, shape, columns })
    }

    /// The text under a column, if there is any.
    fn word(&self, row: usize, column: &str) -> Option<String> {
        let at = self.columns.iter().position(|known| *known == column)?;
        text_of(self.table.cell(row, at)).ok().flatten()
    }

    fn visits(&self) -> BTreeMap<String, usize> {
        let mut found = BTreeMap::new();
        for row in self.table.filled_rows() {
            if let Some(visit) = self.word(row, VISIT) {
                found.entry(visit).or_insert(row);
            }
        }
        found
    }

    /// The rows of a visit. A row that does not say of which it is belongs to none, and what is said of a visit that no load or area
    /// is of is a slip in the number of another: both are reported, since what they say would be missing there.
    fn rows_of(&self, of: &str, report: &mut Diagnostics) -> Vec<usize> {
        let all = self.table.filled_rows();
        let Some(column) = self.columns.iter().position(|known| *known == VISIT) else { return all.collect() };
        let tell = |row, code, message| Diagnostic::error(code, message).at(self.table.place(row, column));
        let mut own = Vec::new();
        for row in all {
            match self.word(row, VISIT) {
                Some(visit) if visit == of => own.push(row),
                Some(_) => {}
                None if report.is_full() => report.push_unseen(),
                None => {
                    let problem = tell(row, "table-no-visit", format!("the row has nothing under `{VISIT}`"));
                    report.push(problem.hint("write the number of the job that it is of"));
                }
            }
        }
        let others = self.visits();
        if let Some(first) = others.values().min().filter(|_| own.is_empty()) {
            let problem = tell(*first, "table-visit-missing", format!("no row is of the visit `{of}`"));
            let known: Vec<&str> = others.keys().map(String::as_str).collect();
            report.push(match nearest(of, &known) {
                Some(near) => problem.hint(format!("is it `{near}`? write `{of}` under `{VISIT}` in its rows")),
                None => {
                    problem.hint(format!("write `{of}` under `{VISIT}` in its rows, or name another file as its log"))
                }
            });
        }
        let is_work = |row: &usize| matches!(self.word(*row, KIND).as_deref(), Some("load" | "area"));
        let worked = self.table.filled_rows().filter(is_work).filter_map(|row| self.word(row, VISIT));
        let worked: BTreeSet<String> = worked.collect();
        let alone = self.visits().into_iter().filter(|(visit, _)| !worked.contains(visit));
        for (visit, row) in alone {
            let problem =
                tell(row, "table-visit-alone", format!("no load or area of a visit `{visit}` is in this log"));
            let known: Vec<&str> = worked.iter().map(String::as_str).chain([of]).collect();
            report.push(match nearest(&visit, &known) {
                Some(near) => problem.hint(format!("did you mean `{near}`?")),
                None => problem.hint("write the number of the job that the row is of"),
            });
        }
        own
    }

    fn tree(&self, rows: &[usize], report: &mut Diagnostics) -> Tree {
        let (shape, table) = (self.shape, &self.table);
        let mut lists: BTreeMap<&str, Vec<Tree>> = BTreeMap::new();
        let mut single: Vec<(String, Tree)> = Vec::new();
        for row in rows.iter().copied() {
            // what is shown is shown; a table may have a fault in each of its rows
            if report.is_full() {
                break;
            }
            let at = |name: &str| self.columns.iter().position(|known| *known == name).unwrap_or(0);
            let tell = |column, code, message: String| Diagnostic::error(code, message).at(table.place(row, column));
            let beyond = (self.columns.len()..table.width(row)).find(|at| *table.cell(row, *at) != Cell::Empty);
            if let Some(beyond) = beyond {
                let message = format!("this cell is past the last of the {} columns", self.columns.len());
                let problem = tell(beyond, "table-extra-cell", message);
                report.push(problem.hint("put a text that holds the separator in \"quotation marks\""));
                continue;
            }
            let Some(word) = self.word(row, KIND) else {
                let first = (0..self.columns.len()).find(|at| *table.cell(row, *at) != Cell::Empty).unwrap_or(0);
                let problem = tell(first, "table-no-kind", format!("the row has nothing under `{KIND}`"));
                report.push(problem.hint(words_of(shape)));
                continue;
            };
            let Some((kind, list)) = shape.rows.iter().find(|(known, _)| known.eq_ignore_ascii_case(&word)) else {
                let message = format!("`{word}` is no kind of row");
                report.push(tell(at(KIND), "table-unknown-kind", message).hint(words_of(shape)));
                continue;
            };
            let mut entries = Vec::new();
            for (column, name) in self.columns.iter().enumerate().filter(|(_, name)| ![KIND, VISIT].contains(name)) {
                match text_of(table.cell(row, column)) {
                    Ok(None) => {}
                    Ok(Some(text)) => {
                        let from = Some(table.written(row, column));
                        let key = shape.key(kind, name).to_owned();
                        entries.push((key, Tree { value: TreeValue::Text(text), from }));
                    }
                    Err((code, message, hint)) => report.push(tell(column, code, message).hint(hint)),
                }
            }
            match list {
                Some(list) => {
                    let from = Some(table.written(row, at(KIND)));
                    lists.entry(list).or_default().push(Tree { value: TreeValue::Group(entries), from });
                }
                None => {
                    if entries.iter().any(|(key, _)| single.iter().any(|(known, _)| known == key)) {
                        let message = format!("a second row of the kind `{kind}`");
                        report.push(tell(at(KIND), "table-twice", message).hint("keep one of the two"));
                    }
                    single.extend(entries);
                }
            }
        }
        let whole = Some(table.written(0, 0));
        let lists = lists
            .into_iter()
            .map(|(list, rows)| (list.to_owned(), Tree { value: TreeValue::List(rows), from: whole.clone() }));
        Tree { value: TreeValue::Group(lists.chain(single).collect()), from: whole.clone() }
    }
}

/// What a cell says, in text; or why it cannot be read.
fn text_of(cell: &Cell) -> Result<Option<String>, (&'static str, String, &'static str)> {
    Ok(Some(match cell {
        Cell::Empty => return Ok(None),
        Cell::Text(text) => without_apostrophe(text).to_owned(),
        Cell::Number { figures, shown } => shown.as_ref().unwrap_or(figures).clone(),
        Cell::Flag(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        Cell::Time(hour, minute) => format!("{hour:02}:{minute:02}"),
        Cell::Moment(text) => text.clone(),
        Cell::Date(day) => day.to_string(),
        Cell::Bad(code, message, hint) => return Err((code, message.clone(), hint)),
    }))
}

fn words_of(shape: &TableShape) -> String {
    let words: Vec<&str> = shape.rows.iter().map(|(word, _)| *word).collect();
    format!("one of: {}", words.join(", "))
}

/// The names of the columns, in order. `None` if one is not known, stands twice, or `what` is not among them.
fn read_head(table: &Table, shape: &TableShape, report: &mut Diagnostics) -> Option<Vec<&'static str>> {
    let known: Vec<&'static str> = [KIND, VISIT].iter().chain(&shape.columns).copied().collect();
    let mut columns: Vec<&'static str> = Vec::new();
    let mut sound = true;
    // a spreadsheet may leave empty cells behind the last column
    let used = (0..table.width(0)).rev().find(|at| *table.cell(0, *at) != Cell::Empty).map_or(0, |at| at + 1);
    let named = |at| text_of(table.cell(0, at)).ok().flatten().unwrap_or_default();
    if !(0..used).any(|at| named(at) == KIND) {
        let problem = Diagnostic::error("table-no-head", format!("the first row names no column `{KIND}`"));
        let hint = format!("the first row holds the names of the columns: {}", known.join(", "));
        report.push(problem.at(table.place(0, 0)).hint(hint));
        return None;
    }
    for at in 0..used {
        let name = named(at);
        let tell = |code, message: String| Diagnostic::error(code, message).at(table.place(0, at));
        match known.iter().find(|k| **k == name) {
            Some(found) if columns.contains(found) => {
                sound = false;
                report.push(tell("table-column-twice", format!("the column `{name}` stands twice")));
            }
            Some(found) => columns.push(found),
            None => {
                sound = false;
                let problem = tell("table-unknown-column", format!("no column is called `{name}`"));
                report.push(match nearest(&name, &known) {
                    Some(near) => problem.hint(format!("did you mean `{near}`?")),
                    None => problem.hint(format!("columns: {}", known.join(", "))),
                });
            }
        }
    }
    sound.then_some(columns)
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

    fn read(text: &str, of: &str) -> (Option<Arc<Source>>, String) {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let file = folder.path().join("log.csv");
        std::fs::write(&file, text).expect("the log can be written");
        let mut report = Diagnostics::new();
        let source = Source::read_table(&file, &TableShape::of(&File::shape()), of, &mut report);
        (source, report.to_string())
    }

    #[test]
    fn rows_become_items_with_their_places() {
        let text = "\u{feff}what;load;lot;deviation;revision\r\nload;1;\"A;\"\"1\"\"\";;\r\n;;;;\r\ndeviation;;;door locked;\r\nrevision;;;;2\r\n";
        let (source, reported) = read(text, "1");
        assert_eq!(reported, "");
        let source = source.expect("a table");
        assert!(source.holds(&["revision"]));
        let mut texts = Vec::new();
        source.each_text(|text, path| texts.push((path.to_string(), text.to_owned())));
        assert!(texts.contains(&("loads[0].lot".into(), "A;\"1\"".into())), "{texts:?}");
        assert!(texts.contains(&("deviations[0].what".into(), "door locked".into())), "{texts:?}");
        let place =
            source.root().origin().key("loads").node().expect("loads").items(&mut Diagnostics::new()).expect("a list")
                [0]
            .origin()
            .key("lot")
            .place();
        let spot = place.spot.expect("a spot");
        assert_eq!((spot.line, spot.column), (2, 8));
    }

    #[test]
    fn one_table_holds_several_visits() {
        let text = "job,what,load,lot\n7,load,1,A\n8,load,1,'=B\n7,load,2,C\n";
        let (_, reported) = read(text, "9");
        assert!(reported.contains("[table-visit-missing]") && reported.contains("log.csv:2:1"), "{reported}");
        for (of, lots) in [("7", vec!["A", "C"]), ("8", vec!["=B"])] {
            let (source, reported) = read(text, of);
            assert_eq!(reported, "");
            let mut found = Vec::new();
            source.expect("a table").each_text(|text, path| {
                if path.to_string().ends_with(".lot") && text != "lot" {
                    found.push(text.to_owned());
                }
            });
            assert_eq!(found, lots, "{of}");
        }
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
            ("what,load\nload,\"1\n", "quote-unclosed", "log.csv:2:1"),
            ("what,load\nload,a\"1\n", "quote-within", "log.csv:2:7"),
            ("what,load\nload,\"a\"1\n", "quote-ends-early", "log.csv:2:8"),
            ("what,revision\nrevision,2\nrevision,3\n", "table-twice", "log.csv:3:1"),
            ("job,what,load\n1,load,1\n,load,2\n", "table-no-visit", "log.csv:3:1"),
            ("job,what,load,deviation\n1,load,1,\nl,deviation,,late\n", "table-visit-alone", "log.csv:3:1"),
        ] {
            let (_, reported) = read(text, "1");
            assert!(reported.contains(&format!("[{code}]")) && reported.contains(at), "{text:?} gave\n{reported}");
        }
    }
}
