//! Which hazards a container shows.
//!
//! What the safety data sheet states for the use solution, where it does; else those of the concentrate, which is the
//! side that protects; or what the mixture rules give, where somebody who answers for it has chosen that. Never less than
//! the sheet. The computed result stands beside it as an aid.

use jiff::civil::Date;
use serde::Serialize;

use super::Fact;
use crate::calc::{Amount, Ratio, strength};
use crate::company::{DilutedHazards, Flash, Ingredient, Product, Regime};
use crate::ghs::{self, Classification, Figure, Hazard, Mixture, MixtureError, Note, RuleSet, UnknownAcute, classify};
use crate::job::Treatment;
use crate::quantity::{Number, Share};

#[derive(Clone, Debug, Serialize)]
pub struct Hazards {
    pub source: HazardSource,
    pub revised: Date,
    pub classes: Vec<Hazard>,
    pub decided: Option<Decision>,
    /// How much of what the hazards are shown of is of unknown acute toxicity, by route, where that is said: see
    /// [`Classification::unknown_acute`].
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub unknown_acute: Vec<UnknownAcute>,
    /// What the mixture rules give for the use solution; `None` where no ingredient's classification is in the file.
    pub computed: Option<Computed>,
}

impl Hazards {
    /// What the solution is taken to do to whoever applies it: what is shown, and what the rules give.
    pub(super) fn of_solution(&self) -> Vec<Hazard> {
        let computed = self.computed.as_ref().map(Computed::hazards).unwrap_or_default();
        self.classes.iter().copied().chain(computed).collect()
    }
}

/// Who answers for a choice, and since when.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Decision {
    pub by: String,
    pub on: Date,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum HazardSource {
    UseSolution,
    /// The sheet says that the use solution is not classified.
    NotClassified,
    /// The sheet says nothing of the use solution: those of the concentrate.
    Concentrate,
    /// Nothing is diluted: those of the product.
    Product,
    /// The sheet says nothing of the use solution, and somebody chose the calculation.
    Calculated,
}

impl HazardSource {
    /// As it stands in JSON and in the language files.
    pub fn word(self) -> &'static str {
        match self {
            HazardSource::UseSolution => "use-solution",
            HazardSource::NotClassified => "not-classified",
            HazardSource::Concentrate => "concentrate",
            HazardSource::Product => "product",
            HazardSource::Calculated => "calculated",
        }
    }
}

/// The use solution under the mixture rules.
#[derive(Clone, Debug, Serialize)]
pub struct Computed {
    /// The concentrate's share of the use solution's weight, in the strongest load.
    pub share: Share,
    pub classification: Classification,
    /// Hazards to the aquatic environment, which the rules of the United States do not cover, where the sheet states any
    /// for the concentrate.
    pub aquatic: Vec<ghs::Found>,
    pub unclassified: Vec<String>,
    pub complete: bool,
}

impl Computed {
    pub fn hazards(&self) -> Vec<Hazard> {
        let mut all = self.classification.hazards();
        all.extend(self.aquatic.iter().map(|found| found.hazard));
        all
    }
}

pub(super) enum Undecided {
    Incomplete(Vec<Lack>),
    Mixture(MixtureError),
}

pub(super) fn hazards(
    written: &Treatment,
    ratio: &Ratio,
    strongest: &Number,
    regime: Regime,
) -> Result<Hazards, Undecided> {
    let sds = &written.product.sds;
    let computed = computed(written, ratio, strongest, regime).map_err(Undecided::Mixture)?;
    let mut decided = None;
    let (source, classes) = match &sds.use_solution {
        _ if ratio.is_ready_to_use() => (HazardSource::Product, sds.hazards.clone()),
        DilutedHazards::Stated(hazards) => (HazardSource::UseSolution, hazards.clone()),
        DilutedHazards::NotClassified => (HazardSource::NotClassified, Vec::new()),
        DilutedHazards::NotStated => (HazardSource::Concentrate, sds.hazards.clone()),
        DilutedHazards::Calculated { by, on } => {
            let Some(complete) = computed.as_ref().filter(|computed| computed.complete) else {
                return Err(Undecided::Incomplete(computed.as_ref().map(lacking).unwrap_or_default()));
            };
            decided = Some(Decision { by: by.clone(), on: *on });
            (HazardSource::Calculated, complete.hazards())
        }
    };
    let of_concentrate = source == HazardSource::Concentrate;
    Ok(Hazards {
        unknown_acute: unknown_acute(written, of_concentrate, computed.as_ref(), regime),
        source,
        revised: sds.revised,
        classes,
        decided,
        computed,
    })
}

