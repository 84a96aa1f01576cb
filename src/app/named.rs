//! The files that a job is made from, found without understanding them, so that they are known while a slip stands in one.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use crate::diagnostic::Diagnostics;
use crate::yaml::Source;

/// The most files of one folder that are looked at.
const MOST_IN_FOLDER: usize = 500;

/// The job file, those that it and its company file name (log, logo, languages, templates, key), and the ones they would name if
/// they were there.
pub fn named_files(job: &Path) -> BTreeSet<PathBuf> {
    let mut found = BTreeSet::from([job.to_owned()]);
    let Some(source) = Source::read(job, &mut Diagnostics::new()) else { return found };
    let company = source.root().get("company").and_then(|node| node.text(&mut Diagnostics::new()));
    let log = source.root().get("log").and_then(|node| node.text(&mut Diagnostics::new()));
    found.extend([&company, &log].into_iter().flatten().map(|name| source.beside(name)));
    let company = company.and_then(|name| Source::read(&source.beside(&name), &mut Diagnostics::new()));
    for source in [Some(source), company].into_iter().flatten() {
        source.each_text(|text, _| {
            let path = source.beside(text);
            if path.is_file() {
                found.insert(path);
            } else if path.is_dir() && !text.trim_matches(['.', '/']).is_empty() {
                let inside = fs::read_dir(&path).into_iter().flatten().flatten().map(|entry| entry.path());
                found.extend(inside.take(MOST_IN_FOLDER));
            }
        });
    }
    found
}
