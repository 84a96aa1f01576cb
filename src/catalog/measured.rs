//! What was measured on a product as a whole, as section 9 of its safety data sheet gives it.

use serde::Serialize;

use super::ingredient::read_ph;
use crate::quantity::{Mass, Number, Readable, Temperature, range};
use crate::report::Report;
use crate::yaml::{Fields, Node};

/// A flash point, closed cup.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Flash {
    /// At this temperature.
    At(Temperature),
    /// A test found none.
    NoneFound,
}

impl Flash {
    pub(super) fn read(node: &Node<'_>, report: &mut Report) -> Option<Flash> {
        if node.text(report)? == "none found" {
            return Some(Flash::NoneFound);
        }
        node.within(report, &range::FLASH).map(Flash::At)
    }
}

/// Figures of the product as sold.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Measured {
    /// 0 to 14.
    pub ph: Option<Number>,
    /// Closed cup.
    pub flash_point: Option<Flash>,
    /// Where boiling begins.
    pub boiling_point: Option<Temperature>,
    /// Kinematic, at 40 °C, mm²/s.
    pub viscosity: Option<Number>,
    /// One tablet.
    pub tablet: Option<Mass>,
}

impl Measured {
    pub(super) fn read(fields: &Fields<'_>, report: &mut Report) -> Measured {
        Measured {
            ph: fields.get("ph").and_then(|n| read_ph(&n, report)),
            flash_point: fields.get("flash_point").and_then(|n| Flash::read(&n, report)),
            boiling_point: fields.get("boiling_point").and_then(|n| n.within(report, &range::BOILING)),
            viscosity: fields.get("viscosity").and_then(|n| read_viscosity(&n, report)),
            tablet: fields.get("tablet").and_then(|n| n.within(report, &range::TABLET)),
        }
    }
}

pub(super) fn read_viscosity(node: &Node<'_>, report: &mut Report) -> Option<Number> {
    let text = node.text(report)?;
    let figure = text.strip_suffix("mm2/s").or_else(|| text.strip_suffix("mm²/s")).or_else(|| text.strip_suffix("cSt"));
    let Some(value) = figure.and_then(|figure| Number::read(figure).ok()) else {
        let hint = "write it like `12 mm2/s`, as the data sheet gives it for 40 °C";
        report.push(node.error("bad-quantity", format!("`{text}` is not a kinematic viscosity")).hint(hint));
        return None;
    };
    if let Err(refusal) = range::VISCOSITY.check(&value, &text) {
        report.push(node.error("out-of-range", refusal.message));
        return None;
    }
    Some(value)
}
