//! `decant explain`: what is behind a caution.

use std::fmt::Write;

use super::plan::{own_fault, print};
use super::prepare::tell;
use super::{Exit, Refusal};
use crate::catalog::Tongue;
use crate::plan::{KINDS, Kind, Shown, find_caution};
use crate::report::Report;
use crate::wording::{WordingError, Words};
use crate::yaml::nearest;

/// Explains a caution; all of them in a list where none is named, as a Markdown table with `markdown`.
pub(super) fn run(code: Option<&str>, markdown: bool, language: Option<&Tongue>) -> Exit {
    let words = match language {
        None => Words::english(),
        Some(Tongue::BuiltIn(tag)) => Words::of(tag),
        Some(Tongue::Own(file)) => {
            let mut report = Report::new();
            let Some(words) = Words::from_file(file, &mut report) else {
                tell(&report);
                return Exit::BadInput;
            };
            Ok(words)
        }
    };
    let told = words.and_then(|words| match code {
        Some(code) => match find_caution(code) {
            Some(kind) => explained(&words, kind).map(Some),
            None => Ok(None),
        },
        None if markdown => table(&words).map(Some),
        None => Ok(Some(list())),
    });
    match told {
        Ok(Some(text)) => print(&text),
        Ok(None) => unknown(code.unwrap_or_default()),
        Err(fault) => own_fault(&fault.to_string()),
    }
}

fn unknown(code: &str) -> Exit {
    let mut refusal = Refusal::error(format_args!("no caution is called `{code}`"));
    let codes: Vec<&str> = KINDS.iter().map(|kind| kind.code).collect();
    if let Some(near) = nearest(code, &codes) {
        refusal = refusal.hint(format_args!("did you mean `{near}`?"));
    }
    refusal.hint("`decant explain` lists all of them").tell()
}

fn shown(kind: &Kind) -> &'static str {
    match kind.shown {
        Shown::Sheet => "plan, mix sheet",
        Shown::Office => "plan",
    }
}

fn list() -> String {
    let mut text = String::new();
    for kind in KINDS {
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

fn table(words: &Words) -> Result<String, WordingError> {
    let mut text = String::from("| code | weight | shown in | says | source |\n| --- | --- | --- | --- | --- |\n");
    for kind in KINDS {
        let sentence = blanks(words.word(&format!("cautions.{}", kind.code))?);
        let _ = writeln!(
            text,
            "| `{}` | {} | {} | {sentence} | {} |",
            kind.code,
            kind.severity.word(),
            shown(kind),
            kind.source
        );
    }
    Ok(text)
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
