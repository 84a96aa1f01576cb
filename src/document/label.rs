//! Container labels: one a load, on the stock its treatment names.

use std::collections::BTreeMap;

use minijinja::context;
use serde_json::{Value, json};

use super::voice::Voice;
use super::{DocumentError, View};
use crate::catalog::Stock;
use crate::plan::{ActiveStrength, LoadPlan, TreatmentPlan};
use crate::quantity::Length;
use crate::typeset::Template;

/// The labels of one kind of stock.
#[derive(Clone, Debug)]
pub struct LabelBatch {
    /// The stock's key.
    pub stock: String,
    /// The labels, ready to be set.
    pub view: View,
}

/// What may be left off a label that is too small for everything, first dropped first. None of it is required by
/// 29 CFR 1910.1200(f)(6) or by what EPA advises for service containers.
const OPTIONAL: &[&str] = &[
    "kind",
    "contact-small",
    "dilution-small",
    "strength-small",
    "deference",
    "ghs-source",
    "lot",
    "precautions",
    "pesticide-lines",
];

/// All labels of a plan, one batch a stock. With a `second` voice each label carries what the crew must read in that
/// language too.
///
/// # Errors
/// [`DocumentError`] if a word or a statement is missing.
pub fn labels(
    voice: &Voice<'_>,
    second: Option<&Voice<'_>>,
    stocks: &BTreeMap<String, Stock>,
) -> Result<Vec<LabelBatch>, DocumentError> {
    let mut batches = Vec::new();
    for (key, stock) in stocks {
        let mut labels = Vec::new();
        for treatment in voice.plan.treatments.iter().filter(|t| t.stock == *key) {
            for load in &treatment.loads {
                let mut view = label(voice, treatment, load)?;
                view["second"] = match second {
                    Some(second) => in_second(label(second, treatment, load)?, second),
                    None => Value::Null,
                };
                labels.push(view);
            }
        }
        if labels.is_empty() {
            continue;
        }
        let plan = voice.plan;
        let data = json!({
            "lang": voice.words.language,
            "title": voice.words.say("label.title", context! { job => &plan.job })?,
            "author": plan.company.name,
            "accent": null,
            "draft": false,
            "words": voice.words.group("label.words"),
            "optional": OPTIONAL,
            "minimum_pt": 6,
            "stock": stock_view(stock),
            "labels": labels,
        });
        let stem = format!("{}-labels-{key}", plan.job);
        batches.push(LabelBatch {
            stock: key.clone(),
            view: View {
                template: Template::Label,
                stem,
                data,
            },
        });
    }
    Ok(batches)
}

/// What a label says again in its second language: words, and figures as that language writes them. What is the same in every
/// language (names, numbers, the code) is not repeated.
fn in_second(mut label: Value, second: &Voice<'_>) -> Value {
    let again = [
        "state",
        "kind",
        "container",
        "dilution",
        "strength",
        "contact",
        "pesticide",
        "ghs",
        "mixed",
        "discard",
        "deference",
    ];
    let mut said = json!({ "lang": second.words.language, "words": second.words.group("label.words") });
    for key in again {
        said[key] = label[key].take();
    }
    said
}

fn stock_view(stock: &Stock) -> Value {
    let mm = |length: &Length| length.as_metres().to_f64() * 1000.0;
    let hole = stock
        .hole
        .as_ref()
        .map(|h| json!({ "diameter_mm": mm(&h.diameter), "from_top_mm": mm(&h.from_top) }));
    json!({
        "page_width_mm": mm(&stock.page_width),
        "page_height_mm": mm(&stock.page_height),
        "label_width_mm": mm(&stock.width),
        "label_height_mm": mm(&stock.height),
        "columns": stock.columns,
        "rows": stock.rows,
        "left_mm": mm(&stock.left),
        "top_mm": mm(&stock.top),
        "gap_x_mm": mm(&stock.gap_x),
        "gap_y_mm": mm(&stock.gap_y),
        "safe_mm": if stock.per_page() > 1 { 2.0 } else { 4.0 },
        "corner_mm": 2.5,
        "hole": hole,
        "first": 1,
        "ink": "colour",
        "outline": false,
    })
}

fn label(voice: &Voice<'_>, treatment: &TreatmentPlan, load: &LoadPlan) -> Result<Value, DocumentError> {
    let words = voice.words;
    let plan = voice.plan;
    let ready = treatment.ratio.is_ready_to_use();
    let (dilution, meaning, _) = voice.dilution(treatment)?;
    let strength_small = match treatment.strip.as_ref().map(|s| voice.band(s)).transpose()?.flatten() {
        Some(band) => words.say("label.strip", context! { band })?,
        None => words.say("label.calculated", context! { of => measured(voice, treatment)? })?,
    };
    let pesticide = {
        let said = if ready { "label.undiluted" } else { "label.diluted" };
        json!({
            "heading": words.word("label.pesticide_heading")?,
            "signal": treatment.product.label_signal.map(|s| s.word()),
            "child": words.word("label.child")?,
            "lines": [words.word(said)?, words.word("label.not_drink")?],
        })
    };
    let discard = match load.discard_after {
        Some(moment) => Some(voice.until(moment)?),
        None => None,
    };
    Ok(json!({
        "product": treatment.product.name,
        "state": words.word(if ready { "label.state_ready" } else { "label.state" })?,
        "kind": words.word(&format!("kinds.{}", treatment.product.kind.word()))?,
        "container": container(voice, treatment, load)?,
        "dilution": { "big": dilution, "small": meaning },
        "strength": { "big": voice.units.strength(&load.strength).main, "small": strength_small },
        "contact": {
            "big": voice.time(&treatment.directions.contact_time),
            "small": words.word(&format!("surfaces.{}", surface_word(treatment)))?,
        },
        "pesticide": pesticide,
        "ghs": super::hazards::hazards(voice, treatment)?,
        "actives": actives(voice, treatment),
        "registration": treatment.product.registration,
        "mixed": { "date": voice.date(plan.start.date())?, "time": null, "by": null },
        "discard": discard,
        "lot": null,
        "firm": {
            "name": plan.company.name,
            "address": plan.company.address,
            "phone": plan.company.phone,
            "emergency": plan.company.emergency_phone,
        },
        "deference": words.word("deference")?,
        "record": voice.record.number,
        "qr": voice.qr()?,
    }))
}

/// `Mister A · load 2 of 3`
fn container(voice: &Voice<'_>, treatment: &TreatmentPlan, load: &LoadPlan) -> Result<String, DocumentError> {
    let blanks = context! {
        sprayer => &treatment.sprayer.name,
        which => load.sprayer,
        load => load.number,
        loads => treatment.loads.len(),
    };
    let key = if treatment.sprayer.count > 1 {
        "container_of"
    } else {
        "container"
    };
    Ok(voice.words.say(key, blanks)?)
}

pub(super) fn measured(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<String, DocumentError> {
    use crate::plan::Measured;
    let key = match treatment.strength.of {
        Measured::Actives => "measured.actives",
        Measured::AvailableChlorine => "measured.available-chlorine",
    };
    Ok(voice.words.word(key)?.to_owned())
}

pub(super) fn surface_word(treatment: &TreatmentPlan) -> &'static str {
    use crate::catalog::Surface;
    match treatment.directions.surface {
        Surface::Hard => "hard",
        Surface::FoodContact => "food-contact",
    }
}

/// Each active with its share of the use solution.
fn actives(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Vec<Value> {
    let shown = |a: &ActiveStrength| json!({ "name": a.name, "content": voice.units.percent(&a.share).main });
    treatment.strength.actives.iter().map(shown).collect()
}
