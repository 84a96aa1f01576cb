use std::sync::LazyLock;

use proptest::prelude::*;

use super::*;
use crate::calc::amount::Form;
use crate::calc::dilution::resolve;
use crate::calc::strength::Concentrate;
use crate::calc::testing::{fluid_ounces, gallons, litres, n};
use crate::quantity::{Basis, Dilution};

fn ratio(dilution: &Dilution, form: Form) -> Ratio {
    resolve(dilution, &Concentrate { form, density: None, content: None, active_density: None }).unwrap()
}

fn ounces_per_gallon(ounces: &str, basis: Basis) -> Ratio {
    ratio(&Dilution::Liquid { product: fluid_ounces(ounces), per: gallons("1"), basis }, Form::Liquid)
}

fn us_graduations() -> Graduations {
    Graduations { water: gallons("0.25"), liquid: Some(fluid_ounces("0.5")), powder: Some(Mass::grams(n("1"))) }
}

fn need<'a>(solution: Volume, tank: Volume, ratio: &'a Ratio, graduations: &'a Graduations) -> Need<'a> {
    Need { solution, kept_in_hose: Volume::zero(), tank, ratio, graduations, bounds: &FIVE_PER_CENT }
}

/// From the label's dose to so much above it.
fn up_to(error: &Number) -> Bounds {
    Bounds { least: Number::one(), most: Number::one() + error }
}

/// A household measure's own error; see [`Bounds`].
static FIVE_PER_CENT: LazyLock<Bounds> = LazyLock::new(|| up_to(&Number::ratio(1, 20)));

fn liquid_of(load: &Load) -> Number {
    load.product.value() / fluid_ounces("1").as_millilitres()
}

#[test]
fn one_ounce_a_gallon() {
    // Common practice, no source: 1 fl oz/gal into 15 gal of water needs 15 fl oz.
    let ratio = ounces_per_gallon("1", Basis::AddedTo);
    let graduations = us_graduations();
    let loads = loads(&need(gallons("15.1"), gallons("16"), &ratio, &graduations), Sharing::default()).unwrap();
    assert_eq!(loads.len(), 1);
    assert_eq!(loads[0].water, gallons("15"));
    assert_eq!(liquid_of(&loads[0]), n("15"));
    assert_eq!(loads[0].strength_factor, Number::one());
}

#[test]
fn water_and_product_together_stay_in_the_tank() {
    // 12 gal of water with 24 fl oz would be 12.1875 gal: a 12-gal tank takes 11.75 gal of water.
    let ratio = ounces_per_gallon("2", Basis::AddedTo);
    let graduations = us_graduations();
    let loads = loads(&need(gallons("30"), gallons("12"), &ratio, &graduations), Sharing::default()).unwrap();
    let water: Vec<String> = loads.iter().map(|l| l.water.over(&gallons("1")).decimal(2)).collect();
    assert_eq!(water, ["11.75", "11.75", "6.25"]);
    let product: Vec<String> = loads.iter().map(|l| liquid_of(l).decimal(1)).collect();
    assert_eq!(product, ["23.5", "23.5", "12.5"]);
}

#[test]
fn made_up_to_fills_to_the_mark() {
    let ratio = ounces_per_gallon("2", Basis::MadeUpTo);
    let graduations = us_graduations();
    let loads = loads(&need(gallons("12"), gallons("12"), &ratio, &graduations), Sharing::default()).unwrap();
    assert_eq!(loads.len(), 1);
    assert_eq!(loads[0].solution, gallons("12"));
    assert_eq!(liquid_of(&loads[0]), n("24"));
    assert_eq!(&loads[0].water + &loads[0].product.added_volume(), gallons("12"));
}

#[test]
fn equal_loads() {
    let ratio = ounces_per_gallon("2", Basis::AddedTo);
    let graduations = us_graduations();
    let loads = loads(&need(gallons("30"), gallons("12"), &ratio, &graduations), Sharing::EqualLoads).unwrap();
    let water: Vec<String> = loads.iter().map(|l| l.water.over(&gallons("1")).decimal(2)).collect();
    assert_eq!(water, ["10", "10", "9.75"]);
}

