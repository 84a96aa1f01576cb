//! Conformity: the service log compared with the plan. What is missing, and what was not kept.

use jiff::civil::Date;
use serde::Serialize;

use super::log::{
    Made, entries_of, entry_of, far_off, first_of, mixed_in_all, stale_or_late, strangers, treatment_made, visit_made,
};
use super::people::{judge_crew, nearly_known, people};
use super::strength::judge_strength;
use super::verdict::{MARGIN, Outcome, Rule, Verdict};
use super::wanted::{area_keys, load_keys, rewets};
use crate::company::{Lots, Member, Product};
use crate::diagnostic::Diagnostics;
use crate::job::{AreaLog, Job, LoadLog, ServiceLog};
use crate::plan::{AreaPlan, LoadPlan, Plan, TreatmentPlan, after};
use crate::quantity::Volume;

#[derive(Clone, Debug, Default, Serialize)]
pub struct Conformity {
    /// What the log lacks, and what it says that no certificate can stand on. While anything is here none is issued.
    pub missing: Vec<Missing>,
    /// What was judged, in the order of the plan.
    pub verdicts: Vec<Verdict>,
    #[serde(skip)]
    pub visit: Made,
    /// Who applied, by plan and log.
    #[serde(skip)]
    pub people: Vec<Member>,
}

impl Conformity {
    pub fn deviates(&self) -> bool {
        self.verdicts.iter().any(Verdict::deviates)
    }

    /// Whether a certificate of service may be issued: the log is complete, and something was done.
    pub fn certifies(&self) -> bool {
        self.missing.is_empty() && self.visit != Made::Not
    }

    fn judge(&mut self, kept: bool, rule: Rule) {
        self.verdicts.push(Verdict::of(kept, rule));
    }
}

/// Something a certificate needs and the log lacks, or holds in a way that it cannot stand on.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Missing {
    #[serde(skip)]
    what: &'static str,
    pub treatment: Option<usize>,
    pub load: Option<usize>,
    pub area: Option<String>,
    lot: Option<String>,
    last_day: Option<Date>,
}

impl Missing {
    /// What is missing, as the language file names it.
    pub fn what(&self) -> &'static str {
        self.what
    }

    fn of_load(what: &'static str, treatment: usize, load: usize) -> Missing {
        Missing { what, treatment: Some(treatment), load: Some(load), ..Missing::default() }
    }
}

/// Compares the log with the plan. Entries that speak of loads or areas the plan does not have are errors, put into `report`.
pub fn conformity(plan: &Plan, job: &Job, report: &mut Diagnostics) -> Conformity {
    let mut found = Conformity::default();
    for (treatment, _) in plan.treatments.iter().zip(&job.treatments).filter(|(_, w)| !w.product.label_checked) {
        found.missing.push(Missing { what: "label_check", treatment: Some(treatment.number), ..Missing::default() });
    }
    if job.company.link_is_invented() {
        found.missing.push(Missing { what: "link", ..Missing::default() });
    }
    let Some(service_log) = &job.service_log else {
        found.missing.push(Missing { what: "log", ..Missing::default() });
        return found;
    };
    strangers(plan, service_log, report);
    nearly_known(job, service_log, report);
    far_off(plan, service_log, report);
    found.visit = visit_made(plan, service_log);
    if found.visit != Made::Not {
        judge_begin(plan, service_log, &mut found);
    }
    for (treatment, written) in plan.treatments.iter().zip(&job.treatments) {
        for load in &treatment.loads {
            judge_load(treatment, &written.product, load, service_log, &mut found);
            for entry in entries_of(service_log, treatment.number, load.number) {
                judge_lots(&written.product, entry, &mut found);
            }
        }
        judge_solution(treatment, service_log, &mut found);
        for area in &treatment.areas {
            judge_area(treatment, area, service_log, &mut found);
        }
        let unfit = stale_or_late(treatment, service_log).into_iter();
        found.missing.extend(unfit.map(|(what, load)| Missing::of_load(what, treatment.number, load)));
    }
    if found.visit != Made::Not {
        found.people = people(plan, job, service_log);
        found.verdicts.extend(judge_crew(&found.people, job));
    }
    found
}

