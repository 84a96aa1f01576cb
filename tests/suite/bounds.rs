//! Input far beyond any job is refused at once, before it is read.

use std::fs::File;
use std::time::{Duration, Instant};

use crate::support::program::decant;
use crate::support::workspace::{Copy, root, temporary, write};

const HUGE: u64 = 100 << 20;

/// A sparse file: its size alone must be enough to refuse it.
fn huge(path: &std::path::Path) {
    let file = File::create(path).expect("a file can be made");
    file.set_len(HUGE).expect("a sparse file can be made");
}

#[test]
fn a_huge_file_is_refused_within_a_second() {
    let folder = temporary();
    huge(&folder.path().join("job.yaml"));
    let began = Instant::now();
    let run = decant(folder.path(), ["plan", "job.yaml"]).must_end_with(2);
    assert!(began.elapsed() < Duration::from_secs(1), "{:?}", began.elapsed());
    assert!(run.stderr.starts_with("error[file-too-large]"), "{}", run.stderr);
    assert!(run.stderr.len() < 1_000, "a report of {} bytes", run.stderr.len());
}

#[test]
fn a_huge_company_file_is_refused_as_well() {
    let copy = Copy::of("fish-hall");
    huge(&copy.folder.join("huge.yaml"));
    copy.change_job("../company.yaml", "huge.yaml");
    let began = Instant::now();
    let run = decant(&copy.folder, ["plan", "job.yaml"]).must_end_with(2);
    assert!(began.elapsed() < Duration::from_secs(1), "{:?}", began.elapsed());
    assert!(run.stderr.contains("error[file-too-large]") && run.stderr.contains("huge.yaml"), "{}", run.stderr);
}

#[test]
fn a_report_of_many_problems_names_fifty_and_counts_all() {
    let folder = temporary();
    let keys: String = (0..200).map(|i| format!("surplus_{i}: 1\n")).collect();
    write(folder.path().join("job.yaml"), keys);
    let run = decant(folder.path(), ["plan", "job.yaml"]).must_end_with(2);
    assert_eq!(run.stderr.matches("error[").count(), 50, "{}", run.stderr);
    // what a job must have is missing too
    assert!(run.stderr.contains("more; mend these first"), "{}", run.stderr);
}

/// Took 16.5 s while each area was looked for among all others; now well under a second on one core.
#[test]
fn a_job_of_four_thousand_areas_is_planned_in_seconds() {
    const MANY: usize = 4_000;
    let folder = temporary();
    let names: Vec<String> = (0..MANY).map(|i| format!("Area {i}")).collect();
    let sizes: String = names.iter().map(|name| format!("  {name}: {{ surfaces: 2 ft2 }}\n")).collect();
    let company = root().join("tests/cases/unsafe/air.yaml");
    let job = format!(
        "job: G-1\ncompany: {}\nclient: {{ name: C }}\nsite: {{ name: S, address: A }}\n\
         visit: {{ start: 2026-05-04T06:00, crew: [ambrose] }}\nlabel_stock: roll\ntreatments:\n  \
         - {{ product: quat, directions: coarse, sprayer: pump, areas: [{}] }}\nareas:\n{sizes}",
        company.display(),
        names.join(", ")
    );
    write(folder.path().join("job.yaml"), job);
    let began = Instant::now();
    let run = decant(folder.path(), ["plan", "--json", "job.yaml"]).must_end_with(0);
    assert!(began.elapsed() < Duration::from_secs(5), "{:?}", began.elapsed());
    assert_eq!(run.stdout.matches("\"air_space\": 1").count(), MANY);
}
