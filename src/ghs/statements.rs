//! The words of hazard and precautionary statements, by code and language: `templates/ghs/statements.csv`.
//!
//! The table holds the text of Regulation (EC) 1272/2008 and, where the wording of the United States differs, that of 29 CFR 1910.1200
//! Appendix C; and beside a text that leaves blanks and choices, what is printed. The United States ask for English only; Spanish and French
//! stand beside it in the EU's words, under either rule set.

use std::sync::LazyLock;

use serde::Deserialize;
use thiserror::Error;

use crate::quantity::built_in;

/// A language of the statements, by its tag.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Language(&'static str);

impl Language {
    pub const ENGLISH: Language = Language("en");
    pub const SPANISH: Language = Language("es");
    pub const FRENCH: Language = Language("fr");

    /// Every language that has all statements.
    pub const ALL: [Language; 3] = [Language::ENGLISH, Language::SPANISH, Language::FRENCH];

    pub fn tag(self) -> &'static str {
        self.0
    }

    pub fn from_tag(tag: &str) -> Option<Language> {
        Language::ALL.into_iter().find(|language| language.tag() == tag)
    }
}

/// Protective equipment that P280 names.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Gear {
    Gloves,
    Clothing,
    Eyes,
    Face,
}

impl Gear {
    /// Each with the code of its word in the table.
    const ALL: [(Gear, &'static str); 4] =
        [(Gear::Gloves, "gloves"), (Gear::Clothing, "clothing"), (Gear::Eyes, "eyes"), (Gear::Face, "face")];
}

/// What is put into the statements that ask for it.
#[derive(Clone, Debug, Default)]
pub struct Slots {
    /// P280: the equipment the safety data sheet or the method asks for. Nothing chosen means all four.
    pub gear: Vec<Gear>,
    /// EUH208: the sensitisers by name.
    pub sensitisers: Vec<String>,
}

/// Why a statement cannot be printed.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum StatementError {
    #[error("no text of {0} is known in `{1}`")]
    Missing(String, &'static str),
    #[error("{0} has a blank that must be filled first: {1}")]
    Unfilled(String, &'static str),
}

#[derive(Deserialize)]
struct Row {
    code: String,
    lang: String,
    text: String,
    /// What is printed in its place; empty where the text itself is.
    printed: String,
}

static TABLE: LazyLock<Vec<Row>> = LazyLock::new(|| built_in(include_str!("../../templates/ghs/statements.csv")));

/// What the table has to print.
fn find(code: &str, lang: &str) -> Option<&'static str> {
    let row = TABLE.iter().find(|row| row.code == code && row.lang == lang)?;
    Some(if row.printed.is_empty() { &row.text } else { &row.printed })
}

/// The statement as it is printed, in the first of these tags of English (such as `en-US`) that has it before the common one.
///
/// # Errors
/// If there is no text, or EUH208 is given no name.
pub fn text(code: &str, language: Language, spelling: &[&str], slots: &Slots) -> Result<String, StatementError> {
    let missing = || StatementError::Missing(code.to_owned(), language.tag());
    let spelling = if language == Language::ENGLISH { spelling } else { &[] };
    let own = spelling.iter().find_map(|tag| find(code, tag));
    let text = own.or_else(|| find(code, language.tag())).ok_or_else(missing)?;
    let filled = if text.contains("{names}") {
        if slots.sensitisers.is_empty() {
            return Err(StatementError::Unfilled(code.to_owned(), text));
        }
        let names: Vec<&str> = slots.sensitisers.iter().map(String::as_str).collect();
        text.replace("{names}", &list(&names, language).ok_or_else(missing)?)
    } else if text.contains("{gear}") {
        let worn = Gear::ALL.into_iter().filter(|(gear, _)| slots.gear.is_empty() || slots.gear.contains(gear));
        let words: Option<Vec<&str>> = worn.map(|(_, code)| find(code, language.tag())).collect();
        text.replace("{gear}", &words.and_then(|words| list(&words, language)).ok_or_else(missing)?)
    } else {
        text.to_owned()
    };
    Ok(filled)
}

/// `a`, `a and b`, `a, b and c`.
fn list(words: &[&str], language: Language) -> Option<String> {
    let and = find("and", language.tag())?;
    Some(match words {
        [] => String::new(),
        [only] => (*only).to_owned(),
        [first @ .., last] => format!("{} {and} {last}", first.join(", ")),
    })
}

#[cfg(test)]
mod tests {
    use super::super::Hazard;
    use super::*;

    /// Every code once in every language, and nothing printed with a blank, a choice or a bracket left.
    #[test]
    fn every_statement_can_be_printed_in_every_language() {
        let slots = Slots { sensitisers: vec!["isothiazolinone".to_owned()], ..Slots::default() };
        for (place, row) in TABLE.iter().enumerate() {
            let twice = TABLE[..place].iter().any(|other| (&other.code, &other.lang) == (&row.code, &row.lang));
            assert!(
                !twice && (["en-US", "en-CA"].contains(&row.lang.as_str()) || Language::from_tag(&row.lang).is_some()),
                "{}",
                row.code
            );
            let statement = row.code.contains(char::is_numeric);
            for spelling in [&["en-CA", "en-US"][..], &["en-US"], &[]] {
                for language in Language::ALL {
                    let text = text(&row.code, language, spelling, &slots).unwrap();
                    assert!(!text.contains(['<', '>', '…', '[', ']', '/', '{', '\u{13a}']), "{}: {text}", row.code);
                    assert!(!text.contains("  ") && !text.contains(" ."), "{} {language:?}: {text}", row.code);
                    assert_eq!(text.ends_with(['.', ')']), statement, "{} {language:?}: {text}", row.code);
                }
            }
        }
        for hazard in Hazard::all() {
            for code in hazard.precautions().chain(hazard.statement()) {
                assert!(find(code, "en").is_some(), "{hazard}: {code}");
            }
        }
    }

    #[test]
    fn choices_are_taken() {
        let slots = Slots {
            gear: vec![Gear::Eyes, Gear::Gloves, Gear::Eyes],
            sensitisers: vec!["A/C".to_owned(), "B".to_owned()],
        };
        let with = |code, language| text(code, language, &[], &slots).unwrap();
        assert_eq!(with("P280", Language::ENGLISH), "Wear protective gloves and eye protection.");
        assert_eq!(with("P280", Language::SPANISH), "Llevar guantes de protección y gafas de protección.");
        assert_eq!(with("EUH208", Language::ENGLISH), "Contains A/C and B. May produce an allergic reaction.");
        let unnamed = text("EUH208", Language::FRENCH, &[], &Slots::default());
        assert!(matches!(unnamed, Err(StatementError::Unfilled(..))));
        let unknown = text("H999", Language::FRENCH, &[], &slots);
        assert!(matches!(unknown, Err(StatementError::Missing(..))));
    }

    /// 29 CFR 1910.1200 App. C spells vapor and oxidizer; the rest is EUR-Lex, consolidated text of 2025-09-01.
    #[test]
    fn words_are_those_of_the_rules() {
        const EU: &[&str] = &[];
        const US: &[&str] = &["en-US"];
        const CANADA: &[&str] = &["en-CA", "en-US"];
        let [en, es, fr] = Language::ALL;
        for (code, language, spelling, expected) in [
            ("H225", en, US, "Highly flammable liquid and vapor."),
            ("H225", en, EU, "Highly flammable liquid and vapour."),
            ("H225", en, CANADA, "Highly flammable liquid and vapour."),
            ("H272", en, CANADA, "May intensify fire; oxidizer."),
            ("H272", en, US, "May intensify fire; oxidizer."),
            ("H272", en, EU, "May intensify fire; oxidiser."),
            ("H314", es, EU, "Provoca quemaduras graves en la piel y lesiones oculares graves."),
            ("H314", fr, EU, "Provoque de graves brûlures de la peau et de graves lésions des yeux."),
            ("H373", en, EU, "May cause damage to organs through prolonged or repeated exposure."),
            ("H360", es, EU, "Puede perjudicar la fertilidad o dañar al feto."),
        ] {
            assert_eq!(text(code, language, spelling, &Slots::default()).unwrap(), expected);
        }
    }
}
