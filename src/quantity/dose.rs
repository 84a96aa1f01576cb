//! An amount of product, measured as its form allows: a liquid by volume, a powder by weight, tablets by number.

use serde::Serialize;

use super::error::{Problem, QuantityError, quote};
use super::expression::{Ounce, Reading};
use super::kinds::{Mass, Volume};
use super::number::Number;
use super::scan::Token;
use super::unit::Dimension;
use super::wanted;

/// The form a product is sold in; it decides how an amount of it may be written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Form {
    /// A liquid concentrate: by volume; `oz` is a fluid ounce.
    Liquid,
    /// A powder or granules: by weight; `oz` is an ounce by weight.
    Powder,
    /// Tablets: by number.
    Tablet,
    /// A liquid applied as it is sold: by volume, and never diluted.
    ReadyToUse,
}

/// So much of a product.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", content = "amount", rename_all = "kebab-case")]
pub enum ProductAmount {
    /// Of a liquid.
    Volume(Volume),
    /// Of a powder.
    Mass(Mass),
    /// Of tablets; halves are possible.
    Tablets(Number),
}

impl Form {
    /// How a lone `oz` is read.
    pub(crate) fn ounce(self) -> Ounce {
        match self {
            Form::Liquid => Ounce::Fluid,
            Form::Powder => Ounce::Weight,
            Form::Tablet | Form::ReadyToUse => Ounce::Refuse,
        }
    }

    /// Amounts of this form, of so many units, as they could be written.
    fn examples(self, number: &str) -> Vec<String> {
        let units = match self {
            Form::Liquid | Form::ReadyToUse => ["fl oz", "mL"],
            Form::Powder => ["oz wt", "g"],
            Form::Tablet => ["tablets", "tablets"],
        };
        let mut examples = units.map(|unit| format!("{number} {unit}")).to_vec();
        examples.dedup();
        examples
    }
}

/// An amount of product: `15 fl oz` or `15 oz` of a liquid, `4 oz` or `10 g` of a powder, `2 tablets`.
///
/// # Errors
/// As of [`super::parse::volume`]; an amount its form cannot be measured by: a weight of a liquid, a spoonful of a powder.
pub fn amount(text: &str, form: Form) -> Result<ProductAmount, QuantityError> {
    let reading = Reading::new(text, form_wanted(form)).ounce(form.ounce());
    let tokens = reading.tokens()?;
    let written = match tokens.as_slice() {
        [Token::Number { text, .. }] => text.as_str(),
        _ => "10",
    };
    measured(&reading, &tokens, form, &form.examples(written))
}

fn form_wanted(form: Form) -> &'static wanted::Wanted {
    match form {
        Form::Powder => wanted::MASS,
        Form::Liquid | Form::Tablet | Form::ReadyToUse => wanted::VOLUME,
    }
}

/// The amount the tokens write; `examples` is what to suggest for a bare number.
pub(crate) fn measured(
    reading: &Reading<'_>,
    tokens: &[Token],
    form: Form,
    examples: &[String],
) -> Result<ProductAmount, QuantityError> {
    if let [Token::Number { text, .. }] = tokens {
        let units = match form {
            Form::Liquid | Form::ReadyToUse => "fl oz, tbsp, cup, gal, mL, L",
            Form::Powder => "oz wt, lb, g, kg",
            Form::Tablet => "tablets",
        };
        return Err(Problem::BareNumber { text: quote(text), examples: examples.to_vec(), units }.into());
    }
    let value = reading.amount(tokens)?;
    let number = value.number;
    let text = || quote(reading.text);
    match (form, value.dimension) {
        (Form::Liquid | Form::ReadyToUse, Dimension::Volume) => {
            wanted::VOLUME.bound(&number, text())?;
            Ok(ProductAmount::Volume(Volume::millilitres(number)))
        }
        (Form::Powder, Dimension::Mass) => {
            wanted::MASS.bound(&number, text())?;
            Ok(ProductAmount::Mass(Mass::grams(number)))
        }
        (Form::Tablet, Dimension::Count) => {
            if number.is_negative() {
                return Err(Problem::Negative { text: text(), wanted: "a number of tablets" }.into());
            }
            if number > 1_000_000 {
                let most = "1,000,000 tablets";
                return Err(Problem::TooLarge { text: text(), wanted: "a number of tablets", most }.into());
            }
            Ok(ProductAmount::Tablets(number))
        }
        (Form::Liquid | Form::ReadyToUse, Dimension::Mass) => reading.refuse(
            "a liquid is measured by volume, and this is a weight",
            &["write fl oz or mL; for a strength to be reached write it in ppm, such as `400 ppm`"],
        ),
        (Form::Powder, Dimension::Volume) => reading.refuse(
            "a powder must be weighed: what a scoop or spoon holds varies with how the powder has settled",
            &["weigh one measure and write grams or ounces by weight, such as `10 g/L` or `1 oz wt/gal`"],
        ),
        (Form::Tablet, Dimension::Volume | Dimension::Mass) => {
            reading.refuse("tablets are counted", &["write a number of tablets, such as `2 tablets/10 L`"])
        }
        (_, Dimension::Count) => {
            reading.refuse("this product is not sold as tablets", &["write an amount its form can be measured by"])
        }
        (_, found) => reading.wrong_dimension(found.noun()),
    }
}

#[cfg(test)]
mod tests {
    use super::super::parse::{mass, volume};
    use super::*;

    #[test]
    fn ounces_go_by_the_form() {
        assert_eq!(amount("15 oz", Form::Liquid), Ok(ProductAmount::Volume(volume("15 fl oz").unwrap())));
        assert_eq!(amount("15 oz", Form::Powder), Ok(ProductAmount::Mass(mass("15 oz wt").unwrap())));
        for form in [Form::Tablet, Form::ReadyToUse] {
            let error = amount("15 oz", form).unwrap_err();
            assert!(error.hints[0].contains("`15 fl oz`") && error.hints[0].contains("`15 oz wt`"), "{error}");
        }
    }

    #[test]
    fn forms_are_measured_their_own_way() {
        assert_eq!(amount("2 tablets", Form::Tablet), Ok(ProductAmount::Tablets(Number::int(2))));
        assert_eq!(amount("½ tablet", Form::Tablet), Ok(ProductAmount::Tablets(Number::ratio(1, 2))));
        assert!(amount("2 tbsp", Form::Powder).unwrap_err().message.contains("weighed"));
        assert!(amount("10 g", Form::Liquid).unwrap_err().message.contains("by volume"));
        assert!(amount("2 tablets", Form::Liquid).unwrap_err().message.contains("not sold as tablets"));
        for bad in ["", "2", "10 g", "-1 tablet", "1e9 tablets", "2 ft", "2 tablets/gal"] {
            assert!(amount(bad, Form::Tablet).is_err(), "{bad}");
        }
        assert_eq!(amount("2", Form::Tablet).unwrap_err().message, "`2` has no unit; write e.g. `2 tablets`");
    }
}
