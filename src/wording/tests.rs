//! The languages hold the same, and what a user's own file lacks is said all at once.

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;

use super::*;

fn english_file() -> &'static str {
    BUILT_IN[0].1
}

/// A language file in a temporary folder, read: the words, and what was reported.
fn own(text: &str) -> (Option<Words>, String) {
    let folder = tempfile::tempdir().unwrap();
    let file: PathBuf = folder.path().join("own.yaml");
    fs::write(&file, text).unwrap();
    let mut report = Diagnostics::new();
    let words = Words::from_file(&file, &mut report);
    (words, report.to_string())
}

fn flat(text: &str) -> BTreeMap<String, String> {
    let mut report = Diagnostics::new();
    let source = Source::from_text(Path::new("x.yaml"), text.to_owned(), &mut report).unwrap();
    let all = source.flat();
    all.into_iter().map(|(_, key, text)| (key, text.unwrap_or_default().to_owned())).collect()
}

#[test]
fn what_is_not_there_is_an_error_and_not_blank_paper() {
    let words = Words::english().unwrap();
    assert_eq!(words.word("no.such.key"), Err(WordingError::Missing("no.such.key".into())));
    assert!(matches!(words.say("container", minijinja::context! {}), Err(WordingError::Sentence { .. })));
}

#[test]
fn every_language_built_in_has_every_key_and_the_same_blanks() {
    // a file that lacks a key or a blank is not read at all
    for tag in Words::tags() {
        let words = Words::of(tag).unwrap();
        assert_eq!((words.language.as_str(), words.statements.tag()), (tag, tag));
    }
    assert!(Words::english().unwrap().keys().count() > 250);
    assert_eq!(Words::of("de").unwrap_err(), WordingError::Language("de".into()));
}

/// A sentence of two words or more that stands unchanged in another language was forgotten.
#[test]
fn sentences_are_translated() {
    let english = flat(english_file());
    for (tag, text) in &BUILT_IN[1..] {
        for (key, text) in flat(text) {
            let mut words = text.clone();
            for blank in check::blanks(&text).unwrap() {
                words = words.replace(&blank, "");
            }
            let said = words.split(|c: char| !c.is_alphabetic()).filter(|word| word.len() > 2);
            assert!(text != english[&key] || said.count() < 2, "{tag} {key}: {text}");
        }
    }
}

#[test]
fn english_is_written_as_quantities_are_printed() {
    use crate::quantity::{Printer, System, parse::volume};
    let words = Words::english().unwrap();
    let file = volume("300.125 fl oz").unwrap();
    for system in [System::Us, System::Si] {
        let plain = Printer::new(system);
        assert_eq!(plain.with(words.notation()).product_volume(&file), plain.product_volume(&file));
    }
    for name in Notation::NAMES {
        assert_eq!(words.word(&format!("units.{name}")), Ok(*name));
    }
}

/// The captions of the terminal's plan stand in columns.
#[test]
fn captions_of_the_terminal_fit_their_columns() {
    for tag in Words::tags() {
        let words = Words::of(tag).unwrap();
        for (key, caption) in words.group("terminal.captions") {
            assert!(caption.chars().count() < 13, "{tag} {key}: {caption}");
        }
        let columns = words.group("terminal.columns");
        for (key, width) in [("load", 7), ("water", 28), ("product", 28), ("strength", 12), ("mixed", 17), ("area", 32)]
        {
            assert!(columns[key].chars().count() < width, "{tag} {key}");
        }
        for (key, width) in [("size", 12), ("solution", 14), ("minutes", 6), ("start", 18), ("wet_until", 18)] {
            assert!(columns[key].chars().count() < width, "{tag} {key}");
        }
    }
}

#[test]
fn an_own_file_that_is_whole_is_taken() {
    let text = english_file()
        .replace("language: en", "language: pt")
        .replace("statements: en", "statements: es")
        .replace("title: \"Container labels, job {{ job }}\"", "title: \"Etiquetas, trabalho {{ job }}\"");
    let (words, problems) = own(&text);
    let words = words.expect(&problems);
    assert_eq!((words.language.as_str(), words.statements), ("pt", Language::SPANISH));
    let said = words.say("label.title", minijinja::context! { job => "7" });
    assert_eq!(said.as_deref(), Ok("Etiquetas, trabalho 7"));
    assert!(words.source.is_some());
}

