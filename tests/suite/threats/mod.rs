//! Hostile input; the table in `README.md` names what is promised and the test for each.

#[cfg(unix)]
mod folders;
mod tables;
mod terminal;
mod values;

use std::fs;
use std::path::{Path, PathBuf};

use crate::support::workspace::{Copy, read};

fn page_of(copy: &Copy) -> String {
    copy.written(&["page", "job.yaml"]).must_end_with(0);
    read(record_folder(&copy.output()).join("index.html"))
}

/// The folder of the record's page.
fn record_folder(output: &Path) -> PathBuf {
    let mut entries = fs::read_dir(output).expect("pages").map(|entry| entry.expect("an entry").path());
    entries.find(|path| path.is_dir()).expect("a folder of the record")
}

/// Everything below a folder, with its bytes.
fn tree(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut all = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() && !path.is_symlink() {
            all.extend(tree(&path));
        } else {
            all.push((path.display().to_string(), fs::read(&path).unwrap_or_default()));
        }
    }
    all.sort();
    all
}
