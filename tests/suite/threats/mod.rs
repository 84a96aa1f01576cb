//! Hostile input, one file a threat; the table in DEVELOPERS.md names them.

mod formula;
mod html;
mod list_of_records;
mod path;
mod ring_of_links;
mod script_link;
mod symbolic_link;
mod tables;
mod terminal;
mod turned_letters;
mod typst;

use std::fs;
use std::path::Path;

use crate::support::program::decant;
use crate::support::workspace::{Copy, read};

fn page_of(copy: &Copy) -> String {
    let output = copy.output();
    decant(&copy.folder, ["page", "job.yaml", "-o", output.to_str().expect("text")]).must_end_with(0);
    let folder = fs::read_dir(&output)
        .expect("pages")
        .map(|entry| entry.expect("an entry").path())
        .find(|path| path.is_dir())
        .expect("a folder of the record");
    read(folder.join("index.html"))
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
