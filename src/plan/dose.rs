//! The label's dose: how near loads must be to it, and what is laid on a surface.

use serde::Serialize;

use super::make::reported;
use super::residue::Solution;
use super::strength;
use crate::calc::coverage;
use crate::company::Vessel;
use crate::diagnostic::Diagnostics;
use crate::job::Treatment;
use crate::quantity::{Film, Flow, Number, System};

/// How far a load may lie from the label's dose, as factors of it, and what sets the upper end.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct DosePlan {
    /// The weakest load: 1, but where a residue limit leaves no room above the label's dose.
    pub least: Number,
    pub most: Number,
    pub set_by: DoseTop,
}

/// What sets the most that a load may hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum DoseTop {
    /// The measure's own error: the label gives one dose.
    Measure,
    LabelRange,
    /// A limit of 40 CFR 180.940 that would ask for a rinse the label does not.
    Residue,
}

pub(super) fn mixing_vessel(written: &Treatment) -> Vessel {
    match &written.pour {
        Some(pour) => pour.mixed_in.clone(),
        None => Vessel::of_sprayer(&written.sprayer),
    }
}

pub(super) fn dose(solution: &Solution<'_>, report: &mut Diagnostics) -> Option<DosePlan> {
    let (product, directions) = (&solution.written.product, &solution.written.directions);
    let error = mixing_vessel(solution.written).measure_error;
    let error = error.as_of_one();
    let mut plan = match &directions.dilution_most {
        None => DosePlan { least: Number::one(), most: Number::one() + error, set_by: DoseTop::Measure },
        Some(high) => {
            let high = reported(strength::ratio(product, high), &directions.origin.key("dilution"), report)?;
            let low = solution.ratio.product_per_litre_of_solution.value();
            let most = high.product_per_litre_of_solution.value() / low;
            DosePlan { least: Number::one(), most, set_by: DoseTop::LabelRange }
        }
    };
    if let Some(ceiling) = reported(solution.ceiling(&plan.most), &product.origin, report)? {
        let least = if ceiling < Number::one() + error { Number::one() - error } else { plan.least };
        plan = DosePlan { least, most: ceiling, set_by: DoseTop::Residue };
    }
    Some(plan)
}

/// What is laid on a surface, and one sprayer's flow.
pub(super) fn lay(written: &Treatment, units: System, report: &mut Diagnostics) -> Option<(Film, Flow)> {
    let (directions, sprayer) = (&written.directions, &written.sprayer);
    let film = match (&directions.coverage, &sprayer.flow, &sprayer.pace) {
        (Some(film), ..) => film.clone(),
        (None, Some(flow), Some(pace)) => {
            reported(coverage::film_from_pace(flow, &pace.speed, &pace.swath), &sprayer.origin.key("pace"), report)?
        }
        _ => {
            let unit = if units == System::Us { "ft2/gal" } else { "mL/m2" };
            let hint = format!(
                "add `coverage` to the directions, with the label's own figure in {unit} or as the label writes it; or `flow` and \
                 `pace` to the sprayer"
            );
            let message = "how much solution a surface takes is not known: the directions give no coverage";
            return report.fail(directions.origin.error("no-coverage", message).hint(hint));
        }
    };
    let flow = match (&sprayer.flow, &sprayer.pace) {
        (Some(flow), _) => flow.clone(),
        (None, Some(pace)) => {
            let per_second = pace.speed.as_metres_per_second() * pace.swath.as_metres();
            Flow::millilitres_per_minute(per_second * Number::int(60) * film.as_millilitres_per_square_metre())
        }
        // A sprayer with neither is refused when the company file is read.
        (None, None) => return None,
    };
    if film.is_zero() || flow.is_zero() {
        return report.fail(directions.origin.error("no-coverage", "a coverage of zero wets nothing"));
    }
    Some((film, flow))
}
