//! What people write, good and bad; and that no text whatever does harm.

use proptest::prelude::*;

use super::dilution::{Basis, Content, Dilution};
use super::dose::Form;
use super::expression::{Ounce, Reading};
use super::number::Number;
use super::parse::*;
use super::print::Printer;
use super::scale::{scale, strength_of_block};
use super::unit::{Dimension, System};
use super::{QuantityError, extent, wanted};

fn exactly(text: &str) -> Number {
    Number::parse(text).unwrap()
}

/// NIST Handbook 44, Appendix C, "General Tables of Units of Measurement": exact values of the US measures.
#[test]
fn us_volumes_and_masses_are_those_of_nist() {
    for (text, ml) in [
        ("1 gal", "3785.411784"),
        ("1 US gal", "3785.411784"),
        ("1 qt", "946.352946"),
        ("1 pt", "473.176473"),
        ("1 cup", "236.5882365"),
        ("1 fl oz", "29.5735295625"),
        ("1 tbsp", "14.78676478125"),
        ("1 tsp", "4.92892159375"),
        ("128 fl oz", "3785.411784"),
        ("16 cups", "3785.411784"),
        ("256 tablespoons", "3785.411784"),
        ("768 teaspoons", "3785.411784"),
    ] {
        assert_eq!(*volume(text).unwrap().as_millilitres(), exactly(ml), "{text}");
    }
    for (text, g) in
        [("1 lb", "453.59237"), ("1 oz", "28.349523125"), ("1 oz av", "28.349523125"), ("16 oz wt", "453.59237")]
    {
        assert_eq!(*mass(text).unwrap().as_grams(), exactly(g), "{text}");
    }
}

/// NIST Handbook 44, Appendix C; NIST SP 811, Appendix B.
#[test]
fn other_kinds_are_those_of_nist() {
    assert_eq!(*area("1 ft2").unwrap().as_square_metres(), exactly("0.09290304"));
    // The international acre: 43,560 ft² of the exact foot of 0.3048 m.
    assert_eq!(*area("1 acre").unwrap().as_square_metres(), exactly("4046.8564224"));
    assert_eq!(area("1 acre").unwrap(), area("43,560 ft2").unwrap());
    assert_eq!(*length("1 in").unwrap().as_metres(), exactly("0.0254"));
    assert_eq!(*speed("1 mph").unwrap().as_metres_per_second(), exactly("0.44704"));
    assert_eq!(speed("1 mph").unwrap(), speed("88 ft/min").unwrap());
    assert_eq!(pressure("1 psi").unwrap().as_kilopascals().decimal(6), "6.894757");
    assert_eq!(pressure("40 psi").unwrap().as_kilopascals().decimal(5), "275.79029");
    assert_eq!(density("1 lb/gal").unwrap().as_kilograms_per_litre().decimal(6), "0.119826");
    assert_eq!(density("1 oz/gal").unwrap().as_kilograms_per_litre().decimal(10), "0.0074891517");
    // 1 gal on an acre is 9.353 96 L on a hectare: 0.935 396 mL/m².
    assert_eq!(film("1 gal/acre").unwrap().as_millilitres_per_square_metre().decimal(6), "0.935396");
}

