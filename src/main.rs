//! `decant`: container labels, mix sheets and service certificates from one job file.
#![deny(clippy::print_stdout, clippy::print_stderr)]

use std::process::ExitCode;

use decant::{arguments, run};

/// Laying out a page makes and drops a great many small things, which the system's allocator is slow at.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    match arguments() {
        Ok(arguments) => run(&arguments).into(),
        Err(exit) => exit.into(),
    }
}
