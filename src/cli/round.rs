//! The documents of a round: load-out, the mix sheets in one run, the labels in one run; and `decant load-out`.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use jiff::civil::Date;

use super::label_run::{fault, set_view, tell_left_off};
use super::labels::batches;
use super::languages::spoken;
use super::prepare::{Prepared, caution_of_log, prepare};
use super::render::Kind;
use super::shelf::Shelf;
use super::views::{Asked, unprintable, views, voice};
use super::{Exit, Refusal, output, target};
use crate::catalog::Tongue;
use crate::contract::Round;
use crate::document::{DocumentError, LabelRun, Van, View, dress, load_out as load_out_view, mix_sheets};
use crate::plan::load_out;
use crate::report::Report;
use crate::typeset::Ink;
use crate::whole::write_whole;

/// What is made of a round.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Wanted {
    pub load_out: bool,
    pub sheets: bool,
    pub labels: bool,
}

impl Wanted {
    /// With all documents of visits, all of a round; else those that gather what is made of the visits.
    pub fn beside(only: &[Kind]) -> Wanted {
        Wanted {
            load_out: only.is_empty(),
            sheets: only.is_empty() || only.contains(&Kind::MixSheet),
            labels: only.is_empty() || only.contains(&Kind::Labels),
        }
    }

    pub fn nothing(self) -> bool {
        !(self.load_out || self.sheets || self.labels)
    }
}

/// The views of a round, in the firm's look. `prepared` are its jobs in order.
pub(super) fn round_views(
    round: &Round,
    prepared: &[Prepared],
    wanted: Wanted,
    ink: Ink,
    language: Option<&Tongue>,
    shelf: &Shelf,
) -> Result<Vec<View>, Refusal> {
    let Some(leading) = prepared.first() else {
        return Ok(Vec::new());
    };
    let mut made = Vec::new();
    if wanted.load_out {
        let van = Van { name: Some(&round.van), day: round.day, stem: &format!("{}-load-out", round.name) };
        made.push(van_view(&van, prepared, ink, language, shelf)?);
    }
    if wanted.sheets {
        let mut sheets = Vec::new();
        for job in prepared {
            let asked = Asked::of(&[Kind::MixSheet], ink, language);
            sheets.append(&mut views(job, &asked, shelf)?.views);
        }
        let words = spoken(&leading.job, language, shelf)?.mix_sheet;
        let stem = format!("{}-mix-sheets", round.name);
        let run = format!("{}, {}", round.van, round.day);
        made.push(mix_sheets(&words, stem, &run, sheets).map_err(Refusal::own_fault)?);
    }
    if wanted.labels {
        let run = LabelRun { first: 1, copies: None, correction: None };
        for mut batch in batches(prepared, &run, language, shelf)? {
            batch.view.stem = format!("{}-labels-{}", round.name, batch.stock);
            dress(&mut batch.view, &leading.job.catalog.style, &leading.plan.company.name, ink);
            made.push(batch.view);
        }
    }
    Ok(made)
}

/// The load-out of some jobs.
fn van_view(
    van: &Van<'_>,
    prepared: &[Prepared],
    ink: Ink,
    language: Option<&Tongue>,
    shelf: &Shelf,
) -> Result<View, Refusal> {
    let Some(leading) = prepared.first() else {
        return Err(Refusal::error("no job was named"));
    };
    let mut report = Report::new();
    for job in prepared {
        unprintable(job, &spoken(&job.job, language, shelf)?, &mut report);
    }
    if report.has_errors() {
        return Err(Refusal::bad_input(report));
    }
    let words = spoken(&leading.job, language, shelf)?.mix_sheet;
    let visits: Vec<_> = prepared.iter().map(|p| (&p.job, &p.plan)).collect();
    let out = load_out(&visits, van.day);
    let made: Result<View, DocumentError> = load_out_view(&voice(leading, &words), van, &out);
    let mut view = made.map_err(Refusal::own_fault)?;
    dress(&mut view, &leading.job.catalog.style, &leading.plan.company.name, ink);
    Ok(view)
}

/// `decant load-out`: for job files, in the order they are named.
pub(super) fn run(jobs: &[PathBuf], path: &Path, van: Option<&str>, language: Option<&Tongue>) -> Exit {
    if let Err(refusal) = target::file(path) {
        return refusal.tell();
    }
    let shelf = Shelf::default();
    let mut prepared: Vec<Prepared> = Vec::new();
    let mut bad = false;
    let mut told = BTreeSet::new();
    for file in jobs {
        match prepare(file, &shelf) {
            Ok(job) => {
                caution_of_log(&job);
                prepared.push(job);
            }
            Err(refusal) => {
                // What is wrong with the company file alone is the same for every job.
                if told.insert(refusal.told()) {
                    refusal.tell();
                }
                bad = true;
            }
        }
    }
    if let Some(first) = prepared.first()
        && let Some(other) =
            prepared.iter().find(|p| p.job.catalog.source.digest() != first.job.catalog.source.digest())
    {
        Refusal::error(format_args!(
            "the jobs `{}` and `{}` are of two company files, which may mean two things by one product's key",
            first.plan.job, other.plan.job
        ))
        .tell();
        bad = true;
    }
    let Some(leading) = prepared.first().filter(|_| !bad) else {
        return Exit::BadInput;
    };
    // lots are held against the first day: one that ends in between is told by its last day
    let day: Date = prepared.iter().map(|p| p.plan.start.date()).min().unwrap_or(leading.plan.start.date());
    let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let van = Van { name: van, day, stem: &stem };
    let made = van_view(&van, &prepared, Ink::Colour, language, &shelf)
        .and_then(|view| Ok((view, shelf.press(&leading.job, Ink::Colour)?)));
    let (view, equipped) = match made {
        Ok(made) => made,
        Err(refusal) => return refusal.tell(),
    };
    let numbers: Vec<&str> = prepared.iter().map(|p| p.record.number.as_str()).collect();
    let ident = format!("load-out/{}", numbers.join("+"));
    let pdf = set_view(&equipped.press, &view, &ident, leading.plan.start, &leading.job.catalog)
        .inspect(|typeset| tell_left_off(&view, typeset))
        .and_then(|typeset| typeset.pdf().map_err(fault));
    let written = pdf
        .map_err(Refusal::from)
        .and_then(|bytes| write_whole(path, &bytes).map_err(|e| Refusal::unwritten(path, &e)));
    match written {
        Ok(()) => {
            output::line(path.display());
            Exit::Done
        }
        Err(refusal) => refusal.tell(),
    }
}
