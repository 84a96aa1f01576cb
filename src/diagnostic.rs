//! Problems, collected and spoken to the user: what is wrong, where, and what to do.

use std::collections::BTreeSet;
use std::fmt::{self, Write};

use serde::Serialize;

use crate::shown::{Shown, shown, without_secrets};

/// How bad a problem is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// Worth knowing; nothing stops.
    Warning,
    /// Nothing is made until it is mended.
    Error,
}

/// Where a problem is: a value in a file the user wrote.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Place {
    /// The file, as the user or another file named it.
    pub file: String,
    /// The path of the value, such as `treatments[1].product`; empty for the whole file.
    pub path: String,
    /// Line, column (both from 1) and the text of that line, where they are known.
    pub spot: Option<Spot>,
}

/// A line and column in a file, with the line itself.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Spot {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// The line as it stands in the file.
    pub text: String,
}

/// One problem.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Diagnostic {
    /// How bad.
    pub severity: Severity,
    /// A stable name for this kind of problem, in kebab-case.
    pub code: &'static str,
    /// What is wrong, in the user's words.
    pub message: String,
    /// Where.
    pub place: Option<Place>,
    /// What to do, one thing each.
    pub hints: Vec<String>,
    /// Where else in the same table the same is wrong.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub also: Vec<String>,
}

impl Diagnostic {
    /// An error of this kind.
    pub fn error(code: &'static str, message: impl Into<String>) -> Self {
        Diagnostic {
            severity: Severity::Error,
            code,
            message: message.into(),
            place: None,
            hints: Vec::new(),
            also: Vec::new(),
        }
    }

    /// The hint that a word may be meant for another.
    pub fn meant(word: &str) -> String {
        format!("did you mean `{word}`?")
    }

    /// At this place.
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
    }

    /// On one line, for lists.
    pub fn line(&self) -> String {
        let more = if self.also.is_empty() { String::new() } else { format!(" (and {} more)", self.also.len()) };
        shown(&format!("{}{more}", self.message)).into_owned()
    }

    /// With a word on what to do.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hints.push(hint.into());
        self
    }
}

/// The most problems of one severity that are kept and shown. Whoever reads fifty mends them first; a file can have as many as it has
/// lines.
pub const MOST_SHOWN: usize = 50;

/// All problems found so far, in the order found: of each severity the first `MOST_SHOWN`, and how many more there were.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Diagnostics {
    problems: Vec<Diagnostic>,
    /// Code, place and message of each, so that what two treatments find in one company file is reported once.
    #[serde(skip)]
    seen: BTreeSet<(&'static str, String, String)>,
    /// Errors that are counted and not kept.
    #[serde(skip_serializing_if = "is_zero")]
    more_errors: usize,
    /// Warnings that are counted and not kept.
    #[serde(skip_serializing_if = "is_zero")]
    more_warnings: usize,
}

fn is_zero(count: &usize) -> bool {
    *count == 0
}

/// A message without what differs from row to row.
fn without_values(message: &str) -> String {
    let outside = message.split('`').step_by(2).collect::<String>();
    outside.chars().filter(|c| !c.is_ascii_digit()).collect()
}

impl Place {
    /// The cell, where this is one of a table.
    fn cell(&self) -> Option<String> {
        match (&self.spot, self.path.split_once('!')) {
            (None, Some((_, cell))) => Some(cell.to_owned()),
            (Some(spot), None) if self.path.is_empty() => Some(format!("line {}", spot.line)),
            _ => None,
        }
    }
}

impl Spot {
    /// The same on another line.
    pub(crate) fn on_line(self, line: usize) -> Spot {
        Spot { line, ..self }
    }
}

