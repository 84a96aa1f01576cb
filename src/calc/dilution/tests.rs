use super::*;
use crate::calc::testing::{fluid_ounces, gallons, kg_per_l, litres, n, near, percent, ppm};
use crate::quantity::Content;

fn concentrate(form: Form) -> Concentrate<'static> {
    Concentrate {
        form,
        density: None,
        content: None,
        active_density: None,
    }
}

fn of_liquid(dilution: &Dilution) -> Ratio {
    resolve(dilution, &concentrate(Form::Liquid)).unwrap()
}

fn parts(product: &str, per: &str, basis: Basis) -> Dilution {
    Dilution::Parts {
        product: n(product),
        per: n(per),
        basis,
    }
}

fn per_gallon(ounces: &str, basis: Basis) -> Dilution {
    Dilution::Liquid {
        product: fluid_ounces(ounces),
        per: gallons("1"),
        basis,
    }
}

#[test]
fn parts_of_water_after_the_published_form() {
    // Parts of water = C_strong / C_target − 1; CDC chlorine guidance, Example 3: 5.0 % to 0.1 % is 49 parts.
    let content = Content::ByVolume(ppm("50000"));
    let bleach = Concentrate {
        content: Some(&content),
        ..concentrate(Form::Liquid)
    };
    let ratio = resolve(&Dilution::Target { strength: ppm("1000") }, &bleach).unwrap();
    assert_eq!(ratio.parts_of_water(), Some(n("49")));
    // CDC, "How to make 0.1 % chlorine solution", 9 Feb 2021: 400 mL of 5 % bleach, filled to 20 L.
    assert_eq!(ratio.product_in_solution(&litres("20")), Amount::Liquid(litres("0.4")));
    // IFRC epidemic toolkit, tool 39: 5 % to 2, 0.5, 0.2 and 0.05 %, to 1 L in all.
    for (target, product) in [("20000", "0.4"), ("5000", "0.1"), ("2000", "0.04"), ("500", "0.01")] {
        let ratio = resolve(&Dilution::Target { strength: ppm(target) }, &bleach).unwrap();
        assert_eq!(ratio.product_in_solution(&litres("1")), Amount::Liquid(litres(product)));
    }
    // Cholera toolkit, Appendix 14: 5 % to a 1 % stock is 250 mL in 1 L of water; made up to 1 L it is 200 mL.
    let stock = resolve(&Dilution::Target { strength: ppm("10000") }, &bleach).unwrap();
    assert_eq!(stock.product_per_litre_of_water(), Some(Amount::Liquid(litres("0.25"))));
    assert_eq!(stock.product_per_litre_of_solution, Amount::Liquid(litres("0.2")));
}

#[test]
fn the_two_readings_of_one_to_n() {
    // WHO 2014, Infection prevention of acute respiratory infections, Annex G, Table G.1: 1 part + 99 parts of water,
    // "1:100".
    assert_eq!(
        of_liquid(&parts("1", "99", Basis::AddedTo)),
        Ratio {
            basis: Basis::AddedTo,
            ..of_liquid(&parts("1", "100", Basis::MadeUpTo))
        }
    );
    // The two readings differ by 1/(N+1): 9.1 % at 1:10, 1.54 % at 1:64, 0.39 % at 1:256.
    for (parts_written, apart) in [("10", 0.0909), ("64", 0.01538), ("256", 0.00389)] {
        let added = of_liquid(&parts("1", parts_written, Basis::AddedTo))
            .product_per_litre_of_solution
            .value();
        let in_all = of_liquid(&parts("1", parts_written, Basis::MadeUpTo))
            .product_per_litre_of_solution
            .value();
        near(1.0 - (added / in_all).to_f64(), apart, 1e-2);
    }
}

#[test]
fn ounces_per_gallon_are_128_over_n() {
    // Trade dilution charts: 1 oz/gal is 1:128, 2 oz 1:64, 0.5 oz 1:256, 4 oz 1:32, 0.25 oz 1:512; 10 oz in 5 gal is
    // 1:64.
    for (ounces, n) in [("1", "128"), ("2", "64"), ("0.5", "256"), ("4", "32"), ("0.25", "512")] {
        for basis in [Basis::AddedTo, Basis::MadeUpTo] {
            assert_eq!(
                of_liquid(&per_gallon(ounces, basis)),
                of_liquid(&parts("1", n, basis)),
                "{ounces}"
            );
        }
    }
    let ten_in_five = Dilution::Liquid {
        product: fluid_ounces("10"),
        per: gallons("5"),
        basis: Basis::AddedTo,
    };
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
    ];
    for (strong, target, volume, published, source) in rows {
        let content = Content::ByWeight(percent(strong));
        let powder = Concentrate {
            content: Some(&content),
            ..concentrate(Form::Powder)
        };
        let strength = ppm(target).times(&n("10000"));
        let dose = resolve(&Dilution::Target { strength }, &powder)
            .unwrap()
            .product_in_solution(&litres(volume));
        // The published rule: grams per litre = C_target / C_powder × 1000.
        assert_eq!(dose.value(), n(target) / n(strong) * n("1000") * n(volume), "{source}");
        near(dose.value().to_f64(), published, 0.06);
    }
}

