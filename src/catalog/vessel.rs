//! Vessels: what solution is mixed in, and what it is poured into.

use serde::Serialize;

use super::sprayer::{Graduations, Sprayer, read_graduations, read_measure_error};
use crate::quantity::{Share, Volume, range};
use crate::report::Report;
use crate::yaml::{Node, Origin};

/// A pail, a drum, a bottle: it holds solution and applies none.
#[derive(Clone, Debug, Serialize)]
pub struct Vessel {
    /// Name.
    pub name: String,
    /// What it holds when it is full; more than 0.
    pub holds: Volume,
    /// What can be read off it and off the measure.
    pub graduations: Graduations,
    /// How far a measure may be off, as a share of what it gives.
    pub measure_error: Share,
    /// The label stock it carries, by key.
    pub stock: Option<String>,
    #[serde(skip)]
    pub(crate) origin: Origin,
}

impl Vessel {
    pub(super) fn read(node: &Node<'_>, report: &mut Report) -> Option<Vessel> {
        let fields = node.fields(&["name", "holds", "graduations", "measure_error", "stock"], report)?;
        let name = fields.need_text("name", report);
        let holds = fields.need("holds", report).and_then(|n| n.within(report, &range::TANK));
        let graduations = match fields.get("graduations") {
            Some(n) => read_graduations(&n, report),
            None => Some(Graduations::usual()),
        };
        let measure_error = read_measure_error(&fields, report);
        Some(Vessel {
            stock: fields.text("stock", report),
            name: name?,
            holds: holds?,
            graduations: graduations?,
            measure_error: measure_error?,
            origin: node.origin(),
        })
    }

    /// The tank of a sprayer, or a bottle with a trigger, as a vessel.
    pub fn of_sprayer(sprayer: &Sprayer) -> Vessel {
        Vessel {
            name: sprayer.name.clone(),
            holds: sprayer.tank.clone(),
            graduations: sprayer.graduations.clone(),
            measure_error: sprayer.measure_error.clone(),
            stock: sprayer.stock.clone(),
            origin: sprayer.origin.clone(),
        }
    }

    /// Where it stands in the company file.
    pub fn origin(&self) -> &Origin {
        &self.origin
    }
}
