use super::*;
use crate::calc::dilution::resolve;
use crate::calc::testing::{fluid_ounces, gallons, kg_per_l, litres, n, near, percent, ppm};
use crate::quantity::{Basis, Dilution, Mass};

fn plain(form: Form) -> Concentrate<'static> {
    Concentrate { form, density: None, content: None, active_density: None }
}

fn ratio(dilution: &Dilution, form: Form) -> Ratio {
    resolve(dilution, &plain(form)).unwrap()
}

fn parts(product: &str, per: &str, basis: Basis) -> Ratio {
    ratio(&Dilution::Parts { product: n(product), per: n(per), basis }, Form::Liquid)
}

fn mg_per_l(content: &Content, concentrate: &Concentrate, ratio: &Ratio) -> Number {
    strength(content, concentrate, ratio).unwrap().as_milligrams_per_litre().clone()
}

#[test]
fn density_counts_in_a_content_by_weight() {
    // mg/L = % w/w ÷ 100 × density × dose (mL/L) × 1000: 10 % quat, 0.99 kg/L, 1 fl oz/gal made up, is 773.4; 781.25 at
    // density 1.
    let dose = Dilution::Liquid { product: fluid_ounces("1"), per: gallons("1"), basis: Basis::MadeUpTo };
    let dose = ratio(&dose, Form::Liquid);
    let content = Content::ByWeight(percent("10"));
    let density = kg_per_l("0.99");
    let quat = Concentrate { density: Some(&density), ..plain(Form::Liquid) };
    assert_eq!(mg_per_l(&content, &quat, &dose), n("773.4375"));
    assert_eq!(mg_per_l(&Content::ByVolume(ppm("100000")), &quat, &dose), n("781.25"));
    assert_eq!(strength(&content, &plain(Form::Liquid), &dose), Err(CalcError::MissingDensity));
    let none = Density::zero();
    let weightless = Concentrate { density: Some(&none), ..quat };
    assert!(matches!(strength(&content, &weightless, &dose), Err(CalcError::NotPositive { .. })));
}

#[test]
fn household_bleach() {
    let bleach = plain(Form::Liquid);
    let of = |per_cent: &str| Content::ByVolume(ppm(per_cent).times(&n("10000")));
    // WHO 2014, Annex G, Table G.1: 5 % is 50 000 ppm; 1 + 99 parts is 500 ppm, and so is 2 + 98 parts of 2.5 %.
    assert_eq!(mg_per_l(&of("5"), &bleach, &parts("1", "99", Basis::AddedTo)), n("500"));
    assert_eq!(mg_per_l(&of("2.5"), &bleach, &parts("2", "98", Basis::AddedTo)), n("500"));
    // CDC 2008 disinfection guideline: 1:100 of 5.25–6.15 % is 525–615 ppm; CDC 2003 adds 1:10, up to 6 150.
    for (per_cent, in_all, published) in
        [("5.25", "100", "525"), ("6.15", "100", "615"), ("6.15", "10", "6150"), ("5.25", "10", "5250")]
    {
        assert_eq!(mg_per_l(&of(per_cent), &bleach, &parts("1", in_all, Basis::MadeUpTo)), n(published));
    }
    // Washington WAC 296-823-14055: 10 mL in a quart, called 1:100, is 1 in 94.6: 555 ppm of 5.25 %; 79 + 15 mL: 5 217
    // ppm.
    for (millilitres, published) in [("10", 555.0), ("94", 5217.0)] {
        let recipe = Dilution::Liquid {
            product: litres(millilitres).times(&n("0.001")),
            per: gallons("0.25"),
            basis: Basis::MadeUpTo,
        };
        near(mg_per_l(&of("5.25"), &bleach, &ratio(&recipe, Form::Liquid)).to_f64(), published, 1e-3);
    }
    // 5 tbsp (2.5 fl oz) of 5.25 % added to 1 gal, published as "1000+ ppm": 1 005.7.
    let recipe = Dilution::Liquid { product: fluid_ounces("2.5"), per: gallons("1"), basis: Basis::AddedTo };
    near(mg_per_l(&of("5.25"), &bleach, &ratio(&recipe, Form::Liquid)).to_f64(), 1005.7, 1e-4);
}

#[test]
fn more_recipes_for_bleach() {
    let bleach = plain(Form::Liquid);
    let of = |per_cent: &str| Content::ByVolume(ppm(per_cent).times(&n("10000")));
    // Kansas Department of Health and Environment: 1 fl oz of 5.25 % with 1 gal of water is 410 mg/L.
    let ounce = |basis| Dilution::Liquid { product: fluid_ounces("1"), per: gallons("1"), basis };
    let strength = mg_per_l(&of("5.25"), &bleach, &ratio(&ounce(Basis::MadeUpTo), Form::Liquid));
    near(strength.to_f64(), 410.0, 1e-3);
    let strength = mg_per_l(&of("5.25"), &bleach, &ratio(&ounce(Basis::AddedTo), Form::Liquid));
    near(strength.to_f64(), 410.0, 8e-3);
    // North Carolina State University, 2004: 1 tbsp (half a fl oz) in a gallon is 200 ppm available chlorine; 5.25 % by
    // weight holds 5.0 %.
    let tablespoon = Dilution::Liquid { product: fluid_ounces("0.5"), per: gallons("1"), basis: Basis::AddedTo };
    let hypochlorite =
        Strength::milligrams_per_litre(mg_per_l(&of("5.25"), &bleach, &ratio(&tablespoon, Form::Liquid)));
    let available = crate::calc::chlorine::from_sodium_hypochlorite(&hypochlorite);
    near(available.as_milligrams_per_litre().to_f64(), 200.0, 3e-2);
    // USDA, foot-and-mouth disease: 3 gal of 5.25 % with 2 gal of water is 3 %.
    let strong = mg_per_l(&of("5.25"), &bleach, &parts("3", "2", Basis::AddedTo));
    assert_eq!(strong, n("31500"));
    near(strong.to_f64(), 30_000.0, 6e-2);
}

