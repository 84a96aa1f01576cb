//! The tests, one file a subject.

mod bounds;
mod certificate;
mod codes;
mod data;
mod explained;
mod languages;
mod one_bit;
mod page;
mod pages;
mod planned;
mod print_run;
mod refused;
mod register;
mod safety;
mod same_bytes;
mod samples;
mod style;
mod templates;
mod threats;
