//! When people may come back; and what a place still needs of a first treatment when the crew come back for a second. Air is
//! `shared_air`'s.
//!
//! No published rule gives a re-entry time for disinfectants in general: it is the label's. A mist whose label gives none clears
//! with the air, where its changes are known. Where they are not, the concentration is unknown, which 29 CFR 1910.134(d)(1)(iii)
//! counts as immediately dangerous: no time is printed then, of the treatment or of the site.
//!
//! Treatments follow one another on the clock as the job lists them. Where the second begins in an area before the first
//! has kept it wet long enough, the first fails; where it begins in a room before the label lets people come back to
//! what was treated there, the crew are those people. An area is in the room that the job names, else in one of its own.

use std::collections::BTreeMap;

use jiff::civil::DateTime;
use serde::{Serialize, Serializer};

use super::clock::after;
use super::{AirPlan, AreaPlan, Caution, Fact, TreatmentPlan};
use crate::quantity::Time;

/// When people may come back. Not known is later than any moment, so that the later of two is their `max`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reentry {
    At(DateTime),
    /// Somebody asks the product's maker, or measures the air, before anyone returns.
    NotKnown,
}

impl Reentry {
    /// `moment`, or not known after a mist of which neither the label's interval nor its clearing is known.
    pub(super) fn at(moment: DateTime, airborne: bool, label: Option<&Time>, air: Option<&AirPlan>) -> Reentry {
        if airborne && label.is_none() && air.is_none() { Reentry::NotKnown } else { Reentry::At(moment) }
    }

    /// This, and never before `moment`.
    pub fn not_before(self, moment: DateTime) -> Reentry {
        self.max(Reentry::At(moment))
    }
}

/// What lets people in once the time of a plan is over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Release {
    /// The time itself.
    Time,
    /// The surfaces are dry, as the label says.
    Dry,
    /// The label, of which the company file holds nothing: the time lets nobody in.
    Label,
    /// Both: that label, and the dry surfaces of another.
    LabelAndDry,
}

impl Release {
    /// Of several treatments.
    pub fn of<'t>(treatments: impl IntoIterator<Item = &'t TreatmentPlan>) -> Release {
        let (mut dry, mut label) = (false, false);
        for treatment in treatments {
            let directions = &treatment.directions;
            dry |= directions.reentry_when_dry;
            label |= directions.reentry.is_none() && !directions.reentry_when_dry;
        }
        match (label, dry) {
            (false, false) => Release::Time,
            (false, true) => Release::Dry,
            (true, false) => Release::Label,
            (true, true) => Release::LabelAndDry,
        }
    }
}

/// A moment as ever, or `not-known`.
impl Serialize for Reentry {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Reentry::At(moment) => moment.serialize(serializer),
            Reentry::NotKnown => serializer.serialize_str("not-known"),
        }
    }
}

impl TreatmentPlan {
    /// When people may come back to a surface of it that was wetted last at `done`: never before the contact time is
    /// over, nor before the label's interval, nor before a mist has cleared.
    pub fn reentry_after(&self, done: DateTime) -> Reentry {
        let label = self.directions.reentry.as_ref();
        let contact = after(done, Some(&self.directions.contact_time));
        let cleared = after(done, self.air.as_ref().map(|air| &air.takes));
        let moment = contact.max(after(done, label)).max(cleared);
        Reentry::at(moment, self.sprayer.airborne().is_some(), label, self.air.as_ref())
    }
}

/// Cautions for every area that a later treatment comes back to, and for every room.
pub(super) fn back_for_another(treatments: &[TreatmentPlan]) -> Vec<Caution> {
    let mut cautions = Vec::new();
    // What was treated so far, and by which treatments: until when each area must stay wet, and each room be left.
    let mut wet: BTreeMap<&str, Vec<(usize, DateTime)>> = BTreeMap::new();
    let mut left: BTreeMap<&str, Vec<(usize, DateTime)>> = BTreeMap::new();
    for (later, second) in treatments.iter().enumerate() {
        let mut entered: BTreeMap<&str, &AreaPlan> = BTreeMap::new();
        let mut done: BTreeMap<&str, DateTime> = BTreeMap::new();
        for area in &second.areas {
            for (first, until) in wet.get(area.name.as_str()).into_iter().flatten() {
                if area.times.start < *until {
                    let first = &treatments[*first];
                    cautions.push(about("contact-cut-short", first, second, area, *until));
                }
            }
            let entry = entered.entry(area.room()).or_insert(area);
            if area.times.start < entry.times.start {
                *entry = area;
            }
            let last = done.entry(area.room()).or_insert(area.times.done);
            *last = (*last).max(area.times.done);
        }
        for (room, area) in entered {
            for (first, until) in left.get(room).into_iter().flatten() {
                if area.times.start < *until {
                    let first = &treatments[*first];
                    cautions.push(about("back-too-soon", first, second, area, *until));
                }
                // no clock says when it is dry, so the plan never knows that the crew come late enough
                if treatments[*first].directions.reentry_when_dry {
                    cautions.push(about("back-before-dry", &treatments[*first], second, area, *until));
                }
            }
        }
        for area in &second.areas {
            wet.entry(&area.name).or_default().push((later, area.times.wet_until));
        }
        for (room, done) in done {
            let until = after(done, second.directions.reentry.as_ref());
            // what must be wet is not dry
            let until = if second.directions.reentry_when_dry { until.max(second.wet_until) } else { until };
            left.entry(room).or_default().push((later, until));
        }
    }
    cautions
}

fn about(
    code: &'static str,
    first: &TreatmentPlan,
    second: &TreatmentPlan,
    area: &AreaPlan,
    until: DateTime,
) -> Caution {
    Caution::new(code, Some(second.number))
        .with("area", Fact::text(&area.name))
        .with("one", Fact::text(&first.product.name))
        .with("other", Fact::text(&second.product.name))
        .with("at", Fact::Moment(area.times.start))
        .with("until", Fact::Moment(until))
}
