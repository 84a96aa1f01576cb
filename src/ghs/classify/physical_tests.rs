//! Physical hazards: flash points, oxidisers, organic peroxides, what a sheet states.

use super::super::super::Mixture;
use super::super::super::ingredient::{Peroxide, SpecificLimit};
use super::super::bench::{found, ingredient, share};
use super::super::classify;
use super::*;

fn number(text: &str) -> Number {
    Number::parse(text).unwrap()
}

fn at(flash: &str, boiling: &str) -> Mixture {
    Mixture {
        flash_point: FlashPoint::Known(number(flash)),
        boiling_point: Figure::Known(number(boiling)),
        ..Mixture::default()
    }
}

/// 29 CFR 1910.1200 App. B Table B.6.1; CLP Annex I Table 2.6.1 stops at 60 °C.
#[test]
fn flash_point_at_the_limits() {
    for (flash, boiling, us, eu) in [
        ("22.9", "35", Some("Flam. Liq. 1"), Some("Flam. Liq. 1")),
        ("22.9", "35.1", Some("Flam. Liq. 2"), Some("Flam. Liq. 2")),
        ("23", "35", Some("Flam. Liq. 3"), Some("Flam. Liq. 3")),
        ("60", "100", Some("Flam. Liq. 3"), Some("Flam. Liq. 3")),
        ("60.1", "100", Some("Flam. Liq. 4"), None),
        ("93", "100", Some("Flam. Liq. 4"), None),
        ("93.1", "100", None, None),
    ] {
        assert_eq!(found(&at(flash, boiling), RuleSet::UnitedStates), Vec::from_iter(us), "{flash}");
        assert_eq!(found(&at(flash, boiling), RuleSet::EuUk), Vec::from_iter(eu), "{flash}");
    }
}

/// Flash points of ethanol in water by volume, from a laboratory safety list of 2015 (secondary): up to 50 % Category 3, from 60 % on 2.
#[test]
fn ethanol_in_water() {
    let weak = [("10", "49"), ("20", "36"), ("30", "29"), ("40", "26"), ("50", "24")];
    let strong = [("60", "22"), ("70", "21"), ("80", "20"), ("90", "17"), ("96", "17")];
    for (points, expected) in [(weak, "Flam. Liq. 3"), (strong, "Flam. Liq. 2")] {
        for (percent, flash) in points {
            assert_eq!(found(&at(flash, "78"), RuleSet::EuUk), [expected], "{percent} %");
            assert_eq!(found(&at(flash, "78"), RuleSet::UnitedStates), [expected], "{percent} %");
        }
    }
}

#[test]
fn without_a_flash_point_nothing_lower_is_guessed() {
    let of =
        |percent: &str| classify(&Mixture::of(vec![ingredient(percent, &["Flam. Liq. 2"])]), RuleSet::EuUk).unwrap();
    assert_eq!(of("62").hazards(), ["Flam. Liq. 2".parse().unwrap()]);
    assert!(!of("62").is_complete());
    assert!(of("8").hazards.is_empty() && !of("8").is_complete());
    assert!(of("0.5").hazards.is_empty() && of("0.5").is_complete());
    let mut mixture = at("21", "80");
    mixture.ingredients = vec![ingredient("62", &["Flam. Liq. 2"])];
    assert_eq!(found(&mixture.dilute(&share("50")), RuleSet::EuUk), ["Flam. Liq. 2"]);
    assert!(found(&mixture.dilute(&share("1")), RuleSet::EuUk).is_empty());
    mixture.boiling_point = Figure::Unknown;
    assert_eq!(found(&mixture, RuleSet::EuUk), ["Flam. Liq. 1"]);
    mixture.stated_physical = vec!["Flam. Liq. 2".parse().unwrap()];
    assert_eq!(found(&mixture, RuleSet::EuUk), ["Flam. Liq. 2"]);
}

/// Hydrogen peroxide's limits in CLP Annex VI (index 008-003-00-9).
#[test]
fn oxidising_by_specific_limit() {
    let of = |percent: &str| {
        let mut peroxide = ingredient(percent, &["Ox. Liq. 1"]);
        let limit = |hazard: &str, from: &str| SpecificLimit {
            hazard: hazard.parse().unwrap(),
            at_least: share(from),
            below: None,
        };
        peroxide.limits = vec![limit("Ox. Liq. 1", "70"), limit("Ox. Liq. 2", "50")];
        found(&Mixture::of(vec![peroxide]), RuleSet::EuUk)
    };
    assert_eq!(of("70"), ["Ox. Liq. 1"]);
    assert_eq!(of("69.9"), ["Ox. Liq. 2"]);
    assert_eq!(of("50"), ["Ox. Liq. 2"]);
    assert!(of("49.9").is_empty());
    let untested = classify(&Mixture::of(vec![ingredient("5", &["Ox. Liq. 1"])]), RuleSet::EuUk).unwrap();
    assert_eq!((untested.hazards.len(), untested.is_complete()), (1, false));
}

