//! The two streams: data on stdout, messages on stderr. No other file writes to either (`clippy::print_stdout` and `print_stderr`
//! see to it), so that three rules hold for every command:
//!
//! - **Nothing steers the terminal.** Whatever is written passes `shown.rs`: control and bidirectional characters are written out,
//!   and a line stays one line whatever a value in it holds.
//! - **A reader that stops reading is no fault.** A closed pipe is written to no more; the command goes on with its work and ends
//!   as it would have ended.
//! - **A full disk is the disk's.** What cannot be written is reported once, and the run then never ends with 0.

use std::ffi::OsString;
use std::fmt::Display;
use std::io::{self, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};

use clap::error::ErrorKind;
use clap::{CommandFactory, Parser};

use super::Arguments;
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

/// The command line, read. What is wrong with it is said here, help and the version are printed, and the exit code is given.
///
/// # Errors
/// How the run ends without a command.
pub fn arguments() -> Result<Arguments, Exit> {
    let given: Vec<OsString> = std::env::args_os().collect();
    let error = match Arguments::try_parse_from(&given) {
        Ok(arguments) => return Ok(arguments),
        Err(error) => error,
    };
    // the message quotes what was given: that is read once more as it may be shown
    let escaped: Vec<OsString> = given.iter().map(|arg| shown(&arg.to_string_lossy()).into_owned().into()).collect();
    let error = match Arguments::try_parse_from(&escaped) {
        _ if escaped == given => error,
        Err(again) => again,
        // escaped it would be right: then nothing of it is quoted
        Ok(_) => {
            Arguments::command().error(ErrorKind::InvalidValue, "a value holds characters that are not allowed in it")
        }
    };
    let to_stderr = error.use_stderr();
    // in colour, where there is a terminal
    if to_stderr {
        STDERR.write(|| error.print());
    } else {
        STDOUT.write(|| error.print().and_then(|()| io::stdout().flush()));
    }
    Err(settled(if to_stderr { Exit::BadInput } else { Exit::Done }))
}
