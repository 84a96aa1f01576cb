//! Every word a document or the terminal shows, from one file a language; sentences are filled in by minijinja.

mod blanks;
mod check;
mod protected;

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use minijinja::syntax::SyntaxConfig;
use minijinja::{Environment, UndefinedBehavior, Value};

use crate::ghs::Language;
use crate::quantity::Notation;
use crate::report::Report;
use crate::yaml::Source;

const PLAN_TEXT: &str = include_str!("../../templates/terminal/plan.txt");

/// The languages built in: tag and file.
const BUILT_IN: &[(&str, &str)] = &[
    ("en", include_str!("../../templates/lang/en.yaml")),
    ("es", include_str!("../../templates/lang/es.yaml")),
    ("fr", include_str!("../../templates/lang/fr.yaml")),
];

/// A language file that does not hold what the program asks of it: always our own fault, since a user's file is checked
/// when it is read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WordingError {
    /// A file built in could not be read.
    #[error("the language file is broken: {0}")]
    File(String),
    /// No such language is built in.
    #[error("the language `{0}` is not built in")]
    Language(String),
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
    /// The language's tag, such as `en`: two or three small letters.
    pub language: String,
    /// The language of hazard and precautionary statements, whose words are fixed by law and stand in a table of their own.
    pub statements: Language,
    /// The file, if it is the user's own.
    pub source: Option<Arc<Source>>,
    digest: [u8; 32],
    notation: Notation,
    texts: BTreeMap<String, String>,
    engine: Environment<'static>,
}

impl Words {
    /// The tags of the languages built in.
    pub fn tags() -> impl Iterator<Item = &'static str> {
        BUILT_IN.iter().map(|(tag, _)| *tag)
    }

    /// English.
    ///
    /// # Errors
    /// [`WordingError::File`] if the file compiled into the program is broken.
    pub fn english() -> Result<Words, WordingError> {
        Self::of("en")
    }

    /// A language built in, by its tag.
    ///
    /// # Errors
    /// [`WordingError::Language`] if there is none; [`WordingError::File`] if its file is broken.
    pub fn of(tag: &str) -> Result<Words, WordingError> {
        let Some((tag, text)) = BUILT_IN.iter().find(|(known, _)| *known == tag) else {
            return Err(WordingError::Language(tag.to_owned()));
        };
        let mut report = Report::new();
        let words =
            Source::from_text(Path::new(&format!("templates/lang/{tag}.yaml")), (*text).to_owned(), &mut report)
                .and_then(|source| Self::read(&source, &mut report));
        match words {
            Some(words) if !report.has_errors() => Ok(words),
            _ => Err(WordingError::File(report.to_string())),
        }
    }

    /// A language from the user's own file. It must hold every key of the English file with the same blanks; everything
    /// that is missing, unknown or wrong is told to `report`.
    pub fn from_file(file: &Path, report: &mut Report) -> Option<Words> {
        let source = Source::read(file, report)?;
        let words = Self::read(&source, report)?;
        protected::check(&source, &words, report);
        Some(Words { source: Some(source), ..words })
    }

    fn read(source: &Arc<Source>, report: &mut Report) -> Option<Words> {
        let texts = check::texts(source, report)?;
        let (language, statements, notation) = check::settings(source, &texts, report)?;
        Some(Words { language, statements, source: None, digest: source.digest(), notation, texts, engine: engine()? })
    }

    /// SHA-256 of the language's file.
    pub fn digest(&self) -> [u8; 32] {
        self.digest
    }

    /// How figures and units are written.
    pub fn notation(&self) -> &Notation {
        &self.notation
    }

    /// A word or caption.
    ///
    /// # Errors
    /// [`WordingError::Missing`] if the language has no such key.
    pub fn word(&self, key: &str) -> Result<&str, WordingError> {
        self.texts.get(key).map(String::as_str).ok_or_else(|| WordingError::Missing(key.to_owned()))
    }

    /// A sentence with its blanks filled in.
    ///
    /// # Errors
    /// [`WordingError`] if the language has no such key, or the sentence asks for something that is not in `blanks`.
    pub fn say(&self, key: &str, blanks: impl Into<Value>) -> Result<String, WordingError> {
        let sentence = self.word(key)?;
        self.engine
            .render_str(sentence, blanks)
            .map_err(|e| WordingError::Sentence { key: key.to_owned(), why: format!("{e:#}") })
    }

    /// All captions under a prefix, by the rest of their key.
    pub fn group(&self, prefix: &str) -> BTreeMap<String, String> {
        let start = format!("{prefix}.");
        let inside = self.texts.range(start.clone()..).take_while(|(key, _)| key.starts_with(&start));
        inside.map(|(key, text)| (key[start.len()..].to_owned(), text.clone())).collect()
    }

    /// The plan as the terminal shows it.
    ///
    /// # Errors
    /// [`WordingError::Sentence`] if the template asks for something that is not in `view`.
    pub fn plan_text(&self, view: impl Into<Value>) -> Result<String, WordingError> {
        self.engine
            .render_named_str("plan.txt", PLAN_TEXT, view)
            .map_err(|e| WordingError::Sentence { key: "terminal/plan.txt".to_owned(), why: format!("{e:#}") })
    }
}

/// `None` only if the syntax below were contradictory, which a test would find before anyone.
fn engine() -> Option<Environment<'static>> {
    let mut engine = Environment::new();
    engine.set_undefined_behavior(UndefinedBehavior::Strict);
    // Pages take text as data and the terminal shows it as it is: nothing to escape.
    engine.set_auto_escape_callback(|_| minijinja::AutoEscape::None);
    let syntax = SyntaxConfig::builder().trim_blocks(true).lstrip_blocks(true).build();
    engine.set_syntax(syntax.ok()?);
    // Columns are counted in letters; minijinja's own `format` counts bytes, and `ñ` or `²` would push a row aside.
    let room = |text: &str, width: usize| " ".repeat(width.saturating_sub(text.chars().count()).max(1));
    engine.add_filter("left", move |text: Value, width: usize| {
        let text = text.to_string();
        let room = room(&text, width);
        text + &room
    });
    engine.add_filter("right", move |text: Value, width: usize| {
        let text = text.to_string();
        room(&text, width) + &text
    });
    Some(engine)
}

#[cfg(test)]
mod tests;
