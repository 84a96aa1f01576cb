//! What is known of a mixture: its ingredients and the few figures measured on it as a whole.

use serde::Serialize;
use thiserror::Error;

use super::hazard::{Class, Hazard};
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

    /// Every hazard it has, whether stated outright or by a specific limit.
    pub(super) fn all_hazards(&self) -> impl Iterator<Item = Hazard> {
        self.hazards.iter().copied().chain(self.limits.iter().map(|limit| limit.hazard))
    }

    /// The worst category it has in this class.
    pub(super) fn worst(&self, class: Class) -> Option<Hazard> {
        self.all_hazards().filter(|hazard| hazard.class() == class).min_by_key(|hazard| (hazard.rank(), *hazard))
    }

    pub(super) fn has(&self, class: Class) -> bool {
        self.all_hazards().any(|hazard| hazard.class() == class)
    }

    pub(super) fn burns_skin(&self) -> bool {
        self.worst(Class::Skin).is_some_and(Hazard::burns_skin)
    }

    /// The lowest share at which a specific limit gives a hazard that `fits`.
    pub(super) fn lowest_limit(&self, fits: impl Fn(Hazard) -> bool) -> Option<Share> {
        self.limits.iter().filter(|limit| fits(limit.hazard)).map(|limit| limit.at_least.clone()).min()
    }

    /// Whether it counts in a sum: from 1 %, or from its own lowest limit if that is lower.
    pub(super) fn is_relevant(&self, own: Option<&Share>) -> bool {
        let one_percent = Share::percent(Number::one());
        self.share >= *own.map_or(&one_percent, |own| own.min(&one_percent))
    }

    /// Its share in per cent as it counts towards `generic`, a limit in per cent: scaled to that where it has a limit of its own.
    pub(super) fn weighted(&self, own: Option<&Share>, generic: &Number) -> Number {
        match own {
            Some(own) => self.share.over(own) * generic,
            None => self.share.as_percent(),
        }
    }

    /// What of its figures the rules cannot take, for a message.
    fn fault(&self) -> Option<String> {
        let whole = Share::percent(Number::int(100));
        let percent = |share: &Share| share.as_percent().decimal(6);
        if self.share < Share::zero() || self.share > whole {
            return Some(format!("a share of {} % is not between 0 and 100 %", percent(&self.share)));
        }
        for ate in [&self.ate.oral, &self.ate.dermal, &self.ate.gas, &self.ate.vapour, &self.ate.mist] {
            if let Some(Ate::Value(value)) = ate
                && !value.is_positive()
            {
                return Some(format!("an acute toxicity estimate is above 0; {} is not", value.decimal(6)));
            }
        }
        if let Some(factor) = [&self.m_acute, &self.m_chronic].into_iter().flatten().find(|factor| **factor < 1) {
            return Some(format!("an M-factor is at least 1; {} is not", factor.decimal(6)));
        }
        for limit in &self.limits {
            let ordered = limit.below.as_ref().is_none_or(|below| *below > limit.at_least);
            if limit.at_least <= Share::zero() || limit.at_least > whole || !ordered {
                let percent = percent(&limit.at_least);
                return Some(format!(
                    "a specific limit of {percent} % is not between 0 and 100 %, or not below its upper end"
                ));
            }
        }
        let peroxide = self.peroxide.as_ref();
        let impossible = peroxide.is_some_and(|peroxide| peroxide.groups < 1 || !peroxide.molar_mass.is_positive());
        impossible.then(|| "an organic peroxide has at least one group and a molar mass above 0".to_owned())
    }
}

/// From this share on, the ingredient gives the mixture this hazard.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct SpecificLimit {
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
    /// They do not, as in the rest.
    Acid,
    Base,
    Surfactant,
    /// An inorganic salt, an aldehyde, a phenol.
    Other,
}

