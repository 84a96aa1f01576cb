//! Conformity: the as-applied log held against the plan. What is missing, and what does not hold.

use jiff::civil::{Date, DateTime};
use serde::Serialize;

use super::moments::{far_off, stale_or_late};
use super::verdict::{Band, Outcome, Passing, Rule, Verdict};
use crate::calc::Amount;
use crate::catalog::{Lots, Member, Product};
use crate::job::{Applied, AppliedArea, AppliedLoad, Job, Reading};
use crate::plan::{AreaPlan, LoadPlan, Plan, StripPlan, TreatmentPlan};
use crate::quantity::{Number, Time};
use crate::report::Report;
use crate::yaml::Origin;

/// The log held against the plan.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Conformity {
    /// What the log lacks, and what it says that no certificate can stand on. While anything is here none is issued.
    pub missing: Vec<Missing>,
    /// What was judged, in the order of the plan.
    pub verdicts: Vec<Verdict>,
}

impl Conformity {
    /// Whether a rule does not hold.
    pub fn deviates(&self) -> bool {
        self.verdicts.iter().any(Verdict::deviates)
    }
}

/// Something a certificate needs and the log lacks, or holds in a way that it cannot stand on.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Missing {
    #[serde(skip)]
    what: &'static str,
    treatment: Option<usize>,
    load: Option<usize>,
    area: Option<String>,
    lot: Option<String>,
    last_day: Option<Date>,
}

impl Missing {
    /// What is missing, as the language file names it.
    pub fn what(&self) -> &'static str {
        self.what
    }
}

/// Holds the log against the plan. Entries that speak of loads or areas the plan does not have are told to `report`.
pub fn conformity(plan: &Plan, job: &Job, report: &mut Report) -> Conformity {
    let mut found = Conformity::default();
    let Some(applied) = &job.applied else {
        found.missing.push(Missing {
            what: "log",
            ..Missing::default()
        });
        return found;
    };
    strangers(plan, applied, report);
    far_off(plan, applied, report);
    for (treatment, written) in plan.treatments.iter().zip(&job.treatments) {
        for load in &treatment.loads {
            judge_load(treatment, load, applied, &mut found);
            for entry in entries_of(applied, treatment.number, load.number) {
                judge_lots(&written.product, entry, &mut found);
            }
        }
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
    judge_crew(plan, job, applied, &mut found);
    found
}

/// The entries of a load, in the order written: more than one where it was mixed afresh.
pub fn entries_of(applied: &Applied, treatment: usize, load: usize) -> impl Iterator<Item = &AppliedLoad> {
    applied
        .loads
        .iter()
        .filter(move |l| l.treatment == treatment && l.load == load)
}

/// The entry of an area.
pub fn entry_of<'a>(applied: &'a Applied, treatment: usize, area: &str) -> Option<&'a AppliedArea> {
    applied
        .areas
        .iter()
        .find(|a| a.treatment == treatment && a.name == area)
}

/// How a reading compares with what passes.
pub fn compare(reading: &Reading, strip: Option<&StripPlan>) -> Band {
    let Some((low, low_passes, high)) = strip.and_then(StripPlan::band) else {
        return Band::Unknown;
    };
    // A colour between two blocks is in the band when that space is; one block's colour on an edge that fails is not.
    let on_block = reading.low == reading.high;
    if reading.low < *low || (on_block && reading.low == *low && !low_passes) {
        Band::Below
    } else if reading.high > *high {
        Band::Above
    } else {
        Band::Passes
    }
}

fn judge_load(treatment: &TreatmentPlan, load: &LoadPlan, applied: &Applied, found: &mut Conformity) {
    let number = treatment.number;
    let lacks = |what| Missing {
        what,
        treatment: Some(number),
        load: Some(load.number),
        ..Missing::default()
    };
    let entries: Vec<&AppliedLoad> = entries_of(applied, number, load.number).collect();
    let Some(last) = entries.last() else {
        found.missing.push(lacks("load"));
        return;
    };
    if last.skipped.is_some() {
        return;
    }
    if last.mixed.is_none() {
        found.missing.push(lacks("mixed"));
    }
    if last.lot.is_none() {
        found.missing.push(lacks("lot"));
    }
    if last.reading.is_none() && treatment.strip.is_some() {
        found.missing.push(lacks("reading"));
    }
    for (i, entry) in entries.iter().enumerate() {
        // what was mixed afresh went into no area; its figures stay as a deviation
        let when_not = if i + 1 < entries.len() {
            Outcome::Replaced
        } else {
            Outcome::Deviates
        };
        if let Some(read) = entry.reading.clone() {
            found.verdicts.push(judge_reading(treatment, load, read, when_not));
        }
        if let Some((water, product)) = entry.water.clone().zip(entry.product.clone())
            && let Some(wanted) = treatment.ratio.product_for_water(&water)
        {
            // a label is kept to from above as well; a tenth is what measures at the tap are good for
            let most = wanted.value() * Number::ratio(11, 10);
            let is_off = product.value() < wanted.value() || product.value() > most;
            found.verdicts.push(Verdict {
                outcome: if is_off { when_not } else { Outcome::Holds },
                rule: Rule::Dose {
                    treatment: number,
                    load: load.number,
                    water,
                    product,
                    wanted,
                },
            });
        }
    }
}

