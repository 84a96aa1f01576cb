//! `decant data`: what the template of a document is given, for those who write their own.

use std::path::Path;

use serde_json::{Map, Value};

use super::plan::own_fault;
use super::prepare::{caution_of_log, prepare};
use super::render::Kind;
use super::shelf::Shelf;
use super::views::{Asked, tell_not_made, tell_withheld, views};
use super::{Exit, output};

pub(super) fn run(job: &Path, document: Kind, asked: &Asked<'_>) -> Exit {
    let shelf = Shelf::default();
    let prepared = match prepare(job, &shelf) {
        Ok(prepared) => prepared,
        Err(refusal) => return refusal.tell(),
    };
    caution_of_log(&prepared);
    let made = match views(&prepared, asked, &shelf) {
        Ok(made) => made,
        Err(refusal) => return refusal.tell(),
    };
    if made.not_made {
        tell_not_made();
        return Exit::CertificateWithheld;
    }
    if !made.withheld.is_empty() {
        tell_withheld(&made.withheld);
        return Exit::CertificateWithheld;
    }
    let data = match document {
        // each kind of stock is a document of its own
        Kind::Labels => {
            let start = format!("{}-labels-", prepared.plan.job);
            let by_stock: Map<String, Value> =
                made.views.into_iter().map(|view| (view.stem.replacen(&start, "", 1), view.data)).collect();
            Value::Object(by_stock)
        }
        Kind::MixSheet | Kind::Certificate | Kind::Notice => {
            made.views.into_iter().map(|view| view.data).next().unwrap_or_default()
        }
    };
    match serde_json::to_string_pretty(&data) {
        Ok(text) => {
            output::json(&text);
            Exit::Done
        }
        Err(fault) => own_fault(&fault.to_string()),
    }
}
