//! What a hazard is: a class and a category; and what the table `hazards.csv` says of each.

use std::fmt;
use std::str::FromStr;
use std::sync::LazyLock;

use serde::{Deserialize, Serialize, Serializer};

use super::table::{parsed, words};
use crate::quantity::built_in;

/// A hazard class, finer than the system's own where a route or an effect has its own statement. In the order of a label's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Class {
    FlammableLiquid,
    FlammableSolid,
    OxidisingLiquid,
    OxidisingSolid,
    OrganicPeroxide,
    /// The refrigerated gases excepted: they carry another statement.
    GasUnderPressure,
    MetalCorrosion,
    AcuteOral,
    AcuteDermal,
    /// Whether as gas, vapour or mist is not stated.
    AcuteInhalation,
    AcuteGas,
    AcuteVapour,
    AcuteMist,
    /// Corrosion and irritation.
    Skin,
    /// Serious damage and irritation.
    Eye,
    RespiratorySensitiser,
    SkinSensitiser,
    Mutagen,
    Carcinogen,
    Reproductive,
    Lactation,
    /// Specific target organ toxicity, single exposure, Categories 1 and 2.
    StotSingle,
    /// The same, Category 3: respiratory tract irritation.
    StotRespiratory,
    /// The same, Category 3: narcotic effects.
    StotNarcotic,
    StotRepeated,
    Aspiration,
    AquaticAcute,
    AquaticChronic,
}

impl Class {
    /// Whether it is a physical hazard: one that a test or a figure decides, not a rule by ingredient shares.
    pub fn is_physical(self) -> bool {
        self <= Class::MetalCorrosion
    }

    pub fn is_environmental(self) -> bool {
        self >= Class::AquaticAcute
    }

    pub fn is_acute_inhalation(self) -> bool {
        (Class::AcuteInhalation..=Class::AcuteMist).contains(&self)
    }

    pub(super) fn is_acute(self) -> bool {
        (Class::AcuteOral..=Class::AcuteMist).contains(&self)
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Category {
    One,
    OneA,
    OneB,
    OneC,
    Two,
    TwoA,
    TwoB,
    Three,
    Four,
    TypeA,
    TypeB,
    TypeC,
    TypeD,
    TypeE,
    TypeF,
    TypeG,
    /// The class has one category and its name is not printed.
    Only,
}

/// The categories, their names after the class, and their ranks: 0 is the worst. A category that is not subdivided may be as bad as its
/// worst subdivision, so plain 1 ranks with 1A and plain 2 with 2A.
const CATEGORIES: [(Category, &str, u8); 17] = [
    (Category::One, "1", 0),
    (Category::OneA, "1A", 0),
    (Category::OneB, "1B", 1),
    (Category::OneC, "1C", 2),
    (Category::Two, "2", 3),
    (Category::TwoA, "2A", 3),
    (Category::TwoB, "2B", 4),
    (Category::Three, "3", 5),
    (Category::Four, "4", 6),
    (Category::TypeA, "A", 0),
    (Category::TypeB, "B", 1),
    (Category::TypeC, "C", 2),
    (Category::TypeD, "D", 3),
    (Category::TypeE, "E", 4),
    (Category::TypeF, "F", 5),
    (Category::TypeG, "G", 6),
    (Category::Only, "", 0),
];

impl Category {
    /// As it is printed after the class; empty where it is not printed.
    pub fn name(self) -> &'static str {
        CATEGORIES[self as usize].1
    }
}

impl FromStr for Category {
    type Err = ();

    fn from_str(text: &str) -> Result<Category, ()> {
        let found = CATEGORIES.iter().find(|(_, name, _)| name.eq_ignore_ascii_case(text));
        found.map(|(category, ..)| *category).ok_or(())
    }
}

/// The signal word. The worse one is greater.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Signal {
    Warning,
    Danger,
}

/// In the order a label shows them: physical, health, environment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Pictogram {
    ExplodingBomb,
    Flame,
    FlameOverCircle,
    GasCylinder,
    Corrosion,
    SkullAndCrossbones,
    HealthHazard,
    ExclamationMark,
    Environment,
}

impl FromStr for Pictogram {
    type Err = ();

    /// From its code, such as `GHS05`.
    fn from_str(code: &str) -> Result<Pictogram, ()> {
        Ok(match code {
            "GHS01" => Pictogram::ExplodingBomb,
            "GHS02" => Pictogram::Flame,
            "GHS03" => Pictogram::FlameOverCircle,
            "GHS04" => Pictogram::GasCylinder,
            "GHS05" => Pictogram::Corrosion,
            "GHS06" => Pictogram::SkullAndCrossbones,
            "GHS07" => Pictogram::ExclamationMark,
            "GHS08" => Pictogram::HealthHazard,
            "GHS09" => Pictogram::Environment,
            _ => return Err(()),
        })
    }
}

