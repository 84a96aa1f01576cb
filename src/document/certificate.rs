//! The certificate: what was done, as far as the log shows it, and no further.

use jiff::civil::DateTime;
use minijinja::context;
use serde_json::{Value, json};

use super::facts::rinse_with;
use super::mix_sheet::page_word;
use super::rules;
use super::used::{products, readings};
use super::voice::Voice;
use super::{DocumentError, View};
use crate::catalog::Member;
use crate::job::{Applied, AppliedArea, AppliedCheck, Reading};
use crate::plan::{Plan, Reentry, TreatmentPlan};
use crate::record::{Conformity, Made, entry_of, first_of, in_groups, last_mixed, revision_mark, treatment_made};
use crate::typeset::Template;

/// The certificate of a plan and its log.
///
/// With `draft` it is made whatever the log lacks, and DRAFT stands across it.
///
/// # Errors
/// [`DocumentError`] if a word is missing.
pub fn certificate(
    voice: &Voice<'_>,
    applied: Option<&Applied>,
    conformity: &Conformity,
    draft: bool,
) -> Result<View, DocumentError> {
    let (plan, words) = (voice.plan, voice.words);
    let unfinished = draft && !conformity.missing.is_empty();
    let deviations = rules::deviations(voice, applied, conformity)?;
    let lead = if unfinished {
        "certificate.lead_draft"
    } else if conformity.deviates() {
        // the word "completed" stands in the other three alone
        "certificate.lead_failed"
    } else if !deviations.is_empty() {
        "certificate.lead_deviates"
    } else if conformity.is_unjudged() {
        "certificate.lead_unjudged"
    } else {
        "certificate.lead_complete"
    };
    let signature = words.say("certificate.signature.company", context! { company => &plan.company.name })?;
    let not_claimed: Result<Vec<&str>, _> = ["sterile", "samples", "beyond", "health"]
        .iter()
        .map(|key| words.word(&format!("certificate.not_claimed.{key}")))
        .collect();
    let data = json!({
        "lang": words.language,
        "title": words.say("certificate.title", context! { record => &voice.record.number })?,
        "author": plan.company.name,
        "accent": null,
        "page": page_word(plan.page),
        "draft": draft,
        "words": words.group("certificate.words"),
        "company": {
            "name": plan.company.name,
            "address": plan.company.address,
            "phone": plan.company.phone,
            "licence": plan.company.licence,
        },
        "heading": words.word("certificate.heading")?,
        "lead": words.word(lead)?,
        "client": { "name": plan.client.name, "lines": plan.client.contact.iter().collect::<Vec<_>>() },
        "site": { "name": plan.site.name, "lines": [plan.site.address] },
        "date": { "name": voice.date(day(plan, applied).date())?, "lines": [hours(voice, applied)?] },
        "facts": facts(voice, applied)?,
        "areas": areas(voice, applied)?,
        "products": products(voice, applied)?,
        "readings": readings(voice, applied)?,
        "rules": rules::rules(voice, conformity)?,
        "deviations": deviations,
        "deviations_none": words.word("certificate.deviations_none")?,
        "photographs": photographs(voice, applied)?,
        "revision": revision(voice, applied)?,
        "crew": crew(voice, conformity)?,
        "not_claimed": not_claimed?,
        "signature": [signature, words.word("certificate.signature.name")?, words.word("certificate.signature.moment")?],
        "record": { "number": voice.record.number, "digest": null, "qr": voice.qr()? },
        "deference": words.word("deference")?,
    });
    Ok(View {
        template: Template::Certificate,
        stem: format!("{}-certificate{}", plan.job, revision_mark(applied.map_or(1, |a| a.revision))),
        data,
    })
}

/// The day the work began, as the log has it; else as planned.
fn day(plan: &Plan, applied: Option<&Applied>) -> DateTime {
    applied.and_then(first_of).unwrap_or(plan.start)
}

fn moments(applied: &Applied) -> impl Iterator<Item = DateTime> + '_ {
    let areas = applied.areas.iter().flat_map(|a| [a.started, a.finished, a.wet_until, a.rinsed]);
    applied.loads.iter().map(|l| l.mixed).chain(areas).flatten()
}

fn hours(voice: &Voice<'_>, applied: Option<&Applied>) -> Result<String, DocumentError> {
    let unknown = voice.words.word("certificate.unknown")?;
    let Some(applied) = applied else {
        return Ok(unknown.to_owned());
    };
    match (moments(applied).min(), moments(applied).max()) {
        (Some(from), Some(to)) => {
            Ok(voice.words.say("clock_range", context! { from => voice.clock(from), to => voice.moment(to)? })?)
        }
        _ => Ok(unknown.to_owned()),
    }
}

