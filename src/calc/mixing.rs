//! What must never meet: families of chemicals that form something dangerous, or undo each other, when they are mixed.
//!
//! Never together means: not in one load, not in one tank after another without a rinse, not open side by side. The
//! table is not complete and never becomes a permission: a pair that is not in it is unknown, and the products' labels
//! and safety data sheets come first.

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

/// How bad it is, the worst last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Danger {
    /// One takes away the other's effect: the surface is not disinfected.
    LosesEffect,
    /// It may react: nobody should try.
    Unknown,
    /// It forms a harmful or corrosive substance.
    HarmfulProduct,
    /// Heat, pressure, fire or bursting.
    Violent,
    /// A toxic gas.
    ToxicGas,
}

/// A pair that must not meet.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Conflict {
    /// One family.
    pub one: Family,
    /// The other; the order means nothing.
    pub other: Family,
    /// How bad it is.
    pub danger: Danger,
    /// What is formed or lost.
    pub forms: &'static str,
    /// Where that is from.
    pub source: &'static str,
}

const fn pair(one: Family, other: Family, danger: Danger, forms: &'static str, source: &'static str) -> Conflict {
    Conflict {
        one,
        other,
        danger,
        forms,
        source,
    }
}

const MMWR: &str =
    "CDC, MMWR 1991;40(36): chlorine gas from hypochlorite and a phosphoric acid cleaner, California 1987–1989";
const WASHINGTON: &str = "Washington State Department of Health, dangers of mixing bleach with cleaners";
const FIRE_NOTICE: &str = "fire department safety notices";
const CDC_2021: &str = "CDC, How to make 0.1 % chlorine solution, 2021: never mixed with another cleaner";
const MEMORY: &str = "general chemistry, from memory; the safety data sheet decides";

