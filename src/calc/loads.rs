//! From solution needed to loads: what is measured at the tap, fill by fill.
//!
//! Every load is a whole number of graduations, and the product is rounded *up* to the measuring cup's. So a mix is
//! never below the label's dilution (under-strength does not disinfect), and never above it by as much as one
//! graduation of product.
//!
//! What the graduation measures follows the label: water where product is added to water, the mark that the tank is
//! filled to where it is made up to a volume.

use serde::Serialize;

use super::amount::Amount;
use super::dilution::Ratio;
use super::error::{CalcError, positive};
use crate::quantity::{Basis, Mass, Number, Volume};

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
    /// As few loads as possible, all alike but for one graduation at most.
    EqualLoads,
}

/// What can be measured on site.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Graduations {
    /// Between two marks of the tank or of the water measure. Above nought.
    pub water: Volume,
    /// Between two marks of the cup for liquid product; `None` measures it exactly.
    pub liquid: Option<Volume>,
    /// Smallest step of the scale or scoop for powder; `None` weighs it exactly.
    pub powder: Option<Mass>,
}

/// What the loads are worked out from.
#[derive(Clone, Debug)]
pub struct Need<'a> {
    /// Solution to be applied, any reserve already in it. Above nought.
    pub solution: Volume,
    /// Solution that stays behind in hose and pump and is not applied: mixed once for the whole treatment.
    pub kept_in_hose: Volume,
    /// The most that the tank takes, water and product together. Above nought.
    pub tank: Volume,
    /// The dilution.
    pub ratio: &'a Ratio,
    /// What can be measured.
    pub graduations: &'a Graduations,
}

/// One fill of one tank.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Load {
    /// Water and product together.
    pub solution: Volume,
    /// Water. Nought for a ready-to-use product.
    pub water: Volume,
    /// Product, as it is measured.
    pub product: Amount,
    /// Strength as mixed over strength of the label's dilution: 1 or a little more, never less.
    pub strength_factor: Number,
}

/// Works out the loads, in the order they are mixed.
///
/// A full tank is the largest number of graduations that fits with its product. The last load is the smallest that
/// still makes up the need; of tablets, the largest that its whole tablets serve.
///
/// # Errors
/// [`CalcError::NotPositive`] for a need, a tank or a graduation of nought; [`CalcError::OutOfRange`] for a graduation of under a
/// millionth of the tank; [`CalcError::TankTooSmall`] where not one graduation fits;
/// [`CalcError::GraduationTooCoarse`] where a load would be all product; [`CalcError::TooManyLoads`] beyond [`MOST_LOADS`].
pub fn loads(need: &Need, sharing: Sharing) -> Result<Vec<Load>, CalcError> {
    positive(need.solution.as_millilitres(), "the solution needed")?;
    positive(need.tank.as_millilitres(), "the tank's capacity")?;
    positive(need.graduations.water.as_millilitres(), "the tank's graduation")?;
    if need.kept_in_hose.as_millilitres().is_negative() {
        return Err(CalcError::OutOfRange {
            what: "what the hose keeps",
            range: "nought or more",
        });
    }
    let total = &need.solution + &need.kept_in_hose;
    let mixer = Mixer {
        ratio: need.ratio,
        graduations: need.graduations,
    };

    let most = need
        .tank
        .over(&need.graduations.water)
        .to_i64()
        .filter(|most| *most <= MOST_MARKS)
        .ok_or(CalcError::OutOfRange {
            what: "the tank's graduation",
            range: "at least a millionth of the tank",
        })?;
    let fits = |marks: i64| mixer.solution(marks) <= need.tank;
    if most < 1 || !fits(1) {
        return Err(CalcError::TankTooSmall);
    }
    // The first that does not fit is one beyond the full tank.
    let full = first(2, most + 1, |marks| marks > most || !fits(marks)) - 1;
    let full_tank = mixer.solution(full);

    let count = total.over(&full_tank).ceil_to(&Number::one());
    if count > Number::int(i64::from(MOST_LOADS)) {
        return Err(CalcError::TooManyLoads { most: MOST_LOADS });
    }
    // Within MOST_LOADS by the line above; one load at least, as the need is above nought.
    let count = count.to_i64().unwrap_or(1);

    let marks: Vec<i64> = match sharing {
        Sharing::FullTanksThenRest => {
            let rest = &total - &full_tank.times(&Number::int(count - 1));
            let last = first(1, full, |marks| mixer.solution(marks) >= rest);
            std::iter::repeat_n(full, (count - 1) as usize).chain([last]).collect()
        }
        Sharing::EqualLoads => {
            let share = |all: i64| (all / count, all % count);
            let mixed = |all: i64| {
                let (each, more) = share(all);
                let larger = mixer.solution(each + 1).times(&Number::int(more));
                &larger + &mixer.solution(each).times(&Number::int(count - more))
            };
            let (each, more) = share(first(count, full * count, |all| mixed(all) >= total));
            (0..count).map(|index| each + i64::from(index < more)).collect()
        }
    };
    let marks = marks.into_iter().map(|marks| mixer.all_that_tablets_serve(marks, full));
    marks.map(|marks| mixer.load(marks)).collect()
}

