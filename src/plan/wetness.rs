//! Wetness: how long the film lasts, how often it is laid again, and how much solution that takes. Estimates all.

use serde::Serialize;

use crate::calc::drying::{self, Rewetting, drying_time, floor_drying_time, rewetting};
use crate::calc::{CalcError, coverage};
use crate::company::{Method, ProductKind};
use crate::job::{Site, Treatment};
use crate::quantity::{Area, Film, Flow, Number, Speed, Time, Volume};

/// What a cloth leaves behind, mL/m². No source gives the figure; it is the film that dries in the published 1.5 to 2
/// minutes in a room of 22 °C and 50 %.
const WIPED: i64 = 5;

/// How soon a wiped film dries where the air is not known: the shorter end of the published 1.5 to 2 minutes (Rutala,
/// disinfectionandsterilization.org, FAQ).
const WIPED_DRIES: i64 = 90;

/// How long the film lasts and what follows from it.
#[derive(Clone, Debug, Serialize)]
pub struct Wetness {
    pub basis: WetnessBasis,
    pub film: Film,
    /// How long that stays wet; `None` where it does not dry.
    pub dries_after: Option<Time>,
    pub applications: u32,
    /// From one to the next; `None` for one application.
    pub every: Option<Time>,
    /// The largest section that can be wetted before its beginning must be wetted again; `None` for one application.
    pub section: Option<Area>,
    /// How long a floor stays slippery after it was wetted last: the long estimate. `None` where it does not dry or the
    /// air is not known.
    pub floor_dries_after: Option<Time>,
}

/// Where a drying time is from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum WetnessBasis {
    Estimate,
    Published,
}

impl Wetness {
    /// Solution for all applications after the first, on an area.
    pub(super) fn again(&self, size: &Area) -> Volume {
        let times = Number::int(i64::from(self.applications) - 1);
        coverage::solution_for(size, &self.film).times(&times)
    }
}

/// Works out the wetness of a treatment. `None` where nothing can be said: alcohol, dipping, or air that is not known.
pub(super) fn wetness(
    written: &Treatment,
    site: &Site,
    laid: &Film,
    flow: &Flow,
) -> Result<Option<Wetness>, CalcError> {
    let method = written.sprayer.method;
    if written.product.kind == ProductKind::Alcohol || method == Method::Dip {
        return Ok(None);
    }
    let film = left_behind(written, laid);
    let (basis, dries_after, floor_dries_after) = match air(site) {
        Some(air) => {
            let dries = drying_time(&film, &air)?.map(|time| time_below(&time));
            (WetnessBasis::Estimate, dries, floor_drying_time(&film, &air)?.map(|time| time_above(&time)))
        }
        None if method == Method::Wipe => {
            (WetnessBasis::Published, Some(Time::seconds(Number::int(WIPED_DRIES))), None)
        }
        None => return Ok(None),
    };
    let again = in_practice(&written.directions.contact_time, dries_after.as_ref())?;
    let section = again.every.as_ref().map(|every| {
        let sprayers = Number::int(i64::from(written.sprayers));
        let volume = flow.as_millilitres_per_minute() * &every.as_minutes() * sprayers;
        Area::square_metres(volume / laid.as_millilitres_per_square_metre().clone())
    });
    let Rewetting { applications, every, .. } = again;
    Ok(Some(Wetness { basis, film, dries_after, applications, every, section, floor_dries_after }))
}

/// As nobody works to the second: intervals in steps of ten seconds, never longer than the film lasts, and as many of
/// them as the contact time takes.
fn in_practice(contact: &Time, dries: Option<&Time>) -> Result<Rewetting, CalcError> {
    let even = rewetting(contact, dries)?;
    let (Some(every), Some(dries)) = (&even.every, dries) else {
        return Ok(even);
    };
    let step = Number::int(10);
    let up = Time::seconds(every.as_seconds().ceil_to(&step));
    let every = if up <= *dries { up } else { Time::seconds(every.as_seconds().floor_to(&step)) };
    if every.is_zero() {
        return Ok(even);
    }
    let again = rewetting(contact, Some(&every))?;
    Ok(Rewetting { every: again.every.is_some().then_some(every), ..again })
}

/// An estimate has no seconds: cut down to ten of them, and to a minute above ten minutes.
fn time_below(time: &Time) -> Time {
    let step = if *time.as_seconds() < 600 { 10 } else { 60 };
    let cut = time.as_seconds().floor_to(&Number::int(step));
    if cut.is_zero() { time.clone() } else { Time::seconds(cut) }
}

/// The same where the long estimate protects: up to five minutes.
fn time_above(time: &Time) -> Time {
    Time::seconds(time.as_seconds().ceil_to(&Number::int(300)))
}

/// What of the film laid stays on the surface.
fn left_behind(written: &Treatment, laid: &Film) -> Film {
    let wiped = || Film::millilitres_per_square_metre(Number::int(WIPED));
    let own = match (&written.sprayer.leaves, written.sprayer.method) {
        (Some(own), _) => own.clone(),
        (None, Method::Wipe) => wiped(),
        (None, _) => return laid.clone(),
    };
    own.min(laid.clone())
}

/// The air over the surfaces, where temperature and humidity are known. Still air in a room moves at about 0.1 m/s.
fn air(site: &Site) -> Option<drying::Air> {
    let still = || Speed::metres_per_second(Number::ratio(1, 10));
    Some(drying::Air {
        temperature: site.air.temperature.clone()?,
        humidity: site.air.humidity.clone()?,
        speed: site.air.speed.clone().unwrap_or_else(still),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seconds(n: i64) -> Time {
        Time::seconds(Number::int(n))
    }

    #[test]
    fn wiped_films_and_ten_minutes() {
        // Rutala, disinfectionandsterilization.org, FAQ: drying in 1.5 to 2 min, 5 to 6 applications for 10 min. At the
        // shorter end it takes one more.
        let two = in_practice(&seconds(600), Some(&seconds(120))).unwrap();
        assert_eq!((two.applications, two.every), (5, Some(seconds(120))));
        let between = in_practice(&seconds(600), Some(&seconds(100))).unwrap();
        assert_eq!((between.applications, between.every), (6, Some(seconds(100))));
        let short = in_practice(&seconds(600), Some(&seconds(WIPED_DRIES))).unwrap();
        assert_eq!((short.applications, short.every), (7, Some(seconds(90))));
    }

    #[test]
    fn intervals_never_outlast_the_film_and_cover_the_contact_time() {
        for contact in [30, 60, 300, 600, 601, 1800] {
            for dries in [31, 45, 71, 89, 130, 599, 600, 601] {
                let again = in_practice(&seconds(contact), Some(&seconds(dries))).unwrap();
                let Some(every) = again.every else {
                    assert!(dries >= contact);
                    continue;
                };
                assert!(every <= seconds(dries), "{contact} {dries}");
                assert!(every.times(&Number::int(i64::from(again.applications))) >= seconds(contact));
            }
        }
    }
}
