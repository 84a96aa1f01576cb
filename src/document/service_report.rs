//! The service report of a contract: sites and visits, readings against their bands, product used.

use std::collections::BTreeMap;

use jiff::civil::{Date, DateTime};
use minijinja::context;
use serde::Serialize;

use super::chart::Scale;
use super::voice::Voice;
use super::{Head, Said, View};
use crate::calc::Amount;
use crate::engine::Template;
use crate::quantity::{Mass, Number, Volume};
use crate::record::Band;
use crate::register::{Series, ServedVisit, Service, Visited};

/// Days that are named under a chart, at most.
const MOST_DAYS: usize = 10;

#[derive(Serialize)]
struct Body {
    header: Header,
    /// How many visits there are, and how many of each state.
    counts: Vec<Count>,
    /// What each state that is met means.
    legend: Vec<Meaning>,
    sites: Vec<Site>,
    charts: Vec<Chart>,
    products: Vec<ProductRow>,
    deference: String,
}

#[derive(Serialize)]
struct Header {
    heading: String,
    client: String,
    company: String,
    /// The contract's number.
    number: Option<String>,
    period: String,
}

#[derive(Serialize)]
struct Count {
    label: String,
    big: String,
}

#[derive(Serialize)]
struct Meaning {
    state: &'static str,
    word: String,
    meaning: String,
}

#[derive(Serialize)]
struct Site {
    name: String,
    visits: Vec<Visit>,
}

#[derive(Serialize)]
struct Visit {
    day: String,
    state: &'static str,
    word: String,
}

/// Places are shares of the drawing, from its left and lower edges.
#[derive(Serialize)]
struct Chart {
    heading: String,
    summary: String,
    alt: String,
    unit: &'static str,
    band: Option<Range>,
    blocks: Vec<Block>,
    days: Vec<Day>,
    marks: Vec<Mark>,
}

#[derive(Serialize)]
struct Range {
    from: f64,
    to: f64,
}

#[derive(Serialize)]
struct Block {
    at: f64,
    label: String,
}

#[derive(Serialize)]
struct Day {
    x: f64,
    label: String,
}

#[derive(Serialize)]
struct Mark {
    x: f64,
    #[serde(flatten)]
    range: Range,
    pass: bool,
}

#[derive(Serialize)]
struct ProductRow {
    name: String,
    registration: String,
    /// What the amounts rest on.
    basis: String,
    treatments: String,
    amount: String,
    solution: String,
}

/// The report. `voice` is of one of the visits: its company, client, paper and language are the report's.
pub fn service_report(voice: &Voice<'_>, number: Option<&str>, stem: &str, service: &Service) -> Said<View> {
    let days: Vec<Date> = service.visits.iter().filter_map(|visit| Some(visit.start?.date())).collect();
    let period = match (days.iter().min(), days.iter().max()) {
        (Some(first), Some(last)) if first < last => {
            voice.say("range", context! { low => voice.date(*first)?, high => voice.date(*last)? })?
        }
        (Some(day), _) => voice.date(*day)?,
        _ => String::new(),
    };
    let client = &voice.plan.client.name;
    let title = voice.say("service.title", context! { client, period => &period })?;
    let body = Body {
        header: Header {
            heading: voice.word("service.heading")?,
            client: client.clone(),
            company: voice.plan.company.name.clone(),
            number: number.map(str::to_owned),
            period,
        },
        counts: counts(voice, service)?,
        legend: legend(voice, service)?,
        sites: sites(voice, service)?,
        charts: service.series.iter().map(|series| chart(voice, series)).collect::<Said<_>>()?,
        products: products(voice, service)?,
        deference: voice.word("deference")?,
    };
    let mut head = Head::of(voice, title, "service.words");
    head.words.insert("registration".to_owned(), voice.registration_caption()?);
    View::new(Template::ServiceReport, stem.to_owned(), head, body)
}

/// How far a visit is, as a client reads it.
#[derive(Clone, Copy, PartialEq, Eq)]
enum State {
    Done,
    Deviates,
    NotMade,
    /// Its log cannot carry a certificate yet, or there is none though a later visit has one.
    Open,
    /// Later than every visit that has a log.
    Scheduled,
    /// It cannot be planned.
    Unplanned,
}

impl State {
    const ALL: [State; 6] =
        [State::Done, State::Deviates, State::NotMade, State::Open, State::Scheduled, State::Unplanned];

    fn word(self) -> &'static str {
        match self {
            State::Done => "done",
            State::Deviates => "deviates",
            State::NotMade => "not-made",
            State::Open => "open",
            State::Scheduled => "scheduled",
            State::Unplanned => "unplanned",
        }
    }
}

/// The state of every visit, in their order. No clock is asked: what is still to come begins after the last visit that has a log.
fn states(service: &Service) -> Vec<State> {
    let has_log = |visited| !matches!(visited, Visited::NotYet | Visited::Unplanned);
    let last = service.visits.iter().filter(|visit| has_log(visit.visited)).filter_map(|visit| visit.start).max();
    let state = |visit: &ServedVisit| match visit.visited {
        Visited::Done => State::Done,
        Visited::Deviates => State::Deviates,
        Visited::NotMade => State::NotMade,
        Visited::NotYet if visit.start > last => State::Scheduled,
        Visited::NotYet | Visited::Withheld => State::Open,
        Visited::Unplanned => State::Unplanned,
    };
    service.visits.iter().map(state).collect()
}

fn state_word(voice: &Voice<'_>, state: State) -> Said {
    voice.word(&format!("service.states.{}", state.word()))
}

