//! What people write, good and bad; what is printed of it; and that no text does harm. The tables are CSV files.

use std::fmt::Debug;

use proptest::prelude::*;

use super::expression::{Ounce, Reading};
use super::kinds::{Area, Density, Film, Flow, Length, Mass, Pressure, Speed, Strength, Volume};
use super::parse::*;
use super::print::Printer;
use super::scale::{scale, strength_of_block};
use super::unit::{Dimension, System, UNITS, by_symbol, find, nearest};
use super::{Basis, Content, Dilution, Form, Number, QuantityError, Shown, built_in, wanted};

const US: Printer = Printer::new(System::Us);
const SI: Printer = Printer::new(System::Si);

/// What a text of a kind means, and how it is printed.
fn read(kind: &str, text: &str, printer: Printer) -> Result<(String, Shown), QuantityError> {
    fn seen<T: Debug>(
        read: Result<T, QuantityError>,
        print: impl Fn(&T) -> Shown,
    ) -> Result<(String, Shown), QuantityError> {
        read.map(|it| (format!("{it:?}"), print(&it)))
    }
    let dilution = |form| seen(Dilution::parse(text, form, Basis::AddedTo), |it| printer.dilution(it));
    let unprinted = || Shown::alone(String::new());
    match kind {
        "volume" | "solution" => seen(volume(text), |it| printer.solution(it)),
        "product" => seen(volume(text), |it| printer.product_volume(it)),
        "measured" => seen(volume(text), |it| printer.measured_product(it)),
        "water" => seen(volume(text), |it| printer.water(it)),
        "mass" => seen(mass(text), |it| printer.mass(it)),
        "length" => seen(length(text), |it| printer.length(it)),
        "droplet" => seen(length(text), |it| printer.droplet(it)),
        "area" => seen(area(text), |it| printer.area(it)),
        "flow" => seen(flow(text), |it| printer.flow(it)),
        "speed" => seen(speed(text), |it| printer.speed(it)),
        "pressure" => seen(pressure(text), |it| printer.pressure(it)),
        "time" => seen(time(text), |it| printer.time(it)),
        "temperature" => seen(temperature(text), |it| printer.temperature(it)),
        "density" => seen(density(text), |it| printer.density(it)),
        "share" | "percent" => seen(share(text), |it| printer.percent(it)),
        "strength" => seen(strength(text), |it| printer.strength(it)),
        "film" => seen(film(text), |it| printer.film(it)),
        "coverage" => seen(film(text), |it| printer.coverage(it)),
        "number" => seen(number(text), |it| printer.count(it)),
        "count" => seen(count(text), |it| printer.count(&Number::int(i64::from(*it)))),
        "extent" => seen(extent(text), |it| printer.extent(it)),
        "liquid" => dilution(Form::Liquid),
        "powder" => dilution(Form::Powder),
        "tablet" => dilution(Form::Tablet),
        "ready" => dilution(Form::ReadyToUse),
        "content" => seen(Content::parse(text), |_| unprinted()),
        "scale" => seen(scale(text), |_| unprinted()),
        "block" => seen(strength_of_block(text), |_| unprinted()),
        other => panic!("no kind {other}"),
    }
}

const KINDS: &str = "volume product measured water mass length droplet area flow speed pressure time temperature density share \
                     strength film coverage number count extent liquid powder tablet ready content scale block";

/// The base unit's figure of a text.
fn base(kind: &str, text: &str) -> Number {
    match kind {
        "volume" => volume(text).map(|it| it.as_millilitres().clone()),
        "mass" => mass(text).map(|it| it.as_grams().clone()),
        "length" => length(text).map(|it| it.as_metres().clone()),
        "area" => area(text).map(|it| it.as_square_metres().clone()),
        "flow" => flow(text).map(|it| it.as_millilitres_per_minute().clone()),
        "speed" => speed(text).map(|it| it.as_metres_per_second().clone()),
        "pressure" => pressure(text).map(|it| it.as_kilopascals().clone()),
        "density" => density(text).map(|it| it.as_kilograms_per_litre().clone()),
        "strength" => strength(text).map(|it| it.as_milligrams_per_litre().clone()),
        "film" => film(text).map(|it| it.as_millilitres_per_square_metre().clone()),
        _ => number(text),
    }
    .unwrap_or_else(|error| panic!("{kind} {text}: {error}"))
}

#[test]
fn each_way_of_writing_a_thing_reads_the_same() {
    for (kind, texts) in built_in::<(String, String)>(include_str!("tests/same.csv")) {
        let read = |text: &str| read(&kind, text, US).unwrap_or_else(|error| panic!("{kind} {text}: {error}")).0;
        let all: Vec<String> = texts.split(" | ").map(read).collect();
        assert!(all.len() > 1 && all.iter().all(|one| *one == all[0]), "{kind} {texts}: {all:?}");
    }
}

