//! `decant render`: the documents of a job.

use std::path::{Path, PathBuf};

use clap::ValueEnum;

use super::kept::{Kept, kept};
use super::label_run::{Failure, fault, set_view, tell_left_off};
use super::plan::own_fault;
use super::prepare::{Prepared, caution_of_log, prepare};
use super::proving::{attach, follows_on, record_names};
use super::shelf::Shelf;
use super::views::{Asked, Views, tell_broken, tell_not_made, tell_withheld, views};
use super::{Choice, Exit, Refusal, output, target};
use crate::document::View;
use crate::typeset::{Ink, Press, Template, Typeset};
use crate::whole::write_whole;

/// A document that can be asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Kind {
    /// Container labels, one a load
    Labels,
    /// The technician's mix sheet
    MixSheet,
    /// The client's certificate
    Certificate,
    /// Of a visit that was not made: a notice that says so
    Notice,
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
    pub choice: &'a Choice,
    pub first: Option<u32>,
    pub copies: Option<u32>,
    pub printer: Option<&'a str>,
}

pub(super) fn run(request: &Request<'_>) -> Exit {
    let shelf = Shelf::default();
    let (prepared, made, kept) = match begin(request, &shelf) {
        Ok(begun) => begun,
        Err(refusal) => return refusal.tell(),
    };
    let equipped = match shelf.press(&prepared.job, request.choice.ink()) {
        Ok(equipped) => equipped,
        Err(refusal) => return refusal.tell(),
    };
    let unusable_log = prepared.job.log_trouble.is_some() && !made.withheld.is_empty();
    if made.not_made {
        tell_not_made();
    } else if unusable_log {
        output::say("The certificate is withheld until the log can be used.");
    } else if !made.withheld.is_empty() {
        tell_withheld(&made.withheld);
    }
    if !made.broken.is_empty() {
        tell_broken(&made.broken);
    }
    if let Some(note) = &kept.note {
        output::say(format_args!("note: {note}"));
    }
    let ended = set_all(request, &prepared, &equipped.press, &made, &kept);
    // What failed outweighs a certificate that was rightly withheld, or that says what was not kept.
    match ended {
        // what is wrong with a log is an error in the input; everything else was made
        Exit::Done if unusable_log && made.views.is_empty() => Exit::BadInput,
        Exit::Done if unusable_log => Exit::SomeFailed,
        Exit::Done if !made.withheld.is_empty() || !made.broken.is_empty() => Exit::CertificateWithheld,
        _ => ended,
    }
}

fn begin(request: &Request<'_>, shelf: &Shelf) -> Result<(Prepared, Views, Kept), Refusal> {
    target::folder(&folder(request))?;
    let prepared = prepare(request.job, shelf)?;
    let asked = Asked {
        kinds: request.choice.kinds(),
        draft: request.choice.draft,
        ink: request.choice.ink(),
        language: request.choice.language.as_ref(),
        first: request.first,
        copies: request.copies,
        printer: request.printer,
    };
    caution_of_log(&prepared);
    let mut made = views(&prepared, &asked, shelf)?;
    let folder = folder(request);
    follows_on(&made.record, &prepared.plan.job, &folder)?;
    let kept = kept(&made, &prepared, &folder, request.choice.replace_draft, shelf)?;
    attach(&mut made);
    Ok((prepared, made, kept))
}

/// Where the documents go.
fn folder(request: &Request<'_>) -> PathBuf {
    match request.output {
        Some(folder) => folder.to_owned(),
        None => request.job.parent().unwrap_or(Path::new("")).join("out"),
    }
}

fn set_all(request: &Request<'_>, prepared: &Prepared, press: &Press, all: &Views, kept: &Kept) -> Exit {
    let folder = folder(request);
    let (mut made, mut failed) = (0, 0);
    for view in &all.views {
        if kept.leaves_out(view) {
            if kept.serves(view, &folder) {
                made += 1;
            } else {
                failed += 1;
                Refusal::error(format_args!(
                    "{} was not made: the certificate of this job is issued already; name another folder with -o",
                    view.stem
                ))
                .tell();
            }
            continue;
        }
        match set(request, prepared, press, view, all, kept) {
            Ok(paths) => {
                made += 1;
                paths.iter().for_each(|path| output::line(path.display()));
            }
            Err(Failure::Own(fault)) => return own_fault(&fault),
            // a disk that is full is full for the next one too
            Err(Failure::Unwritten(told)) => return Refusal::error(told).ending(Exit::SomeFailed).tell(),
            Err(Failure::User(told)) => {
                failed += 1;
                Refusal::error(format_args!("{}: {told}", view.stem)).tell();
            }
            Err(Failure::Problem(problem)) => {
                failed += 1;
                Refusal::error(format_args!("{} was not made:", view.stem)).tell();
                output::block(&problem.to_string());
            }
        }
    }
    if failed == 0 && made > 0 {
        let (record, seal) = record_names(&prepared.plan.job, all.record.revision);
        if let Err(told) = kept.before_record(&folder, &all.record, &all.seal) {
            return Refusal::error(told).ending(Exit::SomeFailed).tell();
        }
        // the seal comes last: a record without one is not finished
        for (name, bytes) in [(record, &all.record.json), (seal, &all.seal)] {
            if kept.stays(&name) {
                continue;
            }
            let path = folder.join(name);
            if let Err(e) = write_whole(&path, bytes) {
                return Refusal::unwritten(&path, &e).tell();
            }
            output::line(path.display());
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
    all: &Views,
    kept: &Kept,
) -> Result<Vec<PathBuf>, Failure> {
    let folder = folder(request);
    let ident = format!("{}/{}", prepared.record.number, view.stem);
    let typeset = set_view(press, view, &ident, prepared.plan.start, &prepared.job.catalog)?;
    tell_left_off(view, &typeset);
    let made = files(view, &typeset, request.choice.format, request.choice.ink(), request.choice.dpi)?;
    if view.template == Template::Certificate {
        // an old seal would stand beside what is written now
        kept.before_record(&folder, &all.record, &all.seal).map_err(Failure::User)?;
    }
    let mut paths = Vec::new();
    for (name, bytes) in made.into_iter().filter(|(name, _)| !kept.stays(name)) {
        let path = folder.join(name);
        write_whole(&path, &bytes).map_err(|e| Failure::unwritten(&path, &e))?;
        paths.push(path);
    }
    Ok(paths)
}

/// The files of a document: names and content.
pub(super) fn files(
    view: &View,
    typeset: &Typeset,
    format: Format,
    ink: Ink,
    dpi: u32,
) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    Ok(match format {
        Format::Pdf => vec![(format!("{}.pdf", view.stem), typeset.pdf().map_err(fault)?)],
        Format::Png => {
            let pages = match ink {
                Ink::Colour => typeset.png(dpi),
                Ink::Black => typeset.one_bit_png(dpi),
            };
            numbered(view, "png", pages.map_err(fault)?)
        }
        Format::Svg => numbered(view, "svg", typeset.svg().into_iter().map(String::into_bytes).collect()),
    })
}

fn numbered(view: &View, ending: &str, pages: Vec<Vec<u8>>) -> Vec<(String, Vec<u8>)> {
    let name = |i: usize| format!("{}-{}.{ending}", view.stem, i + 1);
    pages.into_iter().enumerate().map(|(i, bytes)| (name(i), bytes)).collect()
}
