//! The batch with a maker that only writes what stands in the job file.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use super::*;
use crate::digest::sha256;

/// A job file is its number, a space, and what it is made into: `A1 some text`, `A1 panic`, `A1 fail`. What begins with
/// `issued` is issued once it is made.
#[derive(Default)]
struct Words {
    made: AtomicUsize,
    read: AtomicUsize,
}

fn issued_in(folder: &Path) -> Option<String> {
    let text = fs::read_to_string(folder.join("text.txt")).ok()?;
    text.starts_with("issued").then_some(text)
}

impl Maker for Words {
    type Job = String;

    fn number(&self, file: &Path) -> Option<String> {
        Some(fs::read_to_string(file).ok()?.split_once(' ')?.0.to_owned())
    }

    fn read(&self, file: &Path) -> Result<Known<String>, Failed> {
        let text = fs::read_to_string(file).map_err(|e| Failed::new(e.to_string()))?;
        let (number, job) = text.split_once(' ').ok_or_else(|| Failed::new("no number"))?;
        self.read.fetch_add(1, Ordering::Relaxed);
        Ok(Known {
            number: number.to_owned(),
            inputs: sha256(job.as_bytes()),
            watched: vec![Watched {
                file: file.display().to_string(),
                from_output: false,
                sha256: sha256(text.as_bytes()),
                shared: false,
            }],
            stays: false,
            job: text.clone(),
        })
    }

    fn settled(&self, job: String, folder: &Path) -> Result<(String, Option<Settled>), Failed> {
        let settled = issued_in(folder).map(|issued| Settled {
            files: vec!["text.txt".to_owned()],
            start: None,
            differs: (!job.ends_with(&issued)).then(|| format!("it was {issued}\n")),
        });
        Ok((job, settled))
    }

    fn issued(&self, _: &str, folder: &Path) -> BTreeSet<String> {
        issued_in(folder).map(|_| "text.txt".to_owned()).into_iter().collect()
    }

    fn make(&self, job: String, _: &Path, _: &[Document]) -> Result<Made, Failed> {
        self.made.fetch_add(1, Ordering::Relaxed);
        let (number, text) = job.split_once(' ').expect("read before");
        assert_ne!(text, "panic", "asked to");
        if text == "fail" {
            return Err(Failed::new("asked to fail"));
        }
        // `second: …` is a later revision, which leaves the first one's file where it is
        let (name, keeps) = match text.strip_prefix("second") {
            Some(_) => ("text-2.txt", vec!["text.txt".to_owned()]),
            None => ("text.txt", Vec::new()),
        };
        Ok(Made {
            files: vec![(name.to_owned(), text.as_bytes().to_vec())],
            keeps,
            settled: text
                .starts_with("issued")
                .then(|| Settled { files: vec!["text.txt".to_owned()], ..Settled::default() }),
            rows: vec![vec![number.to_owned(), text.to_owned()]],
            ..Made::default()
        })
    }
}

#[derive(Default)]
struct Seen(Mutex<Vec<(PathBuf, Ended)>>);

impl Watch for Seen {
    fn begins(&self, _: &BTreeMap<&'static str, usize>, _: usize) {}

    fn ended(&self, file: &Path, _: &'static str, _: Duration, ended: &Ended) {
        self.0.lock().expect("no panic").push((file.to_owned(), ended.clone()));
    }
}

struct Place {
    root: tempfile::TempDir,
    files: Vec<PathBuf>,
    maker: Words,
}

impl Place {
    fn of(texts: &[&str]) -> Place {
        let root = tempfile::tempdir().expect("a folder");
        let write = |(i, text): (usize, &&str)| {
            let file = root.path().join(format!("{i}.job"));
            fs::write(&file, text).expect("written");
            file
        };
        let files = texts.iter().enumerate().map(write).collect();
        Place { root, files, maker: Words::default() }
    }

    fn out(&self) -> PathBuf {
        self.root.path().join("out")
    }

    fn run(&self, shard: Shard, remove_stale: bool) -> Report {
        let store = Store::open(&self.out()).expect("a store");
        let asked = Run {
            files: &self.files,
            workers: 3,
            shard,
            remove_stale,
            header: &["job", "text"],
            unused: &[],
            warnings: &[],
        };
        let seen = Seen::default();
        let report = run(&asked, &store, &self.maker, &seen).expect("a run");
        assert_eq!(seen.0.lock().expect("no panic").len(), report.totals.all());
        report
    }

