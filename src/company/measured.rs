//! What was measured on a product as a whole, as section 9 of its safety data sheet gives it.

use serde::Serialize;

use crate::diagnostic::Diagnostics;
use crate::quantity::{Number, Range, Readable, Temperature, parse, range};
use crate::yaml::{Declared, Kind, Node, Shape};

/// A flash point, closed cup.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Flash {
    At(Temperature),
    NoneFound,
}

impl Declared for Flash {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Flash> {
        if node.text(report)? == "none found" {
            return Some(Flash::NoneFound);
        }
        node.within(report, &range::FLASH).map(Flash::At)
    }

    fn shape() -> Shape {
        Shape::Either(vec![Kind::shape(&&range::FLASH), Shape::Words(&[("none found", "a test found none")])])
    }
}

/// 0 to 14.
pub(super) fn read_ph(node: &Node<'_>, report: &mut Diagnostics) -> Option<Number> {
    let ph = node.parse(report, parse::number)?;
    if ph > 14 {
        return report.fail(node.error("out-of-range", "a pH lies from 0 to 14"));
    }
    Some(ph)
}

/// Kinematic, mm²/s.
pub(super) fn read_viscosity(node: &Node<'_>, report: &mut Diagnostics) -> Option<Number> {
    let hint = "write it like `12 mm2/s`, as the data sheet gives it for 40 °C";
    read_figure(node, "a kinematic viscosity", &["mm2/s", "mm²/s", "cSt"], hint, &range::VISCOSITY, report)
}

/// A figure with its unit behind it, which may be written in several ways.
pub(super) fn read_figure(
    node: &Node<'_>,
    what: &str,
    units: &[&str],
    hint: &str,
    believed: &Range<Number>,
    report: &mut Diagnostics,
) -> Option<Number> {
    let text = node.text(report)?;
    let figure = units.iter().find_map(|unit| text.strip_suffix(unit));
    let Some(value) = figure.and_then(|figure| Number::read(figure).ok()) else {
        return report.fail(node.error("bad-quantity", format!("`{text}` is not {what}")).hint(hint));
    };
    match believed.check(&value, &text) {
        Ok(()) => Some(value),
        Err(refusal) => report.fail(node.error("out-of-range", refusal.message)),
    }
}
