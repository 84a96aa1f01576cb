//! Rounds: the visits that one van makes on one day, in their order.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::Contract;
use super::routes::Stop;

/// The visits of one van on one day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VanDay {
    /// A name plain enough for a folder, and different for each round of the contract: `2026-04-13-north`.
    pub name: String,
    /// The day.
    pub day: Date,
    /// Which van: the route's key; for visits on no route, the crew's keys or, without a crew, the site's.
    pub van: String,
    /// Numbers of its jobs, in the order of the visits.
    pub jobs: Vec<String>,
}

/// The longest name of a van that stands in a name of a round.
const LONGEST: usize = 40;

impl Contract {
    /// All rounds, by day and, within a day, in the order of the routes; what is on no route comes last.
    ///
    /// Visits on no route that the same crew makes are one round: the crew has one van. Where nobody is named, every visit
    /// is a round of its own, since a load-out that is too small is worse than one too many.
    pub fn van_days(&self) -> Vec<VanDay> {
        let mut order: Vec<(Date, String)> = Vec::new();
        let mut stops: BTreeMap<(Date, String), Vec<&Stop>> = BTreeMap::new();
        for stop in &self.stops {
            let key = (stop.day, self.van(stop));
            let of_van = stops.entry(key.clone()).or_default();
            if of_van.is_empty() {
                order.push(key);
            }
            of_van.push(stop);
        }
        let mut taken = BTreeSet::new();
        let rounds = order.into_iter().map(|key| {
            let mut visits = stops.remove(&key).unwrap_or_default();
            // a visit that was moved to a time of its own has no place in its route's order
            visits.sort_by_key(|stop| stop.start);
            let (day, van) = key;
            let jobs = visits.into_iter().map(|stop| stop.number.clone()).collect();
            VanDay { name: name(day, &van, &mut taken), day, van, jobs }
        });
        rounds.collect()
    }

    pub(super) fn van(&self, stop: &Stop) -> String {
        let site = &self.sites[stop.site];
        if let Some(route) = stop.route {
            return self.routes[route].key.clone();
        }
        let names = self.crew_names(stop);
        if names.is_empty() { site.key.clone() } else { names.join(" + ") }
    }
}

/// Folders differ in more than capitals, since some file systems take those for one.
fn name(day: Date, van: &str, taken: &mut BTreeSet<String>) -> String {
    let plain = |c: char| {
        if c.is_ascii_alphanumeric() || "-_".contains(c) { c } else { ' ' }
    };
    let van: String = van.chars().map(plain).take(LONGEST).collect();
    let van = van.split_whitespace().collect::<Vec<_>>().join("-");
    let first = format!("{day}-{}", if van.is_empty() { "van" } else { &van });
    let mut name = first.clone();
    let mut n = 1;
    while !taken.insert(name.to_ascii_lowercase()) {
        n += 1;
        name = format!("{first}-{n}");
    }
    name
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn names_are_plain_and_told_apart() {
        let mut taken = BTreeSet::new();
        let day = date(2026, 4, 13);
        assert_eq!(name(day, "north", &mut taken), "2026-04-13-north");
        assert_eq!(name(day, "North", &mut taken), "2026-04-13-North-2");
        assert_eq!(name(day, "okafor + lindqvist", &mut taken), "2026-04-13-okafor-lindqvist");
        assert_eq!(name(day, "../été/", &mut taken), "2026-04-13-t");
        assert_eq!(name(day, "…", &mut taken), "2026-04-13-van");
    }
}