#[test]
fn what_the_hose_keeps_is_mixed_once() {
    let ratio = ounces_per_gallon("2", Basis::MadeUpTo);
    let graduations = us_graduations();
    let mut need = need(gallons("12"), gallons("12"), &ratio, &graduations);
    need.kept_in_hose = gallons("0.25");
    let loads = loads(&need, Sharing::default()).unwrap();
    assert_eq!(loads.len(), 2);
    assert_eq!(loads[1].solution, gallons("0.25"));
}

#[test]
fn tablets_are_whole() {
    let ratio = ratio(&Dilution::Tablets { count: n("2"), per: litres("10"), basis: Basis::AddedTo }, Form::Tablet);
    let graduations = Graduations { water: litres("1"), liquid: None, powder: None };
    let loads = loads(&need(litres("13"), litres("10"), &ratio, &graduations), Sharing::default()).unwrap();
    assert_eq!(loads[0].product, Amount::Tablets(n("2")));
    assert_eq!(loads[1].product, Amount::Tablets(n("1")));
    // 3 L are wanting; one tablet is for 5 L, and in 3 L it would be two thirds too strong.
    assert_eq!(loads[1].water, litres("5"));
    assert_eq!(loads[1].strength_factor, n("1"));
}

#[test]
fn ready_to_use_is_poured_as_it_is() {
    let ratio = ratio(&Dilution::ReadyToUse, Form::ReadyToUse);
    let graduations = Graduations { water: litres("0.1"), liquid: Some(litres("1")), powder: None };
    let loads = loads(&need(litres("1.25"), litres("0.75"), &ratio, &graduations), Sharing::default()).unwrap();
    let poured: Vec<Amount> = loads.iter().map(|load| load.product.clone()).collect();
    assert_eq!(poured, [Amount::Liquid(litres("0.7")), Amount::Liquid(litres("0.6"))]);
    assert!(loads.iter().all(|load| load.water.is_zero() && load.strength_factor == 1));
}

#[test]
fn what_cannot_be_mixed_is_refused() {
    let ratio = ounces_per_gallon("2", Basis::AddedTo);
    let graduations = us_graduations();
    let of = |solution: &str, tank: &str| {
        loads(&need(gallons(solution), gallons(tank), &ratio, &graduations), Sharing::default())
    };
    assert_eq!(of("1", "0.25"), Err(CalcError::TankTooSmall));
    assert_eq!(of("1", "0.1"), Err(CalcError::TankTooSmall));
    assert!(matches!(of("0", "1"), Err(CalcError::NotPositive { .. })));
    assert!(matches!(of("1", "0"), Err(CalcError::NotPositive { .. })));
    assert_eq!(of("1000", "1"), Err(CalcError::TooManyLoads { most: MOST_LOADS }));
    assert_eq!(of("1e30", "1"), Err(CalcError::TooManyLoads { most: MOST_LOADS }));
    let none = Graduations { water: Volume::zero(), ..us_graduations() };
    assert!(matches!(
        loads(&need(gallons("1"), gallons("1"), &ratio, &none), Sharing::default()),
        Err(CalcError::NotPositive { .. })
    ));
    assert!(matches!(of("1", "1e30"), Err(CalcError::OutOfRange { .. })));
    let half = ounces_per_gallon("64", Basis::MadeUpTo);
    let coarse = Graduations { water: litres("0.1"), liquid: Some(litres("1")), powder: None };
    assert_eq!(
        loads(&need(litres("0.1"), litres("1"), &half, &coarse), Sharing::default()),
        Err(CalcError::DoseOffMarks)
    );
}

