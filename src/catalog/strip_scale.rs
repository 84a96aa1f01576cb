//! Test strips: their colour blocks, how they are read, their lots.

use serde::Serialize;

use super::Lots;
use crate::quantity::{Strength, Time, parse, range};
use crate::report::Report;
use crate::yaml::Node;

/// The colour blocks of a test strip.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StripScale {
    /// The strip's name.
    pub name: Option<String>,
    /// The blocks, ascending.
    pub blocks: Vec<Strength>,
    /// How long it stays in the solution.
    pub dip: Option<Time>,
    /// How long to wait before reading it.
    pub wait: Option<Time>,
    /// Lots in store.
    pub lots: Lots,
}

pub(super) fn read_strip(node: &Node<'_>, report: &mut Report) -> Option<StripScale> {
    let fields = node.fields(&["name", "scale", "dip", "wait", "lots"], report)?;
    let scale = fields.need("scale", report)?;
    let items = scale.items_or_one(report)?;
    let blocks = if let [one] = items.as_slice() {
        one.parse(report, parse::scale)?
    } else {
        let mut texts = Vec::new();
        for item in &items {
            texts.push(item.text(report)?);
        }
        // `[0, 100, 200 ppm]`: the unit stands once, behind the last block.
        scale_of(&scale, &texts.join(", "), report)?
    };
    let dip = fields.get("dip").and_then(|n| n.within(report, &range::DIP));
    let wait = fields.get("wait").and_then(|n| n.within(report, &range::WAIT));
    if blocks.len() < 2 || blocks.windows(2).any(|pair| pair[0] >= pair[1]) {
        let hint = "give the blocks in rising order, such as `0, 100, 200, 400 ppm`";
        report.push(
            scale.error("bad-scale", "a strip's scale has at least two blocks, each stronger than the last").hint(hint),
        );
        return None;
    }
    // The last block is the strongest; the text of the whole scale is what a message can show.
    for block in [blocks.first(), blocks.last()].into_iter().flatten() {
        let shown = format!("{} mg/L", block.as_milligrams_per_litre().decimal(6));
        if let Err(refusal) = range::BLOCK.check(block, &shown) {
            report.push(scale.error("out-of-range", refusal.message));
            return None;
        }
    }
    let name = fields.text("name", report);
    let lots = fields.get("lots").and_then(|n| Lots::read(&n, report)).unwrap_or_default();
    Some(StripScale { name, blocks, dip, wait, lots })
}

fn scale_of(node: &Node<'_>, text: &str, report: &mut Report) -> Option<Vec<Strength>> {
    match parse::scale(text) {
        Ok(blocks) => Some(blocks),
        Err(refusal) => {
            let mut problem = node.error("bad-scale", refusal.message);
            problem.hints = refusal.hints;
            report.push(problem);
            None
        }
    }
}
