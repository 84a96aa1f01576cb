//! What is believed of each quantity that a user writes, as one table: the least, the most, and what it is called.
//!
//! No published rule gives these bounds; they are chosen because they protect. Each is far wider than real work and
//! catches a slip of the pen, which would otherwise be worked with: a swath of 1e-9 ft, a flow that empties no tank in a
//! lifetime. What lies outside is refused where it is read, with both ends in the message.

use std::marker::PhantomData;

use super::error::{QuantityError, quote};
use super::kinds::{Area, Film, Flow, Length, Mass, Pressure, Speed, Strength, Temperature, Time, Volume};
use super::number::Number;
use super::parse;

/// A quantity that can be read from text and compared in its base unit.
pub trait Readable: Sized + PartialOrd {
    /// Reads it as the function of that kind in [`super::parse`] does.
    fn read(text: &str) -> Result<Self, QuantityError>;

    /// In the base unit.
    fn figure(&self) -> &Number;
}

macro_rules! readable {
    ($($kind:ident $read:ident $figure:ident;)+) => {$(
        impl Readable for $kind {
            fn read(text: &str) -> Result<Self, QuantityError> {
                parse::$read(text)
            }
            fn figure(&self) -> &Number {
                self.$figure()
            }
        }
    )+};
}

readable! {
    Volume volume as_millilitres;
    Mass mass as_grams;
    Length length as_metres;
    Area area as_square_metres;
    Flow flow as_millilitres_per_minute;
    Speed speed as_metres_per_second;
    Pressure pressure as_kilopascals;
    Time time as_seconds;
    Temperature temperature as_celsius;
    Strength strength as_milligrams_per_litre;
    Film film as_millilitres_per_square_metre;
}

impl Readable for Number {
    fn read(text: &str) -> Result<Self, QuantityError> {
        parse::number(text)
    }
    fn figure(&self) -> &Number {
        self
    }
}

/// One row: what is believed of one quantity.
#[derive(Debug)]
pub struct Range<K> {
    /// With its article, as in "a swath lies between …".
    pub noun: &'static str,
    /// The least, as a file would write it.
    pub least: &'static str,
    /// The most, as a file would write it.
    pub most: &'static str,
    /// Both ends in US measures, where they differ.
    pub us: &'static str,
    /// Whether none of it at all is meant too.
    pub or_none: bool,
    kind: PhantomData<fn() -> K>,
}

impl<K: Readable> Range<K> {
    /// Reads a quantity that lies within the range.
    pub fn read(&self, text: &str) -> Result<K, QuantityError> {
        let value = K::read(text)?;
        self.check(&value, text)?;
        Ok(value)
    }

    /// Refuses a quantity, written as `text`, that lies outside the range.
    pub fn check(&self, value: &K, text: &str) -> Result<(), QuantityError> {
        if self.or_none && value.figure().is_zero() {
            return Ok(());
        }
        let (least, most) = (K::read(self.least)?, K::read(self.most)?);
        let wrong = if *value < least {
            "too small"
        } else if *value > most {
            "too large"
        } else {
            return Ok(());
        };
        let us = if self.us.is_empty() { String::new() } else { format!(" ({})", self.us) };
        Err(QuantityError {
            message: format!(
                "{} is {wrong}: {} lies between {} and {}{us}",
                quote(text),
                self.noun,
                self.least,
                self.most
            ),
            hints: vec!["look at the figure and at its unit again".to_owned()],
        })
    }
}

