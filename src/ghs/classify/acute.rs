//! Acute toxicity by the additivity formula: 29 CFR 1910.1200 App. A.1.3.6, CLP Annex I 3.1.3.6.
//!
//! `100 / ATEmix = Σ Ci / ATEi`, with `100 − Σ C unknown` in place of 100 where more than 10 % is of unknown toxicity. Ci in per cent.
//! A mixture is never worse than the worst of its ingredients: the point estimates are set low within their category, and where all
//! ingredients share one, that one is the mixture's (A.1.3.3(c), CLP 3.1.3.3(c)).

use super::super::RuleSet;
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
    /// Estimates up to 5000 mg/kg are counted, above the 2000 mg/kg of Category 4 (A.1.3.6.1(a)). For breathing in no such figure
    /// is printed; the same 2.5 times Category 4 is taken. So it is in the EU too, whose text may stop at Category 4 (from memory):
    /// counting more is the side that protects.
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
    /// A figure of its own.
    Estimate(Number),
    /// The point estimate of a category, by its place.
    Point(usize),
}

/// The estimate for a mixture by one route.
struct Estimate<'i> {
    value: Number,
    /// The ingredients that count.
    parts: Vec<&'i Ingredient>,
    /// The place of the worst category among them; past the last where none has a category.
    worst: usize,
    /// Whether a category was converted to its point estimate.
    converted: bool,
    /// Whether an ingredient below 1 % counts.
    trace: bool,
}

/// The place of the first category whose upper end the value does not pass.
fn place_of(value: &Number, route: &Route) -> Option<usize> {
    route.limits.iter().position(|limit| value <= limit)
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
        return Brings::Point(place);
    }
    let known_otherwise = route.class.is_acute_inhalation() && inhalation_known(ingredient);
    if ingredient.unknown_acute && !known_otherwise {
        Brings::Unknown
    } else {
        Brings::Nothing
    }
}

/// The estimate for the mixture; `None` where no ingredient counts.
fn estimate<'i>(ingredients: &'i [Ingredient], route: &Route) -> Option<Estimate<'i>> {
    let (mut sum, mut known, mut unknown) = (Number::zero(), Number::zero(), Number::zero());
    let (mut parts, mut worst, mut converted, mut trace) = (Vec::new(), CATEGORIES.len(), false, false);
    for ingredient in ingredients {
        let share = ingredient.share.as_percent();
        let (value, place, is_point) = match brings(ingredient, route) {
            Brings::Estimate(value) => {
                let place = place_of(&value, route).unwrap_or(CATEGORIES.len());
                (value, place, false)
            }
            Brings::Point(place) => (route.points[place].clone(), place, true),
            Brings::Unknown => {
                if share >= percent(1) {
                    unknown += &share;
                }
                continue;
            }
            Brings::Nothing => continue,
        };
        // Relevant from 1 % (A.1.3.3), and lower where it may matter: 0.1 % for Categories 1 to 3 (CLP Table 1.1, from memory).
        let from = if place <= 2 { tenths(1) } else { percent(1) };
        if share < from {
            continue;
        }
        sum += &(&share / &value);
        known += &share;
        worst = worst.min(place);
        converted |= is_point;
        trace |= share < 1;
        parts.push(ingredient);
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
    Some(Estimate {
        value: numerator / sum,
        parts,
        worst,
        converted,
        trace,
    })
}

