//! From a mixture to its hazards, one file an endpoint, each finding with its reasons.

mod acute;
mod aquatic;
mod aspiration;
mod eye;
mod physical;
mod read_in;
mod sensitisation;
mod single;
mod skin;
mod stot;

#[cfg(test)]
mod actives;
#[cfg(test)]
mod properties;

use serde::Serialize;

use super::RuleSet;
use super::class::{Class, Hazard};
use super::ingredient::{Ingredient, Mixture, MixtureError};
use crate::quantity::{Number, Share};

/// What the rules find for a mixture.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Classification {
    /// Whose rules.
    pub rules: RuleSet,
    /// The hazards, the worst category of each class. None found means that the calculation classifies nothing, and no more.
    pub hazards: Vec<Found>,
    /// The share of ingredients whose acute toxicity is not known, by route, where one of them is 1 % or more: a label under
    /// 29 CFR 1910.1200 App. C.3.3 says so.
    pub unknown_acute: Vec<UnknownAcute>,
    /// What the calculation lacked or assumed.
    pub notes: Vec<Note>,
}

impl Classification {
    /// The hazards without their reasons, for [`super::label()`].
    pub fn hazards(&self) -> Vec<Hazard> {
        self.hazards.iter().map(|found| found.hazard).collect()
    }

    /// The greatest of [`Self::unknown_acute`] in per cent, 0 if there is none.
    pub fn unknown_acute_percent(&self) -> Number {
        self.unknown_acute.iter().map(|unknown| unknown.share.as_percent()).max().unwrap_or_else(Number::zero)
    }

    /// Whether no figure was missing that could add or worsen a hazard. A classification that is not complete must not replace what
    /// a safety data sheet states.
    pub fn is_complete(&self) -> bool {
        self.notes.iter().all(|note| !note.leaves_open())
    }
}

/// A hazard and why it was found.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Found {
    /// The hazard.
    pub hazard: Hazard,
    /// Every rule that gave it.
    pub why: Vec<Reason>,
}

impl Reason {
    /// Whether its figures were read in the text of the rule itself.
    pub fn is_read_in_the_rule(&self) -> bool {
        self.read_in == read_in::THE_RULE
    }
}

/// One rule met.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Reason {
    /// Where the rule stands, such as `29 CFR 1910.1200 App. A Table A.2.3`.
    pub rule: &'static str,
    /// Where the rule's figures were read: the rule's own text, another text that has them, or that they are not verified.
    pub read_in: &'static str,
    /// The ingredients that met it.
    pub parts: Vec<Part>,
    /// What was compared, such as `sum of skin corrosives`.
    pub what: &'static str,
    /// Its value for this mixture, in `unit`.
    pub value: Number,
    /// What it was compared with, in `unit`.
    pub threshold: Number,
    /// `%`, `mg/kg`, `mg/L`, `ppm`, `°C`, `pH`; empty for a stated hazard.
    pub unit: &'static str,
}

/// An ingredient's part in a reason.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Part {
    /// Its name.
    pub ingredient: String,
    /// Its share by weight of the mixture.
    pub share: Share,
}

/// Ingredients of unknown acute toxicity by one route.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct UnknownAcute {
    /// `oral`, `dermal` or `inhalation`.
    pub route: &'static str,
    /// Their share together, by weight.
    pub share: Share,
}

