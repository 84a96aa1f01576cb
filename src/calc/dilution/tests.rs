use super::*;
use crate::calc::built_in;
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
    type Row = (String, String, String, String, String, String, String);
    let rows = built_in::<Row>(include_str!("../../../tests/reference/published-doses.csv"));
    assert_eq!(rows.len(), 84);
    for (form, content, strength, volume, published, tolerance, source) in rows {
        let (form, published) = match form.as_str() {
            "liquid" => (Form::Liquid, parse::volume(&published).unwrap().as_millilitres().to_f64()),
            _ => (Form::Powder, parse::mass(&published).unwrap().as_grams().to_f64()),
        };
        let volume = parse::volume(&volume).unwrap();
        let dose = target(form, &content, &strength).product_in_solution(&volume).value().to_f64();
        match tolerance.parse() {
            Ok(tolerance) => near(dose, published, tolerance),
            Err(_) => assert_eq!(dose.round(), published, "{source}: {volume:?}"),
        }
    }
}

#[test]
fn the_two_readings_of_one_to_n() {
    let product = |text: &str| written(Form::Liquid, text).product_per_litre_of_solution.value();
    let rows = built_in::<(String, String, String)>(include_str!("../../../tests/reference/published-dilutions.csv"));
    assert_eq!(rows.len(), 10);
    for (one, other, source) in rows {
        assert_eq!(product(&one), product(&other), "{one}: {source}");
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
