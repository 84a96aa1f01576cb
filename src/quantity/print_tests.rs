//! What is printed, by example; and that it reads back as what it was.

use proptest::prelude::*;

use super::dilution::{Basis, Dilution};
use super::dose::Form;
use super::extent::extent;
use super::kinds::{Area, Density, Film, Flow, Length, Mass, Pressure, Speed, Strength, Volume};
use super::number::Number;
use super::parse::*;
use super::print::{Printer, Shown};
use super::unit::System;

const US: Printer = Printer::new(System::Us);
const SI: Printer = Printer::new(System::Si);

#[test]
fn product_of_a_load_is_told_in_the_unit_of_its_measure() {
    let shown = |printer: Printer<'_>, text: &str| printer.measured_product(&volume(text).unwrap()).both();
    assert_eq!(shown(US, "12 mL"), "12 mL (0.406 fl oz)");
    assert_eq!(shown(US, "7.5 fl oz"), "7.5 fl oz (222 mL)");
    assert_eq!(shown(SI, "7.5 fl oz"), "7.5 fl oz (222 mL)");
    assert_eq!(shown(SI, "222.5 mL"), "222.5 mL (7.52 fl oz)");
    // without a graduation, as the reader is used to
    assert_eq!(shown(US, "12.3 mL"), US.product_volume(&volume("12.3 mL").unwrap()).both());
}

#[test]
fn product_on_the_scale_of_a_measuring_cup() {
    for (text, shown) in [
        ("7.5 fl oz", "7.5 fl oz (222 mL)"),
        ("0 mL", "0 fl oz (0 mL)"),
        ("140 fl oz", "1 gal 12 fl oz (4.14 L)"),
        ("127.5 fl oz", "127.5 fl oz (3.77 L)"),
        ("128 fl oz", "1 gal (3.79 L)"),
        ("127.9999 fl oz", "1 gal (3.79 L)"),
        ("300.5 fl oz", "2 gal 44.5 fl oz (8.9 L)"),
        ("12.125 fl oz", "12.125 fl oz (359 mL)"),
        ("100 mL", "3.38 fl oz (100 mL)"),
        ("0.05859 gal", "7.5 fl oz (222 mL)"),
        ("1 mL", "1 mL"),
        ("0.001 mL", "0.001 mL"),
    ] {
        assert_eq!(US.product_volume(&volume(text).unwrap()).both(), shown, "{text}");
    }
    assert_eq!(SI.product_volume(&volume("7.5 fl oz").unwrap()).both(), "222 mL (7.5 fl oz)");
}

#[test]
fn water_on_the_scale_of_a_tank() {
    for (text, shown) in [
        ("12 gal", "12 gal (45.4 L)"),
        ("5.5 gal", "5 gal 2 qt (20.8 L)"),
        ("2 gal 1 qt", "2 gal 1 qt (8.5 L)"),
        ("5.3 gal", "5.3 gal (20.1 L)"),
        ("5.125 gal", "5.125 gal (19.4 L)"),
        ("3 qt", "3 qt (2.84 L)"),
        ("20 fl oz", "20 fl oz (591 mL)"),
        ("0 gal", "0 fl oz (0 mL)"),
        ("20 L", "5.28 gal (20 L)"),
        ("1,500 gal", "1,500 gal (5,678 L)"),
    ] {
        assert_eq!(US.water(&volume(text).unwrap()).both(), shown, "{text}");
    }
    assert_eq!(SI.water(&volume("2 gal 1 qt").unwrap()).both(), "8.5 L (2 gal 1 qt)");
}

