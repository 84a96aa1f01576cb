//! The contract file: many sites and visits, which it expands into the jobs of each visit.
//!
//! ```text
//! contract.yaml ─┬─► sites, over what holds for their kind ─┐
//! sites.csv/xlsx ┘                                          ├─► visits with their times ─► jobs
//! visits, holidays, routes ─────────────────────────────────┘
//! ```
//!
//! A job is a tree whose values know where they were written, and is read as any job file is: a problem is shown at the
//! place in the contract or the table that it comes from. It is written as text for people, and for the batch.

mod calendar;
mod clashes;
mod columns;
mod dates;
mod expand;
mod keys;
mod logs;
mod moves;
mod propose;
mod recurrence;
mod routes;
mod site;
mod van_days;
mod visits;
mod weekday;
mod write;

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::civil::{Date, DateTime, Time};

use crate::company::plain_key;
use crate::diagnostic::Diagnostics;
use crate::table::is_table;
use crate::yaml::{Declared, FileKind, Node, Origin, Source, Tree};
use logs::LogFile;
use routes::{Place, Route, Stop};
use site::Site;
use visits::Due;

pub use expand::{ExpandedJob, Mark, path_between, planned_start};
pub use keys::ContractKeys;
pub use logs::Logs;
pub use propose::{Proposal, propose};
pub use van_days::VanDay;
pub(crate) use write::scalar;

/// When each visit began that was made, by the number of its job.
pub type Pins = BTreeMap<String, DateTime>;

/// What is past, and therefore settled: visits that were made keep their numbers and their times, whatever the contract says of
/// the sites before and after them, and the rest of their day goes on from there.
#[derive(Debug, Default)]
pub struct Past<'a> {
    /// Visits of which a certificate was issued.
    pub issued: Pins,
    /// The folder of job files that were planned before: a visit that has a log was made as its file there says.
    pub planned: Option<&'a Path>,
}

impl Past<'_> {
    fn pins(&self, logs: &[LogFile]) -> Pins {
        let mut pins = self.issued.clone();
        let Some(folder) = self.planned else { return pins };
        for visit in logs.iter().flat_map(LogFile::visits) {
            if let Some(start) = expand::planned_start(&folder.join(format!("{visit}.yaml"))) {
                pins.entry(visit.clone()).or_insert(start);
            }
        }
        pins
    }
}

/// A contract, resolved: every visit with its site, its crew and its time.
#[derive(Debug)]
pub struct Contract {
    /// The file itself.
    pub source: Arc<Source>,
    /// The contract's number, as written.
    pub number: String,
    company: PathBuf,
    client: Tree,
    /// Which visit each service log of the contract's folder is of.
    pub logs: Logs,
    sites: Vec<Site>,
    routes: Vec<Route>,
    stops: Vec<Stop>,
}

impl Contract {
    /// Reads a contract file and the table of sites it names; every problem goes to `report`.
    ///
    /// The company file is not read, and treatments and areas are not looked into: see [`Contract::check`].
    /// Visits that were made stay as they were.
    pub fn read(file: &Path, past: &Past<'_>, report: &mut Diagnostics) -> Option<Contract> {
        Contract::from_source(&Source::read(file, report)?, past, report)
    }

