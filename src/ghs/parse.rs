//! Reading a hazard as a safety data sheet writes it: `Acute Tox. 3 (oral)`, `Skin Corr. 1B, H314`, `Aquatic Acute 1 (M=10)`, `H318`.

use std::str::FromStr;

use thiserror::Error;

use super::class::{Category, Class, Hazard};
use super::names::{FAMILIES, FILLERS, Family, category, qualifier};
use crate::quantity::Number;

/// A hazard with what may be written beside it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stated {
    /// The hazard.
    pub hazard: Hazard,
    /// The multiplying factor of an aquatic hazard, at least 1.
    pub m_factor: Option<Number>,
}

/// Why a hazard could not be read, and what would do.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[allow(missing_docs)] // Each message names its fields.
pub enum ParseHazardError {
    #[error("no hazard is written here; write one such as `Skin Corr. 1B`")]
    Empty,
    #[error("`{text}` is no hazard class known here; {}", hint(nearest.as_deref()))]
    UnknownClass { text: String, nearest: Option<String> },
    #[error("`{class}` needs a category: {}", choices.join(", "))]
    NeedsCategory { class: String, choices: Vec<String> },
    #[error("`{class}` has no category `{category}`; it has {}", choices.join(", "))]
    UnknownCategory { class: String, category: String, choices: Vec<String> },
    #[error("`{text}` does not say which: write {}", choices.join(" or "))]
    NeedsChoice { text: String, choices: Vec<String> },
    #[error("{code} alone does not decide the class and category: write {}", choices.join(" or "))]
    CodeUndecided { code: String, choices: Vec<String> },
    #[error("{code} is no hazard statement known here; write the class and category, such as `Skin Corr. 1B`")]
    UnknownCode { code: String },
    #[error("{code} is a supplemental statement, not a hazard class; leave it out of the hazards")]
    Supplemental { code: String },
    #[error("`{hazard}` carries {expected}, not {code}; one of the two is mistaken")]
    CodeDisagrees { hazard: String, code: String, expected: String },
    #[error("`{word}` means nothing in `{text}`")]
    UnexpectedWord { word: String, text: String },
    #[error("`{text}`: an M-factor is a number of at least 1, such as (M=10)")]
    BadMFactor { text: String },
    #[error("`{text}`: only an aquatic hazard of Category 1 has an M-factor")]
    MFactorOutOfPlace { text: String },
}

fn hint(nearest: Option<&str>) -> String {
    match nearest {
        Some(name) => format!("did you mean `{name}`?"),
        None => "write it as the safety data sheet does, such as `Skin Corr. 1B` or `Acute Tox. 4 (oral)`".to_owned(),
    }
}

fn is_code(word: &str) -> bool {
    let digits = word.strip_prefix("euh").or_else(|| word.strip_prefix('h')).unwrap_or("");
    digits.len() >= 3 && digits.bytes().take(3).all(|b| b.is_ascii_digit())
}

/// A code with its ending (`H360FD`, `H350i`) cut off: the class and category are the same.
fn base_code(word: &str) -> String {
    word.to_ascii_uppercase().chars().take(4).collect()
}

impl FromStr for Stated {
    type Err = ParseHazardError;

    fn from_str(text: &str) -> Result<Stated, ParseHazardError> {
        let (rest, m_factor) = split_m_factor(text)?;
        let hazard = parse_hazard(text, &rest)?;
        if m_factor.is_some() && !(hazard.class().is_environmental() && hazard.category() == Category::One) {
            return Err(ParseHazardError::MFactorOutOfPlace { text: text.trim().to_owned() });
        }
        Ok(Stated { hazard, m_factor })
    }
}

impl FromStr for Hazard {
    type Err = ParseHazardError;

    /// As [`Stated`], without an M-factor.
    fn from_str(text: &str) -> Result<Hazard, ParseHazardError> {
        let stated: Stated = text.parse()?;
        match stated.m_factor {
            None => Ok(stated.hazard),
            Some(_) => Err(ParseHazardError::MFactorOutOfPlace { text: text.trim().to_owned() }),
        }
    }
}

