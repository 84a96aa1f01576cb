//! Where a rule stands, and where its figures were read: both are in every reason, so that whoever uses a figure can see what it rests on.

use super::super::RuleSet;

pub mod read_in {
    /// In the text of the rule that the reason names, or in the safety data sheet.
    pub const THE_RULE: &str = "the rule's own text";
    /// CLP Table 3.1.2.
    pub const AGENCY_GUIDE: &str =
        "Umweltbundesamt, guide to the CLP Regulation, Table 6.3, which prints the same table";
    /// CLP Tables 3.4.5 (in `limits.csv`) and 3.3.3.1.2.
    pub const REPRINT: &str = "a reprint of the table, not the Official Journal";
    /// Tables of the EU that could not be read and whose counterpart in the United States could.
    pub const UNITED_STATES_TWIN: &str =
        "not verified against the published text; the same figures as in the counterpart in 29 CFR 1910.1200";
    pub const NOT_VERIFIED: &str = "not verified against the published text";
    pub const OWN: &str = "no published rule; chosen because it protects";
}

/// A rule in the two texts. The United States' was read itself.
pub struct Source {
    united_states: (&'static str, &'static str),
    eu_uk: (&'static str, &'static str),
}

impl Source {
    pub const fn new(united_states: &'static str, eu_uk: &'static str, eu_uk_read_in: &'static str) -> Source {
        Source { united_states: (united_states, read_in::THE_RULE), eu_uk: (eu_uk, eu_uk_read_in) }
    }

    /// One that does not depend on the rule set.
    pub const fn same(rule: &'static str, read_in: &'static str) -> Source {
        Source { united_states: (rule, read_in), eu_uk: (rule, read_in) }
    }

    /// Its place, and where its figures were read.
    pub fn of(&self, rules: RuleSet) -> (&'static str, &'static str) {
        match rules {
            RuleSet::UnitedStates => self.united_states,
            RuleSet::EuUk => self.eu_uk,
        }
    }
}
