//! The service log: what the crew really did.

use std::ops::Deref;
use std::path::Path;
use std::sync::Arc;

use jiff::civil::DateTime;
use serde::Serialize;

use super::service_log_read::{self, AreaKeys, LoadKeys, OfVisit, position_shape, read_position};
use super::service_log_times::When;
use crate::diagnostic::{Diagnostic, Diagnostics, Place};
use crate::quantity::{Number, Strength, Time};
use crate::yaml::{Declared, Node, Origin, Source, custom, keys};

/// A service log, read. Its JSON form is the `applied` of a record.
#[derive(Debug, Serialize)]
pub struct ServiceLog {
    /// The file itself.
    #[serde(skip)]
    pub source: Arc<Source>,
    /// Loads mixed.
    pub loads: Vec<LoadLog>,
    /// Areas done.
    pub areas: Vec<AreaLog>,
    /// Spots that were watched while they were wet.
    pub checks: Vec<CheckLog>,
    /// What was not done as planned, and why.
    pub deviations: Vec<Deviation>,
    /// Photographs taken, by file and digest.
    pub photographs: Vec<Photograph>,
    /// When the visit began, where the log says that it was put off.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub began: Option<DateTime>,
    /// Which revision of the log this is, from 1; it is the record's too.
    #[serde(skip)]
    pub revision: u32,
    /// SHA-256 of the record that this revision takes the place of, in hexadecimal; none for the first.
    #[serde(skip)]
    pub replaces: Option<String>,
}

/// A load as it was mixed, with the keys of the log.
#[derive(Clone, Debug, Serialize)]
pub struct LoadLog {
    /// When it was mixed.
    pub mixed: Option<DateTime>,
    /// What the strip or an instrument showed.
    pub reading: Option<Reading>,
    #[serde(flatten)]
    pub(super) keys: LoadKeys,
}

impl Deref for LoadLog {
    type Target = LoadKeys;

    fn deref(&self) -> &LoadKeys {
        &self.keys
    }
}

/// What a strip showed: one block, or between two. An instrument shows one figure, and has an error.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Reading {
    /// The lower block, or the only one; the figure of an instrument.
    pub low: Strength,
    /// The upper block, or the only one; the figure of an instrument.
    pub high: Strength,
    /// Of an instrument, its error on either side of the figure, in mg/L; `None` for a strip.
    pub instrument: Option<Strength>,
}

/// An area as it was done, with the keys of the log.
#[derive(Clone, Debug, Serialize)]
pub struct AreaLog {
    /// Its name.
    pub name: String,
    /// When work on it began.
    pub started: Option<DateTime>,
    /// When all of it had been wetted for the first time.
    pub finished: Option<DateTime>,
    /// How often it was wetted again.
    pub rewets: Option<u32>,
    /// When it was wetted again, where the log says so; as many as `rewets`, or none.
    pub rewet_at: Vec<DateTime>,
    /// Until when the patch that was wetted last was seen wet.
    pub wet_until: Option<DateTime>,
    /// When it was rinsed.
    pub rinsed: Option<DateTime>,
    /// Whether the log says outright that it was not rinsed.
    pub not_rinsed: bool,
    #[serde(flatten)]
    pub(super) keys: AreaKeys,
}

impl Deref for AreaLog {
    type Target = AreaKeys;

    fn deref(&self) -> &AreaKeys {
        &self.keys
    }
}

keys! {
    /// A spot of an area that somebody watched: the only proof that a contact time was kept there.
    pub struct CheckKeys {
        /// Which treatment of the job, from 1 in its order.
        treatment: usize = custom(read_position, position_shape), or(1, "1");
        /// The area's name in the job. Example: `Waiting hall`
        area: String, required;
        /// Which spot of it. Example: `by the door`
        spot: String, required;
        /// When it was wetted for the first time. Example: `18:13`
        wetted: When, required;
        /// Until when it was seen wet, without a break. Example: `18:31`
        seen_wet: When, required;
    }
    + origin
}

/// A spot, or nothing where its blank was left as `decant new log` writes it.
pub(super) fn read_check(node: &Node<'_>, report: &mut Diagnostics) -> Option<Option<CheckKeys>> {
    if node.holds_only(&["treatment", "area"]) {
        return Some(None);
    }
    CheckKeys::from_node(node, report).map(Some)
}

