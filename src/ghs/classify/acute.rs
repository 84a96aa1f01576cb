//! Acute toxicity by the additivity formula: 29 CFR 1910.1200 App. A.1.3.6, CLP Annex I 3.1.3.6.
//!
//! `100 / ATEmix = Σ Ci / ATEi`, with `100 − Σ C unknown` in place of 100 where more than 10 % is of unknown toxicity. Ci in per cent.

use super::super::class::{Category, Class, Hazard};
use super::super::ingredient::{Ate, Ingredient};
use super::{Findings, Measure, Note, UnknownAcute, percent, tenths};
use crate::quantity::{Number, Share};

/// One route: its class, the upper ends of Categories 1 to 4 (Table A.1.1, CLP Table 3.1.1), their converted point estimates
/// (Table A.1.2, CLP Table 3.1.2), and the highest estimate that is still counted.
struct Route {
    class: Class,
    unit: &'static str,
    limits: [Number; 4],
    points: [Number; 4],
    /// Estimates up to 5000 mg/kg are counted, above the 2000 mg/kg of Category 4 (UN GHS 3.1.3.6.1). For breathing in no such figure
    /// is printed; the same 2.5 times Category 4 is taken, to err on the side of counting.
    counted: Number,
}

const CATEGORIES: [Category; 4] = [Category::One, Category::Two, Category::Three, Category::Four];

fn routes() -> [Route; 5] {
    let n = Number::ratio;
    let whole = |a, b, c, d| [a, b, c, d].map(Number::int);
    [
        Route {
            class: Class::AcuteOral,
            unit: "mg/kg",
            limits: whole(5, 50, 300, 2000),
            points: [n(1, 2), n(5, 1), n(100, 1), n(500, 1)],
            counted: n(5000, 1),
        },
        Route {
            class: Class::AcuteDermal,
            unit: "mg/kg",
            limits: whole(50, 200, 1000, 2000),
            points: whole(5, 50, 300, 1100),
            counted: n(5000, 1),
        },
        Route {
            class: Class::AcuteGas,
            unit: "ppm",
            limits: whole(100, 500, 2500, 20_000),
            points: whole(10, 100, 700, 4500),
            counted: n(50_000, 1),
        },
        Route {
            class: Class::AcuteVapour,
            unit: "mg/L",
            limits: [n(1, 2), n(2, 1), n(10, 1), n(20, 1)],
            points: [n(1, 20), n(1, 2), n(3, 1), n(11, 1)],
            counted: n(50, 1),
        },
        Route {
            class: Class::AcuteMist,
            unit: "mg/L",
            limits: [n(1, 20), n(1, 2), n(1, 1), n(5, 1)],
            points: [n(1, 200), n(1, 20), n(1, 2), n(3, 2)],
            counted: n(25, 2),
        },
    ]
}

/// What an ingredient brings to a route.
enum Brings {
    Nothing,
    Unknown,
    Estimate(Number),
}

/// Whether anything at all is known of the ingredient breathed in.
fn inhalation_known(ingredient: &Ingredient) -> bool {
    let ate = &ingredient.ate;
    [&ate.gas, &ate.vapour, &ate.mist].into_iter().any(Option::is_some)
        || [
            Class::AcuteInhalation,
            Class::AcuteGas,
            Class::AcuteVapour,
            Class::AcuteMist,
        ]
        .into_iter()
        .any(|class| ingredient.worst(class).is_some())
}

/// The hazard of an ingredient that is toxic by breathing in but says neither how nor how much. It counts as mist, the form with the
/// strictest figures, and as vapour.
fn unspecified_inhalation(ingredient: &Ingredient) -> Option<Hazard> {
    let ate = &ingredient.ate;
    let measured = [&ate.gas, &ate.vapour, &ate.mist].into_iter().any(Option::is_some);
    if measured {
        None
    } else {
        ingredient.worst(Class::AcuteInhalation)
    }
}

fn brings(ingredient: &Ingredient, route: &Route) -> Brings {
    if ingredient.no_acute_toxicity {
        return Brings::Nothing;
    }
    match ingredient.ate.get(route.class) {
        Some(Ate::Value(value)) if *value <= route.counted => return Brings::Estimate(value.clone()),
        Some(_) => return Brings::Nothing,
        None => {}
    }
    let stated = ingredient.worst(route.class).or_else(|| match route.class {
        Class::AcuteVapour | Class::AcuteMist => unspecified_inhalation(ingredient),
        _ => None,
    });
    if let Some(place) = stated.and_then(|hazard| CATEGORIES.iter().position(|category| *category == hazard.category()))
    {
        return Brings::Estimate(route.points[place].clone());
    }
    let known_otherwise = route.class.is_acute_inhalation() && inhalation_known(ingredient);
    if ingredient.unknown_acute && !known_otherwise {
        Brings::Unknown
    } else {
        Brings::Nothing
    }
}

