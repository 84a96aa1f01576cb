//! Text that is no YAML: what is wrong in the words of whoever wrote it, at the line where it is to be mended.

use std::path::Path;

use super::locate::Index;
use super::spot_in;
use crate::diagnostic::{Diagnostic, Place};

/// What the library says, what it means, and what to do.
const MEANINGS: &[(&str, &str, &str)] = &[
    (
        "mapping values are not allowed",
        "a second `: ` stands in this value, or the line is indented otherwise than its neighbors",
        "put text that holds `: ` in quotes; begin the keys of one group in the same column",
    ),
    (
        "did not find expected key",
        "this line is indented otherwise than the other keys of its group",
        "begin the keys of one group in the same column; indent with spaces",
    ),
    (
        "did not find expected '-' indicator",
        "this line is indented otherwise than the other entries of its list",
        "begin the entries of one list with `- ` in the same column",
    ),
    (
        "block sequence entries are not allowed",
        "a list entry `- ` cannot begin here",
        "begin each entry with `- ` on a line of its own, below the key",
    ),
    (
        "unknown escape character",
        "in double quotes `\\` begins an escape, and this is none",
        "write a path with `/`, as in `C:/Jobs/company.yaml`, or put it in single quotes",
    ),
    (
        "unknown anchor",
        "this `*name` repeats a value that nothing named `&name` before",
        "write the value out; put text that begins with `*` in quotes",
    ),
    (
        "expected alphabetic or numeric",
        "a `*` or `&` begins a repeated value, and no name stands behind it",
        "put text that begins with `*` or `&` in quotes",
    ),
    (
        "did not find expected node content",
        "a value is missing here",
        "write the value, or take out the comma or bracket before it",
    ),
];

/// What is wrong with a text that the library refuses.
pub(super) fn problem(file: &Path, text: &str, error: &serde_yaml::Error) -> Diagnostic {
    let reported = error.to_string();
    // The library puts "at line L column C" behind its words; the place says that already.
    let words = reported.split(" at line ").next().unwrap_or(&reported).to_owned();
    let at = error.location().map(|at| (at.line(), at.column()));
    let (at, path, code, message, hint) = meaning(text, &words, at);
    let spot = at.map(|(line, column)| spot_in(text, line, column));
    Diagnostic::error(code, message).at(Place { file: file.display().to_string(), path, spot }).hint(hint)
}

