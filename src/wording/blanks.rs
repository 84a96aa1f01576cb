//! The blanks of a sentence: `{{ name }}`, filled in here, and `{name}`, filled in by a template.

use std::collections::BTreeSet;

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_and_nothing_else() {
        let found = blanks("Page {page} of {pages}: {{ load }} and {{ load }}").unwrap();
        assert_eq!(found.into_iter().collect::<Vec<_>>(), ["{pages}", "{page}", "{{ load }}"]);
        for wrong in [
            "{% for x in y %}",
            "{{load}}",
            "{{ load | upper }}",
            "{{ a.b }}",
            "{# note #}",
            "{{ load }",
            "load }}",
            "{}",
            "{{ }}",
        ] {
            assert!(blanks(wrong).is_err(), "{wrong}");
        }
        assert!(blanks("no blank").unwrap().is_empty());
    }
}
