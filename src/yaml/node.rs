//! Values with their paths: asked for by name, missed and mistyped ones added to the report.

use std::sync::Arc;

use serde_yaml::{Mapping, Value};

use super::Source;
use super::path::{Step, ValuePath};
use crate::diagnostic::{Diagnostic, Diagnostics, Place, is_unseen};
use crate::ghs::ParseHazardError;
use crate::quantity::{QuantityError, Range, Readable};

/// The longest text a field takes, in characters.
const LONGEST_TEXT: usize = 2_000;

#[derive(Clone, Debug)]
pub struct Node<'a> {
    pub(super) source: &'a Arc<Source>,
    value: &'a Value,
    pub(super) path: ValuePath,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    Nothing,
    Plain,
    Text,
    List,
    Group,
}

/// Where a value came from, kept for checks that come later.
#[derive(Clone, Debug)]
pub struct Origin {
    source: Arc<Source>,
    path: ValuePath,
}

impl Origin {
    pub fn error(&self, code: &'static str, message: impl Into<String>) -> Diagnostic {
        Diagnostic::error(code, message).at(self.place())
    }

    pub fn place(&self) -> Place {
        self.source.place(&self.path)
    }

    /// What a reader of text refused here.
    pub fn refused(&self, refusal: &impl Complaint) -> Diagnostic {
        let mut problem = self.error(refusal.code(), refusal.message());
        problem.hints = refusal.hints();
        problem
    }

    pub fn node(&self) -> Option<Node<'_>> {
        Some(Node::new(&self.source, self.source.value_at(&self.path)?, self.path.clone()))
    }

    /// Whether a key of this value is there and has a value.
    pub fn has(&self, key: &str) -> bool {
        self.node().is_some_and(|node| node.get(key).is_some())
    }

    pub fn key(&self, key: &str) -> Origin {
        Origin { source: self.source.clone(), path: self.path.key(key) }
    }

    pub fn source(&self) -> &Arc<Source> {
        &self.source
    }

    pub fn path(&self) -> &ValuePath {
        &self.path
    }
}

impl<'a> Node<'a> {
    pub(super) fn new(source: &'a Arc<Source>, value: &'a Value, path: ValuePath) -> Self {
        Node { source, value: untagged(value), path }
    }

    /// The key it stands under, or its position in a list.
    pub fn name(&self) -> String {
        match self.path.steps().last() {
            Some(Step::Key(key)) => key.clone(),
            Some(Step::Index(index)) => index.to_string(),
            None => String::new(),
        }
    }

    pub fn origin(&self) -> Origin {
        Origin { source: self.source.clone(), path: self.path.clone() }
    }

    pub fn error(&self, code: &'static str, message: impl Into<String>) -> Diagnostic {
        Diagnostic::error(code, message).at(self.source.place(&self.path))
    }

    /// An error at one of its keys.
    pub(super) fn key_error(&self, code: &'static str, message: String, key: &str) -> Diagnostic {
        Diagnostic::error(code, message).at(self.source.key_place(&self.path.key(key)))
    }

