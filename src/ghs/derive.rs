//! From a figure a safety data sheet gives to the one the rules take, where the two are not the same.

use super::class::Class;
use crate::quantity::Number;

/// The estimate over 4 h from one over 1 h, in the same unit: half for gases and vapours, a quarter for mists (29 CFR 1910.1200 App. A
/// Table A.1.1, Note (c)). `None` for a class that is not toxicity breathed in, or does not say in which form.
pub fn four_hours(class: Class, one_hour: &Number) -> Option<Number> {
    let divisor = match class {
        Class::AcuteGas | Class::AcuteVapour => 2,
        Class::AcuteMist => 4,
        _ => return None,
    };
    Some(one_hour / &Number::int(divisor))
}

/// The M-factor of Aquatic Acute 1 from the L(E)C50 in mg/L (CLP Annex I Table 4.1.3, through a secondary source): 1 above 0.1 to 1 mg/L,
/// and ten times more for each decade below. `None` above 1 mg/L, where the category does not hold, and at 0.
pub fn m_acute(l_e_c50: &Number) -> Option<Number> {
    decades(l_e_c50, Number::one())
}

/// The M-factor of Aquatic Chronic 1 from the NOEC in mg/L (the same table): 1 above 0.01 to 0.1 mg/L, and a decade lower for a
/// substance that degrades rapidly. `None` above 0.1 (0.01) mg/L, where the category does not hold, and at 0.
pub fn m_chronic(noec: &Number, rapidly_degradable: bool) -> Option<Number> {
    decades(noec, Number::ratio(1, if rapidly_degradable { 100 } else { 10 }))
}

/// 1 within the decade that ends at `top`, ten for the one below, and so on. The upper end of a decade belongs to it.
fn decades(toxicity: &Number, top: Number) -> Option<Number> {
    if !toxicity.is_positive() || *toxicity > top {
        return None;
    }
    let ten = Number::int(10);
    let (mut bottom, mut factor) = (&top / &ten, Number::one());
    while *toxicity <= bottom {
        bottom = &bottom / &ten;
        factor = factor * &ten;
    }
    Some(factor)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(text: &str) -> Number {
        Number::parse(text).unwrap()
    }

    /// 29 CFR 1910.1200 App. A Table A.1.1, Note (c).
    #[test]
    fn one_hour_is_half_or_a_quarter() {
        let four = |class| four_hours(class, &number("8"));
        assert_eq!(four(Class::AcuteGas), Some(number("4")));
        assert_eq!(four(Class::AcuteVapour), Some(number("4")));
        assert_eq!(four(Class::AcuteMist), Some(number("2")));
        assert_eq!(four(Class::AcuteInhalation), None);
        assert_eq!(four(Class::AcuteOral), None);
    }

    /// CLP Annex I Table 4.1.3 (an encyclopaedia's copy).
    #[test]
    fn m_factors_follow_the_decades() {
        for (toxicity, acute, slow, rapid) in [
            ("1.01", None, None, None),
            ("1", Some(1), None, None),
            ("0.11", Some(1), None, None),
            ("0.1", Some(10), Some(1), None),
            ("0.011", Some(10), Some(1), None),
            ("0.01", Some(100), Some(10), Some(1)),
            ("0.0011", Some(100), Some(10), Some(1)),
            ("0.001", Some(1000), Some(100), Some(10)),
            ("0.0001", Some(10_000), Some(1000), Some(100)),
            ("0", None, None, None),
        ] {
            let toxicity = number(toxicity);
            assert_eq!(m_acute(&toxicity), acute.map(Number::int), "{toxicity}");
            assert_eq!(m_chronic(&toxicity, false), slow.map(Number::int), "{toxicity}");
            assert_eq!(m_chronic(&toxicity, true), rapid.map(Number::int), "{toxicity}");
        }
    }
}
