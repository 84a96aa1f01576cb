//! On which days which sites are visited: listed dates, recurrence rules, holidays.

use std::collections::{BTreeMap, BTreeSet};

use jiff::ToSpan;
use jiff::civil::{Date, Time, Weekday};

use super::keys::{ContractKeys, later, time_of_day};
use super::recurrence::Rule;
use super::site::Site;
use crate::company::read_date;
use crate::diagnostic::{Diagnostic, Diagnostics, Severity};
use crate::yaml::{
    self, At, BadMoment, Declared, Form, Line, Node, Origin, Shape, custom, keys, list_of, nearest, words,
};

/// The most visits of one contract; forty sites every fortnight are a thousand a year.
pub const MOST_VISITS: usize = 100_000;

keys! {
    /// A group of visits: either by a rule or on listed dates.
    pub(super) struct VisitsKeys {
        /// A recurrence rule as calendars have it (RFC 5545), in days. The first Monday of a month is `1MO`, the last `-1MO`; a
        /// monthly rule with `MO` is every Monday. Example: `FREQ=WEEKLY;INTERVAL=2;BYDAY=MO`, `FREQ=MONTHLY;BYDAY=1MO`
        rule: Origin = later(|| Shape::line("a rule", Line::Text)), optional;
        /// The first day, which the rule names. Example: `2026-04-13`
        from: At<Date>, optional;
        /// In the place of a rule: dates, each with a time or without. Example: `[2026-04-13, 2026-04-20T05:15]`
        on: Origin = later(Vec::<Date>::shape), optional;
        /// When they begin, where neither site nor route says so. Example: `"18:00"`
        start: Time = custom(read_time, time_of_day), optional;
        /// Days on which they are not made. Example: `[2026-07-06]`
        except: Vec<At<Date>>, optional;
        /// Only these sites. Example: `[gull, light]`
        sites: Vec<At<String>>, optional;
        /// Only sites of these kinds. Example: `terminal`
        kinds: Vec<At<String>>, optional;
        /// Only sites on these routes. Example: `north`
        routes: Vec<At<String>>, optional;
    }
    + origin
}

keys! {
    /// Days without visits.
    pub struct Holidays {
        /// The days. Example: `[2026-05-25]`
        days: Vec<Date> = list_of::<Date>(), required;
        /// What becomes of a visit that a rule puts on one.
        then: Then, required;
        /// The days on which it may be made.
        working_days: Vec<Weekday>, or(WORKING_DAYS.to_vec(), "[mo, tu, we, th, fr]");
    }
}

words! {
    /// What becomes of a visit that a rule puts on a holiday.
    pub enum Then {
        /// the visit is left out
        Skip = "skip",
        /// it is made on the next working day
        NextWorkingDay = "next-working-day",
    }
}

words! {
    for Weekday {
        Monday = "mo",
        Tuesday = "tu",
        Wednesday = "we",
        Thursday = "th",
        Friday = "fr",
        Saturday = "sa",
        Sunday = "su",
    }
}

/// A visit to a site, before its place on a route is known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Due {
    /// Position of the site.
    pub site: usize,
    /// The day that a rule or list names, before holidays.
    pub due: Date,
    /// The day that its number names.
    pub named: Date,
    /// The day on which it is made.
    pub day: Date,
    /// The time, where the date is listed with one.
    pub time: Option<Time>,
    /// The time of these visits where neither site nor route has one.
    pub otherwise: Option<Time>,
    /// The visits that were moved together to a time of their own, from 1: the first begins then and the others follow.
    pub run: usize,
    pub begins: Option<Time>,
}

/// The working days where the contract names none.
const WORKING_DAYS: [Weekday; 5] =
    [Weekday::Monday, Weekday::Tuesday, Weekday::Wednesday, Weekday::Thursday, Weekday::Friday];

/// Reads `visits` and `holidays`.
///
/// With the sites comes whether every one of them could be read: if not, a name that is not there may be one of those.
pub(super) fn read_visits(keys: &ContractKeys, sites: (&[Site], bool), report: &mut Diagnostics) -> Vec<Due> {
    let (until, holidays) = (keys.until, keys.holidays.as_ref().and_then(|holidays| holidays.read(report)));
    let Some(node) = keys.visits.as_ref().and_then(Origin::node) else {
        return Vec::new();
    };
    let groups = match node.form() {
        Form::Group => vec![node.clone()],
        _ => node.items(report).unwrap_or_default(),
    };
    let mut due = Vec::new();
    for group in &groups {
        let more = read_group(group, until, holidays.as_ref(), sites, report);
        let too_many = more.is_none();
        due.extend(more.unwrap_or_default());
        if too_many || due.len() > MOST_VISITS {
            let problem = group.error("too-many-visits", format!("a contract has at most {MOST_VISITS} visits"));
            report.push(problem.hint("end it earlier with `until`, or part it into several"));
            return Vec::new();
        }
    }
    due
}

