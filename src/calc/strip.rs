//! What a reading of strength can show, and which readings pass. One rule; plan, certificate, tables and registers go by it.
//!
//! A strip is matched by eye with printed blocks, so a reading is never a point. It stands for every strength that it cannot be
//! told from ([`Span`]):
//!
//! - **A block** stands for what lies nearer to it than to its neighbors: from midway to the block below to midway to the block
//!   above. Below the first block and above the last one there is no neighbor, so the first stands for everything down to zero
//!   and the last for everything above.
//! - **Between two blocks** stands for the space between them, both blocks left out: whoever sees a block's own color reads the
//!   block.
//! - **An instrument's figure** stands for the figure and its error on either side. It is compared with the label's dose and
//!   never with blocks.
//!
//! Makers claim about one block of accuracy for their strips and nobody certifies them, so nothing finer is claimed here.
//!
//! A reading passes only if all of it holds ([`Bounds`]):
//!
//! - it cannot be told from the dose: what it stands for reaches up to the label's dose, and begins no higher than the strongest
//!   load that was planned, with the error of the measure;
//! - its weaker end is not below three quarters of the label's dose. A block of zero and the space above it so never pass;
//! - it does not lie wholly above a residue limit.
//!
//! Three quarters: no published rule; chosen because it protects. It is what leaves common practice its reading (about 660 ppm
//! reads between the blocks 600 and 800) and lets no reading pass that half a dose could give.
//!
//! A strip that has no block within a quarter of the dose, or on which no reading that passes stands for the dose itself, cannot
//! show that dose: then nothing passes, and only what is surely too weak or too strong is said to be so.

use serde::Serialize;

use super::error::CalcError;
use crate::quantity::{Number, Strength};

/// What readings of a mix are compared with.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Bounds {
    pub dose: Strength,
    /// Three quarters of it: no reading passes that may stand for less.
    pub least: Strength,
    /// The strongest load that was planned and the error of the measure, or the residue limit where that is lower: no reading
    /// passes that lies wholly above.
    pub most: Strength,
}

impl Bounds {
    /// The bounds of a mix. `dose` is the strength at the label's dose and `strongest` that of the strongest load as planned,
    /// both in mg/L; `error` is the measure's, as a share (0.05 for 5 %); `limit` is a residue limit that holds, in mg/L of what
    /// the strip measures.
    pub fn of(
        dose: &Strength,
        strongest: &Strength,
        error: &Number,
        limit: Option<&Strength>,
    ) -> Result<Bounds, CalcError> {
        super::error::positive(dose.as_milligrams_per_litre(), "the label's dose")?;
        let planned = strongest.max(dose).times(&(Number::one() + error));
        let most = match limit {
            Some(limit) if *limit < planned => limit.clone(),
            _ => planned,
        };
        Ok(Bounds { dose: dose.clone(), least: dose.times(&Number::ratio(3, 4)), most })
    }

    /// What a reading that stands for `span` says of the mix.
    pub fn judge(&self, span: &Span) -> Verdict {
        let above = span.low > self.most || (!span.with_ends && span.low == self.most);
        if above {
            return Verdict::TooStrong;
        }
        // a dose that is itself above the limit cannot be shown to be right
        if self.is_short_of_dose(span) || span.low < self.least || self.most < self.dose {
            return Verdict::TooWeak;
        }
        Verdict::Pass
    }

    /// What an instrument must show so that its figure passes whatever its error is up to the third of these: from, to, error. In
    /// whole mg/L, each to the safe side; `None` where no figure does.
    pub fn of_figures(&self) -> Option<[Number; 3]> {
        let [dose, least, most] = [&self.dose, &self.least, &self.most].map(Strength::as_milligrams_per_litre);
        let (one, zero) = (Number::one(), Number::zero());
        let from = &zero - &(&zero - dose).floor_to(&one);
        let (to, error) = (most.floor_to(&one), (dose - least).floor_to(&one));
        (from <= to && error > zero).then_some([from, to, error])
    }

    /// Whether what a reading stands for ends below the dose.
    fn is_short_of_dose(&self, span: &Span) -> bool {
        span.high.as_ref().is_some_and(|high| *high < self.dose || (!span.with_ends && *high == self.dose))
    }

    /// What a reading says where passing readings cannot show the dose: only what is surely wrong.
    fn judge_surely_wrong(&self, span: &Span) -> Verdict {
        let weak = |high: &Strength| *high < self.least || (!span.with_ends && *high == self.least);
        match self.judge(span) {
            Verdict::TooStrong => Verdict::TooStrong,
            _ if span.high.as_ref().is_some_and(weak) => Verdict::TooWeak,
            _ => Verdict::CannotTell,
        }
    }
}

/// The strengths that a reading cannot be told from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Span {
    pub low: Strength,
    /// The stronger end; `None` where nothing bounds it.
    pub high: Option<Strength>,
    /// Whether the ends belong to it. The two blocks beside a space do not.
    pub with_ends: bool,
}

