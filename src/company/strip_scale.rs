//! Test strips: their color blocks, how they are read, their lots.

use super::Lots;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::quantity::{Strength, Time, parse, range};
use crate::yaml::{Line, Node, Shape, custom, keys};

keys! {
    /// The test strip that a solution is read with.
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct StripScale {
        /// The strip's name. Example: `QT-40`
        name: String, optional;
        /// Its color blocks, rising; the unit may stand once, behind the last. Example: `0, 100, 200, 400 ppm`
        scale: Vec<Strength> = custom(read_blocks, blocks_shape), required;
        /// How long it stays in the solution. Example: `1 s`
        dip: Time = &range::DIP, optional;
        /// How long to wait before reading it. Example: `10 s`
        wait: Time = &range::WAIT, optional;
        /// Lots in store, each with its last day. Example: `{ S-7: 2027-03-31 }`
        lots: Lots, or(Lots::default(), "{}");
    }
}

fn blocks_shape() -> Shape {
    Shape::List { of: Box::new(Shape::line("strengths, rising", Line::Any)), or_one: true }
}

fn read_blocks(scale: &Node<'_>, report: &mut Diagnostics) -> Option<Vec<Strength>> {
    let items = scale.items_or_one(report)?;
    let blocks = if let [one] = items.as_slice() {
        one.parse(report, parse::scale)?
    } else {
        // `[0, 100, 200 ppm]`: the unit stands once, behind the last block.
        let texts: Option<Vec<String>> = items.iter().map(|item| item.text(report)).collect();
        match parse::scale(&texts?.join(", ")) {
            Ok(blocks) => blocks,
            Err(refusal) => {
                return report.fail(Diagnostic { code: "bad-scale", ..scale.origin().refused(&refusal) });
            }
        }
    };
    if blocks.len() < 2 || blocks.windows(2).any(|pair| pair[0] >= pair[1]) {
        let hint = "give the blocks in rising order, such as `0, 100, 200, 400 ppm`";
        return report.fail(
            scale.error("bad-scale", "a strip's scale has at least two blocks, each stronger than the last").hint(hint),
        );
    }
    // The last block is the strongest; the text of the whole scale is what a message can show.
    for block in [blocks.first(), blocks.last()].into_iter().flatten() {
        let shown = format!("{} mg/L", block.as_milligrams_per_litre().decimal(6));
        if let Err(refusal) = range::BLOCK.check(block, &shown) {
            return report.fail(scale.error("out-of-range", refusal.message));
        }
    }
    Some(blocks)
}
