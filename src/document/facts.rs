//! Facts and cautions in words.

use std::collections::BTreeMap;

use minijinja::value::Serde;

use super::DocumentError;
use super::voice::Voice;
use crate::plan::{Caution, Fact, Rinse};

/// A caution's sentence.
pub(super) fn caution_text(voice: &Voice<'_>, caution: &Caution) -> Result<String, DocumentError> {
    let mut facts = BTreeMap::new();
    for (name, fact) in &caution.facts {
        facts.insert(*name, fact_text(voice, fact)?);
    }
    Ok(voice.words.say(&format!("cautions.{}", caution.code), Serde(&facts))?)
}

/// What to rinse with.
pub(super) fn rinse_with(voice: &Voice<'_>, rinse: &Rinse) -> Result<String, DocumentError> {
    Ok(match &rinse.with {
        Some(with) => with.clone(),
        None => voice.words.word("potable_water")?.to_owned(),
    })
}

fn fact_text(voice: &Voice<'_>, fact: &Fact) -> Result<String, DocumentError> {
    let units = voice.units;
    Ok(match fact {
        Fact::Text(text) => text.clone(),
        Fact::Word(key) => voice.words.word(key)?.to_owned(),
        Fact::List(facts) => {
            let said: Result<Vec<String>, DocumentError> = facts
                .iter()
                .map(|fact| match fact {
                    // A list in a list is one thing said in several words.
                    Fact::List(parts) => {
                        let parts: Result<Vec<String>, _> = parts.iter().map(|p| fact_text(voice, p)).collect();
                        Ok(parts?.join(" "))
                    }
                    fact => fact_text(voice, fact),
                })
                .collect();
            said?.join(", ")
        }
        Fact::Count(number) => units.count(number).main,
        Fact::Volume(volume) => units.solution(volume).main,
        Fact::Strength(strength) => units.strength(strength).main,
        Fact::Share(share) => units.percent(share).main,
        Fact::Time(time) => voice.time(time),
        Fact::Moment(moment) => voice.moment(*moment)?,
        Fact::Day(day) => voice.date(*day)?,
        Fact::Coverage(film) => units.coverage(film).main,
        Fact::Solution(volume) => units.solution(volume).both(),
        Fact::Area(area) => units.area(area).main,
        Fact::Length(length) => units.length(length).main,
        Fact::Micrometres(length) => units.droplet(length).main,
        Fact::Temperature(temperature) => units.temperature(temperature).main,
    })
}
