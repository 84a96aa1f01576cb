//! Which column of a table holds what of a site, and the sites read from it.

use std::collections::HashMap;
use std::sync::Arc;

use super::table::{Cell, Table, Which};
use super::tree::{From, Tree, Value};
use crate::catalog::plain_key;
use crate::report::{Diagnostic, Report};
use crate::yaml::{Fields, Form, Node};

/// Keys of a site that a column may hold, besides `key`, `areas`, `air` and `water`.
const PLAIN: &[&str] = &[
    "name",
    "address",
    "postcode",
    "kind",
    "contact",
    "email",
    "notes",
    "route",
    "order",
    "start",
    "takes",
    "crew",
    "mixing",
    "longest",
    "food_place",
    "label_stock",
    "label_copies",
    "language",
];
const AREA: &[&str] = &["floor", "walls_to", "ceiling", "surfaces", "outdoors", "room"];
const AIR: &[&str] = &["temperature", "humidity", "speed", "changes_per_hour", "mixing_factor", "cleared"];
const WATER: &[&str] = &["temperature", "ph", "hardness"];

/// How a number cell is taken that a spreadsheet does not hold as text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    /// As text: leading zeros would be lost.
    Text,
    /// As a number.
    Number,
    /// As a figure that needs a unit.
    Quantity,
    /// As a time of day.
    Time,
}

fn kind(key: &str) -> Kind {
    match key {
        "order" | "label_copies" | "changes_per_hour" | "mixing_factor" | "ph" => Kind::Number,
        "start" => Kind::Time,
        "floor" | "walls_to" | "surfaces" | "temperature" | "humidity" | "speed" | "cleared" | "hardness" | "takes"
        | "mixing" | "longest" => Kind::Quantity,
        _ => Kind::Text,
    }
}

/// Columns that hold one value of a site.
#[derive(Debug)]
struct Column {
    /// Keys that lead to the value in a site.
    path: Vec<String>,
    /// Positions; several are joined.
    at: Vec<usize>,
    /// The unit of bare figures.
    unit: Option<String>,
}

/// A site as a table has it.
#[derive(Debug)]
pub(super) struct Row {
    pub key: String,
    pub tree: Tree,
    pub row: usize,
    /// Whether every cell of it could be read.
    pub whole: bool,
}

/// The sites of a table.
#[derive(Debug, Default)]
pub(super) struct Listed {
    pub rows: Vec<Row>,
    table: Option<Arc<Table>>,
    columns: HashMap<Vec<String>, usize>,
}

impl Listed {
    /// The cell in which a value of a site would stand, if the table has a column for it.
    pub(super) fn cell(&self, row: usize, path: &[&str]) -> Option<From> {
        let path: Vec<String> = path.iter().map(|key| (*key).to_owned()).collect();
        let column = *self.columns.get(&path)?;
        Some(From::Cell(self.table.clone()?, row, column))
    }

    /// Reads `site_table` of a contract, and the table it names.
    pub(super) fn read(node: &Node<'_>, report: &mut Report) -> Option<Listed> {
        let fields = node.fields(&["file", "sheet", "header", "separator", "columns"], report)?;
        let file = fields.need_text("file", report);
        let heading = fields.get("header").map_or(Some(1), |n| row_number(&n, report));
        let words = &[("comma", b','), ("semicolon", b';'), ("tab", b'\t')];
        let separator = fields.get("separator").map(|n| n.choice(report, words));
        let which = Which { sheet: fields.text("sheet", report), heading: heading?, separator: separator.flatten() };
        let columns = fields.need("columns", report);
        let path = node.origin().source().beside(&file?);
        let table = Table::read(&path, &which, report)?;
        let columns = read_columns(&columns?, &table, report)?;
        Some(read_rows(&table, &columns, report))
    }
}

fn row_number(node: &Node<'_>, report: &mut Report) -> Option<u32> {
    let text = node.text(report)?;
    let row = text.parse::<u32>().ok().filter(|row| (1..=1_000).contains(row));
    if row.is_none() {
        report.push(node.error("bad-count", format!("`{text}` is not a row from 1 to 1000")));
    }
    row
}

