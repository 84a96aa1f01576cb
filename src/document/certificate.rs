//! The certificate: what was done, as far as the log shows it, and no further.

use jiff::civil::DateTime;
use minijinja::context;
use serde::Serialize;

use super::parts::{Firm, Named, RecordMark};
use super::rules::{RuleRow, deviations, not_evaluated, rules};
use super::used::{ReadingRow, UsedProduct, products, readings, without_strip};
use super::voice::Voice;
use super::{Head, Said, View};
use crate::engine::Template;
use crate::job::{CheckLog, Reading, ServiceLog};
use crate::plan::{Plan, Reentry, Release, Rinse, TreatmentPlan};
use crate::record::{Conformity, Made, entry_of, first_of, in_groups, last_mixed, revision_mark, treatment_made};

/// Characters of a photograph's digest that are printed: enough to tell it from another; the record has all of it.
const DIGEST_SHOWN: usize = 16;

#[derive(Serialize)]
pub(super) struct Certificate {
    #[serde(flatten)]
    pub opening: Opening,
    pub facts: Vec<KeyFact>,
    pub areas: Vec<TreatedArea>,
    pub products: Vec<UsedProduct>,
    pub readings: Vec<ReadingRow>,
    rules: Vec<RuleRow>,
    pub deviations: Vec<String>,
    deviations_none: String,
    /// Rules that could not be judged.
    pub not_evaluated: Vec<String>,
    photographs: Vec<String>,
    /// Which revision this is and what it replaces.
    revision: Option<String>,
    pub crew: Vec<CrewRow>,
    pub not_claimed: Vec<String>,
    #[serde(flatten)]
    closing: Closing,
}

/// How a certificate and a notice begin.
#[derive(Serialize)]
pub(super) struct Opening {
    company: Firm,
    heading: String,
    lead: String,
    client: Named,
    site: Named,
    pub date: Named,
}

impl Opening {
    pub fn new(voice: &Voice<'_>, heading: &str, lead: &str, date: Named) -> Said<Opening> {
        let plan = voice.plan;
        Ok(Opening {
            company: Firm::from(&plan.company),
            heading: voice.word(heading)?,
            lead: voice.word(lead)?,
            client: Named::new(&plan.client.name, plan.client.contact.clone()),
            site: Named::new(&plan.site.name, [plan.site.address.clone()].into_iter().chain(plan.site.contact.clone())),
            date,
        })
    }
}

/// How they end.
#[derive(Serialize)]
pub(super) struct Closing {
    /// Whose signature each line takes.
    signature: [String; 3],
    record: RecordMark,
    deference: String,
}

impl Closing {
    pub fn new(voice: &Voice<'_>, digest: Option<&str>) -> Said<Closing> {
        let company = &voice.plan.company.name;
        Ok(Closing {
            signature: [
                voice.say("certificate.signature.company", context! { company })?,
                voice.word("certificate.signature.name")?,
                voice.word("certificate.signature.moment")?,
            ],
            record: RecordMark { number: voice.record.number.clone(), digest: digest.map(in_groups), qr: voice.qr()? },
            deference: voice.word("deference")?,
        })
    }
}

/// One of the figures in large type.
#[derive(Clone, Debug, Serialize)]
pub(super) struct KeyFact {
    label: String,
    big: String,
    small: Option<String>,
    /// Whether it says what was read, which a page may leave out.
    #[serde(skip)]
    pub is_reading: bool,
}

impl KeyFact {
    fn new(label: String, big: String, small: String) -> KeyFact {
        KeyFact { label, big, small: Some(small), is_reading: false }
    }
}

/// An area that was treated.
#[derive(Clone, Debug, Serialize)]
pub(super) struct TreatedArea {
    treatment: String,
    name: String,
    product: String,
    method: String,
    size: String,
    treated: String,
    wet_until: String,
    contact: String,
}

#[derive(Clone, Debug, Serialize)]
pub(super) struct CrewRow {
    name: String,
    role: String,
    licence: Option<String>,
}

