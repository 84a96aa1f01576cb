//! `decant schema`: what may stand in each file, for editors and validators.

use std::path::Path;

use clap::ValueEnum;
use serde_json::Value;

use super::manual::File;
use super::output::{self, Exit};
use crate::app::Failure;
use crate::diagnostic::Diagnostics;
use crate::record::SCHEMA;
use crate::yaml::{Source, schema_of_texts};

/// Print the JSON Schema of a file, for an editor that completes and checks what is written
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant schema company > company.schema.json\n\nAn editor takes it from the first line of a file:\n  # yaml-language-server: $schema=company.schema.json"
)]
pub(super) struct Args {
    /// Which file
    #[arg(value_enum, default_value_t = Schema::Record)]
    file: Schema,
}

/// Files that a schema is printed of.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum Schema {
    /// Who we are and what we own
    Company,
    /// One visit to one site
    Job,
    /// Many sites and visits
    Contract,
    /// What was really done: the service log
    Log,
    /// The words of a language
    Language,
    /// A record, which `decant render` writes
    Record,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        let file = match self.file {
            Schema::Record => {
                output::text(SCHEMA);
                return Ok(Exit::Done);
            }
            Schema::Language => {
                output::json(&format!("{:#}", language()));
                return Ok(Exit::Done);
            }
            Schema::Company => File::Company,
            Schema::Job => File::Job,
            Schema::Contract => File::Contract,
            Schema::Log => File::Log,
        };
        output::json(&format!("{:#}", file.schema()));
        Ok(Exit::Done)
    }
}

/// A language file has the keys of the English one, all of them.
fn language() -> Value {
    let english = include_str!("../../templates/lang/en.yaml").to_owned();
    let source = Source::from_text(Path::new("en.yaml"), english, &mut Diagnostics::new());
    source.map(|source| schema_of_texts(&source.root(), "Language file")).unwrap_or_default()
}
