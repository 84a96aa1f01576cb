//! Residue: whether surfaces that food touches are rinsed, and why. The label's own rinse always stands; a solution over
//! a limit of 40 CFR 180.940, or with an ingredient that is on none of its lists, adds one.

use serde::Serialize;

use crate::calc::food_contact::{CountedAs, Finding, FoodPlace, Ingredient, check};
use crate::calc::{CalcError, Concentrate, Ratio, chlorine, strength};
use crate::catalog::{Product, Surface};
use crate::job::Treatment;
use crate::quantity::{Number, Strength};

/// The use solution held against the limits for surfaces that food touches.
#[derive(Clone, Debug, Serialize)]
pub struct Residue {
    /// The kind of place.
    pub place: FoodPlace,
    /// What is over a limit, or on no list.
    pub findings: Vec<Finding>,
    /// Ingredients without a CAS number: nothing can be said of them, so they count as on no list.
    pub unnumbered: Vec<String>,
}

/// A rinse that is due.
#[derive(Clone, Debug, Serialize)]
pub struct Rinse {
    /// What to rinse with, as the label says it; potable water where only the limits ask for the rinse.
    pub with: Option<String>,
    /// Who asks for it.
    pub why: RinseReason,
}

/// Who asks for a rinse.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RinseReason {
    /// The label.
    Label,
    /// The limits.
    Residue,
    /// Both.
    LabelAndResidue,
}

impl Residue {
    /// Whether residues may stay.
    pub fn may_stay(&self) -> bool {
        self.findings.is_empty() && self.unnumbered.is_empty()
    }
}

/// Checks a treatment's strongest load; `None` where food does not touch the surfaces.
pub(super) fn residue(
    written: &Treatment,
    place: FoodPlace,
    ratio: &Ratio,
    measured: &Strength,
    strongest: &Number,
) -> Result<Option<Residue>, CalcError> {
    if written.directions.surface != Surface::FoodContact {
        return Ok(None);
    }
    let product = &written.product;
    let mut strengths = Vec::new();
    for ingredient in &product.ingredients {
        let concentrate = Concentrate {
            form: product.form,
            density: product.density.as_ref(),
            content: None,
            active_density: ingredient.density.as_ref(),
        };
        strengths.push(strength::strength(&ingredient.content, &concentrate, ratio)?.times(strongest));
    }
    let available = measured.times(strongest);
    let counted = only_chlorine(product);
    let ingredients: Vec<Ingredient<'_>> = product
        .ingredients
        .iter()
        .zip(&strengths)
        .filter_map(|(ingredient, strength)| {
            let cas = ingredient.cas.as_deref()?;
            // Where the product states its available chlorine, that is what the limit counts.
            Some(if counted == Some(cas) {
                Ingredient { cas, strength: &available, counted: CountedAs::TheLimitsMeasure }
            } else {
                Ingredient { cas, strength, counted: CountedAs::Itself }
            })
        })
        .collect();
    let unnumbered = product.ingredients.iter().filter(|i| i.cas.is_none());
    Ok(Some(Residue {
        place,
        findings: check(&ingredients, place),
        unnumbered: unnumbered.map(|i| i.name.clone()).collect(),
    }))
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

/// The rinse that is due, if any.
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