fn read_columns(node: &Node<'_>, table: &Table, report: &mut Report) -> Option<Vec<Column>> {
    let known: Vec<&str> = ["key"].iter().chain(PLAIN).chain(&["areas", "air", "water"]).copied().collect();
    let fields = node.fields(&known, report)?;
    let before = report.count();
    fields.need("key", report);
    let mut columns = Vec::new();
    let mut leaf = |path: &[&str], fields: &Fields<'_>, report: &mut Report| {
        let Some(node) = path.last().and_then(|key| fields.get(key)) else {
            return;
        };
        columns.extend(read_column(path, &node, table, report));
    };
    for key in ["key"].iter().chain(PLAIN) {
        leaf(&[key], &fields, report);
    }
    for (group, keys) in [("air", AIR), ("water", WATER)] {
        if let Some(inner) = fields.get(group).and_then(|n| n.fields(keys, report)) {
            keys.iter().for_each(|key| leaf(&[group, key], &inner, report));
        }
    }
    for (area, node) in fields.get("areas").and_then(|n| n.entries(report)).unwrap_or_default() {
        if let Some(inner) = node.fields(AREA, report) {
            AREA.iter().for_each(|key| leaf(&["areas", &area, key], &inner, report));
        }
    }
    // with a column unread, every row would seem to lack what it holds
    (report.count() == before).then_some(columns)
}

/// A heading, several headings, or `{ column: heading, unit: m2 }`.
fn read_column(path: &[&str], node: &Node<'_>, table: &Table, report: &mut Report) -> Option<Column> {
    let mut unit = None;
    let headings: Vec<Node<'_>> = match node.form() {
        Form::Group => {
            let fields = node.fields(&["column", "unit"], report)?;
            unit = fields.text("unit", report);
            fields.need("column", report).into_iter().collect()
        }
        Form::List if !matches!(path, ["address" | "notes" | "crew"]) => {
            report.push(
                node.error("column-several", "several columns are joined for `address`, `notes` and `crew` only"),
            );
            return None;
        }
        _ => node.items_or_one(report)?,
    };
    let mut at = Vec::new();
    for heading in &headings {
        match table.column(&heading.text(report)?) {
            Ok(column) => at.push(column),
            Err(problem) => {
                let asked = heading.origin().place();
                let spot = asked.spot.map_or(String::new(), |s| format!(":{}", s.line));
                report.push(problem.hint(format!("asked for in {}{spot}, {}", asked.file, asked.path)));
            }
        }
    }
    (at.len() == headings.len() && !at.is_empty()).then(|| Column {
        path: path.iter().map(|key| (*key).to_owned()).collect(),
        at,
        unit,
    })
}

fn read_rows(table: &Arc<Table>, columns: &[Column], report: &mut Report) -> Listed {
    let mut listed = Listed {
        table: Some(table.clone()),
        columns: columns.iter().map(|c| (c.path.clone(), c.at[0])).collect(),
        rows: Vec::new(),
    };
    let mut seen: HashMap<String, usize> = HashMap::new();
    for row in table.sites() {
        // what is shown is shown; every row may have a fault in every cell
        if report.is_full() {
            break;
        }
        let mut tree = Tree::group(Vec::new());
        let before = report.count();
        let mut key = None;
        let mut without: Vec<&Column> = Vec::new();
        for column in columns {
            let path: Vec<&str> = column.path.iter().map(String::as_str).collect();
            let mut read: Vec<Tree> = Vec::new();
            for at in &column.at {
                read.extend(read_cell(table, row, *at, column, report));
            }
            if path == ["key"] {
                key = read.pop();
                if key.is_none() && matches!(table.cell(row, column.at[0]), Cell::Empty) {
                    let problem = Diagnostic::error("cell-empty", "this site has no key");
                    report.push(problem.at(table.place(row, column.at[0])).hint("every site needs a key of its own"));
                }
            } else if path[0] == "areas" && read.first().and_then(Tree::word) == Some("none") {
                without.push(column);
            } else if let Some(joined) = join(&path, read) {
                tree.put(&path, joined);
            }
        }
        for column in without {
            tree.put(
                &["areas", &column.path[1]],
                Tree {
                    value: Value::Text("none".to_owned()),
                    from: Some(From::Cell(table.clone(), row, column.at[0])),
                },
            );
        }
        let at = listed.columns.get(&vec!["key".to_owned()]).copied().unwrap_or(0);
        tree.from = Some(From::Cell(table.clone(), row, at));
        let Some(key) = key.as_ref().and_then(Tree::word).map(str::to_owned) else {
            continue;
        };
        if let Some(problem) = bad_key(&key) {
            report.push(problem.at(table.place(row, at)));
        } else if let Some(first) = seen.insert(key.clone(), row) {
            let told = format!("the site `{key}` stands in this table twice");
            let first = table.place(first, at);
            let first = first.spot.map_or(first.path, |spot| format!("line {}", spot.line));
            report
                .push(Diagnostic::error("site-twice", told).at(table.place(row, at)).hint(format!("first in {first}")));
        } else {
            listed.rows.push(Row { key, tree, row, whole: report.count() == before });
        }
    }
    listed
}