#[test]
fn bad_text_says_what_is_wrong_and_what_to_write() {
    let control = ("volume".to_owned(), "5 gal\0".to_owned(), "U+0000".to_owned());
    for (kind, text, says) in
        built_in::<(String, String, String)>(include_str!("tests/refused.csv")).into_iter().chain([control])
    {
        let error = read(&kind, &text, US).expect_err(&text);
        assert!(error.to_string().contains(&says), "{kind} {text}: {error}");
    }
}

#[test]
fn what_is_printed() {
    for (reader, kind, text, expected) in
        built_in::<(String, String, String, String)>(include_str!("tests/printed.csv"))
    {
        let printer = if reader == "us" { US } else { SI };
        let (meaning, shown) = read(&kind, &text, printer).unwrap();
        assert_eq!(shown.both(), expected, "{text}");
        if matches!(kind.as_str(), "liquid" | "powder" | "tablet" | "ready") {
            assert_eq!(read(&kind, &shown.main, printer).unwrap().0, meaning, "{expected}");
        }
    }
}

#[test]
fn what_the_words_of_a_dilution_count() {
    let read = |text, basis| Dilution::parse(text, Form::Liquid, basis).unwrap();
    let basis = |text, default| match read(text, default) {
        Dilution::Liquid { basis, .. } | Dilution::Parts { basis, .. } => basis,
        other => panic!("{text}: {other:?}"),
    };
    // Where the text says it, what `per` means by default does not matter.
    for default in [Basis::AddedTo, Basis::MadeUpTo] {
        for text in ["2 fl oz/gal of water", "1:64", "1 part to 64 parts water", "2 fl oz added to 1 gal"] {
            assert_eq!(basis(text, default), Basis::AddedTo, "{text}");
        }
        for text in ["2 fl oz/gal solution", "1 in 64", "2 fl oz to make 1 gal"] {
            assert_eq!(basis(text, default), Basis::MadeUpTo, "{text}");
        }
        assert_eq!(basis("2 fl oz/gal", default), default);
    }
    assert_eq!(
        read("2 fl oz/gal of water", Basis::MadeUpTo),
        Dilution::Liquid { product: volume("2 fl oz").unwrap(), per: volume("1 gal").unwrap(), basis: Basis::AddedTo }
    );
}

#[test]
fn long_text_is_refused_and_quoted_short() {
    let error = volume(&"9".repeat(201)).unwrap_err();
    assert!(error.message.contains("201 characters") && error.message.len() < 100, "{error}");
    let error = volume(&format!("5 {}", "g".repeat(190))).unwrap_err();
    assert!(error.message.len() < 150, "{error}");
    assert!(volume(&"5 gal ".repeat(1_000_000)).is_err() && scale(&"1, ".repeat(200)).is_err());
    let error = volume("5 \u{1b}[31m gal").unwrap_err();
    assert!(!error.to_string().contains('\u{1b}'));
}

#[test]
fn every_unit_that_is_suggested_can_be_read() {
    for wanted in wanted::ALL {
        if matches!(wanted.dimension, Dimension::VolumePerVolume | Dimension::MassPerMass) {
            // Dilutions and contents: their suggestions are complete texts, read below.
            continue;
        }
        // Even 1 °F is below 0 °C, which only the reader of temperatures allows.
        let written = if wanted.dimension == Dimension::Temperature { "100" } else { "1" };
        let units = wanted.units.split(", ").map(|unit| format!("{written} {unit}"));
        for text in units.chain(wanted.examples(&Number::parse(written).unwrap(), written)) {
            let reading = Reading::new(&text, wanted).ounce(Ounce::Refuse);
            assert!(reading.measured(&reading.tokens().unwrap()).is_ok(), "{text} as {}", wanted.noun);
        }
    }
    for text in ["% w/v", "% trade", "% v/v", "g/kg", "g/L", "g/tablet"] {
        assert!(wanted::CONTENT.units.contains(text) && Content::parse(&format!("1 {text}")).is_ok(), "{text}");
    }
}

#[test]
fn factors_are_those_of_nist() {
    for (kind, text, figure) in built_in::<(String, String, String)>(include_str!("tests/nist.csv")) {
        let value = base(&kind, &text);
        if figure.contains(' ') {
            assert_eq!(value, base(&kind, &figure), "{text}");
        } else {
            let places = figure.split_once('.').map_or(0, |(_, part)| part.len() as u32);
            assert_eq!(value.decimal(places), figure, "{text}");
        }
    }
    // A gallon is 231 cubic inches; an inch is 2.54 cm.
    assert_eq!(base("volume", "1 gal"), Number::int(231 * 254 * 254 * 254) / Number::int(1_000_000));
}