macro_rules! ranges {
    ($($(#[$doc:meta])* $name:ident: $kind:ident, $noun:literal, $least:literal, $most:literal, $us:literal, $or_none:literal;)+) => {
        $($(#[$doc])* pub const $name: Range<$kind> =
            Range { noun: $noun, least: $least, most: $most, us: $us, or_none: $or_none, kind: PhantomData };)+

        /// Noun, ends, and the same ends in US measures, in the base unit.
        #[cfg(test)]
        fn every_row() -> Vec<(&'static str, [Number; 2], Option<[Number; 2]>)> {
            vec![$({
                let figure = |text: &str| $kind::read(text).unwrap_or_else(|e| panic!("{text}: {e}")).figure().clone();
                let us = $us.split_once(" to ").map(|(least, most)| [figure(least), figure(most)]);
                ($noun, [figure($least), figure($most)], us)
            }),+]
        }
    };
}

// name: kind, noun, least, most, the same in US measures, whether none at all is meant too
ranges! {
    TANK: Volume, "a tank", "10 mL", "10,000 L", "0.34 fl oz to 2,640 gal", false;
    HOSE: Volume, "what a hose keeps", "1 mL", "100 L", "0.034 fl oz to 26 gal", true;
    FLOW: Flow, "a sprayer's flow", "1 mL/min", "200 L/min", "0.034 fl oz/min to 53 gal/min", false;
    PACE: Speed, "a pace", "1 cm/s", "10 m/s", "2 ft/min to 22 mph", false;
    SWATH: Length, "a swath", "1 cm", "30 m", "0.4 in to 98 ft", false;
    /// What stays on a surface after a cloth.
    LEFT: Film, "what stays on a surface", "0.1 mL/m2", "2,000 mL/m2", "", false;
    COVERAGE: Film, "a coverage", "0.1 mL/m2", "10,000 mL/m2", "4.1 ft2/gal to 407,000 ft2/gal", false;
    DROPLET: Length, "a droplet", "0.1 um", "5 mm", "", false;
    PRESSURE: Pressure, "a sprayer's pressure", "0.1 kPa", "50,000 kPa", "0.015 psi to 7,250 psi", true;
    WATER_MARK: Volume, "a mark for water", "0.1 mL", "200 L", "0.0034 fl oz to 53 gal", false;
    PRODUCT_MARK: Volume, "a mark for product", "0.01 mL", "20 L", "0.00034 fl oz to 5.3 gal", false;
    POWDER_MARK: Mass, "a step of the scale", "0.1 mg", "10 kg", "0.0000035 oz wt to 22 lb", false;
    /// How long a surface stays wet.
    CONTACT: Time, "a contact time", "1 s", "24 h", "", false;
    /// How long people stay out after an application.
    REENTRY: Time, "a re-entry time", "1 s", "7 days", "", true;
    KEEPS: Time, "the time a solution keeps", "1 min", "366 days", "", false;
    MIXING: Time, "the time to mix one load", "1 s", "8 h", "", true;
    /// How long a plan may be where the job says so.
    LONGEST: Time, "the longest visit", "1 min", "14 days", "", false;
    DIP: Time, "the time a strip is dipped", "0.1 s", "10 min", "", true;
    WAIT: Time, "the time a strip is waited for", "0.1 s", "1 h", "", true;
    BLOCK: Strength, "a block of a strip", "0.01 mg/L", "200,000 mg/L", "", true;
    STATED: Strength, "the strength of a use solution", "0.1 mg/L", "1,000,000 mg/L", "", true;
    /// Hardness of water as calcium carbonate. Sea water has about 6,600 mg/L.
    HARDNESS: Strength, "the hardness of water", "0.1 mg/L", "10,000 mg/L", "", true;
    TABLET: Mass, "a tablet", "1 mg", "2 kg", "0.000035 oz wt to 4.4 lb", false;
    LIQUID_CONTAINER: Volume, "a container", "1 mL", "10,000 L", "0.034 fl oz to 2,640 gal", false;
    POWDER_CONTAINER: Mass, "a container", "0.1 g", "2,000 kg", "0.0035 oz wt to 4,400 lb", false;
    FLASH: Temperature, "a flash point", "-100 C", "500 C", "-148 °F to 932 °F", false;
    BOILING: Temperature, "a boiling point", "-100 C", "1,000 C", "-148 °F to 1,832 °F", false;
    PAPER: Length, "a side of label stock", "5 mm", "10 m", "0.2 in to 394 in", false;
    SIDE: Length, "a side of a surface", "1 cm", "10 km", "0.4 in to 32,800 ft", false;
    SURFACE: Area, "an area", "0.0001 m2", "1,000,000 m2", "0.0011 ft2 to 247 acre", false;
    HEIGHT: Length, "the height of walls", "1 cm", "30 m", "0.4 in to 98 ft", false;
    LOGGED_WATER: Volume, "the water of one load", "0.1 mL", "10,000 L", "0.0034 fl oz to 2,640 gal", true;
    /// Viscosity at 40 °C, mm²/s.
    VISCOSITY: Number, "a viscosity in mm²/s", "0.1", "10,000,000", "", false;
    MOLAR_MASS: Number, "a molar mass in g/mol", "30", "10,000", "", false;
    GROUPS: Number, "the number of peroxygen groups", "1", "20", "", false;
    ATE_DOSE: Number, "an estimate in mg/kg", "0.00001", "1,000,000", "", false;
    ATE_AIR: Number, "an estimate in mg/L", "0.000001", "100,000", "", false;
    ATE_GAS: Number, "an estimate in ppm", "0.0001", "1,000,000", "", false;
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The US figures are those of the table's own ends, to two digits.
    #[test]
    fn every_row_has_two_ends_in_order_and_the_same_in_us_measures() {
        for (noun, ends, us) in every_row() {
            assert!(ends[0] < ends[1], "{noun}");
            let Some(mut us) = us else { continue };
            // A coverage the other way round has its ends exchanged.
            us.sort();
            for (us, own) in us.iter().zip(&ends) {
                assert!((us - own).abs() <= own.abs() * Number::ratio(1, 20), "{noun}: {us} is not {own}");
            }
        }
    }

    #[test]
    fn what_lies_outside_is_refused_with_both_ends() {
        let error = SWATH.read("1e-9 ft").unwrap_err();
        assert_eq!(error.message, "`1e-9 ft` is too small: a swath lies between 1 cm and 30 m (0.4 in to 98 ft)");
        assert!(FLOW.read("1e-16 fl oz/min").unwrap_err().message.contains("too small"));
        assert!(CONTACT.read("25 h").unwrap_err().message.contains("too large"));
        assert!(CONTACT.read("1 s").is_ok() && CONTACT.read("24 h").is_ok());
    }

    #[test]
    fn none_at_all_is_taken_where_it_has_a_meaning() {
        assert!(REENTRY.read("0 min").is_ok());
        assert!(CONTACT.read("0 min").is_err());
    }
}
