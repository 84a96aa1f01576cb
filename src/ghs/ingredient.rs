//! What is known of a mixture: its ingredients and the few figures measured on it as a whole.

use serde::Serialize;
use thiserror::Error;

use super::class::{Category, Class, Hazard};
use crate::quantity::{Number, Share};

/// One ingredient, at its share by weight of the mixture.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Ingredient {
    /// As the safety data sheet names it.
    pub name: String,
    /// Chemical Abstracts Service number. Hydrogen peroxide is known by its own, 7722-84-1.
    pub cas: Option<String>,
    /// By weight of the mixture; where the sheet gives a range, its upper end.
    pub share: Share,
    /// The substance's own classification.
    pub hazards: Vec<Hazard>,
    /// Multiplying factor of Aquatic Acute 1, at least 1.
    pub m_acute: Option<Number>,
    /// Multiplying factor of Aquatic Chronic 1, at least 1.
    pub m_chronic: Option<Number>,
    /// Acute toxicity estimates; they go before the point estimate of a category.
    pub ate: AteTable,
    /// Specific concentration limits; they go before the generic ones.
    pub limits: Vec<SpecificLimit>,
    /// pH of the ingredient as supplied: it decides whether an acid, a base or a corrosive is an extreme one.
    pub ph: Option<Number>,
    /// Whether its skin and eye effects add to those of others.
    pub additivity: Additivity,
    /// Nothing is known of its acute toxicity by the routes for which neither a hazard nor an estimate is given.
    pub unknown_acute: bool,
    /// It has no acute toxicity to count, as water has none: an estimate of it is left out.
    pub no_acute_toxicity: bool,
    /// Given for an organic peroxide, so that its available oxygen can be counted.
    pub peroxide: Option<Peroxide>,
}

impl Ingredient {
    /// An additive ingredient with these hazards and nothing else known.
    pub fn new(name: impl Into<String>, share: Share, hazards: Vec<Hazard>) -> Self {
        Ingredient {
            name: name.into(),
            cas: None,
            share,
            hazards,
            m_acute: None,
            m_chronic: None,
            ate: AteTable::default(),
            limits: Vec::new(),
            ph: None,
            additivity: Additivity::Additive,
            unknown_acute: false,
            no_acute_toxicity: false,
            peroxide: None,
        }
    }

    /// The worst category it has in this class, whether stated outright or by a specific limit.
    pub(super) fn worst(&self, class: Class) -> Option<Hazard> {
        let stated = self.hazards.iter().copied().chain(self.limits.iter().map(|limit| limit.hazard));
        stated.filter(|hazard| hazard.class() == class).min_by_key(|hazard| (hazard.rank(), *hazard))
    }

    /// The lowest share at which a specific limit gives a hazard that `fits`.
    pub(super) fn lowest_limit(&self, fits: impl Fn(Hazard) -> bool) -> Option<&Share> {
        self.limits.iter().filter(|limit| fits(limit.hazard)).map(|limit| &limit.at_least).min()
    }
}

/// From this share on, the ingredient gives the mixture this hazard.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct SpecificLimit {
    /// The hazard.
    pub hazard: Hazard,
    /// The lowest share at which it holds.
    pub at_least: Share,
    /// The share from which a worse category takes over, where one is written. Kept for print: above it at least the same hazard
    /// is found, because more of a substance is never taken to be less hazardous.
    pub below: Option<Share>,
}

/// Whether the effects of skin and eye hazards add up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Additivity {
    /// They do (29 CFR 1910.1200 Tables A.2.3 and A.3.3).
    #[default]
    Additive,
    /// An acid to which additivity does not apply.
    Acid,
    /// A base to which additivity does not apply.
    Base,
    /// A surfactant to which additivity does not apply.
    Surfactant,
    /// Another such: an inorganic salt, an aldehyde, a phenol.
    Other,
}

/// An acute toxicity estimate of one ingredient by one route.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ate {
    /// A value: mg/kg for swallowing and skin, ppm by volume for gases, mg/L over 4 h for vapours and mists.
    Value(Number),
    /// A limit test found no toxicity.
    NoneFound,
}

/// Acute toxicity estimates by route.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct AteTable {
    /// mg/kg of body weight.
    pub oral: Option<Ate>,
    /// mg/kg of body weight.
    pub dermal: Option<Ate>,
    /// ppm by volume.
    pub gas: Option<Ate>,
    /// mg/L, 4 h.
    pub vapour: Option<Ate>,
    /// mg/L, 4 h.
    pub mist: Option<Ate>,
}

