//! What a hazard is: a class and a category, and the name a safety data sheet gives it.

use std::fmt;

use serde::{Serialize, Serializer};

/// A hazard class, finer than the system's own where a route or an effect has its own statement.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Class {
    /// Flammable liquids.
    FlammableLiquid,
    /// Flammable solids.
    FlammableSolid,
    /// Oxidising liquids.
    OxidisingLiquid,
    /// Oxidising solids.
    OxidisingSolid,
    /// Organic peroxides.
    OrganicPeroxide,
    /// Gases under pressure, the refrigerated ones excepted (they carry another statement).
    GasUnderPressure,
    /// Corrosive to metals.
    MetalCorrosion,
    /// Acute toxicity, swallowed.
    AcuteOral,
    /// Acute toxicity, on the skin.
    AcuteDermal,
    /// Acute toxicity, breathed in; whether as gas, vapour or mist is not said.
    AcuteInhalation,
    /// Acute toxicity, breathed in as a gas.
    AcuteGas,
    /// Acute toxicity, breathed in as a vapour.
    AcuteVapour,
    /// Acute toxicity, breathed in as a dust or mist.
    AcuteMist,
    /// Skin corrosion and irritation.
    Skin,
    /// Serious eye damage and eye irritation.
    Eye,
    /// Respiratory sensitisation.
    RespiratorySensitiser,
    /// Skin sensitisation.
    SkinSensitiser,
    /// Germ cell mutagenicity.
    Mutagen,
    /// Carcinogenicity.
    Carcinogen,
    /// Reproductive toxicity.
    Reproductive,
    /// Effects on or via lactation.
    Lactation,
    /// Specific target organ toxicity, single exposure, Categories 1 and 2.
    StotSingle,
    /// The same, Category 3: respiratory tract irritation.
    StotRespiratory,
    /// The same, Category 3: narcotic effects.
    StotNarcotic,
    /// Specific target organ toxicity, repeated exposure.
    StotRepeated,
    /// Aspiration hazard.
    Aspiration,
    /// Hazardous to the aquatic environment, acute.
    AquaticAcute,
    /// Hazardous to the aquatic environment, long-term.
    AquaticChronic,
}

/// A category within a class.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[allow(missing_docs)] // The names are the categories.
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

use Category::{Four, One, OneA, OneB, OneC, Only, Three, Two, TwoA, TwoB};
use Category::{TypeA, TypeB, TypeC, TypeD, TypeE, TypeF, TypeG};

impl Category {
    /// As it is printed after the class; empty where it is not printed.
    pub fn name(self) -> &'static str {
        match self {
            One => "1",
            OneA => "1A",
            OneB => "1B",
            OneC => "1C",
            Two => "2",
            TwoA => "2A",
            TwoB => "2B",
            Three => "3",
            Four => "4",
            TypeA => "A",
            TypeB => "B",
            TypeC => "C",
            TypeD => "D",
            TypeE => "E",
            TypeF => "F",
            TypeG => "G",
            Only => "",
        }
    }
}

impl Class {
    /// Every class.
    pub const ALL: [Class; 28] = [
        Class::FlammableLiquid,
        Class::FlammableSolid,
        Class::OxidisingLiquid,
        Class::OxidisingSolid,
        Class::OrganicPeroxide,
        Class::GasUnderPressure,
        Class::MetalCorrosion,
        Class::AcuteOral,
        Class::AcuteDermal,
        Class::AcuteInhalation,
        Class::AcuteGas,
        Class::AcuteVapour,
        Class::AcuteMist,
        Class::Skin,
        Class::Eye,
        Class::RespiratorySensitiser,
        Class::SkinSensitiser,
        Class::Mutagen,
        Class::Carcinogen,
        Class::Reproductive,
        Class::Lactation,
        Class::StotSingle,
        Class::StotRespiratory,
        Class::StotNarcotic,
        Class::StotRepeated,
        Class::Aspiration,
        Class::AquaticAcute,
        Class::AquaticChronic,
    ];