#[test]
fn other_kinds() {
    let shown = |text: &str, it: Shown| (text.to_string(), it.both());
    let table = [
        (shown("28.46 gal", US.solution(&volume("28.46 gal").unwrap())), "28.5 gal (108 L)"),
        (shown("0.5 gal", SI.solution(&volume("0.5 gal").unwrap())), "1.89 L (64 fl oz)"),
        (shown("10 g", US.mass(&mass("10 g").unwrap())), "0.353 oz wt (10 g)"),
        (shown("2 lb 3 oz", US.mass(&mass("2 lb 3 oz").unwrap())), "2 lb 3 oz (992 g)"),
        (shown("0.5 g", US.mass(&mass("0.5 g").unwrap())), "0.5 g"),
        (shown("0.05 g", US.mass(&mass("0.05 g").unwrap())), "50 mg"),
        (shown("2640 ft2", US.area(&area("2640 ft2").unwrap())), "2,640 ft² (245 m²)"),
        (shown("2640 ft2", SI.area(&area("2640 ft2").unwrap())), "245 m² (2,640 ft²)"),
        (shown("5 ft 6 in", US.length(&length("5 ft 6 in").unwrap())), "5 ft 6 in (1.68 m)"),
        (shown("11.9999 in", US.length(&length("11.9999 in").unwrap())), "1 ft (305 mm)"),
        (shown("4 in", US.length(&length("4 in").unwrap())), "4 in (101.6 mm)"),
        (shown("20 um", US.droplet(&length("20 um").unwrap())), "20 µm"),
        (shown("7.5 fl oz/min", US.flow(&flow("7.5 fl oz/min").unwrap())), "7.5 fl oz/min (222 mL/min)"),
        (shown("2.5 gpm", US.flow(&flow("2.5 gpm").unwrap())), "2.5 gal/min (9.46 L/min)"),
        (shown("1 mph", US.speed(&speed("1 mph").unwrap())), "88 ft/min (0.447 m/s)"),
        (shown("15 mph", US.speed(&speed("15 mph").unwrap())), "15 mph (6.71 m/s)"),
        (shown("40 psi", US.pressure(&pressure("40 psi").unwrap())), "40 psi (276 kPa)"),
        (shown("72 F", US.temperature(&temperature("72 F").unwrap())), "72 °F (22 °C)"),
        (shown("-5.5 C", SI.temperature(&temperature("-5.5 C").unwrap())), "−5.5 °C (22.1 °F)"),
        (shown("1050 ppm", US.strength(&strength("1050 ppm").unwrap())), "1,050 ppm"),
        (shown("1025 ppm", US.strength(&strength("1025 ppm").unwrap())), "1,025 ppm"),
        (shown("773.4375 ppm", US.strength(&strength("773.4375 ppm").unwrap())), "773 ppm"),
        (shown("0.5 %", US.percent(&share("0.5 %").unwrap())), "0.5 %"),
        (shown("0.99 kg/L", US.density(&density("0.99 kg/L").unwrap())), "8.26 lb/gal (0.99 kg/L)"),
        (shown("50 mL/m2", SI.film(&film("50 mL/m2").unwrap())), "50 mL/m² (15.7 fl oz/100 ft²)"),
        (shown("200 ft2/gal", US.coverage(&film("200 ft2/gal").unwrap())), "200 ft²/gal (4.91 m²/L)"),
        (shown("0 mL/m2", SI.coverage(&film("0 mL/m2").unwrap())), "0 mL/m² (0 fl oz/100 ft²)"),
        (shown("1250", US.count(&number("1250").unwrap())), "1,250"),
        (shown("2½", US.count(&number("2½").unwrap())), "2.5"),
        (shown("12 x 8 ft", US.extent(&extent("12 x 8 ft").unwrap())), "12 ft × 8 ft (3.66 m × 2.44 m)"),
        (shown("300 ft2", US.extent(&extent("300 ft2").unwrap())), "300 ft² (27.9 m²)"),
    ];
    for ((text, shown), expected) in table {
        assert_eq!(shown, expected, "{text}");
    }
}

#[test]
fn times() {
    for (text, shown) in [
        ("0 s", "0 s"),
        ("45 s", "45 s"),
        ("5.5 s", "5.5 s"),
        ("90 s", "1 min 30 s"),
        ("10 min", "10 min"),
        ("12 min 30 s", "12 min 30 s"),
        ("12.341 min", "12 min"),
        ("59.999 min", "1 h"),
        ("92.4 min", "1 h 32 min"),
        ("24 h", "24 h"),
        ("36.5 h", "36 h 30 min"),
        ("2 days 6 h", "2 days 6 h"),
        ("47.9999 h", "2 days"),
        ("1 week", "7 days"),
    ] {
        assert_eq!(US.time(&time(text).unwrap()).both(), shown, "{text}");
    }
}

