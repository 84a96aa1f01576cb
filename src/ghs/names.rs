//! The names safety data sheets write: of classes, of categories, of routes and effects.

use super::class::{Category, Class};

/// A family of classes under one written name; the category, a word in brackets or a statement code decides which of them.
#[derive(Clone, Copy)]
pub(super) struct Family {
    /// The name as printed, then the others it is known by, in lower-case words without punctuation.
    pub(super) name: &'static str,
    pub(super) words: &'static [&'static str],
    pub(super) classes: &'static [Class],
    /// Narrows a shared class: `Skin Corr.` cannot be Category 2, `Eye Dam.` only 1.
    allowed: Option<&'static [Category]>,
}

const CORROSIVE: &[Category] = &[Category::One, Category::OneA, Category::OneB, Category::OneC];
const IRRITANT: &[Category] = &[Category::Two];
const EYE_IRRITANT: &[Category] = &[Category::Two, Category::TwoA, Category::TwoB];

#[rustfmt::skip]
pub(super) const FAMILIES: &[Family] = &[
    Family { name: "Flam. Liq.", words: &["flam liq", "flammable liquid", "flammable liquids"], classes: &[Class::FlammableLiquid], allowed: None },
    Family { name: "Flam. Sol.", words: &["flam sol", "flammable solid", "flammable solids"], classes: &[Class::FlammableSolid], allowed: None },
    Family { name: "Ox. Liq.", words: &["ox liq", "oxidising liquid", "oxidizing liquid", "oxidising liquids", "oxidizing liquids"], classes: &[Class::OxidisingLiquid], allowed: None },
    Family { name: "Ox. Sol.", words: &["ox sol", "oxidising solid", "oxidizing solid", "oxidising solids", "oxidizing solids"], classes: &[Class::OxidisingSolid], allowed: None },
    Family { name: "Org. Perox.", words: &["org perox", "organic peroxide", "organic peroxides"], classes: &[Class::OrganicPeroxide], allowed: None },
    Family { name: "Press. Gas", words: &["press gas", "gases under pressure", "gas under pressure"], classes: &[Class::GasUnderPressure], allowed: None },
    Family { name: "Met. Corr.", words: &["met corr", "corrosive to metals", "corrosive to metal"], classes: &[Class::MetalCorrosion], allowed: None },
    Family { name: "Acute Tox.", words: &["acute tox", "acute toxicity"], classes: &[Class::AcuteOral, Class::AcuteDermal, Class::AcuteInhalation, Class::AcuteGas, Class::AcuteVapour, Class::AcuteMist], allowed: None },
    Family { name: "Skin Corr.", words: &["skin corr", "skin corrosion"], classes: &[Class::Skin], allowed: Some(CORROSIVE) },
    Family { name: "Skin Irrit.", words: &["skin irrit", "skin irritation"], classes: &[Class::Skin], allowed: Some(IRRITANT) },
    Family { name: "Eye Dam.", words: &["eye dam", "eye damage", "serious eye damage"], classes: &[Class::Eye], allowed: Some(&[Category::One]) },
    Family { name: "Eye Irrit.", words: &["eye irrit", "eye irritation", "serious eye irritation"], classes: &[Class::Eye], allowed: Some(EYE_IRRITANT) },
    Family { name: "Resp. Sens.", words: &["resp sens", "respiratory sensitisation", "respiratory sensitization", "respiratory sensitiser", "respiratory sensitizer"], classes: &[Class::RespiratorySensitiser], allowed: None },
    Family { name: "Skin Sens.", words: &["skin sens", "skin sensitisation", "skin sensitization", "skin sensitiser", "skin sensitizer"], classes: &[Class::SkinSensitiser], allowed: None },
    Family { name: "Muta.", words: &["muta", "germ cell mutagenicity", "mutagenicity"], classes: &[Class::Mutagen], allowed: None },
    Family { name: "Carc.", words: &["carc", "carcinogenicity"], classes: &[Class::Carcinogen], allowed: None },
    Family { name: "Repr.", words: &["repr", "reproductive toxicity"], classes: &[Class::Reproductive], allowed: None },
    Family { name: "Lact.", words: &["lact", "effects on or via lactation"], classes: &[Class::Lactation], allowed: None },
    Family { name: "STOT SE", words: &["stot se", "stot single", "stot single exposure", "specific target organ toxicity single exposure"], classes: &[Class::StotSingle, Class::StotRespiratory, Class::StotNarcotic], allowed: None },
    Family { name: "STOT RE", words: &["stot re", "stot repeated", "stot repeated exposure", "specific target organ toxicity repeated exposure"], classes: &[Class::StotRepeated], allowed: None },
    Family { name: "Asp. Tox.", words: &["asp tox", "aspiration hazard", "aspiration toxicity"], classes: &[Class::Aspiration], allowed: None },
    Family { name: "Aquatic Acute", words: &["aquatic acute", "acute aquatic"], classes: &[Class::AquaticAcute], allowed: None },
    Family { name: "Aquatic Chronic", words: &["aquatic chronic", "chronic aquatic"], classes: &[Class::AquaticChronic], allowed: None },
];

