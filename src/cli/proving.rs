//! The record of a job: the certificate that it holds, its seal, and their files.

use std::path::Path;

use serde_json::json;

use super::Refusal;
use super::languages::Spoken;
use super::prepare::Prepared;
use super::shelf::Shelf;
use super::verify::read_bounded;
use super::views::{Asked, Views, voice};
use crate::digest::sha256;
use crate::document::{DocumentError, View, certificate, dress};
use crate::record::{CertificatePage, Conformity, MadeBy, RecordFile, Seal, revision_mark};
use crate::typeset::{Template, Templates};

/// Name and version, as a record has them.
pub(super) const PROGRAM: &str = concat!("decant ", env!("CARGO_PKG_VERSION"));

/// The record of a job with its seal, and the certificate that it holds, if there is one.
pub(super) struct Proven {
    pub certificate: Option<View>,
    pub record: RecordFile,
    pub seal: Vec<u8>,
}

/// Makes the certificate, if the log allows one, and the record that it rests on; then what follows from the record is
/// filled in on the certificate. A draft is in no record.
pub(super) fn prove(
    prepared: &Prepared,
    asked: &Asked<'_>,
    spoken: &Spoken,
    log: &Conformity,
    shelf: &Shelf,
) -> Result<Proven, Refusal> {
    let catalog = &prepared.job.catalog;
    let applied = prepared.job.applied.as_ref();
    let key = shelf.signing_key(catalog)?;
    let equipped = shelf.press(&prepared.job, asked.ink)?;
    let mut made = None;
    if log.certifies() && !asked.draft {
        let voice = voice(prepared, &spoken.certificate);
        let mut view = certificate(&voice, applied, log, false).map_err(Refusal::own_fault)?;
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
    let public = key.as_ref().map(|key| key.public().to_string());
    let record = RecordFile::of(
        &prepared.record,
        &prepared.plan,
        applied,
        log,
        page.as_ref(),
        &equipped.made_by,
        public.as_deref(),
    )
    .map_err(|problem| Refusal::own_fault(problem.to_string()))?;
    let seal =
        Seal::of(&record.json, key.as_deref()).json().map_err(|problem| Refusal::own_fault(problem.to_string()))?;
    if let Some(view) = &mut made {
        CertificatePage::fill(&mut view.data, &record.digest, &prepared.record.link)
            .ok_or_else(|| Refusal::own_fault(DocumentError::Code))?;
    }
    Ok(Proven { certificate: made, record, seal })
}

/// This program, as a record names it.
pub(super) fn made_by(templates: &Templates) -> MadeBy {
    MadeBy {
        program: PROGRAM.to_owned(),
        drawn_with: templates.certificate_digest(),
        own_templates: templates.any_own(),
    }
}

/// Puts record and seal into the certificate. A draft carries neither.
pub(super) fn attach(made: &mut Views) {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    let (record, seal) = (text(&made.record.json), text(&made.seal));
    for view in made.views.iter_mut().filter(|v| v.template == Template::Certificate) {
        if view.data["draft"] == false {
            view.data["attached"] = json!({ "record": record, "seal": seal });
        }
    }
}

/// The names of a record's file and its seal's.
pub(super) fn record_names(job: &str, revision: u32) -> (String, String) {
    let mark = revision_mark(revision);
    (format!("{job}-record{mark}.json"), format!("{job}-seal{mark}.json"))
}

/// What the revisions before this one may have left: records, seals and certificates, which belong as long as the job does.
pub(super) fn earlier_names(job: &str, revision: u32) -> Vec<String> {
    let names = |revision| {
        let (record, seal) = record_names(job, revision);
        let mark = revision_mark(revision);
        [record, seal, format!("{job}-certificate{mark}.pdf")]
    };
    (1..revision).flat_map(names).collect()
}

/// A later revision replaces the one before. If that one lies in the folder, it must be the one that is named.
pub(super) fn follows_on(record: &RecordFile, job: &str, folder: &Path) -> Result<(), Refusal> {
    let Some(named) = &record.replaces else { return Ok(()) };
    let (before, _) = record_names(job, record.revision - 1);
    let path = folder.join(before);
    match read_bounded(&path).map(|bytes| sha256(&bytes)) {
        Ok(digest) if digest != *named => Err(Refusal::error(format_args!(
            "the log says that it replaces the record {named}, and {} has the SHA-256 {digest}",
            path.display()
        ))),
        _ => Ok(()),
    }
}
