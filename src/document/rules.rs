//! The rules of a certificate in words: each with what was found and its verdict, and a sentence for whatever deviates.

use jiff::civil::Date;
use minijinja::context;
use minijinja::value::Serde;
use serde_json::{Value, json};

use super::DocumentError;
use super::used::band_word;
use super::voice::Voice;
use crate::job::{Applied, Reading};
use crate::plan::Passing;
use crate::quantity::Time;
use crate::record::{Band, Conformity, Outcome, Rule, Verdict};

/// A row for each rule: the rule, what was found, the verdict, and whether it holds. Every verdict of the rule is counted in it.
pub(super) fn rules(voice: &Voice<'_>, conformity: &Conformity) -> Result<Vec<Value>, DocumentError> {
    let words = voice.words;
    let mut rows = Vec::new();
    for name in Rule::NAMES {
        let all: Vec<&Verdict> = conformity.verdicts.iter().filter(|v| v.rule.name() == name).collect();
        // one that could not be judged weighs less than one that deviates and more than those that hold
        let verdict = if all.iter().any(|v| v.deviates()) {
            "deviates"
        } else if all.iter().any(|v| v.outcome == Outcome::NotJudged) {
            "not_judged"
        } else if all.iter().any(|v| v.outcome == Outcome::Holds) {
            "holds"
        } else {
            // what was mixed afresh stands for no load; without one that was not there is nothing to say
            continue;
        };
        rows.push(json!({
            "rule": words.word(&format!("certificate.rules.{name}"))?,
            "found": found(voice, name, &all)?,
            "verdict": words.word(&format!("certificate.verdict.{verdict}"))?,
            "holds": verdict == "holds",
        }));
    }
    Ok(rows)
}

/// How many hold of all that were counted, the figure nearest to the rule's edge, and what the others are.
fn found(voice: &Voice<'_>, name: &str, all: &[&Verdict]) -> Result<String, DocumentError> {
    let words = voice.words;
    let count = |outcome: Outcome| all.iter().filter(|v| v.outcome == outcome).count();
    let (holds, not_judged, afresh) = (count(Outcome::Holds), count(Outcome::NotJudged), count(Outcome::Replaced));
    let unwatched = name == "contact";
    // areas of which no spot was watched are no spots
    let total = if unwatched { all.len() - not_judged } else { all.len() };
    let (key, least) = match name {
        "began" => ("certificate.found_began", began(voice, all)?),
        "reading" => ("certificate.found_reading", weakest(voice, all)?),
        "contact" => ("certificate.found_contact", shortest(all).map(|t| voice.time(t))),
        "last-patch" => ("certificate.found_last_patch", shortest(all).map(|t| voice.time(t))),
        "lot" => ("certificate.found_lot", first_to_expire(all).map(|day| voice.date(day)).transpose()?),
        _ => ("certificate.found", None),
    };
    let key = if least.is_some() { key } else { "certificate.found" };
    let mut found = words.say(key, context! { holds, count => total, least })?;
    if not_judged > 0 {
        let key = if unwatched { "certificate.found_unwatched" } else { "certificate.found_not_judged" };
        found = words.say(key, context! { found, not_judged })?;
    }
    if afresh > 0 {
        found = words.say("certificate.found_afresh", context! { found, afresh })?;
    }
    Ok(found)
}

fn began(voice: &Voice<'_>, all: &[&Verdict]) -> Result<Option<String>, DocumentError> {
    let began = all.iter().find_map(|v| match &v.rule {
        Rule::Began { began, .. } => Some(*began),
        _ => None,
    });
    Ok(began.map(|began| voice.moment(began)).transpose()?)
}

/// The weakest reading of the loads that went into areas, as it was read.
fn weakest(voice: &Voice<'_>, all: &[&Verdict]) -> Result<Option<String>, DocumentError> {
    let read = all.iter().filter(|v| v.outcome != Outcome::Replaced).filter_map(|v| match &v.rule {
        Rule::Reading { read, .. } => read.as_ref(),
        _ => None,
    });
    let weakest = read.min_by(|a, b| (&a.low, &a.high).cmp(&(&b.low, &b.high)));
    Ok(weakest.map(|read| voice.reading(read)).transpose()?)
}

fn shortest<'v>(judged: &[&'v Verdict]) -> Option<&'v Time> {
    let times = judged.iter().filter_map(|v| match &v.rule {
        Rule::Contact { kept, .. } => kept.as_ref(),
        Rule::LastPatch { kept, .. } => Some(kept),
        _ => None,
    });
    times.min()
}

fn first_to_expire(judged: &[&Verdict]) -> Option<Date> {
    let days = judged.iter().filter_map(|v| match &v.rule {
        Rule::Lot { last_day, .. } => *last_day,
        _ => None,
    });
    days.min()
}

/// What was not as planned: rules that were not kept, and what the crew wrote, each in a sentence.
pub(super) fn deviations(
    voice: &Voice<'_>,
    applied: Option<&Applied>,
    conformity: &Conformity,
) -> Result<Vec<String>, DocumentError> {
    let words = voice.words;
    let mut all = Vec::new();
    for verdict in conformity.verdicts.iter().filter(|v| v.is_told()) {
        let told = sentence(voice, &verdict.rule)?;
        all.push(if verdict.outcome == Outcome::Replaced {
            words.say("certificate.deviation_replaced", context! { told })?
        } else {
            told
        });
    }
    let Some(applied) = applied else { return Ok(all) };
    for deviation in &applied.deviations {
        all.push(words.say("certificate.deviation", Serde(deviation))?);
    }
    Ok(all)
}

