//! The rules of a certificate in words: each with what was found and how it came out, and a sentence for whatever deviates.

use minijinja::value::Serde;
use minijinja::{Value, context};
use serde::Serialize;

use super::Said;
use super::used::band_word;
use super::voice::Voice;
use crate::job::ServiceLog;
use crate::record::{Conformity, Outcome, Rule, Verdict};

/// A rule, what was found, and how it came out.
#[derive(Clone, Debug, Serialize)]
pub(super) struct RuleRow {
    rule: String,
    found: String,
    verdict: String,
    mark: Mark,
}

/// What a row is marked with: three marks, so that what nobody could evaluate looks like neither.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Mark {
    Met,
    NotMet,
    NotEvaluated,
}

/// A row for each rule, in which every verdict of it is counted.
pub(super) fn rules(voice: &Voice<'_>, conformity: &Conformity) -> Said<Vec<RuleRow>> {
    let mut rows = Vec::new();
    for name in Rule::NAMES {
        let all: Vec<&Verdict> = conformity.verdicts.iter().filter(|v| v.rule.name() == name).collect();
        // one that could not be judged weighs less than one that deviates and more than those that hold
        let (verdict, mark) = if all.iter().any(|v| v.deviates()) {
            ("not_met", Mark::NotMet)
        } else if all.iter().any(|v| v.outcome == Outcome::NotJudged) {
            ("not_evaluated", Mark::NotEvaluated)
        } else if all.iter().any(|v| v.outcome == Outcome::Holds) {
            ("met", Mark::Met)
        } else {
            // what was mixed again stands for no load; without one that was not there is nothing to say
            continue;
        };
        rows.push(RuleRow {
            rule: voice.word(&format!("certificate.rules.{name}"))?,
            found: found(voice, name, &all)?,
            verdict: voice.word(&format!("certificate.verdict.{verdict}"))?,
            mark,
        });
    }
    Ok(rows)
}

/// The rules that could not be judged, in whole or in part, each with what was found.
pub(super) fn not_evaluated(voice: &Voice<'_>, conformity: &Conformity) -> Said<Vec<String>> {
    let unjudged =
        |name: &&str| conformity.verdicts.iter().any(|v| v.rule.name() == *name && v.outcome == Outcome::NotJudged);
    let row = |name: &str| {
        let all: Vec<&Verdict> = conformity.verdicts.iter().filter(|v| v.rule.name() == name).collect();
        let (rule, found) = (voice.word(&format!("certificate.rules.{name}"))?, found(voice, name, &all)?);
        voice.say("certificate.not_evaluated", context! { rule, found })
    };
    Rule::NAMES.into_iter().filter(unjudged).map(row).collect()
}

/// How many hold of all that were counted, the figure nearest to the rule's edge, and what the others are.
fn found(voice: &Voice<'_>, name: &str, all: &[&Verdict]) -> Said {
    let count = |outcome: Outcome| all.iter().filter(|v| v.outcome == outcome).count();
    let (holds, not_judged, again) = (count(Outcome::Holds), count(Outcome::NotJudged), count(Outcome::Replaced));
    let unwatched = name == "contact";
    let key = match name {
        "contact" => "certificate.found_unwatched",
        "lot" => "certificate.found_lot_unknown",
        _ => "certificate.found_not_judged",
    };
    let unjudged = voice.say(key, context! { not_judged })?;
    if not_judged == all.len() {
        return Ok(unjudged);
    }
    // areas of which no spot was watched are no spots
    let total = if unwatched { all.len() - not_judged } else { all.len() };
    let (key, least) = match least(voice, all)? {
        Some((key, least)) => (key, Some(least)),
        None => ("certificate.found", None),
    };
    let mut found = voice.say(key, context! { holds, count => total, least })?;
    if not_judged > 0 {
        found = voice.say("certificate.found_and", context! { found, unjudged })?;
    }
    if again > 0 {
        found = voice.say("certificate.found_again", context! { found, again })?;
    }
    Ok(found)
}

/// The figure nearest to the edge of a rule, with the sentence that it goes into: when work began, the weakest reading of
/// what went into areas, the shortest time wet, the lot that expires first.
fn least(voice: &Voice<'_>, all: &[&Verdict]) -> Said<Option<(&'static str, String)>> {
    let began = all.iter().find_map(|v| if let Rule::Began { began, .. } = &v.rule { Some(*began) } else { None });
    if let Some(began) = began {
        return Ok(Some(("certificate.found_began", voice.moment(began)?)));
    }
    let read = all.iter().filter(|v| v.outcome != Outcome::Replaced).filter_map(|v| match &v.rule {
        Rule::Reading { read, .. } => read.as_ref(),
        _ => None,
    });
    if let Some(weakest) = read.min_by(|a, b| (&a.low, &a.high).cmp(&(&b.low, &b.high))) {
        return Ok(Some(("certificate.found_reading", voice.reading(weakest)?)));
    }
    let kept = all.iter().filter_map(|v| match &v.rule {
        Rule::Contact { kept, .. } => Some(("certificate.found_contact", kept.as_ref()?)),
        Rule::LastPatch { kept, .. } => Some(("certificate.found_last_patch", kept)),
        _ => None,
    });
    if let Some((key, shortest)) = kept.min_by_key(|(_, kept)| *kept) {
        return Ok(Some((key, voice.time(shortest))));
    }
    let days = all.iter().filter_map(|v| if let Rule::Lot { last_day, .. } = &v.rule { *last_day } else { None });
    days.min().map(|day| Ok(("certificate.found_lot", voice.date(day)?))).transpose()
}

