//! Whether a certificate's page says what its plan, log and verdicts give, in the program's own words.
//!
//! That the page follows from the record's bytes shows that nothing was altered since. It does not show that the page was true when it
//! was made: the record holds the page's texts, and a firm's own language file can make `passes` of `below the band`.

use serde_json::Value;

use crate::company::Dates;
use crate::document::{DocumentError, Voice, certificate};
use crate::job::ServiceLog;
use crate::plan::Plan;
use crate::quantity::{Printer, System};
use crate::record::{CertificatePage, Conformity, Finding, Record, first_difference};
use crate::wording::Words;

/// What the look of a page may have of its own: it can change without the job's changing, and says nothing of the work.
const LOOK: [&str; 3] = ["accent", "logo", "lines"];

/// The pages that a job gives: one for each language that is built in, each system of units and each form of dates.
pub struct Pages {
    revision: u32,
    data: Vec<Value>,
}

impl Pages {
    /// None if the job's log allows no certificate.
    pub fn of(
        plan: &Plan,
        record: &Record,
        service_log: Option<&ServiceLog>,
        log: &Conformity,
    ) -> Result<Pages, DocumentError> {
        let mut pages = Pages { revision: service_log.map_or(1, |log| log.revision), data: Vec::new() };
        if !log.missing.is_empty() {
            return Ok(pages);
        }
        for tag in Words::tags() {
            let words = Words::of(tag)?;
            let forms = [System::Us, System::Si].map(|system| [(system, Dates::Us), (system, Dates::International)]);
            for (system, dates) in forms.into_iter().flatten() {
                let units = Printer::new(system).with(words.notation());
                let voice = Voice { words: &words, units, dates, plan, record };
                let mut data = certificate(&voice, service_log, log, false)?.data;
                CertificatePage::strip(&mut data);
                pages.data.push(comparable(data));
            }
        }
        Ok(pages)
    }
}

/// The page's data without its look. Where a line may break says nothing of the work either.
fn comparable(mut data: Value) -> Value {
    fn breakable(value: &mut Value) {
        match value {
            Value::String(text) => *text = text.replace('\u{a0}', " "),
            Value::Array(items) => items.iter_mut().for_each(breakable),
            Value::Object(fields) => fields.values_mut().for_each(breakable),
            _ => {}
        }
    }
    if let Some(fields) = data.as_object_mut() {
        fields.retain(|key, _| !LOOK.contains(&key.as_str()));
    }
    breakable(&mut data);
    data
}

/// `pages` are those of the job, if one was given; the record is then known to be of that job's plan, log and verdicts.
/// `drawn_here`: these templates draw the page.
pub fn check_words(record: &Value, pages: Option<&Pages>, drawn_here: bool) -> Option<Finding> {
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
    let data = comparable(page["data"].clone());
    let of_language: Vec<&Value> = pages.iter().filter(|p| p["lang"] == lang).collect();
    let differs: Vec<String> = of_language.iter().filter_map(|p| first_difference(&data, p)).collect();
    if differs.len() < of_language.len() {
        return Some(Finding::Matches("the page's words and figures: plan, log and verdicts give the same".into()));
    }
    let place = differs.first().map_or("in all of it".to_owned(), |path| format!("first at `{path}`"));
    // nothing else guards a page of other templates, so it counts as altered until the version that made it has looked
    let version =
        if drawn_here { "" } else { "; if an earlier version of the program made it, verify it with that version" };
    Some(Finding::Altered(format!("the page does not say what plan, log and verdicts give: {place}{version}")))
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::comparable;

    #[test]
    fn a_space_that_keeps_a_figure_together_is_a_space() {
        let page = json!({ "accent": "#000", "areas": [{ "contact": "11\u{a0}min" }] });
        assert_eq!(comparable(page), json!({ "areas": [{ "contact": "11 min" }] }));
    }
}
