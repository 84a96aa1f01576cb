//! `decant verify`: whether certificates and records are what they were when they were made.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde_json::Value;

use super::draw_again::{Again, draw_again};
use super::plan::own_fault;
use super::prepare::prepare;
use super::proving::PROGRAM;
use super::shelf::Shelf;
use super::views::{Asked, templates, views};
use super::{Exit, Refusal, output};
use crate::input;
use crate::record::{FORM, Finding, PublicKey, Seal, first_difference, prove};
use crate::typeset::{Ink, Templates, attached};

/// The largest file that is looked at, in bytes.
const LARGEST: u64 = 64 << 20;

/// What to verify, and against what.
pub(super) struct Request<'a> {
    pub files: &'a [PathBuf],
    pub key: Option<&'a Path>,
    pub job: Option<&'a Path>,
}

/// A file that was looked at.
pub(super) struct Seen {
    pub file: PathBuf,
    pub findings: Vec<Finding>,
    /// The record that it is or carries.
    pub record: Option<Value>,
    pub digest: String,
    pub is_certificate: bool,
}

/// What is looked at beside the files themselves.
pub(super) struct Against {
    pub key: Option<PublicKey>,
    /// The record that the job gives now.
    pub record: Option<Value>,
    pub templates: Option<Templates>,
}

pub(super) fn run(request: &Request<'_>) -> Exit {
    let against = match against(request) {
        Ok(against) => against,
        Err(refusal) => return refusal.tell(),
    };
    let mut files = Vec::new();
    for file in request.files {
        match named(file) {
            Ok(found) => found.into_iter().for_each(|file| {
                if !files.contains(&file) {
                    files.push(file);
                }
            }),
            Err(told) => return Refusal::error(told).tell(),
        }
    }
    let mut seen = Vec::new();
    for file in files {
        match look(&file, &against) {
            Ok(found) => seen.push(found),
            Err(fault) => return own_fault(&fault),
        }
    }
    hold_together(&mut seen);
    for one in &seen {
        output::line(one.file.display());
        for finding in &one.findings {
            output::line(format_args!("  {}", told(finding)));
        }
    }
    for line in current(&seen) {
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
        Finding::Altered(what) => format!("ALTERED: {what}"),
    }
}

/// What was altered outweighs what cannot be read, and that what could not be looked at.
fn ended(seen: &[Seen]) -> Exit {
    let any = |is: fn(&Finding) -> bool| seen.iter().flat_map(|s| &s.findings).any(is);
    if any(|f| matches!(f, Finding::Altered(_))) {
        Exit::SomeFailed
    } else if any(|f| matches!(f, Finding::Unreadable(_))) {
        Exit::BadInput
    } else if any(|f| matches!(f, Finding::NotChecked(_))) {
        Exit::CertificateWithheld
    } else {
        Exit::Done
    }
}

fn against(request: &Request<'_>) -> Result<Against, Refusal> {
    let key = match request.key.map(PublicKey::read).transpose() {
        Ok(key) => key,
        Err(error) => return Err(Refusal::error(error)),
    };
    let mut against = Against {
        key,
        record: None,
        templates: None,
    };
    if let Some(job) = request.job {
        let shelf = Shelf::default();
        let prepared = prepare(job, &shelf)?;
        let asked = Asked::record();
        let made = views(&prepared, &asked, &shelf)?;
        against.record = serde_json::from_slice(&made.record.json).ok();
        against.templates = Some(templates(&prepared.job.catalog, Ink::Colour)?);
    }
    Ok(against)
}

