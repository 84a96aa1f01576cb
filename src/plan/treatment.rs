//! One treatment, worked out: dose, strength, strip, solution, wetness, loads, times, air, residue, hazards, equipment.

use jiff::civil::DateTime;

use super::clock::{AreaTimes, Laying, after};
use super::dose::{dose, lay, mixing_vessel};
use super::equipment::{Work, worn};
use super::hazards::{self, Undecided};
use super::loads::{Mixed, MixedLoad, Mixing, at_once, containers};
use super::make::reported;
use super::residue::{Solution, rinse};
use super::wetness::wetness;
use super::{
    AreaPlan, DirectionFacts, Hazards, LoadPlan, Need, ProductFacts, Reentry, SprayerFacts, TreatmentPlan, VesselFacts,
    Wetness, air, strength, strip,
};
use crate::calc::{Amount, Ratio, coverage};
use crate::company::{Method, Vessel};
use crate::diagnostic::Diagnostics;
use crate::job::{Area, Job, PartKind, Treatment};
use crate::quantity::{Flow, Number, Time, Volume};

pub(super) struct Start {
    /// From 1.
    pub number: usize,
    pub at: DateTime,
    /// Whether mist of an earlier treatment is still in its air.
    pub in_mist: bool,
}

pub(super) fn work_out(
    written: &Treatment,
    job: &Job,
    start: &Start,
    report: &mut Diagnostics,
) -> Option<TreatmentPlan> {
    let (product, directions, sprayer) = (&written.product, &written.directions, &written.sprayer);
    let areas: Vec<&Area> = written.areas.iter().filter_map(|i| job.areas.get(*i)).collect();
    let ratio = reported(strength::ratio(product, &directions.dilution), &directions.origin.key("dilution"), report)?;
    let (film, flow) = lay(written, job.company.units, report)?;
    let wet = wetness(written, &job.site, &film, &flow);
    let wetness = reported(wet, &directions.origin.key("contact_time"), report)?;

    let firsts: Vec<Volume> = areas.iter().map(|a| coverage::solution_for(&a.size, &film)).collect();
    let again = |a: &Area| wetness.as_ref().map_or_else(Volume::zero, |w| w.again(&a.size));
    let rewets: Vec<Volume> = areas.iter().map(|a| again(a)).collect();
    let (first, rewet): (Volume, Volume) = (firsts.iter().sum(), rewets.iter().sum());
    let laid = &first + &rewet;
    let reserve = laid.times(written.reserve.as_of_one());
    let hose = sprayer.hose.times(&Number::int(i64::from(written.sprayers)));
    let at_label = reported(strength::measured(product, &ratio), &product.origin, report)?;
    let solution = Solution { written, place: job.site.food_place, ratio: &ratio, at_label: &at_label };
    let dose = dose(&solution, report)?;
    let each = firsts.iter().zip(&rewets);
    let layings: Vec<Laying> =
        each.map(|(first, again)| laying(first, again, wetness.as_ref(), written, &flow)).collect();
    let mixing = Mixing {
        written,
        job,
        number: start.number,
        ratio: &ratio,
        dose: &dose,
        wanted: &laid + &reserve,
        hose: hose.clone(),
        flow: &flow,
        layings: &layings,
        begins: start.at,
    };
    let Mixed { loads: mixed, area_times, cut_for_keeps, finer_marks } = mixing.mix(report)?;

    let factors = || mixed.iter().map(|mixed| &mixed.load.strength_factor);
    let weakest = factors().min().cloned().unwrap_or_else(Number::one);
    let strongest = factors().max().cloned().unwrap_or_else(Number::one);
    let strength = strength::plan(product, directions, &ratio, &at_label, &weakest, &strongest);
    let strength = reported(strength, &product.origin, report)?;
    let residue = reported(solution.residue(&strongest), &product.origin, report)?;
    let rinse = rinse(written, residue.as_ref());
    let error = mixing_vessel(written).measure_error;
    let (bounds, strip) = strip::expected(&solution, &strongest, rinse.as_ref(), error.as_of_one(), report)?;
    let hazards = decided(written, &ratio, &strongest, job, report)?;

    let mut spraying = |volume: &Volume, sprayers: u32| {
        reported(coverage::spraying_time(volume, &flow, sprayers), &sprayer.origin, report)
    };
    let at_once = at_once(written);
    let mut loads = Vec::new();
    for (i, MixedLoad { load, lays, times }) in mixed.iter().enumerate() {
        loads.push(LoadPlan {
            number: i + 1,
            sprayer: (i as u32 % at_once) + 1,
            containers: containers(written, &load.solution),
            factor: load.strength_factor.clone(),
            actives: strength.actives_at(&load.strength_factor),
            water: load.water.clone(),
            product: load.product.clone(),
            solution: load.solution.clone(),
            strength: at_label.times(&load.strength_factor),
            spraying: spraying(lays, written.sprayers / at_once)?,
            mixed_at: times.mixed,
            empty_at: times.empty,
            discard_after: product.keeps.as_ref().map(|keeps| after(times.mixed, Some(keeps))),
        });
    }
    let mut area_plans = Vec::new();
    for ((area, (first, laying)), times) in areas.iter().zip(firsts.iter().zip(&layings)).zip(area_times) {
        area_plans.push(AreaPlan {
            name: area.name.clone(),
            parts: area.parts.clone(),
            size: area.size.clone(),
            outdoors: area.outdoors,
            room: area.room.clone(),
            air_space: area.air_space,
            spraying: spraying(&laying.volume, written.sprayers)?,
            first: first.clone(),
            solution: laying.volume.clone(),
            times,
        });
    }
    let spraying = spraying(&laid, written.sprayers)?;
    let latest = |of: fn(&AreaTimes) -> DateTime| area_plans.iter().map(|a| of(&a.times)).max().unwrap_or(start.at);
    let (wet_until, done) = (latest(|times| times.wet_until), latest(|times| times.done));
    let sprayed = loads.iter().map(|load| load.empty_at).max().unwrap_or(done);
    let indoors = areas.iter().any(|a| !a.outdoors);
    let airborne = sprayer.airborne().is_some();
    let air = air::clearing(&job.site, airborne && indoors, sprayed.max(done));
    let air = reported(air, &job.source.root().origin().key("site").key("air"), report)?;
    let settling = reported(air::settling(written), &sprayer.origin.key("droplet"), report)?;
    let label = directions.reentry.as_ref().and_then(|reentry| reentry.after.as_ref());
    let cleared = air.as_ref().map_or(wet_until, |air| air.clear_at);
    let reentry =
        Reentry::at(wet_until.max(after(done, label)).max(sprayed).max(cleared), airborne, label, air.as_ref());
    let equipment = worn(&Work {
        sds: &product.sds,
        solution: &hazards.of_solution(),
        method: sprayer.method,
        airborne,
        in_mist: start.in_mist,
        indoors,
        ready_to_use: ratio.is_ready_to_use(),
    });
    let sprayer_vessel = || Vessel::of_sprayer(sprayer);
    // All loads of a treatment are mixed from one product and so measured one way.
    let product_in_all = loads.iter().try_fold(Amount::None, |sum, load| sum.plus(&load.product));
    Some(TreatmentPlan {
        number: start.number,
        beside: Vec::new(),
        product: ProductFacts {
            key: product.key.clone(),
            name: product.name.clone(),
            kind: product.kind,
            registration: product.registration.clone(),
            label_signal: product.label_signal,
            never_with: product.never_with.clone().unwrap_or_default(),
            sds_link: product.sds.link.clone(),
            keeps: product.keeps.clone(),
        },
        directions: DirectionFacts {
            key: directions.key.clone(),
            title: directions.title.clone(),
            dilution: directions.dilution.clone(),
            dilution_most: directions.dilution_most.clone(),
            contact_time: directions.contact_time.clone(),
            surface: directions.surface,
            reentry: label.cloned(),
            reentry_when_dry: directions.reentry.as_ref().is_some_and(|reentry| reentry.when_dry),
        },
        sprayer: SprayerFacts {
            key: written.sprayer_key.clone(),
            name: sprayer.name.clone(),
            method: sprayer.method,
            tank: sprayer.tank.clone(),
            flow: flow.clone(),
            count: written.sprayers,
            droplet: sprayer.droplet.clone(),
            pressure: sprayer.pressure.clone(),
        },
        mixed_in: written.pour.as_ref().map(|pour| VesselFacts::of(&pour.mixed_in)),
        filled: VesselFacts::of(&written.pour.as_ref().map_or_else(sprayer_vessel, |pour| pour.into.clone())),
        dose,
        cut_for_keeps,
        finer_marks,
        bounds,
        strip,
        film,
        need: Need {
            total: &(&laid + &reserve) + &hose,
            mixed: loads.iter().map(|l| &l.solution).sum(),
            product: product_in_all.unwrap_or(Amount::None),
            areas: first,
            rewet,
            laid,
            reserve,
            reserve_share: written.reserve.clone(),
            hose,
        },
        size: areas.iter().map(|a| &a.size).sum(),
        begins: start.at,
        spraying,
        refills: loads.len().div_ceil(at_once as usize).saturating_sub(1),
        wet_until,
        reentry,
        discard_after: loads.first().and_then(|l| l.discard_after),
        rinse,
        tank_rinsed: written.tank_rinsed,
        residue,
        floor_dry: floor_dry(written, &areas, wetness.as_ref(), done, wet_until),
        wetness,
        air,
        settling,
        hazards,
        equipment,
        stock: written.stock.clone(),
        loads,
        areas: area_plans,
        strength,
        ratio,
    })
}

