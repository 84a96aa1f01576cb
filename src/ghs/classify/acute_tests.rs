//! Acute toxicity: worked examples, bounds, unknowns.

use super::super::super::{Mixture, Pictogram, Signal, SpecificLimit, label};
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
    let mixture =
        vec![with("26", 2737, Some(11)), with("23", 4500, Some(19)), with("11", 5001, None), with("40", 400, Some(4))];
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
        Ingredient { name: "another".to_owned(), ..unknown_at("0.9") },
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
        let mixture = shares
            .iter()
            .enumerate()
            .map(|(place, share)| Ingredient { name: place.to_string(), ..ingredient(share, &[hazard]) });
        assert_eq!(found_in_both(mixture.collect()), [hazard], "{shares:?}");
    }
    // Dilution is not touched by it: 4.75 % of Category 3 is 2105 mg/kg.
    assert!(found_in_both(vec![ingredient("4.75", &["Acute Tox. 3 (oral)"])]).is_empty());
    // Nor can ranges above the whole make a category of none.
    assert!(found_in_both(vec![oral("70", 2100), oral("50", 2101)]).is_empty());
}

/// A limit a sheet writes for acute toxicity holds beside the formula, whether it names the form breathed in or not.
#[test]
fn a_specific_limit_holds_beside_the_formula() {
    for hazard in ["Acute Tox. 4 (inhalation)", "Acute Tox. 4 (oral)", "Acute Tox. 4 (inhalation, vapour)"] {
        let at = |percent| {
            let mut one = ingredient(percent, &[]);
            one.ate.oral = Some(Ate::NoneFound);
            one.limits = vec![SpecificLimit { hazard: hazard.parse().unwrap(), at_least: share("3"), below: None }];
            found_in_both(vec![one])
        };
        assert!(at("2.9").is_empty());
        assert_eq!(at("3"), [hazard]);
    }
}

/// CLP Table 3.1.2 was read in an agency's guide and Table 1.1 not at all; the United States' points in Table A.1.2.
#[test]
fn what_was_not_read_in_the_rule_says_so() {
    let flagged = |one: Ingredient, rules| {
        let found = classify(&Mixture::of(vec![one]), rules).unwrap();
        !found.hazards[0].why[0].is_read_in_the_rule()
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
    assert_eq!(found_in_both(vec![oral("9", 200), unknown_at("10")]), Vec::<String>::new());
    assert_eq!(found_in_both(vec![oral("9", 200), unknown_at("20")]), ["Acute Tox. 4 (oral)"]);
}

/// A.1.3.6.2.3 and C.3.3: the share is stated from 1 % on.
#[test]
fn the_unknown_share_is_stated() {
    let mixture = Mixture::of(vec![oral("10", 200), unknown_at("1"), unknown_at("2"), unknown_at("0.9")]);
    let classification = classify(&mixture, RuleSet::UnitedStates).unwrap();
    // The three lines are one substance, 3.9 % of it.
    assert_eq!(classification.unknown_acute_percent().decimal(2), "3.9");
    let routes: Vec<_> = classification.unknown_acute.iter().map(|unknown| unknown.route).collect();
    assert_eq!(routes, ["oral", "dermal", "inhalation"]);
    let trace = Mixture::of(vec![unknown_at("0.9")]);
    assert!(classify(&trace, RuleSet::UnitedStates).unwrap().unknown_acute.is_empty());
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

/// CLP Table 1.1 (not verified against the published text): a Category 1 substance counts from 0.1 %.
#[test]
fn a_trace_of_a_fatal_substance_counts() {
    assert_eq!(found_in_both(vec![ingredient("0.5", &["Acute Tox. 1 (oral)"])]), ["Acute Tox. 3 (oral)"]);
    assert!(found_in_both(vec![ingredient("0.09", &["Acute Tox. 1 (oral)"])]).is_empty());
    assert!(found_in_both(vec![ingredient("0.99", &["Acute Tox. 4 (oral)"])]).is_empty());
}
