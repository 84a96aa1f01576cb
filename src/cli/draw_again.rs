//! A certificate's page, drawn again from its record.

use serde_json::{Value, json};

use super::proving::{PROGRAM, made_by};
use crate::catalog::check_logo;
use crate::digest::sha256;
use crate::record::CertificatePage;
use crate::typeset::{Ink, Press, Sheet, Template, Templates};

/// What came of it.
pub(super) enum Again {
    /// The PDF.
    Drawn(Vec<u8>),
    /// It could not be drawn here, for no fault of the record's.
    NotDrawn(String),
    /// The record gives no page.
    Impossible(String),
    /// A fault of the program.
    Fault(String),
}

/// Draws the page of a record once more. `attached` are the files that the certificate carries; `own` are the templates of the
/// job that was given, if one was.
pub(super) fn draw_again(
    record: &Value,
    record_bytes: &[u8],
    seal: Option<&[u8]>,
    attached: &[Vec<u8>],
    own: Option<&Templates>,
) -> Again {
    let page = &record["certificate"];
    if page.is_null() {
        return Again::Impossible("it holds no certificate".into());
    }
    let program = record["made_by"]["program"].as_str().unwrap_or_default();
    if program != PROGRAM {
        return Again::NotDrawn(format!("it was made by {program}, and this is {PROGRAM}; use that version"));
    }
    let mut templates = match (record["made_by"]["own_templates"].as_bool(), own) {
        (Some(true), None) => {
            return Again::NotDrawn("it was made with templates of the firm's own; give `--job`".into());
        }
        (Some(true), Some(own)) => own.clone(),
        _ => Templates::built_in(),
    };
    if page["ink"] == Ink::Black.word() {
        templates.set_ink(Ink::Black);
    } else {
        templates.set_ink(Ink::Colour);
    }
    if record["made_by"]["drawn_with"] != json!(made_by(&templates).drawn_with) {
        return Again::NotDrawn("it was made with other templates or fonts than these".into());
    }
    if page["logo"].is_null() != page["data"]["logo"].is_null() {
        return Again::Impossible("its page and its record do not agree on a logo".into());
    }
    if let (Some(digest), Some(path)) = (page["logo"].as_str(), page["data"]["logo"]["path"].as_str()) {
        let Some(logo) = attached.iter().find(|bytes| sha256(bytes) == digest) else {
            return Again::Impossible("the logo that it names is not attached".into());
        };
        // the two paths a logo may have; another one would be remembered by Typst for good
        let Some(path) = ["house/logo.svg", "house/logo.png"].into_iter().find(|p| path == format!("/{p}")) else {
            return Again::Impossible("the logo's path is none of decant's".into());
        };
        // whoever made this file may not be who it says, and a drawing can be made to take hours
        match check_logo(logo) {
            Ok(form) if path.ends_with(form.ending()) => templates.replace(path, logo.clone()),
            Ok(_) => return Again::Impossible("the logo is not of the kind that its path says".into()),
            Err(why) => return Again::Impossible(format!("the logo attached is none that decant takes: {why}")),
        }
    }
    if let Err(why) = short_enough(&page["data"]) {
        return Again::NotDrawn(why);
    }
    let mut data = page["data"].clone();
    let digest = sha256(record_bytes);
    let link = record["link"].as_str().unwrap_or_default();
    if !data["record"]["qr"].is_object() || CertificatePage::fill(&mut data, &digest, link).is_none() {
        return Again::Impossible("it has no link that a code could hold".into());
    }
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    data["attached"] = json!({ "record": text(record_bytes), "seal": text(seal.unwrap_or_default()) });
    let (Some(number), Some(stem)) = (record["number"].as_str(), page["stem"].as_str()) else {
        return Again::Impossible("it has no number or no file name".into());
    };
    let Some(date) = page["date"].as_str().and_then(|date| date.parse().ok()) else {
        return Again::Impossible("it has no date".into());
    };
    let sheet = Sheet {
        template: Template::Certificate,
        data: match serde_json::to_vec(&data) {
            Ok(data) => data,
            Err(fault) => return Again::Fault(fault.to_string()),
        },
        date,
        ident: format!("{number}/{stem}"),
    };
    let set = Press::with(templates).typeset(&sheet).and_then(|set| set.pdf());
    match set {
        Ok(pdf) => Again::Drawn(pdf),
        Err(error) => Again::Impossible(format!("it cannot be set: {error}")),
    }
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
