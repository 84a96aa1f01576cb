//! `decant verify`: whether certificates and records are what they were when they were made.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use serde_json::Value;

use super::draw_again::{Again, draw_again};
use super::page_words::{Pages, words_of_page};
use super::plan::own_fault;
use super::prepare::{need_log, prepare};
use super::proving::PROGRAM;
use super::shelf::Shelf;
use super::verify_report::{hold_together, lines};
use super::views::{Asked, templates, views};
use super::{Exit, Refusal, output};
use crate::input;
use crate::record::pdf::{LARGEST_PDF, carried};
use crate::record::{
    FORM, Finding, PublicKey, Seal, first_difference, issued_difference, json_within_bounds, prove, shortened, value_at,
};
use crate::typeset::{Ink, Templates};

/// The largest file that is looked at, in bytes.
const LARGEST: u64 = LARGEST_PDF as u64;

/// What to verify, and against what.
pub(super) struct Request<'a> {
    pub files: &'a [PathBuf],
    pub key: Option<&'a Path>,
    pub job: Option<&'a Path>,
    pub verbose: bool,
}

/// A file that was looked at.
pub(super) struct Seen {
    pub file: PathBuf,
    pub findings: Vec<Finding>,
    /// The record that it is or carries.
    pub record: Option<Value>,
    pub digest: String,
    pub is_certificate: bool,
    /// Whether it was found in a folder that was named, and not named itself.
    pub in_folder: bool,
}

/// What is looked at beside the files themselves.
pub(super) struct Against {
    pub key: Option<PublicKey>,
    /// The record that the job gives now.
    pub record: Option<Value>,
    /// Whether the record need only say what the job says of the work: what was issued stays, though the firm moved since.
    pub as_issued: bool,
    pub templates: Option<Templates>,
}

pub(super) fn run(request: &Request<'_>) -> Exit {
    let (against, pages) = match against(request) {
        Ok(against) => against,
        Err(refusal) => return refusal.tell(),
    };
    let mut files = Vec::new();
    let mut known = BTreeSet::new();
    for file in request.files {
        let in_folder = file.is_dir();
        match named(file) {
            Ok(found) => found.into_iter().for_each(|file| {
                if known.insert(file.clone()) {
                    files.push((file, in_folder));
                }
            }),
            Err(told) => return Refusal::error(told).tell(),
        }
    }
    let mut seen = Vec::new();
    for (file, in_folder) in files {
        match look(&file, &against, pages.as_ref()) {
            Ok(found) => seen.push(Seen { in_folder, ..found }),
            Err(fault) => return own_fault(&fault),
        }
    }
    hold_together(&mut seen, against.record.as_ref());
    for line in lines(&seen, request.verbose) {
        output::line(line);
    }
    ended(&seen)
}

pub(super) fn told(finding: &Finding) -> String {
    match finding {
        Finding::Matches(what) => format!("matches: {what}"),
        Finding::Note(what) => format!("note: {what}"),
        Finding::NotChecked(what) => format!("NOT CHECKED: {what}"),
        Finding::Unreadable(what) => format!("UNREADABLE: {what}"),
        Finding::Unfinished(what) => format!("UNFINISHED: {what}"),
        Finding::Stale(what) => format!("STALE: {what}"),
        Finding::Missing(what) => format!("MISSING: {what}"),
        Finding::Altered(what) => format!("ALTERED: {what}"),
    }
}

/// What was altered, is gone or is not what stands beside it outweighs what cannot be read, and that what could not be looked at.
fn ended(seen: &[Seen]) -> Exit {
    let any = |is: fn(&Finding) -> bool| seen.iter().flat_map(|s| &s.findings).any(is);
    if any(|f| matches!(f, Finding::Altered(_) | Finding::Stale(_) | Finding::Missing(_))) {
        Exit::SomeFailed
    } else if any(|f| matches!(f, Finding::Unreadable(_))) {
        Exit::BadInput
    } else if any(|f| matches!(f, Finding::NotChecked(_) | Finding::Unfinished(_))) {
        Exit::CertificateWithheld
    } else {
        Exit::Done
    }
}

fn against(request: &Request<'_>) -> Result<(Against, Option<Pages>), Refusal> {
    let key = match request.key.map(PublicKey::read).transpose() {
        Ok(key) => key,
        Err(error) => return Err(Refusal::error(error)),
    };
    let mut against = Against { key, record: None, as_issued: false, templates: None };
    let mut pages = None;
    if let Some(job) = request.job {
        let shelf = Shelf::default();
        let prepared = prepare(job, &shelf)?;
        need_log(&prepared)?;
        let asked = Asked::record();
        let made = views(&prepared, &asked, &shelf)?;
        against.record = serde_json::from_slice(&made.record.json).ok();
        against.templates = Some(templates(&prepared.job.catalog, Ink::Colour)?);
        pages = Some(Pages::of(&prepared)?);
    }
    Ok((against, pages))
}

