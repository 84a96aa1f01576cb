//! What kind of file this is, by its keys, so that one that is named in the place of another is not read as a bad file of that
//! kind.

use std::fmt;

use super::Node;
use crate::diagnostic::Diagnostics;

/// A kind of file that people write.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileKind {
    Company,
    Job,
    Contract,
    Log,
    Language,
}

/// Keys that one kind of file alone has, and what to name in its place.
const KINDS: &[(FileKind, &[&str], &str)] = &[
    (FileKind::Job, &["job", "treatments"], "name the job file: the one with `job`, `visit` and `treatments`"),
    (FileKind::Contract, &["contract"], "name the contract: the file with `contract`, `sites` and `visits`"),
    (
        FileKind::Company,
        &["record_link", "products"],
        "name the company file: the one with `products`, `sprayers` and `stock`",
    ),
    (FileKind::Log, &["loads", "deviations"], "name the service log: the file with `loads` and `areas`"),
    (FileKind::Language, &["statements"], "name a language file: the one with `language` and the words of documents"),
];

impl FileKind {
    /// The kind of a file that has these keys at its top; `None` where they do not tell.
    pub fn of(has: impl Fn(&str) -> bool) -> Option<FileKind> {
        KINDS.iter().find(|(_, keys, _)| keys.iter().any(|key| has(key))).map(|(kind, ..)| *kind)
    }

    /// Whether a file may be of this kind; one that is of another is reported, and nothing else of it.
    pub(crate) fn fits(self, root: &Node<'_>, report: &mut Diagnostics) -> bool {
        let is_key = |key: &str| root.get(key).is_some();
        let Some(found) = FileKind::of(is_key).filter(|found| *found != self) else { return true };
        let row = |kind| KINDS.iter().find(|(of, ..)| *of == kind);
        let key = row(found).and_then(|(_, keys, _)| keys.iter().copied().find(|key| is_key(key)));
        let mut problem =
            root.key_error("wrong-file", format!("this is {found}; {self} is wanted"), key.unwrap_or_default());
        problem.hints.extend(row(self).map(|(.., hint)| (*hint).to_owned()));
        if (found, self) == (FileKind::Contract, FileKind::Job) {
            problem = problem.hint("the visits of a contract: `decant batch FILE -o DIR` makes their documents, `decant expand` their job files");
        }
        report.push(problem);
        false
    }
}

impl fmt::Display for FileKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            FileKind::Company => "a company file",
            FileKind::Job => "a job file",
            FileKind::Contract => "a contract",
            FileKind::Log => "a service log",
            FileKind::Language => "a language file",
        })
    }
}
