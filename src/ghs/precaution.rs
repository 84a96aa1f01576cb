//! Which precautionary statements a hazard calls for, in what order, and which of them are left out beside stronger ones.
//!
//! The choice by class and category follows the tables of 29 CFR 1910.1200 Appendix C.4 and Regulation (EC) 1272/2008 Annex I, from
//! memory: in the copies at hand those tables are pictures or show only their heads. It agrees with an independent table of the tenth
//! revision of the UN GHS where that revision has not changed it (P310 to P315 became P316 to P319, P201 and P202 became P203). A
//! statement whose blank only the maker of the product can fill (P321, P406, P411) is not chosen.

use serde::Serialize;

use super::RuleSet;
use super::class::{Category, Class, Hazard};
use super::element::Signal;

/// A precautionary statement, such as `P305+P351+P338`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
pub struct Precaution {
    /// Its code.
    pub code: &'static str,
    /// What it is about.
    pub kind: Kind,
}

/// What a precautionary statement is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// P2: before anything happens.
    Prevention,
    /// P3: when it has happened.
    Response,
    /// P4: keeping it.
    Storage,
    /// P5: getting rid of it.
    Disposal,
}

impl Precaution {
    fn of(code: &'static str) -> Precaution {
        let kind = match code.as_bytes().get(1) {
            Some(b'3') => Kind::Response,
            Some(b'4') => Kind::Storage,
            Some(b'5') => Kind::Disposal,
            _ => Kind::Prevention,
        };
        Precaution { code, kind }
    }
}

/// The most urgent first. The order is ours: first aid that cannot wait, what keeps one from needing it, then the rest.
const URGENCY: &[&str] = &[
    "P301+P310",
    "P305+P351+P338",
    "P303+P361+P353",
    "P301+P330+P331",
    "P331",
    "P310",
    "P304+P340",
    "P342+P311",
    "P308+P311",
    "P306+P360",
    "P210",
    "P280",
    "P260",
    "P220",
    "P308+P313",
    "P302+P352",
    "P370+P372+P380+P373",
    "P370+P380+P375",
    "P371+P380+P375",
    "P284",
    "P262",
    "P261",
    "P333+P313",
    "P201",
    "P301+P312",
    "P312",
    "P314",
    "P361+P364",
    "P273",
    "P263",
    "P330",
    "P337+P313",
    "P332+P313",
    "P271",
    "P202",
    "P234",
    "P370+P378",
    "P362+P364",
    "P363",
    "P390",
    "P391",
    "P270",
    "P264",
    "P272",
    "P283",
    "P233",
    "P235",
    "P240",
    "P241",
    "P242",
    "P243",
    "P403+P235",
    "P403+P233",
    "P410+P403",
    "P403",
    "P410",
    "P420",
    "P405",
    "P501",
];

/// The right-hand statements are left out beside the left-hand one: it says the same more strictly, or says it already. Taken in this
/// order, each only if the left-hand one is still there.
const STRONGER: &[(&str, &[&str])] = &[
    ("P260", &["P261"]),
    ("P301+P330+P331", &["P330", "P331"]),
    ("P301+P310", &["P301+P312"]),
    ("P303+P361+P353", &["P302+P352"]),
    ("P361+P364", &["P362+P364"]),
    ("P333+P313", &["P332+P313"]),
    ("P308+P311", &["P308+P313", "P314"]),
    ("P403+P233", &["P233", "P403"]),
    ("P403+P235", &["P235", "P403"]),
    ("P410+P403", &["P410", "P403"]),
];

/// What two statements together already say.
const SAID_BY_BOTH: &[([&str; 2], &[&str])] = &[
    // IF SWALLOWED is there, and so is the call.
    (["P301+P330+P331", "P310"], &["P301+P310", "P301+P312"]),
    // Off with the clothing, and wash it.
    (["P303+P361+P353", "P363"], &["P361+P364", "P362+P364"]),
];

/// One of these makes `Wash contaminated clothing before reuse` a repetition.
const WASH_CLOTHING: [&str; 2] = ["P361+P364", "P362+P364"];

