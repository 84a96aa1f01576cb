//! The table of 40 CFR 180.940(a), (b) and (c), all 823 rows, from the CSV beside this file.
//!
//! The text keeps the wording of each limits cell; slips of the source are put right and noted. It is older than the rule
//! of 17 Nov 2025 (Federal Register document 2025-19913), which adds fragrance components at 5 ppm.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use crate::quantity::{Number, Strength};

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum List {
    /// (a): public eating places, dairy-processing equipment, food-processing equipment and utensils.
    A,
    /// (b): dairy-processing equipment, food-processing equipment and utensils.
    B,
    /// (c): food-processing equipment and utensils only.
    C,
}

/// What a row says of how much is allowed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Stated {
    /// So many ppm in the ready-to-use solution, of this row's substances together.
    Limit(Strength),
    /// Only the group that the row belongs to is limited.
    GroupOnly,
    /// The source says "None": no numeric limit.
    NoLimit,
    /// The cell is blank or holds a use word; the source does not say what that means.
    Unclear,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Measure {
    Itself,
    AvailableChlorine,
    AvailableHalogen,
    TitratableIodine,
    ActiveQuaternary,
    /// Chlorine dioxide by the iodometric method.
    ChlorineDioxide,
    ChloroaceticAcid,
    SilverIons,
}

/// Substances of the solution that a limit counts together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Group {
    Quaternary,
    /// All hypochlorous acid chemicals.
    Hypochlorous,
    /// All di- or trichloroisocyanuric acid chemicals.
    Isocyanuric,
    /// All iodide-producing chemicals.
    Iodide,
    /// All bromide-producing chemicals.
    Bromide,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    pub list: List,
    /// The substance as the source names it.
    pub substance: String,
    /// CAS numbers; none for rows that only describe their substance.
    pub cas: Vec<String>,
    pub stated: Stated,
    pub measure: Measure,
    /// The group that is limited beside or instead of the substance, and its limit in ppm.
    pub group: Option<(Group, Strength)>,
    /// The source's own words for the limit.
    #[cfg(test)]
    wording: String,
}

impl Row {
    pub fn names(&self, cas: &str) -> bool {
        self.cas.iter().any(|number| number == cas)
    }
}

pub fn rows() -> &'static [Row] {
    &ROWS
}

static ROWS: LazyLock<Vec<Row>> = LazyLock::new(|| {
    super::built_in::<Line>(include_str!("food_contact_limits.csv")).into_iter().map(Row::from).collect()
});

/// A line of the CSV, whose first lines say what the columns hold.
#[derive(Deserialize)]
struct Line {
    list: List,
    substance: String,
    cas: String,
    limit: String,
    counts: Option<Measure>,
    group: Option<Group>,
    group_limit: String,
    #[cfg(test)]
    wording: String,
}

impl From<Line> for Row {
    fn from(line: Line) -> Row {
        let ppm = |text: &str| {
            let figure = Number::parse(text).expect("a figure; the tests read every row");
            Strength::milligrams_per_litre(figure)
        };
        Row {
            list: line.list,
            substance: line.substance,
            cas: line.cas.split_whitespace().map(str::to_owned).collect(),
            stated: match line.limit.as_str() {
                "" => Stated::Unclear,
                "none" => Stated::NoLimit,
                "group" => Stated::GroupOnly,
                figure => Stated::Limit(ppm(figure)),
            },
            measure: line.counts.unwrap_or(Measure::Itself),
            group: line.group.map(|group| (group, ppm(&line.group_limit))),
            #[cfg(test)]
            wording: line.wording,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calc::testing::ppm;

    fn find(list: List, cas: &str) -> Vec<&'static Row> {
        rows().iter().filter(|row| row.list == list && row.names(cas)).collect()
    }

    #[test]
    fn every_row_is_there() {
        let count = |list| rows().iter().filter(|row| row.list == list).count();
        assert_eq!((count(List::A), count(List::B), count(List::C)), (711, 33, 79));
    }

    #[test]
    fn every_figure_is_the_one_in_the_rows_wording() {
        for row in rows() {
            let wording = &row.wording;
            let in_words: Vec<Strength> = wording
                .replace(',', "")
                .replace("0.6%", "6000 ppm")
                .split(" ppm")
                .filter_map(|before| Number::parse(before.rsplit(' ').next()?))
                .map(Strength::milligrams_per_litre)
                .collect();
            let own = match &row.stated {
                Stated::Limit(limit) => Some(limit.clone()),
                _ => None,
            };
            let group = row.group.as_ref().map(|(_, limit)| limit.clone());
            let figures: Vec<Strength> = own.into_iter().chain(group).collect();
            // What more there is: the range of the method for chlorine dioxide, and the lithium limit, kept elsewhere.
            assert!(in_words.starts_with(&figures), "{wording}: {figures:?}");
            let more = in_words.len() - figures.len();
            assert!(more == 0 || wording.contains("Iodometric") || wording.contains("30 ppm lithium"));
            assert_eq!(figures.is_empty(), !wording.contains("exceed"), "{wording}");
            assert_eq!(row.stated == Stated::NoLimit, wording == "None");
        }
    }

    /// Each column lines up with the others; every figure is compared with its row's wording above.
    #[test]
    fn rows_say_what_is_limited() {
        let stated = |list, cas| &find(list, cas)[0].stated;
        for (list, limit) in [(List::A, "91"), (List::B, "465"), (List::C, "1100")] {
            assert_eq!(stated(list, "7722-84-1"), &Stated::Limit(ppm(limit)), "hydrogen peroxide");
        }
        assert_eq!(stated(List::C, "64-17-5"), &Stated::NoLimit);
        assert_eq!(stated(List::A, "53605-94-0"), &Stated::Unclear);
        assert_eq!(stated(List::C, "7681-52-9"), &Stated::GroupOnly);
        // Octanoic acid stands in (a) twice, with 52 and 100 ppm.
        assert_eq!(find(List::A, "124-07-2").len(), 2);
        // One that has a limit of its own and one with its group.
        assert_eq!(find(List::C, "8001-54-5")[0].group, Some((Group::Quaternary, ppm("400"))));
    }

    #[test]
    fn slips_of_the_source_are_put_right() {
        // A date, a digit too many twice, a colon between two numbers, "and" before the last, a number in the name cell.
        for (list, cas) in [
            (List::A, "2315-09-5"),
            (List::C, "334-48-5"),
            (List::A, "148812-65-1"),
            (List::A, "66455-15-0"),
            (List::A, "85408-49-7"),
            (List::A, "61790-12-3"),
        ] {
            assert_eq!(find(list, cas).len(), 1, "{cas}");
        }
    }
}
