//! How far a batch is, on stderr: a line that stays at the bottom of a terminal, plain lines elsewhere.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressStyle};

use super::{messages, output};
use crate::batch::{Ended, VISIT, Watch};
use crate::shown::{Shown, lines_shown};

/// How soon the first plain line is written; the later ones come ever more seldom, after a tenth of the time passed.
const FIRST: Duration = Duration::from_secs(5);
const BAR: &str = "{bar:24} {msg}";

pub(super) struct Progress {
    /// `None` where there is no terminal.
    bar: Option<ProgressBar>,
    count: Mutex<Count>,
}

struct Count {
    began: Instant,
    last_line: Instant,
    workers: usize,
    failed: usize,
    kinds: BTreeMap<&'static str, Pace>,
}

/// How many there are of a kind, and how long one takes.
#[derive(Clone, Debug, Default)]
struct Pace {
    all: usize,
    ended: usize,
    /// Those that were looked into: what was issued before takes no time, and tells nothing of the rest.
    measured: usize,
    seconds: f64,
}

impl Pace {
    /// The last twenty or so count: what is made behind what was there already is slower.
    fn take(&mut self, took: Duration) {
        self.measured += 1;
        let share = (1.0 / self.measured as f64).max(0.05);
        self.seconds += (took.as_secs_f64() - self.seconds) * share;
    }

    fn left(&self) -> usize {
        self.all.saturating_sub(self.ended)
    }
}

impl Progress {
    pub fn new() -> Progress {
        let now = Instant::now();
        let count = Count { began: now, last_line: now, workers: 1, failed: 0, kinds: BTreeMap::new() };
        Progress { bar: messages::may_draw().then(ProgressBar::no_length), count: Mutex::new(count) }
    }

    /// Clears the line.
    pub fn finish(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}

impl Watch for Progress {
    fn begins(&self, kinds: &BTreeMap<&'static str, usize>, workers: usize) {
        let mut count = self.count.lock().unwrap_or_else(PoisonError::into_inner);
        count.kinds = kinds.iter().map(|(kind, all)| (*kind, Pace { all: *all, ..Pace::default() })).collect();
        count.workers = workers;
        count.began = Instant::now();
        if let Some(bar) = &self.bar {
            bar.set_length(kinds.values().sum::<usize>() as u64);
            // the template is our own, and a test reads it
            if let Ok(style) = ProgressStyle::with_template(BAR) {
                bar.set_style(style);
            }
        }
    }

    fn ended(&self, file: &Path, kind: &'static str, took: Duration, ended: &Ended) {
        let mut count = self.count.lock().unwrap_or_else(PoisonError::into_inner);
        let pace = count.kinds.entry(kind).or_default();
        pace.ended += 1;
        if !matches!(ended, Ended::Settled { .. }) {
            pace.take(took);
        }
        let why = match ended {
            Ended::Failed(failed) => {
                count.failed += 1;
                format!("error: {} was not made:\n{}\n", Shown(file.display()), failed.message)
            }
            _ => String::new(),
        };
        let Some(bar) = &self.bar else {
            output::block(&why);
            let is_time = count.last_line.elapsed() >= FIRST.max(count.began.elapsed() / 10);
            if is_time && count.kinds.values().any(|pace| pace.left() > 0) {
                count.last_line = Instant::now();
                output::say(count.line());
            }
            return;
        };
        if !why.is_empty() {
            bar.println(lines_shown(why.trim_end()));
        }
        bar.set_message(count.line());
        bar.inc(1);
    }
}

impl Count {
    /// `37 of 208 routes, 412 of 1118 visits, 3 failed, about 5 min left`
    fn line(&self) -> String {
        let pace = |kind: &str| self.kinds.get(kind).cloned().unwrap_or_default();
        let (visits, routes) = (pace(VISIT), pace("route"));
        let mut line = match routes.all {
            0 => format!("{} of {} jobs", visits.ended, visits.all),
            all => format!("{} of {all} routes, {} of {} visits", routes.ended, visits.ended, visits.all),
        };
        if self.failed > 0 {
            line += &format!(", {} failed", self.failed);
        }
        if let Some(seconds) = self.left() {
            line += &format!(", about {} left", about(seconds));
        }
        line
    }

    /// Seconds that the rest takes; `None` while it is not known of one kind how long it takes, but for the one report at the end.
    fn left(&self) -> Option<f64> {
        let rest: Vec<&Pace> = self.kinds.values().filter(|pace| pace.left() > 0).collect();
        let is_known = rest.iter().all(|pace| pace.measured > 0 || pace.all == 1);
        let jobs: usize = rest.iter().map(|pace| pace.left()).sum();
        let seconds: f64 = rest.iter().map(|pace| pace.seconds * pace.left() as f64).sum();
        (is_known && seconds > 0.0).then(|| seconds / self.workers.clamp(1, jobs) as f64)
    }
}

/// No more exact than it can be known.
fn about(seconds: f64) -> String {
    let seconds = seconds.ceil() as u64;
    match seconds {
        0..60 => format!("{} s", seconds.next_multiple_of(5)),
        60..3600 => format!("{} min", seconds.div_ceil(60)),
        _ => format!("{} h {} min", seconds.div_ceil(600) / 6, seconds.div_ceil(600) % 6 * 10),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn count(kinds: &[(&'static str, usize)], workers: usize) -> Progress {
        let progress = Progress::new();
        progress.begins(&kinds.iter().copied().collect(), workers);
        progress
    }

    fn end(progress: &Progress, kind: &'static str, times: usize, seconds: f64, ended: &Ended) -> String {
        let took = Duration::from_secs_f64(seconds);
        (0..times).for_each(|_| progress.ended(Path::new("job.yaml"), kind, took, ended));
        progress.count.lock().expect("a count").line()
    }

    const DONE: Ended = Ended::Done { withheld: false };

    #[test]
    fn the_rest_of_each_kind_takes_as_long_as_what_was_made_of_it() {
        let progress = count(&[(VISIT, 1_118), ("route", 208), ("report", 1)], 2);
        // what was issued says nothing of the rest, and one kind nothing of another
        let line = end(&progress, VISIT, 400, 0.001, &Ended::Settled { differs: None });
        assert_eq!(line, "0 of 208 routes, 400 of 1118 visits");
        assert_eq!(end(&progress, VISIT, 12, 0.5, &DONE), "0 of 208 routes, 412 of 1118 visits");
        // (706 × 0.5 s + 205 × 4 s) / 2
        let line = end(&progress, "route", 3, 4.0, &DONE);
        assert_eq!(line, "3 of 208 routes, 412 of 1118 visits, about 10 min left");
        // it gets slower: the newest count
        let line = end(&progress, VISIT, 100, 2.0, &DONE);
        assert_eq!(line, "3 of 208 routes, 512 of 1118 visits, about 17 min left");
        end(&progress, VISIT, 606, 0.1, &DONE);
        let line = end(&progress, "route", 205, 0.1, &DONE);
        assert_eq!(line, "208 of 208 routes, 1118 of 1118 visits");
    }

    #[test]
    fn jobs_without_routes_are_counted_as_such() {
        let progress = count(&[(VISIT, 10_000)], 1);
        assert_eq!(end(&progress, VISIT, 100, 0.2, &DONE), "100 of 10000 jobs, about 33 min left");
        assert_eq!(about(3.0), "5 s");
        assert_eq!(about(9_900.0), "2 h 50 min");
        assert!(ProgressStyle::with_template(BAR).is_ok());
    }
}
