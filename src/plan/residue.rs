//! Residue: whether surfaces that food touches are rinsed, and why. The label's own rinse always stands; a solution over
//! a limit of 40 CFR 180.940, or with an ingredient that is on none of its lists, adds one.

use serde::Serialize;

use super::strength::concentrate;
use crate::calc::food_contact::{CountedAs, Finding, FoodPlace, Ingredient, check};
use crate::calc::strength::strength;
use crate::calc::{CalcError, Ratio, chlorine};
use crate::company::{Product, Surface};
use crate::job::Treatment;
use crate::quantity::{Number, Strength};

/// The use solution compared with the limits for surfaces that food touches.
#[derive(Clone, Debug, Serialize)]
pub struct Residue {
    pub place: FoodPlace,
    pub findings: Vec<Finding>,
    /// Ingredients without a CAS number: nothing can be said of them, so they count as on no list.
    pub unnumbered: Vec<String>,
}

#[derive(Clone, Debug, Serialize)]
pub struct Rinse {
    /// What to rinse with, as the label says it; potable water where only the limits ask for the rinse.
    pub with: Option<String>,
    pub why: RinseReason,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RinseReason {
    Label,
    Residue,
    LabelAndResidue,
}

impl Residue {
    pub fn may_stay(&self) -> bool {
        self.findings.is_empty() && self.unnumbered.is_empty()
    }

    /// The dose at which the tightest limit is reached, where this is the residue of `dose`: residue grows with the dose.
    fn limit_reached(&self, dose: &Number) -> Option<Number> {
        let reached = self.findings.iter().filter_map(|finding| match finding {
            Finding::Over { limit, found, .. } if !found.is_zero() => Some(dose * &limit.over(found)),
            _ => None,
        });
        reached.min()
    }
}

/// A use solution, as far as residue turns on it.
pub(super) struct Solution<'a> {
    pub written: &'a Treatment,
    pub place: FoodPlace,
    pub ratio: &'a Ratio,
    /// Strength at the label's dose, of what the strip measures.
    pub at_label: &'a Strength,
}

impl Solution<'_> {
    /// What a load leaves that is `factor` times the label's dose; `None` where food does not touch the surfaces.
    pub fn residue(&self, factor: &Number) -> Result<Option<Residue>, CalcError> {
        if self.written.directions.surface != Surface::FoodContact {
            return Ok(None);
        }
        let product = &self.written.product;
        let mut strengths = Vec::new();
        for ingredient in &product.ingredients {
            let concentrate = concentrate(product, ingredient.density.as_ref());
            strengths.push(strength(&ingredient.content, &concentrate, self.ratio)?.times(factor));
        }
        let available = self.at_label.times(factor);
        let counted = only_chlorine(product);
        let numbered = product.ingredients.iter().zip(&strengths);
        let numbered = numbered.filter_map(|(ingredient, strength)| Some((ingredient.cas.as_deref()?, strength)));
        // Where the product states its available chlorine, that is what the limit counts.
        let numbered = numbered.map(|(cas, strength)| match counted == Some(cas) {
            true => Ingredient { cas, strength: &available, counted: CountedAs::TheLimitsMeasure },
            false => Ingredient { cas, strength, counted: CountedAs::Itself },
        });
        let findings = check(&numbered.collect::<Vec<_>>(), self.place);
        let unnumbered = product.ingredients.iter().filter(|i| i.cas.is_none()).map(|i| i.name.clone()).collect();
        Ok(Some(Residue { place: self.place, findings, unnumbered }))
    }

    /// The strongest load, as a factor of the label's dose, that leaves no residue above a limit; where the label's own dose
    /// keeps the limits, asks for no rinse, and `most` does not keep them.
    pub fn ceiling(&self, most: &Number) -> Result<Option<Number>, CalcError> {
        if self.written.directions.rinse.is_some() {
            return Ok(None);
        }
        let label_stays = self.residue(&Number::one())?.is_some_and(|residue| residue.may_stay());
        let over = self.residue(most)?.filter(|over| label_stays && !over.may_stay());
        Ok(over.and_then(|over| over.limit_reached(most)).map(|ceiling| ceiling.max(Number::one())))
    }

    /// The strength, of what the strip measures, at which a residue would no longer be within 40 CFR 180.940: every
    /// ingredient rises with it. `None` where food touches nothing, and where no limit is stated.
    pub fn limit(&self, strongest: &Number) -> Result<Option<Strength>, CalcError> {
        // Far above any limit all of them are exceeded, so that each stands among the findings.
        let far = strongest * &Number::int(1_000_000);
        let reached = self.residue(&far)?.and_then(|residue| residue.limit_reached(&far));
        Ok(reached.map(|factor| self.at_label.times(&factor)))
    }
}

/// The one chlorine compound whose available chlorine the product states.
fn only_chlorine(product: &Product) -> Option<&str> {
    product.available_chlorine.as_ref()?;
    let mut releasing = product
        .ingredients
        .iter()
        .filter_map(|i| i.cas.as_deref())
        .filter(|cas| chlorine::available_chlorine_factor(cas).is_some());
    let first = releasing.next();
    releasing.next().is_none().then_some(first).flatten()
}

pub(super) fn rinse(written: &Treatment, residue: Option<&Residue>) -> Option<Rinse> {
    let over = residue.is_some_and(|r| !r.may_stay());
    let with = written.directions.rinse.clone();
    let why = match (&with, over) {
        (None, false) => return None,
        (Some(_), false) => RinseReason::Label,
        (None, true) => RinseReason::Residue,
        (Some(_), true) => RinseReason::LabelAndResidue,
    };
    Some(Rinse { with, why })
}
