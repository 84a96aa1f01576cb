//! `decant explain`: what is behind a caution.

use std::fmt::Write;

use super::options::tongue;
use super::output::{self, Exit};
use crate::app::{Context, Failure};
use crate::company::Tongue;
use crate::engine::Ink;
use crate::plan::{KINDS, Kind, Shown, find_caution};
use crate::wording::{WordingError, Words};
use crate::yaml::nearest;

/// Say what is behind a caution; without a code, list them all
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  decant explain rewet")]
pub(super) struct Args {
    /// The caution's code, as it stands in brackets behind it
    code: Option<String>,
    /// In this language: `en` by default, `es`, `fr`, or a language file
    #[arg(long, value_name = "TAG", value_parser = tongue, requires = "code")]
    language: Option<Tongue>,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        let words = Context::new(Ink::Color, self.language.as_ref()).own_words()?;
        output::text(&match &self.code {
            Some(code) => explained(&words, find_caution(code).ok_or_else(|| unknown(code))?)?,
            None => list(),
        });
        Ok(Exit::Done)
    }
}

fn unknown(code: &str) -> Failure {
    let mut failure = Failure::error(format_args!("no caution is called `{code}`"));
    let codes: Vec<&str> = KINDS.iter().map(|kind| kind.code.as_str()).collect();
    if let Some(near) = nearest(code, &codes) {
        failure = failure.hint(format_args!("did you mean `{near}`?"));
    }
    failure
        .hint("only cautions are explained; an error says what to do in the lines behind it that begin with `=`")
        .hint("`decant explain` lists all of them")
}

fn shown(kind: &Kind) -> &'static str {
    match kind.shown {
        Shown::Sheet => "plan, mix sheet",
        Shown::Office => "plan",
    }
}

fn list() -> String {
    let mut text = String::new();
    for kind in KINDS.iter() {
        // Writing to a string cannot fail.
        let _ = writeln!(text, "{:<22} {:<8} {}", kind.code, kind.severity.word(), shown(kind));
    }
    text
}

fn explained(words: &Words, kind: &Kind) -> Result<String, WordingError> {
    let sentence = blanks(words.word(&format!("cautions.{}", kind.code))?);
    let why = words.word(&format!("explanations.{}", kind.code))?;
    Ok(format!(
        "{}: {}, shown in {}\n\n{}\n\n{}\n\nSource: {}\n",
        kind.code,
        kind.severity.word(),
        shown(kind),
        indented(&sentence),
        wrapped(why),
        kind.source
    ))
}

/// A sentence with its blanks as a reader can tell them from its words: `{{ film }}` as `‹film›`.
fn blanks(sentence: &str) -> String {
    sentence.replace("{{ ", "‹").replace(" }}", "›")
}

fn indented(text: &str) -> String {
    wrapped(text).lines().map(|line| format!("    {line}")).collect::<Vec<_>>().join("\n")
}

/// In lines of at most 92 characters.
fn wrapped(text: &str) -> String {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let line = lines.last_mut().filter(|line| line.chars().count() + word.chars().count() < 92);
        match line {
            Some(line) if line.is_empty() => line.push_str(word),
            Some(line) => {
                line.push(' ');
                line.push_str(word);
            }
            None => lines.push(word.to_owned()),
        }
    }
    lines.join("\n")
}
