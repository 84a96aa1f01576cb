//! What became of the visits of a contract: each of them, what was read, what was used.

use std::collections::BTreeMap;

use jiff::civil::DateTime;
use serde_json::Value;

use super::read::{list, recorded};
use super::{Basis, Key, ReadError, Recorded, Sum, sums};
use crate::job::{Job, Reading};
use crate::plan::{Plan, StripPlan};
use crate::quantity::{Number, Strength};
use crate::record::{Band, Conformity, Made, compare, entries_of};

/// How far a visit is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Visited {
    /// The log is complete, and every rule was kept.
    Done,
    /// The log is complete, and says that something was not as it should be.
    Deviates,
    /// The log is complete, and says that nothing was done.
    NotMade,
    /// There is a log, and no certificate can stand on it.
    Withheld,
    /// There is no log.
    NotYet,
    /// The job cannot be planned, so that nothing can be said of it.
    Unplanned,
}

impl Visited {
    /// As tables name it.
    pub fn word(self) -> &'static str {
        match self {
            Visited::Done => "done",
            Visited::Deviates => "deviates",
            Visited::NotMade => "not-made",
            Visited::Withheld => "withheld",
            Visited::NotYet => "not-yet",
            Visited::Unplanned => "unplanned",
        }
    }

    /// By the job and its log.
    pub fn of(job: &Job, log: &Conformity) -> Visited {
        match &job.service_log {
            None if job.log_trouble.is_some() => Visited::Withheld,
            None => Visited::NotYet,
            Some(_) if log.visit == Made::Not => Visited::NotMade,
            Some(_) if !log.missing.is_empty() => Visited::Withheld,
            Some(service_log) if log.deviates() || !service_log.deviations.is_empty() => Visited::Deviates,
            Some(_) => Visited::Done,
        }
    }
}

/// A visit, as far as a report needs it.
#[derive(Clone, Debug)]
pub struct ServedVisit {
    pub job: String,
    pub site: String,
    /// When it begins.
    pub start: Option<DateTime>,
    pub visited: Visited,
    /// Loads planned.
    pub loads: usize,
    /// Readings in the log.
    pub readings: usize,
    /// Those of them that pass.
    pub passing: usize,
}

/// Readings of one product against one band.
#[derive(Clone, Debug)]
pub struct Series {
    pub product: String,
    /// What the strip shows when the mix is right.
    pub strip: StripPlan,
    /// The readings, in the order of their loads.
    pub points: Vec<Point>,
}

/// One reading of a series.
#[derive(Clone, Debug)]
pub struct Point {
    /// When the load was mixed, or the visit began if the log does not say.
    pub at: DateTime,
    pub reading: Reading,
    pub result: Band,
}

/// The visits of a contract. What it holds of a visit is small, so that a season of them fits.
#[derive(Clone, Debug, Default)]
pub struct Service {
    /// All visits, in the order they were added.
    pub visits: Vec<ServedVisit>,
    /// Readings, by product and band.
    pub series: Vec<Series>,
    /// Records, for their uses and readings.
    pub records: Vec<Recorded>,
}

impl Service {
    /// Adds a visit.
    pub fn add(&mut self, job: &Job, plan: &Plan, log: &Conformity, record: Recorded) {
        let (mut readings, mut passing) = (0, 0);
        for treatment in &plan.treatments {
            let (Some(strip), Some(service_log)) = (&treatment.strip, &job.service_log) else {
                continue;
            };
            for load in &treatment.loads {
                for entry in entries_of(service_log, treatment.number, load.number) {
                    let Some(reading) = &entry.reading else { continue };
                    let result = compare(reading, treatment);
                    readings += 1;
                    passing += usize::from(result == Band::Passes);
                    self.series(&treatment.product.name, strip).points.push(Point {
                        at: entry.mixed.unwrap_or(plan.start),
                        reading: reading.clone(),
                        result,
                    });
                }
            }
        }
        self.visits.push(ServedVisit {
            job: plan.job.clone(),
            site: plan.site.name.clone(),
            start: Some(plan.start),
            visited: Visited::of(job, log),
            loads: plan.treatments.iter().map(|t| t.loads.len()).sum(),
            readings,
            passing,
        });
        self.records.push(record);
    }

