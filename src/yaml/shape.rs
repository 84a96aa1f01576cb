//! What may stand in a file, as data: the JSON Schema for editors and the manual for people are written from it.

use std::fmt::Write;

use serde_json::{Map, Value, json};

use super::Node;
use crate::diagnostic::Diagnostics;

const DRAFT: &str = "https://json-schema.org/draft/2020-12/schema";

/// What may stand under a key.
#[derive(Debug)]
pub(crate) enum Shape {
    /// One line: what it is, what lies within its range, and how JSON writes it.
    Line {
        what: String,
        range: Option<String>,
        line: Line,
    },
    /// One of these words; what each means.
    Words(&'static [(&'static str, &'static str)]),
    YesNo,
    Count {
        least: u32,
        most: u32,
    },
    /// A list; with `or_one` a single value too.
    List {
        of: Box<Shape>,
        or_one: bool,
    },
    /// By keys of the user's choice, with `plain` such as may name a file.
    ByKey {
        of: Box<Shape>,
        plain: bool,
    },
    Group(Group),
    Either(Vec<Shape>),
}

/// How JSON writes one line.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Line {
    /// Text: a quantity with its unit, a date.
    Text,
    Number,
    /// Text, a number, yes or no: all are taken as they are written.
    Any,
}

#[derive(Debug)]
pub(crate) struct Group {
    pub(crate) name: &'static str,
    pub(crate) about: &'static str,
    pub(crate) keys: Vec<Key>,
}

#[derive(Debug)]
pub(crate) struct Key {
    pub(crate) name: &'static str,
    /// What it means, with `Example: …` at the end.
    pub(crate) about: &'static str,
    pub(crate) shape: Shape,
    pub(crate) presence: Presence,
}

/// Whether a key must be there.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Presence {
    Required,
    Optional,
    /// What holds where it is absent.
    Default(&'static str),
    /// Known to the reader alone, which refuses it.
    Hidden,
}

impl Shape {
    /// One line of text; `what` has its article.
    pub(crate) fn line(what: impl Into<String>, line: Line) -> Shape {
        Shape::Line { what: what.into(), range: None, line }
    }

    /// The same with what it must lie within.
    pub(crate) fn ranged(self, range: String) -> Shape {
        match self {
            Shape::Line { what, line, .. } => Shape::Line { what, range: Some(range), line },
            other => other,
        }
    }

    /// The keys, where it is a group.
    pub(crate) fn keys(&self) -> &[Key] {
        match self {
            Shape::Group(group) => &group.keys,
            _ => &[],
        }
    }

    /// The JSON Schema (draft 2020-12) of a file of this shape.
    pub(crate) fn schema(&self, title: &str) -> Value {
        let mut defs = Map::new();
        let mut root = Map::new();
        root.insert("$schema".into(), DRAFT.into());
        root.insert("title".into(), title.into());
        if let Shape::Group(group) = self {
            root.extend(group.schema(&mut defs));
        }
        root.insert("$defs".into(), defs.into());
        root.into()
    }

    /// The schema of a value, as keywords; groups go into `defs`.
    fn keywords(&self, defs: &mut Map<String, Value>) -> Map<String, Value> {
        let value = match self {
            Shape::Line { line, .. } => match line {
                Line::Text => json!({ "type": "string" }),
                Line::Number => json!({ "type": ["string", "number"] }),
                Line::Any => json!({ "type": ["string", "number", "boolean"] }),
            },
            Shape::Words(words) => json!({ "enum": words.iter().map(|(word, _)| *word).collect::<Vec<_>>() }),
            Shape::YesNo => json!({ "enum": [true, false, "yes", "no"] }),
            Shape::Count { least, most } => {
                json!({ "type": ["integer", "string"], "minimum": least, "maximum": most, "pattern": "^[0-9]+$" })
            }
            Shape::List { of, or_one } => {
                let one = of.keywords(defs);
                let list = json!({ "type": "array", "items": one });
                if *or_one { json!({ "anyOf": [one, list] }) } else { list }
            }
            Shape::ByKey { of, plain } => {
                let mut map = json!({ "type": "object", "additionalProperties": of.keywords(defs) });
                if *plain {
                    map["propertyNames"] = json!({ "pattern": "^[A-Za-z0-9][-A-Za-z0-9_.]{0,63}$" });
                }
                map
            }
            Shape::Group(group) => {
                if !defs.contains_key(group.title()) {
                    // taken before its own keys, so that groups stand in the order of the file
                    defs.insert(group.title().into(), Value::Null);
                    let schema = group.schema(defs).into();
                    defs.insert(group.title().into(), schema);
                }
                json!({ "$ref": format!("#/$defs/{}", group.title()) })
            }
            Shape::Either(shapes) => {
                json!({ "anyOf": shapes.iter().map(|shape| shape.keywords(defs)).collect::<Vec<_>>() })
            }
        };
        match value {
            Value::Object(map) => map,
            _ => Map::new(),
        }
    }

