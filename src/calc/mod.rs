//! Pure calculations: numbers in, numbers out, each with its formula, units and source. Nothing is read, printed or
//! rounded for a reader.

pub mod amount;
pub mod chlorine;
pub mod coverage;
pub mod dilution;
pub mod droplet;
pub mod drying;
pub mod error;
pub mod family;
pub mod food_code;
pub mod food_contact;
pub mod food_contact_limits;
mod humid_air;
pub mod loads;
pub mod mixing;
pub mod never_words;
mod real;
pub mod strength;
pub mod strip;
pub mod vapour;
pub mod ventilation;

#[cfg(test)]
mod testing;

use crate::quantity::built_in;

pub use amount::Amount;
pub use dilution::Ratio;
pub use error::CalcError;
pub use strength::Concentrate;
