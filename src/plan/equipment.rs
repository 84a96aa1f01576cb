//! What to wear, and why.

use serde::Serialize;

use crate::catalog::{Equipment, Method, Sds};
use crate::ghs::{Category, Class, Hazard};

/// A piece of protective equipment, with every reason for it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Worn {
    pub item: Equipment,
    pub why: Vec<Why>,
}

/// Why something is worn.
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
    let mut pairs: Vec<(Equipment, Why)> = work.sds.equipment.iter().map(|item| (*item, Why::DataSheet)).collect();
    pairs.extend([(Equipment::Gloves, Why::Handling), (Equipment::Goggles, Why::Handling)]);
    if !work.ready_to_use && work.sds.hazards.iter().any(|h| burns(*h)) {
        pairs.push((Equipment::FaceShield, Why::CorrosiveConcentrate));
        pairs.push((Equipment::Apron, Why::CorrosiveConcentrate));
    }
    if work.airborne {
        pairs.push((Equipment::Respirator, Why::Mist));
        pairs.push((Equipment::Goggles, Why::Mist));
    }
    if work.in_mist {
        pairs.push((Equipment::Respirator, Why::SharedAir));
        pairs.push((Equipment::Goggles, Why::SharedAir));
    }
    // Foam is thrown under pressure as spray is: 29 CFR 1910.106(a)(1) counts both as given out as an aerosol.
    let sprayed = work.airborne || matches!(work.method, Method::Spray | Method::Foam);
    let harms = |is: fn(Hazard) -> bool| work.solution.iter().any(|h| is(*h));
    if sprayed && work.indoors && harms(by_inhalation) {
        pairs.push((Equipment::Respirator, Why::Inhalation));
    }
    if sprayed && harms(by_skin) {
        pairs.push((Equipment::Suit, Why::Skin));
    }
    if sprayed && harms(by_eyes) {
        pairs.push((Equipment::Goggles, Why::Eyes));
    }
    if work.method == Method::Mop {
        pairs.push((Equipment::Boots, Why::WetFloor));
    }
    pairs.sort_unstable();
    pairs.dedup();
    let mut worn: Vec<Worn> = Vec::new();
    for (item, why) in pairs {
        match worn.last_mut().filter(|last| last.item == item) {
            Some(last) => last.why.push(why),
            None => worn.push(Worn { item, why: vec![why] }),
        }
    }
    worn
}

fn burns(hazard: Hazard) -> bool {
    match hazard.class() {
        Class::Skin => matches!(hazard.category(), Category::One | Category::OneA | Category::OneB | Category::OneC),
        Class::Eye => hazard.category() == Category::One,
        _ => false,
    }
}

fn by_inhalation(hazard: Hazard) -> bool {
    let irritates = hazard.statement() == Some("H335");
    irritates || hazard.class().is_acute_inhalation() || hazard.class() == Class::RespiratorySensitiser
}

fn by_skin(hazard: Hazard) -> bool {
    matches!(hazard.class(), Class::Skin | Class::SkinSensitiser | Class::AcuteDermal)
}

fn by_eyes(hazard: Hazard) -> bool {
    hazard.class() == Class::Eye || (hazard.class() == Class::Skin && burns(hazard))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalog::{Airborne, DilutedHazards};
    use jiff::civil::date;

    fn sds(hazards: &[&str], equipment: &[Equipment]) -> Sds {
        Sds {
            revised: date(2026, 2, 1),
            hazards: hazards.iter().map(|h| h.parse().unwrap()).collect(),
            use_solution: DilutedHazards::NotStated,
            equipment: equipment.to_vec(),
            link: None,
        }
    }

    fn items(sds: &Sds, solution: &[&str], method: Method, indoors: bool) -> Vec<Equipment> {
        let solution: Vec<Hazard> = solution.iter().map(|h| h.parse().unwrap()).collect();
        let work = Work {
            sds,
            solution: &solution,
            method,
            airborne: Airborne::of(method, None).is_some(),
            in_mist: false,
            indoors,
            ready_to_use: false,
        };
        worn(&work).into_iter().map(|w| w.item).collect()
    }

    #[test]
    fn the_data_sheet_is_always_in_it() {
        let sheet = sds(&[], &[Equipment::Mask, Equipment::Boots]);
        for method in [Method::Mist, Method::Spray, Method::Wipe, Method::Mop, Method::Dip] {
            let all = items(&sheet, &[], method, true);
            assert!(all.contains(&Equipment::Mask) && all.contains(&Equipment::Boots), "{method:?}");
        }
    }

    #[test]
    fn mist_needs_a_respirator_that_wiping_does_not() {
        let sheet = sds(&[], &[]);
        assert!(items(&sheet, &[], Method::Mist, true).contains(&Equipment::Respirator));
        assert!(items(&sheet, &[], Method::Mist, false).contains(&Equipment::Respirator));
        assert!(!items(&sheet, &[], Method::Wipe, true).contains(&Equipment::Respirator));
    }

    #[test]
    fn a_coarse_spray_that_irritates_airways_needs_one_indoors() {
        let (sheet, harms) = (sds(&[], &[]), ["STOT SE 3 (respiratory)"]);
        assert!(items(&sheet, &harms, Method::Spray, true).contains(&Equipment::Respirator));
        assert!(!items(&sheet, &harms, Method::Spray, false).contains(&Equipment::Respirator));
        assert!(!items(&sheet, &harms, Method::Wipe, true).contains(&Equipment::Respirator));
    }

    #[test]
    fn a_corrosive_concentrate_is_poured_behind_a_face_shield() {
        assert!(items(&sds(&["Skin Corr. 1B"], &[]), &[], Method::Wipe, true).contains(&Equipment::FaceShield));
        assert!(!items(&sds(&["Skin Irrit. 2"], &[]), &[], Method::Wipe, true).contains(&Equipment::FaceShield));
    }
}
