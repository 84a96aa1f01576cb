//! What readings of a treatment's strength are compared with, and what its strip must show.

use serde::Serialize;

use super::Rinse;
use super::residue::residue;
use super::told::told;
use crate::calc::food_contact::{Finding, FoodPlace};
use crate::calc::strip::{self, Bounds, Span, Verdict};
use crate::calc::{CalcError, Ratio};
use crate::job::Treatment;
use crate::quantity::{Number, Strength, Time};
use crate::report::Report;

/// What a strip must show.
#[derive(Clone, Debug, Serialize)]
pub struct StripPlan {
    /// The strip's name.
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
    /// How long it stays in the solution.
    pub dip: Option<Time>,
    /// How long to wait before reading it.
    pub wait: Option<Time>,
}

/// The readings that pass, from one edge to the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Passes<'a> {
    /// The lower edge, a block.
    pub low: &'a Strength,
    /// Whether that block passes. If not, the space above it does.
    pub low_passes: bool,
    /// The upper edge, a block.
    pub high: &'a Strength,
    /// Whether that block passes. If not, the space below it does.
    pub high_passes: bool,
}

impl StripPlan {
    /// The band of readings that pass; `None` where no reading proves anything.
    pub fn band(&self) -> Option<Passes<'_>> {
        // blocks and spaces that pass lie side by side: a block at an even place, the space above it at the next
        let blocks = self.passes.iter().map(|at| 2 * at);
        let places = || blocks.clone().chain(self.passes_between.iter().map(|at| 2 * at + 1));
        let (from, to) = (places().min()?, places().max()?);
        Some(Passes {
            low: self.blocks.get(from / 2)?,
            low_passes: from % 2 == 0,
            high: self.blocks.get(to.div_ceil(2))?,
            high_passes: to % 2 == 0,
        })
    }

    /// What a reading says of the mix; `None` if `low` and `high` are neither one of its blocks nor two neighbors.
    pub fn judge(&self, bounds: &Bounds, low: &Strength, high: &Strength) -> Option<Verdict> {
        let span = Span::of_reading(&self.blocks, low, high)?;
        Some(strip::judge_on_strip(bounds, !self.cannot_show, &span))
    }
}

/// What the strength of a treatment's loads is judged by: a product's strip, if it has one, and the bounds for any reading.
pub(super) struct Expected {
    /// The bounds.
    pub bounds: Bounds,
    /// The strip.
    pub strip: Option<StripPlan>,
}

/// How strong a mix is and how strong it may be.
pub(super) struct Mix<'a> {
    /// What the dilution means.
    pub ratio: &'a Ratio,
    /// Strength at the label's dose.
    pub at_label: &'a Strength,
    /// The strongest load, as planned, as a multiple of the label's dose.
    pub strongest: &'a Number,
    /// The kind of place where food is handled.
    pub place: FoodPlace,
    /// The rinse that is due: what is rinsed off has no residue limit.
    pub rinse: Option<&'a Rinse>,
    /// The measure's error, as a share.
    pub error: &'a Number,
}

/// Works out both; what cannot be is put into `report`.
pub(super) fn expected(written: &Treatment, mix: &Mix<'_>, report: &mut Report) -> Option<Expected> {
    let product = &written.product;
    let limit = told(residue_limit(written, mix), &product.origin, report)?;
    let strongest = mix.at_label.times(mix.strongest);
    let bounds = Bounds::of(mix.at_label, &strongest, mix.error, limit.as_ref());
    let bounds = told(bounds, &product.origin, report)?;
    let Some(scale) = &product.strip else {
        return Some(Expected { bounds, strip: None });
    };
    let read = strip::expectation(&scale.blocks, &bounds);
    let read = told(read, &product.origin.key("strip"), report)?;
    let strip = StripPlan {
        name: scale.name.clone(),
        blocks: scale.blocks.clone(),
        passes: read.passes,
        passes_between: read.passes_between,
        off_scale: read.off_scale.is_some(),
        cannot_show: !read.can_show,
        dip: scale.dip.clone(),
        wait: scale.wait.clone(),
    };
    Some(Expected { bounds, strip: Some(strip) })
}

/// The strength, of what the strip measures, at which a residue would no longer be within 40 CFR 180.940: every ingredient rises
/// with it. `None` where food touches nothing, where a rinse takes the residue off, and where no limit is stated.
fn residue_limit(written: &Treatment, mix: &Mix<'_>) -> Result<Option<Strength>, CalcError> {
    if mix.rinse.is_some() {
        return Ok(None);
    }
    // Far above any limit all of them are exceeded, so that each stands among the findings.
    let far = mix.strongest * &Number::int(1_000_000);
    let found = residue(written, mix.place, mix.ratio, mix.at_label, &far)?;
    let findings = found.map(|residue| residue.findings).unwrap_or_default();
    let limits = findings.iter().filter_map(|finding| match finding {
        Finding::Over { limit, found, .. } => Some(&far * &limit.over(found)),
        _ => None,
    });
    Ok(limits.min().map(|times| mix.at_label.times(&times)))
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
            Some((ppm(band.low)?, band.low_passes, ppm(band.high)?, band.high_passes))
        };
        assert_eq!(edges(&[], &[]), None);
        assert_eq!(edges(&[3], &[]), Some((600, true, 600, true)));
        assert_eq!(edges(&[3], &[3]), Some((600, true, 800, false)));
        assert_eq!(edges(&[3], &[2]), Some((400, false, 600, true)));
        assert_eq!(edges(&[], &[2]), Some((400, false, 600, false)));
        assert_eq!(edges(&[2, 3], &[2]), Some((400, true, 600, true)));
    }
}