/// The table.
pub const TABLE: &[Conflict] = &[
    pair(Hypochlorite, Acid, Danger::ToxicGas, "chlorine gas", MMWR),
    pair(Hypochlorite, AceticAcid, Danger::ToxicGas, "chlorine gas", WASHINGTON),
    pair(Hypochlorite, Ammonia, Danger::ToxicGas, "chloramine gases", WASHINGTON),
    pair(
        Hypochlorite,
        Alcohol,
        Danger::HarmfulProduct,
        "chloroform and other chlorinated compounds",
        FIRE_NOTICE,
    ),
    pair(
        Hypochlorite,
        HydrogenPeroxide,
        Danger::Violent,
        "oxygen under pressure and heat; both lose effect",
        WASHINGTON,
    ),
    pair(
        Hypochlorite,
        PeraceticAcid,
        Danger::ToxicGas,
        "chlorine gas: the product is acid",
        MEMORY,
    ),
    pair(
        Hypochlorite,
        Quaternary,
        Danger::HarmfulProduct,
        "loss of active; chloramines where amine is free",
        MEMORY,
    ),
    pair(
        Hypochlorite,
        Chloroisocyanurate,
        Danger::Violent,
        "nitrogen trichloride: heat, fire, bursting",
        MEMORY,
    ),
    pair(
        Hypochlorite,
        Iodine,
        Danger::ToxicGas,
        "chlorine and iodine: iodophors are acid",
        MEMORY,
    ),
    pair(Hypochlorite, Chlorite, Danger::ToxicGas, "chlorine dioxide gas", MEMORY),
    pair(Hypochlorite, Combustible, Danger::Violent, "heat and fire", MEMORY),
    pair(
        Hypochlorite,
        AnionicDetergent,
        Danger::Unknown,
        "not known: detergents may hold acid or amine",
        CDC_2021,
    ),
    pair(Hypochlorite, Alkali, Danger::Unknown, "not known", CDC_2021),
    pair(Hypochlorite, Other, Danger::Unknown, "not known", CDC_2021),
    pair(Chloroisocyanurate, Acid, Danger::ToxicGas, "chlorine gas", MEMORY),
    pair(Chloroisocyanurate, AceticAcid, Danger::ToxicGas, "chlorine gas", MEMORY),
    pair(
        Chloroisocyanurate,
        Ammonia,
        Danger::ToxicGas,
        "chloramine gases, nitrogen trichloride",
        MEMORY,
    ),
    pair(
        Chloroisocyanurate,
        Alcohol,
        Danger::HarmfulProduct,
        "chlorinated compounds, heat",
        MEMORY,
    ),
    pair(
        Chloroisocyanurate,
        HydrogenPeroxide,
        Danger::Violent,
        "oxygen under pressure and heat",
        MEMORY,
    ),
    pair(
        Chloroisocyanurate,
        PeraceticAcid,
        Danger::ToxicGas,
        "chlorine gas: the product is acid",
        MEMORY,
    ),
    pair(
        Chloroisocyanurate,
        Quaternary,
        Danger::HarmfulProduct,
        "loss of active; chloramines where amine is free",
        MEMORY,
    ),
    pair(
        Chloroisocyanurate,
        Iodine,
        Danger::ToxicGas,
        "chlorine and iodine: iodophors are acid",
        MEMORY,
    ),
    pair(
        Chloroisocyanurate,
        Chlorite,
        Danger::ToxicGas,
        "chlorine dioxide gas",
        MEMORY,
    ),
    pair(
        Chloroisocyanurate,
        Combustible,
        Danger::Violent,
        "heat and fire",
        MEMORY,
    ),
    pair(
        Chloroisocyanurate,
        Alkali,
        Danger::Violent,
        "nitrogen trichloride: heat, bursting",
        MEMORY,
    ),
    pair(
        Chloroisocyanurate,
        AnionicDetergent,
        Danger::Unknown,
        "not known: detergents may hold acid or amine",
        CDC_2021,
    ),
    pair(Chloroisocyanurate, Other, Danger::Unknown, "not known", CDC_2021),
    pair(
        HydrogenPeroxide,
        AceticAcid,
        Danger::HarmfulProduct,
        "peracetic acid, corrosive",
        FIRE_NOTICE,
    ),
    pair(HydrogenPeroxide, Combustible, Danger::Violent, "fire", MEMORY),
    pair(
        HydrogenPeroxide,
        Alcohol,
        Danger::Violent,
        "fire at high strength",
        MEMORY,
    ),
    pair(
        HydrogenPeroxide,
        Alkali,
        Danger::Violent,
        "oxygen under pressure and heat",
        MEMORY,
    ),
    pair(
        HydrogenPeroxide,
        Iodine,
        Danger::Violent,
        "oxygen under pressure; iodine",
        MEMORY,
    ),
    pair(PeraceticAcid, Combustible, Danger::Violent, "fire", MEMORY),
    pair(PeraceticAcid, Alcohol, Danger::Violent, "fire at high strength", MEMORY),
    pair(
        PeraceticAcid,
        Alkali,
        Danger::Violent,
        "oxygen under pressure and heat; loss of active",
        MEMORY,
    ),
    pair(PeraceticAcid, Ammonia, Danger::Violent, "heat; loss of active", MEMORY),
    pair(PeraceticAcid, Iodine, Danger::ToxicGas, "iodine vapour", MEMORY),
    pair(
        PeraceticAcid,
        Chlorite,
        Danger::ToxicGas,
        "chlorine dioxide gas: the product is acid",
        MEMORY,
    ),
    pair(Chlorite, Acid, Danger::ToxicGas, "chlorine dioxide gas", MEMORY),
    pair(Chlorite, AceticAcid, Danger::ToxicGas, "chlorine dioxide gas", MEMORY),
    pair(Chlorite, Combustible, Danger::Violent, "fire", MEMORY),
    pair(
        Quaternary,
        AnionicDetergent,
        Danger::LosesEffect,
        "the two bind each other: no disinfection",
        MEMORY,
    ),
    pair(Acid, Alkali, Danger::Violent, "heat and spattering", MEMORY),
    pair(AceticAcid, Alkali, Danger::Violent, "heat and spattering", MEMORY),
    pair(Ammonia, Iodine, Danger::Violent, "nitrogen triiodide when dry", MEMORY),
];

/// The row of the table for two families, in either order.
pub fn conflict(one: Family, other: Family) -> Option<&'static Conflict> {
    TABLE
        .iter()
        .find(|row| (row.one, row.other) == (one, other) || (row.one, row.other) == (other, one))
}

