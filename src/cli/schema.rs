//! `decant schema`: the form of a record.

use super::output::{self, Exit};
use crate::app::Failure;
use crate::record::SCHEMA;

/// Print the JSON Schema of a record
#[derive(Debug, clap::Args)]
pub(super) struct Args {}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        output::text(SCHEMA);
        Ok(Exit::Done)
    }
}
