//! One file: what is found of it.

use std::path::{Path, PathBuf};

use serde_json::Value;

use super::reproduce::{Reproduction, reproduce};
use super::words::{Pages, check_words};
use crate::engine::Templates;
use crate::input;
use crate::record::pdf::{LARGEST_PDF, carried};
use crate::record::{
    FORM, Finding, PROGRAM, PublicKey, SEAL_FORM, Seal, first_difference, issued_difference, json_within_bounds, prove,
    shortened, value_at,
};

pub struct Seen {
    pub file: PathBuf,
    pub findings: Vec<Finding>,
    /// The record that it is or carries.
    pub record: Option<Value>,
    pub digest: String,
    pub is_certificate: bool,
    /// Whether it was found in a folder that was named, and not named itself.
    pub in_folder: bool,
}

/// What files are compared with.
#[derive(Default)]
pub struct Reference {
    /// The key that must have signed them.
    pub key: Option<PublicKey>,
    pub record: Option<Value>,
    /// Whether files of other jobs may be among those looked at: what they are is then said when all have been seen.
    pub among_others: bool,
    /// Whether the record need only say what the job says of the work: what was issued stays, though the firm moved since.
    pub as_issued: bool,
    pub templates: Option<Templates>,
    pub pages: Option<Pages>,
}

/// A record as a certificate carries it.
pub struct Carrier<'a> {
    pub record: &'a Value,
    pub bytes: &'a [u8],
    pub seal: Option<&'a [u8]>,
    /// All files that are attached to the certificate.
    pub attached: &'a [Vec<u8>],
}

/// Reads a file that may be a stranger's.
pub fn read_bounded(file: &Path) -> Result<Vec<u8>, String> {
    input::read(file, LARGEST_PDF as u64).map_err(|e| e.to_string())
}

impl Reference {
    /// Looks at one file. Errors are internal ones.
    pub fn look(&self, file: &Path) -> Result<Seen, String> {
        let mut seen = match read_bounded(file) {
            Ok(bytes) => self.look_through(file, &bytes)?,
            Err(why) => Seen::of(file, vec![Finding::Unreadable(why)]),
        };
        let is_sound = !seen.findings.iter().any(|f| matches!(f, Finding::Altered(_) | Finding::Unreadable(_)));
        if seen.is_certificate && is_sound {
            let pages = |record: &Value| self.pages.as_ref().filter(|_| !self.is_of_another_job(record));
            let drawn_here = !seen.findings.iter().any(|f| matches!(f, Finding::NotChecked(_)));
            let said = seen.record.as_ref().and_then(|record| check_words(record, pages(record), drawn_here));
            seen.findings.extend(said);
        }
        Ok(seen)
    }

    /// Looks at what was read of a file. Errors are internal ones.
    pub fn look_through(&self, file: &Path, bytes: &[u8]) -> Result<Seen, String> {
        let mut seen = Seen::of(file, Vec::new());
        if bytes.starts_with(b"%PDF") {
            seen.is_certificate = true;
            self.certificate(bytes, &mut seen)?;
        } else {
            let seal = seal_beside(file).and_then(|path| read_bounded(&path).ok());
            let proof = prove(bytes, seal.as_deref(), self.key.as_ref());
            seen.findings = proof.findings;
            seen.record = proof.record;
            seen.digest = proof.digest;
        }
        if let Some(record) = &seen.record {
            seen.findings.extend(misnamed(file, record));
            seen.findings.extend(other_program(record));
            seen.findings.extend(self.compare(record));
        }
        Ok(seen)
    }

