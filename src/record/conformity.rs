//! Conformity: the as-applied log compared with the plan. What is missing, and what was not kept.

use jiff::civil::Date;
use serde::Serialize;

use super::areas::judge_area;
use super::made::{Made, mixed_in_all, treatment_made, visit_made};
use super::moments::{far_off, first_of, stale_or_late};
use super::people::{judge_crew, people};
use super::strength::{judge_strength, lacks_strength, not_on_strip};
use super::verdict::{MARGIN, Outcome, Rule, Verdict};
use crate::calc::Amount;
use crate::catalog::{Lots, Member, Product};
use crate::job::{Applied, AppliedArea, AppliedCheck, AppliedLoad, Job};
use crate::plan::{LoadPlan, Plan, TreatmentPlan};
use crate::quantity::Volume;
use crate::report::Report;
use crate::yaml::Origin;

/// The log compared with the plan.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Conformity {
    /// What the log lacks, and what it says that no certificate can stand on. While anything is here none is issued.
    pub missing: Vec<Missing>,
    /// What was judged, in the order of the plan.
    pub verdicts: Vec<Verdict>,
    /// How much of the visit was made.
    #[serde(skip)]
    pub visit: Made,
    /// Who applied, by plan and log.
    #[serde(skip)]
    pub people: Vec<Member>,
}

impl Conformity {
    /// Whether a rule was not kept.
    pub fn deviates(&self) -> bool {
        self.verdicts.iter().any(Verdict::deviates)
    }

    /// Whether a rule could not be judged.
    pub fn is_unjudged(&self) -> bool {
        self.verdicts.iter().any(|verdict| verdict.outcome == Outcome::NotJudged)
    }

    /// Whether a certificate of service may be issued: the log is complete, and something was done.
    pub fn certifies(&self) -> bool {
        self.missing.is_empty() && self.visit != Made::Not
    }
}

/// What a log lacks, as the language file names it.
pub(super) type Lacks = &'static str;

/// Something a certificate needs and the log lacks, or holds in a way that it cannot stand on.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Missing {
    #[serde(skip)]
    pub(super) what: Lacks,
    pub(super) treatment: Option<usize>,
    pub(super) load: Option<usize>,
    pub(super) area: Option<String>,
    pub(super) lot: Option<String>,
    pub(super) last_day: Option<Date>,
}

impl Missing {
    /// What is missing, as the language file names it.
    pub fn what(&self) -> &'static str {
        self.what
    }
}

/// Compares the log with the plan. Entries that speak of loads or areas the plan does not have are errors, put into `report`.
pub fn conformity(plan: &Plan, job: &Job, report: &mut Report) -> Conformity {
    let mut found = Conformity::default();
    let Some(applied) = &job.applied else {
        found.missing.push(Missing { what: "log", ..Missing::default() });
        return found;
    };
    strangers(plan, applied, report);
    far_off(plan, applied, report);
    found.visit = visit_made(plan, Some(applied));
    if found.visit != Made::Not {
        found.verdicts.extend(judge_begin(plan, applied));
    }
    for (treatment, written) in plan.treatments.iter().zip(&job.treatments) {
        for load in &treatment.loads {
            judge_load(treatment, load, applied, &mut found);
            for entry in entries_of(applied, treatment.number, load.number) {
                judge_lots(&written.product, entry, &mut found);
            }
        }
        judge_solution(treatment, applied, &mut found);
        for area in &treatment.areas {
            judge_area(treatment, area, applied, &mut found);
        }
        let unfit = stale_or_late(treatment, applied).into_iter();
        found.missing.extend(unfit.map(|(what, load)| Missing {
            what,
            treatment: Some(treatment.number),
            load: Some(load),
            ..Missing::default()
        }));
    }
    if found.visit != Made::Not {
        found.people = people(plan, job, applied);
        found.verdicts.extend(judge_crew(&found.people, job));
    }
    found
}

/// The entries of a load, in the order written: more than one where it was mixed afresh.
pub fn entries_of(applied: &Applied, treatment: usize, load: usize) -> impl Iterator<Item = &AppliedLoad> {
    applied.loads.iter().filter(move |l| l.treatment == treatment && l.load == load)
}

