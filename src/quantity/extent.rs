//! How large a surface is: a rectangle with two sides, or an area and no more.

use serde::Serialize;

use super::error::{QuantityError, quote};
use super::expression::Reading;
use super::kinds::{Area, Length};
use super::number::Number;
use super::scan::Token;
use super::wanted;

/// The extent of a surface.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Extent {
    /// `12 ft x 8 ft`
    Rectangle {
        /// The side written first.
        length: Length,
        /// The side written second.
        width: Length,
    },
    /// `300 ft2`
    Plain {
        /// All of it.
        area: Area,
    },
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
///
/// # Errors
/// As of [`super::parse::volume`]; three sides; a side over 10 km or an area over 10,000,000 m².
pub fn extent(text: &str) -> Result<Extent, QuantityError> {
    let plain = Reading::new(text, wanted::AREA);
    let tokens = plain.tokens()?;
    let mut sides = tokens.split(|token| token.is("x") || token.is("by"));
    let (Some(first), second, third) = (sides.next(), sides.next(), sides.next()) else {
        // A split always has a first piece.
        return plain.refuse("nothing is written", &[]);
    };
    let Some(second) = second else {
        return plain.measured(first).map(|area| Extent::Plain { area: Area::square_metres(area) });
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
    wanted::AREA.bound(rectangle.area().as_square_metres(), quote(text))?;
    Ok(rectangle)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn feet(value: i64) -> Length {
        Length::metres(Number::int(value) * Number::ratio(3048, 10_000))
    }

    #[test]
    fn rectangles() {
        let expected = Extent::Rectangle { length: feet(12), width: feet(8) };
        for text in [
            "12 ft x 8 ft",
            "12ft x 8ft",
            "12ftx8ft",
            "12 ft × 8 ft",
            "12' x 8'",
            "12 x 8 ft",
            "12 feet by 8 feet",
            "4 yd X 96 in",
        ] {
            assert_eq!(extent(text).unwrap(), expected, "{text}");
        }
        assert_eq!(expected.perimeter().unwrap(), feet(40));
        assert_eq!(expected.area(), super::super::parse::area("96 sq ft").unwrap());
        let odd = extent("5 ft 6 in x 2 ft").unwrap();
        assert_eq!(odd.area(), super::super::parse::area("11 ft²").unwrap());
    }

    #[test]
    fn a_plain_area_has_no_edge() {
        let plain = extent("300 ft2").unwrap();
        assert_eq!(plain.perimeter(), None);
        assert_eq!(plain.area(), super::super::parse::area("300 square feet").unwrap());
    }

    #[test]
    fn bad_extents() {
        for bad in [
            "",
            "12 x 8",
            "12 ft x 8",
            "12 ft x",
            "x 8 ft",
            "12 ft",
            "12 ft x 8 ft x 3 ft",
            "12 ft x 8 ft2",
            "-12 ft x 8 ft",
            "10 km x 10 km",
            "12 ft + 8 ft",
            "12 x 5 ft 6 in",
            "12 gal x 8 ft",
            "x",
            "300",
        ] {
            assert!(extent(bad).is_err(), "{bad}");
        }
        assert!(extent("10 km x 10 km").unwrap_err().message.contains("too large"));
    }
}