/// Mixes so many graduations.
struct Mixer<'a> {
    ratio: &'a Ratio,
    graduations: &'a Graduations,
}

impl Mixer<'_> {
    /// What so many graduations measure.
    fn measured(&self, marks: i64) -> Volume {
        self.graduations.water.times(&Number::int(marks))
    }

    /// Product for so many graduations, rounded up to what can be measured.
    fn product(&self, marks: i64) -> Amount {
        let measured = self.measured(marks);
        if self.ratio.is_ready_to_use() {
            return Amount::Liquid(measured);
        }
        let exact = match self.ratio.basis {
            Basis::AddedTo => self.ratio.product_for_water(&measured).unwrap_or(Amount::None),
            Basis::MadeUpTo => self.ratio.product_in_solution(&measured),
        };
        let step = match &exact {
            Amount::None => Number::zero(),
            Amount::Liquid(_) => step(self.graduations.liquid.as_ref().map(Volume::as_millilitres)),
            Amount::Powder(_) => step(self.graduations.powder.as_ref().map(Mass::as_grams)),
            // Half a tablet is nobody's measure.
            Amount::Tablets(_) => Number::one(),
        };
        exact.with_value(exact.value().ceil_to(&step))
    }

    /// The most that the tablets of so many graduations serve, as far as the tank holds it. A tablet is not halved, and
    /// one in too little water would be a mix far above the label; the rest is thrown away.
    fn all_that_tablets_serve(&self, marks: i64, full: i64) -> i64 {
        let product = self.product(marks);
        if !matches!(product, Amount::Tablets(_)) {
            return marks;
        }
        let more = |other: &i64| self.product(*other).value() > product.value();
        first(marks + 1, full + 1, |other| other > full || more(&other)) - 1
    }

    /// Water and product together.
    fn solution(&self, marks: i64) -> Volume {
        match self.ratio.basis {
            Basis::MadeUpTo => self.measured(marks),
            Basis::AddedTo => &self.measured(marks) + &self.product(marks).added_volume(),
        }
    }

    fn load(&self, marks: i64) -> Result<Load, CalcError> {
        let product = self.product(marks);
        let solution = self.solution(marks);
        let water = &solution - &product.added_volume();
        if !self.ratio.is_ready_to_use() && !water.as_millilitres().is_positive() {
            return Err(CalcError::GraduationTooCoarse);
        }
        let label = self.ratio.product_in_solution(&solution).value();
        let strength_factor = if label.is_zero() {
            Number::one()
        } else {
            product.value() / label
        };
        Ok(Load {
            solution,
            water,
            product,
            strength_factor,
        })
    }
}

/// A measuring step; nought, which rounds nothing, where there is none.
fn step(step: Option<&Number>) -> Number {
    step.filter(|step| step.is_positive())
        .cloned()
        .unwrap_or_else(Number::zero)
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
