//! What the safety data sheet says.

use jiff::civil::Date;
use serde::Serialize;

use super::Equipment;
use crate::diagnostic::Diagnostics;
use crate::ghs::Hazard;
use crate::yaml::{Declared, Line, Node, Origin, Shape, custom, keys};

/// What the safety data sheet says.
#[derive(Clone, Debug)]
pub struct Sds {
    pub revised: Date,
    pub hazards: Vec<Hazard>,
    /// Hazards of the use solution, where the sheet states them.
    pub use_solution: DilutedHazards,
    pub equipment: Vec<Equipment>,
    pub link: Option<String>,
}

keys! {
    /// What the safety data sheet says.
    struct SdsKeys {
        /// Date of the revision at hand. Example: `2025-11-03`
        revised: Date, required;
        /// Hazards of the product as sold, as section 2 of the sheet writes them; `[]` for none.
        /// Example: `[Skin Corr. 1B, Eye Dam. 1]`
        hazards: Vec<Hazard> = custom(read_hazards, hazards_shape), required;
        /// Hazards of the use solution: the list that the sheet gives, `not classified`, `none stated` (labels show the
        /// concentrate's), or `calculated` with `decided` and the hazards of every active. Example: `not classified`
        use_solution_hazards: Stated = custom(read_stated, stated_shape), or(Stated::Nothing, "none stated");
        /// Who decided that the calculation holds, and when. Example: `{ by: A. Person, on: 2026-02-01 }`
        decided: Decided, optional;
        /// The protective equipment that the sheet asks for. Example: `[goggles, gloves]`
        protective_equipment: Vec<Equipment>, or(Vec::new(), "[]");
        /// Where the sheet can be had. Example: `https://sds.example/q75`
        link: String, optional;
    }
    + origin
}

keys! {
    /// Whoever answers for the calculation.
    struct Decided {
        /// Who. Example: `A. Person`
        by: String, required;
        /// When. Example: `2026-02-01`
        on: Date, required;
    }
}

enum Stated {
    Nothing,
    NotClassified,
    Calculated,
    These(Vec<Hazard>),
}

/// What a safety data sheet says of the diluted product.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum DilutedHazards {
    /// Nothing: the concentrate's hazards are shown.
    NotStated,
    NotClassified,
    Stated(Vec<Hazard>),
    /// Nothing, and somebody who answers for it chose what the mixture rules give.
    Calculated {
        by: String,
        on: Date,
    },
}

impl Declared for Sds {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Sds> {
        let keys = SdsKeys::from_node(node, report)?;
        let use_solution = match keys.use_solution_hazards {
            Stated::Nothing => DilutedHazards::NotStated,
            Stated::NotClassified => DilutedHazards::NotClassified,
            Stated::These(hazards) => DilutedHazards::Stated(hazards),
            Stated::Calculated => decided(keys.decided, &keys.origin, report)?,
        };
        let mut equipment = keys.protective_equipment;
        equipment.sort_unstable();
        equipment.dedup();
        Some(Sds { revised: keys.revised, hazards: keys.hazards, use_solution, equipment, link: keys.link })
    }

    fn shape() -> Shape {
        SdsKeys::shape()
    }
}

fn read_stated(node: &Node<'_>, report: &mut Diagnostics) -> Option<Stated> {
    if !node.is_scalar() {
        return read_hazards(node, report).map(Stated::These);
    }
    match node.text(report)?.as_str() {
        "none stated" => Some(Stated::Nothing),
        "not classified" => Some(Stated::NotClassified),
        "calculated" => Some(Stated::Calculated),
        _ => {
            let hint = "write `none stated`, `not classified`, the list of hazards that the data sheet gives, or \
                        `calculated` with `decided`";
            report.fail(node.error("unknown-word", "this does not say what the data sheet states").hint(hint))
        }
    }
}

fn stated_shape() -> Shape {
    let words = Shape::Words(&[("none stated", ""), ("not classified", ""), ("calculated", "")]);
    Shape::Either(vec![words, hazards_shape()])
}

fn hazards_shape() -> Shape {
    Shape::List { of: Box::new(Shape::line("a hazard class and category", Line::Text)), or_one: false }
}

fn read_hazards(node: &Node<'_>, report: &mut Diagnostics) -> Option<Vec<Hazard>> {
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
fn decided(decided: Option<Decided>, origin: &Origin, report: &mut Diagnostics) -> Option<DilutedHazards> {
    if !origin.has("decided") {
        let message = "`calculated` stands only with the name of whoever decided it, and the date";
        let hint = "add `decided: { by: A. Person, on: 2026-02-01 }`, or write `none stated`";
        report.push(origin.error("not-decided", message).hint(hint));
    }
    let Decided { by, on } = decided?;
    Some(DilutedHazards::Calculated { by, on })
}
