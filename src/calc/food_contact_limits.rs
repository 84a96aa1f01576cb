//! The table of 40 CFR 180.940(a), (b) and (c), all 823 rows, read from the text built in beside this file.
//!
//! The text keeps the wording of each limits cell and the slips of the source, flagged in its notes. It is older than
//! the rule of 17 Nov 2025 (Federal Register document 2025-19913), which adds fragrance components at 5 ppm.

use std::sync::LazyLock;

use serde::Serialize;

use crate::quantity::{Number, Strength};

/// One of the section's three lists.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
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
    NotStated,
}

/// What the ppm of a row count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Measure {
    /// The substance itself.
    Itself,
    /// Total available chlorine.
    AvailableChlorine,
    /// Total available halogen.
    AvailableHalogen,
    /// Titratable iodine.
    TitratableIodine,
    /// Active quaternary compound.
    ActiveQuaternary,
    /// Chlorine dioxide by the iodometric method.
    ChlorineDioxide,
    /// Chloroacetic acid.
    ChloroaceticAcid,
    /// Silver ions.
    SilverIons,
}

/// Substances that a limit counts together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Group {
    /// All quaternary compounds in the solution.
    Quaternary,
    /// All hypochlorous acid chemicals in the solution.
    Hypochlorous,
    /// All di- or trichloroisocyanuric acid chemicals in the solution.
    Isocyanuric,
    /// All iodide-producing chemicals in the solution.
    Iodide,
    /// All bromide-producing chemicals in the solution.
    Bromide,
}

/// One row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// Its list.
    pub list: List,
    /// The substance as the source names it.
    pub substance: String,
    /// CAS numbers; none for rows that only describe their substance.
    pub cas: Vec<String>,
    /// How much is allowed.
    pub stated: Stated,
    /// What the ppm count.
    pub measure: Measure,
    /// The group that is limited beside or instead of the substance, and its limit in ppm.
    pub group: Option<(Group, Strength)>,
    /// A remark on the row.
    pub note: String,
}

/// All rows, in the order of the source.
pub fn rows() -> &'static [Row] {
    &ROWS
}

/// The line that says where the table is from.
pub fn source() -> &'static str {
    TEXT.lines().next().unwrap_or_default().trim_start_matches("# source: ")
}

const TEXT: &str = include_str!("food_contact_limits.csv");

// The text is part of the program; a test reads every row, so this cannot fail for a reader.
static ROWS: LazyLock<Vec<Row>> =
    LazyLock::new(|| TEXT.lines().skip(2).map(|line| row(&cells(line)).expect("a built-in row")).collect());

fn row(cells: &[String]) -> Option<Row> {
    let [list, substance, cas, text, limit, basis, group_limit, group, note] = cells else {
        return None;
    };
    let list = match list.as_str() {
        "a" => List::A,
        "b" => List::B,
        "c" => List::C,
        _ => return None,
    };
    let strength = |text: &str| Number::parse(text).map(Strength::milligrams_per_litre);
    let stated = match (strength(limit), text.as_str()) {
        (Some(_), _) if note.starts_with("the number caps all") => Stated::GroupOnly,
        (Some(limit), _) => Stated::Limit(limit),
        (None, "None") => Stated::NoLimit,
        // One row states 0.6 %: 6000 ppm.
        (None, text) if text.contains("not to exceed 0.6%") => Stated::Limit(strength("6000")?),
        (None, text) if text.contains("exceed") => return None,
        (None, _) => Stated::NotStated,
    };
    let measure = match basis.as_str() {
        "" | "as is" | "no limit stated" => Measure::Itself,
        "total available chlorine" => Measure::AvailableChlorine,
        "total available halogen" => Measure::AvailableHalogen,
        "titratable iodine" => Measure::TitratableIodine,
        "active quaternary compound" => Measure::ActiveQuaternary,
        "chloroacetic acid" => Measure::ChloroaceticAcid,
        "active silver (silver ions)" => Measure::SilverIons,
        _ if basis.starts_with("chlorine dioxide") => Measure::ChlorineDioxide,
        _ => return None,
    };
    let group = match group.as_str() {
        "" => None,
        text if text.contains("quaternary") => Some(Group::Quaternary),
        text if text.contains("hypochlorous") => Some(Group::Hypochlorous),
        text if text.contains("isocyanuric") => Some(Group::Isocyanuric),
        text if text.contains("iodide") => Some(Group::Iodide),
        text if text.contains("bromide") => Some(Group::Bromide),
        _ => return None,
    };
    let group = match group {
        None => None,
        Some(group) => Some((group, strength(group_limit)?)),
    };
    let mut numbers = cas_numbers(cas);
    if numbers.is_empty() && substance.contains("CAS Reg. No.") {
        // Two rows hold the number in the name.
        numbers = cas_numbers(substance);
    }
    Some(Row { list, substance: substance.clone(), cas: numbers, stated, measure, group, note: note.clone() })
}

