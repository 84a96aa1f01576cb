//! What would do where no fill of a vessel holds the label's dose: a finer measure, or a larger vessel.

use super::{Graduations, Load, Need, fills};
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
