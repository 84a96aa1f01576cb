//! The job file: one visit to one site.

use std::collections::HashSet;
use std::path::Path;
use std::sync::Arc;

use jiff::civil::DateTime;
use serde::Serialize;

use super::area::Areas;
use super::service_log_read::OfVisit;
use super::treatment::{Known, Treatment, Treatments, unknown};
use super::{Area, ServiceLog, Site, shared_air};
use crate::company::{Address, CompanyFile, DocumentLanguages, Languages, Member, Tongue};
use crate::diagnostic::Diagnostics;
use crate::quantity::{Number, System, Time, range};
use crate::yaml::{
    At, Declared, FileKind, Later, Line, Node, Shape, Source, count, custom, keys, plain_key, text, words,
};

/// A job, resolved: every name in it found in the company file.
#[derive(Debug)]
#[expect(missing_docs, reason = "most fields are called by what they hold")]
pub struct Job {
    pub source: Arc<Source>,
    pub company: Arc<CompanyFile>,
    /// The job's number, as written; it heads every file name.
    pub number: String,
    pub client: Client,
    pub site: Site,
    pub visit: Visit,
    pub treatments: Vec<Treatment>,
    pub areas: Vec<Area>,
    pub notes: Vec<String>,
    /// What was really done, once it has been.
    pub service_log: Option<ServiceLog>,
    /// Why the log that the job names cannot be used, where it cannot; `applied` is then `None`. It blocks the certificate and
    /// nothing that is needed before the work.
    pub log_trouble: Option<Diagnostics>,
    /// Which language each document is in, where the company's choice is not followed.
    pub languages: Languages,
    /// Whether labels print the planned times of mixing and discarding.
    pub label_times: bool,
}

keys! {
    /// The client.
    #[derive(Clone, Debug, Serialize)]
    pub struct Client {
        /// Name. Example: `Port Ansel Harbour Board`
        name: String, required;
        /// Person to speak to. Example: `M. Castellane`
        contact: String, optional;
        /// E-mail addresses that certificates go to; a plan has none. Example: `harbour@port-ansel.example`
        email: Vec<Address> = custom(read_addresses, addresses_shape), optional;
        /// In how many messages those addresses get certificates. The site's own address gets one for each.
        #[serde(skip)]
        certificates: Gathered, or(Gathered::Each, "each");
    }
}

words! {
    /// How the certificates of a client go into messages.
    pub enum Gathered {
        /// a message for each certificate
        Each = "each",
        /// one message for the visits that began between noon and noon of the next day
        Night = "night",
        /// one message for the nights of Monday to Sunday, not before noon (UTC) of the Monday after
        Week = "week",
    }
}

#[derive(Clone, Debug, Serialize)]
pub struct Visit {
    /// When work begins, in the site's own time.
    pub start: DateTime,
    pub crew: Vec<Member>,
    /// How long one load takes to mix and read.
    pub mixing: Time,
    /// How long the work may take, from the start to the last load sprayed; a day, or what the job says.
    pub longest: Time,
}

