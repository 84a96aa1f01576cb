//! Chemical families: what a product is, as far as it matters for what it must never be mixed with.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

/// A chemical family; a product may belong to several.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Family {
    /// Sodium, calcium or another hypochlorite; hypochlorous acid.
    Hypochlorite,
    Chloroisocyanurate,
    /// Acids and acid cleaners, vinegar among them.
    Acid,
    /// Acetic acid and vinegar; also an [`Family::Acid`].
    AceticAcid,
    /// Ammonia, ammonium salts and amines.
    Ammonia,
    Alcohol,
    HydrogenPeroxide,
    /// Peracetic (peroxyacetic) acid.
    PeraceticAcid,
    Quaternary,
    /// Soap and most dish and laundry detergents.
    AnionicDetergent,
    /// Iodophors and iodine.
    Iodine,
    /// Chlorites, and chlorine dioxide made from them.
    Chlorite,
    Alkali,
    /// Fuels, oils, solvents and other organic matter that burns.
    Combustible,
    /// A cleaner or chemical of no family named here.
    Other,
}

#[derive(Deserialize)]
struct Row {
    family: Family,
    names: String,
    cas: String,
}

static FAMILIES: LazyLock<Vec<Row>> = LazyLock::new(|| super::built_in(include_str!("families.csv")));

impl Family {
    pub fn all() -> impl Iterator<Item = Family> {
        FAMILIES.iter().map(|row| row.family)
    }

    pub fn name(self) -> &'static str {
        let row = FAMILIES.iter().find(|row| row.family == self);
        row.and_then(|row| row.names.split(' ').next()).unwrap_or("other")
    }

    /// The family of a name; capitals do not matter, and a blank counts as a hyphen. `None` for a name that is not known.
    pub fn from_name(name: &str) -> Option<Family> {
        let name = name.trim().to_lowercase().replace([' ', '_'], "-");
        FAMILIES.iter().find(|row| row.names.split(' ').any(|other| other == name)).map(|row| row.family)
    }

    /// The families a substance belongs to by its CAS number; none for one that is not in the table, which says nothing.
    pub fn of_cas(cas: &str) -> impl Iterator<Item = Family> {
        FAMILIES.iter().filter(move |row| row.cas.split_whitespace().any(|number| number == cas)).map(|row| row.family)
    }
}

#[cfg(test)]
mod tests {
    use super::Family::*;
    use super::*;

    #[test]
    fn names() {
        for family in Family::all() {
            assert_eq!(Family::from_name(family.name()), Some(family));
        }
        assert_eq!(Family::from_name("Anionic detergent"), Some(AnionicDetergent));
        assert_eq!(Family::from_name("chlorine bleach"), Some(Hypochlorite));
        assert_eq!(Family::from_name("water"), None);
    }

    #[test]
    fn substances() {
        // CAS registry: sodium hypochlorite, acetic acid, didecyldimethylammonium chloride.
        for (cas, families) in [
            ("7681-52-9", &[Hypochlorite][..]),
            ("64-19-7", &[Acid, AceticAcid]),
            ("7173-51-5", &[Quaternary]),
            ("7732-18-5", &[]),
            ("", &[]),
        ] {
            assert_eq!(Family::of_cas(cas).collect::<Vec<_>>(), families, "{cas}");
        }
    }

    /// CAS registry: the last digit is the sum of the others, each times its place from the right, modulo 10.
    #[test]
    fn every_number_carries_its_check_digit() {
        for number in FAMILIES.iter().flat_map(|row| row.cas.split_whitespace()) {
            let (digits, check) = number.rsplit_once('-').unwrap();
            let places = digits.chars().rev().filter_map(|c| c.to_digit(10)).zip(1..);
            let sum: u32 = places.map(|(digit, place)| digit * place).sum();
            assert_eq!(check, (sum % 10).to_string(), "{number}");
        }
    }
}
