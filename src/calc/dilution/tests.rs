use super::*;
use crate::calc::testing::{kg_per_l, litres, n, near};
use crate::quantity::{Content, parse};

/// A dilution as a label writes it; where it does not say, added to the water.
fn written(form: Form, text: &str) -> Ratio {
    of(form, None, None, text).unwrap()
}

fn of(form: Form, density: Option<&str>, content: Option<&str>, text: &str) -> Result<Ratio, CalcError> {
    let (density, content) = (density.map(kg_per_l), content.map(|content| Content::parse(content).unwrap()));
    let concentrate = Concentrate { form, density: density.as_ref(), content: content.as_ref(), active_density: None };
    resolve(&Dilution::parse(text, form, Basis::AddedTo).unwrap(), &concentrate)
}

fn target(form: Form, content: &str, text: &str) -> Ratio {
    of(form, None, Some(content), text).unwrap()
}

/// Product in so much solution: mL of liquids, g of powders.
fn dose(form: Form, content: &str, strength: &str, volume: &str) -> f64 {
    let volume = parse::volume(volume).unwrap();
    target(form, content, strength).product_in_solution(&volume).value().to_f64()
}

#[test]
fn parts_of_water_after_the_published_form() {
    // Parts of water = C_strong / C_target − 1; CDC chlorine guidance, Example 3: 5.0 % to 0.1 % is 49 parts.
    assert_eq!(target(Form::Liquid, "5 % w/v", "1000 ppm").parts_of_water(), Some(n("49")));
    // CDC, Best Practices for Environmental Cleaning in Global Healthcare Facilities, Appendix E, Example 1: 3.5 % to
    // 0.5 % is 6 parts of water.
    assert_eq!(target(Form::Liquid, "3.5 % w/v", "5000 ppm").parts_of_water(), Some(n("6")));
    // Cholera toolkit, Appendix 14: 5 % to a 1 % stock is 250 mL in 1 L of water; made up to 1 L it is 200 mL.
    let stock = target(Form::Liquid, "5 % w/v", "10000 ppm");
    assert_eq!(stock.product_per_litre_of_water(), Some(Amount::Liquid(litres("0.25"))));
    assert_eq!(stock.product_per_litre_of_solution, Amount::Liquid(litres("0.2")));
    // The same appendix: 70 mL of 15 % in 1 L of water, rounded from 1000/14.
    let dose = target(Form::Liquid, "15 % w/v", "10000 ppm").product_per_litre_of_water().unwrap().value();
    assert_eq!(dose, n("1000") / n("14"));
    near(dose.to_f64(), 70.0, 0.025);
}

