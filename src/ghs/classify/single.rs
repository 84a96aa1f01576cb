//! Hazards for which one ingredient at its limit classifies the mixture and nothing is summed: mutagens, carcinogens, reproductive
//! toxicants. 29 CFR 1910.1200 App. A Tables A.5.1, A.6.1, A.7.1; CLP Annex I Tables 3.5.2, 3.6.2 and 3.7.2, whose
//! figures were read in TRGS 201 (2017), 2.2.5, those of 3.7.2 also in the European Chemicals Agency's helpdesk exercises of 2012.

use super::super::RuleSet;
use super::super::class::{Category, Class, Hazard};
use super::{Findings, Measure, read_in, tenths};

/// The place of the rule and the limit in tenths of a per cent, United States and EU.
fn generic(hazard: Hazard) -> Option<[(&'static str, i64); 2]> {
    let second = hazard.category() == Category::Two;
    Some(match hazard.class() {
        Class::Mutagen => {
            let limit = if second { 10 } else { 1 };
            [("29 CFR 1910.1200 App. A Table A.5.1", limit), ("CLP Annex I Table 3.5.2", limit)]
        }
        // Between 0.1 and 1 % the United States leave the label warning for Category 2 open (note 1); it is classified here.
        Class::Carcinogen => {
            [("29 CFR 1910.1200 App. A Table A.6.1", 1), ("CLP Annex I Table 3.6.2", if second { 10 } else { 1 })]
        }
        Class::Reproductive => {
            [("29 CFR 1910.1200 App. A Table A.7.1", 1), ("CLP Annex I Table 3.7.2", if second { 30 } else { 3 })]
        }
        Class::Lactation => [("29 CFR 1910.1200 App. A Table A.7.1", 1), ("CLP Annex I Table 3.7.2", 3)],
        _ => return None,
    })
}

/// Finds them.
pub fn find(findings: &mut Findings<'_>) {
    for class in [Class::Mutagen, Class::Carcinogen, Class::Reproductive, Class::Lactation] {
        for ingredient in findings.ingredients {
            let Some(hazard) = ingredient.worst(class) else {
                continue;
            };
            let Some(tables) = generic(hazard) else { continue };
            if findings.by_specific_limit(ingredient, class) {
                continue;
            }
            let eu = findings.rules == RuleSet::EuUk;
            let (rule, limit) = tables[usize::from(eu)];
            let read_in = if eu { read_in::TRGS_CMR } else { read_in::THE_RULE };
            let measure = Measure {
                rule,
                read_in,
                what: "share of the ingredient",
                value: ingredient.share.as_percent(),
                threshold: tenths(limit),
                unit: "%",
            };
            findings.if_at_least(hazard, measure, [ingredient]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::Mixture;
    use super::super::bench::{found, ingredient};
    use super::*;

    /// 29 CFR 1910.1200 App. A Tables A.5.1, A.6.1, A.7.1 (reproductive limit as corrected, 89 FR 81829); CLP Table 3.7.2 from the
    /// European Chemicals Agency's helpdesk exercises of 2012, Tables 3.5.2 and 3.6.2 from TRGS 201 (2017), 2.2.5.
    #[test]
    fn limits_at_and_below() {
        for (hazard, us, eu) in [
            ("Muta. 1B", "0.1", "0.1"),
            ("Muta. 2", "1", "1"),
            ("Carc. 1A", "0.1", "0.1"),
            ("Carc. 2", "0.1", "1"),
            ("Repr. 1B", "0.1", "0.3"),
            ("Repr. 2", "0.1", "3"),
            ("Lact.", "0.1", "0.3"),
        ] {
            for (rules, limit) in [(RuleSet::UnitedStates, us), (RuleSet::EuUk, eu)] {
                let at = found(&Mixture::of(vec![ingredient(limit, &[hazard])]), rules);
                assert_eq!(at, [hazard], "{rules}");
                let mut less = Mixture::of(vec![ingredient(limit, &[hazard])]);
                less.ingredients[0].share = less.ingredients[0].share.times(&crate::quantity::Number::ratio(99, 100));
                assert!(found(&less, rules).is_empty(), "{hazard} below {limit} %, {rules}");
            }
        }
    }
}
