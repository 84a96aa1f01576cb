//! The register: product used and strip readings, as tables.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use crate::quantity::Number;
use crate::register::{Key, Reading, Recorded, Sum};
use crate::wording::{WordingError, Words};

/// What the register's template is given; the firm and the paper are those of the first record.
pub fn register(
    words: &Words,
    first: &Recorded,
    uses: &BTreeMap<Key, Sum>,
    read: &[&Reading],
) -> Result<Value, WordingError> {
    let mut rows = Vec::new();
    for (key, sum) in uses {
        let litres = &sum.solution / &Number::int(1000);
        rows.push(json!([
            key.site,
            key.month,
            key.product,
            key.registration,
            format!("{}\u{a0}{}", sum.product.decimal(0), key.unit),
            format!("{}\u{a0}L", litres.decimal(1)),
            format!("{}\u{a0}m²", sum.area.decimal(0)),
            words.word(&format!("register.{}", key.basis.word()))?,
        ]));
    }
    let mut lines = Vec::new();
    for r in read {
        let between = |low: String, high: String| if low == high { low } else { format!("{low}–{high}") };
        let band = r.band.as_ref().map(|band| {
            let (low, high) = (band.low.decimal(0), band.high.decimal(0));
            let above = if band.low_passes { "" } else { "> " };
            let below = if band.high_passes { "" } else { "< " };
            between(format!("{above}{low}"), format!("{below}{high}"))
        });
        let read = between(r.low.decimal(0), r.high.decimal(0));
        let read = match &r.error {
            Some(error) => format!("{read} ± {}", error.decimal(1)),
            None => read,
        };
        let result = r.result();
        lines.push(json!({
            "cells": [
                r.mixed.replace('T', " "), r.site, r.product, format!("{}: {}.{}", r.job, r.treatment, r.load),
                band.unwrap_or_default(), read,
                words.word(&format!("certificate.{result}"))?,
            ],
            "pass": result == "passes",
        }));
    }
    Ok(json!({
        "lang": words.language,
        "title": words.word("register.heading")?,
        "author": first.company,
        "accent": null, "logo": null, "lines": [], "draft": false,
        "page": first.page,
        "company": first.company,
        "words": words.group("register.words"),
        "deference": words.word("deference")?,
        "uses": rows,
        "readings": lines,
    }))
}
