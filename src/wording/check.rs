//! What a language file must hold: every key of the English one, with the same blanks.

use std::cell::Cell;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::{Arc, LazyLock};

use super::BUILT_IN;
use super::blanks::blanks;
use crate::ghs::Language;
use crate::quantity::Notation;
use crate::report::{Diagnostic, MOST_SHOWN, Report};
use crate::yaml::{Source, nearest};

/// Every key with the blanks of its English sentence. Should the English file be broken there are none, and reading it
/// by itself tells why.
static WANTED: LazyLock<BTreeMap<String, BTreeSet<String>>> = LazyLock::new(|| {
    let (_, english) = BUILT_IN[0];
    let source = Source::from_text(Path::new("templates/lang/en.yaml"), english.to_owned(), &mut Report::new());
    let mut wanted = BTreeMap::new();
    for (_, key, text) in source.iter().flat_map(|source| source.flat()) {
        wanted.insert(key, blanks(text.unwrap_or_default()).unwrap_or_default());
    }
    wanted
});

/// Every text of a language file, by its key. Everything that is wrong with them is told; then there are none.
pub(super) fn texts(source: &Arc<Source>, report: &mut Report) -> Option<BTreeMap<String, String>> {
    let mut texts = BTreeMap::new();
    let refused = Cell::new(0);
    let mut refuse = |problem: Diagnostic| {
        report.push(problem);
        refused.set(refused.get() + 1);
    };
    let known: Vec<&str> = WANTED.keys().map(String::as_str).collect();
    let mut seen = BTreeSet::new();
    for (path, key, text) in source.flat() {
        // no more would be shown, and each costs a comparison with all keys that are known
        if refused.get() >= MOST_SHOWN {
            break;
        }
        seen.insert(key.clone());
        let error = |code, message| Diagnostic::error(code, message).at(source.place(&path));
        let Some(wanted) = WANTED.get(&key) else {
            let problem = error("language-unknown-key", format!("no word is called `{key}`"));
            refuse(match nearest(&key, &known) {
                Some(near) => problem.hint(format!("did you mean `{near}`?")),
                None => problem.hint("take it out"),
            });
            continue;
        };
        let Some(text) = text else {
            let problem = error("language-not-text", format!("`{key}` is not text"));
            refuse(problem.hint("put it in quotation marks"));
            continue;
        };
        // The mark between thousands is itself a space.
        if text.trim().is_empty() && key != "number.group" {
            refuse(error("language-empty", format!("`{key}` is empty")));
            continue;
        }
        match blanks(text) {
            Ok(found) if found == *wanted => {}
            Ok(found) => {
                let list = |set: &BTreeSet<String>| set.iter().cloned().collect::<Vec<_>>().join(", ");
                let lacks: BTreeSet<String> = wanted.difference(&found).cloned().collect();
                let more: BTreeSet<String> = found.difference(wanted).cloned().collect();
                let mut told = Vec::new();
                if !lacks.is_empty() {
                    told.push(format!("lacks {}", list(&lacks)));
                }
                if !more.is_empty() {
                    told.push(format!("has {}, which nothing fills in", list(&more)));
                }
                refuse(error("language-blanks", format!("`{key}` {}", told.join(" and "))));
                continue;
            }
            Err(piece) => {
                let problem = error("language-blanks", format!("`{key}` has brackets that are no blank: `{piece}`"));
                refuse(problem.hint("a blank is `{{ name }}`, with one space on each side of the name"));
                continue;
            }
        }
        texts.insert(key, text.to_owned());
    }
    let missing: Vec<&str> = known.into_iter().filter(|key| !seen.contains(*key)).collect();
    if !missing.is_empty() && refused.get() < MOST_SHOWN {
        let number = if missing.len() == 1 { "1 key is".to_owned() } else { format!("{} keys are", missing.len()) };
        let message = format!("{number} missing in this language file: {}", missing.join(", "));
        let hint = "take them from the program's own English file, `templates/lang/en.yaml`, and translate them";
        refuse(source.root().error("language-missing-keys", message).hint(hint));
    }
    (refused.get() == 0).then_some(texts)
}

/// What a language file settles beside its words: its tag, the language of the statements, marks and units.
pub(super) fn settings(
    source: &Arc<Source>,
    texts: &BTreeMap<String, String>,
    report: &mut Report,
) -> Option<(String, Language, Notation)> {
    let text = |key: &str| texts.get(key).map(String::as_str).unwrap_or_default();
    let at = |keys: &[&str]| keys.iter().fold(source.root().origin(), |origin, key| origin.key(key));
    let tag = text("language");
    let sound_tag = matches!(tag.len(), 2 | 3) && tag.chars().all(|c| c.is_ascii_lowercase());
    if !sound_tag {
        let problem = at(&["language"]).error("language-tag", format!("`{tag}` is not a language's tag"));
        report.push(problem.hint("two or three small letters of ISO 639, such as `pt`"));
    }
    let statements = Language::from_tag(text("statements"));
    if statements.is_none() {
        let message = format!("hazard statements are not known in `{}`", text("statements"));
        let problem = at(&["statements"]).error("language-statements", message);
        report.push(problem.hint("`en`, `es` or `fr`: the one your crew reads best; their words are the law's"));
    }
    let names = Notation::NAMES.iter().filter_map(|name| {
        let own = texts.get(&format!("units.{name}"))?;
        Some(((*name).to_owned(), own.clone()))
    });
    let notation = match Notation::new(text("number.decimal"), text("number.group"), names.collect()) {
        Ok(notation) => Some(notation),
        Err(errors) => {
            for error in errors {
                report.push(at(&["number"]).error("language-notation", error.to_string()));
            }
            None
        }
    };
    Some((sound_tag.then(|| tag.to_owned())?, statements?, notation?))
}
