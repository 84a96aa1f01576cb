//! Whether a certificate's page says what its plan, log and verdicts give, in the program's own words.
//!
//! That the page follows from the record's bytes shows that nothing was altered since. It does not show that the page was true when it
//! was made: the record holds the page's texts, and a firm's own language file can make `passes` of `below the band`.

use serde_json::Value;

use super::Refusal;
use super::prepare::Prepared;
use crate::document::{DocumentError, Voice, certificate};
use crate::quantity::{Printer, System};
use crate::record::{CertificatePage, Finding, conformity, first_difference};
use crate::report::Report;
use crate::wording::Words;

/// What the look of a page may have of its own: it can change without the job's changing, and says nothing of the work.
const LOOK: [&str; 3] = ["accent", "logo", "lines"];

/// The pages that a job gives: one for each language that is built in and each system of units.
pub(super) struct Pages {
    revision: u32,
    data: Vec<Value>,
}

impl Pages {
    /// Works them out; none if the job's log allows no certificate.
    pub fn of(prepared: &Prepared) -> Result<Pages, Refusal> {
        let mut report = Report::new();
        let log = conformity(&prepared.plan, &prepared.job, &mut report);
        if report.has_errors() {
            return Err(Refusal::bad_input(report));
        }
        let revision = prepared.job.applied.as_ref().map_or(1, |log| log.revision);
        let mut pages = Vec::new();
        if !log.missing.is_empty() {
            return Ok(Pages { revision, data: pages });
        }
        for tag in Words::tags() {
            let words = Words::of(tag).map_err(Refusal::own_fault)?;
            for system in [System::Us, System::Si] {
                let voice = Voice {
                    words: &words,
                    units: Printer::new(system).with(words.notation()),
                    plan: &prepared.plan,
                    record: &prepared.record,
                };
                let made: Result<_, DocumentError> = certificate(&voice, prepared.job.applied.as_ref(), &log, false);
                let mut data = made.map_err(Refusal::own_fault)?.data;
                CertificatePage::strip(&mut data);
                pages.push(plain(data));
            }
        }
        Ok(Pages { revision, data: pages })
    }
}

fn plain(mut data: Value) -> Value {
    if let Some(fields) = data.as_object_mut() {
        fields.retain(|key, _| !LOOK.contains(&key.as_str()));
    }
    data
}

/// What is found of the words of a certificate's page. `pages` are those of the job, if one was given; the record is then known to be
/// of that job's plan, log and verdicts.
pub(super) fn words_of_page(record: &Value, pages: Option<&Pages>) -> Option<Finding> {
    let page = &record["certificate"];
    if page.is_null() {
        return None;
    }
    let lang = page["data"]["lang"].as_str().unwrap_or_default();
    if !Words::tags().any(|tag| tag == lang) {
        // whoever reads it should know that nobody but the firm chose its words; a tag is never long
        let shown: String = lang.chars().filter(char::is_ascii_lowercase).take(8).collect();
        return Some(Finding::NotChecked(format!(
            "the words of the page are of a language file of the firm's own (`{shown}`): whether they say what plan, log and \
             verdicts give cannot be checked"
        )));
    }
    let Some(Pages { revision, data: pages }) = pages else {
        return Some(Finding::Note(
            "whether the page says what plan, log and verdicts give was not looked at: give `--job`".into(),
        ));
    };
    if record["revision"] != *revision {
        return Some(Finding::Note(format!(
            "the page of another revision than the job's, which is {revision}, was not looked at"
        )));
    }
    let said = plain(page["data"].clone());
    let of_language: Vec<&Value> = pages.iter().filter(|p| p["lang"] == lang).collect();
    let differs: Vec<String> = of_language.iter().filter_map(|p| first_difference(&said, p)).collect();
    if differs.len() < of_language.len() {
        return Some(Finding::Matches("the page's words and figures: plan, log and verdicts give the same".into()));
    }
    let place = differs.first().map_or("in all of it".to_owned(), |path| format!("first at `{path}`"));
    Some(Finding::Altered(format!("the page does not say what plan, log and verdicts give: {place}")))
}
