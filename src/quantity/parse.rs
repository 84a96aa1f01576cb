//! One function a kind of quantity: from what people write to an exact value, or to an error in their words.
//!
//! Letters' case, full stops after abbreviations and plurals do not matter; `2,250` has a thousands separator; `½`, `5 1/2`
//! and `5½` are fractions; `5 ft 6 in` adds up. No text makes any of these panic, and text over 200 characters is refused.

use super::error::{Problem, QuantityError, quote};
use super::expression::{Ounce, Reading, Value};
use super::kinds::{
    Area, Density, Film, Flow, Length, Mass, Pressure, Share, Speed, Strength, Temperature, Time, Volume,
};
use super::number::Number;
use super::scan::Token;
use super::unit::Dimension;
use super::wanted::{self, Wanted};

pub use super::extent::extent;
pub use super::scale::scale;

/// A volume: `15 gal`, `2 gal 1 qt`, `7.5 fl oz`, `500 mL`. A lone `oz` is refused: it may be a weight.
///
/// # Errors
/// As all of this module: no unit, an unknown one, one of another dimension, below 0, above 1,000,000 L.
pub fn volume(text: &str) -> Result<Volume, QuantityError> {
    measure(text, wanted::VOLUME, Ounce::Refuse).map(Volume::millilitres)
}

/// A mass: `2 lb 3 oz`, `10 g`. Asked for a mass, `oz` is an ounce by weight.
///
/// # Errors
/// See [`volume`]; above 1,000,000 kg.
pub fn mass(text: &str) -> Result<Mass, QuantityError> {
    measure(text, wanted::MASS, Ounce::Weight).map(Mass::grams)
}

/// A length: `5 ft 6 in`, `20 µm`, `20 microns`, `1.8 m`.
///
/// # Errors
/// See [`volume`]; above 10 km.
pub fn length(text: &str) -> Result<Length, QuantityError> {
    measure(text, wanted::LENGTH, Ounce::Refuse).map(Length::metres)
}

/// An area: `2,250 sq ft`, `209 m²`, `1 acre` (the international one).
///
/// # Errors
/// See [`volume`]; above 10,000,000 m².
pub fn area(text: &str) -> Result<Area, QuantityError> {
    measure(text, wanted::AREA, Ounce::Refuse).map(Area::square_metres)
}

/// A flow: `8.9 fl oz/min`, `0.5 gpm`, `15 L/h`.
///
/// # Errors
/// See [`volume`]; above 100,000 L/min.
pub fn flow(text: &str) -> Result<Flow, QuantityError> {
    measure(text, wanted::FLOW, Ounce::Refuse).map(Flow::millilitres_per_minute)
}

/// A speed: `88 ft/min`, `1 mph`, `0.5 m/s`.
///
/// # Errors
/// See [`volume`]; above 100 m/s.
pub fn speed(text: &str) -> Result<Speed, QuantityError> {
    measure(text, wanted::SPEED, Ounce::Refuse).map(Speed::metres_per_second)
}

/// A pressure: `40 psi`, `276 kPa`, `3 bar`.
///
/// # Errors
/// See [`volume`]; above 100,000 kPa.
pub fn pressure(text: &str) -> Result<Pressure, QuantityError> {
    measure(text, wanted::PRESSURE, Ounce::Refuse).map(Pressure::kilopascals)
}

/// A length of time: `10 min`, `1 h 30 min`, `7 days`.
///
/// # Errors
/// See [`volume`]; above 3,660 days.
pub fn time(text: &str) -> Result<Time, QuantityError> {
    measure(text, wanted::TIME, Ounce::Refuse).map(Time::seconds)
}

/// A temperature, the only kind that may be below nought: `72 °F`, `-5 C`.
///
/// # Errors
/// See [`volume`]; below −273.15 °C, above 1,000 °C.
pub fn temperature(text: &str) -> Result<Temperature, QuantityError> {
    let reading = Reading::new(text, wanted::TEMPERATURE);
    let number = reading.of_dimension(&reading.tokens()?)?;
    if number < Number::ratio(-27_315, 100) {
        return Err(Problem::TooCold { text: quote(text) }.into());
    }
    wanted::TEMPERATURE.bound(&number.abs(), quote(text))?;
    Ok(Temperature::celsius(number))
}

