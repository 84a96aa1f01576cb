//! The plan as the terminal shows it.

use minijinja::context;
use minijinja::value::Serde;
use serde_json::{Value, json};

use super::DocumentError;
use super::facts::{caution_text, rinse_with};
use super::voice::Voice;
use crate::plan::{Caution, TreatmentPlan};

/// The plan as text.
///
/// # Errors
/// [`DocumentError`] if a word is missing.
pub fn summary(voice: &Voice<'_>) -> Result<String, DocumentError> {
    let (plan, words) = (voice.plan, voice.words);
    let mut treatments = Vec::new();
    for treatment in &plan.treatments {
        treatments.push(self::treatment(voice, treatment)?);
    }
    let cautions: Result<Vec<String>, _> = plan.cautions.iter().map(|c| caution_line(voice, c)).collect();
    let notes: Result<Vec<String>, _> =
        plan.notes.iter().map(|note| words.say("terminal.note", context! { note })).collect();
    let crew: Vec<&str> = plan.crew.iter().map(|m| m.name.as_str()).collect();
    let when = format!("{}, {}", voice.date(plan.start.date())?, voice.clock(plan.start));
    let occasion = context! { when, client => &plan.client.name, crew => crew.join(", ") };
    let ends = context! {
        sprayed => voice.moment(plan.sprayed_by)?,
        wet => voice.moment(plan.wet_until)?,
        reentry => voice.reentry(plan.reentry)?,
    };
    let record = context! { record => &voice.record.number, link => &voice.record.link };
    let view = json!({
        "heading": words.say("terminal.heading", context! { job => &plan.job, site => &plan.site.name })?,
        "occasion": words.say("terminal.occasion", occasion)?,
        "treatments": treatments,
        "ends": words.say("terminal.ends", ends)?,
        "cautions": cautions?,
        "notes": notes?,
        "record": words.say("terminal.record", record)?,
        "deference": words.word("deference")?,
    });
    let columns = words.group("terminal.columns");
    Ok(words.plan_text(context! { plan => Serde(&view), columns => Serde(&columns) })?)
}

fn caution_line(voice: &Voice<'_>, caution: &Caution) -> Result<String, DocumentError> {
    let words = voice.words;
    let word = words.word(&format!("sheet.severity.{}", caution.severity.word()))?;
    let key = match caution.treatment {
        Some(_) => "terminal.caution_of",
        None => "terminal.caution",
    };
    let text = caution_text(voice, caution)?;
    Ok(words.say(key, context! { word, text, code => caution.code, treatment => caution.treatment })?)
}

