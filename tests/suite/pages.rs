//! Every page of every sample looks as it did. What is meant to look otherwise: `DECANT_BLESS=1 cargo test --release --test
//! main pages`, and a look at the pictures before they are kept.

use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

use crate::support::case::none_differ;
use crate::support::picture::difference;
use crate::support::program::decant;
use crate::support::workspace::{root, samples, temporary};

/// Enough to see a line of the smallest type move.
const DPI: &str = "72";
/// All pictures together, at most: they travel with every clone.
const LARGEST_BYTES: u64 = 1_500_000;

fn kept() -> PathBuf {
    root().join("tests/pages")
}

/// Names of the pictures that are kept.
fn pictures() -> BTreeSet<String> {
    let entries = fs::read_dir(kept()).expect("the pages can be listed");
    entries
        .map(|entry| entry.expect("a file").file_name().to_string_lossy().into_owned())
        .filter(|name| name.ends_with(".png"))
        .collect()
}

#[test]
fn every_page_looks_as_it_did() {
    let aside = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("pages");
    let mut differences = Vec::new();
    let mut seen = BTreeSet::new();
    for job in samples() {
        let output = temporary();
        let folder = output.path().to_str().expect("a temporary folder's name is text");
        let job = job.to_str().expect("a sample's name is text");
        let run = decant(root(), ["render", job, "-o", folder, "--format", "png", "--dpi", DPI]).must_end_with(0);
        for page in run.stdout.lines().filter(|line| line.ends_with(".png")) {
            let made = image::open(page).expect("a page is a picture").to_luma8();
            let name = page.rsplit('/').next().unwrap_or(page).to_owned();
            differences.extend(difference(&kept().join(&name), &made, &aside.join(&name)));
            seen.insert(name);
        }
    }
    let gone: Vec<String> = pictures().difference(&seen).cloned().collect();
    if std::env::var_os("DECANT_BLESS").is_some_and(|value| value == "1") {
        for name in gone {
            fs::remove_file(kept().join(&name)).unwrap_or_else(|e| panic!("{name}: {e}"));
        }
    } else {
        differences.extend(gone.iter().map(|name| format!("{name}: no sample has this page")));
    }
    none_differ(&differences);
}

#[test]
fn the_pictures_are_small() {
    let bytes: u64 = pictures().iter().map(|name| fs::metadata(kept().join(name)).expect("a file").len()).sum();
    assert!(bytes <= LARGEST_BYTES, "{bytes} bytes of pictures");
}
