//! Whole classifications of the actives that disinfectants are made of, concentrate to use solution. The entries are what a user would
//! write from a safety data sheet; nothing here is built into the rules.

use super::super::ingredient::{Ingredient, Mixture, SpecificLimit};
use super::super::{Note, Pictogram, RuleSet, Signal, label};
use super::bench::{found, ingredient, share};
use super::classify;
use crate::quantity::Number;

fn with_limits(percent: &str, hazards: &[&str], limits: &[(&str, &str)]) -> Ingredient {
    let mut one = ingredient(percent, hazards);
    let limit = |(hazard, from): &(&str, &str)| SpecificLimit {
        hazard: hazard.parse().unwrap(),
        at_least: share(from),
        below: None,
    };
    one.limits = limits.iter().map(limit).collect();
    one
}

fn with_m(percent: &str, hazards: &[&str], acute: i64, chronic: i64) -> Ingredient {
    let mut one = ingredient(percent, hazards);
    (one.m_acute, one.m_chronic) = (Some(Number::int(acute)), Some(Number::int(chronic)));
    one
}

fn eu(one: Ingredient) -> Vec<String> {
    found(&Mixture::of(vec![one]), RuleSet::EuUk)
}

/// Hydrogen peroxide, Acute Tox. 4 swallowed and breathed in: H302 from 25 %, H332 from 30 % (a German statutory accident insurer's
/// sheet). The additivity formula comes to the same: 500 / 0.25 = 2000 mg/kg, 1.5 / 0.30 = 5 mg/L of mist.
#[test]
fn hydrogen_peroxide_is_harmful_from_25_and_30_per_cent() {
    let at = |percent| eu(ingredient(percent, &["Acute Tox. 4 (oral)", "Acute Tox. 4 (inhalation)"]));
    assert!(at("24.9").is_empty());
    assert_eq!(at("25"), ["Acute Tox. 4 (oral)"]);
    assert_eq!(at("29.9"), ["Acute Tox. 4 (oral)"]);
    assert_eq!(at("30"), ["Acute Tox. 4 (oral)", "Acute Tox. 4 (inhalation, mist)"]);
}

/// The same sheet's limits from the transport rules: Ox. Liq. 2 from 20 %, Ox. Liq. 3 from 8 %.
#[test]
fn hydrogen_peroxide_oxidises_from_8_per_cent_where_the_sheet_says_so() {
    let limits = [("Ox. Liq. 1", "70"), ("Ox. Liq. 2", "20"), ("Ox. Liq. 3", "8")];
    let at = |percent| eu(with_limits(percent, &["Ox. Liq. 1"], &limits));
    assert!(at("7.9").is_empty());
    assert_eq!(at("8"), ["Ox. Liq. 3"]);
    assert_eq!(at("19.9"), ["Ox. Liq. 3"]);
    assert_eq!(at("20"), ["Ox. Liq. 2"]);
    assert_eq!(at("70"), ["Ox. Liq. 1"]);
}

/// Peracetic acid: below 1 % not irritating, 1 to 3 % irritating, from 3 % corrosive, skin and eye (REACH registration 14885).
#[test]
fn peracetic_acid_from_its_own_data() {
    let limits = [("Skin Corr. 1A", "3"), ("Skin Irrit. 2", "1"), ("Eye Dam. 1", "3"), ("Eye Irrit. 2", "1")];
    let at = |percent| eu(with_limits(percent, &["Skin Corr. 1A", "Eye Dam. 1"], &limits));
    assert!(at("0.99").is_empty());
    assert_eq!(at("1"), ["Skin Irrit. 2", "Eye Irrit. 2"]);
    assert_eq!(at("2.99"), ["Skin Irrit. 2", "Eye Irrit. 2"]);
    assert_eq!(at("3"), ["Skin Corr. 1A", "Eye Dam. 1"]);
}

/// Didecyldimethylammonium chloride and benzalkonium chloride, their classifications not verified against
/// Annex VI: 10 % concentrates and 0.04 %
/// (400 ppm) use solutions.
#[test]
fn quats() {
    let didecyl = ["Acute Tox. 3 (oral)", "Skin Corr. 1B", "Aquatic Acute 1", "Aquatic Chronic 2"];
    let strong = ["Acute Tox. 4 (oral)", "Skin Corr. 1B", "Eye Dam. 1", "Aquatic Acute 1", "Aquatic Chronic 3"];
    assert_eq!(eu(with_m("10", &didecyl, 10, 1)), strong);
    assert!(eu(with_m("0.04", &didecyl, 10, 1)).is_empty());
    let benzyl = ["Acute Tox. 4 (oral)", "Skin Corr. 1B", "Aquatic Acute 1", "Aquatic Chronic 1"];
    // 500 / 0.1 is 5000 mg/kg: not harmful.
    let strong = ["Skin Corr. 1B", "Eye Dam. 1", "Aquatic Acute 1", "Aquatic Chronic 2"];
    assert_eq!(eu(with_m("10", &benzyl, 10, 1)), strong);
    assert!(eu(with_m("0.04", &benzyl, 10, 1)).is_empty());
}

/// Sodium hypochlorite (CLP Annex VI, index 017-011-00-1), 12 % diluted: what is found, what its label shows, and that the pH must be
/// measured before less than the concentrate's hazards may be shown.
#[test]
fn hypochlorite_from_concentrate_to_label() {
    let hazards = ["Skin Corr. 1B", "Eye Dam. 1", "Aquatic Acute 1", "Aquatic Chronic 1"];
    let mut concentrate = Mixture::of(vec![with_m("12", &hazards, 10, 1)]);
    concentrate.ph = super::super::Figure::Known(Number::int(13));
    let strong = classify(&concentrate, RuleSet::EuUk).unwrap();
    let elements = label(&strong.hazards(), RuleSet::EuUk).unwrap();
    assert_eq!(elements.signal, Some(Signal::Danger));
    assert_eq!(elements.pictograms, [Pictogram::Corrosion, Pictogram::Environment]);
    assert_eq!(elements.hazard_statements, ["H314", "H400", "H411"]);
    let weak = classify(&concentrate.dilute(&share("4")), RuleSet::EuUk).unwrap();
    assert_eq!(weak.hazards().len(), 1);
    assert_eq!(weak.hazards()[0].to_string(), "Aquatic Chronic 3");
    assert_eq!((weak.notes.as_slice(), weak.is_complete()), (&[Note::PhNeeded][..], false));
    let elements = label(&weak.hazards(), RuleSet::EuUk).unwrap();
    assert_eq!((elements.signal, elements.pictograms.len()), (None, 0));
    assert_eq!(elements.hazard_statements, ["H412"]);
}
