//! Reading the service log, from YAML or from a spreadsheet's table.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;

use jiff::civil::DateTime;
use serde::Serialize;

use super::service_log::{AreaLog, CheckKeys, CheckLog, Deviation, LoadLog, Photograph, ServiceLog, read_check};
use super::service_log_times::{Clock, When, is_near_the_plan, several};
use super::service_log_words::{read_figures, read_skipped, reading};
use crate::calc::Amount;
use crate::diagnostic::Diagnostics;
use crate::quantity::{QuantityError, Strength, Volume, parse, range};
use crate::table::{self, TableShape, is_table};
use crate::yaml::{At, Declared, FileKind, Line, Node, Shape, Source, custom, keys, list, list_of, text};

/// Revisions of one job, at most.
const MOST_REVISIONS: u32 = 999;

keys! {
    /// The service log: what was really done. It may be YAML, or one table (CSV, TSV, XLSX) with a row for each load, area,
    /// check, deviation and photograph: the column `what` says which, the others are named as the keys, what a deviation was
    /// stands under `deviation`, and several times in one cell have semicolons between them. With a column `job` one table
    /// holds the rows of several visits. Times are the site's own.
    pub struct LogKeys {
        /// Loads mixed. One that was mixed again has several entries: every reading is judged, the last must be complete.
        loads: Vec<LoadKeys> = list_of::<LoadKeys>(), or(Vec::new(), "[]");
        /// Areas done.
        areas: Vec<AreaKeys> = list_of::<AreaKeys>(), or(Vec::new(), "[]");
        /// Spots that somebody watched while they were wet. They alone judge the contact time. One of which only treatment and area
        /// stand here is a blank that nobody used.
        checks: Vec<Option<CheckKeys>> = list(custom(read_check, CheckKeys::shape)), or(Vec::new(), "[]");
        /// What was not done as planned.
        deviations: Vec<Deviation> = list_of::<Deviation>(), or(Vec::new(), "[]");
        /// Photographs taken. The record holds their names and digests; the pictures stay where they are.
        photographs: Vec<Photograph> = list_of::<Photograph>(), or(Vec::new(), "[]");
        /// Which revision of the log this is: `2` for the first correction of a certificate that went out.
        revision: u32 = custom(read_revision, || Shape::Count { least: 1, most: MOST_REVISIONS }), or(1, "1");
        /// The SHA-256 of the record that this revision replaces, as `decant verify` prints it.
        replaces: String = text("a SHA-256 digest", read_digest), optional;
        /// When the visit really began, where it was put off. Times without a date then count from it; the plan, and with it the
        /// record's number, stay as they are. Example: `2026-04-14 19:30`
        began: When, optional;
    }
    + origin
}

keys! {
    /// A load as it was mixed.
    #[derive(Clone, Debug, Serialize)]
    pub struct LoadKeys {
        /// Which treatment of the job, from 1 in its order.
        treatment: usize = custom(read_position, position_shape), or(1, "1");
        /// Which load of that treatment, from 1. Example: `1`
        load: usize = custom(read_position, position_shape), required;
        /// Lot of the concentrate. Example: `SQ-2603-07`
        lot: String, optional;
        /// Lot of the strip it was read with. Example: `S-7`
        strip_lot: String, optional;
        /// When it was mixed. Example: `18:08`, `6:08 PM`, `2026-04-13 18:08`
        #[serde(skip)]
        mixed: When, optional;
        /// By whom. Example: `R. Okafor`
        by: String, optional;
        /// Water really used. Example: `2 gal`
        water: Volume = &range::LOGGED_WATER, optional;
        /// Product really used. Example: `4 fl oz`, `40 g`, `3 tablets`
        product: Amount = text("a volume, a mass, or a number of tablets", read_amount), optional;
        /// What the strip showed: one of its blocks, or between two neighbors. Any other figure needs `instrument`.
        /// Example: `600 ppm`, `600 to 800 ppm`
        #[serde(skip)]
        reading: (Strength, Strength) = text("a strength, or one `to` another", read_figures), optional;
        /// The error of the instrument, where the reading is not from a strip. Example: `±5 %`, `±10 ppm`
        #[serde(skip)]
        instrument: At<String>, optional;
        /// Why it was not mixed at all. Example: `the gate was locked`
        skipped: String = text("a reason", read_skipped), optional;
    }
    + #[serde(skip)] origin
}