/// The files that a name stands for: itself, or what a folder and the folders in it hold of certificates and records.
fn named(file: &Path) -> Result<Vec<PathBuf>, String> {
    if !std::fs::metadata(file)
        .map_err(|e| format!("{}: {e}", file.display()))?
        .is_dir()
    {
        let name = file.file_name().unwrap_or_default().to_string_lossy();
        let record = name.rfind("-seal").filter(|_| name.ends_with(".json")).map(|at| {
            let beside = format!("{}-record{}", &name[..at], &name[at + "-seal".len()..]);
            file.with_file_name(beside)
        });
        // a seal is looked at with its record
        return Ok(vec![
            record
                .filter(|record| record.is_file())
                .unwrap_or_else(|| file.to_owned()),
        ]);
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
fn look(file: &Path, against: &Against) -> Result<Seen, String> {
    let mut seen = Seen {
        file: file.to_owned(),
        findings: Vec::new(),
        record: None,
        digest: String::new(),
        is_certificate: false,
    };
    match read_bounded(file) {
        Ok(bytes) => look_through(&bytes, against, &mut seen)?,
        Err(told) => seen.findings.push(Finding::Unreadable(told)),
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

/// A file that is called as that of one job and is of another was put in its place.
fn named_otherwise(file: &Path, record: &Value) -> Option<Finding> {
    let name = file.file_name()?.to_str()?;
    let (called, _) = name
        .rsplit_once("-certificate")
        .or_else(|| name.rsplit_once("-record"))?;
    let job = record["plan"]["job"].as_str()?;
    (called != job).then(|| Finding::Altered(format!("it is called as of job {called}, and is of job {job}")))
}

/// `JOB-seal.json` beside `JOB-record.json`.
fn seal_beside(record: &Path) -> Option<PathBuf> {
    let name = record.file_name()?.to_str()?;
    let at = name.rfind("-record")?;
    Some(record.with_file_name(format!("{}-seal{}", &name[..at], &name[at + "-record".len()..])))
}

/// A certificate: the record within, and the page drawn again from it.
fn certificate(pdf: &[u8], against: &Against, seen: &mut Seen) -> Result<(), String> {
    let all = attached(pdf);
    let of_form = |form: &str| {
        all.iter().find(|bytes| {
            let value: Option<Value> = serde_json::from_slice(bytes).ok();
            value.is_some_and(|v| v["form"] == form)
        })
    };
    let Some(record) = of_form(FORM) else {
        let carries = pdf
            .windows(b"/EmbeddedFile".len())
            .any(|bytes| bytes == b"/EmbeddedFile");
        if carries {
            let told =
                "files are attached, and not the way decant attaches them: another program has written this PDF anew";
            seen.findings.push(Finding::Altered(told.into()));
            return Ok(());
        }
        seen.findings.push(Finding::Unreadable(
            "no record of decant's can be found in this PDF: it is a draft, is not a certificate, or is spoilt".into(),
        ));
        return Ok(());
    };
    let seal = of_form(crate::record::SEAL_FORM);
    let proof = prove(record, seal.map(Vec::as_slice), against.key.as_ref());
    seen.findings.extend(proof.findings);
    seen.digest = proof.digest;
    let Some(value) = proof.record else { return Ok(()) };
    let sealed = seal.is_some_and(|s| Seal::read(s).is_some());
    let found = match draw_again(
        &value,
        record,
        seal.map(Vec::as_slice),
        &all,
        against.templates.as_ref(),
    ) {
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
        return format!(
            "{} bytes stand behind the end of the PDF that its record gives",
            found.len() - same
        );
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
        findings.push(Finding::Altered(format!(
            "it is of job {other}, and the job given is {job}"
        )));
        return;
    }
    if record["revision"].as_u64() < now["revision"].as_u64() {
        findings.push(Finding::Note(format!(
            "it is revision {}, and the job has come to revision {}: not held against it",
            record["revision"], now["revision"]
        )));
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
    findings.push(match first_difference(&comparable(record), &comparable(now)) {
        None => Finding::Matches("the job: it gives the same plan, log and verdicts".into()),
        Some(path) => Finding::Altered(format!(
            "the job gives another record: first at `{path}`, which is {} there and {} here",
            short(at(now, &path)),
            short(at(record, &path))
        )),
    });
}

/// The value at a path as [`first_difference`] writes it.
fn at<'v>(value: &'v Value, path: &str) -> Option<&'v Value> {
    let pointer = format!("/{}", path.replace('[', "/").replace(']', "").replace('.', "/"));
    value.pointer(&pointer)
}

fn short(value: Option<&Value>) -> String {
    match value {
        None => "absent".into(),
        Some(value) => {
            let text = value.to_string();
            let shown: String = text
                .chars()
                .take(60)
                .filter(|c| !crate::report::is_unseen(*c))
                .collect();
            if shown.len() < text.len() {
                format!("{shown}…")
            } else {
                shown
            }
        }
    }
}

fn job_and_revision(seen: &Seen) -> Option<(String, u64)> {
    let record = seen.record.as_ref()?;
    Some((record["plan"]["job"].as_str()?.to_owned(), record["revision"].as_u64()?))
}

/// Holds what was seen against each other: a certificate and a record of one revision are the same record, and each revision
/// follows on the one before.
fn hold_together(seen: &mut [Seen]) {
    let mut told: Vec<(usize, Finding)> = Vec::new();
    for (i, one) in seen.iter().enumerate() {
        let Some((job, revision)) = job_and_revision(one) else {
            continue;
        };
        for (j, other) in seen.iter().enumerate().filter(|(j, _)| *j != i) {
            let Some((other_job, other_revision)) = job_and_revision(other) else {
                continue;
            };
            if job != other_job {
                continue;
            }
            let (Some(mine), Some(theirs)) = (&one.record, &other.record) else {
                continue;
            };
            if revision == other_revision && j < i && one.digest != other.digest {
                let finding = another(&other.file, mine, theirs);
                // a page in another language says so once
                let said = |(k, f): &(usize, Finding)| *k == i && matches!(f, Finding::Note(_));
                if !matches!(finding, Finding::Note(_)) || !told.iter().any(said) {
                    told.push((i, finding));
                }
            }
            // a certificate and its record would say the same twice
            let is_first = one.is_certificate || !seen.iter().any(|s| s.is_certificate && s.digest == one.digest);
            if other_revision + 1 == revision && is_first && !told.iter().any(|(k, f)| *k == i && follows(f)) {
                let named = mine["replaces"]["sha256"].as_str().unwrap_or_default();
                told.push((
                    i,
                    if named == other.digest {
                        Finding::Matches(format!("revision {other_revision}, which it replaces, by its SHA-256"))
                    } else {
                        Finding::Altered(format!(
                            "it replaces the record {named}, and revision {other_revision} here is {}",
                            other.digest
                        ))
                    },
                ));
            }
        }
    }
    for (i, finding) in told {
        seen[i].findings.push(finding);
    }
}

/// Two records of one revision that are not the same. The page may have been made in two languages, or in black too, and
/// that alone is nothing altered; plan, log and verdicts are the same in both.
fn another(file: &Path, mine: &Value, theirs: &Value) -> Finding {
    let without_page = |record: &Value| {
        let mut record = record.clone();
        record["certificate"] = Value::Null;
        record
    };
    let (my_page, their_page) = (&mine["certificate"], &theirs["certificate"]);
    let other_language = my_page["data"]["lang"] != their_page["data"]["lang"];
    let other_ink = my_page["ink"] != their_page["ink"] && my_page["data"] == their_page["data"];
    if (other_language || other_ink) && without_page(mine) == without_page(theirs) {
        return Finding::Note(format!(
            "{} is of the same plan, log and verdicts, with a page in another {}",
            file.display(),
            if other_language { "language" } else { "ink" }
        ));
    }
    let path = first_difference(mine, theirs);
    let place = path.map_or("in how it is written".into(), |path| format!("first at `{path}`"));
    Finding::Altered(format!(
        "{} holds another record of this revision: {place}",
        file.display()
    ))
}

fn follows(finding: &Finding) -> bool {
    matches!(finding, Finding::Matches(text) if text.starts_with("revision "))
}

/// For each job, which revision is the current one.
fn current(seen: &[Seen]) -> Vec<String> {
    let mut by_job: BTreeMap<String, BTreeMap<u64, &Seen>> = BTreeMap::new();
    for one in seen {
        if let Some((job, revision)) = job_and_revision(one) {
            by_job.entry(job).or_default().insert(revision, one);
        }
    }
    let lines = by_job.iter().filter_map(|(job, revisions)| {
        let (revision, one) = revisions.last_key_value()?;
        let missing: Vec<String> = (1..*revision)
            .filter(|r| !revisions.contains_key(r))
            .map(|r| r.to_string())
            .collect();
        let lacking = if missing.is_empty() {
            String::new()
        } else {
            format!("; not seen: revision {}", missing.join(", "))
        };
        Some(format!(
            "job {job}: of what was seen, revision {revision} is current, record {}{lacking}",
            one.digest
        ))
    });
    lines.collect()
}