/// What is shown of unknown acute toxicity: of the concentrate where its hazards are shown, else of the use solution. Only an
/// ingredient that the data sheet says so of counts (`acute_toxicity: unknown`): where the file is silent it is the file that does
/// not know, and a label must not say that nobody does.
fn unknown_acute(
    written: &Treatment,
    of_concentrate: bool,
    computed: Option<&Computed>,
    regime: Regime,
) -> Vec<UnknownAcute> {
    let product = &written.product;
    let share = match computed {
        _ if of_concentrate => Share::of_one(Number::one()),
        Some(computed) => computed.share.clone(),
        None => return Vec::new(),
    };
    let stated = product.ingredients.iter().filter(|i| i.facts.as_ref().is_some_and(|facts| facts.unknown_acute));
    let stated = stated.filter_map(|i| Some(entry(i, by_weight(product, i)?.times(share.as_of_one()))));
    // A figure that the rules cannot take has been refused with the whole mixture.
    classify(&Mixture::of(stated.collect()), regime.rules()).map_or_else(|_| Vec::new(), |found| found.unknown_acute)
}

/// Something that keeps a calculation from being complete.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Lack {
    Hazards(String),
    FlashPoint,
    Ph,
    Viscosity,
    MFactor(String),
    Test(String),
}

impl Lack {
    /// For the message of an error.
    pub fn wanted(&self) -> String {
        match self {
            Lack::Hazards(name) => format!("`hazards` of the ingredient {name} (`hazards: []` if it has none)"),
            Lack::FlashPoint => "`flash_point` of the use solution, in the directions".to_owned(),
            Lack::Ph => "`ph` of the use solution, in the directions".to_owned(),
            Lack::Viscosity => "`viscosity` of the use solution at 40 °C, in the directions".to_owned(),
            Lack::MFactor(name) => format!("the M-factor of {name}, such as `Aquatic Acute 1 (M=10)`"),
            Lack::Test(name) => format!("a `limits` entry, or a test, for the physical hazard of {name}"),
        }
    }

    pub fn fact(&self) -> Fact {
        let word = |key: &str| Fact::Word(format!("lacking.{key}"));
        match self {
            Lack::Hazards(name) => Fact::List(vec![word("hazards"), Fact::text(name)]),
            Lack::FlashPoint => word("flash-point"),
            Lack::Ph => word("ph"),
            Lack::Viscosity => word("viscosity"),
            Lack::MFactor(name) => Fact::List(vec![word("m-factor"), Fact::text(name)]),
            Lack::Test(name) => Fact::List(vec![word("test"), Fact::text(name)]),
        }
    }
}

pub(super) fn lacking(computed: &Computed) -> Vec<Lack> {
    let mut all: Vec<Lack> = computed.unclassified.iter().cloned().map(Lack::Hazards).collect();
    for note in computed.classification.notes.iter().filter(|n| n.leaves_open()) {
        all.push(match note {
            Note::FlashPointNeeded { .. } => Lack::FlashPoint,
            Note::ViscosityNeeded => Lack::Viscosity,
            Note::MFactorAssumed { ingredient } => Lack::MFactor(ingredient.clone()),
            Note::TestNeeded { ingredient, .. } => Lack::Test(ingredient.clone()),
            // Every other note that leaves something open asks for the pH.
            _ => Lack::Ph,
        });
    }
    all
}

