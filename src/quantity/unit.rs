//! Every unit that may be written, as data. US measures only where US and British ones share a name.
//!
//! Factors are exact: 1 in = 25.4 mm, 1 lb = 0.453 592 37 kg, 1 US gal = 231 in³ (NIST Handbook 44, Appendix C); 1 psi is
//! one pound-force, 4.448 221 615 260 5 N, on a square inch (NIST SP 811, Appendix B).

use serde::{Deserialize, Serialize};

use super::number::Number;

/// The two systems a sheet may be printed in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum System {
    /// US customary measures.
    Us,
    /// The International System.
    Si,
}

macro_rules! dimensions {
    ($($name:ident $noun:literal;)+) => {
        /// What a unit measures; its base is named beside it.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub(crate) enum Dimension {
            $($name),+
        }

        impl Dimension {
            /// What a message calls it.
            pub(crate) fn noun(self) -> &'static str {
                match self { $(Dimension::$name => $noun),+ }
            }
        }
    };
}

dimensions! {
    Volume "a volume"; // mL
    Mass "a mass"; // g
    Ounce "an amount in ounces"; // `oz`, which may be a volume or a mass: settled by who asks (see [`super::expression::Ounce`]).
    Length "a length"; // m
    Area "an area"; // m²
    Time "a time"; // s
    Pressure "a pressure"; // kPa
    Temperature "a temperature"; // °C
    Share "a share of a whole"; // 1
    Strength "a strength"; // mg/L, as ppm
    MassPerVolume "a mass in a volume"; // g/mL
    Flow "a flow"; // mL/min
    Speed "a speed"; // m/s
    Film "a coverage"; // mL/m²
    Count "a number of tablets"; // tablets
    VolumePerVolume "a dilution"; // mL/mL: a dilution, never a quantity of its own
    MassPerMass "a mass in a mass"; // g/g
    MassPerTablet "a mass in a tablet"; // g a tablet
}

/// One unit.
#[derive(Debug)]
pub(crate) struct Unit {
    /// As it is printed.
    pub(crate) symbol: &'static str,
    /// As it may be written, in lower case, without full stops, words one space apart. The symbol is among them.
    pub(crate) spellings: &'static [&'static str],
    /// What it measures.
    pub(crate) dimension: Dimension,
    top: i64,
    bottom: i64,
    /// Whose it is; `None` for units of both.
    pub(crate) system: Option<System>,
}

impl Unit {
    /// How much of the dimension's base one of it is, exactly. A temperature's reading must have [`Unit::zero_at`] taken off first.
    pub(crate) fn factor(&self) -> Number {
        Number::ratio(self.top, self.bottom)
    }

    /// What it reads where the base reads 0: 32 for °F.
    pub(crate) fn zero_at(&self) -> Number {
        Number::int(if self.symbol == "°F" { 32 } else { 0 })
    }
}

macro_rules! units {
    ($($system:ident $dimension:ident $symbol:literal = $top:literal / $bottom:literal: $($spelling:literal)+;)+) => {
        &[$(Unit {
            symbol: $symbol,
            spellings: &[$($spelling),+],
            dimension: Dimension::$dimension,
            top: $top,
            bottom: $bottom,
            system: units!(@ $system),
        }),+]
    };
    (@ Us) => { Some(System::Us) };
    (@ Si) => { Some(System::Si) };
    (@ Both) => { None };
}

