//! From estimates in real numbers (drying, air, droplets) back to exact ones. The last digit of a double may differ between
//! machines, so an estimate goes back through a whole step far coarser than that, rounded to the side that protects.

use crate::quantity::Number;

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

#[test]
fn back_to_whole_numbers() {
    assert_eq!(whole_below(79.9), Some(Number::int(79)));
    assert_eq!(whole_above(79.1), Some(Number::int(80)));
    assert_eq!(whole_above(f64::INFINITY), None);
    assert_eq!(whole_below(f64::NAN), None);
}
