//! Skin corrosion and irritation: worked examples, bounds, specific limits, pH.

use super::super::super::Mixture;
use super::super::super::ingredient::SpecificLimit;
use super::super::bench::{found, found_in_both, ingredient, share};
use super::super::classify;
use super::*;

fn limit(hazard: &str, from: &str, below: Option<&str>) -> SpecificLimit {
    SpecificLimit { hazard: hazard.parse().unwrap(), at_least: share(from), below: below.map(share) }
}

/// 29 CFR 1910.1200 App. A Tables A.2.3 and A.3.3, the limits themselves and just below them.
#[test]
fn boundaries_of_a_corrosive() {
    for (percent, expected) in [
        ("0.5", &[][..]),
        ("0.99", &[]),
        ("1.0", &["Skin Irrit. 2", "Eye Irrit. 2"]),
        ("2.99", &["Skin Irrit. 2", "Eye Irrit. 2"]),
        ("3.0", &["Skin Irrit. 2", "Eye Dam. 1"]),
        ("4.99", &["Skin Irrit. 2", "Eye Dam. 1"]),
        ("5.0", &["Skin Corr. 1", "Eye Dam. 1"]),
    ] {
        assert_eq!(found_in_both(vec![ingredient(percent, &["Skin Corr. 1"])]), expected, "{percent} %");
    }
}

/// Table A.2.3: irritants from 10 %, and the weighted sum.
#[test]
fn irritants_add_up() {
    assert!(found_in_both(vec![ingredient("9.99", &["Skin Irrit. 2"])]).is_empty());
    assert_eq!(found_in_both(vec![ingredient("10", &["Skin Irrit. 2"])]), ["Skin Irrit. 2"]);
    assert_eq!(
        found_in_both(vec![ingredient("6", &["Skin Irrit. 2"]), ingredient("4", &["Skin Irrit. 2"])]),
        ["Skin Irrit. 2"]
    );
}

/// Exercises of a helpdesk workshop of the European Chemicals Agency, 2012: 0.8 % is below the cut-off of 1 %; 1.8 % is not, but
/// is below 10 %.
#[test]
fn the_cut_off_is_one_per_cent() {
    for percent in ["0.8", "1.8"] {
        assert!(found_in_both(vec![ingredient(percent, &["Skin Irrit. 2"])]).is_empty());
    }
    let nine = |small: &str| vec![ingredient("9", &["Skin Irrit. 2"]), ingredient(small, &["Skin Irrit. 2"])];
    assert!(found_in_both(nine("0.99")).is_empty(), "below 1 % it does not add to another");
    assert_eq!(found_in_both(nine("1")), ["Skin Irrit. 2"]);
}

/// UN ST/SG/AC.10/C.4/2008/23, example 3.2.3.3.4: 4 % Skin 1 of pH 1.8 with 5 % Skin 2 in a mixture of pH 4 is Category 1 because
/// additivity does not apply; with additivity it is Category 2 (40 + 5 ≥ 10, 4 < 5).
#[test]
fn un_example_of_non_additivity() {
    let mut acid = ingredient("4", &["Skin Corr. 1"]);
    let mixture = |acid: Ingredient| {
        let mut mixture = Mixture::of(vec![acid, ingredient("5", &["Skin Irrit. 2"])]);
        mixture.ph = Figure::Known(Number::int(4));
        found(&mixture, RuleSet::UnitedStates)
    };
    assert_eq!(mixture(acid.clone()), ["Skin Irrit. 2", "Eye Dam. 1"]);
    acid.ph = Some(Number::ratio(18, 10));
    assert_eq!(mixture(acid.clone()), ["Skin Corr. 1", "Eye Dam. 1"]);
    acid.additivity = Additivity::Acid;
    assert_eq!(mixture(acid), ["Skin Corr. 1", "Eye Dam. 1"]);
    // A corrosive of middling pH is not in doubt, nor is a mild acid that burns nobody.
    let mut middling = ingredient("4", &["Skin Corr. 1"]);
    middling.ph = Some(Number::ratio(21, 10));
    assert_eq!(mixture(middling), ["Skin Irrit. 2", "Eye Dam. 1"]);
    let mut mild = ingredient("2", &["Eye Irrit. 2"]);
    mild.ph = Some(Number::ratio(18, 10));
    assert!(mixture(mild).is_empty());
}

