//! The record: plan, log and verdicts in canonical JSON, its digest, its seal, and the link that every printed code leads to.

mod conformity;
mod difference;
mod file;
pub mod issued;
mod link;
mod log;
pub mod pdf;
mod people;
mod proof;
mod rows;
mod signing;
mod strength;
mod verdict;
mod wanted;

pub use conformity::{Conformity, Missing, conformity};
pub use difference::{Difference, first_difference, issued_difference, plan_difference, shortened, value_at};
pub use file::{CertificatePage, FORM, MadeBy, RecordFile, SCHEMA};
pub use link::{Code, Record, code, place};
pub use log::{Made, MixedInAll, entries_of, entry_of, first_of, last_mixed, latest, mixed_in_all, treatment_made};
pub use people::strangers_in;
pub use proof::{Finding, json_within_bounds, prove};
pub use rows::{headings, rows};
pub use signing::{KeyError, PublicKey, SEAL_FORM, Seal, SigningKey};
pub use strength::{compare, passing};
pub use verdict::{Band, Outcome, Rule, Verdict};
pub use wanted::{Of, rewets, wanted};

use crate::diagnostic::Diagnostic;

/// Name and version, as a record has them.
pub const PROGRAM: &str = concat!("decant ", env!("CARGO_PKG_VERSION"));

fn unwritable(error: &dyn std::fmt::Display) -> Diagnostic {
    Diagnostic::error("record-unwritable", format!("the record cannot be written as JSON: {error}"))
}

/// A digest in groups of eight, so that it can be read aloud and broken over lines.
pub fn in_groups(digest: &str) -> String {
    let groups: Vec<String> = digest.as_bytes().chunks(8).map(|c| String::from_utf8_lossy(c).into_owned()).collect();
    groups.join(" ")
}

/// What tells the files of a later revision from the first one's: nothing for the first, then `-r2`, `-r3` …
pub fn revision_mark(revision: u32) -> String {
    if revision > 1 { format!("-r{revision}") } else { String::new() }
}
