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
    Kind { code, severity, shown, source }
}

const LABEL: &str = "the product's label";
const SDS: &str = "the product's safety data sheet";
const FOOD_CODE: &str = "FDA Food Code 4-501.114 and 4-703.11(C); local codes come first";
const TOLERANCES: &str = "40 CFR 180.940";
const TABLE: &str = "the table of what must never meet; each row names its source";
const OWN: &str = "arithmetic of this plan";
const ESTIMATE: &str = "an estimate: Carrier's equation as ASHRAE prints it, and 25 + 19 v; the shorter time";
const CDC: &str = "CDC, Guidelines for Environmental Infection Control, 2003, Table B.1; MMWR 43(RR-13), 1994";
const CHLORINE: &str = "100 × active chlorine atoms × 70.90 / molar mass, of the pure compound";
const SHARED_AIR: &str = "29 CFR 1910.134; CDC, Guidelines for Environmental Infection Control, 2003, Table B.1; how rooms share air: no \
                          published rule, chosen because it protects";
const ELECTROSTATIC: &str = "EPA's conditions for electrostatic spraying, as a focus sheet on them quotes them";
const STORE: &str = "lots in the company file";

/// Every kind, in the order in which they are listed.
pub const KINDS: &[Kind] = &[
    kind("never-with", Severity::Danger, Shown::Sheet, LABEL),
    kind("never-with-unknown", Severity::Caution, Shown::Sheet, LABEL),
    kind("never-meet", Severity::Danger, Shown::Sheet, TABLE),
    kind("never-meet-area", Severity::Danger, Shown::Sheet, TABLE),
    kind(
        "rinse-tank",
        Severity::Danger,
        Shown::Sheet,
        "Clemson Extension, Home and Garden Information Center, on cleaning sprayers, 2024; 40 CFR 264.177(b) as a yardstick",
    ),
    kind("loses-effect", Severity::Caution, Shown::Sheet, TABLE),
    kind(
        "flammable",
        Severity::Danger,
        Shown::Sheet,
        "29 CFR 1910.106(a)(19) and (e)(6)(i), 1910.125: written for stores and dip tanks, used as a yardstick",
    ),
    kind(
        "flammable-mist",
        Severity::Danger,
        Shown::Sheet,
        "Health and Safety Executive, RR980: a mist burns below its liquid's flash point",
    ),
    kind(
        "flammable-air",
        Severity::Danger,
        Shown::Sheet,
        "29 CFR 1910.123(d) and 1910.124(b)(1), a quarter of the lower flammable limit, as a yardstick; NIOSH Pocket Guide",
    ),
    kind("back-in-mist", Severity::Danger, Shown::Sheet, SHARED_AIR),
    kind("works-in-mist", Severity::Danger, Shown::Sheet, SHARED_AIR),
    kind("waits-for-air", Severity::Caution, Shown::Sheet, SHARED_AIR),
    kind("mist-waits", Severity::Note, Shown::Sheet, SHARED_AIR),
    kind("back-too-soon", Severity::Danger, Shown::Sheet, LABEL),
    kind("contact-cut-short", Severity::Caution, Shown::Sheet, LABEL),
    kind("respirator", Severity::Danger, Shown::Sheet, "29 CFR 1910.134, and the product's safety data sheet"),
    kind(
        "fine-droplets",
        Severity::Danger,
        Shown::Sheet,
        "inhalable fraction, ISO 7708 and EN 481; no published rule for sprayers, chosen because it protects",
    ),
    kind("electrostatic", Severity::Danger, Shown::Sheet, ELECTROSTATIC),
    kind("electrostatic-droplet-unknown", Severity::Caution, Shown::Office, ELECTROSTATIC),
    kind("rinse", Severity::Danger, Shown::Sheet, "the product's label, and 40 CFR 180.940"),
    kind("residue-over", Severity::Danger, Shown::Office, TOLERANCES),
    kind("residue-not-listed", Severity::Danger, Shown::Office, TOLERANCES),
    kind("food-code-weak", Severity::Caution, Shown::Sheet, FOOD_CODE),
    kind("food-code-strong", Severity::Caution, Shown::Sheet, FOOD_CODE),
    kind("food-code-cold", Severity::Caution, Shown::Sheet, FOOD_CODE),
    kind("food-code-ph", Severity::Caution, Shown::Sheet, FOOD_CODE),
    kind("food-code-hard", Severity::Caution, Shown::Sheet, FOOD_CODE),
    kind("food-code-short", Severity::Caution, Shown::Sheet, FOOD_CODE),
    kind("food-code-not-given", Severity::Note, Shown::Office, FOOD_CODE),
    kind(
        "dose-above-label",
        Severity::Caution,
        Shown::Sheet,
        "FIFRA 2(ee)(1), 7 U.S.C. 136(ee); the measure's own error is allowed for",
    ),
    kind("dose-under-label", Severity::Caution, Shown::Sheet, "40 CFR 180.940, and 7 U.S.C. 136(ee)(1)"),
    kind("left-over", Severity::Note, Shown::Sheet, OWN),
    kind("loads-kept-small", Severity::Note, Shown::Sheet, LABEL),
    kind("strength-differs", Severity::Caution, Shown::Office, OWN),
    kind("strip-missing", Severity::Caution, Shown::Sheet, OWN),
    kind("strip-off-scale", Severity::Caution, Shown::Sheet, OWN),
    kind("strip-cannot-show", Severity::Caution, Shown::Sheet, "no published rule; chosen because it protects"),
    kind("rewet", Severity::Caution, Shown::Sheet, ESTIMATE),
    kind(
        "rewet-wiped",
        Severity::Caution,
        Shown::Sheet,
        "Rutala, disinfectionandsterilization.org, FAQ: wiped on, water-based disinfectants dry in 1.5 to 2 minutes",
    ),
    kind("section", Severity::Caution, Shown::Sheet, OWN),
    kind("stays-wet", Severity::Note, Shown::Office, ESTIMATE),
    kind("alcohol-dries", Severity::Caution, Shown::Sheet, "no published figure; the side that protects"),
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
    kind("unknown-toxicity", Severity::Caution, Shown::Office, "29 CFR 1910.1200 App. A.1.3.6.2.3 and C.3.3"),
    kind(
        "signal-without-hazards",
        Severity::Caution,
        Shown::Office,
        "40 CFR 156.64, and the product's safety data sheet",
    ),
    kind("chlorine-high", Severity::Caution, Shown::Office, CHLORINE),
    kind("chlorine-low", Severity::Caution, Shown::Office, CHLORINE),
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
