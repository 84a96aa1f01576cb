//! From a job to what its templates are given: the same for `render` and `data`.

use super::Exit;
use super::label_run::{check_first, print_run};
use super::languages::{Spoken, spoken};
use super::plan::own_fault;
use super::prepare::{Prepared, tell};
use super::render::Kind;
use crate::catalog::{CompanyFile, Tongue};
use crate::document::{
    DocumentError, LabelJob, View, Voice, certificate, dress, failed_rules, furnish, labels, missing_texts, mix_sheet,
};
use crate::quantity::Printer;
use crate::record::{CertificatePage, Conformity, MadeBy, RecordFile, Seal, SigningKey, conformity, sha256};
use crate::report::{Diagnostic, Report};
use crate::typeset::{Ink, Templates, fonts};
use crate::wording::Words;
use crate::yaml::Source;

/// Name and version, as a record has them.
pub(super) const PROGRAM: &str = concat!("decant ", env!("CARGO_PKG_VERSION"));

/// The documents of a job, as their templates are given them.
pub(super) struct Views {
    pub views: Vec<View>,
    /// Whether a certificate was asked for and may not be made.
    pub withheld: bool,
    /// Whether the certificate that was asked for says that a rule was not kept.
    pub deviates: bool,
    /// The record, whatever was asked for.
    pub record: RecordFile,
    /// The record's seal.
    pub seal: Vec<u8>,
    /// What the documents are set with.
    pub templates: Templates,
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

/// Makes the views that are wanted, in the firm's look. Problems go to stderr.
pub(super) fn views(prepared: &Prepared, asked: &Asked<'_>) -> Result<Views, Exit> {
    let spoken = spoken(prepared, asked.language)?;
    let mut report = Report::new();
    unprintable(prepared, &spoken, &mut report);
    let log = conformity(&prepared.plan, &prepared.job, &mut report);
    if report.has_errors() {
        tell(&report);
        return Err(Exit::BadInput);
    }
    let catalog = &prepared.job.catalog;
    let templates = templates(prepared, asked.ink)?;
    let key = signing_key(catalog)?;
    let proven = prove(prepared, asked, &spoken, &log, &templates, key.as_ref())?;
    let run = print_run(asked.first, asked.copies, asked.printer, catalog)?;
    let mut batches = Vec::new();
    let mut build = || {
        let mut views: Vec<View> = Vec::new();
        let mut is_withheld = false;
        if asked.kinds.contains(&Kind::Labels) {
            let second = spoken.labels_second.as_deref().map(|words| voice(prepared, words));
            let job = LabelJob {
                voice: &voice(prepared, &spoken.labels),
                second: second.as_ref(),
                job: &prepared.job,
            };
            batches = labels(&[job], &run)?;
            views.extend(batches.iter().map(|batch| batch.view.clone()));
        }
        if asked.kinds.contains(&Kind::MixSheet) {
            views.push(mix_sheet(&voice(prepared, &spoken.mix_sheet))?);
        }
        if asked.kinds.contains(&Kind::Certificate) {
            if let Some(view) = &proven.certificate {
                let failed = failed_rules(&voice(prepared, &spoken.terminal), &log)?;
                told_rules(&failed);
                views.push(view.clone());
            } else if asked.draft {
                let voice = voice(prepared, &spoken.certificate);
                views.push(certificate(&voice, prepared.job.applied.as_ref(), &log, true)?);
            } else {
                withheld(&missing_texts(&spoken.terminal, &log.missing)?);
                is_withheld = true;
            }
        }
        Ok::<_, DocumentError>((views, is_withheld))
    };
    let (mut views, withheld) = build().map_err(|fault| own_fault(&fault.to_string()))?;
    check_first(&run, &batches, catalog)?;
    for view in &mut views {
        dress(view, &catalog.style, &prepared.plan.company.name, asked.ink);
    }
    Ok(Views {
        withheld,
        deviates: asked.kinds.contains(&Kind::Certificate) && proven.certificate.is_some() && log.deviates(),
        views,
        record: proven.record,
        seal: proven.seal,
        templates,
    })
}

/// The record of a job with its seal, and the certificate that it holds, if there is one.
struct Proven {
    certificate: Option<View>,
    record: RecordFile,
    seal: Vec<u8>,
}

/// Makes the certificate, if the log allows one, and the record that it rests on; then what follows from the record is
/// filled in on the certificate. A draft is in no record.
fn prove(
    prepared: &Prepared,
    asked: &Asked<'_>,
    spoken: &Spoken,
    log: &Conformity,
    templates: &Templates,
    key: Option<&SigningKey>,
) -> Result<Proven, Exit> {
    let catalog = &prepared.job.catalog;
    let applied = prepared.job.applied.as_ref();
    let own = |fault: String| own_fault(&fault);
    let mut made = None;
    if log.missing.is_empty() && !asked.draft {
        let voice = voice(prepared, &spoken.certificate);
        let mut view = certificate(&voice, applied, log, false).map_err(|e| own(e.to_string()))?;
        dress(&mut view, &catalog.style, &prepared.plan.company.name, asked.ink);
        CertificatePage::strip(&mut view.data);
        made = Some(view);
    }
    let page = made.as_ref().map(|view| CertificatePage {
        stem: view.stem.clone(),
        date: prepared.plan.start,
        ink: asked.ink.word().to_owned(),
        logo: catalog.style.logo.as_ref().map(|logo| sha256(&logo.bytes)),
        data: view.data.clone(),
    });
    let public = key.map(|k| k.public().to_string());
    let record = RecordFile::of(
        &prepared.record,
        &prepared.plan,
        applied,
        log,
        page.as_ref(),
        &made_by(templates),
        public.as_deref(),
    );
    let record = record.map_err(|problem| own(problem.to_string()))?;
    let seal = Seal::of(&record.json, key)
        .json()
        .map_err(|problem| own(problem.to_string()))?;
    if let Some(view) = &mut made {
        CertificatePage::fill(&mut view.data, &record.digest, &prepared.record.link)
            .ok_or_else(|| own(DocumentError::Code.to_string()))?;
    }
    Ok(Proven {
        certificate: made,
        record,
        seal,
    })
}

/// This program, as a record names it.
pub(super) fn made_by(templates: &Templates) -> MadeBy {
    MadeBy {
        program: PROGRAM.to_owned(),
        drawn_with: templates.certificate_digest(),
        own_templates: templates.any_own(),
    }
}

/// The company's key, if it has one. Problems go to stderr.
fn signing_key(catalog: &CompanyFile) -> Result<Option<SigningKey>, Exit> {
    let Some((file, origin)) = &catalog.signing_key else {
        return Ok(None);
    };
    SigningKey::read(file).map(Some).map_err(|error| {
        let mut report = Report::new();
        let hint = "`decant key --company FILE` makes one; keep its file from everybody else";
        report.push(origin.error("bad-signing-key", error.to_string()).hint(hint));
        tell(&report);
        Exit::BadInput
    })
}

fn told_rules(failed: &[String]) {
    if failed.is_empty() {
        return;
    }
    eprintln!("Not every rule was kept, and the certificate says so:");
    for line in failed {
        eprintln!("  - {line}");
    }
}

pub(super) fn voice<'a>(prepared: &'a Prepared, words: &'a Words) -> Voice<'a> {
    Voice {
        words,
        units: Printer::new(prepared.job.catalog.units).with(words.notation()),
        plan: &prepared.plan,
        record: &prepared.record,
    }
}

/// The templates of the company: ours, and its own in their place. Problems go to stderr.
pub(super) fn templates(prepared: &Prepared, ink: Ink) -> Result<Templates, Exit> {
    let catalog = &prepared.job.catalog;
    let mut templates = Templates::built_in();
    templates.set_ink(ink);
    furnish(&mut templates, &catalog.style);
    if let Some((folder, origin)) = &catalog.templates {
        let mut report = Report::new();
        templates.read_folder(folder, origin, &mut report);
        if report.has_errors() {
            tell(&report);
            return Err(Exit::BadInput);
        }
    }
    Ok(templates)
}

/// Characters that the fonts cannot print, in the job, its log, the company file and language files: each at its place.
pub(super) fn unprintable(prepared: &Prepared, spoken: &Spoken, report: &mut Report) {
    let job = &prepared.job;
    let mut check = |source: &std::sync::Arc<Source>| {
        source.each_text(|text, path| {
            if let Some(bad) = text.chars().find(|c| !c.is_whitespace() && !fonts::can_print(*c)) {
                let message = format!(
                    "`{bad}` (U+{:04X}) cannot be printed: the font has no such character",
                    u32::from(bad)
                );
                let problem = Diagnostic::error("no-glyph", message).at(source.place(path));
                report.push(problem.hint("leave it out, or write it in letters"));
            }
        });
    };
    check(&job.source);
    check(&job.catalog.source);
    if let Some(applied) = &job.applied {
        check(&applied.source);
    }
    let mut sources: Vec<_> = spoken.each().filter_map(|words| words.source.as_ref()).collect();
    sources.dedup_by_key(|source| source.file());
    sources.into_iter().for_each(check);
}

fn withheld(missing: &[String]) {
    eprintln!("The certificate is withheld:");
    for line in missing {
        eprintln!("  - {line}");
    }
    eprintln!("`--draft` makes one that says DRAFT across the page.");
}
