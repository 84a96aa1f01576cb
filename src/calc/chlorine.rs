//! Available chlorine: what chlorine products are sold, tested and limited by.
//!
//! Available chlorine is the chlorine (Cl₂) with the same oxidising power: one Cl₂ for each hypochlorite, two for each
//! dichloroisocyanurate. So sodium hypochlorite counts 70.906 / 74.4422 = 0.952497 of its own weight (the inverse is
//! the factor 1.050 of the trade's handbooks, e.g. Handbook of Chlorination, 1972).
//!
//! Atomic weights, from which every factor is exact arithmetic: H 1.00794, Li 6.941, C 12.0107, N 14.0067, O 15.9994,
//! Na 22.9898, Cl 35.453, K 39.0983, Ca 40.078 (IUPAC, conventional; Na + O + Cl and 2 Cl were compared
//! with a published figure, which is the factor).

use super::error::{CalcError, positive};
use crate::quantity::{Density, Number, Share, Strength};

/// Available chlorine of a substance, milligrams for each milligram of it; `None` for a substance not in the table.
///
/// The table holds the chlorine-releasing substances that 40 CFR 180.940 names. A dihydrate is its own entry: it holds
/// less.
pub fn available_chlorine_factor(cas: &str) -> Option<Number> {
    // (molar mass × 10 000, Cl₂ for each molecule)
    let (mass, chlorine) = match cas {
        "7681-52-9" => (744_422, 1),    // NaOCl
        "7790-92-3" => (524_603, 1),    // HOCl
        "7778-66-7" => (905_507, 1),    // KOCl
        "13840-33-0" => (583_934, 1),   // LiOCl
        "7778-54-3" => (1_429_828, 2),  // Ca(OCl)2
        "2782-57-2" => (1_979_643, 2),  // C3HCl2N3O3
        "2893-78-9" => (2_199_462, 2),  // C3Cl2N3O3Na
        "51580-86-0" => (2_559_768, 2), // the same with 2 H2O
        "2244-21-5" => (2_360_547, 2),  // C3Cl2N3O3K
        "87-90-1" => (2_324_094, 3),    // C3Cl3N3O3
        "7673-09-8" => (2_294_551, 3),  // C3H3Cl3N6
        _ => return None,
    };
    Some(Number::ratio(709_060 * chlorine, mass))
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
        let richest = Number::ratio(709_060, 583_934);
        MostAvailable { with_water: richest.clone(), dry: richest, is_hydrate: false }
    }
}

/// The most that a pure compound holds: 100 × active chlorine atoms × 70.906 / molar mass, exact arithmetic on the atomic
/// weights above. `None` for a substance that releases no chlorine, or is not in the table.
///
/// Stock of the dihydrate of sodium dichloroisocyanurate is sold at 55.0 to 57.0 % (Médecins Sans Frontières, catalogue), so
/// partly dried stock lies above the 55.4 % of the pure dihydrate; nothing lies above the 64.5 % of the dry salt. The dry
/// salt's number, 2893-78-9, is often written for either.
pub fn most_available(cas: &str) -> Option<MostAvailable> {
    let factor = |chlorine: i64, mass: i64| Number::ratio(709_060 * chlorine, mass);
    let pair = |with_water, dry, is_hydrate| Some(MostAvailable { with_water, dry, is_hydrate });
    match cas {
        // C3Cl2N3O3Na, and with 2 H2O.
        "2893-78-9" | "51580-86-0" => pair(factor(2, 2_559_768), factor(2, 2_199_462), cas == "51580-86-0"),
        // Ca(OCl)2; with 2 H2O it has 179.0134 g/mol.
        "7778-54-3" => pair(factor(2, 1_790_134), factor(2, 1_429_828), false),
        // C7H7ClNNaO2S, and with 3 H2O: one Cl₂ for each molecule, as of a hypochlorite.
        "127-65-1" | "7080-50-4" => pair(factor(1, 2_816_899), factor(1, 2_276_441), cas == "7080-50-4"),
        other => {
            let dry = available_chlorine_factor(other)?;
            pair(dry.clone(), dry, false)
        }
    }
}

/// Available chlorine of a strength (or, alike, a share) of sodium hypochlorite: × 70.906 / 74.4422.
pub fn from_sodium_hypochlorite(hypochlorite: &Strength) -> Strength {
    hypochlorite.times(&hypochlorite_factor())
}

/// Sodium hypochlorite that holds so much available chlorine: × 74.4422 / 70.906.
pub fn to_sodium_hypochlorite(available: &Strength) -> Strength {
    available.times(&(Number::one() / hypochlorite_factor()))
}