/// The table. In a dimension the larger US measures stand first; nothing depends on the order.
pub(crate) const UNITS: &[Unit] = units! {
    Us Volume "gal" = 3_785_411_784 / 1_000_000: "gal" "gals" "gallon" "gallons";
    Us Volume "qt" = 946_352_946 / 1_000_000: "qt" "qts" "quart" "quarts";
    Us Volume "pt" = 473_176_473 / 1_000_000: "pt" "pts" "pint" "pints";
    Us Volume "cup" = 2_365_882_365 / 10_000_000: "cup" "cups";
    Us Volume "fl oz" = 295_735_295_625 / 10_000_000_000:
        "fl oz" "floz" "fluid oz" "fluid ounce" "fluid ounces" "fl ounce" "fl ounces" "oz fl";
    Us Volume "tbsp" = 1_478_676_478_125 / 100_000_000_000: "tbsp" "tbsps" "tbs" "tablespoon" "tablespoons";
    Us Volume "tsp" = 492_892_159_375 / 100_000_000_000: "tsp" "tsps" "teaspoon" "teaspoons";
    Si Volume "mL" = 1 / 1:
        "ml" "mls" "millilitre" "millilitres" "milliliter" "milliliters" "cc" "cm3" "cubic centimetre"
        "cubic centimetres" "cubic centimeter" "cubic centimeters";
    Si Volume "cL" = 10 / 1: "cl" "centilitre" "centilitres" "centiliter" "centiliters";
    Si Volume "L" = 1000 / 1: "l" "litre" "litres" "liter" "liters" "ltr";
    Si Volume "m³" = 1_000_000 / 1: "m3" "cubic metre" "cubic metres" "cubic meter" "cubic meters";

    Both Ounce "oz" = 1 / 1: "oz" "ozs" "ounce" "ounces";
    Us Mass "lb" = 45_359_237 / 100_000: "lb" "lbs" "pound" "pounds";
    Us Mass "oz wt" = 28_349_523_125 / 1_000_000_000:
        "oz wt" "oz weight" "oz av" "oz avdp" "oz by weight" "ounce wt" "ounces wt" "ounce av" "ounces av"
        "ounce by weight" "ounces by weight" "wt oz" "dry oz" "weight oz";
    Si Mass "µg" = 1 / 1_000_000: "µg" "ug" "mcg" "microgram" "micrograms";
    Si Mass "mg" = 1 / 1000: "mg" "milligram" "milligrams" "milligramme" "milligrammes";
    Si Mass "g" = 1 / 1: "g" "gm" "gms" "gram" "grams" "gramme" "grammes";
    Si Mass "kg" = 1000 / 1: "kg" "kgs" "kilo" "kilos" "kilogram" "kilograms" "kilogramme" "kilogrammes";

    Us Length "yd" = 9144 / 10_000: "yd" "yds" "yard" "yards";
    Us Length "ft" = 3048 / 10_000: "ft" "foot" "feet";
    Us Length "in" = 254 / 10_000: "in" "ins" "inch" "inches";
    Si Length "µm" = 1 / 1_000_000:
        "µm" "um" "micron" "microns" "micrometre" "micrometres" "micrometer" "micrometers";
    Si Length "mm" = 1 / 1000: "mm" "millimetre" "millimetres" "millimeter" "millimeters";
    Si Length "cm" = 1 / 100: "cm" "centimetre" "centimetres" "centimeter" "centimeters";
    Si Length "m" = 1 / 1: "m" "metre" "metres" "meter" "meters";
    Si Length "km" = 1000 / 1: "km" "kilometre" "kilometres" "kilometer" "kilometers";

    Us Area "acre" = 40_468_564_224 / 10_000_000: "acre" "acres" "ac";
    Us Area "ft²" = 9_290_304 / 100_000_000:
        "ft2" "sq ft" "sqft" "sf" "sq foot" "sq feet" "square foot" "square feet" "square ft" "ft sq" "feet2";
    Si Area "m²" = 1 / 1: "m2" "sq m" "sqm" "square metre" "square metres" "square meter" "square meters" "square m";
    Si Area "ha" = 10_000 / 1: "ha" "hectare" "hectares";

    Both Time "s" = 1 / 1: "s" "sec" "secs" "second" "seconds";
    Both Time "min" = 60 / 1: "min" "mins" "minute" "minutes";
    Both Time "h" = 3600 / 1: "h" "hr" "hrs" "hour" "hours";
    Both Time "day" = 86_400 / 1: "d" "day" "days";
    Both Time "week" = 604_800 / 1: "wk" "wks" "week" "weeks";

    Us Flow "gal/min" = 3_785_411_784 / 1_000_000: "gpm";
    Us Flow "gal/h" = 630_901_964 / 10_000_000: "gph";
    Si Flow "L/min" = 1000 / 1: "lpm";
    Us Speed "mph" = 44_704 / 100_000: "mph";
    Us Speed "ft/min" = 3048 / 600_000: "fpm";
    Si Speed "km/h" = 1000 / 3600: "kph" "kmh" "kmph";

    Us Pressure "psi" = 44_482_216_152_605 / 6_451_600_000_000: "psi" "psig";
    Si Pressure "kPa" = 1 / 1: "kpa" "kilopascal" "kilopascals";
    Si Pressure "bar" = 100 / 1: "bar" "bars";
    Si Pressure "Pa" = 1 / 1000: "pa" "pascal" "pascals";
    Si Pressure "MPa" = 1000 / 1: "mpa" "megapascal" "megapascals";

    Us Temperature "°F" = 5 / 9:
        "°f" "° f" "f" "degf" "deg f" "degree f" "degrees f" "degree fahrenheit" "degrees fahrenheit" "fahrenheit";
    Si Temperature "°C" = 1 / 1:
        "°c" "° c" "c" "degc" "deg c" "degree c" "degrees c" "degree celsius" "degrees celsius" "celsius"
        "centigrade";

    Both Share "%" = 1 / 100: "%" "percent" "pct";
    Both Strength "ppm" = 1 / 1: "ppm";
    Both Count "tablet" = 1 / 1: "tablet" "tablets" "tab" "tabs";
};

/// The unit spelt so; `words` is in lower case, one space apart.
pub(crate) fn find(words: &str) -> Option<&'static Unit> {
    let words = words.strip_prefix("us ").unwrap_or(words);
    UNITS.iter().find(|unit| unit.spellings.contains(&words))
}

/// The unit with this symbol.
pub(crate) fn by_symbol(symbol: &str) -> Option<&'static Unit> {
    UNITS.iter().find(|unit| unit.symbol == symbol)
}

/// How much of the base a unit printed here is. The symbols are constants of the source; one that is in no row is
/// caught by the tests of every printer, and reads as 1.
pub(crate) fn factor_of(symbol: &str) -> Number {
    by_symbol(symbol).map_or_else(Number::one, Unit::factor)
}

/// The unit whose spelling is nearest to something that is none, if one is near enough to be meant where `wanted` is asked for.
pub(crate) fn nearest(words: &str, wanted: Dimension) -> Option<&'static str> {
    // Nothing is near to one or two letters; long text is not a misspelt unit, and comparing it would be slow.
    if !(3..=24).contains(&words.chars().count()) {
        return None;
    }
    // A flow or a coverage is written in units of other dimensions, two at a time; a plain kind only in its own.
    let plain = matches!(
        wanted,
        Dimension::Volume | Dimension::Mass | Dimension::Length | Dimension::Area | Dimension::Time | Dimension::Share
    );
    UNITS
        .iter()
        .filter(|unit| !plain || unit.dimension == wanted)
        .flat_map(|unit| unit.spellings.iter().map(move |spelling| (unit, *spelling)))
        .filter(|(_, spelling)| spelling.len() > 1)
        .map(|(unit, spelling)| (strsim::damerau_levenshtein(words, spelling), unit))
        .min_by_key(|(distance, _)| *distance)
        .filter(|(distance, _)| *distance <= 1 + words.chars().count() / 5)
        .map(|(_, unit)| unit.symbol)
}