/// The certificate of a plan and its log. With `draft` it is made whatever the log lacks, and DRAFT stands across it.
pub fn certificate(
    voice: &Voice<'_>,
    service_log: Option<&ServiceLog>,
    conformity: &Conformity,
    draft: bool,
) -> Said<View> {
    let title = voice.say("certificate.title", context! { record => &voice.record.number })?;
    let mut head = Head { draft, ..Head::of(voice, title, "certificate.words") };
    head.words.insert("registration".to_owned(), voice.registration_caption()?);
    let stem = format!("{}-certificate{}", voice.plan.job, revision_mark(service_log.map_or(1, |a| a.revision)));
    View::new(Template::Certificate, stem, head, proof(voice, service_log, conformity, draft)?)
}

/// What the certificate says.
pub(super) fn proof(
    voice: &Voice<'_>,
    service_log: Option<&ServiceLog>,
    conformity: &Conformity,
    draft: bool,
) -> Said<Certificate> {
    let deviations = deviations(voice, service_log, conformity)?;
    let mut unjudged = not_evaluated(voice, conformity)?;
    unjudged.extend(without_strip(voice, service_log)?);
    let lead = if draft && !conformity.missing.is_empty() {
        "certificate.lead_draft"
    } else if conformity.deviates() {
        // the word "completed" stands in the other three alone
        "certificate.lead_failed"
    } else if !deviations.is_empty() {
        "certificate.lead_deviates"
    } else if !unjudged.is_empty() {
        "certificate.lead_unjudged"
    } else {
        "certificate.lead_complete"
    };
    // the day the work began, as the log has it; else as planned
    let day = service_log.and_then(first_of).unwrap_or(voice.plan.start).date();
    let date = Named::new(voice.date(day)?, [hours(voice, service_log)?]);
    Ok(Certificate {
        opening: Opening::new(voice, "certificate.heading", lead, date)?,
        facts: facts(voice, service_log)?,
        areas: areas(voice, service_log)?,
        products: products(voice, service_log)?,
        readings: readings(voice, service_log)?,
        rules: rules(voice, conformity)?,
        deviations,
        deviations_none: voice.word("certificate.deviations_none")?,
        not_evaluated: unjudged,
        photographs: photographs(voice, service_log)?,
        revision: revision(voice, service_log)?,
        crew: crew(voice, conformity)?,
        not_claimed: voice.each("certificate.not_claimed", &["sterile", "samples", "beyond", "health"])?,
        closing: Closing::new(voice, None)?,
    })
}

fn moments(service_log: &ServiceLog) -> impl Iterator<Item = DateTime> + '_ {
    let areas = service_log.areas.iter().flat_map(|a| [a.started, a.finished, a.wet_until, a.rinsed]);
    service_log.loads.iter().map(|l| l.mixed).chain(areas).flatten()
}

fn hours(voice: &Voice<'_>, service_log: Option<&ServiceLog>) -> Said {
    let known = service_log.and_then(|service_log| moments(service_log).min().zip(moments(service_log).max()));
    match known {
        Some((from, to)) if from.date() == to.date() => voice.clock_range(from, to),
        Some((from, to)) => voice.say("clock_range", context! { from => voice.clock(from)?, to => voice.moment(to)? }),
        None => voice.word("certificate.unknown"),
    }
}