impl AteTable {
    /// The estimate for an acute toxicity class; none for the unspecified inhalation class, whose unit is not known.
    pub fn get(&self, class: Class) -> Option<&Ate> {
        match class {
            Class::AcuteOral => self.oral.as_ref(),
            Class::AcuteDermal => self.dermal.as_ref(),
            Class::AcuteGas => self.gas.as_ref(),
            Class::AcuteVapour => self.vapour.as_ref(),
            Class::AcuteMist => self.mist.as_ref(),
            _ => None,
        }
    }

    fn values(&self) -> impl Iterator<Item = &Ate> {
        [&self.oral, &self.dermal, &self.gas, &self.vapour, &self.mist].into_iter().flatten()
    }
}

/// What decides the available oxygen of an organic peroxide: 16 × groups × share / molar mass.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Peroxide {
    /// Peroxygen groups in a molecule.
    pub groups: Number,
    /// g/mol.
    pub molar_mass: Number,
}

/// A figure that water changes in a way no rule here predicts.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Figure {
    /// Not known.
    #[default]
    Unknown,
    /// Known for this mixture.
    Known(Number),
    /// Known only for what was diluted to make it.
    BeforeDilution(Number),
}

impl Figure {
    fn diluted(&self) -> Figure {
        match self {
            Figure::Known(value) | Figure::BeforeDilution(value) => Figure::BeforeDilution(value.clone()),
            Figure::Unknown => Figure::Unknown,
        }
    }
}

/// The flash point, closed cup, in degrees Celsius.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FlashPoint {
    /// Not known.
    #[default]
    Unknown,
    /// It was tested and has none.
    NoneFound,
    /// Known for this mixture.
    Known(Number),
    /// Known only for what was diluted to make it.
    BeforeDilution(Number),
}

/// A liquid mixture.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Mixture {
    /// What it holds, in any order. What is not listed is taken to be water or another unclassified ingredient, as section 3 of a
    /// safety data sheet lists every ingredient that counts.
    pub ingredients: Vec<Ingredient>,
    /// pH.
    pub ph: Figure,
    /// Flash point.
    pub flash_point: FlashPoint,
    /// Initial boiling point, degrees Celsius.
    pub boiling_point: Figure,
    /// Kinematic viscosity at 40 °C, mm²/s.
    pub viscosity: Figure,
    /// The physical hazards its safety data sheet states for it as a whole. They come from tests, which no sum replaces.
    pub stated_physical: Vec<Hazard>,
    /// Whether water was added since: [`Self::stated_physical`] was then stated of what was diluted.
    pub diluted: bool,
}

/// Why a mixture cannot be classified.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[allow(missing_docs)] // Each message names its fields.
pub enum MixtureError {
    #[error("{name}: a share of {percent} % is not between 0 and 100 %")]
    Share { name: String, percent: String },
    #[error("{name}: an acute toxicity estimate is above 0; {value} is not")]
    Estimate { name: String, value: String },
    #[error("{name}: an M-factor is at least 1; {value} is not")]
    MFactor { name: String, value: String },
    #[error("{name}: a specific limit of {percent} % is not between 0 and 100 %, or not below its upper end")]
    Limit { name: String, percent: String },
    #[error("{name}: an organic peroxide has at least one group and a molar mass above 0")]
    Peroxide { name: String },
    #[error(
        "`{hazard}` is no physical hazard; hazards to health and the environment are computed from the ingredients"
    )]
    NotPhysical { hazard: Hazard },
}

impl Mixture {
    /// Of these ingredients, with nothing measured on the whole.
    pub fn of(ingredients: Vec<Ingredient>) -> Self {
        Mixture { ingredients, ..Mixture::default() }
    }

    /// The same, so far diluted with water that `concentrate` of its weight is this mixture. Figures measured on the concentrate are
    /// kept, but as figures from before the dilution; give the use solution's own where they are known.
    pub fn dilute(&self, concentrate: &Share) -> Mixture {
        let ingredients = self.ingredients.iter().map(|ingredient| Ingredient {
            share: ingredient.share.times(concentrate.as_of_one()),
            ..ingredient.clone()
        });
        let flash_point = match &self.flash_point {
            FlashPoint::Known(value) | FlashPoint::BeforeDilution(value) => FlashPoint::BeforeDilution(value.clone()),
            other => other.clone(),
        };
        Mixture {
            ingredients: ingredients.collect(),
            ph: self.ph.diluted(),
            flash_point,
            boiling_point: self.boiling_point.diluted(),
            viscosity: self.viscosity.diluted(),
            stated_physical: self.stated_physical.clone(),
            diluted: true,
        }
    }

