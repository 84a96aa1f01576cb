//! What a calculation needs and was not given, or was given and cannot use.

use thiserror::Error;

use crate::quantity::Number;

/// Why a calculation has no result. Each is about the numbers handed in; where they came from is for the caller to say.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum CalcError {
    #[error("a content by weight of a liquid needs the liquid's density (kg/L)")]
    MissingDensity,
    #[error("a content by volume needs the density of the active substance (kg/L)")]
    MissingActiveDensity,
    #[error("a dilution to a target strength needs the content of the active that the strip measures")]
    MissingContent,
    /// The dilution or the content is written for another form of product; both in words.
    #[error("{what} does not fit a product that is {form}")]
    WrongForm { what: &'static str, form: &'static str },
    #[error("{what} must be above zero")]
    NotPositive { what: &'static str },
    /// A figure is outside the range in which its formula holds; the range in words.
    #[error("{what} must be {range}")]
    OutOfRange { what: &'static str, range: &'static str },
    #[error("the dilution leaves no room for water: the product is the whole solution or more")]
    NoRoomForWater,
    #[error("the product holds too little of the active to reach the target strength")]
    TargetTooStrong,
    #[error("the strip's blocks must be given in rising order, with at least two of them")]
    BadStrip,
    #[error("the tank does not hold one graduation of water with its product")]
    TankTooSmall,
    #[error("no fill of the vessel puts the product on a mark at the label's dose")]
    DoseOffMarks,
    #[error("that would take more than {most} loads")]
    TooManyLoads { most: u32 },
    #[error("the film dries so fast that it would take more than {most} applications to keep the surface wet")]
    TooManyApplications { most: u32 },
}

/// `value`, if it is above 0.
pub(super) fn positive<'a>(value: &'a Number, what: &'static str) -> Result<&'a Number, CalcError> {
    if value.is_positive() { Ok(value) } else { Err(CalcError::NotPositive { what }) }
}