fn facts(voice: &Voice<'_>, service_log: Option<&ServiceLog>) -> Said<Vec<KeyFact>> {
    let label = |key: &str| voice.word(&format!("certificate.facts.{key}"));
    let made = made(voice.plan, service_log);
    // nobody is kept out of where nothing was done
    if made.is_empty() {
        return Ok(Vec::new());
    }
    let (big, small) = match reentry(voice.plan, service_log) {
        Reentry::At(moment) => {
            let (at, day) = (voice.clock(moment)?, voice.date(moment.date())?);
            let small = match Release::of(made.iter().copied()) {
                Release::Time => None,
                Release::Dry => Some("certificate.facts.reentry_when_dry"),
                Release::Label => Some("certificate.facts.reentry_not_before_small"),
                Release::LabelAndDry => Some("certificate.facts.reentry_not_before_dry"),
            };
            match small {
                None => (at, day),
                Some(small) => {
                    let big = voice.say("certificate.facts.reentry_not_before", context! { at })?;
                    (big, voice.say(small, context! { day })?)
                }
            }
        }
        Reentry::NotKnown => (label("reentry_not_known")?, label("reentry_not_known_small")?),
    };
    let mut contacts: Vec<String> = made.iter().map(|t| voice.time(&t.directions.contact_time)).collect();
    contacts.dedup();
    let mut facts = vec![
        KeyFact::new(label("reentry")?, big, small),
        KeyFact::new(label("contact")?, contacts.join(" · "), label("contact_small")?),
    ];
    if let [treatment] = made.as_slice() {
        let big = match service_log.map(|a| strength_read(voice, a, treatment)).transpose()?.flatten() {
            Some(read) => read,
            None => label("not_read")?,
        };
        let planned = voice.units.strength(&treatment.strength.mixed).main;
        let small = voice.say("certificate.facts.strength_small", context! { strength => planned })?;
        facts.push(KeyFact { is_reading: true, ..KeyFact::new(label("strength")?, big, small) });
    }
    let rinsed: Vec<(&TreatmentPlan, &Rinse)> = made.iter().filter_map(|t| Some((*t, t.rinse.as_ref()?))).collect();
    let (big, small) = match rinsed.first() {
        None => (label("no_rinse")?, label("no_rinse_small")?),
        Some((_, rinse)) => {
            let is_done = rinsed.iter().all(|(treatment, _)| is_rinsed(treatment, service_log));
            let rinse = voice.rinse_with(rinse)?;
            (
                if is_done { label("rinsed")? } else { voice.word("certificate.unknown")? },
                voice.say("certificate.facts.rinse_small", context! { rinse })?,
            )
        }
    };
    facts.push(KeyFact::new(label("rinse")?, big, small));
    Ok(facts)
}

/// Whether the log says of every area that was treated that it was rinsed.
fn is_rinsed(treatment: &TreatmentPlan, service_log: Option<&ServiceLog>) -> bool {
    let entry = |area: &str| service_log.and_then(|log| entry_of(log, treatment.number, area));
    let mut treated = treatment.areas.iter().filter(|area| !is_skipped(service_log, treatment, &area.name));
    treated.all(|area| entry(&area.name).is_some_and(|entry| entry.rinsed.is_some()))
}

/// The treatments of which something was done, or may have been: without a word in the log none is left out.
pub(super) fn made<'p>(plan: &'p Plan, service_log: Option<&ServiceLog>) -> Vec<&'p TreatmentPlan> {
    plan.treatments.iter().filter(|t| treatment_made(t, service_log) != Made::Not).collect()
}

/// Whether the log says that an area was left out.
fn is_skipped(service_log: Option<&ServiceLog>, treatment: &TreatmentPlan, area: &str) -> bool {
    let entry = service_log.and_then(|log| entry_of(log, treatment.number, area));
    entry.is_some_and(|entry| entry.skipped.is_some())
}

/// One time for the whole site: the later of the planned time and what the log allows, which is contact time, the label's
/// interval and the clearing of a mist from the true finish, and never before anything that the log holds. What was not made at
/// all keeps nobody out.
fn reentry(plan: &Plan, service_log: Option<&ServiceLog>) -> Reentry {
    let Some(service_log) = service_log else { return plan.reentry };
    let made = made(plan, Some(service_log));
    let planned = if made.len() == plan.treatments.len() {
        plan.reentry
    } else {
        let done = |t: &TreatmentPlan| t.areas.iter().map(|area| area.times.done).max();
        let each = made.iter().filter_map(|t| Some(t.reentry_after(done(t)?).not_before(t.wet_until)));
        each.max().unwrap_or(plan.reentry)
    };
    let mut latest = moments(service_log).fold(planned, Reentry::not_before);
    for treatment in made {
        for entry in service_log.areas.iter().filter(|a| a.treatment == treatment.number) {
            if let Some(finished) = entry.finished {
                latest = latest.max(treatment.reentry_after(finished));
            }
            latest = entry.rinsed.or(entry.wet_until).map_or(latest, |moment| latest.not_before(moment));
        }
    }
    latest
}

