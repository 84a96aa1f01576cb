//! What a language file must hold: every key of the English one, with the same blanks; and what it may not change.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::{Arc, LazyLock};

use super::{BUILT_IN, Words};
use crate::diagnostic::{Diagnostic, Diagnostics, MOST_SHOWN};
use crate::ghs::Language;
use crate::quantity::Notation;
use crate::yaml::{Source, nearest};

/// Every key with the blanks of its English sentence. Should the English file be broken there are none, and reading it
/// by itself says why.
static WANTED: LazyLock<BTreeMap<String, BTreeSet<String>>> = LazyLock::new(|| {
    let (_, english) = BUILT_IN[0];
    let source = Source::from_text(Path::new("templates/lang/en.yaml"), english.to_owned(), &mut Diagnostics::new());
    let mut wanted = BTreeMap::new();
    for (_, key, text) in source.iter().flat_map(|source| source.flat()) {
        wanted.insert(key, blanks(text.unwrap_or_default()).unwrap_or_default());
    }
    wanted
});

/// Every text of a language file, by its key. Everything that is wrong with them is reported; then there are none.
pub(super) fn texts(source: &Arc<Source>, report: &mut Diagnostics) -> Option<BTreeMap<String, String>> {
    let mut texts = BTreeMap::new();
    let mut seen = BTreeSet::new();
    let mut refused = 0;
    for (path, key, text) in source.flat() {
        // no more would be shown, and each costs a comparison with all keys that are known
        if refused >= MOST_SHOWN {
            break;
        }
        seen.insert(key.clone());
        match checked(&key, text) {
            Ok(text) => {
                texts.insert(key, text.to_owned());
            }
            Err(problem) => {
                report.push(problem.at(source.place(&path)));
                refused += 1;
            }
        }
    }
    let missing: Vec<&str> = WANTED.keys().map(String::as_str).filter(|key| !seen.contains(*key)).collect();
    if !missing.is_empty() && refused < MOST_SHOWN {
        let number = if missing.len() == 1 { "1 key is".to_owned() } else { format!("{} keys are", missing.len()) };
        let message = format!("{number} missing in this language file: {}", missing.join(", "));
        let hint = "take them from the program's own English file, `templates/lang/en.yaml`, and translate them";
        report.push(source.root().error("language-missing-keys", message).hint(hint));
        return None;
    }
    (refused == 0).then_some(texts)
}

/// A text that its key may have.
fn checked<'t>(key: &str, text: Option<&'t str>) -> Result<&'t str, Box<Diagnostic>> {
    let Some(wanted) = WANTED.get(key) else {
        let known: Vec<&str> = WANTED.keys().map(String::as_str).collect();
        let problem = Diagnostic::error("language-unknown-key", format!("no word is called `{key}`"));
        let hint = nearest(key, &known).map(|near| format!("did you mean `{near}`?"));
        return Err(problem.hint(hint.unwrap_or_else(|| "take it out".to_owned())).into());
    };
    let Some(text) = text else {
        let problem = Diagnostic::error("language-not-text", format!("`{key}` is not text"));
        return Err(problem.hint("put it in quotation marks").into());
    };
    // The mark between thousands is itself a space.
    if text.trim().is_empty() && key != "number.group" {
        return Err(Diagnostic::error("language-empty", format!("`{key}` is empty")).into());
    }
    let found = blanks(text).map_err(|piece| {
        let message = format!("`{key}` has brackets that are no blank: `{piece}`");
        let hint = "a blank is `{{ name }}`, with one space on each side of the name";
        Diagnostic::error("language-blanks", message).hint(hint)
    })?;
    let list = |blanks: Vec<&String>| blanks.into_iter().map(String::as_str).collect::<Vec<_>>().join(", ");
    let lacks = list(wanted.difference(&found).collect());
    let more = list(found.difference(wanted).collect());
    let difference = match (lacks.as_str(), more.as_str()) {
        ("", "") => return Ok(text),
        (_, "") => format!("lacks {lacks}"),
        ("", _) => format!("has {more}, which nothing fills in"),
        _ => format!("lacks {lacks} and has {more}, which nothing fills in"),
    };
    Err(Diagnostic::error("language-blanks", format!("`{key}` {difference}")).into())
}