keys! {
    /// An area as it was done.
    #[derive(Clone, Debug, Serialize)]
    pub struct AreaKeys {
        /// Which treatment of the job, from 1 in its order.
        treatment: usize = custom(read_position, position_shape), or(1, "1");
        /// Its name in the job. Example: `Waiting hall`
        #[serde(skip)]
        area: String, required;
        /// When work on it began. Example: `18:12`
        #[serde(skip)]
        started: When, optional;
        /// When all of it had been wetted for the first time. Example: `18:20`
        #[serde(skip)]
        finished: When, optional;
        /// How often it was wetted again, or each time. Example: `2`, `[18:25, 18:29]`
        #[serde(skip)]
        rewets: Rewets, optional;
        /// Until when the patch that was wetted last was seen wet. Example: `18:31`
        #[serde(skip)]
        wet_until: When, optional;
        /// When it was rinsed, or `no`. Example: `18:45`, `no`
        #[serde(skip)]
        rinsed: Rinsed, optional;
        /// Why it was not treated at all. Example: `the gate was locked`
        skipped: String = text("a reason", read_skipped), optional;
    }
    + #[serde(skip)] origin
}

/// Of which visit a log is read, and what gives its times their days.
#[derive(Clone, Copy, Debug)]
pub struct OfVisit<'a> {
    /// The job's number.
    pub job: &'a str,
    /// When it is to begin.
    pub start: DateTime,
    /// Whether the month stands first in dates such as `4/5/2026`.
    pub month_first: bool,
}

/// Whether a file is a log, however faulty: it can be read and has one of a log's keys or columns.
pub(super) fn is_log(file: &Path, of: &OfVisit<'_>) -> bool {
    source(file, of, &mut Diagnostics::new())
        .is_some_and(|source| LogKeys::shape().keys().iter().any(|key| source.holds(&[key.name])))
}

fn source(file: &Path, of: &OfVisit<'_>, report: &mut Diagnostics) -> Option<Arc<Source>> {
    if is_table(file) {
        Source::read_table(file, &TableShape::of(&LogKeys::shape()), of.job, report)
    } else {
        Source::read(file, report)
    }
}

/// The visits that a log says it is of, by the jobs' numbers; none where it does not say so.
pub fn visits_of(file: &Path, report: &mut Diagnostics) -> BTreeSet<String> {
    if is_table(file) { table::visits(file, &TableShape::of(&LogKeys::shape()), report) } else { BTreeSet::new() }
}

pub(super) fn read(file: &Path, of: &OfVisit<'_>, report: &mut Diagnostics) -> Option<ServiceLog> {
    let source = source(file, of, report)?;
    if !FileKind::Log.fits(&source.root(), report) {
        return None;
    }
    let keys = LogKeys::from_node(&source.root(), report)?;
    if !replaces_the_one_before(&keys, report) {
        return None;
    }
    let began = Clock::of(of.start, of.month_first).read(keys.began.as_ref(), report);
    let began_at = keys.origin.key("began");
    let began = began.filter(|began| is_near_the_plan(*began, of.start, &began_at, report));
    // no time is compared with a beginning that is wrong
    let (before, is_unsure) = (report.clone(), keys.began.is_some() && began.is_none());
    // each list is in the order of the work, or nearly so
    let clock = || Clock::of(began.unwrap_or(of.start), of.month_first);
    let (mut mixed, mut treated, mut watched) = (clock(), clock(), clock());
    let log = ServiceLog {
        loads: keys.loads.into_iter().map(|load| LoadLog::new(load, &mut mixed, report)).collect(),
        areas: keys.areas.into_iter().map(|area| AreaLog::new(area, &mut treated, report)).collect(),
        checks: keys
            .checks
            .into_iter()
            .flatten()
            .filter_map(|check| CheckLog::new(check, &mut watched, report))
            .collect(),
        deviations: keys.deviations,
        photographs: keys.photographs,
        began,
        revision: keys.revision,
        replaces: keys.replaces,
        source,
    };
    if is_unsure {
        *report = before;
    } else if let Some((began, work)) = began.zip(log.first_work()).filter(|(began, work)| work < began) {
        *report = before;
        let message = format!("the visit began {began}, and the first time in the log is {work}");
        report.push(began_at.error("times-backwards", message));
    }
    Some(log)
}

