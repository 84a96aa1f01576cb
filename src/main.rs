//! `decant`: container labels, mix sheets and service certificates from one job file.
#![deny(clippy::print_stdout, clippy::print_stderr)]

use std::process::ExitCode;

use clap::Parser;
use decant::cli::{self, Arguments};

/// Laying out a page makes and drops a great many small things, which the system's allocator is slow at.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    match Arguments::try_parse() {
        Ok(arguments) => cli::run(&arguments).into(),
        Err(error) => cli::usage(&error).into(),
    }
}
