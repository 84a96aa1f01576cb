//! The send log: one JSON object a line, on disk before what it says can come about.
//!
//! Each line holds the digest of everything before it, so that a line that was changed, taken out, put in or moved is noticed. What
//! is cut off at the end is not: a log that lacks its last lines is a log as it once was.

use std::collections::BTreeMap;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, BufRead, BufReader, Read as _, Seek, SeekFrom};
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use sha2::{Digest, Sha256};

use crate::company::Address;
use crate::digest::hex;
use crate::input;
use crate::whole::write_all;

/// The form of a send log.
pub const FORM: &str = "decant send log 2";
/// The form of one that was begun before lines held digests; the first line that holds one vouches for all before it.
const FORM_1: &str = "decant send log 1";
/// The key of a line's digest.
const BEFORE: &str = "before";

/// The longest line that a log of ours has, in bytes.
const LONGEST_LINE: u64 = 64 << 10;

/// The first line.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Head {
    form: String,
}

/// What became of a message.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// Its content is about to leave. If nothing follows, what became of it is unknown.
    Sending,
    /// The server has taken it.
    Sent,
    /// The server has refused it; nobody was sent anything.
    Refused,
    /// The connection was lost before its content began to leave.
    NotSent,
    /// The connection was lost while its content was leaving, or before the server's answer.
    Unknown,
}

impl State {
    /// For people.
    pub fn word(self) -> &'static str {
        match self {
            State::Sent => "sent",
            State::Refused => "refused",
            State::NotSent => "not sent",
            State::Sending | State::Unknown => "nobody knows whether it was sent",
        }
    }
}

/// One line of a log.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    pub at: Timestamp,
    /// The job's number.
    pub job: String,
    /// Which revision of its record.
    pub revision: u32,
    /// SHA-256 of the record, in hexadecimal.
    pub record: String,
    pub to: String,
    /// The message's `Message-ID`.
    pub message: String,
    pub state: State,
    /// What the server said, or what happened.
    pub told: Option<String>,
}

/// Where a revision stands with an address.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It may be sent: it never was, or was refused.
    Open,
    /// It was sent, with the record of this digest.
    Sent { at: Timestamp, record: String },
    /// It may have been sent.
    Unknown { at: Timestamp },
}

/// Why a log cannot be used. Lines count from 1.
#[derive(Debug, thiserror::Error)]
pub enum LogError {
    #[error("another run is sending with the log {}; nothing was sent", .0.display())]
    Busy(PathBuf),
    /// It cannot be opened, locked, read or written.
    #[error("the send log {}: {error}", .file.display())]
    File { file: PathBuf, error: io::Error },
    #[error("line {line} of {} is no line of a send log; nothing is sent by a log that cannot be relied on", .file.display())]
    Spoilt { file: PathBuf, line: usize },
    /// At the first line that shows it.
    #[error(
        "what stands before line {line} of {} was changed after it was written; nothing is sent by a log that cannot be relied on",
        .file.display()
    )]
    Changed { file: PathBuf, line: usize },
    #[error(
        "lines are missing at the end of {}, by `{}` beside it; put the log back as it was: without it nobody knows what was sent",
        .0.display(), end_file(.0).display()
    )]
    Cut(PathBuf),
}

/// What a log says last of each revision and address.
#[derive(Debug, Default)]
struct Known(BTreeMap<(String, u32, String), (State, Timestamp, String)>);

impl Known {
    fn learn(&mut self, entry: &Entry) {
        let key = (entry.job.clone(), entry.revision, entry.to.to_ascii_lowercase());
        self.0.insert(key, (entry.state, entry.at, entry.record.clone()));
    }

    fn standing(&self, job: &str, revision: u32, to: &Address) -> Standing {
        match self.0.get(&(job.to_owned(), revision, to.folded())) {
            None | Some((State::Refused | State::NotSent, ..)) => Standing::Open,
            Some((State::Sent, at, record)) => Standing::Sent { at: *at, record: record.clone() },
            Some((State::Sending | State::Unknown, at, _)) => Standing::Unknown { at: *at },
        }
    }
}

/// A log that this run alone writes, as long as it has it.
#[derive(Debug)]
pub struct SendLog {
    file: PathBuf,
    open: File,
    known: Known,
    /// The digest of everything in it.
    chain: Sha256,
    /// Whether a line could not be written: what follows it would be lost in it.
    spoilt: bool,
}

