//! `decant batch`: interrupted, hindered, run twice at once and in parts, and always with the same files in the end.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant, SystemTime};

use serde_json::Value;

use crate::support::program::{Outcome, decant};
use crate::support::workspace::{Copy, digests, json, make_folder, names, read, read_bytes, remove, states, write};

/// A folder of `count` jobs like the ferry terminal's, with the company file above it and the log beside.
fn jobs(count: usize) -> Copy {
    let copy = Copy::of("ferry-terminal");
    let job = read(copy.folder.join("job.yaml"));
    remove(copy.folder.join("job.yaml"));
    for i in 1..=count {
        let numbered = job.replace("job: 2026-0413", &format!("job: J-{i:02}"));
        assert_ne!(numbered, job);
        write(job_file(&copy, i), numbered);
    }
    copy
}

/// The same with a log that has nothing in it yet, so that no certificate is issued.
fn jobs_to_come(count: usize) -> Copy {
    let copy = jobs(count);
    write(copy.folder.join("log.yaml"), "loads: []\n");
    copy
}

fn job_file(copy: &Copy, i: usize) -> PathBuf {
    copy.folder.join(format!("job-{i:02}.yaml"))
}

/// Runs the batch over the folder of jobs into `out`.
fn batch(copy: &Copy, out: &Path, options: &[&str]) -> Outcome {
    let all = ["batch", ".", "-o"].map(str::to_owned).into_iter();
    let all = all.chain([out.display().to_string()]);
    decant(&copy.folder, all.chain(options.iter().map(|o| (*o).to_owned())))
}

/// SHA-256 of every file of every job.
fn made(out: &Path) -> BTreeMap<String, BTreeMap<String, String>> {
    let entries = fs::read_dir(out).expect("the output can be listed");
    entries
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.is_dir() && !path.ends_with(".decant"))
        .map(|path| {
            let job = path.file_name().expect("a name").to_string_lossy().into_owned();
            (job, digests(&path))
        })
        .collect()
}

/// A loss of safety is no note of one job among many: it stands among the messages, once for a product and its stock.
#[test]
fn what_labels_leave_off_of_never_with_is_said_once() {
    let copy = jobs_to_come(2);
    copy.change_company("roll-4x6: { label: 4 in x 6 in }", "roll-4x6: { label: 4 in x 2 in }");
    let out = copy.output();
    for _made_and_up_to_date in 0..2 {
        let run = batch(&copy, &out, &["--only", "labels", "--language", "fr"]).must_end_with(0);
        let said: Vec<&str> = run.stderr.lines().filter(|line| line.starts_with("caution")).collect();
        let [caution] = said[..] else { panic!("{}", run.stderr) };
        assert!(caution.starts_with("caution: Solvary Q-75, on the stock `roll-4x6`: "), "{caution}");
    }
}

fn count(states: &BTreeMap<String, String>, state: &str) -> usize {
    states.values().filter(|s| *s == state).count()
}

