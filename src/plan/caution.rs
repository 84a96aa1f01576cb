//! Cautions: what the crew or the office must watch for, as values. Their words stand in the language files: the sentence
//! under `cautions.CODE`, filled in from the facts, and what is behind it under `explanations.CODE`.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use jiff::civil::{Date, DateTime};
use serde::{Deserialize, Serialize};

use crate::calc::Amount;
use crate::quantity::{Area, Film, Length, Number, Share, Strength, Temperature, Time, Volume, built_in};

/// How much a caution weighs, the worst first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    Danger,
    Caution,
    Note,
}

impl Severity {
    /// As it stands in JSON and in the language files.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Danger => "danger",
            Severity::Caution => "caution",
            Severity::Note => "note",
        }
    }
}

/// Where a caution is shown. `decant plan` shows every one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Shown {
    /// On the mix sheet too: the crew can act on it.
    Sheet,
    /// To the office alone: what it asks for is done before anybody leaves.
    Office,
}

/// A kind of caution: a row of `cautions.csv`.
#[derive(Clone, Debug, Deserialize)]
pub struct Kind {
    pub code: String,
    pub severity: Severity,
    pub shown: Shown,
    pub source: String,
}

/// Every kind, in the order in which they are listed.
pub static KINDS: LazyLock<Vec<Kind>> = LazyLock::new(|| built_in(include_str!("cautions.csv")));

pub fn find(code: &str) -> Option<&'static Kind> {
    KINDS.iter().find(|kind| kind.code == code)
}

#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Caution {
    pub severity: Severity,
    /// Which treatment it is about, from 1; none for the whole job.
    pub treatment: Option<usize>,
    pub code: &'static str,
    pub facts: BTreeMap<&'static str, Fact>,
}

impl Caution {
    /// A caution of this kind. A code without a row would be an internal error and weighs most.
    pub(super) fn new(code: &'static str, treatment: Option<usize>) -> Self {
        let severity = find(code).map_or(Severity::Danger, |kind| kind.severity);
        Caution { severity, treatment, code, facts: BTreeMap::new() }
    }

    pub(super) fn with(mut self, name: &'static str, fact: Fact) -> Self {
        self.facts.insert(name, fact);
        self
    }

    /// Whether the crew reads it on the mix sheet.
    pub fn is_on_sheet(&self) -> bool {
        find(self.code).is_none_or(|kind| kind.shown == Shown::Sheet)
    }

    /// Whether a label of the product is to be looked at again because of it, whatever is done with what it stands on.
    pub fn concerns_labels(&self) -> bool {
        const ON_SHEETS: [&str; 4] =
            ["label-not-checked", "never-with-unknown", "dose-above-label", "dose-under-label"];
        ON_SHEETS.contains(&self.code) || self.severity != Severity::Note && !self.is_on_sheet()
    }
}

/// What fills in the sentence of a caution: a value, put into words and units when a document is made.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Fact {
    /// As the user or a standard words it.
    Text(String),
    /// A key of the language file.
    Word(String),
    List(Vec<Fact>),
    Count(Number),
    Volume(Volume),
    /// From mark to mark of a measure.
    Marks(Amount),
    Strength(Strength),
    Share(Share),
    Time(Time),
    Moment(DateTime),
    Day(Date),
    /// Solution on a surface, printed as a coverage.
    Coverage(Film),
    Solution(Volume),
    Area(Area),
    Length(Length),
    /// A droplet's diameter, or a film's thickness.
    Micrometres(Length),
    Temperature(Temperature),
}

impl Fact {
    pub fn text(text: impl Into<String>) -> Fact {
        Fact::Text(text.into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_read_and_no_code_stands_twice() {
        let codes: BTreeMap<&str, Severity> = KINDS.iter().map(|kind| (kind.code.as_str(), kind.severity)).collect();
        assert_eq!(codes.len(), KINDS.len());
    }
}
