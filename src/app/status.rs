//! What needs doing: which visits come, which logs are missing, what became of certificates.

use std::path::{Path, PathBuf};

use jiff::civil::Date;
use serde::Serialize;

use super::chosen::{Dates, planned_of};
use super::context::Context;
use super::documents::{Kind, Options, documents};
use super::failure::{Failure, valid};
use super::issued::send_log;
use super::job_folder::There;
use super::planned::plan_file;
use crate::diagnostic::Diagnostics;
use crate::document::{StatusRow, StatusSection, status_page};
use crate::html::{Page, html};
use crate::mail::{LastSent, State as Mailed, last_sent};
use crate::record::issued::{Names, issued, revisions};

/// Where a visit stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stands {
    /// It is to be made.
    Planned,
    LogMissing,
    /// It has a log, and no certificate is made of it.
    Withheld,
    /// The crew was there, or was not, and nothing was treated.
    NotMade,
    /// The certificate is made and has not gone out.
    Ready,
    /// A server refused it, or nobody knows whether it took it.
    Refused,
    Mailed,
}

impl Stands {
    const ALL: [Stands; 7] = [
        Stands::Planned,
        Stands::LogMissing,
        Stands::Withheld,
        Stands::NotMade,
        Stands::Refused,
        Stands::Ready,
        Stands::Mailed,
    ];

    /// As the language file names it.
    fn key(self) -> &'static str {
        match self {
            Stands::Planned => "planned",
            Stands::LogMissing => "log_missing",
            Stands::Withheld => "withheld",
            Stands::NotMade => "not_made",
            Stands::Ready => "ready",
            Stands::Refused => "refused",
            Stands::Mailed => "mailed",
        }
    }

    /// As the terminal names it.
    pub fn heading(self) -> &'static str {
        match self {
            Stands::Planned => "To be made",
            Stands::LogMissing => "Logs missing",
            Stands::Withheld => "Certificates withheld",
            Stands::NotMade => "Not made",
            Stands::Ready => "Certificates ready, not mailed",
            Stands::Refused => "Mail refused, or nobody knows",
            Stands::Mailed => "Mailed",
        }
    }
}

/// One visit.
#[derive(Clone, Debug, Serialize)]
pub struct VisitStatus {
    pub job: String,
    pub day: Date,
    /// When it begins, in the site's own time.
    pub start: String,
    pub site: String,
    pub van: String,
    pub stands: Stands,
    /// Why, where there is more to say.
    pub why: Vec<String>,
}

/// Where the visits of some days stand.
#[derive(Debug, Serialize)]
pub struct Status {
    pub form: &'static str,
    pub contract: String,
    /// The day that counts as today.
    pub today: Date,
    pub visits: Vec<VisitStatus>,
    #[serde(skip)]
    company: PathBuf,
}

impl Status {
    /// Looks at the visits of a contract. Without a first or a last day, all until today.
    pub fn of(file: &Path, documents: &Path, dates: Dates, today: Date, context: &Context) -> Result<Status, Failure> {
        let folder = planned_of(file, documents)?;
        let contract = &folder.contract;
        let mut report = Diagnostics::new();
        let company = context.company(contract.company(), &mut report);
        let company = valid(company, &report)?;
        let log = last_sent(&send_log(&company)).map_err(Failure::error)?;
        let look = Look { documents, log: &log, today, context };
        let mut visits = Vec::new();
        for file in folder.jobs.iter().filter(|file| dates.hold(file.job.day)) {
            let (stands, why) = look.at(&file.job.name, &file.path, file.job.day, file.job.has_log, file.there)?;
            let job = &file.job;
            visits.push(VisitStatus {
                job: job.name.clone(),
                day: job.day,
                start: job.start.strftime("%Y-%m-%dT%H:%M").to_string(),
                site: job.site.clone(),
                van: job.van.clone(),
                stands,
                why,
            });
        }
        let form = "decant status 1";
        Ok(Status { form, contract: contract.number.clone(), today, visits, company: contract.company().to_owned() })
    }

    /// The visits by where they stand, what is to be done first.
    pub fn sections(&self) -> impl Iterator<Item = (Stands, Vec<&VisitStatus>)> {
        Stands::ALL.into_iter().map(|stands| (stands, self.visits.iter().filter(|v| v.stands == stands).collect()))
    }

    /// A page of it, in HTML without a script.
    pub fn page(&self, context: &Context) -> Result<String, Failure> {
        let mut report = Diagnostics::new();
        let company = valid(context.company(&self.company, &mut report), &report)?;
        let words = context.own_words()?;
        let sections = self.sections().map(|(stands, visits)| StatusSection {
            heading: stands.key(),
            rows: visits.into_iter().map(StatusRow::from).collect(),
        });
        let view = status_page(&words, &company.company, (&self.contract, self.today), sections.collect());
        html(Page::Status, &view?).map_err(Failure::internal)
    }
}

impl<'a> From<&'a VisitStatus> for StatusRow<'a> {
    fn from(visit: &'a VisitStatus) -> StatusRow<'a> {
        let VisitStatus { job, start, site, van, why, .. } = visit;
        StatusRow { start: start.replace('T', " "), job, site, van, why }
    }
}

struct Look<'a> {
    documents: &'a Path,
    log: &'a LastSent,
    today: Date,
    context: &'a Context,
}

impl Look<'_> {
    fn at(
        &self,
        number: &str,
        file: &Path,
        day: Date,
        has_log: bool,
        there: There,
    ) -> Result<(Stands, Vec<String>), Failure> {
        let folder = self.documents.join(number);
        // a record alone is nothing that could be mailed
        let is_made =
            |r: &u32| folder.join(Names::of(number, *r).certificate).is_file() && issued(&folder, number, *r).is_some();
        if let Some(revision) = revisions(&folder, number).into_iter().rev().find(is_made) {
            return Ok(self.mailed(number, revision));
        }
        if !has_log {
            let stands = if day >= self.today { Stands::Planned } else { Stands::LogMissing };
            return Ok((stands, Vec::new()));
        }
        if there == There::Nothing {
            return Ok((Stands::Withheld, vec!["it is not planned in this folder yet: `decant batch`".to_owned()]));
        }
        let planned = match plan_file(file, self.context) {
            Ok(planned) => planned,
            Err(failure) => return Ok((Stands::Withheld, vec![first_line(&failure.text(false))])),
        };
        // the job file that lies there may be older than its log
        if let Some(trouble) = &planned.job.log_trouble {
            return Ok((Stands::Withheld, trouble.problems().iter().map(|problem| problem.message.clone()).collect()));
        }
        let made = documents(&planned, &Options::of(Kind::Certificate), self.context)?;
        Ok(if made.not_made {
            (Stands::NotMade, Vec::new())
        } else if made.withheld.is_empty() {
            (Stands::Withheld, vec!["nothing is wrong with it; it is not made yet: `decant batch`".to_owned()])
        } else {
            (Stands::Withheld, made.withheld)
        })
    }

    fn mailed(&self, job: &str, revision: u32) -> (Stands, Vec<String>) {
        let Some(sent) = self.log.get(&(job.to_owned(), revision)) else { return (Stands::Ready, Vec::new()) };
        let lines = sent.iter().map(|(to, state, at)| format!("{to}: {}, {at}", state.word())).collect();
        let all_sent = sent.iter().all(|(_, state, _)| *state == Mailed::Sent);
        (if all_sent { Stands::Mailed } else { Stands::Refused }, lines)
    }
}

fn first_line(text: &str) -> String {
    text.lines().next().unwrap_or_default().to_owned()
}
