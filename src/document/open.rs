//! What a log still lacks, load by load and area by area, for whoever is to write it down.

use minijinja::context;
use minijinja::value::Serde;

use super::Said;
use super::voice::Voice;
use crate::job::Job;
use crate::record::{Conformity, Missing, Of, wanted};

/// What a log lacks; without a log, everything that it is to hold.
pub fn open_lines(voice: &Voice<'_>, job: &Job, log: &Conformity) -> Said<Vec<String>> {
    if job.service_log.is_some() {
        return missing_texts(voice, job, &log.missing);
    }
    let lines = wanted(voice.plan, job);
    lines.iter().map(|line| still_to_write(voice, line.treatment.number, line.of, &line.keys)).collect()
}

/// What keeps a certificate from being made, a line for each load, each area, and each thing else.
pub fn missing_texts(voice: &Voice<'_>, job: &Job, missing: &[Missing]) -> Said<Vec<String>> {
    let lines = wanted(voice.plan, job);
    let mut texts = Vec::new();
    let mut said = vec![false; lines.len()];
    for one in missing {
        let found = lines.iter().position(|line| {
            Some(line.treatment.number) == one.treatment
                && match line.of {
                    Of::Load(load) => Some(load.number) == one.load,
                    Of::Area(area) => Some(&area.name) == one.area.as_ref(),
                }
        });
        // what is written down and cannot be right is no key that is missing
        let lacks = |other: &Missing, key: &str| [key, "load", "area"].contains(&other.what());
        let is_key = |at: &usize| lines[*at].keys.iter().any(|key| lacks(one, key));
        let Some(at) = found.filter(is_key) else {
            texts.push(voice.say(&format!("certificate.missing.{}", one.what()), Serde(one))?);
            continue;
        };
        if std::mem::replace(&mut said[at], true) {
            continue;
        }
        let line = &lines[at];
        let same =
            |other: &&Missing| (other.treatment, other.load, &other.area) == (one.treatment, one.load, &one.area);
        let of_line: Vec<&Missing> = missing.iter().filter(same).collect();
        let keys = line.keys.iter().copied().filter(|key| of_line.iter().any(|other| lacks(other, key)));
        texts.push(still_to_write(voice, line.treatment.number, line.of, &keys.collect::<Vec<_>>())?);
    }
    Ok(texts)
}

fn still_to_write(voice: &Voice<'_>, treatment: usize, of: Of<'_>, keys: &[&str]) -> Said {
    let keys = keys.iter().map(|key| voice.word(caption(key))).collect::<Said<Vec<String>>>()?.join(", ");
    match of {
        Of::Load(load) => voice.say("certificate.missing.load", context! { keys, treatment, load => load.number }),
        Of::Area(area) => voice.say("certificate.missing.area", context! { keys, treatment, area => &area.name }),
    }
}

/// What the mix sheet calls the blank of a key of the log.
pub(super) fn caption(key: &str) -> &'static str {
    match key {
        "mixed" => "sheet.words.mixed",
        "lot" => "sheet.words.lot",
        "strip_lot" => "sheet.words.strip_lot",
        "reading" => "sheet.words.read",
        "water" => "sheet.words.water_used",
        "product" => "sheet.words.product_used",
        "by" => "sheet.words.by",
        "started" => "sheet.words.started",
        "finished" => "sheet.words.finished",
        "rewets" => "sheet.words.rewet",
        "wet_until" => "sheet.words.seen_wet",
        _ => "sheet.words.rinsed",
    }
}