/// Table A.2.4 and A.3.4 at their limits.
#[test]
fn what_does_not_add_up_counts_alone() {
    let with = |percent: &str, hazards: &[&str], additivity, ph: Option<&str>| {
        let mut one = ingredient(percent, hazards);
        one.additivity = additivity;
        one.ph = ph.map(|ph| Number::parse(ph).unwrap());
        found_in_both(vec![one])
    };
    assert!(with("0.99", &[], Additivity::Base, Some("11.5")).is_empty());
    assert_eq!(with("1", &[], Additivity::Base, Some("11.5")), ["Skin Corr. 1", "Eye Dam. 1"]);
    assert!(with("1", &[], Additivity::Base, Some("11.4")).is_empty());
    assert_eq!(with("1", &[], Additivity::Acid, Some("2")), ["Skin Corr. 1", "Eye Dam. 1"]);
    assert_eq!(with("1", &["Skin Corr. 1B"], Additivity::Surfactant, None), ["Skin Corr. 1", "Eye Dam. 1"]);
    assert!(with("2.99", &["Skin Irrit. 2"], Additivity::Surfactant, None).is_empty());
    assert_eq!(with("3", &["Skin Irrit. 2"], Additivity::Surfactant, None), ["Skin Irrit. 2"]);
}

/// Note to Table A.2.3.
#[test]
fn subcategories_step_down() {
    let skin = |ingredients: &[(&str, &str)]| {
        let all = ingredients.iter().map(|(percent, hazard)| ingredient(percent, &[hazard])).collect();
        found_in_both(all)[0].clone()
    };
    assert_eq!(skin(&[("5", "Skin Corr. 1A")]), "Skin Corr. 1A");
    assert_eq!(skin(&[("4.99", "Skin Corr. 1A")]), "Skin Irrit. 2");
    assert_eq!(skin(&[("5", "Skin Corr. 1B")]), "Skin Corr. 1B");
    assert_eq!(skin(&[("5", "Skin Corr. 1C")]), "Skin Corr. 1C");
    assert_eq!(skin(&[("4", "Skin Corr. 1A"), ("5", "Skin Corr. 1B")]), "Skin Corr. 1B");
    assert_eq!(
        skin(&[("4.5", "Skin Corr. 1A"), ("0.9", "Skin Corr. 1B")]),
        "Skin Irrit. 2",
        "what is below 1 % does not fill up the sum"
    );
    assert_eq!(skin(&[("4.9", "Skin Corr. 1A"), ("1", "Skin Corr. 1B")]), "Skin Corr. 1B");
    assert_eq!(skin(&[("2", "Skin Corr. 1A"), ("2", "Skin Corr. 1B"), ("1", "Skin Corr. 1C")]), "Skin Corr. 1C");
    assert_eq!(skin(&[("6", "Skin Corr. 1A"), ("1", "Skin Corr. 1")]), "Skin Corr. 1");
    assert_eq!(skin(&[("6", "Skin Corr. 1A"), ("0.9", "Skin Corr. 1")]), "Skin Corr. 1A");
}

/// A.2.3.1.3 and A.3.3.1.2, CLP 3.2.3.1.2: both ends inclusive.
#[test]
fn the_mixtures_own_ph() {
    for (ph, corrosive) in [("2", true), ("2.1", false), ("11.4", false), ("11.5", true)] {
        let mixture = Mixture { ph: Figure::Known(Number::parse(ph).unwrap()), ..Mixture::default() };
        let expected: &[&str] = if corrosive { &["Skin Corr. 1", "Eye Dam. 1"] } else { &[] };
        assert_eq!(found(&mixture, RuleSet::EuUk), expected, "pH {ph}");
        assert_eq!(found(&mixture, RuleSet::UnitedStates), expected, "pH {ph}");
        // Of a dilution nothing is known but that its pH must be measured.
        let diluted = classify(&mixture.dilute(&share("1")), RuleSet::EuUk).unwrap();
        assert_eq!((diluted.hazards.len(), diluted.is_complete()), (0, !corrosive));
    }
}

/// Hydrogen peroxide, index 008-003-00-9 of CLP Annex VI: its limits from 35 % up as in the Agency's register, eye damage
/// from 8 % as in GisChem, the others not verified against the published text.
#[test]
fn specific_limits_go_first() {
    let at = |percent: &str| {
        let mut peroxide = ingredient(percent, &["Skin Corr. 1A"]);
        peroxide.limits = vec![
            limit("Skin Corr. 1A", "70", None),
            limit("Skin Corr. 1B", "50", Some("70")),
            limit("Skin Irrit. 2", "35", Some("50")),
            limit("Eye Dam. 1", "8", Some("50")),
            limit("Eye Irrit. 2", "5", Some("8")),
        ];
        found_in_both(vec![peroxide])
    };
    assert!(at("4.9").is_empty());
    assert_eq!(at("5"), ["Eye Irrit. 2"]);
    assert_eq!(at("7.9"), ["Eye Irrit. 2"]);
    assert_eq!(at("8"), ["Eye Dam. 1"]);
    assert_eq!(at("34.9"), ["Eye Dam. 1"]);
    assert_eq!(at("35"), ["Skin Irrit. 2", "Eye Dam. 1"]);
    assert_eq!(at("49.9"), ["Skin Irrit. 2", "Eye Dam. 1"]);
    assert_eq!(at("50"), ["Skin Corr. 1B", "Eye Dam. 1"]);
    assert_eq!(at("69.9"), ["Skin Corr. 1B", "Eye Dam. 1"]);
    assert_eq!(at("70"), ["Skin Corr. 1A", "Eye Dam. 1"]);
}

