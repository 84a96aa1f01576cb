//! Whose rules a company works under. What a label must carry under each stands in `document/elements.rs`.

use serde::Serialize;

use crate::ghs::RuleSet;

/// The rules that hazards are classified and labels are made by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Regime {
    /// 29 CFR 1910.1200, labels in full after its paragraph (f)(6)(i).
    #[default]
    UnitedStates,
    /// 29 CFR 1910.1200, labels with general hazard information after its paragraph (f)(6)(ii): whoever works with the
    /// container has the full information at hand.
    UnitedStatesGeneral,
    /// Regulation (EC) 1272/2008 and Directive 92/58/EEC, in the European Union and in Great Britain.
    EuUk,
    /// WHMIS: labels of the work place, in English and French.
    Canada,
}

impl Regime {
    /// The words a file may use.
    pub const WORDS: &'static [(&'static str, Regime)] = &[
        ("united-states", Regime::UnitedStates),
        ("united-states-general", Regime::UnitedStatesGeneral),
        ("eu-uk", Regime::EuUk),
        ("canada", Regime::Canada),
    ];

    /// Its rules for hazards.
    ///
    /// Canada's Hazardous Products Regulations (SOR/2015-17) were drawn up together with those of the United States and
    /// stand nearest to them: those for acute toxicity and skin were read and have the same figures (8.1.2, 8.1.5, 8.2.11),
    /// the rest was not compared. What they have beyond, such as biohazardous infectious materials, is not classified here.
    pub fn rules(self) -> RuleSet {
        match self {
            Regime::UnitedStates | Regime::UnitedStatesGeneral | Regime::Canada => RuleSet::UnitedStates,
            Regime::EuUk => RuleSet::EuUk,
        }
    }

    /// Whether it is one of those of the United States.
    pub fn is_of_the_united_states(self) -> bool {
        matches!(self, Regime::UnitedStates | Regime::UnitedStatesGeneral)
    }

    /// The word a file uses.
    pub fn word(self) -> &'static str {
        match self {
            Regime::UnitedStates => "united-states",
            Regime::UnitedStatesGeneral => "united-states-general",
            Regime::EuUk => "eu-uk",
            Regime::Canada => "canada",
        }
    }
}

/// Rules of a state of the United States for containers that a pesticide is carried in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum StateRule {
    /// 3 CCR 6678.
    California,
}

impl StateRule {
    /// The words a file may use.
    pub const WORDS: &'static [(&'static str, StateRule)] = &[("california", StateRule::California)];

    /// The word a file uses.
    pub fn word(self) -> &'static str {
        match self {
            StateRule::California => "california",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_regime_has_the_word_that_a_file_uses() {
        for (word, regime) in Regime::WORDS {
            assert_eq!(*word, regime.word());
            let written = serde_json::to_string(regime).unwrap();
            assert_eq!(written, format!("\"{word}\""));
        }
        for (word, state) in StateRule::WORDS {
            assert_eq!(*word, state.word());
        }
    }
}