#[test]
fn published_doses_of_liquids_and_powders() {
    const OUNCE: f64 = 29.5735295625;
    const GALLON: f64 = 128.0 * OUNCE;
    const POUND: f64 = 453.59237;
    for (content, strength, volume, published, tolerance) in [
        // CDC, "How to make 0.1 % chlorine solution", 9 Feb 2021: 400 mL of 5 % bleach, filled to 20 L.
        ("5 % w/v", "1000 ppm", "20 L", 400.0, 0.0),
        // IFRC epidemic toolkit, tool 39: 5 % to 2, 0.5, 0.2 and 0.05 %, to 1 L in all.
        ("5 % w/v", "20000 ppm", "1 L", 400.0, 0.0),
        ("5 % w/v", "5000 ppm", "1 L", 100.0, 0.0),
        ("5 % w/v", "2000 ppm", "1 L", 40.0, 0.0),
        ("5 % w/v", "500 ppm", "1 L", 10.0, 0.0),
        // Kansas Department of Health and Environment: 1 fl oz of 5.25 % in a gallon is 410 mg/L; so 10 000 fl oz (78
        // gal) for 10 000 gal, and 122 fl oz for 50 mg/L in 1000 gal.
        ("5.25 % w/v", "410 ppm", "10000 gal", 10_000.0 * OUNCE, 1e-3),
        ("5.25 % w/v", "50 ppm", "1000 gal", 122.0 * OUNCE, 1e-3),
        // A training handout for water operators: 550 gal of 200 mg/L take 0.88 gal of 12.5 %.
        ("12.5 % w/v", "200 ppm", "550 gal", 0.88 * GALLON, 1e-9),
        // A supplier's page after AWWA C651: 100 ppm in 5000 gal are 8.33 gal of 6 %, 4.17 gal of 12 %.
        ("6 % w/v", "100 ppm", "5000 gal", 8.33 * GALLON, 1e-3),
        ("12 % w/v", "100 ppm", "5000 gal", 4.17 * GALLON, 1e-3),
        // Alberta Agriculture, Agdex 716 A10, for 200 ppm: in each foot of a 4-inch casing 1.1 imperial gallons take
        // 0.019 L of 5.25 % or 0.008 L of 12 %; for 6 inches 2.4 gallons, 0.042 L and 0.018 L.
        ("5.25 % w/v", "200 ppm", "5.000699 L", 19.0, 1.5e-2),
        ("12 % w/v", "200 ppm", "5.000699 L", 8.0, 5e-2),
        ("5.25 % w/v", "200 ppm", "10.910616 L", 42.0, 1.5e-2),
        ("12 % w/v", "200 ppm", "10.910616 L", 18.0, 5e-2),
    ] {
        near(dose(Form::Liquid, content, strength, volume), published, tolerance);
    }
    for (content, strength, volume, published, tolerance) in [
        // CDC 2021, as above.
        ("70 %", "1000 ppm", "20 L", 30.0, 0.06),
        ("35 %", "1000 ppm", "20 L", 60.0, 0.06),
        // IFRC tool 39.
        ("70 %", "20000 ppm", "1 L", 30.0, 0.06),
        ("70 %", "5000 ppm", "1 L", 7.5, 0.06),
        ("70 %", "2000 ppm", "1 L", 3.0, 0.06),
        ("70 %", "500 ppm", "1 L", 0.7, 0.06),
        // Cholera toolkit, Appendix 14.
        ("70 %", "10000 ppm", "1 L", 15.0, 0.06),
        ("30 %", "10000 ppm", "1 L", 33.0, 0.06),
        // PMC4925840, Table 2: calcium hypochlorite, NaDCC, chloramine-T.
        ("70 %", "5000 ppm", "1 L", 7.0, 0.06),
        ("60 %", "5000 ppm", "1 L", 8.5, 0.06),
        ("25 %", "5000 ppm", "1 L", 20.0, 0.06),
        // CDC Best Practices, Appendix E, Example 2.
        ("35 %", "5000 ppm", "1 L", 14.3, 0.06),
        // After AWWA C651, as above: 6.4 lb of 65 % powder.
        ("65 %", "100 ppm", "5000 gal", 6.4 * POUND, 5e-3),
        // A handbook for wastewater operators, example 9.5: 8.5 mg/L in 3.25 million gallons take 329 lb of 70 %.
        ("70 %", "8.5 ppm", "3250 gal", 0.329 * POUND, 2e-3),
        // Alberta Agriculture, as above: 1.44 g and 3.12 g of 70 %.
        ("70 %", "200 ppm", "5.000699 L", 1.44, 1e-2),
        ("70 %", "200 ppm", "10.910616 L", 3.12, 1e-2),
    ] {
        near(dose(Form::Powder, content, strength, volume), published, tolerance);
    }
    // NSW Health, Private Water Supply Guidelines, ready reckoner: (L, mL of 12.5 % hypochlorite and g of 65 % powder
    // for 1, 2 and 5 mg/L), to whole figures.
    for (litres, millilitres, grams) in [
        (1000, [8.0, 16.0, 40.0], [2.0, 3.0, 8.0]),
        (2000, [16.0, 32.0, 80.0], [3.0, 6.0, 15.0]),
        (5000, [40.0, 80.0, 200.0], [8.0, 15.0, 38.0]),
        (6000, [48.0, 96.0, 240.0], [9.0, 18.0, 46.0]),
        (7500, [60.0, 120.0, 300.0], [12.0, 23.0, 58.0]),
        (10000, [80.0, 160.0, 400.0], [15.0, 31.0, 77.0]),
        (16000, [128.0, 256.0, 640.0], [25.0, 49.0, 123.0]),
        (20000, [160.0, 320.0, 800.0], [31.0, 62.0, 154.0]),
        (30000, [240.0, 480.0, 1200.0], [46.0, 92.0, 231.0]),
    ] {
        let volume = format!("{litres} L");
        for (column, strength) in ["1 ppm", "2 ppm", "5 ppm"].into_iter().enumerate() {
            assert_eq!(dose(Form::Liquid, "12.5 % w/v", strength, &volume), millilitres[column]);
            assert_eq!(dose(Form::Powder, "65 %", strength, &volume).round(), grams[column]);
        }
    }
}

