//! The loads of a treatment on the clock: shared out, and cut so that none is sprayed after it must be thrown away; and what
//! to do where a measure cannot give the dose.

use jiff::civil::DateTime;

use super::clock::{AreaTimes, Laying, LoadTimes, Pace, after, clock};
use super::dose::{DosePlan, DoseTop, mixing_vessel};
use super::make::reported;
use crate::calc::loads::{Advice, Bounds, FinerMarks, Graduations, Load, Need, Sharing, advice, finer_marks, loads};
use crate::calc::{Amount, CalcError, Ratio};
use crate::company::Vessel;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::job::{Job, Treatment};
use crate::quantity::{Flow, Number, Printer, System, Volume, parse};

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
    pub flow: &'a Flow,
    pub layings: &'a [Laying],
    pub begins: DateTime,
}

/// A load, what of it is laid on surfaces, and its times.
pub(super) struct MixedLoad {
    pub load: Load,
    pub lays: Volume,
    pub times: LoadTimes,
}

pub(super) struct Mixed {
    pub loads: Vec<MixedLoad>,
    pub area_times: Vec<AreaTimes>,
    /// Whether loads are smaller than the vessel so that each is empty while its solution keeps.
    pub cut_for_keeps: bool,
    pub finer_marks: Option<FinerMarks>,
}

/// How often smaller loads are tried.
const TRIES: usize = 12;

