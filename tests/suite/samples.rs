//! The samples work, and rendering says nothing on stdout but what it wrote.

use std::path::Path;

use crate::support::program::decant;
use crate::support::workspace::{Copy, names, root, samples, temporary};

#[test]
fn every_sample_renders() {
    for job in samples() {
        let output = temporary();
        let run = decant(root(), ["render".as_ref(), job.as_os_str(), "-o".as_ref(), output.path().as_os_str()]);
        let run = run.must_end_with(0);
        let mut reported: Vec<String> = run.stdout.lines().map(str::to_owned).collect();
        reported.sort();
        let written: Vec<String> =
            names(output.path()).iter().map(|name| output.path().join(name).display().to_string()).collect();
        assert_eq!(reported, written, "stdout of {}", job.display());
        for document in ["-labels-", "-mix-sheet.pdf", "-certificate.pdf", "-record.json"] {
            assert!(written.iter().any(|path| path.contains(document)), "no {document} of {}", job.display());
        }
    }
}

#[test]
fn without_a_folder_the_documents_go_beside_the_job() {
    let copy = Copy::of("ferry-terminal");
    let run = decant(&copy.folder, ["render", "job.yaml", "--only", "mix-sheet"]).must_end_with(0);
    for line in run.stdout.lines() {
        assert!(Path::new(line).starts_with("out"), "{line}");
        assert!(copy.folder.join(line).is_file(), "{line}");
    }
    assert_eq!(
        names(&copy.folder.join("out")),
        ["2026-0413-mix-sheet.pdf", "2026-0413-record.json", "2026-0413-seal.json"]
    );
}

#[test]
fn a_character_that_no_font_has_is_named_with_its_place() {
    let copy = Copy::of("ferry-terminal");
    copy.change_job("Keys at the harbour office", "Keys at the 🐟 harbour office");
    let output = copy.output();
    let run = decant(&copy.folder, ["render".as_ref(), "job.yaml".as_ref(), "-o".as_ref(), output.as_os_str()]);
    let run = run.must_end_with(2);
    for part in ["error[no-glyph]", "🐟", "U+1F41F", "job.yaml:", "notes[0]"] {
        assert!(run.stderr.contains(part), "no {part:?} in:\n{}", run.stderr);
    }
    assert_eq!(run.stdout, "");
    assert!(names(&output).is_empty(), "something was written");
}
