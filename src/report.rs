//! Problems, collected and spoken to the user: what is wrong, where, and what to do.

use std::collections::BTreeSet;
use std::fmt::{self, Write};

use serde::Serialize;

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
        }
    }

    /// At this place.
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
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

/// All problems found so far, in the order found: of each severity the first [`MOST_SHOWN`], and how many more there were.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Report {
    problems: Vec<Diagnostic>,
    /// Code, place and message of each, so that what two treatments find in one company file is reported once.
    #[serde(skip)]
    seen: BTreeSet<(&'static str, String, String, String)>,
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

impl Spot {
    /// The same on another line.
    pub(crate) fn on_line(self, line: usize) -> Spot {
        Spot { line, ..self }
    }
}

impl Report {
    /// Nothing found yet.
    pub fn new() -> Self {
        Report::default()
    }

    /// One more, unless the same is reported of the same place already.
    pub fn push(&mut self, problem: Diagnostic) {
        if self.kept(problem.severity) >= MOST_SHOWN {
            match problem.severity {
                Severity::Error => self.more_errors += 1,
                Severity::Warning => self.more_warnings += 1,
            }
            return;
        }
        if let Some(place) = &problem.place {
            let (file, path) = (place.file.clone(), place.path.clone());
            if !self.seen.insert((problem.code, file, path, problem.message.clone())) {
                return;
            }
        }
        self.problems.push(problem);
    }

    /// One more error that is only counted; for loops that ask [`is_full`](Report::is_full) before they write a message.
    pub fn push_unseen(&mut self) {
        self.more_errors += 1;
    }

    /// How many there are, those that are only counted included.
    pub fn count(&self) -> usize {
        self.problems.len() + self.more_errors + self.more_warnings
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

    fn errors(&self) -> usize {
        self.kept(Severity::Error) + self.more_errors
    }

    /// All of them.
    pub fn problems(&self) -> &[Diagnostic] {
        &self.problems
    }
}

impl fmt::Display for Report {
    /// The report as a terminal shows it: one block a problem, then a count.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for problem in &self.problems {
            write!(f, "{problem}")?;
            writeln!(f)?;
        }
        match self.more_errors + self.more_warnings {
            0 => {}
            more => writeln!(f, "… and {more} more; mend these first\n")?,
        }
        match self.errors() {
            0 => Ok(()),
            1 => writeln!(f, "1 problem found; nothing was written"),
            n => writeln!(f, "{n} problems found; nothing was written"),
        }
    }
}

impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = match self.severity {
            Severity::Error => "error",
            Severity::Warning => "warning",
        };
        writeln!(f, "{word}[{}]: {}", self.code, self.message)?;
        if let Some(place) = &self.place {
            write!(f, "  --> {}", place.file)?;
            if let Some(spot) = &place.spot {
                write!(f, ":{}:{}", spot.line, spot.column)?;
            }
            if !place.path.is_empty() {
                write!(f, "  {}", place.path)?;
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
        for hint in &self.hints {
            writeln!(f, "  = {hint}")?;
        }
        Ok(())
    }
}

/// Control characters and those that reorder or hide text: never printed, on paper or terminal.
pub fn is_unseen(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}' | '\u{FFFD}')
}

/// A long line cut to a window of 100 characters around the column; tabs and control characters become spaces.
fn excerpt(line: &str, column: usize) -> (String, usize) {
    const WINDOW: usize = 100;
    let chars: Vec<char> = line.chars().map(|c| if is_unseen(c) { ' ' } else { c }).collect();
    if chars.len() <= WINDOW {
        return (chars.into_iter().collect(), column.min(WINDOW + 1));
    }
    let start = column.saturating_sub(WINDOW / 2).min(chars.len() - WINDOW);
    // of a line that is longer than what is kept of it the column may lie far out
    (
        chars[start..start + WINDOW].iter().collect(),
        (column - start).min(WINDOW + 1),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_problem_reads_well() {
        let problem = Diagnostic::error("unknown-unit", "`5 gl` has a unit that is not known")
            .at(Place {
                file: "job.yaml".into(),
                path: "treatments[0].reserve".into(),
                spot: Some(Spot {
                    line: 12,
                    column: 14,
                    text: "    reserve: 5 gl".into(),
                }),
            })
            .hint("did you mean `gal`?");
        let expected = "error[unknown-unit]: `5 gl` has a unit that is not known\n  --> job.yaml:12:14  treatments[0].reserve\n      |\n   12 |     reserve: 5 gl\n      |              ^\n  = did you mean `gal`?\n";
        assert_eq!(problem.to_string(), expected);
    }

    #[test]
    fn the_same_problem_of_the_same_place_is_reported_once() {
        let place = |path: &str| Place {
            file: "company.yaml".into(),
            path: path.into(),
            spot: None,
        };
        let mut report = Report::new();
        for path in ["products.a", "products.a", "products.b"] {
            report.push(Diagnostic::error("no-coverage", "not known").at(place(path)));
        }
        report.push(Diagnostic::error("no-coverage", "known otherwise").at(place("products.a")));
        assert_eq!(report.problems().len(), 3);
    }

    #[test]
    fn the_first_fifty_are_shown_and_all_are_counted() {
        let mut report = Report::new();
        for i in 0..MOST_SHOWN {
            assert!(!report.is_full());
            report.push(Diagnostic::error("e", format!("problem {i}.")));
        }
        assert!(report.is_full());
        report.push(Diagnostic::error("e", "the last"));
        report.push_unseen();
        let mut warning = Diagnostic::error("w", "a warning is kept though the errors are many");
        warning.severity = Severity::Warning;
        report.push(warning);
        let shown = report.to_string();
        assert_eq!(shown.matches("error[e]").count(), MOST_SHOWN);
        assert!(
            shown.contains("a warning is kept") && !shown.contains("the last"),
            "{shown}"
        );
        assert!(shown.contains("… and 2 more; mend these first"), "{shown}");
        assert!(shown.ends_with("52 problems found; nothing was written\n"), "{shown}");
        assert!(report.has_errors() && !Report::new().has_errors());
    }

    #[test]
    fn a_very_long_line_is_cut_around_the_spot() {
        let line = "x".repeat(10_000);
        let (shown, column) = excerpt(&line, 5_000);
        assert_eq!((shown.len(), column), (100, 50));
        assert_eq!(excerpt(&line, 1 << 20).1, 101);
        assert_eq!(excerpt("x", 1 << 20).1, 101);
    }
}
