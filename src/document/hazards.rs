//! The hazard block of a label: signal word, pictograms, statements, and where they are from.

use minijinja::context;
use serde_json::{Value, json};

use super::DocumentError;
use super::voice::Voice;
use crate::catalog::Equipment;
use crate::ghs::{Gear, Kind, Language, Pictogram, RuleSet, Signal, Slots, label, text};
use crate::plan::{HazardSource, TreatmentPlan};

/// The rules a label follows: United States, where nothing else can be chosen yet.
const RULES: RuleSet = RuleSet::UnitedStates;

pub(super) fn hazards(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<Value, DocumentError> {
    let words = voice.words;
    let shown = &treatment.hazards;
    let date = voice.date(shown.revised)?;
    let (heading, source) = match shown.source {
        HazardSource::UseSolution | HazardSource::NotClassified => ("label.ghs_heading", "label.source_sds"),
        HazardSource::Concentrate => ("label.ghs_concentrate", "label.source_concentrate"),
        HazardSource::Product => ("label.ghs_product", "label.source_product"),
    };
    if shown.classes.is_empty() {
        let key = if shown.source == HazardSource::NotClassified {
            "label.not_classified"
        } else {
            "label.no_hazards"
        };
        return Ok(json!({
            "heading": words.word(heading)?,
            "signal": null,
            "pictograms": [],
            "hazards": [words.say(key, context! { date })?],
            "precautions": [],
            "source": null,
        }));
    }
    let missing = |e: String| DocumentError::Statement(e);
    let elements = label(&shown.classes, RULES).map_err(|e| missing(e.to_string()))?;
    let language = Language::from_tag(words.language).unwrap_or(Language::English);
    let slots = Slots {
        gear: gear(&treatment.equipment),
        ..Slots::default()
    };
    let said = |code: &str| text(code, language, RULES, &slots).map_err(|e| missing(e.to_string()));
    let statements: Result<Vec<String>, _> = elements.hazard_statements.iter().map(|code| said(code)).collect();
    let mut precautions = Vec::new();
    // A use solution is made, used up and thrown away: storage and disposal are the product label's matter, and come last.
    for kind in [Kind::Response, Kind::Prevention, Kind::Storage, Kind::Disposal] {
        for precaution in elements.precautions.iter().filter(|p| p.kind == kind) {
            precautions.push(lead(&said(precaution.code)?));
        }
    }
    let mut pictograms = Vec::new();
    for pictogram in &elements.pictograms {
        let name = drawing(*pictogram);
        pictograms.push(json!({ "name": name, "alt": words.word(&format!("pictograms.{name}"))? }));
    }
    let signal = match elements.signal {
        Some(Signal::Danger) => Some(words.word("signal.danger")?),
        Some(Signal::Warning) => Some(words.word("signal.warning")?),
        None => None,
    };
    Ok(json!({
        "heading": words.word(heading)?,
        "signal": signal,
        "pictograms": pictograms,
        "hazards": statements?,
        "precautions": precautions,
        "source": words.say(source, context! { date })?,
    }))
}

/// `IF IN EYES: Rinse …` with its first words set apart.
fn lead(statement: &str) -> Value {
    match statement.split_once(": ") {
        Some((lead, text)) if lead.len() < 40 => json!({ "lead": format!("{lead}:"), "text": text }),
        _ => json!({ "text": statement }),
    }
}

/// What P280 names, from what is worn.
fn gear(equipment: &[Equipment]) -> Vec<Gear> {
    let mut gear: Vec<Gear> = equipment
        .iter()
        .filter_map(|item| match item {
            Equipment::Gloves => Some(Gear::Gloves),
            Equipment::Goggles => Some(Gear::Eyes),
            Equipment::FaceShield => Some(Gear::Face),
            Equipment::Suit | Equipment::Apron => Some(Gear::Clothing),
            Equipment::Respirator | Equipment::Boots | Equipment::Mask => None,
        })
        .collect();
    gear.sort_unstable();
    gear.dedup();
    gear
}

/// The drawing of a pictogram, as templates and the language file name it.
fn drawing(pictogram: Pictogram) -> &'static str {
    match pictogram {
        Pictogram::ExplodingBomb => "exploding-bomb",
        Pictogram::Flame => "flame",
        Pictogram::FlameOverCircle => "flame-over-circle",
        Pictogram::GasCylinder => "gas-cylinder",
        Pictogram::Corrosion => "corrosion",
        Pictogram::SkullAndCrossbones => "skull",
        Pictogram::ExclamationMark => "exclamation",
        Pictogram::HealthHazard => "health-hazard",
        Pictogram::Environment => "environment",
    }
}