#[test]
fn tablets() {
    // Cholera toolkit, Appendix 14: tablets of 1 g active chlorine, 10 in 1 L make 1 %.
    let content = Content::PerTablet(Mass::grams(n("1")));
    let tablet = Concentrate {
        content: Some(&content),
        ..concentrate(Form::Tablet)
    };
    let ratio = resolve(&Dilution::Target { strength: ppm("10000") }, &tablet).unwrap();
    assert_eq!(ratio.product_in_solution(&litres("1")), Amount::Tablets(n("10")));
    let written = Dilution::Tablets {
        count: n("2"),
        per: litres("10"),
        basis: Basis::AddedTo,
    };
    let ratio = resolve(&written, &tablet).unwrap();
    assert_eq!(ratio.product_for_water(&litres("15")), Some(Amount::Tablets(n("3"))));
    assert_eq!(ratio.parts_of_water(), None);
}

#[test]
fn percentages_are_of_the_solution() {
    let liquid = of_liquid(&Dilution::Percent { share: percent("0.5") });
    assert_eq!(liquid, of_liquid(&parts("1", "200", Basis::MadeUpTo)));
    let powder = resolve(&Dilution::Percent { share: percent("0.5") }, &concentrate(Form::Powder)).unwrap();
    assert_eq!(
        powder.product_per_litre_of_solution,
        Amount::Powder(Mass::grams(n("5")))
    );
}

#[test]
fn density_is_in_the_target() {
    // 10 % by weight at 0.99 kg/L holds 99 mg in a millilitre: 990 mg/L takes 10 mL in a litre.
    let content = Content::ByWeight(percent("10"));
    let density = kg_per_l("0.99");
    let quat = Concentrate {
        content: Some(&content),
        density: Some(&density),
        ..concentrate(Form::Liquid)
    };
    let target = Dilution::Target { strength: ppm("990") };
    let ratio = resolve(&target, &quat).unwrap();
    assert_eq!(ratio.product_per_litre_of_solution, Amount::Liquid(litres("0.01")));
    assert_eq!(
        resolve(&target, &Concentrate { density: None, ..quat }),
        Err(CalcError::MissingDensity)
    );
    assert_eq!(
        resolve(&target, &Concentrate { content: None, ..quat }),
        Err(CalcError::MissingContent)
    );
    let too_strong = Dilution::Target { strength: ppm("99000") };
    assert_eq!(resolve(&too_strong, &quat), Err(CalcError::TargetTooStrong));
}

#[test]
fn what_does_not_fit_is_refused() {
    let liquid = concentrate(Form::Liquid);
    let powder = concentrate(Form::Powder);
    assert!(matches!(
        resolve(&parts("1", "64", Basis::AddedTo), &powder),
        Err(CalcError::WrongForm { .. })
    ));
    assert!(matches!(
        resolve(&Dilution::ReadyToUse, &liquid),
        Err(CalcError::WrongForm { .. })
    ));
    assert!(matches!(
        resolve(&parts("1", "64", Basis::AddedTo), &concentrate(Form::ReadyToUse)),
        Err(CalcError::WrongForm { .. })
    ));
    assert!(matches!(
        resolve(&parts("0", "64", Basis::AddedTo), &liquid),
        Err(CalcError::NotPositive { .. })
    ));
    assert!(matches!(
        resolve(&parts("1", "0", Basis::AddedTo), &liquid),
        Err(CalcError::NotPositive { .. })
    ));
    assert!(matches!(
        resolve(&parts("-1", "9", Basis::AddedTo), &liquid),
        Err(CalcError::NotPositive { .. })
    ));
    assert_eq!(
        resolve(&parts("1", "1", Basis::MadeUpTo), &liquid),
        Err(CalcError::NoRoomForWater)
    );
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