    /// What it is, for people, on one line: `a volume`, `a list of words`.
    fn words(&self) -> String {
        match self {
            Shape::Line { what, .. } => what.clone(),
            Shape::Words(words) => {
                format!("one of {}", words.iter().map(|(word, _)| *word).collect::<Vec<_>>().join(", "))
            }
            Shape::YesNo => "yes or no".to_owned(),
            Shape::Count { least, most } => format!("a whole number from {least} to {most}"),
            Shape::List { of, or_one: true } => format!("{}; or a list of them", of.words()),
            Shape::List { of, or_one: false } => format!("a list of {}", of.words()),
            Shape::ByKey { of, .. } => format!("by names of your own, {}", of.words()),
            Shape::Group(_) => "the keys below".to_owned(),
            Shape::Either(shapes) => shapes.iter().map(Shape::words).collect::<Vec<_>>().join("; or "),
        }
    }

    /// The ranges and the words that need more than their name.
    pub(super) fn notes(&self) -> Vec<String> {
        match self {
            Shape::Line { range: Some(range), .. } => vec![format!("Range: {range}.")],
            Shape::Words(words) => {
                let said = words.iter().filter(|(_, about)| !about.trim().is_empty());
                said.map(|(word, about)| format!("`{word}`: {}.", one_line(about))).collect()
            }
            Shape::List { of, .. } | Shape::ByKey { of, .. } => of.notes(),
            Shape::Either(shapes) => shapes.iter().flat_map(Shape::notes).collect(),
            _ => Vec::new(),
        }
    }

    /// The groups in it, which stand below it.
    fn groups(&self) -> Vec<&Group> {
        match self {
            Shape::Group(group) => vec![group],
            Shape::List { of, .. } | Shape::ByKey { of, .. } => of.groups(),
            Shape::Either(shapes) => shapes.iter().flat_map(Shape::groups).collect(),
            _ => Vec::new(),
        }
    }

    /// The manual of a file of this shape, in lines of at most 100 characters.
    pub(crate) fn manual(&self) -> String {
        let mut text = String::new();
        for group in self.groups() {
            wrap(&mut text, WIDTH, 0, group.about);
            text.push('\n');
            group.manual(0, &mut text);
        }
        text
    }
}

/// The JSON Schema of a file of texts in groups: every key of `model`, and its text as what to put in other words.
pub(crate) fn schema_of_texts(model: &Node<'_>, title: &str) -> Value {
    fn of(node: &Node<'_>) -> Value {
        let mut properties = Map::new();
        for (key, inner) in node.entries(&mut Diagnostics::new()).unwrap_or_default() {
            let schema = match inner.text(&mut Diagnostics::new()) {
                Some(text) => json!({ "type": ["string", "number", "boolean"], "description": text }),
                None => of(&inner),
            };
            properties.insert(key, schema);
        }
        let required: Vec<&String> = properties.keys().collect();
        json!({ "type": "object", "required": required, "additionalProperties": false, "properties": properties })
    }
    let mut schema = of(model);
    schema["$schema"] = DRAFT.into();
    schema["title"] = title.into();
    schema
}

