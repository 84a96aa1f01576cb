//! The as-applied log: what the crew really did.

use std::path::Path;
use std::sync::Arc;

use jiff::civil::DateTime;
use serde::Serialize;

use super::visit::read_moment;
use crate::quantity::{Number, Strength, Time, parse};
use crate::report::Report;
use crate::yaml::{Node, Origin, Source};

/// An as-applied file, read.
#[derive(Debug)]
pub struct Applied {
    /// The file itself.
    pub source: Arc<Source>,
    /// Loads mixed.
    pub loads: Vec<AppliedLoad>,
    /// Areas done.
    pub areas: Vec<AppliedArea>,
    /// What was not done as planned, and why.
    pub deviations: Vec<Deviation>,
}

/// A load as it was mixed.
#[derive(Clone, Debug, Serialize)]
pub struct AppliedLoad {
    /// Which treatment of the job, from 1.
    pub treatment: usize,
    /// Which load of that treatment, from 1.
    pub load: usize,
    /// Lot of the concentrate.
    pub lot: Option<String>,
    /// Lot of the strip it was read with.
    pub strip_lot: Option<String>,
    /// When it was mixed.
    pub mixed: Option<DateTime>,
    /// By whom.
    pub by: Option<String>,
    /// What the strip showed.
    pub reading: Option<Reading>,
    #[serde(skip)]
    pub(crate) origin: Origin,
}

/// What a strip showed: one block, or between two.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Reading {
    /// The lower block, or the only one.
    pub low: Strength,
    /// The upper block, or the only one.
    pub high: Strength,
}

/// An area as it was done.
#[derive(Clone, Debug, Serialize)]
pub struct AppliedArea {
    /// Which treatment of the job, from 1.
    pub treatment: usize,
    /// Its name.
    pub name: String,
    /// When work on it began.
    pub started: Option<DateTime>,
    /// When the last of it was wetted.
    pub finished: Option<DateTime>,
    /// Until when it was seen wet.
    pub wet_until: Option<DateTime>,
    /// When it was rinsed.
    pub rinsed: Option<DateTime>,
    #[serde(skip)]
    pub(crate) origin: Origin,
}

impl AppliedArea {
    /// How long it was seen wet after the last of it was wetted, where the log has both moments. A log that says it
    /// dried before it was wetted kept it wet for no time at all.
    pub fn kept_wet(&self) -> Option<Time> {
        let (finished, wet_until) = self.finished.zip(self.wet_until)?;
        let seconds = (wet_until - finished).total(jiff::Unit::Second).unwrap_or(0.0).max(0.0);
        Some(Time::seconds(Number::int(seconds as i64)))
    }
}

/// Something not done as planned.
#[derive(Clone, Debug, Serialize)]
pub struct Deviation {
    /// What.
    pub what: String,
    /// Why.
    pub reason: String,
}

impl Applied {
    /// Reads an as-applied file; every problem is told to `report`.
    pub fn read(file: &Path, report: &mut Report) -> Option<Applied> {
        let source = Source::read(file, report)?;
        let fields = source.root().fields(&["loads", "areas", "deviations"], report)?;
        let list = |key: &str, report: &mut Report| fields.get(key).and_then(|n| n.items(report)).unwrap_or_default();
        let loads = list("loads", report)
            .iter()
            .filter_map(|n| read_load(n, report))
            .collect();
        let areas = list("areas", report)
            .iter()
            .filter_map(|n| read_area(n, report))
            .collect();
        let deviations = list("deviations", report)
            .iter()
            .filter_map(|n| read_deviation(n, report))
            .collect();
        Some(Applied {
            source: source.clone(),
            loads,
            areas,
            deviations,
        })
    }
}

fn read_load(node: &Node<'_>, report: &mut Report) -> Option<AppliedLoad> {
    let fields = node.fields(
        &["treatment", "load", "lot", "strip_lot", "mixed", "by", "reading"],
        report,
    )?;
    let treatment = fields.get("treatment").map_or(Some(1), |n| read_position(&n, report));
    let load = fields.need("load", report).and_then(|n| read_position(&n, report));
    let mixed = fields.get("mixed").and_then(|n| read_moment(&n, report));
    let reading = fields.get("reading").and_then(|n| read_reading(&n, report));
    let (lot, strip_lot) = (fields.text("lot", report), fields.text("strip_lot", report));
    let by = fields.text("by", report);
    Some(AppliedLoad {
        treatment: treatment?,
        load: load?,
        lot,
        strip_lot,
        mixed,
        by,
        reading,
        origin: node.origin(),
    })
}

fn read_area(node: &Node<'_>, report: &mut Report) -> Option<AppliedArea> {
    let keys = &["treatment", "area", "started", "finished", "wet_until", "rinsed"];
    let fields = node.fields(keys, report)?;
    let treatment = fields.get("treatment").map_or(Some(1), |n| read_position(&n, report));
    let name = fields.need_text("area", report);
    let mut moment = |key: &str| fields.get(key).and_then(|n| read_moment(&n, report));
    let (started, finished) = (moment("started"), moment("finished"));
    let (wet_until, rinsed) = (moment("wet_until"), moment("rinsed"));
    if let (Some(started), Some(finished)) = (started, finished)
        && finished < started
    {
        report.push(node.error("times-backwards", "this ends before it begins"));
    }
    Some(AppliedArea {
        treatment: treatment?,
        name: name?,
        started,
        finished,
        wet_until,
        rinsed,
        origin: node.origin(),
    })
}

fn read_deviation(node: &Node<'_>, report: &mut Report) -> Option<Deviation> {
    let fields = node.fields(&["what", "reason"], report)?;
    let (what, reason) = (fields.need_text("what", report), fields.need_text("reason", report));
    Some(Deviation {
        what: what?,
        reason: reason?,
    })
}

fn read_position(node: &Node<'_>, report: &mut Report) -> Option<usize> {
    let text = node.text(report)?;
    let position = text.parse::<usize>().ok().filter(|p| (1..=1_000).contains(p));
    if position.is_none() {
        report.push(node.error("bad-count", format!("`{text}` is not a position (1, 2, 3 …)")));
    }
    position
}

/// `600 ppm`, or `600 to 800 ppm` where the colour lies between two blocks.
fn read_reading(node: &Node<'_>, report: &mut Report) -> Option<Reading> {
    node.parse(report, |text| match text.split_once(" to ") {
        Some((low, high)) => {
            let high_strength = parse::strength(high)?;
            // `600 to 800 ppm`: the unit stands once.
            let low_strength = parse::strength(low).or_else(|_| {
                let unit = high.trim_start_matches(|c: char| c.is_ascii_digit() || ".,".contains(c));
                parse::strength(&format!("{low}{unit}"))
            })?;
            Ok::<_, crate::quantity::QuantityError>(Reading {
                low: low_strength,
                high: high_strength,
            })
        }
        None => parse::strength(text).map(|s| Reading {
            low: s.clone(),
            high: s,
        }),
    })
}
