//! Every word a document or the terminal shows, from one file a language; sentences are filled in by minijinja.

use std::collections::BTreeMap;

use minijinja::syntax::SyntaxConfig;
use minijinja::{Environment, UndefinedBehavior, Value};

use crate::yaml;

const ENGLISH: &str = include_str!("../../templates/lang/en.yaml");
const PLAN_TEXT: &str = include_str!("../../templates/terminal/plan.txt");

/// A language file that does not hold what the program asks of it: always our own fault.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WordingError {
    /// The file could not be read.
    #[error("the language file is broken: {0}")]
    File(String),
    /// A key is not in it.
    #[error("the language file has no `{0}`")]
    Missing(String),
    /// A sentence could not be filled in.
    #[error("`{key}` cannot be filled in: {why}")]
    Sentence {
        /// Its key.
        key: String,
        /// What minijinja says.
        why: String,
    },
}

/// The words of one language.
#[derive(Debug)]
pub struct Words {
    /// The language's tag, such as `en`.
    pub language: &'static str,
    texts: BTreeMap<String, String>,
    engine: Environment<'static>,
}

impl Words {
    /// English.
    ///
    /// # Errors
    /// [`WordingError::File`] if the file compiled into the program is not a map of texts.
    pub fn english() -> Result<Words, WordingError> {
        let texts = yaml::flat_texts(ENGLISH)
            .map_err(WordingError::File)?
            .into_iter()
            .collect();
        let mut engine = Environment::new();
        engine.set_undefined_behavior(UndefinedBehavior::Strict);
        // Pages take text as data and the terminal shows it as it is: nothing to escape.
        engine.set_auto_escape_callback(|_| minijinja::AutoEscape::None);
        let syntax = SyntaxConfig::builder().trim_blocks(true).lstrip_blocks(true).build();
        engine.set_syntax(syntax.map_err(|e| WordingError::File(e.to_string()))?);
        Ok(Words {
            language: "en",
            texts,
            engine,
        })
    }

    /// A word or caption.
    ///
    /// # Errors
    /// [`WordingError::Missing`] if the language has no such key.
    pub fn word(&self, key: &str) -> Result<&str, WordingError> {
        self.texts
            .get(key)
            .map(String::as_str)
            .ok_or_else(|| WordingError::Missing(key.to_owned()))
    }

    /// A sentence with its blanks filled in.
    ///
    /// # Errors
    /// [`WordingError`] if the language has no such key, or the sentence asks for something that is not in `blanks`.
    pub fn say(&self, key: &str, blanks: impl Into<Value>) -> Result<String, WordingError> {
        let sentence = self.word(key)?;
        self.engine
            .render_str(sentence, blanks)
            .map_err(|e| WordingError::Sentence {
                key: key.to_owned(),
                why: format!("{e:#}"),
            })
    }

    /// All captions under a prefix, by the rest of their key.
    pub fn group(&self, prefix: &str) -> BTreeMap<String, String> {
        let start = format!("{prefix}.");
        let inside = self
            .texts
            .range(start.clone()..)
            .take_while(|(key, _)| key.starts_with(&start));
        inside
            .map(|(key, text)| (key[start.len()..].to_owned(), text.clone()))
            .collect()
    }

    /// The plan as the terminal shows it.
    ///
    /// # Errors
    /// [`WordingError::Sentence`] if the template asks for something that is not in `view`.
    pub fn plan_text(&self, view: impl Into<Value>) -> Result<String, WordingError> {
        self.engine
            .render_named_str("plan.txt", PLAN_TEXT, view)
            .map_err(|e| WordingError::Sentence {
                key: "terminal/plan.txt".to_owned(),
                why: format!("{e:#}"),
            })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_there_is_an_error_and_not_blank_paper() {
        let words = Words::english().unwrap();
        assert_eq!(
            words.word("no.such.key"),
            Err(WordingError::Missing("no.such.key".into()))
        );
        assert!(matches!(
            words.say("container", minijinja::context! {}),
            Err(WordingError::Sentence { .. })
        ));
    }
}