/// The files that a name stands for: itself, or what a folder and the folders in it hold of certificates and records.
fn named(file: &Path) -> Result<Vec<PathBuf>, String> {
    if !std::fs::metadata(file).map_err(|e| format!("{}: {e}", file.display()))?.is_dir() {
        let name = file.file_name().unwrap_or_default().to_string_lossy();
        let record = name.rfind("-seal").filter(|_| name.ends_with(".json")).map(|at| {
            let beside = format!("{}-record{}", &name[..at], &name[at + "-seal".len()..]);
            file.with_file_name(beside)
        });
        // a seal is looked at with its record
        return Ok(vec![record.filter(|record| record.is_file()).unwrap_or_else(|| file.to_owned())]);
    }
    let mut found = Vec::new();
    search(file, &mut found)?;
    found.sort();
    if found.is_empty() {
        return Err(format!("{} holds neither certificates nor records", file.display()));
    }
    Ok(found)
}

/// Hidden folders and links to folders are passed over: a link may lead round in a circle.
fn search(folder: &Path, found: &mut Vec<PathBuf>) -> Result<(), String> {
    let cannot = |e: std::io::Error| format!("{}: {e}", folder.display());
    for entry in std::fs::read_dir(folder).map_err(cannot)? {
        let entry = entry.map_err(cannot)?;
        let path = entry.path();
        let name = entry.file_name().to_string_lossy().into_owned();
        let is_record = name.contains("-record") && name.ends_with(".json");
        let is_certificate = name.contains("-certificate") && name.ends_with(".pdf");
        if entry.file_type().map_err(cannot)?.is_dir() {
            if !name.starts_with('.') {
                search(&path, found)?;
            }
        } else if (is_record || is_certificate) && path.is_file() {
            found.push(path);
        }
    }
    Ok(())
}

pub(super) fn read_bounded(file: &Path) -> Result<Vec<u8>, String> {
    input::read(file, LARGEST).map_err(|e| e.to_string())
}

/// Looks at one file. Errors are faults of the program.
fn look(file: &Path, against: &Against, pages: Option<&Pages>) -> Result<Seen, String> {
    let mut seen = Seen {
        file: file.to_owned(),
        findings: Vec::new(),
        record: None,
        digest: String::new(),
        is_certificate: false,
        in_folder: false,
    };
    match read_bounded(file) {
        Ok(bytes) => look_through(&bytes, against, &mut seen)?,
        Err(told) => seen.findings.push(Finding::Unreadable(told)),
    }
    let is_sound = !seen.findings.iter().any(|f| matches!(f, Finding::Altered(_) | Finding::Unreadable(_)));
    if seen.is_certificate && is_sound {
        seen.findings.extend(seen.record.as_ref().and_then(|record| words_of_page(record, pages)));
    }
    Ok(seen)
}

/// Looks at what was read of a file. Errors are faults of the program.
pub(super) fn look_through(bytes: &[u8], against: &Against, seen: &mut Seen) -> Result<(), String> {
    if bytes.starts_with(b"%PDF") {
        seen.is_certificate = true;
        certificate(bytes, against, seen)?;
    } else {
        let seal = seal_beside(&seen.file).and_then(|path| read_bounded(&path).ok());
        let proof = prove(bytes, seal.as_deref(), against.key.as_ref());
        seen.findings.extend(proof.findings);
        seen.record = proof.record;
        seen.digest = proof.digest;
    }
    if let Some(record) = &seen.record {
        seen.findings.extend(named_otherwise(&seen.file, record));
        about(record, against, &mut seen.findings);
    }
    Ok(())
}

/// A file that is called as that of one job or revision and is of another was put in its place.
fn named_otherwise(file: &Path, record: &Value) -> Option<Finding> {
    let name = file.file_name()?.to_str()?;
    let (called, rest) = name.rsplit_once("-certificate").or_else(|| name.rsplit_once("-record"))?;
    let job = record["plan"]["job"].as_str()?;
    if called != job {
        return Some(Finding::Altered(format!("it is called as of job {called}, and is of job {job}")));
    }
    let mark = rest.split('.').next()?.strip_prefix("-r");
    let called: u64 = mark.map_or(Some(1), |digits| digits.parse().ok())?;
    let revision = record["revision"].as_u64()?;
    (called != revision)
        .then(|| Finding::Altered(format!("it is called as of revision {called}, and is of revision {revision}")))
}

/// `JOB-seal.json` beside `JOB-record.json`.
fn seal_beside(record: &Path) -> Option<PathBuf> {
    let name = record.file_name()?.to_str()?;
    let at = name.rfind("-record")?;
    Some(record.with_file_name(format!("{}-seal{}", &name[..at], &name[at + "-record".len()..])))
}

