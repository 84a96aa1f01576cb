//! Whatever applies the solution, and what it is mixed in and poured into: what each holds, and what can be read off it.

use crate::diagnostic::Diagnostics;
use crate::quantity::{Film, Flow, Length, Mass, Number, Pressure, Share, Speed, Volume, parse, range};
use crate::yaml::{Fields, Node, Origin, keys, some_of, text};

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
    /// The smallest steps that water and product are measured in. What stands for a mark that is not given is finer than most, so
    /// that a file that says nothing never asks for less product than the label.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Graduations {
        /// Marks of the tank: where the file does not say 1 qt, and 1 fl oz if it holds less than 1 gal. Example: `1 gal`
        water: Volume = some_of(&range::WATER_MARK, "graduation-of-zero", UNREADABLE), optional;
        /// Marks of the measuring cup, for a liquid product: where the file does not say 0.5 fl oz, and 0.5 mL for what holds less
        /// than 1 gal. Example: `1 fl oz`
        product: Volume = some_of(&range::PRODUCT_MARK, "graduation-of-zero", UNREADABLE), optional;
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

impl Sprayer {
    /// A vessel as what applies its own solution; flow and pace are such that [`Sprayer::usual_film`] is laid.
    pub(crate) fn of_vessel(vessel: &Vessel, method: Method) -> Sprayer {
        Sprayer {
            name: vessel.name.clone(),
            method,
            tank: vessel.holds.clone(),
            flow: Some(Flow::millilitres_per_minute(Number::int(60_000))),
            pace: Some(Pace { speed: Speed::metres_per_second(Number::int(20)), swath: Length::metres(Number::one()) }),
            hose: Volume::zero(),
            leaves: None,
            droplet: None,
            pressure: None,
            graduations: vessel.graduations.clone(),
            measure_error: vessel.measure_error.clone(),
            stock: vessel.stock.clone(),
            origin: vessel.origin.clone(),
        }
    }

    /// 50 mL/m2, for a container of which nobody says what is done with it.
    pub(crate) fn usual_film() -> Film {
        Film::millilitres_per_square_metre(Number::int(50))
    }
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

    /// A vessel of which only the size is known.
    pub(crate) fn of_volume(name: String, holds: Volume, origin: Origin) -> Vessel {
        let (graduations, measure_error) = (Graduations::usual(), usual_error());
        Vessel { name, holds, graduations, measure_error, stock: None, origin }
    }

    /// A vessel of which not even the size is known: its marks are so fine that its mix has the label's dose.
    pub(crate) fn of_any_size(holds: Volume, origin: Origin) -> Vessel {
        let mark = |part: i64| holds.times(&Number::ratio(1, part));
        let powder = Mass::grams(Number::ratio(1, 100));
        let graduations = Graduations { water: Some(mark(10_000)), product: Some(mark(1_000_000)), powder };
        Vessel { graduations, ..Vessel::of_volume(String::new(), holds, origin) }
    }

    /// Its marks of water; a bottle is filled from a measuring cup.
    pub fn water_mark(&self) -> Volume {
        let usual = if self.is_bottle() { fluid_ounces(1, 1) } else { fluid_ounces(32, 1) };
        self.graduations.water.clone().unwrap_or(usual)
    }

    /// The marks of the measure that a liquid product for it is measured with.
    pub fn product_mark(&self) -> Volume {
        let usual = if self.is_bottle() { Volume::millilitres(Number::ratio(1, 2)) } else { fluid_ounces(1, 2) };
        self.graduations.product.clone().unwrap_or(usual)
    }

    /// Whether it holds less than a gallon.
    fn is_bottle(&self) -> bool {
        self.holds < fluid_ounces(128, 1)
    }
}

impl Graduations {
    fn usual() -> Graduations {
        Graduations { water: None, product: None, powder: Mass::grams(Number::one()) }
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
