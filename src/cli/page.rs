//! `decant page`: the page behind the printed code, for any static host.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use super::languages::{Spoken, spoken};
use super::page_index::{FILE, Index, Line};
use super::prepare::{Prepared, need_log, prepare};
use super::proving::prove;
use super::shelf::Shelf;
use super::verify::read_bounded;
use super::views::{Asked, unprintable, voice};
use super::{Exit, Refusal, output, target};
use crate::digest::sha256;
use crate::document::{Download, Known, index_page, page};
use crate::html::{Page, html};
use crate::record::{Conformity, RecordFile, conformity, place, revision_mark};
use crate::report::Report;
use crate::typeset::attached;
use crate::whole::write_whole;

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
    log: Conformity,
    record: RecordFile,
    place: String,
}

pub(super) fn run(request: &Request<'_>) -> Exit {
    match publish(request) {
        Ok(()) => Exit::Done,
        Err(refusal) => refusal.tell(),
    }
}

/// Everything is made before anything is written.
fn publish(request: &Request<'_>) -> Result<(), Refusal> {
    target::folder(request.output)?;
    let shelf = Shelf::default();
    let mut ready = Vec::new();
    for file in request.jobs {
        ready.push(read(file, &shelf)?);
    }
    let Some(first) = ready.first() else { return Ok(()) };
    let link = &first.prepared.job.catalog.record_link;
    if let Some(other) = ready.iter().find(|r| r.prepared.job.catalog.record_link != *link) {
        return Err(Refusal::error(format!(
            "{} and {} have different record links; a folder of pages belongs to one",
            first.file.display(),
            other.file.display()
        )));
    }
    let mut index = Index::read(request.output).map_err(Refusal::error)?;
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
    let listed: Vec<Value> =
        index.lines().filter_map(|(number, line)| Some(line.view(number, &place(link, number).ok()?))).collect();
    let view = index_page(&first.spoken.certificate, company, &listed).map_err(Refusal::own_fault)?;
    let text = html(Page::Index, &dressed(view, &first.prepared)).map_err(Refusal::own_fault)?;
    files.push((request.output.join("index.html"), text.into_bytes()));
    if !listed.is_empty() {
        files.push((request.output.join(FILE), index.json().map_err(Refusal::own_fault)?));
    }
    write_all(request.output, &files, listed.is_empty())?;
    for job in &ready {
        unpublish(request, job, &files);
    }
    Ok(())
}

fn read<'a>(file: &'a Path, shelf: &Shelf) -> Result<Ready<'a>, Refusal> {
    let prepared = prepare(file, shelf)?;
    need_log(&prepared)?;
    let spoken = spoken(&prepared.job, None, shelf)?;
    let mut report = Report::new();
    unprintable(&prepared, &spoken, &mut report);
    let log = conformity(&prepared.plan, &prepared.job, &mut report);
    let catalog = &prepared.job.catalog;
    let found = place(&catalog.record_link, &prepared.record.number);
    if let Err(problem) = &found {
        let origin = catalog.source.root().origin().key("record_link");
        let problem = origin.error("link-not-static", problem.to_string());
        report.push(problem.hint("write it like `https://records.example/{record}`"));
    }
    match found {
        Ok(place) if !report.has_errors() => {
            // as `decant render` makes it unless told otherwise: that is the record that the page gives the digest of
            let asked = Asked::record();
            let record = prove(&prepared, &asked, &spoken, &log, shelf)?.record;
            Ok(Ready { file, prepared, spoken, log, record, place })
        }
        _ => Err(Refusal::bad_input(report)),
    }
}

/// The page, and its line in the index where the firm wants one.
fn record_page(
    request: &Request<'_>,
    job: &Ready<'_>,
    files: &mut Vec<(PathBuf, Vec<u8>)>,
) -> Result<(String, Option<Line>), Refusal> {
    let prepared = &job.prepared;
    let publish = prepared.job.catalog.publish;
    let download = match certificate(request, job) {
        Some((path, bytes, download)) => {
            files.push((path, bytes));
            Some(download)
        }
        None => None,
    };
    let voice = voice(prepared, &job.spoken.certificate);
    let applied = prepared.job.applied.as_ref();
    let known = Known { applied, conformity: &job.log, digest: &job.record.digest, revision: job.record.revision };
    let view = page(&voice, &known, publish, download.as_ref()).map_err(Refusal::own_fault)?;
    let line = publish.index.then(|| Line {
        day: prepared.plan.start.date(),
        date: view["date"].as_str().unwrap_or_default().to_owned(),
        site: publish.site.then(|| prepared.plan.site.name.clone()),
        state: view["state"].as_str().unwrap_or_default().to_owned(),
        lang: job.spoken.certificate.language.clone(),
    });
    let text = html(Page::Record, &dressed(view, prepared)).map_err(Refusal::own_fault)?;
    Ok((text, line))
}

