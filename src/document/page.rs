//! The public page of a record: what whoever reads the code on a container or a certificate may know.

pub(super) mod chart;

use minijinja::context;
use serde_json::{Value, json};

use super::DocumentError;
use super::certificate::{certificate, made, strength_read};
use super::facts::caution_text;
use super::hazards::hazards;
use super::voice::Voice;
use crate::catalog::{Company, Publish};
use crate::job::Applied;
use crate::plan::{Measured, Severity};
use crate::record::{Conformity, Made, in_groups, revision_mark};
use crate::wording::Words;

/// A file that lies beside the page, to download.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Download {
    /// Its name, from the page.
    pub name: String,
    /// SHA-256 of its bytes, in hexadecimal.
    pub digest: String,
}

/// What is known of the work.
#[derive(Clone, Copy, Debug)]
pub struct Known<'a> {
    /// The log, if there is one.
    pub applied: Option<&'a Applied>,
    /// The log held against the plan.
    pub conformity: &'a Conformity,
    /// SHA-256 of the record's file, in hexadecimal.
    pub digest: &'a str,
    /// Which revision of the record it is, from 1.
    pub revision: u32,
}

/// What the page of a record is given. Nothing leaves the plan but what `publish` allows; the contact of the client, notes to
/// the crew and e-mail addresses never do.
///
/// # Errors
/// [`DocumentError`] if a word is missing.
pub fn page(
    voice: &Voice<'_>,
    known: &Known<'_>,
    publish: Publish,
    download: Option<&Download>,
) -> Result<Value, DocumentError> {
    let (applied, conformity) = (known.applied, known.conformity);
    let (plan, words, number) = (voice.plan, voice.words, &voice.record.number);
    // The certificate's own figures, so that page and certificate cannot differ.
    let proof = certificate(voice, applied, conformity, true)?.data;
    let not_made = conformity.visit == Made::Not;
    let done = conformity.certifies();
    let deviates = conformity.deviates() || proof["deviations"].as_array().is_some_and(|all| !all.is_empty());
    let allowed = |allowed: bool, value: Value| if allowed { value } else { Value::Null };
    let strength_fact = words.word("certificate.facts.strength")?;
    let mut facts: Vec<Value> = proof["facts"].as_array().cloned().unwrap_or_default();
    facts.retain(|fact| publish.readings || fact["label"] != strength_fact);
    let state = state(not_made, done, deviates);
    let lead = if state == "done" && conformity.is_unjudged() { "unjudged" } else { state };
    let mut view = begun(words, &plan.company)?;
    let more = json!({
        "title": words.say("page.title", context! { record => number })?,
        "heading": words.word("page.heading")?,
        "done": done,
        "state": state,
        "lead": words.word(&format!("page.lead.{lead}"))?,
        "site": allowed(publish.site, json!({ "name": plan.site.name, "address": plan.site.address })),
        "client": allowed(publish.client, json!(plan.client.name)),
        "date": proof["date"]["name"],
        "hours": allowed(done, proof["date"]["lines"][0].clone()),
        "number": number,
        "facts": facts,
        "treatments": treatments(voice, &proof, known, publish)?,
        "readings": allowed(publish.readings && done, proof["readings"].clone()),
        "charts": chart::charts(voice, applied)?,
        "areas": allowed(publish.areas && done, proof["areas"].clone()),
        "deviations": allowed(publish.deviations, proof["deviations"].clone()),
        "cautions": if not_made { Vec::new() } else { cautions(voice, publish.areas)? },
        "crew": allowed(publish.crew, proof["crew"].clone()),
        "not_claimed": proof["not_claimed"],
        "verify": words.say("page.verify", context! { file => format!("{}-record{}.json", plan.job, revision_mark(known.revision)) })?,
        "digest": in_groups(known.digest),
        "certificate": match download {
            Some(file) => json!({
                "name": file.name,
                "label": words.say("page.download", context! { file => &file.name })?,
                "digest": in_groups(&file.digest),
            }),
            None => Value::Null,
        },
    });
    merge(&mut view, more);
    // Captions that the certificate has too are the certificate's.
    for key in [
        "treatment",
        "load",
        "product",
        "method",
        "mixed",
        "band",
        "read",
        "result",
        "area",
        "size",
        "treated",
        "wet_until",
        "contact",
    ] {
        view["words"][key] = proof["words"][key].clone();
    }
    if not_made {
        view["words"]["firm"] = json!(words.word("page.words.firm_not_made")?);
    }
    for key in ["registration", "readings", "areas", "deviations", "crew", "licence"] {
        view["words"][key] = proof["words"][key].clone();
    }
    Ok(view)
}

