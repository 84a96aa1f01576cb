//! Reads how much of a substance a product holds: `10 %`, `80 g/kg`, `12.5 % w/v`, `12.5 % trade`, `70 % v/v`, `1 g/tablet`.

use super::dilution::Content;
use super::error::{QuantityError, quote};
use super::expression::{Ounce, Reading, Value, as_word};
use super::kinds::{Mass, Share, Strength};
use super::number::Number;
use super::scan::Token;
use super::unit::Dimension;
use super::wanted;

/// What per cent is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum By {
    /// Grams in 100 g.
    Weight,
    /// Grams in 100 mL.
    WeightInVolume,
    /// Millilitres in 100 mL.
    Volume,
}

impl Content {
    /// Reads a content. Per cent without more is by weight, as safety data sheets state it; trade per cent is grams of available
    /// chlorine in 100 mL.
    pub fn parse(text: &str) -> Result<Content, QuantityError> {
        Content::read(text, &Number::one())
    }

    /// Reads available chlorine, which of pure lithium hypochlorite is 121.4 % of its weight: up to 122 %.
    pub fn parse_available_chlorine(text: &str) -> Result<Content, QuantityError> {
        Content::read(text, &Number::ratio(122, 100))
    }

    /// `most` is the greatest share by weight.
    fn read(text: &str, most: &Number) -> Result<Content, QuantityError> {
        let reading = Reading::new(text, wanted::CONTENT).ounce(Ounce::Weight);
        let tokens = reading.tokens()?;
        let read = match tokens.split_first() {
            // A stroke or a sign among the words is left to the general reader, which says what is wrong with it.
            Some((Token::Number { value, .. }, tail))
                if tail.iter().any(|token| token.is("%")) && tail.iter().all(|token| as_word(token).is_some()) =>
            {
                let words: Vec<&str> = tail.iter().filter_map(as_word).collect();
                match by(&words) {
                    Some(by) => per_cent(value, by),
                    None => return reading.unexpected(&quote(&words.join(" "))),
                }
            }
            _ => amounts(&reading, &tokens)?,
        };
        check(&reading, &read, most)?;
        Ok(read)
    }
}

/// `12.5 % trade` and the like; the qualifier stands before or after the sign.
fn by(words: &[&str]) -> Option<By> {
    let qualifier: Vec<&str> = words.iter().copied().filter(|word| *word != "%").collect();
    match qualifier.as_slice() {
        [] | ["w/w" | "wt" | "weight"] | ["by", "weight" | "mass" | "wt"] => Some(By::Weight),
        ["w/v" | "trade"] => Some(By::WeightInVolume),
        ["v/v" | "vol" | "volume" | "abv"] | ["by", "volume" | "vol"] => Some(By::Volume),
        _ => None,
    }
    .filter(|_| words.len() == qualifier.len() + 1)
}

fn per_cent(value: &Number, by: By) -> Content {
    let share = Share::percent(value.clone());
    match by {
        By::Weight => Content::ByWeight(share),
        // 1 g in 100 mL is 10,000 mg/L.
        By::WeightInVolume => Content::ByVolume(Strength::milligrams_per_litre(value * &Number::int(10_000))),
        By::Volume => Content::VolumeShare(share),
    }
}

fn amounts(reading: &Reading<'_>, tokens: &[Token]) -> Result<Content, QuantityError> {
    let Value { number, dimension } = reading.expression(tokens)?;
    match dimension {
        Dimension::Share | Dimension::MassPerMass => Ok(Content::ByWeight(Share::of_one(number))),
        Dimension::MassPerVolume => {
            // g/mL to mg/L.
            Ok(Content::ByVolume(Strength::milligrams_per_litre(number * Number::int(1_000_000))))
        }
        Dimension::VolumePerVolume => Ok(Content::VolumeShare(Share::of_one(number))),
        Dimension::MassPerTablet => Ok(Content::PerTablet(Mass::grams(number))),
        Dimension::Strength => {
            let written = number.decimal(6);
            reading.ambiguous(&[format!("`{written} mg/L`"), format!("`{written} mg/kg`")])
        }
        found => reading.wrong_dimension(found.noun()),
    }
}

fn check(reading: &Reading<'_>, content: &Content, most: &Number) -> Result<(), QuantityError> {
    let number = match content {
        Content::ByWeight(share) if *share.as_of_one() > 1 && share.as_of_one() <= most => share.as_of_one(),
        Content::ByWeight(share) | Content::VolumeShare(share) => {
            wanted::CONTENT.bound(share.as_of_one(), reading.text)?;
            share.as_of_one()
        }
        Content::ByVolume(strength) => {
            wanted::STRENGTH.bound(strength.as_milligrams_per_litre(), reading.text)?;
            strength.as_milligrams_per_litre()
        }
        Content::PerTablet(mass) => {
            wanted::MASS.bound(mass.as_grams(), reading.text)?;
            mass.as_grams()
        }
    };
    if number.is_zero() {
        return reading.refuse("a product holds more than 0 of what it is said to hold", &[]);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn by_weight(per_cent: Number) -> Content {
        Content::ByWeight(Share::percent(per_cent))
    }

    fn by_volume(grams_in_litre: i64) -> Content {
        Content::ByVolume(Strength::milligrams_per_litre(Number::int(grams_in_litre * 1000)))
    }

    #[test]
    fn contents() {
        let tablet = |mg| Content::PerTablet(Mass::grams(Number::ratio(mg, 1000)));
        for (text, content) in [
            ("10 %", by_weight(Number::int(10))),
            ("80 g/kg", by_weight(Number::int(8))),
            ("100 %", by_weight(Number::int(100))),
            ("12 % w/v", by_volume(120)),
            // Trade per cent is grams of available chlorine in 100 mL: g/L ÷ 10.
            ("12.5 % trade", by_volume(125)),
            ("70 % v/v", Content::VolumeShare(Share::percent(Number::int(70)))),
            ("500 mg per tablet", tablet(500)),
        ] {
            assert_eq!(Content::parse(text).unwrap(), content, "{text}");
        }
    }

    #[test]
    fn available_chlorine_may_pass_the_whole() {
        assert_eq!(Content::parse_available_chlorine("121 %"), Ok(by_weight(Number::int(121))));
        assert!(Content::parse_available_chlorine("123 %").is_err());
        assert!(Content::parse("121 %").is_err());
    }
}
