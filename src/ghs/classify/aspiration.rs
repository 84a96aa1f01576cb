//! Aspiration hazard: 29 CFR 1910.1200 App. A.10.3.3, CLP Annex I 3.10.3. A sum of 10 % in a thin liquid.

use super::super::class::{Category, Class, Hazard};
use super::super::ingredient::{Figure, Ingredient};
use super::skin::{is_relevant, weighted};
use super::{Findings, Measure, Note, percent};
use crate::quantity::Number;

/// Finds it.
pub fn find(findings: &mut Findings<'_>) {
    let own = |ingredient: &Ingredient| ingredient.lowest_limit(|hazard| hazard.class() == Class::Aspiration).cloned();
    let ingredients = findings.ingredients;
    let parts: Vec<&Ingredient> = ingredients
        .iter()
        .filter(|ingredient| ingredient.worst(Class::Aspiration).is_some())
        .filter(|ingredient| is_relevant(ingredient, own(ingredient).as_ref()))
        .collect();
    let sum: Number = parts.iter().map(|ingredient| weighted(ingredient, own(ingredient).as_ref(), 10)).sum();
    if sum < 10 {
        return;
    }
    // 20.5 mm²/s at 40 °C, inclusive.
    let thick = |viscosity: &Number| *viscosity > Number::ratio(41, 2);
    match &findings.mixture.viscosity {
        Figure::Known(viscosity) if thick(viscosity) => return,
        // The dilution is taken to be as the tested concentrate (A.10.3.2.1), but water makes thin: it must be measured.
        Figure::BeforeDilution(viscosity) if thick(viscosity) => {
            findings.note(Note::ViscosityNeeded);
            return;
        }
        Figure::Known(_) | Figure::BeforeDilution(_) => {}
        Figure::Unknown => findings.note(Note::ViscosityAssumedLow),
    }
    let measure = Measure {
        rule: findings.rule("29 CFR 1910.1200 App. A.10.3.3.2.1", "CLP Annex I 3.10.3.3"),
        read_in: super::read_in::THE_RULE,
        what: "sum of aspiration hazards, viscosity at 40 °C at most 20.5 mm²/s",
        value: sum,
        threshold: percent(10),
        unit: "%",
    };
    findings.add(Hazard::of(Class::Aspiration, Category::One), measure, parts);
}

#[cfg(test)]
mod tests {
    use super::super::super::{Mixture, RuleSet};
    use super::super::bench::{found, found_in_both, ingredient, share};
    use super::super::classify;
    use super::*;

    /// 29 CFR 1910.1200 App. A.10.3.3.2.1.
    #[test]
    fn both_the_sum_and_the_viscosity_count() {
        let with = |percent: &str, viscosity: Figure| {
            let mut mixture = Mixture::of(vec![ingredient(percent, &["Asp. Tox. 1"])]);
            mixture.viscosity = viscosity;
            found(&mixture, RuleSet::UnitedStates)
        };
        let known = |text: &str| Figure::Known(Number::parse(text).unwrap());
        assert_eq!(with("10", known("20.5")), ["Asp. Tox. 1"]);
        assert!(with("10", known("20.6")).is_empty());
        assert!(with("9.99", known("1")).is_empty());
        assert_eq!(with("10", Figure::Unknown), ["Asp. Tox. 1"]);
    }

    /// A.10.3.3.1 and A.10.3.3.2.1; CLP 3.10.3.3: summed, each from 1 % on. Below 10 % nothing is left of it (A.10.3.2.1).
    #[test]
    fn ingredients_add_up_and_dilution_ends_it() {
        let two = |first: &str, second: &str| {
            let both = [first, second].map(|percent| ingredient(percent, &["Asp. Tox. 1"]));
            found_in_both(both.to_vec())
        };
        assert_eq!(two("9", "1"), ["Asp. Tox. 1"]);
        assert!(two("9.5", "0.9").is_empty());
        let mut thick = Mixture::of(vec![ingredient("40", &["Asp. Tox. 1"])]);
        thick.viscosity = Figure::Known(Number::int(50));
        assert!(found(&thick, RuleSet::EuUk).is_empty());
        assert!(found(&thick.dilute(&share("24.9")), RuleSet::EuUk).is_empty());
        let still_strong = classify(&thick.dilute(&share("25")), RuleSet::EuUk).unwrap();
        assert_eq!((still_strong.hazards.len(), still_strong.is_complete()), (0, false));
        thick.viscosity = Figure::Known(Number::int(20));
        assert_eq!(found(&thick.dilute(&share("25")), RuleSet::EuUk), ["Asp. Tox. 1"]);
    }
}
