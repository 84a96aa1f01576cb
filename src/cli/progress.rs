//! How far a batch is, on stderr: a line that keeps itself up on a terminal, plain lines elsewhere.

use std::io::{self, IsTerminal};
use std::path::Path;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressStyle};

use super::output;
use crate::batch::{Ended, Watch};
use crate::shown::{Shown, lines_shown};

/// How often a plain line is written, at most.
const EVERY: Duration = Duration::from_secs(5);

/// Tells how far it is.
pub(super) struct Progress {
    /// `None` where there is no terminal.
    bar: Option<ProgressBar>,
    plain: Mutex<Plain>,
}

struct Plain {
    began: Instant,
    told: Instant,
    all: usize,
    ended: usize,
    failed: usize,
}

impl Progress {
    pub fn new() -> Progress {
        let now = Instant::now();
        Progress {
            bar: io::stderr().is_terminal().then(ProgressBar::no_length),
            plain: Mutex::new(Plain { began: now, told: now, all: 0, ended: 0, failed: 0 }),
        }
    }

    /// Clears the line.
    pub fn finish(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}

impl Plain {
    /// `412 of 10000 jobs, 3 failed, 31.2 a second, 5 min 8 s left`
    fn line(&self) -> String {
        let (rate, left) = pace(self.began.elapsed(), self.ended, self.all);
        let failed = match self.failed {
            0 => String::new(),
            n => format!(", {n} failed"),
        };
        format!("{} of {} jobs{failed}, {rate}, {left} left", self.ended, self.all)
    }
}

/// The rate so far, and how long the rest takes at it.
fn pace(passed: Duration, ended: usize, all: usize) -> (String, String) {
    let rate = ended as f64 / passed.as_secs_f64().max(0.001);
    let left = (all.saturating_sub(ended)) as f64 / rate.max(0.001);
    let seconds = left.ceil() as u64;
    let left = match (seconds / 3600, seconds / 60 % 60, seconds % 60) {
        (0, 0, s) => format!("{s} s"),
        (0, m, s) => format!("{m} min {s} s"),
        (h, m, _) => format!("{h} h {m} min"),
    };
    (format!("{rate:.1} a second"), left)
}

impl Watch for Progress {
    fn begins(&self, jobs: usize) {
        let mut plain = self.plain.lock().unwrap_or_else(PoisonError::into_inner);
        plain.all = jobs;
        plain.began = Instant::now();
        if let Some(bar) = &self.bar {
            bar.set_length(jobs as u64);
            // the template is our own, and a test draws it
            if let Ok(style) = ProgressStyle::with_template("{bar:24} {msg}") {
                bar.set_style(style);
            }
        }
    }

    fn ended(&self, file: &Path, ended: &Ended) {
        let mut plain = self.plain.lock().unwrap_or_else(PoisonError::into_inner);
        plain.ended += 1;
        let failed = match ended {
            Ended::Failed(failed) => {
                plain.failed += 1;
                Some(format!("error: {} was not made:\n{}\n", Shown(file.display()), failed.told))
            }
            _ => None,
        };
        match &self.bar {
            Some(bar) => {
                if let Some(told) = failed {
                    bar.println(lines_shown(told.trim_end()));
                }
                bar.set_message(plain.line());
                bar.inc(1);
            }
            None => {
                if let Some(told) = failed {
                    output::block(&told);
                }
                if plain.told.elapsed() >= EVERY && plain.ended < plain.all {
                    plain.told = Instant::now();
                    output::say(plain.line());
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rate_tells_how_long_the_rest_takes() {
        let told = |seconds, ended, all| {
            let (rate, left) = pace(Duration::from_secs(seconds), ended, all);
            format!("{rate}, {left}")
        };
        assert_eq!(told(10, 300, 10_000), "30.0 a second, 5 min 24 s");
        assert_eq!(told(10, 100, 100), "10.0 a second, 0 s");
        assert_eq!(told(100, 1_000, 100_000), "10.0 a second, 2 h 45 min");
    }

    #[test]
    fn the_line_of_a_terminal_has_a_form_that_can_be_drawn() {
        assert!(ProgressStyle::with_template("{bar:24} {msg}").is_ok());
    }
}
