use proptest::prelude::*;

use super::*;
use crate::calc::testing::{n, near, percent};

fn air(celsius: &str, humidity: &str, speed: &str) -> Air {
    Air {
        temperature: Temperature::celsius(n(celsius)),
        humidity: percent(humidity),
        speed: Speed::metres_per_second(n(speed)),
    }
}

fn film(text: &str) -> Film {
    Film::millilitres_per_square_metre(n(text))
}

fn minutes(text: &str) -> Time {
    Time::minutes(n(text))
}

#[test]
fn two_forms_for_one_film() {
    // 50 mL/m², computed with PsychroLib 2.5.0's saturation pressures: (air, Carrier and (25 + 19 v) in kg/(m² h)
    // and minutes by each, then Carrier with the surface at the wet bulb).
    for (air, carrier, carrier_minutes, handbook, handbook_minutes, cooled, cooled_minutes) in [
        (air("22", "40", "0.1"), 0.2259, 13.3, 0.2719, 11.0, 0.0749, 40.1),
        (air("20", "50", "0.1"), 0.1661, 18.1, 0.2000, 15.0, 0.0575, 52.2),
    ] {
        let [by_carrier, by_handbook] = evaporation(&air).unwrap();
        near(by_carrier, carrier, 5e-4);
        near(by_handbook, handbook, 5e-4);
        near(60.0 * 0.05 / by_carrier, carrier_minutes, 5e-3);
        near(60.0 * 0.05 / by_handbook, handbook_minutes, 5e-3);
        // The shorter time is the one used.
        let dry = drying_time(&film("50"), &air).unwrap().unwrap().as_minutes().to_f64();
        near(dry, handbook_minutes, 5e-3);
        near(cooled_evaporation(&air).unwrap(), cooled, 1e-3);
        near(floor_drying_time(&film("50"), &air).unwrap().unwrap().as_minutes().to_f64(), cooled_minutes, 2e-3);
    }
}

#[test]
fn carrier_in_both_systems_of_units() {
    // (95 + 0.425 v) in lb/(h ft²), ft/min, inHg, Btu/lb, converted exactly; ASHRAE Transactions 104(1A), 1998.
    let (pound, square_foot, inch_of_mercury, btu_per_pound) = (0.45359237, 0.09290304, 3.386389, 2.326);
    let still = carrier(0.0, 1.0, 20.0) * latent_heat(20.0) / 3600.0;
    let wind = carrier(1.0, 1.0, 20.0) * latent_heat(20.0) / 3600.0 - still;
    // ASHRAE's SI form, not verified against the handbook; below it is compared with the form in feet and pounds, which was read.
    near(still, 0.089, 1e-12);
    near(wind, 0.0782, 1e-12);
    let to_si = pound / 3600.0 / square_foot / inch_of_mercury * btu_per_pound;
    near(still, 95.0 * to_si, 6e-3);
    near(wind, 0.425 / 0.00508 * to_si, 6e-3);
    assert!(still > 95.0 * to_si && wind > 0.425 / 0.00508 * to_si, "on the side that protects");
}

#[test]
fn the_swimming_pool() {
    // Engineering handbook: 25 m × 20 m, v 0.5 m/s, x_s 0.02, x 0.0098: 0.049 kg/s (0.048875); x_s 0.019826, x 0.0115:
    // 0.04 (0.039895).
    for (saturated, ratio, exact, published) in [(0.02, 0.0098, 0.048875, 0.049), (0.019826, 0.0115, 0.039895, 0.04)] {
        let rate = (25.0 + 19.0 * 0.5) * 500.0 * (saturated - ratio) / 3600.0;
        near(rate, exact, 1e-4);
        near(rate, published, 4e-3);
    }
    // The same pool by way of the air: 25 °C and the relative humidity at which x is 0.0098.
    let [_, handbook] = evaporation(&air("25", "49.6", "0.5")).unwrap();
    near(handbook * 500.0 / 3600.0, 0.049, 0.01);
}

#[test]
fn a_wiped_film_dries_in_a_minute_or_two() {
    // Rutala, disinfectionandsterilization.org, FAQ: 1.5 to 2 min, so 10 min of contact take 5 to 6 applications. A
    // generous band.
    let dry = drying_time(&film("5"), &air("22", "50", "0.1")).unwrap().unwrap();
    assert!(dry >= minutes("1") && dry <= minutes("2.5"), "{}", dry.as_minutes());
    let needed = rewetting(&minutes("10"), Some(&dry)).unwrap();
    assert!((4..=10).contains(&needed.applications), "{}", needed.applications);
    // Rutgers extension: wipes on 4 ft² of four surfaces at 70 °F, 60 % and little air movement were dry within 3
    // min.
    let dry = drying_time(&film("5"), &air("21.1", "60", "0.1")).unwrap().unwrap();
    assert!(dry >= minutes("1") && dry <= minutes("3"), "{}", dry.as_minutes());
    // With Rutala's own drying times.
    assert_eq!(rewetting(&minutes("10"), Some(&minutes("2"))).unwrap().applications, 5);
    assert_eq!(rewetting(&minutes("10"), Some(&minutes("1.75"))).unwrap().applications, 6);
}

