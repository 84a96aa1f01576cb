//! Values from several files on their way into one: each knows where it was written.

use std::fmt;
use std::sync::Arc;

use serde_yaml::{Mapping, Value};

use super::node::{Form, Node, Origin};
use super::path::{Step, ValuePath};
use crate::diagnostic::{Diagnostic, Diagnostics, Place};

/// Where a value was written: in a YAML file, or in a cell of a table.
pub trait Written: fmt::Debug + Send + Sync {
    fn place(&self) -> Place;
}

impl Written for Origin {
    fn place(&self) -> Place {
        Origin::place(self)
    }
}

/// A value with the place where it was written.
#[derive(Clone, Debug)]
pub struct Tree {
    pub value: TreeValue,
    /// `None` for what no one wrote, such as a job's number.
    pub from: Option<Arc<dyn Written>>,
}

#[derive(Clone, Debug)]
pub enum TreeValue {
    /// A number, or yes or no, as it is written.
    Plain(String),
    Text(String),
    List(Vec<Tree>),
    Group(Vec<(String, Tree)>),
}

impl From<TreeValue> for Tree {
    /// A value that no one wrote.
    fn from(value: TreeValue) -> Tree {
        Tree { value, from: None }
    }
}

impl Tree {
    /// Text that no one wrote.
    pub fn text(text: impl Into<String>) -> Tree {
        TreeValue::Text(text.into()).into()
    }

    pub fn group() -> Tree {
        TreeValue::Group(Vec::new()).into()
    }

    /// A value as it stands in a file; keys without a value are left out.
    pub fn of(node: &Node<'_>, report: &mut Diagnostics) -> Option<Tree> {
        let value = match node.form() {
            Form::Nothing => return None,
            Form::Plain => TreeValue::Plain(node.text(report)?),
            Form::Text => TreeValue::Text(node.text(report)?),
            Form::List => TreeValue::List(node.items(report)?.iter().filter_map(|n| Tree::of(n, report)).collect()),
            Form::Group => {
                let entries = node.entries(report)?;
                let trees = entries.into_iter().filter_map(|(key, n)| Some((key, Tree::of(&n, report)?)));
                TreeValue::Group(trees.collect())
            }
        };
        Some(Tree { value, from: Some(Arc::new(node.origin())) })
    }

    pub fn get(&self, key: &str) -> Option<&Tree> {
        self.entries().iter().find(|(known, _)| known == key).map(|(_, tree)| tree)
    }

    /// An error at the value under a key, or at this one where there is none.
    pub fn error(&self, key: &str, code: &'static str, message: impl Into<String>) -> Diagnostic {
        Diagnostic { place: self.place(&ValuePath::root().key(key)), ..Diagnostic::error(code, message) }
    }

    /// The keys and values of a group; none of anything else.
    pub fn entries(&self) -> &[(String, Tree)] {
        match &self.value {
            TreeValue::Group(entries) => entries,
            _ => &[],
        }
    }

    /// The items of a list, or a single value as a list of itself; a group has none.
    pub fn items(&self) -> &[Tree] {
        match &self.value {
            TreeValue::List(items) => items,
            TreeValue::Group(_) => &[],
            _ => std::slice::from_ref(self),
        }
    }

    /// Text, or a number as it is written.
    pub fn word(&self) -> Option<&str> {
        match &self.value {
            TreeValue::Plain(text) | TreeValue::Text(text) => Some(text),
            _ => None,
        }
    }

    /// Puts a value under a path of keys, with the groups on the way.
    pub fn put(&mut self, path: &[&str], tree: Tree) {
        let Some((key, rest)) = path.split_first() else {
            *self = tree;
            return;
        };
        if !matches!(self.value, TreeValue::Group(_)) {
            self.value = TreeValue::Group(Vec::new());
        }
        let TreeValue::Group(entries) = &mut self.value else { return };
        let at = entries.iter().position(|(known, _)| known == key).unwrap_or_else(|| {
            entries.push(((*key).to_owned(), Tree::group()));
            entries.len() - 1
        });
        entries[at].1.put(rest, tree);
    }

