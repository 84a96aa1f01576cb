//! The certificate: what was done, as far as the log shows it, and no further.

use jiff::civil::DateTime;
use minijinja::context;
use serde_json::{Value, json};

use super::facts::rinse_with;
use super::mix_sheet::page_word;
use super::rules;
use super::voice::Voice;
use super::{DocumentError, View};
use crate::calc::Amount;
use crate::job::{Applied, AppliedArea, AppliedLoad, Reading};
use crate::plan::{Plan, TreatmentPlan};
use crate::quantity::Volume;
use crate::record::{Band, Conformity, compare, entries_of, entry_of, in_groups, revision_mark};
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
        // the word "completed" stands in the other two alone
        "certificate.lead_failed"
    } else if deviations.is_empty() {
        "certificate.lead_complete"
    } else {
        "certificate.lead_deviates"
    };
    let signature = words.say(
        "certificate.signature.company",
        context! { company => &plan.company.name },
    )?;
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
        "crew": crew(voice)?,
        "not_claimed": not_claimed?,
        "signature": [signature, words.word("certificate.signature.name")?, words.word("certificate.signature.moment")?],
        "record": { "number": voice.record.number, "digest": null, "qr": voice.qr()? },
        "deference": words.word("deference")?,
    });
    Ok(View {
        template: Template::Certificate,
        stem: format!(
            "{}-certificate{}",
            plan.job,
            revision_mark(applied.map_or(1, |a| a.revision))
        ),
        data,
    })
}

/// The day the work began, as the log has it; else as planned.
fn day(plan: &Plan, applied: Option<&Applied>) -> DateTime {
    applied.and_then(|a| moments(a).min()).unwrap_or(plan.start)
}

fn moments(applied: &Applied) -> impl Iterator<Item = DateTime> + '_ {
    let areas = applied
        .areas
        .iter()
        .flat_map(|a| [a.started, a.finished, a.wet_until, a.rinsed]);
    applied.loads.iter().map(|l| l.mixed).chain(areas).flatten()
}

fn hours(voice: &Voice<'_>, applied: Option<&Applied>) -> Result<String, DocumentError> {
    let unknown = voice.words.word("certificate.unknown")?;
    let Some(applied) = applied else {
        return Ok(unknown.to_owned());
    };
    match (moments(applied).min(), moments(applied).max()) {
        (Some(from), Some(to)) => Ok(voice.words.say(
            "clock_range",
            context! { from => voice.clock(from), to => voice.moment(to)? },
        )?),
        _ => Ok(unknown.to_owned()),
    }
}

fn facts(voice: &Voice<'_>, applied: Option<&Applied>) -> Result<Vec<Value>, DocumentError> {
    let (plan, words) = (voice.plan, voice.words);
    let label = |key: &str| words.word(&format!("certificate.facts.{key}"));
    let reentry = reentry(plan, applied);
    let mut facts = vec![json!({
        "label": label("reentry")?,
        "big": voice.clock(reentry),
        "small": voice.date(reentry.date())?,
    })];
    let mut contacts: Vec<String> = plan
        .treatments
        .iter()
        .map(|t| voice.time(&t.directions.contact_time))
        .collect();
    contacts.dedup();
    facts.push(json!({ "label": label("contact")?, "big": contacts.join(" · "), "small": label("contact_small")? }));
    if let [treatment] = plan.treatments.as_slice() {
        let read = applied.map(|a| all_readings(a, treatment)).unwrap_or_default();
        let low = read.iter().map(|r| &r.low).min();
        let high = read.iter().map(|r| &r.high).max();
        let big = match (low, high) {
            (Some(low), Some(high)) => voice.between(low, high)?,
            _ => label("not_read")?.to_owned(),
        };
        let planned = voice.units.strength(&treatment.strength.mixed).main;
        let small = words.say("certificate.facts.strength_small", context! { strength => planned })?;
        facts.push(json!({ "label": label("strength")?, "big": big, "small": small }));
    }
    let rinses: Vec<&TreatmentPlan> = plan.treatments.iter().filter(|t| t.rinse.is_some()).collect();
    let fact = match rinses.first().and_then(|t| t.rinse.as_ref()) {
        None => json!({ "label": label("rinse")?, "big": label("no_rinse")?, "small": label("no_rinse_small")? }),
        Some(rinse) => {
            let done = rinses.iter().all(|t| {
                t.areas.iter().all(|a| {
                    applied
                        .and_then(|log| entry_of(log, t.number, &a.name))
                        .is_some_and(|e| e.rinsed.is_some())
                })
            });
            let big = if done {
                label("rinsed")?
            } else {
                words.word("certificate.unknown")?
            };
            let rinse = rinse_with(voice, rinse)?;
            let small = words.say("certificate.facts.rinse_small", context! { rinse })?;
            json!({ "label": label("rinse")?, "big": big, "small": small })
        }
    };
    facts.push(fact);
    Ok(facts)
}

