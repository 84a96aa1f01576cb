//! How long one job takes as a whole process: read, plan, three documents, written. A benchmark and not a test: run it
//! with `cargo bench --bench one_job`, on a quiet machine.

use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const RUNS: usize = 21;

fn main() {
    // `cargo test --benches` runs benches too, with this word absent; a timed run says nothing there.
    if !std::env::args().any(|word| word == "--bench") {
        return;
    }
    let folder = std::env::temp_dir().join(format!("decant-bench-{}", std::process::id()));
    let job = concat!(env!("CARGO_MANIFEST_DIR"), "/samples/fish-hall/job.yaml");
    let mut times: Vec<Duration> = Vec::new();
    for run in 0..=RUNS {
        let started = Instant::now();
        let status = Command::new(env!("CARGO_BIN_EXE_decant"))
            .args(["render", job, "-o"])
            .arg(&folder)
            .stdout(Stdio::null())
            .status();
        assert!(status.is_ok_and(|s| s.success()), "the sample does not render");
        // The first run warms the file cache and is not counted.
        if run > 0 {
            times.push(started.elapsed());
        }
    }
    times.sort();
    println!(
        "one job, three documents: median {:?}, fastest {:?}, slowest {:?} of {RUNS} runs",
        times[RUNS / 2],
        times[0],
        times[RUNS - 1]
    );
    let _ = std::fs::remove_dir_all(folder);
}