/// Takes `M=10`, `M = 10`, `M-factor 10` out of the text.
fn split_m_factor(text: &str) -> Result<(String, Option<Number>), ParseHazardError> {
    let bad = || ParseHazardError::BadMFactor { text: text.trim().to_owned() };
    let lower = text.to_lowercase();
    let starts = |at: usize| at == 0 || !lower.as_bytes()[at - 1].is_ascii_alphanumeric();
    let Some(at) = lower.match_indices('m').map(|(at, _)| at).find(|&at| {
        let after = lower[at + 1..].trim_start();
        starts(at) && (after.starts_with(['=', ':']) || after.starts_with("-factor") || after.starts_with("factor"))
    }) else {
        return Ok((lower, None));
    };
    let after = lower[at + 1..].trim_start_matches(|c: char| !c.is_ascii_digit() && c != '.');
    let end = after.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(after.len());
    let factor = crate::quantity::number(after[..end].trim_end_matches('.')).map_err(|_| bad())?;
    if factor < 1 {
        return Err(bad());
    }
    Ok((format!("{} {}", &lower[..at], &after[end..]), Some(factor)))
}

fn parse_hazard(text: &str, rest: &str) -> Result<Hazard, ParseHazardError> {
    let text = text.trim();
    let all = rest.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).map(str::to_owned);
    let (codes, words): (Vec<String>, Vec<String>) = all.partition(|word| is_code(word));
    if let Some(code) = codes.iter().find(|code| code.starts_with("euh")) {
        return Err(ParseHazardError::Supplemental { code: code.to_ascii_uppercase() });
    }
    if words.is_empty() {
        return match codes.as_slice() {
            [] => Err(ParseHazardError::Empty),
            [code] => by_code(&base_code(code)),
            _ => Err(ParseHazardError::UnexpectedWord { word: codes[1].to_uppercase(), text: text.to_owned() }),
        };
    }
    let Some((family, length)) = Family::at_start(&words) else {
        return Err(ParseHazardError::UnknownClass { text: text.to_owned(), nearest: nearest(&words) });
    };
    let mut found = None;
    let mut classes = family.classes.to_vec();
    for word in words[length..].iter().filter(|word| !FILLERS.contains(&word.as_str())) {
        if let Some(written) = category(word).filter(|_| found.is_none()) {
            found = Some(written);
        } else if let Some(narrow) = qualifier(word).filter(|narrow| narrow.iter().any(|c| family.classes.contains(c)))
        {
            classes.retain(|class| narrow.contains(class));
        } else if family.name == "Org. Perox." && word.len() > 1 && word.chars().all(|c| ('a'..='g').contains(&c)) {
            let choices = word.to_uppercase().chars().map(|letter| format!("`Org. Perox. {letter}`")).collect();
            return Err(ParseHazardError::NeedsChoice { text: text.to_owned(), choices });
        } else if found.is_none() && word.starts_with(|c: char| c.is_ascii_digit()) {
            return Err(unknown_category(family, word));
        } else {
            return Err(ParseHazardError::UnexpectedWord { word: word.clone(), text: text.to_owned() });
        }
    }
    let choices = family.categories();
    let written = match (found, choices.as_slice()) {
        (Some(written), _) => written,
        // One nameless category: there is nothing to write.
        (None, [Category::Only]) => Category::Only,
        (None, _) => {
            return Err(ParseHazardError::NeedsCategory { class: family.name.to_owned(), choices: family.choices() });
        }
    };
    if !choices.contains(&written) {
        return Err(unknown_category(family, written.name()));
    }
    let mut fitting: Vec<Hazard> = classes.iter().filter_map(|&class| Hazard::new(class, written)).collect();
    if let Some(code) = codes.first().map(|code| base_code(code)) {
        let kept: Vec<Hazard> =
            fitting.iter().copied().filter(|hazard| hazard.statement() == Some(code.as_str())).collect();
        if kept.is_empty() {
            let expected = fitting.iter().filter_map(|hazard| hazard.statement()).collect::<Vec<_>>().join(" or ");
            return Err(ParseHazardError::CodeDisagrees {
                hazard: format!("{} {}", family.name, written.name()).trim_end().to_owned(),
                code,
                expected,
            });
        }
        fitting = kept;
    }
    // Several left: `(inhalation)` leaves the unspecified form among the four; nothing else may be left open.
    match fitting.as_slice() {
        [only] => Ok(*only),
        [] => Err(ParseHazardError::UnexpectedWord { word: words[words.len() - 1].clone(), text: text.to_owned() }),
        several if several.iter().all(|hazard| hazard.class().is_acute_inhalation()) => Ok(several[0]),
        _ => {
            let mut choices = Vec::new();
            let general = [Class::AcuteGas, Class::AcuteVapour, Class::AcuteMist];
            for hazard in fitting.iter().filter(|hazard| !general.contains(&hazard.class())) {
                choices.push(format!("`{hazard}`"));
            }
            Err(ParseHazardError::NeedsChoice { text: text.to_owned(), choices })
        }
    }
}

