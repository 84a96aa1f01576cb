//! What certificates are compared with: a job, and pages drawn again from their records.

use std::path::Path;

use serde_json::Value;

use super::certify::certify;
use super::context::Context;
use super::failure::Failure;
use super::planned::{Planned, plan_file};
use super::reproduce::reproduce;
use crate::document::{Voice, certificate};
use crate::quantity::{Printer, System};
use crate::record::verify::{Carrier, Drawing, Reference, Reproduction};
use crate::record::{CertificatePage, Finding, PublicKey, first_difference};
use crate::typeset::Templates;
use crate::wording::Words;

/// Draws pages again with the engine; with the templates and the words of a job, if one was given.
#[derive(Default)]
pub struct Redrawing {
    templates: Option<Templates>,
    pages: Option<Pages>,
}

impl Redrawing {
    /// For a certificate of a job whose words are not looked at: the log may be an earlier revision's.
    pub fn with_templates(planned: &Planned, context: &Context) -> Result<Redrawing, Failure> {
        Ok(Redrawing { templates: Some(context.templates(planned.company())?), pages: None })
    }
}

impl Drawing for Redrawing {
    fn draw(&self, carrier: &Carrier<'_>) -> Reproduction {
        reproduce(carrier, self.templates.as_ref())
    }

    fn check_words(&self, record: &Value) -> Option<Finding> {
        check_words(record, self.pages.as_ref())
    }
}

/// The record that a job gives, and how its pages are drawn again.
pub fn reference(job: &Path, key: Option<PublicKey>) -> Result<Reference<Redrawing>, Failure> {
    let context = Context::default();
    let planned = plan_file(job, &context)?;
    planned.need_log()?;
    let record = certify(&planned, false, &planned.printable(&context)?, &context)?.record;
    let mut drawing = Redrawing::with_templates(&planned, &context)?;
    drawing.pages = Some(Pages::of(&planned)?);
    Ok(Reference { key, record: serde_json::from_slice(&record.json).ok(), as_issued: false, drawing })
}

/// What the look of a page may have of its own: it can change without the job's changing, and says nothing of the work.
const LOOK: [&str; 3] = ["accent", "logo", "lines"];

/// The pages that a job gives: one for each language that is built in and each system of units.
struct Pages {
    revision: u32,
    data: Vec<Value>,
}

impl Pages {
    /// None if the job's log allows no certificate.
    fn of(planned: &Planned) -> Result<Pages, Failure> {
        let applied = planned.job.applied.as_ref();
        let mut pages = Pages { revision: applied.map_or(1, |log| log.revision), data: Vec::new() };
        if !planned.log.missing.is_empty() {
            return Ok(pages);
        }
        for tag in Words::tags() {
            let words = Words::of(tag)?;
            for system in [System::Us, System::Si] {
                let units = Printer::new(system).with(words.notation());
                let voice = Voice { words: &words, units, plan: &planned.plan, record: &planned.record };
                let mut data = certificate(&voice, applied, &planned.log, false)?.data;
                CertificatePage::strip(&mut data);
                pages.data.push(without_look(data));
            }
        }
        Ok(pages)
    }
}

fn without_look(mut data: Value) -> Value {
    if let Some(fields) = data.as_object_mut() {
        fields.retain(|key, _| !LOOK.contains(&key.as_str()));
    }
    data
}

/// Whether a certificate's page says what its plan, log and verdicts give, in the program's own words. `pages` are those of the job,
/// if one was given; the record is then known to be of that job's plan, log and verdicts.
///
/// That the page follows from the record's bytes shows that nothing was altered since. It does not show that the page was true when it
/// was made: the record holds the page's texts, and a firm's own language file can make `passes` of `below the band`.
fn check_words(record: &Value, pages: Option<&Pages>) -> Option<Finding> {
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
    let data = without_look(page["data"].clone());
    let of_language: Vec<&Value> = pages.iter().filter(|p| p["lang"] == lang).collect();
    let differs: Vec<String> = of_language.iter().filter_map(|p| first_difference(&data, p)).collect();
    if differs.len() < of_language.len() {
        return Some(Finding::Matches("the page's words and figures: plan, log and verdicts give the same".into()));
    }
    let place = differs.first().map_or("in all of it".to_owned(), |path| format!("first at `{path}`"));
    Some(Finding::Altered(format!("the page does not say what plan, log and verdicts give: {place}")))
}
