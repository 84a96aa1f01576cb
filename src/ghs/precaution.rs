//! Which precautionary statements hazards call for, in what order, and which of them are left out beside stronger ones.

use std::sync::LazyLock;

use serde::Deserialize;

use super::RuleSet;
use super::hazard::{Hazard, Signal};
use super::table::words;
use crate::quantity::built_in;

/// A precautionary statement, such as `P305+P351+P338`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Precaution {
    pub code: &'static str,
    pub kind: Kind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
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

/// A row of the table: see its comments.
#[derive(Deserialize)]
struct Row {
    code: String,
    call: Option<u8>,
    own_route: Option<String>,
    beside_p310: Option<String>,
}

/// The most urgent first.
static URGENCY: LazyLock<Vec<Row>> = LazyLock::new(|| built_in(include_str!("precautions.csv")));

/// A row of the table `said_already.csv`: see its comments.
#[derive(Deserialize)]
struct SaidAlready {
    #[serde(deserialize_with = "words")]
    said: Vec<String>,
    #[serde(deserialize_with = "words")]
    left_out: Vec<String>,
}

static SAID_ALREADY: LazyLock<Vec<SaidAlready>> = LazyLock::new(|| built_in(include_str!("said_already.csv")));

impl SaidAlready {
    fn holds(&self, kept: &[&'static str]) -> bool {
        self.said.iter().all(|code| kept.contains(&code.as_str()))
    }

    fn leaves_out(&self, code: &str) -> bool {
        self.left_out.iter().any(|other| other == code)
    }
}

/// What stands on a label in the place of a statement: itself, or a stronger one.
fn said_by(code: &'static str, kept: &[&'static str]) -> Option<&'static str> {
    if kept.contains(&code) {
        return Some(code);
    }
    let stronger = SAID_ALREADY.iter().find(|row| row.leaves_out(code) && row.holds(kept));
    stronger.map(|row| row.said[0].as_str())
}

/// As many as the EU label may carry, unless the hazards need more (Article 28(3)).
const EU_MOST: usize = 6;

/// What keeps one from the harm of this hazard first of all, if its signal word is Danger: its most urgent statement of prevention.
fn leading_prevention(hazard: Hazard) -> Option<&'static str> {
    let own = if hazard.signal() == Some(Signal::Danger) { hazard.prevention() } else { &[] };
    URGENCY.iter().map(|row| &row.code).find(|code| own.contains(code)).map(String::as_str)
}

/// The six most urgent. Article 28(3) lets the nature and severity of the hazards ask for more; here they do where a hazard of signal
/// word Danger would be left without its leading preventive statement: a flammable corrosive must still say to keep away from sparks.
fn cut_to_the_eus_six(kept: &mut Vec<&'static str>, hazards: &[Hazard]) {
    let leading = hazards.iter().filter_map(|&hazard| leading_prevention(hazard));
    let needed: Vec<&'static str> = leading.filter_map(|code| said_by(code, kept)).collect();
    let mut place = 0;
    kept.retain(|code| {
        place += 1;
        place <= EU_MOST || needed.contains(code)
    });
}