impl Mixing<'_> {
    /// Loads as large as the vessel allows; smaller ones where the solution would not keep until the last of it is sprayed.
    pub fn mix(&self, report: &mut Diagnostics) -> Option<Mixed> {
        let mut mixed = self.with_tank(&mixing_vessel(self.written).holds, report)?;
        let Some((mut share, load)) = self.outlived(&mixed) else {
            return Some(mixed);
        };
        for _ in 0..TRIES {
            // The time a load is in use grows with its size: a little less than in proportion.
            let largest = mixed.loads.iter().map(|mixed| &mixed.load.solution).max()?;
            let smaller = largest.times(&(share * Number::ratio(19, 20)));
            // Loads so small that the measure cannot give their dose are no way out.
            let Some(cut) = self.with_tank(&smaller, &mut Diagnostics::new()) else {
                break;
            };
            mixed = cut;
            match self.outlived(&mixed) {
                Some((next, _)) => share = next,
                None => return Some(Mixed { cut_for_keeps: true, finer_marks: None, ..mixed }),
            }
        }
        self.cannot_keep(load, report);
        None
    }

    /// Loads none of which is larger than `tank`.
    fn with_tank(&self, tank: &Volume, report: &mut Diagnostics) -> Option<Mixed> {
        let (loads, finer_marks) = self.share_out(tank, report)?;
        let count = at_once(self.written);
        // What is poured into bottles feeds all sprayers at once.
        let (flow, hose) = if self.written.pour.is_some() {
            let sprayers = Number::int(i64::from(self.written.sprayers));
            (Flow::millilitres_per_minute(self.flow.as_millilitres_per_minute() * &sprayers), &self.hose)
        } else {
            (self.flow.clone(), &self.written.sprayer.hose)
        };
        let lays = laid(&loads, hose, count, &self.wanted);
        let pace = Pace { mixing: &self.job.visit.mixing, flow: &flow, count };
        let (times, area_times) = clock(self.begins, &lays, self.layings, &pace);
        let loads = loads.into_iter().zip(lays).zip(times);
        let loads = loads.map(|((load, lays), times)| MixedLoad { load, lays, times }).collect();
        Some(Mixed { loads, area_times, cut_for_keeps: false, finer_marks })
    }

    /// The loads, and the measure that would make fewer of them where the marks are coarse.
    fn share_out(&self, tank: &Volume, report: &mut Diagnostics) -> Option<(Vec<Load>, Option<FinerMarks>)> {
        let vessel = mixing_vessel(self.written);
        let graduations = Graduations {
            water: vessel.water_mark(),
            liquid: Some(vessel.product_mark()),
            powder: Some(vessel.graduations.powder.clone()),
        };
        let bounds = Bounds { least: self.dose.least.clone(), most: self.dose.most.clone() };
        let need = Need {
            solution: self.wanted.clone(),
            kept_in_hose: self.hose.clone(),
            tank: tank.clone(),
            ratio: self.ratio,
            graduations: &graduations,
            bounds: &bounds,
        };
        let sharing = if self.written.equal_loads { Sharing::EqualLoads } else { Sharing::FullTanksThenRest };
        let shared = loads(&need, sharing);
        if let Err(CalcError::DoseOffMarks) = shared
            && let Some(advice) = advice(&need)
        {
            return report.fail(self.not_measurable(&vessel, &advice));
        }
        if let Err(CalcError::TankTooSmall) = shared {
            let units = Printer::new(self.job.company.units);
            let (holds, mark) = (units.water(&vessel.holds).main, units.water(&graduations.water).main);
            let message = format!(
                "`{}` holds {holds}: one mark of water, {mark}, with its product does not fit into it",
                vessel.name
            );
            let hint = "say what can be read off it, such as `graduations: { water: 0.5 fl oz, product: 0.5 mL }`";
            let problem = vessel.origin.key("graduations").error("tank-under-mark", message).hint(hint);
            return report.fail(taken_marks(problem, &vessel, &units));
        }
        let shared = reported(shared, &vessel.origin, report)?;
        let finer = finer_marks(&need, sharing, &shared);
        Some((shared, finer))
    }

    /// The load that is in use longest past the time its solution keeps: the share of that time it may be in use, and its
    /// number. `None` where every load is empty in time, or nothing is said of how long the solution keeps.
    fn outlived(&self, mixed: &Mixed) -> Option<(Number, usize)> {
        let keeps = self.written.product.keeps.as_ref()?;
        let times = mixed.loads.iter().enumerate().map(|(i, mixed)| (i + 1, &mixed.times));
        let late = times.filter(|(_, times)| times.empty > after(times.mixed, Some(keeps)));
        let in_use =
            late.map(|(load, times)| ((times.empty - times.mixed).total(jiff::Unit::Second).unwrap_or(f64::MAX), load));
        let (seconds, load) = in_use.max_by(|a, b| a.0.total_cmp(&b.0))?;
        Some((keeps.as_seconds() / &Number::from_f64(seconds)?, load))
    }

    fn cannot_keep(&self, load: usize, report: &mut Diagnostics) {
        let units = Printer::new(self.job.company.units);
        let keeps = self.written.product.keeps.as_ref();
        let keeps = keeps.map_or_else(String::new, |keeps| format!("it keeps {}; ", units.time(keeps).main));
        let message = format!(
            "load {load} of treatment {} would still be sprayed after its use solution must be thrown away",
            self.number
        );
        let problem = self.written.at("sprayer").error("load-outlives-keeps", message);
        report.push(problem.hint(format!("{keeps}use a faster sprayer, more of them, or a smaller tank")));
    }

    /// The error of a dose that no fill of the vessel gives: how far off the nearest is, and what would do.
    fn not_measurable(&self, vessel: &Vessel, advice: &Advice) -> Diagnostic {
        let units = Printer::new(self.job.company.units);
        let nearest = &advice.nearest;
        let product = amount(&nearest.product, &units);
        let message = format!(
            "no load of treatment {} in `{}` can be measured to the label's dose: the nearest, {product} in {} of \
             water, is {} times the label's; at most {} times may be mixed",
            self.number,
            vessel.name,
            units.water(&nearest.water).main,
            nearest.strength_factor.decimal(2),
            self.dose.most.decimal(2),
        );
        let key = if self.written.pour.is_some() { "mixed_in" } else { "sprayer" };
        let mut problem = self.written.at(key).error("dose-not-measurable", message);
        if let Some(brimming) = &advice.brimming {
            let with_room = with_room(&brimming.solution, self.job.company.units);
            let water = units.water(&brimming.water).main;
            let key = ["tank", "holds"].into_iter().find(|key| vessel.origin.has(key));
            let write = key.map_or_else(|| format!("--container '{with_room}'"), |key| format!("{key}: {with_room}"));
            problem = problem.hint(format!(
                "{water} of water and {} of product are more than the {} that it holds; if it takes {water} of water and has \
                 space above, write `{write}`",
                amount(&brimming.product, &units),
                units.water(&vessel.holds).main,
            ));
        }
        if let Some((measure, load)) = &advice.measure {
            let (key, step) = match measure {
                Amount::Powder(mass) => ("powder", Printer::new(System::Si).mass(mass).main),
                Amount::Liquid(volume) => ("product", units.measured_product(volume).main),
                _ => ("product", String::new()),
            };
            let water = units.water(&load.water).main;
            problem = problem.hint(format!(
                "a measure with marks of {step} would do, for loads of up to {water} of water: `graduations: {{ {key}: {step} }}`"
            ));
        }
        if let Some(vessel) = advice.vessel.as_ref().filter(|_| advice.brimming.is_none()) {
            let least = units.water(vessel).main;
            problem = problem.hint(format!("a larger vessel would do: mix {least} and pour it (`mixed_in`)"));
        }
        if advice.measure.is_none() && advice.vessel.is_none() {
            problem = problem.hint("neither a finer measure nor a larger vessel would do: check the label's dilution");
        }
        problem = taken_marks(problem, vessel, &units);
        if self.dose.set_by == DoseTop::Residue {
            problem = problem.hint("40 CFR 180.940 leaves no more room above the label's dose without a rinse");
        }
        problem
    }
}

