//! What a service log has to say of a plan: a line for every load and every area, with the blanks that the plan asks for.

use serde::Serialize;

use super::Said;
use super::voice::Voice;
use crate::job::Job;
use crate::plan::{LoadPlan, StripPlan, TreatmentPlan};

#[derive(Debug, Serialize)]
pub struct BlankLog {
    pub job: String,
    pub site: String,
    pub start: String,
    pub crew: String,
    pub treatments: Vec<BlankTreatment>,
}

#[derive(Debug, Serialize)]
pub struct BlankTreatment {
    pub number: usize,
    pub title: String,
    pub product: String,
    pub loads: Vec<BlankLoad>,
    pub areas: Vec<String>,
    /// The blocks of its strip, where it has one.
    pub strip: Option<String>,
    /// Whether the lot of the strip is asked for.
    pub strip_lot: bool,
    /// Whether the plan asks to wet again.
    pub rewets: bool,
    pub rinsed: bool,
}

#[derive(Debug, Serialize)]
pub struct BlankLoad {
    pub number: usize,
    pub water: String,
    /// Empty where the product is ready to use.
    pub product: String,
}

/// The blanks of a job's log.
pub fn blank_log(voice: &Voice<'_>, job: &Job) -> Said<BlankLog> {
    let plan = voice.plan;
    let treatments = plan.treatments.iter().zip(&job.treatments);
    Ok(BlankLog {
        job: plan.job.clone(),
        site: plan.site.name.clone(),
        start: plan.start.strftime("%Y-%m-%dT%H:%M").to_string(),
        crew: voice.crew(),
        treatments: treatments
            .map(|(plan, written)| {
                let lots = written.product.strip.as_ref().map(|strip| &strip.lots);
                treatment(voice, plan, lots.is_some_and(|lots| !lots.is_empty()))
            })
            .collect::<Said<_>>()?,
    })
}

fn treatment(voice: &Voice<'_>, treatment: &TreatmentPlan, strip_lot: bool) -> Said<BlankTreatment> {
    let load = |load: &LoadPlan| {
        Ok(BlankLoad {
            number: load.number,
            water: voice.units.water(if load.water.is_zero() { &load.solution } else { &load.water }).main,
            product: if load.water.is_zero() { String::new() } else { voice.dose(&load.product)?.main },
        })
    };
    let blocks = |strip: &StripPlan| {
        let blocks: Vec<String> = strip.blocks.iter().map(|block| voice.bare(block)).collect();
        blocks.join(", ")
    };
    Ok(BlankTreatment {
        number: treatment.number,
        title: treatment.directions.title.clone(),
        product: treatment.product.name.clone(),
        loads: treatment.loads.iter().map(load).collect::<Said<_>>()?,
        areas: treatment.areas.iter().map(|area| area.name.clone()).collect(),
        strip: treatment.strip.as_ref().map(blocks),
        strip_lot,
        rewets: treatment.wetness.as_ref().is_some_and(|wetness| wetness.applications > 1),
        rinsed: treatment.rinse.is_some(),
    })
}
