use std::sync::LazyLock;

use proptest::prelude::*;

use super::*;
use crate::calc::amount::Form;
use crate::calc::built_in;
use crate::calc::dilution::resolve;
use crate::calc::strength::Concentrate;
use crate::calc::testing::{fluid_ounces, gallons, litres, n};
use crate::quantity::parse::volume;
use crate::quantity::{Basis, Dilution};

/// A dilution as a label writes it; where it does not say, added to the water.
fn ratio(form: Form, written: &str) -> Ratio {
    of(&Dilution::parse(written, form, Basis::AddedTo).unwrap(), form)
}

fn of(dilution: &Dilution, form: Form) -> Ratio {
    resolve(dilution, &Concentrate { form, density: None, content: None, active_density: None }).unwrap()
}

fn marks(water: &str, product: &str) -> Graduations {
    Graduations { water: volume(water).unwrap(), liquid: Some(volume(product).unwrap()), powder: None }
}

fn need<'a>(solution: &str, tank: &str, ratio: &'a Ratio, graduations: &'a Graduations) -> Need<'a> {
    let (solution, tank) = (volume(solution).unwrap(), volume(tank).unwrap());
    Need { solution, kept_in_hose: Volume::zero(), tank, ratio, graduations, bounds: &FIVE_PER_CENT }
}

/// From the label's dose to so much above it.
fn up_to(error: &Number) -> Bounds {
    Bounds { least: Number::one(), most: Number::one() + error }
}

/// A household measure's own error; see [`Bounds`].
static FIVE_PER_CENT: LazyLock<Bounds> = LazyLock::new(|| up_to(&Number::ratio(1, 20)));

#[test]
fn loads_of_gallons_and_fluid_ounces() {
    type Row = (String, String, String, String, String, bool, String, String);
    let rows = built_in::<Row>(include_str!("../../../tests/reference/loads.csv"));
    assert_eq!(rows.len(), 8);
    for (recipe, mark, cup, tank, solution, equal, expected, note) in rows {
        let sharing = if equal { Sharing::EqualLoads } else { Sharing::FullTanksThenRest };
        let (ratio, graduations) = (ratio(Form::Liquid, &recipe), marks(&mark, &cup));
        let loads = loads(&need(&solution, &tank, &ratio, &graduations), sharing).unwrap();
        let shown = |load: &Load| {
            let marked = if ratio.basis == Basis::AddedTo { &load.water } else { &load.solution };
            let product = load.product.value() / fluid_ounces("1").as_millilitres();
            format!("{}+{}", marked.over(&gallons("1")).decimal(4), product.decimal(4))
        };
        assert_eq!(loads.iter().map(shown).collect::<Vec<_>>().join(" "), expected, "{recipe}: {note}");
        assert!(loads.iter().all(|load| load.strength_factor == 1), "{recipe}");
    }
}

#[test]
fn what_the_hose_keeps_is_mixed_once() {
    let (ratio, graduations) = (ratio(Form::Liquid, "2 fl oz to make 1 gal"), marks("1 qt", "0.5 fl oz"));
    let need = Need { kept_in_hose: gallons("0.25"), ..need("12 gal", "12 gal", &ratio, &graduations) };
    let loads = loads(&need, Sharing::default()).unwrap();
    assert_eq!((loads.len(), &loads[1].solution), (2, &gallons("0.25")));
}

#[test]
fn tablets_are_whole() {
    let ratio = ratio(Form::Tablet, "2 tablets/10 L");
    let graduations = Graduations { water: litres("1"), liquid: None, powder: None };
    let loads = loads(&need("13 L", "10 L", &ratio, &graduations), Sharing::default()).unwrap();
    let products: Vec<Amount> = loads.iter().map(|load| load.product.clone()).collect();
    assert_eq!(products, [Amount::Tablets(n("2")), Amount::Tablets(n("1"))]);
    // 3 L are wanting; one tablet is for 5 L, and in 3 L it would be two thirds too strong.
    assert_eq!((&loads[1].water, &loads[1].strength_factor), (&litres("5"), &n("1")));
}

#[test]
fn ready_to_use_is_poured_as_it_is() {
    let (ratio, graduations) = (ratio(Form::ReadyToUse, "ready to use"), marks("0.1 L", "1 L"));
    let loads = loads(&need("1.25 L", "0.75 L", &ratio, &graduations), Sharing::default()).unwrap();
    let poured: Vec<Amount> = loads.iter().map(|load| load.product.clone()).collect();
    assert_eq!(poured, [Amount::Liquid(litres("0.7")), Amount::Liquid(litres("0.6"))]);
    assert!(loads.iter().all(|load| load.water.is_zero() && load.strength_factor == 1));
}

#[test]
fn what_cannot_be_mixed_is_refused() {
    let ratio_of = |ounces: &str| ratio(Form::Liquid, &format!("{ounces} fl oz to make 1 gal"));
    let refusal = |ratio: &Ratio, graduations: &Graduations, solution: Volume, tank: Volume| {
        let need = Need { solution, tank, ..need("1 gal", "1 gal", ratio, graduations) };
        loads(&need, Sharing::default()).unwrap_err()
    };
    let (two, usual) = (ratio_of("2"), marks("1 qt", "0.5 fl oz"));
    let of = |solution: &str, tank: &str| refusal(&two, &usual, gallons(solution), gallons(tank));
    assert_eq!(of("1", "0.2"), CalcError::TankTooSmall);
    assert!(matches!(of("0", "1"), CalcError::NotPositive { .. }));
    assert!(matches!(of("1", "0"), CalcError::NotPositive { .. }));
    for needed in ["1000", "1e30"] {
        assert_eq!(of(needed, "1"), CalcError::TooManyLoads { most: MOST_LOADS });
    }
    assert!(matches!(of("1", "1e30"), CalcError::OutOfRange { .. }));
    let unmarked = Graduations { water: Volume::zero(), ..usual.clone() };
    assert!(matches!(refusal(&two, &unmarked, gallons("1"), gallons("1")), CalcError::NotPositive { .. }));
    let coarse = refusal(&ratio_of("64"), &marks("0.1 L", "1 L"), litres("0.1"), litres("1"));
    assert_eq!(coarse, CalcError::DoseOffMarks);
    // With its product one graduation of water is more than the vessel.
    let added = ratio(Form::Liquid, "2 fl oz/gal");
    assert_eq!(refusal(&added, &usual, gallons("1"), gallons("0.25")), CalcError::TankTooSmall);
}

