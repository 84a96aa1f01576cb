//! The elements of a label: statements, signal word and pictograms, after the rules of precedence.

use super::RuleSet;
use super::hazard::{Category, Class, Hazard, Pictogram, Signal};
use super::precaution::{Precaution, select};

/// What the label carries. The words of the statements come from [`super::text`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LabelElements {
    /// The signal word, if any hazard has one.
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
    use super::*;

    const BOTH: [RuleSet; 2] = [RuleSet::UnitedStates, RuleSet::EuUk];

    fn of(hazards: &[&str], rules: RuleSet) -> LabelElements {
        let hazards: Vec<Hazard> = hazards.iter().map(|hazard| hazard.parse().unwrap()).collect();
        label(&hazards, rules)
    }

    /// 29 CFR 1910.1200 App. C.2.1.2 to C.2.1.4; CLP Article 26(1).
    #[test]
    fn pictograms_give_way_to_others() {
        let [us, eu] = BOTH.map(|rules| vec![rules]);
        for (hazards, rules, expected) in [
            // C.2.1.2, Article 26(1)(b): beside a skull the exclamation mark for H335 stays in the United States and goes in the EU.
            (&["Acute Tox. 3 (oral)", "STOT SE 3 (respiratory)"][..], &us, "GHS06 GHS07"),
            (&["Acute Tox. 3 (oral)", "STOT SE 3 (respiratory)"], &eu, "GHS06"),
            (&["Acute Tox. 3 (oral)", "Acute Tox. 4 (dermal)"], &us, "GHS06"),
            // C.2.1.3, C.2.1.4; Article 26(1)(c), (d).
            (&["Eye Dam. 1", "Skin Irrit. 2"], &BOTH.to_vec(), "GHS05"),
            (&["Eye Dam. 1", "Skin Sens. 1"], &BOTH.to_vec(), "GHS05 GHS07"),
            (&["Eye Dam. 1", "Acute Tox. 4 (oral)"], &BOTH.to_vec(), "GHS05 GHS07"),
            (&["Resp. Sens. 1", "Skin Sens. 1", "Eye Irrit. 2"], &BOTH.to_vec(), "GHS08"),
            // Another health hazard does not do it.
            (&["STOT RE 2", "Skin Sens. 1"], &BOTH.to_vec(), "GHS08 GHS07"),
            (&["Resp. Sens. 1", "STOT SE 3 (respiratory)"], &BOTH.to_vec(), "GHS08 GHS07"),
            // Article 26(1)(a), (e) let a flame beside the exploding bomb and a gas cylinder beside flame or skull go; they are kept.
            (&["Org. Perox. A", "Flam. Liq. 2"], &BOTH.to_vec(), "GHS01 GHS02"),
            (&["Flam. Liq. 2", "Press. Gas"], &BOTH.to_vec(), "GHS02 GHS04"),
            // C.2.3.4: each stands once.
            (&["Flam. Liq. 2", "Org. Perox. D", "Flam. Sol. 1"], &BOTH.to_vec(), "GHS02"),
            (&["Acute Tox. 3 (oral)", "Acute Tox. 2 (dermal)"], &BOTH.to_vec(), "GHS06"),
        ] {
            for &rules in rules {
                let expected: Vec<Pictogram> = expected.split(' ').map(|code| code.parse().unwrap()).collect();
                assert_eq!(of(hazards, rules).pictograms, expected, "{hazards:?}, {rules}");
            }
        }
    }

    /// UN GHS 1.4.10.5.3.3: what is said already is left out; CLP Article 26(2): the worst of each class counts.
    #[test]
    fn statements_stand_once_and_the_worst_first() {
        for (hazards, expected) in [
            (&["Skin Corr. 1B", "Eye Dam. 1", "Aquatic Acute 1", "Aquatic Chronic 1"][..], &["H314", "H410"][..]),
            (&["Aquatic Acute 1", "Aquatic Chronic 2"], &["H400", "H411"]),
            (&["Aquatic Acute 2", "Aquatic Chronic 2"], &["H411"]),
            (&["Aquatic Acute 3", "Aquatic Chronic 3"], &["H412"]),
            (
                &[
                    "Acute Tox. 4 (inhalation, mist)",
                    "Acute Tox. 3 (inhalation, vapour)",
                    "Skin Irrit. 2",
                    "Skin Corr. 1C",
                ],
                &["H331", "H314"],
            ),
        ] {
            assert_eq!(of(hazards, RuleSet::EuUk).hazard_statements, expected, "{hazards:?}");
        }
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
    fn order_and_repetition_do_not_matter() {
        let one = of(&["Skin Irrit. 2", "Eye Dam. 1", "Flam. Liq. 3"], RuleSet::EuUk);
        let other = of(&["Flam. Liq. 3", "Eye Dam. 1", "Skin Irrit. 2", "Eye Dam. 1"], RuleSet::EuUk);
        assert_eq!(one, other);
        for hazard in Hazard::all() {
            for rules in BOTH {
                let elements = label(&[hazard], rules);
                assert_eq!((elements.signal, elements.pictograms.as_slice()), (hazard.signal(), hazard.pictograms()));
            }
        }
    }
}