fn computed(
    written: &Treatment,
    ratio: &Ratio,
    strongest: &Number,
    regime: Regime,
) -> Result<Option<Computed>, MixtureError> {
    let product = &written.product;
    if product.ingredients.iter().all(|i| i.facts.is_none()) {
        return Ok(None);
    }
    let (Some(share), Some(mut solution)) = (share(product, ratio, strongest), mixture(product)) else {
        return Ok(None);
    };
    if !ratio.is_ready_to_use() {
        let stated = &written.directions;
        solution = solution.dilute(&share);
        solution.ph = stated.ph.clone().map_or(solution.ph, Figure::Known);
        solution.viscosity = stated.viscosity.clone().map_or(solution.viscosity, Figure::Known);
        solution.flash_point = stated.flash_point.as_ref().map_or(solution.flash_point, flash_point);
    }
    let classification = classify(&solution, regime.rules())?;
    let environmental = |h: &Hazard| h.class().is_environmental();
    let mut aquatic = Vec::new();
    if regime.rules() == RuleSet::UnitedStates && product.sds.hazards.iter().any(environmental) {
        aquatic = classify(&solution, RuleSet::EuUk)?.hazards;
        aquatic.retain(|found| environmental(&found.hazard));
    }
    let unclassified = product.ingredients.iter().filter(|i| i.facts.is_none());
    let unclassified: Vec<String> = unclassified.map(|i| i.name.clone()).collect();
    Ok(Some(Computed {
        share,
        complete: classification.is_complete() && unclassified.is_empty(),
        classification,
        aquatic,
        unclassified,
    }))
}

/// The concentrate's share of the use solution's weight. `None` where a density or a tablet's weight is not known.
fn share(product: &Product, ratio: &Ratio, strongest: &Number) -> Option<Share> {
    if ratio.is_ready_to_use() {
        return Some(Share::of_one(Number::one()));
    }
    let grams = match &ratio.product_per_litre_of_solution {
        Amount::Liquid(volume) => volume.as_millilitres() * product.density.as_ref()?.as_kilograms_per_litre(),
        Amount::Powder(mass) => mass.as_grams().clone(),
        Amount::Tablets(count) => count * product.tablet.as_ref()?.as_grams(),
        Amount::None => Number::zero(),
    };
    let water = ratio.water_per_litre_of_solution.as_millilitres() * strength::water_density().as_kilograms_per_litre();
    let product_grams = grams * strongest;
    let all = &product_grams + &water;
    Some(Share::of_one((product_grams / all).min(Number::one())))
}

/// The product as a mixture by weight. `None` where a content cannot be turned to weight.
fn mixture(product: &Product) -> Option<Mixture> {
    let ingredients = product.ingredients.iter().map(|i| Some(entry(i, by_weight(product, i)?)));
    let known = |value: Option<Number>| value.map_or(Figure::Unknown, Figure::Known);
    Some(Mixture {
        ingredients: ingredients.collect::<Option<_>>()?,
        ph: known(product.ph.clone()),
        flash_point: product.flash_point.as_ref().map_or(Figure::Unknown, flash_point),
        boiling_point: known(product.boiling_point.as_ref().map(|t| t.as_celsius().clone())),
        viscosity: known(product.viscosity.clone()),
        stated_physical: product.sds.hazards.iter().copied().filter(|h| h.class().is_physical()).collect(),
        diluted: false,
    })
}

fn flash_point(flash: &Flash) -> Figure {
    match flash {
        Flash::At(temperature) => Figure::Known(temperature.as_celsius().clone()),
        Flash::NoneFound => Figure::NoneFound,
    }
}

fn entry(ingredient: &Ingredient, share: Share) -> ghs::Ingredient {
    let facts = ingredient.facts.clone().unwrap_or_else(|| ghs::Ingredient {
        cas: ingredient.cas.clone(),
        // Nothing is known of it: its acute toxicity counts as unknown.
        unknown_acute: true,
        ..ghs::Ingredient::new(&ingredient.name, Share::zero(), Vec::new())
    });
    ghs::Ingredient { share, ..facts }
}

fn by_weight(product: &Product, ingredient: &Ingredient) -> Option<Share> {
    let share = product.share_by_weight(&ingredient.content, ingredient.density.as_ref())?;
    Some(share.min(Share::of_one(Number::one())))
}
