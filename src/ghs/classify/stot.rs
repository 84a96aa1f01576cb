//! Specific target organ toxicity: 29 CFR 1910.1200 App. A.8.3, A.9.3, CLP Annex I 3.8.3, 3.9.3.

use super::super::RuleSet;
use super::super::class::{Category, Class, Hazard};
use super::super::ingredient::Ingredient;
use super::skin::{is_relevant, weighted};
use super::{Findings, Measure, percent, read_in};
use crate::quantity::Number;

/// Finds it.
pub fn find(findings: &mut Findings<'_>) {
    for class in [Class::StotSingle, Class::StotRepeated] {
        for ingredient in findings.ingredients {
            by_ingredient(findings, ingredient, class);
        }
    }
    for class in [Class::StotRespiratory, Class::StotNarcotic] {
        by_sum(findings, class);
    }
}

/// Categories 1 and 2: one ingredient at its limit. United States: 1 % of Category 1 gives 1, of Category 2 gives 2. EU (read in
/// TRGS 201 (2017), 2.2.6): 10 % gives the ingredient's own category, 1 to 10 % of Category 1 gives 2.
fn by_ingredient(findings: &mut Findings<'_>, ingredient: &Ingredient, class: Class) {
    let Some(stated) = ingredient.worst(class) else { return };
    let eu = findings.rules == RuleSet::EuUk;
    let rule = match class {
        Class::StotSingle => findings.rule("29 CFR 1910.1200 App. A Table A.8.2", "CLP Annex I Table 3.8.3"),
        _ => findings.rule("29 CFR 1910.1200 App. A Table A.9.3", "CLP Annex I Table 3.9.4"),
    };
    let measure = |threshold: i64| Measure {
        rule,
        read_in: if eu { read_in::TRGS_STOT } else { read_in::THE_RULE },
        what: "share of the ingredient",
        value: ingredient.share.as_percent(),
        threshold: percent(threshold),
        unit: "%",
    };
    let own = findings.by_specific_limit(ingredient, class);
    if !own {
        let threshold = if eu { 10 } else { 1 };
        findings.if_at_least(stated, measure(threshold), [ingredient]);
    }
    // A limit written for Category 1 alone leaves the generic one for Category 2 standing.
    let second = Hazard::of(class, Category::Two);
    let own_second = ingredient.lowest_limit(|hazard| hazard == second).is_some();
    if eu && stated.category() == Category::One && !own_second {
        findings.if_at_least(second, measure(1), [ingredient]);
    }
}