fn facts(voice: &Voice<'_>, applied: Option<&Applied>) -> Result<Vec<Value>, DocumentError> {
    let (plan, words) = (voice.plan, voice.words);
    let label = |key: &str| words.word(&format!("certificate.facts.{key}"));
    let made = made(plan, applied);
    // nobody is kept out of where nothing was done
    if made.is_empty() {
        return Ok(Vec::new());
    }
    let (big, small) = match reentry(plan, applied) {
        Reentry::At(moment) => (voice.clock(moment), voice.date(moment.date())?),
        Reentry::NotKnown => (label("reentry_not_known")?.to_owned(), label("reentry_not_known_small")?.to_owned()),
    };
    let mut facts = vec![json!({ "label": label("reentry")?, "big": big, "small": small })];
    let mut contacts: Vec<String> = made.iter().map(|t| voice.time(&t.directions.contact_time)).collect();
    contacts.dedup();
    facts.push(json!({ "label": label("contact")?, "big": contacts.join(" · "), "small": label("contact_small")? }));
    if let [treatment] = made.as_slice() {
        let read = applied.map(|a| strength_read(voice, a, treatment)).transpose()?.flatten();
        let big = match read {
            Some(read) => read,
            None => label("not_read")?.to_owned(),
        };
        let planned = voice.units.strength(&treatment.strength.mixed).main;
        let small = words.say("certificate.facts.strength_small", context! { strength => planned })?;
        facts.push(json!({ "label": label("strength")?, "big": big, "small": small }));
    }
    let rinses: Vec<&TreatmentPlan> = made.iter().copied().filter(|t| t.rinse.is_some()).collect();
    let fact = match rinses.first().and_then(|t| t.rinse.as_ref()) {
        None => json!({ "label": label("rinse")?, "big": label("no_rinse")?, "small": label("no_rinse_small")? }),
        Some(rinse) => {
            let done = rinses.iter().all(|t| {
                t.areas.iter().filter(|a| !is_skipped(applied, t, &a.name)).all(|a| {
                    applied.and_then(|log| entry_of(log, t.number, &a.name)).is_some_and(|e| e.rinsed.is_some())
                })
            });
            let big = if done { label("rinsed")? } else { words.word("certificate.unknown")? };
            let rinse = rinse_with(voice, rinse)?;
            let small = words.say("certificate.facts.rinse_small", context! { rinse })?;
            json!({ "label": label("rinse")?, "big": big, "small": small })
        }
    };
    facts.push(fact);
    Ok(facts)
}

/// The treatments of which something was done, or may have been: without a word in the log none is left out.
pub(super) fn made<'p>(plan: &'p Plan, applied: Option<&Applied>) -> Vec<&'p TreatmentPlan> {
    let all = plan.treatments.iter();
    all.filter(|t| treatment_made(t, applied) != Made::Not).collect()
}

/// Whether the log says that an area was left out.
fn is_skipped(applied: Option<&Applied>, treatment: &TreatmentPlan, area: &str) -> bool {
    let entry = applied.and_then(|log| entry_of(log, treatment.number, area));
    entry.is_some_and(|entry| entry.skipped.is_some())
}

/// One time for the whole site: the later of the planned time and what the log allows, which is contact time, the label's
/// interval and the clearing of a mist from the true finish, and never before anything that the log holds. What was not made at
/// all keeps nobody out.
fn reentry(plan: &Plan, applied: Option<&Applied>) -> Reentry {
    let Some(applied) = applied else { return plan.reentry };
    let made = made(plan, Some(applied));
    let planned = if made.len() == plan.treatments.len() {
        plan.reentry
    } else {
        let done = |t: &TreatmentPlan| t.areas.iter().map(|area| area.times.done).max();
        let each = made.iter().filter_map(|t| Some(t.reentry_after(done(t)?).not_before(t.wet_until)));
        each.max().unwrap_or(plan.reentry)
    };
    let mut latest = moments(applied).fold(planned, Reentry::not_before);
    for treatment in made {
        for entry in applied.areas.iter().filter(|a| a.treatment == treatment.number) {
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
    applied: &Applied,
    treatment: &TreatmentPlan,
) -> Result<Option<String>, DocumentError> {
    let last = treatment.loads.iter().filter_map(|l| last_mixed(applied, treatment.number, l.number));
    let read: Vec<&Reading> = last.filter_map(|entry| entry.reading.as_ref()).collect();
    Ok(match read.as_slice() {
        [] => None,
        [one] => Some(voice.reading(one)?),
        [first, rest @ ..] if rest.iter().all(|other| other == first) => Some(voice.reading(first)?),
        all => {
            let low = all.iter().map(|r| &r.low).min();
            let high = all.iter().map(|r| &r.high).max();
            low.zip(high).map(|(low, high)| voice.between(low, high)).transpose()?
        }
    })
}

/// The method of application in words, as something that was done.
pub(super) fn method<'w>(voice: &Voice<'w>, treatment: &TreatmentPlan) -> Result<&'w str, DocumentError> {
    let method = treatment.sprayer.method.word();
    Ok(voice.words.word(&format!("certificate.methods.{method}"))?)
}