#[derive(Deserialize)]
pub(super) struct Row {
    class: Class,
    #[serde(deserialize_with = "parsed")]
    category: Category,
    /// The words before the category, such as `Acute Tox.`.
    pub family: String,
    /// Those after it, in brackets, such as `inhalation, gas`; empty for most.
    pub detail: String,
    statement: String,
    signal: Option<Signal>,
    #[serde(deserialize_with = "words")]
    pictograms: Vec<Pictogram>,
    #[serde(deserialize_with = "words")]
    prevention: Vec<String>,
    #[serde(deserialize_with = "words")]
    response: Vec<String>,
    #[serde(deserialize_with = "words")]
    storage: Vec<String>,
    #[serde(deserialize_with = "words")]
    disposal: Vec<String>,
}

impl Row {
    pub fn hazard(&self) -> Hazard {
        Hazard { class: self.class, category: self.category }
    }
}

/// Every class and category, in the order of [`Hazard`].
pub(super) static HAZARDS: LazyLock<Vec<Row>> = LazyLock::new(|| built_in(include_str!("hazards.csv")));

/// A class and one of its categories. Prints as `Acute Tox. 3 (oral)`, and is read back from that by [`str::parse`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Hazard {
    class: Class,
    category: Category,
}

impl Hazard {
    /// For pairs written in the source; what the table lacks has no name, statement, signal word or pictogram.
    pub(super) const fn of(class: Class, category: Category) -> Hazard {
        Hazard { class, category }
    }

    pub fn all() -> impl Iterator<Item = Hazard> {
        HAZARDS.iter().map(Row::hazard)
    }

    fn row(self) -> Option<&'static Row> {
        HAZARDS.binary_search_by_key(&self, Row::hazard).ok().map(|at| &HAZARDS[at])
    }

    pub fn class(self) -> Class {
        self.class
    }

    pub fn category(self) -> Category {
        self.category
    }

    /// Its place in its class, 0 the worst: see the ranks of the categories.
    pub fn rank(self) -> u8 {
        CATEGORIES[self.category as usize].2
    }

    /// Whether it is of the same class and at least as bad.
    pub fn covers(self, other: Hazard) -> bool {
        self.class == other.class && self.rank() <= other.rank()
    }

    pub(crate) fn burns_skin(self) -> bool {
        self.class == Class::Skin && self.category != Category::Two
    }

    /// The hazard statement's code; `None` for a type G organic peroxide, which has none.
    pub fn statement(self) -> Option<&'static str> {
        self.row().map(|row| row.statement.as_str()).filter(|code| !code.is_empty())
    }

    /// The signal word; `None` where the system gives none.
    pub fn signal(self) -> Option<Signal> {
        self.row().and_then(|row| row.signal)
    }

    /// The pictograms, before the rules of precedence.
    pub fn pictograms(self) -> &'static [Pictogram] {
        self.row().map_or(&[], |row| &row.pictograms)
    }

    /// The codes of its precautionary statements of prevention.
    pub(super) fn prevention(self) -> &'static [String] {
        self.row().map_or(&[], |row| &row.prevention)
    }

    /// The codes of all its precautionary statements, in no order of urgency.
    pub(super) fn precautions(self) -> impl Iterator<Item = &'static str> {
        let lists = self.row().map(|row| [&row.prevention, &row.response, &row.storage, &row.disposal]);
        lists.into_iter().flatten().flatten().map(String::as_str)
    }
}

impl fmt::Display for Hazard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (family, detail) = self.row().map_or(("", ""), |row| (&row.family, &row.detail));
        f.write_str(family)?;
        if self.category != Category::Only {
            write!(f, " {}", self.category.name())?;
        }
        if detail.is_empty() { Ok(()) } else { write!(f, " ({detail})") }
    }
}

impl fmt::Debug for Hazard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{self}`")
    }
}

impl Serialize for Hazard {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows are looked up by bisection, and the first of a class is taken for its worst.
    #[test]
    fn the_table_is_in_order_and_the_worst_comes_first() {
        for (place, (category, ..)) in CATEGORIES.iter().enumerate() {
            assert_eq!(*category as usize, place);
        }
        for pair in HAZARDS.windows(2) {
            let (one, next) = (pair[0].hazard(), pair[1].hazard());
            assert!(one < next, "{one:?} before {next:?}");
            assert!(one.class() < next.class() || one.rank() <= next.rank(), "{one:?} before {next:?}");
        }
        let silent: Vec<Hazard> = Hazard::all().filter(|hazard| hazard.statement().is_none()).collect();
        assert_eq!(silent, [Hazard::of(Class::OrganicPeroxide, Category::TypeG)]);
    }

    #[test]
    fn an_undivided_category_ranks_with_its_worst_part() {
        let of = |text: &str| text.parse::<Hazard>().unwrap();
        for (one, other, both_ways) in [
            ("Skin Corr. 1", "Skin Corr. 1A", true),
            ("Skin Corr. 1A", "Skin Corr. 1B", false),
            ("Skin Corr. 1C", "Skin Irrit. 2", false),
        ] {
            assert!(of(one).covers(of(other)) && of(other).covers(of(one)) == both_ways, "{one}, {other}");
        }
        assert!(!of("Eye Dam. 1").covers(of("Skin Irrit. 2")));
    }
}