fn treatment(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<Value, DocumentError> {
    let (words, units) = (voice.words, voice.units);
    let mut loads = Vec::new();
    for load in &treatment.loads {
        loads.push(json!({
            "number": load.number,
            "water": units.water(&load.water).both(),
            "product": voice.dose(&load.product)?.both(),
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
    let facts = facts(voice, treatment)?;
    let title = &treatment.directions.title;
    let hazards = hazards(voice, treatment)?;
    Ok(json!({
        "hazards": hazards,
        "heading": words.say("terminal.treatment", context! { number => treatment.number, title })?,
        "facts": facts,
        "loads": loads,
        "areas": areas,
    }))
}

/// What stands above the tables, in two groups; each fact with its caption.
fn facts(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<[Vec<Value>; 2], DocumentError> {
    let (words, units) = (voice.words, voice.units);
    let fact = |key: &str, text: String| -> Result<Value, DocumentError> {
        let caption = words.word(&format!("terminal.captions.{key}"))?;
        Ok(json!({ "caption": caption, "text": text }))
    };
    let sprayer = &treatment.sprayer;
    let with = match sprayer.count {
        0 | 1 => sprayer.name.clone(),
        count => words.say("terminal.several", context! { count, sprayer => &sprayer.name })?,
    };
    let what = vec![fact("product", treatment.product.name.clone())?, fact("with", with)?];

    let (_, _, meaning) = voice.dilution(treatment)?;
    let mixed = units.strength(&treatment.strength.mixed).main;
    let of = super::label::measured(voice, treatment)?;
    let stated = treatment.strength.stated.as_ref().map(|s| units.strength(s).main);
    let key = if stated.is_some() { "terminal.stated" } else { "terminal.strength" };
    let strength = words.say(key, context! { strength => mixed, of, stated })?;
    let mut work = vec![fact("dilution", meaning)?, fact("strength", strength)?];
    if let Some(strip) = &treatment.strip {
        let blocks = (0..strip.blocks.len()).map(|i| {
            let block = voice.bare(&strip.blocks[i]);
            if strip.passes.contains(&i) { format!("[{block}]") } else { block }
        });
        let blocks = blocks.collect::<Vec<_>>().join("  ");
        let text = match voice.band(strip)? {
            Some(band) => words.say("terminal.passes", context! { band, blocks })?,
            None => words.say("terminal.off_scale", context! { blocks })?,
        };
        work.push(fact("strip", text)?);
    }
    work.push(fact("wet", voice.time(&treatment.directions.contact_time))?);
    work.push(fact("coverage", units.coverage(&treatment.film).both())?);
    if let Some(wetness) = wetness(voice, treatment)? {
        work.push(fact("wetness", wetness)?);
    }
    work.push(fact("need", need(voice, treatment)?)?);
    let need = &treatment.need;
    let product = voice.amount(&need.product)?.both();
    let blanks = context! { mixed => units.solution(&need.mixed).both(), product };
    work.push(fact("mixed", words.say("terminal.mixed", blanks)?)?);
    let refills = treatment.refills;
    let key = if refills == 1 { "terminal.refill" } else { "terminal.refills" };
    let spraying = voice.time(&treatment.spraying);
    work.push(fact("spraying", words.say(key, context! { spraying, refills })?)?);
    let mut wear = Vec::new();
    for item in &treatment.equipment {
        wear.push(words.word(&format!("equipment.{}", item.item.word()))?.to_lowercase());
    }
    work.push(fact("wear", wear.join(", "))?);
    if let Some(rinse) = &treatment.rinse {
        work.push(fact("rinse", rinse_with(voice, rinse)?)?);
    }
    if let Some(air) = &treatment.air {
        let blanks = context! { at => voice.moment(air.clear_at)?, takes => voice.time(&air.takes) };
        work.push(fact("air", words.say("terminal.air", blanks)?)?);
    }
    if let Some(dry) = treatment.floor_dry {
        work.push(fact("floor", words.say("terminal.floor", context! { at => voice.moment(dry)? })?)?);
    }
    if let Some(moment) = treatment.discard_after {
        let text = words.say("terminal.discard", context! { moment => voice.until(moment)? })?;
        work.push(fact("discard", text)?);
    }
    Ok([what, work])
}

/// `27.2 gal (103 L): areas 25.8 gal, reserve 1.29 gal, hose 16 fl oz`
fn need(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<String, DocumentError> {
    let need = &treatment.need;
    let mut parts = Vec::new();
    for (key, volume) in
        [("areas", &need.areas), ("rewet", &need.rewet), ("reserve", &need.reserve), ("hose", &need.hose)]
    {
        if key == "areas" || !volume.is_zero() {
            let volume = voice.units.solution(volume).main;
            parts.push(voice.words.say(&format!("terminal.needs.{key}"), context! { volume })?);
        }
    }
    let total = voice.units.solution(&need.total).both();
    Ok(voice.words.say("terminal.need", context! { total, parts => parts.join(", ") })?)
}

/// How often it is wetted, by estimate.
fn wetness(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<Option<String>, DocumentError> {
    let Some(wetness) = &treatment.wetness else {
        return Ok(None);
    };
    let Some(dries) = &wetness.dries_after else {
        return Ok(None);
    };
    let dries = voice.time(dries);
    let said = match &wetness.every {
        Some(every) => {
            let blanks = context! { dries, every => voice.time(every), applications => wetness.applications };
            voice.words.say("terminal.wet_again", blanks)?
        }
        None => voice.words.say("terminal.stays_wet", context! { dries })?,
    };
    Ok(Some(said))
}

/// What the label shows, and why the mixture rules find what they find: one line a reason.
fn hazards(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<Vec<String>, DocumentError> {
    let (words, shown) = (voice.words, &treatment.hazards);
    let listed = |names: Vec<String>| -> Result<String, DocumentError> {
        Ok(if names.is_empty() { words.word("nothing_found")?.to_owned() } else { names.join(", ") })
    };
    let source = words.word(&format!("terminal.hazard_sources.{}", shown.source.word()))?;
    let classes = listed(shown.classes.iter().map(ToString::to_string).collect())?;
    let mut lines = vec![words.say("terminal.hazards", context! { classes, source })?];
    let Some(computed) = &shown.computed else {
        return Ok(lines);
    };
    let classes = listed(computed.hazards().iter().map(ToString::to_string).collect())?;
    let rules = computed.classification.rules.to_string();
    lines.push(words.say("terminal.computed", context! { classes, rules })?);
    let found = computed.classification.hazards.iter().chain(&computed.aquatic);
    for (hazard, reason) in found.flat_map(|f| f.why.iter().map(move |reason| (f.hazard, reason))) {
        let parts: Vec<String> =
            reason.parts.iter().map(|p| format!("{} {}", p.ingredient, voice.units.percent(&p.share).main)).collect();
        let figures = format!(
            "{} : {} {}",
            voice.units.count(&reason.value).main,
            voice.units.count(&reason.threshold).main,
            reason.unit
        );
        let read_in = match reason.is_read_in_the_rule() {
            true => String::new(),
            false => words.say("terminal.read_in", context! { source => reason.read_in })?,
        };
        lines.push(format!("{hazard} · {figures} · {}{read_in} · {}", reason.rule, parts.join(", ")));
    }
    Ok(lines)
}
