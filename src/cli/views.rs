//! From a job to what its templates are given: the same for `render` and `data`.

use super::label_run::{check_first, print_run};
use super::languages::{Spoken, spoken};
use super::prepare::Prepared;
use super::proving::prove;
use super::render::Kind;
use super::shelf::Shelf;
use super::{Refusal, output};
use crate::catalog::{CompanyFile, Tongue};
use crate::document::{
    DocumentError, LabelJob, View, Voice, certificate, check_elements, dress, failed_rules, furnish, labels,
    missing_texts, mix_sheet, notice,
};
use crate::quantity::Printer;
use crate::record::{Made, RecordFile, conformity};
use crate::report::{Diagnostic, Report};
use crate::typeset::{Ink, Templates, fonts};
use crate::wording::Words;
use crate::yaml::Source;

/// The documents of a job, as their templates are given them.
pub(super) struct Views {
    pub views: Vec<View>,
    /// Why a certificate that was asked for may not be made, one thing each; empty if it may.
    pub withheld: Vec<String>,
    /// Which rules the certificate that was asked for says were not kept; empty if all were.
    pub broken: Vec<String>,
    /// Whether a certificate was asked for of a visit that was not made.
    pub not_made: bool,
    /// The record, whatever was asked for.
    pub record: RecordFile,
    /// The record's seal.
    pub seal: Vec<u8>,
}

/// Which views, and how.
pub(super) struct Asked<'a> {
    pub kinds: &'a [Kind],
    pub draft: bool,
    pub ink: Ink,
    pub language: Option<&'a Tongue>,
    pub first: Option<u32>,
    pub copies: Option<u32>,
    pub printer: Option<&'a str>,
}

impl<'a> Asked<'a> {
    /// These documents as they are made unless more is said.
    pub fn of(kinds: &'a [Kind], ink: Ink, language: Option<&'a Tongue>) -> Self {
        Asked { kinds, draft: false, ink, language, first: None, copies: None, printer: None }
    }

    /// No document, but the record as `decant render` writes it.
    pub fn record() -> Self {
        Asked::of(&[], Ink::Colour, None)
    }
}

/// Makes the views that are wanted, in the firm's look.
pub(super) fn views(prepared: &Prepared, asked: &Asked<'_>, shelf: &Shelf) -> Result<Views, Refusal> {
    let spoken = spoken(&prepared.job, asked.language, shelf)?;
    let mut report = Report::new();
    unprintable(prepared, &spoken, &mut report);
    let log = conformity(&prepared.plan, &prepared.job, &mut report);
    if report.has_errors() {
        return Err(Refusal::bad_input(report));
    }
    let catalog = &prepared.job.catalog;
    let proven = prove(prepared, asked, &spoken, &log, shelf)?;
    let run = print_run(asked.first, asked.copies, asked.printer, catalog)?;
    let mut batches = Vec::new();
    let (mut not_made, mut no_notice) = (false, false);
    let mut build = || {
        let mut views: Vec<View> = Vec::new();
        let (mut withheld, mut broken) = (Vec::new(), Vec::new());
        if asked.kinds.contains(&Kind::Labels) {
            let second = spoken.labels_second.as_deref().map(|words| voice(prepared, words));
            let job = LabelJob { voice: &voice(prepared, &spoken.labels), second: second.as_ref(), job: &prepared.job };
            check_elements(&[job], &mut report)?;
            batches = labels(&[job], &run)?;
            views.extend(batches.iter().map(|batch| batch.view.clone()));
        }
        if asked.kinds.contains(&Kind::MixSheet) {
            views.push(mix_sheet(&voice(prepared, &spoken.mix_sheet))?);
        }
        if asked.kinds.contains(&Kind::Certificate) {
            if prepared.job.log_trouble.is_some() {
                // a draft says what the log says, too
                withheld.push(format!("the log of job {} cannot be used", prepared.job.number));
            } else if let Some(view) = &proven.certificate {
                broken = failed_rules(&voice(prepared, &spoken.terminal), &log)?;
                views.push(view.clone());
            } else if log.visit == Made::Not {
                not_made = true;
                withheld = vec![spoken.terminal.word("certificate.missing.not_made")?.to_owned()];
            } else if asked.draft {
                let voice = voice(prepared, &spoken.certificate);
                views.push(certificate(&voice, prepared.job.applied.as_ref(), &log, true)?);
            } else {
                withheld = missing_texts(&spoken.terminal, &log.missing)?;
            }
        }
        if asked.kinds.contains(&Kind::Notice) {
            if log.visit == Made::Not {
                let voice = voice(prepared, &spoken.certificate);
                views.push(notice(&voice, prepared.job.applied.as_ref(), &proven.record.digest)?);
            } else {
                no_notice = true;
            }
        }
        Ok::<_, DocumentError>((views, withheld, broken))
    };
    let (mut views, withheld, broken) = build().map_err(Refusal::own_fault)?;
    if no_notice {
        return Err(Refusal::error(
            "the log does not say that this visit was not made: a notice says so of a visit of which every area was `skipped`",
        ));
    }
    if report.has_errors() {
        return Err(Refusal::bad_input(report));
    }
    check_first(&run, &batches, catalog)?;
    for view in &mut views {
        dress(view, &catalog.style, &prepared.plan.company.name, asked.ink);
    }
    Ok(Views { views, withheld, broken, not_made, record: proven.record, seal: proven.seal })
}

