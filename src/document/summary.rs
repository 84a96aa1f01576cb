//! The plan as the terminal shows it.

use minijinja::context;
use minijinja::value::Serde;
use serde::Serialize;

use super::Said;
use super::parts::{AreaRow, area_rows};
use super::voice::Voice;
use crate::plan::{Caution, LoadPlan, TreatmentPlan};

/// What `templates/terminal/plan.txt` is given: sentences, and the rows of its tables.
#[derive(Serialize)]
struct Summary {
    heading: String,
    occasion: String,
    treatments: Vec<Treatment>,
    ends: String,
    cautions: Vec<String>,
    notes: Vec<String>,
    record: String,
    deference: String,
}

#[derive(Serialize)]
struct Treatment {
    hazards: Vec<String>,
    heading: String,
    /// What stands above the tables, in two groups.
    facts: [Vec<Fact>; 2],
    loads: Vec<Load>,
    areas: Vec<AreaRow>,
}

#[derive(Serialize)]
struct Fact {
    caption: String,
    text: String,
}

#[derive(Serialize)]
struct Load {
    number: usize,
    water: String,
    product: String,
    strength: String,
    mixed_at: String,
    empty_at: String,
}

/// The plan as text.
pub fn summary(voice: &Voice<'_>) -> Said {
    let plan = voice.plan;
    let when = format!("{}, {}", voice.date(plan.start.date())?, voice.clock(plan.start)?);
    let occasion = context! { when, client => &plan.client.name, crew => voice.crew() };
    let ends = context! {
        sprayed => voice.moment(plan.sprayed_by)?,
        wet => voice.moment(plan.wet_until)?,
        reentry => voice.reentry(plan.reentry)?,
    };
    let record = context! { record => &voice.record.number, link => &voice.record.link };
    let notes = plan.notes.iter().map(|note| voice.say("terminal.note", context! { note }));
    let view = Summary {
        heading: voice.say("terminal.heading", context! { job => &plan.job, site => &plan.site.name })?,
        occasion: voice.say("terminal.occasion", occasion)?,
        treatments: plan.treatments.iter().map(|t| treatment(voice, t)).collect::<Said<_>>()?,
        ends: voice.say("terminal.ends", ends)?,
        cautions: plan.cautions.iter().map(|c| caution_line(voice, c)).collect::<Said<_>>()?,
        notes: notes.collect::<Said<_>>()?,
        record: voice.say("terminal.record", record)?,
        deference: voice.word("deference")?,
    };
    let columns = voice.words.group("terminal.columns");
    Ok(voice.words.plan_text(context! { plan => Serde(&view), columns => Serde(&columns) })?)
}

/// The cautions of a plan that are to be known before anything of it is used, as messages.
pub fn urgent_cautions(voice: &Voice<'_>) -> Said<Vec<String>> {
    let urgent = voice.plan.cautions.iter().filter(|caution| caution.concerns_labels());
    urgent.map(|caution| Ok(format!("caution[{}]: {}", caution.code, voice.caution(caution)?))).collect()
}

fn caution_line(voice: &Voice<'_>, caution: &Caution) -> Said {
    let word = voice.word(&format!("sheet.severity.{}", caution.severity.word()))?;
    let key = if caution.treatment.is_some() { "terminal.caution_of" } else { "terminal.caution" };
    let text = voice.caution(caution)?;
    voice.say(key, context! { word, text, code => caution.code, treatment => caution.treatment })
}

