//! How near loads must be to the label's dose; the loads themselves; and what to do where a measure cannot give the dose.

use serde::Serialize;

use super::residue::residue;
use super::strength;
use super::told::told;
use crate::calc::food_contact::Finding;
use crate::calc::loads::{Advice, Bounds, Graduations, Load, Need, Sharing, advice, loads};
use crate::calc::{Amount, CalcError, Ratio};
use crate::catalog::Vessel;
use crate::job::{Job, Treatment};
use crate::quantity::{Number, Printer, Strength, System, Volume};
use crate::report::{Diagnostic, Report};

/// How far a load may lie from the label's dose, as factors of it, and what sets the upper end.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct DosePlan {
    /// The weakest load: 1, but where a residue limit leaves no room above the label's dose.
    pub least: Number,
    /// The strongest.
    pub most: Number,
    /// What sets it.
    pub set_by: DoseTop,
}

/// What sets the most that a load may hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum DoseTop {
    /// The measure's own error: the label gives one dose.
    Measure,
    /// The upper end of the label's range.
    LabelRange,
    /// A limit of 40 CFR 180.940 that would ask for a rinse the label does not.
    Residue,
}

impl DosePlan {
    pub(super) fn bounds(&self) -> Bounds {
        Bounds { least: self.least.clone(), most: self.most.clone() }
    }
}

/// The vessel that a treatment is mixed in.
pub(super) fn mixing_vessel(written: &Treatment) -> Vessel {
    match &written.pour {
        Some(pour) => pour.mixed_in.clone(),
        None => Vessel::of_sprayer(&written.sprayer),
    }
}

/// The bounds of a treatment's dose.
pub(super) fn dose(
    written: &Treatment,
    job: &Job,
    ratio: &Ratio,
    at_label: &Strength,
    report: &mut Report,
) -> Option<DosePlan> {
    let directions = &written.directions;
    let error = mixing_vessel(written).measure_error;
    let error = error.as_of_one();
    let mut plan = match &directions.dilution_most {
        None => DosePlan { least: Number::one(), most: Number::one() + error, set_by: DoseTop::Measure },
        Some(high) => {
            let place = directions.origin.key("dilution");
            let high = told(strength::ratio(&written.product, high), &place, report)?;
            let (high, low) = (&high.product_per_litre_of_solution, &ratio.product_per_litre_of_solution);
            DosePlan { least: Number::one(), most: high.value() / low.value(), set_by: DoseTop::LabelRange }
        }
    };
    if let Some(ceiling) = residue_ceiling(written, job, ratio, at_label, &plan.most, report)? {
        if ceiling < Number::one() + error {
            plan.least = Number::one() - error;
        }
        plan.most = ceiling;
        plan.set_by = DoseTop::Residue;
    }
    Some(plan)
}

/// The strongest load, as a factor of the label's dose, that leaves no residue above a limit; where the label's own dose
/// keeps the limits, asks for no rinse, and `most` does not keep them. The outer `None` is a reported error.
#[allow(clippy::option_option)]
fn residue_ceiling(
    written: &Treatment,
    job: &Job,
    ratio: &Ratio,
    at_label: &Strength,
    most: &Number,
    report: &mut Report,
) -> Option<Option<Number>> {
    if written.directions.rinse.is_some() {
        return Some(None);
    }
    let mut at = |factor: &Number| {
        let found = residue(written, job.site.food_place, ratio, at_label, factor);
        told(found, &written.product.origin, report)
    };
    let within = at(&Number::one())?.is_some_and(|residue| residue.may_stay());
    let Some(over) = at(most)?.filter(|over| within && !over.may_stay()) else {
        return Some(None);
    };
    // Residue grows with the dose, so the ceiling is where the tightest limit is reached.
    let reached = over.findings.iter().filter_map(|finding| match finding {
        Finding::Over { limit, found, .. } if !found.is_zero() => Some(most * &limit.over(found)),
        _ => None,
    });
    Some(reached.min().map(|ceiling| ceiling.max(Number::one())))
}

/// The loads of a treatment, none larger than `tank`.
pub(super) fn share_out(
    written: &Treatment,
    ratio: &Ratio,
    dose: &DosePlan,
    tank: &Volume,
    solution: &Volume,
    hose: &Volume,
) -> Result<Vec<Load>, (CalcError, Option<Box<Advice>>)> {
    let marks = mixing_vessel(written).graduations;
    let graduations = Graduations {
        water: marks.water.clone(),
        liquid: Some(marks.product.clone()),
        powder: Some(marks.powder.clone()),
    };
    let bounds = dose.bounds();
    let need = Need {
        solution: solution.clone(),
        kept_in_hose: hose.clone(),
        tank: tank.clone(),
        ratio,
        graduations: &graduations,
        bounds: &bounds,
    };
    let sharing = if written.equal_loads { Sharing::EqualLoads } else { Sharing::FullTanksThenRest };
    loads(&need, sharing).map_err(|refusal| {
        let advice = (refusal == CalcError::DoseOffMarks).then(|| advice(&need)).flatten().map(Box::new);
        (refusal, advice)
    })
}

/// The error of a dose that no fill of the vessel gives: how far off the nearest is, and what would do.
pub(super) fn not_measurable(
    written: &Treatment,
    job: &Job,
    number: usize,
    dose: &DosePlan,
    advice: &Advice,
) -> Diagnostic {
    let units = Printer::new(job.catalog.units);
    let vessel = mixing_vessel(written);
    let nearest = &advice.nearest;
    let product = match &nearest.product {
        Amount::Liquid(volume) => units.measured_product(volume).main,
        Amount::Powder(mass) => units.mass(mass).main,
        Amount::Tablets(count) if *count == Number::one() => "1 tablet".to_owned(),
        Amount::Tablets(count) => format!("{} tablets", units.count(count).main),
        Amount::None => String::new(),
    };
    let message = format!(
        "no load of treatment {number} in `{}` can be measured to the label's dose: the nearest, {product} in {} of water, \
         is {} times the label's; at most {} times may be mixed",
        vessel.name,
        units.water(&nearest.water).main,
        nearest.strength_factor.decimal(2),
        dose.most.decimal(2),
    );
    let key = if written.pour.is_some() { "mixed_in" } else { "sprayer" };
    let mut problem = written.origin.key(key).error("dose-not-measurable", message);
    if let Some(measure) = &advice.measure {
        let (key, step) = match measure {
            Amount::Powder(mass) => ("powder", Printer::new(System::Si).mass(mass).main),
            Amount::Liquid(volume) => ("product", units.measured_product(volume).main),
            _ => ("product", String::new()),
        };
        problem = problem.hint(format!("a measure with marks of {step} would do: `graduations: {{ {key}: {step} }}`"));
    }
    if let Some(vessel) = &advice.vessel {
        let least = units.water(vessel).main;
        problem = problem.hint(format!("a larger vessel would do: mix {least} and pour it (`mixed_in`)"));
    }
    if advice.measure.is_none() && advice.vessel.is_none() {
        problem = problem.hint("neither a finer measure nor a larger vessel would do: check the label's dilution");
    }
    if dose.set_by == DoseTop::Residue {
        problem = problem.hint("40 CFR 180.940 leaves no more room above the label's dose without a rinse");
    }
    problem
}