/// Lets a value be nothing as well: a key with nothing after it counts as one that is not there.
fn left_blank(schema: &mut Map<String, Value>) {
    if let Some(one) = schema.get_mut("type") {
        match one {
            Value::Array(types) => types.push("null".into()),
            _ => *one = json!([one.take(), "null"]),
        }
    } else if let Some(Value::Array(words)) = schema.get_mut("enum") {
        words.push(Value::Null);
    } else if let Some(Value::Array(shapes)) = schema.get_mut("anyOf") {
        shapes.push(json!({ "type": "null" }));
    } else {
        let group = std::mem::take(schema);
        schema.insert("anyOf".into(), json!([group, { "type": "null" }]));
    }
}

impl Group {
    /// Its name in a schema, without what only tells it from the value made of it.
    fn title(&self) -> &'static str {
        self.name.strip_suffix("Keys").unwrap_or(self.name)
    }

    fn shown(&self) -> impl Iterator<Item = &Key> {
        self.keys.iter().filter(|key| !matches!(key.presence, Presence::Hidden))
    }

    fn schema(&self, defs: &mut Map<String, Value>) -> Map<String, Value> {
        let mut properties = Map::new();
        let mut required = Vec::new();
        for key in self.shown() {
            let mut schema = key.shape.keywords(defs);
            if !matches!(key.presence, Presence::Required) {
                left_blank(&mut schema);
            }
            let (about, examples) = key.about();
            let notes = key.shape.notes().into_iter().map(|note| format!(" {note}"));
            schema.insert("description".into(), notes.fold(about, |about, note| about + &note).into());
            if !examples.is_empty() {
                schema.insert("examples".into(), examples.iter().map(|example| as_json(example)).collect());
            }
            match key.presence {
                Presence::Required => required.push(Value::from(key.name)),
                Presence::Optional | Presence::Hidden => {}
                // a group has its defaults at its keys
                Presence::Default(_) if !key.shape.groups().is_empty() => {}
                Presence::Default(shown) => {
                    schema.insert("default".into(), as_json(shown));
                }
            }
            properties.insert(key.name.into(), schema.into());
        }
        let whole = json!({
            "description": one_line(self.about),
            "type": "object",
            "properties": properties,
            "required": required,
            "additionalProperties": false,
        });
        match whole {
            Value::Object(map) => map,
            _ => Map::new(),
        }
    }

    fn manual(&self, indent: usize, text: &mut String) {
        for key in self.shown() {
            let (about, examples) = key.about();
            let presence = match key.presence {
                Presence::Required => "required".to_owned(),
                Presence::Optional | Presence::Hidden => "optional".to_owned(),
                Presence::Default(shown) => format!("{shown} by default"),
            };
            wrap(text, WIDTH, indent, &format!("{}: {} ({presence})", key.name, key.shape.words()));
            wrap(text, WIDTH, indent + 6, &about);
            for note in key.shape.notes() {
                wrap(text, WIDTH, indent + 6, &note);
            }
            for example in &examples {
                wrap(text, WIDTH, indent + 6, &format!("Example: {}: {example}", key.name));
            }
            for group in key.shape.groups() {
                group.manual(indent + 2, text);
            }
        }
    }
}

impl Key {
    /// What it means, and its examples.
    pub(crate) fn about(&self) -> (String, Vec<String>) {
        let line = one_line(self.about);
        let (about, examples) = line.split_once("Example:").unwrap_or((&line, ""));
        let examples = examples.split('`').skip(1).step_by(2).map(str::to_owned).collect();
        (about.trim().to_owned(), examples)
    }
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A value as a file writes it, as JSON has it.
fn as_json(written: &str) -> Value {
    serde_yaml::from_str(written).unwrap_or_else(|_| written.into())
}

/// The longest line of the manual, in characters.
const WIDTH: usize = 100;

/// Words in lines of at most `width` characters.
pub(super) fn wrap(text: &mut String, width: usize, indent: usize, words: &str) {
    let mut column = 0;
    for word in words.split_whitespace() {
        let length = word.chars().count();
        if column > 0 && column + 1 + length > width {
            text.push('\n');
            column = 0;
        }
        if column == 0 {
            // writing to a string cannot fail
            let _ = write!(text, "{:indent$}{word}", "");
            column = indent + length;
        } else {
            text.push(' ');
            text.push_str(word);
            column += 1 + length;
        }
    }
    if column > 0 {
        text.push('\n');
    }
}