/// The statements for a label with these hazards, the most urgent first. In the EU at most six, unless the hazards need more; in the
/// United States all, with the calls for medical help cut down to the most urgent.
pub fn select(hazards: &[Hazard], rules: RuleSet) -> Vec<Precaution> {
    let mut called: Vec<&'static str> = hazards.iter().flat_map(|hazard| hazard.precautions()).collect();
    // One call for help, the most urgent, with the way of exposure it is for: P310 makes the call after swallowing as urgent, which then
    // keeps the `IF SWALLOWED` that `Rinse mouth` needs.
    let calls = |code| called.contains(&code);
    if calls("P310") && calls("P301+P312") && !calls("P301+P330+P331") {
        called.push("P301+P310");
    }
    let mut kept: Vec<&'static str> =
        URGENCY.iter().map(|row| row.code.as_str()).filter(|code| called.contains(code)).collect();
    for row in SAID_ALREADY.iter() {
        if row.holds(&kept) {
            kept.retain(|code| !row.leaves_out(code));
        }
    }
    let general_call = kept.contains(&"P310");
    let rows: Vec<&Row> = URGENCY.iter().filter(|row| kept.contains(&row.code.as_str())).collect();
    match rules {
        RuleSet::UnitedStates => {
            let most_urgent = rows.iter().filter_map(|row| row.call).max();
            let stays = |row: &&&Row| {
                // A call bound to one way of exposure does not speak for another: those keep their own.
                let own_route = !general_call && row.own_route.is_some();
                own_route || row.call.is_none() || row.call == most_urgent
            };
            kept = rows.iter().filter(stays).map(|row| row.code.as_str()).collect();
        }
        RuleSet::EuUk => {
            let stays = |row: &&&Row| !general_call || row.beside_p310.is_none();
            kept = rows.iter().filter(stays).map(|row| row.code.as_str()).collect();
            cut_to_the_eus_six(&mut kept, hazards);
        }
    }
    kept.into_iter().map(Precaution::of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn codes(hazards: &[Hazard], rules: RuleSet) -> Vec<&'static str> {
        select(hazards, rules).iter().map(|precaution| precaution.code).collect()
    }

    fn of(hazards: &[&str], rules: RuleSet) -> Vec<&'static str> {
        let hazards: Vec<Hazard> = hazards.iter().map(|hazard| hazard.parse().unwrap()).collect();
        codes(&hazards, rules)
    }

    #[test]
    fn every_statement_called_for_has_a_place() {
        let called: Vec<&str> = Hazard::all().flat_map(Hazard::precautions).collect();
        for code in &called {
            assert!(URGENCY.iter().any(|row| row.code == *code), "{code} has no urgency");
        }
        for row in URGENCY.iter() {
            assert!(called.contains(&row.code.as_str()), "{} is never called for", row.code);
        }
    }

    #[test]
    fn first_aid_comes_first() {
        let eu = of(&["Skin Corr. 1B", "Eye Dam. 1", "Aquatic Acute 1", "Aquatic Chronic 2"], RuleSet::EuUk);
        assert_eq!(eu, ["P305+P351+P338", "P303+P361+P353", "P301+P330+P331", "P310", "P304+P340", "P280"]);
        let us = of(&["Skin Corr. 1B", "Eye Dam. 1"], RuleSet::UnitedStates);
        assert_eq!(us[..6], eu);
        let mild = of(&["Eye Irrit. 2A"], RuleSet::UnitedStates);
        assert_eq!(mild, ["P305+P351+P338", "P280", "P337+P313", "P264"]);
        let eye = of(&["Eye Dam. 1", "Acute Tox. 4 (oral)"], RuleSet::UnitedStates);
        assert_eq!(eye[..4], ["P301+P310", "P305+P351+P338", "P310", "P280"]);
    }

    /// Article 28(3): at most six for any one hazard and for any number of those of signal word Warning; more where their nature and
    /// severity need it.
    #[test]
    fn the_eu_label_carries_at_most_six() {
        for hazard in Hazard::all() {
            assert!(codes(&[hazard], RuleSet::EuUk).len() <= EU_MOST, "{hazard}");
        }
        let mild: Vec<Hazard> = Hazard::all().filter(|hazard| hazard.signal() != Some(Signal::Danger)).collect();
        assert_eq!(codes(&mild, RuleSet::EuUk).len(), EU_MOST);
        assert!(codes(&mild, RuleSet::UnitedStates).len() > EU_MOST);
        let burning = of(&["Flam. Liq. 2", "Skin Corr. 1B"], RuleSet::EuUk);
        assert_eq!(burning[EU_MOST..], ["P280"]);
        assert!(burning.contains(&"P210") && burning.contains(&"P305+P351+P338"));
        let fatal = of(&["Skin Corr. 1A", "Acute Tox. 1 (inhalation)", "Ox. Liq. 1"], RuleSet::EuUk);
        assert_eq!(fatal[EU_MOST..], ["P210", "P280", "P260"], "{fatal:?}");
    }

    /// Whatever two hazards meet: in the EU each of signal word Danger keeps its leading prevention and few more than six stand; and a call
    /// for help stands with its `IF`, and `Rinse mouth` with `IF SWALLOWED` (App. C.2.4.10).
    #[test]
    fn no_pair_of_hazards_loses_what_it_needs() {
        for hazard in Hazard::all() {
            for other in Hazard::all() {
                let eu = codes(&[hazard, other], RuleSet::EuUk);
                assert!(eu.len() <= EU_MOST + 2, "{hazard}, {other}: {eu:?}");
                for grave in [hazard, other] {
                    let said = leading_prevention(grave).is_none_or(|code| said_by(code, &eu).is_some());
                    assert!(said, "{grave} of {hazard}, {other}: {eu:?}");
                }
                for kept in [eu, codes(&[hazard, other], RuleSet::UnitedStates)] {
                    let swallowed = kept.iter().any(|code| code.starts_with("P301"));
                    assert!(swallowed || !kept.contains(&"P330"), "{hazard}, {other}: {kept:?}");
                }
            }
        }
    }

    /// 29 CFR 1910.1200 App. C.2.4: the United States know no such limit. What falls away is what another says, or a less urgent call for
    /// medical help (C.2.4.10), and nothing else.
    #[test]
    fn the_united_states_keep_all() {
        let is_call = |code: &str| URGENCY.iter().any(|row| row.code == code && row.call.is_some());
        for hazard in Hazard::all() {
            let kept = codes(&[hazard], RuleSet::UnitedStates);
            for code in hazard.precautions() {
                assert!(said_by(code, &kept).is_some() || is_call(code), "{hazard} lost {code}: {kept:?}");
            }
            let calls = hazard.precautions().any(is_call);
            assert_eq!(kept.iter().any(|code| is_call(code)), calls, "{hazard}: {kept:?}");
        }
    }
}
