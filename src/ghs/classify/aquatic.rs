//! Hazards to the aquatic environment by summation: CLP Annex I 4.1.3.5. The sums for Acute 1, Chronic 1 and Chronic 2 stand likewise
//! in ADR 2017 2.2.9.1.10.4.6; those for Chronic 3 and 4 in the United Nations' worked example 4.1(a) (ST/SG/AC.10/C.4/2012/25). The
//! United States do not cover them.

use super::super::class::{Category, Class, Hazard};
use super::super::ingredient::Ingredient;
use super::{Findings, Measure, Note, percent, tenths};
use crate::quantity::Number;

/// Finds them.
pub fn find(findings: &mut Findings<'_>) {
    acute(findings);
    chronic(findings);
}

fn category(ingredient: &Ingredient, class: Class) -> Option<Category> {
    ingredient.worst(class).map(Hazard::category)
}

/// The M-factor for a class. One that is not given is taken from the other duration if that has one, else it is 1; either is noted.
fn m_factor(ingredient: &Ingredient, class: Class) -> (Number, bool) {
    let (own, other) = match class {
        Class::AquaticAcute => (&ingredient.m_acute, &ingredient.m_chronic),
        _ => (&ingredient.m_chronic, &ingredient.m_acute),
    };
    match (own, other) {
        (Some(own), _) => (own.clone(), false),
        (None, Some(other)) => (other.clone(), true),
        (None, None) => (Number::one(), true),
    }
}

/// Relevant from (0.1 / M) % for Category 1, from 1 % for the others (CLP 4.1.3.1).
fn relevant(ingredients: &[Ingredient], class: Class) -> Vec<(&Ingredient, Category, Number)> {
    let mut all = Vec::new();
    for ingredient in ingredients {
        let Some(category) = category(ingredient, class) else {
            continue;
        };
        let (m, from) = match category {
            Category::One => {
                let (m, _) = m_factor(ingredient, class);
                let from = tenths(1) / &m;
                (m, from)
            }
            _ => (Number::one(), percent(1)),
        };
        if ingredient.share.as_percent() >= from {
            all.push((ingredient, category, m));
        }
    }
    all
}

fn note_assumed(findings: &mut Findings<'_>, class: Class) {
    for ingredient in findings.ingredients {
        if category(ingredient, class) == Some(Category::One) && m_factor(ingredient, class).1 {
            findings.note(Note::MFactorAssumed { ingredient: ingredient.name.clone() });
        }
    }
}

fn measure(rule: &'static str, what: &'static str, value: Number) -> Measure {
    Measure { rule, read_in: super::read_in::THE_RULE, what, value, threshold: percent(25), unit: "%" }
}

fn acute(findings: &mut Findings<'_>) {
    note_assumed(findings, Class::AquaticAcute);
    let counted: Vec<_> = relevant(findings.ingredients, Class::AquaticAcute)
        .into_iter()
        .filter(|(_, category, _)| *category == Category::One)
        .collect();
    let sum: Number = counted.iter().map(|(ingredient, _, m)| ingredient.share.as_percent() * m).sum();
    let parts = counted.iter().map(|(ingredient, _, _)| *ingredient);
    let what = "sum of M × Aquatic Acute 1";
    findings.if_at_least(
        Hazard::of(Class::AquaticAcute, Category::One),
        measure("CLP Annex I Table 4.1.1", what, sum),
        parts,
    );
}

