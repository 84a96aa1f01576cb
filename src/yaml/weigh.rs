//! What a YAML text comes to, counted before anything is built of it: a few lines of it can stand for gigabytes.
//!
//! The same library counts that reads afterwards, so that both mean the same by anchors, aliases and tags.

use std::cell::Cell;
use std::fmt;

use serde::de::{DeserializeSeed, Deserializer, EnumAccess, Error, MapAccess, SeqAccess, VariantAccess, Visitor};

/// Values of one file, each copy that an alias makes included. A job of a thousand areas has a twentieth of this.
pub(super) const MOST_VALUES: usize = 200_000;
/// The longest key, in bytes.
pub(super) const LONGEST_KEY: usize = 1_000;
/// What the paths of all values (`areas.hall.floor`) take together, in bytes: a value's path is held for as long as its file is.
const MOST_PATHS: usize = 64 << 20;
/// What a step of a path takes beside its key, in bytes.
const STEP: usize = 32;

/// Why a text is not read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum TooMuch {
    Values,
    Key,
    Paths,
}

/// Whether a text is within bounds. One that is no YAML is; whoever reads it says what is wrong with it.
pub(super) fn weigh(text: &str) -> Result<(), TooMuch> {
    let scales = Scales::default();
    // an error that is not one of the bounds' comes up again when the text is read
    let _ = Weight { scales: &scales, path: 0 }.deserialize(serde_yaml::Deserializer::from_str(text));
    scales.beyond.get().map_or(Ok(()), Err)
}

#[derive(Default)]
struct Scales {
    values: Cell<usize>,
    paths: Cell<usize>,
    beyond: Cell<Option<TooMuch>>,
}

impl Scales {
    fn stop<E: Error>(&self, beyond: TooMuch) -> E {
        self.beyond.set(Some(beyond));
        E::custom("beyond bounds")
    }
}

/// A value that is counted and thrown away; it gives the bytes of its text.
#[derive(Clone, Copy)]
struct Weight<'s> {
    scales: &'s Scales,
    /// What the path to it takes.
    path: usize,
}

impl Weight<'_> {
    fn inner(self, key: usize) -> Self {
        Weight { path: self.path + key + STEP, ..self }
    }
}

impl<'de> DeserializeSeed<'de> for Weight<'_> {
    type Value = usize;

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<usize, D::Error> {
        let values = self.scales.values.get() + 1;
        self.scales.values.set(values);
        let paths = self.scales.paths.get() + self.path;
        self.scales.paths.set(paths);
        if values > MOST_VALUES {
            return Err(self.scales.stop(TooMuch::Values));
        }
        if paths > MOST_PATHS {
            return Err(self.scales.stop(TooMuch::Paths));
        }
        from.deserialize_any(self)
    }
}

/// Values without a text.
macro_rules! weightless {
    ($($visit:ident($($of:ty)?))*) => {
        $(fn $visit<E>(self, $(_: $of)?) -> Result<usize, E> {
            Ok(0)
        })*
    };
}

impl<'de> Visitor<'de> for Weight<'_> {
    type Value = usize;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("any value")
    }

    fn visit_str<E>(self, text: &str) -> Result<usize, E> {
        Ok(text.len())
    }

    weightless! { visit_bool(bool) visit_i64(i64) visit_u64(u64) visit_f64(f64) visit_unit() visit_none() }

    fn visit_some<D: Deserializer<'de>>(self, from: D) -> Result<usize, D::Error> {
        self.deserialize(from)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<usize, A::Error> {
        while items.next_element_seed(self.inner(0))?.is_some() {}
        Ok(0)
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<usize, A::Error> {
        while let Some(key) = entries.next_key_seed(self)? {
            if key > LONGEST_KEY {
                return Err(self.scales.stop(TooMuch::Key));
            }
            entries.next_value_seed(self.inner(key))?;
        }
        Ok(0)
    }

    fn visit_enum<A: EnumAccess<'de>>(self, tagged: A) -> Result<usize, A::Error> {
        let (_tag, value) = tagged.variant::<String>()?;
        value.newtype_variant_seed(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn copies_count_as_often_as_they_are_made() {
        let wide = format!("a: &a [{}]\n", "1, ".repeat(1_000));
        let aliases = |times: usize| format!("{wide}b: [{}]\n", "*a, ".repeat(times));
        assert_eq!(weigh(&aliases(100)), Ok(()));
        assert_eq!(weigh(&aliases(250)), Err(TooMuch::Values));
        let merges = format!("{wide}b: &b {{ a: *a }}\nc: {{ <<: [{}] }}\n", "*b, ".repeat(250));
        assert_eq!(weigh(&merges), Err(TooMuch::Values));
        assert_eq!(weigh(&"- \n".repeat(MOST_VALUES + 1)), Err(TooMuch::Values));
    }

    #[test]
    fn a_key_counts_for_everything_below_it() {
        assert_eq!(weigh(&format!("{}: 1\n", "k".repeat(LONGEST_KEY))), Ok(()));
        assert_eq!(weigh(&format!("{}: 1\n", "k".repeat(LONGEST_KEY + 1))), Err(TooMuch::Key));
        assert_eq!(weigh(&format!("? {}\n: 1\n", "k".repeat(LONGEST_KEY + 1))), Err(TooMuch::Key));
        let below = format!("{}: [{}]\n", "k".repeat(900), "1, ".repeat(100_000));
        assert_eq!(weigh(&below), Err(TooMuch::Paths));
    }

    #[test]
    fn what_is_no_yaml_or_has_tags_is_somebody_elses_matter() {
        for text in ["", "a: [", "a: b: c", "*a", "!x y", "a: !x { b: !y [1, null, 1.5, -1, true] }", "a: 1\n---\nb: 1"]
        {
            assert_eq!(weigh(text), Ok(()), "{text}");
        }
    }
}
