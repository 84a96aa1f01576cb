//! What people write, exactly: volumes, masses, areas, flows, strengths, times; and how they are printed for US and SI readers.

mod content_text;
pub mod dilution;
mod dilution_range;
mod dilution_text;
mod error;
mod expression;
pub mod extent;
mod figure;
pub mod kinds;
pub mod notation;
pub mod number;
pub mod parse;
pub mod print;
mod print_dilution;
pub mod range;
pub mod scale;
mod scan;
#[cfg(test)]
mod tests;
mod unit;
mod wanted;

pub use dilution::{Basis, Content, Dilution, Form};
pub use error::QuantityError;
pub use extent::Extent;
pub use kinds::{Area, Density, Film, Flow, Length, Mass, Pressure, Share, Speed, Strength, Temperature, Time, Volume};
pub use notation::Notation;
pub use number::Number;
pub use parse::number;
pub use print::{Printer, Shown};
pub use range::{Range, Readable};
pub use unit::System;
