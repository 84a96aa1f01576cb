//! Whose rules a company works under. What a label must carry under each stands in `document/elements.rs`.

use crate::ghs::RuleSet;
use crate::yaml::words;

words! {
    /// The rules that hazards are classified and labels are made by.
    #[derive(Default, PartialOrd, Ord)]
    pub enum Regime {
        /// 29 CFR 1910.1200, labels in full after its paragraph (f)(6)(i)
        #[default]
        UnitedStates = "united-states",
        /// the same with general hazard information after (f)(6)(ii): precautions may be left off, since whoever works with the
        /// container has the full information at hand
        UnitedStatesGeneral = "united-states-general",
        /// Regulation (EC) 1272/2008 and Directive 92/58/EEC, in the European Union and in Great Britain
        EuUk = "eu-uk",
        /// WHMIS: labels of the work place, in English and French; hazards by the rules of the United States, which stand nearest
        Canada = "canada",
    }
}

impl Regime {
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

    /// The English of its statements, by the tags of `templates/ghs/statements.csv`: Canada writes `vapour` and `oxidizer`.
    pub fn spelling(self) -> &'static [&'static str] {
        match self {
            Regime::UnitedStates | Regime::UnitedStatesGeneral => &["en-US"],
            Regime::Canada => &["en-CA", "en-US"],
            Regime::EuUk => &[],
        }
    }

    /// Whether it is one of those of the United States.
    pub fn is_of_the_united_states(self) -> bool {
        matches!(self, Regime::UnitedStates | Regime::UnitedStatesGeneral)
    }
}

words! {
    /// Rules of a state of the United States for containers that a pesticide is carried in.
    #[derive(PartialOrd, Ord)]
    pub enum StateRule {
        /// 3 CCR 6678: labels carry what it asks for as well
        California = "california",
    }
}
