//! What was issued of a job, by the files in a folder: a record that holds a certificate, or the PDF that carries one.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use serde_json::Value;

use super::pdf::carried;
use super::{FORM, revision_mark};
use crate::digest::sha256;
use crate::input;

/// What is read of a record or certificate, at most, in bytes: what cannot be one of ours is not read.
const LARGEST: u64 = 64 << 20;

pub struct Names {
    pub record: String,
    pub seal: String,
    pub certificate: String,
}

impl Names {
    pub fn of(job: &str, revision: u32) -> Names {
        let mark = revision_mark(revision);
        Names {
            record: format!("{job}-record{mark}.json"),
            seal: format!("{job}-seal{mark}.json"),
            certificate: format!("{job}-certificate{mark}.pdf"),
        }
    }

    /// The files of the revisions before this one, which belong as long as the job does.
    pub fn earlier(job: &str, revision: u32) -> Vec<String> {
        let names = (1..revision).map(|revision| Names::of(job, revision));
        names.flat_map(|names| [names.record, names.seal, names.certificate]).collect()
    }
}

/// A record that holds a certificate, as it lies in a folder.
#[derive(Clone, Debug)]
pub struct Issued {
    pub revision: u32,
    pub record: Value,
    pub digest: String,
}

/// Which revision of a job's certificate lies in a folder, by its record or, where that is gone, by the record that the PDF
/// carries. `None` if neither does: a draft and a record without a certificate are not issued.
pub fn issued(folder: &Path, job: &str, revision: u32) -> Option<Issued> {
    let of = |bytes: &[u8]| {
        let record = record(bytes).filter(|record| !record["certificate"].is_null())?;
        Some(Issued { revision, digest: sha256(bytes), record })
    };
    let names = Names::of(job, revision);
    let by_record = read(&folder.join(names.record)).and_then(|bytes| of(&bytes));
    by_record.or_else(|| attached(&read(&folder.join(names.certificate))?).iter().find_map(|bytes| of(bytes)))
}

/// The record of a revision of which nothing was issued, as it lies in a folder: its number is on what the crew was given.
pub fn given_out(folder: &Path, job: &str, revision: u32) -> Option<Value> {
    record(&read(&folder.join(Names::of(job, revision).record))?).filter(|record| record["certificate"].is_null())
}

/// Whether a PDF carries a record: a draft does not.
pub fn carries_record(pdf: &Path) -> bool {
    read(pdf).is_some_and(|bytes| attached(&bytes).iter().any(|file| record(file).is_some()))
}

fn record(bytes: &[u8]) -> Option<Value> {
    serde_json::from_slice(bytes).ok().filter(|record: &Value| record["form"] == FORM)
}

/// Reads an ordinary file, and never what a link leads to.
fn read(file: &Path) -> Option<Vec<u8>> {
    let is_file = fs::symlink_metadata(file).is_ok_and(|meta| meta.is_file());
    is_file.then(|| input::read(file, LARGEST).ok()).flatten()
}

/// The files of a job's records, seals and certificates in a folder, each with its revision; found by their names.
fn files_of(folder: &Path, job: &str) -> Vec<(String, u32)> {
    let names = fs::read_dir(folder).into_iter().flatten().flatten();
    let names = names.filter_map(|entry| entry.file_name().into_string().ok());
    names.filter_map(|name| revision_of(&name, job).map(|revision| (name, revision))).collect()
}

/// Every revision of a job of which a file lies in a folder.
pub fn revisions(folder: &Path, job: &str) -> BTreeSet<u32> {
    files_of(folder, job).into_iter().map(|(_, revision)| revision).collect()
}

/// The revision of a record, seal or certificate of a job, by its name: `7-record-r2.json` is of revision 2 of job 7.
pub fn revision_of(name: &str, job: &str) -> Option<u32> {
    let rest = name.strip_prefix(job)?.strip_prefix('-')?;
    let rest = ["certificate", "record", "seal"].iter().find_map(|kind| rest.strip_prefix(kind))?;
    let (mark, _) = rest.rsplit_once('.')?;
    // the page of a picture stands behind the mark: `-r2-1`
    let mark = mark.strip_prefix("-r").map(|m| m.split('-').next().unwrap_or_default());
    mark.map_or(Some(1), |digits| digits.parse().ok().filter(|revision| *revision > 1))
}

/// The files in a folder that issued certificates of a job consist of: never written over, never stale.
pub fn issued_files(folder: &Path, job: &str) -> BTreeSet<String> {
    let files = files_of(folder, job);
    let revisions: BTreeSet<u32> = files.iter().map(|(_, revision)| *revision).collect();
    let issued: BTreeSet<u32> = revisions.into_iter().filter(|r| issued(folder, job, *r).is_some()).collect();
    files.into_iter().filter(|(_, revision)| issued.contains(revision)).map(|(name, _)| name).collect()
}

/// Files of a revision that will not be among these, which replace it: they go.
pub fn replaced(folder: &Path, job: &str, revision: u32, made: &[(String, Vec<u8>)]) -> Vec<String> {
    let files = files_of(folder, job).into_iter();
    let gone = files.filter(|(name, of)| *of == revision && made.iter().all(|(new, _)| new != name));
    gone.map(|(name, _)| name).collect()
}

/// Whether something was issued of the job of a job file, in the folders that `render` and `batch` write into by
/// default: `out` beside it, and the output folder that it was expanded into.
pub fn was_issued(job_file: &Path, number: &str) -> bool {
    let beside = job_file.parent().unwrap_or(Path::new(""));
    let above = if beside.as_os_str().is_empty() { Path::new("..").to_owned() } else { beside.join("..") };
    let folders = [beside.join("out"), beside.join("out").join(number), above.join(number)];
    folders.iter().any(|folder| !issued_files(folder, number).is_empty())
}

/// The files that a PDF carries; none of a PDF beyond the bounds of [`carried`].
fn attached(pdf: &[u8]) -> Vec<Vec<u8>> {
    carried(pdf).map(|carried| carried.files).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_revision_is_known_by_the_names_of_its_files() {
        for (name, revision) in [
            ("7-record.json", Some(1)),
            ("7-record-r2.json", Some(2)),
            ("7-seal-r12.json", Some(12)),
            ("7-certificate.pdf", Some(1)),
            // pictures of its pages
            ("7-certificate-1.png", Some(1)),
            ("7-certificate-r3-2.svg", Some(3)),
            ("7-mix-sheet.pdf", None),
            ("71-record.json", None),
            ("7-record-r1.json", None),
            ("7-record-rx.json", None),
            ("7", None),
        ] {
            assert_eq!(revision_of(name, "7"), revision, "{name}");
        }
    }
}
