//! The load-out: what must be on the van before it leaves.

use jiff::civil::Date;
use minijinja::context;
use serde_json::{Value, json};

use super::mix_sheet::page_word;
use super::voice::Voice;
use super::{DocumentError, View};
use crate::plan::{Apart, LoadOut, LoadedProduct, Lot, Strips};
use crate::typeset::Template;

/// Which van, on which day, and what the sheet's file is called.
#[derive(Clone, Copy, Debug)]
pub struct Van<'a> {
    /// The van, as the contract names its route; `None` where nobody named it.
    pub name: Option<&'a str>,
    /// The day.
    pub day: Date,
    /// The file name's stem.
    pub stem: &'a str,
}

/// The sheet. `voice` is of the first visit: its firm, paper and language are the sheet's.
///
/// # Errors
/// [`DocumentError`] if a word is missing.
pub fn load_out(voice: &Voice<'_>, van: &Van<'_>, out: &LoadOut) -> Result<View, DocumentError> {
    let words = voice.words;
    let crew: Vec<&str> = out.crew.iter().map(|member| member.name.as_str()).collect();
    let day = voice.date(van.day)?;
    let title = match van.name {
        Some(van) => words.say("load_out.title_van", context! { van, day => &day })?,
        None => words.say("load_out.title", context! { day => &day })?,
    };
    let mut facts = vec![json!({ "label": words.word("load_out.fact_stops")?, "value": out.stops.len().to_string() })];
    if !crew.is_empty() {
        facts.push(json!({ "label": words.word("sheet.fact_crew")?, "value": crew.join(", ") }));
    }
    if !out.water.is_zero() {
        let water = voice.units.solution(&out.water).both();
        facts.push(json!({ "label": words.word("load_out.fact_water")?, "value": water }));
    }
    let mut gear: Vec<Value> = Vec::new();
    for sprayer in &out.sprayers {
        let tank = voice.units.water(&sprayer.tank).main;
        let note = words.say("load_out.tank", context! { tank })?;
        gear.push(json!({ "take": sprayer.count.to_string(), "name": sprayer.name, "note": note }));
    }
    if out.signs {
        gear.push(json!({ "take": null, "name": words.word("load_out.signs")?, "note": null }));
    }
    let mut labels: Vec<Value> = Vec::new();
    for of_stock in &out.labels {
        let note = match of_stock.sheets {
            Some(1) => Some(words.word("load_out.one_sheet")?.to_owned()),
            Some(sheets) => Some(words.say("load_out.sheets", context! { sheets })?),
            None => None,
        };
        labels.push(json!({ "take": of_stock.count.to_string(), "name": of_stock.stock, "note": note }));
    }
    let mut wear = Vec::new();
    for item in &out.wear {
        let sign = item.word();
        wear.push(json!({ "sign": sign, "words": words.word(&format!("equipment.{sign}"))? }));
    }
    let products: Result<Vec<Value>, DocumentError> = out.products.iter().map(|p| product(voice, p)).collect();
    let strips: Result<Vec<Value>, DocumentError> = out.strips.iter().map(|s| strip(voice, s)).collect();
    let apart: Result<Vec<String>, DocumentError> = out.apart.iter().map(|pair| kept_apart(voice, pair)).collect();
    let data = json!({
        "lang": words.language,
        "title": title,
        "author": voice.plan.company.name,
        "accent": null,
        "page": page_word(voice.plan.page),
        "draft": false,
        "words": words.group("load_out.words"),
        "header": { "heading": words.word("load_out.heading")?, "van": van.name, "when": day, "facts": facts },
        "products": products?,
        "strips": strips?,
        "labels": labels,
        "gear": gear,
        "wear": wear,
        "apart": apart?,
        "stops": stops(voice, van.day, out)?,
        "signature": [words.word("load_out.signature.loaded")?, words.word("load_out.signature.moment")?],
        "deference": words.word("deference")?,
    });
    Ok(View { template: Template::LoadOut, stem: van.stem.to_owned(), data })
}

fn product(voice: &Voice<'_>, product: &LoadedProduct) -> Result<Value, DocumentError> {
    let words = voice.words;
    let needed = voice.amount(&product.needed)?;
    let take: Vec<String> = match &product.containers {
        Some(taken) => {
            taken.iter().map(|t| format!("{}\u{a0}×\u{a0}{}", t.count, t.size.replace(' ', "\u{a0}"))).collect()
        }
        None => vec![needed.main.clone()],
    };
    let note = match product.containers {
        Some(_) => None,
        None => Some(words.word("load_out.size_unknown")?),
    };
    Ok(json!({
        "name": product.name,
        "registration": product.registration,
        "take": take,
        "note": note,
        "planned": voice.amount(&product.planned)?.main,
        "spare": voice.amount(&product.spare)?.main,
        "needed": needed.both(),
        "lots": lots(voice, &product.lots)?,
        "expired": lots(voice, &product.expired)?,
    }))
}

fn strip(voice: &Voice<'_>, strips: &Strips) -> Result<Value, DocumentError> {
    let words = voice.words;
    let read = strips.products.join(", ");
    let note = words.say("load_out.readings", context! { readings => strips.readings, products => &read })?;
    let scale = match &strips.scale {
        Some((low, high)) => voice.between(low, high)?,
        None => String::new(),
    };
    let name = match &strips.name {
        Some(name) => format!("{name}, {scale}"),
        None => scale,
    };
    Ok(json!({
        "take": strips.take.to_string(),
        "name": name,
        "note": note,
        "lots": lots(voice, &strips.lots)?,
        "expired": lots(voice, &strips.expired)?,
    }))
}

fn lots(voice: &Voice<'_>, lots: &[Lot]) -> Result<Vec<String>, DocumentError> {
    let said = lots.iter().map(|lot| {
        let day = voice.date(lot.last_day)?;
        Ok(voice.words.say("load_out.lot", context! { lot => &lot.number, day })?)
    });
    said.collect()
}

fn kept_apart(voice: &Voice<'_>, pair: &Apart) -> Result<String, DocumentError> {
    let forms = voice.words.word(&format!("forms.{}", pair.forms))?;
    Ok(voice.words.say("load_out.apart", context! { one => &pair.one, other => &pair.other, forms })?)
}

/// In the order of the route. A time of another day than the round's is said with its day.
fn stops(voice: &Voice<'_>, day: Date, out: &LoadOut) -> Result<Vec<Value>, DocumentError> {
    let clock = |moment: jiff::civil::DateTime| -> Result<String, DocumentError> {
        Ok(if moment.date() == day {
            voice.clock(moment)
        } else {
            format!("{}, {}", voice.date(moment.date())?, voice.clock(moment))
        })
    };
    let rows = out.stops.iter().enumerate().map(|(i, stop)| {
        Ok(json!({
            "stop": (i + 1).to_string(),
            "begins": clock(stop.start)?,
            "ends": clock(stop.sprayed_by)?,
            "site": stop.site,
            "address": stop.address,
            "job": stop.job,
            "loads": stop.loads.to_string(),
            "note": stop.too_early.then(|| voice.words.word("load_out.too_early")).transpose()?,
        }))
    });
    rows.collect()
}
