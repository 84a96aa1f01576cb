//! Data in, HTML out: pages that hold everything they need, escaped by the engine and never by hand.

use minijinja::AutoEscape;
use minijinja::value::Serde;
use serde::Serialize;

use crate::digest::sha256_base64;
use crate::wording::engine;

/// A page there is a template for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Page {
    /// One record.
    Record,
    /// The index of records.
    Index,
    /// What needs doing in a contract.
    Status,
    /// The body of a letter.
    Letter,
    /// The form for the crew's telephone.
    Form,
}

impl Page {
    fn file(self) -> &'static str {
        match self {
            Page::Record => "record.html",
            Page::Index => "index.html",
            Page::Status => "status.html",
            Page::Letter => "letter.html",
            Page::Form => "form.html",
        }
    }
}

/// A template that asks for what it is not given: an internal error.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the page cannot be made: {0}")]
pub struct HtmlError(String);

const STYLE: &str = include_str!("../../templates/pages/style.css");

const FILES: [(&str, &str); 8] = [
    ("base.html", include_str!("../../templates/pages/base.html")),
    ("record.html", include_str!("../../templates/pages/record.html")),
    ("chart.html", include_str!("../../templates/pages/chart.html")),
    ("index.html", include_str!("../../templates/pages/index.html")),
    ("status.html", include_str!("../../templates/pages/status.html")),
    ("letter.html", include_str!("../../templates/mail/letter.html")),
    ("form.html", include_str!("../../templates/form/form.html")),
    ("style.css", STYLE),
];

/// The form's script, of which each file sees what the others declare.
const SCRIPT: &str = concat!(
    include_str!("../../templates/form/state.js"),
    include_str!("../../templates/form/pieces.js"),
    include_str!("../../templates/form/visit.js"),
    include_str!("../../templates/form/open.js"),
    include_str!("../../templates/form/log.js"),
    include_str!("../../templates/form/sha256.js"),
    include_str!("../../templates/form/start.js"),
);

/// Fills a page in. Every value is text: `<`, `>`, `&` and both quotation marks are escaped wherever it stands.
pub fn html(page: Page, data: &impl Serialize) -> Result<String, HtmlError> {
    let fault = |e: minijinja::Error| HtmlError(format!("{e:#}"));
    let mut engine = engine(AutoEscape::Html).map_err(fault)?;
    for (name, text) in FILES {
        engine.add_template(name, text).map_err(fault)?;
    }
    let text = engine.get_template(page.file()).and_then(|t| t.render(Serde(data))).map_err(fault)?;
    Ok(text + "\n")
}

/// A page with a script of its own, and nothing from anywhere else: its policy names the very bytes of script and style. `data` is for
/// the script, and cannot end the element that it stands in.
pub fn scripted(page: Page, data: &impl Serialize, given: &impl Serialize) -> Result<String, HtmlError> {
    #[derive(Serialize)]
    struct Scripted<'a, D> {
        #[serde(flatten)]
        data: &'a D,
        script: &'a str,
        style: &'a str,
        script_digest: String,
        style_digest: String,
        given: String,
    }
    let script = format!("\"use strict\";\n(() => {{\n{SCRIPT}}})();\n");
    let style = format!("{STYLE}{}", include_str!("../../templates/form/form.css"));
    let given = serde_json::to_string(given).map_err(|e| HtmlError(e.to_string()))?;
    let given = ['<', '>', '&', '\u{2028}', '\u{2029}']
        .into_iter()
        .fold(given, |text, c| text.replace(c, &format!("\\u{:04x}", u32::from(c))));
    let (script_digest, style_digest) = (sha256_base64(script.as_bytes()), sha256_base64(style.as_bytes()));
    html(page, &Scripted { data, script: &script, style: &style, script_digest, style_digest, given })
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn what_is_not_given_is_an_error_and_no_blank() {
        let error = html(Page::Index, &json!({ "lang": "en" })).expect_err("a title is wanted");
        assert!(error.to_string().contains("undefined"), "{error}");
    }

    #[test]
    fn text_is_never_markup() {
        let hostile = "<script>alert(1)</script>\"'&";
        let data = json!({
            "lang": hostile, "title": hostile, "accent": null, "heading": hostile, "lead": hostile, "deference": hostile,
            "company": { "name": hostile, "address": hostile, "phone": hostile, "emergency": hostile, "licence": hostile },
            "words": { "skip": hostile, "record": hostile, "site": hostile, "date": hostile, "state": hostile, "records": hostile,
                       "firm": hostile, "emergency": hostile, "by_month": hostile, "by_site": hostile, "all": hostile, "find": hostile },
            "records": [{ "number": hostile, "path": "x", "date": hostile, "site": hostile, "state": hostile, "lang": hostile, "choices": ["s1"] }],
            "months": [], "sites": [{ "id": "s1", "label": hostile, "count": 1 }],
        });
        let text = html(Page::Index, &data).expect("a page");
        assert!(!text.contains("<script") && !text.contains("\"'"), "{text}");
        assert!(text.matches("&lt;script&gt;").count() >= 10);
    }
}
