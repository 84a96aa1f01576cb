//! What a test strip should show, and which readings pass.
//!
//! A strip is read by colour against printed blocks, so a reading is a block or the space between two.
//!
//! - The reading that the mix should give lies between the two blocks that bracket its strength, or on one.
//! - The upper bracketing block passes; anything above is an overdose.
//! - The lower one passes only if label strength is nearer to it than to the next block up: matching a block much
//!   weaker than the label
//!   is a weak mix, not an unsteady eye. Everything below it fails. So does a block of nought, always.
//! - A minimum or maximum that a label or a code states outright cuts off the blocks beyond it.

use serde::Serialize;

use super::error::CalcError;
use crate::quantity::{Number, Strength};

/// Bounds on a reading beside the dilution itself; each on its own, either may be absent.
#[derive(Clone, Copy, Debug, Default)]
pub struct Limits<'a> {
    /// Stated outright: no block below it passes.
    pub minimum: Option<&'a Strength>,
    /// Stated outright (a residue limit, say): no block above it passes.
    pub maximum: Option<&'a Strength>,
}

/// Where a strength is beyond what a strip can show.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum OffScale {
    /// Weaker than the first block.
    Below,
    /// Stronger than the last block: only another strip, or a measured dilution of a sample, tells.
    Above,
}

/// What to expect of a strip. Blocks are given by index into the scale.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StripExpectation {
    /// The last block that is not above the expected strength.
    pub lower: Option<usize>,
    /// The first block that is not below it; the same one as `lower` when the strength is a block's.
    pub upper: Option<usize>,
    /// Whether the expected strength is a block's exactly.
    pub exact: bool,
    /// The blocks that pass, rising. Empty when off the scale: the strip then proves nothing.
    pub passes: Vec<usize>,
    /// Spaces that pass: `i` is the space between block `i` and block `i + 1`.
    pub passes_between: Vec<usize>,
    /// Whether the expected strength is beyond the scale, and to which side.
    pub off_scale: Option<OffScale>,
}

/// What a reading says of the mix.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// As expected.
    Pass,
    /// Weaker: it may not disinfect.
    TooWeak,
    /// Stronger: residue and hazard are more than planned.
    TooStrong,
    /// The expected strength is off this strip's scale.
    CannotTell,
}

/// Works out what a strip should show.
///
/// `expected` is the strength as mixed, `label` that of the label's dilution before rounding (the weakest that is
/// right).
///
/// # Errors
/// [`CalcError::BadStrip`] for fewer than two blocks, blocks that do not rise, or one below nought;
/// [`CalcError::NotPositive`] for a strength that is not above nought.
pub fn expectation(
    blocks: &[Strength],
    expected: &Strength,
    label: &Strength,
    limits: Limits,
) -> Result<StripExpectation, CalcError> {
    let rising = blocks.windows(2).all(|two| two[0] < two[1]);
    if blocks.len() < 2 || !rising || blocks[0].as_milligrams_per_litre().is_negative() {
        return Err(CalcError::BadStrip);
    }
    for strength in [expected, label] {
        super::error::positive(strength.as_milligrams_per_litre(), "the expected strength")?;
    }
    let lower = last_not_above(blocks, expected);
    let upper = first_not_below(blocks, expected);
    let off_scale = match (lower, upper) {
        (None, _) => Some(OffScale::Below),
        (_, None) => Some(OffScale::Above),
        _ => None,
    };
    let (mut passes, mut passes_between) = (Vec::new(), Vec::new());
    if let (Some(lower), Some(upper)) = (lower, upper) {
        // Rounding mixes a little above the label; the label's own strength decides how low a reading may be.
        let weakest = if label < expected { label } else { expected };
        let bottom = last_not_above(blocks, weakest).unwrap_or(lower);
        let block_passes = |index: &usize| {
            let block = &blocks[*index];
            !block.is_zero()
                && (block >= weakest || nearer(block, weakest, blocks.get(index + 1)))
                && limits.minimum.is_none_or(|minimum| block >= minimum)
                && limits.maximum.is_none_or(|maximum| block <= maximum)
        };
        passes = (bottom..=upper).filter(block_passes).collect();
        passes_between = (bottom..upper)
            .filter(|space| !out_of(&blocks[*space..=space + 1], limits))
            .collect();
    }
    Ok(StripExpectation {
        lower,
        upper,
        exact: lower.is_some() && lower == upper,
        passes,
        passes_between,
        off_scale,
    })
}

impl StripExpectation {
    /// What a reading, written down as a figure, says of the mix. A figure between two blocks is the space between
    /// them.
    pub fn judge(&self, blocks: &[Strength], reading: &Strength) -> Verdict {
        if self.off_scale.is_some() {
            return Verdict::CannotTell;
        }
        let passes = match (last_not_above(blocks, reading), first_not_below(blocks, reading)) {
            (Some(below), Some(above)) if below == above => self.passes.contains(&below),
            (Some(below), Some(_)) => self.passes_between.contains(&below),
            _ => false,
        };
        let top = self.upper.and_then(|upper| blocks.get(upper));
        let highest = self.passes.last().and_then(|last| blocks.get(*last));
        match (passes, highest.or(top)) {
            (true, _) => Verdict::Pass,
            (false, Some(highest)) if reading > highest => Verdict::TooStrong,
            (false, _) => Verdict::TooWeak,
        }
    }
}

/// Whether `strength` is strictly nearer to `block` than to the next one. Midway counts as weak: the side that
/// protects.
fn nearer(block: &Strength, strength: &Strength, next: Option<&Strength>) -> bool {
    next.is_some_and(|next| (strength - block) < (next - strength))
}

/// Whether the whole space between two blocks is beyond a limit.
fn out_of(space: &[Strength], limits: Limits) -> bool {
    limits.minimum.is_some_and(|minimum| &space[1] <= minimum)
        || limits.maximum.is_some_and(|maximum| &space[0] >= maximum)
}

fn last_not_above(blocks: &[Strength], strength: &Strength) -> Option<usize> {
    blocks.iter().rposition(|block| block <= strength)
}

fn first_not_below(blocks: &[Strength], strength: &Strength) -> Option<usize> {
    blocks.iter().position(|block| block >= strength)
}

/// How far along the scale a strength stands, in blocks: 3.3 is 30 % of the way from block 3 to block 4. Blocks are
/// drawn the same width whatever their figures, so this is where an arrow goes. `None` off the scale.
pub fn place(blocks: &[Strength], strength: &Strength) -> Option<Number> {
    let below = last_not_above(blocks, strength)?;
    let above = first_not_below(blocks, strength)?;
    let whole = Number::int(below as i64);
    if below == above {
        return Some(whole);
    }
    Some(whole + (strength - &blocks[below]).over(&(&blocks[above] - &blocks[below])))
}

#[cfg(test)]
mod tests;