/// Finds acute toxicity by every route, and says how much is unknown.
pub fn find(findings: &mut Findings<'_>) -> Vec<UnknownAcute> {
    let ingredients = findings.ingredients;
    for route in routes() {
        for ingredient in ingredients {
            findings.by_specific_limit(ingredient, route.class);
        }
        let Some(found) = estimate(ingredients, &route) else {
            continue;
        };
        let place = place_of(&found.value, &route).map(|place| place.max(found.worst));
        let Some(place) = place.filter(|place| *place < CATEGORIES.len()) else {
            continue;
        };
        let measure = Measure {
            rule: findings.rule(
                "29 CFR 1910.1200 App. A.1.3.6 and Table A.1.1",
                "CLP Annex I 3.1.3.6 and Table 3.1.1",
            ),
            // The EU's point estimates are the same from memory; so is the 0.1 % under either rule set.
            from_memory: found.trace || (found.converted && findings.rules == RuleSet::EuUk),
            what: "acute toxicity estimate of the mixture, at most",
            value: found.value,
            threshold: route.limits[place].clone(),
            unit: route.unit,
        };
        findings.add(Hazard::of(route.class, CATEGORIES[place]), measure, found.parts);
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
    use super::super::super::{Mixture, Pictogram, Signal, label};
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
        estimate(ingredients, &routes()[0]).unwrap().value
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

    /// The same paper, example of paragraph 3.1.3.2: swallowed 873 mg/kg (872.520), Category 4; breathed in as vapour 6.6 mg/L with the
    /// correction for 11 % of unknown toxicity, Category 3; Danger; toxic if inhaled, harmful if swallowed.
    #[test]
    fn un_example_of_two_routes() {
        let with = |percent, ate, vapour: Option<i64>| {
            let mut one = oral(percent, ate);
            one.ate.vapour = vapour.map(|value| Ate::Value(Number::int(value)));
            one.ate.dermal = vapour.map(|_| Ate::NoneFound);
            one.unknown_acute = vapour.is_none();
            one
        };
        let mixture = vec![
            with("26", 2737, Some(11)),
            with("23", 4500, Some(19)),
            with("11", 5001, None),
            with("40", 400, Some(4)),
        ];
        assert_eq!(estimate_oral(&mixture).decimal(3), "872.52");
        let vapour = estimate(&mixture, &routes()[3]).unwrap().value;
        assert_eq!(vapour.decimal(1), "6.6");
        let both = ["Acute Tox. 4 (oral)", "Acute Tox. 3 (inhalation, vapour)"];
        assert_eq!(found_in_both(mixture.clone()), both);
        let classification = classify(&Mixture::of(mixture), RuleSet::UnitedStates).unwrap();
        assert_eq!(classification.unknown_acute_percent(), 11);
        let elements = label(&classification.hazards(), RuleSet::UnitedStates).unwrap();
        assert_eq!(elements.signal, Some(Signal::Danger));
        assert_eq!(elements.hazard_statements, ["H331", "H302"]);
        assert_eq!(elements.pictograms, [Pictogram::SkullAndCrossbones]);
    }

    /// The same paper, example of Note (a) to Table 3.1.1: a range of 200 to 2000 mg/kg is taken at its lower end; 1880 mg/kg, Category 4.
    #[test]
    fn un_example_of_a_range() {
        let mixture = vec![oral("16", 1600), oral("4", 200), oral("80", 3450)];
        assert_eq!(estimate_oral(&mixture).decimal(0), "1880");
        assert_eq!(found_in_both(mixture), ["Acute Tox. 4 (oral)"]);
    }

    /// European Chemicals Agency, Guidance on the application of the CLP criteria, 3.1.5.3, example 11 (through a secondary source):
    /// 92 % and 0.9 % unknown, of which only the first counts, and 0.2 % of Category 2, which counts: 148.1 mg/kg, Category 3.
    #[test]
    fn agency_example_of_unknowns_and_a_trace() {
        let mixture = vec![
            oral("4", 125),
            unknown_at("92"),
            oral("3", 1500),
            Ingredient {
                name: "another".to_owned(),
                ..unknown_at("0.9")
            },
            oral("0.2", 10),
        ];
        assert_eq!(estimate_oral(&mixture).decimal(1), "148.1");
        assert_eq!(found_in_both(mixture), ["Acute Tox. 3 (oral)"]);
    }

    /// The same guidance, example 12a (secondary): mist, 6 % of 1.5, 11 % of 0.6, 40 % of 1.5 mg/L, 10 % unclassified and 33 % water:
    /// 2.04 mg/L, Category 4.
    #[test]
    fn agency_example_of_a_mist() {
        let mist = |percent, tenths| {
            let mut one = ingredient(percent, &[]);
            one.ate.mist = Some(Ate::Value(Number::ratio(tenths, 10)));
            one
        };
        let mixture = vec![mist("6", 15), mist("11", 6), ingredient("10", &[]), mist("40", 15)];
        assert_eq!(estimate(&mixture, &routes()[4]).unwrap().value.decimal(2), "2.04");
        assert_eq!(found_in_both(mixture), ["Acute Tox. 4 (inhalation, mist)"]);
    }

    /// A.1.3.3(c), CLP 3.1.3.3(c): the point of a category may be the upper end of a worse one; ingredients of one category alone give no
    /// worse one, even where the upper ends of their ranges add up to more than the whole.
    #[test]
    fn one_category_gives_no_worse_one() {
        for (hazard, shares) in [
            ("Acute Tox. 2 (oral)", &["100"][..]),
            ("Acute Tox. 2 (oral)", &["40", "40", "40"]),
            ("Acute Tox. 2 (dermal)", &["100"]),
            ("Acute Tox. 2 (inhalation, gas)", &["100"]),
            ("Acute Tox. 2 (inhalation, vapour)", &["100"]),
            ("Acute Tox. 2 (inhalation, mist)", &["100"]),
            ("Acute Tox. 3 (inhalation, mist)", &["60", "40"]),
        ] {
            let mixture = shares.iter().enumerate().map(|(place, share)| Ingredient {
                name: place.to_string(),
                ..ingredient(share, &[hazard])
            });
            assert_eq!(found_in_both(mixture.collect()), [hazard], "{shares:?}");
        }
        // Dilution is not touched by it: 4.75 % of Category 3 is 2105 mg/kg.
        assert!(found_in_both(vec![ingredient("4.75", &["Acute Tox. 3 (oral)"])]).is_empty());
        // Nor can ranges above the whole make a category of none.
        assert!(found_in_both(vec![oral("70", 2100), oral("50", 2101)]).is_empty());
    }

    /// CLP Table 3.1.2 and Table 1.1 are from memory; the United States' points were read (Table A.1.2).
    #[test]
    fn what_is_from_memory_says_so() {
        let flagged = |one: Ingredient, rules| {
            let found = classify(&Mixture::of(vec![one]), rules).unwrap();
            found.hazards[0].why[0].from_memory
        };
        let point = || ingredient("50", &["Acute Tox. 3 (oral)"]);
        assert!(flagged(point(), RuleSet::EuUk) && !flagged(point(), RuleSet::UnitedStates));
        assert!(!flagged(oral("50", 100), RuleSet::EuUk));
        let trace = || ingredient("0.9", &["Acute Tox. 1 (oral)"]);
        assert!(flagged(trace(), RuleSet::EuUk) && flagged(trace(), RuleSet::UnitedStates));
    }

    /// Tables A.1.1 and A.1.2: the upper end of a category belongs to it, and a category stands for its point estimate.
    #[test]
    fn bounds_are_inclusive_and_points_are_the_tables() {
        for route in routes() {
            for (place, category) in CATEGORIES.into_iter().enumerate() {
                let at = |percent| {
                    let one = ingredient(percent, &[&Hazard::of(route.class, category).to_string()]);
                    estimate(std::slice::from_ref(&one), &route).unwrap().value
                };
                assert_eq!(at("100"), route.points[place]);
                assert_eq!(place_of(&at("99"), &route), Some(place), "{:?}", route.class);
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
