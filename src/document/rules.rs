//! The rules of a certificate in words: each with what was found and its verdict, and a sentence for whatever deviates.

use jiff::civil::Date;
use minijinja::context;
use minijinja::value::Serde;
use serde_json::{Value, json};

use super::DocumentError;
use super::voice::Voice;
use crate::job::Applied;
use crate::quantity::{Strength, Time};
use crate::record::{Conformity, Outcome, Passing, Rule, Verdict};

/// A row for each rule that was judged: the rule, what was found, the verdict, and whether it holds.
pub(super) fn rules(voice: &Voice<'_>, conformity: &Conformity) -> Result<Vec<Value>, DocumentError> {
    let words = voice.words;
    let mut rows = Vec::new();
    for name in Rule::NAMES {
        let all: Vec<&Verdict> = conformity.verdicts.iter().filter(|v| v.rule.name() == name).collect();
        let judged: Vec<&Verdict> = all.iter().copied().filter(|v| v.outcome != Outcome::Replaced).collect();
        if judged.is_empty() {
            continue;
        }
        // one that could not be judged weighs less than one that deviates and more than those that hold
        let verdict = if judged.iter().any(|v| v.deviates()) {
            "deviates"
        } else if judged.iter().any(|v| v.outcome == Outcome::NotJudged) {
            "not_judged"
        } else {
            "holds"
        };
        rows.push(json!({
            "rule": words.word(&format!("certificate.rules.{name}"))?,
            "found": found(voice, name, &judged, all.len() - judged.len())?,
            "verdict": words.word(&format!("certificate.verdict.{verdict}"))?,
            "holds": verdict == "holds",
        }));
    }
    Ok(rows)
}

/// How many hold of how many, and the figure nearest to the rule's edge.
fn found(voice: &Voice<'_>, name: &str, judged: &[&Verdict], afresh: usize) -> Result<String, DocumentError> {
    let words = voice.words;
    let holds = judged.iter().filter(|v| v.outcome == Outcome::Holds).count();
    let (key, least) = match name {
        "reading" => (
            "certificate.found_reading",
            weakest(judged).map(|s| voice.units.strength(s).main),
        ),
        "contact" => ("certificate.found_contact", shortest(judged).map(|t| voice.time(t))),
        "lot" => (
            "certificate.found_lot",
            first_to_expire(judged).map(|day| voice.date(day)).transpose()?,
        ),
        _ => ("certificate.found", None),
    };
    let key = if least.is_some() { key } else { "certificate.found" };
    let blanks = context! { holds, count => judged.len(), least };
    let found = words.say(key, blanks)?;
    if afresh == 0 {
        return Ok(found);
    }
    Ok(words.say("certificate.found_afresh", context! { found, afresh })?)
}

fn weakest<'v>(judged: &[&'v Verdict]) -> Option<&'v Strength> {
    let lows = judged.iter().filter_map(|v| match &v.rule {
        Rule::Reading { read, .. } => Some(&read.low),
        _ => None,
    });
    lows.min()
}

fn shortest<'v>(judged: &[&'v Verdict]) -> Option<&'v Time> {
    let times = judged.iter().filter_map(|v| match &v.rule {
        Rule::Contact { kept, .. } => Some(kept),
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

/// What was not as planned: rules that do not hold, loads that were not mixed, and what the crew wrote, each in a sentence.
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
    for load in &applied.loads {
        if let Some(reason) = &load.skipped {
            let blanks = context! { product => product(voice, load.treatment), load => load.load, reason };
            all.push(words.say("certificate.deviation_load_skipped", blanks)?);
        }
    }
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
        Rule::Reading {
            treatment,
            load,
            read,
            band,
            ..
        } => {
            let band = band.as_ref().map(|b| self::band(voice, b)).transpose()?;
            let read = voice.between(&read.low, &read.high)?;
            words.say(
                "certificate.deviation_reading",
                context! { product => product(voice, *treatment), load, read, band },
            )?
        }
        Rule::Dose {
            treatment,
            load,
            water,
            product: used,
            wanted,
        } => {
            let (used, wanted) = (voice.amount(used)?.main, voice.amount(wanted)?.main);
            let water = voice.units.water(water).main;
            words.say(
                "certificate.deviation_dose",
                context! { product => product(voice, *treatment), load, used, water, wanted },
            )?
        }
        Rule::Done {
            treatment,
            area,
            skipped,
        } => words.say(
            "certificate.deviation_done",
            context! { product => product(voice, *treatment), area, reason => skipped },
        )?,
        Rule::Contact {
            treatment,
            area,
            kept,
            wanted,
        } => {
            let (kept, wanted) = (voice.time(kept), voice.time(wanted));
            words.say(
                "certificate.deviation_contact",
                context! { product => product(voice, *treatment), area, kept, wanted },
            )?
        }
        Rule::Rewets {
            treatment,
            area,
            done,
            wanted,
        } => words.say(
            "certificate.deviation_rewets",
            context! { product => product(voice, *treatment), area, done, wanted },
        )?,
        Rule::Rinse {
            treatment,
            area,
            rinsed,
            not_before,
        } => {
            let product = product(voice, *treatment);
            match rinsed.zip(*not_before) {
                Some((rinsed, due)) => {
                    let (rinsed, due) = (voice.clock(rinsed), voice.clock(due));
                    words.say(
                        "certificate.deviation_rinse_early",
                        context! { product, area, rinsed, due },
                    )?
                }
                None => words.say("certificate.deviation_rinse_missing", context! { product, area })?,
            }
        }
        Rule::Lot {
            treatment,
            lot,
            strip,
            used,
            last_day,
        } => {
            let key = match (strip, last_day) {
                (false, Some(_)) => "certificate.deviation_lot",
                (false, None) => "certificate.deviation_lot_unknown",
                (true, Some(_)) => "certificate.deviation_strip_lot",
                (true, None) => "certificate.deviation_strip_lot_unknown",
            };
            let used = voice.date(*used)?;
            let last_day = last_day.map(|day| voice.date(day)).transpose()?;
            words.say(
                key,
                context! { product => product(voice, *treatment), lot, used, last_day },
            )?
        }
        Rule::Licence { name, .. } => words.say("certificate.deviation_licence", context! { name })?,
    })
}

fn band(voice: &Voice<'_>, band: &Passing) -> Result<String, DocumentError> {
    if band.low_passes {
        return Ok(voice.between(&band.low, &band.high)?);
    }
    let blanks = context! { low => voice.bare(&band.low), high => voice.units.strength(&band.high).main };
    Ok(voice.words.say("range_above", blanks)?)
}