fn amount(amount: &Amount, units: &Printer) -> String {
    match amount {
        Amount::Liquid(volume) => units.measured_product(volume).main,
        Amount::Powder(mass) => units.mass(mass).main,
        Amount::Tablets(count) if *count == Number::one() => "1 tablet".to_owned(),
        Amount::Tablets(count) => format!("{} tablets", units.count(count).main),
        Amount::None => String::new(),
    }
}

/// The size to write of a vessel that takes so much, a little larger.
fn with_room(solution: &Volume, system: System) -> String {
    let one = |unit: &str| parse::volume(&format!("1 {unit}")).unwrap_or_else(|_| Volume::zero());
    let (large, small) = if system == System::Us { ("gal", "fl oz") } else { ("L", "mL") };
    let (unit, step, places) = match *solution >= one(large) {
        true => (large, Number::ratio(1, 10), 1),
        false if system == System::Us => (small, Number::one(), 0),
        false => (small, Number::int(10), 0),
    };
    format!("{} {unit}", solution.over(&one(unit)).ceil_to(&step).decimal(places))
}

/// The marks that were taken because the file gives none, with their key.
fn taken_marks(problem: Diagnostic, vessel: &Vessel, units: &Printer) -> Diagnostic {
    let marks = &vessel.graduations;
    let water = marks.water.is_none().then(|| format!("{} of water", units.water(&vessel.water_mark()).main));
    let product =
        marks.product.is_none().then(|| format!("{} of product", units.measured_product(&vessel.product_mark()).main));
    let taken: Vec<String> = water.into_iter().chain(product).collect();
    if taken.is_empty() {
        return problem;
    }
    problem.hint(format!("`graduations` does not give its marks, so these are taken: {}", taken.join(" and ")))
}

/// What each load lays on surfaces: all of it, but for what the hose keeps of each sprayer's first, and no more than is
/// `wanted` in all: a load may hold more, since it is mixed to the marks.
fn laid(loads: &[Load], hose: &Volume, sprayers: u32, wanted: &Volume) -> Vec<Volume> {
    let mut left = wanted.clone();
    let mut lays = |(i, load): (usize, &Load)| {
        let first = i < sprayers as usize && load.solution > *hose;
        let lays = if first { &load.solution - hose } else { load.solution.clone() }.min(left.clone());
        left = &left - &lays;
        lays
    };
    loads.iter().enumerate().map(&mut lays).collect()
}

/// How many loads are sprayed at once: one for each sprayer, but one mix that is poured into bottles feeds all of them.
pub(super) fn at_once(written: &Treatment) -> u32 {
    if written.pour.is_some() { 1 } else { written.sprayers }
}

/// How many containers a load fills: each of them carries a label.
pub(super) fn containers(written: &Treatment, solution: &Volume) -> usize {
    let Some(pour) = &written.pour else { return 1 };
    // No load holds more than a million bottles.
    let count = solution.over(&pour.into.holds).ceil_to(&Number::one()).to_i64();
    count.and_then(|count| usize::try_from(count).ok()).unwrap_or(1)
}