impl Span {
    /// What an instrument's figure stands for. `error` is in mg/L, on either side.
    pub fn of_instrument(figure: &Strength, error: &Strength) -> Span {
        let low = (figure > error).then(|| figure - error);
        Span {
            low: low.unwrap_or_else(|| Strength::milligrams_per_litre(Number::zero())),
            high: Some(figure + error),
            with_ends: true,
        }
    }

    /// What a block stands for; `None` past the scale's end.
    pub fn of_block(blocks: &[Strength], at: usize) -> Option<Span> {
        let block = blocks.get(at)?;
        let midway = |other: &Strength| (block + other).times(&Number::ratio(1, 2));
        let below = at.checked_sub(1).and_then(|at| blocks.get(at));
        Some(Span {
            low: below.map_or_else(|| Strength::milligrams_per_litre(Number::zero()), midway),
            high: blocks.get(at + 1).map(midway),
            with_ends: true,
        })
    }

    /// What the space between block `at` and the next one stands for; `None` past the scale's end.
    pub fn of_space(blocks: &[Strength], at: usize) -> Option<Span> {
        Some(Span { low: blocks.get(at)?.clone(), high: Some(blocks.get(at + 1)?.clone()), with_ends: false })
    }

    /// What is read as `low` and `high` on a strip: the same block twice, or two neighbors for the space between. `None` for a
    /// figure that is no block, and for blocks that are not neighbors: nothing on the strip looks like that.
    pub fn of_reading(blocks: &[Strength], low: &Strength, high: &Strength) -> Option<Span> {
        let at = blocks.iter().position(|block| block == low)?;
        if low == high {
            return Span::of_block(blocks, at);
        }
        (blocks.get(at + 1) == Some(high)).then(|| Span::of_space(blocks, at))?
    }

    fn holds(&self, strength: &Strength) -> bool {
        let inside = *strength > self.low && self.high.as_ref().is_none_or(|high| strength < high);
        let on_end = *strength == self.low || self.high.as_ref() == Some(strength);
        inside || (self.with_ends && on_end)
    }
}

/// Where a strength is beyond what a strip can show.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum OffScale {
    Below,
    /// Stronger than the last block: only another strip, or a measured dilution of a sample, tells.
    Above,
}

/// What to expect of a strip. Blocks are given by index into the scale.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StripExpectation {
    /// The blocks that pass, rising. Empty when the strip cannot show the dose.
    pub passes: Vec<usize>,
    /// Spaces that pass: `i` is the space between block `i` and block `i + 1`. With the blocks that pass they lie side by side.
    pub passes_between: Vec<usize>,
    /// Whether the label's dose is beyond the scale, and to which side.
    pub off_scale: Option<OffScale>,
    pub can_show: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    Pass,
    /// It is weaker, or may stand for less than three quarters of the dose: the mix may not disinfect.
    TooWeak,
    /// Stronger: residue and hazard are more than planned.
    TooStrong,
    CannotTell,
}

pub fn expectation(blocks: &[Strength], bounds: &Bounds) -> Result<StripExpectation, CalcError> {
    let rising = blocks.windows(2).all(|two| two[0] < two[1]);
    let (Some(first), Some(last)) = (blocks.first(), blocks.last()) else {
        return Err(CalcError::BadStrip);
    };
    if blocks.len() < 2 || !rising || first.as_milligrams_per_litre().is_negative() {
        return Err(CalcError::BadStrip);
    }
    let off_scale = if bounds.dose < *first {
        Some(OffScale::Below)
    } else if bounds.dose > *last {
        Some(OffScale::Above)
    } else {
        None
    };
    let pass = |span: &Option<Span>| span.as_ref().is_some_and(|span| bounds.judge(span) == Verdict::Pass);
    let of_block = |at: &usize| Span::of_block(blocks, *at);
    let of_space = |at: &usize| Span::of_space(blocks, *at);
    let mut passes: Vec<usize> = (0..blocks.len()).filter(|at| pass(&of_block(at))).collect();
    let mut passes_between: Vec<usize> = (0..blocks.len()).filter(|at| pass(&of_space(at))).collect();
    let spans = passes.iter().map(of_block).chain(passes_between.iter().map(of_space));
    let shows_dose = spans.flatten().any(|span| span.holds(&bounds.dose));
    let quarter = bounds.dose.times(&Number::ratio(1, 4));
    let (from, to) = (&bounds.dose - &quarter, &bounds.dose + &quarter);
    let has_near_block = blocks.iter().any(|block| *block >= from && *block <= to);
    let can_show = off_scale.is_none() && shows_dose && has_near_block;
    if !can_show {
        passes.clear();
        passes_between.clear();
    }
    Ok(StripExpectation { passes, passes_between, off_scale, can_show })
}

/// What a reading on a strip says of the mix: `can_show` is [`StripExpectation::can_show`] for the same bounds.
pub fn judge_on_strip(bounds: &Bounds, can_show: bool, span: &Span) -> Verdict {
    if can_show { bounds.judge(span) } else { bounds.judge_surely_wrong(span) }
}

#[cfg(test)]
mod tests;
