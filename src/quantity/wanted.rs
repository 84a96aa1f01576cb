//! What each kind of quantity is called in a message, what it may be written in, and how large it may be.

use super::error::QuantityError;
use super::notation::Notation;
use super::number::Number;
use super::unit::{self, Dimension};

/// One kind of quantity somebody is asked for.
#[derive(Debug)]
pub(crate) struct Wanted {
    /// With its article, as in "a volume is wanted here".
    pub(crate) noun: &'static str,
    pub(crate) dimension: Dimension,
    /// Units that would do, in words.
    pub(crate) units: &'static str,
    /// A usual unit, US first where the two systems differ.
    usual: [&'static str; 2],
    /// The largest that is believed, in the kind's base unit: far above any real one, so that a slip of the pen is caught.
    most: i64,
    /// The same, in words.
    most_words: &'static str,
}

macro_rules! wanted {
    ($($name:ident: $dimension:ident, $noun:literal, $units:literal, [$first:literal, $second:literal], $most:literal, $words:literal;)+) => {
        $(pub(crate) const $name: &Wanted = &Wanted {
            noun: $noun,
            dimension: Dimension::$dimension,
            units: $units,
            usual: [$first, $second],
            most: $most,
            most_words: $words,
        };)+
        #[cfg(test)]
        pub(crate) const ALL: &[&Wanted] = &[$($name),+];
    };
}

wanted! {
    VOLUME: Volume, "a volume", "fl oz, tbsp, tsp, cup, pt, qt, gal, mL, L", ["gal", "L"],
        1_000_000_000, "1,000,000 L";
    MASS: Mass, "a mass", "oz wt, lb, mg, g, kg", ["lb", "kg"], 1_000_000_000, "1,000,000 kg";
    LENGTH: Length, "a length", "in, ft, yd, µm, mm, cm, m", ["ft", "m"], 10_000, "10 km";
    AREA: Area, "an area", "ft2, acre, m2, ha", ["ft²", "m²"], 10_000_000, "10,000,000 m²";
    FLOW: Flow, "a flow", "fl oz/min, qt/min, gal/min, gal/h, mL/min, L/min, L/h", ["fl oz/min", "mL/min"],
        100_000_000, "100,000 L/min";
    SPEED: Speed, "a speed", "ft/min, mph, m/s, m/min, km/h", ["ft/min", "m/s"], 100, "100 m/s";
    PRESSURE: Pressure, "a pressure", "psi, kPa, bar", ["psi", "kPa"], 100_000, "100,000 kPa";
    TIME: Time, "a time", "s, min, h, days, weeks", ["min", "h"], 316_224_000, "3,660 days";
    TEMPERATURE: Temperature, "a temperature", "°F, °C", ["°F", "°C"], 1000, "1,000 °C";
    DENSITY: MassPerVolume, "a density", "kg/L, g/mL, g/cm3, lb/gal", ["kg/L", "g/mL"], 25, "25 kg/L";
    SHARE: Share, "a share of a whole", "%", ["%", "%"], 1, "100 %";
    STRENGTH: Strength, "a strength", "ppm, mg/L, g/L", ["ppm", "mg/L"], 2_000_000, "2,000,000 mg/L";
    TABLETS: Count, "a number of tablets", "tablets", ["tablets", "tablets"], 1_000_000, "1,000,000 tablets";
    FILM: Film, "a coverage", "ft2/gal, m2/L, mL/m2, gal/200 ft2", ["ft²/gal", "mL/m²"],
        100_000, "100,000 mL/m²";
    DILUTION: VolumePerVolume, "a dilution", "fl oz/gal, mL/L, g/L, tablets/gal, %, ppm, 1:64, 1 in 64",
        ["fl oz/gal", "mL/L"], 1_000_000_000, "1,000,000 L";
    CONTENT: MassPerMass, "a content", "% (by mass), % w/v, % trade, % v/v, g/kg, g/L, g/tablet", ["%", "g/L"],
        1, "100 %";
}

impl Wanted {
    /// Refuses what is below 0 or beyond belief.
    pub(crate) fn bound(&self, value: &Number, written: &str) -> Result<(), QuantityError> {
        if value.is_negative() {
            return Err(QuantityError::negative(written, self.noun));
        }
        if *value > self.most {
            return Err(QuantityError::too_large(written, self.noun, self.most_words));
        }
        Ok(())
    }

    /// What to write instead of a bare number, `15`: `15 gal`, or as much in the other system, `57 L`.
    pub(crate) fn examples(&self, value: &Number, written: &str) -> Vec<String> {
        let [first, second] = self.usual;
        let same_number = |unit: &str| format!("{written} {unit}");
        let converted = match (unit::by_symbol(first), unit::by_symbol(second)) {
            (Some(us), Some(si)) if us.system != si.system && self.dimension != Dimension::Temperature => {
                let as_much = value * &(us.factor() / si.factor());
                format!("{} {second}", Notation::english().significant(&as_much, 2))
            }
            _ => same_number(second),
        };
        let mut examples = vec![same_number(first), converted];
        examples.dedup();
        examples
    }

    /// The same, where nothing was written.
    pub(crate) fn examples_from_nothing(&self) -> Vec<String> {
        if self.dimension == Dimension::VolumePerVolume {
            return vec!["2 fl oz/gal".into(), "1:64".into()];
        }
        self.examples(&Number::int(10), "10")
    }
}
