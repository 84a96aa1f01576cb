//! Routes: who goes round which sites, in which order, and when each visit begins.

use std::collections::BTreeSet;

use jiff::ToSpan;
use jiff::civil::{Date, DateTime, Time};

use super::dates::check_crew;
use super::keys::{crew, time_of_day};
use super::site::Site;
use super::visits::{Due, read_time, time_of};
use crate::diagnostic::Diagnostics;
use crate::quantity::{self, parse};
use crate::yaml::{self, BadMoment, Complaint, Declared, Line, Node, Origin, Shape, Tree, custom, keys, nearest};

keys! {
    /// Sites that one van visits in turn.
    #[derive(Debug)]
    pub(super) struct RouteKeys {
        /// Who goes, by their keys in the company file; with days where that changes.
        /// Example: `[okafor, { member: lindqvist, until: 2026-06-30 }]`
        crew: Tree = custom(Tree::of, crew), optional;
        /// When the first visit of a day begins. Example: `"22:30"`
        start: Time = custom(read_time, time_of_day), optional;
        /// How long one site takes, with the way to the next. Example: `75 min`
        takes: i64 = custom(read_takes, || Shape::line("a time (min, h)", Line::Text)), optional;
    }
    + origin
}

/// A route.
#[derive(Debug)]
pub(super) struct Route {
    pub key: String,
    pub keys: RouteKeys,
}

/// A visit with its time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Stop {
    /// Position of the site.
    pub site: usize,
    /// The number of its job.
    pub number: String,
    /// The day that its number names.
    pub named: Date,
    /// The day it belongs to; on a route past midnight it may begin on the next.
    pub day: Date,
    pub start: DateTime,
    /// How long it takes with the way to the next, in minutes, where that is said.
    pub takes: Option<i64>,
    /// Position of the route.
    pub route: Option<usize>,
}

/// Reads `routes`, in their order.
pub(super) fn read_routes(routes: Option<&Origin>, report: &mut Diagnostics) -> Vec<Route> {
    let entries = routes.and_then(Origin::node).and_then(|n| n.entries(report)).unwrap_or_default();
    let read = entries.into_iter().filter_map(|(key, node)| {
        let keys = RouteKeys::from_node(&node, report)?;
        keys.crew.iter().for_each(|crew| check_crew(crew, report));
        Some(Route { key, keys })
    });
    read.collect()
}

fn read_takes(node: &Node<'_>, report: &mut Diagnostics) -> Option<i64> {
    let minutes = whole_minutes(&node.parse(report, parse::time)?);
    if minutes.is_none() {
        report.push(node.error("out-of-range", "a time from a minute to a day is wanted here"));
    }
    minutes
}

/// In minutes, cut up to the next whole one; `None` for nothing and for more than a day.
fn whole_minutes(time: &quantity::Time) -> Option<i64> {
    let minutes = time.as_minutes().ceil_to(&quantity::Number::one()).to_i64()?;
    (1..=24 * 60).contains(&minutes).then_some(minutes)
}

/// What a site says of its place on a route.
#[derive(Clone, Debug)]
pub(super) struct Place {
    pub route: Option<usize>,
    order: i64,
    pub start: Option<Time>,
    takes: Option<i64>,
}

pub(super) fn place(site: &Site, routes: &[Route], report: &mut Diagnostics) -> Place {
    let mut bad = |key: &str, code, message: String, hint: String| {
        report.push_alike(site.tree.error(key, code, message).hint(hint));
    };
    let route = site.word("route").and_then(|name| {
        let found = routes.iter().position(|route| route.key == name);
        if found.is_none() {
            let known: Vec<&str> = routes.iter().map(|route| route.key.as_str()).collect();
            let hint = match nearest(name, &known) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("routes there: {}", known.join(", ")),
            };
            bad("route", "route-unknown", format!("no route `{name}` is in this contract"), hint);
        }
        found
    });
    let order = site.word("order").map_or(Some(i64::MAX), |text| {
        let order = text.parse::<i64>().ok().filter(|order| (0..=1_000_000).contains(order));
        if order.is_none() {
            bad("order", "bad-count", format!("`{text}` is no place in a route"), "a whole number, such as `3`".into());
        }
        order
    });
    let start = site.word("start").and_then(|text| {
        let start = time_of(text);
        if start.is_none() {
            let message = match yaml::offset_in(text) {
                Some(offset) => BadMoment::Offset(text.to_owned(), offset).message(),
                None => format!("`{text}` is not a time of day"),
            };
            bad("start", "bad-time", message, "such as `18:00`".into());
        }
        start
    });
    let takes = site.word("takes").and_then(|text| {
        let read = parse::time(text);
        let takes = read.as_ref().ok().and_then(whole_minutes);
        if takes.is_none() {
            let message = read.err().map_or_else(|| format!("`{text}` is not from a minute to a day"), |e| e.message);
            bad("takes", "bad-quantity", message, "such as `45 min`".into());
        }
        takes
    });
    Place { route, order: order.unwrap_or(i64::MAX), start, takes }
}