/// A certificate: the record within, and the page drawn again from it.
fn certificate(pdf: &[u8], against: &Against, seen: &mut Seen) -> Result<(), String> {
    let within = match carried(pdf) {
        Ok(within) => within,
        Err(beyond) => {
            let told = format!("{beyond}, which no certificate of decant's is or does");
            seen.findings.push(Finding::Unreadable(told));
            return Ok(());
        }
    };
    let all = &within.files;
    let of_form =
        |form: &str| all.iter().find(|bytes| json_within_bounds(bytes).is_ok_and(|value| value["form"] == form));
    let Some(record) = of_form(FORM) else {
        let named = || pdf.windows(b"/EmbeddedFile".len()).any(|bytes| bytes == b"/EmbeddedFile");
        seen.findings.push(if within.encrypted {
            Finding::Altered(
                "it is encrypted, which decant never does: another program has written this PDF anew".into(),
            )
        } else if !all.is_empty() || within.unknown > 0 || named() {
            let told =
                "files are attached, and not the way decant attaches them: another program has written this PDF anew";
            Finding::Altered(told.into())
        } else {
            let told =
                "no record of decant's can be found in this PDF: it is a draft, is not a certificate, or is spoilt";
            Finding::Unreadable(told.into())
        });
        return Ok(());
    };
    if within.packed {
        let told = "its objects are packed, which decant never does: another program has written this PDF anew";
        seen.findings.push(Finding::Altered(told.into()));
    }
    let seal = of_form(crate::record::SEAL_FORM);
    let proof = prove(record, seal.map(Vec::as_slice), against.key.as_ref());
    seen.findings.extend(proof.findings);
    seen.digest = proof.digest;
    let Some(value) = proof.record else { return Ok(()) };
    let sealed = seal.is_some_and(|s| Seal::read(s).is_some());
    let found = match draw_again(&value, record, seal.map(Vec::as_slice), all, against.templates.as_ref()) {
        _ if !sealed => Finding::Altered("the certificate has no seal with its record".into()),
        Again::Drawn(again) if again == pdf => {
            Finding::Matches("the page: drawn again from the record, it is the same byte for byte".into())
        }
        Again::Drawn(again) => Finding::Altered(differs(pdf, &again)),
        Again::NotDrawn(why) => Finding::NotChecked(format!("the page was not drawn again: {why}")),
        Again::Impossible(why) => Finding::Altered(format!("no page follows from the record within: {why}")),
        Again::Fault(fault) => return Err(fault),
    };
    seen.findings.push(found);
    seen.record = Some(value);
    Ok(())
}

fn differs(found: &[u8], again: &[u8]) -> String {
    let same = found.iter().zip(again).take_while(|(a, b)| a == b).count();
    if same == found.len() {
        return format!(
            "the PDF is cut short: it has {} bytes of the {} that its record gives",
            found.len(),
            again.len()
        );
    }
    if same == again.len() {
        return format!("{} bytes stand behind the end of the PDF that its record gives", found.len() - same);
    }
    format!(
        "the PDF is not the one that its record gives: from byte {} of {} it differs, in its pages or in what lies around them",
        same + 1,
        found.len()
    )
}

fn about(record: &Value, against: &Against, findings: &mut Vec<Finding>) {
    let made_by = record["made_by"]["program"].as_str().unwrap_or("an unknown program");
    if made_by != PROGRAM {
        findings.push(Finding::Note(format!("it was made by {made_by}; this is {PROGRAM}")));
    }
    let Some(now) = &against.record else { return };
    let (job, other) = (&now["plan"]["job"], &record["plan"]["job"]);
    if job != other {
        findings.push(Finding::Altered(format!("it is of job {other}, and the job given is {job}")));
        return;
    }
    if record["revision"].as_u64() < now["revision"].as_u64() {
        // whether the later one is there is known when all have been seen
        return;
    }
    let comparable = |record: &Value| {
        // what the page looks like and who made it are not of the job
        let mut record = record.clone();
        if let Some(fields) = record.as_object_mut() {
            fields.retain(|key, _| !matches!(key.as_str(), "certificate" | "made_by" | "key"));
        }
        record
    };
    let path = if against.as_issued {
        let verdicts = || first_difference(&record["verdicts"], &now["verdicts"]).map(|at| format!("verdicts{at}"));
        issued_difference(record, now).map(|found| found.path).or_else(verdicts)
    } else {
        first_difference(&comparable(record), &comparable(now))
    };
    let short = |record: &Value, path: &str| value_at(record, path).map_or("absent".into(), shortened);
    findings.push(match path {
        None => Finding::Matches("the job: it gives the same plan, log and verdicts".into()),
        Some(path) => Finding::Altered(format!(
            "the job gives another record: first at `{path}`, which is {} there and {} here",
            short(now, &path),
            short(record, &path)
        )),
    });
}