/// One time for the whole site: the later of the planned time and what the log allows, which is contact time, the label's
/// interval and the clearing of a mist from the true finish, and never before anything that the log holds.
fn reentry(plan: &Plan, applied: Option<&Applied>) -> DateTime {
    let Some(applied) = applied else { return plan.reentry };
    let mut latest = moments(applied).fold(plan.reentry, DateTime::max);
    for treatment in &plan.treatments {
        for entry in applied.areas.iter().filter(|a| a.treatment == treatment.number) {
            if let Some(finished) = entry.finished {
                latest = latest.max(treatment.reentry_after(finished));
            }
            latest = latest.max(entry.rinsed.or(entry.wet_until).unwrap_or(latest));
        }
    }
    latest
}

fn all_readings(applied: &Applied, treatment: &TreatmentPlan) -> Vec<Reading> {
    applied
        .loads
        .iter()
        .filter(|l| l.treatment == treatment.number)
        .filter_map(|l| l.reading.clone())
        .collect()
}

fn areas(voice: &Voice<'_>, applied: Option<&Applied>) -> Result<Vec<Value>, DocumentError> {
    let unknown = voice.words.word("certificate.unknown")?;
    let mut rows = Vec::new();
    for treatment in &voice.plan.treatments {
        for area in &treatment.areas {
            let entry: Option<&AppliedArea> = applied.and_then(|a| entry_of(a, treatment.number, &area.name));
            let treated = match entry.and_then(|e| e.started.zip(e.finished)) {
                Some((from, to)) => voice.words.say(
                    "clock_range",
                    context! { from => voice.clock(from), to => voice.clock(to) },
                )?,
                None => unknown.to_owned(),
            };
            let contact = match entry.and_then(AppliedArea::kept_wet) {
                Some(kept) => voice.time(&kept),
                None => unknown.to_owned(),
            };
            rows.push(json!({
                "name": area.name,
                "product": treatment.product.name,
                "size": voice.units.area(&area.size).main,
                "treated": treated,
                "contact": contact,
            }));
        }
    }
    Ok(rows)
}

fn products(voice: &Voice<'_>, applied: Option<&Applied>) -> Result<Vec<Value>, DocumentError> {
    let mut rows = Vec::new();
    for treatment in &voice.plan.treatments {
        let (dilution, meaning, _) = voice.dilution(treatment)?;
        let used = used(applied, treatment);
        let (product, solution) = (&used.product, &used.solution);
        let key = used.key;
        let solution = voice.units.solution(solution).main;
        let used = match product {
            Amount::None => voice.words.say("certificate.used_ready", context! { solution })?,
            _ if treatment.ratio.is_ready_to_use() => {
                voice.words.say("certificate.used_ready", context! { solution })?
            }
            amount => {
                let product = voice.amount(amount)?.main;
                voice.words.say("certificate.used", context! { product, solution })?
            }
        };
        let used = voice.words.say(key, context! { used })?;
        let mut lots: Vec<&str> = Vec::new();
        if let Some(applied) = applied {
            let own = applied.loads.iter().filter(|l| l.treatment == treatment.number);
            lots.extend(own.filter_map(|l| l.lot.as_deref()));
        }
        lots.sort_unstable();
        lots.dedup();
        rows.push(json!({
            "name": treatment.product.name,
            "registration": super::facts::registration(treatment.product.registration.as_deref()),
            "dilution": voice.words.say("certificate.dilution", context! { dilution, meaning })?,
            "used": used,
            "lots": if lots.is_empty() { Value::Null } else { json!(lots.join(", ")) },
        }));
    }
    Ok(rows)
}

/// What was used of a product, and what says so.
struct Used {
    product: Amount,
    solution: Volume,
    key: &'static str,
}

