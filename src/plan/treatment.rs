//! One treatment, worked out: dose, strength, strip, solution, loads, times.

use jiff::ToSpan;
use jiff::civil::DateTime;

use super::clock::{clock, whole_minute};
use super::strength;
use super::{
    AreaPlan, Caution, DirectionFacts, HazardSource, LoadPlan, Need, ProductFacts, Severity, SprayerFacts, StripPlan,
    TreatmentPlan, equipment, hazards,
};
use crate::calc::{self, CalcError, Ratio, coverage, loads, strip};
use crate::catalog::{Method, Product, Sprayer};
use crate::job::{Area, Treatment};
use crate::quantity::{Film, Flow, Number, Printer, Strength, System, Time, Volume};
use crate::report::{Diagnostic, Report};
use crate::yaml::Origin;

/// When a treatment begins, and its place in the job.
pub(super) struct Start<'a> {
    /// From 1.
    pub number: usize,
    /// When its first load is begun.
    pub at: DateTime,
    /// How long one load takes to mix and read.
    pub mixing: &'a Time,
}

/// Works a treatment out, with the cautions it calls for.
pub(super) fn work_out(
    written: &Treatment,
    job_areas: &[Area],
    start: &Start<'_>,
    units: System,
    report: &mut Report,
) -> Option<(TreatmentPlan, Vec<Caution>)> {
    let (product, directions, sprayer) = (&written.product, &written.directions, &written.sprayer);
    let areas: Vec<&Area> = written.areas.iter().filter_map(|i| job_areas.get(*i)).collect();
    let ratio = told(
        strength::ratio(product, &directions.dilution),
        &directions.origin.key("dilution"),
        report,
    )?;
    let (film, flow) = lay(written, report)?;

    let solutions: Vec<Volume> = areas.iter().map(|a| coverage::solution_for(&a.size, &film)).collect();
    let wanted: Volume = solutions.iter().sum();
    let reserve = wanted.times(written.reserve.as_of_one());
    let hose = sprayer.hose.times(&Number::int(i64::from(written.sprayers)));
    let mixed = told(
        share_out(written, &ratio, &(&wanted + &reserve), &hose),
        &sprayer.origin,
        report,
    )?;

    let at_label = told(strength::measured(product, &ratio), &product.origin, report)?;
    let weakest = mixed
        .iter()
        .map(|l| &l.strength_factor)
        .min()
        .cloned()
        .unwrap_or_else(Number::one);
    let strongest = mixed
        .iter()
        .map(|l| &l.strength_factor)
        .max()
        .cloned()
        .unwrap_or_else(Number::one);
    let strength = told(
        strength::plan(product, directions, &ratio, &at_label, &weakest, &strongest),
        &product.origin,
        report,
    )?;
    let strip = match &product.strip {
        Some(scale) => {
            let read = strip::expectation(&scale.blocks, &strength.mixed, &at_label, strip::Limits::default());
            let read = told(read, &product.origin.key("strip"), report)?;
            Some(StripPlan {
                name: scale.name.clone(),
                blocks: scale.blocks.clone(),
                passes: read.passes,
                passes_between: read.passes_between,
                off_scale: read.off_scale.is_some(),
                dip: scale.dip.clone(),
                wait: scale.wait.clone(),
            })
        }
        None => None,
    };

    let sprayable: Vec<Volume> = sprayable(&mixed, &sprayer.hose, written.sprayers);
    let (load_times, area_times) = clock(
        start.at,
        &sprayable,
        &solutions,
        start.mixing,
        &directions.contact_time,
        &flow,
        written.sprayers,
    );
    let spraying_of = |volume: &Volume, side_by_side: u32| coverage::spraying_time(volume, &flow, side_by_side);
    let mut load_plans = Vec::new();
    for (i, (load, times)) in mixed.iter().zip(&load_times).enumerate() {
        load_plans.push(LoadPlan {
            number: i + 1,
            sprayer: (i as u32 % written.sprayers) + 1,
            water: load.water.clone(),
            product: load.product.clone(),
            solution: load.solution.clone(),
            strength: at_label.times(&load.strength_factor),
            spraying: told(spraying_of(&sprayable[i], 1), &sprayer.origin, report)?,
            mixed_at: times.mixed,
            empty_at: times.empty,
        });
    }
    let mut area_plans = Vec::new();
    for ((area, solution), times) in areas.iter().zip(&solutions).zip(area_times) {
        area_plans.push(AreaPlan {
            name: area.name.clone(),
            parts: area.parts.clone(),
            size: area.size.clone(),
            spraying: told(spraying_of(solution, written.sprayers), &sprayer.origin, report)?,
            solution: solution.clone(),
            times,
        });
    }
    let wet_until = area_plans.iter().map(|a| a.times.wet_until).max().unwrap_or(start.at);
    let done = area_plans.iter().map(|a| a.times.done).max().unwrap_or(start.at);
    let first_mixed = load_plans.first().map_or(start.at, |l| l.mixed_at);
    let reentry = wet_until.max(after(done, directions.reentry.as_ref()));
    let total_product = mixed
        .iter()
        .try_fold(calc::Amount::None, |sum, load| sum.plus(&load.product));
    let plan = TreatmentPlan {
        number: start.number,
        product: product_facts(product),
        directions: DirectionFacts {
            key: directions.key.clone(),
            title: directions.title.clone(),
            dilution: directions.dilution.clone(),
            contact_time: directions.contact_time.clone(),
            surface: directions.surface,
            rinse: directions.rinse.clone(),
            reentry: directions.reentry.clone(),
        },
        sprayer: sprayer_facts(&written.sprayer_key, sprayer, &flow, written.sprayers),
        strip,
        film,
        need: Need {
            total: &(&wanted + &reserve) + &hose,
            mixed: mixed.iter().map(|l| &l.solution).sum(),
            // All loads of a treatment are mixed from one product and so measured one way.
            product: total_product.unwrap_or(calc::Amount::None),
            areas: wanted.clone(),
            reserve,
            reserve_share: written.reserve.clone(),
            hose,
        },
        size: areas.iter().map(|a| &a.size).sum(),
        begins: start.at,
        spraying: told(spraying_of(&wanted, written.sprayers), &sprayer.origin, report)?,
        refills: mixed.len().div_ceil(written.sprayers as usize).saturating_sub(1),
        wet_until,
        reentry,
        discard_after: product.keeps.as_ref().map(|keeps| after(first_mixed, Some(keeps))),
        hazards: hazards::shown(&product.sds, ratio.is_ready_to_use()),
        equipment: equipment::worn(&product.sds, sprayer.method),
        stock: written.stock.clone(),
        loads: load_plans,
        areas: area_plans,
        ratio,
        strength,
    };
    let cautions = cautions(written, &plan, Printer::new(units));
    Some((plan, cautions))
}

