//! Kills and full disks at every write: after either, the next run gives what an uninterrupted one gives.

#![cfg(unix)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

use crate::support::program::decant;
use crate::support::workspace::{Copy, make_folder, read, read_bytes, write};

/// What the program says when it stops at a write that a test chose.
const STOPPED: &str = "stopped for a test";
/// More writes than these runs have; a test that gets there has gone on for ever.
const MOST: u32 = 400;

/// Everything below a folder by path, with its bytes; locks, which are empty, are left out.
fn tree(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fn walk(root: &Path, folder: &Path, all: &mut BTreeMap<String, Vec<u8>>) {
        for entry in fs::read_dir(folder).into_iter().flatten() {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                walk(root, &path, all);
            } else if path.extension().is_none_or(|e| e != "lock") {
                let name = path.strip_prefix(root).expect("below it").display().to_string();
                all.insert(name, read_bytes(&path));
            }
        }
    }
    let mut all = BTreeMap::new();
    walk(folder, folder, &mut all);
    all
}

fn program(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_decant"));
    command.current_dir(folder).args(arguments).stdout(Stdio::null());
    command
}

/// Runs until the write of this number and kills it there (SIGKILL); `false` if it ended before.
fn killed_at(folder: &Path, arguments: &[&str], write: u32) -> bool {
    let mut child = program(folder, arguments)
        .env("DECANT_TEST_STOP_AT", write.to_string())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let stderr = child.stderr.take().expect("it is piped");
    let stopped = BufReader::new(stderr).lines().any(|line| line.expect("text").contains(STOPPED));
    if stopped {
        child.kill().expect("killed");
    }
    let ended = child.wait().expect("it ends");
    assert_eq!(stopped, !ended.success());
    stopped
}

/// Runs with a disk that is full from the write of this number on; `false` if nothing was written after that.
fn full_at(folder: &Path, arguments: &[&str], write: u32) -> bool {
    let run =
        program(folder, arguments).env("DECANT_TEST_FULL_AT", write.to_string()).output().expect("the program runs");
    let reported = String::from_utf8_lossy(&run.stderr);
    let failed = !run.status.success();
    if failed {
        assert_eq!(run.status.code(), Some(1), "write {write}: {reported}");
        assert!(reported.contains("the disk is full"), "write {write}: {reported}");
    }
    failed
}

/// No file under its own name is cut short, and nothing that was written reads as altered.
fn nothing_lies(folder: &Path, output: &str, whole: &[&BTreeMap<String, Vec<u8>>]) {
    let now = tree(&folder.join(output));
    for (name, bytes) in &now {
        if name.ends_with(".tmp") || name.ends_with(".new") || name.starts_with(".decant/") || name == "manifest.json" {
            continue;
        }
        assert!(whole.iter().any(|whole| whole.get(name) == Some(bytes)), "{name} is neither of the two");
    }
    if now.keys().any(|name| name.ends_with("-record.json") || name.ends_with("-certificate.pdf")) {
        let run = decant(folder, ["verify", output]);
        assert!(!run.stdout.contains("ALTERED"), "{}", run.stdout);
        assert!(!matches!(run.code, Some(1 | 70) | None), "{:?}: {}", run.code, run.stdout);
    }
}

/// A fault at every write, first into an empty folder and then over what an earlier job left; then the run is done again.
fn at_every_write(arguments: &[&str], fault: fn(&Path, &[&str], u32) -> bool) {
    let copy = Copy::of("fish-hall");
    let into = |output: &'static str| -> Vec<&str> { [arguments, &["-o", output][..]].concat() };
    let job = read(copy.folder.join("job.yaml"));
    // of what is in no record, so that the certificate is of the record that the crew was given
    let changed = job.clone() + "label_copies: 2\n";
    // before the visit there is no log, and no certificate that would be settled
    copy.change_job("log: log.yaml", "");
    let clear = |output: &str| {
        let _ = fs::remove_dir_all(copy.folder.join(output));
    };
    let run = decant(&copy.folder, into("before"));
    assert!(matches!(run.code, Some(0 | 3)), "{}", run.stderr);
    write(copy.folder.join("job.yaml"), changed);
    decant(&copy.folder, into("wanted")).must_end_with(0);
    let (before, wanted) = (tree(&copy.folder.join("before")), tree(&copy.folder.join("wanted")));
    assert_ne!(before, wanted);
    let mut seen = BTreeSet::new();
    for over in [false, true] {
        let mut writes = 0;
        loop {
            writes += 1;
            assert!(writes < MOST);
            clear("now");
            if over {
                for (name, bytes) in &before {
                    let path = copy.folder.join("now").join(name);
                    make_folder(path.parent().expect("a folder"));
                    write(path, bytes);
                }
            }
            let failed = fault(&copy.folder, &into("now"), writes);
            let now = tree(&copy.folder.join("now"));
            let documents: Vec<(String, Vec<u8>)> =
                now.into_iter().filter(|(name, _)| !name.starts_with('.')).collect();
            if seen.insert(documents) {
                nothing_lies(&copy.folder, "now", &[&before, &wanted]);
            }
            decant(&copy.folder, into("now")).must_end_with(0);
            let now = tree(&copy.folder.join("now"));
            let names: Vec<_> = now.keys().collect();
            assert!(names.iter().eq(&wanted.keys().collect::<Vec<_>>()), "after a fault at write {writes}: {names:?}");
            for (name, bytes) in &now {
                // a manifest says which jobs were up to date and what an earlier run wrote
                let differs = name.starts_with(".decant/") || name == "manifest.json";
                assert!(differs || wanted.get(name) == Some(bytes), "{name}, after a fault at write {writes}");
            }
            if !failed {
                break;
            }
        }
        assert!(writes > 10, "only {writes} writes were tried");
    }
}

const BATCH: &[&str] = &["batch", "job.yaml", "--workers", "1", "--only", "labels", "--only", "certificate"];
const RENDER: &[&str] = &["render", "job.yaml", "--only", "labels", "--only", "certificate"];

#[test]
fn a_batch_that_is_killed_at_any_write_is_finished_by_the_next() {
    at_every_write(BATCH, killed_at);
}

#[test]
fn a_batch_whose_disk_is_full_at_any_write_is_finished_by_the_next() {
    at_every_write(BATCH, full_at);
}

#[test]
fn a_job_that_is_killed_at_any_write_is_finished_by_the_next() {
    at_every_write(RENDER, killed_at);
}

#[test]
fn a_job_whose_disk_is_full_at_any_write_is_finished_by_the_next() {
    at_every_write(RENDER, full_at);
}

#[test]
fn a_file_that_a_power_cut_left_empty_does_not_count_as_finished() {
    let copy = Copy::of("fish-hall");
    let run = || decant(&copy.folder, ["batch", "job.yaml", "-o", "now"]).must_end_with(0);
    run();
    let whole = tree(&copy.folder.join("now"));
    // renamed, and never come to the disk: the length is 0, or it is all zeros
    for empty in [true, false] {
        for (name, bytes) in whole.iter().filter(|(name, _)| name.starts_with("2026-0420/")) {
            let left = if empty { Vec::new() } else { vec![0; bytes.len()] };
            write(copy.folder.join("now").join(name), left);
            run();
            assert_eq!(&read_bytes(copy.folder.join("now").join(name)), bytes, "{name}");
        }
    }
    write(copy.folder.join("now/.decant/2026-0420.json"), "");
    assert!(run().stderr.contains("1 settled"));
}
