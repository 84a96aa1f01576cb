//! The site: where it is, and the air and water there.

use serde::Serialize;

use crate::calc::food_contact::FoodPlace;
use crate::quantity::{Number, Share, Speed, Strength, Temperature, parse, range};
use crate::report::Report;
use crate::yaml::Node;

/// The site.
#[derive(Clone, Debug, Serialize)]
pub struct Site {
    /// Name.
    pub name: String,
    /// Address.
    pub address: String,
    /// The air expected there.
    pub air: Air,
    /// The water and what is mixed with it.
    pub water: Water,
    /// What kind of place it is, where surfaces touch food. Unless the job says, a public eating place, for which 40 CFR
    /// 180.940 lists the fewest substances: the side that protects.
    pub food_place: FoodPlace,
}

/// Air.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Air {
    /// Its temperature.
    pub temperature: Option<Temperature>,
    /// Its relative humidity.
    pub humidity: Option<Share>,
    /// How fast it moves over surfaces.
    pub speed: Option<Speed>,
    /// Air changes an hour.
    pub changes_per_hour: Option<Number>,
    /// 1 for perfect mixing to 10 for very poor.
    pub mixing_factor: Option<Number>,
    /// How much of a mist is to be cleared before people come back.
    pub cleared: Option<Share>,
}

/// Water, and the solution as it is used.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Water {
    /// Temperature of the solution as it is used.
    pub temperature: Option<Temperature>,
    /// pH of the solution as it is used.
    pub ph: Option<Number>,
    /// Hardness of the water, as calcium carbonate.
    pub hardness: Option<Strength>,
}

impl Water {
    /// Whether anything of it is known.
    pub fn is_known(&self) -> bool {
        self.temperature.is_some() || self.ph.is_some() || self.hardness.is_some()
    }
}

const PLACES: &[(&str, FoodPlace)] = &[
    ("eating-place", FoodPlace::PublicEatingPlace),
    ("dairy", FoodPlace::Dairy),
    ("processing", FoodPlace::FoodProcessing),
];

impl Site {
    pub(super) fn read(node: &Node<'_>, report: &mut Report) -> Option<Site> {
        let fields = node.fields(&["name", "address", "air", "air_spaces", "water", "food_place"], report)?;
        let (name, address) = (fields.need_text("name", report), fields.need_text("address", report));
        let air = fields.get("air").and_then(|n| read_air(&n, report)).unwrap_or_default();
        let water = fields.get("water").and_then(|n| read_water(&n, report)).unwrap_or_default();
        let food_place = match fields.get("food_place") {
            Some(n) => n.choice(report, PLACES),
            None => Some(FoodPlace::PublicEatingPlace),
        };
        Some(Site { name: name?, address: address?, air, water, food_place: food_place? })
    }
}

fn read_air(node: &Node<'_>, report: &mut Report) -> Option<Air> {
    let keys = &["temperature", "humidity", "speed", "changes_per_hour", "mixing_factor", "cleared"];
    let fields = node.fields(keys, report)?;
    let temperature = fields.get("temperature").and_then(|n| {
        let read = n.parse(report, parse::temperature)?;
        within(&n, read.as_celsius(), 0, 60, "air from 0 to 60 °C (32 to 140 °F)", report).then_some(read)
    });
    let speed = fields.get("speed").and_then(|n| {
        let read = n.parse(report, parse::speed)?;
        within(&n, read.as_metres_per_second(), 0, 10, "an air speed up to 10 m/s", report).then_some(read)
    });
    let changes_per_hour = fields.get("changes_per_hour").and_then(|n| {
        let read = n.parse(report, parse::number)?;
        if read.is_zero() {
            let hint = "leave the key out where the air does not change, or where nobody knows";
            report.push(n.error("out-of-range", "no air change never clears a room").hint(hint));
            return None;
        }
        within(&n, &read, 0, 200, "air changes up to 200 an hour", report).then_some(read)
    });
    let mixing_factor = fields.get("mixing_factor").and_then(|n| {
        let read = n.parse(report, parse::number)?;
        within(&n, &read, 1, 10, "a factor from 1 (perfect mixing) to 10 (very poor)", report).then_some(read)
    });
    let cleared = fields.get("cleared").and_then(|n| {
        let read = n.parse(report, parse::share)?;
        // 90 % is the lowest column of the published table of air changes (MMWR 43(RR-13), 1994, Table S3-1). Below it
        // nothing is published that would call a room cleared.
        if read.as_of_one() < &Number::ratio(9, 10) || read.as_of_one() >= &Number::one() {
            let message = "the share cleared lies from 90 % to below 100 %";
            let hint = "the published table has 90, 99 and 99.9 % (MMWR 43(RR-13), 1994, Table S3-1); \
                        without the key 99.9 % is taken";
            report.push(n.error("out-of-range", message).hint(hint));
            return None;
        }
        Some(read)
    });
    Some(Air {
        temperature,
        humidity: fields.get("humidity").and_then(|n| n.parse(report, parse::share)),
        speed,
        changes_per_hour,
        mixing_factor,
        cleared,
    })
}

fn read_water(node: &Node<'_>, report: &mut Report) -> Option<Water> {
    let fields = node.fields(&["temperature", "ph", "hardness"], report)?;
    let temperature = fields.get("temperature").and_then(|n| {
        let read = n.parse(report, parse::temperature)?;
        within(&n, read.as_celsius(), 0, 100, "water from 0 to 100 °C (32 to 212 °F)", report).then_some(read)
    });
    let ph = fields.get("ph").and_then(|n| {
        let read = n.parse(report, parse::number)?;
        within(&n, &read, 0, 14, "a pH from 0 to 14", report).then_some(read)
    });
    Some(Water { temperature, ph, hardness: fields.get("hardness").and_then(|n| n.within(report, &range::HARDNESS)) })
}

fn within(node: &Node<'_>, value: &Number, least: i64, most: i64, wanted: &str, report: &mut Report) -> bool {
    let inside = *value >= least && *value <= most;
    if !inside {
        report.push(node.error("out-of-range", format!("{wanted} is wanted here")));
    }
    inside
}
