//! Which column of a table holds what of a site, and the sites read from it.

use std::collections::HashMap;
use std::sync::Arc;

use super::keys::{by_key, columns, later, one_or_list};
use super::site::Entry;
use crate::company::plain_key;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::table::{Cell, Table, Which};
use crate::yaml::{
    Declared, Fields, Form, Group, Key, Line, Node, Origin, Presence, Shape, Tree, TreeValue, Written, count, keys,
    words,
};

/// How a number cell is taken that a spreadsheet does not hold as text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// As text: leading zeros would be lost.
    Text,
    Number,
    /// As a figure that needs a unit.
    Quantity,
    /// As a time of day.
    Time,
    /// As a date.
    Date,
}

keys! {
    /// A table of sites.
    pub struct SiteTable {
        /// The table, found from this file's folder. Example: `sites.csv`
        file: String, required;
        /// The sheet, where a workbook has several. Example: `Sites 2026`
        sheet: String, optional;
        /// The row of the headings.
        header: u32 = count(1, 1_000), or(1, "1");
        /// What stands between fields, where the file's name does not say.
        separator: Separator, optional;
        /// Which column holds what of a site.
        columns: Origin = later(columns_shape), required;
    }
    + origin
}

words! {
    /// What stands between fields.
    pub enum Separator {
        Comma = "comma",
        Semicolon = "semicolon",
        Tab = "tab",
    }
}

keys! {
    /// A column whose figures have one unit.
    struct ColumnKeys {
        /// Its heading. Example: `Counters`
        column: Origin = later(|| Shape::line("a heading", Line::Any)), wanted;
        /// The unit of bare figures. Example: `ft2`
        unit: String, optional;
    }
}

fn columns_shape() -> Shape {
    let column = |name| Key {
        name,
        about: "The column that holds it.",
        shape: Shape::Either(vec![one_or_list(Shape::line("a heading", Line::Any)), ColumnKeys::shape()]),
        presence: if name == "key" { Presence::Required } else { Presence::Optional },
    };
    let all = columns();
    let of = |of: &str| all.iter().filter(|(group, ..)| *group == of).map(|(_, key, _)| column(key)).collect();
    let mut keys: Vec<Key> = of("");
    for (group, name, about) in GROUPS {
        let shape = Shape::Group(Group { name, about, keys: of(group) });
        let shape = if *group == "areas" { by_key(shape) } else { shape };
        keys.push(Key { name: group, about, shape, presence: Presence::Optional });
    }
    Shape::Group(Group { name: "Columns", about: "The columns of a site, by their headings.", keys })
}

/// Groups of a site's keys that have columns.
const GROUPS: &[(&str, &str, &str)] = &[
    ("areas", "AreaColumns", "The columns of each area, by its name."),
    ("air", "AirColumns", "The columns of the air expected there."),
    ("water", "WaterColumns", "The columns of the water."),
];

/// Columns that hold one value of a site.
#[derive(Debug)]
struct Column {
    /// Keys that lead to the value in a site.
    path: Vec<String>,
    /// Positions; several are joined.
    at: Vec<usize>,
    /// The unit of bare figures.
    unit: Option<String>,
    kind: Kind,
}

/// The sites of a table.
#[derive(Debug, Default)]
pub(super) struct Listed {
    pub sites: Vec<Entry>,
    table: Option<Arc<Table>>,
    columns: Vec<Column>,
}

impl Listed {
    /// The cell in which a value of a site would stand, if the table has a column for it.
    pub(super) fn cell(&self, row: usize, path: &[&str]) -> Option<Arc<dyn Written>> {
        let column = self.columns.iter().find(|column| column.path == path)?;
        Some(self.table.as_ref()?.written(row, column.at[0]))
    }

    /// Reads the table that a contract names.
    pub(super) fn read(keys: &SiteTable, report: &mut Diagnostics) -> Option<Listed> {
        let separator = keys.separator.map(|separator| match separator {
            Separator::Comma => b',',
            Separator::Semicolon => b';',
            Separator::Tab => b'\t',
        });
        let which = Which { sheet: keys.sheet.clone(), heading: keys.header, separator, log: false };
        let table = Table::read(&keys.origin.source().beside(&keys.file), &which, report)?;
        let columns = read_columns(&keys.columns.node()?, &table, report)?;
        let sites = read_rows(&table, &columns, report);
        Some(Listed { sites, table: Some(table), columns })
    }
}

