//! The one place where exact figures turn into real ones: logarithm and exponential, and the way back.
//!
//! They serve estimates only (drying, air, droplets). The last digit of a double may differ between machines, so an
//! estimate goes back to a [`Number`] through a whole step far coarser than that, rounded to the side that protects.

use crate::quantity::Number;

/// Natural logarithm of a number above nought.
pub fn ln(value: f64) -> f64 {
    value.ln()
}

/// e to the power of `value`.
pub fn exp(value: f64) -> f64 {
    value.exp()
}

/// `base` to the power of `exponent`, by logarithm; for a base above nought.
pub fn power(base: f64, exponent: f64) -> f64 {
    exp(exponent * ln(base))
}

/// Rounded down to a whole number; `None` if it is not finite or not below 10¹⁵.
pub fn whole_below(value: f64) -> Option<Number> {
    whole(value.floor())
}

/// Rounded up to a whole number; `None` if it is not finite or not below 10¹⁵.
pub fn whole_above(value: f64) -> Option<Number> {
    whole(value.ceil())
}

fn whole(value: f64) -> Option<Number> {
    (value.is_finite() && value.abs() < 1e15).then(|| Number::int(value as i64))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn back_to_whole_numbers() {
        assert_eq!(whole_below(79.9), Some(Number::int(79)));
        assert_eq!(whole_above(79.1), Some(Number::int(80)));
        assert_eq!(whole_above(f64::INFINITY), None);
        assert_eq!(whole_below(f64::NAN), None);
        assert!((power(2.0, 10.0) - 1024.0).abs() < 1e-9);
    }
}
