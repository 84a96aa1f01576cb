//! Running the program within bounds of time and memory, and saying what it took.

use std::ffi::OsStr;
use std::fs::{self, File};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use super::program::Outcome;
use crate::support::workspace::{read_bytes, temporary};

/// How much of a processor's time a run may take before it is stopped: a busy machine does not make it hang.
pub const LONGEST: Duration = Duration::from_secs(10);
/// How long a run may take by the clock, for one that waits for something that never comes.
const LONGEST_WAIT: Duration = Duration::from_secs(90);
/// How much memory a run may use, in KiB.
pub const MOST_MEMORY: u64 = 500 << 10;

/// A run, and what it took.
#[derive(Debug)]
pub struct Measured {
    pub outcome: Outcome,
    /// Processor's time; by the clock where the kernel does not say.
    pub took: Duration,
    /// The most memory that it held, in KiB, as the kernel has it; 0 where the kernel does not say.
    pub memory: u64,
    /// Whether it was stopped for taking too long.
    pub hung: bool,
}

impl Measured {
    /// What is wrong with the run, if anything: it ended by a panic, as a fault of its own, by a signal, too late, or with too much memory.
    pub fn fault(&self) -> Option<String> {
        if self.hung {
            return Some(format!("it had not ended after {:?} of a processor", self.took));
        }
        if self.memory > MOST_MEMORY {
            return Some(format!("it took {} MiB", self.memory >> 10));
        }
        match self.outcome.code {
            None => Some("it was ended by a signal".into()),
            Some(101) => Some("it panicked".into()),
            Some(70) => Some("it ended as a fault of the program".into()),
            Some(_) => None,
        }
    }

    /// Fails the test if the run did not end with `code`, by itself, in time and within memory.
    #[track_caller]
    pub fn must_end_with(self, code: i32) -> Outcome {
        if let Some(fault) = self.fault() {
            let end: String = self.outcome.stderr.chars().take(2_000).collect();
            panic!("{fault}; it took {:?}\n{end}", self.took);
        }
        self.outcome.must_end_with(code)
    }
}

/// Runs `decant` with `folder` as its working directory, for [`LONGEST`] at most, with an address space that ends a run which grows
/// without bound. What it says is taken to files, since a pipe that nobody reads would stop it.
pub fn decant_measured<A: AsRef<OsStr>>(folder: &Path, arguments: impl IntoIterator<Item = A>) -> Measured {
    let said = temporary();
    let (out, err) = (said.path().join("out"), said.path().join("err"));
    // twice what is allowed: an allocator maps more than it uses, and what it uses is judged below
    let mut child = Command::new("sh")
        .args(["-c", "ulimit -v 3000000 2>/dev/null; exec \"$0\" \"$@\"", env!("CARGO_BIN_EXE_decant")])
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .stdout(File::create(&out).expect("a file"))
        .stderr(File::create(&err).expect("a file"))
        .spawn()
        .expect("the program starts");
    let began = Instant::now();
    let status = format!("/proc/{}/status", child.id());
    let times = format!("/proc/{}/stat", child.id());
    let (mut memory, mut hung) = (0, false);
    let mut took = None;
    let code = loop {
        memory = memory.max(peak(&status));
        took = processor_time(&times).or(took);
        if let Some(status) = child.try_wait().expect("a child can be waited for") {
            break status.code();
        }
        let late = took.unwrap_or(began.elapsed()) > LONGEST || began.elapsed() > LONGEST_WAIT;
        if late || memory > 3 * MOST_MEMORY {
            hung = late;
            child.kill().expect("a child can be ended");
            child.wait().expect("a child can be waited for");
            break None;
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    let text = |path: &Path| String::from_utf8_lossy(&read_bytes(path)).into_owned();
    Measured {
        outcome: Outcome { code, stdout: text(&out), stderr: text(&err) },
        took: took.unwrap_or(began.elapsed()),
        memory,
        hung,
    }
}

/// The most memory that a process has held so far (`VmHWM`, proc(5)), in KiB.
fn peak(status: &str) -> u64 {
    let status = fs::read_to_string(status).unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.and_then(|line| line.split_whitespace().next()?.parse().ok()).unwrap_or(0)
}

/// The time that a process has had of processors so far (`utime` and `stime` of stat, proc(5)), in hundredths of a second.
fn processor_time(times: &str) -> Option<Duration> {
    let times = fs::read_to_string(times).ok()?;
    // the name in brackets may hold anything
    let fields: Vec<&str> = times.rsplit_once(')')?.1.split_whitespace().collect();
    let ticks = |field: &str| field.parse::<u64>().ok();
    // fields 14 and 15 of all, of which two stand before the bracket
    Some(Duration::from_millis(10 * (ticks(fields.get(11)?)? + ticks(fields.get(12)?)?)))
}
