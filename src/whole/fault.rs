//! Faults that tests ask for at a chosen write: the process stops there, to be killed, or the disk is full from there on.
//!
//! Tests of the crash (`tests/suite/crash.rs`) run the program as it is handed out, so this is in it. Without one of its two
//! variables in the environment it does nothing.

use std::fs::File;
use std::io::{self, Write};
use std::sync::LazyLock;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

/// Number of the write at which the process stops and waits for whoever kills it.
const STOP_AT: &str = "DECANT_TEST_STOP_AT";
/// Number of the write from which on the disk is full.
const FULL_AT: &str = "DECANT_TEST_FULL_AT";

static ASKED: LazyLock<(Option<u64>, Option<u64>)> = LazyLock::new(|| {
    let number = |name| std::env::var(name).ok()?.parse().ok();
    (number(STOP_AT), number(FULL_AT))
});
static STEPS: AtomicU64 = AtomicU64::new(0);

/// A moment at which a kill or a full disk may come; counted from 1.
pub(crate) fn step() -> io::Result<()> {
    let (stop, full) = *ASKED;
    if stop.is_none() && full.is_none() {
        return Ok(());
    }
    let now = STEPS.fetch_add(1, Ordering::Relaxed) + 1;
    if stop == Some(now) {
        let _ = io::stderr().write_all(b"stopped for a test\n");
        loop {
            std::thread::sleep(Duration::from_secs(60));
        }
    }
    match full {
        Some(full) if now >= full => Err(io::ErrorKind::StorageFull.into()),
        _ => Ok(()),
    }
}

/// Writes all bytes; a fault that is asked for comes when half of them are written.
pub(crate) fn write_all(file: &mut File, bytes: &[u8]) -> io::Result<()> {
    let (half, rest) = bytes.split_at(bytes.len() / 2);
    if *ASKED == (None, None) {
        return file.write_all(bytes);
    }
    file.write_all(half)?;
    step()?;
    file.write_all(rest)
}
