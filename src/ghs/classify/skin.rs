//! Skin corrosion and irritation: 29 CFR 1910.1200 App. A.2.3, CLP Annex I 3.2.3.
//!
//! Each ingredient counts for its share over its limit, and a mixture is classified where these add up to 1. With the generic limits
//! (5 % for corrosives towards Category 1; 1 % for corrosives and 10 % for irritants towards Category 2) this is Table A.2.3 to the
//! letter, the weighted sum 10 × Category 1 + Category 2 included; a specific limit takes the generic one's place in the sum.
//!
//! The figures were read in the United States' text. Of the EU's, Table 3.2.3 was read in the European Chemicals Agency's helpdesk
//! exercises of 2012; its sub-categories and Table 3.2.4 could not be read; they are taken to be those of the United States,
//! and their reasons say so.

use super::super::RuleSet;
use super::super::class::{Category, Class, Hazard};
use super::super::ingredient::{Additivity, Figure, Ingredient, is_corrosive};
use super::{Findings, Measure, Note, percent, read_in};
use crate::quantity::{Number, Share};

const CORROSIVE: Hazard = Hazard::of(Class::Skin, Category::One);
const IRRITANT: Hazard = Hazard::of(Class::Skin, Category::Two);

/// The ingredient's share counted against `generic` per cent: weighted to it where the ingredient has a limit of its own.
pub(super) fn weighted(ingredient: &Ingredient, own: Option<&Share>, generic: i64) -> Number {
    let generic = percent(generic);
    match own {
        Some(own) => ingredient.share.over(own) * &generic,
        None => ingredient.share.as_percent(),
    }
}

/// Relevant from 1 %, or from the ingredient's own lowest limit if that is lower.
pub(super) fn is_relevant(ingredient: &Ingredient, own: Option<&Share>) -> bool {
    let from = own.map_or_else(|| percent(1), |own| own.as_percent().min(percent(1)));
    ingredient.share.as_percent() >= from
}

fn limit_of(ingredient: &Ingredient, fits: impl Fn(Hazard) -> bool) -> Option<&Share> {
    ingredient.lowest_limit(|hazard| hazard.class() == Class::Skin && fits(hazard))
}

/// Whether a mixture of this pH is corrosive in the absence of other information (A.2.3.1.3, CLP 3.2.3.1.2).
fn is_extreme(ph: &Number) -> bool {
    *ph <= 2 || *ph >= Number::ratio(23, 2)
}

/// An acid of pH 2 or less or a base of 11.5 or more to which additivity does not apply. The eye table prints "below 2" for acids;
/// 2 itself is counted there too, on the side that protects.
pub(super) fn is_extreme_alone(ingredient: &Ingredient) -> bool {
    match (ingredient.additivity, &ingredient.ph) {
        (Additivity::Acid, Some(ph)) => *ph <= 2,
        (Additivity::Base, Some(ph)) => *ph >= Number::ratio(23, 2),
        _ => false,
    }
}

/// Whether it counts by itself. Additivity is said not to apply; or it is a corrosive of extreme pH, for which that is in doubt and the
/// United Nations' worked example (3.2.3.3.4) takes the side that protects.
pub(super) fn stands_alone(ingredient: &Ingredient) -> bool {
    let burns = ingredient.worst(Class::Skin).is_some_and(is_corrosive);
    ingredient.additivity != Additivity::Additive || (burns && ingredient.ph.as_ref().is_some_and(is_extreme))
}

/// Finds corrosion and irritation of the skin.
pub fn find(findings: &mut Findings<'_>) {
    let skin = |ingredient: &&Ingredient| ingredient.worst(Class::Skin).is_some() || is_extreme_alone(ingredient);
    let ingredients = findings.ingredients;
    let relevant: Vec<&Ingredient> = ingredients
        .iter()
        .filter(skin)
        .filter(|ingredient| is_relevant(ingredient, limit_of(ingredient, |_| true)))
        .collect();
    by_ph(findings, &[CORROSIVE]);
    corrosion_by_sum(findings, &relevant);
    irritation_by_sum(findings, &relevant);
    alone(findings, &relevant);
}

/// The pH rule, for the hazards given.
pub(super) fn by_ph(findings: &mut Findings<'_>, hazards: &[Hazard]) {
    match &findings.mixture.ph {
        Figure::Known(ph) if is_extreme(ph) => {
            let acid = *ph <= 2;
            for &hazard in hazards {
                let (united_states, eu_uk) = match hazard.class() {
                    Class::Skin => ("29 CFR 1910.1200 App. A.2.3.1.3", "CLP Annex I 3.2.3.1.2"),
                    _ => ("29 CFR 1910.1200 App. A.3.3.1.2", "CLP Annex I 3.3.3.1.2"),
                };
                let measure = Measure {
                    rule: findings.rule(united_states, eu_uk),
                    read_in: match (findings.rules, hazard.class()) {
                        (RuleSet::EuUk, Class::Eye) => read_in::REPRINT,
                        _ => read_in::THE_RULE,
                    },
                    what: if acid { "pH of the mixture, at most" } else { "pH of the mixture, at least" },
                    value: ph.clone(),
                    threshold: if acid { percent(2) } else { Number::ratio(23, 2) },
                    unit: "pH",
                };
                findings.add(hazard, measure, []);
            }
        }
        Figure::BeforeDilution(ph) if is_extreme(ph) => findings.note(Note::PhNeeded),
        _ => {}
    }
}

