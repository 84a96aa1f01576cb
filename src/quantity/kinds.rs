//! One type a dimension, so that a volume can never be taken for a mass. Each holds an exact [`Number`] in one base unit.

use std::iter::Sum;
use std::ops::{Add, Sub};

use serde::ser::SerializeStruct;
use serde::{Serialize, Serializer};

use super::number::Number;

/// `{"value": …, "unit": "…"}`
pub fn serialize_with_unit<S: Serializer>(
    value: &Number,
    unit: &'static str,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    let mut map = serializer.serialize_struct("Quantity", 2)?;
    map.serialize_field("value", value)?;
    map.serialize_field("unit", unit)?;
    map.end()
}

macro_rules! kinds {
    ($($(#[$doc:meta])* $name:ident $unit:literal $make:ident $get:ident;)+) => {$(
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(Number);

        impl $name {
            /// The base unit, as it is written in JSON.
            pub const UNIT: &'static str = $unit;

            pub fn $make(value: Number) -> Self {
                $name(value)
            }

            pub fn $get(&self) -> &Number {
                &self.0
            }

            pub fn zero() -> Self {
                $name(Number::zero())
            }

            pub fn is_zero(&self) -> bool {
                self.0.is_zero()
            }

            pub fn times(&self, factor: &Number) -> Self {
                $name(&self.0 * factor)
            }

            /// How many times `other` goes into it, exactly.
            ///
            /// # Panics
            /// If `other` is 0.
            pub fn over(&self, other: &Self) -> Number {
                &self.0 / &other.0
            }
        }

        impl Add for &$name {
            type Output = $name;
            fn add(self, other: &$name) -> $name {
                $name(&self.0 + &other.0)
            }
        }

        impl Sub for &$name {
            type Output = $name;
            fn sub(self, other: &$name) -> $name {
                $name(&self.0 - &other.0)
            }
        }

        impl Sum for $name {
            fn sum<I: Iterator<Item = $name>>(iter: I) -> $name {
                $name(iter.map(|each| each.0).sum())
            }
        }

        impl<'a> Sum<&'a $name> for $name {
            fn sum<I: Iterator<Item = &'a $name>>(iter: I) -> $name {
                $name(iter.fold(Number::zero(), |sum, each| sum + &each.0))
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serialize_with_unit(&self.0, $unit, serializer)
            }
        }
    )+};
}

// name, base unit, from a number of it, to a number of it
kinds! {
    Volume "mL" millilitres as_millilitres;
    Mass "g" grams as_grams;
    Length "m" metres as_metres;
    Area "m2" square_metres as_square_metres;
    Flow "mL/min" millilitres_per_minute as_millilitres_per_minute;
    Speed "m/s" metres_per_second as_metres_per_second;
    Pressure "kPa" kilopascals as_kilopascals;
    Time "s" seconds as_seconds;
    /// The only kind that may be below 0.
    Temperature "degC" celsius as_celsius;
    /// How much of a substance a litre of solution holds: what a strip calls ppm.
    Strength "mg/L" milligrams_per_litre as_milligrams_per_litre;
    Density "kg/L" kilograms_per_litre as_kilograms_per_litre;
    /// A share: 1 is all, 0.01 is one per cent.
    Share "1" of_one as_of_one;
    /// Solution on a surface: also the wet film's thickness in micrometres.
    Film "mL/m2" millilitres_per_square_metre as_millilitres_per_square_metre;
}

impl Time {
    pub fn minutes(value: Number) -> Self {
        Time::seconds(value * Number::int(60))
    }

    pub fn as_minutes(&self) -> Number {
        self.as_seconds() / &Number::int(60)
    }
}

impl Share {
    pub fn percent(value: Number) -> Self {
        Share::of_one(value / Number::int(100))
    }

    pub fn as_percent(&self) -> Number {
        self.as_of_one() * &Number::int(100)
    }
}
