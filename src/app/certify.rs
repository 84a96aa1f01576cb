//! The record of a job: the certificate that it holds, and its seal.

use std::path::Path;

use super::context::Context;
use super::failure::Failure;
use super::planned::{JobWords, Planned};
use crate::company::CompanyFile;
use crate::digest::sha256;
use crate::document::{DocumentError, View, certificate};
use crate::engine::Templates;
use crate::quantity::System;
use crate::record::issued::Names;
use crate::record::{CertificatePage, MadeBy, PROGRAM, RecordFile, Seal};
use crate::verify::read_bounded;

/// The record of a job with its seal, and the certificate that it holds, if there is one.
pub struct Certified {
    pub certificate: Option<View>,
    pub record: RecordFile,
    pub seal: Vec<u8>,
}

/// Makes the certificate, if the log allows one, and the record that it rests on; then what follows from the record is
/// filled in on the certificate. A draft is in no record.
pub fn certify(planned: &Planned, draft: bool, words: &JobWords, context: &Context) -> Result<Certified, Failure> {
    let company = planned.company();
    let service_log = planned.job.service_log.as_ref();
    let key = context.signing_key(company)?;
    let engine = context.engine(&planned.job)?;
    let mut made = None;
    if planned.log.certifies() && !draft {
        let mut view = certificate(&planned.voice(&words.certificate), service_log, &planned.log, false)?;
        planned.dress(&mut view);
        CertificatePage::strip(&mut view.data);
        made = Some(view);
    }
    let page = made.as_ref().map(|view| CertificatePage {
        stem: view.stem.clone(),
        date: planned.plan.start,
        ink: context.ink.word().to_owned(),
        logo: company.style.logo.as_ref().map(|logo| sha256(&logo.bytes)),
        data: view.data.clone(),
    });
    let public = key.as_ref().map(|key| key.public().to_string());
    let record = RecordFile::of(
        &planned.record,
        &planned.plan,
        service_log,
        &planned.log,
        page.as_ref(),
        &engine.made_by,
        public.as_deref(),
    )
    .map_err(Failure::internal)?;
    let seal = Seal::of(&record.json, key.as_deref()).json().map_err(Failure::internal)?;
    if let Some(view) = &mut made {
        CertificatePage::fill(&mut view.data, &record.digest, &planned.record.link).ok_or(DocumentError::Code)?;
    }
    Ok(Certified { certificate: made, record, seal })
}

/// This program, as a record names it.
pub fn made_by(templates: &Templates, company: &CompanyFile) -> MadeBy {
    MadeBy {
        program: PROGRAM.to_owned(),
        drawn_with: templates.certificate_digest(),
        own_templates: templates.any_own(),
        units: if company.units == System::Us { "us" } else { "si" },
        dates: company.dates().word(),
    }
}

/// A later revision replaces the one before. If that one lies in the folder, it must be the one that is named.
pub fn check_replaced(record: &RecordFile, job: &str, folder: &Path) -> Result<(), Failure> {
    let Some(named) = &record.replaces else { return Ok(()) };
    let path = folder.join(Names::of(job, record.revision - 1).record);
    match read_bounded(&path).map(|bytes| sha256(&bytes)) {
        Ok(digest) if digest != *named => Err(Failure::error(format_args!(
            "the log says that it replaces the record {named}, and {} has the SHA-256 {digest}",
            path.display()
        ))),
        _ => Ok(()),
    }
}
