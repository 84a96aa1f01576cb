//! From a job to its certificate as it may be mailed: only one that is the newest, matches its record, and is of this job.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::civil::DateTime;
use serde_json::Value;

use super::context::Context;
use super::documents::{Kind, Options, documents};
use super::failure::{Cause, Failure};
use super::issued::company_file;
use super::planned::{Planned, job_words, output_folder, plan_file};
use crate::company::{Address, Mail};
use crate::digest::sha256;
use crate::job::Gathered;
use crate::record::issued::{Names, revision_of};
use crate::verify::{Reference, read_bounded};
use crate::wording::Words;

/// A certificate that may be mailed, with its letter.
pub struct Mailable {
    /// The job's number.
    pub job: String,
    pub revision: u32,
    /// SHA-256 of the record.
    pub record: String,
    /// The firm's name.
    pub company: String,
    pub company_file: PathBuf,
    pub mail: Mail,
    pub to: Vec<Recipient>,
    /// When the visit was planned to begin.
    pub start: DateTime,
    /// The words of the certificate's language.
    pub words: Arc<Words>,
    /// The record within.
    pub content: Value,
    /// The certificate's name and bytes.
    pub file: String,
    pub pdf: Vec<u8>,
}

/// Whom a certificate goes to.
pub struct Recipient {
    pub address: Address,
    /// Whom it is addressed to by name.
    pub name: String,
    pub gathered: Gathered,
}

/// Why a job is not mailed.
pub enum Unmailed {
    /// Its log says that nothing was treated: it never has a certificate. Its number.
    NotMade(String),
    /// It is still to come, or its log is. Its number.
    NoLog(String),
    Failed(Failure),
}

impl<T: Into<Failure>> From<T> for Unmailed {
    fn from(failure: T) -> Unmailed {
        Unmailed::Failed(failure.into())
    }
}

impl Mailable {
    /// Verifies a job's certificate.
    pub fn of(file: &Path, documents: Option<&Path>, context: &Context) -> Result<Mailable, Unmailed> {
        let planned = plan_file(file, context)?;
        planned.need_log()?;
        if planned.was_not_made() {
            return Err(Unmailed::NotMade(planned.plan.job.clone()));
        }
        if planned.job.service_log.is_none() {
            return Err(Unmailed::NoLog(planned.plan.job.clone()));
        }
        Mailable::of_log(file, &planned, documents, context).map_err(Unmailed::from)
    }

    /// The same of a job that has a log.
    fn of_log(
        file: &Path,
        planned: &Planned,
        documents: Option<&Path>,
        context: &Context,
    ) -> Result<Mailable, Failure> {
        let company = planned.company();
        let Some(mail) = &company.mail else {
            let problem = company.source.root().error("missing-key", "`mail` is missing here");
            let hint = "it says who mail is from and through which server, such as `mail: { from: records@firm.example, server: smtp.provider.example }`";
            return Err(problem.hint(hint).into());
        };
        let to = recipients(planned);
        if to.is_empty() {
            let client = planned.job.source.root().origin().key("client");
            let message = "neither the client nor the site has an `email`, so that there is nobody to send to";
            let problem = client.error("no-address", message);
            return Err(problem.into());
        }
        let found = Certificate::find(planned, &output_folder(documents, file), context)?;
        let words = words(planned, &found.record, context)?;
        Ok(Mailable {
            job: planned.plan.job.clone(),
            revision: found.revision,
            record: found.digest,
            company: planned.plan.company.name.clone(),
            company_file: company_file(company),
            mail: mail.clone(),
            to,
            start: planned.plan.start,
            words,
            content: found.record,
            file: found.name,
            pdf: found.pdf,
        })
    }
}

/// The site's addresses and the client's, each once.
fn recipients(planned: &Planned) -> Vec<Recipient> {
    let (client, site) = (&planned.job.client, &planned.job.site);
    let of_client = client.email.clone().unwrap_or_default();
    // one of several at the client's must not be addressed by another's name
    let contact = client.contact.as_ref().filter(|_| of_client.len() == 1).unwrap_or(&client.name);
    let is_clients = |address: &Address| of_client.iter().any(|other| other.folded() == address.folded());
    let of_site = site.email.clone().unwrap_or_default().into_iter().filter(|address| !is_clients(address));
    let of_site: Vec<_> =
        of_site.map(|address| Recipient { address, name: site.name.clone(), gathered: Gathered::Each }).collect();
    let of_client = of_client.iter().map(|address| Recipient {
        address: address.clone(),
        name: contact.clone(),
        gathered: client.certificates,
    });
    of_client.chain(of_site).collect()
}

