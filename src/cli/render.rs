//! `decant render`: the documents of a job.

use std::path::{Path, PathBuf};

use clap::ValueEnum;

use super::Exit;
use super::languages::{Spoken, spoken};
use super::plan::own_fault;
use super::prepare::{Prepared, prepare, tell};
use super::write::write_whole;
use crate::catalog::Tongue;
use crate::document::{View, Voice, certificate, labels, missing_texts, mix_sheet};
use crate::quantity::Printer;
use crate::record::conformity;
use crate::report::{Diagnostic, Report};
use crate::typeset::{Press, Sheet, Typeset, TypesetError, fonts};
use crate::wording::Words;
use crate::yaml::Source;

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

/// What was asked for.
pub(super) struct Request<'a> {
    pub job: &'a Path,
    pub output: Option<&'a Path>,
    pub only: &'a [Kind],
    pub format: Format,
    pub dpi: u32,
    pub draft: bool,
    pub language: Option<&'a Tongue>,
}

pub(super) fn run(request: &Request<'_>) -> Exit {
    let prepared = match prepare(request.job) {
        Ok(prepared) => prepared,
        Err(exit) => return exit,
    };
    let spoken = match spoken(&prepared, request.language) {
        Ok(spoken) => spoken,
        Err(exit) => return exit,
    };
    let mut report = Report::new();
    unprintable(&prepared, &spoken, &mut report);
    let log = conformity(&prepared.plan, &prepared.job, &mut report);
    if report.has_errors() {
        tell(&report);
        return Exit::BadInput;
    }
    fn voice<'a>(prepared: &'a Prepared, words: &'a Words) -> Voice<'a> {
        Voice {
            words,
            units: Printer::new(prepared.job.catalog.units).with(words.notation()),
            plan: &prepared.plan,
            record: &prepared.record,
        }
    }
    let voice = |words| voice(&prepared, words);
    let wanted = |kind: Kind| request.only.is_empty() || request.only.contains(&kind);

    let mut views: Vec<View> = Vec::new();
    let mut exit = Exit::Done;
    let built = (|| {
        if wanted(Kind::Labels) {
            let second = spoken.labels_second.as_deref().map(voice);
            views.extend(
                labels(&voice(&spoken.labels), second.as_ref(), &prepared.job.catalog.stock)?
                    .into_iter()
                    .map(|batch| batch.view),
            );
        }
        if wanted(Kind::MixSheet) {
            views.push(mix_sheet(&voice(&spoken.mix_sheet))?);
        }
        if wanted(Kind::Certificate) {
            if log.missing.is_empty() || request.draft {
                let voice = voice(&spoken.certificate);
                views.push(certificate(&voice, prepared.job.applied.as_ref(), &log, request.draft)?);
            } else {
                withheld(&missing_texts(&spoken.terminal, &log.missing)?);
                exit = Exit::CertificateWithheld;
            }
        }
        Ok::<(), crate::document::DocumentError>(())
    })();
    if let Err(fault) = built {
        return own_fault(&fault.to_string());
    }
    let folder = match request.output {
        Some(folder) => folder.to_owned(),
        None => request.job.parent().unwrap_or(Path::new("")).join("out"),
    };
    let ended = set_all(request, &prepared, &views, &folder);
    // What failed outweighs a certificate that was rightly withheld.
    if ended == Exit::Done { exit } else { ended }
}

/// Characters that the fonts cannot print, in the job, its log, the company file and language files: each at its place.
fn unprintable(prepared: &Prepared, spoken: &Spoken, report: &mut Report) {
    let job = &prepared.job;
    let mut check = |source: &std::sync::Arc<Source>| {
        source.each_text(|text, path| {
            if let Some(bad) = text.chars().find(|c| !c.is_whitespace() && !fonts::can_print(*c)) {
                let message = format!(
                    "`{bad}` (U+{:04X}) cannot be printed: the font has no such character",
                    u32::from(bad)
                );
                let problem = Diagnostic::error("no-glyph", message).at(source.place(path));
                report.push(problem.hint("leave it out, or write it in letters"));
            }
        });
    };
    check(&job.source);
    check(&job.catalog.source);
    if let Some(applied) = &job.applied {
        check(&applied.source);
    }
    let mut sources: Vec<_> = spoken.each().filter_map(|words| words.source.as_ref()).collect();
    sources.dedup_by_key(|source| source.file());
    sources.into_iter().for_each(check);
}

fn withheld(missing: &[String]) {
    eprintln!("The certificate is withheld:");
    for line in missing {
        eprintln!("  - {line}");
    }
    eprintln!("`--draft` makes one that says DRAFT across the page.");
}

fn set_all(request: &Request<'_>, prepared: &Prepared, views: &[View], folder: &Path) -> Exit {
    let press = Press::new();
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

enum Failure {
    Own(String),
    User(String),
}

fn set(
    request: &Request<'_>,
    prepared: &Prepared,
    press: &Press,
    view: &View,
    folder: &Path,
) -> Result<Vec<PathBuf>, Failure> {
    let data = serde_json::to_vec(&view.data).map_err(|e| Failure::Own(e.to_string()))?;
    let ident = format!("{}/{}", prepared.record.number, view.stem);
    let sheet = Sheet {
        template: view.template,
        data,
        date: prepared.plan.start,
        ident,
    };
    let explain = |error: TypesetError| match error {
        TypesetError::DoesNotFit {
            label,
            needed_mm,
            have_mm,
        } => Failure::User(format!(
            "label {} does not fit: at this width it needs {needed_mm} mm of height and the stock has {have_mm} mm; choose larger label stock",
            label + 1
        )),
        TypesetError::MissingGlyph { .. } => Failure::User(error.to_string()),
        _ => Failure::Own(error.to_string()),
    };
    let typeset: Typeset = press.typeset(&sheet).map_err(explain)?;
    let left_off = typeset.left_off();
    if !left_off.is_empty() {
        eprintln!(
            "note: {}: for want of room, left off or cut short: {}",
            view.stem,
            left_off.join(", ")
        );
    }
    let files: Vec<(PathBuf, Vec<u8>)> = match request.format {
        Format::Pdf => {
            let name = format!("{}.pdf", view.stem);
            vec![(folder.join(name), typeset.pdf().map_err(explain)?)]
        }
        Format::Png => numbered(folder, view, "png", typeset.png(request.dpi).map_err(explain)?),
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
