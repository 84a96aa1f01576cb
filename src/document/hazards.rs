//! The hazard block of a label: signal word, pictograms, statements, and where they are from.

use minijinja::context;
use serde::Serialize;

use super::voice::Voice;
use super::{DocumentError, Said};
use crate::company::Equipment;
use crate::ghs::{Gear, Kind, Note, Pictogram, RuleSet, Signal, Slots, label, text};
use crate::plan::{HazardSource, TreatmentPlan};
use crate::quantity::Share;

/// The block. Without a classification `hazards` is one sentence that says so, and there is no pictogram.
#[derive(Clone, Debug, Default, Serialize)]
pub(super) struct Hazards {
    heading: String,
    signal: Option<String>,
    pictograms: Vec<Drawing>,
    hazards: Vec<String>,
    precautions: Vec<Statement>,
    source: Option<String>,
}

impl Hazards {
    pub(super) fn has_pictograms(&self) -> bool {
        !self.pictograms.is_empty()
    }
}

/// A pictogram, by the name of its drawing.
#[derive(Clone, Debug, Serialize)]
struct Drawing {
    name: &'static str,
    alt: String,
}

/// `IF IN EYES: Rinse …` with its first words set apart.
#[derive(Clone, Debug, Serialize)]
struct Statement {
    #[serde(skip_serializing_if = "Option::is_none")]
    lead: Option<String>,
    text: String,
}

pub(super) fn hazards(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Hazards> {
    let shown = &treatment.hazards;
    let rules = voice.plan.regime.rules();
    let (heading, source) = match shown.source {
        HazardSource::UseSolution | HazardSource::NotClassified => ("label.ghs_heading", "label.source_sds"),
        HazardSource::Concentrate => ("label.ghs_concentrate", "label.source_concentrate"),
        HazardSource::Product => ("label.ghs_product", "label.source_product"),
        HazardSource::Calculated => ("label.ghs_heading", "label.source_calculated"),
    };
    let date = voice.date(shown.revised)?;
    let (by, on) = match &shown.decided {
        Some(decided) => (decided.by.clone(), voice.date(decided.on)?),
        None => (String::new(), String::new()),
    };
    let blanks = context! { date, by, on };
    let fault = |problem: &dyn std::fmt::Display| DocumentError::Statement(problem.to_string());
    let spelling = voice.plan.regime.spelling();
    let statement =
        |code: &str, slots: &Slots| text(code, voice.words.statements, spelling, slots).map_err(|e| fault(&e));
    let mut block = Hazards { heading: voice.word(heading)?, ..Hazards::default() };
    if shown.classes.is_empty() {
        let key = match shown.source {
            HazardSource::NotClassified => "label.not_classified",
            HazardSource::Calculated => "label.calculated_none",
            _ => "label.no_hazards",
        };
        block.hazards.push(voice.say(key, blanks)?);
    } else {
        let elements = label(&shown.classes, rules);
        let slots = Slots { gear: gear(treatment), ..Slots::default() };
        for code in &elements.hazard_statements {
            block.hazards.push(statement(code, &slots)?);
        }
        // A use solution is made, used up and thrown away: storage and disposal are the product label's matter, and come last.
        for kind in [Kind::Response, Kind::Prevention, Kind::Storage, Kind::Disposal] {
            for precaution in elements.precautions.iter().filter(|p| p.kind == kind) {
                block.precautions.push(with_lead(statement(precaution.code, &slots)?));
            }
        }
        for pictogram in &elements.pictograms {
            let name = drawing(*pictogram);
            block.pictograms.push(Drawing { name, alt: voice.word(&format!("pictograms.{name}"))? });
        }
        block.signal = match elements.signal {
            Some(Signal::Danger) => Some(voice.word("signal.danger")?),
            Some(Signal::Warning) => Some(voice.word("signal.warning")?),
            None => None,
        };
        block.source = Some(voice.say(source, blanks)?);
    }
    block.hazards.extend(unknown_toxicity(voice, treatment)?);
    let sensitisers = sensitisers(treatment);
    if rules == RuleSet::EuUk && !sensitisers.is_empty() {
        block.hazards.push(statement("EUH208", &Slots { sensitisers, ..Slots::default() })?);
    }
    Ok(block)
}

/// How much of the mixture is of unknown acute toxicity, if an ingredient of 1 % or more is (29 CFR 1910.1200(f)(1)(v), App.
/// A.1.3.6.2.3 and C.3.3; CLP Annex I 3.1.3.6.2.2): one sentence for each share, with its routes, whatever else is classified.
fn unknown_toxicity(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Vec<String>> {
    let all = &treatment.hazards.unknown_acute;
    let mut shares: Vec<&Share> = all.iter().map(|unknown| &unknown.share).collect();
    shares.sort();
    shares.dedup();
    let mut sentences = Vec::new();
    for of in shares.into_iter().rev() {
        let mut routes = Vec::new();
        for unknown in all.iter().filter(|unknown| unknown.share == *of) {
            routes.push(voice.word(&format!("routes.{}", unknown.route))?);
        }
        let (share, routes) = (voice.units.percent(of).main, routes.join(", "));
        sentences.push(voice.say("label.unknown_toxicity", context! { share, routes })?);
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

/// Letters before the colon of a statement that stand apart, at most: `EN CAS DE CONTACT AVEC LA PEAU (ou les cheveux)` has 47.
const LONGEST_LEAD: usize = 64;

fn with_lead(statement: String) -> Statement {
    match statement.split_once(": ") {
        Some((lead, text)) if lead.chars().count() < LONGEST_LEAD => {
            Statement { lead: Some(format!("{lead}:")), text: text.to_owned() }
        }
        _ => Statement { lead: None, text: statement },
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
