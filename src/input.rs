//! Files that users name: read whole, within a bound, and only if they are ordinary files.
//!
//! Opening a FIFO waits for whoever writes to it, and reading a device may never end; so what a name stands for is looked at
//! before it is opened and once more on what was opened.

use std::fmt;
use std::fs::{File, Metadata, OpenOptions};
use std::io::{self, Read};
use std::path::Path;
use std::sync::OnceLock;

/// Why the system did not read or write a file, for people.
pub fn why(error: &io::Error) -> String {
    // what this program found out says it better
    if let Some(own) = error.get_ref() {
        return own.to_string();
    }
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file".to_owned(),
        io::ErrorKind::PermissionDenied => "permission is denied".to_owned(),
        io::ErrorKind::NotADirectory => "a part of its path is a file, not a folder".to_owned(),
        io::ErrorKind::StorageFull => "the disk is full".to_owned(),
        io::ErrorKind::QuotaExceeded => "the disk quota is used up".to_owned(),
        io::ErrorKind::ReadOnlyFilesystem => "the disk is read-only".to_owned(),
        // the system's number says nothing to people
        _ => error.to_string().split(" (os error ").next().unwrap_or_default().to_owned(),
    }
}

/// Why a file was not read.
#[derive(Debug)]
pub enum InputError {
    /// The system does not give it.
    System(io::Error),
    /// It is a folder.
    Folder,
    /// It is a FIFO, a device, a socket: nothing with a beginning and an end.
    NotOrdinary,
    /// It has more bytes than this.
    TooLarge(u64),
}

impl InputError {
    /// Whether there is no such file.
    pub fn is_not_found(&self) -> bool {
        matches!(self, InputError::System(e) if e.kind() == io::ErrorKind::NotFound)
    }
}

impl fmt::Display for InputError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            InputError::System(e) => f.write_str(&why(e)),
            InputError::Folder => f.write_str("it is a folder"),
            InputError::NotOrdinary => f.write_str("it is not an ordinary file"),
            InputError::TooLarge(bytes) if *bytes >= 1 << 20 => write!(f, "it is larger than {} MiB", bytes >> 20),
            InputError::TooLarge(bytes) => write!(f, "it is larger than {bytes} bytes"),
        }
    }
}

impl std::error::Error for InputError {}

impl From<io::Error> for InputError {
    fn from(error: io::Error) -> InputError {
        InputError::System(error)
    }
}

impl From<InputError> for io::Error {
    fn from(error: InputError) -> io::Error {
        match error {
            InputError::System(e) => e,
            other => io::Error::other(other.to_string()),
        }
    }
}

/// Opens an ordinary file for reading. Nothing is waited for.
///
/// # Errors
/// [`InputError`], never `TooLarge`.
pub fn open(file: &Path) -> Result<File, InputError> {
    ordinary(&std::fs::metadata(file)?)?;
    let mut options = OpenOptions::new();
    options.read(true);
    // should the name have been given to a FIFO in the meantime, opening it must not wait
    #[cfg(target_os = "linux")]
    std::os::unix::fs::OpenOptionsExt::custom_flags(&mut options, rustix::fs::OFlags::NONBLOCK.bits() as i32);
    let opened = options.open(file)?;
    ordinary(&opened.metadata()?)?;
    Ok(opened)
}

/// The name of standard input.
pub const STDIN: &str = "-";

/// What stood there, read once, however many ask for it.
static FROM_STDIN: OnceLock<Vec<u8>> = OnceLock::new();

/// Reads an ordinary file of at most `largest` bytes, or standard input.
///
/// # Errors
/// [`InputError`].
pub fn read(file: &Path, largest: u64) -> Result<Vec<u8>, InputError> {
    if file != Path::new(STDIN) {
        return read_opened(open(file)?, largest);
    }
    if let Some(bytes) = FROM_STDIN.get() {
        return Ok(bytes.clone());
    }
    let mut bytes = Vec::new();
    io::stdin().lock().take(largest + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > largest {
        return Err(InputError::TooLarge(largest));
    }
    Ok(FROM_STDIN.get_or_init(|| bytes).clone())
}

/// Reads a file that is open, of at most `largest` bytes.
///
/// # Errors
/// [`InputError`].
pub fn read_opened(opened: File, largest: u64) -> Result<Vec<u8>, InputError> {
    let length = opened.metadata()?.len();
    if length > largest {
        return Err(InputError::TooLarge(largest));
    }
    let mut bytes = Vec::with_capacity(usize::try_from(length).unwrap_or_default() + 1);
    // one byte past the limit, in case the file grows while it is read
    opened.take(largest + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > largest {
        return Err(InputError::TooLarge(largest));
    }
    Ok(bytes)
}

fn ordinary(meta: &Metadata) -> Result<(), InputError> {
    if meta.is_dir() {
        Err(InputError::Folder)
    } else if meta.is_file() {
        Ok(())
    } else {
        Err(InputError::NotOrdinary)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ordinary_files_within_the_bound_are_read() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("a");
        std::fs::write(&file, "12345").expect("written");
        assert_eq!(read(&file, 5).expect("read"), b"12345");
        assert!(matches!(read(&file, 4), Err(InputError::TooLarge(4))));
        assert!(matches!(read(folder.path(), 4), Err(InputError::Folder)));
        assert!(read(&folder.path().join("b"), 4).is_err_and(|e| e.is_not_found()));
    }

    #[cfg(unix)]
    #[test]
    fn a_pipe_and_a_socket_are_refused_at_once() {
        let folder = tempfile::tempdir().expect("a folder");
        let (pipe, socket) = (folder.path().join("pipe"), folder.path().join("socket"));
        let made = std::process::Command::new("mkfifo").arg(&pipe).status();
        assert!(made.expect("mkfifo").success());
        let _listener = std::os::unix::net::UnixListener::bind(&socket).expect("a socket");
        let link = folder.path().join("link");
        std::os::unix::fs::symlink(&pipe, &link).expect("a link");
        for file in [&pipe, &socket, &link] {
            assert!(matches!(read(file, 9), Err(InputError::NotOrdinary)), "{}", file.display());
        }
    }
}
