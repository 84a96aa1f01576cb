//! Words of a built-in language that a firm's own file may not change: those that say on a certificate how a rule came out, and the
//! figures and units that it came out by.
//!
//! No published rule; chosen because it protects. Who reads `passes` in a certificate in English takes it for the program's judgment.

use std::sync::Arc;

use super::Words;
use crate::report::Report;
use crate::yaml::Source;

/// Keys that are protected, and groups of them, which end in a dot.
const PROTECTED: [&str; 15] = [
    "certificate.",
    "units.",
    "number.",
    "range",
    "range_above",
    "clock_range",
    "date",
    "month.",
    "weekday.",
    "measured.",
    "meaning.",
    "short_meaning.",
    "tablet",
    "tablets",
    "deference",
];

/// Among them, what a firm may put its own way: it judges nothing.
const FREE: [&str; 6] = [
    "certificate.title",
    "certificate.heading",
    "certificate.role",
    "certificate.signature.",
    "certificate.photograph",
    "certificate.photograph_shows",
];

/// Whether the words under a key are the program's alone.
fn is_protected(key: &str) -> bool {
    let among = |keys: &[&str]| {
        keys.iter().any(|known| match known.strip_suffix('.') {
            Some(_) => key.starts_with(known),
            None => key == *known,
        })
    };
    among(&PROTECTED) && !among(&FREE)
}

/// Refuses a file that goes by the tag of a built-in language and has other words under a protected key.
pub(super) fn check(source: &Arc<Source>, own: &Words, report: &mut Report) {
    // a tag that is not built in is a language of the firm's own, whose words `decant verify` says it cannot check
    let Ok(built_in) = Words::of(&own.language) else { return };
    for (path, key, text) in source.flat() {
        if report.is_full() {
            return;
        }
        let Some(wanted) = built_in.texts.get(&key).filter(|_| is_protected(&key)) else {
            continue;
        };
        if text != Some(wanted.as_str()) {
            let message = format!(
                "`{key}` says on a certificate how the work came out, and is never put otherwise in the language `{}`",
                own.language
            );
            let problem = crate::report::Diagnostic::error("language-protected", message).at(source.place(&path));
            report.push(
                problem
                    .hint(format!("write `{wanted}`, as the program does"))
                    .hint("a language that the program does not have goes by a tag of its own, such as `pt`"),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_judges_is_protected_and_what_greets_is_free() {
        for key in [
            "certificate.below",
            "certificate.verdict.holds",
            "certificate.rules.reading",
            "certificate.lead_failed",
            "certificate.deviation_reading",
            "certificate.words.read",
            "units.ppm",
            "number.decimal",
            "range",
            "tablets",
        ] {
            assert!(is_protected(key), "{key}");
        }
        for key in ["certificate.heading", "certificate.signature.name", "sheet.heading", "ranges", "mail.lead"] {
            assert!(!is_protected(key), "{key}");
        }
        // a key that is renamed must not fall out of the list unseen
        let english = Words::english().expect("the English file");
        for known in PROTECTED.iter().chain(&FREE) {
            let is_there = english.texts.keys().any(|key| match known.strip_suffix('.') {
                Some(_) => key.starts_with(known),
                None => key == known,
            });
            assert!(is_there, "no key `{known}`");
        }
    }
}