/// Share of available chlorine by weight in a solution with so much sodium hypochlorite by weight.
pub fn available_share(hypochlorite: &Share) -> Share {
    hypochlorite.times(&hypochlorite_factor())
}

/// Trade per cent: grams of available chlorine in 100 mL, that is per cent by weight × density (kg/L).
///
/// # Errors
/// [`CalcError::NotPositive`] for a density not above nought.
pub fn trade_percent(available_by_weight: &Share, density: &Density) -> Result<Number, CalcError> {
    let density = positive(density.as_kilograms_per_litre(), "the density")?;
    Ok(available_by_weight.as_percent() * density)
}

/// Available chlorine of a solution sold by trade per cent, mg/L: 1 % is 10 g/L.
pub fn from_trade_percent(trade: &Number) -> Strength {
    Strength::milligrams_per_litre(trade * &Number::int(10_000))
}

/// Share by weight of sodium hypochlorite in a solution with so much available chlorine in a litre.
///
/// # Errors
/// [`CalcError::NotPositive`] for a density not above nought.
pub fn hypochlorite_by_weight(available: &Strength, density: &Density) -> Result<Share, CalcError> {
    let density = positive(density.as_kilograms_per_litre(), "the density")?;
    let hypochlorite = to_sodium_hypochlorite(available);
    Ok(Share::of_one(hypochlorite.as_milligrams_per_litre() / density / Number::int(1_000_000)))
}