    /// Changes every text in it.
    pub fn each_text(&mut self, change: &mut impl FnMut(&mut String)) {
        match &mut self.value {
            TreeValue::Plain(_) => {}
            TreeValue::Text(text) => change(text),
            TreeValue::List(items) => items.iter_mut().for_each(|item| item.each_text(change)),
            TreeValue::Group(entries) => entries.iter_mut().for_each(|(_, inner)| inner.each_text(change)),
        }
    }

    /// This value where `over` says nothing else: groups are merged key by key, everything else is replaced.
    pub fn overridden_by(&self, over: &Tree) -> Tree {
        let (TreeValue::Group(own), TreeValue::Group(theirs)) = (&self.value, &over.value) else {
            return over.clone();
        };
        let mut entries = own.clone();
        for (key, tree) in theirs {
            match entries.iter_mut().find(|(known, _)| known == key) {
                Some((_, under)) => *under = under.overridden_by(tree),
                None => entries.push((key.clone(), tree.clone())),
            }
        }
        Tree { value: TreeValue::Group(entries), from: over.from.clone() }
    }

    fn step(&self, step: &Step) -> Option<&Tree> {
        match (step, &self.value) {
            (Step::Key(key), _) => self.get(key),
            (Step::Index(index), TreeValue::List(items)) => items.get(*index),
            _ => None,
        }
    }

    pub(super) fn at(&self, path: &ValuePath) -> Option<&Tree> {
        path.steps().iter().try_fold(self, |tree, step| tree.step(step))
    }

    /// The place of the value at a path, or of the nearest around it that someone wrote.
    pub(super) fn place(&self, path: &ValuePath) -> Option<Place> {
        let (mut tree, mut from) = (Some(self), self.from.as_ref());
        for step in path.steps() {
            tree = tree.and_then(|tree| tree.step(step));
            from = tree.and_then(|tree| tree.from.as_ref()).or(from);
        }
        from.map(|from| from.place())
    }

    /// As a YAML reader would have it.
    pub(super) fn to_value(&self) -> Value {
        match &self.value {
            // it was read as a number, or yes or no, once before
            TreeValue::Plain(text) => serde_yaml::from_str(text).unwrap_or_else(|_| Value::String(text.clone())),
            TreeValue::Text(text) => Value::String(text.clone()),
            TreeValue::List(items) => Value::Sequence(items.iter().map(Tree::to_value).collect()),
            TreeValue::Group(entries) => {
                let entries = entries.iter().map(|(key, inner)| (Value::String(key.clone()), inner.to_value()));
                Value::Mapping(entries.collect::<Mapping>())
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::yaml::Source;
    use std::path::Path;

    fn tree(yaml: &str) -> Tree {
        let mut report = Diagnostics::new();
        let source = Source::from_text(Path::new("c.yaml"), yaml.to_owned(), &mut report).unwrap();
        let tree = Tree::of(&source.root(), &mut report).unwrap();
        assert_eq!(report, Diagnostics::new());
        tree
    }

    #[test]
    fn groups_are_merged_and_all_else_is_replaced() {
        let under = tree("a: { floor: 1, walls: 2 }\nl: [1, 2]\nonly: x");
        let merged = under.overridden_by(&tree("a: { walls: 3, door: 4 }\nl: [9]"));
        assert_eq!(merged.to_value(), tree("a: { floor: 1, walls: 3, door: 4 }\nl: [9]\nonly: x").to_value());
    }

    #[test]
    fn a_path_leads_to_where_it_was_written() {
        let tree = tree("areas:\n  Hall 1.5: { floor: x }\nt:\n  - { p: q }\n");
        let root = ValuePath::root();
        let hall = root.key("areas").key("Hall 1.5");
        let at = |path: &ValuePath| tree.place(path).unwrap().path;
        assert_eq!(at(&hall.key("floor")), "areas.Hall 1.5.floor");
        assert_eq!(at(&hall.key("walls_to")), "areas.Hall 1.5");
        assert_eq!(at(&root.key("t").index(0).key("p")), "t[0].p");
        assert_eq!(at(&root.key("t").index(7).key("p")), "t");
    }
}
