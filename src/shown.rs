//! Text as a terminal may have it: what a file holds can neither steer the terminal nor forge a line.
//!
//! Two layers. A value that is put into a sentence passes [`shown`], which leaves no line break. What reaches a stream passes
//! [`lines_shown`] once more in `cli/output.rs`, the only place that writes to one; there the line breaks between sentences stay.

use std::borrow::Cow;
use std::fmt::{self, Display, Write};

/// Whether a character is never sent to a terminal as it is: control characters (C0, C1, DEL), line and paragraph separators, and
/// the characters of format that reorder or hide text. Source: Unicode Standard Annex 9, section 2 (bidirectional formatting
/// characters); Unicode Technical Standard 39, section 3.1 (default ignorable characters are not allowed in identifiers).
pub fn steers(c: char) -> bool {
    c.is_control()
        || matches!(
            c,
            '\u{61C}'
                | '\u{180E}'
                | '\u{200B}'..='\u{200F}'
                | '\u{2028}'..='\u{202E}'
                | '\u{2060}'..='\u{206F}'
                | '\u{FEFF}'
                | '\u{FFF9}'..='\u{FFFB}'
                | '\u{E0000}'..='\u{E007F}'
        )
}

/// A value on one line: what [`steers`] is written like `\u{1b}`, line breaks too.
pub fn shown(text: &str) -> Cow<'_, str> {
    escaped(text, steers)
}

/// Several lines: as [`shown`], but line feeds stay.
pub fn lines_shown(text: &str) -> Cow<'_, str> {
    escaped(text, |c| c != '\n' && steers(c))
}

/// JSON text: the same characters in the escapes of JSON (RFC 8259, section 7), so that it stays JSON of the same value. They can
/// stand in its strings alone.
pub fn json_shown(text: &str) -> Cow<'_, str> {
    if !text.chars().any(|c| c != '\n' && steers(c)) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        if c != '\n' && steers(c) {
            for unit in c.encode_utf16(&mut [0; 2]) {
                // writing to a string cannot fail
                let _ = write!(out, "\\u{unit:04x}");
            }
        } else {
            out.push(c);
        }
    }
    Cow::Owned(out)
}

fn escaped(text: &str, steers: impl Fn(char) -> bool) -> Cow<'_, str> {
    if !text.chars().any(&steers) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        if steers(c) {
            out.extend(c.escape_unicode());
        } else {
            out.push(c);
        }
    }
    Cow::Owned(out)
}

/// Displays a value as [`shown`] does.
pub struct Shown<T>(pub T);

impl<T: Display> Display for Shown<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        struct Through<'a, 'f>(&'a mut fmt::Formatter<'f>);
        impl Write for Through<'_, '_> {
            fn write_str(&mut self, text: &str) -> fmt::Result {
                self.0.write_str(&shown(text))
            }
        }
        write!(Through(f), "{}", self.0)
    }
}

/// What follows a key that names a secret, in a line that is quoted from a file, is left out: `password: hunter2` is `password: …`.
/// No published rule; chosen because it protects: a message is copied into letters and logs.
pub fn without_secrets(line: &str) -> Cow<'_, str> {
    const NAMES: [&str; 8] = ["password", "passwd", "passwort", "passphrase", "secret", "token", "api_key", "apikey"];
    let low = line.to_ascii_lowercase();
    let ends = NAMES.iter().flat_map(|name| {
        let named = low.match_indices(name).map(|(at, _)| at + name.len());
        named.filter_map(|end| {
            let rest = &low[end..];
            let sign = rest.find([':', '='])?;
            // `password_env: NAME` and `password_file: FILE` name a place and no secret
            let between = rest[..sign].trim_matches(['"', '\'', ' ', '\t']);
            between.is_empty().then_some(end + sign + 1)
        })
    });
    match ends.min() {
        Some(end) if !line[end..].trim().is_empty() => Cow::Owned(format!("{} …", &line[..end])),
        _ => Cow::Borrowed(line),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_steers_a_terminal_is_written_out() {
        assert_eq!(shown("a\u{1b}[2Jb\n\u{202e}c\u{7f}"), "a\\u{1b}[2Jb\\u{a}\\u{202e}c\\u{7f}");
        assert_eq!(lines_shown("a\r\nb\u{9b}1m"), "a\\u{d}\nb\\u{9b}1m");
        assert!(matches!(shown("Río, 5 µm, 10 °C, ‹film›"), Cow::Borrowed(_)));
        assert_eq!(Shown(format_args!("{}\t{}", "a\n", 'b')).to_string(), "a\\u{a}\\u{9}b");
    }

    #[test]
    fn json_stays_json_of_the_same_value() {
        let value = serde_json::json!({ "a": "x\u{202e}y\u{7f}\u{e0041}\u{1b}" });
        let text = serde_json::to_string_pretty(&value).expect("JSON");
        let reported = json_shown(&text);
        assert!(!reported.chars().any(|c| c != '\n' && steers(c)), "{reported}");
        assert_eq!(serde_json::from_str::<serde_json::Value>(&reported).expect("JSON"), value);
    }

    #[test]
    fn a_secret_is_left_out_and_its_place_is_not() {
        for (line, reported) in [
            ("  password: hunter2", "  password: …"),
            ("mail: { Password: hunter2, user: a }", "mail: { Password: …"),
            ("\"api_key\" : 'k'", "\"api_key\" : …"),
            ("smtp_passwd=hunter2", "smtp_passwd= …"),
            ("password_env: MAIL", "password_env: MAIL"),
            ("password:", "password:"),
            ("name: Tokenless Ltd", "name: Tokenless Ltd"),
        ] {
            assert_eq!(without_secrets(line), reported);
        }
    }
}
