//! The steps of a treatment, in their order.

use minijinja::context;

use super::first_in;
use crate::company::{Method, Surface};
use crate::document::Said;
use crate::document::voice::Voice;
use crate::plan::{Caution, Floor, Reentry, TreatmentPlan, whole_minute};
use crate::quantity::Basis;

pub(super) fn steps(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Vec<String>> {
    let signs = treatment.floor() == Floor::Wet;
    let mut steps = vec![check(voice, treatment)?];
    if signs {
        steps.push(voice.word("steps.signs")?);
    }
    let held = held(voice, treatment)?;
    steps.push(match &treatment.mixed_in {
        Some(_) => {
            let (count, container) = (treatment.containers(), &treatment.filled.name);
            voice.say("steps.label_poured", context! { count, container })?
        }
        None => voice.say("steps.label", context! { held => &held })?,
    });
    steps.extend(voice.each("steps", &["wear", "clean"])?);
    let changes = |caution: &Caution| caution.code == "rinse-tank" && caution.treatment == Some(treatment.number);
    if treatment.tank_rinsed || voice.plan.cautions.iter().any(changes) {
        steps.push(voice.word("steps.rinse_tank")?);
    }
    steps.extend(mixing(voice, treatment, &held)?);
    steps.push(match voice.band_of(treatment)? {
        Some(band) => voice.say("steps.strip", context! { band })?,
        None if treatment.strip.is_some() => voice.word("steps.strip_cannot_show")?,
        None => voice.word("steps.no_strip")?,
    });
    if let Some(vessel) = &treatment.mixed_in {
        let (count, container) = (treatment.containers(), &treatment.filled.name);
        steps.push(voice.say("steps.pour", context! { count, container, vessel => &vessel.name })?);
    }
    let method = voice.word(&format!("steps.methods.{}", treatment.sprayer.method.word()))?;
    steps.push(voice.say("steps.apply", context! { method })?);
    steps.push(wet(voice, treatment)?);
    if let Some(rinse) = &treatment.rinse {
        let food = treatment.directions.surface == Surface::FoodContact;
        let key = if food { "steps.rinse" } else { "steps.rinse_other" };
        let contact = voice.time(&treatment.directions.contact_time);
        steps.push(voice.say(key, context! { contact, rinse => voice.rinse_with(rinse)? })?);
    }
    if treatment.floor() == Floor::Drips {
        steps.push(voice.word("steps.drips")?);
    }
    if signs {
        steps.push(match treatment.floor_dry {
            Some(dry) => voice.say("steps.signs_until", context! { until => voice.moment(dry)? })?,
            None => voice.word("steps.signs_in")?,
        });
    }
    if let Some(air) = &treatment.air {
        // The crew may have work there once the mist has cleared; everyone else waits for the whole site's time.
        let at = whole_minute(air.clear_at);
        let key = match voice.plan.reentry {
            Reentry::At(reentry) if at < whole_minute(reentry) => "steps.air_first",
            Reentry::At(_) => "steps.air",
            Reentry::NotKnown => "steps.air_not_known",
        };
        let reentry = voice.reentry(voice.plan.reentry)?;
        steps.push(voice.say(key, context! { at => voice.moment(at)?, reentry })?);
    } else if treatment.sprayer.airborne().is_some() && voice.plan.reentry == Reentry::NotKnown {
        steps.push(voice.word("steps.reentry_not_known")?);
    }
    steps.push(match treatment.discard_after {
        Some(moment) => voice.say("steps.discard", context! { moment => voice.until(moment)? })?,
        None => voice.word("steps.discard_today")?,
    });
    Ok(steps)
}

/// What is compared before anything is opened.
fn check(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said {
    let product = &treatment.product.name;
    match voice.registered(treatment.product.registration.as_deref())? {
        Some(registration) => voice.say("steps.check", context! { product, registration }),
        None => voice.say("steps.check_unregistered", context! { product }),
    }
}

/// What is mixed in where no vessel is named: a bottle, a bucket or a tank.
pub(super) fn held(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said {
    let sprayer = &treatment.sprayer;
    voice.word(match sprayer.method {
        Method::Wipe | Method::Mop => "steps.held.bucket",
        _ if sprayer.is_bottle() => "steps.held.bottle",
        _ => "steps.held.tank",
    })
}

/// Water first, then product; a ready-to-use product alone.
fn mixing(voice: &Voice<'_>, treatment: &TreatmentPlan, held: &str) -> Said<Vec<String>> {
    let Some(load) = treatment.loads.first() else {
        return Ok(Vec::new());
    };
    if treatment.ratio.is_ready_to_use() {
        return Ok(vec![voice.say("steps.ready", context! { held })?]);
    }
    let water = first_in(voice, load).both();
    let product = voice.dose(&load.product)?.both();
    let mut steps = vec![
        match &treatment.mixed_in {
            Some(vessel) => voice.say("steps.water_in", context! { water, vessel => &vessel.name })?,
            None => voice.say("steps.water", context! { water, held })?,
        },
        voice.say("steps.product", context! { product })?,
    ];
    if treatment.basis() == Some(Basis::MadeUpTo) {
        let solution = voice.units.measured_water(&load.solution).both();
        steps.push(voice.say("steps.top_up", context! { solution })?);
    }
    Ok(steps)
}

/// How a surface is kept wet: once and looked after, or wetted again at intervals.
fn wet(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said {
    let contact = voice.time(&treatment.directions.contact_time);
    match treatment.wetness.as_ref().and_then(|w| Some((w.applications, w.every.as_ref()?))) {
        Some((applications, every)) => {
            voice.say("steps.wet_again", context! { contact, every => voice.time(every), applications })
        }
        None => voice.say("steps.wet", context! { contact }),
    }
}