    /// The same of what is taken to stand in its file.
    pub fn from_source(source: &Arc<Source>, past: &Past<'_>, report: &mut Diagnostics) -> Option<Contract> {
        if !FileKind::Contract.fits(&source.root(), report) {
            return None;
        }
        let keys = ContractKeys::from_node(&source.root(), report)?;
        let log_folder = keys.logs.as_ref().map(|name| source.beside(name));
        let is_there = |named: &&PathBuf| named.is_dir() || (named.is_file() && is_table(named));
        if let Some(folder) = log_folder.as_ref().filter(|named| !is_there(named)) {
            // else every visit would count as not done yet, and its certificate as stale
            let message = format!("there is no folder or table {}", folder.display());
            let problem = keys.origin.key("logs").error("no-log-folder", message);
            let hint = "a folder holds the logs of visits, each named as its job, a table has a column `job`; make it, or leave `logs` out";
            report.push(problem.hint(hint));
        }
        let before = report.count();
        let sites = site::read_sites(&keys, report);
        let every_site_read = report.count() == before;
        let routes = routes::read_routes(keys.routes.as_ref(), report);
        let mut due = visits::read_visits(&keys, (&sites, every_site_read), report);
        let places: Vec<Place> = sites.iter().map(|site| routes::place(site, &routes, report)).collect();
        let files = log_folder
            .as_ref()
            .filter(|named| named.exists())
            .map_or_else(Vec::new, |folder| logs::files_in(folder, &keys.origin.key("logs"), report));
        let pins = past.pins(&files);
        let mut listed: BTreeMap<(usize, Date), Vec<Time>> = BTreeMap::new();
        for visit in &due {
            listed.entry((visit.site, visit.named)).or_default().extend(visit.time);
        }
        let known = |visit: &Due| {
            let (site, place) = (&sites[visit.site], &places[visit.site]);
            let filled = fill(&keys.job_number, keys.contract.as_deref().unwrap_or_default(), &site.key, visit.named);
            // a time that is written in the contract stays when other visits are added or moved
            let of_route = place.route.and_then(|at| routes[at].keys.start);
            let written = visit.time.or(place.start).or(of_route).or(visit.otherwise);
            let others = listed.get(&(visit.site, visit.named)).into_iter().flatten().copied();
            number_of(&pins, &filled, written, others)
        };
        let made = |visit: &Due| known(visit).1;
        // one that was made on a day that is a holiday by now is not planned again for the day after
        for visit in due.iter_mut().filter(|visit| visit.due != visit.named) {
            let as_made = Due { named: visit.due, day: visit.due, ..visit.clone() };
            if made(&as_made).is_some() {
                *visit = as_made;
            }
        }
        site::leave_out(&mut due, &sites, &made, report);
        moves::apply(&mut due, &keys, (&sites, every_site_read), &made, report);
        visits::check_twice(&due, &sites, keys.visits.as_ref(), report);
        let stops = routes::put_in_order(due, &sites, &places, &routes, &known, report);
        let mut contract = Contract {
            number: keys.contract?,
            company: source.beside(&keys.company?),
            client: keys.client?,
            logs: Logs::default(),
            sites,
            routes,
            stops,
            source: source.clone(),
        };
        contract.check_numbers(&keys.origin, report);
        let numbers = contract.stops.iter().map(|stop| stop.number.clone()).collect();
        contract.logs = Logs::of(files, &numbers);
        contract.check_crews(report);
        (!report.has_errors()).then_some(contract)
    }

    /// Every job number can be one, and no two are the same.
    fn check_numbers(&self, origin: &Origin, report: &mut Diagnostics) {
        let mut seen = HashMap::new();
        let mut reported = BTreeSet::new();
        for stop in &self.stops {
            let number = &stop.number;
            let site = &self.sites[stop.site].tree;
            if !is_number(number) {
                if reported.insert(stop.site) {
                    let message =
                        format!("`{number}` cannot be a job number: at most 24 letters, digits, `-`, `_` and `.`");
                    let hint = "shorten the site's key, or set `job_number`, such as `{site}-{date}`";
                    report.push(site.error("key", "bad-job-number", message).hint(hint));
                }
            } else if let Some(other) = seen.insert(number.clone(), stop.start)
                && reported.insert(stop.site)
            {
                let message = format!("two visits have the job number `{number}`: {other} and {}", stop.start);
                let problem = match origin.key("job_number").node() {
                    Some(node) => node.error("job-number-twice", message),
                    None => site.error("key", "job-number-twice", message),
                };
                let hint = "set `job_number` so that it tells them apart, such as `{site}-{date}-{time}`";
                report.push(problem.hint(hint));
            }
        }
        if self.stops.is_empty() && !report.has_errors() {
            let problem = origin.error("no-visit", "the contract has no visit");
            report.push(problem.hint("the holidays, or the choice of sites, may leave none"));
        }
    }

