//! Atomic writes: a file is as it should be or absent; and what may be written over.

mod fault;

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

pub(crate) use fault::{step, write_all};

/// What the names of files begin with that are not whole yet.
const UNFINISHED: &str = ".decant-";
/// What they end with.
const TEMPORARY: &str = ".tmp";

/// How many files were written by this process.
static WRITTEN: AtomicUsize = AtomicUsize::new(0);
/// Folders that this process has looked through for what killed runs left.
static SWEPT: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());
/// Folders that are remembered so; a run that writes into more looks through some of them again.
const MOST_SWEPT: usize = 1000;

/// How many files were written by this process so far.
pub fn written() -> usize {
    WRITTEN.load(Ordering::Relaxed)
}

/// Writes beside the file, syncs, renames over it and syncs the folder: a reader never sees half of it, a failure leaves the old
/// one, and after a power cut it is the old one or the new one. Its permissions are those that the umask leaves. Only an ordinary
/// file is replaced, or a symbolic link to one (the link, not what it leads to).
pub fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    write(path, bytes, true, true)
}

/// The same for a file that is not there yet: whatever has its name stays, and is an error.
pub fn write_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    write(path, bytes, true, false)
}

/// The same without waiting for the disk: for many files that are synced together by [`sync`], and whose digest somebody
/// looks at before they are counted on.
pub fn write_whole_unsynced(path: &Path, bytes: &[u8]) -> io::Result<()> {
    write(path, bytes, false, true)
}

fn write(path: &Path, bytes: &[u8], sync: bool, replace: bool) -> io::Result<()> {
    refuse_other_than_files(path)?;
    let folder = parent(path);
    let made = first_missing(folder);
    fs::create_dir_all(folder)?;
    if sync {
        sweep_once(folder);
    }
    match write_beside(path, folder, bytes, sync, replace) {
        // another run took it for what a killed one left, in the moment before it was locked
        Err(e) if e.kind() == ErrorKind::NotFound => write_beside(path, folder, bytes, sync, replace)?,
        other => other?,
    }
    WRITTEN.fetch_add(1, Ordering::Relaxed);
    if sync {
        sync_folder(folder)?;
        // the name of a new folder is in the one above it
        if let Some(made) = made {
            let above = folder.ancestors().skip(1).take_while(|above| above.starts_with(&made));
            for folder in above.chain([parent(&made)]) {
                sync_folder(folder)?;
            }
        }
    }
    step()
}

fn write_beside(path: &Path, folder: &Path, bytes: &[u8], sync: bool, replace: bool) -> io::Result<()> {
    step()?;
    let mut builder = tempfile::Builder::new();
    builder.prefix(UNFINISHED).suffix(TEMPORARY);
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut beside = builder.tempfile_in(folder)?;
    // whoever sweeps leaves alone what is locked; on a file system without locks nothing is swept
    let _ = beside.as_file().try_lock();
    write_all(beside.as_file_mut(), bytes)?;
    if sync {
        beside.as_file().sync_all()?;
    }
    step()?;
    if replace {
        beside.persist(path).map_err(|e| e.error)?;
    } else {
        beside.persist_noclobber(path).map_err(|e| e.error)?;
    }
    Ok(())
}

/// The folder that a file lies in.
fn parent(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// The uppermost folder that is not there yet.
fn first_missing(folder: &Path) -> Option<PathBuf> {
    let missing = folder.ancestors().take_while(|above| !above.as_os_str().is_empty() && !above.exists());
    missing.last().map(Path::to_owned)
}

/// That under this name there is nothing, or an ordinary file, or a link to one: a device, a FIFO, a socket is never replaced.
fn refuse_other_than_files(path: &Path) -> io::Result<()> {
    match fs::metadata(path) {
        Ok(meta) if meta.is_dir() => Err(io::Error::new(ErrorKind::IsADirectory, "it is a folder")),
        Ok(meta) if !meta.is_file() => {
            Err(io::Error::other("it is a device, a FIFO or a socket; only an ordinary file is replaced"))
        }
        _ => Ok(()),
    }
}

/// Looks whether a file that the user named can be written, before anything is made for it.
pub fn check_file(path: &Path) -> io::Result<()> {
    if path == Path::new("-") {
        return Err(io::Error::other(
            "`-` is not a file's name here, and documents do not go to standard output; name a file",
        ));
    }
    // it might lead into a folder of the system: `/dev/stdout` is one
    if fs::symlink_metadata(path).is_ok_and(|meta| meta.is_symlink()) {
        return Err(io::Error::other("it is a symbolic link; name the file itself"));
    }
    refuse_other_than_files(path)?;
    check_folder(parent(path))
}

/// Looks whether a folder that the user named is one, or can be made.
pub fn check_folder(folder: &Path) -> io::Result<()> {
    for above in folder.ancestors() {
        let above = if above.as_os_str().is_empty() { Path::new(".") } else { above };
        match fs::metadata(above) {
            Ok(meta) if meta.is_dir() => return Ok(()),
            Ok(_) => {
                let reported = format!("`{}` is a file, not a folder", above.display());
                return Err(io::Error::new(ErrorKind::NotADirectory, reported));
            }
            Err(e) if matches!(e.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory) => {}
            Err(e) => return Err(e),
        }
    }
    Ok(())
}

/// Removes what killed runs were writing in a folder: files of our own names for what is not whole yet, that no process holds.
pub fn sweep(folder: &Path) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = entry.file_name();
        let name = name.to_string_lossy();
        let is_ours = name.starts_with(UNFINISHED) && name.ends_with(TEMPORARY);
        // a link of such a name is somebody else's
        if !is_ours || !entry.file_type()?.is_file() {
            continue;
        }
        let held = match File::open(entry.path()) {
            Ok(file) => file.try_lock().is_err(),
            Err(_) => true,
        };
        if !held {
            match fs::remove_file(entry.path()) {
                Err(e) if e.kind() != ErrorKind::NotFound => return Err(e),
                _ => {}
            }
        }
    }
    Ok(())
}

/// The same at the first file of a folder; what cannot be removed is in nobody's way.
fn sweep_once(folder: &Path) {
    let mut swept = SWEPT.lock().unwrap_or_else(PoisonError::into_inner);
    if swept.len() >= MOST_SWEPT {
        swept.clear();
    }
    if swept.insert(folder.to_owned()) {
        let _ = sweep(folder);
    }
}

/// Waits until everything that was written below a folder is on its disk. One such wait takes about as long as one file's.
pub fn sync(folder: &Path) -> io::Result<()> {
    step()?;
    let folder = File::open(folder)?;
    #[cfg(target_os = "linux")]
    rustix::fs::syncfs(&folder)?;
    // elsewhere the folder's own entries are all that can be waited for
    #[cfg(not(target_os = "linux"))]
    let _ = folder.sync_all();
    Ok(())
}

/// Waits until the names in a folder are on the disk.
fn sync_folder(folder: &Path) -> io::Result<()> {
    #[cfg(unix)]
    match File::open(folder)?.sync_all() {
        // some file systems have no such thing for folders
        Err(e) if !matches!(e.kind(), ErrorKind::InvalidInput | ErrorKind::Unsupported) => return Err(e),
        _ => {}
    }
    #[cfg(not(unix))]
    let _ = folder;
    Ok(())
}

#[cfg(test)]
mod tests;
