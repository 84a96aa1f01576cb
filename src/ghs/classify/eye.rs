//! Serious eye damage and eye irritation: 29 CFR 1910.1200 App. A.3.3, CLP Annex I 3.3.3. Counted as the skin is.
//!
//! A skin corrosive counts as a cause of serious eye damage; an ingredient that is both counts once.

use super::super::RuleSet;
use super::super::class::{Category, Class, Hazard};
use super::super::ingredient::{Ingredient, is_corrosive};
use super::skin::{by_ph, is_extreme_alone, is_relevant, stands_alone, twin, weighted};
use super::{Findings, Measure, percent};
use crate::quantity::{Number, Share};

const DAMAGE: Hazard = Hazard::of(Class::Eye, Category::One);

fn is_damaging(ingredient: &Ingredient) -> bool {
    ingredient.worst(Class::Eye) == Some(DAMAGE) || ingredient.worst(Class::Skin).is_some_and(is_corrosive)
}

/// The ingredient's own limit towards eye damage. A limit for skin corrosion is one too: what burns the skin damages the eye.
fn damage_limit(ingredient: &Ingredient) -> Option<Share> {
    let eye = ingredient.lowest_limit(|hazard| hazard == DAMAGE).cloned();
    let skin = ingredient.lowest_limit(is_corrosive).cloned();
    match (eye, skin) {
        (Some(eye), Some(skin)) => Some(eye.min(skin)),
        (Some(eye), None) => Some(eye),
        // The generic 3 % still holds for the eye, unless the skin's limit is lower.
        (None, Some(skin)) => Some(skin.min(Share::percent(percent(3)))),
        (None, None) => None,
    }
}

/// Its own limit towards eye irritation: as written, or from where it damages the eye.
fn irritation_limit(ingredient: &Ingredient) -> Option<Share> {
    let irritates = ingredient.lowest_limit(|hazard| hazard.class() == Class::Eye && hazard != DAMAGE).cloned();
    let generic = Share::percent(percent(if is_damaging(ingredient) { 1 } else { 10 }));
    match (irritates, damage_limit(ingredient)) {
        (Some(irritates), Some(damages)) => Some(irritates.min(damages)),
        (Some(irritates), None) => Some(irritates),
        // No limit for irritation is written: the generic one holds, unless damage begins lower.
        (None, Some(damages)) => Some(damages.min(generic)),
        (None, None) => None,
    }
}

/// Finds damage and irritation of the eye.
pub fn find(findings: &mut Findings<'_>) {
    let ingredients = findings.ingredients;
    let relevant: Vec<&Ingredient> = ingredients
        .iter()
        .filter(|i| i.worst(Class::Eye).is_some() || is_damaging(i) || is_extreme_alone(i))
        .filter(|i| is_relevant(i, irritation_limit(i).as_ref()))
        .collect();
    by_ph(findings, &[DAMAGE]);
    by_sum(findings, &relevant);
    alone(findings, &relevant);
}

/// Category 2 as the rule set names it: 2A in the United States, or 2B where every relevant irritant is 2B; plain 2 in the EU, which
/// has no 2B and so counts it as 2.
fn irritant(findings: &Findings<'_>, relevant: &[&Ingredient]) -> Hazard {
    let mild = Some(Hazard::of(Class::Eye, Category::TwoB));
    let category = match findings.rules {
        RuleSet::EuUk => Category::Two,
        RuleSet::UnitedStates if relevant.iter().all(|i| i.worst(Class::Eye) == mild && !is_damaging(i)) => {
            Category::TwoB
        }
        RuleSet::UnitedStates => Category::TwoA,
    };
    Hazard::of(Class::Eye, category)
}

fn by_sum(findings: &mut Findings<'_>, relevant: &[&Ingredient]) {
    let rule = findings.rule("29 CFR 1910.1200 App. A Table A.3.3", "CLP Annex I Table 3.3.3");
    let read_in = twin(findings.rules);
    let measure =
        |what, value, threshold| Measure { rule, read_in, what, value, threshold: percent(threshold), unit: "%" };
    let damaging: Vec<&Ingredient> = relevant.iter().copied().filter(|i| is_damaging(i)).collect();
    let damage: Number = damaging.iter().map(|i| weighted(i, damage_limit(i).as_ref(), 3)).sum();
    findings.if_at_least(DAMAGE, measure("sum of skin corrosives and eye damaging ingredients", damage, 3), damaging);
    let mut irritation = Number::zero();
    for ingredient in relevant.iter().filter(|i| i.worst(Class::Eye).is_some() || is_damaging(i)) {
        let own = irritation_limit(ingredient);
        let counted = weighted(ingredient, own.as_ref(), 10);
        let tenfold = own.is_none() && is_damaging(ingredient);
        irritation += &(if tenfold { counted * &percent(10) } else { counted });
    }
    let hazard = irritant(findings, relevant);
    let what = "10 × (skin corrosives and eye damaging ingredients) + eye irritants";
    findings.if_at_least(hazard, measure(what, irritation, 10), relevant.iter().copied());
}

