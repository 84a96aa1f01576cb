//! The tests, one file a subject.

mod bounds;
mod certificate;
mod codes;
mod explained;
mod languages;
mod planned;
mod refused;
mod safety;
mod same_bytes;
mod samples;
