//! Reads a dilution as a product label writes it: `2 fl oz/gal`, `1:64`, `1 in 64`, `0.5 %`, `400 ppm`, `2 tablets/10 L`.

use super::dilution::{Basis, Dilution, Form};
use super::error::QuantityError;
use super::expression::{Ounce, Reading, Value};
use super::kinds::{Mass, Share, Strength, Volume};
use super::number::Number;
use super::scan::Token;
use super::unit::Dimension;
use super::wanted;

/// What stands between the product and what it is mixed with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Joint {
    /// `/`, `per`
    Per,
    /// `in`
    In,
    /// `to`, `:`, `+`, `added to`
    To,
    /// `to make`, `made up to`
    ToMake,
}

impl Dilution {
    /// Reads a dilution of a product of this form. `basis` settles what "per gallon" means where the text does not say:
    /// `2 fl oz per gal of water` is added to that much water, `2 fl oz to make 1 gal` is made up to that much solution.
    ///
    /// `1:64`, `1 + 64` and `1 part to 64 parts water` add 64 parts of water; `1 in 64` and `1 part in 64` make 64 parts in all.
    /// Per cent is of the finished solution. `oz` is a fluid ounce of a liquid and an ounce by weight of a powder.
    ///
    /// More product than water in parts is refused: mostly it is a ratio written the wrong way round.
    pub fn parse(text: &str, form: Form, basis: Basis) -> Result<Dilution, QuantityError> {
        let reading = Reading::new(text, wanted::DILUTION).ounce(ounce(form));
        let tokens = reading.tokens()?;
        if starts(&tokens, "ready to use|readytouse|rtu|undiluted") == Some(tokens.len()) {
            return match form {
                Form::Liquid | Form::ReadyToUse => Ok(Dilution::ReadyToUse),
                Form::Powder | Form::Tablet => reading.refuse("only a liquid can be used as it is", &[]),
            };
        }
        if form == Form::ReadyToUse {
            return reading.refuse("a product that is ready to use is not diluted", &["write `ready to use`"]);
        }
        let (tokens, said) = without_whole(&tokens);
        match cut(tokens) {
            Some((product, joint, whole)) => Mix { reading, form, said, default: basis }.mix(product, joint, whole),
            None => alone(&reading, tokens, form, said),
        }
    }
}

/// A dilution that names no whole: `0.5 %`, `400 ppm`.
fn alone(reading: &Reading<'_>, tokens: &[Token], form: Form, said: Option<Basis>) -> Result<Dilution, QuantityError> {
    match tokens {
        [Token::Number { text, stroke: true, .. }] => {
            let (top, bottom) = text.split_once('/').unwrap_or((text, ""));
            return reading.ambiguous(&[
                format!("`{top}:{bottom}` ({top} part and {bottom} parts of water)"),
                format!("`{top} in {bottom}` ({top} part in {bottom} parts in all)"),
            ]);
        }
        [Token::Number { text, .. }] => {
            return Err(QuantityError::bare_number(text, &examples(form, text), wanted::DILUTION.units));
        }
        _ => {}
    }
    let (tokens, by) = match tokens {
        [rest @ .., Token::Word(by)] if matches!(by.as_str(), "v/v" | "w/v" | "w/w") => (rest, Some(by.as_str())),
        all => (all, None),
    };
    let Value { number, dimension } = reading.expression(tokens)?;
    match dimension {
        Dimension::Share => {
            if said == Some(Basis::AddedTo) {
                return reading
                    .refuse("per cent is of the finished solution, not of the water", &["write e.g. `1:64`"]);
            }
            match (form, by) {
                (Form::Tablet, _) => {
                    return reading.refuse("tablets are counted", &["write e.g. `2 tablets/10 L` or `400 ppm`"]);
                }
                (Form::Powder, Some("v/v")) | (Form::Liquid, Some("w/v")) | (_, Some("w/w")) => {
                    return reading.refuse(
                        "per cent is by volume (v/v) for a liquid and grams in 100 mL (w/v) for a powder",
                        &["write an amount instead, such as `8 mL/L` or `10 g/L`"],
                    );
                }
                _ => {}
            }
            if !number.is_positive() {
                return reading.refuse("a dilution holds some product: more than 0 %", &[]);
            }
            if number >= 1 {
                return reading
                    .refuse("100 % or more leaves no water", &["write `ready to use` for the product as it is"]);
            }
            Ok(Dilution::Percent { share: Share::of_one(number) })
        }
        Dimension::Strength if by.is_none() => {
            if !number.is_positive() {
                return reading.refuse("a strength to be reached is above 0 ppm", &[]);
            }
            wanted::STRENGTH.bound(&number, reading.text)?;
            Ok(Dilution::Target { strength: Strength::milligrams_per_litre(number) })
        }
        Dimension::Volume | Dimension::Mass | Dimension::Count => reading.refuse(
            "this says how much product, but not for how much water",
            &["write what it is for, such as `2 fl oz/gal`, `8 mL/L` or `2 tablets/10 L`"],
        ),
        found => reading.wrong_dimension(found.noun()),
    }
}

