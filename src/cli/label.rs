//! `decant label`: a label for a container that somebody just filled.

use std::path::PathBuf;

use jiff::Timestamp;
use jiff::civil::{DateTime, time};
use jiff::tz::TimeZone;

use super::options::{Places, tongue};
use super::output::{self, Exit};
use crate::app::{Context, Failure, LabelNow, label_notes, pdf};
use crate::company::Tongue;
use crate::engine::Ink;
use crate::yaml::{Complaint, moment};

/// Make a label for a container that somebody just filled, without a job
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant label --company company.yaml --product solvary-q75 --directions hard-surface\n  decant label --company company.yaml --product ostrane-p5 --container 32floz --copies 5 --by okafor --mixed now\n\nWhat is not given is a line to write on. No record is made, and no code printed."
)]
pub(super) struct Args {
    /// The company file; `-` is standard input
    #[arg(long, value_name = "FILE")]
    company: PathBuf,
    /// Key of the product in the company file
    #[arg(long, value_name = "KEY")]
    product: String,
    /// Key of the directions that were followed; not needed where the product has but one
    #[arg(long, value_name = "KEY")]
    directions: Option<String>,
    /// What was filled: a volume such as `32floz`, or the key of a sprayer or vessel [default: not known]
    #[arg(long, value_name = "SIZE")]
    container: Option<String>,
    /// Key of the label stock [default: the container's, else the first that the label fits on]
    #[arg(long, value_name = "KEY")]
    stock: Option<String>,
    /// Who mixed it: a key of the crew, or a name
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
    /// When it was mixed: `now`, which reads this computer's clock, or such as `2026-04-13T18:00`
    #[arg(long, value_name = "TIME", value_parser = mixed)]
    mixed: Option<DateTime>,
    #[command(flatten)]
    places: Places,
    /// Key of the printer in the company file whose shift and scale are corrected for
    #[arg(long, value_name = "KEY")]
    printer: Option<String>,
    /// In this language: `en`, `es`, `fr`, or a language file [default: as the company file says]
    #[arg(long, value_name = "TAG", value_parser = tongue)]
    language: Option<Tongue>,
    /// PDF to write, `-` for standard output [default: `label-STOCK.pdf`]
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        if let Some(output) = &self.output {
            output::check_output(output)?;
        }
        let context = Context::new(Ink::Color, self.language.as_ref());
        let now = LabelNow {
            product: &self.product,
            directions: self.directions.as_deref(),
            container: self.container.as_deref(),
            stock: self.stock.as_deref(),
            by: self.by.as_deref(),
            mixed: self.mixed,
        };
        let made = now.make(&self.company, &self.places.options(self.printer.as_ref()), &context)?;
        made.cautions.iter().for_each(output::say);
        made.taken.iter().chain(&label_notes(&made.view, &made.typeset)).for_each(|note| output::note(note));
        let path = self.output.clone().unwrap_or_else(|| format!("{}.pdf", made.view.stem).into());
        output::check_output(&path)?;
        output::file(&path, &pdf(&made.view, &made.typeset)?)?;
        Ok(Exit::Done)
    }
}

/// A time, or `now`: the only place of the program that reads the clock for what it prints. It is read as the clocks on the wall
/// show it; a computer that does not know its time zone is not asked.
fn mixed(text: &str) -> Result<DateTime, String> {
    if text != "now" {
        return moment(text).map_err(|refused| format!("{} ({})", refused.message(), refused.hints().join("; ")));
    }
    let zone = TimeZone::try_system().map_err(|_| {
        "this computer does not know its time zone; write the time, such as `2026-04-13T18:00`".to_owned()
    })?;
    let now = zone.to_datetime(Timestamp::now());
    Ok(now.date().to_datetime(time(now.hour(), now.minute(), 0, 0)))
}
