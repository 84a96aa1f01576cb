//! The words of hazard and precautionary statements, by code and language.
//!
//! The table `templates/ghs/statements.csv` holds the text of Regulation (EC) 1272/2008 and, where the wording of the United States
//! differs, that of 29 CFR 1910.1200 Appendix C. The United States ask for English only; Spanish and French stand beside it in the
//! EU's words, under either rule set.

use std::fmt;
use std::sync::LazyLock;

use serde::Serialize;
use thiserror::Error;

use super::RuleSet;
use super::slots::Slots;

/// A language of the statements.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Language {
    /// English.
    English,
    /// Spanish.
    Spanish,
    /// French.
    French,
}

impl Language {
    /// All three.
    pub const ALL: [Language; 3] = [Language::English, Language::Spanish, Language::French];

    /// Its tag: `en`, `es`, `fr`.
    pub fn tag(self) -> &'static str {
        match self {
            Language::English => "en",
            Language::Spanish => "es",
            Language::French => "fr",
        }
    }

    /// From its tag.
    pub fn from_tag(tag: &str) -> Option<Language> {
        Language::ALL.into_iter().find(|language| language.tag() == tag)
    }
}

impl fmt::Display for Language {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.tag())
    }
}

/// Why a statement cannot be printed.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[allow(missing_docs)] // Each message names its fields.
pub enum StatementError {
    #[error("no text of {code} is known in `{language}`")]
    Missing { code: String, language: Language },
    #[error("{code} has a blank that must be filled first: {text}")]
    Unfilled { code: String, text: String },
}

/// One row of the table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    code: String,
    language: String,
    text: String,
    /// Where the text differs from its source, or that it was not verified and what it rests on; empty for most.
    pub note: String,
}

impl Row {
    /// Whether the text was compared with the published one.
    pub fn is_verified(&self) -> bool {
        !self.note.contains("not verified")
    }

    /// The text with its blanks unfilled.
    pub fn text(&self) -> &str {
        &self.text
    }
}

static TABLE: LazyLock<Vec<Row>> = LazyLock::new(|| read(include_str!("../../templates/ghs/statements.csv")));

/// Comment lines and the heading are skipped; a row that has not four fields is skipped too, and a test counts that none is.
fn read(table: &str) -> Vec<Row> {
    let lines = table.lines().filter(|line| !line.starts_with('#')).skip(1);
    lines
        .filter_map(|line| {
            let [code, language, text, note] = fields(line).try_into().ok()?;
            Some(Row { code, language, text, note })
        })
        .collect()
}

/// The fields of one line; a field in quotes may hold commas. No field of this table holds a quote or a line break.
fn fields(line: &str) -> Vec<String> {
    let mut fields = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => fields.push(String::new()),
            _ => {
                if let Some(field) = fields.last_mut() {
                    field.push(c);
                }
            }
        }
    }
    fields
}

/// The row for a code, the wording of the rule set before the common one.
pub fn row(code: &str, language: Language, rules: RuleSet) -> Option<&'static Row> {
    let find = |tag: &str| TABLE.iter().find(|row| row.code == code && row.language == tag);
    let own = match (language, rules) {
        (Language::English, RuleSet::UnitedStates) => find("en-US"),
        _ => None,
    };
    own.or_else(|| find(language.tag()))
}

/// Whether the code has a text in all three languages.
pub fn exists(code: &str) -> bool {
    Language::ALL.into_iter().all(|language| row(code, language, RuleSet::EuUk).is_some())
}

/// The statement as it is printed: every blank, choice and bracket resolved.
///
/// # Errors
/// If there is no text, or a blank is left that `slots` does not fill (P321 without a reference, EUH208 without a name).
pub fn text(code: &str, language: Language, rules: RuleSet, slots: &Slots) -> Result<String, StatementError> {
    let row = row(code, language, rules).ok_or_else(|| StatementError::Missing { code: code.to_owned(), language })?;
    // Looked for with the user's own words out of the way: those may hold a slash.
    let text = slots.with_plain_words().fill(&row.text, code, language);
    if text.contains(['<', '>', '…', '[', ']', '/']) {
        return Err(StatementError::Unfilled { code: code.to_owned(), text });
    }
    Ok(slots.fill(&row.text, code, language))
}

