//! Many jobs: the rate with one worker and with two in one run, memory as it grows, and how little a second run of
//! unchanged jobs takes. A benchmark and not a test: run it with `cargo bench --bench batch`, on a quiet machine.
//! `DECANT_JOBS=1000` makes another number of jobs than 100.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Runs of each kind, taken in turn so that a machine that slows down slows all of them.
const ROUNDS: usize = 3;

fn main() {
    // `cargo test --benches` runs benches too, with this word absent; a timed run says nothing there.
    if !std::env::args().any(|word| word == "--bench") {
        return;
    }
    let count = std::env::var("DECANT_JOBS").ok().and_then(|n| n.parse().ok()).unwrap_or(100);
    let folder = std::env::temp_dir().join(format!("decant-bench-{}", std::process::id()));
    let jobs = write_jobs(&folder, count);
    let mut taken: [Vec<Run>; 3] = Default::default();
    for round in 0..ROUNDS {
        let out = |workers: u32| folder.join(format!("out-{round}-{workers}"));
        taken[0].push(batch(&jobs, &out(1), 1));
        taken[1].push(batch(&jobs, &out(2), 2));
        taken[2].push(batch(&jobs, &out(2), 2));
        // not removed at once: that would be timed with what comes next
        let _ = fs::remove_dir_all(out(1));
        let _ = fs::remove_dir_all(out(2));
    }
    println!("{count} mix sheets, the fastest of {ROUNDS} rounds:");
    let [one, two, again] = taken.map(|runs| runs.into_iter().min_by_key(|run| run.time).unwrap_or_default());
    for (what, run) in [("one worker", &one), ("two workers", &two), ("again, unchanged", &again)] {
        let seconds = run.time.as_secs_f64();
        println!(
            "  {what:18} {seconds:8.2} s  {:8.1} a second  {:6} MiB at most",
            count as f64 / seconds,
            run.mebibytes
        );
    }
    println!(
        "  two workers are {:.2} times as fast as one; again takes {:.1} % of that",
        one.time.as_secs_f64() / two.time.as_secs_f64(),
        100.0 * again.time.as_secs_f64() / two.time.as_secs_f64()
    );
    let _ = fs::remove_dir_all(folder);
}

#[derive(Default)]
struct Run {
    time: Duration,
    /// The most memory it held, where the system tells.
    mebibytes: u64,
}

/// Jobs like the sample's, each at a site of its own, so that no two sheets are alike.
fn write_jobs(folder: &Path, count: usize) -> PathBuf {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples");
    let jobs = folder.join("jobs");
    fs::create_dir_all(&jobs).expect("a folder for the jobs");
    for file in ["company.yaml", "logo.svg"] {
        fs::copy(samples.join(file), folder.join(file)).expect("the sample is copied");
    }
    let sample = fs::read_to_string(samples.join("ferry-terminal/job.yaml")).expect("the sample is read");
    let sample = sample.split("\nlog:").next().unwrap_or_default();
    for i in 0..count {
        let job = sample
            .replace("job: 2026-0413", &format!("job: B-{i:05}"))
            .replace("floor: 40 ft x 55 ft", &format!("floor: 40 ft x {}.{} ft", 40 + i % 30, i / 30 % 10))
            .replace("Gull Point", &format!("Pier {i}"));
        fs::write(jobs.join(format!("{i:05}.yaml")), job + "\n").expect("a job is written");
    }
    jobs
}

fn batch(jobs: &Path, out: &Path, workers: u32) -> Run {
    let started = Instant::now();
    let mut run = Command::new(env!("CARGO_BIN_EXE_decant"))
        .arg("batch")
        .arg(jobs)
        .args(["--only", "mix-sheet", "--workers", &workers.to_string(), "-o"])
        .arg(out)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("the program starts");
    let mut mebibytes = 0;
    loop {
        mebibytes = most_memory(run.id()).unwrap_or(mebibytes).max(mebibytes);
        if let Some(status) = run.try_wait().expect("the program can be waited for") {
            assert!(status.success(), "the batch failed");
            break;
        }
        std::thread::sleep(Duration::from_millis(5));
    }
    Run { time: started.elapsed(), mebibytes }
}

/// The most memory a process has held so far, as Linux tells it.
fn most_memory(process: u32) -> Option<u64> {
    let status = fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.trim().strip_suffix(" kB")?.trim().parse::<u64>().ok().map(|kb| kb / 1024)
}
