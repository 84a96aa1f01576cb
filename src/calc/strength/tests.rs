use super::*;
use crate::calc::built_in;
use crate::calc::chlorine::available_chlorine_factor;
use crate::calc::dilution::resolve;
use crate::calc::testing::{kg_per_l, n, near};
use crate::quantity::{Basis, Dilution};

const LIQUID: Concentrate = plain(Form::Liquid);

const fn plain(form: Form) -> Concentrate<'static> {
    Concentrate { form, density: None, content: None, active_density: None }
}

/// A dilution as a label writes it; where it does not say, made up to the volume.
fn ratio(form: Form, written: &str) -> Ratio {
    resolve(&Dilution::parse(written, form, Basis::MadeUpTo).unwrap(), &plain(form)).unwrap()
}

fn of(concentrate: &Concentrate, content: &str, written: &str) -> Result<Strength, CalcError> {
    strength(&Content::parse(content).unwrap(), concentrate, &ratio(concentrate.form, written))
}

fn ppm(concentrate: &Concentrate, content: &str, written: &str) -> f64 {
    of(concentrate, content, written).unwrap().as_milligrams_per_litre().to_f64()
}

#[test]
fn density_counts_in_a_content_by_weight() {
    // mg/L = % w/w ÷ 100 × density × dose (mL/L) × 1000: 10 % quat, 0.99 kg/L, 1 fl oz/gal made up, is 773.4; 781.25 at
    // density 1.
    let (density, none) = (kg_per_l("0.99"), Density::zero());
    let quat = Concentrate { density: Some(&density), ..LIQUID };
    assert_eq!(ppm(&quat, "10 %", "1 fl oz/gal"), 773.4375);
    assert_eq!(ppm(&quat, "10 % w/v", "1 fl oz/gal"), 781.25);
    assert_eq!(of(&LIQUID, "10 %", "1 fl oz/gal"), Err(CalcError::MissingDensity));
    let weightless = Concentrate { density: Some(&none), ..quat };
    assert!(matches!(of(&weightless, "10 %", "1 fl oz/gal"), Err(CalcError::NotPositive { .. })));
}

#[test]
fn published_recipes() {
    type Row = (String, String, f64, f64, String);
    let rows = built_in::<Row>(include_str!("../../../tests/reference/published-strengths.csv"));
    assert_eq!(rows.len(), 13);
    for (content, recipe, published, tolerance, _) in rows {
        near(ppm(&LIQUID, &content, &recipe), published, tolerance);
    }
    // USDA, foot-and-mouth disease: 3 gal of 5.25 % with 2 gal of water is 3 %.
    let three_and_two = Dilution::Parts { product: n("3"), per: n("2"), basis: Basis::AddedTo };
    let mixed = resolve(&three_and_two, &LIQUID).unwrap();
    let strong = strength(&Content::parse("5.25 % w/v").unwrap(), &LIQUID, &mixed).unwrap();
    near(strong.as_milligrams_per_litre().to_f64(), 30_000.0, 6e-2);
    // North Carolina State University, 2004: 1 tbsp in a gallon is 200 ppm available chlorine; 5.25 % by weight holds 5.0 %.
    let factor = available_chlorine_factor("7681-52-9").unwrap().to_f64();
    near(factor * ppm(&LIQUID, "5.25 % w/v", "1 tbsp per gal of water"), 200.0, 3e-2);
}

#[test]
fn dichloroisocyanurate_tablets() {
    // MSF and Red Cross catalogs: milligrams of available chlorine in the tablet, litres it is for, ppm.
    for (milligrams, litres, published) in [(5, 1, 5.0), (10, 1, 10.0), (20, 5, 4.0), (40, 10, 4.0), (100, 20, 5.0)] {
        let (content, dose) = (format!("{milligrams} mg/tablet"), format!("1 tablet/{litres} L"));
        assert_eq!(ppm(&plain(Form::Tablet), &content, &dose), published);
    }
    // 1.67 g of NaDCC are called 1 g of active chlorine in the trade (not verified), 59.9 %: less than the pure salt holds.
    let pure = available_chlorine_factor("2893-78-9").unwrap().to_f64();
    assert!(pure * 1.67 > 1.0 && pure * 1.67 < 1.08);
    // The same catalogs: mg NaDCC and of chlorine, 57 to 61 %, below the pure substance's share.
    for (substance, chlorine) in [(3.5, 2.0), (8.5, 5.0), (17.0, 10.0), (33.0, 20.0), (67.0, 40.0), (167.0, 100.0)] {
        assert!(chlorine / substance < pure && chlorine / substance > 0.57);
    }
}

#[test]
fn alcohol_by_volume_needs_the_alcohols_density() {
    // 70 % v/v of ethanol at 0.789 kg/L: 552.3 g/L.
    let ethanol = kg_per_l("0.789");
    let ready = Concentrate { active_density: Some(&ethanol), ..plain(Form::ReadyToUse) };
    assert_eq!(ppm(&ready, "70 % v/v", "ready to use"), 552_300.0);
    let unknown = of(&plain(Form::ReadyToUse), "70 % v/v", "ready to use");
    assert_eq!(unknown, Err(CalcError::MissingActiveDensity));
}

#[test]
fn milligrams_in_a_kilogram_by_mass_balance() {
    // 10 mL of 1.2 kg/L in 990 mL of water: 12 g + 988.02 g = 1.00002 kg a litre.
    let density = kg_per_l("1.2");
    let acid = Concentrate { density: Some(&density), ..LIQUID };
    let ratio = ratio(Form::Liquid, "1 + 99");
    let solution = solution_density(&acid, &ratio).unwrap();
    assert_eq!(solution.as_kilograms_per_litre(), &n("1.00002"));
    let share = share_by_weight(&Content::parse("50 %").unwrap(), &acid, &ratio).unwrap();
    assert_eq!(share.as_of_one(), &(n("6") / n("1000.02")));
    assert_eq!(solution_density(&LIQUID, &ratio), Err(CalcError::MissingDensity));
    // Water alone: 20 °C 0.998207, 25 °C 0.997048 kg/L (CoolProp, IAPWS-95).
    near(water_density().as_kilograms_per_litre().to_f64(), 0.998207, 3e-4);
}

#[test]
fn adding_water_never_makes_it_stronger() {
    let density = kg_per_l("1.05");
    let quat = Concentrate { density: Some(&density), ..LIQUID };
    let strengths: Vec<f64> = (1..300).map(|water| ppm(&quat, "10 %", &format!("1:{water}"))).collect();
    assert!(strengths.windows(2).all(|two| two[1] < two[0]));
}

#[test]
fn a_content_that_does_not_fit_the_form_is_refused() {
    assert!(matches!(of(&LIQUID, "1 g/tablet", "1:99"), Err(CalcError::WrongForm { .. })));
}
