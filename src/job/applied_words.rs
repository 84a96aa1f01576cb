//! What a crew writes into the log in its own way: what was read of the strength, and why something was left out.

use super::applied::Reading;
use crate::quantity::{Number, QuantityError, Share, Strength, parse};
use crate::report::Report;
use crate::yaml::{Fields, Node};

/// `reading` and `instrument`: `600 ppm`; `600 to 800 ppm` where the color lies between two blocks; a figure with
/// `instrument: ±5 %` where it was not read on blocks.
pub(super) fn read_reading(fields: &Fields<'_>, report: &mut Report) -> Option<Reading> {
    let instrument = fields.get("instrument");
    let Some(node) = fields.get("reading") else {
        if let Some(alone) = instrument {
            let message = "an instrument's error stands here, and no `reading`";
            let problem = alone.error("bad-reading", message);
            report.push(problem.hint("give the figure too, such as `reading: 190 ppm`"));
        }
        return None;
    };
    let (low, high) = node.parse(report, figures)?;
    if high < low {
        report.push(node.error("bad-reading", "the first figure is the lower one"));
        return None;
    }
    let Some(instrument) = instrument else {
        return Some(Reading { low, high, instrument: None });
    };
    let error = read_error(&instrument, &low, report)?;
    if low != high {
        let problem = node.error("bad-reading", "an instrument shows one figure, not two");
        report.push(problem.hint("take `instrument` out if this was read between two blocks of a strip"));
        return None;
    }
    Some(Reading { low, high, instrument: Some(error) })
}

fn figures(text: &str) -> Result<(Strength, Strength), QuantityError> {
    match text.split_once(" to ") {
        Some((low, high)) => {
            let high_strength = parse::strength(high)?;
            // `600 to 800 ppm`: the unit stands once.
            let low_strength = parse::strength(low).or_else(|_| {
                let unit = high.trim_start_matches(|c: char| c.is_ascii_digit() || ".,".contains(c));
                parse::strength(&format!("{low}{unit}"))
            })?;
            Ok((low_strength, high_strength))
        }
        None => parse::strength(text).map(|s| (s.clone(), s)),
    }
}

/// An instrument's error, as a share of the figure or as a strength of its own: `±5 %`, `5 %`, `± 10 ppm`.
fn read_error(node: &Node<'_>, figure: &Strength, report: &mut Report) -> Option<Strength> {
    let text = node.text(report)?;
    let bare = ["±", "+/-", "+-"].iter().find_map(|sign| text.strip_prefix(sign));
    let bare = bare.unwrap_or(&text).trim();
    let share = |share: Share| figure.times(share.as_of_one());
    let error = parse::share(bare).map(share).or_else(|_| parse::strength(bare));
    match error {
        Ok(error) if error.as_milligrams_per_litre() > &Number::zero() || figure.is_zero() => Some(error),
        _ => {
            let message = format!("`{text}` is not the error of an instrument");
            let problem = node.error("bad-instrument", message);
            let hint = "write its error from its papers, such as `instrument: ±5 %` or `instrument: ±10 ppm`; none measures without";
            report.push(problem.hint(hint));
            None
        }
    }
}

/// Words that say that something was left out, and not why.
const NO_REASON: [&str; 14] =
    ["yes", "y", "true", "on", "no", "n", "false", "off", "x", "-", "–", "skipped", "none", "n/a"];

/// Why something was left out. `yes` gives no reason, and `no` says that it was not left out: neither is taken for one.
pub(super) fn read_skipped(fields: &Fields<'_>, report: &mut Report) -> Option<String> {
    let node = fields.get("skipped")?;
    let text = node.text(report)?;
    let lacks_letters = !text.chars().any(char::is_alphabetic);
    if lacks_letters || NO_REASON.contains(&text.to_lowercase().as_str()) {
        let problem = node.error("skipped-no-reason", format!("`{text}` does not say why it was left out"));
        let hint = "write the reason, such as `skipped: the gate was locked`; what was done has no `skipped`";
        report.push(problem.hint(hint));
        return None;
    }
    Some(text)
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::yaml::Source;

    fn of<T>(text: &str, read: impl Fn(&Fields<'_>, &mut Report) -> Option<T>) -> (Option<T>, String) {
        let mut report = Report::new();
        let source = Source::from_text(Path::new("log.yaml"), text.to_owned(), &mut report).expect("YAML");
        let fields = source.root().fields(&["reading", "instrument", "skipped"], &mut report);
        let found = read(&fields.expect("a mapping"), &mut report);
        (found, report.to_string())
    }

    #[test]
    fn an_instrument_has_an_error() {
        let ppm = |n| Strength::milligrams_per_litre(Number::int(n));
        let (found, _) = of("reading: 200 ppm\ninstrument: ±5 %", read_reading);
        assert_eq!(found.and_then(|r| r.instrument), Some(ppm(10)));
        let (found, _) = of("reading: 200 ppm\ninstrument: +/- 7 ppm", read_reading);
        assert_eq!(found.and_then(|r| r.instrument), Some(ppm(7)));
        for (text, code) in [
            ("reading: 200 ppm\ninstrument: yes", "bad-instrument"),
            ("reading: 200 ppm\ninstrument: 0 %", "bad-instrument"),
            ("reading: 200 to 400 ppm\ninstrument: 5 %", "bad-reading"),
            ("instrument: 5 %", "bad-reading"),
            ("reading: 400 to 200 ppm", "bad-reading"),
        ] {
            let (found, told) = of(text, read_reading);
            assert!(found.is_none() && told.contains(code), "{text}: {told}");
        }
    }

    #[test]
    fn a_reason_is_more_than_yes() {
        for bare in ["yes", "true", "no", "No", "x", "\"-\"", "\"?\"", "1"] {
            let (found, told) = of(&format!("skipped: {bare}"), read_skipped);
            assert!(found.is_none() && told.contains("skipped-no-reason"), "{bare}: {told}");
        }
        assert_eq!(of("skipped: gate locked", read_skipped).0.as_deref(), Some("gate locked"));
    }
}
