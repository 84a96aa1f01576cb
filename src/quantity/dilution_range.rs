//! A range of dilutions as a product label writes it: `1 to 2 fl oz/gal`, `1:64 to 1:32`, `200-400 ppm`.

use std::mem::discriminant;

use super::dilution::{Basis, Dilution, Form};
use super::error::{QuantityError, quote};
use super::number::Number;

/// What may stand between the two ends.
const BETWEEN: &[&str] = &[" to ", "–", "-"];

impl Dilution {
    /// Reads a dilution, or the two ends of a range, the weaker first. The unit may stand once, behind the second end. The
    /// dose is the lower end; the upper one is the most that the label allows.
    pub fn parse_range(text: &str, form: Form, basis: Basis) -> Result<(Dilution, Option<Dilution>), QuantityError> {
        for (low, high) in cuts(text) {
            let Ok(high_end) = Dilution::parse(high, form, basis) else {
                continue;
            };
            let with_unit = || match low.parse::<f64>().map(|_| unit_of(high)) {
                Ok(Some(unit)) => Dilution::parse(&format!("{low} {unit}"), form, basis).ok(),
                _ => None,
            };
            let low_end = Dilution::parse(low, form, basis).ok().or_else(with_unit);
            let Some(low_end) = low_end else { continue };
            let alike = discriminant(&low_end) == discriminant(&high_end) && low_end.basis() == high_end.basis();
            let ends = low_end.share().zip(high_end.share()).filter(|_| alike);
            return match ends {
                Some((low, high)) if low < high => Ok((low_end, Some(high_end))),
                Some(_) => refuse(text, "the first end of a range is the weaker one", "write the weaker end first"),
                None => refuse(
                    text,
                    "the two ends are not written in the same way",
                    "write both ends in one unit, such as `1 to 2 fl oz/gal`",
                ),
            };
        }
        Dilution::parse(text, form, basis).map(|dilution| (dilution, None))
    }

    /// Product for one of what it is mixed with, in whatever unit: to tell which of two of a kind is the stronger.
    fn share(&self) -> Option<Number> {
        Some(match self {
            Dilution::ReadyToUse => return None,
            Dilution::Liquid { product, per, .. } => product.as_millilitres() / per.as_millilitres(),
            Dilution::Powder { product, per, .. } => product.as_grams() / per.as_millilitres(),
            Dilution::Tablets { count, per, .. } => count / per.as_millilitres(),
            Dilution::Parts { product, per, .. } => product / per,
            Dilution::Percent { share } => share.as_of_one().clone(),
            Dilution::Target { strength } => strength.as_milligrams_per_litre().clone(),
        })
    }
}

/// Every way to cut the text in two where a word or a dash stands between.
fn cuts(text: &str) -> impl Iterator<Item = (&str, &str)> {
    let at = |between: &'static str| text.match_indices(between).map(move |(at, _)| (at, between.len()));
    let both = BETWEEN.iter().copied().flat_map(at);
    both.map(|(at, length)| (text[..at].trim(), text[at + length..].trim()))
        .filter(|(low, high)| low.starts_with(|c: char| c.is_ascii_digit() || c == '.') && !high.is_empty())
}

/// What stands behind the first figure: `fl oz/gal` of `2 fl oz/gal`.
fn unit_of(text: &str) -> Option<&str> {
    let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '/' | ' '));
    (unit.len() < text.len() && !unit.is_empty()).then_some(unit)
}

fn refuse<T>(text: &str, why: &str, hint: &str) -> Result<T, QuantityError> {
    Err(QuantityError::new(format!("{}: {why}", quote(text)), [hint]))
}
