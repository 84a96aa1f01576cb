//! Conformity: the as-applied log held against the plan. What is missing, and what does not hold.

use jiff::civil::Date;
use serde::Serialize;

use crate::catalog::{Lots, Product};
use crate::job::{Applied, AppliedArea, AppliedLoad, Job, Reading};
use crate::plan::{AreaPlan, LoadPlan, Plan, StripPlan, TreatmentPlan};
use crate::quantity::Time;
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
    /// Whether everything that was judged holds.
    pub fn holds(&self) -> bool {
        self.verdicts.iter().all(Verdict::holds)
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

/// One rule, judged.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "rule")]
pub enum Verdict {
    /// A strip reading against its band.
    Reading {
        /// Which treatment, from 1.
        treatment: usize,
        /// Which load, from 1.
        load: usize,
        /// What was read.
        read: Reading,
        /// How it compares.
        result: Band,
    },
    /// The time an area was seen wet against the label's contact time.
    Contact {
        /// Which treatment, from 1.
        treatment: usize,
        /// Which area.
        area: String,
        /// How long it was seen wet after the last of it was wetted.
        kept: Time,
        /// How long the label directs.
        wanted: Time,
    },
}

/// How a reading compares with its band.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Band {
    /// Inside it.
    Passes,
    /// Too weak.
    Below,
    /// Too strong.
    Above,
    /// No band is known.
    Unknown,
}

impl Verdict {
    /// Whether the rule holds. A reading without a band is not held against anybody; the certificate says so.
    pub fn holds(&self) -> bool {
        match self {
            Verdict::Reading { result, .. } => matches!(result, Band::Passes | Band::Unknown),
            Verdict::Contact { kept, wanted, .. } => kept >= wanted,
        }
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
    }
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
    if last.mixed.is_none() {
        found.missing.push(lacks("mixed"));
    }
    if last.lot.is_none() {
        found.missing.push(lacks("lot"));
    }
    if last.reading.is_none() && treatment.strip.is_some() {
        found.missing.push(lacks("reading"));
    }
    for read in entries.iter().filter_map(|e| e.reading.clone()) {
        let result = compare(&read, treatment.strip.as_ref());
        found.verdicts.push(Verdict::Reading {
            treatment: number,
            load: load.number,
            read,
            result,
        });
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
    for (value, what) in [
        (entry.started, "started"),
        (entry.finished, "finished"),
        (entry.wet_until, "wet_until"),
    ] {
        if value.is_none() {
            found.missing.push(lacks(what));
        }
    }
    if treatment.rinse.is_some() && entry.rinsed.is_none() {
        found.missing.push(lacks("rinsed"));
    }
    if let Some(kept) = entry.kept_wet() {
        let wanted = treatment.directions.contact_time.clone();
        found.verdicts.push(Verdict::Contact {
            treatment: number,
            area: area.name.clone(),
            kept,
            wanted,
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
