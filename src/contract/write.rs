//! Job files as text, for people and for whatever reads YAML.

use crate::diagnostic::is_unseen;
use crate::yaml::{Tree, TreeValue};

/// Block YAML that every reader of YAML 1.1 or 1.2 takes for the same: whatever could be taken for something else than text
/// is quoted.
pub(super) fn yaml(tree: &Tree) -> String {
    let mut out = String::new();
    block(tree, 0, &mut out);
    out
}

fn block(tree: &Tree, depth: usize, out: &mut String) {
    let margin = "  ".repeat(depth);
    match &tree.value {
        TreeValue::Group(entries) => {
            for (key, inner) in entries {
                *out += &format!("{margin}{}:", scalar(key));
                behind(inner, depth, out);
            }
        }
        TreeValue::List(items) => {
            for item in items {
                *out += &format!("{margin}-");
                behind(item, depth, out);
            }
        }
        _ => *out += &format!("{margin}{}\n", inline(tree)),
    }
}

/// Behind `key:` or `-`: on the same line where nothing is nested in it, else on lines of its own.
fn behind(tree: &Tree, depth: usize, out: &mut String) {
    let flat = |tree: &Tree| tree.word().is_some();
    let short = match &tree.value {
        TreeValue::Group(entries) => entries.is_empty() || depth > 0 && entries.iter().all(|(_, inner)| flat(inner)),
        TreeValue::List(items) => items.iter().all(flat),
        _ => true,
    };
    if short {
        *out += &format!(" {}\n", inline(tree));
    } else {
        out.push('\n');
        block(tree, depth + 1, out);
    }
}

fn inline(tree: &Tree) -> String {
    match &tree.value {
        TreeValue::Plain(text) => text.clone(),
        TreeValue::Text(text) => scalar(text),
        TreeValue::List(items) => format!("[{}]", items.iter().map(inline).collect::<Vec<_>>().join(", ")),
        TreeValue::Group(entries) if entries.is_empty() => "{}".to_owned(),
        TreeValue::Group(entries) => {
            let pairs: Vec<String> = entries.iter().map(|(k, t)| format!("{}: {}", scalar(k), inline(t))).collect();
            format!("{{ {} }}", pairs.join(", "))
        }
    }
}

/// Words that some version of YAML takes for something else than text.
const TAKEN: &[&str] = &["true", "false", "yes", "no", "on", "off", "y", "n", "null"];

/// Text as a scalar: bare where no reader can take it for anything else, else in double quotes.
pub(crate) fn scalar(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, ' ' | '.' | '/' | '-' | '_');
    // with a space and a letter in it, it is no number and no date, whatever it begins with
    let words = text.contains(' ') && text.contains(|c: char| c.is_ascii_alphabetic());
    let bare = text.starts_with(|c: char| c.is_ascii_alphabetic() || (words && c.is_ascii_digit()))
        && text.chars().all(plain)
        && !text.ends_with(' ')
        && !TAKEN.contains(&text.to_ascii_lowercase().as_str());
    if bare {
        return text.to_owned();
    }
    let mut quoted = String::from('"');
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            // line breaks of Unicode are folded by some readers
            c if is_unseen(c) || matches!(c, '\u{2028}' | '\u{2029}') => {
                quoted += &format!("\\U{:08X}", u32::from(c));
            }
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    use proptest::prelude::*;
    use saphyr_parser::{Event, Parser};

    use crate::diagnostic::Diagnostics;
    use crate::yaml::Source;

    #[test]
    fn it_is_written_as_people_write_it() {
        let text = "job: a-1\ncount: 7\nvisit:\n  start: 2026-04-13T18:00\n  crew: [okafor, \"no\"]\ntreatments:\n  -\n    product: q75\n    areas: [Hall, \"Bar: left\"]\nareas:\n  Hall: { floor: 40 ft x 55 ft, outdoors: yes, share: \"5 %\" }\n";
        let mut report = Diagnostics::new();
        let source = Source::from_text(Path::new("c.yaml"), text.to_owned(), &mut report).unwrap();
        let written = yaml(&Tree::of(&source.root(), &mut report).unwrap());
        let expected =
            text.replace("2026-04-13T18:00", "\"2026-04-13T18:00\"").replace("outdoors: yes", "outdoors: \"yes\"");
        assert_eq!(written, expected);
    }

    proptest! {
        #[test]
        fn any_text_comes_back(text in any::<String>(), key in "\\PC{1,12}") {
            // `<<` is YAML's key for merging, quoted or not
            let key = if key.trim().is_empty() || key == "<<" { "k".to_owned() } else { key };
            let group = |inner| Tree::from(TreeValue::Group(vec![(key.clone(), inner)]));
            let list = TreeValue::List(vec![Tree::text(text.clone()), group(Tree::text(text.clone()))]);
            let written = yaml(&group(list.into()));
            // one reader, which decant reads with
            let mut report = Diagnostics::new();
            let mut seen = Vec::new();
            let source = Source::from_text(Path::new("t.yaml"), written.clone(), &mut report);
            prop_assert!(source.is_some(), "{written}{report}");
            if let Some(source) = source {
                source.each_text(|found, _| seen.push(found.to_owned()));
            }
            prop_assert_eq!(&seen, &[key.clone(), text.clone(), key.clone(), text.clone()]);
            // and another
            let scalars: Vec<String> = Parser::new_from_str(&written)
                .filter_map(|event| match event {
                    Ok((Event::Scalar(found, ..), _)) => Some(found.into_owned()),
                    _ => None,
                })
                .collect();
            prop_assert_eq!(&scalars, &[key.clone(), text.clone(), key, text]);
        }
    }

    #[test]
    fn words_that_yaml_takes_for_something_else_are_quoted() {
        let taken =
            "yes No null ~ 1e3 0x1F 12:30:00 2026-04-13 007 .5 - &a *a !t %a @a `a {a [a 'a \"a | > = << 1_000 02134 é";
        for text in taken.split(' ').chain(["", " a", "a ", "- x", "a: b", "a #b", "? a"]) {
            assert!(scalar(text).starts_with('"'), "{text}");
        }
        for text in ["okafor", "solvary-q75", "Waiting hall", "40 ft x 55 ft", "14 Quay Lane"] {
            assert_eq!(scalar(text), text);
        }
    }
}
