//! Coming back to a place for a second treatment: what the first one still needs there. Air is `shared_air`'s.
//!
//! Treatments follow one another on the clock as the job lists them. Where the second begins in an area before the first
//! has kept it wet long enough, the first fails; where it begins in a room before the label lets people come back to
//! what was treated there, the crew are those people. An area is in the room that the job names, else in one of its own.

use std::collections::BTreeMap;

use jiff::civil::DateTime;

use super::clock::after;
use super::{AreaPlan, Caution, Fact, TreatmentPlan};

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
            }
        }
        for area in &second.areas {
            wet.entry(&area.name).or_default().push((later, area.times.wet_until));
        }
        for (room, done) in done {
            let until = after(done, second.directions.reentry.as_ref());
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