    fn made(&self) -> usize {
        self.maker.made.swap(0, Ordering::Relaxed)
    }
}

fn totals(report: &Report) -> [usize; 3] {
    [report.totals.done, report.totals.up_to_date, report.totals.failed]
}

#[test]
fn what_fails_or_breaks_the_program_takes_nothing_along() {
    let place = Place::of(&["A one", "B panic", "C fail", "no-number", "D two"]);
    let report = place.run(Shard::WHOLE, false);
    assert_eq!((totals(&report), report.own_fault), ([2, 0, 3], true));
    let manifest: super::manifest::Manifest =
        serde_json::from_slice(&fs::read(place.out().join("manifest.json")).expect("a manifest")).expect("JSON");
    let reported: BTreeMap<&str, &str> = manifest
        .jobs
        .iter()
        .map(|job| (job.job.as_deref().unwrap_or("-"), job.error.as_deref().unwrap_or(&job.state)))
        .collect();
    assert_eq!(reported["A"], "done");
    assert!(reported["B"].contains("asked to"), "{reported:?}");
    assert_eq!(reported["C"], "asked to fail");
    assert_eq!(reported["-"], "no number");
}

#[test]
fn a_thousand_jobs_are_made_once() {
    let texts: Vec<String> = (0..1_000).map(|i| format!("J{i} text {i}")).collect();
    let place = Place::of(&texts.iter().map(String::as_str).collect::<Vec<_>>());
    assert_eq!(totals(&place.run(Shard::WHOLE, false)), [1_000, 0, 0]);
    assert_eq!(place.made(), 1_000);
    assert_eq!(totals(&place.run(Shard::WHOLE, false)), [0, 1_000, 0]);
    assert_eq!(place.made(), 0);
}

#[test]
fn a_state_that_cannot_be_read_or_leads_out_is_none() {
    let place = Place::of(&["A one"]);
    place.run(Shard::WHOLE, false);
    let state = place.out().join(".decant/A.json");
    let good = fs::read_to_string(&state).expect("a state");
    for bad in [
        String::new(),
        good[..good.len() / 2].to_owned(),
        good.replace("text.txt", "../../0.job"),
        good.replace("decant state 1", "decant state 0"),
    ] {
        assert_ne!(good, bad);
        fs::write(&state, bad).expect("written");
        assert_eq!(totals(&place.run(Shard::WHOLE, true)), [1, 0, 0]);
        assert!(place.files[0].is_file());
    }
    assert_eq!(fs::read_to_string(&state).expect("a state"), good);
}

#[test]
fn a_file_changed_or_lost_since_is_made_again() {
    let place = Place::of(&["A one"]);
    place.run(Shard::WHOLE, false);
    let file = place.out().join("A/text.txt");
    fs::write(&file, "eno").expect("written");
    assert_eq!(totals(&place.run(Shard::WHOLE, false)), [1, 0, 0]);
    fs::remove_file(&file).expect("removed");
    assert_eq!(totals(&place.run(Shard::WHOLE, false)), [1, 0, 0]);
    assert_eq!(fs::read_to_string(&file).expect("there"), "one");
}

#[test]
fn what_an_unfinished_run_left_is_swept_away() {
    let place = Place::of(&["A one"]);
    place.run(Shard::WHOLE, false);
    fs::write(place.out().join("A/.decant-x1y2.tmp"), "half").expect("written");
    fs::write(place.out().join(".decant/A.json.new"), "half").expect("written");
    fs::write(&place.files[0], "A two").expect("written");
    assert_eq!(totals(&place.run(Shard::WHOLE, false)), [1, 0, 0]);
    let left: Vec<_> = fs::read_dir(place.out().join("A")).expect("a folder").collect();
    assert_eq!(left.len(), 1);
    assert!(!place.out().join(".decant/A.json.new").exists());
}

#[test]
fn what_a_later_revision_keeps_is_not_stale() {
    let place = Place::of(&["A one"]);
    place.run(Shard::WHOLE, false);
    fs::write(&place.files[0], "A second").expect("written");
    assert_eq!(place.run(Shard::WHOLE, true).stale, Stale::default());
    assert!(place.root.path().join("out/A/text.txt").is_file());
    assert!(place.root.path().join("out/A/text-2.txt").is_file());
    fs::write(&place.files[0], "A one").expect("written");
    let reported = place.run(Shard::WHOLE, false).stale.left;
    assert_eq!(reported, ["A/text-2.txt"], "the first does not keep the second");
}

#[test]
fn files_of_a_job_that_fails_now_are_stale() {
    let place = Place::of(&["A one"]);
    place.run(Shard::WHOLE, false);
    fs::write(&place.files[0], "A fail").expect("written");
    assert_eq!(place.run(Shard::WHOLE, false).stale.left, ["A/text.txt"]);
    let removed = place.run(Shard::WHOLE, true).stale;
    assert_eq!((removed.left.len(), removed.removed.as_slice()), (0, ["A/text.txt".to_owned()].as_slice()));
    assert!(!place.out().join("A/text.txt").exists());
}

#[test]
fn what_was_issued_is_neither_read_nor_written_nor_removed() {
    let mut place = Place::of(&["A issued one", "B two"]);
    assert_eq!(totals(&place.run(Shard::WHOLE, false)), [2, 0, 0]);
    let (made, issued) = (|place: &Place| place.maker.read.swap(0, Ordering::Relaxed), place.out().join("A/text.txt"));
    made(&place);
    let report = place.run(Shard::WHOLE, true);
    assert_eq!((report.totals.settled, report.totals.up_to_date, made(&place)), (1, 1, 1));
    // the job says something else: named, and remembered without reading it again
    fs::write(&place.files[0], "A issued other").expect("written");
    for reads in [2, 1] {
        let report = place.run(Shard::WHOLE, true);
        assert_eq!((report.totals.settled, report.totals.differing), (1, 1));
        assert_eq!(report.differs, [("A".to_owned(), "it was issued one\n".to_owned())]);
        assert_eq!(made(&place), reads);
        assert_eq!(fs::read_to_string(&issued).expect("there"), "issued one");
    }
    // what was altered is named and left as it is
    fs::write(&place.files[0], "A issued one").expect("written");
    assert_eq!(place.run(Shard::WHOLE, false).totals.differing, 0);
    fs::write(&issued, "issued by hand").expect("written");
    let report = place.run(Shard::WHOLE, true);
    assert!(report.differs[0].1.contains("is not as it was written: text.txt"), "{:?}", report.differs);
    assert_eq!(fs::read_to_string(&issued).expect("there"), "issued by hand");
    fs::write(&issued, "issued one").expect("put back");
    assert_eq!(place.run(Shard::WHOLE, false).totals.differing, 0);
    // its job cannot be read, or is gone, or its state is lost
    fs::write(&place.files[0], "A").expect("written");
    place.run(Shard::WHOLE, true);
    assert!(issued.is_file());
    let gone = place.files.remove(0);
    let report = place.run(Shard::WHOLE, true);
    assert_eq!((report.stale.kept.as_slice(), report.stale.removed.len()), (["A".to_owned()].as_slice(), 0));
    fs::remove_file(place.out().join(".decant/A.json")).expect("removed");
    fs::write(&gone, "A issued other").expect("written");
    place.files.insert(0, gone);
    assert_eq!(place.run(Shard::WHOLE, true).totals.differing, 1);
    assert_eq!(fs::read_to_string(&issued).expect("there"), "issued one");
}

#[test]
fn a_number_is_in_one_shard_whatever_else_there_is() {
    let numbers: Vec<String> = (0..10_000).map(|i| format!("2026-{i:04}")).collect();
    for of in [1, 2, 3, 8, 100] {
        let shards: Vec<Shard> = (1..=of).map(|part| format!("{part}/{of}").parse().expect("a shard")).collect();
        let mut sizes = vec![0_usize; shards.len()];
        for number in &numbers {
            let within: Vec<usize> = (0..shards.len()).filter(|i| shards[*i].holds(number)).collect();
            assert_eq!(within.len(), 1, "{number} of {of}");
            sizes[within[0]] += 1;
        }
        let fair = numbers.len() / shards.len();
        assert!(sizes.iter().all(|size| (fair / 2..=fair * 2).contains(size)), "{sizes:?}");
    }
    // the same for ever: another version on another machine must agree
    let shard: Shard = "2/3".parse().expect("a shard");
    let held: Vec<bool> = ["2026-0413", "2026-0420", "A", "B"].map(|n| shard.holds(n)).to_vec();
    assert_eq!(held, [true, true, false, false]);
    for bad in ["0/3", "4/3", "1", "1/0", "a/b", "-1/3", "1/2/3"] {
        assert!(bad.parse::<Shard>().is_err(), "{bad}");
    }
}

#[test]
fn shards_may_share_a_folder_and_are_merged_there() {
    let mut place = Place::of(&["A one", "B two", "C three", "D fail", "no-number", "E four"]);
    for part in 1..=3 {
        place.files.rotate_left(2);
        let report = place.run(format!("{part}/3").parse().expect("a shard"), false);
        assert_eq!(report.stale, Stale::default());
    }
    let merged = merge(&[place.out()], &place.out()).expect("merged").manifest;
    let numbers: Vec<Option<&str>> = merged.jobs.iter().map(|job| job.job.as_deref()).collect();
    let all = ["A", "B", "C", "D", "E"].map(Some);
    assert_eq!(numbers[1..], all);
    assert_eq!((numbers[0], merged.totals.done, merged.totals.failed), (None, 4, 2));
    let summary = fs::read_to_string(place.out().join("summary.csv")).expect("a summary");
    assert_eq!(summary, "job,text\r\nA,one\r\nB,two\r\nC,three\r\nE,four\r\n");
    // what was merged is no shard of itself
    assert_eq!(merge(&[place.out()], &place.out()).expect("merged").manifest, merged);
}
