//! YAML files: read within bounds, every value with its path, every problem with its line.
//!
//! The only module that knows the YAML libraries: `serde_yaml` reads, `saphyr-parser` finds lines when there is a problem
//! to show. To replace either, change this module alone.

mod annotate;
mod declare;
mod keys;
mod kind;
mod locate;
mod moment;
mod node;
mod path;
mod shape;
mod syntax;
mod tree;
mod unknown;
mod weigh;

use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};

use serde_yaml::Value;
use sha2::{Digest, Sha256};

pub(crate) use annotate::annotated;
pub(crate) use declare::{
    At, Declared, Kind, Later, Plain, bounded, count, custom, list, list_of, plain_key, some_of, text,
};
pub(crate) use keys::{about, keys, words};
pub use kind::FileKind;
pub use moment::{BadMoment, WrittenTime, clock, date, day, moment, offset_in, written};
pub use node::{Complaint, Fields, Form, Node, Origin};
use path::Step;
pub use path::ValuePath;
pub(crate) use shape::{Group, Key, Line, Presence, Shape, schema_of_texts};
pub use tree::{Tree, TreeValue, Written};
pub(crate) use unknown::{alike, nearest, suggestion};

use crate::diagnostic::{Diagnostic, Diagnostics, Place, Spot};
use crate::input::{self, InputError};
use locate::Index;
use weigh::{LONGEST_KEY, MOST_VALUES, TooMuch, weigh};

/// The largest file read, in bytes. A job of a thousand areas is a tenth of this.
pub const LARGEST_FILE: u64 = 4 << 20;

/// More brackets open at once than any job means; deeper text is refused before it is parsed.
const DEEPEST_BRACKETS: usize = 200;

const TOO_DEEP: &str = "the brackets are nested too deep to be a job";

/// What to do about brackets that are open.
const SHALLOWER: &str = "look for brackets that are opened and not closed: a job has about six levels";

#[derive(Debug)]
pub struct Source {
    file: PathBuf,
    text: String,
    root: Value,
    index: OnceLock<Index>,
    lines: OnceLock<Vec<usize>>,
    /// Where the values were really written, if that is elsewhere.
    tree: Option<Tree>,
    /// SHA-256 of what was read, where that is not `text`.
    digest: Option<[u8; 32]>,
}

impl Source {
    /// Reads a file. Every way this can fail is added to `report`.
    pub fn read(file: &Path, report: &mut Diagnostics) -> Option<Arc<Source>> {
        let source = read_bounded(file).and_then(|bytes| decode(file, bytes)).and_then(|text| parse(file, text));
        source.map_or_else(|problem| report.fail(*problem), |source| Some(Arc::new(source)))
    }

    /// Reads text as though it stood in `file`.
    pub fn from_text(file: &Path, text: String, report: &mut Diagnostics) -> Option<Arc<Source>> {
        parse(file, text).map_or_else(|problem| report.fail(*problem), |source| Some(Arc::new(source)))
    }

    /// Reads a tree as though `file` held it, written as `text`. Problems are shown where its values were written.
    pub fn from_tree(file: &Path, tree: Tree, text: String, report: &mut Diagnostics) -> Option<Arc<Source>> {
        if too_deep(&text) {
            let problem = refuse(file, "yaml-too-deep", TOO_DEEP, SHALLOWER);
            return report.fail(match tree.place(&ValuePath::root()) {
                Some(place) => problem.at(place),
                None => *problem,
            });
        }
        let root = tree.to_value();
        Some(Arc::new(Source { tree: Some(tree), ..Source::new(file, text, root) }))
    }

    /// What a table holds, as though `file` were written with keys; `digest` is the SHA-256 of the table.
    pub fn of_table(file: &Path, tree: Tree, digest: [u8; 32]) -> Arc<Source> {
        let root = tree.to_value();
        Arc::new(Source { tree: Some(tree), digest: Some(digest), ..Source::new(file, String::new(), root) })
    }

    fn new(file: &Path, text: String, root: Value) -> Source {
        let (index, lines) = (OnceLock::new(), OnceLock::new());
        Source { file: file.to_owned(), text, root, index, lines, tree: None, digest: None }
    }

    /// The file's name as it was given.
    pub fn file(&self) -> &Path {
        &self.file
    }

    /// SHA-256 of the text, or the table, as it was read: what was worked with, whatever has become of the file since.
    pub fn digest(&self) -> [u8; 32] {
        self.digest.unwrap_or_else(|| Sha256::digest(&self.text).into())
    }

