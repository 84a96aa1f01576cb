//! How large a label and its pictograms are at least in the EU: Regulation (EC) 1272/2008 Annex I 1.2.1, Table 1.3. 29 CFR
//! 1910.1200 (C.2.3 of Appendix C) names no size of a pictogram.

use serde::Serialize;

use crate::quantity::Number;

/// The least sizes for one package, in millimetres.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LeastSize {
    /// Width and height of the label; up to 3 L only "if possible".
    pub label: [i64; 2],
    /// Side of a pictogram's red square itself, so it is 1.41 times as wide across its points.
    pub pictogram: Number,
    /// The side to aim at: a fifteenth of the least label's area.
    pub preferred_pictogram: Number,
    /// Height of a lower-case x: Regulation (EU) 2024/2865, through secondary sources.
    pub x_height: Number,
}

/// The least sizes for a package of so many litres. A limit belongs to the smaller package.
///
/// A pictogram covers a fifteenth of the least label and 1 cm² (1.2.1.4). The table's 16 and 32 mm fall short of the fifteenth by a hair, so
/// the sides here are those of the fifteenth, rounded up to 0.01 mm, wherever that is more than the table's.
pub fn least_size(litres: &Number) -> LeastSize {
    let hundredths = |value| Number::ratio(value, 100);
    let (label, pictogram, preferred, x_height) = if *litres <= 3 {
        let x_height = if *litres <= Number::ratio(1, 2) { 120 } else { 140 };
        ([52, 74], 1000, 1602, x_height)
    } else if *litres <= 50 {
        ([74, 105], 2300, 2300, 180)
    } else if *litres <= 500 {
        ([105, 148], 3219, 3219, 200)
    } else {
        ([148, 210], 4600, 4600, 200)
    };
    LeastSize {
        label,
        pictogram: hundredths(pictogram),
        preferred_pictogram: hundredths(preferred),
        x_height: hundredths(x_height),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(litres: &str) -> LeastSize {
        least_size(&Number::parse(litres).unwrap())
    }

    /// Annex I Table 1.3; x-heights of Regulation (EU) 2024/2865 (two consultancies' summaries).
    #[test]
    fn sizes_at_the_limits() {
        for (litres, label, pictogram, preferred, x_height) in [
            ("0.05", [52, 74], "10", "16", "1.2"),
            ("0.5", [52, 74], "10", "16", "1.2"),
            ("0.51", [52, 74], "10", "16", "1.4"),
            ("3", [52, 74], "10", "16", "1.4"),
            ("3.01", [74, 105], "23", "23", "1.8"),
            ("50", [74, 105], "23", "23", "1.8"),
            ("50.01", [105, 148], "32", "32", "2"),
            ("500", [105, 148], "32", "32", "2"),
            ("500.01", [148, 210], "46", "46", "2"),
        ] {
            let size = of(litres);
            assert_eq!(size.label, label, "{litres} L");
            assert_eq!(size.pictogram.decimal(0), pictogram, "{litres} L");
            assert_eq!(size.preferred_pictogram.decimal(0), preferred, "{litres} L");
            assert_eq!(size.x_height, Number::parse(x_height).unwrap(), "{litres} L");
        }
    }

    /// Annex I 1.2.1.4: a fifteenth of the least label and 1 cm²; 0.01 mm less would not be a fifteenth where the table falls short of it.
    #[test]
    fn a_pictogram_covers_a_fifteenth() {
        for (litres, exact) in [("1", true), ("10", false), ("100", true), ("1000", false)] {
            let size = of(litres);
            let fifteenth = Number::ratio(size.label[0] * size.label[1], 15);
            let area = |side: &Number| side * side;
            assert!(area(&size.pictogram) >= 100, "{litres} L");
            assert!(area(&size.preferred_pictogram) >= fifteenth, "{litres} L");
            let less = &size.preferred_pictogram - &Number::ratio(1, 100);
            assert_eq!(area(&less) < fifteenth, exact, "{litres} L");
        }
    }
}
