//! From a job to the messages that carry its certificate: only one that is the newest, is whole, and is of this job.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::Timestamp;
use serde_json::Value;

use super::languages::spoken;
use super::prepare::{Prepared, need_log, prepare};
use super::proving::record_names;
use super::render::Kind;
use super::shelf::Shelf;
use super::verify::{Against, Seen, look_through, read_bounded, told};
use super::views::{Asked, templates, views};
use super::{Exit, Refusal};
use crate::catalog::{Address, Mail};
use crate::delivery::{Letter, LetterError, Mailing, MessageError, Occasion, Written, letter, write};
use crate::digest::sha256;
use crate::record::{Finding, revision_mark};
use crate::typeset::Ink;
use crate::wording::Words;

/// A certificate that may be mailed, with its letter.
pub(super) struct Mailable {
    /// The job's number.
    pub job: String,
    pub revision: u32,
    /// SHA-256 of the record.
    pub record: String,
    /// The firm's name.
    pub company: String,
    /// Where the company file lies.
    pub company_file: PathBuf,
    pub mail: Mail,
    pub to: Vec<Address>,
    /// Whom it is addressed to by name.
    pub to_name: String,
    pub letter: Letter,
    /// The certificate's name and bytes.
    pub file: String,
    pub pdf: Vec<u8>,
}

impl Mailable {
    /// The message to one address.
    pub fn message(&self, to: &Address, date: Option<Timestamp>, draft: bool) -> Result<Written, MessageError> {
        write(&Mailing {
            from: (&self.company, &self.mail.from),
            reply_to: self.mail.reply_to.as_ref(),
            to: (&self.to_name, to),
            letter: &self.letter,
            certificate: (&self.file, &self.pdf),
            record: &self.record,
            date,
            draft,
            largest: self.mail.largest_message,
        })
    }
}

/// Makes sure of a job's certificate and writes its letter.
pub(super) fn mailable(file: &Path, documents: Option<&Path>, shelf: &Shelf) -> Result<Mailable, Refusal> {
    let prepared = prepare(file, shelf)?;
    need_log(&prepared)?;
    let catalog = &prepared.job.catalog;
    let Some(mail) = &catalog.mail else {
        let problem = catalog.source.root().error("missing-key", "`mail` is missing here");
        let hint = "it says who mail is from and through which server, such as `mail: { from: records@firm.example, server: smtp.provider.example }`";
        return Err(Refusal::bad_input(problem.hint(hint)));
    };
    let to = prepared.job.client.email.clone().unwrap_or_default();
    if to.is_empty() {
        let client = prepared.job.source.root().origin().key("client");
        let problem = client.error("no-address", "the client has no `email`, so that there is nobody to send to");
        return Err(Refusal::bad_input(problem));
    }
    let folder = match documents {
        Some(folder) => folder.to_owned(),
        None => file.parent().unwrap_or(Path::new("")).join("out"),
    };
    let found = certificate(&prepared, &folder, shelf)?;
    let words = words(&prepared, &found.record, shelf)?;
    let occasion = Occasion { record: &found.record, digest: &found.digest, file: &found.name };
    let letter = letter(&words, &occasion).map_err(|e| match e {
        LetterError::Record(_) => Refusal::error(format!("{}: {e}", found.name)),
        e => Refusal::own_fault(e),
    })?;
    let company_file = catalog.source.file();
    let client = &prepared.plan.client;
    // one of several at the client's must not be addressed by another's name
    let contact = client.contact.as_ref().filter(|_| to.len() == 1);
    Ok(Mailable {
        job: prepared.plan.job.clone(),
        revision: found.revision,
        record: found.digest,
        company: prepared.plan.company.name.clone(),
        company_file: fs::canonicalize(company_file).unwrap_or_else(|_| company_file.to_owned()),
        mail: mail.clone(),
        to_name: contact.unwrap_or(&client.name).clone(),
        to,
        letter,
        file: found.name,
        pdf: found.pdf,
    })
}

/// A certificate that is what it should be.
struct Certificate {
    name: String,
    pdf: Vec<u8>,
    record: Value,
    digest: String,
    revision: u32,
}

