//! Conditions that the FDA Food Code sets on sanitizer solutions in food establishments: 4-501.114 (strength,
//! temperature, pH, hardness) and 4-703.11(C) (contact time). Read in verbatim state adoptions: Wisconsin ATCP 75 and
//! DHS 196, Washington WAC 246-215-04565 and 04710. States differ (Indiana asks 75 °F of iodine; California 30 s of 100
//! mg/L chlorine): local codes come first.
//!
//! Temperatures are compared in the Code's °F figures, which are exact; its °C figures are those rounded. What is not
//! known is not met, or is taken at its worse: an unknown pH takes the row for pH 10.

use serde::Serialize;

use crate::quantity::{Number, Strength, Temperature, Time};

/// What is known of a solution as it is used.
#[derive(Clone, Copy, Debug, Default)]
pub struct Use<'a> {
    /// Strength of the sanitizer, mg/L.
    pub strength: Option<&'a Strength>,
    /// Temperature of the solution.
    pub temperature: Option<&'a Temperature>,
    /// pH of the solution, 0 to 14.
    pub ph: Option<&'a Number>,
    /// Hardness of the water, mg/L as calcium carbonate.
    pub hardness: Option<&'a Strength>,
}

/// A condition of the Code that a solution does not meet, with the Code's figure.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "unmet")]
pub enum Unmet {
    /// Too little sanitizer.
    TooWeak {
        /// The least, mg/L.
        least: Strength,
    },
    /// Too much sanitizer.
    TooStrong {
        /// The most, mg/L.
        most: Strength,
    },
    /// Too cold.
    TooCold {
        /// The least.
        least: Temperature,
    },
    /// pH too high.
    PhTooHigh {
        /// The most.
        most: Number,
    },
    /// Water too hard.
    TooHard {
        /// The most, mg/L.
        most: Strength,
    },
    /// A figure that the Code's condition turns on is not given.
    NotGiven {
        /// Which.
        what: Figure,
    },
}

/// A figure of a [`Use`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Figure {
    /// Strength.
    Strength,
    /// Temperature.
    Temperature,
    /// pH.
    Ph,
    /// Hardness.
    Hardness,
}

/// Chlorine, 4-501.114(A):
///
/// | mg/L | pH 10 or less | pH 8 or less |
/// | --- | --- | --- |
/// | 25–49 | 49 °C (120 °F) | 49 °C (120 °F) |
/// | 50–99 | 38 °C (100 °F) | 24 °C (75 °F) |
/// | 100 | 13 °C (55 °F) | 13 °C (55 °F) |
///
/// Above 100 mg/L the last row holds; how much chlorine may stay on a surface is another rule's (40 CFR 180.940).
pub fn chlorine(solution: &Use) -> Vec<Unmet> {
    let mut unmet = Vec::new();
    let Some(strength) = solution.strength else {
        return vec![Unmet::NotGiven { what: Figure::Strength }];
    };
    if strength < &mg_per_l(25) {
        unmet.push(Unmet::TooWeak { least: mg_per_l(25) });
    }
    let low_ph = solution.ph.is_some_and(|ph| ph <= &Number::int(8));
    match solution.ph {
        None => unmet.push(Unmet::NotGiven { what: Figure::Ph }),
        Some(ph) if ph > &Number::int(10) => unmet.push(Unmet::PhTooHigh { most: Number::int(10) }),
        Some(_) => {}
    }
    let least = fahrenheit(match (strength, low_ph) {
        (strength, _) if strength >= &mg_per_l(100) => 55,
        (strength, true) if strength >= &mg_per_l(50) => 75,
        (strength, false) if strength >= &mg_per_l(50) => 100,
        _ => 120,
    });
    unmet.extend(too_cold(solution, least));
    unmet
}

/// Iodine, 4-501.114(B): at least 20 °C (68 °F), pH 5.0 or less (or what the label allows), 12.5 to 25 mg/L.
pub fn iodine(solution: &Use, label_ph: Option<&Number>) -> Vec<Unmet> {
    let mut unmet = Vec::new();
    let (least, most) = (Strength::milligrams_per_litre(Number::ratio(25, 2)), mg_per_l(25));
    match solution.strength {
        None => unmet.push(Unmet::NotGiven { what: Figure::Strength }),
        Some(strength) if strength < &least => unmet.push(Unmet::TooWeak { least }),
        Some(strength) if strength > &most => unmet.push(Unmet::TooStrong { most }),
        Some(_) => {}
    }
    let most = label_ph.cloned().unwrap_or(Number::int(5));
    match solution.ph {
        None => unmet.push(Unmet::NotGiven { what: Figure::Ph }),
        Some(ph) if ph > &most => unmet.push(Unmet::PhTooHigh { most }),
        Some(_) => {}
    }
    unmet.extend(too_cold(solution, fahrenheit(68)));
    unmet
}

