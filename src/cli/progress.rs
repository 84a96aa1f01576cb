//! How far a batch is, on stderr: a line that stays at the bottom of a terminal, plain lines elsewhere.

use std::path::Path;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressStyle};

use super::{messages, output};
use crate::batch::{Ended, Watch};
use crate::shown::{Shown, lines_shown};

/// How often a plain line is written, at most.
const EVERY: Duration = Duration::from_secs(5);
const BAR: &str = "{bar:24} {msg}";

pub(super) struct Progress {
    /// `None` where there is no terminal.
    bar: Option<ProgressBar>,
    count: Mutex<Count>,
}

struct Count {
    began: Instant,
    last_line: Instant,
    all: usize,
    ended: usize,
    failed: usize,
}

impl Progress {
    pub fn new() -> Progress {
        let now = Instant::now();
        Progress {
            bar: messages::may_draw().then(ProgressBar::no_length),
            count: Mutex::new(Count { began: now, last_line: now, all: 0, ended: 0, failed: 0 }),
        }
    }

    /// Clears the line.
    pub fn finish(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}

impl Watch for Progress {
    fn begins(&self, jobs: usize) {
        let mut count = self.count.lock().unwrap_or_else(PoisonError::into_inner);
        count.all = jobs;
        count.began = Instant::now();
        if let Some(bar) = &self.bar {
            bar.set_length(jobs as u64);
            // the template is our own, and a test reads it
            if let Ok(style) = ProgressStyle::with_template(BAR) {
                bar.set_style(style);
            }
        }
    }

    fn ended(&self, file: &Path, ended: &Ended) {
        let mut count = self.count.lock().unwrap_or_else(PoisonError::into_inner);
        count.ended += 1;
        let why = match ended {
            Ended::Failed(failed) => {
                count.failed += 1;
                format!("error: {} was not made:\n{}\n", Shown(file.display()), failed.message)
            }
            _ => String::new(),
        };
        let Some(bar) = &self.bar else {
            output::block(&why);
            if count.last_line.elapsed() >= EVERY && count.ended < count.all {
                count.last_line = Instant::now();
                output::say(count.line(count.began.elapsed()));
            }
            return;
        };
        if !why.is_empty() {
            bar.println(lines_shown(why.trim_end()));
        }
        bar.set_message(count.line(count.began.elapsed()));
        bar.inc(1);
    }
}

impl Count {
    /// `412 of 10000 jobs, 3 failed, 31.2 a second, 5 min 8 s left`
    fn line(&self, passed: Duration) -> String {
        let rate = self.ended as f64 / passed.as_secs_f64().max(0.001);
        let seconds = (self.all.saturating_sub(self.ended) as f64 / rate.max(0.001)).ceil() as u64;
        let left = match (seconds / 3600, seconds / 60 % 60, seconds % 60) {
            (0, 0, s) => format!("{s} s"),
            (0, m, s) => format!("{m} min {s} s"),
            (h, m, _) => format!("{h} h {m} min"),
        };
        let failed = if self.failed == 0 { String::new() } else { format!(", {} failed", self.failed) };
        format!("{} of {} jobs{failed}, {rate:.1} a second, {left} left", self.ended, self.all)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rate_so_far_gives_how_long_the_rest_takes() {
        let line = |seconds, ended, all, failed| {
            let now = Instant::now();
            Count { began: now, last_line: now, all, ended, failed }.line(Duration::from_secs(seconds))
        };
        assert_eq!(line(10, 300, 10_000, 3), "300 of 10000 jobs, 3 failed, 30.0 a second, 5 min 24 s left");
        assert_eq!(line(10, 100, 100, 0), "100 of 100 jobs, 10.0 a second, 0 s left");
        assert_eq!(line(100, 1_000, 100_000, 0), "1000 of 100000 jobs, 10.0 a second, 2 h 45 min left");
        assert!(ProgressStyle::with_template(BAR).is_ok());
    }
}
