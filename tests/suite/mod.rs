//! The tests, one file a subject.

mod applied;
mod batch;
mod bounds;
mod certificate;
mod codes;
mod contract;
mod data;
mod explained;
mod languages;
mod mail;
mod mail_matter;
mod one_bit;
mod page;
mod pages;
mod planned;
mod print_run;
mod refused;
mod regimes;
mod register;
mod safety;
mod same_bytes;
mod samples;
mod style;
mod templates;
mod threats;
mod verify;