impl TreatmentPlan {
    /// When people may come back to a surface of it that was wetted last at `done`: never before the contact time is
    /// over, nor before the label's interval.
    pub fn reentry_after(&self, done: DateTime) -> DateTime {
        let contact = after(done, Some(&self.directions.contact_time));
        contact.max(after(done, self.directions.reentry.as_ref()))
    }
}

fn after(moment: DateTime, time: Option<&Time>) -> DateTime {
    let seconds = time.map_or(0, |t| t.as_seconds().ceil_to(&Number::one()).to_i64().unwrap_or(0));
    moment.checked_add(seconds.seconds()).unwrap_or(moment)
}

/// A calculation's result, or its refusal told at the place whose value it is about.
fn told<T>(result: Result<T, CalcError>, origin: &Origin, report: &mut Report) -> Option<T> {
    match result {
        Ok(value) => Some(value),
        Err(refusal) => {
            report.push(explain(&refusal, origin));
            None
        }
    }
}

fn explain(refusal: &CalcError, origin: &Origin) -> Diagnostic {
    let problem = origin.error("cannot-work-out", refusal.to_string());
    match refusal {
        CalcError::MissingDensity => {
            problem.hint("add the product's density, such as `density: 0.99 kg/L`, from its safety data sheet")
        }
        CalcError::MissingActiveDensity => {
            problem.hint("add `density` to the ingredient: ethanol 0.789 kg/L, propan-2-ol 0.785 kg/L")
        }
        CalcError::MissingContent => {
            problem.hint("give every active's `content` in the same way, or `available_chlorine`")
        }
        CalcError::TankTooSmall => {
            problem.hint("check `tank` against `graduations.water`: one graduation with its product must fit")
        }
        CalcError::TooManyLoads { .. } => problem.hint("check the sizes of the areas, the coverage and the tank"),
        _ => problem,
    }
}

/// What is laid on a surface, and one sprayer's flow.
fn lay(written: &Treatment, report: &mut Report) -> Option<(Film, Flow)> {
    let (directions, sprayer) = (&written.directions, &written.sprayer);
    let film = match (&directions.coverage, &sprayer.flow, &sprayer.pace) {
        (Some(film), ..) => film.clone(),
        (None, Some(flow), Some(pace)) => told(
            coverage::film_from_pace(flow, &pace.speed, &pace.swath),
            &sprayer.origin.key("pace"),
            report,
        )?,
        _ => {
            let hint = "add the label's `coverage: 200 ft2/gal` to the directions, or `flow` and `pace` to the sprayer";
            let message = "how much solution a surface takes is not known: the directions give no coverage";
            report.push(directions.origin.error("no-coverage", message).hint(hint));
            return None;
        }
    };
    let flow = match (&sprayer.flow, &sprayer.pace) {
        (Some(flow), _) => flow.clone(),
        (None, Some(pace)) => {
            let per_second = pace.speed.as_metres_per_second() * pace.swath.as_metres();
            Flow::millilitres_per_minute(per_second * Number::int(60) * film.as_millilitres_per_square_metre())
        }
        // A sprayer with neither is refused when the company file is read.
        (None, None) => return None,
    };
    if film.is_zero() || flow.is_zero() {
        report.push(
            directions
                .origin
                .error("no-coverage", "a coverage of nought wets nothing"),
        );
        return None;
    }
    Some((film, flow))
}