/// Every conflict between two products, each of some families; the worst first, each once, in an order that does not
/// depend on how the families are listed.
pub fn conflicts(one: &[Family], other: &[Family]) -> Vec<&'static Conflict> {
    let meets = |row: &&Conflict| {
        (one.contains(&row.one) && other.contains(&row.other)) || (one.contains(&row.other) && other.contains(&row.one))
    };
    let mut found: Vec<&Conflict> = TABLE.iter().filter(meets).collect();
    found.sort_by_key(|row| std::cmp::Reverse(row.danger));
    found
}

/// Every family, with the name a file calls it by and the other names that are understood.
const NAMES: &[(Family, &[&str])] = &[
    (Hypochlorite, &["hypochlorite", "bleach", "chlorine"]),
    (
        Chloroisocyanurate,
        &["chloroisocyanurate", "chlorine-tablets", "dichloroisocyanurate"],
    ),
    (Acid, &["acid"]),
    (AceticAcid, &["acetic-acid", "vinegar"]),
    (Ammonia, &["ammonia", "amine"]),
    (Alcohol, &["alcohol"]),
    (HydrogenPeroxide, &["hydrogen-peroxide", "peroxide"]),
    (PeraceticAcid, &["peracetic-acid", "peroxyacetic-acid"]),
    (Quaternary, &["quat", "quaternary"]),
    (AnionicDetergent, &["anionic-detergent", "soap"]),
    (Iodine, &["iodine", "iodophor"]),
    (Chlorite, &["chlorite", "chlorine-dioxide"]),
    (Alkali, &["alkali"]),
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
        NAMES
            .iter()
            .find(|(_, names)| names.contains(&name.as_str()))
            .map(|(family, _)| *family)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_pairs() {
        for (one, other, forms) in [
            (Hypochlorite, Acid, "chlorine gas"),             // CDC, MMWR
            (Hypochlorite, AceticAcid, "chlorine gas"),       // Washington DOH
            (Hypochlorite, Ammonia, "chloramine"),            // Washington DOH
            (Hypochlorite, Alcohol, "chloroform"),            // fire department notice
            (HydrogenPeroxide, AceticAcid, "peracetic acid"), // fire department notice
            (Hypochlorite, HydrogenPeroxide, "oxygen"),       // Washington DOH; the gas from memory
        ] {
            for (a, b) in [(one, other), (other, one)] {
                assert!(conflict(a, b).unwrap().forms.contains(forms), "{a:?} {b:?}");
            }
        }
        assert_eq!(conflict(Hypochlorite, Acid).unwrap().danger, Danger::ToxicGas);
    }

    #[test]
    fn chlorine_never_meets_any_other_cleaner() {
        // CDC 2021: do not mix chlorine solutions with any other cleaner.
        for chlorine in [Hypochlorite, Chloroisocyanurate] {
            for other in Family::all().filter(|family| *family != chlorine) {
                assert!(conflict(chlorine, other).is_some(), "{chlorine:?} {other:?}");
            }
        }
    }

    #[test]
    fn each_pair_stands_once() {
        for (index, row) in TABLE.iter().enumerate() {
            assert!(row.one != row.other && !row.forms.is_empty() && !row.source.is_empty());
            let first = TABLE
                .iter()
                .position(|r| (r.one, r.other) == (row.one, row.other) || (r.one, r.other) == (row.other, row.one));
            assert_eq!(first, Some(index), "{row:?}");
        }
    }

    #[test]
    fn products_of_several_families() {
        let vinegar = [AceticAcid, Acid];
        let found = conflicts(&vinegar, &[Hypochlorite, Quaternary]);
        assert_eq!(found.len(), 2);
        assert_eq!(found, conflicts(&[Quaternary, Hypochlorite], &[Acid, AceticAcid]));
        let worst_first = conflicts(&[Hypochlorite], &[Quaternary, Acid, Other]);
        assert!(worst_first.windows(2).all(|two| two[0].danger >= two[1].danger));
        assert_eq!(worst_first[0].danger, Danger::ToxicGas);
        assert!(conflicts(&[Quaternary], &[Alcohol]).is_empty());
        assert!(conflicts(&[], &[Hypochlorite]).is_empty());
    }

    #[test]
    fn names() {
        for family in Family::all() {
            assert_eq!(Family::from_name(family.name()), Some(family));
        }
        assert_eq!(Family::from_name("Anionic detergent"), Some(AnionicDetergent));
        assert_eq!(Family::from_name("chlorine-tablets"), Some(Chloroisocyanurate));
        assert_eq!(Family::from_name("water"), None);
    }
}