fn chronic(findings: &mut Findings<'_>) {
    note_assumed(findings, Class::AquaticChronic);
    let counted = relevant(findings.ingredients, Class::AquaticChronic);
    // What each category of ingredient is multiplied by towards each category of mixture, and for Category 1 by M as well.
    let steps: [(Category, &'static str, [i64; 4], bool); 4] = [
        (Category::One, "sum of M × Chronic 1", [1, 0, 0, 0], true),
        (Category::Two, "10 × M × Chronic 1 + Chronic 2", [10, 1, 0, 0], true),
        (Category::Three, "100 × M × Chronic 1 + 10 × Chronic 2 + Chronic 3", [100, 10, 1, 0], true),
        (Category::Four, "sum of Chronic 1 to 4", [1, 1, 1, 1], false),
    ];
    for (result, what, weights, with_m) in steps {
        let place = |category: Category| match category {
            Category::One => 0,
            Category::Two => 1,
            Category::Three => 2,
            _ => 3,
        };
        let part_of = |category: Category| weights[place(category)] > 0;
        let sum: Number = counted
            .iter()
            .map(|(ingredient, category, m)| {
                let plain = ingredient.share.as_percent() * &percent(weights[place(*category)]);
                if with_m { plain * m } else { plain }
            })
            .sum();
        let parts = counted.iter().filter(|(_, category, _)| part_of(*category)).map(|(ingredient, _, _)| *ingredient);
        let measure = measure("CLP Annex I Table 4.1.2", what, sum);
        if findings.if_at_least(Hazard::of(Class::AquaticChronic, result), measure, parts) {
            return;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::{Mixture, RuleSet};
    use super::super::bench::{found, ingredient, share};
    use super::super::classify;
    use super::*;

    fn aquatic(ingredients: Vec<Ingredient>) -> Vec<String> {
        let mixture = Mixture::of(ingredients);
        assert!(found(&mixture, RuleSet::UnitedStates).is_empty(), "29 CFR 1910.1200 does not cover the environment");
        found(&mixture, RuleSet::EuUk)
    }

    fn with_m(percent: &str, hazards: &[&str], acute: i64, chronic: i64) -> Ingredient {
        let mut one = ingredient(percent, hazards);
        one.m_acute = Some(Number::int(acute));
        one.m_chronic = Some(Number::int(chronic));
        one
    }

    /// Sodium hypochlorite with M = 10 and M chronic = 1 (CLP Annex VI, index 017-011-00-1, through a German statutory accident
    /// insurer's sheet): H400 and H411 from 2.5 %, H410 from 25 %, H412 from 0.25 %.
    #[test]
    fn hypochlorite() {
        let at = |percent| aquatic(vec![with_m(percent, &["Aquatic Acute 1", "Aquatic Chronic 1"], 10, 1)]);
        assert!(at("0.05").is_empty());
        assert!(at("0.249").is_empty());
        assert_eq!(at("0.25"), ["Aquatic Chronic 3"]);
        assert_eq!(at("2.49"), ["Aquatic Chronic 3"]);
        assert_eq!(at("2.5"), ["Aquatic Acute 1", "Aquatic Chronic 2"]);
        assert_eq!(at("25"), ["Aquatic Acute 1", "Aquatic Chronic 1"]);
    }

    /// Use solutions of sodium hypochlorite: 5 % is H314, H400, H411; 0.05 % (500 ppm) nothing.
    #[test]
    fn hypochlorite_whole() {
        let hazards = ["Skin Corr. 1B", "Eye Dam. 1", "Aquatic Acute 1", "Aquatic Chronic 1"];
        let at = |percent| found(&Mixture::of(vec![with_m(percent, &hazards, 10, 1)]), RuleSet::EuUk);
        assert_eq!(at("5"), ["Skin Corr. 1B", "Eye Dam. 1", "Aquatic Acute 1", "Aquatic Chronic 2"]);
        assert!(at("0.05").is_empty());
        // 5000 ppm: neither skin nor eye, but the water.
        assert_eq!(at("0.5"), ["Aquatic Chronic 3"]);
    }

    /// A quaternary of M = 1 and M chronic = 1: at 400 ppm nothing.
    #[test]
    fn quat_at_400_ppm() {
        let at = |percent| aquatic(vec![with_m(percent, &["Aquatic Acute 1", "Aquatic Chronic 1"], 1, 1)]);
        assert!(at("0.04").is_empty());
        assert!(at("0.249").is_empty());
        assert_eq!(at("0.25"), ["Aquatic Chronic 3"]);
    }

    /// ST/SG/AC.10/C.4/2012/25, worked example 4.1(a): 0.01 % of Chronic 1 with M = 10, 1 % of Chronic 2, 25 % of Chronic 4. Sums of
    /// 0.1, 2 and 20 classify nothing; 26.01 is Chronic 4. Its Acute 2 and 3 are not categories of the EU's.
    #[test]
    fn un_example_of_the_safety_net() {
        let mixture = vec![
            with_m("0.01", &["Aquatic Acute 1", "Aquatic Chronic 1"], 10, 10),
            ingredient("1", &["Aquatic Acute 2", "Aquatic Chronic 2"]),
            ingredient("25", &["Aquatic Chronic 4"]),
        ];
        assert_eq!(aquatic(mixture.clone()), ["Aquatic Chronic 4"]);
        let found = classify(&Mixture::of(mixture), RuleSet::EuUk).unwrap();
        assert_eq!(found.hazards[0].why[0].value.decimal(2), "26.01");
    }

    /// Environmental Protection Authority of New Zealand, User Guide to Thresholds and Classifications, January 2012, Table 19.5: 0.05 %
    /// with M = 100 and 1 % of the first category, 5 % of the second, 40 % of the third: 6 % is not the first, 10 × 6 + 5 = 65 % is the
    /// second.
    #[test]
    fn new_zealands_example_of_a_highly_toxic_component() {
        let mixture = vec![
            with_m("0.05", &["Aquatic Chronic 1"], 1, 100),
            with_m("1", &["Aquatic Chronic 1"], 1, 1),
            ingredient("5", &["Aquatic Chronic 2"]),
            ingredient("40", &["Aquatic Chronic 3"]),
        ];
        assert_eq!(aquatic(mixture.clone()), ["Aquatic Chronic 2"]);
        let found = classify(&Mixture::of(mixture), RuleSet::EuUk).unwrap();
        assert_eq!(found.hazards[0].why[0].value, 65);
    }

    /// ADR 2017 tables 2.2.9.1.10.4.6.2.2 and 2.2.9.1.10.4.6.3.3; for Chronic 3 and 4 the sums of the worked example above.
    #[test]
    fn sums_at_their_limits() {
        assert_eq!(aquatic(vec![ingredient("25", &["Aquatic Acute 1"])]), ["Aquatic Acute 1"]);
        assert!(aquatic(vec![ingredient("24.9", &["Aquatic Acute 1"])]).is_empty());
        assert_eq!(aquatic(vec![ingredient("25", &["Aquatic Chronic 1"])]), ["Aquatic Chronic 1"]);
        let two = |one: &str, two: &str| {
            aquatic(vec![with_m(one, &["Aquatic Chronic 1"], 1, 1), ingredient(two, &["Aquatic Chronic 2"])])
        };
        assert_eq!(two("1", "15"), ["Aquatic Chronic 2"]);
        assert_eq!(two("1", "14.9"), ["Aquatic Chronic 3"]);
        assert_eq!(aquatic(vec![ingredient("25", &["Aquatic Chronic 3"])]), ["Aquatic Chronic 3"]);
        assert_eq!(aquatic(vec![ingredient("2.5", &["Aquatic Chronic 2"])]), ["Aquatic Chronic 3"]);
        assert_eq!(aquatic(vec![ingredient("25", &["Aquatic Chronic 4"])]), ["Aquatic Chronic 4"]);
        assert_eq!(
            aquatic(vec![ingredient("24", &["Aquatic Chronic 4"]), ingredient("1", &["Aquatic Chronic 3"])]),
            ["Aquatic Chronic 4"]
        );
    }

    /// CLP 4.1.3.1: 0.1 % divided by M, 1 % for Chronic 2 to 4.
    #[test]
    fn relevance_falls_with_m() {
        assert_eq!(aquatic(vec![with_m("0.01", &["Aquatic Acute 1"], 2500, 1)]), ["Aquatic Acute 1"]);
        let m_of_1 = |small: &str| {
            aquatic(vec![with_m("0.2", &["Aquatic Chronic 1"], 1, 1), with_m(small, &["Aquatic Chronic 1"], 1, 1)])
        };
        assert_eq!(m_of_1("0.1"), ["Aquatic Chronic 3"]);
        assert!(m_of_1("0.09").is_empty());
        // M = 10: 0.01 % counts, less does not.
        let m_of_10 = |small: &str| {
            aquatic(vec![with_m("0.24", &["Aquatic Chronic 1"], 1, 1), with_m(small, &["Aquatic Chronic 1"], 1, 10)])
        };
        assert_eq!(m_of_10("0.01"), ["Aquatic Chronic 3"]);
        assert!(m_of_10("0.0099").is_empty());
        let second = |small: &str| {
            let first = with_m("0.2", &["Aquatic Chronic 1"], 1, 1);
            aquatic(vec![first, ingredient(small, &["Aquatic Chronic 2"])])
        };
        assert_eq!(second("1"), ["Aquatic Chronic 3"]);
        assert!(second("0.99").is_empty(), "Chronic 2 counts from 1 %");
    }

    #[test]
    fn a_missing_m_factor_is_noted_and_borrowed() {
        let mut one = ingredient("2.5", &["Aquatic Chronic 1"]);
        let note = |one: &Ingredient| classify(&Mixture::of(vec![one.clone()]), RuleSet::EuUk).unwrap();
        assert!(!note(&one).is_complete());
        assert_eq!(note(&one).hazards()[0].to_string(), "Aquatic Chronic 2");
        one.m_acute = Some(Number::int(10));
        assert_eq!(note(&one).hazards()[0].to_string(), "Aquatic Chronic 1");
        assert_eq!(share("2.5"), one.share);
    }
}