/// The areas that were treated: what was left out stands among the deviations alone.
fn areas(voice: &Voice<'_>, applied: Option<&Applied>) -> Result<Vec<Value>, DocumentError> {
    let unknown = voice.words.word("certificate.unknown")?;
    let mut rows = Vec::new();
    for treatment in &voice.plan.treatments {
        for area in treatment.areas.iter().filter(|a| !is_skipped(applied, treatment, &a.name)) {
            let entry: Option<&AppliedArea> = applied.and_then(|a| entry_of(a, treatment.number, &area.name));
            let treated = match entry.and_then(|e| e.started.zip(e.finished)) {
                Some((from, to)) => {
                    voice.words.say("clock_range", context! { from => voice.clock(from), to => voice.clock(to) })?
                }
                None => unknown.to_owned(),
            };
            let wet_until = match entry.and_then(|e| e.wet_until) {
                Some(wet_until) => voice.moment(wet_until)?,
                None => unknown.to_owned(),
            };
            let checks: Vec<&AppliedCheck> =
                applied.map(|a| checks_of(a, treatment.number, &area.name)).unwrap_or_default();
            let rinsed = entry.and_then(|e| e.rinsed);
            let shortest = checks.iter().map(|check| check.kept_wet(rinsed)).min();
            let contact = match &shortest {
                Some(kept) => {
                    let blanks = context! { spots => checks.len(), kept => voice.time(kept) };
                    voice.words.say("certificate.spots_kept", blanks)?
                }
                None => voice.words.word("certificate.no_spot")?.to_owned(),
            };
            rows.push(json!({
                "treatment": treatment.number.to_string(),
                "name": area.name,
                "product": treatment.product.name,
                "method": method(voice, treatment)?,
                "size": voice.units.area(&area.size).main,
                "treated": treated,
                "wet_until": wet_until,
                "contact": contact,
            }));
        }
    }
    Ok(rows)
}

fn checks_of<'a>(applied: &'a Applied, treatment: usize, area: &str) -> Vec<&'a AppliedCheck> {
    let own = |check: &&AppliedCheck| check.treatment == treatment && check.area == area;
    applied.checks.iter().filter(own).collect()
}

/// Each with enough of its digest to tell it from another; the record has all of it.
fn photographs(voice: &Voice<'_>, applied: Option<&Applied>) -> Result<Vec<String>, DocumentError> {
    const SHOWN: usize = 16;
    let photographs = applied.map(|a| a.photographs.as_slice()).unwrap_or_default();
    let told = photographs.iter().map(|p| {
        let key = if p.shows.is_some() { "certificate.photograph_shows" } else { "certificate.photograph" };
        let digest = in_groups(&p.sha256[..SHOWN]);
        let blanks = context! { file => &p.file, digest, shows => &p.shows };
        voice.words.say(key, blanks).map_err(DocumentError::from)
    });
    told.collect()
}

/// Which revision this is and what it replaces; nothing on the first.
fn revision(voice: &Voice<'_>, applied: Option<&Applied>) -> Result<Option<String>, DocumentError> {
    let Some((applied, replaces)) = applied.and_then(|a| Some((a, a.replaces.as_ref()?))) else {
        return Ok(None);
    };
    let blanks = context! { revision => applied.revision, replaces => in_groups(replaces) };
    Ok(Some(voice.words.say("certificate.revision", blanks)?))
}

/// The visit's crew, and whoever else the log says has mixed.
fn crew(voice: &Voice<'_>, conformity: &Conformity) -> Result<Vec<Value>, DocumentError> {
    let role = voice.words.word("certificate.role")?;
    let people = if conformity.people.is_empty() { &voice.plan.crew } else { &conformity.people };
    let row = |m: &Member| json!({ "name": m.name, "role": role, "licence": m.licence });
    Ok(people.iter().map(row).collect())
}
