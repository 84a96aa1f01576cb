//! One fill of one vessel: so many marks of water and the product that a measure can give, near enough to the label's dose.

use super::{Graduations, Load};
use crate::calc::amount::Amount;
use crate::calc::dilution::Ratio;
use crate::quantity::{Basis, Mass, Number, Volume};

/// How far a load may lie from the label's dose, as factors of that dose.
///
/// More than the label's dose is use inconsistent with the label: FIFRA 2(ee)(1), 7 U.S.C. 136(ee). No rule gives a
/// percentage by which a measure may be off. The error of household measures, 5 % of the marked capacity, is what the
/// American standard on home measuring utensils allows (read on a terminology page).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bounds {
    /// The weakest load that may be mixed. 1, but where a residue limit leaves no room above the label's dose.
    pub least: Number,
    pub most: Number,
}

impl Bounds {
    fn hold(&self, factor: &Number) -> bool {
        *factor >= self.least && *factor <= self.most
    }
}

/// How many runs of marks are looked at: a run is the fills that take the same product.
const LOOKED_AT: usize = 256;

/// Steps in which a dose counts as equally near to the label's: a tenth of a measure's own error.
const NEAR: (i64, i64) = (1, 200);

/// Up to here a load is within what nobody could measure better, and is not cautioned.
const CLOSE: (i64, i64) = (1, 50);

/// Whether a load lies so far from the label's dose that the crew should know.
pub fn is_far(factor: &Number) -> bool {
    distance(factor) > Number::ratio(CLOSE.0, CLOSE.1)
}

fn distance(factor: &Number) -> Number {
    (factor - &Number::one()).abs()
}

/// How near a load is to the label's dose, in steps.
fn steps_away(load: &Load) -> Number {
    (distance(&load.strength_factor) / Number::ratio(NEAR.0, NEAR.1)).floor_to(&Number::one())
}

/// The fills that a vessel and its marks allow.
pub(super) struct Fills<'a> {
    pub ratio: &'a Ratio,
    pub graduations: &'a Graduations,
    pub bounds: &'a Bounds,
    /// What the vessel takes, water and product together.
    pub tank: &'a Volume,
    /// The most marks of water that fit with their product.
    pub full: i64,
}

