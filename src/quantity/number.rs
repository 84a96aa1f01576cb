//! Exact numbers: a rational inside, a decimal only in print.

use std::cmp::Ordering;
use std::fmt;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub};

use dashu_int::ops::{Abs, UnsignedAbs};
use dashu_int::{IBig, Sign, UBig};
use dashu_ratio::RBig;
use serde::{Serialize, Serializer};

/// An exact rational number. Nothing is rounded until somebody asks for it by name.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Number(RBig);

impl Number {
    pub fn zero() -> Self {
        Number(RBig::ZERO)
    }

    pub fn one() -> Self {
        Number(RBig::ONE)
    }

    pub fn int(value: i64) -> Self {
        Number(RBig::from(value))
    }

    /// `top / bottom`, exactly.
    ///
    /// # Panics
    /// If `bottom` is 0: only constants in the source are made this way.
    pub fn ratio(top: i64, bottom: i64) -> Self {
        Number(RBig::from_parts_signed(top.into(), bottom.into()))
    }

    /// Digits with an optional sign, decimal point and exponent (`-12.50`, `1e3`), exactly as written.
    /// `None` for anything else, for more than 40 digits and for an exponent beyond ±40: no such figure is meant.
    pub fn parse(text: &str) -> Option<Self> {
        let (mantissa, exponent) = match text.split_once(['e', 'E']) {
            Some((mantissa, exponent)) => (mantissa, exponent.parse::<i32>().ok()?),
            None => (text, 0),
        };
        let (negative, digits) = match mantissa.strip_prefix('-') {
            Some(rest) => (true, rest),
            None => (false, mantissa.strip_prefix('+').unwrap_or(mantissa)),
        };
        let (whole, part) = digits.split_once('.').unwrap_or((digits, ""));
        let written = whole.len() + part.len();
        let only_digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
        if written == 0 || written > 40 || exponent.abs() > 40 || !only_digits(whole) || !only_digits(part) {
            return None;
        }
        let value: IBig = format!("{whole}{part}").parse().ok()?;
        let scale = exponent - i32::try_from(part.len()).ok()?;
        let power = UBig::from(10u8).pow(usize::try_from(scale.unsigned_abs()).ok()?);
        let magnitude = if scale < 0 { RBig::from_parts(value, power) } else { RBig::from(value * power) };
        Some(Number(if negative { -magnitude } else { magnitude }))
    }

    /// The nearest binary floating-point number: for print, for JSON and for the transcendental functions only.
    pub fn to_f64(&self) -> f64 {
        self.0.to_f64().value()
    }

    /// The exact value of a finite double; `None` for NaN and infinities.
    pub fn from_f64(value: f64) -> Option<Self> {
        RBig::try_from(value).ok().map(Number)
    }

    pub fn is_zero(&self) -> bool {
        self.0.is_zero()
    }

    pub fn is_negative(&self) -> bool {
        self.0.sign() == Sign::Negative && !self.is_zero()
    }

    pub fn is_positive(&self) -> bool {
        self.0.sign() == Sign::Positive && !self.is_zero()
    }

    pub fn is_integer(&self) -> bool {
        self.0.is_int()
    }

    pub fn abs(&self) -> Self {
        Number(self.0.clone().abs())
    }

    /// One over it; `None` for 0.
    pub fn recip(&self) -> Option<Self> {
        (!self.is_zero()).then(|| Number(RBig::ONE / &self.0))
    }

    /// The largest whole multiple of `step` that is not above it. A step of 0 leaves it as it is.
    pub fn floor_to(&self, step: &Number) -> Self {
        if step.is_zero() { self.clone() } else { Number(RBig::from((&self.0 / &step.0).floor()) * &step.0) }
    }

    /// The smallest whole multiple of `step` that is not below it. A step of 0 leaves it as it is.
    pub fn ceil_to(&self, step: &Number) -> Self {
        if step.is_zero() { self.clone() } else { Number(RBig::from((&self.0 / &step.0).ceil()) * &step.0) }
    }

    /// The nearest whole multiple of `step`, halves away from 0. A step of 0 leaves it as it is.
    pub fn round_to(&self, step: &Number) -> Self {
        if step.is_zero() { self.clone() } else { Number(RBig::from((&self.0 / &step.0).round()) * &step.0) }
    }

    /// Its whole part, if that fits; for counts.
    pub fn to_i64(&self) -> Option<i64> {
        i64::try_from(self.0.trunc()).ok()
    }