/// The estimate for the mixture and the ingredients that make it; `None` where no ingredient counts.
fn estimate<'i>(ingredients: &'i [Ingredient], route: &Route) -> Option<(Number, Vec<&'i Ingredient>)> {
    let (mut sum, mut known, mut unknown) = (Number::zero(), Number::zero(), Number::zero());
    let mut parts = Vec::new();
    for ingredient in ingredients {
        let share = ingredient.share.as_percent();
        match brings(ingredient, route) {
            Brings::Estimate(value) => {
                // Relevant from 1 % (A.1.3.3), and lower where it may matter: 0.1 % for Categories 1 to 3 (CLP Table 1.1, from memory).
                let from = if value <= route.limits[2] {
                    tenths(1)
                } else {
                    percent(1)
                };
                if share >= from {
                    sum += &(&share / &value);
                    known += &share;
                    parts.push(ingredient);
                }
            }
            Brings::Unknown if share >= percent(1) => unknown += &share,
            Brings::Unknown | Brings::Nothing => {}
        }
    }
    if !sum.is_positive() {
        return None;
    }
    // Strictly above 10 % (A.1.3.6.2.4 as corrected, 89 FR 81829). Upper ends of ranges may add up to more than the whole, so the
    // numerator is never less than what is known.
    let numerator = if unknown > 10 {
        (percent(100) - &unknown).max(known)
    } else {
        percent(100)
    };
    Some((numerator / sum, parts))
}

/// Finds acute toxicity by every route, and says how much is unknown.
pub fn find(findings: &mut Findings<'_>) -> Vec<UnknownAcute> {
    let ingredients = findings.ingredients;
    for route in routes() {
        for ingredient in ingredients {
            findings.by_specific_limit(ingredient, route.class);
        }
        let Some((value, parts)) = estimate(ingredients, &route) else {
            continue;
        };
        let Some(place) = route.limits.iter().position(|limit| value <= *limit) else {
            continue;
        };
        let measure = Measure {
            rule: findings.rule(
                "29 CFR 1910.1200 App. A.1.3.6 and Table A.1.1",
                "CLP Annex I 3.1.3.6 and Table 3.1.1",
            ),
            from_memory: false,
            what: "acute toxicity estimate of the mixture, at most",
            value,
            threshold: route.limits[place].clone(),
            unit: route.unit,
        };
        findings.add(Hazard::of(route.class, CATEGORIES[place]), measure, parts);
    }
    for ingredient in ingredients {
        if unspecified_inhalation(ingredient).is_some() && !ingredient.no_acute_toxicity {
            findings.note(Note::InhalationFormAssumed {
                ingredient: ingredient.name.clone(),
            });
        }
    }
    unknown(ingredients)
}