/// A product and what it is mixed with, being read.
struct Mix<'a> {
    reading: Reading<'a>,
    form: Form,
    /// The whole the text names in words (`of water`), if any.
    said: Option<Basis>,
    /// The whole where it names none.
    default: Basis,
}

impl Mix<'_> {
    fn mix(&self, product: &[Token], joint: Joint, whole: &[Token]) -> Result<Dilution, QuantityError> {
        let product = without_product(product);
        let contradiction = match joint {
            Joint::ToMake => self.said == Some(Basis::AddedTo),
            Joint::To => self.said == Some(Basis::MadeUpTo),
            Joint::Per | Joint::In => false,
        };
        if contradiction {
            return self.reading.refuse(
                "it says both added to water and made up to solution",
                &["write `2 fl oz per gal of water` or `2 fl oz to make 1 gal`, whichever is meant"],
            );
        }
        match (parts(product), parts(whole)) {
            (Some(product), Some(whole)) => return self.parts(product, joint, whole),
            (Some(_), None) if spells_parts(product) => {
                return self.reading.refuse("parts go with parts", &["write e.g. `1:64` or `1 part in 64 parts`"]);
            }
            _ => {}
        }
        let basis = self.said.unwrap_or(match joint {
            Joint::ToMake => Basis::MadeUpTo,
            // `2 fl oz to 1 gal` adds it to the gallon; `:` and `+` are for parts, refused below.
            Joint::To => Basis::AddedTo,
            Joint::Per | Joint::In => self.default,
        });
        let written = match product {
            [Token::Number { text, .. }] => text.as_str(),
            _ => "2",
        };
        if let (Form::Powder, [Token::Number { value, .. }, Token::Word(unit)]) = (self.form, product)
            && super::unit::find(unit).is_some_and(|unit| unit.symbol == "mg")
        {
            // So small a dose is how a strength is written; taking it for the powder's own mass would make the mix too weak.
            return self.reading.ambiguous(&[
                format!("`{} g/L` and the like (of the powder)", (value / &Number::int(1000)).decimal(6)),
                format!("`{} ppm` and the like (of what the powder holds)", value.decimal(6)),
            ]);
        }
        let dose = self.dose(product, &examples(self.form, written))?;
        let per = self.per(whole)?;
        if dose.is_zero() {
            return self.nothing();
        }
        match self.form {
            Form::Powder => Ok(Dilution::Powder { product: Mass::grams(dose), per, basis }),
            Form::Tablet => Ok(Dilution::Tablets { count: dose, per, basis }),
            Form::Liquid | Form::ReadyToUse => {
                let product = Volume::millilitres(dose);
                if basis == Basis::MadeUpTo && product >= per {
                    return self.reading.refuse("it leaves no room for water", &[]);
                }
                Ok(Dilution::Liquid { product, per, basis })
            }
        }
    }

    /// The amount of product, measured as its form allows: mL, g or tablets. `examples` is what to suggest for a bare number.
    fn dose(&self, tokens: &[Token], examples: &[String]) -> Result<Number, QuantityError> {
        let reading = &self.reading;
        if let [Token::Number { text, .. }] = tokens {
            let units = match self.form {
                Form::Liquid | Form::ReadyToUse => "fl oz, tbsp, cup, gal, mL, L",
                Form::Powder => "oz wt, lb, g, kg",
                Form::Tablet => "tablets",
            };
            return Err(QuantityError::bare_number(text, examples, units));
        }
        let Value { number, dimension } = reading.amount(tokens)?;
        let (why, hint) = match (self.form, dimension) {
            (Form::Liquid | Form::ReadyToUse, Dimension::Volume) => {
                return wanted::VOLUME.bound(&number, reading.text).map(|()| number);
            }
            (Form::Powder, Dimension::Mass) => return wanted::MASS.bound(&number, reading.text).map(|()| number),
            (Form::Tablet, Dimension::Count) => return wanted::TABLETS.bound(&number, reading.text).map(|()| number),
            (Form::Liquid | Form::ReadyToUse, Dimension::Mass) => (
                "a liquid is measured by volume, and this is a weight",
                "write fl oz or mL; for a strength to be reached write it in ppm, such as `400 ppm`",
            ),
            (Form::Powder, Dimension::Volume) => (
                "a powder must be weighed: what a scoop or spoon holds varies with how the powder has settled",
                "weigh one measure and write grams or ounces by weight, such as `10 g/L` or `1 oz wt/gal`",
            ),
            (Form::Tablet, Dimension::Volume | Dimension::Mass) => {
                ("tablets are counted", "write a number of tablets, such as `2 tablets/10 L`")
            }
            (_, Dimension::Count) => {
                ("this product is not sold as tablets", "write an amount its form can be measured by")
            }
            (_, found) => return reading.wrong_dimension(found.noun()),
        };
        reading.refuse(why, &[hint])
    }

    fn nothing<T>(&self) -> Result<T, QuantityError> {
        self.reading.refuse("a dose of 0 is no dilution", &[])
    }

    /// The water or solution: a volume above 0; a unit alone is one of it.
    fn per(&self, whole: &[Token]) -> Result<Volume, QuantityError> {
        // Whatever is not a liquid has its own ounces; a liquid's water is measured in fluid ounces as the liquid is.
        let ounce = if self.form == Form::Liquid { Ounce::Fluid } else { Ounce::Refuse };
        let reading = Reading { wanted: wanted::VOLUME, ..self.reading }.ounce(ounce);
        let value = reading.divisor(whole)?;
        if value.dimension != Dimension::Volume {
            return reading.wrong_dimension(value.dimension.noun());
        }
        wanted::VOLUME.bound(&value.number, reading.text)?;
        Ok(Volume::millilitres(value.number))
    }

    fn parts(&self, product: &Number, joint: Joint, whole: &Number) -> Result<Dilution, QuantityError> {
        if self.form != Form::Liquid {
            return self.reading.refuse(
                "parts are parts by volume, which only a liquid is measured by",
                &["write an amount, such as `10 g/L` or `2 tablets/10 L`"],
            );
        }
        let basis = match (joint, self.said) {
            (_, Some(said)) => said,
            (Joint::To, None) => Basis::AddedTo,
            (Joint::In | Joint::ToMake, None) => Basis::MadeUpTo,
            (Joint::Per, None) => {
                let [product, whole] = [product, whole].map(|number| number.decimal(6));
                return self.reading.ambiguous(&[
                    format!("`{product}:{whole}` ({product} part and {whole} parts of water)"),
                    format!("`{product} in {whole}` ({product} part in {whole} parts in all)"),
                ]);
            }
        };
        if !product.is_positive() || !whole.is_positive() {
            return self.nothing();
        }
        if *product > 1_000_000 || *whole > 1_000_000 {
            return Err(QuantityError::too_large(self.reading.text, "a dilution in parts", "1,000,000 parts"));
        }
        if basis == Basis::MadeUpTo && product >= whole {
            return self.reading.refuse(
                "the parts in all must be more than the parts of product, or there is no water",
                &["`1 in 64` is 1 part of product in 64 parts in all"],
            );
        }
        if product > whole {
            let [product, whole] = [product, whole].map(|number| number.decimal(6));
            return self.reading.refuse(
                "this is more product than water",
                &[&format!("parts of product stand first: if the other way round is meant, write `{whole}:{product}`")],
            );
        }
        Ok(Dilution::Parts { product: product.clone(), per: whole.clone(), basis })
    }
}

