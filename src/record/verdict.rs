//! One rule, judged: what was held against what, and how it came out.

use jiff::civil::{Date, DateTime};
use serde::Serialize;

use crate::calc::Amount;
use crate::job::Reading;
use crate::quantity::{Strength, Time, Volume};

/// One rule, judged. Its JSON form is an item of a record's `verdicts`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Verdict {
    /// How it came out.
    pub outcome: Outcome,
    /// Which rule, with the figures it was judged by.
    #[serde(flatten)]
    pub rule: Rule,
}

/// How a rule came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// It holds.
    Holds,
    /// It could not be judged: what it is judged by is not known. The certificate says so.
    NotJudged,
    /// It did not hold, and the load was mixed afresh, so that nothing depends on it. A deviation all the same.
    Replaced,
    /// It does not hold.
    Deviates,
}

/// A rule that the work is compared with.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "rule")]
pub enum Rule {
    /// The visit began when it was planned to, within [`MARGIN`].
    Began {
        /// When it was to begin.
        planned: DateTime,
        /// The first moment of the log.
        began: DateTime,
        /// By how many minutes it was early or late, rounded up.
        minutes: i64,
    },
    /// An area was treated at all.
    Done {
        /// Which treatment, from 1.
        treatment: usize,
        /// Which area.
        area: String,
        /// Why it was not.
        skipped: Option<String>,
    },
    /// A load was mixed at all.
    Mixed {
        /// Which treatment, from 1.
        treatment: usize,
        /// Which load, from 1.
        load: usize,
        /// Why it was not.
        skipped: Option<String>,
    },
    /// As much solution was mixed as the areas that were treated need.
    Solution {
        /// Which treatment, from 1.
        treatment: usize,
        /// What was mixed, by the log's amounts; of a load whose amounts it lacks, the plan's.
        mixed: Volume,
        /// What the areas need, with what stays in the hoses and without any reserve.
        needed: Volume,
    },
    /// A load's strength is right by what was read. See [`crate::calc::strip`].
    Reading {
        /// Which treatment, from 1.
        treatment: usize,
        /// Which load, from 1.
        load: usize,
        /// What was read; `None` where nothing was, and no strip is given.
        read: Option<Reading>,
        /// The readings that pass.
        band: Option<Passing>,
        /// How it compares.
        result: Band,
    },
    /// A load is not below the label's dilution, nor above it by more than the measure's error, by the amounts really used.
    Dose {
        /// Which treatment, from 1.
        treatment: usize,
        /// Which load, from 1.
        load: usize,
        /// Water used.
        water: Volume,
        /// Product used.
        product: Amount,
        /// Product that so much water takes by the label.
        wanted: Amount,
    },
    /// A spot that was watched was seen wet for the label's contact time.
    Contact {
        /// Which treatment, from 1.
        treatment: usize,
        /// Which area.
        area: String,
        /// Which spot; `None` where none of the area was watched.
        spot: Option<String>,
        /// How long it was seen wet.
        kept: Option<Time>,
        /// How long the label directs.
        wanted: Time,
    },
    /// The patch of an area that was wetted last was seen wet for the label's contact time. That says nothing of any other patch.
    LastPatch {
        /// Which treatment, from 1.
        treatment: usize,
        /// Which area.
        area: String,
        /// Until when it was seen wet.
        wet_until: DateTime,
        /// How long that is after it was wetted.
        kept: Time,
        /// How long the label directs.
        wanted: Time,
    },
    /// An area was wetted again as often as the plan asks for.
    Rewets {
        /// Which treatment, from 1.
        treatment: usize,
        /// Which area.
        area: String,
        /// How often it was.
        done: u32,
        /// How often the plan asks for.
        wanted: u32,
    },
    /// An area was rinsed where a rinse is due, and not before the contact time was over.
    Rinse {
        /// Which treatment, from 1.
        treatment: usize,
        /// Which area.
        area: String,
        /// When it was rinsed; `None` if the log says that it was not.
        rinsed: Option<DateTime>,
        /// The end of the contact time.
        not_before: Option<DateTime>,
    },
    /// A lot was in date.
    Lot {
        /// Which treatment, from 1.
        treatment: usize,
        /// Which lot.
        lot: String,
        /// Whether of the strip; else of the concentrate.
        strip: bool,
        /// The day it was used.
        used: Date,
        /// Its last day, where the company file lists it.
        last_day: Option<Date>,
    },
    /// Somebody who applied is licensed.
    Licence {
        /// Who.
        name: String,
        /// The licence.
        licence: Option<String>,
    },
}

/// So many minutes early or late are no deviation. No published rule; half an hour, chosen because a re-entry time that was given
/// out for the visit is no longer right after it.
pub const MARGIN: i64 = 30;

impl Rule {
    /// The rules' names, in the order a certificate tells them.
    pub const NAMES: [&'static str; 12] = [
        "began",
        "done",
        "mixed",
        "solution",
        "reading",
        "dose",
        "contact",
        "last-patch",
        "rewets",
        "rinse",
        "lot",
        "licence",
    ];

    /// Its name, as the record has it and language files know it by.
    pub fn name(&self) -> &'static str {
        match self {
            Rule::Began { .. } => "began",
            Rule::Done { .. } => "done",
            Rule::Mixed { .. } => "mixed",
            Rule::Solution { .. } => "solution",
            Rule::Reading { .. } => "reading",
            Rule::Dose { .. } => "dose",
            Rule::Contact { .. } => "contact",
            Rule::LastPatch { .. } => "last-patch",
            Rule::Rewets { .. } => "rewets",
            Rule::Rinse { .. } => "rinse",
            Rule::Lot { .. } => "lot",
            Rule::Licence { .. } => "licence",
        }
    }
}

/// The readings that pass.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Passing {
    /// The lower edge.
    pub low: Strength,
    /// Whether a reading on the lower edge passes.
    pub low_passes: bool,
    /// The upper edge.
    pub high: Strength,
    /// Whether a reading on the upper edge passes.
    pub high_passes: bool,
}

/// How a reading compares with its band.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Band {
    /// Inside it.
    Passes,
    /// Too weak, or so that the mix may be.
    Below,
    /// Too strong.
    Above,
    /// The strip cannot show this dose.
    CannotTell,
    /// Nothing was read, or no band is known.
    Unknown,
}

impl Verdict {
    /// Whether the rule does not hold. One that could not be judged is not held against anybody; the certificate says so.
    pub fn deviates(&self) -> bool {
        self.outcome == Outcome::Deviates
    }

    /// Whether it is told among the deviations.
    pub fn is_told(&self) -> bool {
        matches!(self.outcome, Outcome::Deviates | Outcome::Replaced)
    }
}