    /// Adds a visit of which a certificate was issued by its record, whatever the job's files say by now.
    ///
    /// # Errors
    /// [`ReadError`] if it is no record.
    pub fn add_issued(&mut self, record: &Value) -> Result<(), ReadError> {
        let recorded = recorded(record)?;
        let text = |at: &str| record.pointer(at).and_then(Value::as_str).unwrap_or_default();
        let start: Option<DateTime> = text("/plan/start").parse().ok();
        let treatments = list(&record["plan"], "treatments");
        for reading in &recorded.readings {
            let treatment = treatments.iter().find(|treatment| treatment["number"] == reading.treatment);
            let Some(strip) = treatment.and_then(|treatment| strip(&treatment["strip"])) else { continue };
            let strength = |value: &Number| Strength::milligrams_per_litre(value.clone());
            let point = Point {
                at: reading.mixed.parse().ok().or(start).unwrap_or_default(),
                reading: Reading {
                    low: strength(&reading.low),
                    high: strength(&reading.high),
                    instrument: reading.error.as_ref().map(strength),
                },
                result: reading.compared,
            };
            self.series(&reading.product, &strip).points.push(point);
        }
        let deviates = list(record, "verdicts").iter().any(|v| v["outcome"] == "deviates")
            || !list(&record["applied"], "deviations").is_empty();
        self.visits.push(ServedVisit {
            job: recorded.job.clone(),
            site: text("/plan/site/name").to_owned(),
            start,
            visited: if deviates { Visited::Deviates } else { Visited::Done },
            loads: treatments.iter().map(|t| list(t, "loads").len()).sum(),
            readings: recorded.readings.iter().filter(|reading| reading.band.is_some()).count(),
            passing: recorded.readings.iter().filter(|reading| reading.compared == Band::Passes).count(),
        });
        self.records.push(recorded);
        Ok(())
    }

    /// Adds a visit that cannot be planned, so that it is not missing from the report.
    pub fn add_unplanned(&mut self, job: &str) {
        self.visits.push(ServedVisit {
            job: job.to_owned(),
            site: job.to_owned(),
            start: None,
            visited: Visited::Unplanned,
            loads: 0,
            readings: 0,
            passing: 0,
        });
    }

    fn series(&mut self, product: &str, strip: &StripPlan) -> &mut Series {
        let same =
            |s: &Series| s.product == product && s.strip.blocks == strip.blocks && s.strip.band() == strip.band();
        let at = self.series.iter().position(same).unwrap_or_else(|| {
            self.series.push(Series { product: product.to_owned(), strip: strip.clone(), points: Vec::new() });
            self.series.len() - 1
        });
        &mut self.series[at]
    }

    /// Products over all sites and months, by name, registration, unit, and what the amounts rest on: what the logs say was
    /// measured stands apart from what the plan puts into their loads.
    pub fn products(&self) -> BTreeMap<(String, String, String, Basis), Sum> {
        let mut all: BTreeMap<_, Sum> = BTreeMap::new();
        for (key, sum) in self.sums() {
            all.entry((key.product, key.registration, key.unit, key.basis)).or_default().add(&sum);
        }
        all
    }

    /// Product by site and month, as registers have it.
    pub fn sums(&self) -> BTreeMap<Key, Sum> {
        sums(&self.records)
    }

    /// A row for each visit.
    pub fn rows(&self) -> impl Iterator<Item = [String; 7]> {
        self.visits.iter().map(|visit| {
            [
                visit.job.clone(),
                visit.site.clone(),
                visit.start.map(|start| start.strftime("%Y-%m-%dT%H:%M").to_string()).unwrap_or_default(),
                visit.visited.word().to_owned(),
                visit.loads.to_string(),
                visit.readings.to_string(),
                visit.passing.to_string(),
            ]
        })
    }
}

/// What each cell of [`Service::rows`] holds.
pub const VISITS: [&str; 7] = ["job", "site", "begins", "state", "loads_planned", "readings", "readings_passing"];

/// The strip of a treatment as far as a chart needs it.
fn strip(value: &Value) -> Option<StripPlan> {
    let places = |key: &str| -> Vec<usize> {
        let all = list(value, key).iter();
        all.filter_map(|at| usize::try_from(at.as_u64()?).ok()).collect()
    };
    let blocks = list(value, "blocks").iter().map(|block| {
        let figure = Number::from_f64(block["value"].as_f64()?)?;
        Some(Strength::milligrams_per_litre(figure))
    });
    Some(StripPlan {
        name: value["name"].as_str().map(str::to_owned),
        blocks: blocks.collect::<Option<_>>()?,
        passes: places("passes"),
        passes_between: places("passes_between"),
        off_scale: value["off_scale"] == true,
        cannot_show: value["cannot_show"] == true,
        dip: None,
        wait: None,
    })
    .filter(|strip| !strip.blocks.is_empty())
}
