//! Cautions: what the crew must watch for, as values.

use std::collections::BTreeMap;

use serde::Serialize;

/// How much a caution weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// People can be hurt.
    Danger,
    /// The work can fail, or a rule be broken.
    Caution,
    /// Good to know.
    Note,
}

/// A caution. Its words stand in the language file under `cautions.CODE`, filled in from `facts`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Caution {
    /// How much it weighs.
    pub severity: Severity,
    /// Which treatment it is about, from 1; none for the whole job.
    pub treatment: Option<usize>,
    /// Its stable name.
    pub code: &'static str,
    /// What fills in its sentence, ready to print.
    pub facts: BTreeMap<&'static str, String>,
}

impl Caution {
    pub(super) fn new(severity: Severity, code: &'static str, treatment: Option<usize>) -> Self {
        Caution {
            severity,
            treatment,
            code,
            facts: BTreeMap::new(),
        }
    }

    pub(super) fn with(mut self, name: &'static str, fact: impl Into<String>) -> Self {
        self.facts.insert(name, fact.into());
        self
    }
}