#[test]
fn the_two_readings_of_one_to_n() {
    let product = |text: &str| written(Form::Liquid, text).product_per_litre_of_solution.value();
    for (one, other) in [
        // WHO 2014, Infection prevention of acute respiratory infections, Annex G, Table G.1: 1 part + 99 parts of water.
        ("1 + 99", "1 in 100"),
        // Oregon writes 1:10 as "1 part to 10 parts water", which is 1 in 11.
        ("1:10", "1 in 11"),
        // Trade dilution charts: 1 oz/gal is 1:128, 2 oz 1:64, 0.5 oz 1:256, 4 oz 1:32, 0.25 oz 1:512; 10 oz in 5 gal.
        ("1 fl oz/gal", "1:128"),
        ("1 fl oz to make 1 gal", "1 in 128"),
        ("2 fl oz/gal", "1:64"),
        ("0.5 fl oz/gal", "1:256"),
        ("4 fl oz/gal", "1:32"),
        ("0.25 fl oz/gal", "1:512"),
        ("10 fl oz/5 gal", "1:64"),
        ("0.5 %", "1 in 200"),
    ] {
        assert_eq!(product(one), product(other), "{one}");
    }
    // The two readings differ by 1/(N+1): 9.1 % at 1:10, 1.54 % at 1:64, 0.39 % at 1:256.
    for (parts, apart) in [(10, 0.0909), (64, 0.01538), (256, 0.00389)] {
        let ratio = product(&format!("1:{parts}")) / product(&format!("1 in {parts}"));
        near(1.0 - ratio.to_f64(), apart, 1e-2);
    }
    // A trade chart's column of per cent changes from one reading to the other: 1:4 is 20 %, 1:10 is 9.1 %, then 1:64
    // is 1.5 %, 1:128 is 0.78 %, 1:256 is 0.39 %.
    for (text, per_cent, tolerance) in [
        ("1:4", 20.0, 1e-9),
        ("1:10", 9.1, 2e-3),
        ("1 in 64", 1.5, 5e-2),
        ("1 in 128", 0.78, 3e-3),
        ("1 in 256", 0.39, 3e-3),
    ] {
        near(product(text).to_f64() / 10.0, per_cent, tolerance);
    }
    // 1 fl oz/gal is 7.8125 mL/L exactly (1000/128; NIST Handbook 44). Common practice, no source: 15 gal of water need 15.
    let added = written(Form::Liquid, "1 fl oz/gal");
    assert_eq!(added.product_per_litre_of_water().map(|a| a.value()), Some(n("7.8125")));
    let (gallons, ounces) = (parse::volume("15 gal").unwrap(), parse::volume("15 fl oz").unwrap());
    assert_eq!(added.product_for_water(&gallons), Some(Amount::Liquid(ounces)));
}

#[test]
fn dry_products() {
    // Cholera toolkit, Appendix 14: tablets of 1 g active chlorine, 10 in 1 L make 1 %.
    let ratio = target(Form::Tablet, "1 g/tablet", "10000 ppm");
    assert_eq!(ratio.product_in_solution(&litres("1")), Amount::Tablets(n("10")));
    let ratio = written(Form::Tablet, "2 tablets/10 L");
    assert_eq!(ratio.product_for_water(&litres("15")), Some(Amount::Tablets(n("3"))));
    assert_eq!(ratio.parts_of_water(), None);
    let powder = written(Form::Powder, "0.5 %");
    assert_eq!(powder.product_per_litre_of_solution, Amount::Powder(Mass::grams(n("5"))));
}

#[test]
fn density_is_in_the_target() {
    // 10 % by weight at 0.99 kg/L holds 99 mg in a millilitre: 990 mg/L takes 10 mL in a litre.
    let quat = |density, content, strength| of(Form::Liquid, density, content, strength);
    let ratio = quat(Some("0.99"), Some("10 %"), "990 ppm").unwrap();
    assert_eq!(ratio.product_per_litre_of_solution, Amount::Liquid(litres("0.01")));
    assert_eq!(quat(None, Some("10 %"), "990 ppm"), Err(CalcError::MissingDensity));
    assert_eq!(quat(Some("0.99"), None, "990 ppm"), Err(CalcError::MissingContent));
    assert_eq!(quat(Some("0.99"), Some("10 %"), "99000 ppm"), Err(CalcError::TargetTooStrong));
}

#[test]
fn what_does_not_fit_is_refused() {
    let parts = |product: &str, per: &str, basis| Dilution::Parts { product: n(product), per: n(per), basis };
    let all_product = Dilution::Percent { share: crate::calc::testing::percent("100") };
    let refusal = |form, dilution: &Dilution| {
        resolve(dilution, &Concentrate { form, density: None, content: None, active_density: None }).unwrap_err()
    };
    for (form, dilution) in [
        (Form::Powder, parts("1", "64", Basis::AddedTo)),
        (Form::Liquid, Dilution::ReadyToUse),
        (Form::ReadyToUse, parts("1", "64", Basis::AddedTo)),
    ] {
        assert!(matches!(refusal(form, &dilution), CalcError::WrongForm { .. }), "{dilution:?}");
    }
    for (product, per) in [("0", "64"), ("1", "0"), ("-1", "9")] {
        let refusal = refusal(Form::Liquid, &parts(product, per, Basis::AddedTo));
        assert!(matches!(refusal, CalcError::NotPositive { .. }), "{product} {per}");
    }
    for dilution in [parts("1", "1", Basis::MadeUpTo), all_product] {
        assert_eq!(refusal(Form::Liquid, &dilution), CalcError::NoRoomForWater);
    }
}

#[test]
fn ready_to_use_is_all_product() {
    let ratio = written(Form::ReadyToUse, "ready to use");
    assert!(ratio.is_ready_to_use());
    assert_eq!(ratio.product_in_solution(&litres("3")), Amount::Liquid(litres("3")));
    assert_eq!(ratio.product_per_litre_of_water(), None);
}