keys! {
    /// A job file: one visit to one site.
    pub struct JobKeys {
        /// Its number: at most 24 letters, digits, `-`, `_` and `.`. It names the files and is part of the link.
        /// Example: `2026-0413`
        job: String = text("a job number", read_number), wanted;
        /// The company file, found from this file's folder. Example: `../company.yaml`
        company: At<String>, wanted;
        /// For whom. Example: `{ name: Port Ansel Harbour Board, contact: M. Castellane }`
        client: Client, wanted;
        /// Where. Example: `{ name: Gull Point Ferry Terminal, address: 1 Breakwater Road }`
        site: Site, wanted;
        /// When, and who. Example: `{ start: 2026-04-13T18:00, crew: [okafor] }`
        visit: VisitKeys, wanted;
        /// What is done, in order: each begins when the last load of the one before is empty and its air has cleared.
        /// Example: `[{ product: solvary-q75, directions: hard-surface, sprayer: mister, areas: [Waiting hall] }]`
        treatments: Later<Treatments>, wanted;
        /// By name: what is treated. An area that no treatment names is an error.
        /// Example: `{ Hall: { floor: 40 ft x 55 ft, walls_to: 3 ft } }`
        areas: Later<Areas>, wanted;
        /// What the office has to say to the crew; it stands on the mix sheet. Example: `Keys at the harbour office.`
        notes: Vec<String>, or(Vec::new(), "[]");
        /// The label stock where nothing else names one, by its key. Example: `roll-4x6`
        label_stock: At<String>, optional;
        /// The language of all documents; what the job says goes before what the company file says. Example: `es`
        language: Tongue, optional;
        /// The language of single documents. Example: `{ labels: [en, es] }`
        languages: DocumentLanguages, or(DocumentLanguages::default(), "that of all");
        /// How many of each label, where no treatment says so; else as the stock says.
        label_copies: u32 = count(1, 100), optional;
        /// Whether labels print when their load is planned to be mixed and thrown away; else both are lines to write on.
        label_times: bool, or(false, "no");
        /// The service log, once the work is done: a file beside this one. Example: `log.yaml`
        log: At<String>, optional;
    }
}

keys! {
    /// When, and who.
    pub struct VisitKeys {
        /// When work begins. Example: `2026-04-13T18:00`
        start: DateTime, wanted;
        /// Who goes, by their keys in the company file. Example: `[okafor, lindqvist]`
        crew: Vec<At<String>>, wanted;
        /// How long one load takes to mix and read. Example: `15 min`
        mixing: Time = &range::MIXING, or(Time::minutes(Number::int(10)), "10 min");
        /// How long the work may take, from the start to the last load sprayed; a longer plan is an error. Example: `30 h`
        longest: Time = &range::LONGEST, or(Time::minutes(Number::int(24 * 60)), "24 h");
    }
}

impl Job {
    /// The number of a job file, of which nothing else is looked at; `None` if it has none that can be read.
    pub fn number_in(file: &Path) -> Option<String> {
        let mut report = Diagnostics::new();
        let source = Source::read(file, &mut report)?;
        read_number(&source.root().get("job")?, &mut report)
    }

    /// Reads a job file, the company file it names and its service log; every problem is reported.
    pub fn read(file: &Path, report: &mut Diagnostics) -> Option<Job> {
        Self::from_source(&Source::read(file, report)?, report)
    }

    /// Reads a job from what is taken to stand in its file.
    pub fn from_source(source: &Arc<Source>, report: &mut Diagnostics) -> Option<Job> {
        Self::with_company(source, report, |company, report| CompanyFile::read(company, report).map(Arc::new))
    }

    /// A job file with a company file from elsewhere: `company` is given its path, and may have read it before.
    pub fn read_with(
        file: &Path,
        report: &mut Diagnostics,
        company: impl FnOnce(&Path, &mut Diagnostics) -> Option<Arc<CompanyFile>>,
    ) -> Option<Job> {
        Self::with_company(&Source::read(file, report)?, report, company)
    }