/// What to do about an error of this kind, where nothing closer is known.
fn usual_repair(code: &str) -> Option<&'static str> {
    Some(match code {
        "times-backwards" => "look at both times again, and at their days",
        "check-outside" => {
            "compare its times with those of its area; a spot of an area that was treated twice stands there each time"
        }
        "skipped-and-done" => "take out `skipped`, or the times and readings",
        "visit-past-end" => "look at the day again, and at the contract's `until`",
        "bad-reading" => "write the lower block first, such as `600 to 800 ppm`",
        "over-the-whole" => "compare each `content` with section 3 of the safety data sheet",
        "language-too-many" | "too-many-lines" => "take some of them out",
        "line-too-long" => "shorten it",
        _ if code.ends_with("-twice") => "take one of the two out",
        _ if code.starts_with("bad-") || code.ends_with("-zero") || code == "out-of-range" => {
            "look at the figure and at its unit again"
        }
        _ => return None,
    })
}

impl Diagnostics {
    /// Nothing found yet.
    pub fn new() -> Self {
        Diagnostics::default()
    }

    /// One more, unless the same is reported of the same place already. An error that names no repair has the usual one of its kind.
    pub fn push(&mut self, mut problem: Diagnostic) {
        if problem.severity == Severity::Error && problem.hints.is_empty() {
            problem.hints.extend(usual_repair(problem.code).map(str::to_owned));
        }
        if self.kept(problem.severity) >= MOST_SHOWN {
            match problem.severity {
                Severity::Error => self.more_errors += 1,
                Severity::Warning => self.more_warnings += 1,
            }
            return;
        }
        if let Some(place) = &problem.place {
            let at = place.spot.as_ref().map_or((0, 0), |spot| (spot.line, spot.column));
            let place = format!("{}\0{}\0{at:?}", place.file, place.path);
            if !self.seen.insert((problem.code, place, problem.message.clone())) {
                return;
            }
        }
        self.problems.push(problem);
    }

    /// One more, in the place of the value that could not be had.
    pub fn fail<T>(&mut self, problem: Diagnostic) -> Option<T> {
        self.push(problem);
        None
    }

    /// One more, or one more cell of a problem that another cell of the table has: what is wrong in one row often is in all.
    pub fn push_alike(&mut self, problem: Diagnostic) {
        let kind = |p: &Diagnostic| Some((p.code, p.place.as_ref()?.file.clone(), without_values(&p.message)));
        let cell = problem.place.as_ref().and_then(Place::cell);
        let (Some(cell), Some(of)) = (cell, kind(&problem)) else { return self.push(problem) };
        let is_alike =
            |p: &&mut Diagnostic| p.place.as_ref().and_then(Place::cell).is_some() && kind(p).as_ref() == Some(&of);
        match self.problems.iter_mut().find(is_alike) {
            Some(known) if known.place == problem.place => {}
            Some(known) => known.also.push(cell),
            None => self.push(problem),
        }
    }

    /// One more error that is only counted; for loops that ask [`is_full`](Diagnostics::is_full) before they write a message.
    pub fn push_unseen(&mut self) {
        self.more_errors += 1;
    }

    /// Whether a key that is not known was reported which may be meant for this one.
    pub fn has_slip_for(&self, key: &str) -> bool {
        let meant = Diagnostic::meant(key);
        self.problems.iter().any(|problem| problem.code == "unknown-key" && problem.hints.contains(&meant))
    }

    /// What was found of a file as a whole is shown where another file names it; `named` finds that place, which takes a second
    /// reading of that file.
    pub fn show_at(&mut self, file: &str, named: impl Fn() -> Place) {
        let of_file = |place: &Place| place.file == file && place.spot.is_none();
        for problem in self.problems.iter_mut().filter(|problem| problem.code.starts_with("file-")) {
            if problem.place.as_ref().is_some_and(of_file) {
                problem.place = Some(named());
            }
        }
    }

    /// How many there are, those that are only counted included.
    pub fn count(&self) -> usize {
        let alike: usize = self.problems.iter().map(|problem| problem.also.len()).sum();
        self.problems.len() + alike + self.more_errors + self.more_warnings
    }

    /// Whether another error would only be counted.
    pub fn is_full(&self) -> bool {
        self.kept(Severity::Error) >= MOST_SHOWN
    }

    /// Whether any of them is an error.
    pub fn has_errors(&self) -> bool {
        self.errors() > 0
    }

    fn kept(&self, severity: Severity) -> usize {
        self.problems.iter().filter(|p| p.severity == severity).count()
    }