/// Jobs that a killed run had finished.
fn finished(out: &Path) -> usize {
    let Ok(entries) = fs::read_dir(out.join(".decant")) else {
        return 0;
    };
    entries
        .filter_map(|entry| Some(entry.ok()?.path()))
        // a file that is still being written has another name
        .filter(|path| path.extension().is_some_and(|ending| ending == "json"))
        .filter_map(|path| fs::read_to_string(path).ok())
        .filter(|state| state.contains(r#""stage":"done""#))
        .count()
}

/// When each file was last written.
fn times(out: &Path) -> BTreeMap<PathBuf, SystemTime> {
    let folders = fs::read_dir(out).expect("the output can be listed");
    let folders = folders.map(|f| f.expect("an entry").path()).filter(|f| f.is_dir() && !f.ends_with(".decant"));
    let files = folders.flat_map(|folder| fs::read_dir(folder).expect("a folder"));
    let time = |file: &Path| file.metadata().and_then(|meta| meta.modified()).expect("a time");
    files.map(|file| file.expect("a file").path()).map(|file| (file.clone(), time(&file))).collect()
}

#[test]
fn a_run_that_is_killed_leaves_whole_files_and_is_taken_up_again() {
    const JOBS: usize = 8;
    let copy = jobs(JOBS);
    let undisturbed = copy.company_folder().join("undisturbed");
    batch(&copy, &undisturbed, &[]).must_end_with(0);
    let expected = made(&undisturbed);
    assert_eq!(expected.len(), JOBS);
    for kill_after in [0, 1, 4] {
        let out = copy.company_folder().join(format!("killed-{kill_after}"));
        let mut run = Command::new(env!("CARGO_BIN_EXE_decant"))
            .current_dir(&copy.folder)
            .args(["batch", ".", "--workers", "2", "-o"])
            .arg(&out)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program starts");
        let patience = Instant::now() + Duration::from_secs(120);
        while !out.join(".decant").is_dir() || finished(&out) < kill_after {
            assert!(Instant::now() < patience, "nothing is finished");
            thread::sleep(Duration::from_millis(1));
        }
        // SIGKILL where there are signals
        run.kill().expect("killed");
        assert!(!run.wait().expect("ended").success(), "it ended before it was killed");
        let before = finished(&out);
        assert!((kill_after..JOBS).contains(&before), "{before} were finished");
        assert!(!out.join("manifest.json").exists());
        for (job, files) in made(&out) {
            for (name, digest) in files.iter().filter(|(name, _)| !name.starts_with(".decant-")) {
                assert_eq!(Some(digest), expected[&job].get(name), "{job}/{name} is not whole");
            }
        }
        batch(&copy, &out, &[]).must_end_with(0);
        assert_eq!(made(&out), expected);
        let states = states(&out);
        // one that was killed between its seal and its state is found issued
        let settled = count(&states, "settled");
        assert!(settled >= before, "{states:?}");
        assert_eq!(settled + count(&states, "done"), JOBS);
        let same = |name: &str| assert_eq!(fs::read(out.join(name)).ok(), fs::read(undisturbed.join(name)).ok());
        same("summary.csv");
    }
}

#[test]
fn nothing_is_made_again_that_is_finished_and_unchanged() {
    let copy = jobs_to_come(3);
    let out = copy.output();
    let run = batch(&copy, &out, &["--only", "mix-sheet"]).must_end_with(0);
    assert!(run.stdout.contains("manifest.json") && run.stderr.contains("done        3"), "{run:?}");
    let first = times(&out);
    let run = batch(&copy, &out, &["--only", "mix-sheet"]).must_end_with(0);
    assert!(run.stderr.contains("up to date  3"), "{}", run.stderr);
    assert_eq!(times(&out), first);
    assert_eq!(count(&states(&out), "up-to-date"), 3);
    // what a job depends on: its own file, its log, the company file, the options
    let change = |file: &Path, from: &str, to: &str| {
        let text = read(file);
        assert!(text.contains(from), "{}: no {from}", file.display());
        write(file, text.replace(from, to));
    };
    change(&job_file(&copy, 2), "Keys at the harbour office", "Keys at the harbour gate");
    batch(&copy, &out, &["--only", "mix-sheet"]).must_end_with(0);
    assert_eq!(states(&out)["J-02"], "done");
    assert_eq!(count(&states(&out), "done"), 1);
    for changed in ["log.yaml", "../company.yaml", "../logo.svg"] {
        let file = copy.folder.join(changed);
        let text = read(&file);
        let remark = if changed.ends_with("svg") { "<!-- later -->\n" } else { "# later\n" };
        write(&file, text + remark);
        batch(&copy, &out, &["--only", "mix-sheet"]).must_end_with(0);
        assert_eq!(count(&states(&out), "done"), 3, "{changed}");
    }
    batch(&copy, &out, &["--only", "mix-sheet", "--language", "es"]).must_end_with(0);
    assert_eq!(count(&states(&out), "done"), 3);
}

#[test]
fn a_bad_job_in_the_middle_is_told_and_the_others_are_made() {
    let copy = jobs_to_come(4);
    let out = copy.output();
    let good = read(job_file(&copy, 2));
    write(job_file(&copy, 2), good.replace("product: solvary-q75", "product: solvary-q57"));
    write(job_file(&copy, 3), "job: [");
    let run = batch(&copy, &out, &["--only", "mix-sheet"]).must_end_with(1);
    assert!(run.stderr.contains("did you mean `solvary-q75`?"), "{}", run.stderr);
    assert_eq!(made(&out).keys().collect::<Vec<_>>(), ["J-01", "J-04"]);
    let reported = json(out.join("manifest.json"));
    let job = &reported["jobs"][1];
    assert_eq!((&job["job"], &job["state"]), (&"J-02".into(), &"failed".into()));
    assert!(job["error"].as_str().is_some_and(|e| e.contains("product-unknown")), "{job}");
    // without a number it stands last, under its file
    assert!(reported["jobs"][3]["file"].as_str().is_some_and(|f| f.contains("job-03")), "{reported}");
    write(job_file(&copy, 2), &good);
    write(job_file(&copy, 3), good.replace("J-02", "J-03"));
    batch(&copy, &out, &["--only", "mix-sheet"]).must_end_with(0);
    let states = states(&out);
    assert_eq!((states["J-01"].as_str(), states["J-02"].as_str()), ("up-to-date", "done"));
    // when all fail, nothing was made
    write(copy.folder.join("../company.yaml"), "company: {}");
    batch(&copy, &out, &["--only", "mix-sheet"]).must_end_with(2);
}

#[test]
fn two_files_of_one_number_are_both_left_out() {
    let copy = jobs(3);
    let text = read(job_file(&copy, 2));
    write(job_file(&copy, 2), text.replace("J-02", "J-01"));
    let run = batch(&copy, &copy.output(), &["--only", "mix-sheet"]).must_end_with(1);
    assert!(run.stderr.contains("the job `J-01` is in ./job-02.yaml too"), "{}", run.stderr);
    assert_eq!(made(&copy.output()).keys().collect::<Vec<_>>(), ["J-03"]);
}

/// The kernel refuses to let a file grow past a bound, as it does when a disk is full: on any machine, for any user.
#[cfg(unix)]
#[test]
fn what_cannot_be_written_for_want_of_room_leaves_nothing_half_written() {
    let copy = jobs(2);
    let out = copy.output();
    let undisturbed = copy.company_folder().join("undisturbed");
    batch(&copy, &undisturbed, &["--only", "mix-sheet"]).must_end_with(0);
    let expected = made(&undisturbed);
    let sheet = fs::metadata(undisturbed.join("J-01/J-01-mix-sheet.pdf")).expect("a sheet").len();
    let blocks = (sheet / 512 / 2).to_string();
    let limited = Command::new("sh")
        .args(["-c", "trap '' XFSZ; ulimit -f $0 && exec \"$@\"", &blocks])
        .arg(env!("CARGO_BIN_EXE_decant"))
        .args(["batch", ".", "--only", "mix-sheet", "-o"])
        .arg(&out)
        .current_dir(&copy.folder)
        .output()
        .expect("a shell");
    let reported = String::from_utf8_lossy(&limited.stderr);
    assert_eq!(limited.status.code(), Some(1), "{reported}");
    assert!(reported.contains("cannot write") && reported.contains("J-01-mix-sheet.pdf"), "{reported}");
    assert!(made(&out).values().all(BTreeMap::is_empty), "{:?}", made(&out));
    assert_eq!(count(&states(&out), "failed"), 2);
    batch(&copy, &out, &["--only", "mix-sheet"]).must_end_with(0);
    assert_eq!(made(&out), expected);
}

#[test]
fn a_file_that_cannot_be_written_stops_its_job_alone() {
    let copy = jobs(3);
    let out = copy.output();
    // no user can write over a folder that holds something
    make_folder(out.join("J-02/J-02-mix-sheet.pdf/full"));
    let run = batch(&copy, &out, &["--only", "mix-sheet"]).must_end_with(1);
    assert!(run.stderr.contains("cannot write") && run.stderr.contains("J-02-mix-sheet.pdf"), "{}", run.stderr);
    assert_eq!(count(&states(&out), "done"), 2);
    fs::remove_dir_all(out.join("J-02/J-02-mix-sheet.pdf")).expect("removed");
    batch(&copy, &out, &["--only", "mix-sheet"]).must_end_with(0);
    assert_eq!(states(&out)["J-02"], "done");
    assert_eq!(names(&out.join("J-02")).len(), 3, "sheet, record, seal");
}

#[cfg(unix)]
#[test]
fn links_that_lead_out_of_the_folder_are_refused() {
    let copy = jobs(2);
    let (out, outside) = (copy.output(), copy.company_folder().join("outside"));
    make_folder(&out);
    make_folder(&outside);
    std::os::unix::fs::symlink(&outside, out.join("J-01")).expect("linked");
    let run = batch(&copy, &out, &["--only", "mix-sheet"]).must_end_with(1);
    assert!(run.stderr.contains("J-01 is a link that leads out"), "{}", run.stderr);
    assert_eq!(states(&out)["J-02"], "done");
    // a link in the place of a file is replaced, and what it led to is left alone
    write(outside.join("kept"), "kept");
    let sheet = out.join("J-02/J-02-mix-sheet.pdf");
    remove(&sheet);
    std::os::unix::fs::symlink(outside.join("kept"), &sheet).expect("linked");
    batch(&copy, &out, &["--only", "mix-sheet"]).must_end_with(1);
    assert!(fs::symlink_metadata(&sheet).expect("there").is_file());
    assert_eq!(names(&outside), ["kept"]);
    assert_eq!(read(outside.join("kept")), "kept");
    // nor may the states lie elsewhere
    let elsewhere = copy.company_folder().join("elsewhere");
    make_folder(&elsewhere);
    std::os::unix::fs::symlink(&outside, elsewhere.join(".decant")).expect("linked");
    batch(&copy, &elsewhere, &["--only", "mix-sheet"]).must_end_with(2);
    assert_eq!(names(&outside), ["kept"]);
}

#[test]
fn two_runs_at_once_share_the_work() {
    const JOBS: usize = 6;
    let copy = jobs_to_come(JOBS);
    let undisturbed = copy.company_folder().join("undisturbed");
    batch(&copy, &undisturbed, &["--only", "mix-sheet"]).must_end_with(0);
    let out = copy.output();
    let both = thread::scope(|scope| {
        let run = || batch(&copy, &out, &["--only", "mix-sheet"]).must_end_with(0);
        [scope.spawn(run), scope.spawn(run)].map(|run| run.join().expect("no panic"))
    });
    assert_eq!(made(&out), made(&undisturbed));
    let reported = |run: &Outcome, what: &str| {
        let line = run.stderr.lines().find(|line| line.starts_with(what)).expect("a line");
        line.trim_start_matches(what).trim().parse::<usize>().expect("a count")
    };
    // each job was made by one of them, and found finished by the other
    let sums = ["done", "up to date", "failed"].map(|what| both.iter().map(|run| reported(run, what)).sum::<usize>());
    assert_eq!(sums, [JOBS, JOBS, 0]);
}

#[test]
fn what_no_longer_belongs_is_told_and_removed_only_when_asked() {
    let copy = jobs_to_come(3);
    let out = copy.output();
    batch(&copy, &out, &["--only", "mix-sheet", "--only", "labels"]).must_end_with(0);
    let labels = out.join("J-01/J-01-labels-roll-4x6.pdf");
    assert!(labels.is_file());
    remove(job_file(&copy, 3));
    write(out.join("J-03/mine.txt"), "mine");
    write(out.join("J-03/J-03-record.json"), "changed");
    let run = batch(&copy, &out, &["--only", "mix-sheet"]).must_end_with(0);
    assert!(run.stderr.contains("no longer belonging"), "{}", run.stderr);
    let stale = &json(out.join("manifest.json"))["stale"];
    let expected = [
        "J-01/J-01-labels-roll-4x6.pdf",
        "J-01/J-01-labels-sheet-4x2.pdf",
        "J-02/J-02-labels-roll-4x6.pdf",
        "J-02/J-02-labels-sheet-4x2.pdf",
        "J-03/J-03-labels-roll-4x6.pdf",
        "J-03/J-03-labels-sheet-4x2.pdf",
        "J-03/J-03-mix-sheet.pdf",
        "J-03/J-03-record.json",
        "J-03/J-03-seal.json",
    ];
    assert_eq!(stale, &Value::from(expected.to_vec()));
    assert!(labels.is_file() && out.join("J-03/J-03-mix-sheet.pdf").is_file());
    batch(&copy, &out, &["--only", "mix-sheet", "--remove-stale"]).must_end_with(0);
    assert!(!labels.exists());
    // what somebody else wrote or changed stays
    assert_eq!(names(&out.join("J-03")), ["J-03-record.json", "mine.txt"]);
    let removed: Vec<&str> = expected.into_iter().filter(|name| !name.ends_with("record.json")).collect();
    assert_eq!(json(out.join("manifest.json"))["removed"], Value::from(removed));
    fs::remove_dir_all(out.join("J-03")).expect("removed");
    batch(&copy, &out, &["--only", "mix-sheet", "--remove-stale"]).must_end_with(0);
    assert_eq!(json(out.join("manifest.json"))["stale"], Value::from(Vec::<String>::new()));
    assert!(!out.join(".decant/J-03.json").exists());
}

#[test]
fn shards_make_each_job_once_and_are_merged() {
    const JOBS: usize = 7;
    let copy = jobs(JOBS);
    let whole = copy.output();
    batch(&copy, &whole, &["--only", "mix-sheet"]).must_end_with(0);
    let folder = |part: usize| copy.company_folder().join(format!("shard-{part}"));
    let mut together = BTreeMap::new();
    for part in 1..=3 {
        // in another order on every machine
        let mut order: Vec<String> = (1..=JOBS).map(|i| job_file(&copy, i).display().to_string()).collect();
        order.rotate_left(part * 2);
        let out = folder(part).display().to_string();
        let shard = format!("{part}/3");
        let options = ["-o", &out, "--only", "mix-sheet", "--shard", &shard].map(str::to_owned);
        let all = ["batch".to_owned()].into_iter().chain(order).chain(options);
        decant(&copy.folder, all).must_end_with(0);
        for (job, files) in made(&folder(part)) {
            assert!(together.insert(job.clone(), files).is_none(), "{job} is in two shards");
        }
    }
    assert_eq!(together, made(&whole));
    let merged = copy.company_folder().join("merged");
    let merge = |parts: &[usize]| {
        let folders = parts.iter().map(|part| folder(*part).display().to_string());
        let out = ["-o".to_owned(), merged.display().to_string()];
        decant(&copy.folder, ["merge".to_owned()].into_iter().chain(folders).chain(out))
    };
    let reported = merge(&[1, 3]).must_end_with(2);
    assert!(reported.stderr.contains("shards are missing: 2/3"), "{}", reported.stderr);
    let reported = merge(&[1, 2, 3, 2]).must_end_with(2);
    assert!(reported.stderr.contains("the shard 2/3 is there twice"), "{}", reported.stderr);
    assert!(!merged.exists());
    merge(&[3, 1, 2]).must_end_with(0);
    assert_eq!(states(&merged), states(&whole));
    assert_eq!(fs::read(merged.join("summary.csv")).ok(), fs::read(whole.join("summary.csv")).ok());
    // the labels of all shards in one run are those of a whole run
    let all: Vec<String> = (1..=3).map(|part| folder(part).display().to_string()).collect();
    let out = merged.display().to_string();
    let more = ["-o", &out, "--print-run"].map(str::to_owned);
    decant(&copy.folder, ["merge".to_owned()].into_iter().chain(all).chain(more)).must_end_with(0);
    batch(&copy, &whole, &["--only", "mix-sheet", "--print-run"]).must_end_with(0);
    let runs = |folder: &Path| -> BTreeMap<String, Vec<u8>> {
        let entries = fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry"));
        let named = entries.map(|entry| (entry.file_name().to_string_lossy().into_owned(), entry.path()));
        let labels = named.filter(|(name, _)| name.starts_with("labels"));
        labels.map(|(name, path)| (name, read_bytes(path))).collect()
    };
    assert!(!runs(&whole).is_empty());
    assert!(runs(&merged) == runs(&whole), "the label runs differ");
    // a shard of another list of jobs is none of these
    remove(job_file(&copy, 1));
    batch(&copy, &folder(2), &["--only", "mix-sheet", "--shard", "2/3"]).must_end_with(0);
    let reported = merge(&[1, 2, 3]).must_end_with(2);
    assert!(reported.stderr.contains("is of other jobs than"), "{}", reported.stderr);
}

#[test]
fn the_summary_holds_readings_and_no_formula() {
    let copy = jobs(1);
    let text = read(job_file(&copy, 1));
    let text = text.replace("name: Gull Point Ferry Terminal", "name: '=HYPERLINK(\"https://site.example\")'");
    write(job_file(&copy, 1), text);
    batch(&copy, &copy.output(), &["--only", "mix-sheet"]).must_end_with(0);
    let mut table = csv::Reader::from_path(copy.output().join("summary.csv")).expect("a table");
    let columns = table.headers().expect("a header").clone();
    let at = |name: &str| columns.iter().position(|column| column == name).expect("a column");
    let rows: Vec<csv::StringRecord> = table.records().map(|row| row.expect("a row")).collect();
    // four loads, one of them mixed again
    assert_eq!(rows.len(), 5);
    for row in &rows {
        assert_eq!(&row[at("site")], "'=HYPERLINK(\"https://site.example\")");
        assert!(["1200", "1500"].contains(&&row[at("band_to_mg_per_l")]), "{row:?}");
        assert!(!row[at("read_from_mg_per_l")].is_empty() && !row[at("result")].is_empty(), "{row:?}");
    }
    let results: Vec<&str> = rows.iter().map(|row| &row[at("result")]).collect();
    // the pail's mix first, then the mister's loads
    assert_eq!(results[1..4], ["passes", "below", "passes"]);
}

#[test]
fn a_print_run_has_the_labels_of_all_jobs_that_were_made() {
    let copy = jobs(3);
    write(job_file(&copy, 2), "job: [");
    let run = batch(&copy, &copy.output(), &["--only", "labels", "--print-run"]).must_end_with(1);
    for stock in ["roll-4x6", "sheet-4x2"] {
        assert!(run.stdout.contains(&format!("labels-{stock}.pdf")), "{}", run.stdout);
        assert!(copy.output().join(format!("labels-{stock}.pdf")).is_file());
    }
}

#[test]
fn withheld_certificates_are_an_exit_of_their_own_only_if_asked_for() {
    let copy = jobs(1);
    let text = read(job_file(&copy, 1));
    let text = text.split("\nlog:").next().expect("a text").to_owned() + "\n";
    write(job_file(&copy, 1), text);
    let run = batch(&copy, &copy.output(), &[]).must_end_with(0);
    assert!(run.stderr.contains("certificates withheld  1"), "{}", run.stderr);
    let notes = json(copy.output().join("manifest.json"))["jobs"][0]["notes"].to_string();
    assert!(notes.contains("the certificate is withheld"), "{notes}");
    batch(&copy, &copy.output(), &["--only", "certificate"]).must_end_with(3);
}

/// A new product, lot or telephone in the company file is read of every job; only documents that say it are written again.
#[test]
fn an_edit_of_the_company_file_writes_only_what_it_touches() {
    let copy = jobs_to_come(2);
    let out = copy.company_folder().join("out");
    batch(&copy, &out, &[]).must_end_with(0);
    let (first, digests) = (times(&out), made(&out));
    let company = copy.company_folder().join("company.yaml");
    let text = read(&company);
    thread::sleep(Duration::from_millis(20));

    write(&company, format!("{text}\n# looked through in the autumn\n"));
    batch(&copy, &out, &[]).must_end_with(0);
    assert_eq!(count(&states(&out), "done"), 2, "the file was changed, so every job was read");
    assert_eq!(made(&out), digests);
    let is_pdf = |file: &PathBuf| file.extension().is_some_and(|e| e == "pdf");
    let again = times(&out);
    let written: Vec<_> = again.iter().filter(|(file, time)| is_pdf(file) && first[*file] != **time).collect();
    assert!(written.is_empty(), "{written:?}");

    let moved = text.replace("555-0142", "555-0143");
    assert_ne!(moved, text);
    write(&company, moved);
    batch(&copy, &out, &[]).must_end_with(0);
    let changed = made(&out);
    for (job, files) in &changed {
        for (file, digest) in files.iter().filter(|(file, _)| file.ends_with(".pdf")) {
            assert_ne!(digest, &digests[job][file], "{file} shows the telephone");
        }
    }

    // a document that somebody changed is made again, though its data is the same
    let sheet = out.join("J-01/J-01-mix-sheet.pdf");
    write(&sheet, "altered");
    batch(&copy, &out, &[]).must_end_with(0);
    assert_eq!(made(&out), changed);
}
