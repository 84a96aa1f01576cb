//! Plan and log as rows of a table: one a load, in figures that a spreadsheet can reckon with.

use super::conformity::entries_of;
use super::strength::compare;
use super::verdict::Band;
use crate::job::{AppliedLoad, Job};
use crate::plan::{LoadPlan, Plan, StripPlan, TreatmentPlan};
use crate::quantity::Number;

/// What each cell of a row holds. Amounts are in millilitres, or in what `product_unit` names; strengths in milligrams a
/// litre of solution; moments in the site's own time. `band_from_passes` and `band_to_passes` say whether a reading on that
/// edge of the band passes. `state` is `planned`, `mixed` or `skipped`; of a load that was skipped there is no amount.
/// `instrument_error_mg_per_l` is empty for a reading on a strip.
pub const COLUMNS: [&str; 27] = [
    "job",
    "record",
    "client",
    "site",
    "address",
    "start",
    "treatment",
    "product",
    "registration",
    "directions",
    "load",
    "state",
    "water_ml",
    "product_amount",
    "product_unit",
    "strength_mg_per_l",
    "band_from_mg_per_l",
    "band_from_passes",
    "band_to_mg_per_l",
    "band_to_passes",
    "mixed",
    "by",
    "lot",
    "read_from_mg_per_l",
    "read_to_mg_per_l",
    "instrument_error_mg_per_l",
    "result",
];

/// The rows of a job; `record` is its record's number. A load that was mixed afresh has a row for each time; one that is
/// not in the log has one row, whose `result` is empty.
pub fn rows(plan: &Plan, job: &Job, record: &str) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    for treatment in &plan.treatments {
        for load in &treatment.loads {
            let log = job.applied.as_ref();
            let entries: Vec<&AppliedLoad> =
                log.map(|log| entries_of(log, treatment.number, load.number).collect()).unwrap_or_default();
            if entries.is_empty() {
                rows.push(row(plan, treatment, load, None, record));
            }
            for entry in entries {
                rows.push(row(plan, treatment, load, Some(entry), record));
            }
        }
    }
    rows
}

fn row(
    plan: &Plan,
    treatment: &TreatmentPlan,
    load: &LoadPlan,
    entry: Option<&AppliedLoad>,
    record: &str,
) -> Vec<String> {
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    let figure = |number: &Number| number.decimal(2);
    let yes = |passes: bool| if passes { "yes" } else { "no" }.to_owned();
    let band = match treatment.strip.as_ref().and_then(StripPlan::band) {
        Some(band) => [
            figure(band.low.as_milligrams_per_litre()),
            yes(band.low_passes),
            figure(band.high.as_milligrams_per_litre()),
            yes(band.high_passes),
        ],
        None => Default::default(),
    };
    let reading = entry.and_then(|entry| entry.reading.as_ref());
    let read = match reading {
        Some(reading) => [
            figure(reading.low.as_milligrams_per_litre()),
            figure(reading.high.as_milligrams_per_litre()),
            reading.instrument.as_ref().map(|error| figure(error.as_milligrams_per_litre())).unwrap_or_default(),
            match compare(reading, treatment) {
                Band::Passes => "passes",
                Band::Below => "below",
                Band::Above => "above",
                Band::CannotTell => "cannot tell",
                Band::Unknown => "no band",
            }
            .to_owned(),
        ],
        None => Default::default(),
    };
    let skipped = entry.is_some_and(|entry| entry.skipped.is_some());
    let state = match entry {
        None => "planned",
        Some(_) if skipped => "skipped",
        Some(_) => "mixed",
    };
    let amount = |number: &Number| if skipped { String::new() } else { figure(number) };
    let [from, from_passes, to, to_passes] = band;
    let [low, high, error, result] = read;
    vec![
        plan.job.clone(),
        record.to_owned(),
        plan.client.name.clone(),
        plan.site.name.clone(),
        plan.site.address.clone(),
        plan.start.to_string(),
        treatment.number.to_string(),
        treatment.product.name.clone(),
        text(&treatment.product.registration),
        treatment.directions.title.clone(),
        load.number.to_string(),
        state.to_owned(),
        amount(load.water.as_millilitres()),
        amount(&load.product.value()),
        load.product.unit().to_owned(),
        amount(load.strength.as_milligrams_per_litre()),
        from,
        from_passes,
        to,
        to_passes,
        entry.and_then(|e| e.mixed).map(|m| m.to_string()).unwrap_or_default(),
        entry.map(|e| text(&e.by)).unwrap_or_default(),
        entry.map(|e| text(&e.lot)).unwrap_or_default(),
        low,
        high,
        error,
        result,
    ]
}
