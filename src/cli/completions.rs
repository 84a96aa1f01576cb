//! `decant completions`: what a shell completes.

use clap::CommandFactory;
use clap_complete::{Shell, generate};

use super::Arguments;
use super::output::{self, Exit};
use crate::app::Failure;

/// Print the completions of a shell
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant completions bash > ~/.local/share/bash-completion/completions/decant\n  decant completions zsh > ~/.zfunc/_decant\n  decant completions fish > ~/.config/fish/completions/decant.fish"
)]
pub(super) struct Args {
    /// Which shell
    #[arg(value_enum)]
    shell: Shell,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        let mut script = Vec::new();
        generate(self.shell, &mut Arguments::command(), "decant", &mut script);
        output::script(&String::from_utf8_lossy(&script));
        Ok(Exit::Done)
    }
}
