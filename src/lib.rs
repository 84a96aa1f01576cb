//! `decant`: one job file in; container labels, a mix sheet and a service certificate out.
//!
//! ```text
//!  company.yaml ─┐
//!  job.yaml ─────┼─► read & check ─► Job ─► Plan ──┬─► document views ─► typeset ─► PDF, PNG, SVG
//!  applied.yaml ─┘                                 └─► Record ─► JSON, seal, link, QR code
//! ```
//!
//! Data travels one way. The plan is worked out once and is all that documents read; templates lay out and never compute.
//! DEVELOPERS.md names the rooms from the ground floor up; each uses only those below it.

#![cfg_attr(not(test), deny(clippy::print_stdout, clippy::print_stderr))]

mod app;
mod batch;
mod calc;
mod catalog;
mod cli;
mod contract;
mod delivery;
mod digest;
mod document;
mod ghs;
mod html;
mod input;
mod job;
mod plan;
mod quantity;
mod record;
mod register;
mod report;
mod separated;
mod shown;
mod spreadsheet;
mod typeset;
mod verify;
mod whole;
mod wording;
mod yaml;

/// What the program is made of, for its binary.
pub use cli::{Exit, arguments, run};

/// What tests and benchmarks of the whole program need of it: reading a certificate's attachments, and setting a page anew.
#[doc(hidden)]
pub mod front {
    pub use crate::document::{LabelJob, LabelRun, Voice, labels};
    pub use crate::job::Job;
    pub use crate::plan::plan;
    pub use crate::quantity::Printer;
    pub use crate::record::{CertificatePage, FORM, Record, SEAL_FORM};
    pub use crate::report::Report;
    pub use crate::typeset::{Ink, Press, Sheet, Template, Templates, attached};
    pub use crate::wording::Words;
}