    /// Its categories, worst first.
    pub fn categories(self) -> &'static [Category] {
        match self {
            Class::FlammableLiquid
            | Class::AcuteOral
            | Class::AcuteDermal
            | Class::AcuteInhalation
            | Class::AcuteGas
            | Class::AcuteVapour
            | Class::AcuteMist
            | Class::AquaticChronic => &[One, Two, Three, Four],
            Class::OxidisingLiquid | Class::OxidisingSolid | Class::AquaticAcute => &[One, Two, Three],
            Class::FlammableSolid | Class::StotSingle | Class::StotRepeated => &[One, Two],
            Class::OrganicPeroxide => &[TypeA, TypeB, TypeC, TypeD, TypeE, TypeF, TypeG],
            Class::GasUnderPressure | Class::Lactation => &[Only],
            Class::MetalCorrosion | Class::Aspiration => &[One],
            Class::Skin => &[One, OneA, OneB, OneC, Two],
            Class::Eye => &[One, Two, TwoA, TwoB],
            Class::RespiratorySensitiser | Class::SkinSensitiser => &[One, OneA, OneB],
            Class::Mutagen | Class::Carcinogen | Class::Reproductive => &[One, OneA, OneB, Two],
            Class::StotRespiratory | Class::StotNarcotic => &[Three],
        }
    }

    /// Whether it is a physical hazard: one a rule by ingredient shares does not decide, but a test or a figure.
    pub fn is_physical(self) -> bool {
        self <= Class::MetalCorrosion
    }

    /// Whether it is a hazard to the environment.
    pub fn is_environmental(self) -> bool {
        matches!(self, Class::AquaticAcute | Class::AquaticChronic)
    }

    /// Whether it is acute toxicity breathed in, in any form.
    pub fn is_acute_inhalation(self) -> bool {
        matches!(self, Class::AcuteInhalation | Class::AcuteGas | Class::AcuteVapour | Class::AcuteMist)
    }

    /// The words before the category and after it.
    fn frame(self, category: Category) -> (&'static str, &'static str) {
        match self {
            Class::FlammableLiquid => ("Flam. Liq.", ""),
            Class::FlammableSolid => ("Flam. Sol.", ""),
            Class::OxidisingLiquid => ("Ox. Liq.", ""),
            Class::OxidisingSolid => ("Ox. Sol.", ""),
            Class::OrganicPeroxide => ("Org. Perox.", ""),
            Class::GasUnderPressure => ("Press. Gas", ""),
            Class::MetalCorrosion => ("Met. Corr.", ""),
            Class::AcuteOral => ("Acute Tox.", "(oral)"),
            Class::AcuteDermal => ("Acute Tox.", "(dermal)"),
            Class::AcuteInhalation => ("Acute Tox.", "(inhalation)"),
            Class::AcuteGas => ("Acute Tox.", "(inhalation, gas)"),
            Class::AcuteVapour => ("Acute Tox.", "(inhalation, vapour)"),
            Class::AcuteMist => ("Acute Tox.", "(inhalation, mist)"),
            Class::Skin if category == Two => ("Skin Irrit.", ""),
            Class::Skin => ("Skin Corr.", ""),
            Class::Eye if category == One => ("Eye Dam.", ""),
            Class::Eye => ("Eye Irrit.", ""),
            Class::RespiratorySensitiser => ("Resp. Sens.", ""),
            Class::SkinSensitiser => ("Skin Sens.", ""),
            Class::Mutagen => ("Muta.", ""),
            Class::Carcinogen => ("Carc.", ""),
            Class::Reproductive => ("Repr.", ""),
            Class::Lactation => ("Lact.", ""),
            Class::StotSingle => ("STOT SE", ""),
            Class::StotRespiratory => ("STOT SE", "(respiratory)"),
            Class::StotNarcotic => ("STOT SE", "(narcotic)"),
            Class::StotRepeated => ("STOT RE", ""),
            Class::Aspiration => ("Asp. Tox.", ""),
            Class::AquaticAcute => ("Aquatic Acute", ""),
            Class::AquaticChronic => ("Aquatic Chronic", ""),
        }
    }
}