    /// Top and bottom of the fraction in lowest terms, as text.
    pub fn fraction(&self) -> (String, String) {
        (self.0.numerator().to_string(), self.0.denominator().to_string())
    }

    /// As a decimal rounded (halves away from 0) to at most `places` places, trailing zeros dropped: `12.5`.
    pub fn decimal(&self, places: u32) -> String {
        let scaled = (&self.0 * RBig::from(UBig::from(10u8).pow(places as usize))).round();
        let negative = scaled.sign() == Sign::Negative;
        let digits = format!("{:0>width$}", scaled.unsigned_abs().to_string(), width = places as usize + 1);
        let (whole, part) = digits.split_at(digits.len() - places as usize);
        let part = part.trim_end_matches('0');
        let sign = if negative { "-" } else { "" };
        if part.is_empty() { format!("{sign}{whole}") } else { format!("{sign}{whole}.{part}") }
    }
}

impl From<i64> for Number {
    fn from(value: i64) -> Self {
        Number::int(value)
    }
}

impl fmt::Display for Number {
    /// At most six decimals; use the printers in [`super::print`] for readers.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.decimal(6))
    }
}

impl Serialize for Number {
    /// A JSON number: whole when it is whole, else the nearest double.
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match (self.is_integer(), i64::try_from(self.0.trunc()).ok()) {
            (true, Some(whole)) if whole.unsigned_abs() < 1 << 53 => serializer.serialize_i64(whole),
            _ => serializer.serialize_f64(self.to_f64()),
        }
    }
}

macro_rules! operators {
    ($($trait:ident $method:ident $left:ty, $right:ty;)+) => {$(
        impl $trait<$right> for $left {
            type Output = Number;
            fn $method(self, other: $right) -> Number {
                Number((&self.0).$method(&other.0))
            }
        }
    )+};
}

operators! {
    Add add Number, Number; Add add &Number, &Number; Add add Number, &Number; Add add &Number, Number;
    Sub sub Number, Number; Sub sub &Number, &Number; Sub sub Number, &Number; Sub sub &Number, Number;
    Mul mul Number, Number; Mul mul &Number, &Number; Mul mul Number, &Number; Mul mul &Number, Number;
    Div div Number, Number; Div div &Number, &Number; Div div Number, &Number; Div div &Number, Number;
}

impl Neg for Number {
    type Output = Number;
    fn neg(self) -> Number {
        Number(-self.0)
    }
}

impl AddAssign<&Number> for Number {
    fn add_assign(&mut self, other: &Number) {
        self.0 += &other.0;
    }
}

impl std::iter::Sum for Number {
    fn sum<I: Iterator<Item = Number>>(iter: I) -> Number {
        iter.fold(Number::zero(), |sum, next| sum + next)
    }
}

impl PartialEq<i64> for Number {
    fn eq(&self, other: &i64) -> bool {
        *self == Number::int(*other)
    }
}

impl PartialOrd<i64> for Number {
    fn partial_cmp(&self, other: &i64) -> Option<Ordering> {
        self.partial_cmp(&Number::int(*other))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_are_exact() {
        let tenth = Number::parse("0.1").unwrap();
        assert_eq!(&tenth + &tenth + &tenth, Number::parse("0.3").unwrap());
        assert_eq!(Number::parse("1.5e3").unwrap(), 1500);
        assert_eq!(Number::parse("-2.50").unwrap().decimal(3), "-2.5");
        for bad in ["", ".", "1.2.3", "NaN", "inf", "1e999", "0x10", "１"] {
            assert!(Number::parse(bad).is_none(), "{bad}");
        }
    }

    #[test]
    fn steps_go_the_asked_way() {
        let step = Number::ratio(1, 2);
        let value = Number::parse("7.3").unwrap();
        assert_eq!(value.ceil_to(&step).decimal(2), "7.5");
        assert_eq!(value.floor_to(&step).decimal(2), "7");
        assert_eq!(value.round_to(&step).decimal(2), "7.5");
        assert_eq!(Number::ratio(15, 2).ceil_to(&step), Number::ratio(15, 2));
    }

    #[test]
    fn decimal_rounds_half_up_and_drops_zeros() {
        assert_eq!(Number::ratio(1, 8).decimal(2), "0.13");
        assert_eq!(Number::int(-3).decimal(2), "-3");
        assert_eq!(Number::ratio(-1, 3).decimal(2), "-0.33");
    }
}