/// How a lone `oz` is read.
fn ounce(form: Form) -> Ounce {
    match form {
        Form::Liquid => Ounce::Fluid,
        Form::Powder => Ounce::Weight,
        Form::Tablet | Form::ReadyToUse => Ounce::Refuse,
    }
}

/// What a bare number could have been.
fn examples(form: Form, number: &str) -> Vec<String> {
    let units = match form {
        Form::Liquid | Form::ReadyToUse => ["fl oz/gal", "mL/L"],
        Form::Powder => ["oz wt/gal", "g/L"],
        Form::Tablet => ["tablets/gal", "tablets/10 L"],
    };
    units.map(|unit| format!("{number} {unit}")).to_vec()
}

/// Whether the tokens are these words, one space apart.
fn spells(tokens: &[Token], phrase: &str) -> bool {
    tokens.len() == phrase.split(' ').count()
        && tokens.iter().zip(phrase.split(' ')).all(|(token, word)| token.is(word))
}

/// How many tokens a phrase takes that they begin with; the first of `phrases` that fits counts.
fn starts(tokens: &[Token], phrases: &str) -> Option<usize> {
    let length = |phrase: &str| phrase.split(' ').count();
    let found = phrases.split('|').find(|phrase| tokens.get(..length(phrase)).is_some_and(|head| spells(head, phrase)));
    found.map(length)
}