    /// That every figure is one the rules can take.
    pub fn check(&self) -> Result<(), MixtureError> {
        let whole = Share::of_one(Number::one());
        if let Some(&hazard) = self.stated_physical.iter().find(|hazard| !hazard.class().is_physical()) {
            return Err(MixtureError::NotPhysical { hazard });
        }
        for ingredient in &self.ingredients {
            let name = || ingredient.name.clone();
            if ingredient.share < Share::zero() || ingredient.share > whole {
                return Err(MixtureError::Share { name: name(), percent: ingredient.share.as_percent().decimal(6) });
            }
            for ate in ingredient.ate.values() {
                if let Ate::Value(value) = ate
                    && !value.is_positive()
                {
                    return Err(MixtureError::Estimate { name: name(), value: value.decimal(6) });
                }
            }
            for factor in [&ingredient.m_acute, &ingredient.m_chronic].into_iter().flatten() {
                if *factor < 1 {
                    return Err(MixtureError::MFactor { name: name(), value: factor.decimal(6) });
                }
            }
            for limit in &ingredient.limits {
                let ordered = limit.below.as_ref().is_none_or(|below| *below > limit.at_least);
                if limit.at_least <= Share::zero() || limit.at_least > whole || !ordered {
                    return Err(MixtureError::Limit { name: name(), percent: limit.at_least.as_percent().decimal(6) });
                }
            }
            if let Some(peroxide) = &ingredient.peroxide
                && (peroxide.groups < 1 || !peroxide.molar_mass.is_positive())
            {
                return Err(MixtureError::Peroxide { name: name() });
            }
        }
        Ok(())
    }

    /// The ingredients in one fixed order, lines that differ in nothing but the share made one: so a classification depends neither
    /// on the order of the lines nor on a substance written twice.
    pub(super) fn settled(&self) -> Vec<Ingredient> {
        let mut settled: Vec<Ingredient> = Vec::new();
        for ingredient in &self.ingredients {
            let same = |other: &&mut Ingredient| {
                Ingredient { share: Share::zero(), ..ingredient.clone() }
                    == Ingredient { share: Share::zero(), ..(**other).clone() }
            };
            match settled.iter_mut().find(same) {
                Some(other) => other.share = &other.share + &ingredient.share,
                None => settled.push(ingredient.clone()),
            }
        }
        // The name alone may not tell two lines apart; the rest of the figures, written out, does.
        settled.sort_by_cached_key(|ingredient| (ingredient.name.clone(), format!("{ingredient:?}")));
        settled
    }
}

/// Whether the category is one of skin corrosion.
pub(super) fn is_corrosive(hazard: Hazard) -> bool {
    hazard.class() == Class::Skin && hazard.category() != Category::Two
}

#[cfg(test)]
mod tests {
    use super::*;

    fn percent(text: &str) -> Share {
        Share::percent(Number::parse(text).unwrap())
    }

    #[test]
    fn dilution_scales_shares_and_ages_figures() {
        let quat = Ingredient::new("quat", percent("10"), vec!["Skin Corr. 1B".parse().unwrap()]);
        let mut concentrate = Mixture::of(vec![quat]);
        concentrate.ph = Figure::Known(Number::int(7));
        let once = concentrate.dilute(&percent("10"));
        assert_eq!(once.ingredients[0].share, percent("1"));
        assert_eq!(once.ph, Figure::BeforeDilution(Number::int(7)));
        assert_eq!(once.dilute(&percent("50")).ingredients[0].share, percent("0.5"));
    }

    #[test]
    fn impossible_figures_are_refused() {
        let with = |change: fn(&mut Ingredient)| {
            let mut ingredient = Ingredient::new("x", percent("1"), vec![]);
            change(&mut ingredient);
            Mixture::of(vec![ingredient]).check()
        };
        assert!(with(|_| ()).is_ok());
        assert!(matches!(with(|i| i.share = percent("101")), Err(MixtureError::Share { .. })));
        assert!(matches!(with(|i| i.share = percent("-1")), Err(MixtureError::Share { .. })));
        assert!(matches!(with(|i| i.ate.oral = Some(Ate::Value(Number::zero()))), Err(MixtureError::Estimate { .. })));
        assert!(matches!(with(|i| i.m_acute = Some(Number::ratio(1, 2))), Err(MixtureError::MFactor { .. })));
        let mut stated = Mixture::default();
        stated.stated_physical.push("H318".parse().unwrap());
        assert!(matches!(stated.check(), Err(MixtureError::NotPhysical { .. })));
    }
}
