//! How large a surface is: a rectangle with two sides, or an area and no more.

use serde::Serialize;

use super::error::QuantityError;
use super::expression::Reading;
use super::kinds::{Area, Length};
use super::number::Number;
use super::scan::Token;
use super::wanted;

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Extent {
    /// `12 ft x 8 ft`
    Rectangle { length: Length, width: Length },
    /// `300 ft2`
    Plain { area: Area },
}

impl Extent {
    /// Its area; of a rectangle, length × width.
    pub fn area(&self) -> Area {
        match self {
            Extent::Rectangle { length, width } => Area::square_metres(length.as_metres() * width.as_metres()),
            Extent::Plain { area } => area.clone(),
        }
    }

    /// The length of its edge, 2 × (length + width); `None` where only an area is known.
    pub fn perimeter(&self) -> Option<Length> {
        match self {
            Extent::Rectangle { length, width } => Some((length + width).times(&Number::int(2))),
            Extent::Plain { .. } => None,
        }
    }
}

/// An extent: `12 ft x 8 ft`, `3.5 m × 2 m`, `12 x 8 ft` (both sides in feet), `300 ft2`.
pub fn extent(text: &str) -> Result<Extent, QuantityError> {
    let plain = Reading::new(text, wanted::AREA);
    let tokens = plain.tokens()?;
    let mut sides = tokens.split(|token| token.is("x") || token.is("by"));
    let (Some(first), second, third) = (sides.next(), sides.next(), sides.next()) else {
        // A split always has a first piece.
        return plain.refuse("nothing is written", &[]);
    };
    let Some(second) = second else {
        let area = plain.measured(first).map(|area| Extent::Plain { area: Area::square_metres(area) });
        // one side alone
        return area.map_err(|mut error| {
            if Reading::new(text, wanted::LENGTH).measured(first).is_ok() {
                error.hints.insert(0, format!("write both sides, such as `{} x {}`", text.trim(), text.trim()));
            }
            error
        });
    };
    if third.is_some() {
        return plain.refuse(
            "a surface has two sides",
            &["write length × width, such as `12 ft x 8 ft`; a height has a place of its own"],
        );
    }
    let reading = Reading::new(text, wanted::LENGTH);
    let width = reading.measured(second)?;
    let length = match (first, second) {
        // `12 x 8 ft`: a side without a unit has the other's, where that is one unit.
        ([Token::Number { .. }], [Token::Number { .. }, unit @ ..])
            if unit.iter().all(|token| matches!(token, Token::Word(_))) =>
        {
            reading.measured(&[first, unit].concat())?
        }
        _ => reading.measured(first)?,
    };
    let rectangle = Extent::Rectangle { length: Length::metres(length), width: Length::metres(width) };
    wanted::AREA.bound(rectangle.area().as_square_metres(), text)?;
    Ok(rectangle)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::parse::{area, length};

    #[test]
    fn areas_and_edges() {
        for (text, square, edge) in [
            ("12 ft x 8 ft", "96 sq ft", Some("40 ft")),
            ("5 ft 6 in x 2 ft", "11 ft²", Some("15 ft")),
            ("300 ft2", "300 square feet", None),
        ] {
            let extent = extent(text).unwrap();
            assert_eq!(extent.area(), area(square).unwrap(), "{text}");
            assert_eq!(extent.perimeter(), edge.map(|edge| length(edge).unwrap()), "{text}");
        }
    }
}
