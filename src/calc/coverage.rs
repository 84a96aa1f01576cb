//! Solution on surfaces: areas, film, flow, pace and minutes.

use super::error::{CalcError, positive};
use crate::quantity::{Area, Film, Flow, Length, Number, Speed, Time, Volume};

/// Solution for an area: `area × film` (m² × mL/m²).
pub fn solution_for(area: &Area, film: &Film) -> Volume {
    Volume::millilitres(area.as_square_metres() * film.as_millilitres_per_square_metre())
}

/// Film left by a sprayer that is walked along: `flow / (60 × speed × swath)`, in mL/min, m/s and m.
pub fn film_from_pace(flow: &Flow, speed: &Speed, swath: &Length) -> Result<Film, CalcError> {
    let speed = positive(speed.as_metres_per_second(), "the walking speed")?;
    let swath = positive(swath.as_metres(), "the swath")?;
    let per_minute = Number::int(60) * speed * swath;
    Ok(Film::millilitres_per_square_metre(flow.as_millilitres_per_minute() / &per_minute))
}

/// Time to spray a volume: `volume / flow`, divided among sprayers side by side.
pub fn spraying_time(volume: &Volume, flow: &Flow, sprayers: u32) -> Result<Time, CalcError> {
    let flow = positive(flow.as_millilitres_per_minute(), "the flow")?;
    if sprayers == 0 {
        return Err(CalcError::NotPositive { what: "the number of sprayers" });
    }
    Ok(Time::minutes(volume.as_millilitres() / flow / Number::int(i64::from(sprayers))))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calc::built_in;
    use crate::calc::testing::{n, near};
    use crate::quantity::parse::{area, film, flow, length, speed, volume};

    /// Gallons on an acre of 43,560 ft² (NIST Handbook 44).
    fn gpa(film: &Film) -> f64 {
        solution_for(&area("43560 ft2").unwrap(), film).over(&volume("1 gal").unwrap()).to_f64()
    }

    fn from_pace(flow_written: &str, pace: &str, swath: &str) -> Film {
        film_from_pace(&flow(flow_written).unwrap(), &speed(pace).unwrap(), &length(swath).unwrap()).unwrap()
    }

    #[test]
    fn gallons_per_acre_from_pace() {
        // UF/IFAS, Marion County 2017: GPA = 5940 × GPM / (MPH × width in inches), and 46.4 × oz/min / (MPH × W).
        for (gallons, pace, inches) in [(0.125, 1.0, 36.0), (0.5, 2.5, 20.0), (0.0695, 1.7, 48.0)] {
            let film = from_pace(&format!("{gallons} gpm"), &format!("{pace} mph"), &format!("{inches} in"));
            near(gpa(&film), 5940.0 * gallons / (pace * inches), 1e-12);
            near(gpa(&film), 46.4 * gallons * 128.0 / (pace * inches), 2e-4);
        }
        // Albany County, Wyoming: 480 oz (3.75 gal) in a minute, 5 mph, a pattern of 222 in: 20 GPA.
        near(gpa(&from_pace("480 fl oz/min", "5 mph", "222 in")), 20.0, 4e-3);
        // 250 mL/min at 0.45 m/s and 1 m: 9.26 mL/m².
        let film = from_pace("250 mL/min", "0.45 m/s", "1 m");
        near(film.as_millilitres_per_square_metre().to_f64(), 9.26, 1e-3);
    }

    #[test]
    fn gallons_per_acre_from_a_volume_on_an_area() {
        let rows = built_in::<(String, f64, f64, String)>(include_str!("../../tests/reference/published-coverage.csv"));
        assert_eq!(rows.len(), 6);
        for (written, published, tolerance, _) in rows {
            near(gpa(&film(&written).unwrap()), published, tolerance);
        }
        // Virginia Tech: 3 pt on an acre at that rate is 0.046 pt, 0.74 fl oz, in each gallon.
        let pints = 3.0 / gpa(&film("1.5 gal/1000 ft2").unwrap());
        near(pints, 0.046, 3e-3);
        near(pints * 16.0, 0.74, 1e-2);
    }

    #[test]
    fn minutes_of_spraying() {
        let minutes = |written, rate, sprayers| {
            spraying_time(&volume(written).unwrap(), &flow(rate).unwrap(), sprayers).unwrap().as_minutes().to_f64()
        };
        // Mesa County, Colorado: 150 oz are caught in 75 s. UF/IFAS: 16 oz in one minute is 0.125 GPM.
        near(minutes("150 fl oz", "120 fl oz/min", 1), 1.25, 1e-12);
        near(minutes("0.125 gal", "16 fl oz/min", 1), 1.0, 1e-12);
        // Common practice, no source: at 8.9 fl oz/min, 15 gal last a little over three and a half hours …
        near(minutes("15 gal", "8.9 fl oz/min", 1), 215.0, 2.5e-2);
        near(minutes("15 gal", "8.9 fl oz/min", 3), 71.9, 1e-3);
        // … and treat 2,250 ft², which is 150 ft²/gal.
        let solution = solution_for(&area("2250 ft2").unwrap(), &film("150 ft2/gal").unwrap());
        assert_eq!(solution, volume("15 gal").unwrap());
    }

    #[test]
    fn zero_is_refused() {
        let (flow, litre, foot) = (flow("1 L/min").unwrap(), volume("1 L").unwrap(), length("1 ft").unwrap());
        assert!(film_from_pace(&flow, &Speed::zero(), &foot).is_err());
        assert!(spraying_time(&litre, &Flow::zero(), 1).is_err());
        assert!(spraying_time(&litre, &flow, 0).is_err());
        assert_eq!(solution_for(&Area::zero(), &Film::millilitres_per_square_metre(n("5"))), Volume::zero());
    }
}
