//! The smallest type and pictograms that a label may have, by the rules it follows and the container it is for.

use crate::company::stock::millimetres;
use crate::ghs::RuleSet;
use crate::quantity::{Length, Number, Volume};

/// The least size of type and pictograms.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Least {
    /// Body size of the type in points.
    pub type_points: Number,
    /// From one line of type to the next, in ems.
    pub line_pitch: Number,
    /// A side of the square on a point that frames a pictogram, in millimeters.
    pub pictogram_mm: Number,
}

/// The x-height of IBM Plex Sans in ems: 516 units of 1000 (its OS/2 table, `sxHeight`).
fn x_height() -> Number {
    Number::ratio(516, 1000)
}

/// What rules and container ask for.
///
/// Under EU and UK rules the pictogram sizes are those of Regulation (EC) 1272/2008 (CLP), Annex I, Table 1.3, for the
/// container's capacity; x-heights and a pitch of lines of 120 % of the type are those of Regulation (EU) 2024/2865,
/// taken before they bind. 29 CFR 1910.1200 names no size (Appendix C.2.3 asks for a frame wide enough to be
/// clearly visible): 6 pt and 10 mm, the least that CLP names, are
/// the choice of this program.
pub(super) fn least(rules: RuleSet, container: &Volume) -> Least {
    let six = Number::int(6);
    match rules {
        RuleSet::UnitedStates => Least { type_points: six, line_pitch: Number::one(), pictogram_mm: Number::int(10) },
        RuleSet::EuUk => {
            let liters = container.as_millilitres() / &Number::int(1000);
            // up to so many liters: tenths of a millimeter of x-height, millimeters of pictogram
            let rows = [(Number::ratio(1, 2), 12, 10), (Number::int(3), 14, 10), (Number::int(50), 18, 23)];
            let row = rows.iter().find(|(most, ..)| liters <= *most);
            let (x, pictogram) = match row {
                Some((_, x, pictogram)) => (*x, *pictogram),
                None if liters <= Number::int(500) => (20, 32),
                None => (20, 46),
            };
            let x_height_points = &Number::ratio(x, 10) * &Number::ratio(720, 254);
            let type_points = &x_height_points / &x_height();
            Least {
                // to the hundredth above, so that rounding never takes it below
                type_points: type_points.ceil_to(&Number::ratio(1, 100)).max(six),
                line_pitch: Number::ratio(12, 10),
                pictogram_mm: Number::int(pictogram),
            }
        }
    }
}

/// The least side of a printed code with its quiet zone, in millimeters: 15 mm, and 0.2503 mm a module, which is two
/// dots of a label printer of 203 dpi (2 × 25.4 / 203 = 0.25025 mm).
pub(super) fn code_mm(modules: usize) -> Number {
    let modules = i64::try_from(modules).unwrap_or(i64::MAX);
    (&Number::int(modules) * &Number::ratio(2503, 10_000)).max(Number::int(15))
}

/// The side of a code whose modules are one dot of a label printer of 203 dpi: a code that is a whole number of these
/// has modules all alike in print.
pub(super) fn code_step_mm(modules: usize) -> Number {
    let modules = i64::try_from(modules).unwrap_or(i64::MAX);
    &Number::int(modules) * &Number::ratio(254, 2030)
}

/// Millimeters for a template: Typst's numbers are floating.
pub(super) fn mm(length: &Length) -> f64 {
    millimetres(length).to_f64()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(rules: RuleSet, millilitres: i64) -> (f64, f64) {
        let least = least(rules, &Volume::millilitres(Number::int(millilitres)));
        (least.type_points.to_f64(), least.pictogram_mm.to_f64())
    }

    /// Regulation (EC) 1272/2008, Annex I, Table 1.3 as amended by Regulation (EU) 2024/2865. An x-height of 1.2 mm is
    /// 1.2 / 25.4 × 72 = 3.402 pt, and that is 3.402 / 0.516 = 6.60 pt of IBM Plex Sans.
    #[test]
    fn eu_sizes_go_by_the_container() {
        for (millilitres, points, pictogram) in [
            (500, 6.60, 10.0),
            (501, 7.70, 10.0),
            (3_000, 7.70, 10.0),
            (3_001, 9.89, 23.0),
            (50_000, 9.89, 23.0),
            (50_001, 10.99, 32.0),
            (500_000, 10.99, 32.0),
            (500_001, 10.99, 46.0),
        ] {
            assert_eq!(of(RuleSet::EuUk, millilitres), (points, pictogram), "{millilitres} mL");
        }
    }

    #[test]
    fn us_sizes_do_not() {
        assert_eq!(of(RuleSet::UnitedStates, 500), (6.0, 10.0));
        assert_eq!(of(RuleSet::UnitedStates, 200_000), (6.0, 10.0));
    }

    #[test]
    fn a_pictogram_is_a_fifteenth_of_the_least_label() {
        // CLP Annex I 1.2.1.4: 74 × 105, 105 × 148 and 148 × 210 mm; the table rounds to whole millimeters.
        for (area, side) in [(74 * 105, 23), (105 * 148, 32), (148 * 210, 46)] {
            let fifteenth = f64::from(area) / 15.0;
            assert!((fifteenth.sqrt() - f64::from(side)).abs() < 0.5, "{area}");
        }
    }

    #[test]
    fn a_code_is_never_too_fine_for_203_dpi() {
        assert_eq!(code_mm(41), Number::int(15));
        let fine = code_mm(65);
        assert!(fine > Number::int(15));
        assert!(&fine / &Number::int(65) >= Number::ratio(2 * 254, 2030));
    }
}
