//! Coming back to an area for a second treatment: what the first one still needs there, and whether its air may be breathed.
//!
//! Treatments follow one another on the clock as the job lists them. Where the second begins in an area before the first
//! has kept it wet long enough, the first fails; where it begins before people may come back, the crew are those people.

use jiff::civil::DateTime;

use super::clock::after;
use super::{AreaPlan, Caution, Fact, TreatmentPlan};

/// Cautions for every area that a later treatment comes back to.
pub(super) fn returns(treatments: &[TreatmentPlan]) -> Vec<Caution> {
    let mut cautions = Vec::new();
    for (later, second) in treatments.iter().enumerate() {
        for first in &treatments[..later] {
            for area in &first.areas {
                if let Some(again) = second.areas.iter().find(|a| a.name == area.name) {
                    cautions.extend(return_to(area, first, second, again.times.start));
                }
            }
        }
    }
    cautions
}

fn return_to(area: &AreaPlan, first: &TreatmentPlan, second: &TreatmentPlan, at: DateTime) -> Vec<Caution> {
    let about = |code, until| {
        Caution::new(code, Some(second.number))
            .with("area", Fact::text(&area.name))
            .with("one", Fact::text(&first.product.name))
            .with("other", Fact::text(&second.product.name))
            .with("at", Fact::Moment(at))
            .with("until", Fact::Moment(until))
    };
    let mut cautions = Vec::new();
    if at < area.times.wet_until {
        cautions.push(about("contact-cut-short", area.times.wet_until));
    }
    // the mist of one area is not told from that of the next: it clears when the last of it was sprayed
    let airborne = first.sprayer.method.is_airborne() && !area.outdoors;
    let label = after(area.times.done, first.directions.reentry.as_ref());
    let until = match &first.air {
        Some(air) if airborne => label.max(air.clear_at),
        _ => label,
    };
    if airborne && first.air.is_none() {
        cautions.push(about("back-in-mist", until));
    } else if at < until {
        cautions.push(about("back-too-soon", until));
    }
    cautions
}