/// What a word in brackets narrows a family to.
pub(super) fn qualifier(word: &str) -> Option<&'static [Class]> {
    Some(match word {
        "oral" | "swallowed" => &[Class::AcuteOral],
        "dermal" | "skin" => &[Class::AcuteDermal],
        "inhalation" | "inhal" | "inhaled" => {
            &[Class::AcuteInhalation, Class::AcuteGas, Class::AcuteVapour, Class::AcuteMist]
        }
        "gas" | "gases" => &[Class::AcuteGas],
        "vapour" | "vapours" | "vapor" | "vapors" => &[Class::AcuteVapour],
        "dust" | "dusts" | "mist" | "mists" => &[Class::AcuteMist],
        "respiratory" | "irritation" | "rti" => &[Class::StotRespiratory],
        "narcotic" | "narcosis" | "drowsiness" | "ne" => &[Class::StotNarcotic],
        "comp" | "liq" | "diss" | "compressed" | "liquefied" | "dissolved" => &[Class::GasUnderPressure],
        _ => return None,
    })
}

/// Words that carry nothing of their own.
pub(super) const FILLERS: &[&str] = &["category", "cat", "type", "and", "effects", "tract", "hazard"];

/// A category as it is written, in lower case.
pub(super) fn category(word: &str) -> Option<Category> {
    Some(match word {
        "1" => Category::One,
        "1a" => Category::OneA,
        "1b" => Category::OneB,
        "1c" => Category::OneC,
        "2" => Category::Two,
        "2a" => Category::TwoA,
        "2b" => Category::TwoB,
        "3" => Category::Three,
        "4" => Category::Four,
        "a" => Category::TypeA,
        "b" => Category::TypeB,
        "c" => Category::TypeC,
        "d" => Category::TypeD,
        "e" => Category::TypeE,
        "f" => Category::TypeF,
        "g" => Category::TypeG,
        _ => return None,
    })
}

impl Family {
    /// Its categories, in the order of the enumeration.
    pub(super) fn categories(&self) -> Vec<Category> {
        let mut all: Vec<Category> = self.classes.iter().flat_map(|class| class.categories()).copied().collect();
        all.sort();
        all.dedup();
        match self.allowed {
            Some(allowed) => all.into_iter().filter(|category| allowed.contains(category)).collect(),
            None => all,
        }
    }

    /// Their names.
    pub(super) fn choices(&self) -> Vec<String> {
        self.categories().iter().map(|category| category.name().to_owned()).collect()
    }

    /// The family whose name the words begin with, and how many words that takes: the longest name wins.
    pub(super) fn at_start(words: &[String]) -> Option<(&'static Family, usize)> {
        let names = FAMILIES.iter().flat_map(|family| family.words.iter().map(move |name| (family, *name)));
        names
            .filter_map(|(family, name)| {
                let name: Vec<&str> = name.split(' ').collect();
                (words.len() >= name.len() && words.iter().zip(&name).all(|(a, b)| a == b))
                    .then_some((family, name.len()))
            })
            .max_by_key(|(_, length)| *length)
    }
}