fn treatment(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Treatment> {
    let load = |load: &LoadPlan| {
        Ok(Load {
            number: load.number,
            water: voice.units.measured_water(&load.water).both(),
            product: voice.dose(&load.product)?.both(),
            strength: voice.units.strength(&load.strength).main,
            mixed_at: voice.clock(load.mixed_at)?,
            empty_at: voice.clock(load.empty_at)?,
        })
    };
    let heading = context! { number => treatment.number, title => &treatment.directions.title };
    Ok(Treatment {
        hazards: hazards(voice, treatment)?,
        heading: voice.say("terminal.treatment", heading)?,
        facts: [what(voice, treatment)?, work(voice, treatment)?],
        loads: treatment.loads.iter().map(load).collect::<Said<_>>()?,
        areas: area_rows(voice, treatment)?,
    })
}

fn fact(voice: &Voice<'_>, key: &str, text: String) -> Said<Fact> {
    Ok(Fact { caption: voice.word(&format!("terminal.captions.{key}"))?, text })
}

/// What is applied, and with what.
fn what(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Vec<Fact>> {
    let sprayer = &treatment.sprayer;
    let with = match sprayer.count {
        0 | 1 => sprayer.name.clone(),
        count => voice.say("terminal.several", context! { count, sprayer => &sprayer.name })?,
    };
    Ok(vec![fact(voice, "product", treatment.product.name.clone())?, fact(voice, "with", with)?])
}

/// How it is mixed and applied, and what follows.
fn work(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Vec<Fact>> {
    let units = voice.units;
    let (_, _, dilution) = voice.dilution(treatment)?;
    let mut all = vec![("dilution", dilution), ("strength", strength(voice, treatment)?)];
    if let Some(strip) = &treatment.strip {
        let block = |(i, block)| {
            let block = voice.bare(block);
            if strip.passes.contains(&i) { format!("[{block}]") } else { block }
        };
        let blocks = strip.blocks.iter().enumerate().map(block).collect::<Vec<_>>().join("  ");
        all.push(match voice.band(strip)? {
            Some(band) => ("strip", voice.say("terminal.passes", context! { band, blocks })?),
            None => ("strip", voice.say("terminal.off_scale", context! { blocks })?),
        });
    }
    all.push(("wet", voice.time(&treatment.directions.contact_time)));
    all.push(("coverage", units.coverage(&treatment.film).both()));
    all.extend(wetness(voice, treatment)?.map(|text| ("wetness", text)));
    all.push(("need", need(voice, treatment)?));
    let mixed = units.solution(&treatment.need.mixed).both();
    let product = voice.amount(&treatment.need.product)?.both();
    all.push(("mixed", voice.say("terminal.mixed", context! { mixed, product })?));
    let refills = treatment.refills;
    let key = if refills == 1 { "terminal.refill" } else { "terminal.refills" };
    let spraying = voice.time(&treatment.spraying);
    all.push(("spraying", voice.say(key, context! { spraying, refills })?));
    let items: Vec<&str> = treatment.equipment.iter().map(|worn| worn.item.word()).collect();
    all.push(("wear", voice.each("equipment", &items)?.join(", ").to_lowercase()));
    if let Some(rinse) = &treatment.rinse {
        all.push(("rinse", voice.rinse_with(rinse)?));
    }
    if let Some(air) = &treatment.air {
        let blanks = context! { at => voice.moment(air.clear_at)?, takes => voice.time(&air.takes) };
        all.push(("air", voice.say("terminal.air", blanks)?));
    }
    if let Some(dry) = treatment.floor_dry {
        all.push(("floor", voice.say("terminal.floor", context! { at => voice.moment(dry)? })?));
    }
    if let Some(moment) = treatment.discard_after {
        all.push(("discard", voice.say("terminal.discard", context! { moment => voice.until(moment)? })?));
    }
    all.into_iter().map(|(key, text)| fact(voice, key, text)).collect()
}

fn strength(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said {
    let strength = voice.units.strength(&treatment.strength.mixed).main;
    let stated = treatment.strength.stated.as_ref().map(|s| voice.units.strength(s).main);
    let key = if stated.is_some() { "terminal.stated" } else { "terminal.strength" };
    voice.say(key, context! { strength, of => voice.measured(treatment)?, stated })
}

/// `27.2 gal (103 L): areas 25.8 gal, reserve 1.29 gal, hose 16 fl oz`
fn need(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said {
    let need = &treatment.need;
    let mut parts = Vec::new();
    for (key, volume) in
        [("areas", &need.areas), ("rewet", &need.rewet), ("reserve", &need.reserve), ("hose", &need.hose)]
    {
        if key == "areas" || !volume.is_zero() {
            let volume = voice.units.solution(volume).main;
            parts.push(voice.say(&format!("terminal.needs.{key}"), context! { volume })?);
        }
    }
    let total = voice.units.solution(&need.total).both();
    voice.say("terminal.need", context! { total, parts => parts.join(", ") })
}

/// How often it is wetted, by estimate.
fn wetness(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Option<String>> {
    let Some((wetness, dries)) = treatment.wetness.as_ref().and_then(|w| Some((w, w.dries_after.as_ref()?))) else {
        return Ok(None);
    };
    let dries = voice.time(dries);
    let text = match &wetness.every {
        Some(every) => {
            let blanks = context! { dries, every => voice.time(every), applications => wetness.applications };
            voice.say("terminal.wet_again", blanks)?
        }
        None => voice.say("terminal.stays_wet", context! { dries })?,
    };
    Ok(Some(text))
}

/// What the label shows, and why the mixture rules find what they find: one line a reason.
fn hazards(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Vec<String>> {
    let shown = &treatment.hazards;
    let listed = |names: Vec<String>| if names.is_empty() { voice.word("nothing_found") } else { Ok(names.join(", ")) };
    let source = voice.word(&format!("terminal.hazard_sources.{}", shown.source.word()))?;
    let classes = listed(shown.classes.iter().map(ToString::to_string).collect())?;
    let mut lines = vec![voice.say("terminal.hazards", context! { classes, source })?];
    let Some(computed) = &shown.computed else {
        return Ok(lines);
    };
    let classes = listed(computed.hazards().iter().map(ToString::to_string).collect())?;
    let rules = computed.classification.rules.to_string();
    lines.push(voice.say("terminal.computed", context! { classes, rules })?);
    let found = computed.classification.hazards.iter().chain(&computed.aquatic);
    for (hazard, reason) in found.flat_map(|f| f.why.iter().map(move |reason| (f.hazard, reason))) {
        let parts = reason.parts.iter().map(|p| format!("{} {}", p.ingredient, voice.units.percent(&p.share).main));
        let parts = parts.collect::<Vec<_>>().join(", ");
        let (value, threshold) = (voice.units.count(&reason.value).main, voice.units.count(&reason.threshold).main);
        let read_in = if reason.is_read_in_the_rule() {
            String::new()
        } else {
            voice.say("terminal.read_in", context! { source => reason.read_in })?
        };
        let (unit, rule) = (reason.unit, reason.rule);
        lines.push(format!("{hazard} · {value} : {threshold} {unit} · {rule}{read_in} · {parts}"));
    }
    Ok(lines)
}