/// No site is visited twice at a time, by the rules and lists or after moves.
pub(super) fn check_twice(due: &[Due], sites: &[Site], visits: Option<&Origin>, report: &mut Diagnostics) {
    let (mut named, mut made) = (BTreeSet::new(), BTreeSet::new());
    for visit in due {
        let is_new = [
            named.insert((visit.site, visit.named, visit.time)),
            made.insert((visit.site, visit.day, visit.begins.or(visit.time))),
        ];
        if is_new != [true; 2]
            && let Some(visits) = visits
        {
            let message = format!("the site `{}` is visited twice on {}", sites[visit.site].key, visit.day);
            report.push(visits.error("visit-twice", message).hint("take one of them out, or list each with its time"));
        }
    }
}

impl Holidays {
    /// The day on which a visit due on a day is made, if it is made.
    fn made_on(&self, due: Date) -> Option<Date> {
        if !self.days.contains(&due) {
            return Some(due);
        }
        if self.then == Then::Skip {
            return None;
        }
        // a year of holidays on end is no calendar
        due.series(1.day()).take(366).find(|day| self.working_days.contains(&day.weekday()) && !self.days.contains(day))
    }
}

/// The visits of one group; `None` where they alone are too many.
fn read_group(
    node: &Node<'_>,
    until: Option<Date>,
    holidays: Option<&Holidays>,
    sites: (&[Site], bool),
    report: &mut Diagnostics,
) -> Option<Vec<Due>> {
    let Some(keys) = VisitsKeys::from_node(node, report) else { return Some(Vec::new()) };
    let chosen = Chosen { sites: &keys.sites, kinds: &keys.kinds, routes: &keys.routes };
    let chosen = choose(&chosen, sites, report);
    let otherwise = keys.start;
    let days: Vec<(Date, Date, Option<Time>)> =
        match (keys.rule.as_ref().and_then(Origin::node), keys.on.as_ref().and_then(Origin::node)) {
            (Some(rule), None) => {
                let days = read_rule(&rule, &keys, until, holidays, report);
                days.into_iter().map(|(day, due)| (day, due, None)).collect()
            }
            (None, Some(on)) => on
                .items_or_one(report)
                .unwrap_or_default()
                .iter()
                .filter_map(|n| read_listed(n, until, report))
                .map(|(day, time)| (day, day, time))
                .collect(),
            _ => {
                let message = "visits have either a `rule` or a list of dates in `on`";
                report.push(keys.origin.error("visits-how", message));
                return Some(Vec::new());
            }
        };
    let days = without(days, keys.except.as_deref().unwrap_or_default(), report);
    if days.len().saturating_mul(chosen.len()) > MOST_VISITS {
        return None;
    }
    let of_day = |(day, due, time)| {
        chosen.iter().map(move |site| Due { site: *site, due, named: day, day, time, otherwise, run: 0, begins: None })
    };
    Some(days.into_iter().flat_map(of_day).collect())
}

/// The days on which visits are made, each with the day that the rule names.
fn read_rule(
    node: &Node<'_>,
    keys: &VisitsKeys,
    until: Option<Date>,
    holidays: Option<&Holidays>,
    report: &mut Diagnostics,
) -> Vec<(Date, Date)> {
    let rule = node.parse(report, Rule::parse);
    if !keys.origin.has("from") {
        report.push(keys.origin.error("missing-key", "`from` is missing here"));
    }
    let (Some(rule), Some(from)) = (rule, &keys.from) else {
        return Vec::new();
    };
    let first = from.value;
    if !rule.ends() && until.is_none() {
        let problem = node.error("rule-without-end", "this rule never ends");
        report.push(problem.hint("give the contract `until`, or the rule `COUNT` or `UNTIL`"));
        return Vec::new();
    }
    // one more than allowed, so that it is seen
    let days = rule.days(first, until, MOST_VISITS + 1);
    if days.first() != Some(&first) {
        let problem = from.origin.error("rule-not-from", format!("the rule does not name its first day, {first}"));
        let hint = match days.first() {
            Some(day) => format!("the first day it names from there is {day}: write `from: {day}`"),
            None => "it names no day from there to the end of the contract".to_owned(),
        };
        report.push(problem.hint(hint));
        return Vec::new();
    }
    often(node, &days, report);
    // a visit moved onto a day that has one is that one
    let mut made = BTreeMap::new();
    for due in days {
        let Some(day) = holidays.map_or(Some(due), |holidays| holidays.made_on(due)) else { continue };
        if until.is_some_and(|until| day > until) {
            let message = format!("the visit of {due} is moved to {day}, which is after the contract's end");
            let hint = "let `until` be later, or end the rule before that day";
            report.push(node.error("visit-past-end", message).hint(hint));
        } else {
            // the later of the two is the one that has this day
            made.insert(day, due);
        }
    }
    made.into_iter().collect()
}