    /// What is taken to stand in a job file, with a company file from elsewhere.
    pub fn with_company(
        source: &Arc<Source>,
        report: &mut Diagnostics,
        company: impl FnOnce(&Path, &mut Diagnostics) -> Option<Arc<CompanyFile>>,
    ) -> Option<Job> {
        if !FileKind::Job.fits(&source.root(), report) {
            return None;
        }
        let keys = JobKeys::from_node(&source.root(), report)?;
        let company = keys.company.and_then(|named| {
            let file = source.beside(&named.value);
            let found = company(&file, report);
            report.show_at(&file.display().to_string(), || named.origin.place());
            found
        });
        let visit = keys.visit.map(|visit| visit.resolved(company.as_deref(), report));
        let Areas { all: mut areas, every: every_area_read } =
            keys.areas.and_then(|areas| areas.read(report)).unwrap_or_default();
        let spaces = keys.site.as_ref().and_then(|site| site.air_spaces.as_ref());
        shared_air::assign(spaces, &mut areas, every_area_read, report);
        let treatments = keys.treatments.and_then(|treatments| treatments.read(report));
        let treatments = treatments.zip(company.as_deref()).and_then(|(Treatments(treatments), company)| {
            let known = Known {
                company,
                areas: &areas,
                places: areas.iter().enumerate().map(|(at, area)| (area.name.as_str(), at)).collect(),
                every_area_read,
                default_stock: keys.label_stock.as_ref(),
                default_copies: keys.label_copies,
            };
            let count = treatments.len();
            let found: Vec<Treatment> = treatments.into_iter().filter_map(|t| t.resolved(&known, report)).collect();
            (found.len() == count).then_some(found)
        });
        if let (Some(treatments), true) = (&treatments, every_area_read) {
            let treated: HashSet<usize> = treatments.iter().flat_map(|t| &t.areas).copied().collect();
            for (_, area) in areas.iter().enumerate().filter(|(i, _)| !treated.contains(i)) {
                let problem = area.origin.error("area-untreated", format!("nobody treats the area `{}`", area.name));
                report.push(problem.hint("name it in a treatment's `areas`, or take it out"));
            }
        }
        let (service_log, log_trouble) = match keys.log {
            Some(named) => {
                let month_first = company.as_ref()?.units == System::Us;
                let of = OfVisit { job: keys.job.as_ref()?, start: visit.as_ref()?.as_ref()?.start, month_first };
                let file = source.beside(&named.value);
                let (log, mut trouble) = ServiceLog::named_in(source.file(), &file, &of);
                let trouble_at =
                    |trouble: &mut Diagnostics| trouble.show_at(&file.display().to_string(), || named.origin.place());
                trouble.iter_mut().for_each(trouble_at);
                (log, trouble)
            }
            None => (None, None),
        };
        Some(Job {
            number: keys.job?,
            client: keys.client?,
            site: keys.site?,
            visit: visit??,
            treatments: treatments?,
            areas,
            notes: keys.notes,
            label_times: keys.label_times,
            service_log,
            log_trouble,
            languages: Languages::new(keys.language, keys.languages),
            company: company?,
            source: source.clone(),
        })
    }
}

fn read_number(node: &Node<'_>, report: &mut Diagnostics) -> Option<String> {
    let text = node.text(report)?;
    if text.len() > 24 || !plain_key(&text) {
        let hint = "at most 24 letters, digits, `-`, `_` and `.`: the number names files and is part of a link";
        return report.fail(node.error("bad-job-number", format!("`{text}` cannot be a job number")).hint(hint));
    }
    Some(text)
}

pub(super) fn addresses_shape() -> Shape {
    Shape::List { of: Box::new(Shape::line("an e-mail address", Line::Text)), or_one: true }
}

/// One address or several, each of them once.
pub(super) fn read_addresses(node: &Node<'_>, report: &mut Diagnostics) -> Option<Vec<Address>> {
    let mut found: Vec<Address> = Vec::new();
    for item in node.items_or_one(report)? {
        let Some(address) = item.parse(report, Address::parse) else {
            continue;
        };
        if found.iter().any(|other| other.folded() == address.folded()) {
            report.push(item.error("address-twice", format!("the address `{address}` stands here twice")));
        }
        found.push(address);
    }
    Some(found)
}

impl VisitKeys {
    fn resolved(self, company: Option<&CompanyFile>, report: &mut Diagnostics) -> Option<Visit> {
        let mut crew = Vec::new();
        let company = company?;
        for named in self.crew.iter().flatten() {
            match company.crew.get(&named.value) {
                Some(member) => crew.push(member.clone()),
                None => {
                    let message = format!("nobody `{}` is in the company's crew", named.value);
                    report.push(unknown(named, "crew-unknown", message, company.crew.keys()));
                }
            }
        }
        Some(Visit { start: self.start?, crew, mixing: self.mixing, longest: self.longest })
    }
}
