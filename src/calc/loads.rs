//! From solution needed to loads: what is measured at the tap, fill by fill.
//!
//! Every load is a whole number of marks of water, and the product a whole number of marks of its measure. The *water* is
//! chosen so that the product falls on a mark at the label's dose or a little above it, within [`Bounds`]: never below
//! (a weak mix does not disinfect), never above by more than the measure's own error.
//!
//! What the mark measures follows the label: water where product is added to water, the mark that the vessel is
//! filled to where it is made up to a volume.

mod advice;
mod fill;

use serde::Serialize;

pub use self::advice::{Advice, FinerMarks, advice, finer_marks};
use self::fill::Fills;
pub use self::fill::{Bounds, is_far};
use super::amount::Amount;
use super::dilution::Ratio;
use super::error::{CalcError, positive};
use crate::quantity::{Mass, Number, Volume};

/// No visit mixes more loads than this; a need beyond it is a slip in the job.
pub const MOST_LOADS: u32 = 500;

/// No tank has more marks than this; the bound also keeps every count far from overflow.
const MOST_MARKS: i64 = 1_000_000;

/// How a need that one tank does not hold is shared out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sharing {
    /// Full tanks, then the rest in a last, usually partial, load.
    #[default]
    FullTanksThenRest,
    /// As few loads as possible, all alike or of two neighboring fills.
    EqualLoads,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Graduations {
    /// Between two marks of the tank or of the water measure. Above 0.
    pub water: Volume,
    /// Between two marks of the cup for liquid product; `None` measures it exactly.
    pub liquid: Option<Volume>,
    /// Smallest step of the scale or scoop for powder; `None` weighs it exactly.
    pub powder: Option<Mass>,
}

#[derive(Clone, Debug)]
pub struct Need<'a> {
    /// Solution to be applied, any reserve already in it. Above 0.
    pub solution: Volume,
    /// Solution that stays behind in hose and pump and is not applied: mixed once for the whole treatment.
    pub kept_in_hose: Volume,
    /// The most that the vessel takes, water and product together. Above zero.
    pub tank: Volume,
    pub ratio: &'a Ratio,
    pub graduations: &'a Graduations,
    pub bounds: &'a Bounds,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Load {
    pub solution: Volume,
    /// Water. Zero for a ready-to-use product.
    pub water: Volume,
    pub product: Amount,
    /// Strength as mixed over strength of the label's dilution, within the bounds asked for.
    pub strength_factor: Number,
}

/// Works out the loads, in the order they are mixed.
///
/// A full load is, of the fills that hold at least three quarters of what the vessel can take, the one nearest to the
/// label's dose; among equals the largest. The last load is the smallest that still makes up the need. Where it cannot be
/// measured that small, it and the one before are shared out alike if less is then left over.
pub fn loads(need: &Need, sharing: Sharing) -> Result<Vec<Load>, CalcError> {
    positive(need.solution.as_millilitres(), "the solution needed")?;
    if need.kept_in_hose.as_millilitres().is_negative() {
        return Err(CalcError::OutOfRange { what: "what the hose keeps", range: "0 or more" });
    }
    let total = &need.solution + &need.kept_in_hose;
    let fills = fills(need)?;
    let largest = fills.largest().ok_or(CalcError::DoseOffMarks)?;
    let full = match sharing {
        Sharing::FullTanksThenRest => fills.nearest(&largest).ok_or(CalcError::DoseOffMarks)?,
        Sharing::EqualLoads => largest.clone(),
    };

    // The last load may be as full as the vessel allows; those before it are full loads.
    let beyond = (&total - &largest.solution).over(&full.solution);
    let count = beyond.ceil_to(&Number::one()).max(Number::zero()) + Number::one();
    if count > Number::int(i64::from(MOST_LOADS)) {
        return Err(CalcError::TooManyLoads { most: MOST_LOADS });
    }
    // Within MOST_LOADS by the line above.
    let count = count.to_i64().unwrap_or(1) as usize;

    match sharing {
        Sharing::EqualLoads => alike(&fills, &total, count).ok_or(CalcError::DoseOffMarks),
        Sharing::FullTanksThenRest => {
            let rest = &total - &full.solution.times(&Number::int(count as i64 - 1));
            let last = fills.smallest(&rest).ok_or(CalcError::DoseOffMarks)?;
            let mut loads = vec![full.clone(); count - 1];
            let shared = if count > 1 && last.solution > &rest + &need.graduations.water {
                alike(&fills, &(&full.solution + &rest), 2)
            } else {
                None
            };
            let left = &last.solution - &rest;
            match shared.filter(|two| sum(two) < &(&full.solution + &rest) + &left) {
                Some(two) => {
                    loads.pop();
                    loads.extend(two);
                }
                None => loads.push(last),
            }
            Ok(loads)
        }
    }
}

/// So many loads that make up `total`: all alike, or the later ones the next fill below.
fn alike(fills: &Fills<'_>, total: &Volume, count: usize) -> Option<Vec<Load>> {
    let each = fills.smallest(&total.times(&Number::ratio(1, count as i64)))?;
    let mut larger = count;
    let lower = fills.next_smaller(&each);
    if let Some(lower) = &lower {
        let of = |load: &Load, times: usize| load.solution.times(&Number::int(times as i64));
        let enough = |larger: usize| &of(&each, larger) + &of(lower, count - larger) >= *total;
        larger = (0..=count).find(|larger| enough(*larger)).unwrap_or(count);
    }
    let rest = lower.into_iter().flat_map(|lower| std::iter::repeat_n(lower, count - larger));
    Some(std::iter::repeat_n(each, larger).chain(rest).collect())
}

fn sum(loads: &[Load]) -> Volume {
    loads.iter().map(|load| &load.solution).sum()
}

/// The fills of a vessel, once its marks are known to be of use.
fn fills<'a>(need: &'a Need) -> Result<Fills<'a>, CalcError> {
    positive(need.tank.as_millilitres(), "the tank's capacity")?;
    positive(need.graduations.water.as_millilitres(), "the tank's graduation")?;
    let most = need.tank.over(&need.graduations.water).to_i64().filter(|most| *most <= MOST_MARKS);
    let most =
        most.ok_or(CalcError::OutOfRange { what: "the tank's graduation", range: "at least a millionth of the tank" })?;
    let mut fills =
        Fills { ratio: need.ratio, graduations: need.graduations, bounds: need.bounds, tank: &need.tank, full: most };
    let fits = |marks: i64| fills.solution(marks) <= need.tank;
    if most < 1 || !fits(1) {
        return Err(CalcError::TankTooSmall);
    }
    // The first that does not fit is one beyond the full vessel.
    fills.full = first(2, most + 1, |marks| marks > most || !fits(marks)) - 1;
    Ok(fills)
}

/// The first number from `low` to `high` for which `holds` is true, where it stays true from then on; `high` if none
/// before it.
fn first(low: i64, high: i64, holds: impl Fn(i64) -> bool) -> i64 {
    let (mut low, mut high) = (low, high);
    while low < high {
        let middle = low + (high - low) / 2;
        if holds(middle) { high = middle } else { low = middle + 1 }
    }
    low
}

#[cfg(test)]
mod tests;