/// Whether the visit began in time. Without a moment in the log there is nothing to judge.
fn judge_begin(plan: &Plan, service_log: &ServiceLog, found: &mut Conformity) {
    let Some(began) = first_of(service_log) else { return };
    let seconds = began.duration_since(plan.start).as_secs().abs();
    // a second past the margin is a minute past it
    let minutes = (seconds + 59) / 60;
    found.judge(minutes <= MARGIN, Rule::Began { planned: plan.start, began, minutes });
}

fn judge_load(
    treatment: &TreatmentPlan,
    product: &Product,
    load: &LoadPlan,
    service_log: &ServiceLog,
    found: &mut Conformity,
) {
    let number = treatment.number;
    let lacks = |what| Missing::of_load(what, number, load.number);
    let entries: Vec<&LoadLog> = entries_of(service_log, number, load.number).collect();
    let Some(last) = entries.last() else {
        // of a treatment that was not made nobody asks what was mixed
        if treatment_made(treatment, Some(service_log)) != Made::Not {
            found.missing.push(lacks("load"));
        }
        return;
    };
    let skipped = last.skipped.clone();
    found.judge(skipped.is_none(), Rule::Mixed { treatment: number, load: load.number, skipped });
    if last.skipped.is_none() {
        let is_lacking = |key: &&str| match *key {
            "mixed" => last.mixed.is_none(),
            "lot" => last.lot.is_none(),
            "reading" => last.reading.is_none(),
            // every reading by a strip has its lot, not the last alone
            _ => false,
        };
        found.missing.extend(load_keys(treatment, product).into_iter().filter(is_lacking).map(lacks));
    }
    for (i, entry) in entries.iter().enumerate().filter(|(_, entry)| entry.skipped.is_none()) {
        // what was mixed again went into no area; its figures stay as a deviation
        let when_not = if i + 1 < entries.len() { Outcome::Replaced } else { Outcome::Deviates };
        judge_strength(treatment, load, entry, when_not, &mut found.verdicts);
    }
}

/// Whether the loads that were mixed hold as much as the areas that were treated need. Enough by the plan's amounts alone is
/// nothing that the log shows, and is not said to be kept.
fn judge_solution(treatment: &TreatmentPlan, service_log: &ServiceLog, found: &mut Conformity) {
    let number = treatment.number;
    let treated = |name: &str| entry_of(service_log, number, name).is_some_and(|entry| entry.skipped.is_none());
    let areas: Volume = treatment.areas.iter().filter(|a| treated(&a.name)).map(|a| &a.solution).sum();
    if areas.is_zero() || treatment_made(treatment, Some(service_log)) == Made::Unknown {
        return;
    }
    if treatment.loads.iter().any(|load| entries_of(service_log, number, load.number).next().is_none()) {
        return;
    }
    let mixed = mixed_in_all(treatment, service_log, true);
    if mixed.loads == 0 {
        found.missing.push(Missing { what: "nothing_mixed", treatment: Some(number), ..Missing::default() });
    }
    let needed = &areas + &treatment.need.hose;
    let enough = mixed.solution >= needed;
    if enough && mixed.measured < mixed.loads {
        return;
    }
    found.judge(enough, Rule::Solution { treatment: number, mixed: mixed.solution, needed });
}

/// Lots in date: of the concentrate and, where the company file lists the strips' lots, of the strip. A lot that a list does
/// not hold has no known last day, and an expired strip proves nothing; on neither can a certificate stand.
fn judge_lots(product: &Product, entry: &LoadLog, found: &mut Conformity) {
    judge_lot(&product.lots, entry.lot.as_ref(), false, entry, found);
    let Some(strip) = &product.strip else { return };
    judge_lot(&strip.lots, entry.strip_lot.as_ref(), true, entry, found);
    let by_strip = entry.reading.as_ref().is_some_and(|reading| reading.instrument.is_none());
    if !strip.lots.is_empty() && entry.strip_lot.is_none() && by_strip {
        found.missing.push(Missing::of_load("strip_lot", entry.treatment, entry.load));
    }
}

