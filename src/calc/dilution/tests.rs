use super::*;
use crate::calc::testing::{fluid_ounces, gallons, kg_per_l, litres, n, near, percent, ppm};
use crate::quantity::Content;

fn concentrate(form: Form) -> Concentrate<'static> {
    Concentrate { form, density: None, content: None, active_density: None }
}

fn of_liquid(dilution: &Dilution) -> Ratio {
    resolve(dilution, &concentrate(Form::Liquid)).unwrap()
}

fn parts(product: &str, per: &str, basis: Basis) -> Dilution {
    Dilution::Parts { product: n(product), per: n(per), basis }
}

fn per_gallon(ounces: &str, basis: Basis) -> Dilution {
    Dilution::Liquid { product: fluid_ounces(ounces), per: gallons("1"), basis }
}

#[test]
fn parts_of_water_after_the_published_form() {
    // Parts of water = C_strong / C_target − 1; CDC chlorine guidance, Example 3: 5.0 % to 0.1 % is 49 parts.
    let content = Content::ByVolume(ppm("50000"));
    let bleach = Concentrate { content: Some(&content), ..concentrate(Form::Liquid) };
    let ratio = resolve(&Dilution::Target { strength: ppm("1000") }, &bleach).unwrap();
    assert_eq!(ratio.parts_of_water(), Some(n("49")));
    // CDC, "How to make 0.1 % chlorine solution", 9 Feb 2021: 400 mL of 5 % bleach, filled to 20 L.
    assert_eq!(ratio.product_in_solution(&litres("20")), Amount::Liquid(litres("0.4")));
    // IFRC epidemic toolkit, tool 39: 5 % to 2, 0.5, 0.2 and 0.05 %, to 1 L in all.
    for (target, product) in [("20000", "0.4"), ("5000", "0.1"), ("2000", "0.04"), ("500", "0.01")] {
        let ratio = resolve(&Dilution::Target { strength: ppm(target) }, &bleach).unwrap();
        assert_eq!(ratio.product_in_solution(&litres("1")), Amount::Liquid(litres(product)));
    }
    // CDC, Best Practices for Environmental Cleaning in Global Healthcare Facilities, Appendix E, Example 1: 3.5 % to
    // 0.5 % is 6 parts of water.
    let content = Content::ByVolume(ppm("35000"));
    let weaker = Concentrate { content: Some(&content), ..concentrate(Form::Liquid) };
    let ratio = resolve(&Dilution::Target { strength: ppm("5000") }, &weaker).unwrap();
    assert_eq!(ratio.parts_of_water(), Some(n("6")));
    // Cholera toolkit, Appendix 14: 5 % to a 1 % stock is 250 mL in 1 L of water; made up to 1 L it is 200 mL.
    let stock = resolve(&Dilution::Target { strength: ppm("10000") }, &bleach).unwrap();
    assert_eq!(stock.product_per_litre_of_water(), Some(Amount::Liquid(litres("0.25"))));
    assert_eq!(stock.product_per_litre_of_solution, Amount::Liquid(litres("0.2")));
    // The same appendix: 70 mL of 15 % in 1 L of water, rounded from 1000/14.
    let content = Content::ByVolume(ppm("150000"));
    let concentrated = Concentrate { content: Some(&content), ..concentrate(Form::Liquid) };
    let stock = resolve(&Dilution::Target { strength: ppm("10000") }, &concentrated).unwrap();
    let dose = stock.product_per_litre_of_water().unwrap().value();
    assert_eq!(dose, n("1000") / n("14"));
    near(dose.to_f64(), 70.0, 0.025);
}