    /// A certificate: the record within, and the page drawn again from it.
    fn certificate(&self, pdf: &[u8], seen: &mut Seen) -> Result<(), String> {
        let within = match carried(pdf) {
            Ok(within) => within,
            Err(beyond) => {
                let why = format!("{beyond}, which no certificate of decant's is or does");
                seen.findings.push(Finding::Unreadable(why));
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
                Finding::Altered(
                    "files are attached, and not the way decant attaches them: another program has written this PDF anew"
                        .into(),
                )
            } else {
                Finding::Unreadable(
                    "no record of decant's can be found in this PDF: it is a draft, is not a certificate, or is spoilt"
                        .into(),
                )
            });
            return Ok(());
        };
        if within.packed {
            let why = "its objects are packed, which decant never does: another program has written this PDF anew";
            seen.findings.push(Finding::Altered(why.into()));
        }
        let seal = of_form(SEAL_FORM).map(Vec::as_slice);
        let proof = prove(record, seal, self.key.as_ref());
        seen.findings.extend(proof.findings);
        seen.digest = proof.digest;
        let Some(value) = proof.record else { return Ok(()) };
        seen.findings.push(if seal.is_some_and(|seal| Seal::read(seal).is_some()) {
            self.page(pdf, &Carrier { record: &value, bytes: record, seal, attached: all })?
        } else {
            Finding::Altered("the certificate has no seal with its record".into())
        });
        seen.record = Some(value);
        Ok(())
    }

    fn page(&self, pdf: &[u8], carrier: &Carrier<'_>) -> Result<Finding, String> {
        Ok(match reproduce(carrier, self.templates.as_ref()) {
            Reproduction::Drawn(again) if again == pdf => {
                Finding::Matches("the page: drawn again from the record, it is the same byte for byte".into())
            }
            Reproduction::Drawn(again) => Finding::Altered(first_byte(pdf, &again)),
            Reproduction::NotDrawn(why) => Finding::NotChecked(format!("the page was not drawn again: {why}")),
            Reproduction::Impossible(why) => Finding::Altered(format!("no page follows from the record within: {why}")),
            Reproduction::Error(error) => return Err(error),
        })
    }

    fn is_of_another_job(&self, record: &Value) -> bool {
        self.record.as_ref().is_some_and(|now| of_another_job(record, now).is_some())
    }

    /// Compares a record with the one that the job gives.
    fn compare(&self, record: &Value) -> Option<Finding> {
        let now = self.record.as_ref()?;
        if let Some(which) = of_another_job(record, now) {
            return (!self.among_others).then_some(Finding::Altered(which));
        }
        if record["revision"].as_u64() < now["revision"].as_u64() {
            // whether the later one is there is known when all have been seen
            return None;
        }
        let path = if self.as_issued {
            let verdicts = || first_difference(&record["verdicts"], &now["verdicts"]).map(|at| format!("verdicts{at}"));
            issued_difference(record, now).map(|found| found.path).or_else(verdicts)
        } else {
            first_difference(&of_job(record), &of_job(now))
        };
        let short = |record: &Value, path: &str| value_at(record, path).map_or("absent".into(), shortened);
        Some(match path {
            None => Finding::Matches("the job: it gives the same plan, log and verdicts".into()),
            Some(path) => Finding::Altered(format!(
                "the job gives another record: first at `{path}`, which is {} there and {} here",
                short(now, &path),
                short(record, &path)
            )),
        })
    }
}

/// That a record is not of the job that gives another, in words.
pub(super) fn of_another_job(record: &Value, now: &Value) -> Option<String> {
    let (job, other) = (&now["plan"]["job"], &record["plan"]["job"]);
    (job != other).then(|| format!("it is of job {other}, and the job given is {job}"))
}

/// A record without what the page looks like and who made it, which are not of the job.
fn of_job(record: &Value) -> Value {
    let mut record = record.clone();
    if let Some(fields) = record.as_object_mut() {
        fields.retain(|key, _| !matches!(key.as_str(), "certificate" | "made_by" | "key"));
    }
    record
}

impl Seen {
    fn of(file: &Path, findings: Vec<Finding>) -> Seen {
        let file = file.to_owned();
        Seen { file, findings, record: None, digest: String::new(), is_certificate: false, in_folder: false }
    }
}

/// A file that is called as that of one job or revision and is of another was put in its place.
fn misnamed(file: &Path, record: &Value) -> Option<Finding> {
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

fn other_program(record: &Value) -> Option<Finding> {
    let made_by = record["made_by"]["program"].as_str().unwrap_or("an unknown program");
    (made_by != PROGRAM).then(|| Finding::Note(format!("it was made by {made_by}; this is {PROGRAM}")))
}

/// `JOB-seal.json` beside `JOB-record.json`.
fn seal_beside(record: &Path) -> Option<PathBuf> {
    let (job, rest) = record.file_name()?.to_str()?.rsplit_once("-record")?;
    Some(record.with_file_name(format!("{job}-seal{rest}")))
}

/// Where a PDF first differs from the one that its record gives.
fn first_byte(found: &[u8], again: &[u8]) -> String {
    let same = found.iter().zip(again).take_while(|(a, b)| a == b).count();
    let (bytes, wanted) = (found.len(), again.len());
    if same == bytes {
        return format!("the PDF is cut short: it has {bytes} bytes of the {wanted} that its record gives");
    }
    if same == wanted {
        return format!("{} bytes stand behind the end of the PDF that its record gives", bytes - same);
    }
    let at = same + 1;
    format!(
        "the PDF is not the one that its record gives: from byte {at} of {bytes} it differs, in its pages or in what lies around them"
    )
}

/// The files that a name stands for: itself, or what a folder and the folders in it hold of certificates and records.
pub fn files_named(file: &Path) -> Result<Vec<PathBuf>, String> {
    if !std::fs::metadata(file).map_err(|e| format!("{}: {e}", file.display()))?.is_dir() {
        let name = file.file_name().unwrap_or_default().to_string_lossy();
        let record = name.rsplit_once("-seal").filter(|_| name.ends_with(".json"));
        let record = record.map(|(job, rest)| file.with_file_name(format!("{job}-record{rest}")));
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

/// Hidden folders and links to folders are passed over: a link may lead in a circle.
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
