//! `decant data`: what the template of a document is given, for those who write their own.

use std::path::PathBuf;

use serde_json::{Map, Value};

use super::jobs::{no_certificate, plan_one};
use super::options::{PageInk, tongue};
use super::output::{self, Exit};
use crate::app::{Context, Failure, Kind, LabelOptions, Options, documents};
use crate::company::Tongue;

/// Show as JSON what the template of a document is given, for those who write their own
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant data samples/ferry-terminal/job.yaml mix-sheet > mix-sheet.json\n\nLabels are shown by their stock. `templates/README.md` says what each field holds."
)]
pub(super) struct Args {
    /// The job file; `-` is standard input
    job: PathBuf,
    /// Which document
    #[arg(value_enum)]
    document: Kind,
    /// What the pages are printed with
    #[arg(long, value_enum, default_value_t = PageInk::Color)]
    ink: PageInk,
    /// A certificate even if the service log is missing or not complete
    #[arg(long)]
    draft: bool,
    /// In this language: `en`, `es`, `fr`, or a language file [default: the document's]
    #[arg(long, value_name = "TAG", value_parser = tongue)]
    language: Option<Tongue>,
    /// Key of the printer in the company file whose shift and scale labels are corrected for
    #[arg(long, value_name = "KEY")]
    printer: Option<String>,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        let of_other = (self.draft && self.document != Kind::Certificate).then_some(("--draft", "certificate"));
        let of_other =
            of_other.or((self.printer.is_some() && self.document != Kind::Labels).then_some(("--printer", "labels")));
        if let Some((option, document)) = of_other {
            return Err(Failure::error(format_args!("`{option}` is of `{document}` alone")).hint("leave it out"));
        }
        let context = Context::new(self.ink.into(), self.language.as_ref());
        let planned = plan_one(&self.job, &context)?;
        let options = Options {
            draft: self.draft,
            labels: LabelOptions { printer: self.printer.clone(), ..LabelOptions::default() },
            ..Options::of(self.document)
        };
        let made = documents(&planned, &options, &context)?;
        if no_certificate(&made) {
            return Ok(Exit::CertificateWithheld);
        }
        let mut views = made.views.into_iter();
        let data = if self.document == Kind::Labels {
            // each kind of stock is a document of its own
            let start = format!("{}-labels-", planned.plan.job);
            let by_stock: Map<String, Value> =
                views.map(|view| (view.stem.replacen(&start, "", 1), view.data)).collect();
            Value::Object(by_stock)
        } else {
            views.next().map(|view| view.data).unwrap_or_default()
        };
        output::json(&serde_json::to_string_pretty(&data).map_err(Failure::internal)?);
        Ok(Exit::Done)
    }
}