fn share_out(
    written: &Treatment,
    ratio: &Ratio,
    solution: &Volume,
    hose: &Volume,
) -> Result<Vec<loads::Load>, CalcError> {
    let marks = &written.sprayer.graduations;
    let graduations = loads::Graduations {
        water: marks.water.clone(),
        liquid: Some(marks.product.clone()),
        powder: Some(marks.powder.clone()),
    };
    let need = loads::Need {
        solution: solution.clone(),
        kept_in_hose: hose.clone(),
        tank: written.sprayer.tank.clone(),
        ratio,
        graduations: &graduations,
    };
    let sharing = if written.equal_loads {
        loads::Sharing::EqualLoads
    } else {
        loads::Sharing::FullTanksThenRest
    };
    loads::loads(&need, sharing)
}

/// What each load lays on surfaces: all of it, but for what the hose keeps of each sprayer's first.
fn sprayable(loads: &[loads::Load], hose: &Volume, sprayers: u32) -> Vec<Volume> {
    let left = |i: usize, load: &loads::Load| {
        if i < sprayers as usize && load.solution > *hose {
            &load.solution - hose
        } else {
            load.solution.clone()
        }
    };
    loads.iter().enumerate().map(|(i, load)| left(i, load)).collect()
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

fn clock_text(moment: DateTime) -> String {
    let moment = whole_minute(moment);
    format!("{:02}:{:02}", moment.hour(), moment.minute())
}

fn cautions(written: &Treatment, plan: &TreatmentPlan, units: Printer) -> Vec<Caution> {
    let mut all = Vec::new();
    let mut add = |severity, code: &'static str, facts: &[(&'static str, String)]| {
        let caution = Caution::new(severity, code, Some(plan.number));
        all.push(facts.iter().fold(caution, |c, (name, fact)| c.with(name, fact.clone())));
    };
    let strength_text = |s: &Strength| units.strength(s).main;
    if plan.sprayer.method.is_airborne() {
        add(Severity::Danger, "respirator", &[]);
    }
    if !plan.product.never_with.is_empty() {
        add(
            Severity::Danger,
            "never-with",
            &[("others", plan.product.never_with.join(", "))],
        );
    }
    if let Some(stated) = &plan.strength.stated {
        let apart = stated.as_milligrams_per_litre() - plan.strength.label.as_milligrams_per_litre();
        let apart = apart.abs() / stated.as_milligrams_per_litre() * Number::int(100);
        if apart > Number::int(10) {
            let facts = [
                ("stated", strength_text(stated)),
                ("computed", strength_text(&plan.strength.label)),
                ("percent", format!("{} %", apart.decimal(0))),
            ];
            add(Severity::Caution, "strength-differs", &facts);
        }
    }
    match &plan.strip {
        None => add(
            Severity::Caution,
            "strip-missing",
            &[("product", plan.product.name.clone())],
        ),
        Some(strip) if strip.off_scale => {
            add(
                Severity::Caution,
                "strip-off-scale",
                &[("strength", strength_text(&plan.strength.mixed))],
            );
        }
        Some(strip) => {
            let upper = strip.passes.last().and_then(|i| strip.blocks.get(*i));
            if upper.is_some_and(|upper| plan.strength.strongest > *upper) {
                add(
                    Severity::Caution,
                    "strip-fails-rounding",
                    &[("strength", strength_text(&plan.strength.strongest))],
                );
            }
        }
    }
    if plan.directions.reentry.is_none() {
        add(
            Severity::Caution,
            "reentry-unknown",
            &[("reentry", clock_text(plan.reentry))],
        );
    }
    if plan.sprayer.method != Method::Dip {
        let start = plan.areas.iter().map(|a| a.times.start).min().unwrap_or(plan.begins);
        add(
            Severity::Caution,
            "slip",
            &[("start", clock_text(start)), ("until", clock_text(plan.wet_until))],
        );
    }
    if plan.hazards.source == HazardSource::Concentrate {
        add(Severity::Note, "concentrate-hazards", &[]);
    }
    if let Some(rinse) = &plan.directions.rinse
        && plan.directions.surface == crate::catalog::Surface::FoodContact
    {
        add(Severity::Danger, "rinse", &[("rinse", rinse.clone())]);
    }
    if let (Some(wanted), Some(flow), Some(pace)) = (
        &written.directions.coverage,
        &written.sprayer.flow,
        &written.sprayer.pace,
    ) {
        let laid = coverage::film_from_pace(flow, &pace.speed, &pace.swath);
        if let Ok(laid) = laid
            && laid < *wanted
        {
            let facts = [
                ("laid", units.coverage(&laid).main),
                ("wanted", units.coverage(wanted).main),
            ];
            add(Severity::Caution, "pace-too-fast", &facts);
        }
    }
    if written.directions.coverage.is_none() {
        add(
            Severity::Note,
            "no-coverage",
            &[("film", units.coverage(&plan.film).main)],
        );
    }
    all
}
