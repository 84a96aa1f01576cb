//! `decant`: one job file in; container labels, a mix sheet and a service certificate out.
//!
//! ```text
//!  company.yaml ─┐
//!  job.yaml ─────┼─► read & check ─► Job ─► Plan ──┬─► document views ─► typeset ─► PDF, PNG, SVG
//!  applied.yaml ─┘                                 └─► Record ─► JSON, digest, link, QR code
//! ```
//!
//! Data travels one way. The plan is worked out once and is all that documents read; templates lay out and never compute.
//! Each room uses only rooms named above it.

pub mod report;
pub mod quantity;
pub mod ghs;
pub mod yaml;
pub mod wording;
pub mod calc;
pub mod catalog;
pub mod job;
pub mod plan;
pub mod record;
pub mod typeset;
pub mod document;
pub mod cli;
