//! Registers as CSV (RFC 4180), for spreadsheets: with a header, CRLF, and no cell that a spreadsheet would calculate.

use std::collections::BTreeMap;

use super::{Key, Reading, Sum};
use crate::quantity::Number;

/// Product used. Millilitres are given in US fluid ounces too, and grams in ounces, since state use reports ask for those.
pub fn uses_csv(sums: &BTreeMap<Key, Sum>) -> String {
    let mut text = row(&[
        "site",
        "month",
        "product",
        "registration",
        "log",
        "treatments",
        "amount",
        "unit",
        "amount_us",
        "unit_us",
        "solution_L",
        "area_m2",
    ]);
    for (key, sum) in sums {
        let (us, us_unit) = match key.unit.as_str() {
            // 1 US fl oz is 29.5735295625 mL, 1 oz is 28.349523125 g, by definition (NIST Handbook 44, Appendix C)
            "mL" => (
                per(&sum.product, Number::ratio(295_735_295_625, 10_000_000_000)),
                "fl oz",
            ),
            "g" => (per(&sum.product, Number::ratio(28_349_523_125, 1_000_000_000)), "oz wt"),
            _ => (String::new(), ""),
        };
        text += &row(&[
            &key.site,
            &key.month,
            &key.product,
            &key.registration,
            if key.logged { "yes" } else { "no" },
            &sum.treatments.to_string(),
            &sum.product.decimal(1),
            &key.unit,
            &us,
            us_unit,
            &per(&sum.solution, Number::int(1000)),
            &sum.area.decimal(2),
        ]);
    }
    text
}

/// Readings over time, with their bands. Strengths in mg/L.
pub fn readings_csv(readings: &[&Reading]) -> String {
    let mut text = row(&[
        "mixed",
        "site",
        "job",
        "product",
        "treatment",
        "load",
        "read_from_mg_L",
        "read_to_mg_L",
        "band_from_mg_L",
        "band_from_passes",
        "band_to_mg_L",
        "result",
    ]);
    for r in readings {
        let (from, passes, to) = match &r.band {
            Some((low, passes, high)) => (low.decimal(0), if *passes { "yes" } else { "no" }, high.decimal(0)),
            None => (String::new(), "", String::new()),
        };
        text += &row(&[
            &r.mixed,
            &r.site,
            &r.job,
            &r.product,
            &r.treatment.to_string(),
            &r.load.to_string(),
            &r.low.decimal(0),
            &r.high.decimal(0),
            &from,
            passes,
            &to,
            r.result(),
        ]);
    }
    text
}

fn per(amount: &Number, unit: Number) -> String {
    (amount / &unit).decimal(2)
}

fn row(cells: &[&str]) -> String {
    let cells: Vec<String> = cells.iter().map(|text| cell(text)).collect();
    cells.join(",") + "\r\n"
}

/// A cell: in quotation marks where it must be, and with an apostrophe before what a spreadsheet would take for a formula.
fn cell(text: &str) -> String {
    let formula = text
        .trim_start()
        .starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠'])
        || text.starts_with(['\t', '\r', '\n']);
    let text = if formula { format!("'{text}") } else { text.to_owned() };
    if text.contains([',', '"', '\n', '\r', ';', '\'']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_cell_is_a_formula() {
        assert_eq!(cell("Gull Point"), "Gull Point");
        assert_eq!(cell("1,140"), "\"1,140\"");
        for text in ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "  =1", "＝1"] {
            assert_eq!(cell(text), format!("\"'{text}\""), "{text:?}");
        }
        assert_eq!(cell("=HYPERLINK(\"x\")"), "\"'=HYPERLINK(\"\"x\"\")\"");
    }

    /// Definition: 128 US fl oz are 3785.411784 mL.
    #[test]
    fn a_gallon_is_128_fluid_ounces() {
        let key = Key {
            site: "S".into(),
            month: "2026-04".into(),
            product: "P".into(),
            registration: String::new(),
            unit: "mL".into(),
            logged: true,
        };
        let sum = Sum {
            treatments: 1,
            product: Number::parse("3785.411784").expect("a number"),
            ..Sum::default()
        };
        let text = uses_csv(&BTreeMap::from([(key, sum)]));
        assert!(
            text.ends_with("S,2026-04,P,,yes,1,3785.4,mL,128,fl oz,0,0\r\n"),
            "{text}"
        );
    }
}
