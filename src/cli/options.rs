//! Options that several commands have.

use std::path::Path;

use clap::ValueEnum;

use crate::app::{Context, Failure, Format, Kind, LabelOptions, Options};
use crate::company::Tongue;
use crate::engine::Ink;

/// A language of the command line.
pub(super) fn tongue(text: &str) -> Result<Tongue, String> {
    Tongue::named(text, Path::new("")).map_err(|(message, hint)| format!("{message} ({hint})"))
}

/// What pages are printed with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum PageInk {
    /// Colors and grays
    Color,
    /// Black alone, for label printers; PNG has one bit a dot
    Black,
}

impl From<PageInk> for Ink {
    fn from(ink: PageInk) -> Ink {
        match ink {
            PageInk::Color => Ink::Color,
            PageInk::Black => Ink::Black,
        }
    }
}

/// Which documents are made, and how: the same for one job and for many.
#[derive(Debug, clap::Args)]
pub(super) struct Choice {
    /// Make only these documents (repeat for several)
    #[arg(long, value_name = "DOCUMENT", value_enum)]
    pub only: Vec<Kind>,
    /// What to write
    #[arg(long, value_enum, default_value_t = Format::Pdf)]
    format: Format,
    /// Dots per inch of PNG pages [default: 300]
    #[arg(long, value_parser = clap::value_parser!(u32).range(72..=1200))]
    dpi: Option<u32>,
    /// What the pages are printed with
    #[arg(long, value_enum, default_value_t = PageInk::Color)]
    ink: PageInk,
    /// Make certificates even where the service log is missing or not complete, marked DRAFT across the page
    #[arg(long)]
    draft: bool,
    /// Make all documents in this language: `en`, `es`, `fr`, or a language file [default: as the job or company file says]
    #[arg(long, value_name = "TAG", value_parser = tongue)]
    pub language: Option<Tongue>,
    /// Make an issued certificate anew from the job as it is now, if the send log does not hold it
    #[arg(long)]
    replace_draft: bool,
}

impl Choice {
    /// By default all documents of a visit that is made.
    pub fn options(&self) -> Options {
        let all = [Kind::Labels, Kind::MixSheet, Kind::Certificate];
        Options {
            format: self.format,
            dpi: self.dpi.unwrap_or(300),
            draft: self.draft,
            replace_draft: self.replace_draft,
            kinds: if self.only.is_empty() { all.to_vec() } else { self.only.clone() },
            labels: LabelOptions::default(),
        }
    }

    /// That no option is given which nothing that is made would follow; `of_labels` says whether one of labels is.
    pub fn check(&self, of_labels: bool) -> Result<(), Failure> {
        let makes = |kind| self.only.is_empty() || self.only.contains(&kind);
        let idle = if self.dpi.is_some() && self.format != Format::Png {
            ("`--dpi` is of PNG pages", "add `--format png`, or leave `--dpi` out")
        } else if self.draft && !makes(Kind::Certificate) {
            (
                "`--draft` is of certificates, and `--only` names none",
                "add `--only certificate`, or leave `--draft` out",
            )
        } else if of_labels && !makes(Kind::Labels) {
            (
                "`--first`, `--copies` and `--printer` are of labels, and `--only` names none",
                "add `--only labels`, or leave them out",
            )
        } else {
            return Ok(());
        };
        Err(Failure::error(idle.0).hint(idle.1))
    }

    pub fn context(&self) -> Context {
        Context::new(self.ink.into(), self.language.as_ref())
    }
}

/// Where labels go, and how many there are.
#[derive(Debug, clap::Args)]
pub(super) struct Places {
    /// First free place of a part-used label sheet, counted from 1 row by row
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=10_000))]
    first: Option<u32>,
    /// How many of each label, whatever the files say
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100))]
    copies: Option<u32>,
}

impl Places {
    pub fn is_given(&self) -> bool {
        self.first.is_some() || self.copies.is_some()
    }

    pub fn options(&self, printer: Option<&String>) -> LabelOptions {
        LabelOptions { first: self.first, copies: self.copies, printer: printer.cloned(), ..LabelOptions::default() }
    }
}
