//! The Globally Harmonized System: hazard classes, mixture rules, and what a label must carry.
//!
//! A [`Mixture`] of [`Ingredient`]s is classified ([`classify()`]) under one of two [`RuleSet`]s; the hazards found, or those a safety data sheet
//! states, give the [`label()`] elements, whose words come from [`text`]. The calculation is an aid: it says what the rules give
//! for the figures it was handed, and [`Classification::notes`] says which figures it lacked.

mod classify;
mod hazard;
mod ingredient;
mod label;
mod parse;
mod precaution;
mod statements;
mod table;

use std::fmt;

use serde::Serialize;

pub use classify::{Classification, Found, Note, UnknownAcute, classify};
pub use hazard::{Category, Class, Hazard, Pictogram, Signal};
pub use ingredient::{Additivity, Ate, AteTable, Figure, Ingredient, Mixture, MixtureError, Peroxide, SpecificLimit};
pub use label::label;
pub use parse::{ParseHazardError, Stated};
pub use precaution::Kind;
pub use statements::{Gear, Language, Slots, text};

/// Whose rules are applied, where the two differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RuleSet {
    /// 29 CFR 1910.1200 Appendices A to C, as amended in 2024. It does not cover hazards to the aquatic environment.
    UnitedStates,
    /// Regulation (EC) 1272/2008 (CLP) and the text of it that Great Britain kept.
    EuUk,
}

impl fmt::Display for RuleSet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            RuleSet::UnitedStates => "29 CFR 1910.1200",
            RuleSet::EuUk => "Regulation (EC) 1272/2008",
        })
    }
}
