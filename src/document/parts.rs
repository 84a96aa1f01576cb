//! Pieces that several documents have in common.

use serde::Serialize;
use serde_json::Value;

use super::Said;
use super::voice::{Voice, whole_minutes};
use crate::company::{Company, Equipment};
use crate::plan::{AreaPlan, TreatmentPlan};
use crate::quantity::Shown;

/// A value with its caption.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Fact {
    pub label: String,
    pub value: String,
}

impl Fact {
    pub fn new(label: String, value: impl Into<String>) -> Fact {
        Fact { label, value: value.into() }
    }
}

/// A figure in large type with a line below it.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Figure {
    pub big: String,
    pub small: Option<String>,
}

impl From<Shown> for Figure {
    fn from(shown: Shown) -> Figure {
        Figure { big: shown.main, small: Some(shown.also).filter(|also| !also.is_empty()) }
    }
}

/// The company, as it stands at the head of what it hands over.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Firm {
    name: String,
    address: String,
    phone: String,
    licence: Option<String>,
}

impl From<&Company> for Firm {
    fn from(company: &Company) -> Firm {
        let Company { name, address, phone, licence, .. } = company.clone();
        Firm { name, address, phone: phone_number(&phone), licence }
    }
}

/// A telephone number whose groups of figures are never parted over two lines; words beside it may be.
pub(super) fn phone_number(written: &str) -> String {
    let is_of_number =
        |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit() || matches!(c, '(' | ')' | '+' | '-' | '/'));
    let (mut text, mut before) = (String::new(), None);
    let mut rest = written.chars().peekable();
    while let Some(c) = rest.next() {
        let joins = c == ' ' && is_of_number(before) && is_of_number(rest.peek().copied());
        text.push(if joins { '\u{a0}' } else { c });
        before = Some(c);
    }
    text
}

/// The texts of a page's data with each figure on one line with its unit and its sign: `1 min 30 s`, `> 600 ppm`.
pub(super) fn keep_units(data: &mut Value) {
    match data {
        Value::String(text) => *text = with_units_kept(text),
        Value::Array(items) => items.iter_mut().for_each(keep_units),
        Value::Object(fields) => fields.iter_mut().filter(|(key, _)| *key != "svg").for_each(|(_, of)| keep_units(of)),
        _ => {}
    }
}

fn with_units_kept(text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let is_unit = |at: usize| {
        let word = words.get(at).copied().unwrap_or_default();
        let letters = word.chars().take_while(|c| c.is_alphabetic()).count();
        (1..=3).contains(&letters) && !word.chars().nth(letters).is_some_and(|c| c.is_ascii_digit())
    };
    let ends_in_figure = |at: usize| words[at].ends_with(|c: char| c.is_ascii_digit());
    let mut kept = words[0].to_owned();
    for at in 1..words.len() {
        let unit = is_unit(at) && ends_in_figure(at - 1) || matches!(words[at - 1], ">" | "<");
        // the rest of a figure in two units
        let rest = at > 1 && is_unit(at - 1) && ends_in_figure(at - 2) && ends_in_figure(at) && is_unit(at + 1);
        kept.push(if unit || rest { '\u{a0}' } else { ' ' });
        kept.push_str(words[at]);
    }
    kept
}

/// A client, site or day: a name, and what stands below it.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Named {
    pub name: String,
    pub lines: Vec<String>,
}

impl Named {
    pub fn new(name: impl Into<String>, lines: impl IntoIterator<Item = String>) -> Named {
        Named { name: name.into(), lines: lines.into_iter().collect() }
    }
}

/// The printed code.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Qr {
    /// An SVG with its quiet zone.
    pub svg: String,
    pub alt: String,
}

/// The record that a document belongs to.
#[derive(Clone, Debug, Serialize)]
pub(super) struct RecordMark {
    pub number: String,
    /// Its SHA-256 in groups; `None` until the record is made.
    pub digest: Option<String>,
    pub qr: Qr,
}

/// Something to wear, with the name of its sign.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Wear {
    sign: &'static str,
    words: String,
}

impl Wear {
    /// With how many of it: `2 × Goggles`.
    pub fn times(self, count: usize) -> Wear {
        Wear { words: format!("{count} × {}", self.words), ..self }
    }
}

pub(super) fn wear(voice: &Voice<'_>, items: impl Iterator<Item = Equipment>) -> Said<Vec<Wear>> {
    let row = |item: Equipment| {
        let sign = item.word();
        Ok(Wear { sign, words: voice.word(&format!("equipment.{sign}"))? })
    };
    items.map(row).collect()
}

/// Something to watch for.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Watch {
    pub severity: &'static str,
    /// The severity in words.
    pub word: String,
    pub text: String,
}

/// An area as it is planned, or all of them together.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Extent {
    pub name: String,
    pub size: String,
    pub solution: String,
    pub minutes: String,
}

/// An area with its times.
#[derive(Clone, Debug, Serialize)]
pub(super) struct AreaRow {
    #[serde(flatten)]
    extent: Extent,
    start: String,
    wet_until: String,
}

pub(super) fn area_rows(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Vec<AreaRow>> {
    let row = |area: &AreaPlan| {
        Ok(AreaRow {
            extent: Extent {
                name: area.name.clone(),
                size: voice.units.area(&area.size).main,
                solution: voice.units.solution(&area.solution).main,
                minutes: voice.units.count(&whole_minutes(&area.spraying)).main,
            },
            start: voice.clock(area.times.start)?,
            wet_until: voice.clock(area.times.wet_until)?,
        })
    };
    treatment.areas.iter().map(row).collect()
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    #[test]
    fn a_figure_keeps_its_unit() {
        let drawn = "M1 1 h7";
        let mut data =
            json!({ "a": ["every 1 min 30 s, 2 times", "> 9.6 fl oz/min", "2,770 ft²", "load 2: weak"], "svg": drawn });
        super::keep_units(&mut data);
        let kept = ["every 1~min~30~s, 2 times", ">~9.6~fl oz/min", "2,770~ft²", "load 2: weak"];
        assert_eq!(data, json!({ "a": kept.map(|text| text.replace('~', "\u{a0}")), "svg": drawn }));
    }
}