/// Every CAS number in a cell, whatever stands between them, with the source's known slips put right.
fn cas_numbers(cell: &str) -> Vec<String> {
    let corrected = cell
        .replace("9/5/2315", "2315-09-5") // read by a spreadsheet as a date
        .replace("148812-654-1", "148812-65-1")
        .replace("3347-48-5", "334-48-5"); // fails its check digit; decanoic acid in (a) and (b)
    corrected
        .split(|c: char| !c.is_ascii_digit() && c != '-')
        .filter(|word| {
            let parts: Vec<&str> = word.split('-').collect();
            matches!(parts[..], [first, second, third]
                if (2..=7).contains(&first.len()) && second.len() == 2 && third.len() == 1)
        })
        .map(str::to_owned)
        .collect()
}

/// The cells of one line: separated by commas, quoted where they hold one, with doubled quotes inside.
fn cells(line: &str) -> Vec<String> {
    let (mut cells, mut cell, mut quoted) = (Vec::new(), String::new(), false);
    let mut characters = line.chars().peekable();
    while let Some(c) = characters.next() {
        match c {
            '"' if quoted && characters.peek() == Some(&'"') => {
                characters.next();
                cell.push('"');
            }
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(std::mem::take(&mut cell)),
            c => cell.push(c),
        }
    }
    cells.push(cell);
    cells
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calc::testing::ppm;

    fn find(list: List, cas: &str) -> Vec<&'static Row> {
        rows().iter().filter(|row| row.list == list && row.cas.iter().any(|number| number == cas)).collect()
    }

    fn limit(list: List, cas: &str) -> Stated {
        let found = find(list, cas);
        assert_eq!(found.len(), 1, "{cas}");
        found[0].stated.clone()
    }

    #[test]
    fn every_row_is_there() {
        let count = |list| rows().iter().filter(|row| row.list == list).count();
        assert_eq!((count(List::A), count(List::B), count(List::C)), (711, 33, 79));
        assert!(source().starts_with("40 CFR 180.940(a), (b), (c)"));
    }

    #[test]
    fn limits_of_the_section() {
        // 40 CFR 180.940, eCFR: (a), (b), (c) of hydrogen peroxide, peroxyacetic and peroxyoctanoic acid.
        for (cas, limits) in [
            ("7722-84-1", ["91", "465", "1100"]),
            ("79-21-0", ["58", "315", "315"]),
            ("33734-57-5", ["52", "122", "122"]),
        ] {
            for (list, published) in [List::A, List::B, List::C].into_iter().zip(limits) {
                assert_eq!(limit(list, cas), Stated::Limit(ppm(published)), "{cas}");
            }
        }
        assert_eq!(limit(List::B, "64-19-7"), Stated::Limit(ppm("1200")));
        assert_eq!(limit(List::C, "124-07-2"), Stated::Limit(ppm("234")));
        assert_eq!(limit(List::C, "90-43-7"), Stated::Limit(ppm("400")));
        assert_eq!(limit(List::C, "64-17-5"), Stated::NoLimit);
        assert_eq!(limit(List::A, "14701-21-4"), Stated::Limit(ppm("50")));
        assert_eq!(limit(List::A, "26062-79-3"), Stated::Limit(ppm("6000")));
        assert_eq!(limit(List::A, "53605-94-0"), Stated::NotStated);
    }

    #[test]
    fn every_figure_is_the_one_in_the_rows_wording() {
        for (line, row) in TEXT.lines().skip(2).zip(rows()) {
            let wording = &cells(line)[3];
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
        }
    }

    #[test]
    fn limits_in_three_lists() {
        // 40 CFR 180.940, eCFR: (a), (b), (c); a dash where the list does not name the number.
        for (cas, figures) in [
            ("7722-84-1", ["91", "465", "1100"]),
            ("79-21-0", ["58", "315", "315"]),
            ("33734-57-5", ["52", "122", "122"]),
            ("7790-92-3", ["200", "-", "-"]),
            ("7681-52-9", ["200", "-", "200"]),
            ("7778-54-3", ["-", "-", "200"]),
            ("7778-66-7", ["-", "-", "200"]),
            ("13840-33-0", ["-", "-", "200"]),
            ("2893-78-9", ["100", "-", "100"]),
            ("2782-57-2", ["-", "-", "100"]),
            ("2244-21-5", ["-", "-", "100"]),
            ("87-90-1", ["-", "-", "100"]),
            ("7673-09-8", ["-", "-", "200"]),
            ("7553-56-2", ["25", "25", "25"]),
            ("7758-02-3", ["46", "-", "200"]),
            ("7647-15-6", ["-", "-", "200"]),
            ("90-43-7", ["-", "-", "400"]),
            ("14701-21-4", ["50", "-", "-"]),
            ("8001-54-5", ["200", "-", "200"]),
            ("68424-85-1", ["400", "-", "-"]),
            ("85409-23-0", ["400", "-", "-"]),
            ("148788-55-0", ["400", "-", "-"]),
            ("7173-51-5", ["-", "-", "200"]),
        ] {
            for (list, figure) in [List::A, List::B, List::C].into_iter().zip(figures) {
                let found: Vec<&Strength> = find(list, cas)
                    .into_iter()
                    .filter_map(|row| match (&row.stated, &row.group) {
                        (Stated::Limit(limit), _) => Some(limit),
                        (Stated::GroupOnly, Some((_, limit))) => Some(limit),
                        _ => None,
                    })
                    .collect();
                match figure {
                    "-" => assert!(found.is_empty(), "{cas} {list:?}"),
                    figure => assert_eq!(found, [&ppm(figure)], "{cas} {list:?}"),
                }
            }
        }
        for (cas, list, figure) in [
            ("2809-21-4", List::B, "34"),
            ("2809-21-4", List::C, "34"),
            ("64-19-7", List::C, "1200"),
            ("124-07-2", List::B, "176"),
        ] {
            assert_eq!(limit(list, cas), Stated::Limit(ppm(figure)), "{cas}");
        }
    }

    #[test]
    fn groups() {
        let row = find(List::C, "7681-52-9")[0];
        assert_eq!((&row.stated, &row.group), (&Stated::GroupOnly, &Some((Group::Hypochlorous, ppm("200")))));
        let row = find(List::C, "8001-54-5")[0];
        assert_eq!((&row.stated, &row.group), (&Stated::Limit(ppm("200")), &Some((Group::Quaternary, ppm("400")))));
        assert_eq!(find(List::B, "7553-56-2")[0].group, Some((Group::Iodide, ppm("25"))));
    }

    #[test]
    fn slips_of_the_source_are_put_right() {
        assert_eq!(find(List::A, "2315-09-5").len(), 1);
        assert_eq!(find(List::C, "334-48-5").len(), 1);
        assert_eq!(find(List::A, "148812-65-1").len(), 1);
        // A colon between two numbers, "and" before the last, a number in the name cell.
        assert_eq!(find(List::A, "66455-15-0").len(), 1);
        assert_eq!(find(List::A, "85408-49-7").len(), 1);
        assert_eq!(find(List::A, "61790-12-3").len(), 1);
        // Octanoic acid stands in (a) twice, with 52 and 100 ppm.
        assert_eq!(find(List::A, "124-07-2").len(), 2);
    }
}
