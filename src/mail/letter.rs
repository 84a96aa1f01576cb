//! What a letter says: what the certificate that it carries says, in its language, and nothing more.

use minijinja::value::Serde;
use minijinja::{AutoEscape, context};
use serde_json::{Value, json};

use crate::html::{HtmlError, Page, html};
use crate::record::in_groups;
use crate::wording::{WordingError, Words, engine};

const TEXT: &str = include_str!("../../templates/mail/letter.txt");

/// The color of the line over a letter where the firm has none of its own.
const PLAIN_ACCENT: &str = "#404040";

/// A letter.
pub struct Letter {
    /// One line.
    pub subject: String,
    pub text: String,
    /// The same as HTML that fetches nothing.
    pub html: String,
}

/// What a letter is about.
pub struct Occasion<'a> {
    /// The record, with its certificate's page.
    pub record: &'a Value,
    /// SHA-256 of the record, in hexadecimal.
    pub digest: &'a str,
    /// The attachment's name.
    pub file: &'a str,
}

/// Why a letter cannot be written.
#[derive(Debug, thiserror::Error)]
pub enum LetterError {
    /// The record lacks something, or has something else there.
    #[error("the record has no `{0}`")]
    Record(&'static str),
    #[error(transparent)]
    Wording(#[from] WordingError),
    #[error("the letter's template cannot be filled in: {0:#}")]
    Text(#[from] minijinja::Error),
    #[error(transparent)]
    Html(#[from] HtmlError),
}

/// What a letter says of one certificate.
struct Part {
    /// The blanks of its sentences.
    said: minijinja::Value,
    notes: Vec<String>,
    facts: Vec<Value>,
}

/// The text at a path of a record.
fn need<'r>(record: &'r Value, path: &'static str) -> Result<&'r str, LetterError> {
    record.pointer(path).and_then(Value::as_str).ok_or(LetterError::Record(path))
}

/// Writes the letter of one certificate or of several for one reader, all of one firm. `words` are of the certificates' language.
///
/// # Errors
/// [`LetterError`] if a record holds no certificate, or a word is missing.
pub fn letter(words: &Words, occasions: &[Occasion<'_>]) -> Result<Letter, LetterError> {
    let (Some(first), Some(last)) = (occasions.first(), occasions.last()) else {
        return Err(LetterError::Record(""));
    };
    let record = first.record;
    let maybe = |path: &str| record.pointer(path).and_then(Value::as_str);
    let parts: Result<Vec<Part>, LetterError> = occasions.iter().map(|occasion| part(words, occasion)).collect();
    let parts = parts?;
    let client = need(record, "/plan/client/name")?;
    let (subject, lead) = match parts.as_slice() {
        [one] => {
            let revised = record["revision"].as_u64() > Some(1);
            let subject = if revised { "mail.subject_revised" } else { "mail.subject" };
            (words.say(subject, one.said.clone())?, words.say("mail.lead", one.said.clone())?)
        }
        several => {
            let date = |of: &Occasion<'_>| need(of.record, "/certificate/data/date/name").map(str::to_owned);
            let said = context! { count => several.len(), client, from => date(first)?, to => date(last)? };
            let subject = if date(first)? == date(last)? { "mail.subject_several" } else { "mail.subject_period" };
            (words.say(subject, said.clone())?, words.say("mail.lead_several", said)?)
        }
    };
    let items: Vec<Value> = parts.iter().map(|part| json!({ "notes": part.notes, "facts": part.facts })).collect();
    let word = |key: &str| words.word(&format!("mail.words.{key}")).map(str::to_owned);
    let mut company = vec![
        need(record, "/plan/company/name")?.to_owned(),
        need(record, "/plan/company/address")?.to_owned(),
        need(record, "/plan/company/phone")?.to_owned(),
    ];
    for (key, path) in [("emergency", "/plan/company/emergency_phone"), ("licence", "/plan/company/licence")] {
        if let Some(value) = maybe(path) {
            company.push(format!("{}: {value}", word(key)?));
        }
    }
    let data = json!({
        "lang": words.language,
        "subject": subject,
        "accent": maybe("/certificate/data/accent").unwrap_or(PLAIN_ACCENT),
        "greeting": words.say("mail.greeting", context! { name => maybe("/plan/client/contact").unwrap_or(client) })?,
        "lead": lead,
        "items": items,
        "deference": words.word("deference")?,
        "company": company,
    });
    Ok(Letter { subject, text: plain(&data)?, html: html(Page::Letter, &data)? })
}

fn part(words: &Words, occasion: &Occasion<'_>) -> Result<Part, LetterError> {
    let record = occasion.record;
    let need = |path: &'static str| need(record, path);
    let maybe = |path: &str| record.pointer(path).and_then(Value::as_str);
    let (site, date) = (need("/certificate/data/site/name")?, need("/certificate/data/date/name")?);
    let (job, link) = (need("/plan/job")?, need("/link")?);
    let heading = need("/certificate/data/heading")?;
    let revision = record["revision"].as_u64().ok_or(LetterError::Record("/revision"))?;
    let said = context! { heading, site, date, job, revision, link, file => occasion.file };
    let mut notes = Vec::new();
    if revision > 1 {
        notes.push(words.say("mail.revised", said.clone())?);
    }
    if deviates(record) {
        notes.push(words.word("mail.deviates")?.to_owned());
    }
    let word = |key: &str| words.word(&format!("mail.words.{key}")).map(str::to_owned);
    let place = match maybe("/certificate/data/site/lines/0") {
        Some(address) => format!("{site}, {address}"),
        None => site.to_owned(),
    };
    let facts = [
        ("site", place),
        ("date", date.to_owned()),
        ("job", job.to_owned()),
        ("record", need("/number")?.to_owned()),
        ("link", link.to_owned()),
        ("digest", in_groups(occasion.digest)),
        ("attached", occasion.file.to_owned()),
    ];
    let facts: Result<Vec<Value>, WordingError> =
        facts.into_iter().map(|(key, value)| Ok(json!({ "label": word(key)?, "value": value }))).collect();
    Ok(Part { said, notes, facts: facts? })
}

/// Whether the certificate names a deviation or a rule that was not kept.
fn deviates(record: &Value) -> bool {
    let named = record["certificate"]["data"]["deviations"].as_array();
    let judged = record["verdicts"].as_array();
    named.is_some_and(|d| !d.is_empty()) || judged.is_some_and(|v| v.iter().any(|v| v["outcome"] == "deviates"))
}

/// The text: nothing in it is markup, so nothing is escaped.
fn plain(data: &Value) -> Result<String, minijinja::Error> {
    engine(AutoEscape::None)?.render_str(TEXT, Serde(data))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn record(text: &str, revision: u64) -> Value {
        json!({
            "number": "7-0a1b2c3d", "link": "https://records.firm.example/7-0a1b2c3d", "revision": revision,
            "plan": { "job": "7",
                      "client": { "name": text, "contact": null },
                      "company": { "name": text, "address": text, "phone": text, "emergency_phone": text, "licence": null } },
            "certificate": { "data": { "heading": "Certificate", "accent": null, "deviations": [],
                                       "site": { "name": text, "lines": [text] }, "date": { "name": "Mon 13 Apr 2026" } } },
            "verdicts": [],
        })
    }

    fn of(language: &str, record: &Value) -> Letter {
        let words = Words::of(language).expect("a language");
        let digest = "0123456789abcdef".repeat(4);
        let occasion = Occasion { record, digest: &digest, file: "7-certificate.pdf" };
        letter(&words, &[occasion]).unwrap_or_else(|e| panic!("{e}"))
    }

    #[test]
    fn text_is_never_markup() {
        let hostile = "<script>alert(1)</script>\"'& {{ 7 * 7 }}";
        let made = of("en", &record(hostile, 1));
        assert!(!made.html.contains("<script") && !made.html.contains("49"), "{}", made.html);
        assert!(made.html.matches("&lt;script&gt;").count() >= 6);
        assert!(made.text.contains(hostile) && made.subject.contains(hostile));
        // nothing is fetched when it is opened
        for part in ["src=", "href=", "url(", "@import", "<link", "<img"] {
            assert!(!made.html.contains(part), "{part}");
        }
    }

    #[test]
    fn it_speaks_the_certificates_language_and_says_when_it_is_revised() {
        let (first, second) = (record("Quay 3", 1), record("Quay 3", 2));
        for language in Words::tags() {
            let (one, two) = (of(language, &first), of(language, &second));
            assert!(one.html.contains(&format!("<html lang=\"{language}\">")));
            assert!(two.subject.contains('2') && one.subject != two.subject, "{}", two.subject);
            assert_ne!(one.text.lines().count(), two.text.lines().count());
        }
        let all: std::collections::BTreeSet<String> = Words::tags().map(|tag| of(tag, &first).text).collect();
        assert_eq!(all.len(), Words::tags().count());
    }

    #[test]
    fn what_deviates_is_said() {
        let words = Words::english().expect("English");
        let sentence = words.word("mail.deviates").expect("the sentence");
        let mut failed = record("Quay 3", 1);
        assert!(!of("en", &failed).text.contains(sentence));
        failed["verdicts"] = json!([{ "outcome": "holds" }, { "outcome": "deviates" }]);
        assert!(of("en", &failed).text.contains(sentence));
        let mut named = record("Quay 3", 1);
        named["certificate"]["data"]["deviations"] = json!([{ "text": "x" }]);
        assert!(of("en", &named).html.contains("Not everything"));
    }
}