/// A certificate that is what it should be.
struct Certificate {
    name: String,
    pdf: Vec<u8>,
    record: Value,
    digest: String,
    revision: u32,
}

impl Certificate {
    fn find(planned: &Planned, folder: &Path, context: &Context) -> Result<Certificate, Failure> {
        let job = &planned.plan.job;
        let now = documents(planned, &Options::of(Kind::Certificate), context)?;
        if !now.withheld.is_empty() {
            let why = format!("The certificate of job {job} is withheld, and nothing is mailed in its place:");
            let lines = now.withheld.iter().map(|line| format!("  - {line}"));
            return Err(Failure::headed(why, Cause::Withheld).lines(lines));
        }
        let revision = now.record.revision;
        let names = Names::of(job, revision);
        let folder = holder(folder, job, &names.certificate)?;
        let path = folder.join(&names.certificate);
        let refuse = |why: String| Failure::error(format_args!("{}: {why}", path.display()));
        check_newest(&folder, job, revision).map_err(refuse)?;
        let pdf = read_bounded(&path).map_err(refuse)?;
        let reference = Reference {
            key: context.signing_key(planned.company())?.map(|key| key.public()),
            record: serde_json::from_slice(&now.record.json).ok(),
            among_others: false,
            // what was issued stays, and may be mailed, though the firm's telephone is another by now
            as_issued: true,
            templates: Some(context.templates(planned.company())?),
            pages: None,
        };
        let seen = reference.look_through(&path, &pdf).map_err(Failure::internal)?;
        let bad: Vec<String> = seen.bad().map(|finding| format!("  {finding}")).collect();
        let Some(record) = seen.record.filter(|_| bad.is_empty() && seen.is_certificate) else {
            let failure = Failure::error(format_args!("{} is not mailed:", path.display()));
            return Err(failure.lines(bad).hint(
                "put a whole one back from a copy; one that an earlier version made is mailed with that version; if it never went out, \
                 `decant render --replace-draft` makes it anew; a change of the job is a new revision",
            ));
        };
        match read_bounded(&folder.join(&names.record)).map(|bytes| sha256(&bytes)) {
            Ok(digest) if digest == seen.digest => {
                Ok(Certificate { name: names.certificate, pdf, record, digest, revision })
            }
            Ok(_) => Err(refuse(format!("it carries another record than {} beside it", names.record))),
            Err(e) => Err(refuse(format!("its record {} cannot be read beside it: {e}", names.record))),
        }
    }
}

/// Where a certificate lies: in the folder, as `decant render` writes it, or in the job's own folder within, as a batch does.
fn holder(folder: &Path, job: &str, name: &str) -> Result<PathBuf, Failure> {
    let folders = [folder.to_owned(), folder.join(job)].into_iter();
    let there: Vec<PathBuf> = folders.filter(|folder| folder.join(name).is_file()).collect();
    let folder = folder.display();
    match there.as_slice() {
        [one] => Ok(one.clone()),
        [] => Err(Failure::error(format_args!("there is no {name} in {folder}"))
            .hint("`decant render` or `decant batch` makes it; `--documents` names the folder")),
        _ => Err(Failure::error(format_args!("{name} lies in {folder} and in {folder}/{job}; which one is it?"))),
    }
}

/// That no later revision lies in the folder.
fn check_newest(folder: &Path, job: &str, revision: u32) -> Result<(), String> {
    for entry in fs::read_dir(folder).map_err(|e| e.to_string())? {
        let name = entry.map_err(|e| e.to_string())?.file_name();
        let name = name.to_string_lossy();
        if revision_of(&name, job).is_some_and(|later| later > revision) {
            return Err(format!("the log gives revision {revision}, and {name} beside it is of a later one"));
        }
    }
    Ok(())
}

/// The words of the certificate's language: of the one that the job asks for, or one that is built in.
fn words(planned: &Planned, record: &Value, context: &Context) -> Result<Arc<Words>, Failure> {
    let tag = record["certificate"]["data"]["lang"].as_str().unwrap_or_default();
    let words = job_words(&planned.job, context)?.certificate;
    if words.language == tag {
        return Ok(words);
    }
    Words::of(tag).map(Arc::new).map_err(|_| {
        Failure::error(format_args!(
            "the certificate of job {} is in `{tag}`, and neither the job nor the company file names that language's file",
            planned.plan.job
        ))
    })
}