#[test]
fn each_way_of_writing_a_thing_reads_the_same() {
    fn same<T: PartialEq + std::fmt::Debug>(read: fn(&str) -> Result<T, QuantityError>, texts: &[&str]) {
        let first = read(texts[0]).unwrap();
        for text in texts {
            assert_eq!(read(text).as_ref(), Ok(&first), "{text}");
        }
    }
    same(
        volume,
        &[
            "2.25 gal",
            "2 gal 1 qt",
            "2 gal, 1 qt",
            "2 gallons and 1 quart",
            "9 qt",
            "2¼ GAL.",
            "2 1/4 gal",
            "288 fl. oz.",
        ],
    );
    same(
        volume,
        &["1500 mL", "1.5 L", "1,500 ml", "1.5 litres", "1½ liters", "1500 cc", "0.0015 m³", "\u{a0}1.5\u{2009}l "],
    );
    same(mass, &["35 oz", "2 lb 3 oz", "2 lbs 3 oz wt", "35 ounces by weight"]);
    same(mass, &["10 g", "0.01 kg", "10,000 mg", "10 grams"]);
    same(length, &["5 ft 6 in", "66 in", "5' 6\"", "5′-6″", "5.5 feet", "5½ ft", "5 ft 6.0 inches"]);
    same(length, &["20 um", "20 µm", "20 μm", "20 microns", "0.02 mm", "20 micrometers", "20 MICRON"]);
    same(area, &["2,250 ft2", "2250 sq ft", "2250 sq. ft.", "2250 ft²", "2250 ft^2", "2250 square feet"]);
    same(area, &["3 m2", "3 m²", "3 sq m", "3 square metres", "3 ㎡"]);
    same(flow, &["60 gal/h", "1 gpm", "60 gph", "1 gal/min", "4 qt/min", "128 fl oz/min", "1 gallon per minute"]);
    same(flow, &["60 L/h", "1 L/min", "1000 mL/min", "1 litre per min", "60 liters per hour"]);
    same(speed, &["0.5 m/s", "30 m/min", "1.8 km/h"]);
    same(pressure, &["3 bar", "300 kPa", "0.3 MPa"]);
    same(time, &["90 min", "1 h 30 min", "1.5 hours", "1½ hr", "5400 s", "1 hour and 30 minutes"]);
    same(time, &["7 days", "1 week", "168 h"]);
    same(
        temperature,
        &["50 F", "50 °F", "50F", "50 degF", "50 degrees Fahrenheit", "50 ℉", "10 °C", "10 c", "10 deg C", "10℃"],
    );
    same(temperature, &["-40 F", "−40 °C", "- 40 C"]);
    same(density, &["0.99 kg/L", "0.99 g/mL", "0.99 g/cm3", "0.99 g/cm³", "990 g/L", "990 kg/m3"]);
    same(share, &["10 %", "10%", "10 percent", "10 per cent"]);
    same(strength, &["400 ppm", "400 mg/L", "0.4 g/L", "400 parts per million", "400 mg per litre"]);
    same(film, &["200 ft2/gal", "1 gal/200 ft2", "1 gal per 200 sq ft", "200 square feet per gallon"]);
    same(film, &["50 mL/m2", "1 L per 20 m2", "20 m²/L", "1 L/20 m²"]);
    same(number, &["1,250", "1250", "1.25e3"]);
    assert_eq!(count("1,250"), Ok(1250));
}