impl Fills<'_> {
    fn measured(&self, marks: i64) -> Volume {
        self.graduations.water.times(&Number::int(marks))
    }

    fn step(&self, exact: &Amount) -> Number {
        let step = match exact {
            Amount::None => None,
            Amount::Liquid(_) => self.graduations.liquid.as_ref().map(Volume::as_millilitres),
            Amount::Powder(_) => self.graduations.powder.as_ref().map(Mass::as_grams),
            // Half a tablet is nobody's measure.
            Amount::Tablets(_) => return Number::one(),
        };
        step.filter(|step| step.is_positive()).cloned().unwrap_or_else(Number::zero)
    }

    /// Product for so many marks, before it is measured.
    fn exact(&self, marks: i64) -> Amount {
        let measured = self.measured(marks);
        match self.ratio.basis {
            _ if self.ratio.is_ready_to_use() => Amount::Liquid(measured),
            Basis::AddedTo => self.ratio.product_for_water(&measured).unwrap_or(Amount::None),
            Basis::MadeUpTo => self.ratio.product_in_solution(&measured),
        }
    }

    /// Water and product together, with the product at the mark at or above the label's dose.
    pub fn solution(&self, marks: i64) -> Volume {
        self.with_product(marks, &self.product_at_or_above(marks))
    }

    fn with_product(&self, marks: i64, product: &Amount) -> Volume {
        match self.ratio.basis {
            Basis::MadeUpTo => self.measured(marks),
            Basis::AddedTo => &self.measured(marks) + &product.added_volume(),
        }
    }

    fn product_at_or_above(&self, marks: i64) -> Amount {
        let exact = self.exact(marks);
        if self.ratio.is_ready_to_use() {
            return exact;
        }
        exact.with_value(exact.value().ceil_to(&self.step(&exact)))
    }

    fn load(&self, marks: i64, product: Amount) -> Load {
        let solution = self.with_product(marks, &product);
        let water = &solution - &product.added_volume();
        let label = self.ratio.product_in_solution(&solution).value();
        let strength_factor = if label.is_zero() { Number::one() } else { product.value() / label };
        Load { solution, water, product, strength_factor }
    }

    /// The fill with the product at the mark at or above the label's dose, whether or not it may be mixed.
    pub fn at_or_above(&self, marks: i64) -> Load {
        self.load(marks, self.product_at_or_above(marks))
    }

    /// The fill that may be mixed: at or above the label's dose where the bounds allow it, else just below.
    pub fn allowed(&self, marks: i64) -> Option<Load> {
        let may = |load: &Load| {
            let has_water = self.ratio.is_ready_to_use() || load.water.as_millilitres().is_positive();
            has_water && load.solution <= *self.tank && self.bounds.hold(&load.strength_factor)
        };
        let above = self.at_or_above(marks);
        if may(&above) {
            return Some(above);
        }
        let exact = self.exact(marks);
        let below = exact.value().floor_to(&self.step(&exact));
        if self.bounds.least >= Number::one() || !below.is_positive() {
            return None;
        }
        Some(self.load(marks, exact.with_value(below))).filter(may)
    }

    /// The last mark of the run that `marks` lies in. Of the fills that take the same product it is the nearest to the label's
    /// dose from above; the first mark after it is where a measure rounded down comes nearest from below.
    fn end_of_run(&self, marks: i64) -> i64 {
        let one = self.exact(1);
        let step = self.step(&one);
        if step.is_zero() || one.is_zero() || self.ratio.is_ready_to_use() {
            return marks;
        }
        let product = self.exact(marks).value().ceil_to(&step);
        (product / one.value()).floor_to(&Number::one()).to_i64().unwrap_or(marks).max(marks)
    }

    /// The marks worth a look from `marks` down: itself, and both sides of every end of a run.
    fn downward(&self, marks: i64) -> impl Iterator<Item = i64> {
        let one = self.exact(1);
        let step = self.step(&one);
        let plain = step.is_zero() || self.ratio.is_ready_to_use();
        let mut at = marks;
        let ends = std::iter::from_fn(move || {
            if at < 1 {
                return None;
            }
            // The end of the run before: the most marks that one step of product less serves.
            at = if plain {
                at - 1
            } else {
                let product = (&one.value() * &Number::int(at)).ceil_to(&step) - &step;
                (product / one.value()).floor_to(&Number::one()).to_i64().unwrap_or(0).min(at - 1)
            };
            Some(at)
        });
        let sides = ends.take(LOOKED_AT).flat_map(|end| [end + 1, end]);
        std::iter::once(marks).chain(sides).filter(move |at| (1..=marks).contains(at))
    }

    /// The marks worth a look from `from` up: the first of each run, and the first in it at which the dose is allowed, and
    /// close to the label's.
    fn upward(&self, from: i64) -> impl Iterator<Item = i64> {
        let mut start = from;
        let runs = std::iter::from_fn(move || {
            if start > self.full {
                return None;
            }
            let run = (start, self.end_of_run(start).min(self.full));
            start = run.1 + 1;
            Some(run)
        });
        runs.take(LOOKED_AT).flat_map(|(start, end)| {
            let first_at = |most: &Number| {
                let fits = |marks: i64| self.at_or_above(marks).strength_factor <= *most;
                super::first(start, end + 1, |marks| marks > end || fits(marks))
            };
            let close = Number::one() + Number::ratio(CLOSE.0, CLOSE.1);
            let mut marks = vec![start, first_at(&self.bounds.most), first_at(&close)];
            marks.retain(|at| *at <= end);
            marks.sort_unstable();
            marks.dedup();
            marks
        })
    }

    /// The fills that may be mixed, the fullest first.
    fn fullest_first(&self) -> impl Iterator<Item = Load> {
        self.downward(self.full).filter_map(|marks| self.allowed(marks))
    }

    /// Of all fills, the one nearest to the label's dose from above, whether or not it may be mixed.
    pub fn nearest_above(&self) -> Option<Load> {
        let all = self.downward(self.full).map(|marks| self.at_or_above(marks));
        all.min_by_key(|load| load.strength_factor.clone())
    }

    /// The smallest fill of so many marks or more that may be mixed.
    pub fn smallest_of(&self, from: i64) -> Option<Load> {
        self.upward(from).find_map(|marks| self.allowed(marks))
    }

    pub fn largest(&self) -> Option<Load> {
        self.fullest_first().next()
    }

    /// Of the fills that hold three quarters of `largest` or more, the one nearest to the label's dose; among equals the
    /// largest. Smaller ones would cost the crew more loads than they gain in dose.
    pub fn nearest(&self, largest: &Load) -> Option<Load> {
        let enough = largest.solution.times(&Number::ratio(3, 4));
        let large = self.fullest_first().take_while(|load| load.solution >= enough);
        // `min_by_key` keeps the first of equals: the fullest.
        large.min_by_key(steps_away)
    }

    /// The smallest fill that holds at least so much: one close to the label's dose, if there is any; else the smallest
    /// that may be mixed.
    pub fn smallest(&self, least: &Volume) -> Option<Load> {
        let from = super::first(1, self.full + 1, |marks| marks > self.full || self.solution(marks) >= *least);
        let enough = self.upward(from).filter_map(|marks| self.allowed(marks));
        let mut enough = enough.filter(|load| load.solution >= *least).peekable();
        let smallest = enough.peek().cloned();
        enough.find(|load| !is_far(&load.strength_factor)).or(smallest)
    }

    /// The fill just below `load` that may be mixed and is no farther from the label's dose.
    pub fn next_smaller(&self, load: &Load) -> Option<Load> {
        let marked = match self.ratio.basis {
            Basis::AddedTo if !self.ratio.is_ready_to_use() => &load.water,
            _ => &load.solution,
        };
        let marks = marked.over(&self.graduations.water).to_i64()?;
        let lower = self.downward(marks - 1).filter_map(|marks| self.allowed(marks));
        let far = is_far(&load.strength_factor);
        lower.filter(|lower| far || !is_far(&lower.strength_factor)).find(|lower| lower.solution < load.solution)
    }
}