impl SendLog {
    /// Opens a log, or begins one, and keeps everybody else from it.
    ///
    /// # Errors
    /// [`LogError`] if another run has it, it cannot be written, or it is no log.
    pub fn open(file: &Path) -> Result<SendLog, LogError> {
        let failed = |error| LogError::File { file: file.to_owned(), error };
        match input::open(file) {
            Err(e) if !e.is_not_found() => return Err(failed(e.into())),
            _ => {}
        }
        let mut options = OpenOptions::new();
        options.read(true).append(true).create(true);
        // it names clients
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        let mut open = options.open(file).map_err(failed)?;
        match open.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Err(LogError::Busy(file.to_owned())),
            Err(TryLockError::Error(error)) => return Err(failed(error)),
        }
        let Read { known, whole, mut chain } = read(&open, file)?;
        if open.metadata().map_err(failed)?.len() > whole {
            // A line that a crash cut short. Nothing was sent on the strength of it: what is sent waits for its whole line.
            open.set_len(whole).map_err(failed)?;
        }
        if whole == 0 {
            write_line(&mut open, &mut chain, &Head { form: FORM.to_owned() }).map_err(failed)?;
            // so that the file's name outlasts a crash as its lines do
            #[cfg(unix)]
            {
                let folder = file.parent().filter(|p| !p.as_os_str().is_empty());
                let folder = File::open(folder.unwrap_or(Path::new("."))).map_err(failed)?;
                folder.sync_all().map_err(failed)?;
            }
        }
        let log = SendLog { file: file.to_owned(), open, known, chain, spoilt: false };
        log.mark_end().map_err(failed)?;
        Ok(log)
    }

    /// Notes beside the log how far it goes, so that lines cut off its end are noticed.
    fn mark_end(&self) -> io::Result<()> {
        let end = End { length: self.open.metadata()?.len(), digest: hex(&self.chain.clone().finalize()) };
        let mut options = OpenOptions::new();
        // always of one length, and never emptied first: a crash leaves the old one or the new one
        options.write(true).create(true).truncate(false);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        let mut file = options.open(end_file(&self.file))?;
        write_all(&mut file, end.to_string().as_bytes())?;
        file.sync_all()
    }

    /// Where a revision stands with an address.
    pub fn standing(&self, job: &str, revision: u32, to: &Address) -> Standing {
        self.known.standing(job, revision, to)
    }

    /// Writes a line, which is on disk when this returns.
    ///
    /// # Errors
    /// [`LogError`] if it cannot be written, or one before it could not.
    pub fn write(&mut self, entry: &Entry) -> Result<(), LogError> {
        let written = if self.spoilt {
            Err(io::Error::other("a line before could not be written"))
        } else {
            serde_json::to_value(entry).map_err(io::Error::from).and_then(|mut line| {
                line[BEFORE] = hex(&self.chain.clone().finalize()).into();
                write_line(&mut self.open, &mut self.chain, &line)
            })
        };
        let written = written.and_then(|()| self.mark_end());
        if let Err(error) = written {
            self.spoilt = true;
            return Err(LogError::File { file: self.file.clone(), error });
        }
        self.known.learn(entry);
        Ok(())
    }
}

/// What a log knows, for whoever only looks: nothing is locked, made or mended. One that is not there knows nothing.
fn known(file: &Path) -> Result<Known, LogError> {
    match input::open(file) {
        Ok(open) => Ok(read(&open, file)?.known),
        Err(error) if error.is_not_found() && End::of(file).is_none() => Ok(Known::default()),
        Err(error) if error.is_not_found() => Err(LogError::Cut(file.to_owned())),
        Err(error) => Err(LogError::File { file: file.to_owned(), error: error.into() }),
    }
}

/// Where revisions stand with addresses.
///
/// # Errors
/// [`LogError`] if the log is there and cannot be read, or is no log.
pub fn standing(file: &Path) -> Result<impl Fn(&str, u32, &Address) -> Standing, LogError> {
    let known = known(file)?;
    Ok(move |job: &str, revision: u32, to: &Address| known.standing(job, revision, to))
}

/// What became last of each revision of a job, by address.
pub type LastSent = BTreeMap<(String, u32), Vec<(String, State, Timestamp)>>;

