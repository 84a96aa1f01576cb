//! Moist air: saturation pressure of water vapour and humidity ratio. Estimates, in real numbers.

use super::error::CalcError;

/// Standard pressure of the atmosphere, kPa.
pub const STANDARD_PRESSURE: f64 = 101.325;

/// Saturation pressure of water vapour over liquid water, kPa, at a temperature in °C from 0 to 60.
///
/// Hyland and Wexler's equation as the ASHRAE Handbook of Fundamentals prints it for 0 to 200 °C, with `T` in kelvin
/// and pascals: `ln p = C8/T + C9 + C10 T + C11 T² + C12 T³ + C13 ln T`.
///
/// Refused outside it: below 0 °C a film freezes, above 60 °C nobody disinfects by hand.
pub fn saturation_pressure(celsius: f64) -> Result<f64, CalcError> {
    if !(0.0..=60.0).contains(&celsius) {
        return Err(CalcError::OutOfRange { what: "the air temperature", range: "from 0 to 60 °C (32 to 140 °F)" });
    }
    let t = celsius + 273.15;
    let log = -5.800_220_6e3 / t + 1.391_499_3 - 4.864_023_9e-2 * t + 4.176_476_8e-5 * t * t
        - 1.445_209_3e-8 * t * t * t
        + 6.545_967_3 * t.ln();
    Ok(log.exp() / 1000.0)
}

/// Humidity ratio, kg of vapour for each kg of dry air, of air at a vapour pressure and a total pressure in kPa:
/// `0.621945 p_v / (p − p_v)` (ASHRAE Handbook of Fundamentals).
pub fn humidity_ratio(vapour_pressure: f64, pressure: f64) -> f64 {
    0.621_945 * vapour_pressure / (pressure - vapour_pressure)
}

/// Latent heat of evaporation of water, kJ/kg, at a temperature in °C: `2501 − 2.381 t` (the usual straight line;
/// within 0.1 % to 40 °C).
pub fn latent_heat(celsius: f64) -> f64 {
    2501.0 - 2.381 * celsius
}

/// Wet-bulb temperature, °C, of air at a temperature in °C from 0 to 60, a relative humidity from 0 to 1 and standard
/// pressure: what a wet surface cools itself to. Solves the ASHRAE Handbook's `W = ((2501 − 2.326 t*) W_s(t*) − 1.006
/// (t − t*)) / (2501 + 1.86 t − 4.186 t*)`; not below 0 °C, where the film would freeze.
pub fn wet_bulb(celsius: f64, humidity: f64) -> Result<f64, CalcError> {
    let ratio = humidity_ratio(humidity * saturation_pressure(celsius)?, STANDARD_PRESSURE);
    let (mut low, mut high) = (0.0, celsius);
    // The right side rises with t*, so halving always closes in; 60 halvings exhaust a double.
    for _ in 0..60 {
        let bulb = (low + high) / 2.0;
        let saturated = humidity_ratio(saturation_pressure(bulb)?, STANDARD_PRESSURE);
        let top = (2501.0 - 2.326 * bulb) * saturated - 1.006 * (celsius - bulb);
        if top / (2501.0 + 1.86 * celsius - 4.186 * bulb) < ratio { low = bulb } else { high = bulb }
    }
    Ok(low)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calc::built_in;
    use crate::calc::testing::near;

    fn saturated(celsius: f64) -> f64 {
        saturation_pressure(celsius).unwrap()
    }

    #[test]
    fn saturation_pressures() {
        let rows = built_in::<(f64, f64, f64, String)>(include_str!("../../tests/reference/published-saturation.csv"));
        assert_eq!(rows.len(), 18);
        for (celsius, published, tolerance, _) in rows {
            near(saturated(celsius), published, tolerance);
        }
        for bad in [-0.1, 60.1, f64::NAN] {
            assert!(saturation_pressure(bad).is_err());
        }
    }

    #[test]
    fn saturation_pressures_of_two_libraries() {
        // °C, PsychroLib, CoolProp (IAPWS-95), both in kPa.
        let table = include_str!("../../tests/reference/saturation-pressure.csv");
        let rows = built_in::<(f64, Option<f64>, f64)>(table);
        assert_eq!(rows.len(), 61);
        for (celsius, psychrolib, iapws) in rows {
            // The same equation, to the last digit of the table (1e-8 of 0.66 kPa). At 0 °C PsychroLib takes that for
            // ice, and its cell is empty.
            assert_eq!(psychrolib.is_none(), celsius == 0.0);
            near(saturated(celsius), psychrolib.unwrap_or(saturated(0.0)), 1e-8);
            // Another equation, newer and on another scale of temperature: 0.022 % apart at most, at 25 °C.
            near(saturated(celsius), iapws, 2.3e-4);
        }
    }

    #[test]
    fn moist_air_of_two_libraries() {
        // °C, per cent; humidity ratio by PsychroLib and CoolProp; wet bulb by both.
        let rows = built_in::<[f64; 6]>(include_str!("../../tests/reference/humidity-ratio.csv"));
        assert_eq!(rows.len(), 120);
        for row in rows {
            let [celsius, per_cent, psychrolib, coolprop, psychrolib_bulb, coolprop_bulb] = row;
            let ratio = humidity_ratio(per_cent / 100.0 * saturated(celsius), STANDARD_PRESSURE);
            // The same equations, to the last digit of the table.
            near(ratio, psychrolib, 1e-7);
            // Air and vapor as real gases hold 0.4 to 0.75 % more.
            near(ratio, coolprop, 7.5e-3);
            let bulb = wet_bulb(celsius, per_cent / 100.0).unwrap();
            if psychrolib_bulb < 0.0 {
                // Ice on the bulb is beyond the formula: it stops at 0 °C.
                assert!(coolprop_bulb < 0.0 && (0.0..1e-9).contains(&bulb), "{row:?}: {bulb}");
            } else {
                // PsychroLib halves to 0.001 K and the table rounds to it; the real gas is up to 0.025 K away.
                assert!((bulb - psychrolib_bulb).abs() <= 0.0011, "{row:?}: {bulb}");
                assert!((bulb - coolprop_bulb).abs() <= 0.025, "{row:?}: {bulb}");
            }
        }
        // Engineers' examination, from the chart: 21.5 °C with a wet bulb of 15 °C is 50 %.
        near(wet_bulb(21.5, 0.5).unwrap(), 15.0, 5e-3);
        near(wet_bulb(20.0, 1.0).unwrap(), 20.0, 1e-6);
    }
}
