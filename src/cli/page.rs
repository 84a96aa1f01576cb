//! `decant page`: the page behind the printed code, for any static host.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};
use sha2::{Digest, Sha256};

use super::Exit;
use super::languages::{Spoken, spoken};
use super::page_index::{FILE, Index, Line};
use super::plan::own_fault;
use super::prepare::{Prepared, prepare, tell};
use super::views::{unprintable, voice};
use super::write::write_whole;
use crate::document::{Download, index_page, page};
use crate::html::{Page, html};
use crate::record::{conformity, place};
use crate::report::Report;

/// What was asked for.
pub(super) struct Request<'a> {
    pub jobs: &'a [PathBuf],
    pub output: &'a Path,
    pub documents: Option<&'a Path>,
}

/// A job that may be published.
struct Ready<'a> {
    file: &'a Path,
    prepared: Prepared,
    spoken: Spoken,
    place: String,
}

pub(super) fn run(request: &Request<'_>) -> Exit {
    match publish(request) {
        Ok(()) => Exit::Done,
        Err(exit) => exit,
    }
}

/// Everything is made before anything is written.
fn publish(request: &Request<'_>) -> Result<(), Exit> {
    let mut ready = Vec::new();
    for file in request.jobs {
        ready.push(read(file)?);
    }
    let Some(first) = ready.first() else { return Ok(()) };
    let link = &first.prepared.job.catalog.record_link;
    if let Some(other) = ready.iter().find(|r| r.prepared.job.catalog.record_link != *link) {
        eprintln!(
            "error: {} and {} have different record links; a folder of pages belongs to one",
            first.file.display(),
            other.file.display()
        );
        return Err(Exit::BadInput);
    }
    let mut index = Index::read(request.output).map_err(|problem| {
        eprintln!("error: {problem}");
        Exit::BadInput
    })?;
    let mut files: Vec<(PathBuf, Vec<u8>)> = Vec::new();
    for job in &ready {
        let (text, line) = record_page(request, job, &mut files)?;
        files.push((request.output.join(&job.place), text.into_bytes()));
        index.set(&job.prepared.record.number, line);
    }
    index.retain(|number| {
        place(link, number).is_ok_and(|path| {
            let path = request.output.join(path);
            path.is_file() || files.iter().any(|(new, _)| *new == path)
        })
    });
    let company = &first.prepared.plan.company;
    let listed: Vec<Value> = index
        .lines()
        .filter_map(|(number, line)| Some(line.view(number, &place(link, number).ok()?)))
        .collect();
    let view = index_page(&first.spoken.certificate, company, &listed).map_err(|e| own_fault(&e.to_string()))?;
    let text = html(Page::Index, &dressed(view, &first.prepared)).map_err(|e| own_fault(&e.to_string()))?;
    files.push((request.output.join("index.html"), text.into_bytes()));
    if !listed.is_empty() {
        files.push((request.output.join(FILE), index.json().map_err(|e| own_fault(&e))?));
    }
    write_all(request.output, &files, listed.is_empty())
}

fn read(file: &Path) -> Result<Ready<'_>, Exit> {
    let prepared = prepare(file)?;
    let spoken = spoken(&prepared, None)?;
    let mut report = Report::new();
    unprintable(&prepared, &spoken, &mut report);
    let catalog = &prepared.job.catalog;
    let found = place(&catalog.record_link, &prepared.record.number);
    if let Err(problem) = &found {
        let origin = catalog.source.root().origin().key("record_link");
        let problem = origin.error("link-not-static", problem.to_string());
        report.push(problem.hint("write it like `https://records.example/{record}`"));
    }
    match found {
        Ok(place) if !report.has_errors() => Ok(Ready {
            file,
            prepared,
            spoken,
            place,
        }),
        _ => {
            tell(&report);
            Err(Exit::BadInput)
        }
    }
}