/// Quaternary ammonium compounds, 4-501.114(C): at least 24 °C (75 °F), the label's strength, water of 500 mg/L
/// hardness or less (or what the label allows).
pub fn quaternary(solution: &Use, label: &Strength, label_hardness: Option<&Strength>) -> Vec<Unmet> {
    let mut unmet = Vec::new();
    match solution.strength {
        None => unmet.push(Unmet::NotGiven { what: Figure::Strength }),
        Some(strength) if strength < label => unmet.push(Unmet::TooWeak { least: label.clone() }),
        Some(_) => {}
    }
    unmet.extend(too_cold(solution, fahrenheit(75)));
    let most = label_hardness.cloned().unwrap_or(mg_per_l(500));
    match solution.hardness {
        None => unmet.push(Unmet::NotGiven { what: Figure::Hardness }),
        Some(hardness) if hardness > &most => unmet.push(Unmet::TooHard { most }),
        Some(_) => {}
    }
    unmet
}

/// Hardness in mg/L from grains in a US gallon: 64.79891 mg in 3.785411784 L, 17.118 mg/L for each.
pub fn hardness_from_grains(grains: &Number) -> Strength {
    Strength::milligrams_per_litre(grains * &Number::ratio(64_798_910_000, 3_785_411_784))
}

/// The sanitizers that the contact times tell apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sanitizer {
    /// Chlorine.
    Chlorine,
    /// Any other chemical.
    Other,
}

/// Least contact time in the solution, 4-703.11(C): 7 s for 50 mg/L chlorine at pH 10 or less and 38 °C (100 °F), or pH
/// 8 or less and 24 °C (75 °F); 10 s for other chlorine solutions; 30 s for other chemicals. A longer time on the
/// product label holds instead.
pub fn contact_time(sanitizer: Sanitizer, solution: &Use) -> Time {
    let warm = |degrees| solution.temperature.is_some_and(|temperature| temperature >= &fahrenheit(degrees));
    let ph = |most| solution.ph.is_some_and(|ph| ph <= &Number::int(most));
    let strong = solution.strength.is_some_and(|strength| strength >= &mg_per_l(50));
    let seconds = match sanitizer {
        Sanitizer::Chlorine if strong && (ph(10) && warm(100) || ph(8) && warm(75)) => 7,
        Sanitizer::Chlorine => 10,
        Sanitizer::Other => 30,
    };
    Time::seconds(Number::int(seconds))
}

fn too_cold(solution: &Use, least: Temperature) -> Option<Unmet> {
    match solution.temperature {
        None => Some(Unmet::NotGiven { what: Figure::Temperature }),
        Some(temperature) if temperature < &least => Some(Unmet::TooCold { least }),
        Some(_) => None,
    }
}

fn mg_per_l(value: i64) -> Strength {
    Strength::milligrams_per_litre(Number::int(value))
}

