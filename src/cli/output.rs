//! The two streams: data on stdout, messages on stderr. No other file writes to either (`clippy::print_stdout` and `print_stderr`
//! see to it), so that three rules hold for every command:
//!
//! - **Nothing steers the terminal.** Whatever is written passes `shown.rs`: control and bidirectional characters are written out,
//!   and a line stays one line whatever a value in it holds.
//! - **A reader that stops reading is no fault.** A closed pipe is written to no more; the command goes on with its work and ends
//!   as it would have ended.
//! - **A full disk is the disk's.** What cannot be written is reported once, and the run then never ends with 0.

use std::fmt::Display;
use std::io::{self, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};

use super::exit::{Exit, Refusal};
use crate::shown::{json_shown, lines_shown, shown};
use crate::whole;

/// A stream and what became of it.
struct Stream {
    /// Why nothing more is written to it.
    lost: Mutex<Option<Lost>>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
enum Lost {
    /// Whoever read it has gone.
    Closed,
    /// The system does not take it.
    Failed(String),
}

static STDOUT: Stream = Stream { lost: Mutex::new(None) };
static STDERR: Stream = Stream { lost: Mutex::new(None) };
/// Whether the command writes files, so that it may say that it has not.
static WRITES_FILES: AtomicBool = AtomicBool::new(false);

impl Stream {
    fn write(&self, to: impl FnOnce() -> io::Result<()>) {
        // whoever panicked held the lock only to write
        let mut lost = self.lost.lock().unwrap_or_else(PoisonError::into_inner);
        if lost.is_none()
            && let Err(e) = to()
        {
            *lost = Some(match e.kind() {
                io::ErrorKind::BrokenPipe => Lost::Closed,
                _ => Lost::Failed(whole::why(&e)),
            });
        }
    }

    fn failure(&self) -> Option<String> {
        match &*self.lost.lock().unwrap_or_else(PoisonError::into_inner) {
            Some(Lost::Failed(why)) => Some(why.clone()),
            _ => None,
        }
    }
}

fn to_stdout(text: &str) {
    STDOUT.write(|| {
        let mut out = io::stdout().lock();
        out.write_all(text.as_bytes())?;
        out.flush()
    });
}

fn to_stderr(text: &str) {
    STDERR.write(|| io::stderr().lock().write_all(text.as_bytes()));
}

/// A line of data.
pub(super) fn line(value: impl Display) {
    to_stdout(&format!("{}\n", shown(&value.to_string())));
}

/// Data of several lines; the last one is ended.
pub(super) fn text(text: &str) {
    to_stdout(&format!("{}\n", lines_shown(text.trim_end())));
}

/// Data that is JSON.
pub(super) fn json(text: &str) {
    to_stdout(&format!("{}\n", json_shown(text.trim_end())));
}

/// A message of one line.
pub(super) fn say(message: impl Display) {
    to_stderr(&format!("{}\n", shown(&message.to_string())));
}

/// A message of several lines that were escaped where they were put together: a refusal, a problem at its place.
pub(super) fn block(lines: &str) {
    to_stderr(&lines_shown(lines));
}

/// Whether this command writes files and has written none so far.
pub(super) fn nothing_was_written() -> bool {
    WRITES_FILES.load(Ordering::Relaxed) && whole::written() == 0
}

/// Runs a command, and ends as it ends: unless the program itself fell over, or what it said could not be written.
pub(super) fn ending(writes_files: bool, command: impl FnOnce() -> Exit) -> Exit {
    WRITES_FILES.store(writes_files, Ordering::Relaxed);
    std::panic::set_hook(Box::new(|panic| {
        if let Some(place) = panic.location() {
            say(format_args!("decant: stopped at {place}"));
        }
    }));
    let exit = catch_unwind(AssertUnwindSafe(command)).unwrap_or_else(|panic| {
        let told = panic.downcast_ref::<String>().map(String::as_str);
        let told = told.or_else(|| panic.downcast_ref::<&str>().copied());
        Refusal::own_fault(told.unwrap_or("no reason given")).tell()
    });
    settled(exit)
}

/// The exit code in view of what became of the streams.
fn settled(exit: Exit) -> Exit {
    let failure = STDOUT.failure();
    if let Some(why) = &failure {
        say(format_args!("error: cannot write to standard output: {why}"));
    }
    match exit {
        Exit::Done | Exit::CertificateWithheld if failure.is_some() || STDERR.failure().is_some() => Exit::SomeFailed,
        exit => exit,
    }
}

/// What the reader of the command line has to say: help and the version on stdout, a wrong call on stderr.
pub fn usage(error: &clap::Error) -> Exit {
    let plain = error.render().to_string();
    let is_plain = matches!(lines_shown(&plain), std::borrow::Cow::Borrowed(_));
    let exit = if error.use_stderr() { Exit::BadInput } else { Exit::Done };
    match (is_plain, error.use_stderr()) {
        // in colour, where there is a terminal
        (true, true) => STDERR.write(|| error.print()),
        (true, false) => STDOUT.write(|| error.print().and_then(|()| io::stdout().flush())),
        (false, true) => block(&plain),
        (false, false) => text(&plain),
    }
    settled(exit)
}
