//! Short ways to write figures in this module's tests.

use crate::quantity::{Density, Number, Share, Strength, Volume};

pub fn n(text: &str) -> Number {
    Number::parse(text).unwrap()
}

pub fn litres(text: &str) -> Volume {
    Volume::millilitres(n(text) * Number::int(1000))
}

/// US gallons of 3785.411784 mL (231 cubic inches; NIST Handbook 44, Appendix C).
pub fn gallons(text: &str) -> Volume {
    Volume::millilitres(n(text) * n("3785.411784"))
}

/// US fluid ounces, 128 to the gallon (NIST Handbook 44, Appendix C).
pub fn fluid_ounces(text: &str) -> Volume {
    Volume::millilitres(n(text) * n("29.5735295625"))
}

pub fn ppm(text: &str) -> Strength {
    Strength::milligrams_per_litre(n(text))
}

pub fn percent(text: &str) -> Share {
    Share::percent(n(text))
}

pub fn kg_per_l(text: &str) -> Density {
    Density::kilograms_per_litre(n(text))
}

/// Asserts that two figures are within a share of the second.
#[track_caller]
pub fn near(value: f64, published: f64, tolerance: f64) {
    let error = (value - published).abs() / published.abs();
    assert!(error <= tolerance, "{value} is not {published} within {tolerance}: off by {error}");
}