/// Table A.3.4: each ingredient to which additivity does not apply, by itself.
fn alone(findings: &mut Findings<'_>, relevant: &[&Ingredient]) {
    for &ingredient in relevant.iter().filter(|ingredient| stands_alone(ingredient)) {
        if irritation_limit(ingredient).is_some() {
            continue;
        }
        let (hazard, what, threshold) = if is_extreme_alone(ingredient) || is_damaging(ingredient) {
            (DAMAGE, "eye damaging ingredient that does not add up", 1)
        } else {
            (irritant(findings, &[ingredient]), "eye irritant ingredient that does not add up", 3)
        };
        let measure = Measure {
            rule: findings.rule("29 CFR 1910.1200 App. A Table A.3.4", "CLP Annex I Table 3.3.4"),
            read_in: twin(findings.rules),
            what,
            value: ingredient.share.as_percent(),
            threshold: percent(threshold),
            unit: "%",
        };
        findings.if_at_least(hazard, measure, [ingredient]);
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::{Additivity, Mixture};
    use super::super::bench::{found, found_in_both, ingredient};
    use super::*;

    /// 29 CFR 1910.1200 App. A Table A.3.3.
    #[test]
    fn sums_at_their_limits() {
        assert!(found_in_both(vec![ingredient("0.99", &["Eye Dam. 1"])]).is_empty());
        assert_eq!(found_in_both(vec![ingredient("1", &["Eye Dam. 1"])]), ["Eye Irrit. 2"]);
        assert_eq!(found_in_both(vec![ingredient("2.99", &["Eye Dam. 1"])]), ["Eye Irrit. 2"]);
        assert_eq!(found_in_both(vec![ingredient("3", &["Eye Dam. 1"])]), ["Eye Dam. 1"]);
        assert!(found_in_both(vec![ingredient("9.99", &["Eye Irrit. 2"])]).is_empty());
        assert_eq!(found_in_both(vec![ingredient("10", &["Eye Irrit. 2"])]), ["Eye Irrit. 2"]);
    }

    /// The same table: an ingredient that is both is counted once, two that are one each are summed.
    #[test]
    fn both_at_once_counts_once() {
        assert_eq!(
            found_in_both(vec![ingredient("2", &["Skin Corr. 1", "Eye Dam. 1"])]),
            ["Skin Irrit. 2", "Eye Irrit. 2"]
        );
        let two = vec![ingredient("2", &["Skin Corr. 1"]), ingredient("1", &["Eye Dam. 1"])];
        assert_eq!(found_in_both(two), ["Skin Irrit. 2", "Eye Dam. 1"]);
    }

    /// The same table: irritants add up, each from 1 % on, and one damaging ingredient counts tenfold among them.
    #[test]
    fn irritants_add_up() {
        let irritants = |first: &str, second: &str| {
            found_in_both(vec![ingredient(first, &["Eye Irrit. 2"]), ingredient(second, &["Eye Irrit. 2A"])])
        };
        assert_eq!(irritants("9", "1"), ["Eye Irrit. 2"]);
        assert!(irritants("8.9", "1").is_empty());
        assert!(irritants("9.9", "0.9").is_empty(), "0.9 % is not relevant");
    }

    /// Table A.3.4. For an acid it prints a pH below 2, Table A.2.4 one of 2 or less; 2 is counted in both.
    #[test]
    fn what_does_not_add_up_counts_alone() {
        let with = |percent: &str, hazards: &[&str], additivity, ph: Option<&str>| {
            let mut one = ingredient(percent, hazards);
            one.additivity = additivity;
            one.ph = ph.map(|ph| Number::parse(ph).unwrap());
            let all = found_in_both(vec![one]);
            all.into_iter().find(|hazard| hazard.starts_with("Eye"))
        };
        let damage = Some("Eye Dam. 1".to_owned());
        let irritation = Some("Eye Irrit. 2".to_owned());
        assert_eq!(with("0.99", &["Eye Dam. 1"], Additivity::Surfactant, None), None);
        assert_eq!(with("1", &["Eye Dam. 1"], Additivity::Surfactant, None), damage);
        assert_eq!(with("1", &["Skin Corr. 1"], Additivity::Other, None), damage);
        assert_eq!(with("2.99", &["Eye Irrit. 2"], Additivity::Surfactant, None), None);
        assert_eq!(with("3", &["Eye Irrit. 2"], Additivity::Surfactant, None), irritation);
        for (additivity, ph, expected) in [
            (Additivity::Acid, "1.9", &damage),
            (Additivity::Acid, "2", &damage),
            (Additivity::Acid, "2.1", &None),
            (Additivity::Base, "11.5", &damage),
            (Additivity::Base, "11.4", &None),
            // An extreme pH counts for an acid or base to which additivity does not apply, no other.
            (Additivity::Additive, "1", &None),
        ] {
            assert_eq!(with("1", &[], additivity, Some(ph)), *expected, "{additivity:?} {ph}");
            assert_eq!(with("0.99", &[], additivity, Some(ph)), None);
        }
    }

    /// The same table's note: 2B where all relevant irritants are 2B. Regulation (EC) 1272/2008 has no 2B.
    #[test]
    fn the_milder_category_is_the_united_states_alone() {
        let mild = Mixture::of(vec![ingredient("10", &["Eye Irrit. 2B"])]);
        assert_eq!(found(&mild, RuleSet::UnitedStates), ["Eye Irrit. 2B"]);
        assert_eq!(found(&mild, RuleSet::EuUk), ["Eye Irrit. 2"]);
        let mixed = Mixture::of(vec![ingredient("9", &["Eye Irrit. 2B"]), ingredient("1", &["Eye Irrit. 2A"])]);
        assert_eq!(found(&mixed, RuleSet::UnitedStates), ["Eye Irrit. 2A"]);
    }
}