fn certificate(prepared: &Prepared, folder: &Path, shelf: &Shelf) -> Result<Certificate, Refusal> {
    let job = &prepared.plan.job;
    let now = views(prepared, &Asked::of(&[Kind::Certificate], Ink::Colour, None), shelf)?;
    if now.not_made {
        let told = format!("The visit of job {job} was not made: there is no certificate, and nothing is mailed.");
        return Err(Refusal::headed(told, Exit::CertificateWithheld));
    }
    if !now.withheld.is_empty() {
        let told = format!("The certificate of job {job} is withheld, and nothing is mailed in its place:");
        let lines = now.withheld.iter().map(|line| format!("  - {line}"));
        return Err(Refusal::headed(told, Exit::CertificateWithheld).lines(lines));
    }
    let revision = now.record.revision;
    let name = format!("{job}-certificate{}.pdf", revision_mark(revision));
    let folder = holder(folder, job, &name)?;
    let path = folder.join(&name);
    let refuse = |told: String| Refusal::error(format!("{}: {told}", path.display()));
    newest(&folder, job, revision).map_err(refuse)?;
    let pdf = read_bounded(&path).map_err(refuse)?;
    let catalog = &prepared.job.catalog;
    let against = Against {
        key: shelf.signing_key(catalog)?.map(|key| key.public()),
        record: serde_json::from_slice(&now.record.json).ok(),
        // what was issued stays, and may be mailed, though the firm's telephone is another by now
        as_issued: true,
        templates: Some(templates(catalog, Ink::Colour)?),
    };
    let mut seen = Seen {
        file: path.clone(),
        findings: Vec::new(),
        record: None,
        digest: String::new(),
        is_certificate: false,
        in_folder: false,
    };
    look_through(&pdf, &against, &mut seen).map_err(Refusal::own_fault)?;
    let bad: Vec<String> = seen.findings.iter().filter(|f| is_bad(f)).map(told).collect();
    let (record_name, _) = record_names(job, revision);
    match (&seen.record, bad.is_empty() && seen.is_certificate) {
        (Some(record), true) => {
            let beside = read_bounded(&folder.join(&record_name)).map(|bytes| sha256(&bytes));
            match beside {
                Ok(digest) if digest == seen.digest => {
                    Ok(Certificate { name, pdf, record: record.clone(), digest, revision })
                }
                Ok(_) => Err(refuse(format!("it carries another record than {record_name} beside it"))),
                Err(e) => Err(refuse(format!("its record {record_name} cannot be read beside it: {e}"))),
            }
        }
        _ => {
            let refusal = Refusal::error(format_args!("{} is not mailed:", path.display()));
            let lines = bad.iter().map(|line| format!("  {line}"));
            Err(refusal.lines(lines).hint(
                "put a whole one back, or take it away and `decant render` makes it again; a change of the job is a new revision",
            ))
        }
    }
}

fn is_bad(finding: &Finding) -> bool {
    matches!(
        finding,
        Finding::Altered(_)
            | Finding::Unreadable(_)
            | Finding::NotChecked(_)
            | Finding::Unfinished(_)
            | Finding::Stale(_)
            | Finding::Missing(_)
    )
}

/// Where a certificate lies: in the folder, as `decant render` writes it, or in the job's own folder within, as a batch does.
fn holder(folder: &Path, job: &str, name: &str) -> Result<PathBuf, Refusal> {
    let there: Vec<PathBuf> =
        [folder.to_owned(), folder.join(job)].into_iter().filter(|folder| folder.join(name).is_file()).collect();
    match there.as_slice() {
        [one] => Ok(one.clone()),
        [] => {
            let refusal = Refusal::error(format_args!("there is no {name} in {}", folder.display()));
            Err(refusal.hint("`decant render` or `decant batch` makes it; `--documents` names the folder"))
        }
        _ => {
            Err(Refusal::error(format_args!("{name} lies in {0} and in {0}/{job}; which one is it?", folder.display())))
        }
    }
}

/// That no later revision lies in the folder.
fn newest(folder: &Path, job: &str, revision: u32) -> Result<(), String> {
    for entry in fs::read_dir(folder).map_err(|e| e.to_string())? {
        let name = entry.map_err(|e| e.to_string())?.file_name();
        let name = name.to_string_lossy();
        let later = ["certificate", "record", "seal"].iter().find_map(|kind| {
            let mark = name.strip_prefix(&format!("{job}-{kind}-r"))?;
            mark.split('.').next()?.parse::<u32>().ok()
        });
        if later.is_some_and(|later| later > revision) {
            return Err(format!("the log gives revision {revision}, and {name} beside it is of a later one"));
        }
    }
    Ok(())
}

/// The words of the certificate's language: of the one that the job asks for, or one that is built in.
fn words(prepared: &Prepared, record: &Value, shelf: &Shelf) -> Result<Arc<Words>, Refusal> {
    let tag = record["certificate"]["data"]["lang"].as_str().unwrap_or_default();
    let spoken = spoken(&prepared.job, None, shelf)?;
    if spoken.certificate.language == tag {
        return Ok(spoken.certificate);
    }
    Words::of(tag).map(Arc::new).map_err(|_| {
        Refusal::error(format_args!(
            "the certificate of job {} is in `{tag}`, and neither the job nor the company file names that language's file",
            prepared.plan.job
        ))
    })
}
