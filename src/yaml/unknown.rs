//! Keys and words that are not known: the nearest that is, and how much of the line may be quoted.

use super::Node;
use serde_yaml::Mapping;

use crate::diagnostic::{Diagnostic, Spot};
use crate::shown::without_secrets;

/// The one of some names that a word means, whatever its capitals, spaces and hyphens; `None` for none and for several.
pub(crate) fn alike<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    let folded = |name: &str| name.to_lowercase().replace([' ', '-', '_'], "");
    let (wanted, mut found) = (folded(word), None);
    for name in known {
        if name == word {
            return Some(name);
        }
        if folded(name) == wanted && found.replace(name).is_some() {
            found = Some("");
        }
    }
    found.filter(|name| !name.is_empty())
}

/// The longest word that is compared with others, in characters: comparing takes time with the length of both.
const LONGEST_COMPARED: usize = 60;
/// The most words that one is compared with.
const MOST_COMPARED: usize = 2_000;

/// The nearest of `known`, if it is near enough to be a slip of the hand.
pub(crate) fn nearest<'k>(word: &str, known: &[&'k str]) -> Option<&'k str> {
    let is_short = |word: &str| word.chars().nth(LONGEST_COMPARED).is_none();
    if !is_short(word) {
        return None;
    }
    known
        .iter()
        .take(MOST_COMPARED)
        .filter(|k| is_short(k))
        .map(|k| (strsim::damerau_levenshtein(word, k), *k))
        .filter(|(distance, k)| *distance <= 1 + k.chars().count() / 4)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, k)| k)
        .or_else(|| part_of(word, known))
}

/// The one of `known` that is a part of the word, or that the word is a part of: `letter` and `us-letter`.
fn part_of<'k>(word: &str, known: &[&'k str]) -> Option<&'k str> {
    let is_part = |k: &&&str| k.len().min(word.len()) >= 4 && (k.contains(word) || word.contains(**k));
    let mut found = known.iter().take(MOST_COMPARED).filter(is_part);
    found.next().filter(|_| found.next().is_none()).copied()
}

/// The hint for a word that is not known: the nearest that is, else all of them after `listed`.
pub(crate) fn suggestion(word: &str, known: &[&str], listed: &str) -> String {
    match nearest(word, known) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("{listed}: {}", known.join(", ")),
    }
}

impl Node<'_> {
    /// The error of a word that is none of `known`: the nearest of them, and all of them.
    pub(crate) fn unknown_word(&self, word: &str, known: &[&str], message: String) -> Diagnostic {
        let mut problem = self.error("unknown-word", message);
        if let Some(near) = nearest(word, known) {
            problem = problem.hint(format!("did you mean `{near}`?"));
        }
        problem.hint(format!("one of: {}", known.join(", ")))
    }

    /// The error of a key that is none of `known`, and the key that is meant, where that can be seen.
    pub(super) fn unknown_key(&self, name: &str, known: &[&str], map: &Mapping) -> (Diagnostic, Option<String>) {
        let mut place = self.source.key_place(&self.path.key(name));
        if let Some(spot) = place.spot.as_mut().filter(|_| !self.source.is_tree()) {
            quote_key_alone(spot, name);
        }
        let message = format!("the key `{}` is not known here", without_secrets(name));
        let problem = Diagnostic::error("unknown-key", message).at(place);
        match nearest(name, known).filter(|near| !map.contains_key(*near)) {
            Some(near) => (problem.hint(Diagnostic::meant(near)), Some(near.to_owned())),
            None => (problem.hint(format!("keys known here: {}", known.join(", "))), None),
        }
    }
}

/// What stands under a key that is not known may be a secret under a name that only its owner knows: the line is quoted up to the
/// key's colon.
fn quote_key_alone(spot: &mut Spot, name: &str) {
    let begin = spot.column.saturating_sub(1);
    let length = name.chars().count();
    let after: String = spot.text.chars().skip(begin).collect();
    let key: usize = match after.chars().next() {
        Some('"' | '\'') => length + 2,
        _ => length,
    };
    // an alias, or a key in escapes, is written in another length than it has
    let chars: Vec<char> = after.chars().collect();
    let colon = (0..chars.len()).find(|i| chars[*i] == ':' && chars.get(i + 1).is_none_or(|c| c.is_whitespace()));
    let key = key.min(colon.unwrap_or(key));
    let kept: String = spot.text.chars().take(begin + key).collect();
    let rest: String = after.chars().skip(key).collect();
    let value = rest.trim_start().strip_prefix(':').unwrap_or(&rest);
    if !value.trim().is_empty() {
        spot.text = format!("{kept}: …");
    }
}
