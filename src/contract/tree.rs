//! Values on their way from a contract or a table into a job file: each knows where it was written.

use std::fmt;
use std::sync::Arc;

use super::table::Table;
use crate::report::{Place, Report, is_unseen};
use crate::yaml::{Form, Node, Origin};

/// Where a value was written.
#[derive(Clone, Debug)]
pub(super) enum From {
    /// In the contract file.
    Contract(Origin),
    /// In a cell of a table: row and column from 0, the row of headings being 0.
    Cell(Arc<Table>, usize, usize),
}

impl From {
    /// The place to show.
    pub(super) fn place(&self) -> Place {
        match self {
            From::Contract(origin) => origin.place(),
            From::Cell(table, row, column) => table.place(*row, *column),
        }
    }
}

/// A value.
#[derive(Clone, Debug)]
pub(super) struct Tree {
    pub value: Value,
    /// `None` for what no one wrote, such as a job's number.
    pub from: Option<From>,
}

/// What a value holds.
#[derive(Clone, Debug)]
pub(super) enum Value {
    /// A number, or yes or no, as it is written.
    Plain(String),
    /// Text.
    Text(String),
    /// A list.
    List(Vec<Tree>),
    /// Keys and values, in order.
    Group(Vec<(String, Tree)>),
}

impl Tree {
    /// Text that no one wrote.
    pub(super) fn text(text: impl Into<String>) -> Tree {
        Tree { value: Value::Text(text.into()), from: None }
    }

    /// A group that no one wrote.
    pub(super) fn group(entries: Vec<(String, Tree)>) -> Tree {
        Tree { value: Value::Group(entries), from: None }
    }

    /// A list that no one wrote.
    pub(super) fn list(items: Vec<Tree>) -> Tree {
        Tree { value: Value::List(items), from: None }
    }

    /// Takes a value over as it stands in the contract; keys without a value are left out.
    pub(super) fn of(node: &Node<'_>, report: &mut Report) -> Option<Tree> {
        let value = match node.form() {
            Form::Nothing => return None,
            Form::Plain => Value::Plain(node.text(report)?),
            Form::Text => Value::Text(node.text(report)?),
            Form::List => Value::List(node.items(report)?.iter().filter_map(|n| Tree::of(n, report)).collect()),
            Form::Group => {
                let entries = node.entries(report)?;
                let trees = entries.into_iter().filter_map(|(key, n)| Some((key, Tree::of(&n, report)?)));
                Value::Group(trees.collect())
            }
        };
        Some(Tree { value, from: Some(From::Contract(node.origin())) })
    }

    /// The value under a key of a group.
    pub(super) fn get(&self, key: &str) -> Option<&Tree> {
        self.entries().iter().find(|(known, _)| known == key).map(|(_, tree)| tree)
    }

    /// The keys and values of a group; none of anything else.
    pub(super) fn entries(&self) -> &[(String, Tree)] {
        match &self.value {
            Value::Group(entries) => entries,
            _ => &[],
        }
    }

    /// The items of a list, or a single value as a list of itself; a group has none.
    pub(super) fn items(&self) -> &[Tree] {
        match &self.value {
            Value::List(items) => items,
            Value::Group(_) => &[],
            Value::Plain(_) | Value::Text(_) => std::slice::from_ref(self),
        }
    }

    /// Text, or a number as it is written.
    pub(super) fn word(&self) -> Option<&str> {
        match &self.value {
            Value::Plain(text) | Value::Text(text) => Some(text),
            _ => None,
        }
    }

    /// Puts a value under a path of keys, making the groups on the way.
    pub(super) fn put(&mut self, path: &[&str], tree: Tree) {
        let Some((key, rest)) = path.split_first() else {
            *self = tree;
            return;
        };
        if !matches!(self.value, Value::Group(_)) {
            self.value = Value::Group(Vec::new());
        }
        let Value::Group(entries) = &mut self.value else { return };
        let at = entries.iter().position(|(known, _)| known == key).unwrap_or_else(|| {
            entries.push(((*key).to_owned(), Tree::group(Vec::new())));
            entries.len() - 1
        });
        entries[at].1.put(rest, tree);
    }

    /// Changes every text in it.
    pub(super) fn each_text(&mut self, change: &mut impl FnMut(&mut String)) {
        match &mut self.value {
            Value::Plain(_) => {}
            Value::Text(text) => change(text),
            Value::List(items) => items.iter_mut().for_each(|item| item.each_text(change)),
            Value::Group(entries) => entries.iter_mut().for_each(|(_, inner)| inner.each_text(change)),
        }
    }

