//! The record: plan, log and verdicts in canonical JSON, its digest, its seal, and the link that every printed code leads to.

mod areas;
mod conformity;
mod difference;
mod file;
mod made;
mod moments;
pub mod pdf;
mod people;
mod place;
mod proof;
mod qr;
mod rows;
mod seal;
mod signing;
mod strength;
mod verdict;
pub mod verified;
pub mod verify;

use serde::Serialize;

pub use conformity::{Conformity, Missing, conformity, entries_of, entry_of};
pub use difference::{Difference, first_difference, issued_difference, shortened, value_at};
pub use file::{CertificatePage, FORM, MadeBy, RecordFile, SCHEMA};
pub use made::{Made, MixedInAll, last_mixed, mixed_in_all, treatment_made};
pub use moments::first_of;
pub use place::place;
pub use proof::{Finding, json_within_bounds, prove};
pub use qr::code;
pub use rows::{COLUMNS, rows};
pub use seal::{SEAL_FORM, Seal};
pub use signing::{KeyError, PublicKey, SigningKey};
pub use strength::{compare, passing};
pub use verdict::{Band, Outcome, Passing, Rule, Verdict};

use crate::digest::sha256;
use crate::plan::Plan;
use crate::report::Diagnostic;
use crate::yaml::Origin;

/// The longest link that a code of version 4, level M, holds: it reads from a 203 dpi print at 15 mm.
pub const LONGEST_LINK: usize = 62;

/// What names a record, known from the plan alone: labels are printed before the work is done.
#[derive(Clone, Debug, Serialize)]
pub struct Record {
    /// The job's number and the first eight digits of the plan's digest: `2026-0413-9f2c61ab`.
    pub number: String,
    /// Where the record is found.
    pub link: String,
}

impl Record {
    /// Names the record of a plan. `link` is the company's, with `{record}` in it; `origin` is where it stands.
    ///
    /// # Errors
    /// A problem to show if the link would be longer than a label's code can hold.
    pub fn of(plan: &Plan, link: &str, origin: &Origin) -> Result<Record, Box<Diagnostic>> {
        let json = serde_json_canonicalizer::to_vec(plan).map_err(|e| Box::new(unwritable(&e)))?;
        let number = record_number(&plan.job, &json);
        let link = link.replace("{record}", &number);
        if link.len() > LONGEST_LINK {
            let message =
                format!("with this job's number the link has {} characters; {LONGEST_LINK} can be printed", link.len());
            let hint = "shorten the link's host or path, or the job number";
            return Err(Box::new(origin.error("bad-link", message).hint(hint)));
        }
        Ok(Record { number, link })
    }
}

/// A record's number from its job and the plan in canonical JSON.
fn record_number(job: &str, plan: &[u8]) -> String {
    format!("{job}-{}", &sha256(plan)[..8])
}

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
