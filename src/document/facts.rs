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

/// A registration number as it stands behind its caption, `Reg. No.`: a text that begins with one, such as `EPA Reg. No. 1-2`,
/// is given without it, `EPA 1-2`. The plan and the record keep what was written.
pub(super) fn registration(written: Option<&str>) -> Option<String> {
    let written = written?;
    let words: Vec<&str> = written.split_whitespace().collect();
    let plain = |word: &str| word.trim_end_matches(['.', ':', '#']).to_lowercase();
    // The agency stands first, if it stands there at all: `EPA`, `U.S. EPA`.
    let agency = words
        .iter()
        .take_while(|word| word.chars().all(|c| c.is_ascii_uppercase() || c == '.') && plain(word) != "no")
        .count();
    let caption: Vec<String> = words.iter().skip(agency).map(|word| plain(word)).collect();
    let of = |texts: &[&str]| texts.len() <= caption.len() && texts.iter().zip(&caption).all(|(a, b)| a == b);
    let captions: &[&[&str]] = &[
        &["reg", "no"],
        &["reg", "number"],
        &["reg", "nr"],
        &["registration", "no"],
        &["registration", "number"],
        &["n.º", "de", "reg"],
        &["n.º", "reg"],
        &["n°", "d'enr"],
        &["reg"],
        &["registration"],
    ];
    let Some(found) = captions.iter().find(|words| of(words)) else {
        return Some(written.to_owned());
    };
    let number = words.get(agency + found.len()..).filter(|rest| !rest.is_empty());
    let agency = words.get(..agency).unwrap_or_default();
    Some(number.map_or_else(|| written.to_owned(), |number| [agency, number].concat().join(" ")))
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_registration_has_one_caption() {
        for (written, shown) in [
            ("00000-75", "00000-75"),
            ("EPA Reg. No. 00000-75", "EPA 00000-75"),
            ("EPA Reg No 00000-75", "EPA 00000-75"),
            ("Reg. No. 00000-75", "00000-75"),
            ("U.S. EPA Registration Number: 00000-75", "U.S. EPA 00000-75"),
            ("N.º de reg. 12", "12"),
            ("EPA 00000-75", "EPA 00000-75"),
            ("Reg. No.", "Reg. No."),
            ("PCP 12345", "PCP 12345"),
        ] {
            assert_eq!(registration(Some(written)).as_deref(), Some(shown), "{written}");
        }
        assert_eq!(registration(None), None);
    }
}
