//! Whatever applies the solution: its tank, its flow, what can be read off it.

use serde::Serialize;

use super::Method;
use crate::quantity::{Film, Flow, Length, Mass, Number, Pressure, Speed, Volume, parse};
use crate::report::Report;
use crate::yaml::{Node, Origin};

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
    "stock",
];

impl Sprayer {
    pub(super) fn read(node: &Node<'_>, report: &mut Report) -> Option<Sprayer> {
        let fields = node.fields(KEYS, report)?;
        let name = fields.need_text("name", report);
        let method = fields
            .need("method", report)
            .and_then(|n| n.choice(report, Method::WORDS));
        let tank = fields.need("tank", report).and_then(|n| {
            let tank = n.parse(report, parse::volume)?;
            if tank.is_zero() {
                report.push(n.error("tank-of-zero", "a tank that holds nothing cannot be filled"));
                return None;
            }
            Some(tank)
        });
        let flow = fields.get("flow").and_then(|n| {
            let flow = n.parse(report, parse::flow)?;
            if flow.is_zero() {
                report.push(n.error("flow-of-zero", "a flow of nought never empties the tank"));
                return None;
            }
            Some(flow)
        });
        let pace = fields.get("pace").and_then(|n| read_pace(&n, report));
        if fields.get("flow").is_none() && fields.get("pace").is_none() {
            let hint = "catch what it puts out in one minute: `flow: 8 fl oz/min`; \
                        or say how it is moved: `pace: { speed: 60 ft/min, swath: 2 ft }`";
            report.push(
                node.error("no-flow", "without `flow` or `pace` the time cannot be worked out")
                    .hint(hint),
            );
        }
        let hose = fields
            .get("hose")
            .and_then(|n| n.parse(report, parse::volume))
            .unwrap_or_else(Volume::zero);
        let leaves = fields.get("leaves").and_then(|n| n.parse(report, parse::film));
        let droplet = fields.get("droplet").and_then(|n| n.parse(report, parse::length));
        let pressure = fields.get("pressure").and_then(|n| n.parse(report, parse::pressure));
        let graduations = match fields.get("graduations") {
            Some(n) => read_graduations(&n, report),
            None => Some(Graduations::usual()),
        };
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
    fn usual() -> Graduations {
        let fluid_ounce = Number::parse("29.5735295625").unwrap_or_else(Number::one);
        Graduations {
            water: Volume::millilitres(&fluid_ounce * &Number::int(32)),
            product: Volume::millilitres(&fluid_ounce * &Number::ratio(1, 2)),
            powder: Mass::grams(Number::one()),
        }
    }
}

fn read_graduations(node: &Node<'_>, report: &mut Report) -> Option<Graduations> {
    let fields = node.fields(&["water", "product", "powder"], report)?;
    let usual = Graduations::usual();
    let mut volume = |key: &str, usual: Volume| match fields.get(key) {
        Some(n) => n.parse(report, parse::volume).filter(|v| {
            let marks = !v.is_zero();
            if !marks {
                report.push(n.error("graduation-of-zero", "a graduation of nought cannot be read"));
            }
            marks
        }),
        None => Some(usual),
    };
    let water = volume("water", usual.water);
    let product = volume("product", usual.product);
    let powder = match fields.get("powder") {
        Some(n) => n.parse(report, parse::mass).filter(|m| !m.is_zero()),
        None => Some(usual.powder),
    };
    Some(Graduations {
        water: water?,
        product: product?,
        powder: powder?,
    })
}

fn read_pace(node: &Node<'_>, report: &mut Report) -> Option<Pace> {
    let fields = node.fields(&["speed", "swath"], report)?;
    let speed = fields.need("speed", report).and_then(|n| n.parse(report, parse::speed));
    let swath = fields
        .need("swath", report)
        .and_then(|n| n.parse(report, parse::length));
    let (speed, swath) = (speed?, swath?);
    if speed.is_zero() || swath.is_zero() {
        report.push(node.error("pace-of-zero", "a speed or swath of nought covers nothing"));
        return None;
    }
    Some(Pace { speed, swath })
}