fn judge_lot(lots: &Lots, lot: Option<&String>, strip: bool, entry: &LoadLog, found: &mut Conformity) {
    let Some((lot, mixed)) = lot.zip(entry.mixed) else { return };
    let (used, last_day) = (mixed.date(), lots.last_day(lot));
    let (outcome, what) = match last_day {
        Some(last) if used <= last => (Outcome::Holds, None),
        Some(_) => (Outcome::Deviates, Some(if strip { "strip_lot_expired" } else { "lot_expired" })),
        None if lots.is_empty() => (Outcome::NotJudged, None),
        None => (Outcome::Deviates, Some(if strip { "strip_lot_unknown" } else { "lot_unknown" })),
    };
    let rule = Rule::Lot { treatment: entry.treatment, lot: lot.clone(), strip, used, last_day };
    let verdict = Verdict { outcome, rule };
    if !found.verdicts.contains(&verdict) {
        found.verdicts.push(verdict);
    }
    found.missing.extend(what.map(|what| Missing {
        lot: Some(lot.clone()),
        last_day,
        ..Missing::of_load(what, entry.treatment, entry.load)
    }));
}

/// Whether an area was treated, kept wet, wetted again and rinsed as the plan and the label ask.
fn judge_area(treatment: &TreatmentPlan, area: &AreaPlan, service_log: &ServiceLog, found: &mut Conformity) {
    let number = treatment.number;
    let name = || area.name.clone();
    let lacks = |what| Missing { what, treatment: Some(number), area: Some(name()), ..Missing::default() };
    let Some(entry) = entry_of(service_log, number, &area.name) else {
        found.missing.push(lacks("area"));
        return;
    };
    let skipped = entry.skipped.clone();
    found.judge(skipped.is_none(), Rule::Done { treatment: number, area: name(), skipped });
    if entry.skipped.is_some() {
        return;
    }
    let is_lacking = |key: &&str| match *key {
        "started" => entry.started.is_none(),
        "finished" => entry.finished.is_none(),
        "wet_until" => entry.wet_until.is_none(),
        "rewets" => entry.rewets.is_none(),
        "rinsed" => entry.rinsed.is_none() && !entry.not_rinsed,
        _ => false,
    };
    found.missing.extend(area_keys(treatment).into_iter().filter(is_lacking).map(lacks));
    judge_checks(treatment, area, entry, service_log, found);
    let contact = &treatment.directions.contact_time;
    if let Some((kept, wet_until)) = entry.kept_wet().zip(entry.wet_until) {
        let wanted = contact.clone();
        found.judge(kept >= wanted, Rule::LastPatch { treatment: number, area: name(), wet_until, kept, wanted });
    }
    let wanted = rewets(treatment);
    if let Some(done) = entry.rewets.filter(|_| wanted > 0) {
        found.judge(done >= wanted, Rule::Rewets { treatment: number, area: name(), done, wanted });
    }
    let rinsed = entry.rinsed;
    if treatment.rinse.is_none() || (rinsed.is_none() && !entry.not_rinsed) {
        return;
    }
    let not_before = entry.finished.map(|finished| after(finished, Some(contact)));
    let in_time = rinsed.zip(not_before).is_some_and(|(at, least)| at >= least);
    found.judge(in_time, Rule::Rinse { treatment: number, area: name(), rinsed, not_before });
}

/// The contact time is judged by spots that somebody watched, and by nothing else. Where none of an area was, nobody knows.
fn judge_checks(
    treatment: &TreatmentPlan,
    area: &AreaPlan,
    entry: &AreaLog,
    service_log: &ServiceLog,
    found: &mut Conformity,
) {
    let rule = |spot, kept| Rule::Contact {
        treatment: treatment.number,
        area: area.name.clone(),
        spot,
        kept,
        wanted: treatment.directions.contact_time.clone(),
    };
    let before = found.verdicts.len();
    for check in service_log.checks.iter().filter(|c| c.treatment == treatment.number && c.area == area.name) {
        let kept = check.kept_wet(entry.rinsed);
        let enough = kept >= treatment.directions.contact_time;
        found.judge(enough, rule(Some(check.spot.clone()), Some(kept)));
    }
    if found.verdicts.len() == before {
        found.verdicts.push(Verdict { outcome: Outcome::NotJudged, rule: rule(None, None) });
    }
}
