//! What many records say together, as tables and a PDF.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use jiff::civil::DateTime;
use serde_json::{Value, json};

use super::context::Context;
use super::failure::Failure;
use crate::input::{self, InputError};
use crate::quantity::Number;
use crate::register::{Key, READINGS, Reading, Recorded, Sum, USES, read, readings, readings_rows, sums, uses_rows};
use crate::spreadsheet::table;
use crate::typeset::{Press, Sheet, Template, TypesetError};
use crate::wording::{WordingError, Words};

/// A record of the largest job stays far below this.
const LARGEST: u64 = 16 << 20;
/// Folders in folders that are looked into.
const DEEPEST: usize = 8;

/// The files of a register of all records in a folder: names and content.
pub fn register(folder: &Path, context: &Context) -> Result<Vec<(&'static str, Vec<u8>)>, Failure> {
    let words = context.own_words()?;
    let records = records(folder)?;
    let Some(first) = records.first() else {
        return Err(Failure::error(format_args!("{}: no file named `…-record.json` is in it", folder.display())));
    };
    let (uses, read) = (sums(&records), readings(&records));
    let sheet = Sheet {
        template: Template::Register,
        data: serde_json::to_vec(&view(&words, first, &uses, &read)?).map_err(Failure::internal)?,
        date: last_month(&uses),
        ident: "register".to_owned(),
    };
    let pdf = Press::new().typeset(&sheet).and_then(|set| set.pdf()).map_err(|e| match e {
        TypesetError::MissingGlyph { .. } => Failure::error(format_args!("the register cannot be printed: {e}")),
        e => Failure::internal(e),
    })?;
    Ok(vec![
        ("register.csv", table(&USES, uses_rows(&uses)).map_err(Failure::internal)?),
        ("register-readings.csv", table(&READINGS, readings_rows(&read)).map_err(Failure::internal)?),
        ("register.pdf", pdf),
    ])
}

/// All records of a folder; every file that is none is reported. A job counts once, by its newest revision: two records of one
/// revision that differ are an error, since nobody here can say which of them was done.
fn records(folder: &Path) -> Result<Vec<Recorded>, Failure> {
    let mut paths = Vec::new();
    find(folder, 0, &mut paths).map_err(|e| Failure::error(format_args!("{}: {e}", folder.display())))?;
    paths.sort();
    let mut found: BTreeMap<(String, u64), (PathBuf, Recorded)> = BTreeMap::new();
    let mut failures: Vec<Failure> = Vec::new();
    for path in paths {
        let record = match record(&path) {
            Ok(record) => record,
            Err(problem) => {
                failures.push(Failure::error(format_args!("{}: {problem}", path.display())));
                continue;
            }
        };
        let key = (record.job.clone(), record.revision);
        match found.get(&key) {
            Some((other, same)) if *same != record => {
                let (other, path, job) = (other.display(), path.display(), record.job);
                let failure = Failure::error(format_args!("{other} and {path} are different records of job {job}"));
                failures.push(failure.hint("keep in the folder the one that counts"));
            }
            Some(_) => {}
            None => {
                found.insert(key, (path, record));
            }
        }
    }
    if let Some(failure) = failures.into_iter().reduce(Failure::and) {
        return Err(failure);
    }
    // in order of job and revision: the last of a job stays
    let newest: BTreeMap<String, Recorded> = found.into_iter().map(|((job, _), (_, record))| (job, record)).collect();
    Ok(newest.into_values().collect())
}

fn record(path: &Path) -> Result<Recorded, String> {
    let bytes = input::read(path, LARGEST).map_err(|e| match e {
        InputError::TooLarge(_) => "it is too large for a record".to_owned(),
        e => e.to_string(),
    })?;
    read(&bytes).map_err(|e| e.to_string())
}

/// Every `…-record.json` below a folder. Symbolic links are not followed: they may lead in a circle, or out.
fn find(folder: &Path, depth: usize, paths: &mut Vec<PathBuf>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let kind = entry.file_type()?;
        if kind.is_dir() && depth < DEEPEST {
            find(&entry.path(), depth + 1, paths)?;
        } else if kind.is_file() && is_record(&entry.file_name().to_string_lossy()) {
            paths.push(entry.path());
        }
    }
    Ok(())
}

/// `JOB-record.json`, and `JOB-record-r2.json` of a later revision.
fn is_record(name: &str) -> bool {
    let later = |revision: &str| !revision.is_empty() && revision.bytes().all(|b| b.is_ascii_digit());
    name.strip_suffix(".json").is_some_and(|stem| {
        stem.ends_with("-record")
            || stem.rsplit_once("-r").is_some_and(|(name, revision)| name.ends_with("-record") && later(revision))
    })
}

/// The document's date: the last month in it, so that the same records give the same bytes.
fn last_month(uses: &BTreeMap<Key, Sum>) -> DateTime {
    let last = uses.keys().map(|key| key.month.as_str()).max().unwrap_or_default();
    let day = format!("{last}-01").parse().unwrap_or(jiff::civil::date(1980, 1, 1));
    day.at(0, 0, 0, 0)
}

fn view(words: &Words, first: &Recorded, uses: &BTreeMap<Key, Sum>, read: &[&Reading]) -> Result<Value, WordingError> {
    let mut rows = Vec::new();
    for (key, sum) in uses {
        let litres = &sum.solution / &Number::int(1000);
        rows.push(json!([
            key.site,
            key.month,
            key.product,
            key.registration,
            format!("{}\u{a0}{}", sum.product.decimal(0), key.unit),
            format!("{}\u{a0}L", litres.decimal(1)),
            format!("{}\u{a0}m²", sum.area.decimal(0)),
            words.word(&format!("register.{}", key.basis.word()))?,
        ]));
    }
    let mut lines = Vec::new();
    for r in read {
        let between = |low: String, high: String| if low == high { low } else { format!("{low}–{high}") };
        let band = r.band.as_ref().map(|band| {
            let (low, high) = (band.low.decimal(0), band.high.decimal(0));
            let above = if band.low_passes { "" } else { "> " };
            let below = if band.high_passes { "" } else { "< " };
            between(format!("{above}{low}"), format!("{below}{high}"))
        });
        let read = between(r.low.decimal(0), r.high.decimal(0));
        let read = match &r.error {
            Some(error) => format!("{read} ± {}", error.decimal(1)),
            None => read,
        };
        let result = r.result();
        lines.push(json!({
            "cells": [
                r.mixed.replace('T', " "), r.site, r.product, format!("{}: {}.{}", r.job, r.treatment, r.load),
                band.unwrap_or_default(), read,
                words.word(&format!("certificate.{result}"))?,
            ],
            "pass": result == "passes",
        }));
    }
    Ok(json!({
        "lang": words.language,
        "title": words.word("register.heading")?,
        "author": first.company,
        "accent": null, "logo": null, "lines": [], "draft": false,
        "page": first.page,
        "company": first.company,
        "words": words.group("register.words"),
        "deference": words.word("deference")?,
        "uses": rows,
        "readings": lines,
    }))
}
