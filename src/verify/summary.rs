//! What is found of all the files that were verified: whether they fit one another, which revision is current, and a summary.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::fs;
use std::path::Path;

use serde_json::Value;

use super::Seen;
use super::file::of_another_job;
use crate::record::{Finding, first_difference};

/// Compares what was seen: a certificate and a record of one revision are the same record, each revision follows on the one
/// before, a certificate that a record holds is beside it, and with `now`, the record that the job gives, the job's own revision
/// is among them. A file of another job in a folder is none of the job's, and altered only where nothing of
/// the job was seen. Returns how many are none of the job's.
pub fn compare_files(seen: &mut [Seen], now: Option<&Value>) -> usize {
    let mut found: Vec<(usize, Finding)> = Vec::new();
    let other = |one: &Seen| of_another_job(one.record.as_ref()?, now?);
    let has_own = seen.iter().any(|one| one.record.is_some() && other(one).is_none());
    let mut passed = 0;
    for (i, one) in seen.iter().enumerate() {
        if let Some(which) = other(one) {
            let is_passed = one.in_folder && has_own;
            passed += usize::from(is_passed);
            let note = format!("{which}: not compared with it");
            found.push((i, if is_passed { Finding::Note(note) } else { Finding::Altered(which) }));
        }
        found.extend(missing(one).map(|finding| (i, finding)));
        found.extend(superseded(one, seen, now).map(|finding| (i, finding)));
    }
    let by_job = by_job(seen.iter().enumerate());
    for revisions in by_job.values() {
        for (revision, files) in revisions {
            found.extend(one_record(seen, files));
            let before = revision.checked_sub(1).and_then(|before| revisions.get(&before));
            found.extend(follows(seen, files, before, *revision));
        }
    }
    for (i, finding) in found {
        seen[i].findings.push(finding);
    }
    passed
}

fn job_and_revision(seen: &Seen) -> Option<(String, u64)> {
    let record = seen.record.as_ref()?;
    Some((record["plan"]["job"].as_str()?.to_owned(), record["revision"].as_u64()?))
}

/// What is given with each file, by its job and its revision.
fn by_job<'s, T>(seen: impl Iterator<Item = (T, &'s Seen)>) -> BTreeMap<String, BTreeMap<u64, Vec<T>>> {
    let mut by_job: BTreeMap<String, BTreeMap<u64, Vec<T>>> = BTreeMap::new();
    for (given, one) in seen {
        if let Some((job, revision)) = job_and_revision(one) {
            by_job.entry(job).or_default().entry(revision).or_default().push(given);
        }
    }
    by_job
}

/// A record whose certificate is gone. Only the record's own name says what to look for: what stands in it may be a stranger's.
fn missing(seen: &Seen) -> Option<Finding> {
    let record = seen.record.as_ref().filter(|_| !seen.is_certificate)?;
    if record["certificate"].is_null() {
        return None;
    }
    let name = seen.file.file_name()?.to_str()?;
    let (job, rest) = name.rsplit_once("-record")?;
    let stem = format!("{job}-certificate{}", rest.strip_suffix(".json")?);
    let (pdf, picture) = (format!("{stem}.pdf"), format!("{stem}-1."));
    let folder = seen.file.parent().filter(|folder| !folder.as_os_str().is_empty());
    let entries = fs::read_dir(folder.unwrap_or(Path::new("."))).ok()?;
    let is_there = entries.flatten().any(|entry| {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        name == pdf.as_str() || name.starts_with(&picture)
    });
    (!is_there).then(|| {
        Finding::Missing(format!(
            "its certificate {pdf} is not beside it, though the record holds it; `decant render` or `decant batch` makes it again"
        ))
    })
}

/// A record of an earlier revision than the job's is no longer what the job says, unless the job's own was seen as well.
fn superseded(one: &Seen, seen: &[Seen], now: Option<&Value>) -> Option<Finding> {
    let (job, revision) = job_and_revision(one)?;
    let now = now.filter(|now| now["plan"]["job"] == job.as_str())?;
    let wanted = now["revision"].as_u64().filter(|wanted| revision < *wanted)?;
    let later = Some((job, wanted));
    if seen.iter().any(|other| job_and_revision(other) == later) {
        return Some(Finding::Note(format!(
            "it is revision {revision}, and the job has come to revision {wanted}, which replaces it"
        )));
    }
    Some(Finding::Stale(format!(
        "it is revision {revision}, and the job has come to revision {wanted}, which was not seen: it holds no more"
    )))
}

/// All files of one revision are of one record.
fn one_record(seen: &[Seen], files: &[usize]) -> Vec<(usize, Finding)> {
    let mut found = Vec::new();
    for (place, i) in files.iter().enumerate() {
        // compared with the first that is another record, so that of a thousand copies each is reported once
        let other = files[..place].iter().find(|j| seen[**j].digest != seen[*i].digest);
        if let Some(other) = other {
            found.push((*i, another(&seen[*i], &seen[*other])));
        }
    }
    found
}

