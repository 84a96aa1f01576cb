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
    let folder = path
        .parent()
        .filter(|p| !p.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    let mut beside = tempfile::Builder::new().prefix(UNFINISHED).tempfile_in(folder)?;
    beside.write_all(bytes)?;
    beside.as_file().sync_all()?;
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        beside.as_file().set_permissions(fs::Permissions::from_mode(0o644))?;
    }
    beside.persist(path).map_err(|e| e.error)?;
    Ok(())
}
