//! Available chlorine: what chlorine products are sold, tested and limited by.
//!
//! Available chlorine is the chlorine (Cl₂) with the same oxidizing power: one Cl₂ for each hypochlorite, two for each
//! dichloroisocyanurate. So sodium hypochlorite counts 70.906 / 74.4422 = 0.952497 of its own weight (the inverse is
//! the factor 1.050 of the trade's handbooks, e.g. Handbook of Chlorination, 1972).
//!
//! Atomic weights, from which every factor is exact arithmetic: H 1.00794, Li 6.941, C 12.0107, N 14.0067, O 15.9994,
//! Na 22.9898, Cl 35.453, K 39.0983, Ca 40.078 (IUPAC, conventional; Na + O + Cl and 2 Cl were compared
//! with a published figure, which is the factor).

use crate::quantity::Number;

/// A compound that releases chlorine. Molar masses in g/mol × 10,000.
struct Compound {
    cas: &'static str,
    /// Cl₂ for each molecule.
    chlorine: i64,
    dry: i64,
    /// With its water of crystallization, 18.01528 g/mol each, where it takes up any; else as `dry`.
    with_water: i64,
    /// Whether the CAS number is that of the compound with its water.
    is_hydrate: bool,
}

const fn compound(cas: &'static str, chlorine: i64, mass: i64) -> Compound {
    Compound { cas, chlorine, dry: mass, with_water: mass, is_hydrate: false }
}

/// The compounds that 40 CFR 180.940 names.
const LISTED: &[Compound] = &[
    compound("7681-52-9", 1, 744_422),                                         // NaOCl
    compound("7790-92-3", 1, 524_603),                                         // HOCl
    compound("7778-66-7", 1, 905_507),                                         // KOCl
    compound("13840-33-0", 1, 583_934),                                        // LiOCl
    Compound { with_water: 1_790_134, ..compound("7778-54-3", 2, 1_429_828) }, // Ca(OCl)2, and with 2 H2O
    compound("2782-57-2", 2, 1_979_643),                                       // C3HCl2N3O3
    Compound { with_water: 2_559_768, ..compound("2893-78-9", 2, 2_199_462) }, // C3Cl2N3O3Na, and with 2 H2O
    Compound { with_water: 2_559_768, is_hydrate: true, ..compound("51580-86-0", 2, 2_199_462) },
    compound("2244-21-5", 2, 2_360_547), // C3Cl2N3O3K
    compound("87-90-1", 3, 2_324_094),   // C3Cl3N3O3
    compound("7673-09-8", 3, 2_294_551), // C3H3Cl3N6
];

/// Sold for the same use and named on no list: chloramine-T, C7H7ClNNaO2S, and with 3 H2O.
const UNLISTED: &[Compound] = &[
    Compound { with_water: 2_816_899, ..compound("127-65-1", 1, 2_276_441) },
    Compound { with_water: 2_816_899, is_hydrate: true, ..compound("7080-50-4", 1, 2_276_441) },
];

/// 2 Cl, from the same atomic weights.
fn share(chlorine: i64, mass: i64) -> Number {
    Number::ratio(709_060 * chlorine, mass)
}

/// Available chlorine of a substance, milligrams for each milligram of it; `None` for one that 40 CFR 180.940 does not
/// name. A dihydrate is its own entry: it holds less.
pub fn available_chlorine_factor(cas: &str) -> Option<Number> {
    let found = LISTED.iter().find(|compound| compound.cas == cas)?;
    Some(share(found.chlorine, if found.is_hydrate { found.with_water } else { found.dry }))
}

/// The most available chlorine that a compound can hold, milligrams for each milligram of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MostAvailable {
    /// With its water of crystallization, where it takes up any; else as `dry`.
    pub with_water: Number,
    /// Pure and without water.
    pub dry: Number,
    /// Whether the CAS number is that of the compound with its water.
    pub is_hydrate: bool,
}

impl MostAvailable {
    /// That of lithium hypochlorite, the richest of the compounds in use: 121.4 %.
    pub fn of_any() -> Self {
        let richest = share(1, 583_934);
        MostAvailable { with_water: richest.clone(), dry: richest, is_hydrate: false }
    }
}

