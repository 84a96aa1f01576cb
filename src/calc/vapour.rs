//! How much of a flammable solution a volume of air can take up.
//!
//! 29 CFR 1910.123(d) and 1910.124(b)(1) keep the air outside the vapor area of a dip tank below a quarter of the lower
//! flammable limit. They are written for dip tanks; no rule is published for disinfecting, so the same quarter is used as
//! a yardstick, because it protects. With even mixing, at 20 °C and 101.325 kPa:
//!
//! `grams of vapor in a cubic meter = 1/4 × limit × 1000 L/m³ ÷ 24.055 L/mol × molar mass`
//!
//! At the spray itself the air is far richer.

use crate::quantity::{Number, Strength};

/// An alcohol: CAS number, lower flammable limit in tenths of a percent by volume (NIOSH Pocket Guide to Chemical
/// Hazards: ethyl alcohol 3.3 %, isopropyl alcohol 2.0 %), molar mass in hundredths of g/mol (IUPAC masses).
const LIMITS: &[(&str, i64, i64)] = &[("64-17-5", 33, 4607), ("67-63-0", 20, 6010)];

/// Grams of vapor in a cubic meter of air at a quarter of the lower flammable limit; `None` for a substance that is not in
/// the table.
fn quarter_of_limit(cas: &str) -> Option<Number> {
    let (_, tenths, hundredths) = LIMITS.iter().find(|(number, _, _)| *number == cas)?;
    let liters = Number::ratio(*tenths, 1000) / Number::int(4) * Number::int(1000);
    let moles = liters / Number::ratio(24_055, 1000);
    Some(moles * Number::ratio(*hundredths, 100))
}

/// Cubic meters of air that one liter of solution takes, so that its vapor stays at a quarter of the lower flammable
/// limit. Vapors of several substances add up, as each takes its own share of its limit (Le Chatelier's rule). `None` where no
/// substance is in the table.
pub fn air_for_a_litre<'a>(held: impl IntoIterator<Item = (&'a str, &'a Strength)>) -> Option<Number> {
    let each = held.into_iter().filter_map(|(cas, strength)| {
        let grams = strength.as_milligrams_per_litre() / Number::int(1000);
        Some(grams / quarter_of_limit(cas)?)
    });
    let sum: Number = each.sum();
    sum.is_positive().then_some(sum)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calc::testing::{near, ppm};

    #[test]
    fn grams_and_millilitres_at_a_quarter_of_the_limit() {
        // From the limits: ethanol 15.8 g, propan-2-ol 12.5 g in a cubic meter. 28.6 mL of 70 % v/v ethanol (0.789 kg/L,
        // 552.3 g/L) and 22.7 mL of 70 % v/v propan-2-ol (0.785 kg/L, 549.5 g/L) bring it there.
        for (cas, grams, strength, millilitres) in
            [("64-17-5", 15.8, "552300", 28.6), ("67-63-0", 12.5, "549500", 22.7)]
        {
            near(quarter_of_limit(cas).unwrap().to_f64(), grams, 3.2e-3);
            near(1000.0 / air_for_a_litre([(cas, &ppm(strength))]).unwrap().to_f64(), millilitres, 3.4e-3);
        }
        assert_eq!(quarter_of_limit("7732-18-5"), None);
    }

    #[test]
    fn two_alcohols_take_the_air_of_both() {
        let strength = ppm("100000");
        let of = |numbers: &[&'static str]| air_for_a_litre(numbers.iter().map(|cas| (*cas, &strength)));
        let each = [of(&["64-17-5"]), of(&["67-63-0"])].map(Option::unwrap);
        assert_eq!(of(&["64-17-5", "67-63-0"]), Some(&each[0] + &each[1]));
        assert_eq!(of(&["7722-84-1"]), None);
    }
}