#[test]
fn bad_text_says_what_is_wrong_and_what_to_write() {
    type Try = fn(&str) -> Option<QuantityError>;
    let kinds: [(&str, Try); 13] = [
        ("volume", |text| volume(text).err()),
        ("mass", |text| mass(text).err()),
        ("length", |text| length(text).err()),
        ("area", |text| area(text).err()),
        ("flow", |text| flow(text).err()),
        ("temperature", |text| temperature(text).err()),
        ("density", |text| density(text).err()),
        ("share", |text| share(text).err()),
        ("strength", |text| strength(text).err()),
        ("film", |text| film(text).err()),
        ("time", |text| time(text).err()),
        ("number", |text| number(text).err()),
        ("count", |text| count(text).err()),
    ];
    for (kind, text, says) in [
        ("volume", "15", "`15` has no unit; write e.g. `15 gal` or `57 L`"),
        ("volume", "", "a volume is wanted"),
        ("volume", "  ", "a volume is wanted"),
        ("volume", "gal", "no number"),
        ("volume", "15 oz", "`15 fl oz` or `15 oz wt`"),
        ("volume", "15 lb", "`15 lb` is a mass; a volume is wanted here"),
        ("volume", "15 galon", "did you mean `gal`?"),
        ("volume", "15 imperial gallons", "British"),
        ("volume", "15 UK gal", "British"),
        ("volume", "1,5 L", "`1.5`"),
        ("volume", "1.500,5 L", "commas"),
        ("volume", "2 250 L", "side by side"),
        ("volume", "-5 gal", "below nought"),
        ("volume", "1e7 L", "at most 1,000,000 L"),
        ("volume", "1e999 L", "not a number"),
        ("volume", "NaN L", ""),
        ("volume", "inf gal", ""),
        ("volume", "5 gal 5 gal", "larger unit to the smaller"),
        ("volume", "1 qt 2 gal", "larger unit to the smaller"),
        ("volume", "1.5 gal 1 qt", "larger unit to the smaller"),
        ("volume", "2 gal 9 qt", "larger unit to the smaller"),
        ("volume", "2 gal 1 lb", "add up"),
        ("volume", "2 gal 1", "`1` has no unit"),
        ("volume", "2 gal -1 qt", "range"),
        ("volume", "10-15 gal", "range"),
        ("volume", "1-1/2 gal", "`1 1/2`"),
        ("volume", "1/0 gal", "cannot be 0"),
        ("volume", "about 5 gal", ""),
        ("volume", "~5 gal", "U+007E"),
        ("volume", "5 gal!", "U+0021"),
        ("volume", "5 gal,", "stray comma"),
        ("volume", "５ gal", "U+FF15"),
        ("volume", "5² gal", "U+00B2"),
        ("volume", "5 gal\u{0}", "U+0000"),
        ("mass", "5 fl oz", "a volume"),
        ("mass", "2e9 kg", "at most"),
        ("length", "11 km", "at most 10 km"),
        ("length", "5 ft 6", "`6` has no unit"),
        ("length", "5 ft 13 in", "larger unit"),
        ("area", "300 ft", "a length"),
        ("area", "2e7 m2", "at most 10,000,000 m²"),
        ("flow", "8.9 oz/min", "two ways"),
        ("flow", "8.9 fl oz", "a volume"),
        ("flow", "8.9/min", "`8.9` has no unit"),
        ("flow", "8.9 fl oz/0 min", "above 0"),
        ("flow", "1 gal/min/min", "two strokes"),
        ("flow", "1 gal/", "nothing after"),
        ("flow", "/min", "is missing"),
        ("temperature", "72", "`72 °F` or `72 °C`"),
        ("temperature", "-300 C", "lowest temperature"),
        ("temperature", "2000 °C", "at most"),
        ("temperature", "70 F 5 F", "add up"),
        ("density", "0.99", "specific gravity"),
        ("density", "0 kg/L", "above 0"),
        ("density", "30 kg/L", "at most 25"),
        ("share", "0.1", "`0.1 %`"),
        ("share", "120 %", "at most 100 %"),
        ("strength", "1 oz/gal", "two ways"),
        ("strength", "10 %", "a share"),
        ("film", "0 ft2/gal", "no area"),
        ("film", "200 ft2/0 gal", "above 0"),
        ("film", "200 gal", "a volume"),
        ("time", "10 m", "a length"),
        ("time", "11 years", ""),
        ("time", "6000 days", "at most"),
        ("number", "4 gal", "without a unit"),
        ("number", "-4", "below nought"),
        ("number", "2e9", "too large"),
        ("number", "", "plain number"),
        ("count", "2.5", "whole number"),
        ("count", "1000001", "whole number"),
    ] {
        let (_, read) = kinds.iter().find(|(name, _)| *name == kind).unwrap();
        let error = read(text).unwrap_or_else(|| panic!("{kind} {text} was read"));
        assert!(error.to_string().contains(says), "{kind} {text}: {error}");
    }
}

#[test]
fn long_text_is_refused_and_quoted_short() {
    let error = volume(&"9".repeat(201)).unwrap_err();
    assert!(error.message.contains("201 characters") && error.message.len() < 100, "{error}");
    let error = volume(&format!("5 {}", "g".repeat(190))).unwrap_err();
    assert!(error.message.len() < 150, "{error}");
    assert!(volume(&"5 gal ".repeat(1_000_000)).is_err());
    let error = volume("5 \u{1b}[31m gal").unwrap_err();
    assert!(!error.to_string().contains('\u{1b}'));
}

