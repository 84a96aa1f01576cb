//! Conditions that the FDA Food Code sets on sanitizer solutions in food establishments: 4-501.114 (strength,
//! temperature, pH, hardness) and 4-703.11(C) (contact time). Read in verbatim state adoptions: Wisconsin ATCP 75 and
//! DHS 196, Washington WAC 246-215-04565 and 04710. States differ (Indiana asks 75 °F of iodine; California 30 s of 100
//! mg/L chlorine): local codes come first.
//!
//! Temperatures are compared in the Code's °F figures, which are exact; its °C figures are those rounded. What is not
//! known is not met, or is taken at its worse: an unknown pH takes the row for pH 10.

use crate::quantity::{Number, Strength, Temperature, Time};

/// What is known of a solution as it is used.
#[derive(Clone, Copy, Debug, Default)]
pub struct Use<'a> {
    pub strength: Option<&'a Strength>,
    pub temperature: Option<&'a Temperature>,
    pub ph: Option<&'a Number>,
    /// Hardness of the water, mg/L as calcium carbonate.
    pub hardness: Option<&'a Strength>,
}

/// A condition of the Code that a solution does not meet, with the Code's figure. Strengths in mg/L.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unmet {
    TooWeak {
        least: Strength,
    },
    TooStrong {
        most: Strength,
    },
    TooCold {
        least: Temperature,
    },
    PhTooHigh {
        most: Number,
    },
    TooHard {
        most: Strength,
    },
    /// A figure that the Code's condition turns on is not given.
    NotGiven {
        what: Figure,
    },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Figure {
    Strength,
    Temperature,
    Ph,
    Hardness,
}

/// Chlorine, 4-501.114(A): mg/L from, least °F at pH 10 or less, at pH 8 or less. Strongest first. In °C: 49 for 25–49 mg/L;
/// 38 and 24 for 50–99; 13 for 100. Above 100 mg/L that row holds; how much chlorine may stay on a surface is another
/// rule's (40 CFR 180.940). Weaker than the last row takes its temperature.
const CHLORINE: [(i64, i64, i64); 3] = [(100, 55, 55), (50, 100, 75), (25, 120, 120)];

pub fn chlorine(solution: &Use) -> Vec<Unmet> {
    let Some(strength) = solution.strength else {
        return vec![Unmet::NotGiven { what: Figure::Strength }];
    };
    let low_ph = solution.ph.is_some_and(|ph| ph <= &Number::int(8));
    let row = CHLORINE.iter().find(|(from, ..)| strength >= &mg_per_l(*from)).unwrap_or(&CHLORINE[2]);
    let least = fahrenheit(if low_ph { row.2 } else { row.1 });
    let weak = (strength < &mg_per_l(25)).then(|| Unmet::TooWeak { least: mg_per_l(25) });
    let unmet = [weak, ph_too_high(solution, Number::int(10)), too_cold(solution, least)];
    unmet.into_iter().flatten().collect()
}

/// Iodine, 4-501.114(B): at least 20 °C (68 °F), pH 5.0 or less (or what the label allows), 12.5 to 25 mg/L.
pub fn iodine(solution: &Use, label_ph: Option<&Number>) -> Vec<Unmet> {
    let least = Strength::milligrams_per_litre(Number::ratio(25, 2));
    let most_ph = label_ph.cloned().unwrap_or(Number::int(5));
    let strength = out_of_strength(solution, least, Some(mg_per_l(25)));
    let unmet = [strength, ph_too_high(solution, most_ph), too_cold(solution, fahrenheit(68))];
    unmet.into_iter().flatten().collect()
}

/// Quaternary ammonium compounds, 4-501.114(C): at least 24 °C (75 °F), the label's strength, water of 500 mg/L
/// hardness or less (or what the label allows).
pub fn quaternary(solution: &Use, label: &Strength, label_hardness: Option<&Strength>) -> Vec<Unmet> {
    let most = label_hardness.cloned().unwrap_or(mg_per_l(500));
    let hard = given(solution.hardness, Figure::Hardness, |hardness| {
        (hardness > &most).then(|| Unmet::TooHard { most: most.clone() })
    });
    let strength = out_of_strength(solution, label.clone(), None);
    [strength, too_cold(solution, fahrenheit(75)), hard].into_iter().flatten().collect()
}