/// What the index is given: `records` as [`crate::html::Page::Index`] lists them, or none.
///
/// # Errors
/// [`DocumentError`] if a word is missing.
pub fn index_page(words: &Words, company: &Company, records: &[Value]) -> Result<Value, DocumentError> {
    let mut view = begun(words, company)?;
    let lead = if records.is_empty() { "page.index.closed" } else { "page.index.open" };
    let mut records = records.to_vec();
    for record in &mut records {
        let state = record["state"].as_str().unwrap_or_default().to_owned();
        record["state"] = json!(words.word(&format!("page.states.{state}"))?);
    }
    let heading = words.word("page.index.heading")?;
    let more = json!({ "title": format!("{heading} · {}", company.name), "heading": heading, "lead": words.word(lead)?, "records": records });
    merge(&mut view, more);
    Ok(view)
}

fn begun(words: &Words, company: &Company) -> Result<Value, DocumentError> {
    Ok(json!({
        "lang": words.language,
        "accent": null,
        "words": words.group("page.words"),
        "company": {
            "name": company.name,
            "address": company.address,
            "phone": company.phone,
            "emergency": company.emergency_phone,
            "licence": company.licence,
        },
        "deference": words.word("deference")?,
    }))
}

fn merge(view: &mut Value, more: Value) {
    if let (Value::Object(view), Value::Object(more)) = (view, more) {
        view.extend(more);
    }
}

fn state(not_made: bool, done: bool, deviates: bool) -> &'static str {
    match (done, deviates) {
        _ if not_made => "not-made",
        (false, _) => "planned",
        (true, true) => "deviates",
        (true, false) => "done",
    }
}

/// What was used, or is planned to be; of a treatment that was not made nothing.
fn treatments(
    voice: &Voice<'_>,
    proof: &Value,
    known: &Known<'_>,
    publish: Publish,
) -> Result<Vec<Value>, DocumentError> {
    let words = voice.words;
    let rows = proof["products"].as_array().map(Vec::as_slice).unwrap_or_default();
    let mut all = Vec::new();
    for treatment in made(voice.plan, known.applied) {
        let number = treatment.number.to_string();
        let Some(row) = rows.iter().find(|row| row["treatment"] == number.as_str()) else {
            continue;
        };
        let of = match treatment.strength.of {
            Measured::Actives => "measured.actives",
            Measured::AvailableChlorine => "measured.available-chlorine",
        };
        let planned = || {
            let strength = voice.units.strength(&treatment.strength.mixed).main;
            words.say("terminal.strength", context! { strength, of => words.word(of)? })
        };
        // once there is a log, "as mixed" is what was read; the plan's figure is called planned
        let read = known.applied.filter(|_| publish.readings);
        let (caption, strength) = match read {
            Some(applied) => match strength_read(voice, applied, treatment)? {
                Some(read) => ("strength", read),
                None => ("strength", words.word("certificate.not_read")?.to_owned()),
            },
            None => ("strength_planned", planned()?),
        };
        let certificate = |key: &str| proof["words"][key].clone();
        let mut pairs = vec![
            json!({ "label": certificate("dilution"), "value": row["dilution"] }),
            json!({ "label": certificate("method"), "value": row["method"] }),
            json!({ "label": words.word(&format!("page.words.{caption}"))?, "value": strength }),
            json!({ "label": certificate("used"), "value": row["used"] }),
            json!({ "label": words.word("certificate.facts.contact")?, "value": voice.time(&treatment.directions.contact_time) }),
        ];
        if !row["lots"].is_null() {
            pairs.push(json!({ "label": certificate("lots"), "value": row["lots"] }));
        }
        let sheet = treatment.product.sds_link.as_deref();
        all.push(json!({
            "product": treatment.product.name,
            "title": treatment.directions.title,
            "registration": super::facts::registration(treatment.product.registration.as_deref()),
            "pairs": pairs,
            "hazards": hazards(voice, treatment)?,
            // nothing but a page on the web may stand behind a link that strangers follow
            "sheet": sheet.filter(|link| link.starts_with("https://") || link.starts_with("http://")),
        }));
    }
    Ok(all)
}

/// What the crew is told to watch for, each sentence once. One that names an area stays inside where areas are not
/// published: it stands on the mix sheet all the same.
fn cautions(voice: &Voice<'_>, areas: bool) -> Result<Vec<Value>, DocumentError> {
    let plan = voice.plan;
    let names: Vec<&str> = plan.treatments.iter().flat_map(|t| &t.areas).map(|a| a.name.as_str()).collect();
    let mut all: Vec<Value> = Vec::new();
    for caution in plan.cautions.iter().filter(|c| c.is_on_sheet() && c.severity != Severity::Note) {
        let text = caution_text(voice, caution)?;
        if (!areas && names.iter().any(|name| text.contains(name))) || all.iter().any(|c| c["text"] == text.as_str()) {
            continue;
        }
        let severity = caution.severity.word();
        let word = voice.words.word(&format!("sheet.severity.{severity}"))?;
        all.push(json!({ "severity": severity, "word": word, "text": text }));
    }
    Ok(all)
}
