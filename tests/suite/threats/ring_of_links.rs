//! A ring of symbolic links among records is not followed.

use crate::support::program::decant;
use crate::support::workspace::temporary;

#[cfg(unix)]
#[test]
fn a_ring_of_symbolic_links_among_records_is_not_followed() {
    let folder = temporary();
    std::os::unix::fs::symlink(folder.path(), folder.path().join("round")).expect("a link");
    let run = decant(folder.path(), ["register", ".", "-o", "out"]).must_end_with(2);
    assert!(run.stderr.contains("no file named"), "{}", run.stderr);
}
