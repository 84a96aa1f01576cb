//! Strength of a use solution against 40 CFR 180.940: whether it may stay on a food-contact surface after draining.
//!
//! The section exempts residues from a tolerance; it is neither a registration nor a label, and the label's own rinse
//! always stands. A solution over a limit, or with an ingredient that is on no list, is to be rinsed off with potable
//! water.
//!
//! Which lists hold: public eating places have list (a) alone; dairy equipment has (a) and (b); food-processing
//! equipment and utensils have all three. An ingredient is within the section when all that one such list says of it is
//! met. Where one list names a substance twice, the lower limit holds: the side that protects.

use serde::Serialize;

use super::chlorine::available_chlorine_factor;
use super::food_contact_limits::{Group, List, Measure, Row, Stated, rows};
use crate::quantity::{Number, Strength};

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FoodPlace {
    /// Food-contact surfaces in public eating places: restaurants, bars, canteens.
    PublicEatingPlace,
    Dairy,
    FoodProcessing,
}

impl FoodPlace {
    pub fn lists(self) -> &'static [List] {
        match self {
            FoodPlace::PublicEatingPlace => &[List::A],
            FoodPlace::Dairy => &[List::A, List::B],
            FoodPlace::FoodProcessing => &[List::A, List::B, List::C],
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum CountedAs {
    /// The substance itself: it is converted to what the limit counts.
    Itself,
    /// Already what the limit counts: available chlorine, titratable iodine and so on.
    TheLimitsMeasure,
}

#[derive(Clone, Debug)]
pub struct Ingredient<'a> {
    pub cas: &'a str,
    /// Its strength in the use solution, mg/L; taken as the section's ppm.
    pub strength: &'a Strength,
    pub counted: CountedAs,
}

/// Why residues of a solution are not within the section.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "finding")]
pub enum Finding {
    Over {
        cas: Vec<String>,
        /// The row's substance, as the section names it.
        substance: String,
        /// The list with the limit; of several that hold, the one that is exceeded least.
        list: List,
        group: Option<Group>,
        measure: Measure,
        limit: Strength,
        found: Strength,
    },
    /// On the list, with a cell that does not say how much.
    LimitNotStated { cas: String, list: List },
    /// On none of the lists that hold here.
    NotListed { cas: String },
}

/// Water, which no list names.
const WATER: &str = "7732-18-5";

/// Checks a use solution. Empty: every ingredient is within the section. Each finding stands once, in the order of the
/// ingredients.
pub fn check(ingredients: &[Ingredient], place: FoodPlace) -> Vec<Finding> {
    let mut findings = Vec::new();
    for ingredient in ingredients {
        if ingredient.cas == WATER || !ingredient.strength.as_milligrams_per_litre().is_positive() {
            continue;
        }
        for finding in of_ingredient(ingredient, ingredients, place) {
            if !findings.contains(&finding) {
                findings.push(finding);
            }
        }
    }
    findings
}

fn of_ingredient(ingredient: &Ingredient, all: &[Ingredient], place: FoodPlace) -> Vec<Finding> {
    let mut least: Option<(Number, Vec<Finding>)> = None;
    let mut unstated = None;
    for list in place.lists() {
        let rows = rows_of(ingredient.cas, *list);
        if rows.is_empty() {
            continue;
        }
        // A blank or a use word beside a row of the same list that does state a limit says nothing more.
        if rows.iter().all(|row| row.stated == Stated::Unclear) {
            let cas = ingredient.cas.to_owned();
            unstated = unstated.or(Some(Finding::LimitNotStated { cas, list: *list }));
            continue;
        }
        let exceeded: Vec<(Number, Finding)> = rows.iter().flat_map(|row| over(row, ingredient, all)).collect();
        let Some(worst) = exceeded.iter().map(|(times, _)| times).max().cloned() else {
            return Vec::new();
        };
        if least.as_ref().is_none_or(|(times, _)| worst < *times) {
            least = Some((worst, exceeded.into_iter().map(|(_, finding)| finding).collect()));
        }
    }
    match (least, unstated) {
        (Some((_, findings)), _) => findings,
        (None, Some(finding)) => vec![finding],
        (None, None) => vec![Finding::NotListed { cas: ingredient.cas.to_owned() }],
    }
}

/// What a row's limits are exceeded by: how many times over, and the finding.
fn over(row: &Row, ingredient: &Ingredient, all: &[Ingredient]) -> Vec<(Number, Finding)> {
    let own = match &row.stated {
        Stated::Limit(limit) => Some((limit, None)),
        _ => None,
    };
    let group = row.group.as_ref().map(|(group, limit)| (limit, Some(*group)));
    let limits = own.into_iter().chain(group);
    let mut exceeded: Vec<(Number, Finding)> = limits
        .filter_map(|(limit, group)| {
            let counts = |other: &&Ingredient| match group {
                None => row.names(other.cas) || fits_description(other.cas, row),
                Some(group) => in_group(other.cas, group, row.list),
            };
            let counted: Vec<&Ingredient> = all.iter().filter(counts).collect();
            let found = counted.iter().map(|other| measured(other, row.measure)).sum();
            let cas = counted.iter().map(|other| other.cas.to_owned()).collect();
            exceeds(limit, found, |limit, found| Finding::Over {
                cas,
                substance: row.substance.clone(),
                list: row.list,
                group,
                measure: row.measure,
                limit,
                found,
            })
        })
        .collect();
    exceeded.extend(lithium(row, ingredient, all));
    exceeded
}

/// How many times over a limit the solution is, with the finding; `None` where it is within.
fn exceeds(
    limit: &Strength,
    found: Strength,
    finding: impl FnOnce(Strength, Strength) -> Finding,
) -> Option<(Number, Finding)> {
    let times = if limit.is_zero() { Number::int(i64::MAX) } else { found.over(limit) };
    (found > *limit).then(|| (times, finding(limit.clone(), found)))
}

/// The lithium salt of list (c) has a second limit: 30 ppm lithium.
fn lithium(row: &Row, ingredient: &Ingredient, all: &[Ingredient]) -> Option<(Number, Finding)> {
    if ingredient.cas != "13840-33-0" || row.list != List::C {
        return None;
    }
    // Available chlorine of the salt back to the salt.
    let to_salt = available_chlorine_factor(ingredient.cas)?.recip()?;
    let salt: Strength = all
        .iter()
        .filter(|other| other.cas == ingredient.cas)
        .map(|other| match other.counted {
            CountedAs::Itself => other.strength.clone(),
            CountedAs::TheLimitsMeasure => other.strength.times(&to_salt),
        })
        .sum();
    let limit = Strength::milligrams_per_litre(Number::int(30));
    // Li 6.941 in LiOCl 58.3934.
    exceeds(&limit, salt.times(&Number::ratio(69_410, 583_934)), |limit, found| Finding::Over {
        cas: vec![ingredient.cas.to_owned()],
        substance: "Lithium".to_owned(),
        list: row.list,
        group: None,
        measure: Measure::Itself,
        limit,
        found,
    })
}

/// The rows of a list for a substance: those that name its CAS number; failing that, those whose description it fits.
fn rows_of(cas: &str, list: List) -> Vec<&'static Row> {
    let of_list = || rows().iter().filter(|row| row.list == list);
    let named: Vec<&Row> = of_list().filter(|row| row.names(cas)).collect();
    if named.is_empty() { of_list().filter(|row| fits_description(cas, row)).collect() } else { named }
}

