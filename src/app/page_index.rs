//! The list behind the index of pages: what earlier runs published, kept beside it and public like it.

use std::path::Path;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::document::IndexRow;
use crate::input;

/// Its name, in the folder of pages.
pub const FILE: &str = "records.json";

const FORM: &str = "decant index 1";

/// The largest list that is read, in bytes: some 200,000 records.
const LARGEST: u64 = 64 << 20;

/// One record, as the index shows it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Line {
    pub number: String,
    /// The day the work begins, to sort by.
    pub day: Date,
    /// The day in words, in the record's language.
    pub date: String,
    /// The site, where it is published.
    pub site: Option<String>,
    /// `planned`, `pending`, `done`, `deviates` or `not-made`.
    pub state: String,
    /// The record's language.
    pub lang: String,
}

impl Line {
    /// As the index shows it.
    pub fn row(&self, path: &str) -> IndexRow {
        IndexRow {
            number: self.number.clone(),
            // a folder's own page is named without it: hosts answer either, and it is what the code says
            path: path.strip_suffix("index.html").unwrap_or(path).to_owned(),
            day: self.day,
            choices: Vec::new(),
            date: self.date.clone(),
            site: self.site.clone(),
            state: self.state.clone(),
            lang: self.lang.clone(),
        }
    }

    fn is_sound(&self) -> bool {
        let states = ["planned", "pending", "done", "deviates", "not-made"];
        is_number(&self.number) && states.contains(&self.state.as_str())
    }
}

/// The records of a folder of pages, in the order of their numbers.
#[derive(Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Index {
    form: String,
    pub records: Vec<Line>,
}

impl Index {
    /// Reads the list of a folder; a folder without one has none yet.
    pub fn read(folder: &Path) -> Result<Index, String> {
        let path = folder.join(FILE);
        let bytes = match input::read(&path, LARGEST) {
            Ok(bytes) => bytes,
            Err(e) if e.is_not_found() => return Ok(Index { form: FORM.to_owned(), records: Vec::new() }),
            Err(e) => return Err(format!("{}: {e}", path.display())),
        };
        Self::parse(&bytes).ok_or_else(|| {
            format!("{} is not a list of records; take it away, and make the pages anew", path.display())
        })
    }

    fn parse(bytes: &[u8]) -> Option<Index> {
        let index: Index = serde_json::from_slice(bytes).ok()?;
        (index.form == FORM && index.records.iter().all(Line::is_sound)).then_some(index)
    }

    /// Takes a record out, and puts its line in if there is one.
    pub fn set(&mut self, number: &str, line: Option<Line>) {
        self.records.retain(|record| record.number != number);
        self.records.extend(line);
        self.records.sort_by(|a, b| a.number.cmp(&b.number));
    }

    /// The newest first.
    pub fn newest_first(&self) -> Vec<&Line> {
        let mut lines: Vec<&Line> = self.records.iter().collect();
        lines.sort_by(|a, b| b.day.cmp(&a.day).then(a.number.cmp(&b.number)));
        lines
    }

    /// The list as it is kept.
    pub fn json(&self) -> serde_json::Result<Vec<u8>> {
        Ok((serde_json::to_string_pretty(self)? + "\n").into_bytes())
    }
}

/// Whether this can be a record's number: letters, digits, `-`, `_` and `.`, and the short digest at its end.
fn is_number(text: &str) -> bool {
    let plain = text.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.'));
    let digest = text.rsplit_once('-').map(|(_, digest)| digest).unwrap_or_default();
    plain && text.len() <= 40 && digest.len() == 8 && digest.chars().all(|c| c.is_ascii_hexdigit())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(number: &str, day: &str) -> Line {
        let day = day.parse().expect("a day");
        let number = number.to_owned();
        Line { date: "Mon".into(), day, lang: "en".into(), number, site: None, state: "done".into() }
    }

    #[test]
    fn a_list_is_read_back_newest_first() {
        let mut index = Index { form: FORM.to_owned(), records: Vec::new() };
        for (number, day) in
            [("2026-2-bbbbbbbb", "2026-04-20"), ("2026-1-aaaaaaaa", "2026-04-13"), ("2026-3-cccccccc", "2026-04-01")]
        {
            index.set(number, Some(line(number, day)));
        }
        index.set("2026-3-cccccccc", None);
        let read = Index::parse(&index.json().expect("JSON")).expect("a list");
        assert_eq!(read, index);
        let numbers: Vec<&str> = read.newest_first().iter().map(|line| line.number.as_str()).collect();
        assert_eq!(numbers, ["2026-2-bbbbbbbb", "2026-1-aaaaaaaa"]);
    }

    #[test]
    fn a_list_of_somebody_elses_is_not_believed() {
        let is_read = |number: &str| {
            let index = Index { form: FORM.to_owned(), records: vec![line(number, "2026-04-13")] };
            Index::parse(&index.json().expect("JSON")).is_some()
        };
        assert!(is_read("2026-0413-173a8632"));
        for number in ["../../etc-173a8632", "javascript:alert(1)-173a8632", "2026-0413", "a-173a863x"] {
            assert!(!is_read(number), "{number}");
        }
        assert!(Index::parse(b"[]").is_none() && Index::parse(b"{").is_none());
    }
}
