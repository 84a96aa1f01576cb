//! The site: where it is, and the air and water there.

use serde::Serialize;

use super::shared_air::{AirSpaces, read_spaces, spaces_shape};
use super::visit::{addresses_shape, read_addresses};
use crate::calc::food_contact::FoodPlace;
use crate::company::Address;
use crate::diagnostic::Diagnostics;
use crate::quantity::{Number, Share, Speed, Strength, Temperature, range};
use crate::yaml::{Declared, Node, bounded, custom, keys, words};

keys! {
    /// The site.
    #[derive(Clone, Debug, Serialize)]
    pub struct Site {
        /// Name. Example: `Gull Point Ferry Terminal`
        name: String, required;
        /// Address. Example: `1 Breakwater Road, Port Ansel`
        address: String, required;
        /// Person to speak to there; who that is stands on the mix sheet and the certificate. Example: `P. Ferrante`
        #[serde(skip)]
        contact: String, optional;
        /// E-mail addresses of the site itself, which get its certificates besides the client's. Example: `gull@port-ansel.example`
        #[serde(skip)]
        email: Vec<Address> = custom(read_addresses, addresses_shape), optional;
        /// Whom to call at the site; it stands on the mix sheet. Example: `555-0142`
        #[serde(skip)]
        phone: String, optional;
        /// The air expected there. `temperature` and `humidity` give the estimate of how long a film stays wet, `speed` makes it
        /// better; `changes_per_hour` gives the time in which a mist clears.
        /// Example: `{ temperature: 72 F, humidity: 45 %, changes_per_hour: 6 }`
        air: Air, or(Air::default(), "not known");
        /// Rooms that share air: each inner list is one air, and each indoor room stands in one. Without it all indoor areas are
        /// one air. Example: `[[Hall, Office], [Restrooms]]`
        #[serde(skip)]
        air_spaces: AirSpaces = custom(read_spaces, spaces_shape), optional;
        /// The water, and the solution as it is used: compared with the FDA Food Code where food touches.
        /// Example: `{ temperature: 75 F, ph: 7, hardness: 120 ppm }`
        water: Water, or(Water::default(), "not known");
        /// What kind of place it is, where surfaces touch food: which lists of 40 CFR 180.940 hold. A public eating place has the
        /// fewest substances: the side that protects.
        food_place: FoodPlace, or(FoodPlace::PublicEatingPlace, "eating-place");
    }
}

keys! {
    /// The air at the site.
    #[derive(Clone, Debug, Default, Serialize)]
    pub struct Air {
        /// Its temperature. Example: `72 F`
        temperature: Temperature =
            bounded::<Temperature>((0, 60), "air from 0 to 60 °C (32 to 140 °F)"), optional;
        /// Its relative humidity. Example: `45 %`
        humidity: Share, optional;
        /// How fast it moves over surfaces; 0.1 m/s is taken where nothing is said. Example: `0.2 m/s`
        speed: Speed = bounded::<Speed>((0, 10), "an air speed up to 10 m/s"), optional;
        /// Air changes an hour. Example: `6`
        changes_per_hour: Number = custom(read_changes, Number::shape), optional;
        /// How well the air of the room mixes; 10 is taken where nothing is said. Example: `3`
        mixing_factor: Number =
            bounded::<Number>((1, 10), "a factor from 1 (perfect mixing) to 10 (very poor)"), optional;
        /// How much of a mist is to be cleared before people come back: from 90 % to below 100 %; 99.9 % is taken where nothing
        /// is said. Example: `99 %`
        cleared: Share = custom(read_cleared, Share::shape), optional;
    }
}

keys! {
    /// Water, and the solution as it is used.
    #[derive(Clone, Debug, Default, Serialize)]
    pub struct Water {
        /// Temperature of the solution as it is used. Example: `75 F`
        temperature: Temperature =
            bounded::<Temperature>((0, 100), "water from 0 to 100 °C (32 to 212 °F)"), optional;
        /// pH of the solution as it is used. Example: `7`
        ph: Number = bounded::<Number>((0, 14), "a pH from 0 to 14"), optional;
        /// Hardness of the water, as calcium carbonate. Example: `120 ppm`
        hardness: Strength = &range::HARDNESS, optional;
    }
}

words! {
    for FoodPlace {
        /// public eating places: restaurants, bars, canteens
        PublicEatingPlace = "eating-place",
        /// dairy-processing equipment
        Dairy = "dairy",
        /// food-processing equipment and utensils
        FoodProcessing = "processing",
    }
}

impl Water {
    pub fn is_known(&self) -> bool {
        self.temperature.is_some() || self.ph.is_some() || self.hardness.is_some()
    }
}

fn read_changes(node: &Node<'_>, report: &mut Diagnostics) -> Option<Number> {
    let changes = Number::from_node(node, report)?;
    if changes.is_zero() {
        let hint = "leave the key out where the air does not change, or where nobody knows";
        return report.fail(node.error("out-of-range", "no air change never clears a room").hint(hint));
    }
    if changes > 200 {
        return report.fail(node.error("out-of-range", "air changes up to 200 an hour is wanted here"));
    }
    Some(changes)
}

/// 90 % is the lowest column of the published table of air changes (MMWR 43(RR-13), 1994, Table S3-1). Below it nothing is
/// published that would call a room cleared.
fn read_cleared(node: &Node<'_>, report: &mut Diagnostics) -> Option<Share> {
    let share = Share::from_node(node, report)?;
    if share.as_of_one() < &Number::ratio(9, 10) || share.as_of_one() >= &Number::one() {
        let hint = "the published table has 90, 99 and 99.9 % (MMWR 43(RR-13), 1994, Table S3-1); \
                    without the key 99.9 % is taken";
        let problem = node.error("out-of-range", "the share cleared lies from 90 % to below 100 %");
        return report.fail(problem.hint(hint));
    }
    Some(share)
}
