//! From tokens to one value with a dimension: `2 gal 1 qt`, or two such amounts with a stroke between, `8.9 fl oz/min`.

use super::error::{QuantityError, either, quote, would_do};
use super::number::Number;
use super::scan::{Token, scan};
use super::unit::{self, Dimension, Unit};
use super::wanted::Wanted;

/// How a lone `oz` is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ounce {
    /// As neither: the writer is asked.
    Refuse,
    Fluid,
    Weight,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Value {
    pub(crate) number: Number,
    pub(crate) dimension: Dimension,
}

/// What is being read, by whom: carried along for the messages.
#[derive(Clone, Copy)]
pub(crate) struct Reading<'a> {
    pub(crate) text: &'a str,
    pub(crate) wanted: &'static Wanted,
    pub(crate) ounce: Ounce,
}

impl<'a> Reading<'a> {
    pub(crate) fn new(text: &'a str, wanted: &'static Wanted) -> Self {
        Reading { text, wanted, ounce: Ounce::Refuse }
    }

    pub(crate) fn ounce(self, ounce: Ounce) -> Self {
        Reading { ounce, ..self }
    }

    /// The tokens, of which there is at least one.
    pub(crate) fn tokens(&self) -> Result<Vec<Token>, QuantityError> {
        let tokens = scan(self.text)?;
        if tokens.is_empty() {
            let examples = either(&self.wanted.examples_from_nothing());
            let message = format!("nothing is written here; {} is wanted", self.wanted.noun);
            return Err(QuantityError::new(message, [format!("write e.g. {examples}")]));
        }
        Ok(tokens)
    }

    pub(crate) fn refuse<T>(&self, why: &str, hints: &[&str]) -> Result<T, QuantityError> {
        Err(QuantityError::new(format!("{}: {why}", quote(self.text)), hints.iter().copied()))
    }

    pub(crate) fn unexpected<T>(&self, what: &str) -> Result<T, QuantityError> {
        let hints = vec![would_do(self.wanted.units)];
        Err(QuantityError { hints, ..QuantityError::unexpected(self.text, what) })
    }

    pub(crate) fn ambiguous<T>(&self, choices: &[String]) -> Result<T, QuantityError> {
        let hint = format!("write {}, whichever is meant", choices.join(" or "));
        Err(QuantityError::new(format!("{} can be read in two ways", quote(self.text)), [hint]))
    }

    pub(crate) fn wrong_dimension<T>(&self, found: &str) -> Result<T, QuantityError> {
        let message = format!("{} is {found}; {} is wanted here", quote(self.text), self.wanted.noun);
        Err(QuantityError::new(message, [would_do(self.wanted.units)]))
    }

    /// An amount, or one amount by another.
    pub(crate) fn expression(&self, tokens: &[Token]) -> Result<Value, QuantityError> {
        let mut sides = tokens.split(|token| *token == Token::Slash);
        match (sides.next(), sides.next(), sides.next()) {
            (Some(only), None, _) => self.amount(only),
            (Some(top), Some(bottom), None) => self.ratio(top, bottom),
            _ => self.unexpected("two strokes"),
        }
    }

    fn ratio(&self, top: &[Token], bottom: &[Token]) -> Result<Value, QuantityError> {
        let top = self.amount(top)?;
        let bottom = self.divisor(bottom)?;
        let plain = |dimension| Ok(Value { number: &top.number / &bottom.number, dimension });
        match (top.dimension, bottom.dimension) {
            (Dimension::Volume, Dimension::Time) => {
                // mL/s to mL/min.
                let number = &top.number / &bottom.number * Number::int(60);
                Ok(Value { number, dimension: Dimension::Flow })
            }
            (Dimension::Length, Dimension::Time) => plain(Dimension::Speed),
            (Dimension::Mass, Dimension::Volume) => plain(Dimension::MassPerVolume),
            (Dimension::Mass, Dimension::Mass) => plain(Dimension::MassPerMass),
            (Dimension::Mass, Dimension::Count) => plain(Dimension::MassPerTablet),
            (Dimension::Volume, Dimension::Volume) => plain(Dimension::VolumePerVolume),
            (Dimension::Volume, Dimension::Area) => plain(Dimension::Film),
            (Dimension::Area, Dimension::Volume) => match top.number.recip() {
                Some(volume_per_area) => {
                    Ok(Value { number: bottom.number * volume_per_area, dimension: Dimension::Film })
                }
                None => self.refuse("no area at all is covered", &[]),
            },
            _ => self.wrong_dimension("no quantity known here"),
        }
    }

    /// What stands after a stroke: an amount above 0, or a unit alone.
    pub(crate) fn divisor(&self, tokens: &[Token]) -> Result<Value, QuantityError> {
        let value = match tokens.first() {
            Some(Token::Word(_)) => {
                let one = Token::Number { value: Number::one(), text: "1".into(), stroke: false };
                self.amount(&[&[one], tokens].concat())?
            }
            Some(_) => self.amount(tokens)?,
            None => return self.unexpected("nothing after the stroke"),
        };
        if value.number.is_positive() {
            Ok(value)
        } else {
            self.refuse("the amount after the stroke must be above 0", &[])
        }
    }

