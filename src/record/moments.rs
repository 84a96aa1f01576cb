//! The moments of a log: whether they can be of this visit at all, and whether the solution was mixed before it was used and
//! used before it was too old.

use jiff::ToSpan;
use jiff::civil::DateTime;

use super::conformity::entries_of;
use crate::job::Applied;
use crate::plan::{Plan, TreatmentPlan};
use crate::report::Report;
use crate::yaml::Origin;

/// Work that was put off by more days than these has another start to be planned from.
const DAYS_LATE: i64 = 3;

/// Tells moments that lie nowhere near the visit: a slip of the year or the month, on a certificate, is a false one. The same
/// of a surface that was wet for more than a day.
pub(super) fn far_off(plan: &Plan, applied: &Applied, report: &mut Report) {
    let first = plan.start.checked_sub(1.day()).unwrap_or(plan.start);
    let last = plan.wet_until.max(plan.start);
    let last = last.checked_add(DAYS_LATE.days()).unwrap_or(last);
    let mut look = |moment: Option<DateTime>, origin: &Origin, key: &str| {
        if let Some(moment) = moment.filter(|moment| *moment < first || *moment > last) {
            let message = format!("{moment} is far from the visit, which begins {}", plan.start);
            let problem = origin.key(key).error("moment-far", message);
            report.push(problem.hint("if the visit was moved, write into the job when it really began"));
        }
    };
    for load in &applied.loads {
        look(load.mixed, &load.origin, "mixed");
    }
    for area in &applied.areas {
        for (moment, key) in [
            (area.started, "started"),
            (area.finished, "finished"),
            (area.wet_until, "wet_until"),
            (area.rinsed, "rinsed"),
        ] {
            look(moment, &area.origin, key);
        }
        area.rewet_at.iter().for_each(|moment| look(Some(*moment), &area.origin, "rewets"));
    }
    for check in &applied.checks {
        look(Some(check.wetted), &check.origin, "wetted");
        look(Some(check.seen_wet), &check.origin, "seen_wet");
    }
    for area in &applied.areas {
        let Some((finished, wet)) = area.finished.zip(area.wet_until) else {
            continue;
        };
        if wet < finished || finished.checked_add(1.day()).is_ok_and(|day| wet > day) {
            let message = format!("it was finished {finished} and seen wet until {wet}");
            report.push(area.origin.key("wet_until").error("times-backwards", message));
        }
    }
}

/// The first moment of a log: when the visit began.
pub fn first_of(applied: &Applied) -> Option<DateTime> {
    let mixed = applied.loads.iter().filter_map(|load| load.mixed);
    let areas = applied.areas.iter().filter_map(|area| area.started.or(area.finished));
    mixed.chain(areas).min()
}

/// What of a treatment's solution no certificate can stand on: `mixed_late` and the load, where the first area was begun before
/// anything was mixed; `too_old` and the load, where areas were still treated after it had to be thrown away.
pub(super) fn stale_or_late(treatment: &TreatmentPlan, applied: &Applied) -> Vec<(&'static str, usize)> {
    let own = || applied.areas.iter().filter(|a| a.treatment == treatment.number && a.skipped.is_none());
    let begun = own().filter_map(|a| a.started).min();
    let finished = own().filter_map(|a| a.finished).max();
    let mixed = |load: usize| {
        let entries = entries_of(applied, treatment.number, load).filter(|entry| entry.skipped.is_none());
        entries.filter_map(|entry| entry.mixed).collect::<Vec<DateTime>>()
    };
    let all = treatment.loads.iter().map(|load| (load, mixed(load.number)));
    let all: Vec<_> = all.filter(|(_, mixed)| !mixed.is_empty()).collect();
    let mut found = Vec::new();
    let earliest = all.iter().filter_map(|(load, mixed)| Some((mixed.iter().min()?, load.number))).min();
    if let (Some((first, load)), Some(begun)) = (earliest, begun)
        && *first > begun
    {
        found.push(("mixed_late", load));
    }
    for (load, mixed) in &all {
        let keeps = load.discard_after.map(|until| until - load.mixed_at);
        let until = mixed.iter().max().zip(keeps).and_then(|(last, keeps)| last.checked_add(keeps).ok());
        if until.zip(finished).is_some_and(|(until, finished)| finished > until) {
            found.push(("too_old", load.number));
        }
    }
    found
}