/// An acute toxicity estimate of one ingredient by one route.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ate {
    /// A value: mg/kg for swallowing and skin, ppm by volume for gases, mg/L over 4 h for vapours and mists.
    Value(Number),
    NoneFound,
}

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct AteTable {
    pub oral: Option<Ate>,
    pub dermal: Option<Ate>,
    pub gas: Option<Ate>,
    pub vapour: Option<Ate>,
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
#[derive(Clone, Debug, Default)]
pub enum Figure {
    #[default]
    Unknown,
    /// It was tested and has none: said of a flash point alone.
    NoneFound,
    Known(Number),
    /// Known only for what was diluted to make it.
    BeforeDilution(Number),
}

impl Figure {
    fn diluted(&self) -> Figure {
        match self {
            Figure::Known(value) => Figure::BeforeDilution(value.clone()),
            other => other.clone(),
        }
    }
}

/// A liquid mixture.
#[derive(Clone, Debug, Default)]
pub struct Mixture {
    /// What it holds, in any order. What is not listed is taken to be water or another unclassified ingredient, as section 3 of a
    /// safety data sheet lists every ingredient that counts.
    pub ingredients: Vec<Ingredient>,
    pub ph: Figure,
    /// Closed cup, degrees Celsius.
    pub flash_point: Figure,
    /// Initial boiling point, degrees Celsius.
    pub boiling_point: Figure,
    /// Kinematic viscosity at 40 °C, mm²/s.
    pub viscosity: Figure,
    /// The physical hazards its safety data sheet states for it as a whole. They come from tests, which no sum replaces.
    pub stated_physical: Vec<Hazard>,
    /// Whether water was added since: [`Self::stated_physical`] was then stated of what was diluted.
    pub diluted: bool,
}

#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("{0}")]
pub struct MixtureError(String);

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
        Mixture {
            ingredients: ingredients.collect(),
            ph: self.ph.diluted(),
            flash_point: self.flash_point.diluted(),
            boiling_point: self.boiling_point.diluted(),
            viscosity: self.viscosity.diluted(),
            stated_physical: self.stated_physical.clone(),
            diluted: true,
        }
    }

    /// That every figure is one the rules can take.
    pub(super) fn check(&self) -> Result<(), MixtureError> {
        if let Some(hazard) = self.stated_physical.iter().find(|hazard| !hazard.class().is_physical()) {
            let hint = "hazards to health and the environment are computed from the ingredients";
            return Err(MixtureError(format!("`{hazard}` is no physical hazard; {hint}")));
        }
        for ingredient in &self.ingredients {
            if let Some(fault) = ingredient.fault() {
                return Err(MixtureError(format!("{}: {fault}", ingredient.name)));
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
        assert!(matches!(&once.ph, Figure::BeforeDilution(ph) if *ph == 7));
        assert_eq!(once.dilute(&percent("50")).ingredients[0].share, percent("0.5"));
    }

    fn limit(from: &str, below: Option<&str>) -> SpecificLimit {
        let hazard = "Skin Irrit. 2".parse().unwrap();
        SpecificLimit { hazard, at_least: percent(from), below: below.map(percent) }
    }

    #[test]
    fn impossible_figures_are_refused() {
        type Change = fn(&mut Ingredient);
        let cases: [(Change, &str); 8] = [
            (|_| (), ""),
            (|i| i.share = percent("101"), "x: a share of 101 %"),
            (|i| i.share = percent("-1"), "x: a share of -1 %"),
            (|i| i.ate.oral = Some(Ate::Value(Number::zero())), "is above 0; 0 is not"),
            (|i| i.m_acute = Some(Number::ratio(1, 2)), "M-factor is at least 1; 0.5 is not"),
            (|i| i.limits = vec![limit("0", None)], "limit of 0 %"),
            (|i| i.limits = vec![limit("5", Some("5"))], "limit of 5 %"),
            (|i| i.peroxide = Some(Peroxide { groups: Number::zero(), molar_mass: Number::one() }), "one group"),
        ];
        for (change, said) in cases {
            let mut ingredient = Ingredient::new("x", percent("1"), vec![]);
            change(&mut ingredient);
            let error = Mixture::of(vec![ingredient]).check().err().map(|error| error.to_string()).unwrap_or_default();
            assert!(error.contains(said) && error.is_empty() == said.is_empty(), "{said}: {error}");
        }
        let mut stated = Mixture::default();
        stated.stated_physical.push("H318".parse().unwrap());
        assert!(stated.check().is_err());
    }
}
