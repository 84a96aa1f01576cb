//! A certificate's page, drawn again from its record.

use serde_json::{Value, json};

use super::file::Carrier;
use crate::company::check_logo;
use crate::digest::sha256;
use crate::engine::{Engine, Ink, Sheet, Template, Templates};
use crate::record::{CertificatePage, PROGRAM};

/// What came of drawing a page again.
pub enum Reproduction {
    Drawn(Vec<u8>),
    /// It could not be drawn here, for no fault of the record's.
    NotDrawn(String),
    Impossible(String),
    Error(String),
}

/// Draws the page of a record once more. `own` are the templates of the job that was given, if one was.
pub fn reproduce(carrier: &Carrier<'_>, own: Option<&Templates>) -> Reproduction {
    match data_and_templates(carrier, own) {
        Ok((templates, sheet)) => match Engine::with(templates).typeset(&sheet).and_then(|set| set.pdf()) {
            Ok(pdf) => Reproduction::Drawn(pdf),
            Err(error) => impossible(format!("it cannot be set: {error}")),
        },
        Err(reproduction) => reproduction,
    }
}

fn impossible(why: impl Into<String>) -> Reproduction {
    Reproduction::Impossible(why.into())
}

fn not_drawn(why: impl Into<String>) -> Reproduction {
    Reproduction::NotDrawn(why.into())
}

fn data_and_templates(carrier: &Carrier<'_>, own: Option<&Templates>) -> Result<(Templates, Sheet), Reproduction> {
    let record = carrier.record;
    let page = &record["certificate"];
    if page.is_null() {
        return Err(impossible("it holds no certificate"));
    }
    let templates = templates(carrier, own)?;
    short_enough(&page["data"]).map_err(not_drawn)?;
    let mut data = page["data"].clone();
    let link = record["link"].as_str().unwrap_or_default();
    let has_code = data["record"]["qr"].is_object();
    if !has_code || CertificatePage::fill(&mut data, &sha256(carrier.bytes), link).is_none() {
        return Err(impossible("it has no link that a code could hold"));
    }
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    data["attached"] = json!({ "record": text(carrier.bytes), "seal": text(carrier.seal.unwrap_or_default()) });
    let (Some(number), Some(stem)) = (record["number"].as_str(), page["stem"].as_str()) else {
        return Err(impossible("it has no number or no file name"));
    };
    let Some(date) = page["date"].as_str().and_then(|date| date.parse().ok()) else {
        return Err(impossible("it has no date"));
    };
    let data = serde_json::to_vec(&data).map_err(|error| Reproduction::Error(error.to_string()))?;
    Ok((templates, Sheet { template: Template::Certificate, data, date, ident: format!("{number}/{stem}") }))
}

/// The templates and the logo that the page was drawn with.
fn templates(carrier: &Carrier<'_>, own: Option<&Templates>) -> Result<Templates, Reproduction> {
    let (page, maker) = (&carrier.record["certificate"], &carrier.record["made_by"]);
    let program = maker["program"].as_str().unwrap_or_default();
    if program != PROGRAM {
        return Err(not_drawn(format!("it was made by {program}, and this is {PROGRAM}; use that version")));
    }
    let mut templates = match (maker["own_templates"].as_bool(), own) {
        (Some(true), None) => return Err(not_drawn("it was made with templates of the firm's own; give `--job`")),
        (Some(true), Some(own)) => own.clone(),
        _ => Templates::built_in(),
    };
    templates.set_ink(if page["ink"] == Ink::Black.word() { Ink::Black } else { Ink::Color });
    if maker["drawn_with"] != json!(templates.certificate_digest()) {
        return Err(not_drawn("it was made with other templates or fonts than these"));
    }
    if page["logo"].is_null() != page["data"]["logo"].is_null() {
        return Err(impossible("its page and its record do not agree on a logo"));
    }
    if let (Some(digest), Some(path)) = (page["logo"].as_str(), page["data"]["logo"]["path"].as_str()) {
        let Some(logo) = carrier.attached.iter().find(|bytes| sha256(bytes) == digest) else {
            return Err(impossible("the logo that it names is not attached"));
        };
        // the two paths a logo may have; another one would be remembered by Typst for good
        let Some(path) = ["house/logo.svg", "house/logo.png"].into_iter().find(|p| path == format!("/{p}")) else {
            return Err(impossible("the logo's path is none of decant's"));
        };
        // whoever made this file may not be who it says, and a drawing can be made to take hours
        match check_logo(logo) {
            Ok(form) if path.ends_with(form.ending()) => templates.replace(path, logo.clone()),
            Ok(_) => return Err(impossible("the logo is not of the kind that its path says")),
            Err(why) => return Err(impossible(format!("the logo attached is none that decant takes: {why}"))),
        }
    }
    Ok(templates)
}

/// The most texts of a page that is drawn again: a visit of some hundred areas. The time to draw them grows with their number, and a
/// stranger's record may hold as many as it likes. Measured: see `a_strangers_certificate_with_a_page_that_takes_long`.
const MOST_TEXTS: usize = 6_000;
/// The most bytes of all texts of a page.
const MOST_BYTES: usize = 400_000;
/// The longest text, in bytes: a sentence with three texts of a log, which have 2,000 characters at most.
const LONGEST_TEXT: usize = 10_000;

/// Whether a page's data is short enough to be drawn for a stranger.
fn short_enough(data: &Value) -> Result<(), String> {
    let mut open = vec![data];
    let (mut texts, mut bytes) = (0, 0);
    while let Some(value) = open.pop() {
        match value {
            Value::Array(items) => open.extend(items),
            Value::Object(fields) => {
                bytes += fields.keys().map(String::len).sum::<usize>();
                open.extend(fields.values());
            }
            Value::String(text) if text.len() > LONGEST_TEXT => {
                return Err(format!("a text of it has more than {LONGEST_TEXT} bytes"));
            }
            Value::String(text) => bytes += text.len(),
            _ => {}
        }
        texts += 1;
    }
    if texts > MOST_TEXTS {
        return Err(format!("it has more than {MOST_TEXTS} texts"));
    }
    if bytes > MOST_BYTES {
        return Err(format!("its texts have more than {MOST_BYTES} bytes"));
    }
    Ok(())
}