/// Degrees Celsius of whole degrees Fahrenheit, exactly.
fn fahrenheit(degrees: i64) -> Temperature {
    Temperature::celsius(Number::ratio((degrees - 32) * 5, 9))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calc::testing::{n, near, ppm};

    fn of(strength: &Strength, degrees: i64, ph: &str, check: impl Fn(&Use) -> Vec<Unmet>) -> Vec<Unmet> {
        let (temperature, ph) = (fahrenheit(degrees), n(ph));
        check(&Use { strength: Some(strength), temperature: Some(&temperature), ph: Some(&ph), hardness: None })
    }

    #[test]
    fn the_chlorine_grid() {
        // Food Code 4-501.114(A), whole: (mg/L from, to below; least °F at pH 10 or less, at pH 8 or less). The same in
        // Louisiana Administrative Code 51 X-117 and Indiana 410 IAC 7-24-294.
        let table = [("25", "50", 120, 120), ("50", "100", 100, 75), ("100", "1000", 55, 55)];
        for (from, below, least_to_10, least_to_8) in table {
            let last = (n(below) - n("0.1")).decimal(1);
            for strength in [from, &last] {
                for (ph, least) in [("6", least_to_8), ("8", least_to_8), ("8.01", least_to_10), ("10", least_to_10)] {
                    for degrees in (40..=140).chain([least - 1, least]) {
                        let expected = (degrees < least).then(|| Unmet::TooCold { least: fahrenheit(least) });
                        let unmet = of(&ppm(strength), degrees, ph, chlorine);
                        assert_eq!(unmet, Vec::from_iter(expected), "{strength} mg/L, pH {ph}, {degrees} °F");
                    }
                }
                assert_eq!(of(&ppm(strength), 140, "10.01", chlorine), [Unmet::PhTooHigh { most: n("10") }]);
            }
        }
        assert_eq!(of(&ppm("24.9"), 120, "8", chlorine), [Unmet::TooWeak { least: ppm("25") }]);
        // The Code's °C figures are its °F figures rounded.
        for (degrees, celsius) in [(120, "49"), (100, "38"), (75, "24"), (55, "13"), (68, "20")] {
            assert_eq!(fahrenheit(degrees).as_celsius().round_to(&Number::one()), n(celsius));
        }
    }

    #[test]
    fn what_is_unknown_is_not_met() {
        let (strength, temperature) = (ppm("50"), fahrenheit(75));
        let solution = Use { strength: Some(&strength), temperature: Some(&temperature), ..Use::default() };
        assert_eq!(
            chlorine(&solution),
            [Unmet::NotGiven { what: Figure::Ph }, Unmet::TooCold { least: fahrenheit(100) }]
        );
        assert_eq!(chlorine(&Use::default()), [Unmet::NotGiven { what: Figure::Strength }]);
        assert_eq!(iodine(&Use::default(), None).len(), 3);
        assert_eq!(quaternary(&Use::default(), &ppm("200"), None).len(), 3);
    }

    #[test]
    fn iodine_and_quaternaries() {
        // Food Code 4-501.114(B).
        let check = |solution: &Use| iodine(solution, None);
        for strength in ["12.5", "25"] {
            assert_eq!(of(&ppm(strength), 68, "5.0", check), []);
        }
        assert_eq!(of(&ppm("12.4"), 68, "5", check), [Unmet::TooWeak { least: ppm("12.5") }]);
        assert_eq!(of(&ppm("25.1"), 68, "5", check), [Unmet::TooStrong { most: ppm("25") }]);
        assert_eq!(of(&ppm("20"), 67, "5", check), [Unmet::TooCold { least: fahrenheit(68) }]);
        assert_eq!(of(&ppm("20"), 68, "5.1", check), [Unmet::PhTooHigh { most: n("5") }]);
        assert_eq!(of(&ppm("20"), 68, "5.1", |solution| iodine(solution, Some(&n("6")))), []);
        // Food Code 4-501.114(C).
        let (strength, temperature) = (ppm("200"), fahrenheit(75));
        let with = |hardness: &str, label: Option<&Strength>| {
            let hardness = ppm(hardness);
            let solution =
                Use { strength: Some(&strength), temperature: Some(&temperature), ph: None, hardness: Some(&hardness) };
            quaternary(&solution, &ppm("200"), label)
        };
        assert_eq!(with("500", None), []);
        assert_eq!(with("500.1", None), [Unmet::TooHard { most: ppm("500") }]);
        assert_eq!(with("600", Some(&ppm("600"))), []);
        assert_eq!(with("300", Some(&ppm("250"))), [Unmet::TooHard { most: ppm("250") }]);
        let label = |solution: &Use| {
            let hardness = ppm("100");
            let solution = Use { hardness: Some(&hardness), ..*solution };
            quaternary(&solution, &ppm("200"), None)
        };
        assert_eq!(of(&ppm("199"), 75, "7", label), [Unmet::TooWeak { least: ppm("200") }]);
        assert_eq!(of(&ppm("200"), 74, "7", label), [Unmet::TooCold { least: fahrenheit(75) }]);
    }

    #[test]
    fn contact_times() {
        // Food Code 4-703.11(C).
        let time = |sanitizer, strength: &str, degrees, ph: &str| {
            let (strength, temperature, ph) = (ppm(strength), fahrenheit(degrees), n(ph));
            let solution =
                Use { strength: Some(&strength), temperature: Some(&temperature), ph: Some(&ph), hardness: None };
            contact_time(sanitizer, &solution).as_seconds().clone()
        };
        assert_eq!(time(Sanitizer::Chlorine, "50", 100, "10"), 7);
        assert_eq!(time(Sanitizer::Chlorine, "50", 75, "8"), 7);
        assert_eq!(time(Sanitizer::Chlorine, "50", 99, "10"), 10);
        assert_eq!(time(Sanitizer::Chlorine, "50", 74, "8"), 10);
        assert_eq!(time(Sanitizer::Chlorine, "50", 99, "8.1"), 10);
        assert_eq!(time(Sanitizer::Chlorine, "50", 120, "10.1"), 10);
        assert_eq!(time(Sanitizer::Chlorine, "49.9", 120, "8"), 10);
        assert_eq!(time(Sanitizer::Other, "200", 120, "7"), 30);
        assert_eq!(contact_time(Sanitizer::Chlorine, &Use::default()).as_seconds(), &n("10"));
    }

    #[test]
    fn grains_of_hardness() {
        // 17.118 mg/L for each grain in a gallon (64.79891 mg in 3.785411784 L, both exact); 25 grains are called 450 ppm in the trade.
        near(hardness_from_grains(&n("1")).as_milligrams_per_litre().to_f64(), 17.118, 1e-4);
        near(hardness_from_grains(&n("25")).as_milligrams_per_litre().to_f64(), 450.0, 6e-2);
    }
}
