//! Precautionary statements: which, in what order, and how many.

use super::super::statements;
use super::*;

fn codes(hazards: &[&str], rules: RuleSet) -> Vec<&'static str> {
    let hazards: Vec<Hazard> = hazards.iter().map(|hazard| hazard.parse().unwrap()).collect();
    select(&hazards, rules).iter().map(|precaution| precaution.code).collect()
}

#[test]
fn every_statement_called_for_has_a_place_and_a_text() {
    for hazard in Hazard::all() {
        for code in of_hazard(hazard) {
            assert!(URGENCY.contains(code), "{code} has no urgency");
            assert!(statements::exists(code), "{code} has no text");
        }
    }
    for code in URGENCY {
        assert!(Hazard::all().any(|hazard| of_hazard(hazard).contains(code)), "{code} is never called for");
    }
}

#[test]
fn first_aid_comes_first() {
    let eu = codes(&["Skin Corr. 1B", "Eye Dam. 1", "Aquatic Acute 1", "Aquatic Chronic 2"], RuleSet::EuUk);
    assert_eq!(eu, ["P305+P351+P338", "P303+P361+P353", "P301+P330+P331", "P310", "P304+P340", "P280"]);
    let us = codes(&["Skin Corr. 1B", "Eye Dam. 1"], RuleSet::UnitedStates);
    assert_eq!(us[..6], eu);
    assert!(us.contains(&"P260") && us.contains(&"P501") && us.contains(&"P405"));
}

/// 29 CFR 1910.1200 App. C.2.4.10: the most urgent call for medical help, with its IF statement.
#[test]
fn the_most_urgent_call_stands_alone() {
    let us = codes(&["Acute Tox. 3 (oral)", "Eye Irrit. 2A", "Acute Tox. 4 (inhalation)"], RuleSet::UnitedStates);
    assert!(us.contains(&"P301+P310") && us.contains(&"P305+P351+P338"));
    assert!(!us.contains(&"P337+P313") && !us.contains(&"P312"));
    let mild = codes(&["Eye Irrit. 2A"], RuleSet::UnitedStates);
    assert_eq!(mild, ["P305+P351+P338", "P280", "P337+P313", "P264"]);
}

/// Article 28(3): at most six for any one hazard and for any number of those of signal word Warning.
#[test]
fn the_eu_label_carries_at_most_six() {
    for hazard in Hazard::all() {
        let alone = codes(&[&hazard.to_string()], RuleSet::EuUk);
        assert!(alone.len() <= EU_MOST, "{hazard}: {alone:?}");
    }
    let mild = Hazard::all().filter(|hazard| hazard.signal() != Some(Signal::Danger));
    let mild: Vec<String> = mild.map(|hazard| hazard.to_string()).collect();
    let mild: Vec<&str> = mild.iter().map(String::as_str).collect();
    assert_eq!(codes(&mild, RuleSet::EuUk).len(), EU_MOST);
    assert!(codes(&mild, RuleSet::UnitedStates).len() > EU_MOST);
}

/// The same article: more where their nature and severity need it, and no more than that.
#[test]
fn a_grave_hazard_keeps_its_prevention_past_six() {
    let burning = codes(&["Flam. Liq. 2", "Skin Corr. 1B"], RuleSet::EuUk);
    assert_eq!(burning[EU_MOST..], ["P280"]);
    assert!(burning.contains(&"P210") && burning.contains(&"P305+P351+P338"));
    let fatal = codes(&["Skin Corr. 1A", "Acute Tox. 1 (inhalation)", "Ox. Liq. 1"], RuleSet::EuUk);
    assert_eq!(fatal[EU_MOST..], ["P210", "P280", "P260"], "{fatal:?}");
    for hazard in Hazard::all() {
        for other in Hazard::all() {
            let both = codes(&[&hazard.to_string(), &other.to_string()], RuleSet::EuUk);
            assert!(both.len() <= EU_MOST + 2, "{hazard}, {other}: {both:?}");
            for grave in [hazard, other] {
                let said = leading_prevention(grave).is_none_or(|code| {
                    let stricter =
                        STRONGER.iter().any(|(wider, narrower)| narrower.contains(&code) && both.contains(wider));
                    both.contains(&code) || stricter
                });
                assert!(said, "{grave} beside {hazard}, {other}: {both:?}");
            }
        }
    }
}

/// 29 CFR 1910.1200 App. C.2.4: the United States know no such limit. What falls away is what another says, or a less urgent call for
/// medical help (C.2.4.10), and nothing else.
#[test]
fn the_united_states_keep_all() {
    for hazard in Hazard::all() {
        let kept = codes(&[&hazard.to_string()], RuleSet::UnitedStates);
        for code in of_hazard(hazard) {
            let stronger = STRONGER.iter().any(|(wider, narrower)| narrower.contains(code) && kept.contains(wider));
            let both = SAID_BY_BOTH.iter().any(|(_, said)| said.contains(code));
            let washing = *code == "P363" && kept.iter().any(|kept| WASH_CLOTHING.contains(kept));
            let less_urgent = medical(code).is_some();
            assert!(
                kept.contains(code) || stronger || both || washing || less_urgent,
                "{hazard} lost {code}: {kept:?}"
            );
        }
        let calls = of_hazard(hazard).iter().any(|code| medical(code).is_some());
        assert_eq!(kept.iter().any(|code| medical(code).is_some()), calls, "{hazard}: {kept:?}");
    }
}

#[test]
fn nothing_is_lost_between_two_that_give_way() {
    let burning = codes(&["Skin Corr. 1B", "Acute Tox. 3 (dermal)"], RuleSet::UnitedStates);
    assert!(burning.contains(&"P303+P361+P353") && burning.contains(&"P363") && !burning.contains(&"P361+P364"));
    let flammable = codes(&["Flam. Liq. 2", "Acute Tox. 3 (dermal)"], RuleSet::UnitedStates);
    assert!(flammable.contains(&"P303+P361+P353") && flammable.contains(&"P361+P364"));
    let lung = codes(&["Acute Tox. 3 (oral)", "Resp. Sens. 1"], RuleSet::UnitedStates);
    assert!(lung.contains(&"P301+P310") && lung.contains(&"P342+P311"));
    let inhaled = codes(&["Acute Tox. 3 (oral)", "Acute Tox. 4 (inhalation)"], RuleSet::EuUk);
    assert!(inhaled.contains(&"P301+P310") && inhaled.contains(&"P304+P340"));
}

/// App. C.2.4.10: a call for help stands with its `IF`, and `Rinse mouth` with `IF SWALLOWED`, whatever two hazards meet.
#[test]
fn rinse_mouth_never_stands_without_if_swallowed() {
    let eye = codes(&["Eye Dam. 1", "Acute Tox. 4 (oral)"], RuleSet::UnitedStates);
    assert_eq!(eye[..4], ["P301+P310", "P305+P351+P338", "P310", "P280"]);
    for hazard in Hazard::all() {
        for other in Hazard::all() {
            for rules in [RuleSet::UnitedStates, RuleSet::EuUk] {
                let both = codes(&[&hazard.to_string(), &other.to_string()], rules);
                let swallowed = both.iter().any(|code| code.starts_with("P301"));
                assert!(swallowed || !both.contains(&"P330"), "{hazard}, {other}: {both:?}");
            }
        }
    }
}

#[test]
fn the_stricter_of_two_is_kept() {
    let codes = codes(&["STOT RE 2", "STOT SE 3 (respiratory)"], RuleSet::UnitedStates);
    assert!(codes.contains(&"P260") && !codes.contains(&"P261"));
}