fn judge_reading(treatment: &TreatmentPlan, load: &LoadPlan, read: Reading, when_not: Outcome) -> Verdict {
    let result = compare(&read, treatment.strip.as_ref());
    let band = treatment.strip.as_ref().and_then(StripPlan::band);
    Verdict {
        outcome: match result {
            Band::Passes => Outcome::Holds,
            Band::Unknown => Outcome::NotJudged,
            Band::Below | Band::Above => when_not,
        },
        rule: Rule::Reading {
            treatment: treatment.number,
            load: load.number,
            read,
            band: band.map(|(low, low_passes, high)| Passing {
                low: low.clone(),
                low_passes,
                high: high.clone(),
            }),
            result,
        },
    }
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
    judge(
        &strip.lots,
        entry.strip_lot.as_ref(),
        "strip_lot_unknown",
        "strip_lot_expired",
    );
    if !strip.lots.is_empty() && entry.strip_lot.is_none() && entry.reading.is_some() {
        found.missing.push(Missing {
            what: "strip_lot",
            treatment: Some(entry.treatment),
            load: Some(entry.load),
            ..Missing::default()
        });
    }
}

fn judge_area(treatment: &TreatmentPlan, area: &AreaPlan, applied: &Applied, found: &mut Conformity) {
    let number = treatment.number;
    let lacks = |what| Missing {
        what,
        treatment: Some(number),
        area: Some(area.name.clone()),
        ..Missing::default()
    };
    let Some(entry) = entry_of(applied, number, &area.name) else {
        found.missing.push(lacks("area"));
        return;
    };
    found.verdicts.push(Verdict {
        outcome: if entry.skipped.is_some() {
            Outcome::Deviates
        } else {
            Outcome::Holds
        },
        rule: Rule::Done {
            treatment: number,
            area: area.name.clone(),
            skipped: entry.skipped.clone(),
        },
    });
    if entry.skipped.is_some() {
        return;
    }
    for (value, what) in [
        (entry.started, "started"),
        (entry.finished, "finished"),
        (entry.wet_until, "wet_until"),
    ] {
        if value.is_none() {
            found.missing.push(lacks(what));
        }
    }
    let outcome = |holds: bool| if holds { Outcome::Holds } else { Outcome::Deviates };
    let wanted = &treatment.directions.contact_time;
    if let Some(kept) = entry.kept_wet() {
        found.verdicts.push(Verdict {
            outcome: outcome(kept >= *wanted),
            rule: Rule::Contact {
                treatment: number,
                area: area.name.clone(),
                kept,
                wanted: wanted.clone(),
            },
        });
    }
    // the first application is the work itself; the others wet the film again
    let asked = treatment
        .wetness
        .as_ref()
        .map_or(0, |w| w.applications.saturating_sub(1));
    match entry.rewets {
        None if asked > 0 => found.missing.push(lacks("rewets")),
        Some(done) if asked > 0 => found.verdicts.push(Verdict {
            outcome: outcome(done >= asked),
            rule: Rule::Rewets {
                treatment: number,
                area: area.name.clone(),
                done,
                wanted: asked,
            },
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
                rule: Rule::Rinse {
                    treatment: number,
                    area: area.name.clone(),
                    rinsed: entry.rinsed,
                    not_before,
                },
            });
        }
    }
}

/// So long after a moment, carried up to the next second.
fn after(moment: DateTime, time: &Time) -> Option<DateTime> {
    let seconds = time.as_seconds().ceil_to(&Number::one()).to_i64()?;
    moment.checked_add(jiff::Span::new().try_seconds(seconds).ok()?).ok()
}

/// Everybody of the visit's crew, and whoever else the log says has mixed. Somebody whom the company file does not know has
/// no licence that anybody knows of.
fn judge_crew(plan: &Plan, job: &Job, applied: &Applied, found: &mut Conformity) {
    let mut people: Vec<Member> = plan.crew.clone();
    for by in applied.loads.iter().filter_map(|l| l.by.as_ref()) {
        let known = |m: &&Member| m.name == *by;
        let catalog = &job.catalog.crew;
        let member = catalog.get(by).or_else(|| catalog.values().find(known)).cloned();
        let member = member.unwrap_or_else(|| Member {
            name: by.clone(),
            licence: None,
        });
        if !people.iter().any(|m| m.name == member.name) {
            people.push(member);
        }
    }
    for member in people {
        found.verdicts.push(Verdict {
            outcome: match (&member.licence, job.catalog.licence_required) {
                (Some(_), _) => Outcome::Holds,
                (None, true) => Outcome::Deviates,
                (None, false) => Outcome::NotJudged,
            },
            rule: Rule::Licence {
                name: member.name,
                licence: member.licence,
            },
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
        let asked = &treatment.ratio.product_per_litre_of_solution;
        if let Some(product) = &entry.product
            && *asked != Amount::None
            && product.unit() != asked.unit()
        {
            let message = format!(
                "this product is measured in {}, not in {}",
                asked.unit(),
                product.unit()
            );
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
}

/// The treatment an entry speaks of; one that the job does not have is told to `report`.
fn treatment_of<'p>(plan: &'p Plan, number: usize, entry: &Origin, report: &mut Report) -> Option<&'p TreatmentPlan> {
    let found = number.checked_sub(1).and_then(|i| plan.treatments.get(i));
    if found.is_none() {
        let message = format!("the job has no treatment {number}");
        report.push(entry.key("treatment").error("applied-unknown-treatment", message));
    }
    found
}
