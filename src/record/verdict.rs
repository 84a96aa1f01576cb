//! One rule of conformity, judged: what was compared with what, and how it came out.

use jiff::civil::{Date, DateTime};
use serde::Serialize;

use crate::calc::Amount;
use crate::job::Reading;
use crate::plan::Passing;
use crate::quantity::{Time, Volume};

/// One rule, judged. Its JSON form is an item of a record's `verdicts`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Verdict {
    pub outcome: Outcome,
    #[serde(flatten)]
    pub rule: Rule,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    Holds,
    /// It could not be judged: what it is judged by is not known. The certificate says so.
    NotJudged,
    /// It did not hold, and the load was mixed again, so that nothing depends on it. A deviation all the same.
    Replaced,
    Deviates,
}

impl Verdict {
    pub(super) fn of(kept: bool, rule: Rule) -> Verdict {
        Verdict { outcome: if kept { Outcome::Holds } else { Outcome::Deviates }, rule }
    }

    /// Whether the rule does not hold. One that could not be judged does not count; the certificate says so.
    pub fn deviates(&self) -> bool {
        self.outcome == Outcome::Deviates
    }

    /// Whether it stands among the deviations.
    pub fn is_told(&self) -> bool {
        matches!(self.outcome, Outcome::Deviates | Outcome::Replaced)
    }
}

/// So many minutes early or late are no deviation. No published rule; half an hour, chosen because a re-entry time that was given
/// out for the visit is no longer right after it.
pub(super) const MARGIN: i64 = 30;

/// A rule that the work is compared with. Treatments and loads are numbered from 1.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "rule")]
pub enum Rule {
    /// The visit began when it was planned to, within [`MARGIN`]; `minutes` early or late, rounded up.
    Began { planned: DateTime, began: DateTime, minutes: i64 },
    /// An area was treated at all.
    Done { treatment: usize, area: String, skipped: Option<String> },
    /// A load was mixed at all.
    Mixed { treatment: usize, load: usize, skipped: Option<String> },
    /// As much solution was mixed as the areas that were treated need.
    Solution {
        treatment: usize,
        /// What was mixed, by the log's amounts; of a load whose amounts it lacks, the plan's.
        mixed: Volume,
        /// What the areas need, with what stays in the hoses and without any reserve.
        needed: Volume,
    },
    /// A load's strength is right by what was read. See [`crate::calc::strip`].
    Reading {
        treatment: usize,
        load: usize,
        /// `None` where nothing was read, and no strip is given.
        read: Option<Reading>,
        band: Option<Passing>,
        result: Band,
    },
    /// A load is not below the label's dilution, nor above it by more than the measure's error, by the amounts really used;
    /// `wanted` is the product that so much water takes by the label.
    Dose { treatment: usize, load: usize, water: Volume, product: Amount, wanted: Amount },
    /// A spot that was watched was seen wet for the label's contact time; none where none of the area was watched.
    Contact { treatment: usize, area: String, spot: Option<String>, kept: Option<Time>, wanted: Time },
    /// The patch of an area that was wetted last was seen wet for the label's contact time. That says nothing of any other patch.
    LastPatch { treatment: usize, area: String, wet_until: DateTime, kept: Time, wanted: Time },
    /// An area was wetted again as often as the plan asks for.
    Rewets { treatment: usize, area: String, done: u32, wanted: u32 },
    /// An area was rinsed where a rinse is due, and not before the contact time was over; `rinsed` is `None` if the log says
    /// that it was not.
    Rinse { treatment: usize, area: String, rinsed: Option<DateTime>, not_before: Option<DateTime> },
    /// A lot was in date: of the strip, else of the concentrate. `last_day` is known where the company file lists the lot.
    Lot { treatment: usize, lot: String, strip: bool, used: Date, last_day: Option<Date> },
    /// Somebody who applied is licensed.
    Licence { name: String, licence: Option<String> },
}

macro_rules! names {
    ($($rule:ident $name:literal),* $(,)?) => {
        impl Rule {
            /// The rules' names, in the order in which a certificate has them.
            pub const NAMES: [&'static str; 12] = [$($name),*];

            /// Its name, as the record has it and language files know it by.
            pub fn name(&self) -> &'static str {
                match self {
                    $(Rule::$rule { .. } => $name,)*
                }
            }
        }
    };
}

names! {
    Began "began",
    Done "done",
    Mixed "mixed",
    Solution "solution",
    Reading "reading",
    Dose "dose",
    Contact "contact",
    LastPatch "last-patch",
    Rewets "rewets",
    Rinse "rinse",
    Lot "lot",
    Licence "licence",
}

/// How a reading compares with its band.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Band {
    Passes,
    Below,
    Above,
    /// The strip cannot show this dose.
    CannotTell,
    /// Nothing was read, or no band is known.
    Unknown,
}