#[test]
fn doses_for_tanks_and_wells() {
    // What so much of a product is for a target in so much solution: in mL of liquids, in g of powders.
    let dose = |form: Form, strong: Content, target: &str, volume: &Volume| {
        let concentrate = Concentrate { content: Some(&strong), ..concentrate(form) };
        let ratio = resolve(&Dilution::Target { strength: ppm(target) }, &concentrate).unwrap();
        ratio.product_in_solution(volume).value().to_f64()
    };
    let liquid = |per_cent: &str| Content::ByVolume(ppm(per_cent).times(&n("10000")));
    let powder = |per_cent: &str| Content::ByWeight(percent(per_cent));
    // NSW Health, Private Water Supply Guidelines, ready reckoner: (L, mL of 12.5 % hypochlorite and g of 65 % powder
    // for 1, 2 and 5 mg/L), to whole figures.
    for (volume, millilitres, grams) in [
        ("1000", [8.0, 16.0, 40.0], [2.0, 3.0, 8.0]),
        ("2000", [16.0, 32.0, 80.0], [3.0, 6.0, 15.0]),
        ("5000", [40.0, 80.0, 200.0], [8.0, 15.0, 38.0]),
        ("6000", [48.0, 96.0, 240.0], [9.0, 18.0, 46.0]),
        ("7500", [60.0, 120.0, 300.0], [12.0, 23.0, 58.0]),
        ("10000", [80.0, 160.0, 400.0], [15.0, 31.0, 77.0]),
        ("16000", [128.0, 256.0, 640.0], [25.0, 49.0, 123.0]),
        ("20000", [160.0, 320.0, 800.0], [31.0, 62.0, 154.0]),
        ("30000", [240.0, 480.0, 1200.0], [46.0, 92.0, 231.0]),
    ] {
        let volume = litres(volume);
        for (column, target) in ["1", "2", "5"].into_iter().enumerate() {
            let of_liquid = dose(Form::Liquid, liquid("12.5"), target, &volume);
            assert_eq!(of_liquid, millilitres[column]);
            let of_powder = dose(Form::Powder, powder("65"), target, &volume);
            assert_eq!(of_powder.round(), grams[column]);
        }
    }
    // Kansas Department of Health and Environment: 1 fl oz of 5.25 % in a gallon is 410 mg/L; so 10 000 fl oz (78 gal)
    // for 10 000 gal, and 122 fl oz for 50 mg/L in 1000 gal.
    let ounce = fluid_ounces("1").as_millilitres().to_f64();
    near(dose(Form::Liquid, liquid("5.25"), "410", &gallons("10000")) / ounce, 10_000.0, 1e-3);
    near(dose(Form::Liquid, liquid("5.25"), "50", &gallons("1000")) / ounce, 122.0, 1e-3);
    // A training handout for water operators: 550 gal of 200 mg/L take 0.88 gal of 12.5 %.
    let gallon = gallons("1").as_millilitres().to_f64();
    near(dose(Form::Liquid, liquid("12.5"), "200", &gallons("550")) / gallon, 0.88, 1e-9);
    // A supplier's page after AWWA C651: 100 ppm in 5000 gal are 8.33 gal of 6 %, 4.17 gal of 12 %, 6.4 lb of 65 %
    // powder.
    let tank = gallons("5000");
    near(dose(Form::Liquid, liquid("6"), "100", &tank) / gallon, 8.33, 1e-3);
    near(dose(Form::Liquid, liquid("12"), "100", &tank) / gallon, 4.17, 1e-3);
    near(dose(Form::Powder, powder("65"), "100", &tank) / 453.59237, 6.4, 5e-3);
    // A handbook for wastewater operators, example 9.5: 8.5 mg/L in 3.25 million gallons take 329 lb of 70 % powder.
    near(dose(Form::Powder, powder("70"), "8.5", &gallons("3250000")) / 453.59237, 329.0, 2e-3);
    // Alberta Agriculture, Agdex 716 A10, for 200 ppm: in each foot of a 4-inch casing 1.1 imperial gallons take 0.019
    // L of 5.25 %, 0.008 L of 12 % or 1.44 g of 70 %; for 6 inches 2.4 gallons, 0.042 L, 0.018 L and 3.12 g.
    for (imperial, domestic, industrial, high_test) in [("1.1", 19.0, 8.0, 1.44), ("2.4", 42.0, 18.0, 3.12)] {
        let foot = litres(imperial).times(&n("4.54609"));
        near(dose(Form::Liquid, liquid("5.25"), "200", &foot), domestic, 1.5e-2);
        near(dose(Form::Liquid, liquid("12"), "200", &foot), industrial, 5e-2);
        near(dose(Form::Powder, powder("70"), "200", &foot), high_test, 1e-2);
    }
}

