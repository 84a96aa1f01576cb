//! Visits that are made on another day than the contract's rules and lists have them. Their numbers stay.

use std::collections::BTreeSet;

use jiff::civil::{Date, DateTime};

use super::keys::{ContractKeys, later};
use super::site::Site;
use super::visits::{Chosen, Due, choose, read_listed};
use crate::diagnostic::{Diagnostic, Diagnostics, Severity};
use crate::yaml::{At, Line, Origin, Shape, keys};

keys! {
    /// Visits made on another day, or at another time, than the rules and lists have them. They keep their numbers.
    pub struct MoveKeys {
        /// The day that their numbers name. Example: `2026-04-14`
        from: At<Date>, required;
        /// The day on which they are made; with a time, the first of a route begins then and the others follow.
        /// Example: `2026-04-16T22:00`
        to: Origin = later(|| Shape::line("a date, or a date and time", Line::Text)), required;
        /// Only these sites. Example: `[gull, light]`
        sites: Vec<At<String>>, optional;
        /// Only sites of these kinds. Example: `terminal`
        kinds: Vec<At<String>>, optional;
        /// Only sites on these routes. Example: `north`
        routes: Vec<At<String>>, optional;
    }
    + origin
}

/// Moves visits. One that was made stays where it was made, whatever is said of it now.
pub(super) fn apply(
    due: &mut [Due],
    keys: &ContractKeys,
    sites: (&[Site], bool),
    pinned: &dyn Fn(&Due) -> Option<DateTime>,
    report: &mut Diagnostics,
) {
    for (at, moved) in keys.moves.iter().flatten().enumerate() {
        let chosen = Chosen { sites: &moved.sites, kinds: &moved.kinds, routes: &moved.routes };
        let chosen: BTreeSet<usize> = choose(&chosen, sites, report).into_iter().collect();
        let Some((to, time)) = moved.to.node().and_then(|to| read_listed(&to, keys.until, report)) else { continue };
        let mut found = false;
        for visit in due.iter_mut().filter(|visit| visit.named == moved.from.value && chosen.contains(&visit.site)) {
            found = true;
            let site = &sites.0[visit.site];
            if visit.day != visit.named || visit.run > 0 {
                let message = format!("the visit to `{}` of {} is moved twice", site.key, visit.named);
                report.push(moved.origin.error("move-twice", message).hint("leave one of the two moves"));
            } else if pinned(visit).is_some_and(|made| !is_night_of(made, to)) {
                let message = format!("the visit to `{}` of {} was made, and stays as it was", site.key, visit.named);
                let problem = moved.origin.error("moved-after", message).hint("take the move out");
                report.push(Diagnostic { severity: Severity::Warning, ..problem });
            } else if !site.days.hold(to) {
                let message = format!("`{}` is in the contract no longer, or not yet, on {to}", site.key);
                report.push(moved.to.error("move-outside", message).hint("look at its `from` and `until`"));
            } else {
                (visit.day, visit.run) = (to, if time.is_some() { at + 1 } else { 0 });
                visit.begins = time;
            }
        }
        if !found && sites.1 {
            let message = format!("no visit of {} is there to be moved", moved.from.value);
            let hint = "`from` is the day that the visit's number names";
            report.push(moved.from.origin.error("move-unused", message).hint(hint));
        }
    }
    for visit in due {
        // what was made on another day than anything here says was moved by an edit that is gone
        if let Some(made) = pinned(visit).filter(|made| !is_night_of(*made, visit.day)) {
            visit.day = if is_night_of(made, visit.named) { visit.named } else { made.date() };
        }
    }
}

/// Whether a visit that began then belongs to a day: a route runs on past midnight.
fn is_night_of(begun: DateTime, day: Date) -> bool {
    begun.date() == day || (begun.hour() < 12 && day.tomorrow().is_ok_and(|next| begun.date() == next))
}
