//! Readings of strength, compared with the plan by the rule of [`crate::calc::strip`].

use super::verdict::{Band, Outcome, Rule, Verdict};
use crate::calc::strip::{Span, Verdict as Shown};
use crate::diagnostic::Diagnostics;
use crate::job::{LoadLog, Reading};
use crate::plan::{LoadPlan, Passing, TreatmentPlan};
use crate::quantity::{Number, Strength};

pub fn compare(reading: &Reading, treatment: &TreatmentPlan) -> Band {
    let bounds = &treatment.bounds;
    let shown = match (&reading.instrument, &treatment.strip) {
        (Some(error), _) => Some(bounds.judge(&Span::of_instrument(&reading.low, error))),
        (None, Some(strip)) => strip.judge(bounds, &reading.low, &reading.high),
        (None, None) => None,
    };
    match shown {
        Some(Shown::Pass) => Band::Passes,
        Some(Shown::TooWeak) => Band::Below,
        Some(Shown::TooStrong) => Band::Above,
        Some(Shown::CannotTell) => Band::CannotTell,
        None => Band::Unknown,
    }
}

/// The readings that pass where `reading` was taken: blocks and spaces of the strip, or figures of that instrument.
pub fn passing(reading: &Reading, treatment: &TreatmentPlan) -> Option<Passing> {
    let Some(error) = &reading.instrument else {
        return treatment.strip.as_ref()?.band();
    };
    let bounds = &treatment.bounds;
    // what `Bounds::judge` asks of a figure's two ends, said of the figure
    let low = (&bounds.dose - error).max(&bounds.least + error);
    let high = &bounds.most + error;
    (low <= high && bounds.dose <= bounds.most).then_some(Passing { low, low_passes: true, high, high_passes: true })
}

/// Readings that nothing on the strip looks like, put into `report`: a figure that is no block, or blocks that are not neighbors.
pub(super) fn not_on_strip(treatment: &TreatmentPlan, entry: &LoadLog, report: &mut Diagnostics) {
    let (Some(reading), Some(strip)) = (&entry.reading, &treatment.strip) else {
        return;
    };
    if reading.instrument.is_some() || Span::of_reading(&strip.blocks, &reading.low, &reading.high).is_some() {
        return;
    }
    let figure = |strength: &Strength| strength.as_milligrams_per_litre().decimal(2);
    let read = if reading.low == reading.high {
        format!("{} ppm is no block of the strip", figure(&reading.low))
    } else {
        let (low, high) = (figure(&reading.low), figure(&reading.high));
        format!("{low} to {high} ppm are not two blocks of the strip side by side")
    };
    let blocks: Vec<String> = strip.blocks.iter().map(figure).collect();
    let problem = entry.origin.key("reading").error("reading-not-on-strip", read);
    report.push(
        problem
            .hint(format!("its blocks are {} ppm", blocks.join(", ")))
            .hint("write the block that the color matches, or the two blocks that it lies between")
            .hint("the figure of an instrument has the instrument's error beside it: `instrument: ±5 %`"),
    );
}

/// The verdicts on the strength of one entry of a load: by what was read, and by the amounts. `when_not` is the outcome of a rule
/// that was not kept.
pub(super) fn judge_strength(
    treatment: &TreatmentPlan,
    load: &LoadPlan,
    entry: &LoadLog,
    when_not: Outcome,
    verdicts: &mut Vec<Verdict>,
) {
    let dose = judge_dose(treatment, load, entry, when_not);
    let read = entry.reading.as_ref();
    // With no strip and no amounts nothing says how strong it was. That is no deviation, and must not pass for kept.
    if read.is_some() || (treatment.strip.is_none() && dose.is_none() && !treatment.ratio.is_ready_to_use()) {
        let result = read.map_or(Band::Unknown, |read| compare(read, treatment));
        let outcome = match result {
            Band::Passes => Outcome::Holds,
            Band::Unknown | Band::CannotTell => Outcome::NotJudged,
            Band::Below | Band::Above => when_not,
        };
        let band = read.and_then(|read| passing(read, treatment));
        let rule = Rule::Reading { treatment: treatment.number, load: load.number, read: read.cloned(), band, result };
        verdicts.push(Verdict { outcome, rule });
    }
    verdicts.extend(dose);
}

/// By the amounts really used, where the log has both.
fn judge_dose(treatment: &TreatmentPlan, load: &LoadPlan, entry: &LoadLog, when_not: Outcome) -> Option<Verdict> {
    let (water, product) = entry.water.clone().zip(entry.product.clone())?;
    let wanted = treatment.ratio.product_for_water(&water)?;
    let solution = &water + &product.added_volume();
    let label = treatment.ratio.product_in_solution(&solution).value();
    let factor = product.value() / &label;
    // A sheet shows amounts within 0.5 % of their value, and a log repeats what the sheet shows.
    let least = &treatment.dose.least - &Number::ratio(1, 200);
    let is_off = factor < least || factor > treatment.dose.most;
    Some(Verdict {
        outcome: if is_off { when_not } else { Outcome::Holds },
        rule: Rule::Dose { treatment: treatment.number, load: load.number, water, product, wanted },
    })
}
