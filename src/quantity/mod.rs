//! What people write, exactly: volumes, masses, areas, flows, strengths, times; and how they are printed for US and SI readers.

mod content_text;
pub mod dilution;
mod dilution_range;
mod dilution_text;
#[cfg(test)]
mod dilution_text_tests;
pub mod dose;
mod error;
mod expression;
pub mod extent;
mod figure;
pub mod kinds;
pub mod notation;
pub mod number;
pub mod parse;
#[cfg(test)]
mod parse_tests;
pub mod print;
mod print_dilution;
#[cfg(test)]
mod print_tests;
pub mod range;
pub mod scale;
mod scan;
#[cfg(test)]
mod scan_tests;
mod unit;
mod wanted;

pub use dilution::{Basis, Content, Dilution};
pub use dose::Form;
pub use error::QuantityError;
pub use extent::Extent;
pub use kinds::{Area, Density, Film, Flow, Length, Mass, Pressure, Share, Speed, Strength, Temperature, Time, Volume};
pub use notation::Notation;
pub use number::Number;
pub use parse::number;
pub use print::{Printer, Shown};
pub use range::{Range, Readable};
pub use unit::System;