/// The most that a pure compound holds: active chlorine atoms × 70.906 / molar mass. `None` for a substance that releases
/// no chlorine, or is not in the tables.
///
/// Stock of the dihydrate of sodium dichloroisocyanurate is sold at 55.0 to 57.0 % (Médecins Sans Frontières, catalog), so
/// partly dried stock lies above the 55.4 % of the pure dihydrate; nothing lies above the 64.5 % of the dry salt. The dry
/// salt's number, 2893-78-9, is often written for either.
pub fn most_available(cas: &str) -> Option<MostAvailable> {
    let found = LISTED.iter().chain(UNLISTED).find(|compound| compound.cas == cas)?;
    let of = |mass| share(found.chlorine, mass);
    Some(MostAvailable { with_water: of(found.with_water), dry: of(found.dry), is_hydrate: found.is_hydrate })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calc::built_in;
    use crate::calc::testing::{n, near};

    #[test]
    fn hypochlorite_and_available_chlorine() {
        let factor = available_chlorine_factor("7681-52-9").unwrap().to_f64();
        // Factor 1.050 of the handbooks; its inverse is 0.952497.
        near(factor, 0.952497, 1e-6);
        near(1.0 / factor, 1.050, 5e-4);
        for (hypochlorite, available, tolerance) in [
            // Trade product profile after the Handbook of Chlorination, 1972, per cent by weight.
            (6.0, 5.7, 3e-3),
            (5.25, 5.0, 3e-3),
            (8.25, 7.86, 3e-3),
            // Published pair: 12.5 % w/v at density 1.2 is 10.4 % w/w, and 9.92 % w/w available.
            (12.5 / 1.2, 9.92, 1e-3),
            // California State Water Resources Control Board, Division of Drinking Water, February 2018, mg/L: 11 gal of
            // 0.5 % w/v in 40 000 gal; 40 mL/min of 0.25 % w/v into 35 gal/min.
            (5000.0 * 11.0 / 40_000.0, 1.31, 1e-3),
            (2500.0 * 40.0 / (35.0 * 3785.411784), 0.72, 2e-3),
        ] {
            near(hypochlorite * factor, available, tolerance);
        }
    }

    #[derive(serde::Deserialize)]
    struct Published {
        cas: String,
        c: i64,
        h: i64,
        n: i64,
        o: i64,
        cl: i64,
        metal: String,
        chlorine: i64,
        with_water: Option<f64>,
        dry: Option<f64>,
    }

    #[test]
    fn factors_are_sums_of_atomic_weights_and_agree_with_what_is_published() {
        let rows = built_in::<Published>(include_str!("../../tests/reference/published-chlorine.csv"));
        assert_eq!(rows.len(), LISTED.len());
        for row in rows {
            let weights = ["12.0107", "1.00794", "14.0067", "15.9994", "35.453"].map(n);
            let atoms = [row.c, row.h, row.n, row.o, row.cl].into_iter().zip(weights);
            let mass = n(&row.metal) + atoms.map(|(count, weight)| Number::int(count) * weight).sum::<Number>();
            let factor = Number::int(row.chlorine) * n("70.906") / mass;
            near(available_chlorine_factor(&row.cas).unwrap().to_f64(), factor.to_f64(), 2e-6);
            let most = most_available(&row.cas).unwrap();
            for (ours, published) in [(most.with_water, row.with_water), (most.dry, row.dry)] {
                near(ours.to_f64(), published.unwrap_or(ours.to_f64()), 2e-3);
            }
        }
        // Chloramine-T, by the same formula; 40 CFR 180.940 does not name it.
        let most = most_available("7080-50-4").unwrap();
        near(most.with_water.to_f64(), 0.252, 2e-3);
        near(most.dry.to_f64(), 0.311, 2e-3);
        assert_eq!(available_chlorine_factor("7080-50-4"), None);
        assert_eq!((available_chlorine_factor("64-17-5"), most_available("64-17-5")), (None, None));
    }
}
