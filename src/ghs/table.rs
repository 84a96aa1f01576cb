//! Reading the built-in tables: CSV with a heading, comments after `#`.

use std::str::FromStr;

use serde::de::{DeserializeOwned, Error};
use serde::{Deserialize, Deserializer};

use crate::quantity::Number;

/// # Panics
/// If a row is not of the form: the tables are compiled in, and tests read every one.
pub fn rows<T: DeserializeOwned>(table: &str) -> Vec<T> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(table.as_bytes());
    let rows: Result<Vec<T>, csv::Error> = reader.deserialize().collect();
    rows.unwrap_or_else(|e| panic!("a built-in table cannot be read: {e}"))
}

/// A cell that is read from its text.
pub fn parsed<'de, D: Deserializer<'de>, T: FromStr>(cell: D) -> Result<T, D::Error> {
    let text = String::deserialize(cell)?;
    text.parse().map_err(|_| D::Error::custom(format!("`{text}` means nothing here")))
}

/// A cell of any number of words, spaces between them.
pub fn words<'de, D: Deserializer<'de>, T: FromStr>(cell: D) -> Result<Vec<T>, D::Error> {
    let text = String::deserialize(cell)?;
    let all: Result<Vec<T>, _> = text.split_whitespace().map(str::parse).collect();
    all.map_err(|_| D::Error::custom(format!("`{text}` means nothing here")))
}

/// A cell with a number.
pub fn number<'de, D: Deserializer<'de>>(cell: D) -> Result<Number, D::Error> {
    optional_number(cell)?.ok_or_else(|| D::Error::custom("a number is missing"))
}

/// A cell with a number or nothing.
pub fn optional_number<'de, D: Deserializer<'de>>(cell: D) -> Result<Option<Number>, D::Error> {
    let text = String::deserialize(cell)?;
    if text.is_empty() {
        return Ok(None);
    }
    Number::parse(&text).map(Some).ok_or_else(|| D::Error::custom(format!("`{text}` is not a number")))
}