    /// This value with what `over` says going before it: groups key by key, everything else as a whole.
    pub(super) fn under(&self, over: &Tree) -> Tree {
        let (Value::Group(own), Value::Group(theirs)) = (&self.value, &over.value) else {
            return over.clone();
        };
        let mut entries: Vec<(String, Tree)> = own.clone();
        for (key, tree) in theirs {
            match entries.iter_mut().find(|(known, _)| known == key) {
                Some((_, under)) => *under = under.under(tree),
                None => entries.push((key.clone(), tree.clone())),
            }
        }
        Tree { value: Value::Group(entries), from: over.from.clone() }
    }

    /// Where the value was written that a path of a job file, as problems show it, leads to; else the nearest around it.
    pub(super) fn written_at(&self, path: &str) -> Option<From> {
        let inner = match &self.value {
            Value::Group(entries) => entries.iter().find_map(|(key, tree)| {
                let rest = path.strip_prefix(key.as_str())?;
                let ends = rest.is_empty() || rest.starts_with(['.', '[']);
                let rest = rest.strip_prefix('.').unwrap_or(rest);
                ends.then(|| tree.written_at(rest)).flatten()
            }),
            Value::List(items) => path.strip_prefix('[').and_then(|rest| {
                let (index, rest) = rest.split_once(']')?;
                let item = items.get(index.parse::<usize>().ok()?)?;
                item.written_at(rest.strip_prefix('.').unwrap_or(rest))
            }),
            _ => None,
        };
        inner.or_else(|| self.from.clone())
    }
}

impl fmt::Display for Tree {
    /// As block YAML that every reader of YAML 1.1 or 1.2 takes for the same: whatever could be taken for something
    /// else than text is quoted.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_block(self, 0, f)
    }
}

fn write_block(tree: &Tree, depth: usize, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    let margin = "  ".repeat(depth);
    match &tree.value {
        Value::Group(entries) => {
            for (key, inner) in entries {
                write!(f, "{margin}{}:", scalar(key))?;
                write_behind(inner, depth, f)?;
            }
            Ok(())
        }
        Value::List(items) => {
            for item in items {
                write!(f, "{margin}-")?;
                write_behind(item, depth, f)?;
            }
            Ok(())
        }
        _ => writeln!(f, "{margin}{}", inline(tree)),
    }
}

/// Behind `key:` or `-`: on the same line where nothing is nested in it, else on lines of its own.
fn write_behind(tree: &Tree, depth: usize, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    let flat = |tree: &Tree| matches!(tree.value, Value::Plain(_) | Value::Text(_));
    let short = match &tree.value {
        Value::Group(entries) => depth > 0 && entries.iter().all(|(_, inner)| flat(inner)),
        Value::List(items) => items.iter().all(flat),
        _ => true,
    };
    let empty = tree.entries().is_empty() && tree.items().is_empty();
    if short || empty {
        writeln!(f, " {}", inline(tree))
    } else {
        writeln!(f)?;
        write_block(tree, depth + 1, f)
    }
}

fn inline(tree: &Tree) -> String {
    match &tree.value {
        Value::Plain(text) => text.clone(),
        Value::Text(text) => scalar(text),
        Value::List(items) => format!("[{}]", items.iter().map(inline).collect::<Vec<_>>().join(", ")),
        Value::Group(entries) if entries.is_empty() => "{}".to_owned(),
        Value::Group(entries) => {
            let pairs: Vec<String> = entries.iter().map(|(k, t)| format!("{}: {}", scalar(k), inline(t))).collect();
            format!("{{ {} }}", pairs.join(", "))
        }
    }
}

/// Words that some version of YAML takes for something else than text.
const TAKEN: &[&str] = &["true", "false", "yes", "no", "on", "off", "y", "n", "null"];