/// In the firm's colour.
fn dressed(mut view: Value, prepared: &Prepared) -> Value {
    view["accent"] = json!(prepared.job.catalog.style.accent.map(|accent| accent.hex()));
    view
}

/// Takes away the certificates that earlier runs put beside this page: what the firm no longer publishes, or has replaced by a
/// later revision, does not stay. Only what carries a record of this number is taken for one.
fn unpublish(request: &Request<'_>, job: &Ready<'_>, written: &[(PathBuf, Vec<u8>)]) {
    let page = request.output.join(&job.place);
    let Some(folder) = page.parent() else { return };
    let number = job.prepared.record.number.as_bytes();
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        let of_this = name.starts_with(&format!("{}-certificate", job.prepared.plan.job))
            || name.starts_with(&format!("{}-certificate", job.prepared.record.number));
        let is_file = entry.file_type().is_ok_and(|kind| kind.is_file());
        let is_new = written.iter().any(|(path, _)| *path == entry.path());
        if !of_this || !is_file || is_new || !name.ends_with(".pdf") {
            continue;
        }
        let carries =
            |bytes: Vec<u8>| attached(&bytes).iter().any(|file| file.windows(number.len()).any(|w| w == number));
        if read_bounded(&entry.path()).is_ok_and(carries) && fs::remove_file(entry.path()).is_err() {
            output::say(format_args!("warning: {} is public still, and could not be removed", entry.path().display()));
        }
    }
}

/// The certificate as `decant render` made it: its path beside the page, its bytes, and what the page says of it. Only one
/// that carries this very record is taken.
fn certificate(request: &Request<'_>, job: &Ready<'_>) -> Option<(PathBuf, Vec<u8>, Download)> {
    let prepared = &job.prepared;
    if !prepared.job.catalog.publish.certificate || !job.log.certifies() {
        return None;
    }
    let mark = revision_mark(job.record.revision);
    let name = format!("{}-certificate{mark}.pdf", prepared.plan.job);
    let folder = match request.documents {
        Some(folder) => folder.to_owned(),
        None => job.file.parent().unwrap_or(Path::new("")).join("out"),
    };
    // `decant batch` has a folder for each job
    let in_batch = folder.join(&prepared.plan.job).join(&name);
    let from = if in_batch.is_file() { in_batch } else { folder.join(&name) };
    let number = &prepared.record.number;
    let bytes = match read_bounded(&from) {
        Ok(bytes) => bytes,
        Err(e) => {
            output::say(format_args!("note: {number}: no certificate to download: {}: {e}", from.display()));
            return None;
        }
    };
    if !attached(&bytes).contains(&job.record.json) {
        output::say(format_args!(
            "note: {number}: no certificate to download: {} is of another record; `decant render` makes it anew",
            from.display()
        ));
        return None;
    }
    let page = request.output.join(&job.place);
    let digest = sha256(&bytes);
    // beside a file of its own name, two records of one job would share the certificate
    let name = match job.place.split_once('/') {
        Some(_) => name,
        None => format!("{number}-certificate{mark}.pdf"),
    };
    let path = page.parent().unwrap_or(request.output).join(&name);
    Some((path, bytes, Download { name, digest }))
}

fn write_all(folder: &Path, files: &[(PathBuf, Vec<u8>)], no_list: bool) -> Result<(), Refusal> {
    for (path, _) in files {
        led_astray(folder, path).map_err(|e| Refusal::error(format!("cannot write {}: {e}", path.display())))?;
    }
    for (path, bytes) in files {
        write_whole(path, bytes).map_err(|e| Refusal::unwritten(path, &e))?;
        output::line(path.display());
    }
    let list = folder.join(FILE);
    if no_list && list.exists() {
        // what the firm no longer publishes does not stay
        fs::remove_file(&list).map_err(|e| Refusal::unwritten(&list, &e))?;
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