/// The visit before, on the same route and day.
#[derive(Clone, Copy)]
struct Before {
    run: (Date, usize, usize),
    start: DateTime,
    takes: Option<i64>,
}

/// Gives every visit its time, and puts them in order: by day, route, place in the route. A visit that was made has the time that
/// `known` gives beside its number, and is never too early; the number's `{time}`, where nothing else fills it in, is that time.
pub(super) fn put_in_order(
    mut due: Vec<Due>,
    sites: &[Site],
    places: &[Place],
    routes: &[Route],
    known: &dyn Fn(&Due) -> (String, Option<DateTime>),
    report: &mut Diagnostics,
) -> Vec<Stop> {
    // who is on no route comes after those who are
    due.sort_by_key(|d| {
        let place = &places[d.site];
        (d.day, place.route.unwrap_or(usize::MAX), d.run, place.order, d.site, d.time)
    });
    let mut reported = BTreeSet::new();
    let mut stops: Vec<Stop> = Vec::new();
    let mut before: Option<Before> = None;
    for visit in due {
        let (site, place) = (&sites[visit.site], &places[visit.site]);
        let route = place.route.map(|at| &routes[at]);
        let (number, made) = known(&visit);
        let run = place.route.map(|route| (visit.day, route, visit.run));
        let fixed = visit.time.or(place.start).filter(|_| visit.run == 0).map(|time| visit.day.to_datetime(time));
        let previous = before.filter(|before| Some(before.run) == run);
        let free = previous.map(|before| before.start.checked_add(before.takes?.minutes()).ok());
        let start = match (made.or(fixed), free) {
            (Some(start), Some(Some(free))) if start < free && made.is_none() => {
                if reported.insert(("early", visit.site)) {
                    let message = format!(
                        "the visit to `{}` at {} begins before the crew is free, at {}",
                        site.key,
                        start.strftime("%H:%M"),
                        free.strftime("%H:%M, %Y-%m-%d")
                    );
                    let hint = "put it earlier in the route with `order`, or begin later";
                    report.push(site.tree.error("start", "route-too-tight", message).hint(hint));
                }
                None
            }
            (Some(start), _) => Some(start),
            (None, Some(free)) => {
                if free.is_none() && reported.insert(("takes", place.route.unwrap_or(0))) {
                    let message = "how long a site takes is not said, so the next visit has no time";
                    let problem = match route {
                        Some(route) => route.keys.origin.error("takes-missing", message),
                        None => site.tree.error("takes", "takes-missing", message),
                    };
                    report
                        .push(problem.hint("give the route `takes`, such as `75 min`, with the way to the next site"));
                }
                free
            }
            (None, None) => {
                let time = visit.begins.or(route.and_then(|route| route.keys.start)).or(visit.otherwise);
                if time.is_none() && reported.insert(("start", visit.site)) {
                    let message = format!("when the visit to `{}` begins is not said", site.key);
                    let hint = "give `start` to its route, to the site or to the visits";
                    report.push(site.tree.error("start", "start-missing", message).hint(hint));
                }
                time.map(|time| visit.day.to_datetime(time))
            }
        };
        let Some(start) = start else { continue };
        let takes = place.takes.or(route.and_then(|route| route.keys.takes));
        before = run.map(|run| Before { run, start, takes }).or(before);
        let number = number.replace("{time}", &start.strftime("%H%M").to_string());
        stops.push(Stop {
            site: visit.site,
            number,
            named: visit.named,
            day: visit.day,
            start,
            takes,
            route: place.route,
        });
    }
    stops
}