/// A key that cannot head file names.
pub(super) fn bad_key(key: &str) -> Option<Diagnostic> {
    (!plain_key(key)).then(|| {
        let problem = Diagnostic::error("bad-site-key", format!("`{key}` cannot be the key of a site"));
        problem.hint("letters, digits, `-`, `_` and `.`, at most 64, a letter or digit first: the key names files")
    })
}

/// One value from several columns: an address in one line, notes and crew as a list.
fn join(path: &[&str], read: Vec<Tree>) -> Option<Tree> {
    let first = read.first()?.clone();
    let words = || read.iter().filter_map(Tree::word);
    Some(match path {
        ["notes"] => Tree { from: first.from, value: Value::List(read) },
        ["crew"] => {
            let keys = words().flat_map(|cell| cell.split([',', ';'])).map(str::trim).filter(|key| !key.is_empty());
            let item = |key: &str| Tree { value: Value::Text(key.to_owned()), from: first.from.clone() };
            Tree { value: Value::List(keys.map(item).collect()), from: first.from.clone() }
        }
        ["address"] => Tree { value: Value::Text(words().collect::<Vec<_>>().join(", ")), from: first.from },
        _ => first,
    })
}

/// The value of a cell; `None` where it is empty or, which is told, cannot be taken.
fn read_cell(table: &Arc<Table>, row: usize, at: usize, column: &Column, report: &mut Report) -> Option<Tree> {
    let kind = column.path.last().map_or(Kind::Text, |key| kind(key));
    let mut refuse = |code, message: String, hint: &str| {
        report.push(Diagnostic::error(code, message).at(table.place(row, at)).hint(hint));
        None
    };
    let value = match (table.cell(row, at), kind) {
        (Cell::Empty, _) => return None,
        (Cell::Bad(code, message, hint), _) => return refuse(code, message.clone(), hint),
        (Cell::Text(text), Kind::Quantity) => Value::Text(with_unit(text, column.unit.as_deref())),
        (Cell::Text(text), _) => Value::Text(text.clone()),
        (Cell::Number { figures, .. }, Kind::Number) => Value::Plain(figures.clone()),
        (Cell::Number { shown: Some(shown), .. }, Kind::Text) => Value::Text(shown.clone()),
        (Cell::Number { figures, .. }, Kind::Text) => {
            let hint = "format the column as text and write it anew, or format it with as many 0 as it has figures";
            return refuse(
                "number-where-text",
                format!("the number {figures} stands here, which has lost any zeros it began with"),
                hint,
            );
        }
        (Cell::Number { figures, shown }, Kind::Quantity) => match (&column.unit, shown) {
            (_, Some(shown)) if shown.ends_with('%') => Value::Text(shown.clone()),
            (Some(unit), _) => Value::Text(format!("{figures} {unit}")),
            (None, _) => {
                let hint = "write the unit in the cell, or name it: `{ column: …, unit: ft2 }`";
                return refuse("number-without-unit", format!("the number {figures} has no unit"), hint);
            }
        },
        (Cell::Time(hour, minute), Kind::Time) => Value::Text(format!("{hour:02}:{minute:02}")),
        (Cell::Flag(yes), Kind::Text) => Value::Text(if *yes { "yes" } else { "no" }.to_owned()),
        (Cell::Number { .. } | Cell::Flag(_), Kind::Time) => {
            return refuse("bad-time", "no time of day stands here".into(), "such as `18:00`");
        }
        (Cell::Flag(_) | Cell::Time(..), _) => {
            return refuse("cell-misplaced", "a time, or yes or no, stands here".into(), "format the cell as text");
        }
    };
    Some(Tree { value, from: Some(From::Cell(table.clone(), row, at)) })
}

/// Figures with the column's unit; text that has a unit of its own, or is a word, stays.
fn with_unit(text: &str, unit: Option<&str>) -> String {
    match unit {
        Some(unit)
            if text.contains(|c: char| c.is_ascii_digit())
                && !text.contains(|c: char| c.is_alphabetic() || c == '%') =>
        {
            format!("{text} {unit}")
        }
        _ => text.to_owned(),
    }
}
