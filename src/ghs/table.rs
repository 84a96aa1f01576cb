//! Cells of the built-in tables.

use std::str::FromStr;

use serde::de::Error;
use serde::{Deserialize, Deserializer};

use crate::quantity::Number;

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
