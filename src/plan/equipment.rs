//! What to wear, and why.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use crate::company::{Equipment, Method, Sds};
use crate::ghs::{Category, Class, Hazard};

/// A piece of protective equipment, with every reason for it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Worn {
    pub item: Equipment,
    pub why: Vec<Why>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Why {
    DataSheet,
    Handling,
    CorrosiveConcentrate,
    Mist,
    SharedAir,
    Inhalation,
    Skin,
    Eyes,
    WetFloor,
}

impl Why {
    /// As language files know it, under `why`.
    pub(super) fn word(self) -> &'static str {
        match self {
            Why::DataSheet => "data-sheet",
            Why::Handling => "handling",
            Why::CorrosiveConcentrate => "corrosive-concentrate",
            Why::Mist => "mist",
            Why::SharedAir => "shared-air",
            Why::Inhalation => "inhalation",
            Why::Skin => "skin",
            Why::Eyes => "eyes",
            Why::WetFloor => "wet-floor",
        }
    }

    /// The statements of the hazards that are behind it, each once.
    pub(super) fn statements(self, sds: &Sds, solution: &[Hazard]) -> Vec<&'static str> {
        let (hazards, is): (&[Hazard], fn(Hazard) -> bool) = match self {
            Why::CorrosiveConcentrate => (&sds.hazards, burns),
            Why::Inhalation => (solution, by_inhalation),
            Why::Skin => (solution, by_skin),
            Why::Eyes => (solution, by_eyes),
            _ => return Vec::new(),
        };
        let codes = hazards.iter().filter(|hazard| is(**hazard)).filter_map(|hazard| hazard.statement());
        codes.collect::<BTreeSet<_>>().into_iter().collect()
    }
}

/// What a choice of equipment turns on.
pub(super) struct Work<'a> {
    pub sds: &'a Sds,
    pub solution: &'a [Hazard],
    pub method: Method,
    pub airborne: bool,
    pub in_mist: bool,
    pub indoors: bool,
    pub ready_to_use: bool,
}

/// The data sheet's list, always; the rest is added to it and takes nothing away. Where the sheet asks for less, this is
/// the side that protects. Mist and fog call for a respirator in the open as well: the cloud is where the crew stands.
pub(super) fn worn(work: &Work<'_>) -> Vec<Worn> {
    use Equipment::{Apron, Boots, FaceShield, Gloves, Goggles, Respirator, Suit};
    // Foam is thrown under pressure as spray is: 29 CFR 1910.106(a)(1) counts both as given out as an aerosol.
    let sprayed = work.airborne || matches!(work.method, Method::Spray | Method::Foam);
    let harms = |is: fn(Hazard) -> bool| work.solution.iter().any(|h| is(*h));
    let corrosive = !work.ready_to_use && work.sds.hazards.iter().any(|h| burns(*h));
    let reasons: [(bool, Why, &[Equipment]); 9] = [
        (true, Why::DataSheet, &work.sds.equipment),
        (true, Why::Handling, &[Gloves, Goggles]),
        (corrosive, Why::CorrosiveConcentrate, &[FaceShield, Apron]),
        (work.airborne, Why::Mist, &[Respirator, Goggles]),
        (work.in_mist, Why::SharedAir, &[Respirator, Goggles]),
        (sprayed && work.indoors && harms(by_inhalation), Why::Inhalation, &[Respirator]),
        (sprayed && harms(by_skin), Why::Skin, &[Suit]),
        (sprayed && harms(by_eyes), Why::Eyes, &[Goggles]),
        (work.method == Method::Mop, Why::WetFloor, &[Boots]),
    ];
    let mut worn: BTreeMap<Equipment, Vec<Why>> = BTreeMap::new();
    for (_, why, items) in reasons.into_iter().filter(|(holds, ..)| *holds) {
        for item in items {
            let all = worn.entry(*item).or_default();
            if !all.contains(&why) {
                all.push(why);
            }
        }
    }
    worn.into_iter().map(|(item, why)| Worn { item, why }).collect()
}

fn burns(hazard: Hazard) -> bool {
    hazard.burns_skin() || (hazard.class() == Class::Eye && hazard.category() == Category::One)
}

fn by_inhalation(hazard: Hazard) -> bool {
    let irritates = hazard.statement() == Some("H335");
    irritates || hazard.class().is_acute_inhalation() || hazard.class() == Class::RespiratorySensitiser
}

fn by_skin(hazard: Hazard) -> bool {
    matches!(hazard.class(), Class::Skin | Class::SkinSensitiser | Class::AcuteDermal)
}

fn by_eyes(hazard: Hazard) -> bool {
    hazard.class() == Class::Eye || hazard.burns_skin()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::company::{Airborne, DilutedHazards};
    use jiff::civil::date;

    /// Whether `item` is worn for a product whose concentrate and solution have these hazards.
    fn wears(item: Equipment, concentrate: &[&str], solution: &[&str], method: Method, indoors: bool) -> bool {
        let hazards = |of: &[&str]| of.iter().map(|h| h.parse().unwrap()).collect::<Vec<Hazard>>();
        let sds = Sds {
            revised: date(2026, 2, 1),
            hazards: hazards(concentrate),
            use_solution: DilutedHazards::NotStated,
            equipment: vec![Equipment::Mask],
            link: None,
        };
        let (solution, airborne) = (hazards(solution), Airborne::of(method, None).is_some());
        let work =
            Work { sds: &sds, solution: &solution, method, airborne, in_mist: false, indoors, ready_to_use: false };
        worn(&work).iter().any(|worn| worn.item == item)
    }

    #[test]
    fn the_data_sheet_is_always_in_it() {
        for (_, method) in Method::WORDS {
            assert!(wears(Equipment::Mask, &[], &[], *method, true), "{method:?}");
        }
    }

    #[test]
    fn mist_and_what_irritates_airways_need_a_respirator() {
        let irritates = ["STOT SE 3 (respiratory)"];
        for (solution, method, indoors, needed) in [
            (&[][..], Method::Mist, true, true),
            (&[], Method::Mist, false, true),
            (&[], Method::Wipe, true, false),
            (&irritates, Method::Spray, true, true),
            (&irritates, Method::Spray, false, false),
            (&irritates, Method::Wipe, true, false),
        ] {
            assert_eq!(wears(Equipment::Respirator, &[], solution, method, indoors), needed, "{solution:?} {method:?}");
        }
    }

    #[test]
    fn a_corrosive_concentrate_is_poured_behind_a_face_shield() {
        assert!(wears(Equipment::FaceShield, &["Skin Corr. 1B"], &[], Method::Wipe, true));
        assert!(!wears(Equipment::FaceShield, &["Skin Irrit. 2"], &[], Method::Wipe, true));
    }
}
