//! From a mixture to its hazards, each finding with its reasons.

mod acute;
mod aquatic;
mod limits;
mod physical;
mod source;
mod surface;

#[cfg(test)]
mod cases;
#[cfg(test)]
mod properties;

use serde::Serialize;

use super::RuleSet;
use super::hazard::{Class, Hazard};
use super::ingredient::{Ingredient, Mixture, MixtureError};
use crate::quantity::{Number, Share};
use source::{Source, read_in};

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Classification {
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

    /// Whether no figure was missing that could add or worsen a hazard. A classification that is not complete must not replace what
    /// a safety data sheet states.
    pub fn is_complete(&self) -> bool {
        self.notes.iter().all(|note| !note.leaves_open())
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Found {
    pub hazard: Hazard,
    pub why: Vec<Reason>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Reason {
    /// Where the rule stands, such as `29 CFR 1910.1200 App. A Table A.2.3`.
    pub rule: &'static str,
    /// Where the rule's figures were read: the rule's own text, another text that has them, or that they are not verified.
    pub read_in: &'static str,
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

impl Reason {
    /// Whether its figures were read in the text of the rule itself.
    pub fn is_read_in_the_rule(&self) -> bool {
        self.read_in == read_in::THE_RULE
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Part {
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
        !matches!(
            self,
            Note::BoilingPointNeeded
                | Note::ViscosityAssumedLow
                | Note::StatedBeforeDilution { .. }
                | Note::MaySetOffAllergy { .. }
                | Note::InhalationFormAssumed { .. }
        )
    }
}

/// The hazards of a mixture under a rule set.
///
/// # Errors
/// If a figure is impossible: see [`Mixture::check`].
pub fn classify(mixture: &Mixture, rules: RuleSet) -> Result<Classification, MixtureError> {
    mixture.check()?;
    let ingredients = mixture.settled();
    let mut findings = Findings { rules, mixture, ingredients: &ingredients, found: Vec::new(), notes: Vec::new() };
    physical::find(&mut findings);
    let unknown_acute = acute::find(&mut findings);
    surface::find(&mut findings);
    limits::find(&mut findings);
    if rules == RuleSet::EuUk {
        aquatic::find(&mut findings);
    }
    Ok(findings.close(unknown_acute))
}

struct Findings<'a> {
    rules: RuleSet,
    mixture: &'a Mixture,
    ingredients: &'a [Ingredient],
    found: Vec<Found>,
    notes: Vec<Note>,
}

impl Findings<'_> {
    /// A reason in per cent: a figure, and what it is compared with.
    fn reason(&self, source: &Source, what: &'static str, value: Number, threshold: Number) -> Reason {
        let (rule, read_in) = source.of(self.rules);
        Reason { rule, read_in, parts: Vec::new(), what, value, threshold, unit: "%" }
    }

    fn add<'i>(&mut self, hazard: Hazard, reason: Reason, parts: impl IntoIterator<Item = &'i Ingredient>) {
        let part = |i: &Ingredient| Part { ingredient: i.name.clone(), share: i.share.clone() };
        let reason = Reason { parts: parts.into_iter().map(part).collect(), ..reason };
        match self.found.iter_mut().find(|found| found.hazard == hazard) {
            Some(found) => found.why.push(reason),
            None => self.found.push(Found { hazard, why: vec![reason] }),
        }
    }

    /// Adds the hazard if the figure is at least the threshold.
    fn if_at_least<'i>(
        &mut self,
        hazard: Hazard,
        reason: Reason,
        parts: impl IntoIterator<Item = &'i Ingredient>,
    ) -> bool {
        let met = reason.value >= reason.threshold;
        if met {
            self.add(hazard, reason, parts);
        }
        met
    }

    /// Adds the hazard a specific limit gives, if the ingredient has limits for the class. Where it has, the generic ones are not
    /// asked. United States: A.0.4.3 and A.2.3.3.6 let reliable data on an ingredient go before the generic cut-off.
    fn by_specific_limit(&mut self, ingredient: &Ingredient, class: Class) -> bool {
        let own: Vec<_> = ingredient.limits.iter().filter(|limit| limit.hazard.class() == class).collect();
        let met = own.iter().filter(|limit| ingredient.share >= limit.at_least);
        if let Some(limit) = met.min_by_key(|limit| (limit.hazard.rank(), &limit.at_least)) {
            let source = Source::same("specific concentration limit of the ingredient", read_in::THE_RULE);
            let (share, at_least) = (ingredient.share.as_percent(), limit.at_least.as_percent());
            let reason = self.reason(&source, SHARE, share, at_least);
            self.add(limit.hazard, reason, [ingredient]);
        }
        !own.is_empty()
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

/// What most limits are compared with.
const SHARE: &str = "share of the ingredient";
