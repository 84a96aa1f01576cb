//! How figures and units are written for the readers of one language: marks, and the names of units.
//!
//! No language is known here by name. English is what stands in [`Notation::NAMES`]; whoever knows another hands in its marks and names.

use std::borrow::Cow;
use std::collections::BTreeMap;

/// Marks of a figure, and names of units.
///
/// A page in one language may be read by somebody with the habits of another, to whom `1.050` or `1,050` means a thousand times
/// more or less. So, wherever the thousands are not parted by the comma of English:
///
/// - they are parted by a space or an apostrophe, never by a point or a comma, as the 22nd General Conference on Weights and
///   Measures asks for (2003, Resolution 10);
/// - no decimal mark ever has exactly three digits behind it and a figure other than 0 before it: a fourth is added, `5,1250`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notation {
    decimal: char,
    group: char,
    /// By the English name; what is not here is written as in English.
    names: BTreeMap<String, String>,
}

/// Why marks or names cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[allow(missing_docs)] // Each message names its fields.
pub enum NotationError {
    #[error("`{0}` cannot be a decimal mark; it is `.` or `,`")]
    Decimal(String),
    #[error(
        "`{0}` cannot part the thousands: a reader could take it for a decimal mark; write a narrow space, \"\\u202F\", or an apostrophe, \"’\""
    )]
    Group(String),
    #[error("`{name}` is the name of both `{first}` and `{second}`")]
    Same { name: String, first: String, second: String },
    #[error("`{name}` has a digit, which would be read as part of the figure before it")]
    Digit { name: String },
    #[error("`{name}` must hold {wanted}")]
    Blanks { name: String, wanted: String },
}

static ENGLISH: Notation = Notation { decimal: '.', group: ',', names: BTreeMap::new() };

/// `1 in 64`: product and all that it is part of.
pub(crate) const IN_ALL: &str = "{product} in {per}";
/// Of a product that nothing is added to.
pub(crate) const READY: &str = "ready to use";

impl Notation {
    /// Every name that is printed, in English. Units such as `fl oz/min` are put together from these.
    pub const NAMES: &'static [&'static str] = &[
        "gal", "qt", "fl oz", "tsp", "mL", "L", "lb", "oz", "oz wt", "mg", "g", "kg", "ft", "in", "ft²", "mm", "m",
        "µm", "m²", "s", "min", "h", "day", "days", "mph", "psi", "kPa", "°F", "°C", "ppm", "%", "tablet", "tablets",
        READY, IN_ALL,
    ];

    /// English: `1,050.5 fl oz`.
    pub const fn english() -> &'static Notation {
        &ENGLISH
    }

    /// Marks and names of a language; `names` by the English name.
    pub fn new(decimal: &str, group: &str, names: BTreeMap<String, String>) -> Result<Notation, Vec<NotationError>> {
        let mut errors = Vec::new();
        let decimal_mark = single(decimal).filter(|mark| matches!(mark, '.' | ','));
        if decimal_mark.is_none() {
            errors.push(NotationError::Decimal(decimal.to_owned()));
        }
        let group_mark = single(group).filter(|mark| match mark {
            '\u{202F}' | '\u{A0}' | '’' => true,
            ',' => decimal == ".",
            _ => false,
        });
        if group_mark.is_none() {
            errors.push(NotationError::Group(group.to_owned()));
        }
        names_misread(&names, &mut errors);
        match (decimal_mark, group_mark) {
            (Some(decimal), Some(group)) if errors.is_empty() => Ok(Notation { decimal, group, names }),
            _ => Err(errors),
        }
    }

    /// A figure's digits with this notation's marks: `plain` is `-1234.5`.
    pub(super) fn marked(&self, plain: &str) -> String {
        let (sign, plain) = match plain.strip_prefix('-') {
            // What rounds to 0 has no sign.
            Some("0") => ("", "0"),
            Some(rest) => ("−", rest),
            None => ("", plain),
        };
        let (whole, part) = plain.split_once('.').unwrap_or((plain, ""));
        let mut text = String::from(sign);
        for (at, digit) in whole.chars().enumerate() {
            if at > 0 && (whole.len() - at).is_multiple_of(3) {
                text.push(self.group);
            }
            text.push(digit);
        }
        if !part.is_empty() {
            text.push(self.decimal);
            text.push_str(part);
            // `5,125` could be five thousand and `5,1250` cannot: see the type's own remarks.
            if self.group != ',' && part.len() == 3 && whole != "0" {
                text.push('0');
            }
        }
        text
    }

    /// A unit's name, from its English one: `fl oz`, `fl oz/100 ft²`.
    pub(super) fn name<'n>(&'n self, english: &'n str) -> Cow<'n, str> {
        if self.names.is_empty() {
            return Cow::Borrowed(english);
        }
        if let Some(name) = self.names.get(english) {
            return Cow::Borrowed(name);
        }
        let part = |part: &str| match part.rsplit_once("00 ") {
            // `100 ft²`: a round figure that needs no mark.
            Some((hundreds, unit)) => format!("{hundreds}00 {}", self.name(unit)),
            None => self.names.get(part).map_or(part, String::as_str).to_owned(),
        };
        Cow::Owned(english.split('/').map(part).collect::<Vec<_>>().join("/"))
    }

    /// A figure and its unit.
    pub(super) fn with_unit(&self, figure: impl AsRef<str>, unit: &str) -> String {
        format!("{} {}", figure.as_ref(), self.name(unit))
    }
}

