//! The service report of a contract: sites and visits, readings against their bands, product used.

use std::collections::BTreeMap;

use jiff::civil::{Date, DateTime};
use minijinja::context;
use serde_json::{Value, json};

use super::mix_sheet::page_word;
use super::page::chart::{ASIDE, Scale};
use super::voice::Voice;
use super::{DocumentError, View};
use crate::calc::Amount;
use crate::quantity::{Mass, Number, Volume};
use crate::record::Band;
use crate::register::{Basis, Series, ServedVisit, Service, Visited};
use crate::typeset::Template;

/// Days that are named under a chart, at most.
const MOST_DAYS: usize = 10;

/// The report. `voice` is of one of the visits: its firm, client, paper and language are the report's.
///
/// # Errors
/// [`DocumentError`] if a word is missing.
pub fn service_report(
    voice: &Voice<'_>,
    number: Option<&str>,
    stem: &str,
    service: &Service,
) -> Result<View, DocumentError> {
    let words = voice.words;
    let days: Vec<Date> = service.visits.iter().filter_map(|visit| Some(visit.start?.date())).collect();
    let period = match (days.iter().min(), days.iter().max()) {
        (Some(first), Some(last)) if first < last => {
            words.say("range", context! { low => voice.date(*first)?, high => voice.date(*last)? })?
        }
        (Some(day), _) => voice.date(*day)?,
        _ => String::new(),
    };
    let mut counts = vec![json!({ "label": words.word("service.visits")?, "big": service.visits.len().to_string() })];
    for visited in Visited::ALL {
        let count = service.count(visited);
        if count > 0 || !matches!(visited, Visited::Unplanned | Visited::NotMade) {
            counts.push(json!({ "label": state_word(voice, visited)?, "big": count.to_string() }));
        }
    }
    let charts: Result<Vec<Value>, DocumentError> = service.series.iter().map(|series| chart(voice, series)).collect();
    let data = json!({
        "lang": words.language,
        "title": words.say("service.title", context! { client => &voice.plan.client.name, period => &period })?,
        "author": voice.plan.company.name,
        "accent": null,
        "page": page_word(voice.plan.page),
        "draft": false,
        "words": words.group("service.words"),
        "header": {
            "heading": words.word("service.heading")?,
            "client": voice.plan.client.name,
            "company": voice.plan.company.name,
            "number": number,
            "period": period,
        },
        "counts": counts,
        "sites": sites(voice, service)?,
        "charts": charts?,
        "products": products(voice, service)?,
        "deference": words.word("deference")?,
    });
    Ok(View { template: Template::ServiceReport, stem: stem.to_owned(), data })
}

fn state_word<'w>(voice: &Voice<'w>, visited: Visited) -> Result<&'w str, DocumentError> {
    Ok(voice.words.word(match visited {
        Visited::Done => "service.done",
        Visited::Deviates => "service.deviates",
        Visited::Withheld => "service.withheld",
        Visited::NotMade => "service.not_made",
        Visited::NotYet => "service.not_yet",
        Visited::Unplanned => "service.unplanned",
    })?)
}

/// Sites in the order they are first visited, each with its visits.
fn sites(voice: &Voice<'_>, service: &Service) -> Result<Vec<Value>, DocumentError> {
    let mut order: Vec<&str> = Vec::new();
    let mut visits: BTreeMap<&str, Vec<&ServedVisit>> = BTreeMap::new();
    for visit in &service.visits {
        let of_site = visits.entry(&visit.site).or_default();
        if of_site.is_empty() {
            order.push(&visit.site);
        }
        of_site.push(visit);
    }
    let mut sites = Vec::new();
    for site in order {
        let mut chips = Vec::new();
        for visit in &visits[site] {
            let day = match visit.start {
                Some(start) => day_word(voice, start.date())?,
                None => String::new(),
            };
            chips.push(json!({ "day": day, "state": visit.visited.word(), "word": state_word(voice, visit.visited)? }));
        }
        sites.push(json!({ "name": site, "visits": chips }));
    }
    Ok(sites)
}

/// `13 Apr`: the report's head says the year.
fn day_word(voice: &Voice<'_>, day: Date) -> Result<String, DocumentError> {
    let month = voice.words.word(&format!("month.m{}", day.month()))?;
    Ok(format!("{}\u{a0}{month}", day.day()))
}

