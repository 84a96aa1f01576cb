//! What a printer does wrong, undone: everything is printed a little larger or smaller and a little to one side.

use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::quantity::{Number, parse};
use crate::yaml::{Node, keys, text};

/// How far print may be shifted, in millimetres either way. A printer that is further out is set up wrongly.
const FURTHEST: i64 = 15;

keys! {
    /// Where print goes on one printer, so that it comes out where it should.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Correction {
        /// To the right, with a minus for the left: at most 15 mm. Example: `0.5 mm`
        right: Number = text("a length with its sign", read_shift), or(Number::zero(), "0 mm");
        /// Down, with a minus for up: at most 15 mm. Example: `-0.3 mm`
        down: Number = text("a length with its sign", read_shift), or(Number::zero(), "0 mm");
        /// How many times as large, from the page's top left corner: from 95 % to 105 %. Example: `100.2 %`
        scale: Number = text("a percentage", read_scale), or(Number::one(), "100 %");
    }
}

/// `0.5 mm`, `-0.3 mm`, `−0.02 in`
fn read_shift(node: &Node<'_>, report: &mut Diagnostics) -> Option<Number> {
    let text = node.text(report)?;
    let trimmed = text.trim();
    let (sign, size) = match trimmed.strip_prefix(['-', '\u{2212}']) {
        Some(rest) => (Number::int(-1), rest),
        None => (Number::one(), trimmed.strip_prefix('+').unwrap_or(trimmed)),
    };
    let length = match parse::length(size) {
        Ok(length) => length,
        Err(_) => {
            let message = format!("`{text}` is not a shift");
            let hint = "write a length, with a minus for left or up, such as `0.5 mm` or `-0.3 mm`";
            return report.fail(node.error("bad-shift", message).hint(hint));
        }
    };
    let millimetres = &super::stock::millimetres(&length) * &sign;
    if millimetres.abs() > Number::int(FURTHEST) {
        return report.fail(too_far(node, &format!("`{text}` is more than {FURTHEST} mm")));
    }
    Some(millimetres)
}

/// `100.2 %`, from 95 % to 105 %.
fn read_scale(node: &Node<'_>, report: &mut Diagnostics) -> Option<Number> {
    let text = node.text(report)?;
    let number = text.trim().strip_suffix('%').and_then(|n| Number::parse(n.trim()));
    let Some(percent) = number else {
        let message = format!("`{text}` is not a scale");
        return report.fail(node.error("bad-scale", message).hint("write it like `100.2 %`"));
    };
    if percent < Number::int(95) || percent > Number::int(105) {
        return report.fail(too_far(node, &format!("`{text}` is not from 95 % to 105 %")));
    }
    Some(&percent * &Number::ratio(1, 100))
}

fn too_far(node: &Node<'_>, message: &str) -> Diagnostic {
    node.error("bad-printer", message)
        .hint("so much is no printer's tolerance: print at actual size, not `fit to page`, and choose the right paper")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::yaml::{Declared, Source};

    fn read(yaml: &str) -> (Option<Correction>, String) {
        let mut report = Diagnostics::new();
        let source = Source::from_text("company.yaml".as_ref(), yaml.into(), &mut report).unwrap();
        (Correction::from_node(&source.root(), &mut report), report.to_string())
    }

    #[test]
    fn shifts_have_a_sign_and_a_unit() {
        let (read, reported) = read("{ right: 0.5 mm, down: -0.01 in, scale: 100.2 % }");
        let expected = Correction {
            right: Number::ratio(1, 2),
            down: Number::ratio(-254, 1000),
            scale: Number::ratio(1002, 1000),
        };
        assert_eq!(read, Some(expected), "{reported}");
    }

    #[test]
    fn what_is_left_out_changes_nothing() {
        let (read, _) = read("{ down: +1 mm }");
        let read = read.unwrap();
        assert_eq!((read.right, read.down, read.scale), (Number::zero(), Number::one(), Number::one()));
    }

    #[test]
    fn more_than_a_printer_does_is_refused() {
        for (yaml, code) in [
            ("{ right: 16 mm }", "bad-printer"),
            ("{ scale: 94 % }", "bad-printer"),
            ("{ scale: 1.002 }", "bad-scale"),
            ("{ right: 0.5 }", "bad-shift"),
            ("{ right: left }", "bad-shift"),
        ] {
            let (_, reported) = read(yaml);
            assert!(reported.contains(code), "{yaml}: {reported}");
        }
    }
}
