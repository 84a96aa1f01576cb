//! The list behind the index of pages: what earlier runs published, kept beside it and public like it.

use std::collections::BTreeMap;
use std::path::Path;

use jiff::civil::Date;
use serde_json::{Value, json};

use crate::input;

/// Its name, in the folder of pages.
pub(super) const FILE: &str = "records.json";

const FORM: &str = "decant index 1";

/// The largest list that is read, in bytes: some 200,000 records.
const LARGEST: u64 = 64 << 20;

/// One record, as the index shows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Line {
    /// The day the work begins, to sort by.
    pub day: Date,
    /// The day in words, in the record's language.
    pub date: String,
    /// The site, where it is published.
    pub site: Option<String>,
    /// `planned`, `done`, `deviates` or `not-made`.
    pub state: String,
    /// The record's language.
    pub lang: String,
}

impl Line {
    /// As the template takes it.
    pub fn view(&self, number: &str, path: &str) -> Value {
        // a folder's own page is named without it: hosts answer either, and it is what the code says
        let path = path.strip_suffix("index.html").unwrap_or(path);
        json!({
            "number": number, "path": path, "date": self.date, "site": self.site.as_deref().unwrap_or("–"),
            "state": self.state, "lang": self.lang,
        })
    }
}

/// The records of a folder of pages, by number.
#[derive(Debug, Default)]
pub(super) struct Index {
    records: BTreeMap<String, Line>,
}

impl Index {
    /// Reads the list of a folder; a folder without one has none yet.
    pub fn read(folder: &Path) -> Result<Index, String> {
        let path = folder.join(FILE);
        let bytes = match input::read(&path, LARGEST) {
            Ok(bytes) => bytes,
            Err(e) if e.is_not_found() => return Ok(Index::default()),
            Err(e) => return Err(format!("{}: {e}", path.display())),
        };
        let text = String::from_utf8(bytes).unwrap_or_default();
        Self::parse(&text).ok_or_else(|| {
            format!("{} is not a list of records; take it away, and make the pages anew", path.display())
        })
    }

    fn parse(text: &str) -> Option<Index> {
        let value: Value = serde_json::from_str(text).ok()?;
        if value["form"] != FORM {
            return None;
        }
        let mut records = BTreeMap::new();
        for record in value["records"].as_array()? {
            let text = |key: &str| record[key].as_str().map(str::to_owned);
            let number = text("number").filter(|n| is_number(n))?;
            let line = Line {
                day: text("day")?.parse().ok()?,
                date: text("date")?,
                site: text("site"),
                state: text("state").filter(|s| matches!(s.as_str(), "planned" | "done" | "deviates" | "not-made"))?,
                lang: text("lang")?,
            };
            records.insert(number, line);
        }
        Some(Index { records })
    }

    /// Puts a record in, or takes it out.
    pub fn set(&mut self, number: &str, line: Option<Line>) {
        match line {
            Some(line) => self.records.insert(number.to_owned(), line),
            None => self.records.remove(number),
        };
    }

    /// Keeps the records that `keep` says.
    pub fn retain(&mut self, keep: impl Fn(&str) -> bool) {
        self.records.retain(|number, _| keep(number));
    }

    /// The newest first.
    pub fn lines(&self) -> impl Iterator<Item = (&str, &Line)> {
        let mut lines: Vec<(&str, &Line)> = self.records.iter().map(|(n, l)| (n.as_str(), l)).collect();
        lines.sort_by(|(a, x), (b, y)| y.day.cmp(&x.day).then(a.cmp(b)));
        lines.into_iter()
    }

    /// The list as it is kept.
    pub fn json(&self) -> Result<Vec<u8>, String> {
        let records: Vec<Value> = self
            .records
            .iter()
            .map(|(number, line)| {
                json!({
                    "number": number, "day": line.day, "date": line.date, "site": line.site, "state": line.state,
                    "lang": line.lang,
                })
            })
            .collect();
        let text = serde_json::to_string_pretty(&json!({ "form": FORM, "records": records }));
        text.map(|text| (text + "\n").into_bytes()).map_err(|e| e.to_string())
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

    #[test]
    fn a_list_is_read_back_newest_first() {
        let line = |day: &str| Line {
            day: day.parse().expect("a day"),
            date: "Mon".into(),
            site: None,
            state: "done".into(),
            lang: "en".into(),
        };
        let mut index = Index::default();
        index.set("2026-1-aaaaaaaa", Some(line("2026-04-13")));
        index.set("2026-2-bbbbbbbb", Some(line("2026-04-20")));
        index.set("2026-3-cccccccc", Some(line("2026-04-01")));
        index.set("2026-3-cccccccc", None);
        let text = String::from_utf8(index.json().expect("JSON")).expect("text");
        let read = Index::parse(&text).expect("a list");
        let numbers: Vec<&str> = read.lines().map(|(number, _)| number).collect();
        assert_eq!(numbers, ["2026-2-bbbbbbbb", "2026-1-aaaaaaaa"]);
        assert_eq!(read.records, index.records);
    }

    #[test]
    fn a_list_of_somebody_elses_is_not_believed() {
        let with = |number: &str| {
            let record = json!({ "number": number, "day": "2026-04-13", "date": "", "site": null, "state": "done", "lang": "en" });
            Index::parse(&json!({ "form": FORM, "records": [record] }).to_string()).is_some()
        };
        assert!(with("2026-0413-173a8632"));
        for number in ["../../etc-173a8632", "javascript:alert(1)-173a8632", "2026-0413", "a-173a863x"] {
            assert!(!with(number), "{number}");
        }
        assert!(Index::parse("[]").is_none() && Index::parse("{").is_none());
    }
}
