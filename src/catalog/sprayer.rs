//! Whatever applies the solution: its tank, its flow, what can be read off it.

use serde::Serialize;

use super::Method;
use crate::quantity::range::{self, Range};
use crate::quantity::{Film, Flow, Length, Mass, Number, Pressure, Readable, Share, Speed, Volume, parse};
use crate::report::Report;
use crate::yaml::{Fields, Node, Origin};

/// A device that applies solution; a bottle, and a mop with its bucket, are sprayers too.
#[derive(Clone, Debug, Serialize)]
pub struct Sprayer {
    /// Name.
    pub name: String,
    /// How it applies.
    pub method: Method,
    /// What the tank, bottle or bucket holds.
    pub tank: Volume,
    /// What it puts out.
    pub flow: Option<Flow>,
    /// How fast it is moved and how wide it reaches.
    pub pace: Option<Pace>,
    /// What stays in hose and pump and never reaches a surface.
    pub hose: Volume,
    /// What stays on a surface, where that is less than what is laid: a cloth takes most of it up again.
    pub leaves: Option<Film>,
    /// Median diameter of its droplets, by volume.
    pub droplet: Option<Length>,
    /// Working pressure.
    pub pressure: Option<Pressure>,
    /// What can be read off the tank and the measure.
    pub graduations: Graduations,
    /// How far a measure may be off, as a share of what it gives.
    pub measure_error: Share,
    /// The label stock its containers carry, by key.
    pub stock: Option<String>,
    #[serde(skip)]
    pub(crate) origin: Origin,
}

/// The smallest steps that water and product are measured in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Graduations {
    /// Marks of the tank.
    pub water: Volume,
    /// Marks of the measuring cup, for a liquid product.
    pub product: Volume,
    /// Steps of the scale, for a powder.
    pub powder: Mass,
}

/// Walking speed and swath.
#[derive(Clone, Debug, Serialize)]
pub struct Pace {
    /// How fast it moves along.
    pub speed: Speed,
    /// How wide a strip it covers.
    pub swath: Length,
}

const KEYS: &[&str] = &[
    "name",
    "method",
    "tank",
    "flow",
    "pace",
    "hose",
    "leaves",
    "droplet",
    "pressure",
    "graduations",
    "measure_error",
    "stock",
];

impl Sprayer {
    pub(super) fn read(node: &Node<'_>, report: &mut Report) -> Option<Sprayer> {
        let fields = node.fields(KEYS, report)?;
        let name = fields.need_text("name", report);
        let method = fields.need("method", report).and_then(|n| n.choice(report, Method::WORDS));
        let tank = fields.need("tank", report).and_then(|n| {
            let none = ("tank-of-zero", "a tank that holds nothing cannot be filled");
            some_of(&n, &range::TANK, none, report)
        });
        let flow = fields.get("flow").and_then(|n| {
            let none = ("flow-of-zero", "a flow of zero never empties the tank");
            some_of(&n, &range::FLOW, none, report)
        });
        let pace = fields.get("pace").and_then(|n| read_pace(&n, report));
        if fields.get("flow").is_none() && fields.get("pace").is_none() {
            let hint = "catch what it puts out in one minute: `flow: 8 fl oz/min`; \
                        or say how it is moved: `pace: { speed: 60 ft/min, swath: 2 ft }`";
            report.push(node.error("no-flow", "without `flow` or `pace` the time cannot be worked out").hint(hint));
        }
        let hose = fields.get("hose").and_then(|n| n.within(report, &range::HOSE)).unwrap_or_else(Volume::zero);
        let leaves = fields.get("leaves").and_then(|n| n.within(report, &range::LEFT));
        let droplet = fields.get("droplet").and_then(|n| n.within(report, &range::DROPLET));
        let pressure = fields.get("pressure").and_then(|n| n.within(report, &range::PRESSURE));
        let graduations = match fields.get("graduations") {
            Some(n) => read_graduations(&n, report),
            None => Some(Graduations::usual()),
        };
        let measure_error = read_measure_error(&fields, report);
        let stock = fields.text("stock", report);
        Some(Sprayer {
            name: name?,
            method: method?,
            tank: tank?,
            flow,
            pace,
            hose,
            leaves,
            droplet,
            pressure,
            graduations: graduations?,
            measure_error: measure_error?,
            stock,
            origin: node.origin(),
        })
    }

    /// Where a key of it stands in the company file.
    pub fn origin(&self) -> &Origin {
        &self.origin
    }
}

impl Graduations {
    /// A quart mark on the tank, half a fluid ounce on the cup, a gram on the scale: finer than most, so that a file
    /// that says nothing never asks for less product than the label.
    pub(super) fn usual() -> Graduations {
        let fluid_ounce = Number::parse("29.5735295625").unwrap_or_else(Number::one);
        Graduations {
            water: Volume::millilitres(&fluid_ounce * &Number::int(32)),
            product: Volume::millilitres(&fluid_ounce * &Number::ratio(1, 2)),
            powder: Mass::grams(Number::one()),
        }
    }
}

pub(super) fn read_graduations(node: &Node<'_>, report: &mut Report) -> Option<Graduations> {
    let fields = node.fields(&["water", "product", "powder"], report)?;
    let usual = Graduations::usual();
    let none = ("graduation-of-zero", "a graduation of zero cannot be read");
    let mut volume = |key: &str, range: &Range<Volume>, usual: Volume| match fields.get(key) {
        Some(n) => some_of(&n, range, none, report),
        None => Some(usual),
    };
    let water = volume("water", &range::WATER_MARK, usual.water);
    let product = volume("product", &range::PRODUCT_MARK, usual.product);
    let powder = match fields.get("powder") {
        Some(n) => some_of(&n, &range::POWDER_MARK, none, report),
        None => Some(usual.powder),
    };
    Some(Graduations { water: water?, product: product?, powder: powder? })
}

/// The error of household measures is 5 % of the marked capacity (American standard on home measuring utensils, read on a
/// terminology page). No rule gives one for sprayers; above 10 % a measure is not fit for this work.
pub(super) fn read_measure_error(fields: &Fields<'_>, report: &mut Report) -> Option<Share> {
    let Some(node) = fields.get("measure_error") else {
        return Some(Share::percent(Number::int(5)));
    };
    let share = node.parse(report, parse::share)?;
    if !share.as_of_one().is_positive() || *share.as_of_one() > Number::ratio(1, 10) {
        let hint = "give what its maker states, such as `measure_error: 5 %`; with a worse measure, use another";
        report.push(node.error("out-of-range", "a measure's error is above 0 and at most 10 %").hint(hint));
        return None;
    }
    Some(share)
}

fn read_pace(node: &Node<'_>, report: &mut Report) -> Option<Pace> {
    let fields = node.fields(&["speed", "swath"], report)?;
    let speed =
        fields.need("speed", report).and_then(|n| some_of(&n, &range::PACE, ("pace-of-zero", STANDS_STILL), report));
    let swath =
        fields.need("swath", report).and_then(|n| some_of(&n, &range::SWATH, ("pace-of-zero", STANDS_STILL), report));
    Some(Pace { speed: speed?, swath: swath? })
}

const STANDS_STILL: &str = "a speed or swath of zero covers nothing";

/// A quantity within its range; none of it at all is refused in words of its own, as code and message.
fn some_of<K: Readable>(
    node: &Node<'_>,
    range: &Range<K>,
    (code, message): (&'static str, &str),
    report: &mut Report,
) -> Option<K> {
    if node.parse(report, K::read)?.figure().is_zero() {
        report.push(node.error(code, message));
        return None;
    }
    node.within(report, range)
}
