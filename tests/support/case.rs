//! Cases: a folder each, with the input and one file of what is expected of it.

use std::fs;
use std::path::{Path, PathBuf};

use super::workspace::{root, temporary};

/// A folder of `tests/cases/<group>`.
#[derive(Debug)]
pub struct Case {
    pub name: String,
    pub folder: PathBuf,
}

/// All cases of a group, by name.
pub fn cases(group: &str) -> Vec<Case> {
    let folder = root().join("tests/cases").join(group);
    let entries = fs::read_dir(&folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
    let mut found: Vec<Case> = entries
        .map(|entry| entry.expect("a folder's entry can be read").path())
        .filter(|path| path.is_dir())
        .map(|folder| Case { name: name_of(&folder), folder })
        .collect();
    found.sort_by(|a, b| a.name.cmp(&b.name));
    found
}

fn name_of(folder: &Path) -> String {
    folder.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

/// Compares what a case gave with its file of what is expected; `None` if they are the same. With `DECANT_BLESS=1` the
/// file is written instead. A case without the file is a failure, never passed over.
pub fn difference(case: &Case, file: &str, found: &str) -> Option<String> {
    let path = case.folder.join(file);
    if std::env::var_os("DECANT_BLESS").is_some_and(|value| value == "1") {
        fs::write(&path, found).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        return None;
    }
    match fs::read_to_string(&path) {
        Ok(expected) if expected == found => None,
        Ok(expected) => Some(format!("{}: not as in {file}\n{}", case.name, both(&expected, found))),
        Err(e) => Some(format!("{}: {file} cannot be read: {e}\nfound:\n{found}", case.name)),
    }
}

/// Both texts from the first line that differs; a plan has hundreds of lines, so only some of them.
fn both(expected: &str, found: &str) -> String {
    const SHOWN: usize = 20;
    let same = expected.lines().zip(found.lines()).take_while(|(a, b)| a == b).count();
    let from = same.saturating_sub(3);
    let part =
        |text: &str| text.lines().skip(from).take(SHOWN).fold(String::new(), |all, line| all + "  " + line + "\n");
    format!("line {}, expected:\n{}found:\n{}", same + 1, part(expected), part(found))
}

/// Fails the test with every difference, not the first alone.
#[track_caller]
pub fn none_differ(differences: &[String]) {
    assert!(
        differences.is_empty(),
        "{} differences:\n\n{}\nIf these are as they should be: DECANT_BLESS=1 cargo test",
        differences.len(),
        differences.join("\n")
    );
}

#[test]
fn a_case_without_its_expected_file_fails() {
    let folder = temporary();
    let case = Case { name: "bare".into(), folder: folder.path().to_owned() };
    if std::env::var_os("DECANT_BLESS").is_none() {
        let reported = difference(&case, "expected.txt", "words\n").expect("a missing file is a difference");
        assert!(reported.contains("cannot be read") && reported.contains("words"), "{reported}");
    }
}

#[test]
fn a_difference_shows_both_sides() {
    let reported = both("a\nb\n", "a\nc\n");
    assert_eq!(reported, "line 2, expected:\n  a\n  b\nfound:\n  a\n  c\n");
}
