//! What the page of a contract's status is given.

use jiff::civil::Date;
use minijinja::context;
use serde::Serialize;

use super::DocumentError;
use super::page::{Frame, frame};
use crate::company::Company;
use crate::wording::Words;

/// Visits that stand alike.
#[derive(Serialize)]
pub struct StatusSection<'a> {
    /// Its key in the language file; then the heading.
    #[serde(skip)]
    pub heading: &'static str,
    pub rows: Vec<StatusRow<'a>>,
}

/// One visit.
#[derive(Serialize)]
pub struct StatusRow<'a> {
    pub start: String,
    pub job: &'a str,
    pub site: &'a str,
    pub van: &'a str,
    pub why: &'a [String],
}

#[derive(Serialize)]
struct Section<'a> {
    heading: String,
    rows: Vec<StatusRow<'a>>,
}

#[derive(Serialize)]
pub struct StatusPage<'a> {
    #[serde(flatten)]
    frame: Frame,
    lead: String,
    sections: Vec<Section<'a>>,
}

/// The page; sections without a visit are left out.
pub fn status_page<'a>(
    words: &Words,
    company: &Company,
    (contract, today): (&str, Date),
    sections: Vec<StatusSection<'a>>,
) -> Result<StatusPage<'a>, DocumentError> {
    let heading = words.say("status.heading", context! { contract })?;
    let mut frame = frame(words, company, format!("{heading} · {}", company.name), heading)?;
    frame.words.extend(words.group("status.words"));
    let said = sections.into_iter().filter(|section| !section.rows.is_empty()).map(|section| {
        let heading = words.word(&format!("status.{}", section.heading))?;
        Ok(Section { heading: format!("{heading} ({})", section.rows.len()), rows: section.rows })
    });
    let sections = said.collect::<Result<_, DocumentError>>()?;
    Ok(StatusPage { frame, lead: words.say("status.lead", context! { day => today.to_string() })?, sections })
}