fn unknown_category(family: &Family, written: &str) -> ParseHazardError {
    ParseHazardError::UnknownCategory {
        class: family.name.to_owned(),
        category: written.to_uppercase(),
        choices: family.choices(),
    }
}

/// The hazard a statement code stands for, where it stands for one.
fn by_code(code: &str) -> Result<Hazard, ParseHazardError> {
    let carried: Vec<Hazard> = Hazard::all().filter(|hazard| hazard.statement() == Some(code)).collect();
    let Some(&first) = carried.first() else {
        return Err(ParseHazardError::UnknownCode { code: code.to_owned() });
    };
    // A code of one class whose categories share signal and pictogram is its plain, undivided category: H314 is Skin Corr. 1. Acute
    // toxicity is held back (H300 is Category 1 or 2, with different point estimates), and so are H240 and H241, which
    // self-reactive mixtures carry too.
    let plain = carried.iter().all(|hazard| hazard.class() == first.class() && hazard.rank() >= first.rank());
    let same_effect = carried.iter().all(|h| h.signal() == first.signal() && h.pictograms() == first.pictograms());
    let divided = matches!(first.category(), Category::One | Category::Two) && first.class() > Class::MetalCorrosion;
    let inhaled = carried.iter().all(|hazard| hazard.class().is_acute_inhalation());
    let one_rank = carried.iter().all(|hazard| hazard.category() == first.category());
    let shared_elsewhere = matches!(code, "H240" | "H241");
    let acute = matches!(first.class(), Class::AcuteOral | Class::AcuteDermal) || inhaled;
    let decided = carried.len() == 1 || (plain && same_effect && divided && !acute) || (inhaled && one_rank);
    if decided && !shared_elsewhere {
        return Ok(first);
    }
    let shown = carried
        .iter()
        .filter(|hazard| !matches!(hazard.class(), Class::AcuteGas | Class::AcuteVapour | Class::AcuteMist));
    let mut choices: Vec<String> = shown.map(|hazard| format!("`{hazard}`")).collect();
    if code.starts_with("H24") {
        choices.push("the class of a self-reactive mixture, which is not known here".to_owned());
    }
    Err(ParseHazardError::CodeUndecided { code: code.to_owned(), choices })
}

