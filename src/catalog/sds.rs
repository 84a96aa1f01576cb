//! What the safety data sheet says.

use jiff::civil::Date;
use serde::Serialize;

use super::{Equipment, read_date};
use crate::ghs::Hazard;
use crate::report::Report;
use crate::yaml::{Fields, Node};

/// What the safety data sheet says.
#[derive(Clone, Debug, Serialize)]
pub struct Sds {
    /// Date of the revision at hand.
    pub revised: Date,
    /// Hazards of the product as sold.
    pub hazards: Vec<Hazard>,
    /// Hazards of the use solution, where the sheet states them.
    pub use_solution: DilutedHazards,
    /// Protective equipment the sheet asks for.
    pub equipment: Vec<Equipment>,
    /// Where the sheet can be had.
    pub link: Option<String>,
}

/// What a safety data sheet says of the diluted product.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum DilutedHazards {
    /// Nothing: the concentrate's hazards are shown.
    NotStated,
    /// That the use solution is not classified.
    NotClassified,
    /// These.
    Stated(Vec<Hazard>),
    /// Nothing, and somebody who answers for it chose what the mixture rules give.
    Calculated {
        /// Who.
        by: String,
        /// When.
        on: Date,
    },
}

pub(super) fn read_sds(node: &Node<'_>, report: &mut Report) -> Option<Sds> {
    let keys = &["revised", "hazards", "use_solution_hazards", "decided", "protective_equipment", "link"];
    let fields = node.fields(keys, report)?;
    let revised = fields.need("revised", report).and_then(|n| read_date(&n, report));
    let hazards = fields.need("hazards", report).and_then(|n| read_hazards(&n, report));
    let use_solution = match fields.get("use_solution_hazards") {
        None => Some(DilutedHazards::NotStated),
        Some(n) if n.is_scalar() => match n.text(report)?.as_str() {
            "none stated" => Some(DilutedHazards::NotStated),
            "not classified" => Some(DilutedHazards::NotClassified),
            "calculated" => read_decision(&fields, report),
            _ => {
                let hint = "write `none stated`, `not classified`, the list of hazards that the data sheet gives, or \
                            `calculated` with `decided`";
                report.push(n.error("unknown-word", "this does not say what the data sheet states").hint(hint));
                None
            }
        },
        Some(n) => read_hazards(&n, report).map(DilutedHazards::Stated),
    };
    let worn = fields.get("protective_equipment").and_then(|n| n.items_or_one(report)).unwrap_or_default();
    let mut equipment: Vec<Equipment> = worn.iter().filter_map(|n| n.choice(report, Equipment::WORDS)).collect();
    equipment.sort_unstable();
    equipment.dedup();
    let link = fields.text("link", report);
    Some(Sds { revised: revised?, hazards: hazards?, use_solution: use_solution?, equipment, link })
}

fn read_hazards(node: &Node<'_>, report: &mut Report) -> Option<Vec<Hazard>> {
    let mut hazards = Vec::new();
    let mut whole = true;
    for item in node.items(report)? {
        match item.parse(report, |text| text.parse::<Hazard>()) {
            Some(hazard) => hazards.push(hazard),
            None => whole = false,
        }
    }
    whole.then_some(hazards)
}

/// `decided: { by: A. Person, on: 2026-02-01 }`: without a name nobody answers for the calculation.
fn read_decision(fields: &Fields<'_>, report: &mut Report) -> Option<DilutedHazards> {
    let Some(node) = fields.get("decided") else {
        let message = "`calculated` stands only with the name of whoever decided it, and the date";
        let hint = "add `decided: { by: A. Person, on: 2026-02-01 }`, or write `none stated`";
        report.push(fields.node().error("not-decided", message).hint(hint));
        return None;
    };
    let decided = node.fields(&["by", "on"], report)?;
    let by = decided.need_text("by", report);
    let on = decided.need("on", report).and_then(|n| read_date(&n, report));
    Some(DilutedHazards::Calculated { by: by?, on: on? })
}