/// What the calculation lacked or assumed.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case", tag = "note")]
#[allow(missing_docs)] // The fields are named in each variant's own line.
pub enum Note {
    /// `ingredients`, flammable, may make the mixture flammable, and its flash point is not known.
    FlashPointNeeded { ingredients: Vec<String> },
    /// The flash point is below 23 °C and the boiling point is not known: Category 1 was assumed.
    BoilingPointNeeded,
    /// The concentrate's pH was extreme; the use solution's is not known and may still be.
    PhNeeded,
    /// The viscosity is not known and was taken to be low.
    ViscosityAssumedLow,
    /// The concentrate was too thick to be an aspiration hazard; the use solution's viscosity is not known and may be lower.
    ViscosityNeeded,
    /// `ingredient` has no M-factor; 1, or the one for the other duration, was taken.
    MFactorAssumed { ingredient: String },
    /// `hazard` was stated of the concentrate and is kept: only a test of the use solution can lower it.
    StatedBeforeDilution { hazard: Hazard },
    /// `ingredient`, classified as `hazard`, may give the mixture a physical hazard that only a test or a specific limit decides.
    TestNeeded { ingredient: String, hazard: Hazard },
    /// `ingredient` is below its classification limit but may set off a reaction in those already sensitised (EUH208).
    MaySetOffAllergy { ingredient: String },
    /// `ingredient` does not say whether it is toxic as gas, vapour or mist; it was counted as mist and as vapour.
    InhalationFormAssumed { ingredient: String },
}

impl Note {
    /// Whether the missing figure could add or worsen a hazard; the others say that a worse case was assumed already.
    pub fn leaves_open(&self) -> bool {
        match self {
            Note::FlashPointNeeded { .. }
            | Note::PhNeeded
            | Note::ViscosityNeeded
            | Note::MFactorAssumed { .. }
            | Note::TestNeeded { .. } => true,
            Note::BoilingPointNeeded
            | Note::ViscosityAssumedLow
            | Note::StatedBeforeDilution { .. }
            | Note::MaySetOffAllergy { .. }
            | Note::InhalationFormAssumed { .. } => false,
        }
    }
}

/// The hazards of a mixture under a rule set.
///
/// ```
/// # use decant::ghs::{Ingredient, Mixture, RuleSet, classify};
/// # use decant::quantity::{Number, Share};
/// let acid = Ingredient::new("acid", Share::percent(Number::int(4)), vec!["Skin Corr. 1B".parse().unwrap()]);
/// let found = classify(&Mixture::of(vec![acid]), RuleSet::UnitedStates).unwrap();
/// let names: Vec<String> = found.hazards().iter().map(|hazard| hazard.to_string()).collect();
/// assert_eq!(names, ["Skin Irrit. 2", "Eye Dam. 1"]);
/// ```
///
/// # Errors
/// If a figure is impossible: see [`Mixture::check`].
pub fn classify(mixture: &Mixture, rules: RuleSet) -> Result<Classification, MixtureError> {
    mixture.check()?;
    let ingredients = mixture.settled();
    let mut findings = Findings { rules, mixture, ingredients: &ingredients, found: Vec::new(), notes: Vec::new() };
    physical::find(&mut findings);
    let unknown_acute = acute::find(&mut findings);
    skin::find(&mut findings);
    eye::find(&mut findings);
    sensitisation::find(&mut findings);
    single::find(&mut findings);
    stot::find(&mut findings);
    aspiration::find(&mut findings);
    if rules == RuleSet::EuUk {
        aquatic::find(&mut findings);
    }
    Ok(findings.close(unknown_acute))
}

/// The work in hand.
struct Findings<'a> {
    rules: RuleSet,
    mixture: &'a Mixture,
    ingredients: &'a [Ingredient],
    found: Vec<Found>,
    notes: Vec<Note>,
}

/// A figure compared with a threshold.
struct Measure {
    rule: &'static str,
    read_in: &'static str,
    what: &'static str,
    value: Number,
    threshold: Number,
    unit: &'static str,
}