/// A.1.3.6.2.3: said from the first ingredient at 1 % on.
fn unknown(ingredients: &[Ingredient]) -> Vec<UnknownAcute> {
    let routes = routes();
    let told = [("oral", &routes[0]), ("dermal", &routes[1]), ("inhalation", &routes[4])];
    let mut all = Vec::new();
    for (name, route) in told {
        let share: Share = ingredients
            .iter()
            .filter(|ingredient| {
                ingredient.share.as_percent() >= 1 && matches!(brings(ingredient, route), Brings::Unknown)
            })
            .map(|ingredient| &ingredient.share)
            .sum();
        if !share.is_zero() {
            all.push(UnknownAcute { route: name, share });
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::super::super::{Mixture, RuleSet};
    use super::super::bench::{found, found_in_both, ingredient, share};
    use super::super::classify;
    use super::*;

    fn oral(percent: &str, ate: i64) -> Ingredient {
        let mut ingredient = ingredient(percent, &[]);
        ingredient.ate.oral = Some(Ate::Value(Number::int(ate)));
        ingredient
    }

    fn unknown_at(percent: &str) -> Ingredient {
        let mut ingredient = Ingredient::new("unknown", share(percent), vec![]);
        ingredient.unknown_acute = true;
        ingredient
    }

    fn estimate_oral(ingredients: &[Ingredient]) -> Number {
        estimate(ingredients, &routes()[0]).unwrap().0
    }

    /// UN ST/SG/AC.10/C.4/2008/23 Annex 2, example 3.1.3.6.1(c): 43 425 mg/kg, not classified.
    #[test]
    fn un_example_of_what_is_left_out() {
        let mut limit_dose = ingredient("86", &[]);
        limit_dose.ate.oral = Some(Ate::NoneFound);
        let mixture = vec![oral("4", 1737), oral("5", 5001), oral("5", 5400), limit_dose];
        assert_eq!(estimate_oral(&mixture), 43_425);
        assert!(found_in_both(mixture).is_empty());
    }

    /// The same paper, example 3.1.3.2: 873 mg/kg (872.520), Category 4.
    #[test]
    fn un_example_of_category_4() {
        let mixture = vec![oral("26", 2737), oral("23", 4500), oral("11", 5001), oral("40", 400)];
        assert_eq!(estimate_oral(&mixture).decimal(3), "872.52");
        assert_eq!(found_in_both(mixture), ["Acute Tox. 4 (oral)"]);
    }

    /// Tables A.1.1 and A.1.2: the upper end of a category belongs to it, and a category stands for its point estimate.
    #[test]
    fn bounds_are_inclusive_and_points_are_the_tables() {
        for route in routes() {
            for (place, category) in CATEGORIES.into_iter().enumerate() {
                let at = |percent| {
                    let one = ingredient(percent, &[&Hazard::of(route.class, category).to_string()]);
                    estimate(std::slice::from_ref(&one), &route).unwrap().0
                };
                assert_eq!(at("100"), route.points[place]);
                // Not at 100 %: the point of Category 2 is the upper end of Category 1.
                let value = at("99");
                assert_eq!(
                    route.limits.iter().position(|limit| value <= *limit),
                    Some(place),
                    "{:?}",
                    route.class
                );
            }
        }
        assert_eq!(found_in_both(vec![oral("100", 300)]), ["Acute Tox. 3 (oral)"]);
        assert_eq!(found_in_both(vec![oral("100", 301)]), ["Acute Tox. 4 (oral)"]);
        assert_eq!(found_in_both(vec![oral("100", 2000)]), ["Acute Tox. 4 (oral)"]);
        assert!(found_in_both(vec![oral("100", 2001)]).is_empty());
    }

    /// A.1.3.6.2.4: at 10 % unknown the plain formula, above it the corrected one.
    #[test]
    fn more_than_ten_per_cent_unknown_is_corrected_for() {
        assert_eq!(estimate_oral(&[oral("10", 200), unknown_at("10")]), 2000);
        assert_eq!(estimate_oral(&[oral("10", 200), unknown_at("20")]), 1600);
        assert_eq!(
            found_in_both(vec![oral("9", 200), unknown_at("10")]),
            Vec::<String>::new()
        );
        assert_eq!(
            found_in_both(vec![oral("9", 200), unknown_at("20")]),
            ["Acute Tox. 4 (oral)"]
        );
    }

    /// A.1.3.6.2.3 and C.3.3: the share is stated from 1 % on.
    #[test]
    fn the_unknown_share_is_stated() {
        let mixture = Mixture::of(vec![
            oral("10", 200),
            unknown_at("1"),
            unknown_at("2"),
            unknown_at("0.9"),
        ]);
        let classification = classify(&mixture, RuleSet::UnitedStates).unwrap();
        // The three lines are one substance, 3.9 % of it.
        assert_eq!(classification.unknown_acute_percent().decimal(2), "3.9");
        let routes: Vec<_> = classification
            .unknown_acute
            .iter()
            .map(|unknown| unknown.route)
            .collect();
        assert_eq!(routes, ["oral", "dermal", "inhalation"]);
        let trace = Mixture::of(vec![unknown_at("0.9")]);
        assert!(
            classify(&trace, RuleSet::UnitedStates)
                .unwrap()
                .unknown_acute
                .is_empty()
        );
    }

    #[test]
    fn an_estimate_goes_before_the_point_estimate() {
        let mut known = ingredient("100", &["Acute Tox. 4 (oral)"]);
        assert_eq!(estimate_oral(std::slice::from_ref(&known)), 500);
        known.ate.oral = Some(Ate::Value(Number::int(1200)));
        assert_eq!(estimate_oral(&[known]), 1200);
    }

    #[test]
    fn an_unsaid_form_of_inhalation_counts_as_mist_and_vapour() {
        let mixture = Mixture::of(vec![ingredient("55", &["Acute Tox. 4 (inhalation)"])]);
        let both = ["Acute Tox. 4 (inhalation, vapour)", "Acute Tox. 4 (inhalation, mist)"];
        assert_eq!(found(&mixture, RuleSet::EuUk), both);
        assert_eq!(classify(&mixture, RuleSet::EuUk).unwrap().notes.len(), 1);
        let half = Mixture::of(vec![ingredient("30", &["Acute Tox. 4 (inhalation)"])]);
        assert_eq!(found(&half, RuleSet::EuUk), ["Acute Tox. 4 (inhalation, mist)"]);
    }

    /// CLP Table 1.1 (from memory): a Category 1 substance counts from 0.1 %.
    #[test]
    fn a_trace_of_a_fatal_substance_counts() {
        assert_eq!(
            found_in_both(vec![ingredient("0.5", &["Acute Tox. 1 (oral)"])]),
            ["Acute Tox. 3 (oral)"]
        );
        assert!(found_in_both(vec![ingredient("0.09", &["Acute Tox. 1 (oral)"])]).is_empty());
        assert!(found_in_both(vec![ingredient("0.99", &["Acute Tox. 4 (oral)"])]).is_empty());
    }
}