type Meaning = (Option<(usize, usize)>, String, &'static str, String, String);

fn meaning(text: &str, words: &str, at: Option<(usize, usize)>) -> Meaning {
    let syntax =
        |at, message: &str, hint: &str| (at, String::new(), "yaml-syntax", message.to_owned(), hint.to_owned());
    let whole = |code, message: &str, hint: &str| (at, String::new(), code, message.to_owned(), hint.to_owned());
    if words.contains("repetition limit") {
        return whole("yaml-alias-bomb", "aliases repeat more than a job could mean", "write the values out");
    }
    if words.contains("recursion limit") {
        let hint = "look for lines that are indented further and further: a job has about six levels";
        return whole("yaml-too-deep", "values are nested too deep to be a job", hint);
    }
    if words.contains("more than one document") {
        let hint = "keep one; remove the `---` lines";
        let mut lines = text
            .lines()
            .enumerate()
            .skip_while(|(_, line)| line.starts_with(['#', '-', '%']) || line.trim().is_empty());
        let at = lines.find(|(_, line)| line.starts_with("---")).map(|(before, _)| (before + 1, 1));
        let whole = |code, message: &str, hint: &str| (at, String::new(), code, message.to_owned(), hint.to_owned());
        return whole("yaml-several-documents", "the file holds more than one YAML document", hint);
    }
    if words.contains("duplicate entry") {
        return twice(text, words, at);
    }
    let Some((line, column)) = at else {
        return syntax(at, &format!("this is not YAML: {words}"), "check indentation, colons and quotes");
    };
    let written = text.lines().nth(line.saturating_sub(1)).unwrap_or_default();
    let margin = &written[..written.len() - written.trim_start().len()];
    if let Some(tab) = margin.find('\t') {
        let hint = "put spaces in the place of the tab, as many as the lines beside it have; most editors can do so by themselves";
        let at = Some((line, margin[..tab].chars().count() + 1));
        return (at, String::new(), "yaml-tab", "a tab indents this line; YAML takes only spaces".into(), hint.into());
    }
    if let Some((quote, line, column)) = words.contains("unexpected end of stream").then(|| open_quote(text)).flatten()
    {
        let message = format!("the text that begins here with `{quote}` never ends");
        return syntax(Some((line, column)), &message, &format!("write `{quote}` at the end of the text"));
    }
    if words.contains("expected ',' or") {
        let close = if words.contains('}') { '}' } else { ']' };
        let message = format!("a comma or the closing `{close}` is missing before this");
        let hint = open_bracket(text, line)
            .map_or_else(String::new, |(open, line)| format!("`{open}` opens in line {line}: "));
        return syntax(at, &message, &format!("{hint}close it with `{close}`, and put a comma between its values"));
    }
    if words.contains("could not find expected ':'") {
        // the key is a line above: the last that holds no `key: value`
        let lines: Vec<&str> = text.lines().take(line.max(1) - 1).collect();
        let is_key = |line: &&str| line.contains(": ") || line.trim_end().ends_with(':') || line.trim().is_empty();
        let key = lines.iter().rposition(|line| !is_key(line) && !line.trim_start().starts_with(['#', '-']));
        let at = key.map_or(at, |key| Some((key + 1, lines[key].len() - lines[key].trim_start().len() + 1)));
        return syntax(
            at,
            "this line is no `key: value`",
            "write a colon and a space behind the key, as in `label_stock: roll`",
        );
    }
    if words.contains("cannot start any token") {
        let sign = written.chars().nth(column.saturating_sub(1)).unwrap_or(' ');
        return syntax(at, &format!("a text cannot begin with `{sign}`"), "put the text in quotes: `\"…\"`");
    }
    match MEANINGS.iter().find(|(theirs, ..)| words.contains(theirs)) {
        Some((_, ours, hint)) => syntax(at, ours, hint),
        None => syntax(at, &format!("this is not YAML: {words}"), "check indentation, colons and quotes near here"),
    }
}

/// A key that stands twice, at the second one.
fn twice(text: &str, words: &str, at: Option<(usize, usize)>) -> Meaning {
    let index = Index::of(text);
    let key = words.split("with key ").nth(1).unwrap_or("").trim_matches('"');
    let hint = "keep one of the two".to_owned();
    match index.twice() {
        Some((path, first, second)) => {
            let name = path.last_key().unwrap_or(key);
            let message = format!("the key `{name}` stands here a second time; the first is in line {}", first.0);
            (Some(second), path.to_string(), "yaml-duplicate-key", message, hint)
        }
        None => (at, String::new(), "yaml-duplicate-key", format!("the key `{key}` stands twice in one place"), hint),
    }
}

/// The quotation mark of a text that does not end: the first in a line that holds an odd number of it.
fn open_quote(text: &str) -> Option<(char, usize, usize)> {
    ['"', '\''].into_iter().find_map(|quote| {
        let begins = |line: &&str| match line.find(quote) {
            // an apostrophe within a word begins no text
            Some(at) => line[..at].ends_with([' ', '[', '{', ',']) && line.matches(quote).count() % 2 == 1,
            None => false,
        };
        let (line, written) = text.lines().enumerate().find(|(_, line)| begins(line))?;
        let column = written.find(quote).map(|at| written[..at].chars().count() + 1)?;
        Some((quote, line + 1, column))
    })
}

/// The bracket that is open where a line begins, and its line.
fn open_bracket(text: &str, before: usize) -> Option<(char, usize)> {
    let mut open = Vec::new();
    for (line, written) in text.lines().enumerate().take(before.max(1) - 1) {
        for sign in written.split(" #").next().unwrap_or_default().chars() {
            match sign {
                '{' | '[' => open.push((sign, line + 1)),
                '}' | ']' => {
                    open.pop();
                }
                _ => {}
            }
        }
    }
    open.pop()
}
