//! How many figures of a number a reader is shown. Its marks are the [`Notation`]'s.

use super::notation::Notation;
use super::number::Number;

impl Notation {
    /// The number rounded to `places` decimals, zeros at the end dropped, thousands separated.
    pub(crate) fn fixed(&self, value: &Number, places: u32) -> String {
        self.marked(&value.decimal(places))
    }

    /// The number rounded to so many significant figures.
    pub(crate) fn significant(&self, value: &Number, figures: u32) -> String {
        let places = i64::from(figures) - 1 - i64::from(magnitude(value));
        match u32::try_from(places) {
            Ok(places) => self.fixed(value, places),
            Err(_) => {
                // Figures left of the point are rounded off too: 1,234 to three figures is 1,230.
                let step = (0..-places).fold(Number::one(), |step, _| step * Number::int(10));
                self.fixed(&value.round_to(&step), 0)
            }
        }
    }

    /// The number as it is where it is short (at most `exact` decimals), else to so many significant figures.
    pub(crate) fn exact_or_significant(&self, value: &Number, exact: u32, figures: u32) -> String {
        if short(value, exact) { self.fixed(value, exact) } else { self.significant(value, figures) }
    }

    /// Short figures as they are, others to three figures.
    pub(crate) fn usual(&self, value: &Number) -> String {
        self.exact_or_significant(value, 2, 3)
    }

    pub(crate) fn three(&self, value: &Number) -> String {
        self.significant(value, 3)
    }

    /// For measuring: see [`places_for`].
    pub(crate) fn measured(&self, value: &Number) -> String {
        self.fixed(value, places_for(value, value, 2))
    }
}

/// The fewest decimals that show `value` within one part in 400 of `whole`, or show it exactly where that takes at most
/// `exact` decimals: so that what is measured by a printed figure is never as much as 0.5 % off.
pub(crate) fn places_for(value: &Number, whole: &Number, exact: u32) -> u32 {
    if short(value, exact) {
        return exact;
    }
    let near_enough = whole.abs() / Number::int(400);
    let near = |places: &u32| {
        let rounded = rounded(value, *places);
        (rounded - value).abs() <= near_enough
    };
    (0..MOST_PLACES).find(near).unwrap_or(MOST_PLACES)
}

/// The number rounded to so many decimals.
pub(crate) fn rounded(value: &Number, places: u32) -> Number {
    let step = (0..places).fold(Number::one(), |step, _| step / Number::int(10));
    value.round_to(&step)
}

/// A bound for the loops; nothing a person measures has as many decimals.
const MOST_PLACES: u32 = 60;

/// Whether it ends within so many decimals, and is no longer than a reader can take in.
fn short(value: &Number, places: u32) -> bool {
    rounded(value, places) == *value && value.abs() < 100_000
}

/// The power of ten of its first figure: 2 for 345, −1 for 0.5. Zero has 0.
fn magnitude(value: &Number) -> i32 {
    let value = value.abs();
    if value.is_zero() {
        return 0;
    }
    let ten = Number::int(10);
    let most = MOST_PLACES.cast_signed();
    let (mut power, mut unit) = (0, Number::one());
    while unit > value && power > -most {
        unit = unit / &ten;
        power -= 1;
    }
    while &unit * &ten <= value && power < most {
        unit = unit * &ten;
        power += 1;
    }
    power
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(text: &str) -> Number {
        Number::parse(text).unwrap()
    }

    #[test]
    fn thousands_are_parted() {
        for (value, places, text) in [
            ("999", 0, "999"),
            ("1000", 0, "1,000"),
            ("1234567.5", 1, "1,234,567.5"),
            ("-1234", 0, "−1,234"),
            ("-0.004", 2, "0"),
            ("12.50", 2, "12.5"),
        ] {
            assert_eq!(Notation::english().fixed(&number(value), places), text);
        }
    }

    #[test]
    fn significant_figures_never_lose_the_number() {
        for (value, figures, text) in [
            ("107.88", 3, "108"),
            ("1234", 3, "1,230"),
            ("0.0012345", 3, "0.00123"),
            ("99.96", 3, "100"),
            ("9.996", 3, "10"),
            ("0", 3, "0"),
            ("1e-30", 2, "0.000000000000000000000000000001"),
            ("-12.34", 3, "−12.3"),
        ] {
            assert_eq!(Notation::english().significant(&number(value), figures), text);
        }
    }

    #[test]
    fn fewest_places_within_a_quarter_per_cent() {
        for (value, places) in [("221.8", 0), ("15.6251", 1), ("0.123456", 4), ("45.4249", 1)] {
            assert_eq!(places_for(&number(value), &number(value), 0), places, "{value}");
        }
        assert_eq!(places_for(&number("127.5"), &number("127.5"), 2), 2);
    }
}
