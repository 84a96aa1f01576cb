//! The record: the plan in canonical JSON, its digest, and the link that every printed code leads to.

mod conformity;
mod place;
mod qr;

use serde::Serialize;
use sha2::{Digest, Sha256};

pub use conformity::{Band, Conformity, Missing, Verdict, compare, conformity, entries_of, entry_of};
pub use place::{PlaceError, place};
pub use qr::{Code, code};

use crate::plan::Plan;
use crate::report::Diagnostic;
use crate::yaml::Origin;

/// The longest link that a code of version 4, level M, holds: it reads from a 203 dpi print at 15 mm.
pub const LONGEST_LINK: usize = 62;

/// A plan, numbered and digested.
#[derive(Clone, Debug, Serialize)]
pub struct Record {
    /// The job's number and the short digest: `2026-0413-9f2c61ab`.
    pub number: String,
    /// SHA-256 of the canonical JSON, in hexadecimal.
    pub digest: String,
    /// Where the record is found.
    pub link: String,
    /// The plan in canonical JSON (RFC 8785).
    #[serde(skip)]
    pub json: Vec<u8>,
}

impl Record {
    /// Makes the record of a plan. `link` is the company's, with `{record}` in it; `origin` is where it stands.
    ///
    /// # Errors
    /// A problem to show if the link would be longer than a label's code can hold.
    pub fn of(plan: &Plan, link: &str, origin: &Origin) -> Result<Record, Box<Diagnostic>> {
        let json = serde_json_canonicalizer::to_vec(plan).map_err(|e| {
            Box::new(Diagnostic::error(
                "record-unwritable",
                format!("the plan cannot be written as JSON: {e}"),
            ))
        })?;
        let digest: String = Sha256::digest(&json).iter().map(|byte| format!("{byte:02x}")).collect();
        let number = format!("{}-{}", plan.job, &digest[..8]);
        let link = link.replace("{record}", &number);
        if link.len() > LONGEST_LINK {
            let message = format!(
                "with this job's number the link has {} characters; {LONGEST_LINK} can be printed",
                link.len()
            );
            let hint = "shorten the link's host or path, or the job number";
            return Err(Box::new(origin.error("bad-link", message).hint(hint)));
        }
        Ok(Record {
            number,
            digest,
            link,
            json,
        })
    }
}
