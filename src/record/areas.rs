//! Areas: whether each was treated, kept wet, wetted again and rinsed as the plan and the label ask.

use jiff::civil::DateTime;

use super::conformity::{Conformity, Missing, entry_of, outcome};
use super::verdict::{Outcome, Rule, Verdict};
use crate::job::{Applied, AppliedArea};
use crate::plan::{AreaPlan, TreatmentPlan};
use crate::quantity::{Number, Time};

/// What the log says of an area, compared with the plan.
pub(super) fn judge_area(treatment: &TreatmentPlan, area: &AreaPlan, applied: &Applied, found: &mut Conformity) {
    let number = treatment.number;
    let lacks = |what| Missing { what, treatment: Some(number), area: Some(area.name.clone()), ..Missing::default() };
    let Some(entry) = entry_of(applied, number, &area.name) else {
        found.missing.push(lacks("area"));
        return;
    };
    found.verdicts.push(Verdict {
        outcome: outcome(entry.skipped.is_none()),
        rule: Rule::Done { treatment: number, area: area.name.clone(), skipped: entry.skipped.clone() },
    });
    if entry.skipped.is_some() {
        return;
    }
    for (value, what) in [(entry.started, "started"), (entry.finished, "finished"), (entry.wet_until, "wet_until")] {
        if value.is_none() {
            found.missing.push(lacks(what));
        }
    }
    let wanted = &treatment.directions.contact_time;
    judge_checks(treatment, area, entry, applied, found);
    if let Some((kept, wet_until)) = entry.kept_wet().zip(entry.wet_until) {
        found.verdicts.push(Verdict {
            outcome: outcome(kept >= *wanted),
            rule: Rule::LastPatch {
                treatment: number,
                area: area.name.clone(),
                wet_until,
                kept,
                wanted: wanted.clone(),
            },
        });
    }
    // the first application is the work itself; the others wet the film again
    let asked = treatment.wetness.as_ref().map_or(0, |w| w.applications.saturating_sub(1));
    match entry.rewets {
        None if asked > 0 => found.missing.push(lacks("rewets")),
        Some(done) if asked > 0 => found.verdicts.push(Verdict {
            outcome: outcome(done >= asked),
            rule: Rule::Rewets { treatment: number, area: area.name.clone(), done, wanted: asked },
        }),
        _ => {}
    }
    if treatment.rinse.is_some() {
        if entry.rinsed.is_none() && !entry.not_rinsed {
            found.missing.push(lacks("rinsed"));
        } else {
            let not_before = entry.finished.and_then(|finished| after(finished, wanted));
            let in_time = entry.rinsed.zip(not_before).is_some_and(|(at, least)| at >= least);
            found.verdicts.push(Verdict {
                outcome: outcome(in_time),
                rule: Rule::Rinse { treatment: number, area: area.name.clone(), rinsed: entry.rinsed, not_before },
            });
        }
    }
}

/// So long after a moment, carried up to the next second.
fn after(moment: DateTime, time: &Time) -> Option<DateTime> {
    let seconds = time.as_seconds().ceil_to(&Number::one()).to_i64()?;
    moment.checked_add(jiff::Span::new().try_seconds(seconds).ok()?).ok()
}

/// The contact time is judged by spots that somebody watched, and by nothing else. Where none of an area was, nobody knows.
fn judge_checks(
    treatment: &TreatmentPlan,
    area: &AreaPlan,
    entry: &AppliedArea,
    applied: &Applied,
    found: &mut Conformity,
) {
    let wanted = &treatment.directions.contact_time;
    let rule = |spot: Option<&String>, kept: Option<Time>| Rule::Contact {
        treatment: treatment.number,
        area: area.name.clone(),
        spot: spot.cloned(),
        kept,
        wanted: wanted.clone(),
    };
    let own = |check: &&crate::job::AppliedCheck| check.treatment == treatment.number && check.area == area.name;
    let before = found.verdicts.len();
    for check in applied.checks.iter().filter(own) {
        let kept = check.kept_wet(entry.rinsed);
        found.verdicts.push(Verdict { outcome: outcome(kept >= *wanted), rule: rule(Some(&check.spot), Some(kept)) });
    }
    if found.verdicts.len() == before {
        found.verdicts.push(Verdict { outcome: Outcome::NotJudged, rule: rule(None, None) });
    }
}
