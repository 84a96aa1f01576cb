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
    Violent,
    ToxicGas,
}

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

/// The families that form something dangerous with a product of these, each once, the worst first; what they are is not among
/// them, nor what is only unknown.
pub fn never_with(families: &[Family]) -> impl Iterator<Item = Family> {
    let mut found = Vec::new();
    for row in Family::all().flat_map(|other| conflicts(families, &[other])).filter(|row| row.danger > Danger::Unknown)
    {
        let other = if families.contains(&row.one) { row.other } else { row.one };
        if !families.contains(&other) && !found.iter().any(|(known, _)| *known == other) {
            found.push((other, row.danger));
        }
    }
    found.sort_by_key(|(_, danger)| std::cmp::Reverse(*danger));
    found.into_iter().map(|(family, _)| family)
}

#[cfg(test)]
mod tests {
    use super::Family::*;
    use super::*;

    /// A row of each kind of danger, whichever product comes first; what a row says has its source in the table.
    #[test]
    fn pairs_are_found_in_either_order() {
        for (one, other, danger, forms) in [
            (Hypochlorite, Ammonia, Danger::ToxicGas, "chloramines"),
            (Chloroisocyanurate, Alcohol, Danger::Violent, "alkyl-hypochlorites"),
            (Hypochlorite, Alcohol, Danger::HarmfulProduct, "chloroform"),
            (Hypochlorite, Hypochlorite, Danger::Unknown, "unknown"),
            (Quaternary, AnionicDetergent, Danger::LosesEffect, "no-disinfection"),
        ] {
            for found in [conflicts(&[one], &[other]), conflicts(&[other], &[one])] {
                let found: Vec<_> = found.iter().map(|row| (row.danger, row.forms.as_str())).collect();
                assert_eq!(found, [(danger, forms)], "{one:?} {other:?}");
            }
        }
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
