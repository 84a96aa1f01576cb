//! The public page of a record: what whoever reads the code on a container or a certificate may know.

use std::collections::BTreeMap;

use jiff::civil::Date;
use minijinja::context;
use serde::Serialize;

use super::calendar::Calendar;
use super::certificate::{Certificate, CrewRow, KeyFact, TreatedArea, made, proof, strength_read};
use super::chart::{Chart, charts};
use super::hazards::{Hazards, hazards};
use super::parts::{Fact, Watch};
use super::used::ReadingRow;
use super::voice::Voice;
use super::{DocumentError, Said};
use crate::company::{Company, Dates, Publish};
use crate::job::ServiceLog;
use crate::plan::{Severity, TreatmentPlan};
use crate::record::{Conformity, Made, in_groups, revision_mark};
use crate::wording::Words;

/// A file that lies beside the page, to download.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Download {
    /// Its name, from the page.
    pub name: String,
    /// SHA-256 of its bytes, in hexadecimal.
    pub digest: String,
}

/// What is known of the work.
#[derive(Clone, Copy, Debug)]
pub struct Known<'a> {
    /// The log, if there is one.
    pub service_log: Option<&'a ServiceLog>,
    /// Whether there is a log that cannot be read.
    pub bad_log: bool,
    /// The log compared with the plan.
    pub conformity: &'a Conformity,
    /// SHA-256 of the record's file, in hexadecimal.
    pub digest: &'a str,
    /// Which revision of the record it is, from 1.
    pub revision: u32,
}

/// What every page is given.
#[derive(Debug, Serialize)]
pub struct Frame {
    lang: String,
    /// The company's color, `#rrggbb`.
    pub accent: Option<String>,
    /// The captions.
    pub(super) words: BTreeMap<String, String>,
    company: Footer,
    deference: String,
    title: String,
    heading: String,
}

/// Who answers for the page.
#[derive(Debug, Serialize)]
struct Footer {
    name: String,
    address: String,
    phone: String,
    emergency: Option<String>,
    licence: Option<String>,
}

/// The page of a record. What is `None` or empty is not published, or not known.
#[derive(Debug, Serialize)]
pub struct RecordPage {
    #[serde(flatten)]
    pub frame: Frame,
    /// Whether the work was done, by a log that is complete.
    done: bool,
    /// `planned`, `pending` (there is a log, and nothing is certified), `done`, `deviates` or `not-made`.
    pub state: &'static str,
    lead: String,
    site: Option<Site>,
    client: Option<String>,
    /// The day in words.
    pub date: String,
    hours: Option<String>,
    number: String,
    facts: Vec<KeyFact>,
    treatments: Vec<Treated>,
    readings: Option<Vec<ReadingRow>>,
    charts: Vec<Chart>,
    areas: Option<Vec<TreatedArea>>,
    deviations: Option<Vec<String>>,
    cautions: Vec<Watch>,
    crew: Option<Vec<CrewRow>>,
    not_claimed: Vec<String>,
    /// How to compare the record's file with the digest.
    verify: String,
    digest: String,
    certificate: Option<Link>,
}

#[derive(Debug, Serialize)]
struct Site {
    name: String,
    address: String,
}

/// What was used in a treatment, or is planned to be.
#[derive(Debug, Serialize)]
struct Treated {
    product: String,
    title: String,
    registration: Option<String>,
    pairs: Vec<Fact>,
    hazards: Hazards,
    /// A link to the safety data sheet.
    sheet: Option<String>,
}

#[derive(Debug, Serialize)]
struct Link {
    name: String,
    label: String,
    digest: String,
}

/// The index of records.
#[derive(Debug, Serialize)]
pub struct IndexPage {
    #[serde(flatten)]
    pub frame: Frame,
    lead: String,
    records: Vec<IndexRow>,
    months: Vec<Choice>,
    sites: Vec<Choice>,
}

/// What the index can be cut down to: the page shows the rows of the choice that its address names behind `#`. That is style alone,
/// since a page without a script cannot be made to run one; a search is the browser's own, which needs every row on one page.
#[derive(Debug, Serialize)]
struct Choice {
    /// The class of its rows, and the name of its anchor.
    id: String,
    label: String,
    count: usize,
}