/// A caution where a monthly rule names more days of a month than it lists: `BYDAY=TU` is every Tuesday.
fn often(node: &Node<'_>, days: &[Date], report: &mut Diagnostics) {
    let Some(text) = node.text(&mut Diagnostics::new()) else { return };
    let listed = text.matches(',').count() + 1;
    let most = days.chunk_by(|a, b| (a.year(), a.month()) == (b.year(), b.month())).map(<[Date]>::len).max();
    if let Some(most) = most.filter(|most| text.to_uppercase().contains("FREQ=MONTHLY") && *most > listed) {
        let message = format!("this monthly rule names up to {most} days of a month");
        let problem = Diagnostic { severity: Severity::Warning, ..node.error("rule-every-week", message) };
        let hint = "`BYDAY=TU` is every Tuesday; for the first of a month write `BYDAY=1TU`, for the last `BYDAY=-1TU`";
        report.push(problem.hint(hint));
    }
}

/// A date, or a date and time. Holidays do not touch it: who lists a date means it.
pub(super) fn read_listed(
    node: &Node<'_>,
    until: Option<Date>,
    report: &mut Diagnostics,
) -> Option<(Date, Option<Time>)> {
    let text = node.text(report)?;
    let (day, time) = if text.contains(['T', 't', ' ']) {
        let moment = node.parse(report, yaml::moment)?;
        (moment.date(), Some(moment.time()))
    } else {
        (read_date(node, report)?, None)
    };
    if until.is_some_and(|until| day > until) {
        report.push(node.error("visit-past-end", format!("{day} is after the contract's end")));
        return None;
    }
    Some((day, time))
}

/// A time of day, such as `18:00`.
pub(super) fn read_time(node: &Node<'_>, report: &mut Diagnostics) -> Option<Time> {
    let text = node.text(report)?;
    let time = time_of(&text);
    if let Some(offset) = yaml::offset_in(&text).filter(|_| time.is_none()) {
        return node.parse(report, |text| Err::<Time, _>(BadMoment::Offset(text.to_owned(), offset)));
    }
    if time.is_none() {
        let problem = node.error("bad-time", format!("`{text}` is not a time of day"));
        report.push(problem.hint("write hours and minutes, such as `18:00`"));
    }
    time
}

/// A time of day as people write it.
pub(super) fn time_of(text: &str) -> Option<Time> {
    yaml::clock(text).map(|(time, _)| time)
}

/// Days without those on which no visit is made. A day that had none is a slip that would leave a visit standing.
fn without(
    mut days: Vec<(Date, Date, Option<Time>)>,
    except: &[At<Date>],
    report: &mut Diagnostics,
) -> Vec<(Date, Date, Option<Time>)> {
    for day in except {
        let before = days.len();
        days.retain(|(found, ..)| *found != day.value);
        if days.len() == before {
            let problem = day.origin.error("except-unused", format!("none of these visits is made on {}", day.value));
            report.push(problem.hint("look at the date again, or take it out"));
        }
    }
    days
}

/// Sites by key, kind or route.
pub(super) struct Chosen<'a> {
    pub sites: &'a Option<Vec<At<String>>>,
    pub kinds: &'a Option<Vec<At<String>>>,
    pub routes: &'a Option<Vec<At<String>>>,
}

/// The sites that a group of visits is for: all, or those named by key, kind or route.
pub(super) fn choose(keys: &Chosen<'_>, (sites, every_one): (&[Site], bool), report: &mut Diagnostics) -> Vec<usize> {
    let mut chosen: Vec<usize> = (0..sites.len()).collect();
    for (named, field) in [(keys.sites, None), (keys.kinds, Some("kind")), (keys.routes, Some("route"))] {
        let Some(named) = named else { continue };
        let word = |site: &'_ Site| -> Option<String> {
            field.map_or_else(|| Some(site.key.clone()), |field| site.word(field).map(str::to_owned))
        };
        let known: BTreeSet<String> = sites.iter().filter_map(word).collect();
        for name in named.iter().filter(|name| every_one && !known.contains(&name.value)) {
            report.push(unknown(name, &known));
        }
        let wanted = |name: &String| named.iter().any(|wanted| wanted.value == *name);
        chosen.retain(|site| word(&sites[*site]).is_some_and(|name| wanted(&name)));
    }
    chosen
}

fn unknown(At { value: name, origin }: &At<String>, known: &BTreeSet<String>) -> Diagnostic {
    let known: Vec<&str> = known.iter().map(String::as_str).collect();
    let problem = origin.error("site-unknown", format!("no site of this contract goes by `{name}` here"));
    match nearest(name, &known) {
        Some(near) => problem.hint(format!("did you mean `{near}`?")),
        None => problem.hint(format!("there are: {}", known.join(", "))),
    }
}
