//! A symbolic link in the output folder leads nowhere.

use std::fs;

use super::tree;
use crate::support::program::decant;
use crate::support::workspace::{Copy, make_folder, names, read, temporary, write};

#[cfg(unix)]
#[test]
fn a_symbolic_link_in_the_output_folder_leads_nowhere() {
    use std::os::unix::fs::symlink;
    let copy = Copy::of("ferry-terminal");
    let outside = temporary();
    let victim = outside.path().join("victim");
    write(&victim, "mine");
    // a file's name is taken by a link: the link is replaced, what it led to stays
    let output = copy.output();
    make_folder(&output);
    for name in ["2026-0413-record.json", "2026-0413-mix-sheet.pdf", "index.html"] {
        symlink(&victim, output.join(name)).expect("a link");
    }
    let folder = output.to_str().expect("text");
    decant(&copy.folder, ["render", "job.yaml", "-o", folder, "--only", "mix-sheet"]).must_end_with(0);
    decant(&copy.folder, ["page", "job.yaml", "-o", folder]).must_end_with(0);
    assert_eq!(read(&victim), "mine");
    assert!(!output.join("index.html").is_symlink() && !output.join("2026-0413-record.json").is_symlink());
    // a record's folder is taken by a link: nothing is written at all
    let record = fs::read_dir(&output)
        .expect("pages")
        .map(|entry| entry.expect("an entry").path())
        .find(|path| path.is_dir())
        .expect("a folder of the record");
    fs::remove_dir_all(&record).expect("removed");
    symlink(outside.path(), &record).expect("a link");
    let before = tree(&output);
    let run = decant(&copy.folder, ["page", "job.yaml", "-o", folder]).must_end_with(2);
    assert!(run.stderr.contains("symbolic link"), "{}", run.stderr);
    assert_eq!(names(outside.path()), ["victim"]);
    assert_eq!(tree(&output), before);
}