    /// One amount, perhaps in several units: `5 ft 6 in`.
    pub(crate) fn amount(&self, tokens: &[Token]) -> Result<Value, QuantityError> {
        let parts = self.parts(tokens)?;
        let Some(((number, unit), more)) = parts.split_first() else {
            return self.refuse("an amount is missing", &[]);
        };
        let mut total = (number - &unit.zero_at()) * unit.factor();
        let (mut last_number, mut last_unit) = (number, *unit);
        for (number, unit) in more {
            if unit.dimension != last_unit.dimension
                || !matches!(unit.dimension, Dimension::Volume | Dimension::Mass | Dimension::Length | Dimension::Time)
            {
                return self.refuse("its parts do not add up to one amount", &["write one amount in one unit"]);
            }
            let part = number * &unit.factor();
            if !last_number.is_integer()
                || last_number.is_negative()
                || number.is_negative()
                || part >= last_unit.factor()
            {
                return self.refuse(
                    "its parts must go from the larger unit to the smaller, each a whole number but the last",
                    &["write e.g. `5 ft 6 in`, or one amount in one unit"],
                );
            }
            total = total + part;
            (last_number, last_unit) = (number, *unit);
        }
        Ok(Value { number: total, dimension: last_unit.dimension })
    }

    fn parts(&self, tokens: &[Token]) -> Result<Vec<(Number, &'static Unit)>, QuantityError> {
        let mut parts: Vec<(Number, &'static Unit)> = Vec::new();
        let mut rest = tokens;
        while let Some(first) = rest.first() {
            let negative = *first == Token::Minus;
            rest = rest.get(usize::from(negative)..).unwrap_or_default();
            let Some(Token::Number { value, text, .. }) = rest.first() else {
                return match first {
                    Token::Word(_) if parts.is_empty() => Err(QuantityError::new(
                        format!("{} has no number before its unit", quote(self.text)),
                        ["write the number first, then the unit"],
                    )),
                    other => self.unexpected(sign_name(other)),
                };
            };
            rest = rest.get(1..).unwrap_or_default();
            let unit_length = rest.iter().take_while(|token| matches!(token, Token::Word(_))).count();
            let (words, after) = rest.split_at(unit_length);
            let mut words: Vec<&str> = words.iter().filter_map(as_word).collect();
            rest = after;
            if let Some(Token::Comma) = rest.first() {
                rest = rest.get(1..).unwrap_or_default();
                if rest.is_empty() {
                    return self.unexpected("a stray comma");
                }
            }
            if words.last() == Some(&"and") && !rest.is_empty() {
                words.pop();
            }
            if words.is_empty() {
                return match rest.first() {
                    Some(Token::Number { .. }) => self.refuse(
                        "two numbers stand side by side",
                        &["write thousands with a comma, as in `2,250`, and a unit after each number"],
                    ),
                    _ => {
                        let examples = self.wanted.examples(value, text);
                        Err(QuantityError::bare_number(text, &examples, self.wanted.units))
                    }
                };
            }
            let unit = self.unit(&words, text, parts.last().map(|(_, unit)| *unit))?;
            parts.push((if negative { -value.clone() } else { value.clone() }, unit));
        }
        Ok(parts)
    }

    /// A lone ounce: what to write in its place, the whole of it, as far as it can be meant here.
    fn which_ounce<T>(&self, number: &str, spelt: &str) -> Result<T, QuantityError> {
        let written = |ounce: &str| match self.text.to_lowercase().find(spelt) {
            Some(at) if self.text.is_char_boundary(at) && self.text.is_char_boundary(at + spelt.len()) => {
                format!("`{}{ounce}{}`", &self.text[..at], &self.text[at + spelt.len()..])
            }
            _ => format!("`{number} {ounce}`"),
        };
        match self.wanted.dimension {
            Dimension::Volume | Dimension::Flow | Dimension::Film => self.refuse(
                "an ounce may be of volume or of weight; here a volume is measured",
                &[&format!("write {}, fluid ounces", written("fl oz"))],
            ),
            _ => self.ambiguous(&[written("fl oz"), format!("{} (by weight)", written("oz wt"))]),
        }
    }

    fn unit(&self, words: &[&str], number: &str, before: Option<&Unit>) -> Result<&'static Unit, QuantityError> {
        let spelt = words.join(" ");
        let unknown = || {
            let word = quote(&spelt);
            if words.iter().any(|word| matches!(*word, "imp" | "imperial" | "uk" | "british")) {
                let message = format!("{word} is a British imperial measure, which is never used here");
                return QuantityError::new(message, ["write US measures (`gal`, `fl oz`) or litres"]);
            }
            let near = unit::nearest(&spelt, self.wanted.dimension).map(|near| format!("did you mean `{near}`?"));
            let hints = near.into_iter().chain([would_do(self.wanted.units)]);
            QuantityError::new(format!("{word} is not a unit known here"), hints)
        };
        let found = unit::find(&spelt).ok_or_else(unknown)?;
        if found.dimension != Dimension::Ounce {
            return Ok(found);
        }
        // After pounds an ounce is a sixteenth of one.
        let by_weight = self.ounce == Ounce::Weight || before.is_some_and(|unit| unit.symbol == "lb");
        let symbol = match self.ounce {
            _ if by_weight => "oz wt",
            Ounce::Fluid => "fl oz",
            _ => return self.which_ounce(number, &spelt),
        };
        unit::by_symbol(symbol).ok_or_else(unknown)
    }
}

pub(crate) fn as_word(token: &Token) -> Option<&str> {
    match token {
        Token::Word(word) => Some(word),
        _ => None,
    }
}

fn sign_name(token: &Token) -> &'static str {
    match token {
        Token::Number { .. } => "a number",
        Token::Word(_) => "a word",
        Token::Slash => "a stroke (or `per`)",
        Token::Colon => "`:`",
        Token::Plus => "`+`",
        Token::Minus => "a stray `-`",
        Token::Comma => "a stray comma",
    }
}
