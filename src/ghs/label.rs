//! The elements of a label: statements, signal word and pictograms, after the rules of precedence.

use super::RuleSet;
use super::hazard::{Category, Class, Hazard, Pictogram, Signal};
use super::precaution::{Precaution, select};

/// What the label carries. The words of the statements come from [`super::text`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LabelElements {
    pub signal: Option<Signal>,
    /// Each once, in label order.
    pub pictograms: Vec<Pictogram>,
    /// The hazard statements' codes, the worst first.
    pub hazard_statements: Vec<&'static str>,
    /// The precautionary statements, the most urgent first.
    pub precautions: Vec<Precaution>,
}

/// The elements for these hazards, in any order.
///
/// Hazards to the aquatic environment are outside 29 CFR 1910.1200, but where a safety data sheet states them, the United States label
/// shows them all the same, pictogram included: never less than the sheet.
pub fn label(hazards: &[Hazard], rules: RuleSet) -> LabelElements {
    let hazards = worst_of_each(hazards);
    LabelElements {
        signal: hazards.iter().filter_map(|hazard| hazard.signal()).max(),
        pictograms: pictograms(&hazards, rules),
        hazard_statements: hazard_statements(&hazards),
        precautions: select(&hazards, rules),
    }
}

/// Classes that stand for one another on a label.
fn group(hazard: Hazard) -> Class {
    if hazard.class().is_acute_inhalation() { Class::AcuteInhalation } else { hazard.class() }
}

/// The worst category of each class (CLP Article 26(2)); the forms of inhalation count as one.
fn worst_of_each(hazards: &[Hazard]) -> Vec<Hazard> {
    let mut all = hazards.to_vec();
    all.sort_by_key(|hazard| (group(*hazard), hazard.rank(), *hazard));
    all.dedup_by_key(|hazard| group(*hazard));
    all
}

/// The right-hand statement says nothing that the left-hand one does not (UN GHS 1.4.10.5.3.3; CLP Article 27).
const CONTAINS: [(&str, &str); 4] = [("H410", "H400"), ("H411", "H401"), ("H412", "H402"), ("H314", "H318")];

fn hazard_statements(hazards: &[Hazard]) -> Vec<&'static str> {
    let mut ordered = hazards.to_vec();
    // Danger before Warning before neither, and within that by class.
    ordered.sort_by_key(|hazard| (std::cmp::Reverse(hazard.signal()), *hazard));
    let all: Vec<&'static str> = ordered.iter().filter_map(|hazard| hazard.statement()).collect();
    let mut kept: Vec<&'static str> = Vec::new();
    for code in &all {
        let said = CONTAINS.iter().any(|(wider, narrower)| narrower == code && all.contains(wider));
        if !said && !kept.contains(code) {
            kept.push(code);
        }
    }
    kept
}

fn is_skin_or_eye_irritation(hazard: Hazard) -> bool {
    match hazard.class() {
        Class::Skin => hazard.category() == Category::Two,
        Class::Eye => hazard.category() != Category::One,
        _ => false,
    }
}

/// 29 CFR 1910.1200 App. C.2.1.2 to C.2.1.4 and CLP Article 26(1)(b) to (d). They differ in one thing: the skull makes the exclamation
/// mark go for acute toxicity only in the United States, and altogether in the EU. What Article 26 makes merely optional (flame beside
/// the exploding bomb, gas cylinder beside flame or skull) is kept.
fn pictograms(hazards: &[Hazard], rules: RuleSet) -> Vec<Pictogram> {
    let shown = |pictogram: Pictogram| hazards.iter().any(|hazard| hazard.pictograms().contains(&pictogram));
    let skull = shown(Pictogram::SkullAndCrossbones);
    let corrosion = shown(Pictogram::Corrosion);
    let respiratory = hazards.iter().any(|hazard| hazard.class() == Class::RespiratorySensitiser);
    let gives_way = |hazard: Hazard| {
        let irritation = is_skin_or_eye_irritation(hazard);
        let for_skull = skull && (rules == RuleSet::EuUk || hazard.class().is_acute());
        let for_lung = respiratory && (irritation || hazard.class() == Class::SkinSensitiser);
        for_skull || (corrosion && irritation) || for_lung
    };
    let mut all: Vec<Pictogram> = Vec::new();
    for &hazard in hazards {
        let kept = hazard.pictograms().iter().filter(|p| **p != Pictogram::ExclamationMark || !gives_way(hazard));
        all.extend(kept);
    }
    all.sort();
    all.dedup();
    all
}

#[cfg(test)]
mod tests {
    use serde::Deserialize;

    use super::*;
    use crate::quantity::built_in;

    const BOTH: [RuleSet; 2] = [RuleSet::UnitedStates, RuleSet::EuUk];

    #[derive(Deserialize)]
    struct Case {
        hazards: String,
        rules: String,
        signal: String,
        pictograms: String,
        statements: String,
        precautions: String,
    }

    fn compare(case: &Case, found: &LabelElements) {
        let all = |cell: &str| cell.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
        if !case.signal.is_empty() {
            let signal = found.signal.map_or("none".to_owned(), |signal| format!("{signal:?}").to_lowercase());
            assert_eq!(signal, case.signal, "{}", case.hazards);
        }
        if !case.pictograms.is_empty() {
            let expected: Vec<Pictogram> = case.pictograms.split(' ').filter_map(|code| code.parse().ok()).collect();
            assert_eq!(found.pictograms, expected, "{}", case.hazards);
        }
        if !case.statements.is_empty() {
            assert_eq!(found.hazard_statements, all(&case.statements), "{}", case.hazards);
        }
        for expected in all(&case.precautions) {
            let stands = found.precautions.iter().any(|precaution| precaution.code == expected.trim_start_matches('!'));
            assert_eq!(stands, !expected.starts_with('!'), "{}: {expected}", case.hazards);
        }
    }

    #[test]
    fn labels_carry_what_their_sources_ask_for() {
        for case in built_in::<Case>(include_str!("label_cases.csv")) {
            let hazards = case.hazards.split("; ").filter(|name| !name.is_empty()).map(|name| name.parse().unwrap());
            let hazards: Vec<Hazard> = hazards.collect();
            let name = |rules| if rules == RuleSet::EuUk { "eu" } else { "us" };
            for rules in BOTH.into_iter().filter(|rules| case.rules.is_empty() || case.rules == name(*rules)) {
                let found = label(&hazards, rules);
                compare(&case, &found);
                // Neither order nor repetition matters.
                let turned: Vec<Hazard> = hazards.iter().rev().chain(&hazards).copied().collect();
                assert_eq!(label(&turned, rules), found);
            }
        }
    }

    /// No pictogram or signal word is lost where nothing takes precedence.
    #[test]
    fn a_hazard_by_itself_keeps_all_it_has() {
        for hazard in Hazard::all() {
            for rules in BOTH {
                let elements = label(&[hazard], rules);
                assert_eq!((elements.signal, elements.pictograms.as_slice()), (hazard.signal(), hazard.pictograms()));
            }
        }
    }
}