#[test]
fn where_no_fill_holds_the_dose_something_finer_is_advised() {
    // A 32 fl oz bottle with a 1 fl oz cup cannot hold 1:128: a quarter ounce is wanted.
    let (ratio, cup) = (ratio(Form::Liquid, "1:128"), marks("4 fl oz", "1 fl oz"));
    let need = need("100 fl oz", "32 fl oz", &ratio, &cup);
    assert_eq!(loads(&need, Sharing::default()), Err(CalcError::DoseOffMarks));
    let advice = advice(&need).unwrap();
    assert_eq!(advice.nearest.strength_factor.decimal(2), "4.45");
    assert_eq!(advice.measure.map(|(measure, _)| measure), Some(Amount::Liquid(fluid_ounces("0.125"))));
    assert_eq!(advice.brimming, None);
    assert_eq!(advice.vessel.unwrap(), &fluid_ounces("124") + &fluid_ounces("1"));
}

/// A cup of eighths gives the dose of 1:128 in a quart only with 16 fl oz of water.
#[test]
fn marks_that_leave_a_vessel_half_full_are_noticed() {
    let ratio = ratio(Form::Liquid, "1:128");
    let finer = |solution: &str, tank: &str, water: &str, cup: &str| {
        let graduations = marks(water, cup);
        let need = need(solution, tank, &ratio, &graduations);
        let present = loads(&need, Sharing::FullTanksThenRest).unwrap();
        let found = finer_marks(&need, Sharing::FullTanksThenRest, &present);
        (present.len(), found.map(|found| (found.marks, found.measures.word(), found.loads)))
    };
    let of = |marks: &str, word: &'static str, loads| Some((Amount::Liquid(volume(marks).unwrap()), word, loads));
    assert_eq!(finer("5 gal", "32 fl oz", "4 fl oz", "0.125 fl oz"), (40, of("0.5 mL", "product", 23)));
    // a gallon of water at a time into a tank that lacks a little of two
    assert_eq!(finer("9 gal", "1.9 gal", "1 gal", "0.1 mL"), (9, of("0.5 gal", "water", 6)));
    // full enough, one load, or a vessel that is no larger
    assert_eq!(finer("5 gal", "32 fl oz", "4 fl oz", "0.5 mL").1, None);
    assert_eq!(finer("10 fl oz", "32 fl oz", "4 fl oz", "0.125 fl oz"), (1, None));
    assert_eq!(finer("5 gal", "17 fl oz", "4 fl oz", "0.125 fl oz").1, None);
}

#[test]
fn a_gallon_with_its_product_is_more_than_a_gallon() {
    let (ratio, cup) = (ratio(Form::Liquid, "0.5 fl oz/gal"), marks("1 qt", "0.5 fl oz"));
    let need = need("3 gal", "1 gal", &ratio, &cup);
    let brimming = advice(&need).unwrap().brimming.unwrap();
    assert_eq!((brimming.water, brimming.product), (gallons("1"), Amount::Liquid(fluid_ounces("0.5"))));
    // made up to the gallon it fits
    let (ratio, cup) = (self::ratio(Form::Liquid, "0.5 fl oz to make 1 gal"), cup.clone());
    assert!(loads(&Need { ratio: &ratio, graduations: &cup, ..need }, Sharing::default()).is_ok());
}

/// 200 ppm where a limit is 200 ppm: just under the label's dose, never above it.
#[test]
fn a_dose_at_a_limit_is_fitted_under_it() {
    let (ratio, graduations) = (ratio(Form::Liquid, "3.527 mL to make 1 L"), marks("1 L", "1 mL"));
    let bounds = Bounds { least: n("0.95"), most: n("1") };
    let need = Need { bounds: &bounds, ..need("9 L", "10 L", &ratio, &graduations) };
    let made = loads(&need, Sharing::default()).unwrap();
    assert!(made.iter().all(|load| load.strength_factor <= n("1") && load.strength_factor >= n("0.98")), "{made:?}");
}

/// Any dilution that a label could state.
fn any_ratio() -> impl Strategy<Value = Ratio> {
    let basis = prop_oneof![Just(Basis::AddedTo), Just(Basis::MadeUpTo)];
    (0..3, 1i64..2000, 4i64..600, basis).prop_map(|(kind, dose, per, basis)| {
        let per = Volume::millilitres(Number::ratio(per * 1000, 7));
        match kind {
            0 => {
                let product = Volume::millilitres(Number::ratio(dose, 4));
                of(&Dilution::Liquid { product, per, basis }, Form::Liquid)
            }
            1 => of(&Dilution::Powder { product: Mass::grams(Number::ratio(dose, 3)), per, basis }, Form::Powder),
            _ => of(&Dilution::Tablets { count: Number::ratio(dose, 100), per, basis }, Form::Tablet),
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
                // None of the fills looked at is within the bounds, and the nearest is reported.
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