#[test]
fn dichloroisocyanurate_tablets() {
    // MSF and Red Cross catalogues: milligrams of available chlorine in the tablet, litres it is for, ppm.
    for (milligrams, volume, published) in
        [("5", "1", "5"), ("10", "1", "10"), ("20", "5", "4"), ("40", "10", "4"), ("100", "20", "5")]
    {
        let one = Dilution::Tablets { count: n("1"), per: litres(volume), basis: Basis::AddedTo };
        let content = Content::PerTablet(Mass::grams(n(milligrams) / n("1000")));
        let ratio = ratio(&one, Form::Tablet);
        assert_eq!(mg_per_l(&content, &plain(Form::Tablet), &ratio), n(published));
    }
    // 1.67 g of NaDCC are called 1 g of active chlorine in the trade (not verified), 59.9 %: less than the pure salt holds.
    let pure = crate::calc::chlorine::available_chlorine_factor("2893-78-9").unwrap();
    assert!(pure.to_f64() * 1.67 > 1.0 && pure.to_f64() * 1.67 < 1.08);
    // The same catalogues: 3.5 mg NaDCC → 2 mg, 8.5 → 5, 17 → 10, 33 → 20, 67 → 40, 167 → 100 mg of chlorine: 57 to 61
    // %, below the pure substance's share.
    let pure = pure.to_f64();
    for (substance, chlorine) in [(3.5, 2.0), (8.5, 5.0), (17.0, 10.0), (33.0, 20.0), (67.0, 40.0), (167.0, 100.0)] {
        assert!(chlorine / substance < pure && chlorine / substance > 0.57);
    }
}

#[test]
fn label_arithmetic() {
    // Trade chart: 4.5 % active at 1:128 and 1:256, read as 1 in N: 352 and 176.
    for (parts, published) in [("128", 352.0), ("256", 176.0)] {
        let ppm = label_ppm(&percent("4.5"), &n(parts)).unwrap();
        near(ppm.as_milligrams_per_litre().to_f64(), published, 2e-3);
    }
    assert!(label_ppm(&percent("4.5"), &Number::zero()).is_err());
    assert_eq!(apart(&ppm("660"), &ppm("600")).unwrap(), Share::of_one(n("0.1")));
    assert_eq!(apart(&ppm("540"), &ppm("600")).unwrap(), Share::of_one(n("0.1")));
}

#[test]
fn blends_add_up() {
    assert_eq!(blend([&ppm("240"), &ppm("160")]), ppm("400"));
    assert!(blend([]).is_zero());
}

#[test]
fn alcohol_by_volume_needs_the_alcohols_density() {
    // 70 % v/v of ethanol at 0.789 kg/L: 552.3 g/L.
    let ethanol = kg_per_l("0.789");
    let content = Content::VolumeShare(percent("70"));
    let ready = Concentrate { active_density: Some(&ethanol), ..plain(Form::ReadyToUse) };
    let as_it_is = ratio(&Dilution::ReadyToUse, Form::ReadyToUse);
    assert_eq!(mg_per_l(&content, &ready, &as_it_is), n("552300"));
    assert_eq!(strength(&content, &plain(Form::ReadyToUse), &as_it_is), Err(CalcError::MissingActiveDensity));
}

#[test]
fn milligrams_in_a_kilogram_by_mass_balance() {
    // 10 mL of 1.2 kg/L in 990 mL of water: 12 g + 988.02 g = 1.00002 kg a litre.
    let density = kg_per_l("1.2");
    let acid = Concentrate { density: Some(&density), ..plain(Form::Liquid) };
    let ratio = parts("1", "99", Basis::AddedTo);
    let solution = solution_density(&acid, &ratio).unwrap();
    assert_eq!(solution.as_kilograms_per_litre(), &n("1.00002"));
    let share = share_by_weight(&Content::ByWeight(percent("50")), &acid, &ratio).unwrap();
    assert_eq!(share.as_of_one(), &(n("6") / n("1000.02")));
    assert_eq!(solution_density(&plain(Form::Liquid), &ratio), Err(CalcError::MissingDensity));
    // Water alone: 20 °C 0.998207, 25 °C 0.997048 kg/L (CoolProp, IAPWS-95).
    near(water_density().as_kilograms_per_litre().to_f64(), 0.998207, 3e-4);
}

#[test]
fn adding_water_never_makes_it_stronger() {
    let density = kg_per_l("1.05");
    let content = Content::ByWeight(percent("10"));
    let quat = Concentrate { density: Some(&density), ..plain(Form::Liquid) };
    let mut before = ppm("1000000");
    for water in 1..300 {
        let ratio = parts("1", &water.to_string(), Basis::AddedTo);
        let now = strength(&content, &quat, &ratio).unwrap();
        assert!(now < before);
        before = now;
    }
}

#[test]
fn a_content_that_does_not_fit_the_form_is_refused() {
    let content = Content::PerTablet(Mass::grams(n("1")));
    let ratio = parts("1", "99", Basis::AddedTo);
    assert!(matches!(strength(&content, &plain(Form::Liquid), &ratio), Err(CalcError::WrongForm { .. })));
}
