//! Every unit that may be written, from the CSV beside this file.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use super::number::Number;

/// The two systems a sheet may be printed in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum System {
    Us,
    Si,
}

macro_rules! dimensions {
    ($($name:ident $noun:literal;)+) => {
        /// What a unit measures; its base is named beside it.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
        #[serde(rename_all = "kebab-case")]
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

/// One unit: a row of the CSV, whose first lines say what the columns hold.
#[derive(Debug, Deserialize)]
pub(crate) struct Unit {
    pub(crate) dimension: Dimension,
    pub(crate) system: Option<System>,
    pub(crate) symbol: String,
    top: i64,
    bottom: i64,
    spellings: String,
}

pub(crate) static UNITS: LazyLock<Vec<Unit>> = LazyLock::new(|| super::built_in(include_str!("units.csv")));

impl Unit {
    pub(crate) fn spellings(&self) -> impl Iterator<Item = &str> {
        self.spellings.split(" | ")
    }

    /// How much of the dimension's base one of it is, exactly. A temperature's reading must have [`Unit::zero_at`] taken off first.
    pub(crate) fn factor(&self) -> Number {
        Number::ratio(self.top, self.bottom)
    }

    /// What it reads where the base reads 0: 32 for °F.
    pub(crate) fn zero_at(&self) -> Number {
        Number::int(if self.symbol == "°F" { 32 } else { 0 })
    }
}

/// The unit spelt so; `words` is in lower case, one space apart.
pub(crate) fn find(words: &str) -> Option<&'static Unit> {
    let words = words.strip_prefix("us ").unwrap_or(words);
    UNITS.iter().find(|unit| unit.spellings().any(|spelling| spelling == words))
}

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
        .flat_map(|unit| unit.spellings().map(move |spelling| (unit, spelling)))
        .filter(|(_, spelling)| spelling.len() > 1)
        .map(|(unit, spelling)| (strsim::damerau_levenshtein(words, spelling), unit))
        .min_by_key(|(distance, _)| *distance)
        .filter(|(distance, _)| *distance <= 1 + words.chars().count() / 5)
        .map(|(_, unit)| unit.symbol.as_str())
}
