//! What `--output` names, looked at before anything is made for it.

use std::path::Path;

use super::Refusal;
use crate::whole::{check_file, check_folder, why};

/// That a file can be written under this name.
pub(super) fn file(path: &Path) -> Result<(), Refusal> {
    check_file(path).map_err(|e| Refusal::error(format!("cannot write {}: {}", path.display(), why(&e))))
}

/// That this is a folder, or can be made one.
pub(super) fn folder(path: &Path) -> Result<(), Refusal> {
    check_folder(path).map_err(|e| Refusal::error(format!("cannot write into {}: {}", path.display(), why(&e))))
}

/// That a file which is not there yet can be written under this name; what is there already is for whoever writes to refuse.
pub(super) fn new_file(path: &Path) -> Result<(), Refusal> {
    if path.symlink_metadata().is_ok() {
        return Ok(());
    }
    file(path)
}
