//! The notice of a visit that was not made: what was to be done, why it was not, and nothing that sounds like service.

use minijinja::context;
use serde::Serialize;

use super::certificate::{Closing, Opening};
use super::parts::Named;
use super::rules::remarks;
use super::voice::Voice;
use super::{Head, Said, View};
use crate::engine::Template;
use crate::job::ServiceLog;
use crate::record::{entry_of, revision_mark};

#[derive(Serialize)]
struct Notice {
    #[serde(flatten)]
    opening: Opening,
    areas: Vec<LeftOut>,
    /// What the crew wrote.
    remarks: Vec<String>,
    #[serde(flatten)]
    closing: Closing,
}

/// An area that was to be treated, and why it was not.
#[derive(Serialize)]
struct LeftOut {
    treatment: String,
    name: String,
    product: String,
    reason: Option<String>,
}

/// The notice. `digest` is the record's, in hexadecimal.
pub fn notice(voice: &Voice<'_>, service_log: Option<&ServiceLog>, digest: &str) -> Said<View> {
    let plan = voice.plan;
    let mut areas = Vec::new();
    for treatment in &plan.treatments {
        for area in &treatment.areas {
            let entry = service_log.and_then(|log| entry_of(log, treatment.number, &area.name));
            areas.push(LeftOut {
                treatment: treatment.number.to_string(),
                name: area.name.clone(),
                product: treatment.product.name.clone(),
                reason: entry.and_then(|entry| entry.skipped.clone()),
            });
        }
    }
    let date = Named::new(voice.date(plan.start.date())?, [voice.clock(plan.start)?]);
    let body = Notice {
        opening: Opening::new(voice, "notice.heading", "notice.lead", date)?,
        areas,
        remarks: remarks(voice, service_log)?,
        closing: Closing::new(voice, Some(digest))?,
    };
    let title = voice.say("notice.title", context! { record => &voice.record.number })?;
    let stem = format!("{}-notice{}", plan.job, revision_mark(service_log.map_or(1, |a| a.revision)));
    View::new(Template::Notice, stem, Head::of(voice, title, "notice.words"), body)
}
