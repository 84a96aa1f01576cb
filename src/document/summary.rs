//! The plan as the terminal shows it.

use minijinja::context;
use minijinja::value::Serde;
use serde_json::{Value, json};

use super::DocumentError;
use super::facts::{caution_text, rinse_with};
use super::voice::Voice;
use crate::plan::TreatmentPlan;

/// The plan as text.
///
/// # Errors
/// [`DocumentError`] if a word is missing.
pub fn summary(voice: &Voice<'_>) -> Result<String, DocumentError> {
    let plan = voice.plan;
    let mut treatments = Vec::new();
    for treatment in &plan.treatments {
        treatments.push(self::treatment(voice, treatment)?);
    }
    let mut cautions = Vec::new();
    for caution in &plan.cautions {
        let word = format!("sheet.severity.{}", caution.severity.word());
        cautions.push(json!({
            "word": voice.words.word(&word)?,
            "code": caution.code,
            "treatment": caution.treatment,
            "text": caution_text(voice, caution)?,
        }));
    }
    let crew: Vec<&str> = plan.crew.iter().map(|m| m.name.as_str()).collect();
    let view = json!({
        "job": plan.job,
        "site": plan.site.name,
        "client": plan.client.name,
        "when": format!("{}, {}", voice.date(plan.start.date())?, voice.clock(plan.start)),
        "crew": crew.join(", "),
        "treatments": treatments,
        "sprayed_by": voice.moment(plan.sprayed_by)?,
        "wet_until": voice.moment(plan.wet_until)?,
        "reentry": voice.moment(plan.reentry)?,
        "cautions": cautions,
        "notes": plan.notes,
        "record": voice.record.number,
        "link": voice.record.link,
        "deference": voice.words.word("deference")?,
    });
    Ok(voice.words.plan_text(context! { plan => Serde(&view) })?)
}

fn treatment(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<Value, DocumentError> {
    let (words, units) = (voice.words, voice.units);
    let (_, _, meaning) = voice.dilution(treatment)?;
    let strip = match &treatment.strip {
        Some(strip) => {
            let blocks: Vec<String> = (0..strip.blocks.len())
                .map(|i| {
                    let block = voice.bare(&strip.blocks[i]);
                    if strip.passes.contains(&i) {
                        format!("[{block}]")
                    } else {
                        block
                    }
                })
                .collect();
            Some(json!({ "band": voice.band(strip)?, "blocks": blocks.join("  ") }))
        }
        None => None,
    };
    let mut loads = Vec::new();
    for load in &treatment.loads {
        loads.push(json!({
            "number": load.number,
            "water": units.water(&load.water).both(),
            "product": voice.amount(&load.product)?.both(),
            "strength": units.strength(&load.strength).main,
            "mixed_at": voice.clock(load.mixed_at),
            "empty_at": voice.clock(load.empty_at),
        }));
    }
    let areas: Vec<Value> = treatment
        .areas
        .iter()
        .map(|area| {
            json!({
                "name": area.name,
                "size": units.area(&area.size).main,
                "solution": units.solution(&area.solution).main,
                "minutes": voice.minutes(&area.spraying),
                "start": voice.clock(area.times.start),
                "wet_until": voice.clock(area.times.wet_until),
            })
        })
        .collect();
    let mut wear = Vec::new();
    for item in &treatment.equipment {
        wear.push(words.word(&format!("equipment.{}", item.item.word()))?.to_lowercase());
    }
    Ok(json!({
        "number": treatment.number,
        "title": treatment.directions.title,
        "product": treatment.product.name,
        "sprayer": treatment.sprayer.name,
        "count": treatment.sprayer.count,
        "meaning": meaning,
        "strength": units.strength(&treatment.strength.mixed).main,
        "of": super::label::measured(voice, treatment)?,
        "stated": treatment.strength.stated.as_ref().map(|s| units.strength(s).main),
        "strip": strip,
        "contact": voice.time(&treatment.directions.contact_time),
        "coverage": units.coverage(&treatment.film).both(),
        "need": units.solution(&treatment.need.total).both(),
        "need_areas": units.solution(&treatment.need.areas).main,
        "reserve": units.solution(&treatment.need.reserve).main,
        "hose": if treatment.need.hose.is_zero() { None } else { Some(units.solution(&treatment.need.hose).main) },
        "mixed": units.solution(&treatment.need.mixed).both(),
        "product_total": voice.amount(&treatment.need.product)?.both(),
        "loads": loads,
        "areas": areas,
        "spraying": voice.time(&treatment.spraying),
        "refills": treatment.refills,
        "wear": wear.join(", "),
        "rinse": treatment.rinse.as_ref().map(|r| rinse_with(voice, r)).transpose()?,
        "discard": match treatment.discard_after {
            Some(moment) => Some(voice.until(moment)?),
            None => None,
        },
    }))
}
