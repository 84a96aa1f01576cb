//! Records of samples, for tests that change them.

use serde_json::Value;

use super::program::decant;
use super::workspace::{names, read_bytes, root, temporary};

/// The record of a sample.
pub fn record(sample: &str) -> Value {
    let folder = temporary();
    let job = root().join(format!("samples/{sample}/job.yaml"));
    decant(folder.path(), ["render", &job.display().to_string(), "--only", "mix-sheet", "-o", "."]).must_end_with(0);
    let name = names(folder.path()).into_iter().find(|name| name.ends_with("-record.json")).expect("a record");
    serde_json::from_slice(&read_bytes(folder.path().join(name))).expect("a record is JSON")
}
