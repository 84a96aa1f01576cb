//! Chemical families: what a product is, as far as it matters for what it must never meet.

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
    /// Alcohols.
    Alcohol,
    /// Hydrogen peroxide.
    HydrogenPeroxide,
    /// Peracetic (peroxyacetic) acid.
    PeraceticAcid,
    /// Quaternary ammonium compounds.
    Quaternary,
    /// Anionic detergents: soap and most dish and laundry detergents.
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

/// Every family, with the name a file calls it by and the other names that are understood.
const NAMES: &[(Family, &[&str])] = &[
    (Hypochlorite, &["hypochlorite", "bleach", "chlorine", "chlorine-bleach", "bleaches"]),
    (Chloroisocyanurate, &["chloroisocyanurate", "chlorine-tablets", "dichloroisocyanurate"]),
    (Acid, &["acid", "acids", "other-acids", "strong-acids"]),
    (AceticAcid, &["acetic-acid", "vinegar"]),
    (Ammonia, &["ammonia", "amine", "amines"]),
    (Alcohol, &["alcohol", "alcohols"]),
    (HydrogenPeroxide, &["hydrogen-peroxide", "peroxide"]),
    (PeraceticAcid, &["peracetic-acid", "peroxyacetic-acid"]),
    (Quaternary, &["quat", "quats", "quaternary"]),
    (AnionicDetergent, &["anionic-detergent", "soap", "soaps", "anionic-detergents"]),
    (Iodine, &["iodine", "iodophor"]),
    (Chlorite, &["chlorite", "chlorine-dioxide"]),
    (Alkali, &["alkali", "alkalis", "strong-alkalis"]),
    (Combustible, &["combustible", "organic-matter"]),
    (Other, &["other"]),
];

impl Family {
    /// Every family.
    pub fn all() -> impl Iterator<Item = Family> {
        NAMES.iter().map(|(family, _)| *family)
    }

    /// The name a file calls it by.
    pub fn name(self) -> &'static str {
        NAMES
            .iter()
            .find(|(family, _)| *family == self)
            .and_then(|(_, names)| names.first())
            .copied()
            .unwrap_or("other")
    }

    /// The family of a name; capitals do not matter, and a blank counts as a hyphen. `None` for a name that is not
    /// known.
    pub fn from_name(name: &str) -> Option<Family> {
        let name = name.trim().to_lowercase().replace([' ', '_'], "-");
        NAMES.iter().find(|(_, names)| names.contains(&name.as_str())).map(|(family, _)| *family)
    }

    /// The families a substance belongs to by its CAS number; empty for one that is not in the table, which says nothing.
    /// Numbers of the CAS registry. Those that 40 CFR 180.940 lists were compared with it, and a test computes the check
    /// digit of each; which substance the others name was not verified against the registry itself. Each is a plain member
    /// of its family.
    pub fn of_cas(cas: &str) -> &'static [Family] {
        SUBSTANCES.iter().find(|(numbers, _)| numbers.contains(&cas)).map_or(&[], |(_, families)| families)
    }
}

const SUBSTANCES: &[(&[&str], &[Family])] = &[
    (&["7681-52-9", "7778-54-3", "7790-92-3", "7778-66-7", "13840-33-0"], &[Hypochlorite]),
    (&["2893-78-9", "51580-86-0", "2244-21-5", "87-90-1", "2782-57-2"], &[Chloroisocyanurate]),
    (&["64-19-7"], &[Acid, AceticAcid]),
    // Hydrochloric, nitric, phosphoric, sulfuric, sulfamic, citric, lactic, formic, glycolic acid.
    (
        &[
            "7647-01-0",
            "7697-37-2",
            "7664-38-2",
            "7664-93-9",
            "5329-14-6",
            "77-92-9",
            "50-21-5",
            "79-33-4",
            "64-18-6",
            "79-14-1",
        ],
        &[Acid],
    ),
    // Ammonia, its solution, ammonium chloride, ethanolamine.
    (&["7664-41-7", "1336-21-6", "12125-02-9", "141-43-5"], &[Ammonia]),
    // Ethanol, propan-2-ol, propan-1-ol, methanol.
    (&["64-17-5", "67-63-0", "71-23-8", "67-56-1"], &[Alcohol]),
    (&["7722-84-1"], &[HydrogenPeroxide]),
    (&["79-21-0"], &[PeraceticAcid]),
    (
        &[
            "7173-51-5",
            "68424-85-1",
            "68391-01-5",
            "85409-22-9",
            "85409-23-0",
            "68956-79-6",
            "32426-11-2",
            "5538-94-3",
            "68424-95-3",
        ],
        &[Quaternary],
    ),
    // Sodium lauryl (ether) sulfate, dodecylbenzenesulfonic acid and its sodium salt.
    (&["151-21-3", "68891-38-3", "9004-82-4", "25155-30-0"], &[AnionicDetergent]),
    (&["27176-87-0"], &[AnionicDetergent, Acid]),
    (&["7553-56-2"], &[Iodine]),
    (&["7758-19-2", "10049-04-4"], &[Chlorite]),
    // Sodium and potassium hydroxide, sodium metasilicate.
    (&["1310-73-2", "1310-58-3", "6834-92-0"], &[Alkali]),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names() {
        for family in Family::all() {
            assert_eq!(Family::from_name(family.name()), Some(family));
        }
        assert_eq!(Family::from_name("Anionic detergent"), Some(AnionicDetergent));
        assert_eq!(Family::from_name("chlorine-tablets"), Some(Chloroisocyanurate));
        assert_eq!(Family::from_name("water"), None);
        assert_eq!(Family::from_name("chlorine bleach"), Some(Hypochlorite));
        assert_eq!(Family::from_name("other acids"), Some(Acid));
    }

    #[test]
    fn substances() {
        // CAS registry: sodium hypochlorite, acetic acid, didecyldimethylammonium chloride.
        assert_eq!(Family::of_cas("7681-52-9"), [Hypochlorite]);
        assert_eq!(Family::of_cas("64-19-7"), [Acid, AceticAcid]);
        assert_eq!(Family::of_cas("7173-51-5"), [Quaternary]);
        assert!(Family::of_cas("7732-18-5").is_empty());
    }

    /// CAS registry: the last digit is the sum of the others, each times its place from the right, modulo 10.
    #[test]
    fn every_number_carries_its_check_digit() {
        for number in SUBSTANCES.iter().flat_map(|(numbers, _)| *numbers) {
            let (digits, check) = number.rsplit_once('-').unwrap();
            let places = digits.chars().rev().filter_map(|c| c.to_digit(10)).zip(1..);
            let sum: u32 = places.map(|(digit, place)| digit * place).sum();
            assert_eq!(check, (sum % 10).to_string(), "{number}");
        }
    }
}