    /// The value as a mapping of which only `known` keys are allowed.
    pub fn fields(&self, known: &[&str], report: &mut Diagnostics) -> Option<Fields<'a>> {
        self.declared(known, &[], report)
    }

    /// The same, with what is said of each key.
    pub(crate) fn declared(
        &self,
        known: &[&str],
        about: &'static [&'static str],
        report: &mut Diagnostics,
    ) -> Option<Fields<'a>> {
        let map = self.mapping(report)?;
        let mut meant = Vec::new();
        for key in map.keys() {
            let name = key_text(key);
            if known.contains(&name.as_str()) {
                continue;
            }
            if report.is_full() {
                report.push_unseen();
                continue;
            }
            let (problem, near) = self.unknown_key(&name, known, map);
            meant.extend(near);
            report.push(problem);
        }
        let about = known.iter().zip(about).map(|(key, about)| ((*key).to_owned(), *about)).collect();
        Some(Fields { node: self.clone(), map, meant, about })
    }

    /// The value as a mapping from names of the user's choice.
    pub fn entries(&self, report: &mut Diagnostics) -> Option<Vec<(String, Node<'a>)>> {
        let map = self.mapping(report)?;
        let mut found = Vec::new();
        for (key, value) in map {
            let name = key_text(key);
            let node = Node::new(self.source, value, self.path.key(&name));
            if name.trim().is_empty() {
                report.push(node.error("bad-name", "a name is empty or is not text"));
            } else {
                found.push((name, node));
            }
        }
        Some(found)
    }

    pub fn items(&self, report: &mut Diagnostics) -> Option<Vec<Node<'a>>> {
        match self.value {
            Value::Sequence(items) => {
                Some(items.iter().enumerate().map(|(i, v)| Node::new(self.source, v, self.path.index(i))).collect())
            }
            _ => {
                let problem = self.error("not-a-list", format!("{} stands here, a list is wanted", self.what()));
                let hint = "begin each entry with `- ` on a line of its own, or write them in brackets: `[one, two]`";
                report.fail(problem.hint(hint))
            }
        }
    }

    /// The value as a list, or as a list of itself alone.
    pub fn items_or_one(&self, report: &mut Diagnostics) -> Option<Vec<Node<'a>>> {
        match self.value {
            Value::String(_) | Value::Number(_) => Some(vec![self.clone()]),
            _ => self.items(report),
        }
    }

    /// The value of a key, if this is a group that has one; nothing is reported.
    pub fn get(&self, key: &str) -> Option<Node<'a>> {
        let value = self.value.as_mapping()?.get(key)?;
        (!value.is_null()).then(|| Node::new(self.source, value, self.path.key(key)))
    }

    /// Whether this is a group in which no other key than these has a value.
    pub fn holds_only(&self, keys: &[&str]) -> bool {
        let is_one =
            |(key, value): (&Value, &Value)| value.is_null() || key.as_str().is_some_and(|k| keys.contains(&k));
        self.value.as_mapping().is_some_and(|map| map.iter().all(is_one))
    }

    /// Whether the value is plain text or a number.
    pub fn is_scalar(&self) -> bool {
        matches!(self.value, Value::String(_) | Value::Number(_) | Value::Bool(_))
    }

    /// What stands here, for readers that take a value over as it is.
    pub fn form(&self) -> Form {
        match self.value {
            Value::Null => Form::Nothing,
            Value::Bool(_) | Value::Number(_) => Form::Plain,
            Value::String(_) => Form::Text,
            Value::Sequence(_) => Form::List,
            Value::Mapping(_) | Value::Tagged(_) => Form::Group,
        }
    }

    /// The value as one line of text, as it is written. Line breaks become spaces.
    pub fn text(&self, report: &mut Diagnostics) -> Option<String> {
        let text = match self.value {
            Value::String(text) => text.clone(),
            // `007`, `1e3` and `yes` keep the form they were written in.
            Value::Number(_) | Value::Bool(_) => {
                self.source.as_written(&self.path).map_or_else(|| key_text(self.value), str::to_owned)
            }
            _ => {
                let problem = self.error("not-text", format!("{} stands here, text is wanted", self.what()));
                return report.fail(problem.hint("write one value behind the key, on its line"));
            }
        };
        let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
        if line.is_empty() {
            return report.fail(self.error("empty-text", "this is empty").hint("fill it in, or remove the key"));
        }
        if line.chars().count() > LONGEST_TEXT {
            let problem = self.error("text-too-long", format!("this is longer than {LONGEST_TEXT} characters"));
            return report.fail(problem.hint("shorten it; a quotation mark may be missing where it was to end"));
        }
        if let Some(bad) = line.chars().find(|c| is_unseen(*c)) {
            let message = format!("this holds a character that cannot be seen in print (U+{:04X})", u32::from(bad));
            return report
                .fail(self.error("unprintable-character", message).hint("remove it; it may have come in by copying"));
        }
        Some(line)
    }

    pub fn flag(&self, report: &mut Diagnostics) -> Option<bool> {
        match self.value {
            Value::Bool(flag) => return Some(*flag),
            Value::String(text) if text.trim().eq_ignore_ascii_case("yes") => return Some(true),
            Value::String(text) if text.trim().eq_ignore_ascii_case("no") => return Some(false),
            _ => {}
        }
        let problem = self.error("not-a-flag", format!("{} stands here, `yes` or `no` is wanted", self.what()));
        report.fail(problem.hint("write `yes` or `no`"))
    }

    /// The value as whatever `read` makes of its text. `read` gives a message and hints for what it refuses.
    pub fn parse<T, E: Complaint>(
        &self,
        report: &mut Diagnostics,
        read: impl FnOnce(&str) -> Result<T, E>,
    ) -> Option<T> {
        read(&self.text(report)?).map_or_else(|refusal| report.fail(self.origin().refused(&refusal)), Some)
    }

    /// The value as a quantity that lies within its range.
    pub fn within<K: Readable>(&self, report: &mut Diagnostics, range: &Range<K>) -> Option<K> {
        let value = self.parse(report, K::read)?;
        let text = self.text(report)?;
        match range.check(&value, &text) {
            Ok(()) => Some(value),
            Err(refusal) => report.fail(Diagnostic { code: "out-of-range", ..self.origin().refused(&refusal) }),
        }
    }

    pub fn choice<T: Copy>(&self, report: &mut Diagnostics, choices: &[(&str, T)]) -> Option<T> {
        let text = self.text(report)?;
        if let Some((_, value)) = choices.iter().find(|(word, _)| word.eq_ignore_ascii_case(&text)) {
            return Some(*value);
        }
        let words: Vec<&str> = choices.iter().map(|(word, _)| *word).collect();
        report.fail(self.unknown_word(&text, &words, format!("`{text}` is not known here")))
    }

    fn mapping(&self, report: &mut Diagnostics) -> Option<&'a Mapping> {
        match self.value {
            Value::Mapping(map) => Some(map),
            _ => {
                let message = format!("{} stands here, `key: value` pairs are wanted", self.what());
                let hint = "write each key on a line of its own below, indented: `key: value`";
                report.fail(self.error("not-a-mapping", message).hint(hint))
            }
        }
    }

    fn what(&self) -> &'static str {
        match self.value {
            Value::Null => "nothing",
            Value::Bool(_) => "yes or no",
            Value::Number(_) => "a number",
            Value::String(_) => "text",
            Value::Sequence(_) => "a list",
            Value::Mapping(_) | Value::Tagged(_) => "a group of keys",
        }
    }
}