/// The rules that do not hold, each in a sentence.
///
/// # Errors
/// [`DocumentError`] if a word is missing.
pub fn failed_rules(voice: &Voice<'_>, conformity: &Conformity) -> Result<Vec<String>, DocumentError> {
    let failed = conformity.verdicts.iter().filter(|v| v.deviates());
    failed.map(|v| sentence(voice, &v.rule)).collect()
}

fn product<'v>(voice: &'v Voice<'_>, treatment: usize) -> &'v str {
    let plan = treatment.checked_sub(1).and_then(|i| voice.plan.treatments.get(i));
    plan.map_or("", |t| t.product.name.as_str())
}

fn sentence(voice: &Voice<'_>, rule: &Rule) -> Result<String, DocumentError> {
    let words = voice.words;
    Ok(match rule {
        Rule::Began { planned, began, minutes } => {
            let key = if began < planned { "certificate.deviation_early" } else { "certificate.deviation_late" };
            let (planned, began) = (voice.moment(*planned)?, voice.moment(*began)?);
            words.say(key, context! { planned, began, minutes })?
        }
        Rule::Mixed { treatment, load, skipped } => words.say(
            "certificate.deviation_load_skipped",
            context! { product => product(voice, *treatment), load, reason => skipped },
        )?,
        Rule::Solution { treatment, mixed, needed } => {
            let (mixed, needed) = (voice.units.solution(mixed).main, voice.units.solution(needed).main);
            words.say(
                "certificate.deviation_solution",
                context! { product => product(voice, *treatment), mixed, needed },
            )?
        }
        Rule::Reading { treatment, load, read, band, result } => {
            reading(voice, *treatment, *load, read.as_ref(), band.as_ref(), *result)?
        }
        Rule::Dose { treatment, load, water, product: used, wanted } => {
            let (used, wanted) = (voice.amount(used)?.main, voice.amount(wanted)?.main);
            let water = voice.units.water(water).main;
            words.say(
                "certificate.deviation_dose",
                context! { product => product(voice, *treatment), load, used, water, wanted },
            )?
        }
        Rule::Done { treatment, area, skipped } => words.say(
            "certificate.deviation_done",
            context! { product => product(voice, *treatment), area, reason => skipped },
        )?,
        Rule::Contact { treatment, area, spot, kept, wanted } => {
            let (kept, wanted) = (kept.as_ref().map(|kept| voice.time(kept)), voice.time(wanted));
            words.say(
                "certificate.deviation_contact",
                context! { product => product(voice, *treatment), area, spot, kept, wanted },
            )?
        }
        Rule::LastPatch { treatment, area, kept, wanted, .. } => {
            let (kept, wanted) = (voice.time(kept), voice.time(wanted));
            words.say(
                "certificate.deviation_last_patch",
                context! { product => product(voice, *treatment), area, kept, wanted },
            )?
        }
        Rule::Rewets { treatment, area, done, wanted } => words.say(
            "certificate.deviation_rewets",
            context! { product => product(voice, *treatment), area, done, wanted },
        )?,
        Rule::Rinse { treatment, area, rinsed, not_before } => {
            let product = product(voice, *treatment);
            match rinsed.zip(*not_before) {
                Some((rinsed, due)) => {
                    let (rinsed, due) = (voice.clock(rinsed), voice.clock(due));
                    words.say("certificate.deviation_rinse_early", context! { product, area, rinsed, due })?
                }
                None => words.say("certificate.deviation_rinse_missing", context! { product, area })?,
            }
        }
        Rule::Lot { treatment, lot, strip, used, last_day } => {
            let key = match (strip, last_day) {
                (false, Some(_)) => "certificate.deviation_lot",
                (false, None) => "certificate.deviation_lot_unknown",
                (true, Some(_)) => "certificate.deviation_strip_lot",
                (true, None) => "certificate.deviation_strip_lot_unknown",
            };
            let used = voice.date(*used)?;
            let last_day = last_day.map(|day| voice.date(day)).transpose()?;
            words.say(key, context! { product => product(voice, *treatment), lot, used, last_day })?
        }
        Rule::Licence { name, .. } => words.say("certificate.deviation_licence", context! { name })?,
    })
}

fn reading(
    voice: &Voice<'_>,
    treatment: usize,
    load: usize,
    read: Option<&Reading>,
    band: Option<&Passing>,
    result: Band,
) -> Result<String, DocumentError> {
    let words = voice.words;
    let band = band.map(|b| voice.edges(&b.low, b.low_passes, &b.high, b.high_passes)).transpose()?;
    let Some(read) = read else {
        return Ok(words.word("certificate.not_read")?.to_owned());
    };
    let key = match (&read.instrument, &band) {
        (Some(_), _) => "certificate.deviation_instrument",
        (None, Some(_)) => "certificate.deviation_reading",
        (None, None) => "certificate.deviation_reading_alone",
    };
    let result = band_word(voice, result)?;
    let read = voice.reading(read)?;
    let blanks = context! { product => product(voice, treatment), load, read, band, result };
    Ok(words.say(key, blanks)?)
}