impl LoadLog {
    fn new(keys: LoadKeys, clock: &mut Clock, report: &mut Diagnostics) -> LoadLog {
        let reading = reading(keys.reading.clone(), keys.instrument.as_ref(), &keys.origin, report);
        if keys.skipped.is_some() && (keys.mixed.is_some() || reading.is_some()) {
            report.push(keys.origin.error("skipped-and-done", "this was skipped and yet has a time or a reading"));
        }
        LoadLog { mixed: clock.read(keys.mixed.as_ref(), report), reading, keys }
    }
}

impl AreaLog {
    fn new(keys: AreaKeys, clock: &mut Clock, report: &mut Diagnostics) -> AreaLog {
        let (started, finished) =
            (clock.read(keys.started.as_ref(), report), clock.read(keys.finished.as_ref(), report));
        let Rewets { count: rewets, at } = keys.rewets.clone().unwrap_or_default();
        let rewet_at: Vec<DateTime> = at.iter().filter_map(|when| clock.read(Some(when), report)).collect();
        let wet_until = clock.read(keys.wet_until.as_ref(), report);
        let rinsed = clock.read(keys.rinsed.as_ref().and_then(|Rinsed(at)| at.as_ref()), report);
        for (from, to, key) in [
            (started, finished, "finished"),
            (started, rewet_at.iter().min().copied(), "rewets"),
            (finished, rinsed, "rinsed"),
        ] {
            if from.zip(to).is_some_and(|(from, to)| to < from) {
                report.push(keys.origin.key(key).error("times-backwards", "this ends before it begins"));
            }
        }
        if keys.skipped.is_some() && (started.is_some() || finished.is_some()) {
            report.push(keys.origin.error("skipped-and-done", "this was skipped and yet has a time"));
        }
        let not_rinsed = keys.rinsed.as_ref().is_some_and(|Rinsed(at)| at.is_none());
        AreaLog { name: keys.area.clone(), started, finished, rewets, rewet_at, wet_until, rinsed, not_rinsed, keys }
    }
}

impl CheckLog {
    fn new(keys: CheckKeys, clock: &mut Clock, report: &mut Diagnostics) -> Option<CheckLog> {
        let wetted = clock.read(Some(&keys.wetted), report);
        let seen_wet = clock.read(Some(&keys.seen_wet), report);
        let (wetted, seen_wet) = wetted.zip(seen_wet)?;
        if seen_wet < wetted {
            report.push(keys.origin.key("seen_wet").error("times-backwards", "this ends before it begins"));
        }
        let CheckKeys { treatment, area, spot, origin, .. } = keys;
        Some(CheckLog { treatment, area, spot, wetted, seen_wet, origin })
    }
}

/// When an area was rinsed; `None` where the log says outright that it was not.
#[derive(Clone, Debug)]
pub struct Rinsed(Option<When>);

impl Declared for Rinsed {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Rinsed> {
        match node.text(report)?.as_str() {
            "no" | "false" => Some(Rinsed(None)),
            _ => When::from_node(node, report).map(|at| Rinsed(Some(at))),
        }
    }