/// Two records of one revision that are not the same. The page may have been made in two languages, or in black too, and
/// that alone is nothing altered; plan, log and verdicts are the same in both.
fn another(one: &Seen, other: &Seen) -> Finding {
    let file = &other.file;
    let (Some(mine), Some(theirs)) = (&one.record, &other.record) else {
        return Finding::Unreadable(format!("{} cannot be compared with it", file.display()));
    };
    let without_page = |record: &Value| {
        let mut record = record.clone();
        record["certificate"] = Value::Null;
        record
    };
    let (my_page, their_page) = (&mine["certificate"], &theirs["certificate"]);
    let other_language = my_page["data"]["lang"] != their_page["data"]["lang"];
    let other_ink = my_page["ink"] != their_page["ink"] && my_page["data"] == their_page["data"];
    let two_pages = !my_page.is_null() && !their_page.is_null();
    if two_pages && (other_language || other_ink) && without_page(mine) == without_page(theirs) {
        return Finding::Note(format!(
            "{} is of the same plan, log and verdicts, with a page in another {}",
            file.display(),
            if other_language { "language" } else { "ink" }
        ));
    }
    let path = first_difference(mine, theirs);
    let place = path.map_or("in how it is written".into(), |path| format!("first at `{path}`"));
    let two = format!("{} holds another record of this revision: {place}", file.display());
    let either = |states: &[State]| one.findings.iter().chain(&other.findings).any(|f| states.contains(&f.state()));
    if either(&[State::Altered, State::Unreadable]) {
        return Finding::Altered(two);
    }
    if either(&[State::Unfinished]) {
        return Finding::Unfinished(format!("{two}; the run that wrote one of them was cut short: run it again"));
    }
    if !two_pages {
        let withheld = if my_page.is_null() { &one.file } else { file };
        return Finding::Stale(format!(
            "{two}; {} holds no certificate: it was withheld, or the certificate is of another run",
            withheld.display()
        ));
    }
    Finding::Stale(format!(
        "{two}; each is whole, so that one of them is of an earlier run or was put in the other's place"
    ))
}

/// A revision names the record before, which must be the one that was seen. A certificate and its record would say the same twice.
fn follows(seen: &[Seen], files: &[usize], before: Option<&Vec<usize>>, revision: u64) -> Vec<(usize, Finding)> {
    let mut found = Vec::new();
    let Some(before) = before else { return found };
    let by_certificates: BTreeSet<&str> =
        files.iter().filter(|i| seen[**i].is_certificate).map(|i| seen[*i].digest.as_str()).collect();
    let digests: BTreeSet<&str> = before.iter().map(|i| seen[*i].digest.as_str()).collect();
    for i in files {
        let one = &seen[*i];
        let Some(record) = &one.record else { continue };
        if !one.is_certificate && by_certificates.contains(one.digest.as_str()) {
            continue;
        }
        let named = record["replaces"]["sha256"].as_str().unwrap_or_default();
        let earlier = revision - 1;
        let finding = if digests.contains(named) {
            Finding::Matches(format!("revision {earlier}, which it replaces, by its SHA-256"))
        } else {
            let here = digests.iter().copied().collect::<Vec<_>>().join(", ");
            Finding::Altered(format!("it replaces the record {named}, and revision {earlier} here is {here}"))
        };
        found.push((*i, finding));
    }
    found
}

/// How a finding or a file is; of a file the last one in this order counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum State {
    Matches,
    NotChecked,
    Unfinished,
    Unreadable,
    Stale,
    Missing,
    Altered,
}

impl Finding {
    /// Its state, the word that it begins with, and what was found.
    fn parts(&self) -> (State, &'static str, &str) {
        match self {
            Finding::Matches(what) => (State::Matches, "matches", what),
            Finding::Note(what) => (State::Matches, "note", what),
            Finding::NotChecked(what) => (State::NotChecked, "NOT CHECKED", what),
            Finding::Unreadable(what) => (State::Unreadable, "UNREADABLE", what),
            Finding::Unfinished(what) => (State::Unfinished, "UNFINISHED", what),
            Finding::Stale(what) => (State::Stale, "STALE", what),
            Finding::Missing(what) => (State::Missing, "MISSING", what),
            Finding::Altered(what) => (State::Altered, "ALTERED", what),
        }
    }

    pub fn state(&self) -> State {
        self.parts().0
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (_, word, what) = self.parts();
        write!(f, "{word}: {what}")
    }
}

impl Seen {
    pub fn state(&self) -> State {
        self.findings.iter().map(Finding::state).max().unwrap_or(State::Matches)
    }

    /// What is not as it should be.
    pub fn bad(&self) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(|finding| finding.state() > State::Matches)
    }
}