/// Text as a scalar: bare where no reader can take it for anything else, else in double quotes.
fn scalar(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, ' ' | '.' | '/' | '-' | '_');
    // with a space and a letter in it, it is no number and no date, whatever it begins with
    let words = text.contains(' ') && text.contains(|c: char| c.is_ascii_alphabetic());
    let bare = text.starts_with(|c: char| c.is_ascii_alphabetic() || (words && c.is_ascii_digit()))
        && text.chars().all(plain)
        && !text.ends_with(' ')
        && !TAKEN.contains(&text.to_ascii_lowercase().as_str());
    if bare {
        return text.to_owned();
    }
    let mut quoted = String::from('"');
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            // line breaks of Unicode are folded by some readers
            c if is_unseen(c) || matches!(c, '\u{2028}' | '\u{2029}') => {
                quoted += &format!("\\U{:08X}", u32::from(c));
            }
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    use proptest::prelude::*;
    use saphyr_parser::{Event, Parser};

    use crate::yaml::Source;

    fn tree(yaml: &str) -> Tree {
        let mut report = Report::new();
        let source = Source::from_text(Path::new("c.yaml"), yaml.to_owned(), &mut report).unwrap();
        let tree = Tree::of(&source.root(), &mut report).unwrap();
        assert_eq!(report, Report::new());
        tree
    }

    #[test]
    fn it_is_written_as_people_write_it() {
        let text = "job: a-1\ncount: 7\nvisit:\n  start: 2026-04-13T18:00\n  crew: [okafor, \"no\"]\ntreatments:\n  -\n    product: q75\n    areas: [Hall, \"Bar: left\"]\nareas:\n  Hall: { floor: 40 ft x 55 ft, outdoors: yes, share: \"5 %\" }\n";
        let written = tree(text).to_string();
        let expected =
            text.replace("2026-04-13T18:00", "\"2026-04-13T18:00\"").replace("outdoors: yes", "outdoors: \"yes\"");
        assert_eq!(written, expected);
    }

    #[test]
    fn what_stands_over_goes_before() {
        let under = tree("a: { floor: 1, walls: 2 }\nl: [1, 2]\nonly: x");
        let over = tree("a: { walls: 3, door: 4 }\nl: [9]");
        assert_eq!(under.under(&over).to_string(), "a:\n  floor: 1\n  walls: 3\n  door: 4\nl: [9]\nonly: x\n");
    }

    #[test]
    fn a_path_leads_to_where_it_was_written() {
        let tree = tree("areas:\n  Hall 1.5: { floor: x }\nt:\n  - { p: q }\n");
        let at = |path: &str| tree.written_at(path).unwrap().place().path;
        assert_eq!(at("areas.Hall 1.5.floor"), "areas.Hall 1.5.floor");
        assert_eq!(at("areas.Hall 1.5.walls_to"), "areas.Hall 1.5");
        assert_eq!(at("t[0].p"), "t[0].p");
        assert_eq!(at("t[7].p"), "t");
    }

    proptest! {
        #[test]
        fn any_text_comes_back(text in any::<String>(), key in "\\PC{1,12}") {
            let key = if key.trim().is_empty() { "k".to_owned() } else { key };
            let group = |inner| Tree::group(vec![(key.clone(), inner)]);
            let nested = group(Tree::list(vec![Tree::text(text.clone()), group(Tree::text(text.clone()))]));
            let written = nested.to_string();
            // one reader, which decant reads with
            let mut report = Report::new();
            let mut seen = Vec::new();
            let source = Source::from_text(Path::new("t.yaml"), written.clone(), &mut report);
            prop_assert!(source.is_some(), "{written}{report}");
            if let Some(source) = source {
                source.each_text(|found, _| seen.push(found.to_owned()));
            }
            prop_assert_eq!(&seen, &[key.clone(), text.clone(), key.clone(), text.clone()]);
            // and another
            let scalars: Vec<String> = Parser::new_from_str(&written)
                .filter_map(|event| match event {
                    Ok((Event::Scalar(found, ..), _)) => Some(found.into_owned()),
                    _ => None,
                })
                .collect();
            prop_assert_eq!(&scalars, &[key.clone(), text.clone(), key, text]);
        }
    }

    #[test]
    fn words_that_yaml_takes_for_something_else_are_quoted() {
        for text in [
            "yes",
            "No",
            "null",
            "~",
            "1e3",
            "0x1F",
            "12:30:00",
            "2026-04-13",
            "007",
            ".5",
            "-",
            "- x",
            "a: b",
            "a #b",
            "",
            " a",
            "a ",
            "&a",
            "*a",
            "!t",
            "%a",
            "@a",
            "`a",
            "{a",
            "[a",
            "'a",
            "\"a",
            "? a",
            "|",
            ">",
            "=",
            "<<",
            "1_000",
            "02134",
            "é",
        ] {
            assert!(scalar(text).starts_with('"'), "{text}");
        }
        for text in ["okafor", "solvary-q75", "Waiting hall", "40 ft x 55 ft", "14 Quay Lane"] {
            assert_eq!(scalar(text), text);
        }
    }
}
