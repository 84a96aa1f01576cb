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

/// The rows of a table that is part of the program: CSV below `#` comments and a line of column names.
pub(crate) fn built_in<T: serde::de::DeserializeOwned>(text: &'static str) -> Vec<T> {
    let rows = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes()).into_deserialize();
    rows.map(|row| row.expect("the tests read every row of every built-in table")).collect()
}
