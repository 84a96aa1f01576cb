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

mod columns;
mod expand;
mod keys;
mod logs;
mod recurrence;
mod routes;
mod site;
mod table;
mod van_days;
mod visits;
mod write;

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::civil::{Date, DateTime};

use crate::company::plain_key;
use crate::diagnostic::Diagnostics;
use crate::yaml::{Declared, Node, Origin, Source, Tree};
use routes::{Route, Stop};
use site::Site;
use visits::Due;

pub use expand::{ExpandedJob, Mark};
pub use keys::ContractKeys;
pub use logs::Logs;
pub use van_days::VanDay;

/// When each visit began that was made, by the number of its job.
pub type Pins = BTreeMap<String, DateTime>;

/// A contract, resolved: every visit with its site, its crew and its time.
#[derive(Debug)]
pub struct Contract {
    /// The file itself.
    pub source: Arc<Source>,
    /// The contract's number, as written.
    pub number: String,
    company: PathBuf,
    client: Tree,
    job_number: String,
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
    pub fn read(file: &Path, report: &mut Diagnostics) -> Option<Contract> {
        Contract::read_with(file, &Pins::default(), report)
    }

    /// The same, where some visits were made already: they keep their numbers and their times, whatever the contract says of
    /// the sites before and after them, and the rest of their day goes on from there.
    pub fn read_with(file: &Path, pins: &Pins, report: &mut Diagnostics) -> Option<Contract> {
        let source = Source::read(file, report)?;
        let keys = ContractKeys::from_node(&source.root(), report)?;
        let log_folder = keys.logs.as_ref().map(|name| source.beside(name));
        if let Some(folder) = log_folder.as_ref().filter(|folder| !folder.is_dir()) {
            // else every visit would count as not done yet, and its certificate as stale
            let message = format!("there is no folder {}", folder.display());
            let problem = keys.origin.key("logs").error("no-log-folder", message);
            let hint = "it holds the logs of visits, each named as its job; make it, or leave `logs` out";
            report.push(problem.hint(hint));
        }
        let before = report.count();
        let sites = site::read_sites(&keys, report);
        let every_site_read = report.count() == before;
        let routes = routes::read_routes(keys.routes.as_ref(), report);
        let due = visits::read_visits(&keys, (&sites, every_site_read), report);
        let pinned = |visit: &Due| {
            if pins.is_empty() {
                return None;
            }
            let filled = fill(&keys.job_number, keys.contract.as_deref()?, &sites[visit.site].key, visit.day);
            pin_of(pins, &filled, visit)
        };
        let stops = routes::put_in_order(due, &sites, &routes, &pinned, report);
        let mut contract = Contract {
            number: keys.contract?,
            company: source.beside(&keys.company?),
            client: keys.client?,
            job_number: keys.job_number,
            logs: Logs::default(),
            sites,
            routes,
            stops,
            source: source.clone(),
        };
        contract.check_numbers(&keys.origin, report);
        if let Some(folder) = log_folder.filter(|folder| folder.is_dir()) {
            let numbers = contract.stops.iter().map(|stop| contract.job_number(stop)).collect();
            contract.logs = Logs::of(&folder, &numbers, report, &keys.origin.key("logs"));
        }
        (!report.has_errors()).then_some(contract)
    }

    /// Every job number can be one, and no two are the same.
    fn check_numbers(&self, origin: &Origin, report: &mut Diagnostics) {
        let mut seen = HashMap::new();
        let mut reported = BTreeSet::new();
        for stop in &self.stops {
            let number = self.job_number(stop);
            let site = &self.sites[stop.site].tree;
            if !is_number(&number) {
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

    fn job_number(&self, stop: &Stop) -> String {
        let filled = fill(&self.job_number, &self.number, &self.sites[stop.site].key, stop.day);
        filled.replace("{time}", &stop.start.strftime("%H%M").to_string())
    }
}

/// A pattern of job numbers with all but the time filled in.
fn fill(pattern: &str, contract: &str, site: &str, day: Date) -> String {
    let date = day.strftime("%Y%m%d").to_string();
    pattern.replace("{contract}", contract).replace("{date}", &date).replace("{site}", site)
}

/// When a visit was made, if it was. `filled` is its number but for the time.
fn pin_of(pins: &Pins, filled: &str, visit: &Due) -> Option<DateTime> {
    if !filled.contains("{time}") {
        return pins.get(filled).copied();
    }
    // the time in the number is the one that is looked for: a visit that was made is known by all the rest, and two visits
    // of a day that are listed with their times by those
    let is_it = |number: &str, start: &DateTime| {
        filled.replace("{time}", &start.strftime("%H%M").to_string()) == number
            && visit.time.is_none_or(|listed| listed == start.time())
    };
    pins.iter().find(|(number, start)| is_it(number, start)).map(|(_, start)| *start)
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