/// What was not as planned: rules that were not kept, and what the crew wrote, each in a sentence.
pub(super) fn deviations(
    voice: &Voice<'_>,
    service_log: Option<&ServiceLog>,
    conformity: &Conformity,
) -> Said<Vec<String>> {
    let mut all = Vec::new();
    for verdict in conformity.verdicts.iter().filter(|v| v.is_told()) {
        let reported = sentence(voice, &verdict.rule)?;
        let replaced = verdict.outcome == Outcome::Replaced;
        all.push(if replaced { voice.say("certificate.deviation_replaced", context! { reported })? } else { reported });
    }
    all.extend(remarks(voice, service_log)?);
    Ok(all)
}

/// What the crew wrote of what was not as planned, each in a sentence.
pub(super) fn remarks(voice: &Voice<'_>, service_log: Option<&ServiceLog>) -> Said<Vec<String>> {
    let written = service_log.map(|log| log.deviations.as_slice()).unwrap_or_default().iter();
    written.map(|deviation| voice.say("certificate.deviation", Serde(deviation))).collect()
}

/// The rules that do not hold, each in a sentence.
pub fn failed_rules(voice: &Voice<'_>, conformity: &Conformity) -> Said<Vec<String>> {
    let failed = conformity.verdicts.iter().filter(|v| v.deviates());
    failed.map(|v| sentence(voice, &v.rule)).collect()
}

/// How a rule was not kept.
fn sentence(voice: &Voice<'_>, rule: &Rule) -> Said {
    let product = |treatment: &usize| {
        let planned = treatment.checked_sub(1).and_then(|i| voice.plan.treatments.get(i));
        planned.map_or("", |t| t.product.name.as_str())
    };
    let (key, blanks): (&str, Value) = match rule {
        Rule::Began { planned, began, minutes } => {
            let key = if began < planned { "certificate.deviation_early" } else { "certificate.deviation_late" };
            let (planned, began) = (voice.moment(*planned)?, voice.moment(*began)?);
            (key, context! { planned, began, minutes })
        }
        Rule::Mixed { treatment, load, skipped } => {
            let blanks = context! { product => product(treatment), load, reason => skipped };
            ("certificate.deviation_load_skipped", blanks)
        }
        Rule::Solution { treatment, mixed, needed } => {
            let (mixed, needed) = (voice.units.solution(mixed).main, voice.units.solution(needed).main);
            ("certificate.deviation_solution", context! { product => product(treatment), mixed, needed })
        }
        Rule::Reading { read: None, .. } => ("certificate.not_read", context! {}),
        Rule::Reading { treatment, load, read: Some(read), band, result } => {
            let key = match (&read.instrument, band) {
                (Some(_), _) => "certificate.deviation_instrument",
                (None, Some(_)) => "certificate.deviation_reading",
                (None, None) => "certificate.deviation_reading_alone",
            };
            let band = band.as_ref().map(|band| voice.passing(band)).transpose()?;
            let (read, result) = (voice.reading(read)?, band_word(voice, *result)?);
            (key, context! { product => product(treatment), load, read, band, result })
        }
        Rule::Dose { treatment, load, water, product: used, wanted } => {
            let (used, wanted) = (voice.amount(used)?.main, voice.amount(wanted)?.main);
            let water = voice.units.water(water).main;
            ("certificate.deviation_dose", context! { product => product(treatment), load, used, water, wanted })
        }
        Rule::Done { treatment, area, skipped } => {
            ("certificate.deviation_done", context! { product => product(treatment), area, reason => skipped })
        }
        Rule::Contact { treatment, area, spot, kept, wanted } => {
            let (kept, wanted) = (kept.as_ref().map(|kept| voice.time(kept)), voice.time(wanted));
            ("certificate.deviation_contact", context! { product => product(treatment), area, spot, kept, wanted })
        }
        Rule::LastPatch { treatment, area, kept, wanted, .. } => {
            let (kept, wanted) = (voice.time(kept), voice.time(wanted));
            ("certificate.deviation_last_patch", context! { product => product(treatment), area, kept, wanted })
        }
        Rule::Rewets { treatment, area, done, wanted } => {
            ("certificate.deviation_rewets", context! { product => product(treatment), area, done, wanted })
        }
        Rule::Rinse { treatment, area, rinsed, not_before } => match rinsed.zip(*not_before) {
            Some((rinsed, due)) => {
                let (rinsed, due) = (voice.clock(rinsed)?, voice.clock(due)?);
                let blanks = context! { product => product(treatment), area, rinsed, due };
                ("certificate.deviation_rinse_early", blanks)
            }
            None => ("certificate.deviation_rinse_missing", context! { product => product(treatment), area }),
        },
        Rule::Lot { treatment, lot, strip, used, last_day } => {
            let key = match (strip, last_day) {
                (false, Some(_)) => "certificate.deviation_lot",
                (false, None) => "certificate.deviation_lot_unknown",
                (true, Some(_)) => "certificate.deviation_strip_lot",
                (true, None) => "certificate.deviation_strip_lot_unknown",
            };
            let last_day = last_day.map(|day| voice.date(day)).transpose()?;
            (key, context! { product => product(treatment), lot, used => voice.date(*used)?, last_day })
        }
        Rule::Licence { name, .. } => ("certificate.deviation_licence", context! { name }),
    };
    voice.say(key, blanks)
}