/// Whether a substance fits a row that describes chain lengths, or a salt without regard to its water, rather than this
/// CAS number. What the numbers stand for was not verified against the CAS registry; a number that is missing here is reported as on no list, on
/// the side that protects.
fn fits_description(cas: &str, row: &Row) -> bool {
    let name = row.substance.to_lowercase();
    match cas {
        // Didecyl, octyl decyl, dioctyl and mixed C8-10 dialkyl dimethyl ammonium chlorides.
        "7173-51-5" | "32426-11-2" | "5538-94-3" | "68424-95-3" => name.contains("di-n-alkyl (c8"),
        // C12-16, C12-18 and C12-14 alkyl benzyl dimethyl ammonium chlorides.
        "68424-85-1" | "68391-01-5" | "85409-22-9" => name.contains("alkyl (c12-c18) benzyldimethyl"),
        "85409-23-0" => name.contains("(c12-c14) dimethyl ethylbenzyl"),
        "68956-79-6" => name.contains("(c12-c18) dimethyl ethylbenzyl"),
        // Sodium dichloroisocyanurate dihydrate.
        "51580-86-0" => row.names("2893-78-9"),
        "10049-04-4" => name.starts_with("oxychloro species"),
        _ => false,
    }
}

/// Whether a substance counts towards a group limit of a list.
fn in_group(cas: &str, group: Group, list: List) -> bool {
    let of_group = |row: &Row| {
        // A quaternary compound counts among "all quaternary chemicals" whatever its own row says.
        row.group.as_ref().is_some_and(|(other, _)| *other == group)
            || group == Group::Quaternary && row.measure == Measure::ActiveQuaternary
    };
    // Named in another list only, it is still what it is.
    [list, List::A, List::B, List::C].into_iter().any(|list| rows_of(cas, list).into_iter().any(of_group))
}

/// An ingredient's strength in what a limit counts.
fn measured(ingredient: &Ingredient, measure: Measure) -> Strength {
    if ingredient.counted == CountedAs::TheLimitsMeasure {
        return ingredient.strength.clone();
    }
    let factor = match measure {
        Measure::AvailableChlorine => available_chlorine_factor(ingredient.cas),
        Measure::TitratableIodine | Measure::AvailableHalogen => {
            let row = HALIDES.iter().find(|(counts, cas, ..)| (*counts, *cas) == (measure, ingredient.cas));
            row.map(|(.., halogen, salt)| Number::ratio(*halogen, *salt))
        }
        _ => None,
    };
    // Without a factor all of it counts.
    ingredient.strength.times(&factor.unwrap_or_else(Number::one))
}

/// Halogen in a salt, both in g/mol × 100,000 (IUPAC's conventional atomic weights). All its iodine, though a titration finds
/// less of an iodide; Br₂ for each bromide, as Cl₂ counts for each hypochlorite: the larger readings, on the side that
/// protects.
const HALIDES: &[(Measure, &str, i64, i64)] = &[
    (Measure::TitratableIodine, "7681-11-0", 12_690_447, 16_600_280), // KI
    (Measure::TitratableIodine, "7681-82-5", 12_690_447, 14_989_424), // NaI
    (Measure::TitratableIodine, "10034-85-2", 12_690_447, 12_791_241), // HI
    (Measure::AvailableHalogen, "7758-02-3", 1_598_080, 1_190_023),   // KBr, × 10,000
    (Measure::AvailableHalogen, "7647-15-6", 1_598_080, 1_028_938),   // NaBr, × 10,000
];

#[cfg(test)]
mod tests;
