//! Every word a document or the terminal shows, from one file a language; sentences are filled in by minijinja.

mod check;

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use minijinja::syntax::SyntaxConfig;
use minijinja::{AutoEscape, Environment, UndefinedBehavior, Value};

use crate::diagnostic::Diagnostics;
use crate::ghs::Language;
use crate::quantity::Notation;
use crate::yaml::Source;

const PLAN_TEXT: &str = include_str!("../../templates/terminal/plan.txt");

/// The languages built in: tag and file. To add one takes its file in `templates/lang` and its line here.
const BUILT_IN: &[(&str, &str)] = &[
    ("en", include_str!("../../templates/lang/en.yaml")),
    ("es", include_str!("../../templates/lang/es.yaml")),
    ("fr", include_str!("../../templates/lang/fr.yaml")),
];

/// A language file that does not hold what the program asks of it: always an internal error, since a user's file is
/// checked when it is read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WordingError {
    #[error("the language file is broken: {0}")]
    File(String),
    #[error("the language `{0}` is not built in")]
    Language(String),
    /// A key is not in it.
    #[error("the language file has no `{0}`")]
    Missing(String),
    /// A sentence could not be filled in.
    #[error("`{key}` cannot be filled in: {why}")]
    Sentence { key: String, why: String },
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

    /// Every key.
    #[cfg(test)]
    pub fn keys(&self) -> impl Iterator<Item = &str> {
        self.texts.keys().map(String::as_str)
    }

    /// English.
    pub fn english() -> Result<Words, WordingError> {
        Self::of("en")
    }

    /// A language built in, by its tag.
    pub fn of(tag: &str) -> Result<Words, WordingError> {
        let Some((tag, text)) = BUILT_IN.iter().find(|(known, _)| *known == tag) else {
            return Err(WordingError::Language(tag.to_owned()));
        };
        let mut report = Diagnostics::new();
        let words =
            Source::from_text(Path::new(&format!("templates/lang/{tag}.yaml")), (*text).to_owned(), &mut report)
                .and_then(|source| Self::read(&source, &mut report));
        match words {
            Some(words) if !report.has_errors() => Ok(words),
            _ => Err(WordingError::File(report.to_string())),
        }
    }

    /// A language from the user's own file. It must hold every key of the English file with the same blanks; everything
    /// that is missing, unknown or wrong is reported.
    pub fn from_file(file: &Path, report: &mut Diagnostics) -> Option<Words> {
        let source = Source::read(file, report)?;
        let words = Self::read(&source, report)?;
        check::protected(&source, &words, report);
        Some(Words { source: Some(source), ..words })
    }

    fn read(source: &Arc<Source>, report: &mut Diagnostics) -> Option<Words> {
        let texts = check::texts(source, report)?;
        let (language, statements, notation) = check::settings(source, &texts, report)?;
        Some(Words {
            language,
            statements,
            source: None,
            digest: source.digest(),
            notation,
            texts,
            engine: text_engine().ok()?,
        })
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
    pub fn word(&self, key: &str) -> Result<&str, WordingError> {
        self.texts.get(key).map(String::as_str).ok_or_else(|| WordingError::Missing(key.to_owned()))
    }

    /// A sentence with its blanks filled in.
    pub fn say(&self, key: &str, blanks: impl Into<Value>) -> Result<String, WordingError> {
        let sentence = self.word(key)?;
        self.engine.render_str(sentence, blanks).map_err(|e| unfilled(key, &e))
    }

    /// All captions under a prefix, by the rest of their key.
    pub fn group(&self, prefix: &str) -> BTreeMap<String, String> {
        let start = format!("{prefix}.");
        let inside = self.texts.range(start.clone()..).take_while(|(key, _)| key.starts_with(&start));
        inside.map(|(key, text)| (key[start.len()..].to_owned(), text.clone())).collect()
    }

    /// The plan as the terminal shows it.
    pub fn plan_text(&self, view: impl Into<Value>) -> Result<String, WordingError> {
        self.engine.render_named_str("plan.txt", PLAN_TEXT, view).map_err(|e| unfilled("terminal/plan.txt", &e))
    }
}

fn unfilled(key: &str, error: &minijinja::Error) -> WordingError {
    WordingError::Sentence { key: key.to_owned(), why: format!("{error:#}") }
}

/// An engine that fails where a template asks for what it is not given. An error only if the syntax below were
/// contradictory, which a test would find before anyone.
pub fn engine(escape: AutoEscape) -> Result<Environment<'static>, minijinja::Error> {
    let mut engine = Environment::new();
    engine.set_undefined_behavior(UndefinedBehavior::Strict);
    engine.set_auto_escape_callback(move |_| escape.clone());
    engine.set_syntax(SyntaxConfig::builder().trim_blocks(true).lstrip_blocks(true).build()?);
    Ok(engine)
}

/// Pages take text as data and the terminal shows it as it is: nothing to escape.
fn text_engine() -> Result<Environment<'static>, minijinja::Error> {
    let mut engine = engine(AutoEscape::None)?;
    // Columns are counted in letters; minijinja's own `format` counts bytes, and `ñ` or `²` would push a row aside.
    let gap = |text: &str, width: usize| " ".repeat(width.saturating_sub(text.chars().count()).max(1));
    engine.add_filter("left", move |text: Value, width: usize| {
        let text = text.to_string();
        let gap = gap(&text, width);
        text + &gap
    });
    engine.add_filter("right", move |text: Value, width: usize| {
        let text = text.to_string();
        gap(&text, width) + &text
    });
    Ok(engine)
}

#[cfg(test)]
mod tests;
