//! `decant register`: what many records say together, as CSV and PDF.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use jiff::civil::DateTime;
use serde_json::{Value, json};

use super::Exit;
use super::plan::own_fault;
use super::prepare::tell;
use super::write::write_whole;
use crate::catalog::Tongue;
use crate::register::{Key, Reading, RecordFile, Sum, read, readings, readings_csv, sums, uses_csv};
use crate::report::Report;
use crate::typeset::{Press, Sheet, Template, TypesetError};
use crate::wording::{WordingError, Words};

/// A record of the largest job stays far below this.
const LARGEST: u64 = 16 << 20;
/// Folders in folders that are looked into.
const DEEPEST: usize = 8;

pub(super) fn run(folder: &Path, output: &Path, language: Option<&Tongue>) -> Exit {
    match make(folder, output, language) {
        Ok(()) => Exit::Done,
        Err(exit) => exit,
    }
}

fn make(folder: &Path, output: &Path, language: Option<&Tongue>) -> Result<(), Exit> {
    let words = words(language)?;
    let records = records(folder)?;
    let Some(first) = records.first() else {
        eprintln!("error: {}: no file named `…-record.json` is in it", folder.display());
        return Err(Exit::BadInput);
    };
    let (uses, read) = (sums(&records), readings(&records));
    let data = view(&words, first, &uses, &read).map_err(|e| own_fault(&e.to_string()))?;
    let sheet = Sheet {
        template: Template::Register,
        data: serde_json::to_vec(&data).map_err(|e| own_fault(&e.to_string()))?,
        date: last_month(&uses),
        ident: "register".to_owned(),
    };
    let pdf = Press::new()
        .typeset(&sheet)
        .and_then(|set| set.pdf())
        .map_err(|e| match e {
            TypesetError::MissingGlyph { .. } => {
                eprintln!("error: the register cannot be printed: {e}");
                Exit::BadInput
            }
            e => own_fault(&e.to_string()),
        })?;
    for (name, bytes) in [
        ("register.csv", uses_csv(&uses).into_bytes()),
        ("register-readings.csv", readings_csv(&read).into_bytes()),
        ("register.pdf", pdf),
    ] {
        let path = output.join(name);
        write_whole(&path, &bytes).map_err(|e| {
            eprintln!("error: cannot write {}: {e}", path.display());
            Exit::SomeFailed
        })?;
        println!("{}", path.display());
    }
    Ok(())
}

fn words(language: Option<&Tongue>) -> Result<Words, Exit> {
    match language {
        Some(Tongue::Own(file)) => {
            let mut report = Report::new();
            let words = Words::from_file(file, &mut report);
            tell(&report);
            words.filter(|_| !report.has_errors()).ok_or(Exit::BadInput)
        }
        Some(Tongue::BuiltIn(tag)) => Words::of(tag).map_err(|e| own_fault(&e.to_string())),
        None => Words::english().map_err(|e| own_fault(&e.to_string())),
    }
}

/// All records of a folder; every file that is none is told. A job counts once: two records of it that differ are an error,
/// since nobody here can say which of them was done.
fn records(folder: &Path) -> Result<Vec<RecordFile>, Exit> {
    let mut paths = Vec::new();
    find(folder, 0, &mut paths).map_err(|e| {
        eprintln!("error: {}: {e}", folder.display());
        Exit::BadInput
    })?;
    paths.sort();
    let mut found: BTreeMap<String, (PathBuf, RecordFile)> = BTreeMap::new();
    let mut sound = true;
    for path in paths {
        let record = fs::metadata(&path)
            .and_then(|it| {
                if it.len() > LARGEST {
                    Err(io::Error::other("it is too large for a record"))
                } else {
                    fs::read(&path)
                }
            })
            .map_err(|e| e.to_string())
            .and_then(|bytes| read(&bytes).map_err(|e| e.to_string()));
        match record {
            Ok(record) => match found.get(&record.job) {
                Some((other, same)) if *same != record => {
                    sound = false;
                    eprintln!(
                        "error: {} and {} are different records of job {}",
                        other.display(),
                        path.display(),
                        record.job
                    );
                    eprintln!("  = keep in the folder the one that counts");
                }
                Some(_) => {}
                None => {
                    found.insert(record.job.clone(), (path, record));
                }
            },
            Err(told) => {
                sound = false;
                eprintln!("error: {}: {told}", path.display());
            }
        }
    }
    if !sound {
        return Err(Exit::BadInput);
    }
    Ok(found.into_values().map(|(_, record)| record).collect())
}

/// Every `…-record.json` below a folder. Symbolic links are not followed: they may lead round in a ring, or out.
fn find(folder: &Path, depth: usize, paths: &mut Vec<PathBuf>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let kind = entry.file_type()?;
        if kind.is_dir() && depth < DEEPEST {
            find(&entry.path(), depth + 1, paths)?;
        } else if kind.is_file() && entry.file_name().to_string_lossy().ends_with("-record.json") {
            paths.push(entry.path());
        }
    }
    Ok(())
}

/// The document's date: the last month in it, so that the same records give the same bytes.
fn last_month(uses: &BTreeMap<Key, Sum>) -> DateTime {
    let last = uses.keys().map(|key| key.month.as_str()).max().unwrap_or_default();
    let day = format!("{last}-01").parse().unwrap_or(jiff::civil::date(1980, 1, 1));
    day.at(0, 0, 0, 0)
}

fn view(
    words: &Words,
    first: &RecordFile,
    uses: &BTreeMap<Key, Sum>,
    read: &[&Reading],
) -> Result<Value, WordingError> {
    let yes_no = |yes: bool| words.word(if yes { "register.yes" } else { "register.no" });
    let mut rows = Vec::new();
    for (key, sum) in uses {
        let litres = &sum.solution / &crate::quantity::Number::int(1000);
        rows.push(json!([
            key.site,
            key.month,
            key.product,
            key.registration,
            format!("{}\u{a0}{}", sum.product.decimal(0), key.unit),
            format!("{}\u{a0}L", litres.decimal(1)),
            format!("{}\u{a0}m²", sum.area.decimal(0)),
            yes_no(key.logged)?,
        ]));
    }
    let mut lines = Vec::new();
    for r in read {
        let between = |low: String, high: String| if low == high { low } else { format!("{low}–{high}") };
        let band = r.band.as_ref().map(|(low, passes, high)| {
            let sign = if *passes { "" } else { "> " };
            format!("{sign}{}", between(low.decimal(0), high.decimal(0)))
        });
        let result = r.result();
        lines.push(json!({
            "cells": [
                r.mixed.replace('T', " "), r.site, r.product, format!("{}: {}.{}", r.job, r.treatment, r.load),
                band.unwrap_or_default(), between(r.low.decimal(0), r.high.decimal(0)),
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