fn read_columns(node: &Node<'_>, table: &Table, report: &mut Diagnostics) -> Option<Vec<Column>> {
    let all = columns();
    let keys_of =
        |group: &str| all.iter().filter(|(of, ..)| *of == group).map(|(_, key, _)| *key).collect::<Vec<&'static str>>();
    let groups = GROUPS.iter().map(|(group, ..)| *group).collect();
    let fields = node.fields(&[keys_of(""), groups].concat(), report)?;
    let before = report.count();
    fields.need("key", report);
    let mut found = Vec::new();
    let mut read_group = |group: &str, above: &[&str], fields: &Fields<'_>, report: &mut Diagnostics| {
        for (_, key, kind) in all.iter().filter(|(of, ..)| *of == group) {
            let node = fields.get(key);
            found.extend(node.and_then(|n| read_column(&[above, &[key]].concat(), *kind, &n, table, report)));
        }
    };
    read_group("", &[], &fields, report);
    for (group, ..) in GROUPS {
        let Some(node) = fields.get(group) else { continue };
        let parts = match *group {
            "areas" => node.entries(report).unwrap_or_default(),
            _ => vec![(String::new(), node)],
        };
        for (part, node) in parts {
            let above = if part.is_empty() { vec![*group] } else { vec![*group, &part] };
            if let Some(inner) = node.fields(&keys_of(group), report) {
                read_group(group, &above, &inner, report);
            }
        }
    }
    // with a column unread, every row would seem to lack what it holds
    (report.count() == before).then_some(found)
}

