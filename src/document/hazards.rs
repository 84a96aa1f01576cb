//! The hazard block of a label: signal word, pictograms, statements, and where they are from.

use minijinja::context;
use serde_json::{Value, json};

use super::DocumentError;
use super::voice::Voice;
use crate::catalog::Equipment;
use crate::ghs::{Gear, Kind, Note, Pictogram, RuleSet, Signal, Slots, label, text};
use crate::plan::{HazardSource, TreatmentPlan};
use crate::quantity::Share;

pub(super) fn hazards(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<Value, DocumentError> {
    let words = voice.words;
    let shown = &treatment.hazards;
    let rules = voice.plan.regime.rules();
    let date = voice.date(shown.revised)?;
    let (heading, source) = match shown.source {
        HazardSource::UseSolution | HazardSource::NotClassified => ("label.ghs_heading", "label.source_sds"),
        HazardSource::Concentrate => ("label.ghs_concentrate", "label.source_concentrate"),
        HazardSource::Product => ("label.ghs_product", "label.source_product"),
        HazardSource::Calculated => ("label.ghs_heading", "label.source_calculated"),
    };
    let (by, on) = match &shown.decided {
        Some(decided) => (decided.by.clone(), voice.date(decided.on)?),
        None => (String::new(), String::new()),
    };
    let missing = |e: String| DocumentError::Statement(e);
    let language = words.statements;
    let sensitisers = sensitisers(treatment);
    let allergy = if rules == RuleSet::EuUk && !sensitisers.is_empty() {
        let slots = Slots { sensitisers, ..Slots::default() };
        Some(text("EUH208", language, rules, &slots).map_err(|e| missing(e.to_string()))?)
    } else {
        None
    };
    if shown.classes.is_empty() {
        let key = match shown.source {
            HazardSource::NotClassified => "label.not_classified",
            HazardSource::Calculated => "label.calculated_none",
            _ => "label.no_hazards",
        };
        let mut statements = vec![words.say(key, context! { date, by, on })?];
        statements.extend(unknown_toxicity(voice, treatment)?);
        statements.extend(allergy);
        return Ok(json!({
            "heading": words.word(heading)?,
            "signal": null,
            "pictograms": [],
            "hazards": statements,
            "precautions": [],
            "source": null,
        }));
    }
    let elements = label(&shown.classes, rules);
    let slots = Slots { gear: gear(treatment), ..Slots::default() };
    let said = |code: &str| text(code, language, rules, &slots).map_err(|e| missing(e.to_string()));
    let statements: Result<Vec<String>, _> = elements.hazard_statements.iter().map(|code| said(code)).collect();
    let mut statements = statements?;
    statements.extend(unknown_toxicity(voice, treatment)?);
    statements.extend(allergy);
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
        "hazards": statements,
        "precautions": precautions,
        "source": words.say(source, context! { date, by, on })?,
    }))
}

/// How much of the mixture is of unknown acute toxicity, if an ingredient of 1 % or more is (29 CFR 1910.1200(f)(1)(v), App.
/// A.1.3.6.2.3 and C.3.3; CLP Annex I 3.1.3.6.2.2): one sentence for each share, with its routes, whatever else is classified.
fn unknown_toxicity(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<Vec<String>, DocumentError> {
    let all = &treatment.hazards.unknown_acute;
    let mut shares: Vec<&Share> = all.iter().map(|unknown| &unknown.share).collect();
    shares.sort();
    shares.dedup();
    let mut sentences = Vec::new();
    for of in shares.into_iter().rev() {
        let mut routes = Vec::new();
        for unknown in all.iter().filter(|unknown| unknown.share == *of) {
            routes.push(voice.words.word(&format!("routes.{}", unknown.route))?);
        }
        let (share, routes) = (voice.units.percent(of).main, routes.join(", "));
        sentences.push(voice.words.say("label.unknown_toxicity", context! { share, routes })?);
    }
    Ok(sentences)
}

/// Sensitisers below their limit, which may set off an allergy all the same (CLP Annex II 2.8).
fn sensitisers(treatment: &TreatmentPlan) -> Vec<String> {
    let notes = treatment.hazards.computed.iter().flat_map(|c| &c.classification.notes);
    notes
        .filter_map(|note| match note {
            Note::MaySetOffAllergy { ingredient } => Some(ingredient.clone()),
            _ => None,
        })
        .collect()
}

/// `IF IN EYES: Rinse …` with its first words set apart.
fn lead(statement: &str) -> Value {
    match statement.split_once(": ") {
        Some((lead, text)) if lead.len() < 40 => json!({ "lead": format!("{lead}:"), "text": text }),
        _ => json!({ "text": statement }),
    }
}

/// What P280 names, from what is worn.
fn gear(treatment: &TreatmentPlan) -> Vec<Gear> {
    let mut gear: Vec<Gear> = treatment
        .equipment
        .iter()
        .filter_map(|worn| match worn.item {
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
