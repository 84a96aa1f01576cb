//! The load-out: what must be on the van before it leaves.

use jiff::civil::Date;
use minijinja::context;
use serde::Serialize;

use super::parts::{Fact, Wear, wear};
use super::voice::Voice;
use super::{Head, Said, View};
use crate::engine::Template;
use crate::plan::{LoadOut, LoadedProduct, Lot, Strips};

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

#[derive(Serialize)]
struct Body {
    header: Header,
    products: Vec<ProductRow>,
    strips: Vec<StripRow>,
    labels: Vec<Gear>,
    gear: Vec<Gear>,
    wear: Vec<Wear>,
    /// What no stop is left for without: measures, eyewash, spill kit, labels and data sheets.
    also: Vec<Gear>,
    /// Sentences: products that must not meet, and what rides where.
    apart: Vec<String>,
    /// In the order of the route.
    stops: Vec<StopRow>,
    signature: Vec<String>,
    deference: String,
}

#[derive(Serialize)]
struct Header {
    heading: String,
    van: Option<String>,
    when: String,
    facts: Vec<Fact>,
}

#[derive(Serialize)]
struct ProductRow {
    name: String,
    registration: Option<String>,
    /// Containers, or the amount where no size is known, which `note` says.
    take: Vec<String>,
    note: Option<String>,
    planned: String,
    spare: String,
    needed: String,
    lots: Vec<String>,
    expired: Vec<String>,
}

#[derive(Serialize)]
struct StripRow {
    take: String,
    name: String,
    note: String,
    lots: Vec<String>,
    expired: Vec<String>,
}

#[derive(Serialize)]
struct Gear {
    take: Option<String>,
    name: String,
    note: Option<String>,
}

#[derive(Serialize)]
struct StopRow {
    stop: String,
    begins: String,
    ends: String,
    site: String,
    address: String,
    job: String,
    loads: String,
    note: Option<String>,
}

/// The sheet. `voice` is of the first visit: its company, paper and language are the sheet's.
pub fn load_out(voice: &Voice<'_>, van: &Van<'_>, out: &LoadOut) -> Said<View> {
    let day = voice.date(van.day)?;
    let title = match van.name {
        Some(van) => voice.say("load_out.title_van", context! { van, day => &day })?,
        None => voice.say("load_out.title", context! { day => &day })?,
    };
    let apart = out.apart.iter().map(|pair| {
        let forms = voice.word(&format!("forms.{}", pair.forms))?;
        voice.say("load_out.apart", context! { one => &pair.one, other => &pair.other, forms })
    });
    let mut apart: Vec<String> = apart.collect::<Said<_>>()?;
    if !out.corrosive.is_empty() && voice.plan.regime.is_of_the_united_states() {
        apart.push(voice.say("load_out.corrosive", context! { products => out.corrosive.join(", ") })?);
    }
    let crew = out.crew.len().max(1);
    let body = Body {
        header: Header {
            heading: voice.word("load_out.heading")?,
            van: van.name.map(|van| voice.say("load_out.van", context! { van })).transpose()?,
            when: day,
            facts: facts(voice, out)?,
        },
        products: out.products.iter().map(|p| product(voice, p)).collect::<Said<_>>()?,
        strips: out.strips.iter().map(|s| strip(voice, s)).collect::<Said<_>>()?,
        labels: labels(voice, out)?,
        gear: gear(voice, out)?,
        wear: wear(voice, out.wear.iter().copied())?.into_iter().map(|worn| worn.times(crew)).collect(),
        also: also(voice, out)?,
        apart,
        stops: stops(voice, van.day, out)?,
        signature: voice.each("load_out.signature", &["loaded", "moment"])?,
        deference: voice.word("deference")?,
    };
    View::new(Template::LoadOut, van.stem.to_owned(), Head::of(voice, title, "load_out.words"), body)
}

fn facts(voice: &Voice<'_>, out: &LoadOut) -> Said<Vec<Fact>> {
    let mut facts = vec![Fact::new(voice.word("load_out.fact_stops")?, out.stops.len().to_string())];
    if !out.crew.is_empty() {
        let crew: Vec<&str> = out.crew.iter().map(|member| member.name.as_str()).collect();
        facts.push(Fact::new(voice.word("load_out.fact_crew")?, crew.join(", ")));
    }
    if !out.water.is_zero() {
        facts.push(Fact::new(voice.word("load_out.fact_water")?, voice.units.solution(&out.water).both()));
    }
    Ok(facts)
}