/// How urgent the medical help is that a statement sends for: 29 CFR 1910.1200 App. C.2.4.10 keeps the most urgent.
fn medical(code: &str) -> Option<u8> {
    Some(match code {
        "P310" | "P301+P310" => 3,
        "P308+P311" | "P342+P311" => 2,
        "P312" | "P301+P312" | "P314" | "P308+P313" | "P332+P313" | "P333+P313" | "P337+P313" => 1,
        _ => return None,
    })
}

/// The statements for one hazard, in no order.
fn of_hazard(hazard: Hazard) -> &'static [&'static str] {
    use Category::{Four, One, OneA, OneB, Three, Two, TypeA, TypeB, TypeG};
    let category = hazard.category();
    let danger = hazard.signal() == Some(Signal::Danger);
    match hazard.class() {
        Class::FlammableLiquid => match category {
            One | Two | Three => &[
                "P210",
                "P233",
                "P240",
                "P241",
                "P242",
                "P243",
                "P280",
                "P303+P361+P353",
                "P370+P378",
                "P403+P235",
                "P501",
            ],
            _ => &["P210", "P280", "P370+P378", "P403", "P501"],
        },
        Class::FlammableSolid => &["P210", "P240", "P241", "P280", "P370+P378"],
        Class::OxidisingLiquid | Class::OxidisingSolid => match category {
            One => &["P210", "P220", "P280", "P283", "P306+P360", "P371+P380+P375", "P370+P378", "P420", "P501"],
            _ => &["P210", "P220", "P280", "P370+P378", "P501"],
        },
        Class::OrganicPeroxide => match category {
            TypeA => &["P210", "P234", "P235", "P240", "P280", "P370+P372+P380+P373", "P403", "P410", "P420", "P501"],
            TypeB => &["P210", "P234", "P235", "P240", "P280", "P370+P380+P375", "P403", "P410", "P420", "P501"],
            TypeG => &[],
            _ => &["P210", "P234", "P235", "P240", "P280", "P370+P378", "P403", "P410", "P420", "P501"],
        },
        Class::GasUnderPressure => &["P410+P403"],
        Class::MetalCorrosion => &["P234", "P390"],
        Class::AcuteOral => match category {
            Four => &["P264", "P270", "P301+P312", "P330", "P501"],
            _ => &["P264", "P270", "P301+P310", "P330", "P405", "P501"],
        },
        Class::AcuteDermal => match category {
            Four => &["P280", "P302+P352", "P312", "P362+P364", "P501"],
            Three => &["P280", "P302+P352", "P312", "P361+P364", "P405", "P501"],
            _ => &["P262", "P264", "P270", "P280", "P302+P352", "P310", "P361+P364", "P405", "P501"],
        },
        Class::AcuteInhalation | Class::AcuteGas | Class::AcuteVapour | Class::AcuteMist => match category {
            Four => &["P261", "P271", "P304+P340", "P312"],
            // Category 3 has P311 by itself, which the data do not hold; P310 is the same, sooner.
            Three => &["P261", "P271", "P304+P340", "P310", "P403+P233", "P405", "P501"],
            _ => &["P260", "P271", "P284", "P304+P340", "P310", "P403+P233", "P405", "P501"],
        },
        Class::Skin if danger => &[
            "P260",
            "P264",
            "P280",
            "P301+P330+P331",
            "P303+P361+P353",
            "P363",
            "P304+P340",
            "P310",
            "P305+P351+P338",
            "P405",
            "P501",
        ],
        Class::Skin => &["P264", "P280", "P302+P352", "P332+P313", "P362+P364"],
        Class::Eye if danger => &["P280", "P305+P351+P338", "P310"],
        Class::Eye => &["P264", "P280", "P305+P351+P338", "P337+P313"],
        Class::RespiratorySensitiser => &["P261", "P284", "P304+P340", "P342+P311", "P501"],
        Class::SkinSensitiser => &["P261", "P272", "P280", "P302+P352", "P333+P313", "P362+P364", "P501"],
        Class::Mutagen | Class::Carcinogen | Class::Reproductive => {
            &["P201", "P202", "P280", "P308+P313", "P405", "P501"]
        }
        Class::Lactation => &["P201", "P260", "P263", "P264", "P270", "P308+P313"],
        Class::StotSingle => &["P260", "P264", "P270", "P308+P311", "P405", "P501"],
        Class::StotRepeated => match category {
            One | OneA | OneB => &["P260", "P264", "P270", "P314", "P501"],
            _ => &["P260", "P314", "P501"],
        },
        Class::StotRespiratory | Class::StotNarcotic => {
            &["P261", "P271", "P304+P340", "P312", "P403+P233", "P405", "P501"]
        }
        Class::Aspiration => &["P301+P310", "P331", "P405", "P501"],
        Class::AquaticAcute => match category {
            One => &["P273", "P391", "P501"],
            _ => &["P273", "P501"],
        },
        Class::AquaticChronic => match category {
            One | Two => &["P273", "P391", "P501"],
            _ => &["P273", "P501"],
        },
    }
}