/// A record in the index.
#[derive(Clone, Debug, Serialize)]
pub struct IndexRow {
    #[serde(skip)]
    pub day: Date,
    /// The choices that show it.
    pub choices: Vec<String>,
    pub number: String,
    /// From the folder of pages.
    pub path: String,
    pub date: String,
    pub site: Option<String>,
    /// As [`RecordPage::state`] has it; the page shows it in words.
    pub state: String,
    pub lang: String,
}

/// What the page of a record is given. Nothing leaves the plan but what `publish` allows; the contact of the client, notes to
/// the crew and e-mail addresses never do.
pub fn page(
    voice: &Voice<'_>,
    known: &Known<'_>,
    publish: Publish,
    download: Option<&Download>,
) -> Result<RecordPage, DocumentError> {
    let (service_log, conformity, plan) = (known.service_log, known.conformity, voice.plan);
    // The certificate's own figures, so that page and certificate cannot differ.
    let proof = proof(voice, service_log, conformity, true)?;
    let (not_made, done) = (conformity.visit == Made::Not, conformity.certifies());
    let deviates = conformity.deviates() || !proof.deviations.is_empty();
    let state = match (not_made, done, deviates) {
        (true, ..) => "not-made",
        (_, false, _) if known.bad_log || service_log.is_some() => "pending",
        (_, false, _) => "planned",
        (_, true, true) => "deviates",
        (_, true, false) => "done",
    };
    let lead = if state == "done" && !proof.not_evaluated.is_empty() { "unjudged" } else { state };
    let number = &voice.record.number;
    let file = format!("{}-record{}.json", plan.job, revision_mark(known.revision));
    let title = voice.say("page.title", context! { record => number })?;
    let mut frame = frame(voice.words, &plan.company, title, voice.word("page.heading")?)?;
    // page and certificate call the same thing by the same name, where the page has none of its own
    frame.words.insert("registration".to_owned(), voice.registration_caption()?);
    for (key, caption) in voice.words.group("certificate.words") {
        frame.words.entry(key).or_insert(caption);
    }
    if not_made {
        frame.words.insert("firm".to_owned(), voice.word("page.words.firm_not_made")?);
    }
    let site = || Site { name: plan.site.name.clone(), address: plan.site.address.clone() };
    Ok(RecordPage {
        frame,
        done,
        state,
        lead: voice.word(&format!("page.lead.{lead}"))?,
        site: publish.site.then(site),
        client: publish.client.then(|| plan.client.name.clone()),
        hours: proof.opening.date.lines.first().cloned().filter(|_| done),
        number: number.clone(),
        treatments: treatments(voice, &proof, known, publish)?,
        facts: proof.facts.into_iter().filter(|fact| publish.readings || !fact.is_reading).collect(),
        date: proof.opening.date.name,
        readings: (publish.readings && done).then_some(proof.readings),
        charts: charts(voice, service_log)?,
        areas: (publish.areas && done).then_some(proof.areas),
        deviations: publish.deviations.then_some(proof.deviations),
        cautions: if not_made { Vec::new() } else { cautions(voice, publish.areas)? },
        crew: publish.crew.then_some(proof.crew),
        not_claimed: proof.not_claimed,
        verify: voice.say("page.verify", context! { file })?,
        digest: in_groups(known.digest),
        certificate: download.map(|file| link(voice, file)).transpose()?,
    })
}

/// What the index is given: the records of a folder, or none.
pub fn index_page(words: &Words, company: &Company, mut records: Vec<IndexRow>) -> Result<IndexPage, DocumentError> {
    let lead = if records.is_empty() { "page.index.closed" } else { "page.index.open" };
    for record in &mut records {
        record.state = words.word(&format!("page.states.{}", record.state))?.to_owned();
    }
    let calendar = Calendar { words, dates: Dates::International };
    let month = |record: &IndexRow| Some(record.day.first_of_month());
    let mut months = choices(&mut records, "m", month, |month| calendar.month_of(month))?;
    months.reverse();
    let sites = choices(&mut records, "s", |record| record.site.clone(), Ok)?;
    let heading = words.word("page.index.heading")?.to_owned();
    let frame = frame(words, company, format!("{heading} · {}", company.name), heading)?;
    Ok(IndexPage { frame, lead: words.word(lead)?.to_owned(), records, months, sites })
}

