//! What was used, and what was read of it, as the certificate has them: only what the log says was mixed.

use std::collections::BTreeSet;

use minijinja::context;
use serde::Serialize;

use super::Said;
use super::certificate::{made, method};
use super::rules::Mark;
use super::voice::Voice;
use crate::calc::Amount;
use crate::job::{LoadLog, ServiceLog};
use crate::plan::TreatmentPlan;
use crate::record::{Band, Made, MixedInAll, compare, entries_of, mixed_in_all, passing, treatment_made};

/// What was used in one treatment.
#[derive(Clone, Debug, Serialize)]
pub(super) struct UsedProduct {
    pub treatment: String,
    name: String,
    pub method: String,
    pub registration: Option<String>,
    pub dilution: String,
    pub used: String,
    pub lots: Option<String>,
}

/// One reading of one load.
#[derive(Clone, Debug, Serialize)]
pub(super) struct ReadingRow {
    treatment: String,
    load: String,
    product: String,
    mixed: String,
    planned: String,
    band: String,
    read: String,
    method: String,
    result: String,
    mark: Mark,
}

/// A row for each treatment of which something was mixed; before there is a log, for each that is planned.
pub(super) fn products(voice: &Voice<'_>, service_log: Option<&ServiceLog>) -> Said<Vec<UsedProduct>> {
    let mut rows = Vec::new();
    for treatment in &voice.plan.treatments {
        let Some((key, mixed)) = used(service_log, treatment) else {
            continue;
        };
        let solution = voice.units.solution(&mixed.solution).main;
        let amounts = if mixed.product == Amount::None || treatment.ratio.is_ready_to_use() {
            voice.say("certificate.used_ready", context! { solution })?
        } else {
            let product = voice.amount(&mixed.product)?.main;
            voice.say("certificate.used", context! { product, solution })?
        };
        let blanks = context! { used => amounts, measured => mixed.measured, loads => mixed.loads };
        let loads = service_log.map(|log| log.loads.as_slice()).unwrap_or_default().iter();
        let own = loads.filter(|load| load.treatment == treatment.number);
        let lots: Vec<&str> = own.filter_map(|load| load.lot.as_deref()).collect::<BTreeSet<_>>().into_iter().collect();
        let (dilution, meaning, _) = voice.dilution(treatment)?;
        rows.push(UsedProduct {
            treatment: treatment.number.to_string(),
            name: treatment.product.name.clone(),
            method: method(voice, treatment)?,
            registration: {
                let written = treatment.product.registration.as_deref();
                written.map(|written| voice.registration_number(written)).transpose()?
            },
            dilution: voice.say("certificate.dilution", context! { dilution, meaning })?,
            used: voice.say(key, blanks)?,
            lots: (!lots.is_empty()).then(|| lots.join(", ")),
        });
    }
    Ok(rows)
}

/// What was mixed, and the sentence that says what the amounts rest on; nothing where a log says that nothing was. An amount that
/// the log does not hold is the plan's, and is called planned.
fn used(service_log: Option<&ServiceLog>, treatment: &TreatmentPlan) -> Option<(&'static str, MixedInAll)> {
    let planned = MixedInAll {
        product: treatment.need.product.clone(),
        solution: treatment.need.mixed.clone(),
        loads: treatment.loads.len(),
        measured: 0,
    };
    let Some(service_log) = service_log else {
        return Some(("certificate.used_planned", planned));
    };
    let mixed = mixed_in_all(treatment, service_log, false);
    let key = match (mixed.loads, mixed.measured) {
        (0, _) => {
            // a log that does not name its loads yet is not complete; nothing is known of them
            let named = |number| entries_of(service_log, treatment.number, number).next().is_some();
            let none_named = !treatment.loads.iter().any(|load| named(load.number));
            let not_made = treatment_made(treatment, Some(service_log)) == Made::Not;
            return (none_named && !not_made).then_some(("certificate.used_planned", planned));
        }
        (_, 0) => "certificate.used_logged",
        (loads, measured) if measured < loads => "certificate.used_partly",
        _ => "certificate.used_measured",
    };
    Some((key, mixed))
}