/// `3 match, 1 altered, 0 missing`; what else there is stands behind.
fn counts<'s>(seen: impl IntoIterator<Item = &'s Seen>) -> String {
    let mut count: BTreeMap<State, usize> = BTreeMap::new();
    for one in seen {
        // what is missing is another file than the one that says so
        let missing = one.findings.iter().filter(|finding| finding.state() == State::Missing).count();
        *count.entry(State::Missing).or_default() += missing;
        let state = Some(one.state()).filter(|state| *state != State::Missing).unwrap_or(State::Matches);
        *count.entry(state).or_default() += 1;
    }
    let words = [
        ("match", State::Matches, true),
        ("altered", State::Altered, true),
        ("missing", State::Missing, true),
        ("stale", State::Stale, false),
        ("unfinished", State::Unfinished, false),
        ("not readable", State::Unreadable, false),
        ("not wholly checked", State::NotChecked, false),
    ];
    let words = words.into_iter().map(|(word, state, always)| (word, count.get(&state).copied().unwrap_or(0), always));
    let shown = words.filter(|(_, count, always)| *always || *count > 0);
    shown.map(|(word, count, _)| format!("{count} {word}")).collect::<Vec<_>>().join(", ")
}

/// All that is to be said. Of a folder that was named there is a line, and what is not as it should be; of a file that was
/// named, and of every file with `verbose`, there is everything.
pub fn lines(seen: &[Seen], verbose: bool) -> Vec<String> {
    let mut lines = Vec::new();
    let mut folders: BTreeMap<&Path, Vec<&Seen>> = BTreeMap::new();
    for one in seen {
        if one.in_folder && !verbose {
            folders.entry(one.file.parent().unwrap_or(Path::new(""))).or_default().push(one);
        } else {
            lines.push(one.file.display().to_string());
            lines.extend(one.findings.iter().map(|finding| format!("  {finding}")));
        }
    }
    for (folder, files) in &folders {
        let jobs: BTreeSet<String> = files.iter().filter_map(|one| Some(job_and_revision(one)?.0)).collect();
        let which = match jobs.len() {
            1 => current(files.iter().copied()).concat(),
            n => format!("{n} jobs"),
        };
        lines.push(format!("{}: {}; {which}", folder.display(), counts(files.iter().copied())));
        for one in files {
            let name = one.file.file_name().unwrap_or_default().to_string_lossy();
            lines.extend(one.bad().map(|finding| format!("  {name}: {finding}")));
        }
        if jobs.len() > 1 {
            let not_whole = current(files.iter().copied()).into_iter();
            lines.extend(not_whole.filter(|line| line.contains(NOT_WHOLE)).map(|line| format!("  {line}")));
        }
    }
    if verbose || folders.is_empty() {
        lines.extend(current(seen));
    }
    lines.push(format!("{} of {} files", counts(seen), seen.len()));
    lines
}

const NOT_WHOLE: &str = "is current and NOT WHOLE";
/// Revisions that are named as not seen, at most.
const MOST_UNSEEN: usize = 20;

/// For each job, which revision is the current one, and whether it is whole; else which one is.
fn current<'s>(seen: impl IntoIterator<Item = &'s Seen>) -> Vec<String> {
    let by_job = by_job(seen.into_iter().map(|one| (one, one)));
    let worst = |files: &[&Seen]| files.iter().map(|one| one.state()).max().unwrap_or(State::Matches);
    let lines = by_job.iter().filter_map(|(job, revisions)| {
        let (revision, files) = revisions.last_key_value()?;
        // a stranger's record may be of whatever revision it likes
        let unseen = (1..*revision).filter(|r| !revisions.contains_key(r)).take(MOST_UNSEEN + 1);
        let mut unseen: Vec<String> = unseen.map(|r| r.to_string()).collect();
        if let Some(more) = unseen.get_mut(MOST_UNSEEN) {
            *more = "…".to_owned();
        }
        let lacking =
            if unseen.is_empty() { String::new() } else { format!("; not seen: revision {}", unseen.join(", ")) };
        let digest = files.first().map(|one| one.digest.as_str()).unwrap_or_default();
        let how = match worst(files) {
            State::Matches => format!("revision {revision} is current and whole, record {digest}"),
            State::NotChecked => {
                format!("revision {revision} is current, record {digest}, and not all of it could be looked at")
            }
            _ => {
                let whole = revisions.iter().rev().find(|(_, files)| worst(files) == State::Matches);
                let earlier =
                    whole.map_or(String::new(), |(whole, _)| format!("; revision {whole} is whole, and not current"));
                format!("revision {revision} {NOT_WHOLE}, record {digest}{earlier}")
            }
        };
        Some(format!("job {job}: of what was seen, {how}{lacking}"))
    });
    lines.collect()
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn a_strangers_record_of_an_enormous_revision_is_summed_up_at_once() {
        let seen = |revision: u64| {
            let record = json!({ "plan": { "job": "7" }, "revision": revision });
            let file = "7-record.json".into();
            let digest = "d".to_owned();
            Seen { file, findings: vec![], record: Some(record), digest, is_certificate: false, in_folder: false }
        };
        assert!(current(&[seen(4), seen(2)])[0].ends_with("; not seen: revision 1, 3"));
        assert!(current(&[seen(u64::MAX)])[0].ends_with("19, 20, …"));
    }
}
