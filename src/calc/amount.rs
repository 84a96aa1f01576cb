//! An amount of product, measured the way its form is measured.

use serde::{Serialize, Serializer};

pub use crate::quantity::Form;
use crate::quantity::kinds::serialize_with_unit;
use crate::quantity::{Mass, Number, Volume};

#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Amount {
    None,
    Liquid(Volume),
    Powder(Mass),
    Tablets(Number),
}

impl Amount {
    /// The bare figure: millilitres, grams or tablets; 0 for none.
    pub fn value(&self) -> Number {
        match self {
            Amount::None => Number::zero(),
            Amount::Liquid(volume) => volume.as_millilitres().clone(),
            Amount::Powder(mass) => mass.as_grams().clone(),
            Amount::Tablets(count) => count.clone(),
        }
    }

    /// The unit of [`Amount::value`]: `mL`, `g` or `tablet`; empty for none.
    pub fn unit(&self) -> &'static str {
        match self {
            Amount::None => "",
            Amount::Liquid(_) => Volume::UNIT,
            Amount::Powder(_) => Mass::UNIT,
            Amount::Tablets(_) => "tablet",
        }
    }

    /// The same kind of amount with another figure (millilitres, grams or tablets).
    pub fn with_value(&self, value: Number) -> Amount {
        match self {
            Amount::None => Amount::None,
            Amount::Liquid(_) => Amount::Liquid(Volume::millilitres(value)),
            Amount::Powder(_) => Amount::Powder(Mass::grams(value)),
            Amount::Tablets(_) => Amount::Tablets(value),
        }
    }

    pub fn times(&self, factor: &Number) -> Amount {
        self.with_value(&self.value() * factor)
    }

    pub fn is_zero(&self) -> bool {
        self.value().is_zero()
    }

    /// The volume it adds to the water: all of a liquid's, none of a powder's or a tablet's (see [`super::dilution`]).
    pub fn added_volume(&self) -> Volume {
        match self {
            Amount::Liquid(volume) => volume.clone(),
            _ => Volume::zero(),
        }
    }

    /// The two together; `None` where they are measured in different ways.
    pub fn plus(&self, other: &Amount) -> Option<Amount> {
        match (self, other) {
            (Amount::None, amount) | (amount, Amount::None) => Some(amount.clone()),
            (Amount::Liquid(a), Amount::Liquid(b)) => Some(Amount::Liquid(a + b)),
            (Amount::Powder(a), Amount::Powder(b)) => Some(Amount::Powder(a + b)),
            (Amount::Tablets(a), Amount::Tablets(b)) => Some(Amount::Tablets(a + b)),
            _ => None,
        }
    }
}

impl Serialize for Amount {
    /// `{"value": …, "unit": "mL" | "g" | "tablet"}`, or `null` for none.
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Amount::None => serializer.serialize_none(),
            Amount::Liquid(volume) => volume.serialize(serializer),
            Amount::Powder(mass) => mass.serialize(serializer),
            Amount::Tablets(count) => serialize_with_unit(count, "tablet", serializer),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_of_one_kind_add_up() {
        let two = Amount::Tablets(Number::int(2));
        assert_eq!(two.plus(&two), Some(Amount::Tablets(Number::int(4))));
        assert_eq!(two.plus(&Amount::None), Some(two.clone()));
        assert_eq!(two.plus(&Amount::Powder(Mass::zero())), None);
    }

    #[test]
    fn only_a_liquid_adds_volume() {
        let millilitres = Volume::millilitres(Number::int(5));
        assert_eq!(Amount::Liquid(millilitres.clone()).added_volume(), millilitres);
        assert!(Amount::Powder(Mass::grams(Number::int(5))).added_volume().is_zero());
    }
}