/// Where the figures of a table were read whose counterpart in the EU could not be.
pub(super) fn twin(rules: RuleSet) -> &'static str {
    match rules {
        RuleSet::UnitedStates => read_in::THE_RULE,
        RuleSet::EuUk => read_in::UNITED_STATES_TWIN,
    }
}

fn sum_rule(findings: &Findings<'_>, what: &'static str, value: Number, threshold: i64) -> Measure {
    Measure {
        rule: findings.rule("29 CFR 1910.1200 App. A Table A.2.3", "CLP Annex I Table 3.2.3"),
        read_in: read_in::THE_RULE,
        what,
        value,
        threshold: percent(threshold),
        unit: "%",
    }
}

fn corrosion_by_sum(findings: &mut Findings<'_>, relevant: &[&Ingredient]) {
    let corrosives: Vec<&Ingredient> =
        relevant.iter().copied().filter(|ingredient| ingredient.worst(Class::Skin).is_some_and(is_corrosive)).collect();
    let sum_of = |fits: &dyn Fn(Category) -> bool| -> (Number, Vec<&Ingredient>) {
        let of_these = |hazard: Hazard| is_corrosive(hazard) && fits(hazard.category());
        let parts: Vec<&Ingredient> = corrosives
            .iter()
            .copied()
            .filter(|i| i.hazards.iter().copied().chain(i.limits.iter().map(|limit| limit.hazard)).any(of_these))
            .collect();
        let sum = parts.iter().map(|ingredient| weighted(ingredient, limit_of(ingredient, of_these), 5)).sum();
        (sum, parts)
    };
    let (all, parts) = sum_of(&|_| true);
    let undivided = corrosives.iter().any(|i| i.worst(Class::Skin).is_some_and(|h| h.category() == Category::One));
    if undivided {
        let measure = sum_rule(findings, "sum of skin corrosives", all, 5);
        findings.if_at_least(CORROSIVE, measure, parts);
        return;
    }
    // Note to Table A.2.3: 1A by itself, else 1A and 1B, else all.
    let (a, a_parts) = sum_of(&|category| category == Category::OneA);
    let (ab, ab_parts) = sum_of(&|category| matches!(category, Category::OneA | Category::OneB));
    let steps = [
        (Category::OneA, "sum of skin corrosives 1A", a, a_parts),
        (Category::OneB, "sum of skin corrosives 1A and 1B", ab, ab_parts),
        (Category::OneC, "sum of skin corrosives 1A, 1B and 1C", all, parts),
    ];
    for (category, what, sum, parts) in steps {
        let measure = Measure { read_in: twin(findings.rules), ..sum_rule(findings, what, sum, 5) };
        if findings.if_at_least(Hazard::of(Class::Skin, category), measure, parts) {
            return;
        }
    }
}

fn irritation_by_sum(findings: &mut Findings<'_>, relevant: &[&Ingredient]) {
    let mut sum = Number::zero();
    for ingredient in relevant {
        let own = limit_of(ingredient, |_| true);
        match ingredient.worst(Class::Skin) {
            // A corrosive's generic limit towards irritation is 1 %, a tenth of an irritant's: hence the 10 of the weighted sum.
            Some(hazard) if is_corrosive(hazard) && own.is_none() => {
                sum += &(weighted(ingredient, own, 10) * &percent(10));
            }
            Some(_) => sum += &weighted(ingredient, own, 10),
            None => {}
        }
    }
    let parts: Vec<&Ingredient> = relevant.iter().copied().filter(|i| i.worst(Class::Skin).is_some()).collect();
    let measure = sum_rule(findings, "10 × skin corrosives + skin irritants", sum, 10);
    findings.if_at_least(IRRITANT, measure, parts);
}

/// Table A.2.4: each ingredient to which additivity does not apply, by itself. A specific limit goes before it.
fn alone(findings: &mut Findings<'_>, relevant: &[&Ingredient]) {
    for &ingredient in relevant.iter().filter(|ingredient| stands_alone(ingredient)) {
        if limit_of(ingredient, |_| true).is_some() {
            continue;
        }
        let stated = ingredient.worst(Class::Skin);
        let corrosive = is_extreme_alone(ingredient) || stated.is_some_and(is_corrosive);
        let (hazard, what, threshold) = if corrosive {
            // The mixture takes Category 1 undivided, as the table does.
            (CORROSIVE, "corrosive ingredient that does not add up", 1)
        } else {
            (IRRITANT, "irritant ingredient that does not add up", 3)
        };
        let measure = Measure {
            rule: findings.rule("29 CFR 1910.1200 App. A Table A.2.4", "CLP Annex I Table 3.2.4"),
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
#[path = "skin_tests.rs"]
mod tests;
