//! Files that are whole or absent.

use std::fs;
use std::io::{self, Write};
use std::path::Path;

/// What the names of files begin with that are not whole yet.
pub const UNFINISHED: &str = ".decant-";

/// Writes beside the file, syncs, and renames over it: a reader never sees half of it, and a failure leaves the old one.
///
/// # Errors
/// What the file system says; nothing is left behind then.
pub fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    write(path, bytes, true)
}

/// The same without waiting for the disk: for many files that are synced together by [`sync`], and whose digest somebody
/// looks at before they are counted on.
///
/// # Errors
/// What the file system says; nothing is left behind then.
pub fn write_whole_unsynced(path: &Path, bytes: &[u8]) -> io::Result<()> {
    write(path, bytes, false)
}

fn write(path: &Path, bytes: &[u8], sync: bool) -> io::Result<()> {
    let folder = path
        .parent()
        .filter(|p| !p.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    let mut beside = tempfile::Builder::new().prefix(UNFINISHED).tempfile_in(folder)?;
    beside.write_all(bytes)?;
    if sync {
        beside.as_file().sync_all()?;
    }
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        beside.as_file().set_permissions(fs::Permissions::from_mode(0o644))?;
    }
    beside.persist(path).map_err(|e| e.error)?;
    Ok(())
}

/// Waits until everything that was written below a folder is on its disk. One such wait takes about as long as one file's.
///
/// # Errors
/// What the disk says of what was written.
pub fn sync(folder: &Path) -> io::Result<()> {
    let folder = fs::File::open(folder)?;
    #[cfg(target_os = "linux")]
    rustix::fs::syncfs(&folder)?;
    // elsewhere the folder's own entries are all that can be waited for
    #[cfg(not(target_os = "linux"))]
    let _ = folder.sync_all();
    Ok(())
}