impl VesselFacts {
    fn of(vessel: &Vessel) -> VesselFacts {
        VesselFacts { name: vessel.name.clone(), holds: vessel.holds.clone() }
    }
}

/// When floors have dried: after the last wetting, or after the rinse where there is one, by the long estimate. `None`
/// where no floor is wetted or nothing can be said.
fn floor_dry(
    written: &Treatment,
    areas: &[&Area],
    wetness: Option<&Wetness>,
    done: DateTime,
    wet_until: DateTime,
) -> Option<DateTime> {
    let dries = wetness?.floor_dries_after.as_ref()?;
    let on_floors = areas.iter().any(|a| a.parts.iter().any(|p| p.kind == PartKind::Floor));
    let runs_down = matches!(written.sprayer.method, Method::Mop | Method::Foam);
    let falls = written.sprayer.airborne().is_some() || runs_down;
    let from = if written.directions.rinse.is_some() { wet_until } else { done };
    (on_floors || falls).then(|| after(from, Some(dries)).max(wet_until))
}

/// The hazards a container shows; what keeps them from being decided is reported at the data sheet's place.
fn decided(
    written: &Treatment,
    ratio: &Ratio,
    strongest: &Number,
    job: &Job,
    report: &mut Diagnostics,
) -> Option<Hazards> {
    let origin = &written.product.origin;
    let problem = match hazards::hazards(written, ratio, strongest, job.company.regime) {
        Ok(hazards) => return Some(hazards),
        Err(Undecided::Mixture(refusal)) => origin.key("ingredients").error("cannot-classify", refusal.to_string()),
        Err(Undecided::Incomplete(lacking)) => {
            let message = "the calculation was chosen for the label and cannot be made with what the file holds";
            let problem = origin.key("sds").key("use_solution_hazards").error("calculation-incomplete", message);
            if lacking.is_empty() {
                problem.hint("needed: `hazards` of every ingredient, and the density or a tablet's weight")
            } else {
                lacking.iter().fold(problem, |problem, lack| problem.hint(format!("needed: {}", lack.wanted())))
            }
        }
    };
    report.fail(problem)
}

