//! The label of a container that somebody just filled: what nobody said of it is a line to write on, and as there is no record of
//! it, no code leads to one.

use minijinja::context;
use serde_json::{Value, json};

use super::voice::Voice;
use super::{Said, View};
use crate::calc::Amount;

/// What is known of it.
pub struct FilledNow<'a> {
    /// Who mixed it.
    pub by: Option<&'a str>,
    /// Whether the plan's time is when it was mixed; else nobody knows it.
    pub is_mixed: bool,
    /// Whether it is known what it holds; else the dilution alone is.
    pub is_sized: bool,
}

/// Puts it on the labels of a view.
pub fn label_of_now(
    view: &mut View,
    voice: &Voice<'_>,
    second: Option<&Voice<'_>>,
    filled: &FilledNow<'_>,
) -> Said<()> {
    let product = voice.plan.treatments.first().map_or("", |treatment| treatment.product.name.as_str());
    view.data["title"] = json!(voice.say("label.title_now", context! { product })?);
    view.stem = view.stem.replacen("-labels", "", 1);
    for label in view.data["labels"].as_array_mut().into_iter().flatten() {
        put_on(label, voice, filled)?;
        if let Some(second) = second {
            put_on(&mut label["second"], second, filled)?;
        }
        label["by"] = json!(filled.by);
        label["record"] = Value::Null;
        label["qr"] = Value::Null;
    }
    Ok(())
}

fn put_on(label: &mut Value, voice: &Voice<'_>, filled: &FilledNow<'_>) -> Said<()> {
    let Some(treatment) = voice.plan.treatments.first() else { return Ok(()) };
    let Some(load) = treatment.loads.first() else { return Ok(()) };
    if filled.is_mixed {
        label["mixed"] = json!(voice.until(load.mixed_at)?);
        label["discard"] = json!(load.discard_after.map(|moment| voice.until(moment)).transpose()?);
    }
    label["container"] = json!(if filled.is_sized { &treatment.filled.name } else { &treatment.directions.title });
    if filled.is_sized && load.product != Amount::None {
        let amounts = [voice.dose(&load.product)?.main, voice.units.water(&load.water).main];
        let [product, water] = amounts.map(|amount| amount.replace(' ', "\u{a0}"));
        label["mix"] = json!(voice.say("label.mix", context! { product, water })?);
    }
    Ok(())
}
