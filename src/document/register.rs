//! The register: product used and strip readings, as tables.

use std::collections::BTreeMap;

use serde::Serialize;

use super::Said;
use crate::quantity::Number;
use crate::register::{Key, Reading, Recorded, Sum};
use crate::wording::Words;

/// The look is not the company's: records of several may stand in one register.
#[derive(Serialize)]
pub struct Register {
    lang: String,
    title: String,
    author: String,
    accent: Option<String>,
    logo: Option<String>,
    lines: [String; 0],
    draft: bool,
    page: String,
    company: String,
    words: BTreeMap<String, String>,
    deference: String,
    /// Site, month, product, registration, amount, solution, area, and what they rest on.
    uses: Vec<[String; 8]>,
    readings: Vec<ReadingRow>,
}

#[derive(Serialize)]
struct ReadingRow {
    /// When, where, product, load, band, what was read, and how it compares.
    cells: [String; 7],
    pass: bool,
}

/// What the register's template is given; the company and the paper are those of the first record.
pub fn register(words: &Words, first: &Recorded, uses: &BTreeMap<Key, Sum>, read: &[&Reading]) -> Said<Register> {
    Ok(Register {
        lang: words.language.clone(),
        title: words.word("register.heading")?.to_owned(),
        author: first.company.clone(),
        accent: None,
        logo: None,
        lines: [],
        draft: false,
        page: first.page.clone(),
        company: first.company.clone(),
        words: words.group("register.words"),
        deference: words.word("deference")?.to_owned(),
        uses: uses.iter().map(|(key, sum)| use_row(words, key, sum)).collect::<Said<_>>()?,
        readings: read.iter().map(|reading| reading_row(words, reading)).collect::<Said<_>>()?,
    })
}

fn use_row(words: &Words, key: &Key, sum: &Sum) -> Said<[String; 8]> {
    let liters = &sum.solution / &Number::int(1000);
    Ok([
        key.site.clone(),
        key.month.clone(),
        key.product.clone(),
        key.registration.clone(),
        format!("{}\u{a0}{}", sum.product.decimal(0), key.unit),
        format!("{}\u{a0}L", liters.decimal(1)),
        format!("{}\u{a0}m²", sum.area.decimal(0)),
        words.word(&format!("register.{}", key.basis.word()))?.to_owned(),
    ])
}

fn reading_row(words: &Words, r: &Reading) -> Said<ReadingRow> {
    let between = |low: String, high: String| if low == high { low } else { format!("{low}–{high}") };
    let band = r.band.as_ref().map(|band| {
        let (low, high) = (band.low.decimal(0), band.high.decimal(0));
        let above = if band.low_passes { "" } else { "> " };
        let below = if band.high_passes { "" } else { "< " };
        between(format!("{above}{low}"), format!("{below}{high}"))
    });
    let read = between(r.low.decimal(0), r.high.decimal(0));
    let result = r.result();
    let cells = [
        r.mixed.replace('T', " "),
        r.site.clone(),
        r.product.clone(),
        format!("{}: {}.{}", r.job, r.treatment, r.load),
        band.unwrap_or_default(),
        r.error.as_ref().map_or(read.clone(), |error| format!("{read} ± {}", error.decimal(1))),
        words.word(&format!("certificate.{result}"))?.to_owned(),
    ];
    Ok(ReadingRow { cells, pass: result == "passes" })
}