/// What a reader of text says when it refuses.
pub trait Complaint {
    /// A stable name for the kind of problem.
    fn code(&self) -> &'static str;
    fn message(&self) -> String;
    fn hints(&self) -> Vec<String>;
}

impl Complaint for QuantityError {
    fn code(&self) -> &'static str {
        "bad-quantity"
    }
    fn message(&self) -> String {
        self.message.clone()
    }
    fn hints(&self) -> Vec<String> {
        self.hints.clone()
    }
}

impl Complaint for ParseHazardError {
    fn code(&self) -> &'static str {
        "bad-hazard"
    }
    fn message(&self) -> String {
        self.to_string()
    }
    fn hints(&self) -> Vec<String> {
        vec![
            "write it as section 2 of the safety data sheet does, such as `Skin Corr. 1B` or `Acute Tox. 3 (oral)`"
                .to_owned(),
        ]
    }
}

#[derive(Clone, Debug)]
pub struct Fields<'a> {
    node: Node<'a>,
    map: &'a Mapping,
    /// Keys that are not there, and that one with a slip in it may be meant for.
    meant: Vec<String>,
    /// What is said of each key.
    about: Vec<(String, &'static str)>,
}

impl<'a> Fields<'a> {
    /// The value of a key; `None` where the key is absent or empty.
    pub fn get(&self, key: &str) -> Option<Node<'a>> {
        self.node.get(key)
    }

    /// Whether a key is there, with or without a value.
    pub fn holds(&self, key: &str) -> bool {
        self.map.contains_key(key)
    }

    pub fn need(&self, key: &str, report: &mut Diagnostics) -> Option<Node<'a>> {
        let found = self.get(key);
        // a slip in the key has been reported
        if found.is_none() && !self.meant.iter().any(|meant| meant == key) {
            let said = if self.holds(key) { "has no value" } else { "is missing here" };
            let problem = self.node.error("missing-key", format!("`{key}` {said}"));
            report.push(problem.hint(self.example(key)));
        }
        found
    }

    /// What to write under a key.
    fn example(&self, key: &str) -> String {
        let about = self.about.iter().find(|(of, _)| of == key).map_or("", |(_, about)| about);
        let about = about.split_whitespace().collect::<Vec<_>>().join(" ");
        let example = about.split_once("Example: `").and_then(|(_, rest)| rest.split_once('`'));
        match example {
            Some((example, _)) => format!("write it like `{key}: {example}`"),
            None => format!("write `{key}: …`; the manual says what stands there (`decant manual`)"),
        }
    }

    /// The mapping itself.
    pub fn node(&self) -> &Node<'a> {
        &self.node
    }

    pub fn need_text(&self, key: &str, report: &mut Diagnostics) -> Option<String> {
        self.need(key, report)?.text(report)
    }

    pub fn text(&self, key: &str, report: &mut Diagnostics) -> Option<String> {
        self.get(key)?.text(report)
    }
}

/// A tag (`!thing`) says nothing to us; what it marks is read.
pub(super) fn untagged(mut value: &Value) -> &Value {
    while let Value::Tagged(tagged) = value {
        value = &tagged.value;
    }
    value
}

pub(super) fn key_text(key: &Value) -> String {
    match key {
        Value::String(text) => text.clone(),
        Value::Number(number) => number.to_string(),
        Value::Bool(flag) => flag.to_string(),
        _ => String::new(),
    }
}
