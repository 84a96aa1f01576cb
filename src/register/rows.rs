//! Registers as rows of a table for spreadsheets.

use std::collections::BTreeMap;

use super::{Key, Reading, Sum};
use crate::quantity::Number;

/// What each cell of a row of [`uses_rows`] holds.
pub const USES: [&str; 12] = [
    "site",
    "month",
    "product",
    "registration",
    "amounts",
    "treatments",
    "amount",
    "unit",
    "amount_us",
    "unit_us",
    "solution_L",
    "area_m2",
];

/// What each cell of a row of [`readings_rows`] holds.
pub const READINGS: [&str; 14] = [
    "mixed",
    "site",
    "job",
    "product",
    "treatment",
    "load",
    "read_from_mg_L",
    "read_to_mg_L",
    "instrument_error_mg_L",
    "band_from_mg_L",
    "band_from_passes",
    "band_to_mg_L",
    "band_to_passes",
    "result",
];

/// Product used. Millilitres are given in US fluid ounces too, and grams in ounces, since state use reports ask for those.
pub fn uses_rows(sums: &BTreeMap<Key, Sum>) -> impl Iterator<Item = [String; 12]> {
    sums.iter().map(|(key, sum)| {
        let (us, us_unit) = match key.unit.as_str() {
            // 1 US fl oz is 29.5735295625 mL, 1 oz is 28.349523125 g, by definition (NIST Handbook 44, Appendix C)
            "mL" => (per(&sum.product, Number::ratio(295_735_295_625, 10_000_000_000)), "fl oz"),
            "g" => (per(&sum.product, Number::ratio(28_349_523_125, 1_000_000_000)), "oz wt"),
            _ => (String::new(), ""),
        };
        [
            key.site.clone(),
            key.month.clone(),
            key.product.clone(),
            key.registration.clone(),
            key.basis.word().to_owned(),
            sum.treatments.to_string(),
            sum.product.decimal(1),
            key.unit.clone(),
            us,
            us_unit.to_owned(),
            per(&sum.solution, Number::int(1000)),
            sum.area.decimal(2),
        ]
    })
}

/// Readings over time, with their bands. Strengths in mg/L.
pub fn readings_rows(readings: &[&Reading]) -> impl Iterator<Item = [String; 14]> {
    let yes = |passes: bool| if passes { "yes" } else { "no" }.to_owned();
    readings.iter().map(move |r| {
        let [from, from_passes, to, to_passes] = match &r.band {
            Some(band) => [band.low.decimal(0), yes(band.low_passes), band.high.decimal(0), yes(band.high_passes)],
            None => Default::default(),
        };
        [
            r.mixed.clone(),
            r.site.clone(),
            r.job.clone(),
            r.product.clone(),
            r.treatment.to_string(),
            r.load.to_string(),
            r.low.decimal(0),
            r.high.decimal(0),
            r.error.as_ref().map(|error| error.decimal(1)).unwrap_or_default(),
            from,
            from_passes,
            to,
            to_passes,
            r.result().to_owned(),
        ]
    })
}

fn per(amount: &Number, unit: Number) -> String {
    (amount / &unit).decimal(2)
}

#[cfg(test)]
mod tests {
    use super::super::Basis;
    use super::*;

    /// Definition: 128 US fl oz are 3785.411784 mL.
    #[test]
    fn a_gallon_is_128_fluid_ounces() {
        let key = Key {
            site: "S".into(),
            month: "2026-04".into(),
            product: "P".into(),
            registration: String::new(),
            unit: "mL".into(),
            basis: Basis::Measured,
        };
        let sum = Sum { treatments: 1, product: Number::parse("3785.411784").expect("a number"), ..Sum::default() };
        let sums = BTreeMap::from([(key, sum)]);
        let row = uses_rows(&sums).next().expect("one row");
        assert_eq!(row.join(","), "S,2026-04,P,,measured,1,3785.4,mL,128,fl oz,0,0");
    }
}
