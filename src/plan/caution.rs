//! Cautions: what the crew or the office must watch for, as values. Their words stand in the language files: the sentence
//! under `cautions.CODE`, filled in from the facts, and what is behind it under `explanations.CODE`.

use std::collections::BTreeMap;

use serde::Serialize;

use super::Fact;

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
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// On the mix sheet too: the crew can act on it.
    Sheet,
    /// To the office alone: what it asks for is done before anybody leaves.
    Office,
}

/// A kind of caution.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Kind {
    /// Its stable name.
    pub code: &'static str,
    /// How much it weighs.
    pub severity: Severity,
    /// Where it is shown.
    pub shown: Shown,
    /// Where it is from.
    pub source: &'static str,
}

const fn kind(code: &'static str, severity: Severity, shown: Shown, source: &'static str) -> Kind {
    Kind {
        code,
        severity,
        shown,
        source,
    }
}

const LABEL: &str = "the product's label";
const SDS: &str = "the product's safety data sheet";
const FOOD_CODE: &str = "FDA Food Code 4-501.114 and 4-703.11(C); local codes come first";
const TOLERANCES: &str = "40 CFR 180.940";
const TABLE: &str = "the table of what must never meet; each row names its source";
const OWN: &str = "arithmetic of this plan";
const ESTIMATE: &str = "an estimate: Carrier's equation as ASHRAE prints it, and 25 + 19 v; the shorter time";
const CDC: &str = "CDC, Guidelines for Environmental Infection Control, 2003, Table B.1; MMWR 43(RR-13), 1994";
const STORE: &str = "lots in the company file";

/// Every kind, in the order in which they are listed.
pub const KINDS: &[Kind] = &[
    kind("never-with", Severity::Danger, Shown::Sheet, LABEL),
    kind("never-meet", Severity::Danger, Shown::Sheet, TABLE),
    kind("never-meet-area", Severity::Danger, Shown::Sheet, TABLE),
    kind("rinse-tank", Severity::Danger, Shown::Sheet, TABLE),
    kind("loses-effect", Severity::Caution, Shown::Sheet, TABLE),
    kind("back-in-mist", Severity::Danger, Shown::Sheet, CDC),
    kind(
        "back-too-soon",
        Severity::Danger,
        Shown::Sheet,
        "the first product's label, and for a mist CDC, Guidelines for Environmental Infection Control, 2003, Table B.1",
    ),
    kind("contact-cut-short", Severity::Caution, Shown::Sheet, LABEL),
    kind(
        "respirator",
        Severity::Danger,
        Shown::Sheet,
        "29 CFR 1910.134, and the product's safety data sheet",
    ),
    kind(
        "rinse",
        Severity::Danger,
        Shown::Sheet,
        "the product's label, and 40 CFR 180.940",
    ),
    kind("residue-over", Severity::Danger, Shown::Office, TOLERANCES),
    kind("residue-not-listed", Severity::Danger, Shown::Office, TOLERANCES),
    kind("food-code-weak", Severity::Caution, Shown::Sheet, FOOD_CODE),
    kind("food-code-strong", Severity::Caution, Shown::Sheet, FOOD_CODE),
    kind("food-code-cold", Severity::Caution, Shown::Sheet, FOOD_CODE),
    kind("food-code-ph", Severity::Caution, Shown::Sheet, FOOD_CODE),
    kind("food-code-hard", Severity::Caution, Shown::Sheet, FOOD_CODE),
    kind("food-code-short", Severity::Caution, Shown::Sheet, FOOD_CODE),
    kind("food-code-not-given", Severity::Note, Shown::Office, FOOD_CODE),
    kind("strength-differs", Severity::Caution, Shown::Office, OWN),
    kind("strip-missing", Severity::Caution, Shown::Sheet, OWN),
    kind("strip-off-scale", Severity::Caution, Shown::Sheet, OWN),
    kind(
        "strip-cannot-show",
        Severity::Caution,
        Shown::Sheet,
        "no published rule; chosen because it protects",
    ),
    kind("rewet", Severity::Caution, Shown::Sheet, ESTIMATE),
    kind(
        "rewet-wiped",
        Severity::Caution,
        Shown::Sheet,
        "Rutala, disinfectionandsterilization.org, FAQ: wiped on, water-based disinfectants dry in 1.5 to 2 minutes",
    ),
    kind("section", Severity::Caution, Shown::Sheet, OWN),
    kind("stays-wet", Severity::Note, Shown::Office, ESTIMATE),
    kind(
        "alcohol-dries",
        Severity::Caution,
        Shown::Sheet,
        "no published figure; the side that protects",
    ),
    kind("no-drying-estimate", Severity::Note, Shown::Office, ESTIMATE),
    kind("pace-too-fast", Severity::Caution, Shown::Sheet, OWN),
    kind("no-coverage", Severity::Note, Shown::Sheet, OWN),
    kind("reentry-unknown", Severity::Caution, Shown::Sheet, LABEL),
    kind("air-clearing", Severity::Caution, Shown::Sheet, CDC),
    kind("air-mixing-assumed", Severity::Caution, Shown::Office, CDC),
    kind("air-unknown", Severity::Caution, Shown::Sheet, CDC),
    kind(
        "settling",
        Severity::Note,
        Shown::Office,
        "Stokes' law with Cunningham's and Schiller and Naumann's corrections",
    ),
    kind("slip", Severity::Caution, Shown::Sheet, OWN),
    kind("floor-dry", Severity::Caution, Shown::Sheet, ESTIMATE),
    kind("concentrate-hazards", Severity::Note, Shown::Office, SDS),
    kind(
        "computed-hazards",
        Severity::Note,
        Shown::Office,
        "mixture rules of 29 CFR 1910.1200 or Regulation (EC) 1272/2008",
    ),
    kind(
        "computed-worse",
        Severity::Caution,
        Shown::Office,
        "mixture rules of 29 CFR 1910.1200 or Regulation (EC) 1272/2008",
    ),
    kind(
        "computed-incomplete",
        Severity::Note,
        Shown::Office,
        "mixture rules of 29 CFR 1910.1200 or Regulation (EC) 1272/2008",
    ),
    kind("lot-expired", Severity::Caution, Shown::Sheet, STORE),
    kind("strip-lot-expired", Severity::Caution, Shown::Sheet, STORE),
];

/// A caution.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Caution {
    /// How much it weighs.
    pub severity: Severity,
    /// Which treatment it is about, from 1; none for the whole job.
    pub treatment: Option<usize>,
    /// Its stable name.
    pub code: &'static str,
    /// What fills in its sentence.
    pub facts: BTreeMap<&'static str, Fact>,
}

impl Caution {
    /// A caution of this kind. A code that is not in [`KINDS`] would be a slip of ours and weighs most.
    pub(super) fn new(code: &'static str, treatment: Option<usize>) -> Self {
        Caution {
            severity: find(code).map_or(Severity::Danger, |kind| kind.severity),
            treatment,
            code,
            facts: BTreeMap::new(),
        }
    }

    pub(super) fn with(mut self, name: &'static str, fact: Fact) -> Self {
        self.facts.insert(name, fact);
        self
    }

    /// Whether the crew reads it on the mix sheet.
    pub fn is_on_sheet(&self) -> bool {
        find(self.code).is_none_or(|kind| kind.shown == Shown::Sheet)
    }
}

/// The kind with this code.
pub fn find(code: &str) -> Option<&'static Kind> {
    KINDS.iter().find(|kind| kind.code == code)
}
