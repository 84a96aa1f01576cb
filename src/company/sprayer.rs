//! Whatever applies the solution, and what it is mixed in and poured into: what each holds, and what can be read off it.

use crate::diagnostic::Diagnostics;
use crate::quantity::{Film, Flow, Length, Mass, Number, Pressure, Share, Speed, Volume, parse, range};
use crate::yaml::{Fields, Node, keys, some_of, text};

use super::Method;

keys! {
    /// A device that applies solution; a bottle, and a mop with its bucket, are sprayers too.
    #[derive(Clone, Debug)]
    pub struct Sprayer {
        /// Its name, as the crew calls it. Example: `Backpack mister`
        name: String, required;
        /// How it applies.
        method: Method, required;
        /// What its tank, bottle or bucket holds. Example: `2 gal`
        tank: Volume = some_of(&range::TANK, "tank-of-zero", "a tank that holds nothing cannot be filled"), required;
        /// What it puts out in a minute. Without it the sprayer needs `pace`; where directions have no `coverage` it needs both.
        /// Example: `8 fl oz/min`
        flow: Flow = some_of(&range::FLOW, "flow-of-zero", "a flow of zero never empties the tank"), optional;
        /// How fast it is moved and how wide it reaches. Example: `{ speed: 60 ft/min, swath: 2 ft }`
        pace: Pace, optional;
        /// What stays in hose and pump and never reaches a surface. Example: `6 fl oz`
        hose: Volume = &range::HOSE, or(Volume::zero(), "0 mL");
        /// What stays on a surface, where that is less than what is put on it: a cloth takes most of it up again. 5 mL/m2 for
        /// `wipe` where the file does not say. Example: `5 mL/m2`
        leaves: Film = &range::LEFT, optional;
        /// The median diameter of its droplets, by volume. Under 100 um the spray counts as mist whatever its method, and the
        /// directions must name mist, fog or electrostatic spray; an electrostatic sprayer has 40 um or more. Example: `60 um`
        droplet: Length = &range::DROPLET, optional;
        /// Its working pressure. Example: `40 psi`
        pressure: Pressure = &range::PRESSURE, optional;
        /// What can be read off the tank and the measure.
        graduations: Graduations, or(Graduations::usual(), "those of each key");
        /// How far a measure may be off, as a share of what it gives: above 0, at most 10 %.
        measure_error: Share = text("a share (%)", read_measure_error), or(usual_error(), "5 %");
        /// The label stock that its containers carry, by its key. Example: `roll-4x6`
        stock: String, optional;
    }
    + origin => needs_flow_or_pace
}

keys! {
    /// Walking speed and swath.
    #[derive(Clone, Debug)]
    pub struct Pace {
        /// How fast it moves along. Example: `60 ft/min`
        speed: Speed = some_of(&range::PACE, "pace-of-zero", STANDS_STILL), required;
        /// How wide a strip it covers. Example: `2 ft`
        swath: Length = some_of(&range::SWATH, "pace-of-zero", STANDS_STILL), required;
    }
}

const STANDS_STILL: &str = "a speed or swath of zero covers nothing";

keys! {
    /// The smallest steps that water and product are measured in. The defaults are finer than most, so that a file that says
    /// nothing never asks for less product than the label.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Graduations {
        /// Marks of the tank. Example: `1 gal`
        water: Volume = some_of(&range::WATER_MARK, "graduation-of-zero", UNREADABLE), or(fluid_ounces(32, 1), "1 qt");
        /// Marks of the measuring cup, for a liquid product. Example: `1 fl oz`
        product: Volume = some_of(&range::PRODUCT_MARK, "graduation-of-zero", UNREADABLE), or(fluid_ounces(1, 2), "0.5 fl oz");
        /// Steps of the scale, for a powder. Example: `0.1 g`
        powder: Mass = some_of(&range::POWDER_MARK, "graduation-of-zero", UNREADABLE), or(Mass::grams(Number::one()), "1 g");
    }
}

const UNREADABLE: &str = "a graduation of zero cannot be read";

keys! {
    /// A pail, a drum, a bottle: it holds solution and applies none.
    #[derive(Clone, Debug)]
    pub struct Vessel {
        /// Its name, as the crew calls it. Example: `Mixing pail`
        name: String, required;
        /// What it holds when it is full. Example: `5 gal`
        holds: Volume = &range::TANK, required;
        /// What can be read off it and off the measure.
        graduations: Graduations, or(Graduations::usual(), "those of each key");
        /// How far a measure may be off, as a share of what it gives: above 0, at most 10 %.
        measure_error: Share = text("a share (%)", read_measure_error), or(usual_error(), "5 %");
        /// The label stock that it carries, by its key. Example: `roll-2x3`
        stock: String, optional;
    }
    + origin
}

impl Vessel {
    /// The tank of a sprayer, or a bottle with a trigger, as a vessel.
    pub fn of_sprayer(sprayer: &Sprayer) -> Vessel {
        Vessel {
            name: sprayer.name.clone(),
            holds: sprayer.tank.clone(),
            graduations: sprayer.graduations.clone(),
            measure_error: sprayer.measure_error.clone(),
            stock: sprayer.stock.clone(),
            origin: sprayer.origin.clone(),
        }
    }
}

impl Graduations {
    fn usual() -> Graduations {
        Graduations { water: fluid_ounces(32, 1), product: fluid_ounces(1, 2), powder: Mass::grams(Number::one()) }
    }
}

fn fluid_ounces(count: i64, of: i64) -> Volume {
    let fluid_ounce = Number::parse("29.5735295625").unwrap_or_else(Number::one);
    Volume::millilitres(&fluid_ounce * &Number::ratio(count, of))
}

fn needs_flow_or_pace(fields: &Fields<'_>, report: &mut Diagnostics) {
    if fields.get("flow").is_none() && fields.get("pace").is_none() {
        let hint = "catch what it puts out in one minute: `flow: 8 fl oz/min`; \
                    or say how it is moved: `pace: { speed: 60 ft/min, swath: 2 ft }`";
        let problem = fields.node().error("no-flow", "without `flow` or `pace` the time cannot be worked out");
        report.push(problem.hint(hint));
    }
}

/// The error of household measures is 5 % of the marked capacity (American standard on home measuring utensils, read on a
/// terminology page). No rule gives one for sprayers; above 10 % a measure is not fit for this work.
fn usual_error() -> Share {
    Share::percent(Number::int(5))
}

fn read_measure_error(node: &Node<'_>, report: &mut Diagnostics) -> Option<Share> {
    let share = node.parse(report, parse::share)?;
    if !share.as_of_one().is_positive() || *share.as_of_one() > Number::ratio(1, 10) {
        let hint = "give what its maker states, such as `measure_error: 5 %`; with a worse measure, use another";
        return report.fail(node.error("out-of-range", "a measure's error is above 0 and at most 10 %").hint(hint));
    }
    Some(share)
}
