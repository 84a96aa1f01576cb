//! What was used, and what was read of it, as the certificate has them: only what the log says was mixed.

use minijinja::context;
use serde_json::{Value, json};

use super::DocumentError;
use super::certificate::{made, method};
use super::voice::Voice;
use crate::calc::Amount;
use crate::job::{Applied, AppliedLoad};
use crate::plan::TreatmentPlan;
use crate::record::{Band, MixedInAll, compare, entries_of, mixed_in_all, passing};

/// A row for each treatment of which something was mixed; before there is a log, for each that is planned.
pub(super) fn products(voice: &Voice<'_>, applied: Option<&Applied>) -> Result<Vec<Value>, DocumentError> {
    let mut rows = Vec::new();
    for treatment in &voice.plan.treatments {
        let (dilution, meaning, _) = voice.dilution(treatment)?;
        let Some((key, used)) = used(applied, treatment) else {
            continue;
        };
        let solution = voice.units.solution(&used.solution).main;
        let said = match &used.product {
            Amount::None => voice.words.say("certificate.used_ready", context! { solution })?,
            _ if treatment.ratio.is_ready_to_use() => {
                voice.words.say("certificate.used_ready", context! { solution })?
            }
            amount => {
                let product = voice.amount(amount)?.main;
                voice.words.say("certificate.used", context! { product, solution })?
            }
        };
        let said = voice.words.say(key, context! { used => said, measured => used.measured, loads => used.loads })?;
        let mut lots: Vec<&str> = Vec::new();
        if let Some(applied) = applied {
            let own = applied.loads.iter().filter(|l| l.treatment == treatment.number);
            lots.extend(own.filter_map(|l| l.lot.as_deref()));
        }
        lots.sort_unstable();
        lots.dedup();
        rows.push(json!({
            "treatment": treatment.number.to_string(),
            "name": treatment.product.name,
            "method": method(voice, treatment)?,
            "registration": super::facts::registration(treatment.product.registration.as_deref()),
            "dilution": voice.words.say("certificate.dilution", context! { dilution, meaning })?,
            "used": said,
            "lots": if lots.is_empty() { Value::Null } else { json!(lots.join(", ")) },
        }));
    }
    Ok(rows)
}

/// What was mixed, and the sentence that says what the amounts rest on; nothing where a log says that nothing was. An amount that
/// the log does not hold is the plan's, and is called planned.
fn used(applied: Option<&Applied>, treatment: &TreatmentPlan) -> Option<(&'static str, MixedInAll)> {
    let planned = MixedInAll {
        product: treatment.need.product.clone(),
        solution: treatment.need.mixed.clone(),
        loads: treatment.loads.len(),
        measured: 0,
    };
    let Some(applied) = applied else {
        return Some(("certificate.used_planned", planned));
    };
    let mixed = mixed_in_all(treatment, applied, false);
    let key = match (mixed.loads, mixed.measured) {
        (0, _) => {
            // a log that does not name its loads yet is not complete; nothing is known of them
            let named = |number| entries_of(applied, treatment.number, number).next().is_some();
            let none_named = !treatment.loads.iter().any(|load| named(load.number));
            let not_made = crate::record::treatment_made(treatment, Some(applied)) == crate::record::Made::Not;
            return (none_named && !not_made).then_some(("certificate.used_planned", planned));
        }
        (_, 0) => "certificate.used_logged",
        (loads, measured) if measured < loads => "certificate.used_partly",
        _ => "certificate.used_measured",
    };
    Some((key, mixed))
}

/// A row for each time a load was mixed; a load that is not in the log has one that says so.
pub(super) fn readings(voice: &Voice<'_>, applied: Option<&Applied>) -> Result<Vec<Value>, DocumentError> {
    let words = voice.words;
    let mut rows = Vec::new();
    for treatment in made(voice.plan, applied) {
        let planned_band = treatment.strip.as_ref().map(|strip| voice.band(strip)).transpose()?.flatten();
        let planned_band = match planned_band {
            Some(band) => band,
            None => words.word("certificate.no_band")?.to_owned(),
        };
        for load in &treatment.loads {
            let entries: Vec<&AppliedLoad> =
                applied.map(|a| entries_of(a, treatment.number, load.number).collect()).unwrap_or_default();
            // A load that is not in the log has one row that says so.
            let shown: Vec<Option<&AppliedLoad>> =
                if entries.is_empty() { vec![None] } else { entries.into_iter().map(Some).collect() };
            for entry in shown {
                let mut band = planned_band.clone();
                if entry.is_some_and(|e| e.skipped.is_some()) {
                    continue;
                }
                let (read, result, pass) = match entry.and_then(|e| e.reading.as_ref()) {
                    Some(reading) => {
                        let result = compare(reading, treatment);
                        band = match passing(reading, treatment) {
                            Some(p) => voice.edges(&p.low, p.low_passes, &p.high, p.high_passes)?,
                            None => words.word("certificate.no_band")?.to_owned(),
                        };
                        (voice.reading(reading)?, band_word(voice, result)?, result == Band::Passes)
                    }
                    None => (
                        words.word("certificate.not_read")?.to_owned(),
                        words.word("certificate.not_read")?.to_owned(),
                        false,
                    ),
                };
                let mixed = match entry.and_then(|e| e.mixed) {
                    Some(moment) => voice.clock(moment),
                    None => words.word("certificate.unknown")?.to_owned(),
                };
                rows.push(json!({
                    "treatment": treatment.number.to_string(),
                    "load": load.number.to_string(),
                    "product": treatment.product.name,
                    "mixed": mixed,
                    "planned": voice.units.strength(&load.strength).main,
                    "band": band,
                    "read": read,
                    "result": result,
                    "pass": pass,
                }));
            }
        }
    }
    Ok(rows)
}

pub(super) fn band_word(voice: &Voice<'_>, band: Band) -> Result<String, DocumentError> {
    let key = match band {
        Band::Passes => "certificate.passes",
        Band::Below => "certificate.below",
        Band::Above => "certificate.above",
        Band::CannotTell => "certificate.cannot_tell",
        Band::Unknown => "certificate.no_band",
    };
    Ok(voice.words.word(key)?.to_owned())
}
