//! The smallest type and pictograms that a label may have, by the rules it follows and the container it is for.

use crate::company::stock::millimetres;
use crate::ghs::RuleSet;
use crate::quantity::{Length, Number, Volume};

/// No type on a label is smaller than this, whatever it says.
pub(super) const SMALLEST_POINTS: f64 = 6.0;

/// The least size of type and pictograms.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Least {
    /// Body size of the type in points.
    pub type_points: Number,
    /// From one line of type to the next, in ems.
    pub line_pitch: Number,
    /// Across a pictogram, which stands on its point, in millimeters: at least, and if there is room.
    pub pictogram_mm: Number,
    pub pictogram_wanted_mm: Number,
    /// Whether letters keep their full width and all is black on white.
    pub plain: bool,
}

/// The x-height of IBM Plex Sans in ems: 516 units of 1000 (its OS/2 table, `sxHeight`).
fn x_height() -> Number {
    Number::ratio(516, 1000)
}

impl Least {
    /// What both ask for.
    pub(super) fn stricter(self, other: Least) -> Least {
        Least {
            type_points: other.type_points.max(self.type_points),
            line_pitch: other.line_pitch.max(self.line_pitch),
            pictogram_mm: other.pictogram_mm.max(self.pictogram_mm),
            pictogram_wanted_mm: other.pictogram_wanted_mm.max(self.pictogram_wanted_mm),
            plain: other.plain || self.plain,
        }
    }
}

/// What rules and container ask for.
///
/// Under EU and UK rules the pictogram sizes are those of Regulation (EC) 1272/2008 (CLP), Annex I, Table 1.3, for the
/// container's capacity. They are read as the side of the square itself, since after 1.2.1.4 the symbol covers a fifteenth of
/// the least label, and never less than 1 cm²: a square of 23 mm covers 529 mm², a fifteenth of 74 × 105 mm is 518 mm², and a
/// square of 23 mm from point to point would cover half of that. Across is the diagonal, of the larger of both. Up to 3 L the
/// table wants 16 mm if possible and 10 mm always. x-heights, a pitch of lines of 120 % of the type, and black letters of full
/// width on white are those of Regulation (EU) 2024/2865, taken before they bind. 29 CFR 1910.1200 names no size (Appendix
/// C.2.3 asks for a frame wide enough to be clearly visible): 6 pt, and 10 mm across, are the choice of this program.
pub(super) fn least(rules: RuleSet, container: &Volume) -> Least {
    let six = Number::int(6);
    match rules {
        RuleSet::UnitedStates => Least {
            type_points: six,
            line_pitch: Number::one(),
            pictogram_mm: Number::int(10),
            pictogram_wanted_mm: Number::int(10),
            plain: false,
        },
        RuleSet::EuUk => {
            let liters = container.as_millilitres() / &Number::int(1000);
            // up to so many liters: tenths of a millimeter of x-height; tenths of a millimeter across a pictogram, and if possible
            let rows =
                [(Number::ratio(1, 2), 12, 142, 227), (Number::int(3), 14, 142, 227), (Number::int(50), 18, 326, 326)];
            let row = rows.iter().find(|(most, ..)| liters <= *most);
            let (x, across, wanted) = match row {
                Some((_, x, across, wanted)) => (*x, *across, *wanted),
                None if liters <= Number::int(500) => (20, 456, 456),
                None => (20, 651, 651),
            };
            let x_height_points = &Number::ratio(x, 10) * &Number::ratio(720, 254);
            let type_points = &x_height_points / &x_height();
            Least {
                // to the hundredth above, so that rounding never takes it below
                type_points: type_points.ceil_to(&Number::ratio(1, 100)).max(six),
                line_pitch: Number::ratio(12, 10),
                pictogram_mm: Number::ratio(across, 10),
                pictogram_wanted_mm: Number::ratio(wanted, 10),
                plain: true,
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

    fn of(rules: RuleSet, millilitres: i64) -> (f64, [f64; 2]) {
        let Least { type_points, pictogram_mm, pictogram_wanted_mm, .. } =
            least(rules, &Volume::millilitres(Number::int(millilitres)));
        (type_points.to_f64(), [pictogram_mm.to_f64(), pictogram_wanted_mm.to_f64()])
    }

    /// Regulation (EC) 1272/2008, Annex I, 1.2.1.4 and Table 1.3 as amended by Regulation (EU) 2024/2865. An x-height of 1.2 mm
    /// is 1.2 / 25.4 × 72 = 3.402 pt, and that is 3.402 / 0.516 = 6.60 pt of IBM Plex Sans. A square covers half of its diagonal
    /// squared: no less than the table's side squared and a fifteenth of the table's label, and a tenth of a millimeter makes
    /// one percent at most.
    #[test]
    fn eu_sizes_go_by_the_container() {
        let small = 52.0 * 74.0 / 15.0;
        for (millilitres, points, covered, wanted) in [
            (500, 6.60, 100.0, small),
            (501, 7.70, 100.0, small),
            (3_000, 7.70, 100.0, small),
            (3_001, 9.89, 23.0 * 23.0, 74.0 * 105.0 / 15.0),
            (50_000, 9.89, 23.0 * 23.0, 74.0 * 105.0 / 15.0),
            (50_001, 10.99, 32.0 * 32.0, 105.0 * 148.0 / 15.0),
            (500_000, 10.99, 32.0 * 32.0, 105.0 * 148.0 / 15.0),
            (500_001, 10.99, 46.0 * 46.0, 148.0 * 210.0 / 15.0),
        ] {
            let (found, across) = of(RuleSet::EuUk, millilitres);
            assert_eq!(found, points, "{millilitres} mL");
            let [least, best] = across.map(|across| across * across / 2.0);
            assert!(least >= covered && least <= covered * 1.02, "{millilitres} mL: {least}");
            assert!(best >= least && best >= wanted && best <= wanted.max(covered) * 1.01, "{millilitres} mL: {best}");
        }
    }

    #[test]
    fn us_sizes_do_not() {
        assert_eq!(of(RuleSet::UnitedStates, 500), (6.0, [10.0, 10.0]));
        assert_eq!(of(RuleSet::UnitedStates, 200_000), (6.0, [10.0, 10.0]));
    }

    #[test]
    fn a_code_is_never_too_fine_for_203_dpi() {
        assert_eq!(code_mm(41), Number::int(15));
        let fine = code_mm(65);
        assert!(fine > Number::int(15));
        assert!(&fine / &Number::int(65) >= Number::ratio(2 * 254, 2030));
    }
}