pub(super) fn voice<'a>(prepared: &'a Prepared, words: &'a Words) -> Voice<'a> {
    Voice {
        words,
        units: Printer::new(prepared.job.catalog.units).with(words.notation()),
        plan: &prepared.plan,
        record: &prepared.record,
    }
}

/// The templates of the company: ours, and its own in their place.
pub(super) fn templates(catalog: &CompanyFile, ink: Ink) -> Result<Templates, Refusal> {
    let mut templates = Templates::built_in();
    templates.set_ink(ink);
    furnish(&mut templates, &catalog.style);
    if let Some((folder, origin)) = &catalog.templates {
        let mut report = Report::new();
        templates.read_folder(folder, origin, &mut report);
        if report.has_errors() {
            return Err(Refusal::bad_input(report));
        }
    }
    Ok(templates)
}

/// Characters that the fonts cannot print, in the job, its log, the company file and language files: each at its place.
pub(super) fn unprintable(prepared: &Prepared, spoken: &Spoken, report: &mut Report) {
    let job = &prepared.job;
    let mut check = |source| unprintable_in(source, report);
    check(&job.source);
    check(&job.catalog.source);
    if let Some(applied) = &job.applied {
        check(&applied.source);
    }
    let mut sources: Vec<_> = spoken.each().filter_map(|words| words.source.as_ref()).collect();
    sources.dedup_by_key(|source| source.file());
    sources.into_iter().for_each(check);
}

/// Characters of one file that the fonts cannot print.
pub(super) fn unprintable_in(source: &std::sync::Arc<Source>, report: &mut Report) {
    source.each_text(|text, path| {
        if let Some(bad) = text.chars().find(|c| !c.is_whitespace() && !fonts::can_print(*c)) {
            let message =
                format!("`{bad}` (U+{:04X}) cannot be printed: the font has no such character", u32::from(bad));
            let problem = Diagnostic::error("no-glyph", message).at(source.place(path));
            report.push(problem.hint("leave it out, or write it in letters"));
        }
    });
}

/// Says why a certificate is withheld.
pub(super) fn tell_withheld(missing: &[String]) {
    output::say("The certificate is withheld:");
    for line in missing {
        output::say(format_args!("  - {line}"));
    }
    output::say("`--draft` makes one that says DRAFT across the page.");
}

/// Says that a visit was not made, and that there is no certificate of it.
pub(super) fn tell_not_made() {
    output::say("The visit was not made, so there is no certificate of service.");
    output::say("`--only notice` makes a notice that says so, with the reasons in the log.");
}

/// Says which rules were not kept.
pub(super) fn tell_broken(broken: &[String]) {
    output::say("Not every rule was kept, and the certificate says so:");
    for line in broken {
        output::say(format_args!("  - {line}"));
    }
}
