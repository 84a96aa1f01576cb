//! How long a film of solution stays wet, and how often to wet it again. Estimates, and to be called so wherever they
//! are shown: the rule stays "keep it visibly wet for the contact time".
//!
//! Water evaporates from the film as from a shallow pool, with its surface at the temperature of the air. A real film
//! cools itself and dries more slowly; the estimate errs to the side that protects, towards wetting again too soon.
//! Alcohol dries faster than water: no published correlation stands behind a figure for it, so the caller must not ask
//! for one. On porous or warm surfaces a film also dries sooner.
//!
//! A wiped film is some 5 mL/m² (a well-filled foam wiper leaves about 10 μm, cloth less: Cooper, PDA Journal of
//! Pharmaceutical Science and Technology 54, 2000) and dries in 1.5 to 2 minutes, so that 10 minutes of contact take 5
//! to 6 applications (Rutala, disinfectionandsterilization.org, FAQ). A mister can leave ten times as much, and its
//! film stays wet about ten times as long.

use serde::Serialize;

use super::error::{CalcError, positive};
use super::humid_air::{STANDARD_PRESSURE, humidity_ratio, latent_heat, saturation_pressure, wet_bulb};
use super::real::{whole_above, whole_below};
use crate::quantity::{Film, Number, Share, Speed, Temperature, Time};

/// More applications than anybody makes; a need beyond it means that wiping will not do.
pub const MOST_APPLICATIONS: u32 = 60;

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Air {
    /// From 0 to 60 °C.
    pub temperature: Temperature,
    /// Relative humidity, from 0 to 1.
    pub humidity: Share,
    /// Speed along the surface, up to 10 m/s; still air in a room is about 0.1 m/s.
    pub speed: Speed,
}

/// What re-wetting a contact time takes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Rewetting {
    /// Applications in all, the first one counted; 1 means that one film lasts.
    pub applications: u32,
    /// From one application to the next, evenly over the contact time and never longer than a film lasts. `None` for
    /// one application.
    pub every: Option<Time>,
}

/// Evaporation from a film by two published forms, kg of water from a square metre in an hour: [`carrier`], and `(25 + 19 v)
/// (x_s − x)` with humidity ratios in kg/kg, the form of engineering handbooks for open water.
fn evaporation(air: &Air) -> Result<[f64; 2], CalcError> {
    let humidity = air.humidity.as_of_one();
    if humidity.is_negative() || humidity > &Number::one() {
        return Err(CalcError::OutOfRange { what: "the relative humidity", range: "from 0 to 100 %" });
    }
    let speed = air.speed.as_metres_per_second();
    if speed.is_negative() || speed > &Number::int(10) {
        return Err(CalcError::OutOfRange { what: "the air speed", range: "from 0 to 10 m/s" });
    }
    let (celsius, speed) = (air.temperature.as_celsius().to_f64(), speed.to_f64());
    let at_surface = saturation_pressure(celsius)?;
    let in_air = humidity.to_f64() * at_surface;
    let lack = humidity_ratio(at_surface, STANDARD_PRESSURE) - humidity_ratio(in_air, STANDARD_PRESSURE);
    Ok([carrier(speed, at_surface - in_air, celsius), (25.0 + 19.0 * speed) * lack])
}

/// Estimated time until a film is dry: its water over the faster evaporation, which gives the shorter time, in whole seconds
/// rounded down. The film counts as water of 1 kg/L. `None` in saturated air, where it does not dry.
pub fn drying_time(film: &Film, air: &Air) -> Result<Option<Time>, CalcError> {
    let [carrier, handbook] = evaporation(air)?;
    time_to_dry(film, carrier.max(handbook), whole_below)
}

/// Seconds until a film is dry at a rate in kg/(m² h); beyond any real figure it is as good as never.
fn time_to_dry(film: &Film, rate: f64, rounded: fn(f64) -> Option<Number>) -> Result<Option<Time>, CalcError> {
    let film = positive(film.as_millilitres_per_square_metre(), "the film")?;
    Ok((rate > 0.0).then(|| rounded(film.to_f64() / 1000.0 / rate * 3600.0)).flatten().map(Time::seconds))
}

/// How many applications keep a surface wet for the contact time, and how far apart: `n = ⌈contact / drying⌉`, every
/// `contact / n`.
pub fn rewetting(contact: &Time, drying: Option<&Time>) -> Result<Rewetting, CalcError> {
    let seconds = positive(contact.as_seconds(), "the contact time")?;
    let too_many = CalcError::TooManyApplications { most: MOST_APPLICATIONS };
    let applications = match drying {
        None => Number::one(),
        Some(drying) if !drying.as_seconds().is_positive() => return Err(too_many),
        Some(drying) => (seconds / drying.as_seconds()).ceil_to(&Number::one()),
    };
    if applications > Number::int(i64::from(MOST_APPLICATIONS)) {
        return Err(too_many);
    }
    let every = (applications > 1).then(|| Time::seconds(seconds / &applications));
    // Between 1 and MOST_APPLICATIONS by the lines above.
    let applications = applications.to_i64().and_then(|count| u32::try_from(count).ok()).unwrap_or(1);
    Ok(Rewetting { applications, every })
}

/// Estimated time until a wet floor has dried, for the wet-floor sign: Carrier's equation with the surface at the
/// wet-bulb temperature, to which a film cools itself, in whole seconds rounded up. Here the long estimate protects: it
/// is about three times [`drying_time`], and the floor is still looked at before the sign goes. `None` in saturated
/// air.
pub fn floor_drying_time(film: &Film, air: &Air) -> Result<Option<Time>, CalcError> {
    time_to_dry(film, cooled_evaporation(air)?, whole_above)
}

/// Carrier's equation with the surface at the wet-bulb temperature, kg/(m² h).
fn cooled_evaporation(air: &Air) -> Result<f64, CalcError> {
    // Refuses air outside the ranges.
    evaporation(air)?;
    let (celsius, humidity) = (air.temperature.as_celsius().to_f64(), air.humidity.as_of_one().to_f64());
    let surface = wet_bulb(celsius, humidity)?;
    let lack = saturation_pressure(surface)? - humidity * saturation_pressure(celsius)?;
    Ok(carrier(air.speed.as_metres_per_second().to_f64(), lack, surface))
}

/// Carrier's equation as ASHRAE prints it, kg/(m² h): `(0.089 + 0.0782 v)(p_w − p_a)/Y × 3600` in m/s, kPa and kJ/kg at the
/// surface's °C. The original is `(95 + 0.425 v)(p_w − p_a)/Y` in lb/(h ft²), ft/min, inHg and Btu/lb (ASHRAE Transactions
/// 104(1A), 1998, Smith and others), which converts to 0.0885 and 0.0779: the rounded SI constants (not verified against the
/// handbook) evaporate 0.3 to 0.6 % more, on the side that protects.
fn carrier(speed: f64, lack: f64, surface: f64) -> f64 {
    (0.089 + 0.0782 * speed) * lack / latent_heat(surface) * 3600.0
}

#[cfg(test)]
mod tests;
