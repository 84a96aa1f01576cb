//! How messages look: in colors or not, as wide as the terminal, only errors, or one JSON object a message.
//!
//! What reaches this file has been escaped: no value in it begins a line. So what begins a line is ours, and a message can be taken
//! apart again into what it was made of.

use std::io::{self, IsTerminal};
use std::sync::OnceLock;

use clap::ValueEnum;
use serde_json::{Map, Value, json};

/// What the command line says of messages.
#[derive(Clone, Copy, Debug, clap::Args)]
#[command(next_help_heading = "Messages")]
pub(super) struct Look {
    /// Colors in messages: by default on a terminal where `NO_COLOR` is not set
    #[arg(long, global = true, value_enum, value_name = "WHEN", default_value_t = Color::Auto, hide_default_value = true)]
    color: Color,
    /// Messages as text, or as one JSON object a line: severity, code, message, file, line, column, path, repair
    #[arg(long, global = true, value_enum, value_name = "FORM", default_value_t = Form::Text, hide_default_value = true)]
    messages: Form,
    /// Only errors: no notes, no progress
    #[arg(short, long, global = true, conflicts_with = "verbose")]
    quiet: bool,
    /// Say more: how long it took; of `verify`, what matches too
    #[arg(short, long, global = true)]
    verbose: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Color {
    Auto,
    Always,
    Never,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Form {
    Text,
    Json,
}

/// The width of a terminal that does not say its own.
const USUAL_WIDTH: usize = 80;

static LOOK: OnceLock<Look> = OnceLock::new();

impl Look {
    /// What holds before the command line is read: as far as it can be told without reading it.
    pub fn of(given: &[String]) -> Look {
        let value = |name: &str| {
            let next =
                given.iter().zip(given.iter().skip(1)).find(|(arg, _)| *arg == name).map(|(_, value)| value.as_str());
            next.or_else(|| given.iter().find_map(|arg| arg.strip_prefix(name)?.strip_prefix('=')))
        };
        let color = value("--color").and_then(|word| Color::from_str(word, false).ok()).unwrap_or(Color::Auto);
        let messages = value("--messages").and_then(|word| Form::from_str(word, false).ok()).unwrap_or(Form::Text);
        Look { color, messages, quiet: false, verbose: false }
    }

    /// From here on messages look so.
    pub fn take(self) {
        let _ = LOOK.set(self);
    }

    fn in_color(self) -> bool {
        let unset = |name| std::env::var_os(name).is_none_or(|value| value.is_empty());
        match self.color {
            Color::Always => true,
            Color::Never => false,
            Color::Auto => {
                io::stderr().is_terminal()
                    && unset("NO_COLOR")
                    && std::env::var_os("TERM").is_none_or(|term| term != "dumb")
            }
        }
    }
}

fn look() -> Look {
    LOOK.get().copied().unwrap_or(Look { color: Color::Auto, messages: Form::Text, quiet: false, verbose: false })
}

pub(super) fn is_verbose() -> bool {
    look().verbose
}

/// Whether a line may be drawn that comes and goes.
pub(super) fn may_draw() -> bool {
    !look().quiet && look().messages == Form::Text && io::stderr().is_terminal()
}

/// Lines as they are written to stderr.
pub(super) fn written(lines: &str) -> String {
    let look = look();
    let mut messages = messages(lines);
    if look.quiet {
        messages.retain(|message| severity(message[0]).0 == "error");
    }
    match look.messages {
        Form::Json => messages.iter().map(|message| format!("{}\n", object(message))).collect(),
        Form::Text if look.quiet => messages.concat().iter().map(|line| format!("{}\n", shaped(line, look))).collect(),
        Form::Text => lines.split_inclusive('\n').map(|line| shaped(line, look)).collect(),
    }
}

/// The lines of each message: it begins at the margin, and what is indented belongs to it.
fn messages(lines: &str) -> Vec<Vec<&str>> {
    let mut found: Vec<Vec<&str>> = Vec::new();
    for line in lines.lines().filter(|line| !line.trim().is_empty()) {
        match found.last_mut() {
            Some(message) if line.starts_with(' ') => message.push(line),
            _ => found.push(vec![line]),
        }
    }
    found
}

/// How bad it is, its code, and the rest of its first line.
fn severity(line: &str) -> (&'static str, Option<&str>, &str) {
    for word in ["error", "warning", "caution", "note"] {
        let Some(rest) = line.strip_prefix(word) else { continue };
        if let Some(message) = rest.strip_prefix(": ") {
            return (word, None, message);
        }
        if let Some((code, message)) = rest.strip_prefix('[').and_then(|rest| rest.split_once("]: ")) {
            return (word, Some(code), message);
        }
    }
    match line.strip_prefix("decant: ") {
        Some(message) => ("error", Some("internal"), message),
        None => ("note", None, line),
    }
}

fn object(message: &[&str]) -> Value {
    let (severity, code, text) = severity(message[0]);
    let mut object = Map::new();
    object.insert("severity".into(), json!(severity));
    object.insert("code".into(), json!(code));
    object.insert("message".into(), json!(text));
    for key in ["file", "line", "column", "path"] {
        object.insert(key.into(), Value::Null);
    }
    let (mut repair, mut details) = (Vec::new(), Vec::new());
    for line in &message[1..] {
        if let Some(hint) = line.strip_prefix("  = ").or_else(|| line.strip_prefix("  tip: ")) {
            repair.push(hint);
        } else if let Some(place) = line.strip_prefix("  --> ") {
            object.extend(place_of(place));
        } else if !line.contains(" | ") && !line.ends_with(" |") {
            details.push(line.trim().trim_start_matches("- "));
        }
    }
    object.insert("repair".into(), json!(repair));
    if !details.is_empty() {
        object.insert("details".into(), json!(details));
    }
    object.into()
}

/// `job.yaml:5:17  visit.start`
fn place_of(place: &str) -> Map<String, Value> {
    let (at, path) = place.split_once("  ").unwrap_or((place, ""));
    let mut parts = at.rsplitn(3, ':');
    let (column, line, file) = (parts.next(), parts.next(), parts.next());
    let number = |text: Option<&str>| text.and_then(|text| text.parse::<usize>().ok());
    let mut found = Map::new();
    match (number(line), number(column), file) {
        (Some(line), Some(column), Some(file)) => {
            found.insert("file".into(), json!(file));
            found.insert("line".into(), json!(line));
            found.insert("column".into(), json!(column));
        }
        _ => {
            found.insert("file".into(), json!(at));
        }
    }
    if !path.is_empty() {
        found.insert("path".into(), json!(path));
    }
    found
}

/// A line in colors and folded, where they are wanted.
fn shaped(line: &str, look: Look) -> String {
    let is_excerpt = line.contains(" | ") && line.starts_with("   ");
    let folded = match io::stderr().is_terminal() {
        true if !is_excerpt => folded(line, width()),
        _ => line.to_owned(),
    };
    if !look.in_color() {
        return folded;
    }
    let color = match severity(line).0 {
        "error" => "1;31",
        "warning" | "caution" => "1;33",
        _ if line.trim_start().starts_with('|') || line.starts_with("  --> ") => "34",
        _ => return folded,
    };
    let end = if color == "34" { folded.trim_end().len() } else { folded.find(": ").unwrap_or(folded.len()) };
    format!("\u{1b}[{color}m{}\u{1b}[0m{}", &folded[..end], &folded[end..])
}

fn width() -> usize {
    let given = std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok());
    given.filter(|columns| *columns >= 40).unwrap_or(USUAL_WIDTH)
}

/// Each line in lines of at most so many characters. What is carried over stands under the text behind a line's caption.
pub(super) fn folded(text: &str, width: usize) -> String {
    text.split_inclusive('\n').map(|line| folded_line(line, width)).collect()
}

fn folded_line(line: &str, width: usize) -> String {
    if line.trim_end().chars().count() <= width {
        return line.to_owned();
    }
    let margin = line.len() - line.trim_start().len();
    // behind a caption and the space after it, if it is short
    let caption = line[margin..].find("  ").map(|at| margin + at);
    let text = caption.and_then(|at| line[at..].find(|c| c != ' ').map(|spaces| at + spaces));
    let hang = match text {
        Some(text) if text <= width / 3 => text,
        _ if line[margin..].starts_with("= ") || line[margin..].starts_with("- ") => margin + 2,
        _ => margin + 2,
    };
    let mut folded = String::new();
    let mut column = 0;
    for word in line.trim_end().split_inclusive(' ') {
        let length = word.trim_end().chars().count();
        if column + length > width && column > hang {
            folded.truncate(folded.trim_end().len());
            folded += &format!("\n{}", " ".repeat(hang));
            column = hang;
        }
        folded += word;
        column += word.chars().count();
    }
    folded + if line.ends_with('\n') { "\n" } else { "" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_message_is_taken_apart_into_what_it_was_made_of() {
        let text = "error[bad-quantity]: `8 oz/min`: no\n  --> a: b.yaml:56:11  sprayers.pump.flow\n   56 |     flow: 8 oz/min\n      |           ^\n  = write `8 fl oz/min`\n  = or not\n\n1 problem found\n";
        let found = messages(text);
        assert_eq!(found.len(), 2);
        let first = object(&found[0]);
        assert_eq!((&first["code"], &first["file"]), (&json!("bad-quantity"), &json!("a: b.yaml")));
        assert_eq!(
            (&first["line"], &first["column"], &first["path"]),
            (&json!(56), &json!(11), &json!("sprayers.pump.flow"))
        );
        assert_eq!(first["repair"], json!(["write `8 fl oz/min`", "or not"]));
        assert_eq!(object(&found[1])["message"], "1 problem found");
        let whole = object(&messages("error[file-empty]: the file is empty\n  --> job.yaml\n")[0]);
        assert_eq!((&whole["file"], &whole["line"]), (&json!("job.yaml"), &Value::Null));
    }

    #[test]
    fn a_long_line_is_folded_under_its_text() {
        let line = "  Needed       27.2 gal (103 L): areas 25.8 gal, reserve 1.29 gal, hose 16 fl oz\n";
        let folded = folded(line, 60);
        assert_eq!(folded.lines().count(), 2);
        assert!(folded.lines().all(|line| line.chars().count() <= 60), "{folded}");
        assert_eq!(folded.split_whitespace().collect::<Vec<_>>(), line.split_whitespace().collect::<Vec<_>>());
        assert!(folded.lines().nth(1).is_some_and(|line| line.starts_with(&" ".repeat(15))), "{folded}");
    }
}