/// The tokens before a phrase they end in, of which something is left; the first of `phrases` that fits counts.
fn before<'t>(tokens: &'t [Token], phrases: &str) -> Option<&'t [Token]> {
    phrases.split('|').find_map(|phrase| {
        let (head, tail) = tokens.split_at_checked(tokens.len().checked_sub(phrase.split(' ').count())?)?;
        (!head.is_empty() && spells(tail, phrase)).then_some(head)
    })
}

/// Takes `of water` or `of solution` off the end: the whole, in the label's own words. Longer phrases stand first.
fn without_whole(tokens: &[Token]) -> (&[Token], Option<Basis>) {
    const SOLUTION: &str = "of use solution|of finished solution|use solution|of solution|solution|in all";
    const WATERS: &str = "clean|potable|fresh|tap|cold|cool|lukewarm|warm|hot";
    if let Some(head) = before(tokens, "water") {
        let head = before(head, WATERS).unwrap_or(head);
        (before(head, "of").unwrap_or(head), Some(Basis::AddedTo))
    } else if let Some(head) = before(tokens, SOLUTION) {
        (head, Some(Basis::MadeUpTo))
    } else {
        (tokens, None)
    }
}

/// Takes `of product` off the end, and the water of `with water to make`.
fn without_product(tokens: &[Token]) -> &[Token] {
    before(tokens, "in water|with water|and water|of product|of concentrate|product|concentrate").unwrap_or(tokens)
}

/// Cuts at the words or the sign between product and whole.
fn cut(tokens: &[Token]) -> Option<(&[Token], Joint, &[Token])> {
    let from = |at: usize| tokens.get(at..).unwrap_or_default();
    // `with water to make` names water first: what is made up to wins wherever it stands.
    let to_make = (1..tokens.len())
        .find_map(|at| Some((at, starts(from(at), "to make up|made up to|make up to|to make")?, Joint::ToMake)));
    let other = || {
        (1..tokens.len()).find_map(|at| match tokens.get(at)? {
            Token::Slash => Some((at, 1, Joint::Per)),
            Token::Colon | Token::Plus => Some((at, 1, Joint::To)),
            token if token.is("in") => Some((at, 1, Joint::In)),
            _ => Some((at, starts(from(at), "added to|add to|into|to")?, Joint::To)),
        })
    };
    let (at, length, joint) = to_make.or_else(other)?;
    let (product, rest) = tokens.split_at_checked(at)?;
    let whole = rest.get(length..)?;
    let articles = starts(whole, "each|every|a|one").unwrap_or(0);
    Some((product, joint, &whole[articles..]))
}

/// A number of parts: a bare number, or one before the word.
fn parts(tokens: &[Token]) -> Option<&Number> {
    match tokens {
        [Token::Number { value, .. }] => Some(value),
        [Token::Number { value, .. }, Token::Word(word)] if word == "part" || word == "parts" => Some(value),
        _ => None,
    }
}

fn spells_parts(tokens: &[Token]) -> bool {
    tokens.last().is_some_and(|token| token.is("part") || token.is("parts"))
}
