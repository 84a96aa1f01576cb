//! `decant`: container labels, mix sheets and service certificates from one job file.

use std::process::ExitCode;

use clap::Parser;
use decant::cli::{self, Arguments};

fn main() -> ExitCode {
    cli::run(&Arguments::parse()).into()
}
