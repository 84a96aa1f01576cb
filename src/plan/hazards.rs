//! Which hazards a container shows.
//!
//! What the safety data sheet states for the use solution, where it does; else those of the concentrate, which is the
//! side that protects. Never less than the sheet.

use jiff::civil::Date;
use serde::Serialize;

use crate::catalog::{DilutedHazards, Sds};
use crate::ghs::Hazard;

/// Hazards, and where they are from.
#[derive(Clone, Debug, Serialize)]
pub struct Hazards {
    /// Where they are from.
    pub source: HazardSource,
    /// The date of the safety data sheet.
    pub revised: Date,
    /// The hazards, as the sheet states them.
    pub classes: Vec<Hazard>,
}

/// Where hazards are from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum HazardSource {
    /// The sheet states them for the use solution.
    UseSolution,
    /// The sheet says that the use solution is not classified.
    NotClassified,
    /// The sheet says nothing of the use solution: those of the concentrate.
    Concentrate,
    /// Nothing is diluted: those of the product.
    Product,
}

/// Decides which hazards a container shows.
pub(super) fn shown(sds: &Sds, ready_to_use: bool) -> Hazards {
    let (source, classes) = match &sds.use_solution {
        _ if ready_to_use => (HazardSource::Product, sds.hazards.clone()),
        DilutedHazards::Stated(hazards) => (HazardSource::UseSolution, hazards.clone()),
        DilutedHazards::NotClassified => (HazardSource::NotClassified, Vec::new()),
        DilutedHazards::NotStated => (HazardSource::Concentrate, sds.hazards.clone()),
    };
    Hazards {
        source,
        revised: sds.revised,
        classes,
    }
}
