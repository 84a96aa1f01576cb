//! One type a dimension, so that a volume can never be taken for a mass. Each holds an exact [`Number`] in one base unit.

use serde::ser::SerializeStruct;
use serde::{Serialize, Serializer};

use super::number::Number;

macro_rules! kind {
    ($(#[$doc:meta])* $name:ident, $unit:literal, $make:ident, $get:ident) => {
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(Number);

        impl $name {
            /// The base unit, as it is written in JSON.
            pub const UNIT: &'static str = $unit;

            #[doc = concat!("From a number of ", $unit, ".")]
            pub fn $make(value: Number) -> Self {
                $name(value)
            }

            #[doc = concat!("The number of ", $unit, ".")]
            pub fn $get(&self) -> &Number {
                &self.0
            }

            /// Nought of it.
            pub fn zero() -> Self {
                $name(Number::zero())
            }

            /// Whether there is none of it.
            pub fn is_zero(&self) -> bool {
                self.0.is_zero()
            }

            /// So many times as much.
            pub fn times(&self, factor: &Number) -> Self {
                $name(&self.0 * factor)
            }

            /// How many times `other` goes into it, exactly.
            ///
            /// # Panics
            /// If `other` is nought.
            pub fn over(&self, other: &Self) -> Number {
                &self.0 / &other.0
            }
        }

        impl std::ops::Add<&$name> for &$name {
            type Output = $name;
            fn add(self, other: &$name) -> $name {
                $name(&self.0 + &other.0)
            }
        }

        impl std::ops::Sub<&$name> for &$name {
            type Output = $name;
            fn sub(self, other: &$name) -> $name {
                $name(&self.0 - &other.0)
            }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = $name>>(iter: I) -> $name {
                iter.fold($name::zero(), |sum, next| &sum + &next)
            }
        }

        impl<'a> std::iter::Sum<&'a $name> for $name {
            fn sum<I: Iterator<Item = &'a $name>>(iter: I) -> $name {
                iter.fold($name::zero(), |sum, next| &sum + next)
            }
        }

        impl Serialize for $name {
            /// `{"value": …, "unit": "…"}`
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                let mut map = serializer.serialize_struct(stringify!($name), 2)?;
                map.serialize_field("value", &self.0)?;
                map.serialize_field("unit", $unit)?;
                map.end()
            }
        }
    };
}

kind!(
    /// A volume of liquid, in millilitres.
    Volume, "mL", millilitres, as_millilitres
);
kind!(
    /// A mass, in grams.
    Mass, "g", grams, as_grams
);
kind!(
    /// A length, in metres.
    Length, "m", metres, as_metres
);
kind!(
    /// An area, in square metres.
    Area, "m2", square_metres, as_square_metres
);
kind!(
    /// A flow of liquid, in millilitres a minute.
    Flow, "mL/min", millilitres_per_minute, as_millilitres_per_minute
);
kind!(
    /// A speed, in metres a second.
    Speed, "m/s", metres_per_second, as_metres_per_second
);
kind!(
    /// A pressure, in kilopascals.
    Pressure, "kPa", kilopascals, as_kilopascals
);
kind!(
    /// A length of time, in seconds.
    Time, "s", seconds, as_seconds
);
kind!(
    /// A temperature, in degrees Celsius. The only kind that may be below nought.
    Temperature, "degC", celsius, as_celsius
);
kind!(
    /// How much of a substance a litre of solution holds, in milligrams a litre: what a strip calls ppm.
    Strength, "mg/L", milligrams_per_litre, as_milligrams_per_litre
);
kind!(
    /// Mass by volume, in kilograms a litre (grams a millilitre).
    Density, "kg/L", kilograms_per_litre, as_kilograms_per_litre
);
kind!(
    /// A share of a whole: 1 is the whole, 0.01 is one per cent.
    Share, "1", of_one, as_of_one
);
kind!(
    /// Solution laid on a surface, in millilitres a square metre: also the wet film's thickness in micrometres.
    Film, "mL/m2", millilitres_per_square_metre, as_millilitres_per_square_metre
);

impl Time {
    /// From a number of minutes.
    pub fn minutes(value: Number) -> Self {
        Time::seconds(value * Number::int(60))
    }

    /// The number of minutes.
    pub fn as_minutes(&self) -> Number {
        self.as_seconds() / &Number::int(60)
    }
}

impl Share {
    /// From a number of per cent.
    pub fn percent(value: Number) -> Self {
        Share::of_one(value / Number::int(100))
    }

    /// The number of per cent.
    pub fn as_percent(&self) -> Number {
        self.as_of_one() * &Number::int(100)
    }
}
