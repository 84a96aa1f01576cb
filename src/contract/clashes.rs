//! What nobody must find out at night: one crew at two places at once, a visit that begins before the one before it ends, a site that
//! nobody goes to.

use std::collections::{BTreeMap, BTreeSet};

use jiff::ToSpan;
use jiff::civil::DateTime;

use super::Contract;
use super::dates::warning;
use super::routes::Stop;
use crate::diagnostic::Diagnostic;

/// A visit with its end: of the time that the contract gives it, or of its plan, whichever is later.
struct Busy<'a> {
    stop: &'a Stop,
    ends: DateTime,
}

impl Contract {
    /// Warnings, one for each pair of sites and each site. `lasts` gives the minutes that the plan of a job takes, for the first
    /// visits of each kind ([`Contract::check`]).
    pub fn clashes(&self, lasts: &BTreeMap<String, i64>) -> Vec<Diagnostic> {
        let mut of_variant = BTreeMap::new();
        for stop in &self.stops {
            if let Some(minutes) = lasts.get(&stop.number) {
                of_variant.entry(self.variant(stop)).or_insert(*minutes);
            }
        }
        let mut by_member: BTreeMap<String, Vec<Busy<'_>>> = BTreeMap::new();
        for stop in &self.stops {
            let planned = of_variant.get(&self.variant(stop)).copied().unwrap_or(0);
            let minutes = stop.takes.unwrap_or(0).max(planned);
            // a visit of which nothing is known still is somewhere
            let ends = stop.start.checked_add(minutes.max(1).minutes()).unwrap_or(stop.start);
            for member in self.crew_names(stop) {
                by_member.entry(member).or_default().push(Busy { stop, ends });
            }
        }
        // one warning for two sites, however often they meet and whoever goes
        let mut found: BTreeMap<(usize, usize), (Diagnostic, BTreeSet<DateTime>)> = BTreeMap::new();
        for (member, mut visits) in by_member {
            visits.sort_by_key(|busy| (busy.stop.start, &busy.stop.number));
            let mut longest: Option<Busy<'_>> = None;
            for busy in visits {
                if let Some(before) = longest.as_ref().filter(|before| busy.stop.start < before.ends) {
                    let meet = found.entry((before.stop.site, busy.stop.site));
                    meet.or_insert_with(|| (self.clash(&member, before, &busy), BTreeSet::new()))
                        .1
                        .insert(busy.stop.start);
                }
                if longest.as_ref().is_none_or(|before| before.ends < busy.ends) {
                    longest = Some(busy);
                }
            }
        }
        let often = |(problem, nights): (Diagnostic, BTreeSet<DateTime>)| match nights.len() {
            1 => problem,
            n => problem.hint(format!("the same {} times more", n - 1)),
        };
        found.into_values().map(often).chain(self.unvisited()).collect()
    }

    fn clash(&self, member: &str, before: &Busy<'_>, busy: &Busy<'_>) -> Diagnostic {
        let (first, second) = (&self.sites[before.stop.site], &self.sites[busy.stop.site]);
        let clock = |at: DateTime| at.strftime("%H:%M").to_string();
        let ends = format!("{}, {}", clock(before.ends), before.ends.date());
        let same_round =
            before.stop.route.is_some() && (before.stop.route, before.stop.day) == (busy.stop.route, busy.stop.day);
        if same_round {
            let message = format!(
                "the visit to `{}` at {} begins before the one to `{}` ends, at {ends}",
                second.key,
                clock(busy.stop.start),
                first.key
            );
            let hint =
                "let `takes` be longer: it is the work, until the last surface has been wet long enough, and the way";
            return warning(&second.tree, "begins-too-early", message).hint(hint);
        }
        let message = format!(
            "`{member}` is at two places at once: at `{}` until {ends}, and at `{}` from {}",
            first.key,
            second.key,
            clock(busy.stop.start)
        );
        warning(&second.tree, "crew-at-two-places", message).hint("change the times, or who goes")
    }

    /// Sites in no visit.
    fn unvisited(&self) -> impl Iterator<Item = Diagnostic> + '_ {
        let visited: BTreeSet<usize> = self.stops.iter().map(|stop| stop.site).collect();
        let sites = self.sites.iter().enumerate().filter(move |(at, _)| !visited.contains(at));
        sites.map(|(_, site)| {
            let problem = warning(&site.tree, "site-unvisited", format!("no visit is planned to `{}`", site.key));
            problem.hint("look at `visits`, and at the site's kind, route, `from` and `until`")
        })
    }
}