fn met(service: &Service) -> Vec<(State, usize)> {
    let states = states(service);
    let count = |state| states.iter().filter(|other| **other == state).count();
    State::ALL.into_iter().map(|state| (state, count(state))).filter(|(_, count)| *count > 0).collect()
}

fn counts(voice: &Voice<'_>, service: &Service) -> Said<Vec<Count>> {
    let mut counts = vec![Count { label: voice.word("service.visits")?, big: service.visits.len().to_string() }];
    for (state, count) in met(service) {
        counts.push(Count { label: state_word(voice, state)?, big: count.to_string() });
    }
    Ok(counts)
}

fn legend(voice: &Voice<'_>, service: &Service) -> Said<Vec<Meaning>> {
    let meaning = |(state, _): (State, usize)| {
        let meaning = voice.word(&format!("service.legend.{}", state.word()))?;
        Ok(Meaning { state: state.word(), word: state_word(voice, state)?, meaning })
    };
    met(service).into_iter().map(meaning).collect()
}

/// Sites in the order they are first visited, each with its visits.
fn sites(voice: &Voice<'_>, service: &Service) -> Said<Vec<Site>> {
    let mut sites: Vec<Site> = Vec::new();
    let mut places: BTreeMap<&str, usize> = BTreeMap::new();
    for (visit, state) in service.visits.iter().zip(states(service)) {
        let place = *places.entry(&visit.site).or_insert_with(|| {
            sites.push(Site { name: visit.site.clone(), visits: Vec::new() });
            sites.len() - 1
        });
        sites[place].visits.push(Visit {
            day: visit.start.map(|start| voice.calendar().day(start.date())).transpose()?.unwrap_or_default(),
            state: state.word(),
            word: state_word(voice, state)?,
        });
    }
    Ok(sites)
}

/// Readings from left to right by day, each day as wide as any other; blocks from below to above as far apart as on the
/// strip.
fn chart(voice: &Voice<'_>, series: &Series) -> Said<Chart> {
    let mut by_day: BTreeMap<Date, Vec<(DateTime, usize)>> = BTreeMap::new();
    for (i, point) in series.points.iter().enumerate() {
        by_day.entry(point.at.date()).or_default().push((point.at, i));
    }
    let scale = Scale { blocks: &series.strip.blocks };
    let rows = series.strip.blocks.len().max(1) as f64;
    let up = |at: f64| share((at + 0.5) / rows);
    let range = |(from, to): (f64, f64)| Range { from: up(from), to: up(to) };
    let day_width = 1.0 / by_day.len().max(1) as f64;
    let every = by_day.len().div_ceil(MOST_DAYS).max(1);
    let (mut marks, mut days) = (Vec::new(), Vec::new());
    for (place, (day, mut points)) in by_day.into_iter().enumerate() {
        points.sort_unstable();
        let left = place as f64 * day_width;
        if place % every == 0 {
            days.push(Day { x: share(left + day_width / 2.0), label: voice.calendar().day(day)? });
        }
        let gaps = points.len() as f64 + 1.0;
        for (i, (_, at)) in points.into_iter().enumerate() {
            let point = &series.points[at];
            marks.push(Mark {
                x: share(left + day_width * (i as f64 + 1.0) / gaps),
                range: range(scale.reach(&point.reading)),
                pass: point.result == Band::Passes,
            });
        }
    }
    let (summary, alt) = in_words(voice, series)?;
    let block = |(i, block)| Block { at: up(i as f64), label: voice.bare(block) };
    Ok(Chart {
        heading: series.product.clone(),
        summary,
        alt,
        unit: "ppm",
        band: series.strip.band().map(|band| range(scale.band(&band))),
        blocks: series.strip.blocks.iter().enumerate().map(block).collect(),
        days,
        marks,
    })
}

/// How many readings pass; and the same with every reading that does not.
fn in_words(voice: &Voice<'_>, series: &Series) -> Said<(String, String)> {
    let outside: Vec<_> = series.points.iter().filter(|point| point.result != Band::Passes).collect();
    let (band, readings) = (voice.band(&series.strip)?, series.points.len());
    let key = if band.is_some() { "service.chart" } else { "service.chart_no_band" };
    let blanks = context! { product => &series.product, readings, passing => readings - outside.len(), band };
    let summary = voice.say(key, blanks)?;
    let mut alt = vec![summary.clone()];
    for point in outside {
        let (day, read) = (voice.date(point.at.date())?, voice.reading(&point.reading)?);
        alt.push(voice.say("service.outside", context! { day, read })?);
    }
    Ok((summary, alt.join(" ")))
}

fn products(voice: &Voice<'_>, service: &Service) -> Said<Vec<ProductRow>> {
    let mut rows = Vec::new();
    for ((name, registration, unit, basis), sum) in service.products() {
        let amount = match unit.as_str() {
            "mL" => Amount::Liquid(Volume::millilitres(sum.product.clone())),
            "g" => Amount::Powder(Mass::grams(sum.product.clone())),
            _ => Amount::Tablets(sum.product.clone()),
        };
        rows.push(ProductRow {
            name,
            registration: voice.registration_number(&registration)?,
            basis: voice.word(&format!("service.{}", basis.word()))?,
            treatments: voice.units.count(&Number::int(i64::try_from(sum.treatments).unwrap_or(i64::MAX))).main,
            amount: voice.amount(&amount)?.both(),
            solution: voice.units.solution(&Volume::millilitres(sum.solution.clone())).both(),
        });
    }
    Ok(rows)
}

/// To a ten thousandth: finer than a dot.
fn share(value: f64) -> f64 {
    (value * 10_000.0).round() / 10_000.0
}
