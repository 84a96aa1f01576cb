//! Solution on surfaces: areas, film, flow, pace and minutes.

use super::error::{CalcError, positive};
use crate::quantity::{Area, Film, Flow, Length, Number, Speed, Time, Volume};

/// Solution for an area: `area × film` (m² × mL/m²).
pub fn solution_for(area: &Area, film: &Film) -> Volume {
    Volume::millilitres(area.as_square_metres() * film.as_millilitres_per_square_metre())
}

/// Film laid when a volume covers an area (`200 ft2/gal`, or a volume used on an area), mL/m².
/// One mL/m² is a wet film of one micrometre.
///
/// # Errors
/// [`CalcError::NotPositive`] for an area of nought.
pub fn film_of(volume: &Volume, area: &Area) -> Result<Film, CalcError> {
    let area = positive(area.as_square_metres(), "the area")?;
    Ok(Film::millilitres_per_square_metre(volume.as_millilitres() / area))
}

/// Film laid by a sprayer that is walked along: `flow / (60 × speed × swath)`, in mL/min, m/s and m.
///
/// # Errors
/// [`CalcError::NotPositive`] for a speed or a swath of nought.
pub fn film_from_pace(flow: &Flow, speed: &Speed, swath: &Length) -> Result<Film, CalcError> {
    let speed = positive(speed.as_metres_per_second(), "the walking speed")?;
    let swath = positive(swath.as_metres(), "the swath")?;
    let per_minute = Number::int(60) * speed * swath;
    Ok(Film::millilitres_per_square_metre(flow.as_millilitres_per_minute() / &per_minute))
}

/// Time to walk an area: `area / (speed × swath)`, divided among sprayers side by side.
///
/// # Errors
/// [`CalcError::NotPositive`] for a speed, a swath or a number of sprayers of nought.
pub fn walking_time(area: &Area, speed: &Speed, swath: &Length, sprayers: u32) -> Result<Time, CalcError> {
    let speed = positive(speed.as_metres_per_second(), "the walking speed")?;
    let swath = positive(swath.as_metres(), "the swath")?;
    let sprayers = among(sprayers)?;
    Ok(Time::seconds(area.as_square_metres() / &(speed * swath) / sprayers))
}

/// Time to spray a volume: `volume / flow`, divided among sprayers side by side.
///
/// # Errors
/// [`CalcError::NotPositive`] for a flow or a number of sprayers of nought.
pub fn spraying_time(volume: &Volume, flow: &Flow, sprayers: u32) -> Result<Time, CalcError> {
    let flow = positive(flow.as_millilitres_per_minute(), "the flow")?;
    let sprayers = among(sprayers)?;
    Ok(Time::minutes(volume.as_millilitres() / flow / sprayers))
}

/// Floor of a room with its walls to a height: `length × width + 2 (length + width) × height`; the ceiling once more on
/// request.
pub fn room(length: &Length, width: &Length, walls_to: &Length, ceiling: bool) -> Area {
    let (length, width) = (length.as_metres(), width.as_metres());
    let flat = length * width * Number::int(if ceiling { 2 } else { 1 });
    let walls = Number::int(2) * (length + width) * walls_to.as_metres();
    Area::square_metres(flat + walls)
}

