//! Mixtures of `cases.csv` under both rule sets.

use serde::Deserialize;

use super::super::{Additivity, Ate, Figure, Hazard, Ingredient, Mixture, Peroxide, RuleSet, SpecificLimit};
use super::{Classification, Note, classify};
use crate::quantity::{Number, Share, built_in};

#[derive(Deserialize)]
struct Row {
    mixture: String,
    eu: String,
    us: String,
}

fn number(text: &str) -> Number {
    Number::parse(text).unwrap_or_else(|| panic!("`{text}` is no number"))
}

fn percent(text: &str) -> Share {
    Share::percent(number(text))
}

fn words(text: &str) -> impl Iterator<Item = (&str, &str, &str)> {
    let parts = text.split(';').map(str::trim).filter(|part| !part.is_empty());
    parts.map(|part| {
        let (first, rest) = part.split_once(' ').unwrap_or((part, ""));
        (part, first, rest)
    })
}

/// `4 % Skin Corr. 1; ph 1.8; acid`.
pub fn ingredient(text: &str) -> Ingredient {
    let (share, facts) = text.split_once('%').unwrap_or_else(|| panic!("`{text}` has no share"));
    let mut one = Ingredient::new(text.trim(), percent(share.trim()), vec![]);
    for (part, first, rest) in words(facts) {
        let ate = || Some(if rest == "none" { Ate::NoneFound } else { Ate::Value(number(rest)) });
        let pair = || rest.split_once('/').unwrap_or_else(|| panic!("`{part}` is no pair"));
        match first {
            "oral" => one.ate.oral = ate(),
            "dermal" => one.ate.dermal = ate(),
            "vapour" => one.ate.vapour = ate(),
            "mist" => one.ate.mist = ate(),
            "m" => (one.m_acute, one.m_chronic) = (Number::parse(pair().0), Number::parse(pair().1)),
            "peroxide" => {
                let (groups, molar_mass) = (number(pair().0), number(pair().1));
                one.peroxide = Some(Peroxide { groups, molar_mass });
            }
            "limit" => {
                let (hazard, from) = rest.split_once(" from ").unwrap_or_else(|| panic!("`{part}` is no limit"));
                let hazard = hazard.parse().unwrap();
                one.limits.push(SpecificLimit { hazard, at_least: percent(from), below: None });
            }
            "ph" => one.ph = Some(number(rest)),
            "acid" => one.additivity = Additivity::Acid,
            "base" => one.additivity = Additivity::Base,
            "surfactant" => one.additivity = Additivity::Surfactant,
            "other" => one.additivity = Additivity::Other,
            "unknown" => one.unknown_acute = true,
            "name" => one.name = rest.to_owned(),
            "cas" => one.cas = Some(rest.to_owned()),
            _ => one.hazards.push(part.parse().unwrap()),
        }
    }
    one
}

/// `2 % Skin Corr. 1 + 1 % Eye Dam. 1 | ph 4; diluted 10`.
fn mixture(text: &str) -> Mixture {
    let (ingredients, facts) = text.split_once('|').unwrap_or((text, ""));
    let ingredients = ingredients.split(" + ").filter(|text| !text.trim().is_empty()).map(ingredient);
    let mut mixture = Mixture::of(ingredients.collect());
    for (part, first, rest) in words(facts) {
        let known = || if rest == "none" { Figure::NoneFound } else { Figure::Known(number(rest)) };
        match first {
            "ph" => mixture.ph = known(),
            "flash" => mixture.flash_point = known(),
            "boiling" => mixture.boiling_point = known(),
            "viscosity" => mixture.viscosity = known(),
            "sheet" => mixture.stated_physical.push(rest.parse().unwrap()),
            "diluted" => mixture = mixture.dilute(&percent(rest)),
            _ => panic!("`{part}` is no fact of a mixture"),
        }
    }
    mixture
}

/// Compares what was found with what a cell of the table expects.
fn compare(found: &Classification, expected: &str, case: &str) {
    let named = found.notes.iter().any(|note| matches!(note, Note::MaySetOffAllergy { .. }));
    let mut hazards: Vec<Hazard> = Vec::new();
    for (part, first, rest) in words(expected) {
        match first {
            "-" => {}
            "open" | "complete" => assert_eq!(found.is_complete(), first == "complete", "{case}"),
            "named" | "unnamed" => assert_eq!(named, first == "named", "{case}"),
            "notes" => assert_eq!(found.notes.len().to_string(), rest, "{case}"),
            "unknown" => {
                let most = found.unknown_acute.iter().map(|unknown| unknown.share.as_percent()).max();
                assert_eq!(most.unwrap_or_else(Number::zero), number(rest), "{case}");
            }
            _ => {
                let (hazard, value) = part.split_once(" = ").unwrap_or((part, ""));
                hazards.push(hazard.parse().unwrap());
                let places = value.split_once('.').map_or(0, |(_, decimals)| decimals.len());
                let why = found.hazards.iter().find(|f| f.hazard.to_string() == hazard).map(|f| &f.why[0].value);
                let why = why.map(|why| why.decimal(u32::try_from(places).unwrap()));
                assert!(value.is_empty() || why.as_deref() == Some(value), "{case}: {hazard} by {why:?}");
            }
        }
    }
    assert_eq!(found.hazards(), hazards, "{case}");
}

#[test]
fn every_case_is_classified_as_its_source_has_it() {
    for row in built_in::<Row>(include_str!("cases.csv")) {
        let us = if row.us.is_empty() { row.eu.replace("Eye Irrit. 2", "Eye Irrit. 2A") } else { row.us };
        for (rules, expected) in [(RuleSet::EuUk, row.eu), (RuleSet::UnitedStates, us)] {
            compare(&classify(&mixture(&row.mixture), rules).unwrap(), &expected, &format!("{}, {rules}", row.mixture));
        }
    }
}

/// What was not read in the text of the rule says so: the EU's sub-categories of skin corrosion, its Table 3.2.4 and Table 3.1.2, and Table 1.1
/// in either.
#[test]
fn what_was_not_read_in_the_rule_says_so() {
    for (text, eu, us) in [
        ("5 % Skin Corr. 1", true, true),
        ("10 % Skin Irrit. 2", true, true),
        ("5 % Skin Corr. 1B", false, true),
        ("3 % Skin Irrit. 2; surfactant", false, true),
        ("50 % Acute Tox. 3 (oral)", false, true),
        ("50 %; oral 100", true, true),
        ("0.9 % Acute Tox. 1 (oral)", false, false),
    ] {
        for (rules, read) in [(RuleSet::EuUk, eu), (RuleSet::UnitedStates, us)] {
            let found = classify(&mixture(text), rules).unwrap();
            assert_eq!(found.hazards[0].why[0].is_read_in_the_rule(), read, "{text}, {rules}");
        }
    }
}