/// The page, and its line in the index where the firm wants one.
fn record_page(
    request: &Request<'_>,
    job: &Ready<'_>,
    files: &mut Vec<(PathBuf, Vec<u8>)>,
) -> Result<(String, Option<Line>), Exit> {
    let prepared = &job.prepared;
    let publish = prepared.job.catalog.publish;
    let mut report = Report::new();
    let log = conformity(&prepared.plan, &prepared.job, &mut report);
    if report.has_errors() {
        tell(&report);
        return Err(Exit::BadInput);
    }
    let download = match certificate(request, job, log.missing.is_empty()) {
        Some((path, bytes, download)) => {
            files.push((path, bytes));
            Some(download)
        }
        None => None,
    };
    let voice = voice(prepared, &job.spoken.certificate);
    let applied = prepared.job.applied.as_ref();
    let view = page(&voice, applied, &log, publish, download.as_ref()).map_err(|e| own_fault(&e.to_string()))?;
    let line = publish.index.then(|| Line {
        day: prepared.plan.start.date(),
        date: view["date"].as_str().unwrap_or_default().to_owned(),
        site: publish.site.then(|| prepared.plan.site.name.clone()),
        state: view["state"].as_str().unwrap_or_default().to_owned(),
        lang: job.spoken.certificate.language.clone(),
    });
    let text = html(Page::Record, &dressed(view, prepared)).map_err(|e| own_fault(&e.to_string()))?;
    Ok((text, line))
}

/// In the firm's colour.
fn dressed(mut view: Value, prepared: &Prepared) -> Value {
    view["accent"] = json!(prepared.job.catalog.style.accent.map(|accent| accent.hex()));
    view
}

/// The certificate as `decant render` made it: its path beside the page, its bytes, and what the page says of it. Only one
/// that names this record is taken.
fn certificate(request: &Request<'_>, job: &Ready<'_>, done: bool) -> Option<(PathBuf, Vec<u8>, Download)> {
    let prepared = &job.prepared;
    if !prepared.job.catalog.publish.certificate || !done {
        return None;
    }
    let name = format!("{}-certificate.pdf", prepared.plan.job);
    let from = match request.documents {
        Some(folder) => folder.join(&name),
        None => job.file.parent().unwrap_or(Path::new("")).join("out").join(&name),
    };
    let number = &prepared.record.number;
    let bytes = match fs::read(&from) {
        Ok(bytes) => bytes,
        Err(e) => {
            eprintln!("note: {number}: no certificate to download: {}: {e}", from.display());
            return None;
        }
    };
    // PDF/A keeps its title in the open, and the certificate's title ends in the record's number
    let names_it = bytes.windows(number.len()).any(|window| window == number.as_bytes());
    if !bytes.starts_with(b"%PDF-") || !names_it {
        eprintln!(
            "note: {number}: no certificate to download: {} is of another record; `decant render` makes it anew",
            from.display()
        );
        return None;
    }
    let page = request.output.join(&job.place);
    let digest = Sha256::digest(&bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect();
    // beside a file of its own name, two records of one job would share the certificate
    let name = match job.place.split_once('/') {
        Some(_) => name,
        None => format!("{number}-certificate.pdf"),
    };
    let path = page.parent().unwrap_or(request.output).join(&name);
    Some((path, bytes, Download { name, digest }))
}

fn write_all(folder: &Path, files: &[(PathBuf, Vec<u8>)], no_list: bool) -> Result<(), Exit> {
    let failed = |path: &Path, e: &io::Error| {
        eprintln!("error: cannot write {}: {e}", path.display());
        Exit::SomeFailed
    };
    for (path, _) in files {
        led_astray(folder, path).map_err(|e| {
            eprintln!("error: cannot write {}: {e}", path.display());
            Exit::BadInput
        })?;
    }
    for (path, bytes) in files {
        write_whole(path, bytes).map_err(|e| failed(path, &e))?;
        println!("{}", path.display());
    }
    let list = folder.join(FILE);
    if no_list && list.exists() {
        // what the firm no longer publishes does not stay
        fs::remove_file(&list).map_err(|e| failed(&list, &e))?;
    }
    Ok(())
}

/// A link among the folders between `folder` and a file of it would carry the file somewhere else.
fn led_astray(folder: &Path, path: &Path) -> io::Result<()> {
    for above in path.ancestors().skip(1).take_while(|above| *above != folder) {
        if fs::symlink_metadata(above).is_ok_and(|it| it.file_type().is_symlink()) {
            let told = format!("{} is a symbolic link to another place", above.display());
            return Err(io::Error::other(told));
        }
    }
    Ok(())
}