#[test]
fn the_two_readings_of_one_to_n() {
    // WHO 2014, Infection prevention of acute respiratory infections, Annex G, Table G.1: 1 part + 99 parts of water,
    // "1:100".
    assert_eq!(
        of_liquid(&parts("1", "99", Basis::AddedTo)),
        Ratio { basis: Basis::AddedTo, ..of_liquid(&parts("1", "100", Basis::MadeUpTo)) }
    );
    // The two readings differ by 1/(N+1): 9.1 % at 1:10, 1.54 % at 1:64, 0.39 % at 1:256.
    for (parts_written, apart) in [("10", 0.0909), ("64", 0.01538), ("256", 0.00389)] {
        let added = of_liquid(&parts("1", parts_written, Basis::AddedTo)).product_per_litre_of_solution.value();
        let in_all = of_liquid(&parts("1", parts_written, Basis::MadeUpTo)).product_per_litre_of_solution.value();
        near(1.0 - (added / in_all).to_f64(), apart, 1e-2);
    }
    // A trade chart's column of per cent changes from one reading to the other: 1:4 is 20 %, 1:10 is 9.1 %, then 1:64
    // is 1.5 %, 1:128 is 0.78 %, 1:256 is 0.39 %.
    for (parts_written, basis, per_cent, tolerance) in [
        ("4", Basis::AddedTo, 20.0, 1e-9),
        ("10", Basis::AddedTo, 9.1, 2e-3),
        ("64", Basis::MadeUpTo, 1.5, 5e-2),
        ("128", Basis::MadeUpTo, 0.78, 3e-3),
        ("256", Basis::MadeUpTo, 0.39, 3e-3),
    ] {
        let product = of_liquid(&parts("1", parts_written, basis)).product_per_litre_of_solution;
        near(product.value().to_f64() / 10.0, per_cent, tolerance);
    }
    // Oregon writes 1:10 as "1 part to 10 parts water", which is 1 in 11.
    assert_eq!(
        of_liquid(&parts("1", "10", Basis::AddedTo)).product_per_litre_of_solution,
        of_liquid(&parts("1", "11", Basis::MadeUpTo)).product_per_litre_of_solution
    );
}

#[test]
fn ounces_per_gallon_are_128_over_n() {
    // Trade dilution charts: 1 oz/gal is 1:128, 2 oz 1:64, 0.5 oz 1:256, 4 oz 1:32, 0.25 oz 1:512; 10 oz in 5 gal is
    // 1:64.
    for (ounces, n) in [("1", "128"), ("2", "64"), ("0.5", "256"), ("4", "32"), ("0.25", "512")] {
        for basis in [Basis::AddedTo, Basis::MadeUpTo] {
            assert_eq!(of_liquid(&per_gallon(ounces, basis)), of_liquid(&parts("1", n, basis)), "{ounces}");
        }
    }
    let ten_in_five = Dilution::Liquid { product: fluid_ounces("10"), per: gallons("5"), basis: Basis::AddedTo };
    assert_eq!(of_liquid(&ten_in_five), of_liquid(&parts("1", "64", Basis::AddedTo)));
    // 1 fl oz/gal is 7.8125 mL/L exactly (1000/128; NIST Handbook 44).
    let added = of_liquid(&per_gallon("1", Basis::AddedTo)).product_per_litre_of_water();
    assert_eq!(added.map(|a| a.value()), Some(n("7.8125")));
    let in_all = of_liquid(&per_gallon("1", Basis::MadeUpTo)).product_per_litre_of_solution;
    assert_eq!(in_all.value(), n("7.8125"));
    // Common practice, no source: 1 fl oz/gal into 15 gal of water needs 15 fl oz.
    let dose = of_liquid(&per_gallon("1", Basis::AddedTo)).product_for_water(&gallons("15"));
    assert_eq!(dose, Some(Amount::Liquid(fluid_ounces("15"))));
}

#[test]
fn powders_after_the_published_tables() {
    // (powder %, target %, litres, grams published, source)
    let rows = [
        ("70", "0.1", "20", 30.0, "CDC 2021"),
        ("35", "0.1", "20", 60.0, "CDC 2021"),
        ("70", "2", "1", 30.0, "IFRC tool 39"),
        ("70", "0.5", "1", 7.5, "IFRC tool 39"),
        ("70", "0.2", "1", 3.0, "IFRC tool 39"),
        ("70", "0.05", "1", 0.7, "IFRC tool 39"),
        ("70", "1", "1", 15.0, "cholera toolkit, Appendix 14"),
        ("30", "1", "1", 33.0, "cholera toolkit, Appendix 14"),
        ("70", "0.5", "1", 7.0, "PMC4925840, Table 2"),
        ("60", "0.5", "1", 8.5, "PMC4925840, Table 2 (NaDCC)"),
        ("25", "0.5", "1", 20.0, "PMC4925840, Table 2 (chloramine-T)"),
        ("35", "0.5", "1", 14.3, "CDC Best Practices, Appendix E, Example 2"),
    ];
    for (strong, target, volume, published, source) in rows {
        let content = Content::ByWeight(percent(strong));
        let powder = Concentrate { content: Some(&content), ..concentrate(Form::Powder) };
        let strength = ppm(target).times(&n("10000"));
        let dose = resolve(&Dilution::Target { strength }, &powder).unwrap().product_in_solution(&litres(volume));
        // The published rule: grams per litre = C_target / C_powder × 1000.
        assert_eq!(dose.value(), n(target) / n(strong) * n("1000") * n(volume), "{source}");
        near(dose.value().to_f64(), published, 0.06);
    }
}

