//! The manifests and summaries of all shards, joined into one.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use super::manifest::{FORM, Manifest, summary, to_json};
use super::{Failed, Shard, Store};
use crate::input;

/// The largest manifest or summary that is read, in bytes: one of a million jobs.
const LARGEST_MANIFEST: u64 = 1 << 30;

/// What was joined.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Merged {
    /// The joined manifest.
    pub manifest: Manifest,
    /// What was written.
    pub written: Vec<PathBuf>,
}

/// A shard's manifest, and where it lies.
struct Found {
    folder: PathBuf,
    shard: Shard,
    manifest: Manifest,
}

/// Joins what lies in these folders. Every shard must be there once, all of one run, and every job once; else nothing is written.
pub fn merge(folders: &[PathBuf], output: &Path) -> Result<Merged, Vec<Failed>> {
    let mut problems = Vec::new();
    let mut found: Vec<Found> = Vec::new();
    for folder in folders {
        match read_folder(folder) {
            Ok(more) => found.extend(more),
            Err(failed) => problems.push(failed),
        }
    }
    for other in found.iter().skip(1).filter(|other| !other.is_of_the_run_of(&found[0])) {
        problems.push(Failed::new(format!(
            "{} is of other jobs than {}: shards of one run are given the same jobs",
            other.shown(),
            found[0].shown()
        )));
    }
    if problems.is_empty() {
        check_shards(&found, &mut problems);
        check_jobs(&found, &mut problems);
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    join(found, output).map_err(|failed| vec![failed])
}

impl Found {
    fn shown(&self) -> String {
        let name = self.shard.file_name("manifest", "json");
        self.folder.join(name).display().to_string()
    }

    fn is_of_the_run_of(&self, other: &Found) -> bool {
        let (a, b) = (&self.manifest, &other.manifest);
        (&a.jobs_digest, a.jobs_of_all_shards, &a.made_by) == (&b.jobs_digest, b.jobs_of_all_shards, &b.made_by)
            && self.shard.of() == other.shard.of()
    }
}

/// All shards' manifests in a folder. One that was merged there before is none of them.
fn read_folder(folder: &Path) -> Result<Vec<Found>, Failed> {
    let cannot = |path: &Path, e: &dyn std::fmt::Display| Failed::new(format!("cannot read {}: {e}", path.display()));
    let mut names = Vec::new();
    for entry in fs::read_dir(folder).map_err(|e| cannot(folder, &e))? {
        let name = entry.map_err(|e| cannot(folder, &e))?.file_name();
        let name = name.to_string_lossy().into_owned();
        if name.starts_with("manifest") && Path::new(&name).extension().is_some_and(|e| e == "json") {
            names.push(name);
        }
    }
    if names.iter().any(|name| name != "manifest.json") {
        names.retain(|name| name != "manifest.json");
    }
    names.sort_unstable();
    let mut found = Vec::new();
    for name in names {
        let path = folder.join(&name);
        let bytes = input::read(&path, LARGEST_MANIFEST).map_err(|e| cannot(&path, &e))?;
        let manifest: Manifest = serde_json::from_slice(&bytes).map_err(|e| cannot(&path, &e))?;
        if manifest.form != FORM {
            return Err(cannot(&path, &format!("it is `{}`, not `{FORM}`", manifest.form)));
        }
        found.push(Found {
            folder: folder.to_owned(),
            shard: manifest.shard.parse().map_err(|e: String| cannot(&path, &e))?,
            manifest,
        });
    }
    if found.is_empty() {
        return Err(Failed::new(format!("no manifest is in {}", folder.display())));
    }
    Ok(found)
}

fn check_shards(found: &[Found], problems: &mut Vec<Failed>) {
    let of = found.first().map_or(1, |first| first.shard.of());
    let mut parts: BTreeMap<u32, &Found> = BTreeMap::new();
    for one in found {
        if let Some(other) = parts.insert(one.shard.part(), one) {
            problems.push(Failed::new(format!(
                "the shard {} is there twice: {} and {}",
                one.shard,
                other.shown(),
                one.shown()
            )));
        }
    }
    let missing: Vec<String> =
        (1..=of).filter(|part| !parts.contains_key(part)).map(|part| format!("{part}/{of}")).collect();
    if !missing.is_empty() {
        problems.push(Failed::new(format!("shards are missing: {}", missing.join(", "))));
    }
}

fn check_jobs(found: &[Found], problems: &mut Vec<Failed>) {
    let mut seen: BTreeMap<&str, &Found> = BTreeMap::new();
    let mut doubled: BTreeSet<&str> = BTreeSet::new();
    for one in found {
        // two files of one number are two failed jobs of the same shard, which says so itself
        let made = one.manifest.jobs.iter().filter(|job| job.state != "failed");
        for number in made.filter_map(|job| job.job.as_deref()) {
            if let Some(other) = seen.insert(number, one)
                && doubled.insert(number)
            {
                let reported = format!("the job `{number}` is in {} and in {}", other.shown(), one.shown());
                problems.push(Failed::new(reported));
            }
        }
    }
    let all = found.first().map_or(0, |first| first.manifest.jobs_of_all_shards);
    let there: usize = found.iter().map(|one| one.manifest.jobs.len()).sum();
    if problems.is_empty() && there != all {
        problems.push(Failed::new(format!("{all} jobs were named and {there} are in the manifests")));
    }
}

fn join(mut found: Vec<Found>, output: &Path) -> Result<Merged, Failed> {
    found.sort_by_key(|one| one.shard);
    let store = Store::open(output)?;
    let rows = join_summaries(&found)?;
    let mut parts = found.into_iter();
    let Some(first) = parts.next() else {
        return Err(Failed::new("no manifest was named"));
    };
    let mut manifest = in_folder(first);
    for next in parts {
        let next = in_folder(next);
        manifest.totals.add(next.totals);
        manifest.jobs.extend(next.jobs);
        manifest.stale.extend(next.stale);
        manifest.removed.extend(next.removed);
        manifest.kept.extend(next.kept);
        // every shard is given the same files
        let new: Vec<String> = next.unused.into_iter().filter(|file| !manifest.unused.contains(file)).collect();
        manifest.unused.extend(new);
    }
    manifest.shard = Shard::WHOLE.to_string();
    manifest.jobs.sort_by(|a, b| (&a.job, &a.file).cmp(&(&b.job, &b.file)));
    let written = vec![store.write("summary.csv", &rows)?, store.write("manifest.json", &to_json(&manifest)?)?];
    Ok(Merged { manifest, written })
}

/// The manifest with the folder it came from on every job and file.
fn in_folder(one: Found) -> Manifest {
    let mut manifest = one.manifest;
    let folder = one.folder.display().to_string();
    for job in &mut manifest.jobs {
        job.folder = Some(folder.clone());
    }
    for file in manifest.stale.iter_mut().chain(&mut manifest.removed) {
        *file = one.folder.join(&*file).display().to_string();
    }
    manifest
}

/// All rows under one header, in the order of their first cell, which is the job's number.
fn join_summaries(found: &[Found]) -> Result<Vec<u8>, Failed> {
    let mut header: Option<csv::StringRecord> = None;
    let mut rows: Vec<csv::StringRecord> = Vec::new();
    for one in found {
        let path = one.folder.join(one.shard.file_name("summary", "csv"));
        let cannot = |e: csv::Error| Failed::new(format!("cannot read {}: {e}", path.display()));
        let bytes =
            input::read(&path, LARGEST_MANIFEST).map_err(|e| cannot(csv::Error::from(std::io::Error::from(e))))?;
        let mut reader = csv::Reader::from_reader(bytes.as_slice());
        let this = reader.headers().map_err(cannot)?.clone();
        if header.get_or_insert_with(|| this.clone()) != &this {
            return Err(Failed::new(format!("{} has other columns", path.display())));
        }
        for row in reader.records() {
            rows.push(row.map_err(cannot)?);
        }
    }
    rows.sort_by(|a, b| a.get(0).cmp(&b.get(0)));
    // cells that are plain stay as they are
    let header: Vec<&str> = header.iter().flatten().collect();
    summary(&header, &rows)
}