#[test]
fn everything_an_own_file_lacks_is_said_at_once() {
    let text = english_file()
        .replace("  office: \"Office\"\n", "  offcie: \"Office\"\n")
        .replace("  cannot_show: cannot tell\n", "")
        .replace("  strip_dip: \"Dip for {{ dip }}.\"", "  strip_dip: \"Dip.\"")
        .replace("qr_alt: \"QR code: {{ link }}\"", "qr_alt: \"QR {{ lnk }} {{ link }}\"")
        .replace("tablet: 1 tablet\n", "tablet: 1\n")
        .replace("    water: \"Water first\"\n", "    water: \"  \"\n");
    let (words, problems) = own(&text);
    assert!(words.is_none());
    for part in [
        "2 keys are missing in this language file: sheet.cannot_show, sheet.office",
        "no word is called `sheet.offcie`",
        "did you mean `sheet.office`?",
        "`sheet.strip_dip` lacks {{ dip }}",
        "`qr_alt` has {{ lnk }}, which nothing fills in",
        "`tablet` is not text",
        "`sheet.words.water` is empty",
    ] {
        assert!(problems.contains(part), "no {part:?} in:\n{problems}");
    }
}

#[test]
fn settings_that_would_mislead_are_refused() {
    for (from, to, part) in [
        ("group: \",\"", "group: \".\"", "cannot part the thousands"),
        ("decimal: \".\"", "decimal: \"·\"", "cannot be a decimal mark"),
        ("oz wt: oz wt", "oz wt: fl oz", "is the name of both `fl oz` and `oz wt`"),
        ("language: en", "language: english", "is not a language's tag"),
        ("statements: en", "statements: pt", "hazard statements are not known in `pt`"),
        ("cannot_show: cannot tell", "cannot_show: \"{% for x in y %}\"", "brackets that are no blank"),
    ] {
        let text = english_file().replacen(from, to, 1);
        assert_ne!(text, english_file(), "{from}");
        let (words, problems) = own(&text);
        assert!(words.is_none() && problems.contains(part), "no {part:?} in:\n{problems}");
    }
}

#[test]
fn columns_are_counted_in_letters_and_never_run_together() {
    let words = Words::english().unwrap();
    let row = |text: &str| {
        let row = words.engine.render_str("{{ a|left(6) }}|{{ a|right(6) }}", minijinja::context! { a => text });
        row.unwrap()
    };
    assert_eq!(row("Área"), "Área  |  Área");
    assert_eq!(row("m²"), "m²    |    m²");
    assert_eq!(row("longer than that"), "longer than that | longer than that");
}

#[test]
fn a_blank_holds_a_name_and_nothing_else() {
    let found = check::blanks("Page {page} of {pages}: {{ load }} and {{ load }}").unwrap();
    assert_eq!(found.into_iter().collect::<Vec<_>>(), ["{pages}", "{page}", "{{ load }}"]);
    for wrong in
        ["{% for x in y %}", "{{load}}", "{{ load | upper }}", "{{ a.b }}", "{# note #}", "{{ load }", "load }}", "{}"]
    {
        assert!(check::blanks(wrong).is_err(), "{wrong}");
    }
    assert!(check::blanks("no blank").unwrap().is_empty());
}

#[test]
fn what_judges_is_protected_and_what_greets_is_free() {
    for key in
        ["certificate.below", "certificate.rules.reading", "certificate.words.read", "units.ppm", "range", "tablets"]
    {
        assert!(check::is_protected(key), "{key}");
    }
    for key in ["certificate.heading", "certificate.signature.name", "sheet.heading", "ranges", "mail.lead"] {
        assert!(!check::is_protected(key), "{key}");
    }
    // a key that is renamed must not fall out of the list unseen
    let english = Words::english().expect("the English file");
    for known in check::PROTECTED.iter().chain(&check::FREE) {
        let is_there = english.texts.keys().any(|key| match known.strip_suffix('.') {
            Some(_) => key.starts_with(known),
            None => key == known,
        });
        assert!(is_there, "no key `{known}`");
    }
}