#[test]
fn tablets() {
    // Cholera toolkit, Appendix 14: tablets of 1 g active chlorine, 10 in 1 L make 1 %.
    let content = Content::PerTablet(Mass::grams(n("1")));
    let tablet = Concentrate { content: Some(&content), ..concentrate(Form::Tablet) };
    let ratio = resolve(&Dilution::Target { strength: ppm("10000") }, &tablet).unwrap();
    assert_eq!(ratio.product_in_solution(&litres("1")), Amount::Tablets(n("10")));
    let written = Dilution::Tablets { count: n("2"), per: litres("10"), basis: Basis::AddedTo };
    let ratio = resolve(&written, &tablet).unwrap();
    assert_eq!(ratio.product_for_water(&litres("15")), Some(Amount::Tablets(n("3"))));
    assert_eq!(ratio.parts_of_water(), None);
}

#[test]
fn percentages_are_of_the_solution() {
    let liquid = of_liquid(&Dilution::Percent { share: percent("0.5") });
    assert_eq!(liquid, of_liquid(&parts("1", "200", Basis::MadeUpTo)));
    let powder = resolve(&Dilution::Percent { share: percent("0.5") }, &concentrate(Form::Powder)).unwrap();
    assert_eq!(powder.product_per_litre_of_solution, Amount::Powder(Mass::grams(n("5"))));
}

#[test]
fn density_is_in_the_target() {
    // 10 % by weight at 0.99 kg/L holds 99 mg in a millilitre: 990 mg/L takes 10 mL in a litre.
    let content = Content::ByWeight(percent("10"));
    let density = kg_per_l("0.99");
    let quat = Concentrate { content: Some(&content), density: Some(&density), ..concentrate(Form::Liquid) };
    let target = Dilution::Target { strength: ppm("990") };
    let ratio = resolve(&target, &quat).unwrap();
    assert_eq!(ratio.product_per_litre_of_solution, Amount::Liquid(litres("0.01")));
    assert_eq!(resolve(&target, &Concentrate { density: None, ..quat }), Err(CalcError::MissingDensity));
    assert_eq!(resolve(&target, &Concentrate { content: None, ..quat }), Err(CalcError::MissingContent));
    let too_strong = Dilution::Target { strength: ppm("99000") };
    assert_eq!(resolve(&too_strong, &quat), Err(CalcError::TargetTooStrong));
}

#[test]
fn what_does_not_fit_is_refused() {
    let liquid = concentrate(Form::Liquid);
    let powder = concentrate(Form::Powder);
    assert!(matches!(resolve(&parts("1", "64", Basis::AddedTo), &powder), Err(CalcError::WrongForm { .. })));
    assert!(matches!(resolve(&Dilution::ReadyToUse, &liquid), Err(CalcError::WrongForm { .. })));
    assert!(matches!(
        resolve(&parts("1", "64", Basis::AddedTo), &concentrate(Form::ReadyToUse)),
        Err(CalcError::WrongForm { .. })
    ));
    assert!(matches!(resolve(&parts("0", "64", Basis::AddedTo), &liquid), Err(CalcError::NotPositive { .. })));
    assert!(matches!(resolve(&parts("1", "0", Basis::AddedTo), &liquid), Err(CalcError::NotPositive { .. })));
    assert!(matches!(resolve(&parts("-1", "9", Basis::AddedTo), &liquid), Err(CalcError::NotPositive { .. })));
    assert_eq!(resolve(&parts("1", "1", Basis::MadeUpTo), &liquid), Err(CalcError::NoRoomForWater));
    let whole = Dilution::Percent { share: percent("100") };
    assert_eq!(resolve(&whole, &liquid), Err(CalcError::NoRoomForWater));
}

#[test]
fn ready_to_use_is_all_product() {
    let ratio = resolve(&Dilution::ReadyToUse, &concentrate(Form::ReadyToUse)).unwrap();
    assert!(ratio.is_ready_to_use());
    assert_eq!(ratio.product_in_solution(&litres("3")), Amount::Liquid(litres("3")));
    assert_eq!(ratio.product_per_litre_of_water(), None);
}
