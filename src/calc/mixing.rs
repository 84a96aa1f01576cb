//! Incompatible pairs: families of chemicals that form something dangerous, or undo each other, when they are mixed.
//!
//! Incompatible means: not in one load, not in one tank after another without a rinse, not open side by side. The
//! table, `pairs.csv` beside this file, is not complete and never becomes a permission: a pair that is not in it is
//! unknown, and the products' labels and safety data sheets come first.

use std::sync::LazyLock;

pub use super::family::Family;

/// How bad it is, the worst last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Deserialize)]
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

/// An incompatible pair.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Conflict {
    pub one: Family,
    /// The other, or the same: two chlorine products. The order means nothing.
    pub other: Family,
    pub danger: Danger,
    /// What is formed or lost, as the language files name it under `forms`.
    pub forms: String,
    /// Where that is from: title and section of each source, one after the other with `; `.
    pub source: String,
}

/// The table.
pub static TABLE: LazyLock<Vec<Conflict>> = LazyLock::new(|| {
    let rows = super::built_in::<(String, String, Danger, String, String)>(include_str!("pairs.csv"));
    let family = |name: &str| Family::from_name(name).expect("a family of the table; the tests read every row");
    let conflict = |(one, other, danger, forms, source): (String, String, _, _, _)| Conflict {
        one: family(&one),
        other: family(&other),
        danger,
        forms,
        source,
    };
    rows.into_iter().map(conflict).collect()
});

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
    use super::Family::*;
    use super::*;

    /// Each kind of danger, as a source words it.
    #[test]
    fn published_pairs() {
        for (one, other, danger, forms) in [
            // CDC, MMWR 1991;40(36)
            (Hypochlorite, Acid, Danger::ToxicGas, "chlorine-gas"),
            // Washington State Department of Health; California Department of Public Health, May 2023
            (Hypochlorite, AceticAcid, Danger::ToxicGas, "chlorine-gas"),
            (Hypochlorite, Ammonia, Danger::ToxicGas, "chloramines"),
            // Chlorine Institute, Sodium Hypochlorite Incompatibility Chart: oxygen, may occur violently
            (Hypochlorite, HydrogenPeroxide, Danger::Violent, "oxygen-and-heat"),
            // Fire Engineering: toxic gases, chlorine and nitrogen trichloride among them
            (Hypochlorite, Chloroisocyanurate, Danger::ToxicGas, "chlorine-and-nitrogen-trichloride"),
            // NFPA 491M-1991 by way of CAMEO: alkyl hypochlorites, which explode in sunlight or heat; not chloroform
            (Chloroisocyanurate, Alcohol, Danger::Violent, "alkyl-hypochlorites"),
            // Standard Methods 4500-Cl B: chlorine sets iodine free; no source names chlorine gas
            (Hypochlorite, Iodine, Danger::ToxicGas, "iodine-vapour"),
            // ABC of Safety in the Biological Sciences: chlorine with hydrochloric acid
            (HydrogenPeroxide, Acid, Danger::ToxicGas, "chlorine-gas-or-heat"),
            // 40 CFR 264 Appendix V, 1-A and 1-B; 4-A and 4-B
            (Acid, Ammonia, Danger::Violent, "heat"),
            (Alkali, Alcohol, Danger::Violent, "fire-at-strength"),
            // International Chemical Safety Card 1045
            (Chlorite, Alcohol, Danger::Violent, "fire"),
            // Stanford, after CDC: no two chlorine solutions
            (Hypochlorite, Hypochlorite, Danger::Unknown, "unknown"),
            // University of Iowa 8.2.9
            (Quaternary, AnionicDetergent, Danger::LosesEffect, "no-disinfection"),
        ] {
            for found in [conflicts(&[one], &[other]), conflicts(&[other], &[one])] {
                let found: Vec<_> = found.iter().map(|row| (row.danger, row.forms.as_str())).collect();
                assert_eq!(found, [(danger, forms)], "{one:?} {other:?}");
            }
        }
        assert!(conflict(Hypochlorite, Alcohol).unwrap().source.contains("World Chlorine Council"));
    }

    fn conflict(one: Family, other: Family) -> Option<&'static Conflict> {
        TABLE.iter().find(|row| [(one, other), (other, one)].contains(&(row.one, row.other)))
    }

    #[test]
    fn every_row_has_a_source_and_stands_once() {
        assert!(TABLE.len() >= 55, "{} rows", TABLE.len());
        for row in TABLE.iter() {
            assert!(row.source.len() > 10 && !row.source.contains("memory"), "{row:?}");
            assert!(row.forms.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{row:?}");
            assert!(std::ptr::eq(conflict(row.one, row.other).unwrap(), row), "{row:?}");
        }
    }

    #[test]
    fn chlorine_is_incompatible_with_any_other_cleaner() {
        // CDC 2021: do not mix chlorine solutions with any other cleaner.
        for chlorine in [Hypochlorite, Chloroisocyanurate] {
            for other in Family::all() {
                assert!(conflict(chlorine, other).is_some(), "{chlorine:?} {other:?}");
            }
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