/// What is wrong with a figure; one that is not given meets nothing.
fn given<T>(value: Option<&T>, what: Figure, wrong: impl Fn(&T) -> Option<Unmet>) -> Option<Unmet> {
    value.map_or(Some(Unmet::NotGiven { what }), wrong)
}

fn out_of_strength(solution: &Use, least: Strength, most: Option<Strength>) -> Option<Unmet> {
    given(solution.strength, Figure::Strength, |strength| match &most {
        _ if strength < &least => Some(Unmet::TooWeak { least: least.clone() }),
        Some(most) if strength > most => Some(Unmet::TooStrong { most: most.clone() }),
        _ => None,
    })
}

fn ph_too_high(solution: &Use, most: Number) -> Option<Unmet> {
    given(solution.ph, Figure::Ph, |ph| (ph > &most).then(|| Unmet::PhTooHigh { most: most.clone() }))
}

fn too_cold(solution: &Use, least: Temperature) -> Option<Unmet> {
    given(solution.temperature, Figure::Temperature, |degrees| {
        (degrees < &least).then(|| Unmet::TooCold { least: least.clone() })
    })
}

/// The sanitizers that the contact times tell apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sanitizer {
    Chlorine,
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
    use crate::calc::built_in;
    use crate::calc::testing::{n, ppm};

    fn of(strength: &Strength, degrees: i64, ph: &str, check: impl Fn(&Use) -> Vec<Unmet>) -> Vec<Unmet> {
        let (temperature, ph) = (fahrenheit(degrees), n(ph));
        check(&Use { strength: Some(strength), temperature: Some(&temperature), ph: Some(&ph), hardness: None })
    }

    #[test]
    fn the_chlorine_grid() {
        // Food Code 4-501.114(A), all of it: (mg/L from, to below; least °F at pH 10 or less, at pH 8 or less). The same in
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
        type Row = (String, String, i64, String, Option<String>, Option<String>, Option<String>);
        let rows = built_in::<Row>(include_str!("../../tests/reference/food-code.csv"));
        assert_eq!(rows.len(), 13);
        for (sanitizer, strength, degrees, ph, hardness, allowed, unmet) in rows {
            let (hardness, allowed) = (hardness.as_deref().map(ppm), allowed.as_deref());
            let check = |solution: &Use| match sanitizer.as_str() {
                "iodine" => iodine(solution, allowed.map(n).as_ref()),
                _ => {
                    let solution = Use { hardness: hardness.as_ref(), ..*solution };
                    quaternary(&solution, &ppm("200"), allowed.map(ppm).as_ref())
                }
            };
            let expected = unmet.as_deref().map(|unmet| match unmet.split_once(' ').unwrap() {
                ("weak", least) => Unmet::TooWeak { least: ppm(least) },
                ("strong", most) => Unmet::TooStrong { most: ppm(most) },
                ("cold", least) => Unmet::TooCold { least: fahrenheit(least.parse().unwrap()) },
                ("hard", most) => Unmet::TooHard { most: ppm(most) },
                (_, most) => Unmet::PhTooHigh { most: n(most) },
            });
            let found = of(&ppm(&strength), degrees, &ph, check);
            assert_eq!(found, Vec::from_iter(expected), "{sanitizer} {strength} {degrees} {ph}");
        }
    }

    #[test]
    fn contact_times() {
        // Food Code 4-703.11(C).
        for (sanitizer, strength, degrees, ph, seconds) in [
            (Sanitizer::Chlorine, "50", 100, "10", 7),
            (Sanitizer::Chlorine, "50", 75, "8", 7),
            (Sanitizer::Chlorine, "50", 99, "10", 10),
            (Sanitizer::Chlorine, "50", 74, "8", 10),
            (Sanitizer::Chlorine, "50", 99, "8.1", 10),
            (Sanitizer::Chlorine, "50", 120, "10.1", 10),
            (Sanitizer::Chlorine, "49.9", 120, "8", 10),
            (Sanitizer::Other, "200", 120, "7", 30),
        ] {
            let (strength, temperature, ph) = (ppm(strength), fahrenheit(degrees), n(ph));
            let solution =
                Use { strength: Some(&strength), temperature: Some(&temperature), ph: Some(&ph), hardness: None };
            assert_eq!(contact_time(sanitizer, &solution).as_seconds(), &Number::int(seconds), "{degrees} °F, {ph:?}");
        }
        assert_eq!(contact_time(Sanitizer::Chlorine, &Use::default()).as_seconds(), &n("10"));
    }
}