/// Peracetic acid: one group, 76.05 g/mol. 29 CFR 1910.1200 App. B.15.2.1 at its limits; the oxygen figures computed from the formula:
/// 15 % gives 3.156 %, 5.6 % gives 1.178 %, 0.2 % gives 0.0421 %; 1.0 % is 4.753 % of acid, 0.5 % is 2.377 %.
#[test]
fn organic_peroxides_are_excluded_by_available_oxygen() {
    let peracetic = |percent: &str| {
        let mut acid = ingredient(percent, &["Org. Perox. D"]);
        acid.peroxide = Some(Peroxide { groups: Number::one(), molar_mass: number("76.05") });
        acid
    };
    for (percent, oxygen) in [("15", "3.156"), ("5.6", "1.178"), ("0.2", "0.042")] {
        assert_eq!(available_oxygen(&[&peracetic(percent)]).unwrap().decimal(3), oxygen);
    }
    let with = |acid: &str, hydrogen: &str| {
        let mut peroxide = ingredient(hydrogen, &[]);
        peroxide.cas = Some("7722-84-1".to_owned());
        !found(&Mixture::of(vec![peracetic(acid), peroxide]), RuleSet::UnitedStates).is_empty()
    };
    for (acid, hydrogen, classified) in [
        ("4.753", "1.0", false),
        ("4.754", "1.0", true),
        ("2.376", "1.1", false),
        ("2.377", "7.0", true),
        ("2.376", "7.0", false),
        ("0.2", "7.1", true),
    ] {
        assert_eq!(with(acid, hydrogen), classified, "{acid} % with {hydrogen} % hydrogen peroxide");
    }
}

/// The same rule exactly at its limits: one group in 80 g/mol is 0.2 % of oxygen for every 1 %, two groups twice as much, and the
/// oxygen of several peroxides is summed.
#[test]
fn available_oxygen_at_its_limits_is_excluded() {
    let peroxide = |percent: &str, groups| {
        let mut one = ingredient(percent, &["Org. Perox. F"]);
        one.peroxide = Some(Peroxide { groups: Number::int(groups), molar_mass: Number::int(80) });
        one
    };
    let classified = |peroxides: &[Ingredient], hydrogen: &str| {
        let mut mixture = Mixture::of(peroxides.to_vec());
        mixture.ingredients.push(Ingredient::new("Hydrogen peroxide", share(hydrogen), vec![]));
        let us = found(&mixture, RuleSet::UnitedStates);
        assert_eq!(us, found(&mixture, RuleSet::EuUk));
        !us.is_empty()
    };
    assert!(!classified(&[peroxide("5", 1)], "1"), "1.0 % of oxygen beside 1.0 %");
    assert!(classified(&[peroxide("5.01", 1)], "1"));
    assert!(!classified(&[peroxide("2.5", 1)], "1.01"), "0.5 % of oxygen beside more");
    assert!(classified(&[peroxide("2.51", 1)], "1.01"));
    assert!(!classified(&[peroxide("2.5", 1)], "7"));
    assert!(classified(&[peroxide("0.1", 1)], "7.01"));
    assert!(!classified(&[peroxide("2.5", 2)], "0") && classified(&[peroxide("2.51", 2)], "0"));
    assert!(!classified(&[peroxide("3", 1), peroxide("2", 1)], "0"));
    assert!(classified(&[peroxide("3", 1), peroxide("2.1", 1)], "0"));
}

#[test]
fn hydrogen_peroxide_is_known_by_its_names() {
    for name in [
        "Hydrogen peroxide",
        "HYDROGEN PEROXIDE, 35 % solution",
        "Peróxido de hidrógeno",
        "Peroxyde d’hydrogène",
        "H₂O₂",
    ] {
        assert!(is_hydrogen_peroxide(&Ingredient::new(name, share("1"), vec![])), "{name}");
    }
    assert!(!is_hydrogen_peroxide(&Ingredient::new("Peracetic acid", share("1"), vec![])));
}

/// Corrosive to metals: as stated, and kept in the dilution until that is tested.
#[test]
fn corrosive_to_metals_is_never_computed() {
    let lye = Mixture::of(vec![ingredient("50", &["Met. Corr. 1"])]);
    assert!(found(&lye, RuleSet::EuUk).is_empty());
    let mut stated = lye;
    stated.stated_physical = vec!["Met. Corr. 1".parse().unwrap()];
    let diluted = classify(&stated.dilute(&share("0.1")), RuleSet::EuUk).unwrap();
    let hazard = "Met. Corr. 1".parse().unwrap();
    assert_eq!(diluted.hazards(), [hazard]);
    assert_eq!(diluted.notes, [Note::StatedBeforeDilution { hazard }]);
}

#[test]
fn what_the_sheet_states_is_kept() {
    let stated_physical = ["Met. Corr. 1", "Ox. Liq. 3"].map(|hazard| hazard.parse().unwrap()).to_vec();
    let mixture = Mixture { stated_physical, ..Mixture::default() };
    assert_eq!(found(&mixture, RuleSet::UnitedStates), ["Ox. Liq. 3", "Met. Corr. 1"]);
    let diluted = classify(&mixture.dilute(&share("1")), RuleSet::UnitedStates).unwrap();
    assert_eq!((diluted.hazards.len(), diluted.notes.len()), (2, 2));
}
