//! Properties of the drying estimates over all air that they take.

use proptest::prelude::*;

use super::*;

/// Air from tenths: 0 to 60 °C, 0 to 100 %, 0 to 10 m/s.
fn air(celsius: i64, humidity: i64, speed: i64) -> Air {
    Air {
        temperature: Temperature::celsius(Number::ratio(celsius, 10)),
        humidity: Share::of_one(Number::ratio(humidity, 1000)),
        speed: Speed::metres_per_second(Number::ratio(speed, 10)),
    }
}

fn film(tenths: i64) -> Film {
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
            let of = |humidity, speed, depth| estimate(&film(depth), &air(celsius, humidity, speed)).unwrap();
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
        let (film, air) = (film(depth), air(celsius, humidity, speed));
        let short = drying_time(&film, &air).unwrap().unwrap();
        let long = floor_drying_time(&film, &air).unwrap().unwrap();
        prop_assert!(short <= long);
        // Each is rounded to the side that protects, by less than a second.
        let exact = |rate: f64| film.as_millilitres_per_square_metre().to_f64() * 3.6 / rate;
        let early = exact(evaporation(&air).unwrap().faster()) - short.as_seconds().to_f64();
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
