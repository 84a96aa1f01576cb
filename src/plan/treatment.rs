//! One treatment, worked out: dose, strength, strip, solution, wetness, loads, times, air, residue, hazards, equipment.

use jiff::civil::DateTime;

use super::clock::{Laying, after};
use super::dose::{self, mixing_vessel};
use super::equipment::Work;
use super::hazards::Undecided;
use super::lay::lay;
use super::mix::{Mixed, Mixing, containers, refills};
use super::told::told;
use super::{
    AreaPlan, DirectionFacts, Hazards, LoadPlan, Need, ProductFacts, SprayerFacts, TreatmentPlan, VesselFacts, Wetness,
    air, equipment, hazards, residue, strength, strip, wetness,
};
use crate::calc::{self, Ratio, coverage};
use crate::catalog::{Method, Product, Sprayer, Vessel};
use crate::job::{Area, Job, PartKind, Treatment};
use crate::quantity::{Flow, Number, Time, Volume};
use crate::report::Report;

/// When a treatment begins, and its place in the job.
pub(super) struct Start {
    /// From 1.
    pub number: usize,
    /// When its first load is begun.
    pub at: DateTime,
    /// Whether mist of an earlier treatment is still in its air.
    pub in_mist: bool,
}

/// Works a treatment out.
pub(super) fn work_out(written: &Treatment, job: &Job, start: &Start, report: &mut Report) -> Option<TreatmentPlan> {
    let (product, directions, sprayer) = (&written.product, &written.directions, &written.sprayer);
    let areas: Vec<&Area> = written.areas.iter().filter_map(|i| job.areas.get(*i)).collect();
    let ratio = told(strength::ratio(product, &directions.dilution), &directions.origin.key("dilution"), report)?;
    let (film, flow) = lay(written, report)?;
    let wetness =
        told(wetness::wetness(written, &job.site, &film, &flow), &directions.origin.key("contact_time"), report)?;

    let firsts: Vec<Volume> = areas.iter().map(|a| coverage::solution_for(&a.size, &film)).collect();
    let again = |a: &Area| wetness.as_ref().map_or_else(Volume::zero, |w| w.again(&a.size));
    let rewets: Vec<Volume> = areas.iter().map(|a| again(a)).collect();
    let (first, rewet): (Volume, Volume) = (firsts.iter().sum(), rewets.iter().sum());
    let laid = &first + &rewet;
    let reserve = laid.times(written.reserve.as_of_one());
    let hose = sprayer.hose.times(&Number::int(i64::from(written.sprayers)));
    let at_label = told(strength::measured(product, &ratio), &product.origin, report)?;
    let dose = dose::dose(written, job, &ratio, &at_label, report)?;
    let layings: Vec<Laying> = firsts
        .iter()
        .zip(&rewets)
        .map(|(first, again)| laying(first, again, wetness.as_ref(), &directions.contact_time, &flow, written.sprayers))
        .collect();
    let work = Mixing {
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
    let Mixed { loads: mixed, sprayable, load_times, area_times, cut_for_keeps } = work.mix(report)?;

    let factors = || mixed.iter().map(|l| &l.strength_factor);
    let weakest = factors().min().cloned().unwrap_or_else(Number::one);
    let strongest = factors().max().cloned().unwrap_or_else(Number::one);
    let strength =
        told(strength::plan(product, directions, &ratio, &at_label, &weakest, &strongest), &product.origin, report)?;
    let residue =
        told(residue::residue(written, job.site.food_place, &ratio, &at_label, &strongest), &product.origin, report)?;
    let rinse = residue::rinse(written, residue.as_ref());
    let error = mixing_vessel(written).measure_error;
    let mix = strip::Mix {
        ratio: &ratio,
        at_label: &at_label,
        strongest: &strongest,
        place: job.site.food_place,
        rinse: rinse.as_ref(),
        error: error.as_of_one(),
    };
    let expected = strip::expected(written, &mix, report)?;
    let hazards = decided(written, &ratio, &strongest, job, report)?;

    let spraying_of = |volume: &Volume, side_by_side: u32| coverage::spraying_time(volume, &flow, side_by_side);
    let mut load_plans = Vec::new();
    let side_by_side = if written.pour.is_some() { written.sprayers } else { 1 };
    for (i, (load, times)) in mixed.iter().zip(&load_times).enumerate() {
        let at_once = if written.pour.is_some() { 1 } else { written.sprayers };
        load_plans.push(LoadPlan {
            number: i + 1,
            sprayer: (i as u32 % at_once) + 1,
            containers: containers(written, &load.solution),
            factor: load.strength_factor.clone(),
            actives: strength.actives_at(&load.strength_factor),
            water: load.water.clone(),
            product: load.product.clone(),
            solution: load.solution.clone(),
            strength: at_label.times(&load.strength_factor),
            spraying: told(spraying_of(&sprayable[i], side_by_side), &sprayer.origin, report)?,
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
            spraying: told(spraying_of(&laying.volume, written.sprayers), &sprayer.origin, report)?,
            first: first.clone(),
            solution: laying.volume.clone(),
            times,
        });
    }
    let wet_until = area_plans.iter().map(|a| a.times.wet_until).max().unwrap_or(start.at);
    let done = area_plans.iter().map(|a| a.times.done).max().unwrap_or(start.at);
    let sprayed = load_plans.iter().map(|l| l.empty_at).max().unwrap_or(done);
    let indoors = areas.iter().any(|a| !a.outdoors);
    let air = told(
        air::clearing(&job.site, sprayer.airborne().is_some() && indoors, sprayed.max(done)),
        &job.source.root().origin().key("site").key("air"),
        report,
    )?;
    let settling = told(air::settling(written), &sprayer.origin.key("droplet"), report)?;
    let reentry = wet_until
        .max(after(done, directions.reentry.as_ref()))
        .max(sprayed)
        .max(air.as_ref().map_or(wet_until, |air| air.clear_at));
    let floor_dry = floor_dry(written, &areas, wetness.as_ref(), done, wet_until);
    let solution: Vec<_> = {
        let computed = hazards.computed.as_ref().map(super::Computed::hazards).unwrap_or_default();
        hazards.classes.iter().copied().chain(computed).collect()
    };
    let equipment = equipment::worn(&Work {
        sds: &product.sds,
        solution: &solution,
        method: sprayer.method,
        airborne: sprayer.airborne().is_some(),
        in_mist: start.in_mist,
        indoors,
        ready_to_use: ratio.is_ready_to_use(),
    });
    let product_in_all = mixed.iter().try_fold(calc::Amount::None, |sum, load| sum.plus(&load.product));
    Some(TreatmentPlan {
        number: start.number,
        product: product_facts(product),
        directions: DirectionFacts {
            key: directions.key.clone(),
            title: directions.title.clone(),
            dilution: directions.dilution.clone(),
            dilution_most: directions.dilution_most.clone(),
            contact_time: directions.contact_time.clone(),
            surface: directions.surface,
            reentry: directions.reentry.clone(),
        },
        sprayer: sprayer_facts(&written.sprayer_key, sprayer, &flow, written.sprayers),
        mixed_in: written.pour.as_ref().map(|pour| vessel_facts(&pour.mixed_in)),
        filled: written
            .pour
            .as_ref()
            .map_or_else(|| vessel_facts(&Vessel::of_sprayer(sprayer)), |pour| vessel_facts(&pour.into)),
        dose,
        cut_for_keeps,
        bounds: expected.bounds,
        strip: expected.strip,
        film,
        need: Need {
            total: &(&laid + &reserve) + &hose,
            mixed: mixed.iter().map(|l| &l.solution).sum(),
            // All loads of a treatment are mixed from one product and so measured one way.
            product: product_in_all.unwrap_or(calc::Amount::None),
            areas: first,
            rewet,
            laid: laid.clone(),
            reserve,
            reserve_share: written.reserve.clone(),
            hose,
        },
        size: areas.iter().map(|a| &a.size).sum(),
        begins: start.at,
        spraying: told(spraying_of(&laid, written.sprayers), &sprayer.origin, report)?,
        refills: refills(written, mixed.len()),
        wet_until,
        reentry,
        discard_after: load_plans.first().and_then(|l| l.discard_after),
        rinse,
        tank_rinsed: written.tank_rinsed,
        residue,
        wetness,
        air,
        settling,
        floor_dry,
        hazards,
        equipment,
        stock: written.stock.clone(),
        loads: load_plans,
        areas: area_plans,
        ratio,
        strength,
    })
}

impl TreatmentPlan {
    /// When people may come back to a surface of it that was wetted last at `done`: never before the contact time is
    /// over, nor before the label's interval, nor before a mist has cleared.
    pub fn reentry_after(&self, done: DateTime) -> DateTime {
        let contact = after(done, Some(&self.directions.contact_time));
        let label = after(done, self.directions.reentry.as_ref());
        contact.max(label).max(after(done, self.air.as_ref().map(|air| &air.takes)))
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

/// The hazards a container shows, or why they cannot be decided, told at the data sheet's place.
fn decided(written: &Treatment, ratio: &Ratio, strongest: &Number, job: &Job, report: &mut Report) -> Option<Hazards> {
    let origin = &written.product.origin;
    match hazards::hazards(written, ratio, strongest, job.catalog.regime) {
        Ok(hazards) => Some(hazards),
        Err(Undecided::Mixture(refusal)) => {
            report.push(origin.key("ingredients").error("cannot-classify", refusal.to_string()));
            None
        }
        Err(Undecided::Incomplete(lacking)) => {
            let message = "the calculation was chosen for the label and cannot be made with what the file holds";
            let mut problem = origin.key("sds").key("use_solution_hazards").error("calculation-incomplete", message);
            for lack in &lacking {
                problem = problem.hint(format!("needed: {}", lack.told()));
            }
            if lacking.is_empty() {
                problem = problem.hint("needed: `hazards` of every ingredient, and the density or a tablet's weight");
            }
            report.push(problem);
            None
        }
    }
}

/// How an area is laid: all its applications, the waiting between them, and how long it stays wet after the last.
fn laying(
    first: &Volume,
    again: &Volume,
    wetness: Option<&Wetness>,
    contact: &Time,
    flow: &Flow,
    sprayers: u32,
) -> Laying {
    let Some((wetness, every)) = wetness.and_then(|w| Some((w, w.every.as_ref()?))) else {
        return Laying { volume: first + again, waiting: Time::zero(), wet_for: contact.clone() };
    };
    let per_second = flow.as_millilitres_per_minute() * &Number::int(i64::from(sprayers)) / Number::int(60);
    let pass = first.as_millilitres() / &per_second;
    let (spraying, last_pass) = {
        let times = Number::int(i64::from(wetness.applications) - 1);
        let again = again.as_millilitres() / &per_second;
        (&pass + &again, again / times)
    };
    // Sections small enough to be wetted within one interval are done one after the other; in each the crew is there
    // until the last application is laid.
    let every = every.as_seconds();
    let sections = (&pass / every).ceil_to(&Number::one());
    let intervals = Number::int(i64::from(wetness.applications) - 1) * every;
    let there = &(&sections * &intervals) + &last_pass;
    let waiting = (there - spraying).max(Number::zero());
    Laying {
        volume: first + again,
        waiting: Time::seconds(waiting),
        // The last section was begun up to one interval before its first application was done, and stays wet for one
        // interval after its last.
        wet_for: Time::seconds(every + every),
    }
}

fn product_facts(product: &Product) -> ProductFacts {
    ProductFacts {
        key: product.key.clone(),
        name: product.name.clone(),
        kind: product.kind,
        registration: product.registration.clone(),
        label_signal: product.label_signal,
        never_with: product.never_with.clone(),
        sds_link: product.sds.link.clone(),
        keeps: product.keeps.clone(),
    }
}

fn vessel_facts(vessel: &Vessel) -> VesselFacts {
    VesselFacts { name: vessel.name.clone(), holds: vessel.holds.clone() }
}

fn sprayer_facts(key: &str, sprayer: &Sprayer, flow: &Flow, count: u32) -> SprayerFacts {
    SprayerFacts {
        key: key.to_owned(),
        name: sprayer.name.clone(),
        method: sprayer.method,
        tank: sprayer.tank.clone(),
        flow: flow.clone(),
        count,
        droplet: sprayer.droplet.clone(),
        pressure: sprayer.pressure.clone(),
    }
}