fn gear(voice: &Voice<'_>, out: &LoadOut) -> Said<Vec<Gear>> {
    let mut gear = Vec::new();
    for sprayer in &out.sprayers {
        let tank = voice.units.water(&sprayer.tank).main;
        let note = Some(voice.say("load_out.tank", context! { tank })?);
        gear.push(Gear { take: Some(sprayer.count.to_string()), name: sprayer.name.clone(), note });
    }
    if out.signs > 0 {
        let note = Some(voice.word("load_out.signs_note")?);
        gear.push(Gear { take: Some(out.signs.to_string()), name: voice.word("load_out.signs")?, note });
    }
    Ok(gear)
}

fn also(voice: &Voice<'_>, out: &LoadOut) -> Said<Vec<Gear>> {
    let products = out.products.iter().map(|product| product.name.as_str()).collect::<Vec<_>>().join(", ");
    let each = Some(out.products.len().to_string());
    let row = |take: Option<String>, key: &str, note: Option<String>| -> Said<Gear> {
        Ok(Gear { take, name: voice.word(&format!("load_out.also.{key}"))?, note })
    };
    let one = || Some("1".to_owned());
    Ok(vec![
        row(each.clone(), "measures", Some(products.clone()))?,
        row(each, "sheets", Some(products))?,
        row(one(), "eyewash", None)?,
        row(one(), "spill_kit", None)?,
    ])
}

fn labels(voice: &Voice<'_>, out: &LoadOut) -> Said<Vec<Gear>> {
    let mut rows = Vec::new();
    for labels in &out.labels {
        let note = match labels.sheets {
            Some(1) => Some(voice.word("load_out.one_sheet")?),
            Some(sheets) => Some(voice.say("load_out.sheets", context! { sheets })?),
            None => None,
        };
        let (width, height) = &labels.size;
        let (width, height) = (voice.units.length(width).main, voice.units.length(height).main);
        let name = voice.say("load_out.label_size", context! { width, height })?;
        rows.push(Gear { take: Some(labels.count.to_string()), name, note });
    }
    Ok(rows)
}

fn product(voice: &Voice<'_>, product: &LoadedProduct) -> Said<ProductRow> {
    let needed = voice.amount(&product.needed)?;
    let (take, note) = match &product.containers {
        Some(taken) => {
            let size = |size: &str| size.replace(' ', "\u{a0}");
            (taken.iter().map(|t| format!("{}\u{a0}×\u{a0}{}", t.count, size(&t.size))).collect(), None)
        }
        None => (vec![needed.main.clone()], Some(voice.word("load_out.size_unknown")?)),
    };
    Ok(ProductRow {
        name: product.name.clone(),
        registration: voice.registered(product.registration.as_deref())?,
        take,
        note,
        planned: voice.amount(&product.planned)?.main,
        spare: voice.amount(&product.spare)?.main,
        needed: needed.both(),
        lots: lots(voice, &product.lots)?,
        expired: lots(voice, &product.expired)?,
    })
}

fn strip(voice: &Voice<'_>, strips: &Strips) -> Said<StripRow> {
    let scale = match &strips.scale {
        Some((low, high)) => voice.between(low, high)?,
        None => String::new(),
    };
    let blanks = context! { readings => strips.readings, products => strips.products.join(", ") };
    Ok(StripRow {
        take: strips.take.to_string(),
        name: strips.name.as_ref().map_or(scale.clone(), |name| format!("{name}, {scale}")),
        note: voice.say("load_out.readings", blanks)?,
        lots: lots(voice, &strips.lots)?,
        expired: lots(voice, &strips.expired)?,
    })
}

fn lots(voice: &Voice<'_>, lots: &[Lot]) -> Said<Vec<String>> {
    let row = |lot: &Lot| voice.say("load_out.lot", context! { lot => &lot.number, day => voice.date(lot.last_day)? });
    lots.iter().map(row).collect()
}

/// A time of another day than the route's is printed with its day.
fn stops(voice: &Voice<'_>, day: Date, out: &LoadOut) -> Said<Vec<StopRow>> {
    let rows = out.stops.iter().enumerate().map(|(i, stop)| {
        Ok(StopRow {
            stop: (i + 1).to_string(),
            begins: voice.moment_of(stop.start, day)?,
            ends: voice.moment_of(stop.sprayed_by, day)?,
            site: stop.site.clone(),
            address: stop.address.clone(),
            job: stop.job.clone(),
            loads: stop.loads.to_string(),
            note: stop.too_early.then(|| voice.word("load_out.too_early")).transpose()?,
        })
    });
    rows.collect()
}
