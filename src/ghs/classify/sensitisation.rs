//! Sensitisers of the airways and the skin: 29 CFR 1910.1200 App. A Table A.4.5, CLP Annex I Tables 3.4.5 and 3.4.6. Nothing is summed:
//! one ingredient at its limit classifies the mixture.

use super::super::RuleSet;
use super::super::class::{Category, Class, Hazard};
use super::super::ingredient::Ingredient;
use super::{Findings, Measure, Note, read_in, tenths};
use crate::quantity::Number;

/// The generic limit in per cent, and where it was read. For an undivided Category 1 the EU has 1.0 %, the United States 0.1 %.
fn generic(rules: RuleSet, category: Category) -> (Number, &'static str) {
    match (rules, category) {
        (RuleSet::UnitedStates, Category::OneB) => (tenths(10), read_in::THE_RULE),
        (RuleSet::UnitedStates, _) => (tenths(1), read_in::THE_RULE),
        (RuleSet::EuUk, Category::OneA) => (tenths(1), read_in::REPRINT),
        (RuleSet::EuUk, _) => (tenths(10), read_in::REPRINT),
    }
}

/// Finds sensitisation, and in the EU the ingredients that must be named below their limit.
pub fn find(findings: &mut Findings<'_>) {
    for class in [Class::RespiratorySensitiser, Class::SkinSensitiser] {
        for ingredient in findings.ingredients {
            let Some(hazard) = ingredient.worst(class) else {
                continue;
            };
            let (threshold, read_in) = generic(findings.rules, hazard.category());
            if !findings.by_specific_limit(ingredient, class) {
                let measure = Measure {
                    rule: findings.rule("29 CFR 1910.1200 App. A Table A.4.5", "CLP Annex I Table 3.4.5"),
                    read_in,
                    what: "share of the ingredient",
                    value: ingredient.share.as_percent(),
                    threshold: threshold.clone(),
                    unit: "%",
                };
                // The mixture takes Category 1, undivided, as both tables head their columns.
                findings.if_at_least(Hazard::of(class, Category::One), measure, [ingredient]);
            }
            elicitation(findings, ingredient, class, threshold);
        }
    }
}

/// CLP Table 3.4.6, which was not read itself; the text of EUH210 (Annex II 2.10) was, and gives the same values: from a tenth of the ingredient's limit it is named by EUH208.
fn elicitation(findings: &mut Findings<'_>, ingredient: &Ingredient, class: Class, generic: Number) {
    let own = ingredient.lowest_limit(|hazard| hazard.class() == class);
    let limit = own.map_or(generic, |own| own.as_percent());
    let share = ingredient.share.as_percent();
    if findings.rules == RuleSet::EuUk && share < limit && share * &Number::int(10) >= limit {
        findings.note(Note::MaySetOffAllergy { ingredient: ingredient.name.clone() });
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::Mixture;
    use super::super::super::ingredient::SpecificLimit;
    use super::super::bench::{found, ingredient, share};
    use super::super::classify;
    use super::*;

    /// 29 CFR 1910.1200 App. A Table A.4.5; CLP Table 3.4.5 from a reprint. They differ for an undivided Category 1.
    #[test]
    fn limits_differ_between_the_rule_sets() {
        for (hazard, percent, us, eu) in [
            ("Skin Sens. 1", "0.1", true, false),
            ("Skin Sens. 1", "1", true, true),
            ("Skin Sens. 1", "0.09", false, false),
            ("Skin Sens. 1A", "0.1", true, true),
            ("Skin Sens. 1B", "0.99", false, false),
            ("Skin Sens. 1B", "1.0", true, true),
            ("Resp. Sens. 1", "0.1", true, false),
            ("Resp. Sens. 1A", "0.1", true, true),
            ("Resp. Sens. 1B", "1.0", true, true),
            ("Resp. Sens. 1B", "0.99", false, false),
        ] {
            let mixture = Mixture::of(vec![ingredient(percent, &[hazard])]);
            assert_eq!(!found(&mixture, RuleSet::UnitedStates).is_empty(), us, "{hazard} {percent} %, United States");
            assert_eq!(!found(&mixture, RuleSet::EuUk).is_empty(), eu, "{hazard} {percent} %, EU");
        }
    }

    /// CLP Table 3.4.6, by the text of EUH210 in Annex II 2.10, which gives the same values: 0.1 %, and 0.01 % for 1A.
    #[test]
    fn without_a_limit_of_its_own_it_is_named_from_a_tenth_of_the_generic_one() {
        for kind in ["Skin Sens.", "Resp. Sens."] {
            for (category, from, below) in [("1", "0.1", "0.099"), ("1B", "0.1", "0.099"), ("1A", "0.01", "0.0099")] {
                let named = |percent, rules| {
                    let mixture = Mixture::of(vec![ingredient(percent, &[&format!("{kind} {category}")])]);
                    !classify(&mixture, rules).unwrap().notes.is_empty()
                };
                assert!(named(from, RuleSet::EuUk), "{kind} {category}");
                assert!(!named(below, RuleSet::EuUk), "{kind} {category}");
                assert!(!named(from, RuleSet::UnitedStates), "EUH208 is the EU's alone");
            }
        }
        // Beside another that classifies the mixture it is named all the same.
        let both = Mixture::of(vec![ingredient("1", &["Skin Sens. 1B"]), ingredient("0.5", &["Skin Sens. 1"])]);
        let classification = classify(&both, RuleSet::EuUk).unwrap();
        assert_eq!((classification.hazards.len(), classification.notes.len()), (1, 1));
    }

    #[test]
    fn two_sensitisers_are_not_summed() {
        let two = Mixture::of(vec![ingredient("0.6", &["Skin Sens. 1B"]), ingredient("0.5", &["Skin Sens. 1B"])]);
        assert!(found(&two, RuleSet::EuUk).is_empty());
    }

    /// CLP 3.4.3.3.2 and Table 3.4.6 (a tenth of a specific limit: Annex II 2.10).
    #[test]
    fn below_the_limit_a_sensitiser_is_named() {
        let mut isothiazolinone = ingredient("0.0015", &["Skin Sens. 1A"]);
        let hazard = "Skin Sens. 1A".parse().unwrap();
        isothiazolinone.limits = vec![SpecificLimit { hazard, at_least: share("0.0015"), below: None }];
        let at = |percent: &str| {
            let mut one = isothiazolinone.clone();
            one.share = share(percent);
            let classification = classify(&Mixture::of(vec![one]), RuleSet::EuUk).unwrap();
            (classification.hazards.len(), classification.notes.len())
        };
        assert_eq!(at("0.0015"), (1, 0));
        assert_eq!(at("0.00149"), (0, 1));
        assert_eq!(at("0.00015"), (0, 1));
        assert_eq!(at("0.00014"), (0, 0));
    }
}
