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

pub mod batch;
pub mod calc;
pub mod catalog;
pub mod cli;
pub mod contract;
pub mod delivery;
pub mod digest;
pub mod document;
pub mod ghs;
pub mod html;
pub mod input;
pub mod job;
pub mod plan;
pub mod quantity;
pub mod record;
pub mod register;
pub mod report;
pub mod shown;
pub mod spreadsheet;
pub mod typeset;
pub mod whole;
pub mod wording;
pub mod yaml;