/// A class and one of its categories. Prints as `Acute Tox. 3 (oral)`, and is read back from that by [`str::parse`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Hazard {
    class: Class,
    category: Category,
}

impl Hazard {
    /// `None` if the class has no such category.
    pub fn new(class: Class, category: Category) -> Option<Hazard> {
        class.categories().contains(&category).then_some(Hazard { class, category })
    }

    /// For pairs written in this room's own tables; a test walks over every class and category.
    pub(super) const fn of(class: Class, category: Category) -> Hazard {
        Hazard { class, category }
    }

    /// Every hazard this project knows.
    pub fn all() -> impl Iterator<Item = Hazard> {
        Class::ALL
            .into_iter()
            .flat_map(|class| class.categories().iter().map(move |&category| Hazard { class, category }))
    }

    /// Its class.
    pub fn class(self) -> Class {
        self.class
    }

    /// Its category.
    pub fn category(self) -> Category {
        self.category
    }

    /// Its place in its class, 0 the worst. A category that is not subdivided may be as bad as its worst subdivision, so plain 1
    /// ranks with 1A and plain 2 with 2A.
    pub fn rank(self) -> u8 {
        match self.category {
            One | OneA | TypeA | Only => 0,
            OneB | TypeB => 1,
            OneC | TypeC => 2,
            Two | TwoA | TypeD => 3,
            TwoB | TypeE => 4,
            Three | TypeF => 5,
            Four | TypeG => 6,
        }
    }

    /// Whether it is of the same class and at least as bad.
    pub fn covers(self, other: Hazard) -> bool {
        self.class == other.class && self.rank() <= other.rank()
    }
}

impl fmt::Display for Hazard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (before, after) = self.class.frame(self.category);
        let mut words = vec![before];
        words.extend([self.category.name(), after].into_iter().filter(|word| !word.is_empty()));
        f.write_str(&words.join(" "))
    }
}

impl fmt::Debug for Hazard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{self}`")
    }
}

impl Serialize for Hazard {
    /// As it prints.
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_class_is_listed_once_with_its_worst_category_first() {
        for (place, class) in Class::ALL.iter().enumerate() {
            assert!(!Class::ALL[..place].contains(class), "{class:?}");
            let ranks: Vec<u8> = class.categories().iter().map(|&c| Hazard::of(*class, c).rank()).collect();
            assert!(ranks.is_sorted(), "{class:?} {ranks:?}");
        }
        assert!(Class::MetalCorrosion.is_physical() && !Class::AcuteOral.is_physical());
    }

    #[test]
    fn an_undivided_category_ranks_with_its_worst_part() {
        let of = |text: &str| text.parse::<Hazard>().unwrap();
        assert!(of("Skin Corr. 1").covers(of("Skin Corr. 1A")) && of("Skin Corr. 1A").covers(of("Skin Corr. 1")));
        assert!(of("Skin Corr. 1A").covers(of("Skin Corr. 1B")) && !of("Skin Corr. 1B").covers(of("Skin Corr. 1A")));
        assert!(of("Skin Corr. 1C").covers(of("Skin Irrit. 2")) && !of("Skin Irrit. 2").covers(of("Skin Corr. 1C")));
        assert!(!of("Eye Dam. 1").covers(of("Skin Irrit. 2")));
    }

    #[test]
    fn a_category_the_class_lacks_is_refused() {
        assert!(Hazard::new(Class::Aspiration, Category::Two).is_none());
        assert!(Hazard::new(Class::Skin, Category::OneC).is_some());
    }
}
