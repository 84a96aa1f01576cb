//! What must never meet: families of chemicals that form something dangerous, or undo each other, when they are mixed.
//!
//! Never together means: not in one load, not in one tank after another without a rinse, not open side by side. The
//! table is not complete and never becomes a permission: a pair that is not in it is unknown, and the products' labels
//! and safety data sheets come first.

use serde::Serialize;

pub use super::family::Family;
use Family::*;

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
    /// What is formed or lost, as the language files name it under `forms`.
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
    pair(Hypochlorite, Acid, Danger::ToxicGas, "chlorine-gas", MMWR),
    pair(Hypochlorite, AceticAcid, Danger::ToxicGas, "chlorine-gas", WASHINGTON),
    pair(Hypochlorite, Ammonia, Danger::ToxicGas, "chloramines", WASHINGTON),
    pair(Hypochlorite, Alcohol, Danger::HarmfulProduct, "chloroform", FIRE_NOTICE),
    pair(
        Hypochlorite,
        HydrogenPeroxide,
        Danger::Violent,
        "oxygen-and-heat",
        WASHINGTON,
    ),
    pair(Hypochlorite, PeraceticAcid, Danger::ToxicGas, "chlorine-gas", MEMORY),
    pair(
        Hypochlorite,
        Quaternary,
        Danger::HarmfulProduct,
        "lost-active-or-chloramines",
        MEMORY,
    ),
    pair(
        Hypochlorite,
        Chloroisocyanurate,
        Danger::Violent,
        "nitrogen-trichloride",
        MEMORY,
    ),
    pair(Hypochlorite, Iodine, Danger::ToxicGas, "chlorine-and-iodine", MEMORY),
    pair(Hypochlorite, Chlorite, Danger::ToxicGas, "chlorine-dioxide", MEMORY),
    pair(Hypochlorite, Combustible, Danger::Violent, "fire", MEMORY),
    pair(Hypochlorite, AnionicDetergent, Danger::Unknown, "unknown", CDC_2021),
    pair(Hypochlorite, Alkali, Danger::Unknown, "unknown", CDC_2021),
    pair(Hypochlorite, Other, Danger::Unknown, "unknown", CDC_2021),
    pair(Chloroisocyanurate, Acid, Danger::ToxicGas, "chlorine-gas", MEMORY),
    pair(Chloroisocyanurate, AceticAcid, Danger::ToxicGas, "chlorine-gas", MEMORY),
    pair(
        Chloroisocyanurate,
        Ammonia,
        Danger::ToxicGas,
        "nitrogen-trichloride",
        MEMORY,
    ),
    pair(
        Chloroisocyanurate,
        Alcohol,
        Danger::HarmfulProduct,
        "chloroform",
        MEMORY,
    ),
    pair(
        Chloroisocyanurate,
        HydrogenPeroxide,
        Danger::Violent,
        "oxygen-and-heat",
        MEMORY,
    ),
    pair(
        Chloroisocyanurate,
        PeraceticAcid,
        Danger::ToxicGas,
        "chlorine-gas",
        MEMORY,
    ),
    pair(
        Chloroisocyanurate,
        Quaternary,
        Danger::HarmfulProduct,
        "lost-active-or-chloramines",
        MEMORY,
    ),
    pair(
        Chloroisocyanurate,
        Iodine,
        Danger::ToxicGas,
        "chlorine-and-iodine",
        MEMORY,
    ),
    pair(
        Chloroisocyanurate,
        Chlorite,
        Danger::ToxicGas,
        "chlorine-dioxide",
        MEMORY,
    ),
    pair(Chloroisocyanurate, Combustible, Danger::Violent, "fire", MEMORY),
    pair(
        Chloroisocyanurate,
        Alkali,
        Danger::Violent,
        "nitrogen-trichloride",
        MEMORY,
    ),
    pair(
        Chloroisocyanurate,
        AnionicDetergent,
        Danger::Unknown,
        "unknown",
        CDC_2021,
    ),
    pair(Chloroisocyanurate, Other, Danger::Unknown, "unknown", CDC_2021),
    pair(
        HydrogenPeroxide,
        AceticAcid,
        Danger::HarmfulProduct,
        "peracetic-acid",
        FIRE_NOTICE,
    ),
    pair(HydrogenPeroxide, Combustible, Danger::Violent, "fire", MEMORY),
    pair(HydrogenPeroxide, Alcohol, Danger::Violent, "fire-at-strength", MEMORY),
    pair(HydrogenPeroxide, Alkali, Danger::Violent, "oxygen-and-heat", MEMORY),
    pair(HydrogenPeroxide, Iodine, Danger::Violent, "oxygen-and-heat", MEMORY),
    pair(PeraceticAcid, Combustible, Danger::Violent, "fire", MEMORY),
    pair(PeraceticAcid, Alcohol, Danger::Violent, "fire-at-strength", MEMORY),
    pair(PeraceticAcid, Alkali, Danger::Violent, "oxygen-and-heat", MEMORY),
    pair(PeraceticAcid, Ammonia, Danger::Violent, "heat", MEMORY),
    pair(PeraceticAcid, Iodine, Danger::ToxicGas, "iodine-vapour", MEMORY),
    pair(PeraceticAcid, Chlorite, Danger::ToxicGas, "chlorine-dioxide", MEMORY),
    pair(Chlorite, Acid, Danger::ToxicGas, "chlorine-dioxide", MEMORY),
    pair(Chlorite, AceticAcid, Danger::ToxicGas, "chlorine-dioxide", MEMORY),
    pair(Chlorite, Combustible, Danger::Violent, "fire", MEMORY),
    pair(
        Quaternary,
        AnionicDetergent,
        Danger::LosesEffect,
        "no-disinfection",
        MEMORY,
    ),
    pair(Acid, Alkali, Danger::Violent, "heat", MEMORY),
    pair(AceticAcid, Alkali, Danger::Violent, "heat", MEMORY),
    pair(Ammonia, Iodine, Danger::Violent, "nitrogen-triiodide", MEMORY),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_pairs() {
        for (one, other, forms) in [
            (Hypochlorite, Acid, "chlorine-gas"),             // CDC, MMWR
            (Hypochlorite, AceticAcid, "chlorine-gas"),       // Washington DOH
            (Hypochlorite, Ammonia, "chloramines"),           // Washington DOH
            (Hypochlorite, Alcohol, "chloroform"),            // fire department notice
            (HydrogenPeroxide, AceticAcid, "peracetic-acid"), // fire department notice
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
}