#[test]
fn every_spelling_means_one_unit() {
    let mut seen = std::collections::HashSet::new();
    for unit in UNITS.iter() {
        for spelling in unit.spellings() {
            assert!(seen.insert(spelling), "{spelling}");
            assert_eq!(spelling, spelling.to_lowercase(), "{spelling}");
            assert_eq!(find(spelling).unwrap().symbol, unit.symbol);
        }
        assert!(by_symbol(&unit.symbol).is_some());
        // Gallon, ounce, pint and quart of British measures are in no row.
        for british in ["4546.09", "28.4130625", "568.26125", "1136.5225"] {
            assert_ne!(unit.factor(), Number::parse(british).unwrap(), "{}", unit.symbol);
        }
    }
}

#[test]
fn misspelt_units_have_a_neighbor() {
    for (word, wanted, near) in [
        ("galon", Dimension::Volume, Some("gal")),
        ("galon", Dimension::Flow, Some("gal")),
        ("litters", Dimension::Volume, Some("L")),
        ("minuts", Dimension::Time, Some("min")),
        ("foo", Dimension::Volume, None),
        ("elephants", Dimension::Volume, None),
    ] {
        assert_eq!(nearest(word, wanted), near, "{word}");
    }
}

/// Both texts, read back, are within 0.5 % of what was printed, and nothing above 0 reads 0.
fn reads_back(kind: &str, value: &Number, shown: &Shown) -> Result<(), TestCaseError> {
    for text in [&shown.main, &shown.also].into_iter().filter(|text| !text.is_empty()) {
        let back = base(kind, text);
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

/// Everything that reads text, on one text. What is read is printed too: neither may panic.
fn read_all(text: &str) {
    for printer in [US, SI] {
        for kind in KINDS.split(' ') {
            let _ = read(kind, text, printer);
        }
        for form in [Form::Liquid, Form::Powder, Form::Tablet, Form::ReadyToUse] {
            let _ = Dilution::parse_range(text, form, Basis::MadeUpTo).map(|(low, _)| printer.dilution(&low));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn print_reads_back(n in figure(), us in any::<bool>()) {
        let printer = if us { US } else { SI };
        let of = Volume::millilitres(n.clone());
        for shown in [printer.product_volume(&of), printer.water(&of), printer.solution(&of)] {
            reads_back("volume", &n, &shown)?;
        }
        reads_back("mass", &n, &printer.mass(&Mass::grams(n.clone())))?;
        reads_back("area", &n, &printer.area(&Area::square_metres(n.clone())))?;
        reads_back("flow", &n, &printer.flow(&Flow::millilitres_per_minute(n.clone())))?;
        reads_back("strength", &n, &printer.strength(&Strength::milligrams_per_litre(n.clone())))?;
        // Within what is believed of each kind.
        let small = &n / &Number::int(100_000);
        let of = Length::metres(small.clone());
        reads_back("length", &small, &printer.length(&of))?;
        reads_back("length", &small, &printer.droplet(&of))?;
        reads_back("speed", &small, &printer.speed(&Speed::metres_per_second(small.clone())))?;
        reads_back("density", &small, &printer.density(&Density::kilograms_per_litre(small.clone())))?;
        let middling = &n / &Number::int(20);
        reads_back("pressure", &middling, &printer.pressure(&Pressure::kilopascals(middling.clone())))?;
        let of = Film::millilitres_per_square_metre(middling.clone());
        reads_back("film", &middling, &printer.film(&of))?;
        reads_back("film", &middling, &printer.coverage(&of))?;
    }

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

/// Shares of a whole that are cut to what is printed still add up to the whole as it is printed.
#[test]
fn a_column_adds_up_as_it_is_printed() {
    let parts: Vec<_> = ["13.86 gal", "1.98 gal", "5.04 gal", "4.9 gal"].map(|text| volume(text).unwrap()).into();
    let (each, all) = Printer::new(System::Us).solutions(&parts);
    let plain = |text: &String| text.replace('\u{a0}', " ");
    assert_eq!(each.iter().map(plain).collect::<Vec<_>>(), ["13.9 gal", "2 gal", "5 gal", "4.9 gal"]);
    assert_eq!(plain(&all), "25.8 gal");
    let thirds: Vec<_> = [(); 3].map(|()| volume("10.34 L").unwrap()).into();
    let (each, all) = Printer::new(System::Si).solutions(&thirds);
    assert_eq!(
        (each.iter().map(plain).collect::<Vec<_>>(), plain(&all)),
        (vec!["11 L".into(), "10 L".into(), "10 L".into()], "31 L".into())
    );
    let small: Vec<_> = ["0.04 gal", "30 gal"].map(|text| volume(text).unwrap()).into();
    assert_eq!(plain(&Printer::new(System::Us).solutions(&small).0[0]), "0.04 gal");
}
