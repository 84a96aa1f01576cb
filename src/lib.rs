//! `decant`: one job file in; container labels, a mix sheet and a service certificate out.
//!
//! ```text
//!  company.yaml ─┐
//!  job.yaml ─────┼─► read & check ─► Job ─► Plan ──┬─► document views ─► typeset ─► PDF, PNG, SVG
//!  log.yaml ─┘                                 └─► Record ─► JSON, seal, link, QR code
//! ```
//!
//! Data travels one way. The plan is worked out once and is all that documents read; templates lay out and never compute.
//! `cli` has a file for each command; `app` is what the commands share; DEVELOPERS.md says what each module is for.

#![cfg_attr(not(test), deny(clippy::print_stdout, clippy::print_stderr))]

// Text, files and what is said of them.
mod diagnostic;
mod digest;
mod input;
mod separated;
mod shown;
mod spreadsheet;
mod table;
mod whole;
mod yaml;

// Quantities, hazards, formulas.
mod calc;
mod ghs;
mod quantity;

// What the user writes.
mod company;
mod contract;
mod job;

// What is worked out of it.
mod plan;
mod record;
mod register;

// Words and pages.
mod document;
mod engine;
mod html;
mod start;
mod wording;

// What is done with them.
mod batch;
mod mail;
mod verify;

// The application, and the command line around it.
mod app;
mod cli;

/// What the program is made of, for its binary.
pub use cli::{Exit, arguments, run};

/// What tests and benchmarks of the whole program need of it: reading a certificate's attachments, and setting a page anew.
#[doc(hidden)]
pub mod front {
    pub use crate::diagnostic::Diagnostics;
    pub use crate::document::{LabelJob, LabelRun, Voice, labels};
    pub use crate::engine::{Engine, Ink, Sheet, Template, Templates, attached};
    pub use crate::job::Job;
    pub use crate::plan::plan;
    pub use crate::quantity::Printer;
    pub use crate::record::{CertificatePage, FORM, Record, SEAL_FORM};
    pub use crate::wording::Words;
}