/// Readings from left to right by day, each day as wide as any other; blocks from below to above as far apart as on the
/// strip. Places are shares of the drawing, from its left and lower edges.
fn chart(voice: &Voice<'_>, series: &Series) -> Result<Value, DocumentError> {
    let words = voice.words;
    let mut by_day: BTreeMap<Date, Vec<(DateTime, usize)>> = BTreeMap::new();
    for (i, point) in series.points.iter().enumerate() {
        by_day.entry(point.at.date()).or_default().push((point.at, i));
    }
    let scale = Scale { blocks: &series.strip.blocks };
    let rows = series.strip.blocks.len().max(1) as f64;
    let up = |at: f64| share((at + 0.5) / rows);
    let day_width = 1.0 / by_day.len().max(1) as f64;
    let every = by_day.len().div_ceil(MOST_DAYS).max(1);
    let (mut marks, mut days) = (Vec::new(), Vec::new());
    for (place, (day, mut points)) in by_day.into_iter().enumerate() {
        points.sort_unstable();
        let left = place as f64 * day_width;
        if place % every == 0 {
            days.push(json!({ "x": share(left + day_width / 2.0), "label": day_word(voice, day)? }));
        }
        let gaps = points.len() as f64 + 1.0;
        for (i, (_, at)) in points.into_iter().enumerate() {
            let point = &series.points[at];
            let (low, high) = (scale.at(&point.reading.low), scale.at(&point.reading.high));
            // between two blocks is a bar that reaches neither
            let (from, to) = if low < high { (low + ASIDE, high - ASIDE) } else { (low, high) };
            marks.push(json!({
                "x": share(left + day_width * (i as f64 + 1.0) / gaps),
                "from": up(from),
                "to": up(to),
                "pass": point.result == Band::Passes,
            }));
        }
    }
    let band = match series.strip.band() {
        Some(band) => {
            let (from, to) = scale.band(&band);
            json!({ "from": up(from), "to": up(to) })
        }
        None => Value::Null,
    };
    let band_text = voice.band(&series.strip)?;
    let passing = series.points.iter().filter(|point| point.result == Band::Passes).count();
    let blanks = context! { product => &series.product, readings => series.points.len(), passing, band => &band_text };
    let summary = match &band_text {
        Some(_) => words.say("service.chart", blanks)?,
        None => words.say("service.chart_no_band", blanks)?,
    };
    let mut outside = Vec::new();
    for point in series.points.iter().filter(|point| point.result != Band::Passes) {
        let read = voice.reading(&point.reading)?;
        let day = voice.date(point.at.date())?;
        outside.push(words.say("service.outside", context! { day, read })?);
    }
    let alt = if outside.is_empty() { summary.clone() } else { format!("{summary} {}", outside.join(" ")) };
    let blocks: Vec<Value> = series
        .strip
        .blocks
        .iter()
        .enumerate()
        .map(|(i, block)| json!({ "at": up(i as f64), "label": voice.bare(block) }))
        .collect();
    Ok(json!({
        "heading": series.product,
        "summary": summary,
        "alt": alt,
        "unit": "ppm",
        "band": band,
        "blocks": blocks,
        "days": days,
        "marks": marks,
    }))
}

fn products(voice: &Voice<'_>, service: &Service) -> Result<Vec<Value>, DocumentError> {
    let mut rows = Vec::new();
    for ((name, registration, unit, basis), sum) in service.products() {
        let amount = match unit.as_str() {
            "mL" => Amount::Liquid(Volume::millilitres(sum.product.clone())),
            "g" => Amount::Powder(Mass::grams(sum.product.clone())),
            _ => Amount::Tablets(sum.product.clone()),
        };
        rows.push(json!({
            "name": name,
            "registration": registration,
            "basis": voice.words.word(&format!("service.{}", basis.word()))?,
            "used": basis != Basis::Planned,
            "treatments": voice.units.count(&Number::int(i64::try_from(sum.treatments).unwrap_or(i64::MAX))).main,
            "amount": voice.amount(&amount)?.both(),
            "solution": voice.units.solution(&Volume::millilitres(sum.solution.clone())).both(),
        }));
    }
    Ok(rows)
}

/// To a ten thousandth: finer than a dot.
fn share(value: f64) -> f64 {
    (value * 10_000.0).round() / 10_000.0
}