#[test]
fn applications_are_evenly_apart_and_never_too_far() {
    let rewet = rewetting(&minutes("10"), Some(&minutes("3"))).unwrap();
    assert_eq!(rewet, Rewetting { applications: 4, every: Some(minutes("2.5")) });
    let once = Rewetting { applications: 1, every: None };
    assert_eq!(rewetting(&minutes("10"), Some(&minutes("10"))).unwrap(), once);
    assert_eq!(rewetting(&minutes("10"), None).unwrap(), once);
    assert_eq!(rewetting(&minutes("10"), Some(&Time::seconds(n("599")))).unwrap().applications, 2);
    let too_many = Err(CalcError::TooManyApplications { most: MOST_APPLICATIONS });
    assert_eq!(rewetting(&minutes("60"), Some(&Time::seconds(n("1")))), too_many);
    assert_eq!(rewetting(&minutes("60"), Some(&Time::zero())), too_many);
    assert!(rewetting(&Time::zero(), None).is_err());
}

#[test]
fn air_decides() {
    let of = |air: &Air| drying_time(&film("20"), air).unwrap();
    assert_eq!(of(&air("22", "100", "0.1")), None);
    assert!(of(&air("30", "40", "0.1")) < of(&air("20", "40", "0.1")));
    assert!(of(&air("20", "40", "0.1")) < of(&air("20", "70", "0.1")));
    assert!(of(&air("20", "40", "1")) < of(&air("20", "40", "0.1")));
    for bad in [
        air("-5", "40", "0"),
        air("20", "101", "0"),
        air("20", "-1", "0"),
        air("20", "40", "11"),
        air("20", "40", "-1"),
    ] {
        assert!(matches!(evaporation(&bad), Err(CalcError::OutOfRange { .. })));
    }
    assert!(drying_time(&film("0"), &air("20", "40", "0.1")).is_err());
}

/// Air from tenths: 0 to 60 °C, 0 to 100 %, 0 to 10 m/s.
fn air_of(celsius: i64, humidity: i64, speed: i64) -> Air {
    Air {
        temperature: Temperature::celsius(Number::ratio(celsius, 10)),
        humidity: Share::of_one(Number::ratio(humidity, 1000)),
        speed: Speed::metres_per_second(Number::ratio(speed, 10)),
    }
}

fn film_of(tenths: i64) -> Film {
    Film::millilitres_per_square_metre(Number::ratio(tenths, 10))
}

type Estimate = fn(&Film, &Air) -> Result<Option<Time>, CalcError>;

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn wind_dries_and_damp_and_depth_do_not(
        celsius in 0..=600i64,
        humidity in 0..1000i64,
        speed in 0..=100i64,
        depth in 1..2000i64,
        more in 1..1000i64,
    ) {
        // Air short of saturation dries every film in some time; saturated air, none.
        for estimate in [drying_time as Estimate, floor_drying_time] {
            let of = |humidity, speed, depth| estimate(&film_of(depth), &air_of(celsius, humidity, speed)).unwrap();
            let base = of(humidity, speed, depth).unwrap();
            prop_assert!(of(humidity, (speed + more).min(100), depth).unwrap() <= base);
            prop_assert!(of(humidity, speed, depth + more).unwrap() >= base);
            let damp = of((humidity + more).min(1000), speed, depth);
            prop_assert!(damp.is_none_or(|damp| damp >= base));
        }
    }

    #[test]
    fn the_short_estimate_is_the_shorter(
        celsius in 0..=600i64, humidity in 0..1000i64, speed in 0..=100i64, depth in 1..2000i64,
    ) {
        let (film, air) = (film_of(depth), air_of(celsius, humidity, speed));
        let short = drying_time(&film, &air).unwrap().unwrap();
        let long = floor_drying_time(&film, &air).unwrap().unwrap();
        prop_assert!(short <= long);
        // Each is rounded to the side that protects, by less than a second.
        let [carrier, handbook] = evaporation(&air).unwrap();
        let exact = |rate: f64| film.as_millilitres_per_square_metre().to_f64() * 3.6 / rate;
        let early = exact(carrier.max(handbook)) - short.as_seconds().to_f64();
        let late = long.as_seconds().to_f64() - exact(cooled_evaporation(&air).unwrap());
        prop_assert!((-1e-6..1.0 + 1e-6).contains(&early) && (-1e-6..1.0 + 1e-6).contains(&late), "{early} {late}");
    }

    #[test]
    fn applications_cover_the_contact_time(contact in 1..7200i64, drying in 1..7200i64) {
        let (contact, drying) = (Time::seconds(Number::int(contact)), Time::seconds(Number::int(drying)));
        match rewetting(&contact, Some(&drying)) {
            Ok(Rewetting { applications, every: None }) => {
                prop_assert!(applications == 1 && drying >= contact);
            }
            Ok(Rewetting { applications, every: Some(every) }) => {
                prop_assert!(every <= drying);
                let covered = every.as_seconds() * Number::int(i64::from(applications));
                prop_assert_eq!(&covered, contact.as_seconds());
                // One fewer would leave it dry.
                prop_assert!(drying.as_seconds() * Number::int(i64::from(applications) - 1) < *contact.as_seconds());
            }
            Err(_) => {
                let most = Number::int(i64::from(MOST_APPLICATIONS));
                prop_assert!(drying.as_seconds() * most < *contact.as_seconds());
            }
        }
    }
}
