//! What the service log says of a plan: its entries, how much was made, and what in it cannot be of this visit.

use jiff::ToSpan;
use jiff::civil::DateTime;

use super::strength::not_on_strip;
use crate::calc::Amount;
use crate::diagnostic::Diagnostics;
use crate::job::{AreaLog, CheckLog, LoadLog, ServiceLog};
use crate::plan::{LoadPlan, Plan, TreatmentPlan};
use crate::quantity::Volume;
use crate::yaml::Origin;

/// The entries of a load, in the order written: more than one where it was mixed again.
pub fn entries_of(service_log: &ServiceLog, treatment: usize, load: usize) -> impl Iterator<Item = &LoadLog> {
    service_log.loads.iter().filter(move |l| l.treatment == treatment && l.load == load)
}

pub fn entry_of<'a>(service_log: &'a ServiceLog, treatment: usize, area: &str) -> Option<&'a AreaLog> {
    service_log.areas.iter().find(|a| a.treatment == treatment && a.name == area)
}

/// The entry of a load that went into the areas: the last one, if it says that it was mixed.
/// The last time that a log gives.
pub fn latest(service_log: &ServiceLog) -> Option<DateTime> {
    let loads = service_log.loads.iter().filter_map(|load| load.mixed);
    let areas = service_log.areas.iter().flat_map(|area| [area.started, area.finished, area.wet_until, area.rinsed]);
    let checks = service_log.checks.iter().map(|check| check.seen_wet);
    loads.chain(areas.flatten()).chain(checks).max()
}

pub fn last_mixed(service_log: &ServiceLog, treatment: usize, load: usize) -> Option<&LoadLog> {
    entries_of(service_log, treatment, load).last().filter(|entry| entry.skipped.is_none())
}

/// When the visit began: the first moment of the work, or before it when the log says that it began.
pub fn first_of(service_log: &ServiceLog) -> Option<DateTime> {
    service_log.first_work().into_iter().chain(service_log.began).min()
}

/// How much of a treatment or a visit was made, by the log. What was not made is not said to be done: no amounts, no areas, no
/// re-entry.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Made {
    /// There is no log, or it does not say.
    #[default]
    Unknown,
    /// Nothing: every area was left out.
    Not,
    Partly,
    /// All areas were treated and all loads mixed.
    Whole,
}

/// How much of a treatment was made: not at all where the log says of every area that it was left out.
pub fn treatment_made(treatment: &TreatmentPlan, service_log: Option<&ServiceLog>) -> Made {
    let Some(service_log) = service_log else { return Made::Unknown };
    let entries = || treatment.areas.iter().map(|a| entry_of(service_log, treatment.number, &a.name));
    if entries().any(|entry| entry.is_none()) {
        return Made::Unknown;
    }
    let treated = entries().flatten().filter(|entry| entry.skipped.is_none()).count();
    let mixed = |load: &LoadPlan| last_mixed(service_log, treatment.number, load.number).is_some();
    match treated {
        0 => Made::Not,
        _ if treated == treatment.areas.len() && treatment.loads.iter().all(mixed) => Made::Whole,
        _ => Made::Partly,
    }
}