/// A row for each time a load was mixed; a load that is not in the log has one that says so.
pub(super) fn readings(voice: &Voice<'_>, service_log: Option<&ServiceLog>) -> Said<Vec<ReadingRow>> {
    let mut rows = Vec::new();
    for treatment in made(voice.plan, service_log).into_iter().filter(|t| !is_without_strip(t, service_log)) {
        let planned_band = match voice.band_of(treatment)? {
            Some(band) => band,
            None => voice.word("certificate.no_band")?,
        };
        for load in &treatment.loads {
            let mut entries: Vec<Option<&LoadLog>> = service_log
                .map(|a| entries_of(a, treatment.number, load.number).map(Some).collect())
                .unwrap_or_default();
            if entries.is_empty() {
                entries.push(None);
            }
            for entry in entries.into_iter().filter(|entry| entry.is_none_or(|entry| entry.skipped.is_none())) {
                let (band, read, result, mark) = match entry.and_then(|e| e.reading.as_ref()) {
                    Some(reading) => {
                        let result = compare(reading, treatment);
                        let band = match passing(reading, treatment) {
                            Some(band) => voice.passing(&band)?,
                            None => voice.word("certificate.no_band")?,
                        };
                        (band, voice.reading(reading)?, band_word(voice, result)?, mark_of(result))
                    }
                    None => {
                        let not_read = voice.word("certificate.not_read")?;
                        (planned_band.clone(), not_read.clone(), not_read, Mark::NotEvaluated)
                    }
                };
                rows.push(ReadingRow {
                    treatment: treatment.number.to_string(),
                    load: load.number.to_string(),
                    product: treatment.product.name.clone(),
                    mixed: match entry.and_then(|e| e.mixed) {
                        Some(moment) => voice.clock(moment)?,
                        None => voice.word("certificate.unknown")?,
                    },
                    planned: voice.units.strength(&load.strength).main,
                    band,
                    read,
                    method: method(voice, treatment)?,
                    result,
                    mark,
                });
            }
        }
    }
    Ok(rows)
}

/// Whether nothing could be read of a treatment: no strip is given, and no instrument was used.
fn is_without_strip(treatment: &TreatmentPlan, service_log: Option<&ServiceLog>) -> bool {
    let mut loads = service_log.map(|log| log.loads.as_slice()).unwrap_or_default().iter();
    treatment.strip.is_none() && !loads.any(|load| load.treatment == treatment.number && load.reading.is_some())
}

/// That the strength of these products was not judged, in one sentence; none where all of it could be read.
pub(super) fn without_strip(voice: &Voice<'_>, service_log: Option<&ServiceLog>) -> Said<Option<String>> {
    let all = made(voice.plan, service_log).into_iter().filter(|t| is_without_strip(t, service_log));
    let mut products: Vec<&str> = all.map(|treatment| treatment.product.name.as_str()).collect();
    products.dedup();
    let sentence = || voice.say("certificate.no_strip", context! { products => products.join(", ") });
    (!products.is_empty()).then(sentence).transpose()
}

/// How a reading is marked.
pub(super) fn mark_of(band: Band) -> Mark {
    match band {
        Band::Passes => Mark::Met,
        Band::Below | Band::Above => Mark::NotMet,
        Band::CannotTell | Band::Unknown => Mark::NotEvaluated,
    }
}

pub(super) fn band_word(voice: &Voice<'_>, band: Band) -> Said {
    voice.word(match band {
        Band::Passes => "certificate.passes",
        Band::Below => "certificate.below",
        Band::Above => "certificate.above",
        Band::CannotTell => "certificate.cannot_tell",
        Band::Unknown => "certificate.no_band",
    })
}