/// What records can be chosen by, in its order; nothing where all of them are alike in it.
fn choices<T: Ord>(
    records: &mut [IndexRow],
    id: &str,
    of: impl Fn(&IndexRow) -> Option<T>,
    label: impl Fn(T) -> Said<String>,
) -> Said<Vec<Choice>> {
    let mut rows: BTreeMap<T, Vec<usize>> = BTreeMap::new();
    for (at, record) in records.iter().enumerate() {
        if let Some(value) = of(record) {
            rows.entry(value).or_default().push(at);
        }
    }
    if rows.len() < 2 {
        return Ok(Vec::new());
    }
    let mut choices = Vec::new();
    for (n, (value, rows)) in rows.into_iter().enumerate() {
        let id = format!("{id}{}", n + 1);
        rows.iter().for_each(|at| records[*at].choices.push(id.clone()));
        choices.push(Choice { id, label: label(value)?, count: rows.len() });
    }
    Ok(choices)
}

pub(super) fn frame(words: &Words, company: &Company, title: String, heading: String) -> Said<Frame> {
    let Company { name, address, phone, emergency_phone: emergency, licence, .. } = company.clone();
    Ok(Frame {
        lang: words.language.clone(),
        accent: None,
        words: words.group("page.words"),
        company: Footer { name, address, phone, emergency, licence },
        deference: words.word("deference")?.to_owned(),
        title,
        heading,
    })
}

fn link(voice: &Voice<'_>, file: &Download) -> Said<Link> {
    let label = voice.say("page.download", context! { file => &file.name })?;
    Ok(Link { name: file.name.clone(), label, digest: in_groups(&file.digest) })
}

/// What was used, or is planned to be; of a treatment that was not made nothing.
fn treatments(voice: &Voice<'_>, proof: &Certificate, known: &Known<'_>, publish: Publish) -> Said<Vec<Treated>> {
    let caption = |key: &str| voice.word(&format!("certificate.words.{key}"));
    let mut all = Vec::new();
    for treatment in made(voice.plan, known.service_log) {
        let number = treatment.number.to_string();
        let Some(row) = proof.products.iter().find(|row| row.treatment == number) else {
            continue;
        };
        let mut pairs = vec![
            Fact::new(caption("dilution")?, &row.dilution),
            Fact::new(caption("method")?, &row.method),
            strength(voice, treatment, known.service_log.filter(|_| publish.readings))?,
            Fact::new(caption("used")?, &row.used),
            Fact::new(voice.word("certificate.facts.contact")?, voice.time(&treatment.directions.contact_time)),
        ];
        if let Some(lots) = &row.lots {
            pairs.push(Fact::new(caption("lots")?, lots));
        }
        // nothing but a page on the web may stand behind a link that strangers follow
        let is_page = |link: &String| link.starts_with("https://") || link.starts_with("http://");
        all.push(Treated {
            product: treatment.product.name.clone(),
            title: treatment.directions.title.clone(),
            registration: row.registration.clone(),
            pairs,
            hazards: hazards(voice, treatment)?,
            sheet: treatment.product.sds_link.clone().filter(is_page),
        });
    }
    Ok(all)
}

/// Once there is a log, "as mixed" is what was read; the plan's figure is called planned.
fn strength(voice: &Voice<'_>, treatment: &TreatmentPlan, log: Option<&ServiceLog>) -> Said<Fact> {
    let Some(log) = log else {
        let strength = voice.units.strength(&treatment.strength.mixed).main;
        let planned = voice.say("terminal.strength", context! { strength, of => voice.measured(treatment)? })?;
        return Ok(Fact::new(voice.word("page.words.strength_planned")?, planned));
    };
    let read = match strength_read(voice, log, treatment)? {
        Some(read) => read,
        None => voice.word("certificate.not_read")?,
    };
    Ok(Fact::new(voice.word("page.words.strength")?, read))
}

/// What the crew is to watch for, each sentence once. One that names an area stays inside where areas are not
/// published: it stands on the mix sheet all the same.
fn cautions(voice: &Voice<'_>, areas: bool) -> Said<Vec<Watch>> {
    let plan = voice.plan;
    let names: Vec<&str> = plan.treatments.iter().flat_map(|t| &t.areas).map(|a| a.name.as_str()).collect();
    let mut all: Vec<Watch> = Vec::new();
    for caution in plan.cautions.iter().filter(|c| c.is_on_sheet() && c.severity != Severity::Note) {
        let text = voice.caution(caution)?;
        if (!areas && names.iter().any(|name| text.contains(name))) || all.iter().any(|c| c.text == text) {
            continue;
        }
        let severity = caution.severity.word();
        all.push(Watch { severity, word: voice.word(&format!("sheet.severity.{severity}"))?, text });
    }
    Ok(all)
}