/// As many as the EU label may carry, unless the hazards need more (Article 28(3)).
pub const EU_MOST: usize = 6;

/// What keeps one from the harm of this hazard first of all, if its signal word is Danger: its most urgent statement of prevention.
fn leading_prevention(hazard: Hazard) -> Option<&'static str> {
    if hazard.signal() != Some(Signal::Danger) {
        return None;
    }
    let own = of_hazard(hazard);
    let mut urgent = URGENCY.iter().copied().filter(|code| own.contains(code));
    urgent.find(|code| Precaution::of(code).kind == Kind::Prevention)
}

/// The six most urgent. Article 28(3) lets the nature and severity of the hazards ask for more; here they do where a hazard of signal
/// word Danger would be left without its leading preventive statement: a flammable corrosive must still say to keep away from sparks.
fn cut_to_the_eus_six(kept: &mut Vec<&'static str>, hazards: &[Hazard]) {
    let said_by = |code: &'static str| {
        let stronger = STRONGER.iter().find(|(wider, narrower)| narrower.contains(&code) && kept.contains(wider));
        if kept.contains(&code) { Some(code) } else { stronger.map(|(wider, _)| *wider) }
    };
    let leading = hazards.iter().filter_map(|&hazard| leading_prevention(hazard));
    let needed: Vec<&'static str> = leading.filter_map(said_by).collect();
    let mut place = 0;
    kept.retain(|code| {
        place += 1;
        place <= EU_MOST || needed.contains(code)
    });
}

/// The statements for a label with these hazards, the most urgent first. In the EU at most six, unless the hazards need more; in the
/// United States all, with the calls for medical help cut down to the most urgent.
pub fn select(hazards: &[Hazard], rules: RuleSet) -> Vec<Precaution> {
    let mut called: Vec<&'static str> = hazards.iter().flat_map(|&hazard| of_hazard(hazard)).copied().collect();
    // One call for help, the most urgent, with the way of exposure it is for: P310 makes the call after swallowing as urgent, which then
    // keeps the `IF SWALLOWED` that `Rinse mouth` needs.
    let calls = |code| called.contains(&code);
    if calls("P310") && calls("P301+P312") && !calls("P301+P330+P331") {
        called.push("P301+P310");
    }
    let mut kept: Vec<&'static str> = URGENCY.iter().copied().filter(|code| called.contains(code)).collect();
    for (both, said) in SAID_BY_BOTH {
        if both.iter().all(|code| kept.contains(code)) {
            kept.retain(|code| !said.contains(code));
        }
    }
    for (stronger, weaker) in STRONGER {
        if kept.contains(stronger) {
            kept.retain(|code| !weaker.contains(code));
        }
    }
    if kept.iter().any(|code| WASH_CLOTHING.contains(code)) {
        kept.retain(|code| *code != "P363");
    }
    let general_call = kept.contains(&"P310");
    match rules {
        RuleSet::UnitedStates => {
            let most_urgent = kept.iter().filter_map(|code| medical(code)).max();
            kept.retain(|code| {
                // A call bound to one way of exposure does not speak for another: those keep their own.
                let own_route = !general_call && matches!(*code, "P301+P312" | "P342+P311" | "P308+P311" | "P308+P313");
                own_route || medical(code).is_none_or(|level| Some(level) == most_urgent)
            });
        }
        RuleSet::EuUk => {
            if general_call {
                kept.retain(|code| !matches!(*code, "P312" | "P301+P312" | "P332+P313" | "P337+P313" | "P314"));
            }
            cut_to_the_eus_six(&mut kept, hazards);
        }
    }
    kept.into_iter().map(Precaution::of).collect()
}

#[cfg(test)]
#[path = "precaution_tests.rs"]
mod tests;
