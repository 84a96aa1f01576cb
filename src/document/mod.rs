//! Documents: one file each, with a typed view of what its template is given. Every figure comes from the plan; here it
//! is only put into words and units. `templates/README.md` lists the fields.

mod blank_log;
mod calendar;
mod certificate;
mod chart;
mod elements;
mod form;
mod grid;
mod hazards;
mod label;
mod label_now;
mod legible;
mod load_out;
mod mix_sheet;
mod notice;
mod open;
mod page;
mod parts;
mod register;
mod rules;
mod service_report;
mod status;
mod summary;
mod test_print;
#[cfg(test)]
mod tests;
mod used;
mod voice;

use std::collections::BTreeMap;

use serde::Serialize;
use serde_json::{Value, json};

pub use blank_log::{BlankLog, BlankTreatment, blank_log};
pub use certificate::certificate;
pub use form::form;
pub use label::{LabelBatch, LabelJob, LabelOnly, LabelRun, check_elements, has_black_frames, labels, on_other_stock};
pub use label_now::{FilledNow, label_of_now};
pub use load_out::{Van, load_out};
pub use mix_sheet::{mix_sheet, mix_sheets};
pub use notice::notice;
pub use open::{missing_texts, open_lines};
pub use page::{Download, IndexRow, Known, index_page, page};
pub use register::register;
pub use rules::failed_rules;
pub use service_report::service_report;
pub use status::{StatusRow, StatusSection, status_page};
pub use summary::{summary, urgent_cautions};
pub use test_print::test_print;
pub use voice::Voice;

use crate::company::{Logo, PageSize, Style};
use crate::engine::{Template, Templates};
use crate::wording::{WordingError, Words};

/// A document ready for its template.
#[derive(Clone, Debug)]
pub struct View {
    /// Which template.
    pub template: Template,
    /// The file name's stem.
    pub stem: String,
    /// What the template is given.
    pub data: Value,
}

/// What can go wrong in putting a plan into words.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DocumentError {
    /// The language file lacks something.
    #[error(transparent)]
    Wording(#[from] WordingError),
    /// A hazard statement has no text.
    #[error("{0}")]
    Statement(String),
    /// The link does not fit a code.
    #[error("the link is too long for a printed code")]
    Code,
    /// A view is not JSON: an internal error.
    #[error("the data of a document cannot be written: {0}")]
    Data(String),
}

/// Text of a document, or what keeps it from being written.
type Said<T = String> = Result<T, DocumentError>;

/// What every document but a print run of mix sheets is given first.
#[derive(Serialize)]
struct Head {
    lang: String,
    title: String,
    author: Option<String>,
    /// The company's color, which [`dress`] fills in.
    accent: Option<String>,
    /// The paper; a label and a test print have their stock in its place.
    #[serde(skip_serializing_if = "Option::is_none")]
    page: Option<PageSize>,
    draft: bool,
    /// The captions.
    words: BTreeMap<String, String>,
}

impl Head {
    /// Of a document about a visit. `group` names its captions in the language file.
    fn of(voice: &Voice<'_>, title: String, group: &str) -> Head {
        let author = Some(voice.plan.company.name.clone());
        Head { author, page: Some(voice.plan.page), ..Head::plain(voice.words, title, group) }
    }

    /// Of a document that nobody signs and that has no paper of its own.
    fn plain(words: &Words, title: String, group: &str) -> Head {
        let (lang, words) = (words.language.clone(), words.group(group));
        Head { lang, title, author: None, accent: None, page: None, draft: false, words }
    }
}

impl View {
    /// A document whose data are a head and what follows it, as one object.
    fn new(template: Template, stem: String, head: Head, body: impl Serialize) -> Said<View> {
        #[derive(Serialize)]
        struct Data<B> {
            #[serde(flatten)]
            head: Head,
            #[serde(flatten)]
            body: B,
        }
        let mut data =
            serde_json::to_value(Data { head, body }).map_err(|error| DocumentError::Data(error.to_string()))?;
        // a label has its own search for the room of its words
        if template != Template::Label {
            parts::keep_units(&mut data);
        }
        Ok(View { template, stem, data })
    }
}

/// Where templates find the logo.
fn logo_path(logo: &Logo) -> String {
    format!("house/logo.{}", logo.form.ending())
}

/// Puts the logo beside the templates of one company.
pub fn furnish(templates: &mut Templates, style: &Style) {
    if let Some(logo) = &style.logo {
        templates.replace(logo_path(logo), logo.bytes.clone());
    }
}

/// Gives a document the company's look, and tells a label which ink it is for. The plan knows nothing of either, since the
/// record is of the work and not of the paper.
pub fn dress(view: &mut View, style: &Style, company: &str) {
    let logo = style.logo.as_ref().map(|logo| json!({ "path": format!("/{}", logo_path(logo)), "alt": company }));
    view.data["accent"] = json!(style.accent.map(|accent| accent.hex()));
    view.data["logo"] = json!(logo);
    view.data["lines"] = json!(style.lines);
}