/// European Chemicals Agency, Guidance on the application of the CLP criteria, 3.2 and 3.3 (not verified against the published text): 1.8 % of a surfactant, 0.5 % of
/// an eye irritant, 5.4 % of a skin irritant, 2 % of a corrosive. Skin: 2 is below 5, 10 × 2 + 1.8 + 5.4 = 27.2 is above 10. Eye:
/// 1.8 + 2 = 3.8 is above 3.
#[test]
fn agency_example_of_a_cleaner() {
    let cleaner = Mixture::of(vec![
        ingredient("1.8", &["Skin Irrit. 2", "Eye Dam. 1"]),
        ingredient("0.5", &["Eye Irrit. 2"]),
        ingredient("5.4", &["Skin Irrit. 2"]),
        ingredient("2", &["Skin Corr. 1A"]),
    ]);
    for rules in [RuleSet::UnitedStates, RuleSet::EuUk] {
        let found = classify(&cleaner, rules).unwrap();
        let why: Vec<_> =
            found.hazards.iter().map(|found| (found.hazard.to_string(), found.why[0].value.decimal(1))).collect();
        let expected = [("Skin Irrit. 2", "27.2"), ("Eye Dam. 1", "3.8")];
        assert_eq!(why, expected.map(|(hazard, sum)| (hazard.to_owned(), sum.to_owned())));
    }
}

/// European Chemicals Agency, Guidance on the application of the CLP criteria, Part 1, 1.6.3.3.3 (through a secondary source): where
/// effects add up, each share is divided by its own limit, specific or generic, and the quotients are summed; 1 classifies.
#[test]
fn shares_over_their_own_limits_add_up() {
    let with = |strong: &str, plain: &str| {
        let mut one = ingredient(strong, &["Skin Corr. 1"]);
        one.limits = vec![limit("Skin Corr. 1", "1", None)];
        found_in_both(vec![one, ingredient(plain, &["Skin Corr. 1"])])[0].clone()
    };
    assert_eq!(with("0.6", "2"), "Skin Irrit. 2", "0.6 % is below its own limit of 1 % and not relevant");
    assert_eq!(with("1", "1"), "Skin Corr. 1");
    let irritants = |strong: &str, plain: &str| {
        let mut one = ingredient(strong, &["Skin Irrit. 2"]);
        one.limits = vec![limit("Skin Irrit. 2", "20", None)];
        found_in_both(vec![one, ingredient(plain, &["Skin Irrit. 2"])])
    };
    assert!(irritants("9.9", "5").is_empty(), "9.9/20 + 5/10 is below 1");
    assert_eq!(irritants("10", "5"), ["Skin Irrit. 2"], "10/20 + 5/10 is 1");
}

/// The EU's sub-categories and Table 3.2.4 could not be read.
#[test]
fn what_was_not_read_in_the_rule_says_so() {
    let flagged = |one: Ingredient, rules| {
        let found = classify(&Mixture::of(vec![one]), rules).unwrap();
        !found.hazards[0].why[0].is_read_in_the_rule()
    };
    assert!(!flagged(ingredient("5", &["Skin Corr. 1"]), RuleSet::EuUk));
    assert!(!flagged(ingredient("10", &["Skin Irrit. 2"]), RuleSet::EuUk));
    assert!(flagged(ingredient("5", &["Skin Corr. 1B"]), RuleSet::EuUk));
    assert!(!flagged(ingredient("5", &["Skin Corr. 1B"]), RuleSet::UnitedStates));
    let mut surfactant = ingredient("3", &["Skin Irrit. 2"]);
    surfactant.additivity = Additivity::Surfactant;
    assert!(flagged(surfactant.clone(), RuleSet::EuUk) && !flagged(surfactant, RuleSet::UnitedStates));
}

/// Sodium hydroxide, index 011-002-00-6: 1A from 5 %, 1B from 2 %, irritant from 0.5 % (a secondary source).
#[test]
fn a_specific_limit_below_the_cut_off_counts() {
    let at = |percent: &str| {
        let mut lye = ingredient(percent, &["Skin Corr. 1A"]);
        lye.limits = vec![
            limit("Skin Corr. 1A", "5", None),
            limit("Skin Corr. 1B", "2", Some("5")),
            limit("Skin Irrit. 2", "0.5", Some("2")),
            limit("Eye Irrit. 2", "0.5", Some("2")),
        ];
        found_in_both(vec![lye])
    };
    assert!(at("0.49").is_empty());
    assert_eq!(at("0.5"), ["Skin Irrit. 2", "Eye Irrit. 2"]);
    assert_eq!(at("2"), ["Skin Corr. 1B", "Eye Dam. 1"]);
    assert_eq!(at("5"), ["Skin Corr. 1A", "Eye Dam. 1"]);
}
