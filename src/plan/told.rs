//! A refusal of a calculation, told at the value it is about.

use crate::calc::CalcError;
use crate::report::{Diagnostic, Report};
use crate::yaml::Origin;

/// A calculation's result, or its refusal told at the place whose value it is about.
pub(super) fn told<T>(result: Result<T, CalcError>, origin: &Origin, report: &mut Report) -> Option<T> {
    match result {
        Ok(value) => Some(value),
        Err(refusal) => {
            report.push(explain(&refusal, origin));
            None
        }
    }
}

fn explain(refusal: &CalcError, origin: &Origin) -> Diagnostic {
    let problem = origin.error("cannot-work-out", refusal.to_string());
    match refusal {
        CalcError::MissingDensity => {
            problem.hint("add the product's density, such as `density: 0.99 kg/L`, from its safety data sheet")
        }
        CalcError::MissingActiveDensity => {
            problem.hint("add `density` to the ingredient: ethanol 0.789 kg/L, propan-2-ol 0.785 kg/L")
        }
        CalcError::MissingContent => {
            problem.hint("give every active's `content` in the same way, or `available_chlorine`")
        }
        CalcError::TankTooSmall => {
            problem.hint("check `tank` against `graduations.water`: one graduation with its product must fit")
        }
        CalcError::TooManyApplications { .. } => {
            problem.hint("wiping will not do: lay a thicker film, or choose directions with a shorter contact time")
        }
        CalcError::TooManyLoads { .. } => problem.hint("check the sizes of the areas, the coverage and the tank"),
        _ => problem,
    }
}
