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
use std::io::{self, IsTerminal, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};
use std::time::Instant;

use clap::error::ErrorKind;
use clap::{CommandFactory, Parser};

use super::Arguments;
use super::messages::{self, Look, folded};
use crate::app::{Cause, Failure};
use crate::batch::is_caution;
use crate::input::{STDIN, why};
use crate::shown::{json_shown, lines_shown, shown};
use crate::whole::{self, check_file, check_folder, write_new, write_whole};

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// Everything asked for was done.
    Done,
    /// Some documents were made, some failed; or what was made could not be written. Of `verify`: something was altered.
    SomeFailed,
    /// The input or the call is wrong; nothing was made. Of `verify`: a file cannot be read as what it should be.
    BadInput,
    /// Everything was made, and the certificate was withheld or says that a rule was not kept. Of `verify`: nothing altered was
    /// found, and not everything could be looked at.
    CertificateWithheld,
    /// An internal error.
    Internal,
}

impl Exit {
    /// Of a command that made so many documents, and failed with so many.
    pub(super) fn of(made: usize, failed: usize) -> Exit {
        match (made, failed) {
            (_, 0) => Exit::Done,
            (0, _) => Exit::BadInput,
            _ => Exit::SomeFailed,
        }
    }
}

impl From<Cause> for Exit {
    fn from(cause: Cause) -> Exit {
        match cause {
            Cause::Input => Exit::BadInput,
            Cause::Issued | Cause::Disk => Exit::SomeFailed,
            Cause::Withheld => Exit::CertificateWithheld,
            Cause::Internal => Exit::Internal,
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> ExitCode {
        ExitCode::from(match exit {
            Exit::Done => 0,
            Exit::SomeFailed => 1,
            Exit::BadInput => 2,
            Exit::CertificateWithheld => 3,
            Exit::Internal => 70,
        })
    }
}

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
                _ => Lost::Failed(why(&e)),
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
    STDERR.write(|| io::stderr().lock().write_all(messages::written(text).as_bytes()));
}

/// A line of data.
pub(super) fn line(value: impl Display) {
    to_stdout(&format!("{}\n", shown(&value.to_string())));
}

/// Data of several lines; the last one is ended.
pub(super) fn text(text: &str) {
    to_stdout(&format!("{}\n", lines_shown(text.trim_end())));
}

/// The same for people, in lines of 80 characters.
pub(super) fn page(text: &str) {
    to_stdout(&format!("{}\n", folded(&lines_shown(text.trim_end()), 80)));
}

/// A program of ours for a shell, as it is: nothing in it is the user's.
pub(super) fn script(text: &str) {
    to_stdout(text);
}

/// Data that is JSON.
pub(super) fn json(text: &str) {
    to_stdout(&format!("{}\n", json_shown(text.trim_end())));
}

/// A message of one line.
pub(super) fn say(message: impl Display) {
    to_stderr(&format!("{}\n", shown(&message.to_string())));
}

/// A note, or a caution among notes.
pub(super) fn note(note: &str) {
    say(format_args!("{}{note}", if is_caution(note) { "" } else { "note: " }));
}

/// A question; the answer is typed behind it.
pub(super) fn prompt(question: &str) {
    to_stderr(&shown(question));
}

/// A message of several lines that were escaped where they were put together: a failure, a problem at its place.
pub(super) fn block(lines: &str) {
    to_stderr(&lines_shown(lines));
}

/// Begins a page of messages again, on a terminal.
pub(super) fn begin_again() {
    if messages::may_draw() {
        STDERR.write(|| io::stderr().lock().write_all(b"\x1b[2J\x1b[3J\x1b[H"));
    }
}

/// A list of names under a heading; nothing for no name.
pub(super) fn names<T: Display>(heading: &str, names: &[T], more: &str) {
    if !names.is_empty() {
        say(heading);
        some(names, more, |name| say(format_args!("  {name}")));
    }
}

/// The first ten of a list, and how many more there are.
pub(super) fn some<T>(items: &[T], more: &str, show: impl Fn(&T)) {
    const MOST: usize = 10;
    items.iter().take(MOST).for_each(show);
    if items.len() > MOST {
        say(format_args!("  … and {} more{more}", items.len() - MOST));
    }
}

/// Why a command, or a part of it, could not be done.
pub(super) fn failure(failure: &Failure) -> Exit {
    let is_unwritten = failure.errors() > 0 && WRITES_FILES.load(Ordering::Relaxed) && whole::written() == 0;
    block(&failure.text(is_unwritten));
    failure.cause.into()
}

/// Writes a file and prints its path; `-` is standard output.
pub(super) fn file(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    if path == Path::new(STDIN) {
        STDOUT.write(|| {
            let mut out = io::stdout().lock();
            out.write_all(bytes)?;
            out.flush()
        });
        return Ok(());
    }
    write_whole(path, bytes).map_err(|e| Failure::unwritten(path, &e))?;
    line(path.display());
    Ok(())
}

/// Writes files that are not there yet and prints their paths; if any of them is there, none is written.
pub(super) fn new_files(files: &[(PathBuf, Vec<u8>)]) -> Result<(), Failure> {
    let there = files.iter().filter(|(path, _)| path.symlink_metadata().is_ok());
    let there: Vec<String> = there.map(|(path, _)| format!("  {}", path.display())).collect();
    if !there.is_empty() {
        let failure = Failure::error("this is there already, and nothing that is there is written over:").lines(there);
        return Err(failure.hint("name another folder or file"));
    }
    files.iter().try_for_each(|(path, _)| check_output_file(path))?;
    files.iter().try_for_each(|(path, bytes)| {
        write_new(path, bytes).map_err(|e| Failure::unwritten(path, &e))?;
        line(path.display());
        Ok(())
    })
}

/// Writes files into a folder and prints their paths.
pub(super) fn files<N: AsRef<Path>>(
    folder: &Path,
    files: impl IntoIterator<Item = (N, Vec<u8>)>,
) -> Result<(), Failure> {
    files.into_iter().try_for_each(|(name, bytes)| file(&folder.join(name), &bytes))
}

/// That a file can be written under this name, before anything is made for it.
pub(super) fn check_output_file(path: &Path) -> Result<(), Failure> {
    let hint = "name another file with `-o`";
    check_file(path)
        .map_err(|e| Failure::error(format_args!("cannot write {}: {}", path.display(), why(&e))).hint(hint))
}

/// The same of a file that is of one kind: nothing of another kind, such as a job, is written over by it.
pub(super) fn check_output_named(path: &Path, ending: &str, what: &str) -> Result<(), Failure> {
    if !path.is_dir() && path.extension().is_none_or(|own| !own.eq_ignore_ascii_case(ending)) {
        let failure = Failure::error(format_args!("{} does not end in .{ending}: {what}", path.display()));
        return Err(failure.hint(format_args!("name it so, such as `-o {}`", path.with_extension(ending).display())));
    }
    check_output_file(path)
}

/// The same of a PDF, where `-` is standard output, which a terminal cannot be.
pub(super) fn check_output(path: &Path) -> Result<(), Failure> {
    if path != Path::new(STDIN) {
        return check_output_named(path, "pdf", "a PDF is written");
    }
    if io::stdout().is_terminal() {
        let failure = Failure::error("standard output is a terminal, and this is a PDF");
        return Err(failure.hint("name a file, or lead it into one: `-o - > labels.pdf`"));
    }
    Ok(())
}

/// That this is a folder, or can be made one.
pub(super) fn check_output_folder(path: &Path) -> Result<(), Failure> {
    let hint = "name another folder with `-o`";
    if path == Path::new(STDIN) {
        let why = "cannot write into `-`: several files are made, and standard output takes one";
        return Err(Failure::error(why).hint(hint).hint("`decant labels` and `decant label` can write one file there"));
    }
    check_folder(path)
        .map_err(|e| Failure::error(format_args!("cannot write into {}: {}", path.display(), why(&e))).hint(hint))
}

/// Runs a command, and ends as it ends: unless the program itself fell over, or what it said could not be written.
pub(super) fn ending(writes_files: bool, command: impl FnOnce() -> Result<Exit, Failure>) -> Exit {
    WRITES_FILES.store(writes_files, Ordering::Relaxed);
    let began = Instant::now();
    std::panic::set_hook(Box::new(|panic| {
        if let Some(place) = panic.location() {
            say(format_args!("decant: stopped at {place}"));
        }
    }));
    let ended = catch_unwind(AssertUnwindSafe(command)).unwrap_or_else(|panic| {
        let why = panic.downcast_ref::<String>().map(String::as_str);
        let why = why.or_else(|| panic.downcast_ref::<&str>().copied());
        Err(Failure::internal(why.unwrap_or("no reason given")))
    });
    let exit = settled(ended.unwrap_or_else(|why| failure(&why)));
    if messages::is_verbose() {
        let (files, took) = (whole::written(), began.elapsed().as_secs_f64());
        say(format_args!("note: {files} files written; it took {took:.2} s"));
    }
    exit
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
    if !error.use_stderr() {
        // help and the version, in color where there is a terminal
        STDOUT.write(|| error.print().and_then(|()| io::stdout().flush()));
        return Err(settled(Exit::Done));
    }
    let words: Vec<String> = escaped.iter().map(|word| word.to_string_lossy().into_owned()).collect();
    Look::of(&words).take();
    block(&error.to_string());
    Err(settled(Exit::BadInput))
}
