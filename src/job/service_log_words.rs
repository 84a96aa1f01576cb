//! What a crew writes into the log in its own way: what was read of the strength, and why something was left out.

use super::service_log::Reading;
use crate::diagnostic::Diagnostics;
use crate::quantity::{Number, QuantityError, Share, Strength, parse};
use crate::yaml::{At, Node, Origin};

/// `600 ppm`, or `600 to 800 ppm` where the color lies between two blocks.
pub(super) fn read_figures(node: &Node<'_>, report: &mut Diagnostics) -> Option<(Strength, Strength)> {
    let (low, high) = node.parse(report, figures)?;
    if high < low {
        report.push(node.error("bad-reading", "the first figure is the lower one"));
        return None;
    }
    Some((low, high))
}

/// `reading` and `instrument` of the load at `origin`: a figure with `instrument: ±5 %` was not read on blocks.
pub(super) fn reading(
    figures: Option<(Strength, Strength)>,
    instrument: Option<&At<String>>,
    origin: &Origin,
    report: &mut Diagnostics,
) -> Option<Reading> {
    let Some((low, high)) = figures else {
        if let Some(alone) = instrument.filter(|_| !origin.has("reading")) {
            let message = "an instrument's error stands here, and no `reading`";
            let problem = alone.origin.error("bad-reading", message);
            report.push(problem.hint("give the figure too, such as `reading: 190 ppm`"));
        }
        return None;
    };
    let Some(instrument) = instrument else {
        return Some(Reading { low, high, instrument: None });
    };
    let error = read_error(instrument, &low, report)?;
    if low != high {
        let problem = origin.key("reading").error("bad-reading", "an instrument shows one figure, not two");
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
fn read_error(
    At { value: text, origin }: &At<String>,
    figure: &Strength,
    report: &mut Diagnostics,
) -> Option<Strength> {
    let bare = ["±", "+/-", "+-"].iter().find_map(|sign| text.strip_prefix(sign));
    let bare = bare.unwrap_or(text).trim();
    let share = |share: Share| figure.times(share.as_of_one());
    let error = parse::share(bare).map(share).or_else(|_| parse::strength(bare));
    match error {
        Ok(error) if error.as_milligrams_per_litre() > &Number::zero() || figure.is_zero() => Some(error),
        _ => {
            let message = format!("`{text}` is not the error of an instrument");
            let problem = origin.error("bad-instrument", message);
            let hint = "write its error from its papers, such as `instrument: ±5 %` or `instrument: ±10 ppm`; none measures without";
            report.push(problem.hint(hint));
            None
        }
    }
}

/// Words that say that something was left out, and not why.
pub const NO_REASON: [&str; 14] =
    ["yes", "y", "true", "on", "no", "n", "false", "off", "x", "-", "–", "skipped", "none", "n/a"];

/// Why something was left out. `yes` gives no reason, and `no` says that it was not left out: neither is taken for one.
pub(super) fn read_skipped(node: &Node<'_>, report: &mut Diagnostics) -> Option<String> {
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
    use crate::yaml::{Declared, Source};

    fn of(text: &str) -> (Option<Reading>, Option<String>, String) {
        let mut report = Diagnostics::new();
        let source = Source::from_text(Path::new("log.yaml"), text.to_owned(), &mut report).expect("YAML");
        let root = source.root();
        let figures = root.get("reading").and_then(|n| read_figures(&n, &mut report));
        let instrument = root.get("instrument").and_then(|n| At::from_node(&n, &mut report));
        let found = reading(figures, instrument.as_ref(), &root.origin(), &mut report);
        let skipped = root.get("skipped").and_then(|n| read_skipped(&n, &mut report));
        (found, skipped, report.to_string())
    }

    #[test]
    fn an_instrument_has_an_error() {
        let ppm = |n| Strength::milligrams_per_litre(Number::int(n));
        let (found, ..) = of("reading: 200 ppm\ninstrument: ±5 %");
        assert_eq!(found.and_then(|r| r.instrument), Some(ppm(10)));
        let (found, ..) = of("reading: 200 ppm\ninstrument: +/- 7 ppm");
        assert_eq!(found.and_then(|r| r.instrument), Some(ppm(7)));
        for (text, code) in [
            ("reading: 200 ppm\ninstrument: yes", "bad-instrument"),
            ("reading: 200 ppm\ninstrument: 0 %", "bad-instrument"),
            ("reading: 200 to 400 ppm\ninstrument: 5 %", "bad-reading"),
            ("instrument: 5 %", "bad-reading"),
            ("reading: 400 to 200 ppm", "bad-reading"),
        ] {
            let (found, _, reported) = of(text);
            assert!(found.is_none() && reported.contains(code), "{text}: {reported}");
        }
    }

    #[test]
    fn a_reason_is_more_than_yes() {
        for bare in ["yes", "true", "no", "No", "x", "\"-\"", "\"?\"", "1"] {
            let (_, found, reported) = of(&format!("skipped: {bare}"));
            assert!(found.is_none() && reported.contains("skipped-no-reason"), "{bare}: {reported}");
        }
        assert_eq!(of("skipped: gate locked").1.as_deref(), Some("gate locked"));
    }
}