    /// All of them.
    pub fn problems(&self) -> &[Diagnostic] {
        &self.problems
    }

    /// How many of them are errors.
    pub fn errors(&self) -> usize {
        self.kept(Severity::Error) + self.more_errors
    }

    /// The problems as a terminal shows them, a block each, without the count at the end.
    pub fn blocks(&self) -> String {
        let blocks: String = self.problems.iter().map(|problem| format!("{problem}\n")).collect();
        match self.more_errors + self.more_warnings {
            0 => blocks,
            more => format!("{blocks}… and {more} more; mend these first\n\n"),
        }
    }
}

/// The line that ends a report: how many errors there are, and with `unwritten` that no file was written. Nothing for none.
pub fn count_line(errors: usize, unwritten: bool) -> String {
    let problems = match errors {
        0 => return String::new(),
        1 => "1 problem found".to_owned(),
        n => format!("{n} problems found"),
    };
    let unwritten = if unwritten { "; nothing was written" } else { "" };
    format!("{problems}{unwritten}\n")
}

impl fmt::Display for Diagnostics {
    /// The report as a terminal shows it: one block a problem, then a count. Whether something was written the report does not
    /// know; a command that writes files says that itself.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.blocks())?;
        f.write_str(&count_line(self.errors(), false))
    }
}

impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = match self.severity {
            Severity::Error => "error",
            Severity::Warning => "warning",
        };
        writeln!(f, "{word}[{}]: {}", self.code, shown(&self.message))?;
        if let Some(place) = &self.place {
            write!(f, "  --> {}", shown(&place.file))?;
            if let Some(spot) = &place.spot {
                write!(f, ":{}:{}", spot.line, spot.column)?;
            }
            if !place.path.is_empty() {
                write!(f, "  {}", shown(&without_secrets(&place.path)))?;
            }
            writeln!(f)?;
            if let Some(spot) = &place.spot {
                let (shown, column) = excerpt(&spot.text, spot.column);
                let gutter = spot.line.to_string();
                let blank = " ".repeat(gutter.len());
                let mut caret = String::new();
                let _ = write!(caret, "{}^", " ".repeat(column.saturating_sub(1)));
                writeln!(f, "   {blank} |\n   {gutter} | {shown}\n   {blank} | {caret}")?;
            }
        }
        if !self.also.is_empty() {
            const MOST: usize = 20;
            let shown = self.also.iter().take(MOST).map(String::as_str).collect::<Vec<_>>().join(", ");
            let more = if self.also.len() > MOST { ", …" } else { "" };
            writeln!(f, "  = the same in {} more: {}{more}", self.also.len(), Shown(&shown))?;
        }
        for hint in &self.hints {
            writeln!(f, "  = {}", Shown(hint))?;
        }
        Ok(())
    }
}

/// Control characters and those that reorder or hide text: never printed, on paper or terminal.
pub fn is_unseen(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}' | '\u{FFFD}')
}

/// A line as it is quoted below a problem: a long one is cut to a window of 72 characters around the column, a tab is a space, a
/// secret is left out and what steers a terminal is written out. The column is that of the same character in what is shown.
fn excerpt(line: &str, column: usize) -> (String, usize) {
    const WINDOW: usize = 72;
    let chars: Vec<char> = without_secrets(line).replace('\t', " ").chars().collect();
    let at = column.saturating_sub(1).min(chars.len());
    let start = match chars.len() {
        0..=WINDOW => 0,
        n => column.saturating_sub(WINDOW / 2).min(n - WINDOW).min(at),
    };
    let end = (start + WINDOW).min(chars.len());
    let text = |part: &[char]| shown(&part.iter().collect::<String>()).into_owned();
    let before = text(&chars[start..at.max(start).min(end)]);
    // Of a line that is longer than what is kept of it the column may lie far out.
    let farthest = before.chars().count().max(WINDOW) + 1;
    let column = (before.chars().count() + column.saturating_sub(at)).min(farthest);
    (before + &text(&chars[at.max(start).min(end)..end]), column)
}

#[cfg(test)]
mod tests;