#[test]
fn every_unit_that_is_suggested_can_be_read() {
    for wanted in wanted::ALL {
        if matches!(wanted.dimension, Dimension::VolumePerVolume | Dimension::MassPerMass) {
            // Dilutions and contents: their suggestions are whole texts, read below.
            continue;
        }
        for unit in wanted.units.split(", ") {
            // Even 1 °F is below 0 °C, which only the reader of temperatures allows.
            let text = format!("{} {unit}", if wanted.dimension == Dimension::Temperature { 100 } else { 1 });
            let reading = Reading::new(&text, wanted).ounce(Ounce::Refuse);
            let tokens = reading.tokens().unwrap();
            assert!(reading.measured(&tokens).is_ok(), "{text} as {}", wanted.noun);
        }
        let hundred = wanted.dimension == Dimension::Temperature;
        let (value, written) = if hundred { (Number::int(100), "100") } else { (Number::one(), "1") };
        for example in wanted.examples(&value, written) {
            let reading = Reading::new(&example, wanted);
            assert!(reading.measured(&reading.tokens().unwrap()).is_ok(), "{example} as {}", wanted.noun);
        }
    }
    for text in ["% w/v", "% trade", "% v/v", "g/kg", "g/L", "g/tablet"] {
        assert!(wanted::CONTENT.units.contains(text) && Content::parse(&format!("1 {text}")).is_ok(), "{text}");
    }
}

/// Everything that reads text, on one text. What is read is printed too: neither may panic.
fn read_all(text: &str) {
    for system in [System::Us, System::Si] {
        let printer = Printer::new(system);
        let _ = volume(text).map(|it| [printer.water(&it), printer.product_volume(&it), printer.solution(&it)]);
        let _ = mass(text).map(|it| printer.mass(&it));
        let _ = length(text).map(|it| [printer.length(&it), printer.droplet(&it)]);
        let _ = area(text).map(|it| printer.area(&it));
        let _ = flow(text).map(|it| printer.flow(&it));
        let _ = speed(text).map(|it| printer.speed(&it));
        let _ = pressure(text).map(|it| printer.pressure(&it));
        let _ = time(text).map(|it| printer.time(&it));
        let _ = temperature(text).map(|it| printer.temperature(&it));
        let _ = density(text).map(|it| printer.density(&it));
        let _ = share(text).map(|it| printer.percent(&it));
        let _ = strength(text).map(|it| printer.strength(&it));
        let _ = film(text).map(|it| [printer.film(&it), printer.coverage(&it)]);
        let _ = number(text).map(|it| printer.count(&it));
        let _ = extent::extent(text).map(|it| printer.extent(&it));
        for form in [Form::Liquid, Form::Powder, Form::Tablet, Form::ReadyToUse] {
            let _ = super::dose::amount(text, form);
            for basis in [Basis::AddedTo, Basis::MadeUpTo] {
                let _ = Dilution::parse(text, form, basis).map(|it| printer.dilution(&it));
            }
        }
    }
    let _ = (count(text), scale(text), strength_of_block(text), Content::parse(text));
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_text_makes_it_panic(text in any::<String>()) {
        read_all(&text);
    }

    /// Nearly right text goes further into the readers than arbitrary text does.
    #[test]
    fn no_text_of_quantities_makes_it_panic(pieces in prop::collection::vec(prop::sample::select(vec![
        "0", "1", "2", "64", "2,250", "1,5", "½", "1/2", ".5", "1e40", "1e-40", "9999999999", "-", "−", "/", "per", ":", "+",
        ",", "x", "×", "in", "to", "make", "parts", "part", "of", "water", "solution", "fl oz", "oz", "gal", "L", "mL", "g",
        "lb", "kg", "ft", "ft²", "m2", "µm", "'", "\"", "min", "h", "days", "%", "ppm", "w/v", "v/v", "trade", "tablets", "°F",
        "C", "psi", "gpm", "mph", "ready", "use", "and", " ", "²", "(", "\u{301}", "İ", "ſ", "K",
    ]), 0..12), spaced in any::<bool>()) {
        read_all(&pieces.join(if spaced { " " } else { "" }));
    }
}