/// What a send log says last.
///
/// # Errors
/// [`LogError`] if the log is there and cannot be read, or is no log.
pub fn last_sent(file: &Path) -> Result<LastSent, LogError> {
    let mut last = LastSent::new();
    for ((job, revision, to), (state, at, _)) in known(file)?.0 {
        last.entry((job, revision)).or_default().push((to, state, at));
    }
    Ok(last)
}

/// When each revision of a job was sent, or may have been, to whomever: for whoever must know whether it went out.
///
/// # Errors
/// [`LogError`] if the log is there and cannot be read, or is no log.
pub fn went_out(file: &Path) -> Result<BTreeMap<(String, u32), Timestamp>, LogError> {
    let known = known(file)?;
    let mut out = BTreeMap::new();
    for ((job, revision, _), (state, at, _)) in known.0 {
        if matches!(state, State::Sent | State::Sending | State::Unknown) {
            out.entry((job, revision)).or_insert(at);
        }
    }
    Ok(out)
}

fn write_line(open: &mut File, chain: &mut Sha256, line: &impl Serialize) -> io::Result<()> {
    let mut bytes = serde_json::to_vec(line)?;
    bytes.push(b'\n');
    write_all(open, &bytes)?;
    open.sync_all()?;
    chain.update(&bytes);
    Ok(())
}

/// How far a log went when it was last written: its length in bytes and their digest.
#[derive(Debug, PartialEq, Eq)]
struct End {
    length: u64,
    digest: String,
}

/// Where the end of a log is noted.
fn end_file(log: &Path) -> PathBuf {
    let mut name = log.as_os_str().to_owned();
    name.push(".end");
    name.into()
}

impl std::fmt::Display for End {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        writeln!(f, "{:020} {}", self.length, self.digest)
    }
}

impl End {
    /// What is noted of a log; `None` where nothing is: a log of before, or one that was never written.
    fn of(log: &Path) -> Option<End> {
        let mut text = String::new();
        input::open(&end_file(log)).ok()?.take(200).read_to_string(&mut text).ok()?;
        let (length, digest) = text.trim_end().split_once(' ')?;
        Some(End { length: length.parse().ok()?, digest: digest.to_owned() })
    }
}

/// A log, read.
#[derive(Default)]
struct Read {
    known: Known,
    /// How many of its bytes are whole lines.
    whole: u64,
    /// The digest of these.
    chain: Sha256,
}

/// An entry, and the digest of what stands before it.
fn entry(bytes: &[u8]) -> Option<(Entry, Option<String>)> {
    let mut line: Map<String, Value> = serde_json::from_slice(bytes).ok()?;
    let before = match line.remove(BEFORE) {
        Some(Value::String(digest)) => Some(digest),
        Some(_) => return None,
        None => None,
    };
    Some((serde_json::from_value(Value::Object(line)).ok()?, before))
}

fn read(mut open: &File, file: &Path) -> Result<Read, LogError> {
    let failed = |error| LogError::File { file: file.to_owned(), error };
    open.seek(SeekFrom::Start(0)).map_err(failed)?;
    let mut reader = BufReader::new(open);
    let (mut found, mut line) = (Read::default(), 0);
    let mut chained = false;
    let mut bytes = Vec::new();
    let mut end = End::of(file);
    loop {
        bytes.clear();
        let mut limited = (&mut reader).take(LONGEST_LINE);
        let length = limited.read_until(b'\n', &mut bytes).map_err(failed)? as u64;
        if length < LONGEST_LINE && !bytes.ends_with(b"\n") {
            return if end.is_none() { Ok(found) } else { Err(LogError::Cut(file.to_owned())) };
        }
        line += 1;
        let spoilt = || LogError::Spoilt { file: file.to_owned(), line };
        if line == 1 {
            let head: Head = serde_json::from_slice(&bytes).map_err(|_| spoilt())?;
            chained = head.form == FORM;
            if !chained && head.form != FORM_1 {
                return Err(spoilt());
            }
        } else {
            let (entry, before) = entry(&bytes).ok_or_else(spoilt)?;
            match before {
                Some(before) if before == hex(&found.chain.clone().finalize()) => chained = true,
                None if !chained => {}
                _ => {
                    return Err(LogError::Changed { file: file.to_owned(), line });
                }
            }
            found.known.learn(&entry);
        }
        found.chain.update(&bytes);
        found.whole += length;
        // once the log is seen to hold what it held, what follows is newer
        end = end.filter(|end| end.length != found.whole || end.digest != hex(&found.chain.clone().finalize()));
    }
}

#[cfg(test)]
mod tests;