    /// A path named inside this file, resolved from the folder it lies in. A file cannot name standard input.
    pub fn beside(&self, name: &str) -> PathBuf {
        let path = self.file.parent().unwrap_or(Path::new("")).join(name);
        if path == Path::new(input::STDIN) { Path::new(".").join(path) } else { path }
    }

    pub fn root<'a>(self: &'a Arc<Self>) -> Node<'a> {
        Node::new(self, &self.root, ValuePath::root())
    }

    /// Every text in the file with its path, keys included: for checks that look at all of it.
    pub fn each_text(self: &Arc<Self>, mut visit: impl FnMut(&str, &ValuePath)) {
        fn walk(value: &Value, path: &ValuePath, visit: &mut impl FnMut(&str, &ValuePath)) {
            match value {
                Value::String(text) => visit(text, path),
                Value::Sequence(items) => {
                    for (i, item) in items.iter().enumerate() {
                        walk(item, &path.index(i), visit);
                    }
                }
                Value::Mapping(map) => {
                    for (key, item) in map {
                        if let Value::String(key) = key {
                            let inner = path.key(key);
                            visit(key, &inner);
                            walk(item, &inner, visit);
                        }
                    }
                }
                Value::Tagged(tagged) => walk(&tagged.value, path, visit),
                Value::Null | Value::Bool(_) | Value::Number(_) => {}
            }
        }
        walk(&self.root, &ValuePath::root(), &mut visit);
    }

    /// Every value that is no group of keys, with its path, also as text. `None` where it is not text.
    pub fn flat(&self) -> Vec<(ValuePath, String, Option<&str>)> {
        fn walk<'v>(value: &'v Value, path: ValuePath, out: &mut Vec<(ValuePath, String, Option<&'v str>)>) {
            match value {
                Value::Mapping(map) => {
                    map.iter().for_each(|(key, inner)| walk(inner, path.key(&node::key_text(key)), out));
                }
                other => out.push((path.clone(), path.to_string(), other.as_str())),
            }
        }
        let mut out = Vec::new();
        walk(&self.root, ValuePath::root(), &mut out);
        out
    }

    /// Whether the file has a value under these keys, readable or not.
    pub fn holds(&self, keys: &[&str]) -> bool {
        keys.iter().try_fold(&self.root, |value, key| value.get(*key)).is_some()
    }

    /// The value at a path, tags passed over.
    fn value_at(&self, path: &ValuePath) -> Option<&Value> {
        path.steps().iter().try_fold(node::untagged(&self.root), |value, step| {
            let inner = match step {
                Step::Key(key) => value.get(key.as_str()),
                Step::Index(index) => value.get(*index),
            };
            inner.map(node::untagged)
        })
    }

    /// The place of a value: path, line and column.
    pub fn place(&self, path: &ValuePath) -> Place {
        if let Some(place) = self.tree.as_ref().and_then(|tree| tree.place(path)) {
            return place;
        }
        let spot = self.index().spot(path).map(|(line, column)| self.spot(line, column));
        Place { file: self.file.display().to_string(), path: path.to_string(), spot }
    }

    /// The place of the key under which a value stands; of a tree only the value's own is known.
    fn key_place(&self, path: &ValuePath) -> Place {
        if self.tree.is_some() {
            return self.place(path);
        }
        let spot = self.index().key_spot(path).map(|(line, column)| self.spot(line, column));
        Place { spot, ..self.place(path) }
    }

    /// Whether its values were written elsewhere.
    fn is_tree(&self) -> bool {
        self.tree.is_some()
    }

    /// A scalar exactly as it is written, where it can be found.
    fn as_written(&self, path: &ValuePath) -> Option<&str> {
        match &self.tree {
            Some(tree) => tree.at(path)?.word(),
            None => self.index().scalar(path),
        }
    }

    fn index(&self) -> &Index {
        self.index.get_or_init(|| Index::of(&self.text))
    }

    fn spot(&self, line: usize, column: usize) -> Spot {
        // found once: a file may have a problem in every line
        let lines = self.lines.get_or_init(|| {
            let ends = self.text.bytes().enumerate().filter(|(_, b)| *b == b'\n');
            std::iter::once(0).chain(ends.map(|(at, _)| at + 1)).collect()
        });
        let begins = lines.get(line.saturating_sub(1)).copied();
        let rest = begins.and_then(|at| self.text.get(at..)).unwrap_or_default();
        spot_in(rest, 1, column).on_line(line)
    }
}