#[test]
fn dilutions_as_the_label_states_them() {
    for (text, form, shown) in [
        ("2 oz / gallon", Form::Liquid, "2 fl oz/gal (15.6 mL/L)"),
        ("10 fl oz per 5 gal", Form::Liquid, "10 fl oz/5 gal (15.6 mL/L)"),
        ("1 fl oz/1.5 gal", Form::Liquid, "1 fl oz/1.5 gal (5.2 mL/L)"),
        ("1 fl oz per 32 fl oz", Form::Liquid, "1 fl oz/qt (31.25 mL/L)"),
        ("6 mL per 750 mL", Form::Liquid, "6 mL/750 mL (1.024 fl oz/gal)"),
        ("1 tsp/gal", Form::Liquid, "1 tsp/gal (1.3 mL/L)"),
        ("4 tbsp/qt", Form::Liquid, "2 fl oz/qt (62.5 mL/L)"),
        ("8 mL/L", Form::Liquid, "8 mL/L (1.024 fl oz/gal)"),
        ("400 mL/20 L", Form::Liquid, "400 mL/20 L (2.56 fl oz/gal)"),
        ("10 g/L", Form::Powder, "10 g/L (1.335 oz wt/gal)"),
        ("1 oz/gal", Form::Powder, "1 oz wt/gal (7.5 g/L)"),
        ("2 tablets per 10 litres", Form::Tablet, "2 tablets/10 L"),
        ("1 tablet per gal", Form::Tablet, "1 tablet/gal"),
        ("1 + 64", Form::Liquid, "1:64"),
        ("1 part in 64", Form::Liquid, "1 in 64"),
        (".5 per cent", Form::Liquid, "0.5 %"),
        ("0.4 g per L", Form::Powder, "0.4 g/L (0.0534 oz wt/gal)"),
        ("400 ppm", Form::Liquid, "400 ppm"),
        ("RTU", Form::ReadyToUse, "ready to use"),
    ] {
        let dilution = Dilution::parse(text, form, Basis::MadeUpTo).unwrap();
        assert_eq!(US.dilution(&dilution).both(), shown, "{text}");
        assert_eq!(SI.dilution(&dilution).both(), shown, "{text}");
        let back = US.dilution(&dilution).main;
        assert_eq!(Dilution::parse(&back, form, Basis::MadeUpTo).unwrap(), dilution, "{back}");
    }
}

/// Both texts, read back, are within 0.5 % of what was printed, and nothing above nought reads 0.
fn reads_back(value: &Number, shown: &Shown, read: impl Fn(&str) -> Number) -> Result<(), TestCaseError> {
    for text in [&shown.main, &shown.also].into_iter().filter(|text| !text.is_empty()) {
        let back = read(text);
        prop_assert!(back.is_positive() == value.is_positive(), "{text} for {value}");
        let off = (&back - value).abs();
        prop_assert!(off <= value.abs() / Number::int(200), "{text} for {value}");
    }
    Ok(())
}

/// A positive figure with any number of digits, from a hundred-thousandth up to a million.
fn figure() -> impl Strategy<Value = Number> {
    (1_i64..1_000_000_000, 0_u32..9, 1_i64..100).prop_map(|(digits, down, part)| {
        let scale = (0..down).fold(Number::one(), |scale, _| scale / Number::int(10));
        (Number::int(digits) * scale * Number::ratio(100, 100 + part)).abs() / Number::int(1000)
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn print_reads_back(n in figure(), us in any::<bool>()) {
        let printer = Printer::new(if us { System::Us } else { System::Si });
        let read = |text: &str| volume(text).unwrap().as_millilitres().clone();
        let it = Volume::millilitres(n.clone());
        for shown in [printer.product_volume(&it), printer.water(&it), printer.solution(&it)] {
            reads_back(&n, &shown, read)?;
        }
        let it = Mass::grams(n.clone());
        reads_back(&n, &printer.mass(&it), |text| mass(text).unwrap().as_grams().clone())?;
        let it = Area::square_metres(n.clone());
        reads_back(&n, &printer.area(&it), |text| area(text).unwrap().as_square_metres().clone())?;
        let it = Flow::millilitres_per_minute(n.clone());
        reads_back(&n, &printer.flow(&it), |text| flow(text).unwrap().as_millilitres_per_minute().clone())?;
        let it = Strength::milligrams_per_litre(n.clone());
        reads_back(&n, &printer.strength(&it), |text| strength(text).unwrap().as_milligrams_per_litre().clone())?;
        // Within what is believed of each kind.
        let small = &n / &Number::int(100_000);
        let it = Length::metres(small.clone());
        reads_back(&small, &printer.length(&it), |text| length(text).unwrap().as_metres().clone())?;
        reads_back(&small, &printer.droplet(&it), |text| length(text).unwrap().as_metres().clone())?;
        let it = Speed::metres_per_second(small.clone());
        reads_back(&small, &printer.speed(&it), |text| speed(text).unwrap().as_metres_per_second().clone())?;
        let it = Density::kilograms_per_litre(small.clone());
        reads_back(&small, &printer.density(&it), |text| density(text).unwrap().as_kilograms_per_litre().clone())?;
        let middling = &n / &Number::int(20);
        let it = Pressure::kilopascals(middling.clone());
        reads_back(&middling, &printer.pressure(&it), |text| pressure(text).unwrap().as_kilopascals().clone())?;
        let it = Film::millilitres_per_square_metre(middling.clone());
        for shown in [printer.film(&it), printer.coverage(&it)] {
            reads_back(&middling, &shown, |text| film(text).unwrap().as_millilitres_per_square_metre().clone())?;
        }
    }
}
