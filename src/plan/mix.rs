//! The loads of a treatment on the clock: shared out, and cut so that none is sprayed after it must be thrown away.

use jiff::civil::DateTime;

use super::clock::{AreaTimes, Laying, LoadTimes, Pace, after, clock};
use super::dose::{DosePlan, mixing_vessel, not_measurable, share_out};
use super::lay::sprayable;
use super::told::told;
use crate::calc::Ratio;
use crate::calc::loads::Load;
use crate::job::{Job, Treatment};
use crate::quantity::{Flow, Number, Printer, Volume};
use crate::report::Report;

/// What the loads of a treatment are worked out from.
pub(super) struct Mixing<'a> {
    pub written: &'a Treatment,
    pub job: &'a Job,
    /// The treatment's place in the job, from 1.
    pub number: usize,
    pub ratio: &'a Ratio,
    pub dose: &'a DosePlan,
    /// Solution for the areas, with the reserve.
    pub wanted: Volume,
    /// What stays in all hoses.
    pub hose: Volume,
    /// One sprayer's flow.
    pub flow: &'a Flow,
    pub layings: &'a [Laying],
    pub begins: DateTime,
}

/// Loads and their times.
pub(super) struct Mixed {
    pub loads: Vec<Load>,
    /// What each lays on surfaces.
    pub sprayable: Vec<Volume>,
    pub load_times: Vec<LoadTimes>,
    pub area_times: Vec<AreaTimes>,
    /// Whether loads are smaller than the vessel so that each is empty while its solution keeps.
    pub cut_for_keeps: bool,
}

/// How often smaller loads are tried.
const TRIES: usize = 12;

impl Mixing<'_> {
    /// Loads as large as the vessel allows; smaller ones where the solution would not keep until the last of it is sprayed.
    pub fn mix(&self, report: &mut Report) -> Option<Mixed> {
        let vessel = mixing_vessel(self.written);
        let mut mixed = self.with_tank(&vessel.holds, report)?;
        let Some((mut share, load)) = self.outlived(&mixed) else {
            return Some(mixed);
        };
        for _ in 0..TRIES {
            // The time a load is in use grows with its size: a little less than in proportion.
            let largest = mixed.loads.iter().map(|load| &load.solution).max()?;
            let smaller = largest.times(&(share * Number::ratio(19, 20)));
            // Loads so small that the measure cannot give their dose are no way out.
            let Some(cut) = self.with_tank(&smaller, &mut Report::new()) else {
                break;
            };
            mixed = cut;
            match self.outlived(&mixed) {
                Some((next, _)) => share = next,
                None => {
                    mixed.cut_for_keeps = true;
                    return Some(mixed);
                }
            }
        }
        self.cannot_keep(load, report);
        None
    }

    fn with_tank(&self, tank: &Volume, report: &mut Report) -> Option<Mixed> {
        let written = self.written;
        let shared = share_out(written, self.ratio, self.dose, tank, &self.wanted, &self.hose);
        let loads = match shared {
            Ok(loads) => loads,
            Err((_, Some(advice))) => {
                report.push(not_measurable(written, self.job, self.number, self.dose, &advice));
                return None;
            }
            Err((refusal, None)) => return told(Err(refusal), mixing_vessel(written).origin(), report),
        };
        // One mix that is poured into bottles feeds all sprayers at once; else each has a load of its own.
        let sprayers = Number::int(i64::from(written.sprayers));
        let (flow, count, hose) = if written.pour.is_some() {
            let flow = self.flow.as_millilitres_per_minute() * &sprayers;
            (Flow::millilitres_per_minute(flow), 1, self.hose.clone())
        } else {
            (self.flow.clone(), written.sprayers, written.sprayer.hose.clone())
        };
        let sprayable = sprayable(&loads, &hose, count, &self.wanted);
        let pace = Pace { mixing: &self.job.visit.mixing, flow: &flow, count };
        let (load_times, area_times) = clock(self.begins, &sprayable, self.layings, &pace);
        Some(Mixed { loads, sprayable, load_times, area_times, cut_for_keeps: false })
    }

    /// The load that is in use longest past the time its solution keeps: the share of that time it may be in use, and its
    /// number. `None` where every load is empty in time, or nothing is said of how long the solution keeps.
    fn outlived(&self, mixed: &Mixed) -> Option<(Number, usize)> {
        let keeps = self.written.product.keeps.as_ref()?;
        let late = mixed.load_times.iter().enumerate();
        let late = late.filter(|(_, times)| times.empty > after(times.mixed, Some(keeps)));
        let in_use =
            late.map(|(i, times)| ((times.empty - times.mixed).total(jiff::Unit::Second).unwrap_or(f64::MAX), i + 1));
        let (seconds, load) = in_use.max_by(|a, b| a.0.total_cmp(&b.0))?;
        Some((keeps.as_seconds() / &Number::from_f64(seconds)?, load))
    }

    fn cannot_keep(&self, load: usize, report: &mut Report) {
        let keeps = self.written.product.keeps.as_ref();
        let keeps = keeps.map(|keeps| Printer::new(self.job.catalog.units).time(keeps).main);
        let message = format!(
            "load {load} of treatment {} would still be sprayed after its use solution must be thrown away",
            self.number
        );
        let problem = self.written.origin.key("sprayer").error("load-outlives-keeps", message);
        let keeps = keeps.map_or_else(String::new, |keeps| format!("it keeps {keeps}; "));
        report.push(problem.hint(format!("{keeps}use a faster sprayer, more of them, or a smaller tank")));
    }
}

/// How many containers a load fills: each of them carries a label.
pub(super) fn containers(written: &Treatment, solution: &Volume) -> usize {
    let Some(pour) = &written.pour else { return 1 };
    // No load holds more than a million bottles.
    let count = solution.over(&pour.into.holds).ceil_to(&Number::one()).to_i64();
    count.and_then(|count| usize::try_from(count).ok()).unwrap_or(1)
}

/// How often tanks are filled after the first time.
pub(super) fn refills(written: &Treatment, loads: usize) -> usize {
    let at_once = if written.pour.is_some() { 1 } else { written.sprayers as usize };
    loads.div_ceil(at_once).saturating_sub(1)
}