/// The entry of an area.
pub fn entry_of<'a>(applied: &'a Applied, treatment: usize, area: &str) -> Option<&'a AppliedArea> {
    applied.areas.iter().find(|a| a.treatment == treatment && a.name == area)
}

/// Whether the visit began in time. Without a moment in the log there is nothing to judge.
fn judge_begin(plan: &Plan, applied: &Applied) -> Option<Verdict> {
    let began = first_of(applied)?;
    let seconds = (began - plan.start).total(jiff::Unit::Second).unwrap_or(0.0).abs();
    // a second past the margin is a minute past it
    let minutes = (seconds / 60.0).ceil() as i64;
    Some(Verdict { outcome: outcome(minutes <= MARGIN), rule: Rule::Began { planned: plan.start, began, minutes } })
}

pub(super) fn outcome(kept: bool) -> Outcome {
    if kept { Outcome::Holds } else { Outcome::Deviates }
}

fn judge_load(treatment: &TreatmentPlan, load: &LoadPlan, applied: &Applied, found: &mut Conformity) {
    let number = treatment.number;
    let lacks = |what| Missing { what, treatment: Some(number), load: Some(load.number), ..Missing::default() };
    let entries: Vec<&AppliedLoad> = entries_of(applied, number, load.number).collect();
    let Some(last) = entries.last() else {
        // of a treatment that was not made nobody asks what was mixed
        if treatment_made(treatment, Some(applied)) != Made::Not {
            found.missing.push(lacks("load"));
        }
        return;
    };
    found.verdicts.push(Verdict {
        outcome: outcome(last.skipped.is_none()),
        rule: Rule::Mixed { treatment: number, load: load.number, skipped: last.skipped.clone() },
    });
    if last.skipped.is_none() {
        if last.mixed.is_none() {
            found.missing.push(lacks("mixed"));
        }
        if last.lot.is_none() {
            found.missing.push(lacks("lot"));
        }
        found.missing.extend(lacks_strength(treatment, last).map(lacks));
    }
    for (i, entry) in entries.iter().enumerate().filter(|(_, entry)| entry.skipped.is_none()) {
        // what was mixed afresh went into no area; its figures stay as a deviation
        let when_not = if i + 1 < entries.len() { Outcome::Replaced } else { Outcome::Deviates };
        judge_strength(treatment, load, entry, when_not, &mut found.verdicts);
    }
}

/// Whether the loads that were mixed hold as much as the areas that were treated need. Enough by the plan's amounts alone is
/// nothing that the log shows, and is not said to be kept.
fn judge_solution(treatment: &TreatmentPlan, applied: &Applied, found: &mut Conformity) {
    let treated = |name: &str| entry_of(applied, treatment.number, name).is_some_and(|entry| entry.skipped.is_none());
    let areas: Volume = treatment.areas.iter().filter(|a| treated(&a.name)).map(|a| &a.solution).sum();
    if areas.is_zero() || treatment_made(treatment, Some(applied)) == Made::Unknown {
        return;
    }
    let mixed = mixed_in_all(treatment, applied, true);
    let every_load_told =
        treatment.loads.iter().all(|load| entries_of(applied, treatment.number, load.number).next().is_some());
    if mixed.loads == 0 && every_load_told {
        found.missing.push(Missing { what: "nothing_mixed", treatment: Some(treatment.number), ..Missing::default() });
    }
    if !every_load_told {
        return;
    }
    let needed = &areas + &treatment.need.hose;
    let enough = mixed.solution >= needed;
    if enough && mixed.measured < mixed.loads {
        return;
    }
    found.verdicts.push(Verdict {
        outcome: outcome(enough),
        rule: Rule::Solution { treatment: treatment.number, mixed: mixed.solution, needed },
    });
}

