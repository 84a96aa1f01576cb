//! Air: when a mist has cleared, and how its droplets settle.

use jiff::civil::DateTime;
use serde::Serialize;

use super::clock::after;
use crate::calc::CalcError;
use crate::calc::droplet::settling_time;
use crate::calc::ventilation::clearing_time;
use crate::job::{Site, Treatment};
use crate::quantity::{Length, Number, Share, Time};

/// Air changes that clear a mist.
#[derive(Clone, Debug, Serialize)]
pub struct AirPlan {
    pub changes_per_hour: Number,
    /// 1 for perfect mixing to 10 for very poor.
    pub mixing_factor: Number,
    /// Whether nobody gave the mixing factor and the worst was taken.
    pub mixing_assumed: bool,
    pub cleared: Share,
    pub takes: Time,
    pub clear_at: DateTime,
}

/// How long a droplet takes to fall. Shown, never credited: see [`crate::calc::droplet`].
#[derive(Clone, Debug, Serialize)]
pub struct Settling {
    pub droplet: Length,
    pub height: Length,
    pub takes: Time,
}

/// Clearing of a mist that was sprayed until `sprayed`. `None` where nothing is misted indoors, or where the air changes
/// are not known.
pub(super) fn clearing(site: &Site, airborne_indoors: bool, sprayed: DateTime) -> Result<Option<AirPlan>, CalcError> {
    let Some(changes) = site.air.changes_per_hour.as_ref().filter(|_| airborne_indoors) else {
        return Ok(None);
    };
    // 99.9 % is the highest column of the published table; 10 its worst mixing. Both are the side that protects.
    let cleared = site.air.cleared.clone().unwrap_or_else(|| Share::percent(Number::ratio(999, 10)));
    let mixing = site.air.mixing_factor.clone().unwrap_or_else(|| Number::int(10));
    let takes = clearing_time(&cleared, changes, &mixing)?;
    Ok(Some(AirPlan {
        changes_per_hour: changes.clone(),
        mixing_assumed: site.air.mixing_factor.is_none(),
        mixing_factor: mixing,
        cleared,
        clear_at: after(sprayed, Some(&takes)),
        takes,
    }))
}

pub(super) fn settling(written: &Treatment) -> Result<Option<Settling>, CalcError> {
    let Some(droplet) = written.sprayer.droplet.as_ref().filter(|_| written.sprayer.airborne().is_some()) else {
        return Ok(None);
    };
    let height = Length::metres(Number::ratio(3, 2));
    Ok(Some(Settling { droplet: droplet.clone(), takes: settling_time(droplet, &height)?, height }))
}