/// How an area is laid: all its applications, the waiting between them, and how long it stays wet after the last.
fn laying(first: &Volume, again: &Volume, wetness: Option<&Wetness>, written: &Treatment, flow: &Flow) -> Laying {
    let volume = first + again;
    let Some((wetness, every)) = wetness.and_then(|w| Some((w, w.every.as_ref()?.as_seconds()))) else {
        return Laying { volume, waiting: Time::zero(), wet_for: written.directions.contact_time.clone() };
    };
    let per_second = flow.as_millilitres_per_minute() * &Number::int(i64::from(written.sprayers)) / Number::int(60);
    let times = Number::int(i64::from(wetness.applications) - 1);
    let pass = first.as_millilitres() / &per_second;
    let again = again.as_millilitres() / &per_second;
    // Sections small enough to be wetted within one interval are done one after the other; in each the crew is there
    // until the last application is laid.
    let sections = (&pass / every).ceil_to(&Number::one());
    let there = sections * (&times * every) + &again / &times;
    let waiting = (there - (&pass + &again)).max(Number::zero());
    Laying {
        volume,
        waiting: Time::seconds(waiting),
        // The last section was begun up to one interval before its first application was done, and stays wet for one
        // interval after its last.
        wet_for: Time::seconds(every + every),
    }
}