type Problem = Box<Diagnostic>;

fn whole_file(file: &Path) -> Place {
    Place { file: file.display().to_string(), path: String::new(), spot: None }
}

fn refuse(file: &Path, code: &'static str, message: impl Into<String>, hint: &str) -> Problem {
    let problem = Diagnostic::error(code, message).at(whole_file(file));
    Box::new(if hint.is_empty() { problem } else { problem.hint(hint) })
}

fn read_bounded(file: &Path) -> Result<Vec<u8>, Problem> {
    let cannot = |e: InputError| {
        let windows = cfg!(not(windows)) && file.to_string_lossy().contains('\\');
        let hint = match e {
            _ if windows => {
                "write `/` between folders in the place of `\\`; drives such as `C:` are known to Windows alone"
            }
            ref e if e.is_not_found() => "check the name, and the folder that it is looked for in",
            InputError::System(_) => "see who may read it, and that it is open in no other program",
            _ => "name a file that is stored on a disk",
        };
        refuse(file, "file-unreadable", format!("cannot read the file `{}`: {e}", file.display()), hint)
    };
    input::read(file, LARGEST_FILE).map_err(|e| match e {
        InputError::Folder => {
            let message = format!("`{}` is a folder, not a file", file.display());
            refuse(file, "file-is-folder", message, "name the YAML file inside it")
        }
        InputError::System(_) | InputError::NotOrdinary => cannot(e),
        InputError::TooLarge(_) => refuse(
            file,
            "file-too-large",
            format!("the file is larger than {} MiB", LARGEST_FILE >> 20),
            "split it: a job describes one visit to one site",
        ),
    })
}

fn decode(file: &Path, bytes: Vec<u8>) -> Result<String, Problem> {
    String::from_utf8(bytes).map_err(|e| {
        let good = &e.as_bytes()[..e.utf8_error().valid_up_to()];
        let line = good.iter().filter(|b| **b == b'\n').count() + 1;
        let byte = e.as_bytes()[good.len()];
        let message = format!("line {line} is not UTF-8 text (byte 0x{byte:02X})");
        refuse(file, "file-not-utf8", message, "save the file as UTF-8")
    })
}

fn parse(file: &Path, text: String) -> Result<Source, Problem> {
    let text = text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text);
    if too_deep(&text) {
        return Err(refuse(file, "yaml-too-deep", TOO_DEEP, SHALLOWER));
    }
    weigh(&text).map_err(|beyond| too_much(file, beyond))?;
    let mut root: Value = serde_yaml::from_str(&text).map_err(|e| Box::new(syntax::problem(file, &text, &e)))?;
    root.apply_merge().map_err(|e| Box::new(syntax::problem(file, &text, &e)))?;
    if root.is_null() {
        return Err(refuse(file, "file-empty", "the file is empty", "see the README for a job file, line by line"));
    }
    Ok(Source::new(file, text, root))
}

fn too_much(file: &Path, beyond: TooMuch) -> Problem {
    let (code, message, hint) = match beyond {
        TooMuch::Values => (
            "yaml-too-much",
            format!(
                "the file comes to more than {MOST_VALUES} values, every copy that an alias (`*name`) makes included"
            ),
            "split it, or write out what is meant",
        ),
        TooMuch::Key => (
            "yaml-key-too-long",
            format!("the file has a key of more than {LONGEST_KEY} bytes"),
            "a quotation mark or colon that is missing may have made a key of what is a text",
        ),
        TooMuch::Paths => (
            "yaml-too-much",
            "the keys of this file are too long for how much stands under them".to_owned(),
            "shorten the keys",
        ),
    };
    refuse(file, code, message, hint)
}

/// A cheap look before parsing, since a parser may take its time over a hundred thousand open brackets.
fn too_deep(text: &str) -> bool {
    let mut depth = 0usize;
    text.bytes().any(|b| {
        match b {
            b'[' | b'{' => depth += 1,
            b']' | b'}' => depth = depth.saturating_sub(1),
            _ => {}
        }
        depth > DEEPEST_BRACKETS
    })
}

fn spot_in(text: &str, line: usize, column: usize) -> Spot {
    let found = text.lines().nth(line.saturating_sub(1)).unwrap_or("");
    Spot { line, column, text: found.chars().take(4_000).collect() }
}
