//! Chemical families: what a product is, as far as it matters for what it must never be mixed with.

use serde::Serialize;

use Family::*;

/// A chemical family; a product may belong to several.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Family {
    /// Sodium, calcium or another hypochlorite; hypochlorous acid.
    Hypochlorite,
    /// Di- and trichloroisocyanurates.
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
    /// Quaternary ammonium compounds.
    Quaternary,
    /// Soap and most dish and laundry detergents.
    AnionicDetergent,
    /// Iodophors and iodine.
    Iodine,
    /// Chlorites, and chlorine dioxide made from them.
    Chlorite,
    /// Strong alkalis.
    Alkali,
    /// Fuels, oils, solvents and other organic matter that burns.
    Combustible,
    /// A cleaner or chemical of no family named here.
    Other,
}

/// Every family: the names that a file may call it by, the usual one first, and the CAS numbers of plain members.
///
/// Numbers of the CAS registry. Those that 40 CFR 180.940 lists were compared with it, and a test computes the check
/// digit of each; which substance the others name was not verified against the registry itself.
const FAMILIES: &[(Family, &str, &str)] = &[
    (
        Hypochlorite,
        "hypochlorite bleach chlorine chlorine-bleach bleaches",
        "7681-52-9 7778-54-3 7790-92-3 7778-66-7 13840-33-0",
    ),
    (
        Chloroisocyanurate,
        "chloroisocyanurate chlorine-tablets dichloroisocyanurate",
        "2893-78-9 51580-86-0 2244-21-5 87-90-1 2782-57-2",
    ),
    // Acetic, hydrochloric, nitric, phosphoric, sulfuric, sulfamic, citric, lactic (twice), formic, glycolic,
    // dodecylbenzenesulfonic acid.
    (
        Acid,
        "acid acids other-acids strong-acids",
        "64-19-7 7647-01-0 7697-37-2 7664-38-2 7664-93-9 5329-14-6 77-92-9 50-21-5 79-33-4 64-18-6 79-14-1 27176-87-0",
    ),
    (AceticAcid, "acetic-acid vinegar", "64-19-7"),
    // Ammonia, its solution, ammonium chloride, ethanolamine.
    (Ammonia, "ammonia amine amines", "7664-41-7 1336-21-6 12125-02-9 141-43-5"),
    // Ethanol, propan-2-ol, propan-1-ol, methanol.
    (Alcohol, "alcohol alcohols", "64-17-5 67-63-0 71-23-8 67-56-1"),
    (HydrogenPeroxide, "hydrogen-peroxide peroxide", "7722-84-1"),
    (PeraceticAcid, "peracetic-acid peroxyacetic-acid", "79-21-0"),
    (
        Quaternary,
        "quat quats quaternary",
        "7173-51-5 68424-85-1 68391-01-5 85409-22-9 85409-23-0 68956-79-6 32426-11-2 5538-94-3 68424-95-3",
    ),
    // Sodium lauryl (ether) sulfate, dodecylbenzenesulfonic acid and its sodium salt.
    (
        AnionicDetergent,
        "anionic-detergent soap soaps anionic-detergents",
        "151-21-3 68891-38-3 9004-82-4 25155-30-0 27176-87-0",
    ),
    (Iodine, "iodine iodophor", "7553-56-2"),
    (Chlorite, "chlorite chlorine-dioxide", "7758-19-2 10049-04-4"),
    // Sodium and potassium hydroxide, sodium metasilicate.
    (Alkali, "alkali alkalis strong-alkalis", "1310-73-2 1310-58-3 6834-92-0"),
    (Combustible, "combustible organic-matter", ""),
    (Other, "other", ""),
];

impl Family {
    /// Every family.
    pub fn all() -> impl Iterator<Item = Family> {
        FAMILIES.iter().map(|(family, ..)| *family)
    }

    /// The name a file calls it by.
    pub fn name(self) -> &'static str {
        let names = FAMILIES.iter().find(|(family, ..)| *family == self).map_or("other", |(_, names, _)| names);
        names.split(' ').next().unwrap_or(names)
    }

    /// The family of a name; capitals do not matter, and a blank counts as a hyphen. `None` for a name that is not
    /// known.
    pub fn from_name(name: &str) -> Option<Family> {
        let name = name.trim().to_lowercase().replace([' ', '_'], "-");
        FAMILIES.iter().find(|(_, names, _)| names.split(' ').any(|other| other == name)).map(|(family, ..)| *family)
    }

    /// The families a substance belongs to by its CAS number; none for one that is not in the table, which says nothing.
    pub fn of_cas(cas: &str) -> impl Iterator<Item = Family> {
        FAMILIES
            .iter()
            .filter(move |(.., numbers)| numbers.split_whitespace().any(|number| number == cas))
            .map(|row| row.0)
    }
}

#[cfg(test)]
mod tests {
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
        for number in FAMILIES.iter().flat_map(|(.., numbers)| numbers.split_whitespace()) {
            let (digits, check) = number.rsplit_once('-').unwrap();
            let places = digits.chars().rev().filter_map(|c| c.to_digit(10)).zip(1..);
            let sum: u32 = places.map(|(digit, place)| digit * place).sum();
            assert_eq!(check, (sum % 10).to_string(), "{number}");
        }
    }
}
