//! Every key that the code asks a language file for is in it. Keys are found in the code itself, so that a new one cannot be forgotten.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use crate::calc::mixing;
use crate::catalog::{Equipment, Method};
use crate::plan::KINDS;
use crate::wording::Words;

/// The code of a room, its tests left out.
fn code(room: &str) -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src").join(room);
    let entries = fs::read_dir(&folder).unwrap();
    let files = entries.map(|entry| entry.unwrap().path());
    let files = files.filter(|file| file.extension().is_some_and(|e| e == "rs") && !file.ends_with("keys_tests.rs"));
    files
        .map(|file| {
            let text = fs::read_to_string(&file).unwrap();
            let text = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default().to_owned();
            (file.display().to_string(), text)
        })
        .collect()
}

/// The text in quotation marks that each `before` is followed by, white space apart.
fn literals_after<'t>(text: &'t str, before: &'t str) -> impl Iterator<Item = &'t str> {
    text.split(before).skip(1).filter_map(|rest| {
        let inside = rest.trim_start().strip_prefix('"')?;
        inside.split('"').next()
    })
}

fn is_key(text: &str) -> bool {
    text.split('.').all(|part| {
        !part.is_empty() && part.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || "_-".contains(c))
    })
}

#[test]
fn every_key_that_is_asked_for_is_there() {
    for tag in Words::tags() {
        let words = Words::of(tag).unwrap();
        let mut asked = BTreeSet::new();
        let mut prefixes = BTreeSet::new();
        for (_, text) in code("document") {
            for call in ["word(", "say("] {
                asked.extend(literals_after(&text, call).map(str::to_owned));
            }
            // Keys that are chosen first and asked for later, and the beginnings of keys that are put together.
            for literal in text.split('"').skip(1).step_by(2) {
                match literal.split_once('{') {
                    None if literal.contains('.') && is_key(literal) => {
                        asked.insert(literal.to_owned());
                    }
                    Some((prefix, _)) if prefix.ends_with('.') && is_key(prefix.trim_end_matches('.')) => {
                        prefixes.insert(prefix.trim_end_matches('.').to_owned());
                    }
                    _ => {}
                }
            }
            for key in literals_after(&text, "label(") {
                asked.insert(format!("certificate.facts.{key}"));
            }
            for key in literals_after(&text, "fact(") {
                asked.insert(format!("terminal.captions.{key}"));
            }
        }
        assert!(asked.len() > 80 && prefixes.len() > 6, "{asked:?} {prefixes:?}");
        for key in &asked {
            let there = words.word(key).is_ok() || !words.group(key).is_empty();
            assert!(there, "{tag} has no `{key}`");
        }
        for prefix in &prefixes {
            assert!(!words.group(prefix).is_empty(), "{tag} has nothing under `{prefix}`");
        }
    }
}

#[test]
fn every_word_of_the_trade_is_there() {
    let mut keys: Vec<String> = Vec::new();
    for (_, text) in code("catalog") {
        // the rows of the table, and not the reader that is given it
        for line in text.lines().filter(|line| line.contains("ProductKind::") && line.trim().starts_with('(')) {
            keys.extend(literals_after(line, "(").map(|word| format!("kinds.{word}")));
        }
    }
    assert!(keys.len() >= 7, "{keys:?}");
    keys.extend(Equipment::WORDS.iter().map(|(word, _)| format!("equipment.{word}")));
    for (word, _) in Method::WORDS {
        keys.extend([format!("steps.methods.{word}"), format!("certificate.methods.{word}")]);
    }
    keys.extend(crate::record::Rule::NAMES.map(|rule| format!("certificate.rules.{rule}")));
    for kind in KINDS.iter() {
        keys.extend([format!("cautions.{}", kind.code), format!("explanations.{}", kind.code)]);
    }
    keys.extend(mixing::TABLE.iter().map(|row| format!("forms.{}", row.forms)));
    // Words that a caution's facts name.
    let mut facts = BTreeSet::new();
    for (_, text) in code("plan") {
        for before in ["Fact::Word(", "word("] {
            facts.extend(literals_after(&text, before).filter(|key| is_key(key)).map(str::to_owned));
        }
    }
    assert!(facts.contains("potable_water") && facts.contains("m-factor"), "{facts:?}");
    keys.extend(facts.into_iter().map(|key| match key.as_str() {
        "hazards" | "flash-point" | "ph" | "viscosity" | "m-factor" | "test" => format!("lacking.{key}"),
        _ => key,
    }));
    keys.extend(["strength", "temperature", "ph", "hardness"].map(|figure| format!("figures.{figure}")));
    keys.extend(["eating-place", "dairy", "processing"].map(|place| format!("food_places.{place}")));
    keys.extend((1..=12).map(|month| format!("month.m{month}")));
    keys.extend(["mon", "tue", "wed", "thu", "fri", "sat", "sun"].map(|day| format!("weekday.{day}")));
    for tag in Words::tags() {
        let words = Words::of(tag).unwrap();
        for key in &keys {
            assert!(words.word(key).is_ok(), "{tag} has no `{key}`");
        }
    }
}