/// The printed name nearest to what was written, if it is near at all.
fn nearest(words: &[String]) -> Option<String> {
    let names: Vec<&str> = words.iter().map(String::as_str).filter(|word| category(word).is_none()).collect();
    let written = names.join(" ");
    FAMILIES
        .iter()
        .flat_map(|family| family.words.iter().map(move |name| (family.name, *name)))
        .map(|(printed, name)| (printed, strsim::jaro_winkler(name, &written)))
        .filter(|(_, score)| *score > 0.8)
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(name, _)| name.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> String {
        match text.parse::<Stated>() {
            Ok(Stated { hazard, m_factor: Some(m) }) => format!("{hazard} M={m}"),
            Ok(Stated { hazard, .. }) => hazard.to_string(),
            Err(error) => format!("error: {error}"),
        }
    }

    #[test]
    fn canonical_form_reads_back() {
        for hazard in Hazard::all() {
            assert_eq!(hazard.to_string().parse::<Hazard>(), Ok(hazard));
        }
    }

    #[test]
    fn what_data_sheets_write() {
        for (written, expected) in [
            ("acute tox 3 ORAL", "Acute Tox. 3 (oral)"),
            ("Acute Tox. 4* H302", "Acute Tox. 4 (oral)"),
            ("Acute Tox. 4, H332", "Acute Tox. 4 (inhalation)"),
            ("Acute toxicity (inhalation - vapors), Category 3", "Acute Tox. 3 (inhalation, vapour)"),
            ("Acute Tox. 2 (inhalation: dust/mist)", "Acute Tox. 2 (inhalation, mist)"),
            ("Acute Tox. 4 (mist) H332", "Acute Tox. 4 (inhalation, mist)"),
            ("Skin Corr. 1B, H314", "Skin Corr. 1B"),
            ("Skin corrosion, category 1", "Skin Corr. 1"),
            ("Skin Irrit. 2 (H315)", "Skin Irrit. 2"),
            ("Serious eye damage Cat. 1", "Eye Dam. 1"),
            ("Eye Irrit. 2A", "Eye Irrit. 2A"),
            ("Resp. Sens. 1A", "Resp. Sens. 1A"),
            ("Muta. 1B", "Muta. 1B"),
            ("Repr. 1B H360FD", "Repr. 1B"),
            ("STOT SE 3; H335", "STOT SE 3 (respiratory)"),
            ("STOT SE 3 (narcotic effects)", "STOT SE 3 (narcotic)"),
            ("STOT SE 3 (respiratory tract irritation)", "STOT SE 3 (respiratory)"),
            ("Aquatic Acute 1 (M=10)", "Aquatic Acute 1 M=10"),
            ("Aquatic Chronic 1, H410, M-factor = 100", "Aquatic Chronic 1 M=100"),
            ("Org. Perox. D", "Org. Perox. D"),
            ("Organic peroxide, type F", "Org. Perox. F"),
            ("Press. Gas (Liq.)", "Press. Gas"),
            ("Flammable liquids, Category 3", "Flam. Liq. 3"),
            ("H290", "Met. Corr. 1"),
            ("H314", "Skin Corr. 1"),
            ("H318", "Eye Dam. 1"),
            ("H319", "Eye Irrit. 2"),
            ("H320", "Eye Irrit. 2B"),
            ("H301", "Acute Tox. 3 (oral)"),
            ("h332", "Acute Tox. 4 (inhalation)"),
            ("H335", "STOT SE 3 (respiratory)"),
            ("H317", "Skin Sens. 1"),
            ("H350", "Carc. 1"),
            ("H226", "Flam. Liq. 3"),
            ("H411", "Aquatic Chronic 2"),
        ] {
            assert_eq!(read(written), expected, "{written}");
        }
    }

    #[test]
    fn what_is_undecided_names_the_choices() {
        for (written, parts) in [
            ("H272", &["Ox. Liq. 2", "Ox. Liq. 3", "Ox. Sol. 2"][..]),
            ("H242", &["Org. Perox. C", "Org. Perox. F", "self-reactive"]),
            ("H240", &["Org. Perox. A", "self-reactive"]),
            ("H271", &["Ox. Liq. 1", "Ox. Sol. 1"]),
            ("H228", &["Flam. Sol. 1", "Flam. Sol. 2"]),
            ("H300", &["Acute Tox. 1 (oral)", "Acute Tox. 2 (oral)"]),
            ("H330", &["Acute Tox. 1 (inhalation)", "Acute Tox. 2 (inhalation)"]),
            ("Org. Perox. CD", &["which", "Org. Perox. C", "Org. Perox. D"]),
            ("STOT SE 3", &["which", "(respiratory)", "(narcotic)"]),
            ("Acute Tox. 3", &["which", "(oral)", "(dermal)", "(inhalation)"]),
            ("Skin Corr.", &["category", "1, 1A, 1B, 1C"]),
            ("Skin Corr. 2", &["no category `2`", "1C"]),
            ("Asp. Tox. 2", &["no category `2`"]),
            ("Eye Dam. 1, H319", &["H318, not H319"]),
            ("Skin Cor. 1B", &["did you mean `Skin Corr.`?"]),
            ("Aquatik chronic 1", &["did you mean `Aquatic Chronic`?"]),
            ("Skin Corr. 1B (oral)", &["`oral` means nothing"]),
            ("Aquatic Acute 1 (M=0)", &["M-factor"]),
            ("Skin Corr. 1 (M=10)", &["only an aquatic hazard"]),
            ("EUH031", &["supplemental"]),
            ("H999", &["H999"]),
            ("", &["no hazard is written"]),
            ("Skin Corr. 1B 1A", &["`1a` means nothing"]),
            ("Skin Corr. 5", &["no category `5`"]),
        ] {
            let said = read(written);
            assert!(said.starts_with("error: "), "{written}: {said}");
            for part in parts {
                assert!(said.contains(part), "{written}: {said} lacks {part}");
            }
        }
    }

    proptest::proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in "[ -~éµ…]{0,40}|(Acute|Skin|H3|M=|STOT|1A| |\\(|2){0,9}") {
            if let Ok(stated) = text.parse::<Stated>() {
                proptest::prop_assert_eq!(stated.hazard.to_string().parse::<Hazard>(), Ok(stated.hazard));
            }
        }
    }
}
