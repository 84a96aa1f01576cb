//! The notice of a visit that was not made: what was to be done, why it was not, and nothing that sounds like service.

use minijinja::context;
use serde_json::json;

use super::mix_sheet::page_word;
use super::voice::Voice;
use super::{DocumentError, View};
use crate::job::Applied;
use crate::record::{entry_of, in_groups, revision_mark};
use crate::typeset::Template;

/// The notice. `digest` is the record's, in hexadecimal.
///
/// # Errors
/// [`DocumentError`] if a word is missing.
pub fn notice(voice: &Voice<'_>, applied: Option<&Applied>, digest: &str) -> Result<View, DocumentError> {
    let (plan, words) = (voice.plan, voice.words);
    let mut areas = Vec::new();
    for treatment in &plan.treatments {
        for area in &treatment.areas {
            let entry = applied.and_then(|log| entry_of(log, treatment.number, &area.name));
            areas.push(json!({
                "treatment": treatment.number.to_string(),
                "name": area.name,
                "product": treatment.product.name,
                "reason": entry.and_then(|entry| entry.skipped.clone()),
            }));
        }
    }
    let signature = words.say("certificate.signature.company", context! { company => &plan.company.name })?;
    let remarks: Result<Vec<String>, _> = applied
        .map(|log| log.deviations.as_slice())
        .unwrap_or_default()
        .iter()
        .map(|deviation| {
            words.say("certificate.deviation", context! { what => &deviation.what, reason => &deviation.reason })
        })
        .collect();
    let data = json!({
        "lang": words.language,
        "title": words.say("notice.title", context! { record => &voice.record.number })?,
        "author": plan.company.name,
        "accent": null,
        "page": page_word(plan.page),
        "draft": false,
        "words": words.group("notice.words"),
        "company": {
            "name": plan.company.name,
            "address": plan.company.address,
            "phone": plan.company.phone,
            "licence": plan.company.licence,
        },
        "heading": words.word("notice.heading")?,
        "lead": words.word("notice.lead")?,
        "client": { "name": plan.client.name, "lines": plan.client.contact.iter().collect::<Vec<_>>() },
        "site": { "name": plan.site.name, "lines": [plan.site.address] },
        "date": { "name": voice.date(plan.start.date())?, "lines": [voice.clock(plan.start)] },
        "areas": areas,
        "remarks": remarks?,
        "signature": [signature, words.word("certificate.signature.name")?, words.word("certificate.signature.moment")?],
        "record": { "number": voice.record.number, "digest": in_groups(digest), "qr": voice.qr()? },
        "deference": words.word("deference")?,
    });
    let revision = revision_mark(applied.map_or(1, |a| a.revision));
    Ok(View { template: Template::Notice, stem: format!("{}-notice{revision}", plan.job), data })
}