/// A spot that was watched, with the keys of the log.
#[derive(Clone, Debug, Serialize)]
pub struct CheckLog {
    /// Which treatment of the job, from 1.
    pub treatment: usize,
    /// The area's name.
    pub area: String,
    /// Which spot of it.
    pub spot: String,
    /// When it was wetted for the first time.
    pub wetted: DateTime,
    /// Until when it was seen wet.
    pub seen_wet: DateTime,
    #[serde(skip)]
    pub(crate) origin: Origin,
}

impl CheckLog {
    /// How long the spot was seen wet. A rinse of its area ends it, whatever was seen.
    pub fn kept_wet(&self, rinsed: Option<DateTime>) -> Time {
        wet_for(self.wetted, rinsed.map_or(self.seen_wet, |rinsed| rinsed.min(self.seen_wet)))
    }
}

/// Whole seconds from one moment to another; none at all where the second is the earlier.
fn wet_for(from: DateTime, to: DateTime) -> Time {
    Time::seconds(Number::int(to.duration_since(from).as_secs().max(0)))
}

impl AreaLog {
    /// How long its last patch was seen wet after it was wetted, where the log has both moments; of all other patches that says
    /// nothing. A log that says it dried before it was wetted kept it wet for no time at all. A rinse ends it, whatever was seen.
    pub fn kept_wet(&self) -> Option<Time> {
        let (finished, wet_until) = self.finished.zip(self.wet_until)?;
        let ends = self.rinsed.map_or(wet_until, |rinsed| rinsed.min(wet_until));
        Some(wet_for(finished, ends))
    }
}

keys! {
    /// Something not done as planned.
    #[derive(Clone, Debug, Serialize)]
    pub struct Deviation {
        /// What. Example: `Began late.`
        what: String, required;
        /// Why. Example: `the ferry was late`
        reason: String, required;
    }
}

/// A photograph that the crew took. The record holds its name and digest, never the picture.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Photograph {
    /// Its file's name, from the folder of the log.
    pub file: String,
    /// SHA-256 of the file, in hexadecimal, worked out from the file itself.
    pub sha256: String,
    /// What it shows, in the crew's words.
    pub shows: Option<String>,
}

impl ServiceLog {
    /// When the first of the work was done, as the loads and areas have it.
    pub fn first_work(&self) -> Option<DateTime> {
        let mixed = self.loads.iter().filter_map(|load| load.mixed);
        let areas = self.areas.iter().filter_map(|area| area.started.or(area.finished));
        mixed.chain(areas).min()
    }

    /// Reads what a service log, or a table, says of a visit; every problem is added to `report`.
    #[cfg(test)]
    pub fn read(file: &Path, of: &OfVisit<'_>, report: &mut Diagnostics) -> Option<ServiceLog> {
        service_log_read::read(file, of, report)
    }

    /// Reads the service log that the job file `job` names, or says why it cannot be used: never both. A log is written after
    /// the work, so that what is wrong with it must not keep anybody from a plan or a label. Where it lies outside the job's folder
    /// and is no log at all, nothing that stands in it is quoted: whoever wrote the job may have named a file that is not theirs to
    /// read.
    pub fn named_in(job: &Path, file: &Path, of: &OfVisit<'_>) -> (Option<ServiceLog>, Option<Diagnostics>) {
        let mut own = Diagnostics::new();
        let found = service_log_read::read(file, of, &mut own);
        if let (Some(service_log), false) = (found, own.has_errors()) {
            return (Some(service_log), None);
        }
        if !leads_out(job, file) || service_log_read::is_log(file, of) {
            return (None, Some(own));
        }
        let quotes = |problem: &&Diagnostic| problem.place.as_ref().is_some_and(|place| place.spot.is_some());
        let mut report = Diagnostics::new();
        for problem in own.problems().iter().filter(|problem| !quotes(problem)) {
            report.push(problem.clone());
        }
        if own.problems().iter().any(|problem| quotes(&problem)) {
            let place = Place { file: file.display().to_string(), path: String::new(), spot: None };
            let code =
                own.problems().iter().find(|problem| quotes(problem)).map_or("not-a-log", |problem| problem.code);
            let problem = Diagnostic::error(code, "this is not a service log").at(place);
            report.push(problem.hint("it lies outside the job's folder, so nothing of it is shown"));
        }
        (None, Some(report))
    }
}

/// Whether a file truly lies outside the folder of another, links resolved.
pub(super) fn leads_out(of: &Path, file: &Path) -> bool {
    let folder = of.parent().filter(|folder| !folder.as_os_str().is_empty());
    match (folder.unwrap_or(Path::new(".")).canonicalize(), file.canonicalize()) {
        (Ok(folder), Ok(file)) => !file.starts_with(folder),
        // it is not there: whoever opens it says so
        _ => false,
    }
}