fn hypochlorite_factor() -> Number {
    Number::ratio(709_060, 744_422)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(text: &str) -> Number {
        Number::parse(text).unwrap()
    }

    fn near(value: &Number, published: &str, tolerance: f64) {
        let published = number(published).to_f64();
        let error = (value.to_f64() - published).abs() / published;
        assert!(error <= tolerance, "{} is not {published} within {tolerance}", value.to_f64());
    }

    #[test]
    fn hypochlorite_and_available_chlorine() {
        // Factor 1.050 of the handbooks; its inverse is 0.952497.
        near(&available_chlorine_factor("7681-52-9").unwrap(), "0.952497", 1e-6);
        near(
            to_sodium_hypochlorite(&Strength::milligrams_per_litre(Number::one())).as_milligrams_per_litre(),
            "1.050",
            5e-4,
        );
        // Trade product profile after the Handbook of Chlorination, 1972: 6 % NaOCl is 5.7 % available, 5.25 % is 5.0
        // %, 8.25 % is 7.86 %.
        for (hypochlorite, available) in [("6", "5.7"), ("5.25", "5.0"), ("8.25", "7.86")] {
            near(&available_share(&Share::percent(number(hypochlorite))).as_percent(), available, 3e-3);
        }
        let there_and_back =
            to_sodium_hypochlorite(&from_sodium_hypochlorite(&Strength::milligrams_per_litre(number("321"))));
        assert_eq!(there_and_back.as_milligrams_per_litre(), &number("321"));
    }

    #[test]
    fn trade_per_cent() {
        // The same profile: 5.7 % available × 1.1 is 6.3 trade per cent.
        let density = Density::kilograms_per_litre(number("1.1"));
        let trade = trade_percent(&Share::percent(number("5.7")), &density).unwrap();
        assert_eq!(trade, number("6.27"));
        near(&trade, "6.3", 5e-3);
        assert_eq!(from_trade_percent(&number("12.5")).as_milligrams_per_litre(), &number("125000"));
        // Trade % = g/L available ÷ 10, wt % available = g/L ÷ (10 × SG): 120 g/L at 1.160 kg/L is 12 trade %, 10.34
        // wt %.
        let by_weight = Share::percent(number("120") / number("11.60"));
        assert_eq!(trade_percent(&by_weight, &Density::kilograms_per_litre(number("1.160"))).unwrap(), number("12"));
        // wt % NaOCl = (g/L available × 1.05)/(10 × SG): 120 g/L at 1.160.
        let share =
            hypochlorite_by_weight(&from_trade_percent(&number("12")), &Density::kilograms_per_litre(number("1.160")));
        near(&share.unwrap().as_percent(), "10.862", 1e-3);
        assert!(trade_percent(&Share::percent(number("5")), &Density::zero()).is_err());
    }

    #[test]
    fn doses_as_chlorine() {
        // California State Water Resources Control Board, Division of Drinking Water, February 2018: 11 gal of 0.5 %
        // w/v NaOCl in 40 000 gal are 1.31 mg/L as Cl2; 40 mL/min of 0.25 % w/v into 35 gal/min are 0.72 mg/L.
        let weekly = Strength::milligrams_per_litre(number("5000") * number("11") / number("40000"));
        near(from_sodium_hypochlorite(&weekly).as_milligrams_per_litre(), "1.31", 1e-3);
        let flow = number("35") * number("3785.411784");
        let fed = Strength::milligrams_per_litre(number("2500") * number("40") / flow);
        near(from_sodium_hypochlorite(&fed).as_milligrams_per_litre(), "0.72", 2e-3);
    }

    #[test]
    fn weight_in_volume_of_hypochlorite() {
        // Published pair: 12.5 % w/v NaOCl at density 1.2 is 104 g/kg, 10.4 % w/w, and 9.92 % w/w available.
        let by_weight = number("12.5") / number("1.2");
        near(&by_weight, "10.4", 3e-3);
        near(&available_share(&Share::percent(by_weight)).as_percent(), "9.92", 1e-3);
    }

    #[test]
    fn factors_are_sums_of_atomic_weights() {
        // Atoms of C, H, N, O, Cl, then the metal's weight in all; Cl₂ for each molecule.
        for (cas, atoms, metals, chlorine) in [
            ("7681-52-9", [0, 0, 0, 1, 1], "22.9898", 1),  // NaOCl
            ("7790-92-3", [0, 1, 0, 1, 1], "0", 1),        // HOCl
            ("7778-66-7", [0, 0, 0, 1, 1], "39.0983", 1),  // KOCl
            ("13840-33-0", [0, 0, 0, 1, 1], "6.941", 1),   // LiOCl
            ("7778-54-3", [0, 0, 0, 2, 2], "40.078", 2),   // Ca(OCl)₂
            ("2782-57-2", [3, 1, 3, 3, 2], "0", 2),        // dichloroisocyanuric acid
            ("2893-78-9", [3, 0, 3, 3, 2], "22.9898", 2),  // its sodium salt
            ("51580-86-0", [3, 4, 3, 5, 2], "22.9898", 2), // the same with 2 H₂O
            ("2244-21-5", [3, 0, 3, 3, 2], "39.0983", 2),  // its potassium salt
            ("87-90-1", [3, 0, 3, 3, 3], "0", 3),          // trichloroisocyanuric acid
            ("7673-09-8", [3, 3, 6, 0, 3], "0", 3),        // trichloromelamine
        ] {
            let weights = ["12.0107", "1.00794", "14.0067", "15.9994", "35.453"];
            let mass = atoms
                .into_iter()
                .zip(weights)
                .fold(number(metals), |mass, (count, weight)| mass + Number::int(count) * number(weight));
            let factor = Number::int(chlorine) * number("70.906") / mass;
            near(&available_chlorine_factor(cas).unwrap(), &factor.decimal(9), 2e-6);
        }
    }

    /// 100 × active chlorine atoms × 70.90 / molar mass, the figures of the formula by another hand.
    #[test]
    fn the_most_that_pure_compounds_hold() {
        for (cas, with_water, dry) in [
            ("2893-78-9", "0.5540", "0.6447"),
            ("51580-86-0", "0.5540", "0.6447"),
            ("2244-21-5", "0.601", "0.601"),
            ("2782-57-2", "0.716", "0.716"),
            ("87-90-1", "0.9152", "0.9152"),
            ("7778-54-3", "0.792", "0.9918"),
            ("7681-52-9", "0.953", "0.953"),
            ("13840-33-0", "1.214", "1.214"),
            ("7080-50-4", "0.252", "0.311"),
        ] {
            let most = most_available(cas).unwrap();
            near(&most.with_water, with_water, 2e-3);
            near(&most.dry, dry, 2e-3);
        }
        assert_eq!(most_available("64-17-5"), None);
        // Water of crystallization: 18.01528 g/mol each.
        near(&(number("142.9828") + number("36.03056")), "179.0134", 1e-6);
        near(&(number("227.6441") + number("54.04584")), "281.6899", 1e-6);
    }

    #[test]
    fn isocyanurates() {
        // MSF catalogue: NaDCC anhydrous holds over 62.0 %, the dihydrate 55.0 to 57.0 %.
        let anhydrous = available_chlorine_factor("2893-78-9").unwrap();
        assert!(anhydrous > number("0.62") && anhydrous < number("0.65"));
        let dihydrate = available_chlorine_factor("51580-86-0").unwrap();
        assert!(dihydrate > number("0.55") && dihydrate < number("0.57"));
        // Trichloroisocyanuric acid: 91.5 %; calcium hypochlorite: 99.2 %, worked out from IUPAC masses.
        near(&available_chlorine_factor("87-90-1").unwrap(), "0.915", 1e-3);
        near(&available_chlorine_factor("7778-54-3").unwrap(), "0.992", 1e-3);
        assert_eq!(available_chlorine_factor("64-17-5"), None);
    }
}
