//! Whether certificates and records are what they were when they were made.
//!
//! A certificate carries its record. The page is drawn again from that record and compared byte for byte; the record is compared with
//! its seal and, if one is given, with a key and a job. At the end all files are compared with one another.

mod file;
mod reproduce;
mod summary;
mod words;

pub use file::{Reference, Seen, files_named, read_bounded};
pub use summary::{State, compare_files, lines};
pub use words::Pages;