/// A heading, several headings, or `{ column: heading, unit: m2 }`.
fn read_column(path: &[&str], kind: Kind, node: &Node<'_>, table: &Table, report: &mut Diagnostics) -> Option<Column> {
    let mut named = ColumnKeys { column: None, unit: None };
    let headings: Vec<Node<'_>> = match node.form() {
        Form::Group => {
            named = ColumnKeys::from_node(node, report)?;
            named.column.as_ref().and_then(Origin::node).into_iter().collect()
        }
        Form::List if !matches!(path, ["address" | "notes" | "crew" | "except"]) => {
            let message = "several columns are joined for `address`, `notes` and `crew` only";
            report.push(node.error("column-several", message));
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
    let path = path.iter().map(|key| (*key).to_owned()).collect();
    (at.len() == headings.len() && !at.is_empty()).then_some(Column { path, at, unit: named.unit.clone(), kind })
}

fn read_rows(table: &Arc<Table>, columns: &[Column], report: &mut Diagnostics) -> Vec<Entry> {
    let mut sites = Vec::new();
    let mut seen: HashMap<String, usize> = HashMap::new();
    let key_column = columns.iter().find(|column| column.path == ["key"]).map_or(0, |column| column.at[0]);
    for row in table.filled_rows() {
        // what is shown is shown; every row may have a fault in every cell
        if report.is_full() {
            break;
        }
        let before = report.count();
        let (key, mut tree) = read_row(table, row, columns, report);
        tree.from = Some(table.written(row, key_column));
        let Some(key) = key else { continue };
        let place = table.place(row, key_column);
        if let Some(problem) = bad_key(&key) {
            report.push_alike(problem.at(place));
        } else if let Some(first) = seen.insert(key.clone(), row) {
            let first = table.place(first, key_column);
            let first = first.spot.map_or(first.path, |spot| format!("line {}", spot.line));
            let message = format!("the site `{key}` stands in this table twice");
            report.push_alike(Diagnostic::error("site-twice", message).at(place).hint(format!("first in {first}")));
        } else {
            sites.push(Entry { key, tree, row: Some(row), sound: report.count() == before });
        }
    }
    sites
}

/// The key of a site, and everything else that its row says.
fn read_row(table: &Arc<Table>, row: usize, columns: &[Column], report: &mut Diagnostics) -> (Option<String>, Tree) {
    let mut tree = Tree::group();
    let mut key = None;
    let mut without: Vec<&Column> = Vec::new();
    for column in columns {
        let path: Vec<&str> = column.path.iter().map(String::as_str).collect();
        let mut read: Vec<Tree> = Vec::new();
        for at in &column.at {
            read.extend(read_cell(table, row, *at, column, report));
        }
        if path == ["key"] {
            key = read.first().and_then(Tree::word).map(str::to_owned);
            if key.is_none() && *table.cell(row, column.at[0]) == Cell::Empty {
                let problem = Diagnostic::error("cell-empty", "this site has no key");
                report.push_alike(problem.at(table.place(row, column.at[0])).hint("every site needs a key of its own"));
            }
        } else if path[0] == "areas" && read.first().and_then(Tree::word) == Some("none") {
            without.push(column);
        } else if let Some(joined) = join(&path, read) {
            tree.put(&path, joined);
        }
    }
    for column in without {
        let none = Tree { from: Some(table.written(row, column.at[0])), ..Tree::text("none") };
        tree.put(&["areas", &column.path[1]], none);
    }
    (key, tree)
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
    let value = match path {
        ["crew" | "except"] => {
            let keys = words().flat_map(|cell| cell.split([',', ';'])).map(str::trim).filter(|key| !key.is_empty());
            TreeValue::List(keys.map(|key| Tree { from: first.from.clone(), ..Tree::text(key) }).collect())
        }
        ["address"] => TreeValue::Text(words().collect::<Vec<_>>().join(", ")),
        ["notes"] => TreeValue::List(read),
        _ => first.value,
    };
    Some(Tree { value, from: first.from })
}

/// The value of a cell; `None` where it is empty or, which is reported, cannot be taken.
fn read_cell(table: &Arc<Table>, row: usize, at: usize, column: &Column, report: &mut Diagnostics) -> Option<Tree> {
    let path = column.path.last().map_or("", String::as_str);
    // beside others in a note a figure by itself says nothing
    let noted = |value: &str| match path {
        "notes" => TreeValue::Text(format!("{}: {value}", table.heading(at))),
        _ => TreeValue::Text(value.to_owned()),
    };
    let mut refuse = |code, message: String, hint: &str| {
        report.push_alike(Diagnostic::error(code, message).at(table.place(row, at)).hint(hint));
        None
    };
    let value = match (table.cell(row, at), column.kind) {
        (Cell::Empty, _) => return None,
        (Cell::Moment(_), _) => {
            let message = "a date stands here, which is kept as a number".into();
            return refuse("cell-is-a-date", message, "format the cell as text and write it anew");
        }
        (Cell::Bad(code, message, hint), _) => return refuse(code, message.clone(), hint),
        (Cell::Text(text), _) if column.path[0] == "areas" && text.eq_ignore_ascii_case("none") => {
            TreeValue::Text("none".to_owned())
        }
        // a key heads the names of files
        (Cell::Text(text), _) if path == "key" => TreeValue::Text(text.replace(' ', "-")),
        (Cell::Text(text), Kind::Quantity) => TreeValue::Text(with_unit(text, column.unit.as_deref())),
        (Cell::Text(text), _) => TreeValue::Text(text.clone()),
        (Cell::Number { figures, .. }, Kind::Number) => TreeValue::Plain(figures.clone()),
        (Cell::Number { shown: Some(shown), .. }, Kind::Text) => TreeValue::Text(shown.clone()),
        (Cell::Date(day), Kind::Date) => TreeValue::Text(day.to_string()),
        (Cell::Date(day), Kind::Text) if path == "notes" => noted(&day.to_string()),
        (Cell::Date(_), _) => {
            let hint = "format the cell as text and write it anew";
            return refuse("cell-is-a-date", "a date stands here, which is kept as a number".into(), hint);
        }
        (Cell::Number { figures, .. }, Kind::Text) if !matches!(path, "postcode" | "address") => noted(figures),
        (Cell::Number { figures, .. }, Kind::Text) => {
            let message = format!("the number {figures} stands here, which has lost any zeros it began with");
            let hint = "format the column as text and write it anew, or format it with as many 0 as it has figures";
            return refuse("number-where-text", message, hint);
        }
        (Cell::Number { figures, shown }, Kind::Quantity) => match (&column.unit, shown) {
            (_, Some(shown)) if shown.ends_with('%') => TreeValue::Text(shown.clone()),
            (Some(unit), _) => TreeValue::Text(format!("{figures} {unit}")),
            (None, _) => {
                let hint = "write the unit in the cell, or name it: `{ column: …, unit: ft2 }`";
                return refuse("number-without-unit", format!("the number {figures} has no unit"), hint);
            }
        },
        (Cell::Time(hour, minute), Kind::Time) => TreeValue::Text(format!("{hour:02}:{minute:02}")),
        (Cell::Flag(yes), Kind::Text) => noted(if *yes { "yes" } else { "no" }),
        (Cell::Number { .. } | Cell::Flag(_) | Cell::Time(..), Kind::Date) => {
            return refuse("bad-date", "no date stands here".into(), "such as `2026-04-13`");
        }
        (Cell::Number { .. } | Cell::Flag(_), Kind::Time) => {
            return refuse("bad-time", "no time of day stands here".into(), "such as `18:00`");
        }
        (Cell::Flag(_) | Cell::Time(..), _) => {
            return refuse("cell-misplaced", "a time, or yes or no, stands here".into(), "format the cell as text");
        }
    };
    Some(Tree { value, from: Some(table.written(row, at)) })
}

/// Figures with the column's unit; text that has a unit of its own, or is a word, stays.
fn with_unit(text: &str, unit: Option<&str>) -> String {
    let figures =
        text.contains(|c: char| c.is_ascii_digit()) && !text.contains(|c: char| c.is_alphabetic() || c == '%');
    unit.filter(|_| figures).map_or_else(|| text.to_owned(), |unit| format!("{text} {unit}"))
}
