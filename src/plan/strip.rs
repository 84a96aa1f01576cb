//! What readings of a treatment's strength are compared with, and what its strip must show.

use serde::Serialize;

use super::Rinse;
use super::make::reported;
use super::residue::Solution;
use crate::calc::strip::{self, Bounds, Span, Verdict};
use crate::diagnostic::Diagnostics;
use crate::quantity::{Number, Strength, Time};

#[derive(Clone, Debug, Serialize)]
pub struct StripPlan {
    pub name: Option<String>,
    /// Its blocks, ascending.
    pub blocks: Vec<Strength>,
    /// Positions in `blocks` of readings that pass.
    pub passes: Vec<usize>,
    /// Spaces that pass too: `i` is the space between block `i` and block `i + 1`.
    pub passes_between: Vec<usize>,
    /// Whether the label's dose lies beyond the scale.
    pub off_scale: bool,
    /// Whether the strip cannot show the label's dose, beyond its scale or on it. Then nothing passes.
    pub cannot_show: bool,
    pub dip: Option<Time>,
    pub wait: Option<Time>,
}

/// The readings that pass, from one edge to the other. Between a strip's blocks an edge that does not pass is the block beside
/// the outermost space that does.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Passing {
    pub low: Strength,
    pub low_passes: bool,
    pub high: Strength,
    pub high_passes: bool,
}

impl StripPlan {
    /// The band of readings that pass; `None` where no reading proves anything.
    pub fn band(&self) -> Option<Passing> {
        // blocks and spaces that pass lie side by side: a block at an even place, the space above it at the next
        let blocks = self.passes.iter().map(|at| 2 * at);
        let places = || blocks.clone().chain(self.passes_between.iter().map(|at| 2 * at + 1));
        let (from, to) = (places().min()?, places().max()?);
        Some(Passing {
            low: self.blocks.get(from / 2)?.clone(),
            low_passes: from % 2 == 0,
            high: self.blocks.get(to.div_ceil(2))?.clone(),
            high_passes: to % 2 == 0,
        })
    }

    /// What a reading says of the mix; `None` if `low` and `high` are neither one of its blocks nor two neighbors.
    pub fn judge(&self, bounds: &Bounds, low: &Strength, high: &Strength) -> Option<Verdict> {
        let span = Span::of_reading(&self.blocks, low, high)?;
        Some(strip::judge_on_strip(bounds, !self.cannot_show, &span))
    }
}

/// What the strength of a treatment's loads is judged by: the bounds for any reading, and what the product's strip must show,
/// if it has one. `strongest` is the strongest load, as a factor of the label's dose, and `error` the measure's, as a share.
pub(super) fn expected(
    solution: &Solution<'_>,
    strongest: &Number,
    rinse: Option<&Rinse>,
    error: &Number,
    report: &mut Diagnostics,
) -> Option<(Bounds, Option<StripPlan>)> {
    let product = &solution.written.product;
    // What is rinsed off has no residue limit.
    let limit = if rinse.is_some() { Ok(None) } else { solution.limit(strongest) };
    let limit = reported(limit, &product.origin, report)?;
    let bounds = Bounds::of(solution.at_label, &solution.at_label.times(strongest), error, limit.as_ref());
    let bounds = reported(bounds, &product.origin, report)?;
    let Some(scale) = &product.strip else { return Some((bounds, None)) };
    let read = reported(strip::expectation(&scale.scale, &bounds), &product.origin.key("strip"), report)?;
    let strip = StripPlan {
        name: scale.name.clone(),
        blocks: scale.scale.clone(),
        passes: read.passes,
        passes_between: read.passes_between,
        off_scale: read.off_scale.is_some(),
        cannot_show: !read.can_show,
        dip: scale.dip.clone(),
        wait: scale.wait.clone(),
    };
    Some((bounds, Some(strip)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan(passes: &[usize], between: &[usize]) -> StripPlan {
        StripPlan {
            name: None,
            blocks: crate::quantity::parse::scale("0, 200, 400, 600, 800 ppm").expect("a scale"),
            passes: passes.to_vec(),
            passes_between: between.to_vec(),
            off_scale: false,
            cannot_show: false,
            dip: None,
            wait: None,
        }
    }

    #[test]
    fn the_band_says_which_edges_pass() {
        let edges = |passes: &[usize], between: &[usize]| {
            let plan = plan(passes, between);
            let band = plan.band()?;
            let ppm = |s: &Strength| s.as_milligrams_per_litre().to_i64();
            Some((ppm(&band.low)?, band.low_passes, ppm(&band.high)?, band.high_passes))
        };
        assert_eq!(edges(&[], &[]), None);
        assert_eq!(edges(&[3], &[]), Some((600, true, 600, true)));
        assert_eq!(edges(&[3], &[3]), Some((600, true, 800, false)));
        assert_eq!(edges(&[3], &[2]), Some((400, false, 600, true)));
        assert_eq!(edges(&[], &[2]), Some((400, false, 600, false)));
        assert_eq!(edges(&[2, 3], &[2]), Some((400, true, 600, true)));
    }
}