#[cfg(test)]
mod tests {
    use super::super::class::Hazard;
    use super::*;

    #[test]
    fn the_table_is_whole() {
        let table = include_str!("../../templates/ghs/statements.csv");
        let lines = table.lines().filter(|line| !line.starts_with('#') && !line.is_empty()).count() - 1;
        assert_eq!(TABLE.len(), lines, "a row has not four fields");
        for (place, row) in TABLE.iter().enumerate() {
            let twice = TABLE[..place].iter().any(|other| (&other.code, &other.language) == (&row.code, &row.language));
            assert!(!twice, "{} {}", row.code, row.language);
            assert!(["en", "es", "fr", "en-US"].contains(&row.language.as_str()));
            assert!(exists(&row.code), "{} is not in all languages", row.code);
            assert!(!row.text.contains('\u{13a}'), "{}: ĺ for Í", row.code);
        }
    }

    #[test]
    fn every_hazard_has_its_statement() {
        for hazard in Hazard::all() {
            if let Some(code) = hazard.statement() {
                assert!(exists(code), "{hazard}: {code}");
            }
        }
    }

    /// Whatever is printed has no blank, no choice and no bracket left.
    #[test]
    fn defaults_resolve_every_text() {
        let slots = Slots {
            treatment: Some("first aid".to_owned()),
            sensitisers: vec!["isothiazolinone".to_owned()],
            ..Slots::default()
        };
        for row in TABLE.iter() {
            for rules in [RuleSet::UnitedStates, RuleSet::EuUk] {
                for language in Language::ALL {
                    let text = text(&row.code, language, rules, &slots).unwrap();
                    assert!(!text.contains("  ") && !text.contains(" ."), "{} {language}: {text}", row.code);
                    assert!(text.ends_with(['.', ')']), "{} {language}: {text}", row.code);
                }
            }
        }
    }

    #[test]
    fn a_blank_left_open_is_an_error() {
        let slots = Slots::default();
        for code in ["P321", "EUH208"] {
            let left = text(code, Language::English, RuleSet::EuUk, &slots);
            assert!(matches!(left, Err(StatementError::Unfilled { .. })), "{code}: {left:?}");
        }
        assert!(matches!(text("H999", Language::French, RuleSet::EuUk, &slots), Err(StatementError::Missing { .. })));
    }

    /// 29 CFR 1910.1200 App. C spells vapor and oxidizer; Regulation (EC) 1272/2008 spells vapour and oxidiser.
    #[test]
    fn the_united_states_have_their_own_spelling() {
        let say = |code, rules| text(code, Language::English, rules, &Slots::default()).unwrap();
        assert_eq!(say("H225", RuleSet::UnitedStates), "Highly flammable liquid and vapor.");
        assert_eq!(say("H225", RuleSet::EuUk), "Highly flammable liquid and vapour.");
        assert_eq!(say("H272", RuleSet::UnitedStates), "May intensify fire; oxidizer.");
        assert_eq!(say("H272", RuleSet::EuUk), "May intensify fire; oxidiser.");
    }

    /// EUR-Lex consolidated text of 2025-09-01.
    #[test]
    fn words_are_those_of_the_regulation() {
        let say = |code, language| text(code, language, RuleSet::EuUk, &Slots::default()).unwrap();
        assert_eq!(say("H314", Language::Spanish), "Provoca quemaduras graves en la piel y lesiones oculares graves.");
        assert_eq!(
            say("H314", Language::French),
            "Provoque de graves brûlures de la peau et de graves lésions des yeux."
        );
        assert_eq!(
            say("H373", Language::English),
            "May cause damage to organs through prolonged or repeated exposure."
        );
        assert_eq!(say("H360", Language::Spanish), "Puede perjudicar la fertilidad o dañar al feto.");
    }
}