fn single(text: &str) -> Option<char> {
    let mut characters = text.chars();
    characters.next().filter(|_| characters.next().is_none())
}

/// Names that say the same without harm: one and many of a thing, and an ounce by weight after pounds and alone.
const MAY_BE_SAME: &[(&str, &str)] = &[("day", "days"), ("tablet", "tablets"), ("oz", "oz wt")];

fn names_misread(names: &BTreeMap<String, String>, errors: &mut Vec<NotationError>) {
    for (at, (english, name)) in names.iter().enumerate() {
        if name.contains(|c: char| c.is_ascii_digit()) {
            errors.push(NotationError::Digit { name: name.clone() });
        }
        if english == IN_ALL && !(name.contains("{product}") && name.contains("{per}")) {
            errors.push(NotationError::Blanks { name: name.clone(), wanted: "{product} and {per}".to_owned() });
        }
        for (other, same) in names.iter().skip(at + 1) {
            if same == name && !MAY_BE_SAME.contains(&(english.as_str(), other.as_str())) {
                errors.push(NotationError::Same { name: name.clone(), first: english.clone(), second: other.clone() });
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(pairs: &[(&str, &str)]) -> BTreeMap<String, String> {
        pairs.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect()
    }

    #[test]
    fn no_mark_that_a_reader_could_take_for_the_other() {
        for (decimal, group) in [(".", ","), (".", "\u{202F}"), (",", "\u{202F}"), (",", "\u{A0}"), (",", "’")] {
            assert!(Notation::new(decimal, group, names(&[])).is_ok(), "{decimal} {group}");
        }
        for (decimal, group) in
            [(",", "."), (",", ","), (".", "."), ("·", "\u{202F}"), (".", " "), (".", ""), ("", ",")]
        {
            assert!(Notation::new(decimal, group, names(&[])).is_err(), "{decimal} {group}");
        }
    }

    #[test]
    fn three_decimals_never_look_like_thousands() {
        let comma = Notation::new(",", "\u{202F}", names(&[])).unwrap();
        let point = Notation::new(".", "\u{202F}", names(&[])).unwrap();
        for (plain, with_comma) in [
            ("5.125", "5,1250"),
            ("1234.125", "1\u{202F}234,1250"),
            ("0.125", "0,125"),
            ("5.12", "5,12"),
            ("5.1255", "5,1255"),
            ("-5.125", "−5,1250"),
            ("1050", "1\u{202F}050"),
        ] {
            assert_eq!(comma.marked(plain), with_comma);
            assert_eq!(point.marked(plain), with_comma.replace(',', "."));
        }
        // English keeps its habit: there the comma is never a decimal mark.
        assert_eq!(Notation::english().marked("1234.125"), "1,234.125");
    }

    #[test]
    fn units_are_put_together_from_their_parts() {
        let some = Notation::new(",", "\u{A0}", names(&[("fl oz", "oz liq."), ("ft²", "pi²"), ("gal", "gal US")]));
        let some = some.unwrap();
        for (english, name) in [
            ("fl oz", "oz liq."),
            ("fl oz/min", "oz liq./min"),
            ("fl oz/100 ft²", "oz liq./100 pi²"),
            ("ft²/gal", "pi²/gal US"),
            ("m/s", "m/s"),
        ] {
            assert_eq!(some.name(english), name);
            assert_eq!(Notation::english().name(english), english);
        }
    }

    #[test]
    fn one_name_for_two_units_is_refused() {
        let same = Notation::new(",", "’", names(&[("fl oz", "oz"), ("oz wt", "oz")]));
        assert_eq!(
            same.unwrap_err(),
            [NotationError::Same { name: "oz".into(), first: "fl oz".into(), second: "oz wt".into() }]
        );
        assert!(Notation::new(",", "’", names(&[("day", "dag"), ("days", "dag")])).is_ok());
        assert!(Notation::new(",", "’", names(&[("gal", "4 qt")])).is_err());
        assert!(Notation::new(",", "’", names(&[(IN_ALL, "{product}")])).is_err());
    }
}