/// How much of a visit was made: not at all where none of its treatments was.
pub(super) fn visit_made(plan: &Plan, service_log: &ServiceLog) -> Made {
    let each = plan.treatments.iter().map(|treatment| treatment_made(treatment, Some(service_log)));
    let all = each.reduce(|all, one| match (all, one) {
        (Made::Unknown, _) | (_, Made::Unknown) => Made::Unknown,
        (all, one) if all == one => all,
        _ => Made::Partly,
    });
    all.unwrap_or_default()
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MixedInAll {
    pub product: Amount,
    pub solution: Volume,
    /// Loads mixed, as often as they were.
    pub loads: usize,
    /// Those of them whose amounts the log holds; of the others the plan's are taken.
    pub measured: usize,
}

/// Every load of a treatment that the log says was mixed: each as often as it was, or with `last_only` the one time that went
/// into areas.
pub fn mixed_in_all(treatment: &TreatmentPlan, service_log: &ServiceLog, last_only: bool) -> MixedInAll {
    let mut all = MixedInAll { product: Amount::None, solution: Volume::zero(), loads: 0, measured: 0 };
    for load in &treatment.loads {
        let mut entries: Vec<&LoadLog> = entries_of(service_log, treatment.number, load.number).collect();
        if last_only {
            entries.drain(..entries.len().saturating_sub(1));
        }
        for entry in entries.into_iter().filter(|entry| entry.skipped.is_none()) {
            let (product, solution, measured) = match (&entry.water, &entry.product) {
                (Some(water), Some(product)) => (product, water + &product.added_volume(), 1),
                // of a product that is ready to use, what is written as water is the product itself
                (Some(water), None) if treatment.ratio.is_ready_to_use() => (&load.product, water.clone(), 1),
                _ => (&load.product, load.solution.clone(), 0),
            };
            all.loads += 1;
            all.measured += measured;
            all.solution = &all.solution + &solution;
            // what is measured in another way than the plan says is an error where the log is read
            all.product = all.product.plus(product).unwrap_or(all.product);
        }
    }
    all
}

/// What of a treatment's solution no certificate can stand on: `mixed_late` and the load, where the first area was begun before
/// anything was mixed; `too_old` and the load, where areas were still treated after it had to be thrown away.
pub(super) fn stale_or_late(treatment: &TreatmentPlan, service_log: &ServiceLog) -> Vec<(&'static str, usize)> {
    let own = || service_log.areas.iter().filter(|a| a.treatment == treatment.number && a.skipped.is_none());
    let begun = own().filter_map(|a| a.started).min();
    let finished = own().filter_map(|a| a.finished).max();
    let mixed = |load: usize| {
        let entries = entries_of(service_log, treatment.number, load).filter(|entry| entry.skipped.is_none());
        entries.filter_map(|entry| entry.mixed)
    };
    let mut found = Vec::new();
    let each = treatment.loads.iter().filter_map(|load| Some((mixed(load.number).min()?, load.number)));
    if let Some(((first, load), begun)) = each.min().zip(begun)
        && first > begun
    {
        found.push(("mixed_late", load));
    }
    for load in &treatment.loads {
        let keeps = load.discard_after.map(|until| until - load.mixed_at);
        let until = mixed(load.number).max().zip(keeps).and_then(|(last, keeps)| last.checked_add(keeps).ok());
        if until.zip(finished).is_some_and(|(until, finished)| finished > until) {
            found.push(("too_old", load.number));
        }
    }
    found
}

/// Work may go on for so many days after it was to end. No published rule.
const DAYS_LATE: i64 = 3;

/// Reports moments that lie nowhere near the visit: a slip of the year or the month, on a certificate, is a false one. The same
/// of a surface that was wet for more than a day.
pub(super) fn far_off(plan: &Plan, service_log: &ServiceLog, report: &mut Diagnostics) {
    let start = service_log.began.unwrap_or(plan.start);
    let first = start.checked_sub(1.day()).unwrap_or(start);
    let last = start.checked_add(plan.wet_until.max(plan.start).duration_since(plan.start)).unwrap_or(start);
    let last = last.checked_add(DAYS_LATE.days()).unwrap_or(last);
    let mut look = |moment: Option<DateTime>, origin: &Origin, key: &str| {
        if let Some(moment) = moment.filter(|moment| *moment < first || *moment > last) {
            let message = format!("{moment} is far from the visit, which begins {start}");
            let problem = origin.key(key).error("moment-far", message);
            report.push(problem.hint("if the visit was put off, write into the log when it began: `began`"));
        }
    };
    for load in &service_log.loads {
        look(load.mixed, &load.origin, "mixed");
    }
    for area in &service_log.areas {
        look(area.started, &area.origin, "started");
        look(area.finished, &area.origin, "finished");
        look(area.wet_until, &area.origin, "wet_until");
        look(area.rinsed, &area.origin, "rinsed");
        area.rewet_at.iter().for_each(|moment| look(Some(*moment), &area.origin, "rewets"));
    }
    for check in &service_log.checks {
        look(Some(check.wetted), &check.origin, "wetted");
        look(Some(check.seen_wet), &check.origin, "seen_wet");
    }
    for area in &service_log.areas {
        let Some((finished, wet)) = area.finished.zip(area.wet_until) else { continue };
        if wet < finished || finished.checked_add(1.day()).is_ok_and(|day| wet > day) {
            let message = format!("it was finished {finished} and seen wet until {wet}");
            report.push(area.origin.key("wet_until").error("times-backwards", message));
        }
    }
}

/// What to do about an entry of what the plan does not have.
const LISTS: &str = "`decant plan` lists the job's treatments with their loads and areas; a load that was mixed again is another entry of the same load";

/// Reports entries that speak of treatments, loads, areas, blocks or amounts the plan does not have.
pub(super) fn strangers(plan: &Plan, service_log: &ServiceLog, report: &mut Diagnostics) {
    for entry in &service_log.loads {
        let Some(treatment) = treatment_of(plan, entry.treatment, &entry.origin, report) else { continue };
        let (number, loads) = (entry.treatment, treatment.loads.len());
        if entry.load > loads {
            let message = format!("treatment {number} has no load {}; its last is {loads}", entry.load);
            report.push(entry.origin.key("load").error("applied-unknown-load", message).hint(LISTS));
        }
        not_on_strip(treatment, entry, report);
        let asked = &treatment.ratio.product_per_litre_of_solution;
        if let Some(product) = &entry.product
            && *asked != Amount::None
            && product.unit() != asked.unit()
        {
            let message = format!("this product is measured in {}, not in {}", asked.unit(), product.unit());
            let at = entry.origin.key("product");
            let written = at.node().and_then(|node| node.text(&mut Diagnostics::new())).unwrap_or_default();
            let hint = if written.contains("oz") && matches!(asked, Amount::Liquid(_)) {
                "an ounce by volume is `fl oz`; write the amount as the mix sheet gives it"
            } else {
                "write the amount as the mix sheet gives it"
            };
            report.push(at.error("applied-wrong-amount", message).hint(hint));
        }
    }
    for entry in &service_log.areas {
        treats(plan, entry.treatment, &entry.name, &entry.origin, report);
    }
    for check in &service_log.checks {
        if treats(plan, check.treatment, &check.area, &check.origin, report) {
            outside_its_area(service_log, check, report);
        }
    }
}

/// Whether the treatment an entry speaks of treats its area; reported where not.
fn treats(plan: &Plan, number: usize, area: &str, entry: &Origin, report: &mut Diagnostics) -> bool {
    let Some(treatment) = treatment_of(plan, number, entry, report) else { return false };
    let treats = treatment.areas.iter().any(|a| a.name == area);
    if !treats {
        let message = format!("treatment {number} does not treat an area `{area}`");
        report.push(entry.key("area").error("applied-unknown-area", message).hint(LISTS));
    }
    treats
}

/// The treatment an entry speaks of; one that the job does not have is reported.
fn treatment_of<'p>(
    plan: &'p Plan,
    number: usize,
    entry: &Origin,
    report: &mut Diagnostics,
) -> Option<&'p TreatmentPlan> {
    let found = number.checked_sub(1).and_then(|i| plan.treatments.get(i));
    if found.is_none() {
        let message = format!("the job has no treatment {number}");
        report.push(entry.key("treatment").error("applied-unknown-treatment", message).hint(LISTS));
    }
    found
}

/// A spot is wetted while its area is: else the check is of something else.
fn outside_its_area(service_log: &ServiceLog, check: &CheckLog, report: &mut Diagnostics) {
    let Some(area) = entry_of(service_log, check.treatment, &check.area) else { return };
    let early = area.started.is_some_and(|started| check.wetted < started);
    let late = area.finished.is_some_and(|finished| check.wetted > finished);
    if area.skipped.is_some() {
        let message = format!("`{}` was skipped, and yet a spot of it was watched", check.area);
        report.push(check.origin.error("skipped-and-done", message));
    } else if early || late {
        let message = format!("the spot was wetted {}, and its area was not being treated then", check.wetted);
        report.push(check.origin.key("wetted").error("check-outside", message));
    }
}