/// The blanks of a sentence, as they are written. Nothing but a name may stand in one: a language file holds words, and no
/// conditions or loops that could go wrong on the one job where they are met.
///
/// # Errors
/// The piece that is no blank, from its first bracket.
pub(super) fn blanks(sentence: &str) -> Result<BTreeSet<String>, String> {
    let mut found = BTreeSet::new();
    let mut rest = sentence;
    while let Some(at) = rest.find(['{', '}']) {
        rest = &rest[at..];
        let (blank, after) = blank(rest).ok_or_else(|| rest.chars().take(40).collect::<String>())?;
        found.insert(blank);
        rest = after;
    }
    Ok(found)
}

/// The blank that `text` begins with, and what follows it.
fn blank(text: &str) -> Option<(String, &str)> {
    let (open, close) = if text.starts_with("{{") { ("{{ ", " }}") } else { ("{", "}") };
    let inside = text.strip_prefix(open)?;
    let (name, after) = inside.split_once(close)?;
    let plain = !name.is_empty() && name.chars().all(|c| c.is_ascii_lowercase() || c == '_');
    plain.then(|| (format!("{open}{name}{close}"), after))
}

/// What a language file sets beside its words: its tag, the language of the statements, marks and units.
pub(super) fn settings(
    source: &Arc<Source>,
    texts: &BTreeMap<String, String>,
    report: &mut Diagnostics,
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
        let tags: Vec<String> = Words::tags().map(|tag| format!("`{tag}`")).collect();
        let (last, others) = tags.split_last()?;
        let known = format!("{} or {last}", others.join(", "));
        report.push(problem.hint(format!("{known}: the one your crew reads best; their words are the law's")));
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

/// Keys of a built-in language whose words a company's own file may not change: those that say on a certificate how a rule came
/// out, and the figures and units that it came out by. Groups of keys end in a dot.
///
/// No published rule; chosen because it protects. Who reads `passes` in a certificate in English takes it for the program's judgment.
pub(super) const PROTECTED: [&str; 18] = [
    "certificate.",
    "units.",
    "number.",
    "range",
    "range_above",
    "clock_range",
    "date.",
    "day.",
    "hours.",
    "clock.",
    "month.",
    "weekday.",
    "measured.",
    "meaning.",
    "short_meaning.",
    "tablet",
    "tablets",
    "deference",
];

/// Among them, what a company may put its own way: it judges nothing.
pub(super) const FREE: [&str; 6] = [
    "certificate.title",
    "certificate.heading",
    "certificate.role",
    "certificate.signature.",
    "certificate.photograph",
    "certificate.photograph_shows",
];

/// Whether the words under a key are the program's alone.
pub(super) fn is_protected(key: &str) -> bool {
    let among = |keys: &[&str]| {
        keys.iter().any(|known| match known.strip_suffix('.') {
            Some(_) => key.starts_with(known),
            None => key == *known,
        })
    };
    among(&PROTECTED) && !among(&FREE)
}

/// Refuses a file that goes by the tag of a built-in language and has other words under a protected key.
pub(super) fn protected(source: &Arc<Source>, own: &Words, report: &mut Diagnostics) {
    // a tag that is not built in is a language of the company's own, whose words `decant verify` says it cannot check
    let Ok(built_in) = Words::of(&own.language) else { return };
    for (path, key, text) in source.flat() {
        let wanted = built_in.texts.get(&key).filter(|_| is_protected(&key));
        let Some(wanted) = wanted.filter(|wanted| text != Some(wanted.as_str())) else { continue };
        if report.is_full() {
            return;
        }
        let message = format!(
            "`{key}` says on a certificate how the work came out, and is never put otherwise in the language `{}`",
            own.language
        );
        let problem = Diagnostic::error("language-protected", message).at(source.place(&path));
        report.push(
            problem
                .hint(format!("write `{wanted}`, as the program does"))
                .hint("a language that the program does not have goes by a tag of its own, such as `pt`"),
        );
    }
}