fn among(sprayers: u32) -> Result<Number, CalcError> {
    if sprayers == 0 {
        return Err(CalcError::NotPositive { what: "the number of sprayers" });
    }
    Ok(Number::int(i64::from(sprayers)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calc::testing::{fluid_ounces, gallons, n, near};

    /// One square foot is 0.09290304 m² exactly, an acre 43 560 of them (NIST Handbook 44).
    fn square_feet(text: &str) -> Area {
        Area::square_metres(n(text) * n("0.09290304"))
    }

    fn feet(text: &str) -> Length {
        Length::metres(n(text) * n("0.3048"))
    }

    fn mph(text: &str) -> Speed {
        Speed::metres_per_second(n(text) * n("0.44704"))
    }

    fn ounces_a_minute(text: &str) -> Flow {
        Flow::millilitres_per_minute(fluid_ounces(text).as_millilitres().clone())
    }

    /// Gallons on an acre.
    fn gpa(film: &Film) -> Number {
        solution_for(&square_feet("43560"), film).over(&gallons("1"))
    }

    #[test]
    fn gallons_per_acre_from_pace() {
        // UF/IFAS, Marion County 2017: GPA = 5940 × GPM / (MPH × width in inches), and 46.4 × oz/min / (MPH × W). 5940
        // is exact.
        for (gallons_a_minute, speed, inches) in [("0.125", "1", "36"), ("0.5", "2.5", "20"), ("0.0695", "1.7", "48")] {
            let flow = ounces_a_minute("128").times(&n(gallons_a_minute));
            let film = film_from_pace(&flow, &mph(speed), &feet(inches).times(&Number::ratio(1, 12))).unwrap();
            assert_eq!(gpa(&film), n("5940") * n(gallons_a_minute) / (n(speed) * n(inches)));
            let from_ounces = n("46.4") * n(gallons_a_minute) * n("128") / (n(speed) * n(inches));
            near(gpa(&film).to_f64(), from_ounces.to_f64(), 2e-4);
        }
    }

    #[test]
    fn a_boomless_nozzle_and_a_handgun() {
        // Albany County, Wyoming: 480 oz (3.75 gal) in a minute, 5 mph, a pattern of 222 in: 20 GPA.
        let film = film_from_pace(&ounces_a_minute("480"), &mph("5"), &feet("18.5")).unwrap();
        near(gpa(&film).to_f64(), 20.0, 4e-3);
        // Mesa County, Colorado: a plot of 18.5 ft × 18.5 ft takes 75 s, in which 150 oz are caught: 150 GPA, and 25
        // gal treat a sixth of an acre.
        let caught = spraying_time(&fluid_ounces("150"), &ounces_a_minute("120"), 1).unwrap();
        assert_eq!(caught, Time::seconds(n("75")));
        let film = film_of(&fluid_ounces("150"), &square_feet("342.25")).unwrap();
        near(gpa(&film).to_f64(), 150.0, 6e-3);
        let sixth = square_feet("43560").times(&Number::ratio(1, 6));
        near(solution_for(&sixth, &film).over(&gallons("1")).to_f64(), 25.0, 6e-3);
    }

    #[test]
    fn sixteen_ounces_a_minute() {
        // UF/IFAS: 16 oz caught in one minute is 0.125 GPM.
        let time = spraying_time(&gallons("0.125"), &ounces_a_minute("16"), 1).unwrap();
        assert_eq!(time.as_minutes(), Number::one());
    }

    #[test]
    fn one_hundred_and_twenty_eighth_of_an_acre() {
        // Larimer County: ounces on 1/128 acre (340 ft²) are gallons on an acre.
        for ounces in ["10", "33.5"] {
            let plot = square_feet("43560").times(&Number::ratio(1, 128));
            assert_eq!(plot, square_feet("340.3125"));
            assert_eq!(gpa(&film_of(&fluid_ounces(ounces), &plot).unwrap()), n(ounces));
        }
        near(n("18.5").to_f64().powi(2), 340.3125, 6e-3);
    }

    #[test]
    fn volume_on_an_area() {
        // Virginia Tech extension: 1.5 gal on 1000 ft² is 65 GPA (65.34).
        assert_eq!(gpa(&film_of(&gallons("1.5"), &square_feet("1000")).unwrap()), n("65.34"));
        // The same: 3 pt on an acre at that rate is 0.046 pt, 0.74 fl oz, in each gallon.
        let pints = n("3") / gpa(&film_of(&gallons("1.5"), &square_feet("1000")).unwrap());
        near(pints.to_f64(), 0.046, 3e-3);
        near((pints * n("16")).to_f64(), 0.74, 1e-2);
        // Florida exam manual, method II: 12 gal in 660 ft with a swath of 10 ft is 79.2 GPA.
        assert_eq!(gpa(&film_of(&gallons("12"), &square_feet("6600")).unwrap()), n("79.2"));
    }

    #[test]
    fn walking() {
        // ft²/min = 88 × mph × swath: 1 mph and 3 ft walk 264 ft² in a minute.
        assert_eq!(walking_time(&square_feet("264"), &mph("1"), &feet("3"), 1).unwrap(), Time::seconds(n("60")));
        assert_eq!(walking_time(&square_feet("264"), &mph("1"), &feet("3"), 2).unwrap(), Time::seconds(n("30")));
        // MPH = ft × 60 / (s × 88): 88 ft in 60 s is 1 mph.
        assert_eq!(walking_time(&square_feet("88"), &mph("1"), &feet("1"), 1).unwrap().as_minutes(), Number::one());
        // 250 mL/min at 0.45 m/s and 1 m: 9.26 mL/m².
        let film = film_from_pace(
            &Flow::millilitres_per_minute(n("250")),
            &Speed::metres_per_second(n("0.45")),
            &Length::metres(n("1")),
        );
        near(film.unwrap().as_millilitres_per_square_metre().to_f64(), 9.26, 1e-3);
    }

    #[test]
    fn a_long_spray() {
        // Common practice, no source: at 8.9 fl oz/min, 15 gal last a little over three and a half hours.
        let minutes = spraying_time(&gallons("15"), &ounces_a_minute("8.9"), 1).unwrap().as_minutes();
        assert!(minutes > 210 && minutes < 220, "{minutes}");
        assert_eq!(spraying_time(&gallons("15"), &ounces_a_minute("8.9"), 3).unwrap().as_minutes(), minutes / n("3"));
        // … and treat 2,250 ft², which is 150 ft²/gal.
        let film = film_of(&gallons("1"), &square_feet("150")).unwrap();
        assert_eq!(solution_for(&square_feet("2250"), &film), gallons("15"));
    }

    #[test]
    fn rooms() {
        let (length, width) = (Length::metres(n("4")), Length::metres(n("3")));
        assert_eq!(room(&length, &width, &Length::zero(), false), Area::square_metres(n("12")));
        assert_eq!(room(&length, &width, &Length::metres(n("2")), false), Area::square_metres(n("40")));
        assert_eq!(room(&length, &width, &Length::metres(n("2")), true), Area::square_metres(n("52")));
    }

    #[test]
    fn nought_is_refused() {
        assert!(film_of(&gallons("1"), &Area::zero()).is_err());
        assert!(film_from_pace(&ounces_a_minute("1"), &Speed::zero(), &feet("1")).is_err());
        assert!(spraying_time(&gallons("1"), &Flow::zero(), 1).is_err());
        assert!(spraying_time(&gallons("1"), &ounces_a_minute("1"), 0).is_err());
    }
}