/// Category 3: 20 % in sum, each effect by itself (A.8.3.4.5, whose text calls 20 % appropriate; CLP 3.8.3.4.5, read in TRGS 201,
/// 2.2.6).
fn by_sum(findings: &mut Findings<'_>, class: Class) {
    let own = |ingredient: &Ingredient| ingredient.lowest_limit(|hazard| hazard.class() == class).cloned();
    let ingredients = findings.ingredients;
    let parts: Vec<&Ingredient> = ingredients
        .iter()
        .filter(|ingredient| ingredient.worst(class).is_some())
        .filter(|ingredient| is_relevant(ingredient, own(ingredient).as_ref()))
        .collect();
    let sum: Number = parts.iter().map(|ingredient| weighted(ingredient, own(ingredient).as_ref(), 20)).sum();
    let measure = Measure {
        rule: findings.rule("29 CFR 1910.1200 App. A.8.3.4.5", "CLP Annex I 3.8.3.4.5"),
        read_in: match findings.rules {
            RuleSet::EuUk => read_in::TRGS_STOT,
            RuleSet::UnitedStates => read_in::THE_RULE,
        },
        what: match class {
            Class::StotRespiratory => "sum of respiratory irritants",
            _ => "sum of narcotic ingredients",
        },
        value: sum,
        threshold: percent(20),
        unit: "%",
    };
    if !parts.is_empty() {
        findings.if_at_least(Hazard::of(class, Category::Three), measure, parts);
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::Mixture;
    use super::super::super::ingredient::SpecificLimit;
    use super::super::bench::{found, found_in_both, ingredient, share};
    use super::*;

    /// 29 CFR 1910.1200 App. A Tables A.8.2 and A.9.3; the EU column (CLP Tables 3.8.3, 3.9.4) from TRGS 201, 2.2.6.
    #[test]
    fn limits_differ_between_the_rule_sets() {
        for (percent, of_one_us, of_two_us, of_one_eu, of_two_eu) in [
            ("0.99", None, None, None, None),
            ("1", Some("1"), Some("2"), Some("2"), None),
            ("9.99", Some("1"), Some("2"), Some("2"), None),
            ("10", Some("1"), Some("2"), Some("1"), Some("2")),
        ] {
            for kind in ["STOT SE", "STOT RE"] {
                for (rules, of_one, of_two) in
                    [(RuleSet::UnitedStates, of_one_us, of_two_us), (RuleSet::EuUk, of_one_eu, of_two_eu)]
                {
                    for (category, expected) in [("1", of_one), ("2", of_two)] {
                        let mixture = Mixture::of(vec![ingredient(percent, &[&format!("{kind} {category}")])]);
                        let expected: Vec<String> = expected.iter().map(|c| format!("{kind} {c}")).collect();
                        assert_eq!(found(&mixture, rules), expected, "{kind} {category} at {percent} %, {rules}");
                    }
                }
            }
        }
    }

    /// A.8.3.4.5 and A.8.3.4.6: additive within an effect, not across the two, from 1 % on.
    #[test]
    fn category_3_adds_up_to_twenty_per_cent() {
        let mixture = |parts: &[(&str, &str)]| {
            found_in_both(parts.iter().map(|(percent, hazard)| ingredient(percent, &[hazard])).collect())
        };
        assert_eq!(
            mixture(&[("12", "STOT SE 3 (respiratory)"), ("8", "STOT SE 3 (respiratory)")]),
            ["STOT SE 3 (respiratory)"]
        );
        assert!(mixture(&[("12", "STOT SE 3 (respiratory)"), ("8", "STOT SE 3 (narcotic)")]).is_empty());
        assert!(mixture(&[("19.5", "STOT SE 3 (narcotic)"), ("0.5", "STOT SE 3 (narcotic)")]).is_empty());
    }

    /// The same, at the limit and just below.
    #[test]
    fn each_effect_from_twenty_per_cent() {
        for effect in ["STOT SE 3 (respiratory)", "STOT SE 3 (narcotic)"] {
            assert_eq!(found_in_both(vec![ingredient("20", &[effect])]), [effect]);
            assert!(found_in_both(vec![ingredient("19.99", &[effect])]).is_empty());
            // 0.9 % is not relevant.
            let trace = vec![ingredient("19.1", &[effect]), ingredient("0.9", &[effect])];
            assert!(found_in_both(trace).is_empty());
            let added = vec![ingredient("19", &[effect]), ingredient("1", &[effect])];
            assert_eq!(found_in_both(added), [effect]);
        }
        let both = ["STOT SE 3 (respiratory)", "STOT SE 3 (narcotic)"];
        assert_eq!(found_in_both(vec![ingredient("20", &both)]), both);
    }

    /// Hydrogen peroxide, index 008-003-00-9 of CLP Annex VI: 35 % (not verified against the published text).
    #[test]
    fn hydrogen_peroxide_irritates_from_its_own_limit() {
        let at = |percent| {
            let mut peroxide = ingredient(percent, &["STOT SE 3 (respiratory)"]);
            let hazard = "STOT SE 3 (respiratory)".parse().unwrap();
            peroxide.limits = vec![SpecificLimit { hazard, at_least: share("35"), below: None }];
            found_in_both(vec![peroxide])
        };
        assert!(at("34.9").is_empty());
        assert_eq!(at("35"), ["STOT SE 3 (respiratory)"]);
    }

    #[test]
    fn a_specific_limit_is_weighed_in() {
        let mut peracetic = ingredient("1", &[]);
        let hazard = "STOT SE 3 (respiratory)".parse().unwrap();
        peracetic.limits = vec![SpecificLimit { hazard, at_least: share("1"), below: None }];
        assert_eq!(found_in_both(vec![peracetic.clone()]), ["STOT SE 3 (respiratory)"]);
        peracetic.share = share("0.5");
        assert!(found_in_both(vec![peracetic]).is_empty());
    }
}