/// Any dilution that a label could state.
fn any_ratio() -> impl Strategy<Value = Ratio> {
    let basis = prop_oneof![Just(Basis::AddedTo), Just(Basis::MadeUpTo)];
    (0..3, 1i64..2000, 4i64..600, basis).prop_map(|(kind, dose, per, basis)| {
        let per = Volume::millilitres(Number::ratio(per * 1000, 7));
        match kind {
            0 => {
                let product = Volume::millilitres(Number::ratio(dose, 4));
                ratio(&Dilution::Liquid { product, per, basis }, Form::Liquid)
            }
            1 => ratio(&Dilution::Powder { product: Mass::grams(Number::ratio(dose, 3)), per, basis }, Form::Powder),
            _ => ratio(&Dilution::Tablets { count: Number::ratio(dose, 100), per, basis }, Form::Tablet),
        }
    })
}

proptest! {
    #[test]
    fn any_need_is_met_and_every_load_is_within_the_label(
        ratio in any_ratio(),
        solution in 1i64..900_000,
        tank in 1000i64..80_000,
        kept in 0i64..900,
        water_step in 1i64..1500,
        product_step in 0i64..60,
        equal in any::<bool>(),
        error in 0i64..=10,
    ) {
        let graduations = Graduations {
            water: Volume::millilitres(Number::ratio(water_step, 3)),
            liquid: (product_step > 0).then(|| Volume::millilitres(Number::ratio(product_step, 2))),
            powder: (product_step > 0).then(|| Mass::grams(Number::ratio(product_step, 2))),
        };
        let bounds = up_to(&Number::ratio(error, 100));
        let need = Need {
            solution: Volume::millilitres(Number::int(solution)),
            kept_in_hose: Volume::millilitres(Number::int(kept)),
            tank: Volume::millilitres(Number::int(tank)),
            ratio: &ratio,
            graduations: &graduations,
            bounds: &bounds,
        };
        let sharing = if equal { Sharing::EqualLoads } else { Sharing::FullTanksThenRest };
        let loads = match loads(&need, sharing) {
            Ok(loads) => loads,
            Err(CalcError::TooManyLoads { .. }) => {
                // Only when 500 of the largest loads that may be mixed truly would not do.
                let largest = fills(&need).unwrap().largest().unwrap().solution;
                let most = largest.as_millilitres() * &Number::int(500);
                prop_assert!(Number::int(solution + kept) > most * Number::ratio(3, 4));
                return Ok(());
            }
            Err(CalcError::TankTooSmall) => return Ok(()),
            Err(CalcError::DoseOffMarks) => {
                // None of the fills looked at is within the bounds, and the nearest is told.
                let nearest = advice(&need).expect("a vessel with marks").nearest;
                prop_assert!(nearest.strength_factor > bounds.most || !nearest.water.as_millilitres().is_positive());
                return Ok(());
            }
            Err(other) => return Err(TestCaseError::fail(other.to_string())),
        };

        let total: Volume = loads.iter().map(|load| &load.solution).sum();
        prop_assert!(total >= &need.solution + &need.kept_in_hose, "they add up");
        for load in &loads {
            prop_assert!(load.solution <= need.tank, "none is over the tank");
            prop_assert_eq!(&(&load.water + &load.product.added_volume()), &load.solution);
            prop_assert!(load.strength_factor >= Number::one(), "none is under the label's dose");
            prop_assert!(load.strength_factor <= bounds.most, "none is over it by more than the error");
            let marked = match ratio.basis { Basis::AddedTo => &load.water, Basis::MadeUpTo => &load.solution };
            let marks = marked.over(&graduations.water);
            prop_assert!(marks.is_integer() && marks >= Number::one(), "each is a whole number of graduations");
            let step = match load.product {
                Amount::Tablets(_) => Number::one(),
                _ => Number::ratio(product_step, 2),
            };
            if !step.is_zero() {
                prop_assert!((load.product.value() / &step).is_integer(), "the product can be measured");
            }
        }
        if let (false, Some((last, full))) = (equal, loads.split_last()) {
            let rest: Volume = full.iter().map(|load| &load.solution).sum();
            prop_assert!(rest < &need.solution + &need.kept_in_hose, "no load is mixed in vain");
            if let Some(smaller) = fills(&need).unwrap().next_smaller(last) && !is_far(&smaller.strength_factor) {
                prop_assert!(
                    &rest + &smaller.solution < &need.solution + &need.kept_in_hose || loads.len() > 1,
                    "a smaller mix would have done"
                );
            }
        }
    }
}

