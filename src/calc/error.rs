//! What a calculation needs and was not given, or was given and cannot use.

use thiserror::Error;

/// Why a calculation has no result. Each is about the numbers handed in; where they came from is for the caller to say.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum CalcError {
    /// A content by weight of a liquid says nothing in mg/L until the liquid's density is known.
    #[error("a content by weight of a liquid needs the liquid's density (kg/L)")]
    MissingDensity,
    /// A content by volume (`% v/v`) needs the density of the substance itself.
    #[error("a content by volume needs the density of the active substance (kg/L)")]
    MissingActiveDensity,
    /// A target strength can be dosed only from the content of what the strip measures.
    #[error("a dilution to a target strength needs the content of the active that the strip measures")]
    MissingContent,
    /// The dilution or the content is written for another form of product.
    #[error("{what} does not fit a product that is {form}")]
    WrongForm {
        /// What was written, in words.
        what: &'static str,
        /// The product's form, in words.
        form: &'static str,
    },
    /// A figure that must be above nought is not.
    #[error("{what} must be above nought")]
    NotPositive {
        /// Which figure.
        what: &'static str,
    },
    /// A figure is outside the range in which its formula holds.
    #[error("{what} must be {range}")]
    OutOfRange {
        /// Which figure.
        what: &'static str,
        /// The range, in words.
        range: &'static str,
    },
    /// There is no room for water: the product is as much as the whole solution or more.
    #[error("the dilution leaves no room for water: the product is the whole solution or more")]
    NoRoomForWater,
    /// The concentrate is weaker than, or just as strong as, what should be mixed from it.
    #[error("the product holds too little of the active to reach the target strength")]
    TargetTooStrong,
    /// Strip blocks must rise, each above the one before, and there must be one at least.
    #[error("the strip's blocks must be given in rising order, with at least two of them")]
    BadStrip,
    /// One graduation of water and its product do not fit the tank.
    #[error("the tank does not hold one graduation of water with its product")]
    TankTooSmall,
    /// No fill of the vessel puts the product on a mark near enough to the label's dose.
    #[error("no fill of the vessel puts the product on a mark at the label's dose")]
    DoseOffMarks,
    /// More loads than anybody mixes on one visit.
    #[error("that would take more than {most} loads")]
    TooManyLoads {
        /// The bound.
        most: u32,
    },
    /// More applications than anybody makes.
    #[error("the film dries so fast that it would take more than {most} applications to keep the surface wet")]
    TooManyApplications {
        /// The bound.
        most: u32,
    },
}

/// `value`, if it is above nought.
pub(super) fn positive<'a>(
    value: &'a crate::quantity::Number,
    what: &'static str,
) -> Result<&'a crate::quantity::Number, CalcError> {
    if value.is_positive() { Ok(value) } else { Err(CalcError::NotPositive { what }) }
}
