//! `decant render`: the documents of a job.

use std::path::{Path, PathBuf};

use clap::ValueEnum;
use serde_json::json;

use super::Exit;
use super::label_run::{Failure, fault, set_view};
use super::plan::own_fault;
use super::prepare::{Prepared, prepare};
use super::views::{Asked, Views, views};
use super::write::write_whole;
use crate::catalog::Tongue;
use crate::document::View;
use crate::record::{RecordFile, revision_mark, sha256};
use crate::typeset::{Ink, Press, Template};

/// A document that can be asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Kind {
    /// Container labels, one a load
    Labels,
    /// The technician's mix sheet
    MixSheet,
    /// The client's certificate
    Certificate,
}

/// What is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// Tagged PDF/A
    Pdf,
    /// One picture a page
    Png,
    /// One drawing a page
    Svg,
}

/// What pages are printed with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum PageInk {
    /// Colours and greys
    Colour,
    /// Black alone, for label printers; PNG has one bit a dot
    Black,
}

impl From<PageInk> for Ink {
    fn from(ink: PageInk) -> Ink {
        match ink {
            PageInk::Colour => Ink::Colour,
            PageInk::Black => Ink::Black,
        }
    }
}

/// What was asked for.
pub(super) struct Request<'a> {
    pub job: &'a Path,
    pub output: Option<&'a Path>,
    pub only: &'a [Kind],
    pub format: Format,
    pub dpi: u32,
    pub ink: Ink,
    pub draft: bool,
    pub language: Option<&'a Tongue>,
    pub first: Option<u32>,
    pub copies: Option<u32>,
    pub printer: Option<&'a str>,
}

pub(super) fn run(request: &Request<'_>) -> Exit {
    let prepared = match prepare(request.job) {
        Ok(prepared) => prepared,
        Err(exit) => return exit,
    };
    let kinds = if request.only.is_empty() {
        Kind::value_variants()
    } else {
        request.only
    };
    let asked = Asked {
        kinds,
        draft: request.draft,
        ink: request.ink,
        language: request.language,
        first: request.first,
        copies: request.copies,
        printer: request.printer,
    };
    let mut made = match views(&prepared, &asked) {
        Ok(made) => made,
        Err(exit) => return exit,
    };
    let folder = match request.output {
        Some(folder) => folder.to_owned(),
        None => request.job.parent().unwrap_or(Path::new("")).join("out"),
    };
    if let Err(told) = follows_on(&made.record, &prepared.plan.job, &folder) {
        eprintln!("error: {told}");
        return Exit::BadInput;
    }
    attach(&mut made);
    let ended = set_all(request, &prepared, &made, &folder);
    // What failed outweighs a certificate that was rightly withheld, or that says what was not kept.
    match ended {
        Exit::Done if made.withheld || made.deviates => Exit::CertificateWithheld,
        _ => ended,
    }
}

/// Puts record and seal into the certificate. A draft carries neither.
fn attach(made: &mut Views) {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    let (record, seal) = (text(&made.record.json), text(&made.seal));
    for view in made.views.iter_mut().filter(|v| v.template == Template::Certificate) {
        if view.data["draft"] == false {
            view.data["attached"] = json!({ "record": record, "seal": seal });
        }
    }
}

/// The names of a record's file and its seal's.
fn record_names(job: &str, revision: u32) -> (String, String) {
    let mark = revision_mark(revision);
    (format!("{job}-record{mark}.json"), format!("{job}-seal{mark}.json"))
}

/// A later revision replaces the one before. If that one lies in the folder, it must be the one that is named.
fn follows_on(record: &RecordFile, job: &str, folder: &Path) -> Result<(), String> {
    let Some(named) = &record.replaces else { return Ok(()) };
    let (before, _) = record_names(job, record.revision - 1);
    let path = folder.join(before);
    match std::fs::read(&path).map(|bytes| sha256(&bytes)) {
        Ok(digest) if digest != *named => Err(format!(
            "the log says that it replaces the record {named}, and {} has the SHA-256 {digest}",
            path.display()
        )),
        _ => Ok(()),
    }
}

fn set_all(request: &Request<'_>, prepared: &Prepared, all: &Views, folder: &Path) -> Exit {
    let press = Press::with(all.templates.clone());
    let (mut made, mut failed) = (0, 0);
    for view in &all.views {
        match set(request, prepared, &press, view, folder) {
            Ok(paths) => {
                made += 1;
                paths.iter().for_each(|path| println!("{}", path.display()));
            }
            Err(Failure::Own(fault)) => return own_fault(&fault),
            Err(Failure::User(told)) => {
                failed += 1;
                eprintln!("error: {}: {told}", view.stem);
            }
            Err(Failure::Problem(problem)) => {
                failed += 1;
                eprintln!("error: {} was not made:", view.stem);
                eprint!("{problem}");
            }
        }
    }
    if failed == 0 && made > 0 {
        let (record, seal) = record_names(&prepared.plan.job, all.record.revision);
        for (name, bytes) in [(record, &all.record.json), (seal, &all.seal)] {
            let path = folder.join(name);
            if let Err(e) = write_whole(&path, bytes) {
                eprintln!("error: {}: {e}", path.display());
                return Exit::SomeFailed;
            }
            println!("{}", path.display());
        }
    }
    match (made, failed) {
        (_, 0) => Exit::Done,
        (0, _) => Exit::BadInput,
        _ => Exit::SomeFailed,
    }
}

fn set(
    request: &Request<'_>,
    prepared: &Prepared,
    press: &Press,
    view: &View,
    folder: &Path,
) -> Result<Vec<PathBuf>, Failure> {
    let ident = format!("{}/{}", prepared.record.number, view.stem);
    let typeset = set_view(press, view, &ident, prepared.plan.start, &prepared.job.catalog)?;
    let files: Vec<(PathBuf, Vec<u8>)> = match request.format {
        Format::Pdf => {
            let name = format!("{}.pdf", view.stem);
            vec![(folder.join(name), typeset.pdf().map_err(fault)?)]
        }
        Format::Png => {
            let pages = match request.ink {
                Ink::Colour => typeset.png(request.dpi),
                Ink::Black => typeset.one_bit_png(request.dpi),
            };
            numbered(folder, view, "png", pages.map_err(fault)?)
        }
        Format::Svg => numbered(
            folder,
            view,
            "svg",
            typeset.svg().into_iter().map(String::into_bytes).collect(),
        ),
    };
    for (path, bytes) in &files {
        write_whole(path, bytes).map_err(|e| Failure::User(format!("cannot write {}: {e}", path.display())))?;
    }
    Ok(files.into_iter().map(|(path, _)| path).collect())
}

fn numbered(folder: &Path, view: &View, ending: &str, pages: Vec<Vec<u8>>) -> Vec<(PathBuf, Vec<u8>)> {
    let name = |i: usize| folder.join(format!("{}-{}.{ending}", view.stem, i + 1));
    pages
        .into_iter()
        .enumerate()
        .map(|(i, bytes)| (name(i), bytes))
        .collect()
}