impl Findings<'_> {
    /// The rule's place: the United States' or the European Union's.
    fn rule(&self, united_states: &'static str, eu_uk: &'static str) -> &'static str {
        match self.rules {
            RuleSet::UnitedStates => united_states,
            RuleSet::EuUk => eu_uk,
        }
    }

    fn add<'i>(&mut self, hazard: Hazard, measure: Measure, parts: impl IntoIterator<Item = &'i Ingredient>) {
        let reason = Reason {
            rule: measure.rule,
            read_in: measure.read_in,
            parts: parts.into_iter().map(part).collect(),
            what: measure.what,
            value: measure.value,
            threshold: measure.threshold,
            unit: measure.unit,
        };
        match self.found.iter_mut().find(|found| found.hazard == hazard) {
            Some(found) => found.why.push(reason),
            None => self.found.push(Found { hazard, why: vec![reason] }),
        }
    }

    /// Adds the hazard if the figure, in per cent, is at least the threshold.
    fn if_at_least<'i>(
        &mut self,
        hazard: Hazard,
        measure: Measure,
        parts: impl IntoIterator<Item = &'i Ingredient>,
    ) -> bool {
        let met = measure.value >= measure.threshold;
        if met {
            self.add(hazard, measure, parts);
        }
        met
    }

    /// Adds the hazard a specific limit gives, if the ingredient has limits for the class. Where it has, the generic ones are not
    /// asked. United States: A.0.4.3 and A.2.3.3.6 let reliable data on an ingredient go before the generic cut-off.
    fn by_specific_limit(&mut self, ingredient: &Ingredient, class: Class) -> bool {
        let own: Vec<_> = ingredient.limits.iter().filter(|limit| limit.hazard.class() == class).collect();
        let met = own.iter().filter(|limit| ingredient.share >= limit.at_least);
        if let Some(limit) = met.min_by_key(|limit| (limit.hazard.rank(), &limit.at_least)) {
            let measure = Measure {
                rule: "specific concentration limit of the ingredient",
                read_in: read_in::THE_RULE,
                what: "share of the ingredient",
                value: ingredient.share.as_percent(),
                threshold: limit.at_least.as_percent(),
                unit: "%",
            };
            self.add(limit.hazard, measure, [ingredient]);
        }
        !own.is_empty()
    }

    fn note(&mut self, note: Note) {
        self.notes.push(note);
    }

    /// The worst of each class, in the order of the classes.
    fn close(mut self, unknown_acute: Vec<UnknownAcute>) -> Classification {
        self.found.sort_by_key(|found| (found.hazard.class(), found.hazard.rank(), found.hazard));
        self.found.dedup_by_key(|found| found.hazard.class());
        self.notes.sort();
        self.notes.dedup();
        Classification { rules: self.rules, hazards: self.found, unknown_acute, notes: self.notes }
    }
}

fn part(ingredient: &Ingredient) -> Part {
    Part { ingredient: ingredient.name.clone(), share: ingredient.share.clone() }
}

fn percent(value: i64) -> Number {
    Number::int(value)
}

/// Tenths of a per cent.
fn tenths(value: i64) -> Number {
    Number::ratio(value, 10)
}

#[cfg(test)]
pub(super) mod bench {
    //! Short ways to write a mixture in a test.

    use super::*;

    pub fn share(percent: &str) -> Share {
        Share::percent(Number::parse(percent).unwrap())
    }

    pub fn ingredient(percent: &str, hazards: &[&str]) -> Ingredient {
        let hazards: Vec<Hazard> = hazards.iter().map(|hazard| hazard.parse().unwrap()).collect();
        Ingredient::new(format!("{hazards:?} {percent}"), share(percent), hazards)
    }

    /// What is found, as it prints.
    pub fn found(mixture: &Mixture, rules: RuleSet) -> Vec<String> {
        classify(mixture, rules).unwrap().hazards().iter().map(Hazard::to_string).collect()
    }

    /// What is found under both rule sets, which must agree.
    pub fn found_in_both(ingredients: Vec<Ingredient>) -> Vec<String> {
        let mixture = Mixture::of(ingredients);
        let eu = found(&mixture, RuleSet::EuUk);
        let us = found(&mixture, RuleSet::UnitedStates);
        let us: Vec<String> = us.iter().map(|name| name.replace("Eye Irrit. 2A", "Eye Irrit. 2")).collect();
        assert_eq!(us, eu);
        eu
    }
}