/// The three examples that had no bound before: each is measured to the label now, or refused with what would do.
#[test]
fn a_dose_is_the_labels_dose() {
    let ratio = ratio(&Dilution::Parts { product: n("1"), per: n("128"), basis: Basis::AddedTo }, Form::Liquid);
    let usual = Graduations { water: gallons("0.25"), ..us_graduations() };
    // 1:128 in a 2 gal tank with quart marks and half ounces: 1.75 gal would take 1.75 fl oz, 2 fl oz is 14 % over.
    let made = loads(&need(gallons("5"), gallons("2"), &ratio, &usual), Sharing::default()).unwrap();
    assert_eq!(made[0].water, gallons("1.5"));
    assert!(made.iter().all(|load| load.strength_factor == 1));
    // A small last load: 0.1 gal is made up from what can be measured, a quart pair with half an ounce.
    let made = loads(&need(gallons("0.1"), gallons("2"), &ratio, &usual), Sharing::default()).unwrap();
    assert_eq!((made.len(), made[0].water.clone()), (1, gallons("0.5")));
    assert_eq!(made[0].strength_factor, n("1"));
    // A 32 fl oz bottle with a 1 fl oz cup cannot: a quarter ounce is wanted.
    let cup = Graduations { water: fluid_ounces("4"), liquid: Some(fluid_ounces("1")), powder: None };
    let need = need(fluid_ounces("100"), fluid_ounces("32"), &ratio, &cup);
    assert_eq!(loads(&need, Sharing::default()), Err(CalcError::DoseOffMarks));
    let advice = advice(&need).unwrap();
    assert_eq!(advice.nearest.strength_factor.decimal(2), "4.45");
    assert_eq!(advice.measure, Some(Amount::Liquid(fluid_ounces("0.125"))));
    assert_eq!(advice.vessel.unwrap(), &fluid_ounces("124") + &fluid_ounces("1"));
}

/// A last load that cannot be measured as small as it is wanted is shared with the one before, if less is then left over.
#[test]
fn a_small_last_load_is_shared_with_the_one_before() {
    // 1 fl oz/gal, half ounces and half gallons: every half gallon is exact. A cup of 4 fl oz makes 4 gal the smallest.
    let ratio = ounces_per_gallon("1", Basis::MadeUpTo);
    let cup = Graduations { water: gallons("1"), liquid: Some(fluid_ounces("4")), powder: None };
    let made = loads(&need(gallons("25"), gallons("12"), &ratio, &cup), Sharing::default()).unwrap();
    let each: Vec<String> = made.iter().map(|load| load.solution.over(&gallons("1")).decimal(0)).collect();
    assert_eq!(each, ["12", "12", "4"]);
    let cup = Graduations { water: gallons("1"), liquid: Some(fluid_ounces("8")), powder: None };
    let made = loads(&need(gallons("17"), gallons("16"), &ratio, &cup), Sharing::default()).unwrap();
    let each: Vec<String> = made.iter().map(|load| load.solution.over(&gallons("1")).decimal(0)).collect();
    assert_eq!(each, ["16", "8"]);
}

/// 200 ppm where a limit is 200 ppm: just under the label's dose, never above it.
#[test]
fn a_dose_at_a_limit_is_fitted_under_it() {
    let ratio = ratio(
        &Dilution::Liquid { product: Volume::millilitres(n("3.527")), per: litres("1"), basis: Basis::MadeUpTo },
        Form::Liquid,
    );
    let graduations = Graduations { water: litres("1"), liquid: Some(Volume::millilitres(n("1"))), powder: None };
    let bounds = Bounds { least: n("0.95"), most: n("1") };
    let need = Need { bounds: &bounds, ..need(litres("9"), litres("10"), &ratio, &graduations) };
    let made = loads(&need, Sharing::default()).unwrap();
    assert!(made.iter().all(|load| load.strength_factor <= n("1") && load.strength_factor >= n("0.98")), "{made:?}");
}