/// Each load as often as it was mixed, with the amounts of the log where it has both, else with the plan's; without a log, or
/// with nothing mixed yet, as planned.
fn used(applied: Option<&Applied>, treatment: &TreatmentPlan) -> Used {
    let mut used = Used {
        product: Amount::None,
        solution: Volume::zero(),
        key: "certificate.used_measured",
    };
    let own = applied.into_iter().flat_map(|a| &a.loads);
    for entry in own.filter(|l| l.treatment == treatment.number && l.skipped.is_none()) {
        let Some(load) = treatment.loads.iter().find(|load| load.number == entry.load) else {
            continue;
        };
        let (amount, solution) = match entry.water.as_ref().zip(entry.product.as_ref()) {
            Some((water, amount)) => (amount, water + &amount.added_volume()),
            None => {
                used.key = "certificate.used_logged";
                (&load.product, load.solution.clone())
            }
        };
        used.solution = &used.solution + &solution;
        // what is measured in another way than the plan says is told where the log is read
        used.product = used.product.plus(amount).unwrap_or(used.product);
    }
    if used.solution.is_zero() {
        used = Used {
            product: treatment.need.product.clone(),
            solution: treatment.need.mixed.clone(),
            key: "certificate.used_planned",
        };
    }
    used
}

fn readings(voice: &Voice<'_>, applied: Option<&Applied>) -> Result<Vec<Value>, DocumentError> {
    let words = voice.words;
    let mut rows = Vec::new();
    for treatment in &voice.plan.treatments {
        let band = match &treatment.strip {
            Some(strip) => voice.band(strip)?,
            None => None,
        };
        let band = match band {
            Some(band) => band,
            None => words.word("certificate.no_band")?.to_owned(),
        };
        for load in &treatment.loads {
            let entries: Vec<&AppliedLoad> = applied
                .map(|a| entries_of(a, treatment.number, load.number).collect())
                .unwrap_or_default();
            // A load that is not in the log has one row that says so.
            let shown: Vec<Option<&AppliedLoad>> = if entries.is_empty() {
                vec![None]
            } else {
                entries.into_iter().map(Some).collect()
            };
            for entry in shown {
                let (read, result, pass) = match entry.and_then(|e| e.reading.as_ref()) {
                    Some(reading) => {
                        let result = compare(reading, treatment.strip.as_ref());
                        let read = voice.between(&reading.low, &reading.high)?;
                        (read, band_word(voice, result)?, result == Band::Passes)
                    }
                    None => (
                        words.word("certificate.not_read")?.to_owned(),
                        words.word("certificate.not_read")?.to_owned(),
                        false,
                    ),
                };
                let mixed = match entry.and_then(|e| e.mixed) {
                    Some(moment) => voice.clock(moment),
                    None => words.word("certificate.unknown")?.to_owned(),
                };
                rows.push(json!({
                    "load": load.number.to_string(),
                    "product": treatment.product.name,
                    "mixed": mixed,
                    "planned": voice.units.strength(&load.strength).main,
                    "band": band,
                    "read": read,
                    "result": result,
                    "pass": pass,
                }));
            }
        }
    }
    Ok(rows)
}

pub(super) fn band_word(voice: &Voice<'_>, band: Band) -> Result<String, DocumentError> {
    let key = match band {
        Band::Passes => "certificate.passes",
        Band::Below => "certificate.below",
        Band::Above => "certificate.above",
        Band::Unknown => "certificate.no_band",
    };
    Ok(voice.words.word(key)?.to_owned())
}

/// Each with enough of its digest to tell it from another; the record has all of it.
fn photographs(voice: &Voice<'_>, applied: Option<&Applied>) -> Result<Vec<String>, DocumentError> {
    const SHOWN: usize = 16;
    let photographs = applied.map(|a| a.photographs.as_slice()).unwrap_or_default();
    let told = photographs.iter().map(|p| {
        let key = if p.shows.is_some() {
            "certificate.photograph_shows"
        } else {
            "certificate.photograph"
        };
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

fn crew(voice: &Voice<'_>) -> Result<Vec<Value>, DocumentError> {
    let role = voice.words.word("certificate.role")?;
    Ok(voice
        .plan
        .crew
        .iter()
        .map(|m| json!({ "name": m.name, "role": role, "licence": m.licence }))
        .collect())
}
