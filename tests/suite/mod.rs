//! The tests, one file a subject.

mod bounds;
mod certificate;
mod codes;
mod planned;
mod refused;
mod same_bytes;
mod samples;
