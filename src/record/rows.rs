//! Plan and log as rows of a table: one a load, in figures that a spreadsheet can reckon with.

use super::log::entries_of;
use super::strength::compare;
use super::verdict::Band;
use crate::job::{Job, LoadLog, Reading};
use crate::plan::{LoadPlan, Passing, Plan, StripPlan, TreatmentPlan};
use crate::quantity::{Number, Strength};

struct Line<'a> {
    plan: &'a Plan,
    record: &'a str,
    treatment: &'a TreatmentPlan,
    load: &'a LoadPlan,
    entry: Option<&'a LoadLog>,
    band: Option<Passing>,
}

/// A heading, and what stands below it.
type Column = (&'static str, fn(&Line<'_>) -> String);

/// Every column. Amounts are in milliliters, or in what `product_unit` names; strengths in milligrams
/// a liter of solution; moments in the site's own time. `band_from_passes` and `band_to_passes` tell whether a reading on that
/// edge of the band passes. `state` is `planned`, `mixed` or `skipped`; of a load that was skipped there is no amount.
/// `instrument_error_mg_per_l` is empty for a reading on a strip.
const COLUMNS: [Column; 27] = [
    ("job", |l| l.plan.job.clone()),
    ("record", |l| l.record.to_owned()),
    ("client", |l| l.plan.client.name.clone()),
    ("site", |l| l.plan.site.name.clone()),
    ("address", |l| l.plan.site.address.clone()),
    ("start", |l| l.plan.start.to_string()),
    ("treatment", |l| l.treatment.number.to_string()),
    ("product", |l| l.treatment.product.name.clone()),
    ("registration", |l| l.treatment.product.registration.clone().unwrap_or_default()),
    ("directions", |l| l.treatment.directions.title.clone()),
    ("load", |l| l.load.number.to_string()),
    ("state", |l| {
        l.entry.map_or("planned", |entry| if entry.skipped.is_some() { "skipped" } else { "mixed" }).to_owned()
    }),
    ("water_ml", |l| l.amount(l.load.water.as_millilitres())),
    ("product_amount", |l| l.amount(&l.load.product.value())),
    ("product_unit", |l| l.load.product.unit().to_owned()),
    ("strength_mg_per_l", |l| l.amount(l.load.strength.as_milligrams_per_litre())),
    ("band_from_mg_per_l", |l| l.of_band(|band| strength(&band.low))),
    ("band_from_passes", |l| l.of_band(|band| yes(band.low_passes))),
    ("band_to_mg_per_l", |l| l.of_band(|band| strength(&band.high))),
    ("band_to_passes", |l| l.of_band(|band| yes(band.high_passes))),
    ("mixed", |l| l.entry.and_then(|e| e.mixed).map(|mixed| mixed.to_string()).unwrap_or_default()),
    ("by", |l| l.entry.and_then(|e| e.by.clone()).unwrap_or_default()),
    ("lot", |l| l.entry.and_then(|e| e.lot.clone()).unwrap_or_default()),
    ("read_from_mg_per_l", |l| l.of_reading(|read| strength(&read.low))),
    ("read_to_mg_per_l", |l| l.of_reading(|read| strength(&read.high))),
    ("instrument_error_mg_per_l", |l| l.of_reading(|read| read.instrument.as_ref().map(strength).unwrap_or_default())),
    ("result", |l| {
        l.of_reading(|read| {
            let word = match compare(read, l.treatment) {
                Band::Passes => "passes",
                Band::Below => "below",
                Band::Above => "above",
                Band::CannotTell => "cannot tell",
                Band::Unknown => "no band",
            };
            word.to_owned()
        })
    }),
];

impl Line<'_> {
    fn amount(&self, number: &Number) -> String {
        let skipped = self.entry.is_some_and(|entry| entry.skipped.is_some());
        if skipped { String::new() } else { number.decimal(2) }
    }

    fn of_band(&self, cell: impl Fn(&Passing) -> String) -> String {
        self.band.as_ref().map(cell).unwrap_or_default()
    }

    fn of_reading(&self, cell: impl Fn(&Reading) -> String) -> String {
        self.entry.and_then(|entry| entry.reading.as_ref()).map(cell).unwrap_or_default()
    }
}

fn strength(strength: &Strength) -> String {
    strength.as_milligrams_per_litre().decimal(2)
}

fn yes(passes: bool) -> String {
    if passes { "yes" } else { "no" }.to_owned()
}

pub fn headings() -> [&'static str; 27] {
    COLUMNS.map(|(heading, _)| heading)
}

/// The rows of a job; `record` is its record's number. A load that was mixed again has a row for each time; one that is
/// not in the log has one row, whose `result` is empty.
pub fn rows(plan: &Plan, job: &Job, record: &str) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    for treatment in &plan.treatments {
        for load in &treatment.loads {
            let entries = job.service_log.iter().flat_map(|log| entries_of(log, treatment.number, load.number));
            let mut entries: Vec<Option<&LoadLog>> = entries.map(Some).collect();
            if entries.is_empty() {
                entries.push(None);
            }
            for entry in entries {
                let band = treatment.strip.as_ref().and_then(StripPlan::band);
                let line = Line { plan, record, treatment, load, entry, band };
                rows.push(COLUMNS.iter().map(|(_, cell)| cell(&line)).collect());
            }
        }
    }
    rows
}
