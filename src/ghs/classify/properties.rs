//! What holds for every mixture: the order of the ingredients decides nothing, and water never makes it worse.

use proptest::prelude::*;

use super::super::hazard::{Class, Hazard};
use super::super::{Additivity, Ate, AteTable, Figure, Ingredient, Mixture, Peroxide, RuleSet, SpecificLimit};
use super::classify;
use crate::quantity::{Number, Share};

fn share(thousandths: i64) -> Share {
    Share::percent(Number::ratio(thousandths, 1000))
}

fn hazard() -> impl Strategy<Value = Hazard> {
    // A stated oxidising or flammable solid changes its class in solution; there is nothing to compare.
    let solid = [Class::OxidisingSolid, Class::FlammableSolid, Class::GasUnderPressure];
    let all: Vec<Hazard> = Hazard::all().filter(|hazard| !solid.contains(&hazard.class())).collect();
    prop::sample::select(all)
}

fn limit() -> impl Strategy<Value = SpecificLimit> {
    (hazard(), 1..90_000i64).prop_map(|(hazard, from)| SpecificLimit { hazard, at_least: share(from), below: None })
}

fn additivity() -> impl Strategy<Value = Additivity> {
    prop::sample::select(vec![Additivity::Additive, Additivity::Acid, Additivity::Base, Additivity::Surfactant])
}

/// Hundredths up to `most`, a limit test that found nothing, or nothing known.
fn ate(most: i64) -> impl Strategy<Value = Option<Ate>> {
    let known = prop_oneof![
        4 => (1..most * 100).prop_map(|value| Ate::Value(Number::ratio(value, 100))),
        1 => Just(Ate::NoneFound),
    ];
    prop::option::weighted(0.3, known)
}

prop_compose! {
    fn ingredient()(
        thousandths in 0..40_000i64,
        hazards in prop::collection::vec(hazard(), 0..4),
        limits in prop::collection::vec(limit(), 0..3),
        (m_acute, m_chronic) in (prop::option::of(1..2000i64), prop::option::of(1..2000i64)),
        oral in prop::option::of(1..6000i64),
        (dermal, gas, vapour, mist) in (ate(3000), ate(60_000), ate(30), ate(8)),
        additivity in additivity(),
        ph in prop::option::of(0..14i64),
        (unknown_acute, no_acute_toxicity) in any::<(bool, bool)>(),
        groups in prop::option::of(1..3i64),
        name in "[a-c]",
    ) -> Ingredient {
        let oral = oral.map(|value| Ate::Value(Number::int(value)));
        let peroxide = |groups| Peroxide { groups: Number::int(groups), molar_mass: Number::int(76) };
        Ingredient {
            limits,
            m_acute: m_acute.map(Number::int),
            m_chronic: m_chronic.map(Number::int),
            ate: AteTable { oral, dermal, gas, vapour, mist },
            additivity,
            ph: ph.map(Number::int),
            unknown_acute,
            no_acute_toxicity,
            peroxide: groups.map(peroxide),
            ..Ingredient::new(name, share(thousandths), hazards)
        }
    }
}

prop_compose! {
    fn mixture()(
        ingredients in prop::collection::vec(ingredient(), 0..6),
        flash in prop::option::of(-20..120i64),
        boiling in prop::option::of(20..110i64),
        stated in prop::collection::vec(hazard(), 0..3),
        ph in prop::option::of(0..29i64),
        viscosity in prop::option::of(1..60i64),
    ) -> Mixture {
        let mut mixture = Mixture::of(ingredients);
        let figure = |value: Option<i64>| value.map_or(Figure::Unknown, |value| Figure::Known(Number::int(value)));
        mixture.flash_point = figure(flash);
        mixture.boiling_point = figure(boiling);
        mixture.ph = ph.map_or(Figure::Unknown, |halves| Figure::Known(Number::ratio(halves, 2)));
        mixture.viscosity = figure(viscosity);
        mixture.stated_physical = stated.into_iter().filter(|hazard| hazard.class().is_physical()).collect();
        mixture
    }
}

// More cases by the environment: PROPTEST_CASES=20000.
proptest! {
    #![proptest_config(ProptestConfig { cases: ProptestConfig::default().cases.max(512), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_order_decides_nothing(mixture in mixture(), turn in 0..6usize) {
        let mut turned = mixture.clone();
        let by = turn.min(turned.ingredients.len());
        turned.ingredients.rotate_left(by);
        turned.ingredients.reverse();
        turned.stated_physical.reverse();
        for rules in [RuleSet::UnitedStates, RuleSet::EuUk] {
            prop_assert_eq!(classify(&mixture, rules).unwrap(), classify(&turned, rules).unwrap());
        }
    }

    /// Every hazard of the use solution is one of the concentrate's, or a lesser one of its class.
    #[test]
    fn water_never_makes_it_worse(mixture in mixture(), thousandths in 1..=1000i64) {
        let diluted = mixture.dilute(&Share::of_one(Number::ratio(thousandths, 1000)));
        for rules in [RuleSet::UnitedStates, RuleSet::EuUk] {
            let before = classify(&mixture, rules).unwrap().hazards();
            for hazard in classify(&diluted, rules).unwrap().hazards() {
                prop_assert!(before.iter().any(|old| old.covers(hazard)), "{:?} gave {:?} ({})", before, hazard, rules);
            }
        }
    }
}
