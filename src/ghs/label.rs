//! The elements of a label: statements, signal word and pictograms, after the rules of precedence.

use serde::Serialize;
use thiserror::Error;

use super::RuleSet;
use super::class::{Category, Class, Hazard};
use super::element::{Pictogram, Signal};
use super::precaution::{Precaution, select};
use super::statements;

/// What the label carries. The words of the statements come from [`statements::text`].
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LabelElements {
    /// Whose rules.
    pub rules: RuleSet,
    /// The signal word, if any hazard has one.
    pub signal: Option<Signal>,
    /// Each once, in label order.
    pub pictograms: Vec<Pictogram>,
    /// The hazard statements' codes, the worst first.
    pub hazard_statements: Vec<&'static str>,
    /// The precautionary statements, the most urgent first.
    pub precautions: Vec<Precaution>,
}

/// Why a label cannot be made.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[allow(missing_docs)] // Each message names its fields.
pub enum LabelError {
    #[error("`{hazard}` needs {code}, of which no text is known")]
    MissingStatement { hazard: Hazard, code: &'static str },
}

/// The elements for these hazards, in any order.
///
/// Hazards to the aquatic environment are outside 29 CFR 1910.1200, but where a safety data sheet states them, the United States label
/// shows them all the same, pictogram included: never less than the sheet.
///
/// # Errors
/// If a hazard's statement has no text.
pub fn label(hazards: &[Hazard], rules: RuleSet) -> Result<LabelElements, LabelError> {
    let hazards = worst_of_each(hazards);
    for &hazard in &hazards {
        if let Some(code) = hazard.statement()
            && !statements::exists(code)
        {
            return Err(LabelError::MissingStatement { hazard, code });
        }
    }
    Ok(LabelElements {
        rules,
        signal: hazards.iter().filter_map(|hazard| hazard.signal()).max(),
        pictograms: pictograms(&hazards, rules),
        hazard_statements: hazard_statements(&hazards),
        precautions: select(&hazards, rules),
    })
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

fn is_acute(hazard: Hazard) -> bool {
    matches!(hazard.class(), Class::AcuteOral | Class::AcuteDermal) || hazard.class().is_acute_inhalation()
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
        let for_skull = skull && (rules == RuleSet::EuUk || is_acute(hazard));
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
    use super::*;

    fn of(hazards: &[&str], rules: RuleSet) -> LabelElements {
        let hazards: Vec<Hazard> = hazards.iter().map(|hazard| hazard.parse().unwrap()).collect();
        label(&hazards, rules).unwrap()
    }

    fn shown(hazards: &[&str], rules: RuleSet) -> Vec<&'static str> {
        of(hazards, rules).pictograms.into_iter().map(Pictogram::code).collect()
    }

    /// 29 CFR 1910.1200 App. C.2.1.2 against CLP Article 26(1)(b): beside a skull the exclamation mark for H335 stays in the United
    /// States and goes in the EU.
    #[test]
    fn the_skull_differs_between_the_rule_sets() {
        let hazards = ["Acute Tox. 3 (oral)", "STOT SE 3 (respiratory)"];
        assert_eq!(shown(&hazards, RuleSet::UnitedStates), ["GHS06", "GHS07"]);
        assert_eq!(shown(&hazards, RuleSet::EuUk), ["GHS06"]);
        let acute = ["Acute Tox. 3 (oral)", "Acute Tox. 4 (dermal)"];
        assert_eq!(shown(&acute, RuleSet::UnitedStates), ["GHS06"]);
    }

    /// App. C.2.1.3, C.2.1.4; CLP Article 26(1)(c), (d).
    #[test]
    fn corrosion_and_respiratory_sensitisation_take_precedence() {
        for rules in [RuleSet::UnitedStates, RuleSet::EuUk] {
            assert_eq!(shown(&["Eye Dam. 1", "Skin Irrit. 2"], rules), ["GHS05"]);
            assert_eq!(shown(&["Eye Dam. 1", "Skin Sens. 1"], rules), ["GHS05", "GHS07"]);
            assert_eq!(shown(&["Eye Dam. 1", "Acute Tox. 4 (oral)"], rules), ["GHS05", "GHS07"]);
            assert_eq!(shown(&["Resp. Sens. 1", "Skin Sens. 1", "Eye Irrit. 2"], rules), ["GHS08"]);
            // Another health hazard does not do it.
            assert_eq!(shown(&["STOT RE 2", "Skin Sens. 1"], rules), ["GHS08", "GHS07"]);
            assert_eq!(shown(&["Resp. Sens. 1", "STOT SE 3 (respiratory)"], rules), ["GHS08", "GHS07"]);
        }
    }

    /// Article 26(1)(a), (e) let a flame beside the exploding bomb and a gas cylinder beside flame or skull go; they are kept. Each
    /// pictogram stands once (App. C.2.3.4).
    #[test]
    fn what_may_go_is_kept_and_none_stands_twice() {
        for rules in [RuleSet::UnitedStates, RuleSet::EuUk] {
            assert_eq!(shown(&["Org. Perox. A", "Flam. Liq. 2"], rules), ["GHS01", "GHS02"]);
            assert_eq!(shown(&["Flam. Liq. 2", "Press. Gas"], rules), ["GHS02", "GHS04"]);
            assert_eq!(shown(&["Flam. Liq. 2", "Org. Perox. D", "Flam. Sol. 1"], rules), ["GHS02"]);
            assert_eq!(shown(&["Acute Tox. 3 (oral)", "Acute Tox. 2 (dermal)"], rules), ["GHS06"]);
        }
    }

    /// UN GHS 1.4.10.5.3.3.
    #[test]
    fn what_is_said_already_is_left_out() {
        let hazards = ["Skin Corr. 1B", "Eye Dam. 1", "Aquatic Acute 1", "Aquatic Chronic 1"];
        assert_eq!(of(&hazards, RuleSet::EuUk).hazard_statements, ["H314", "H410"]);
        assert_eq!(of(&["Aquatic Acute 1", "Aquatic Chronic 2"], RuleSet::EuUk).hazard_statements, ["H400", "H411"]);
        assert_eq!(of(&["Aquatic Acute 2", "Aquatic Chronic 2"], RuleSet::EuUk).hazard_statements, ["H411"]);
        assert_eq!(of(&["Aquatic Acute 3", "Aquatic Chronic 3"], RuleSet::EuUk).hazard_statements, ["H412"]);
    }

    /// App. C.2.1.1 and CLP Article 20(3): Danger leaves no Warning.
    #[test]
    fn the_signal_word_is_the_worst() {
        assert_eq!(of(&["Skin Irrit. 2", "Eye Dam. 1"], RuleSet::UnitedStates).signal, Some(Signal::Danger));
        assert_eq!(of(&["Skin Irrit. 2"], RuleSet::UnitedStates).signal, Some(Signal::Warning));
        assert_eq!(of(&["Aquatic Chronic 3"], RuleSet::EuUk).signal, None);
        assert_eq!(of(&[], RuleSet::EuUk).signal, None);
    }

    #[test]
    fn the_worst_of_each_class_counts() {
        let hazards =
            ["Acute Tox. 4 (inhalation, mist)", "Acute Tox. 3 (inhalation, vapour)", "Skin Irrit. 2", "Skin Corr. 1C"];
        assert_eq!(of(&hazards, RuleSet::EuUk).hazard_statements, ["H331", "H314"]);
    }

    #[test]
    fn order_and_repetition_do_not_matter() {
        let one = of(&["Skin Irrit. 2", "Eye Dam. 1", "Flam. Liq. 3"], RuleSet::EuUk);
        let other = of(&["Flam. Liq. 3", "Eye Dam. 1", "Skin Irrit. 2", "Eye Dam. 1"], RuleSet::EuUk);
        assert_eq!(one, other);
    }

    /// Every hazard by itself makes a label, in either rule set.
    #[test]
    fn every_hazard_has_a_label() {
        for hazard in Hazard::all() {
            for rules in [RuleSet::UnitedStates, RuleSet::EuUk] {
                let elements = label(&[hazard], rules).unwrap();
                assert_eq!(elements.signal, hazard.signal());
                assert_eq!(elements.pictograms, hazard.pictograms(), "{hazard}");
            }
        }
    }
}
