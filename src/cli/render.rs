//! `decant render`: the documents of a job.

use std::path::{Path, PathBuf};

use clap::ValueEnum;

use super::Exit;
use super::label_run::{Failure, fault, set_view};
use super::plan::own_fault;
use super::prepare::{Prepared, prepare};
use super::views::{Asked, templates, views};
use super::write::write_whole;
use crate::catalog::Tongue;
use crate::document::View;
use crate::typeset::{Ink, Press};

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
    let set_with = templates(&prepared, request.ink).and_then(|templates| Ok((templates, views(&prepared, &asked)?)));
    let (templates, made) = match set_with {
        Ok(both) => both,
        Err(exit) => return exit,
    };
    let folder = match request.output {
        Some(folder) => folder.to_owned(),
        None => request.job.parent().unwrap_or(Path::new("")).join("out"),
    };
    let ended = set_all(request, &prepared, Press::with(templates), &made.views, &folder);
    // What failed outweighs a certificate that was rightly withheld.
    match ended {
        Exit::Done if made.withheld => Exit::CertificateWithheld,
        _ => ended,
    }
}

fn set_all(request: &Request<'_>, prepared: &Prepared, press: Press, views: &[View], folder: &Path) -> Exit {
    let (mut made, mut failed) = (0, 0);
    for view in views {
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
        let path = folder.join(format!("{}-record.json", prepared.plan.job));
        if let Err(e) = write_whole(&path, &prepared.record.json) {
            eprintln!("error: {}: {e}", path.display());
            return Exit::SomeFailed;
        }
        println!("{}", path.display());
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
