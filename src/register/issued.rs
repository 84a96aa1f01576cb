//! A visit of which a certificate was issued, as a service report counts it: by its record, whatever the job's files say by now.

use jiff::civil::DateTime;
use serde_json::Value;

use super::{Point, ReadError, ServedVisit, Service, Visited, read};
use crate::job::Reading;
use crate::plan::StripPlan;
use crate::quantity::{Number, Strength};
use crate::record::Band;

impl Service {
    /// Adds a visit by the record that was issued of it.
    ///
    /// # Errors
    /// [`ReadError`] if it is no record.
    pub fn add_issued(&mut self, record: &Value) -> Result<(), ReadError> {
        let bytes = serde_json::to_vec(record).map_err(|e| ReadError::Json(e.to_string()))?;
        let recorded = read(&bytes)?;
        let text = |at: &str| record.pointer(at).and_then(Value::as_str).unwrap_or_default();
        let start: Option<DateTime> = text("/plan/start").parse().ok();
        let treatments = list(&record["plan"], "treatments");
        for reading in &recorded.readings {
            let number = Value::from(reading.treatment);
            let treatment = treatments.iter().find(|treatment| treatment["number"] == number);
            let Some(strip) = treatment.and_then(|treatment| strip(&treatment["strip"])) else {
                continue;
            };
            let at = reading.mixed.parse().ok().or(start).unwrap_or_default();
            self.point(
                &reading.product,
                &strip,
                Point {
                    at,
                    reading: Reading {
                        low: Strength::milligrams_per_litre(reading.low.clone()),
                        high: Strength::milligrams_per_litre(reading.high.clone()),
                        instrument: reading.error.clone().map(Strength::milligrams_per_litre),
                    },
                    result: match reading.result() {
                        "passes" => Band::Passes,
                        "below" => Band::Below,
                        "above" => Band::Above,
                        "cannot_tell" => Band::CannotTell,
                        _ => Band::Unknown,
                    },
                },
            );
        }
        let deviates = list(record, "verdicts").iter().any(|v| v["outcome"] == "deviates")
            || !list(&record["applied"], "deviations").is_empty();
        let of_strips = |reading: &&super::Reading| reading.band.is_some();
        self.visits.push(ServedVisit {
            job: recorded.job.clone(),
            site: text("/plan/site/name").to_owned(),
            start,
            visited: if deviates { Visited::Deviates } else { Visited::Done },
            loads: treatments.iter().map(|t| list(t, "loads").len()).sum(),
            readings: recorded.readings.iter().filter(of_strips).count(),
            passing: recorded.readings.iter().filter(|r| r.result() == "passes").count(),
        });
        self.records.push(recorded);
        Ok(())
    }
}

fn list<'v>(value: &'v Value, key: &str) -> &'v [Value] {
    value[key].as_array().map(Vec::as_slice).unwrap_or_default()
}

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