/// What was read of the loads that went into areas, from the weakest to the strongest; nothing where none was read.
pub(super) fn strength_read(
    voice: &Voice<'_>,
    service_log: &ServiceLog,
    treatment: &TreatmentPlan,
) -> Said<Option<String>> {
    let last = treatment.loads.iter().filter_map(|l| last_mixed(service_log, treatment.number, l.number));
    let read: Vec<&Reading> = last.filter_map(|entry| entry.reading.as_ref()).collect();
    match read.as_slice() {
        [] => Ok(None),
        [first, rest @ ..] if rest.iter().all(|other| other == first) => voice.reading(first).map(Some),
        all => {
            let low = all.iter().map(|r| &r.low).min();
            let high = all.iter().map(|r| &r.high).max();
            low.zip(high).map(|(low, high)| voice.between(low, high)).transpose()
        }
    }
}

/// The method of application in words, as something that was done.
pub(super) fn method(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said {
    voice.word(&format!("certificate.methods.{}", treatment.sprayer.method.word()))
}

/// The areas that were treated: what was left out stands among the deviations alone.
fn areas(voice: &Voice<'_>, service_log: Option<&ServiceLog>) -> Said<Vec<TreatedArea>> {
    let mut rows = Vec::new();
    for treatment in &voice.plan.treatments {
        for area in treatment.areas.iter().filter(|a| !is_skipped(service_log, treatment, &a.name)) {
            let entry = service_log.and_then(|log| entry_of(log, treatment.number, &area.name));
            let treated = match entry.and_then(|e| e.started.zip(e.finished)) {
                Some((from, to)) => voice.clock_range(from, to)?,
                None => voice.word("certificate.unknown")?,
            };
            let wet_until = match entry.and_then(|e| e.wet_until) {
                Some(wet_until) => voice.moment(wet_until)?,
                None => voice.word("certificate.unknown")?,
            };
            let is_own = |check: &&CheckLog| check.treatment == treatment.number && check.area == area.name;
            let checks = service_log.map(|log| log.checks.as_slice()).unwrap_or_default().iter().filter(is_own);
            let kept: Vec<_> = checks.map(|check| check.kept_wet(entry.and_then(|e| e.rinsed))).collect();
            let contact = match kept.iter().min() {
                Some(shortest) => {
                    let blanks = context! { spots => kept.len(), kept => voice.time(shortest) };
                    voice.say("certificate.spots_kept", blanks)?
                }
                None => voice.word("certificate.no_spot")?,
            };
            rows.push(TreatedArea {
                treatment: treatment.number.to_string(),
                name: area.name.clone(),
                product: treatment.product.name.clone(),
                method: method(voice, treatment)?,
                size: voice.units.area(&area.size).main,
                treated,
                wet_until,
                contact,
            });
        }
    }
    Ok(rows)
}

fn photographs(voice: &Voice<'_>, service_log: Option<&ServiceLog>) -> Said<Vec<String>> {
    let photographs = service_log.map(|a| a.photographs.as_slice()).unwrap_or_default().iter();
    let texts = photographs.map(|p| {
        let key = if p.shows.is_some() { "certificate.photograph_shows" } else { "certificate.photograph" };
        let digest = in_groups(&p.sha256[..DIGEST_SHOWN]);
        voice.say(key, context! { file => &p.file, digest, shows => &p.shows })
    });
    texts.collect()
}

fn revision(voice: &Voice<'_>, service_log: Option<&ServiceLog>) -> Said<Option<String>> {
    let Some((service_log, replaces)) = service_log.and_then(|a| Some((a, a.replaces.as_ref()?))) else {
        return Ok(None);
    };
    let blanks = context! { revision => service_log.revision, replaces => in_groups(replaces) };
    voice.say("certificate.revision", blanks).map(Some)
}

/// The visit's crew, and whoever else the log says has mixed.
fn crew(voice: &Voice<'_>, conformity: &Conformity) -> Said<Vec<CrewRow>> {
    let role = voice.word("certificate.role")?;
    let people = if conformity.people.is_empty() { &voice.plan.crew } else { &conformity.people };
    let row =
        |m: &crate::company::Member| CrewRow { name: m.name.clone(), role: role.clone(), licence: m.licence.clone() };
    Ok(people.iter().map(row).collect())
}
