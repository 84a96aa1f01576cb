//! What would do where no fill of a vessel holds the label's dose, or only fills that leave it half empty: a finer measure, or a
//! larger vessel.

use serde::Serialize;

use super::{Graduations, Load, Need, Sharing, fills, loads};
use crate::calc::amount::Amount;
use crate::quantity::{Mass, Number, Volume};

/// Why no fill would do, and what would.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Advice {
    /// The fill nearest to the label's dose from above.
    pub nearest: Load,
    /// What the vessel has marks of water for, but not the room: with its product it is more than the vessel holds.
    pub brimming: Option<Load>,
    /// The coarsest of the usual measures that can give the dose, with the largest load it gives; `None` where none can.
    pub measure: Option<(Amount, Load)>,
    /// The smallest solution in a larger vessel with the same marks that holds the dose; `None` where none does.
    pub vessel: Option<Volume>,
}

/// Marks of common measuring cups, in fluid ounces, coarsest first.
const OUNCES: [(i64, i64); 4] = [(1, 1), (1, 2), (1, 4), (1, 8)];
/// Marks of common cylinders and syringes in milliliters, and of scales in grams, coarsest first.
const MILLILITRES: [(i64, i64); 6] = [(10, 1), (5, 1), (2, 1), (1, 1), (1, 2), (1, 10)];

/// How many times the vessel a larger one may be and still be of use as advice.
const LARGER: i64 = 16;

/// What would do; `None` where the vessel holds not one mark.
pub fn advice(need: &Need) -> Option<Advice> {
    let own = fills(need).ok()?;
    let nearest = own.nearest_above()?;
    let finer = |graduations: &Graduations| {
        let need = Need { graduations, ..need.clone() };
        fills(&need).ok()?.largest()
    };
    let measure = match &nearest.product {
        Amount::Liquid(_) => liquid_steps(need).find_map(|step| {
            let marks = Graduations { liquid: Some(step.clone()), ..need.graduations.clone() };
            Some((Amount::Liquid(step), finer(&marks)?))
        }),
        Amount::Powder(_) => powder_steps(need).find_map(|step| {
            let marks = Graduations { powder: Some(step.clone()), ..need.graduations.clone() };
            Some((Amount::Powder(step), finer(&marks)?))
        }),
        _ => None,
    };
    let tank = need.tank.times(&Number::int(LARGER));
    let larger = Need { tank, ..need.clone() };
    let beyond = fills(&larger).ok().and_then(|fills| fills.smallest_of(own.full + 1));
    let vessel = beyond.as_ref().map(|load| load.solution.clone());
    let brimming = beyond.filter(|load| load.water <= need.tank && load.water > nearest.water);
    Some(Advice { nearest, brimming, measure, vessel })
}

/// A measure with which a need takes fewer loads.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FinerMarks {
    /// From mark to mark.
    pub marks: Amount,
    /// The same of the present one.
    pub now: Amount,
    pub measures: Measures,
    /// How many loads it then takes.
    pub loads: usize,
}

/// What a measure is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Measures {
    Product,
    Water,
}

impl Measures {
    pub fn word(self) -> &'static str {
        match self {
            Measures::Product => "product",
            Measures::Water => "water",
        }
    }
}

/// Where coarse marks leave a vessel less than three quarters full and cost loads: the coarsest of the usual measures that gives
/// the dose in fuller ones, the product's before the water's. `None` where there is nothing to gain.
pub fn finer_marks(need: &Need, sharing: Sharing, present: &[Load]) -> Option<FinerMarks> {
    let enough = need.tank.times(&Number::ratio(3, 4));
    let is_full = |all: &[Load]| all.iter().any(|load| load.solution >= enough);
    if present.len() < 2 || is_full(present) {
        return None;
    }
    let now = need.graduations;
    let of_liquid = liquid_steps(need).map(|step| {
        (Amount::Liquid(step.clone()), Measures::Product, Graduations { liquid: Some(step), ..now.clone() })
    });
    let of_powder = powder_steps(need).map(|step| {
        (Amount::Powder(step.clone()), Measures::Product, Graduations { powder: Some(step), ..now.clone() })
    });
    let of_water = PARTS.into_iter().map(|parts| {
        let step = now.water.times(&Number::ratio(1, parts));
        (Amount::Liquid(step.clone()), Measures::Water, Graduations { water: step, ..now.clone() })
    });
    let of_product: Vec<_> = match present.first().map(|load| &load.product) {
        Some(Amount::Liquid(_)) => of_liquid.collect(),
        Some(Amount::Powder(_)) => of_powder.collect(),
        _ => Vec::new(),
    };
    of_product.into_iter().chain(of_water).find_map(|(marks, measures, graduations)| {
        let all = loads(&Need { graduations: &graduations, ..need.clone() }, sharing).ok()?;
        let is_better = is_full(&all) && all.len() < present.len();
        let now = match (measures, &marks) {
            (Measures::Water, _) => Amount::Liquid(now.water.clone()),
            (Measures::Product, Amount::Powder(_)) => now.powder.clone().map_or(Amount::None, Amount::Powder),
            (Measures::Product, _) => now.liquid.clone().map_or(Amount::None, Amount::Liquid),
        };
        is_better.then_some(FinerMarks { marks, now, measures, loads: all.len() })
    })
}

/// Parts of a mark of water that a finer measure may have.
const PARTS: [i64; 3] = [2, 4, 8];

/// Usual marks finer than the present one, fluid ounces before millilitres where the present one is in ounces.
fn liquid_steps(need: &Need) -> impl Iterator<Item = Volume> {
    let ounce = || Number::parse("29.5735295625").unwrap_or_else(Number::one);
    let of = |unit: Number| move |(top, bottom): (i64, i64)| Volume::millilitres(&unit * &Number::ratio(top, bottom));
    let present = need.graduations.liquid.clone();
    let in_ounces =
        present.as_ref().is_some_and(|step| (step.as_millilitres() / &ounce() * Number::int(8)).is_integer());
    let ounces = OUNCES.into_iter().filter(move |_| in_ounces).map(of(ounce()));
    ounces
        .chain(MILLILITRES.into_iter().map(of(Number::one())))
        .filter(move |step| present.as_ref().is_some_and(|now| step < now))
}

fn powder_steps(need: &Need) -> impl Iterator<Item = Mass> {
    let present = need.graduations.powder.clone();
    MILLILITRES
        .into_iter()
        .map(|(top, bottom)| Mass::grams(Number::ratio(top, bottom)))
        .filter(move |step| present.as_ref().is_some_and(|now| step < now))
}