    /// Somebody goes on every visit for which a crew is named.
    fn check_crews(&self, report: &mut Diagnostics) {
        let mut reported = BTreeSet::new();
        for stop in &self.stops {
            let Some(crew) = self.crew_of(stop).filter(|crew| crew.items().is_empty()) else { continue };
            if reported.insert(crew.from.as_ref().map(|from| from.place().path)) {
                let site = &self.sites[stop.site].key;
                let message = format!("nobody of this crew goes to `{site}` on {}", stop.day);
                let problem = crew.error("", "crew-empty", message);
                report.push(problem.hint("look at `from` and `until` of its members"));
            }
        }
    }
}

/// A pattern of job numbers with all but the time filled in.
fn fill(pattern: &str, contract: &str, site: &str, day: Date) -> String {
    let date = day.strftime("%Y%m%d").to_string();
    pattern.replace("{contract}", contract).replace("{date}", &date).replace("{site}", site)
}

/// The number of a visit, and when it was made, if it was. `filled` is the number but for the time, which is `written` in the
/// contract; one that was made keeps the time in its number, whatever is written now. `listed` are times of visits to the same site
/// on that day which have numbers of their own.
fn number_of(
    pins: &Pins,
    filled: &str,
    written: Option<Time>,
    mut listed: impl Iterator<Item = Time>,
) -> (String, Option<DateTime>) {
    let with = |time: &str| filled.replace("{time}", time);
    let digits = |time: Time| time.strftime("%H%M").to_string();
    let number = written.map_or_else(|| filled.to_owned(), |time| with(&digits(time)));
    let made = pins.get(&number).copied();
    if let (None, Some((head, _))) = (made, filled.split_once("{time}")) {
        let is_it = |found: &String| {
            let time = found.get(head.len()..head.len() + 4).filter(|time| time.bytes().all(|b| b.is_ascii_digit()));
            time.is_some_and(|time| with(time) == *found)
        };
        let others: Vec<String> = listed.by_ref().map(|time| with(&digits(time))).collect();
        let mut of_day = pins.range(head.to_owned()..).take_while(|(found, _)| found.starts_with(head));
        // a listed visit is known by the time that it is listed with
        if !others.contains(&number)
            && let Some((found, start)) = of_day.find(|(found, _)| is_it(found) && !others.contains(found))
        {
            return (found.clone(), Some(*start));
        }
    }
    (number, made)
}

/// Numbers of contracts and jobs stand in file names and in codes on labels.
fn is_number(text: &str) -> bool {
    text.len() <= 24 && plain_key(text)
}

fn read_number(node: &Node<'_>, report: &mut Diagnostics) -> Option<String> {
    let text = node.text(report)?;
    if !is_number(&text) {
        let problem = node.error("bad-contract-number", format!("`{text}` cannot be a contract's number"));
        report.push(problem.hint("at most 24 letters, digits, `-`, `_` and `.`: it may stand in file names"));
        return None;
    }
    Some(text)
}

/// The pattern of job numbers: what stands in braces is filled in.
fn read_pattern(node: &Node<'_>, report: &mut Diagnostics) -> Option<String> {
    let text = node.text(report)?;
    let blanks = ["{contract}", "{site}", "{date}", "{time}"];
    let rest = blanks.iter().fold(text.clone(), |rest, blank| rest.replace(blank, ""));
    if rest.contains(['{', '}']) {
        let problem = node.error("bad-job-number", format!("`{text}` has a blank that is not known"));
        report.push(problem.hint("blanks are {contract}, {site}, {date} and {time}"));
        return None;
    }
    Some(text)
}

#[cfg(test)]
mod tests;