/// Lots in date: of the concentrate and, where the company file lists the strips' lots, of the strip. A lot that a list does
/// not hold has no known last day, and an expired strip proves nothing; on neither can a certificate stand.
fn judge_lots(product: &Product, entry: &AppliedLoad, found: &mut Conformity) {
    let mut judge = |lots: &Lots, lot: Option<&String>, unknown: &'static str, expired: &'static str| {
        let Some((lot, mixed)) = lot.zip(entry.mixed) else {
            return;
        };
        let last_day = lots.last_day(lot);
        let verdict = Verdict {
            outcome: match last_day {
                Some(last) if mixed.date() <= last => Outcome::Holds,
                None if lots.is_empty() => Outcome::NotJudged,
                _ => Outcome::Deviates,
            },
            rule: Rule::Lot {
                treatment: entry.treatment,
                lot: lot.clone(),
                strip: unknown == "strip_lot_unknown",
                used: mixed.date(),
                last_day,
            },
        };
        if !found.verdicts.contains(&verdict) {
            found.verdicts.push(verdict);
        }
        let what = match last_day {
            Some(last) if mixed.date() > last => expired,
            None if !lots.is_empty() => unknown,
            _ => return,
        };
        found.missing.push(Missing {
            what,
            treatment: Some(entry.treatment),
            load: Some(entry.load),
            lot: Some(lot.clone()),
            last_day,
            area: None,
        });
    };
    judge(&product.lots, entry.lot.as_ref(), "lot_unknown", "lot_expired");
    let Some(strip) = &product.strip else { return };
    judge(&strip.lots, entry.strip_lot.as_ref(), "strip_lot_unknown", "strip_lot_expired");
    if !strip.lots.is_empty()
        && entry.strip_lot.is_none()
        && entry.reading.as_ref().is_some_and(|reading| reading.instrument.is_none())
    {
        found.missing.push(Missing {
            what: "strip_lot",
            treatment: Some(entry.treatment),
            load: Some(entry.load),
            ..Missing::default()
        });
    }
}

fn strangers(plan: &Plan, applied: &Applied, report: &mut Report) {
    for entry in &applied.loads {
        let Some(treatment) = treatment_of(plan, entry.treatment, &entry.origin, report) else {
            continue;
        };
        let (number, loads) = (entry.treatment, treatment.loads.len());
        if entry.load > loads {
            let message = format!("treatment {number} has {loads} loads, not {}", entry.load);
            report.push(entry.origin.key("load").error("applied-unknown-load", message));
        }
        not_on_strip(treatment, entry, report);
        let asked = &treatment.ratio.product_per_litre_of_solution;
        if let Some(product) = &entry.product
            && *asked != Amount::None
            && product.unit() != asked.unit()
        {
            let message = format!("this product is measured in {}, not in {}", asked.unit(), product.unit());
            report.push(entry.origin.key("product").error("applied-wrong-amount", message));
        }
    }
    for entry in &applied.areas {
        let Some(treatment) = treatment_of(plan, entry.treatment, &entry.origin, report) else {
            continue;
        };
        if !treatment.areas.iter().any(|a| a.name == entry.name) {
            let message = format!("treatment {} does not treat an area `{}`", entry.treatment, entry.name);
            report.push(entry.origin.key("area").error("applied-unknown-area", message));
        }
    }
    for check in &applied.checks {
        let Some(treatment) = treatment_of(plan, check.treatment, &check.origin, report) else {
            continue;
        };
        if !treatment.areas.iter().any(|a| a.name == check.area) {
            let message = format!("treatment {} does not treat an area `{}`", check.treatment, check.area);
            report.push(check.origin.key("area").error("applied-unknown-area", message));
            continue;
        }
        outside_its_area(applied, check, report);
    }
}

/// A spot is wetted while its area is: else the check is of something else.
fn outside_its_area(applied: &Applied, check: &AppliedCheck, report: &mut Report) {
    let Some(area) = entry_of(applied, check.treatment, &check.area) else {
        return;
    };
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

/// The treatment an entry speaks of; one that the job does not have is an error, put into `report`.
fn treatment_of<'p>(plan: &'p Plan, number: usize, entry: &Origin, report: &mut Report) -> Option<&'p TreatmentPlan> {
    let found = number.checked_sub(1).and_then(|i| plan.treatments.get(i));
    if found.is_none() {
        let message = format!("the job has no treatment {number}");
        report.push(entry.key("treatment").error("applied-unknown-treatment", message));
    }
    found
}