    fn shape() -> Shape {
        Shape::Either(vec![When::shape(), Shape::line("no", Line::Any)])
    }
}

/// How often an area was wetted again, and when where the log says so.
#[derive(Clone, Debug, Default)]
pub struct Rewets {
    count: Option<u32>,
    at: Vec<When>,
}

/// How often, or the moments: a list, or in a table's cell several with semicolons between them.
impl Declared for Rewets {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Rewets> {
        if node.is_scalar() && node.text(report)?.chars().all(|c| c.is_ascii_digit()) {
            return Some(Rewets { count: Some(node.parse(report, parse::count)?), at: Vec::new() });
        }
        let at = several(node, report)?;
        Some(Rewets { count: Some(at.len() as u32), at })
    }

    fn shape() -> Shape {
        Shape::Either(vec![
            Shape::Count { least: 0, most: 1_000_000 },
            Shape::List { of: Box::new(When::shape()), or_one: true },
        ])
    }
}

fn read_revision(node: &Node<'_>, report: &mut Diagnostics) -> Option<u32> {
    let count = node.parse(report, parse::count)?;
    if (1..=MOST_REVISIONS).contains(&count) {
        return Some(count);
    }
    report.push(node.error("bad-revision", format!("a revision is a number from 1 to {MOST_REVISIONS}")));
    None
}

/// Whether the second and later revisions, and only they, name the record they take the place of.
fn replaces_the_one_before(keys: &LogKeys, report: &mut Diagnostics) -> bool {
    let (message, hint) = match (keys.revision > 1, keys.origin.has("replaces")) {
        (true, false) => (
            format!("revision {} does not say which record it replaces", keys.revision),
            "give `replaces`, the SHA-256 of the record before; `decant verify` prints it",
        ),
        (false, true) => (
            "`replaces` stands here, and this is the first revision".to_owned(),
            "give `revision: 2`, or take `replaces` out",
        ),
        // one that cannot be read has been reported
        _ => return keys.replaces.is_some() == (keys.revision > 1),
    };
    report.push(keys.origin.error("bad-revision", message).hint(hint));
    false
}

pub(super) fn read_digest(node: &Node<'_>, report: &mut Diagnostics) -> Option<String> {
    let text = node.text(report)?.replace(' ', "").to_ascii_lowercase();
    if text.len() != 64 || !text.bytes().all(|b| b.is_ascii_hexdigit()) {
        let problem = node.error("bad-digest", "this is no SHA-256 digest");
        report.push(problem.hint("write its 64 hexadecimal digits, with or without spaces between groups"));
        return None;
    }
    Some(text)
}

pub(super) fn position_shape() -> Shape {
    Shape::Count { least: 1, most: 1_000 }
}

pub(super) fn read_position(node: &Node<'_>, report: &mut Diagnostics) -> Option<usize> {
    let text = node.text(report)?;
    let position = text.parse::<usize>().ok().filter(|p| (1..=1_000).contains(p));
    if position.is_none() {
        report.push(node.error("bad-count", format!("`{text}` is not a position (1, 2, 3 …)")));
    }
    position
}

fn read_amount(node: &Node<'_>, report: &mut Diagnostics) -> Option<Amount> {
    node.parse(report, amount)
}

/// `12.5 fl oz`, `40 g` or `3 tablets`. Whether it suits the product is seen when the log is compared with the plan.
fn amount(text: &str) -> Result<Amount, QuantityError> {
    if let Some(count) = text.strip_suffix("tablets").or_else(|| text.strip_suffix("tablet")) {
        return parse::number(count.trim()).map(Amount::Tablets);
    }
    match parse::volume(text) {
        Ok(volume) => Ok(Amount::Liquid(volume)),
        Err(not_a_volume) => parse::mass(text).map(Amount::Powder).map_err(|_| not_a_volume),
    }
}

#[cfg(test)]
mod tests;
