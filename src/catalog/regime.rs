//! Whose rules a company works under.

use serde::Serialize;

use crate::ghs::RuleSet;

/// The rules that hazards are classified and labels are made by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Regime {
    /// 29 CFR 1910.1200.
    #[default]
    UnitedStates,
    /// Regulation (EC) 1272/2008, in the European Union and in Great Britain.
    EuUk,
}

impl Regime {
    /// The words a file may use.
    pub const WORDS: &'static [(&'static str, Regime)] =
        &[("united-states", Regime::UnitedStates), ("eu-uk", Regime::EuUk)];

    /// Its rules for hazards.
    pub fn rules(self) -> RuleSet {
        match self {
            Regime::UnitedStates => RuleSet::UnitedStates,
            Regime::EuUk => RuleSet::EuUk,
        }
    }
}
