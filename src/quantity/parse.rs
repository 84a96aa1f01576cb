//! One function a kind of quantity: from what people write to an exact value, or to an error in their words.
//!
//! Letters' case, full stops after abbreviations and plurals do not matter; `2,250` has a thousands separator; `½`, `5 1/2`
//! and `5½` are fractions; `5 ft 6 in` adds up. No text makes any of these panic, and text over 200 characters is refused.

use super::error::{QuantityError, quote};
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

macro_rules! readers {
    ($($(#[$doc:meta])* $name:ident: $kind:ident $make:ident, $wanted:ident, $ounce:ident;)+) => {$(
        $(#[$doc])*
        pub fn $name(text: &str) -> Result<$kind, QuantityError> {
            measure(text, wanted::$wanted, Ounce::$ounce).map($kind::$make)
        }
    )+};
}

// Each refuses: no unit, an unknown one, one of another dimension, below 0, above the bound of its row in `wanted`.
readers! {
    /// `15 gal`, `2 gal 1 qt`, `7.5 fl oz`, `500 mL`. A lone `oz` is refused: it may be a weight.
    volume: Volume millilitres, VOLUME, Refuse;
    /// `2 lb 3 oz`, `10 g`. Asked for a mass, `oz` is an ounce by weight.
    mass: Mass grams, MASS, Weight;
    /// `5 ft 6 in`, `20 µm`, `20 microns`, `1.8 m`.
    length: Length metres, LENGTH, Refuse;
    /// `2,250 sq ft`, `209 m²`, `1 acre` (the international one).
    area: Area square_metres, AREA, Refuse;
    /// `8.9 fl oz/min`, `0.5 gpm`, `15 L/h`.
    flow: Flow millilitres_per_minute, FLOW, Refuse;
    /// `88 ft/min`, `1 mph`, `0.5 m/s`.
    speed: Speed metres_per_second, SPEED, Refuse;
    /// `40 psi`, `276 kPa`, `3 bar`.
    pressure: Pressure kilopascals, PRESSURE, Refuse;
    /// `10 min`, `1 h 30 min`, `7 days`.
    time: Time seconds, TIME, Refuse;
    /// `10 %`, from 0 to 100 %.
    share: Share of_one, SHARE, Refuse;
    /// `400 ppm`, `400 mg/L`, `10 g/L`. As test strips do, ppm is read as mg/L.
    strength: Strength milligrams_per_litre, STRENGTH, Refuse;
    /// A coverage, either way round: `200 ft2/gal`, `1 gal/200 ft2`, `50 mL/m2`, `1 L per 20 m2`.
    film: Film millilitres_per_square_metre, FILM, Refuse;
}

/// A temperature, the only kind that may be below 0: `72 °F`, `-5 C`.
/// Refused too: below −273.15 °C, above 1,000 °C.
pub fn temperature(text: &str) -> Result<Temperature, QuantityError> {
    let reading = Reading::new(text, wanted::TEMPERATURE);
    let number = reading.of_dimension(&reading.tokens()?)?;
    if number < Number::ratio(-27_315, 100) {
        let message = format!("{} is below the lowest temperature there is, −273.15 °C", quote(text));
        return Err(QuantityError::plain(message));
    }
    wanted::TEMPERATURE.bound(&number.abs(), text)?;
    Ok(Temperature::celsius(number))
}

/// A density above 0: `0.99 kg/L`, `1.2 g/cm3`, `8.3 lb/gal`. A specific gravity has no unit and is refused, with what to
/// write.
/// Refused too: 0, and above 25 kg/L.
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

/// A plain number without a unit, from 0 to 1,000,000,000: `4`, `1,250`, `2½`.
pub fn number(text: &str) -> Result<Number, QuantityError> {
    // Only the text of messages comes from what is wanted here; a number has no unit to suggest.
    let reading = Reading::new(text, wanted::SHARE);
    let tokens = super::scan::scan(text)?;
    match tokens.as_slice() {
        [Token::Number { value, .. }] if *value <= 1_000_000_000 => Ok(value.clone()),
        [Token::Number { .. }] => Err(QuantityError::too_large(text, "a number", "1,000,000,000")),
        [Token::Minus, Token::Number { .. }] => Err(QuantityError::negative(text, "a number")),
        _ => reading.refuse("a plain number is wanted here", &["write only the number, without a unit: `4`"]),
    }
}

/// A whole number from 0 to 1,000,000.
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
        self.wanted.bound(&number, self.text)?;
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