/// A density above 0: `0.99 kg/L`, `1.2 g/cm3`, `8.3 lb/gal`. A specific gravity has no unit and is refused, with what to
/// write.
///
/// # Errors
/// See [`volume`]; 0, and above 25 kg/L.
pub fn density(text: &str) -> Result<Density, QuantityError> {
    let number = measure(text, wanted::DENSITY, Ounce::Weight).map_err(|mut error| {
        if bare(text).is_some() {
            error.hints.push("a specific gravity is, near enough, the density in kg/L".into());
        }
        error
    })?;
    if number.is_zero() {
        return Reading::new(text, wanted::DENSITY).refuse("a density is above 0", &[]);
    }
    Ok(Density::kilograms_per_litre(number))
}

/// A share of a whole: `10 %`, from 0 to 100 %.
///
/// # Errors
/// See [`volume`]; above 100 %.
pub fn share(text: &str) -> Result<Share, QuantityError> {
    measure(text, wanted::SHARE, Ounce::Refuse).map(Share::of_one)
}

/// A strength: `400 ppm`, `400 mg/L`, `10 g/L`. As test strips do, ppm is read as mg/L.
///
/// # Errors
/// See [`volume`]; above 2,000,000 mg/L.
pub fn strength(text: &str) -> Result<Strength, QuantityError> {
    measure(text, wanted::STRENGTH, Ounce::Refuse).map(Strength::milligrams_per_litre)
}

/// A coverage, either way round: `200 ft2/gal`, `1 gal/200 ft2`, `50 mL/m2`, `1 L per 20 m2`.
///
/// # Errors
/// See [`volume`]; no area at all, and above 100,000 mL/m².
pub fn film(text: &str) -> Result<Film, QuantityError> {
    measure(text, wanted::FILM, Ounce::Refuse).map(Film::millilitres_per_square_metre)
}

/// A plain number without a unit, from 0 to 1,000,000,000: `4`, `1,250`, `2½`.
///
/// # Errors
/// Anything else.
pub fn number(text: &str) -> Result<Number, QuantityError> {
    // Only the text of messages comes from what is wanted here; a number has no unit to suggest.
    let reading = Reading::new(text, wanted::SHARE);
    let tokens = super::scan::scan(text)?;
    match tokens.as_slice() {
        [Token::Number { value, .. }] if *value <= 1_000_000_000 => Ok(value.clone()),
        [Token::Number { .. }] => {
            Err(Problem::TooLarge { text: quote(text), wanted: "a number", most: "1,000,000,000" }.into())
        }
        [Token::Minus, Token::Number { .. }] => Err(Problem::Negative { text: quote(text), wanted: "a number" }.into()),
        _ => reading.refuse("a plain number is wanted here", &["write only the number, without a unit: `4`"]),
    }
}

/// A whole number from 0 to 1,000,000.
///
/// # Errors
/// Anything else.
pub fn count(text: &str) -> Result<u32, QuantityError> {
    let value = number(text)?;
    let reading = Reading::new(text, wanted::SHARE);
    match value.to_i64().and_then(|whole| u32::try_from(whole).ok()) {
        Some(whole) if value.is_integer() && whole <= 1_000_000 => Ok(whole),
        _ => reading.refuse("a whole number up to 1,000,000 is wanted here", &[]),
    }
}

/// The number, where the text is a number and nothing else.
pub(crate) fn bare(text: &str) -> Option<(Number, String)> {
    match super::scan::scan(text).ok()?.as_slice() {
        [Token::Number { value, text, .. }] => Some((value.clone(), text.clone())),
        _ => None,
    }
}

fn measure(text: &str, wanted: &'static Wanted, ounce: Ounce) -> Result<Number, QuantityError> {
    let reading = Reading::new(text, wanted).ounce(ounce);
    let tokens = reading.tokens()?;
    reading.measured(&tokens)
}

impl Reading<'_> {
    /// The value of the tokens in the base unit of what is wanted, within its bounds.
    pub(crate) fn measured(&self, tokens: &[Token]) -> Result<Number, QuantityError> {
        let number = self.of_dimension(tokens)?;
        self.wanted.bound(&number, quote(self.text))?;
        Ok(number)
    }

    /// The value of the tokens in the base unit of what is wanted.
    fn of_dimension(&self, tokens: &[Token]) -> Result<Number, QuantityError> {
        let Value { number, dimension } = self.expression(tokens)?;
        match (self.wanted.dimension, dimension) {
            (wanted, found) if wanted == found => Ok(number),
            // g/mL to mg/L.
            (Dimension::Strength, Dimension::MassPerVolume) => Ok(number * Number::int(1_000_000)),
            (_, found) => self.wrong_dimension(found.noun()),
        }
    }
}
