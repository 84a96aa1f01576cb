//! Strip readings drawn against their band: places in per cent of the drawing's width, so that a page can be as narrow as a
//! telephone while its letters stay as large. Blocks stand one beside the other as on the strip, whatever they count.

use minijinja::context;
use serde_json::{Value, json};

use super::super::DocumentError;
use super::super::used::band_word;
use super::super::voice::Voice;
use crate::job::{Applied, Reading};
use crate::plan::{Passing, StripPlan, TreatmentPlan};
use crate::quantity::Strength;
use crate::record::{Band, compare, entries_of};

/// Room for a load's name, in per cent.
const LEFT: f64 = 22.0;
/// From one block to the next, in blocks: a band, or a reading between two blocks, ends so far beside a block's middle.
pub(in crate::document) const ASIDE: f64 = 0.22;
/// A row's height in px, and that of the row of blocks above all.
const ROW: usize = 26;
const HEAD: usize = 24;
/// Letters that the blocks' names may take together on the narrowest page: 220 px for names of 7 px a letter.
const LETTERS: usize = 32;

/// A drawing a treatment: `marks` is empty where nothing was read.
pub(super) fn charts(voice: &Voice<'_>, applied: Option<&Applied>) -> Result<Vec<Value>, DocumentError> {
    let mut all = Vec::new();
    for treatment in &voice.plan.treatments {
        if let (Some(strip), Some(applied)) = (&treatment.strip, applied) {
            all.extend(chart(voice, treatment, strip, applied)?);
        }
    }
    Ok(all)
}

fn chart(
    voice: &Voice<'_>,
    treatment: &TreatmentPlan,
    strip: &StripPlan,
    applied: &Applied,
) -> Result<Option<Value>, DocumentError> {
    let (Some(passes), Some(band)) = (strip.band(), voice.band(strip)?) else {
        return Ok(None);
    };
    let words = voice.words;
    let scale = Scale { blocks: &strip.blocks };
    let (from, to) = scale.band(&passes);
    let mut said = vec![words.say("page.chart_band", context! { band })?];
    let mut marks = Vec::new();
    for load in &treatment.loads {
        for entry in entries_of(applied, treatment.number, load.number) {
            let Some(reading) = &entry.reading else { continue };
            let result = compare(reading, treatment);
            let read = voice.reading(reading)?;
            let (number, result_word) = (load.number, band_word(voice, result)?);
            said.push(words.say("page.chart_reading", context! { load => number, read, result => result_word })?);
            let mut mark = scale.mark(reading);
            mark["y"] = json!(HEAD + ROW * marks.len() + ROW / 2);
            mark["label"] = json!(words.say("page.chart_load", context! { load => number })?);
            mark["pass"] = json!(result == Band::Passes);
            marks.push(mark);
        }
    }
    let every = names_every(voice, strip);
    let blocks: Vec<Value> = strip
        .blocks
        .iter()
        .enumerate()
        .map(|(i, block)| {
            let name = (i % every == 0).then(|| voice.bare(block));
            json!({ "x": scale.across(i as f64), "label": name })
        })
        .collect();
    Ok(Some(json!({
        "id": treatment.number,
        "heading": words.say("page.chart_heading", context! { product => &treatment.product.name, title => &treatment.directions.title })?,
        "title": words.say("page.chart", context! { product => &treatment.product.name })?,
        "words": said.join(" "),
        "height": HEAD + ROW * marks.len() + 8,
        "band": { "x": scale.across(from), "width": rounded(scale.width(to - from)) },
        "blocks": blocks,
        "marks": marks,
    })))
}

/// Every block is named, or every second or third where the names would run into each other on a telephone.
fn names_every(voice: &Voice<'_>, strip: &StripPlan) -> usize {
    let longest = strip.blocks.iter().map(|b| voice.bare(b).chars().count() + 1).max().unwrap_or(1);
    (longest * strip.blocks.len()).div_ceil(LETTERS).max(1)
}

/// The blocks of a strip, side by side.
pub(in crate::document) struct Scale<'a> {
    pub blocks: &'a [Strength],
}

impl Scale<'_> {
    /// Where a strength lies, counted in blocks from 0; what lies beyond the strip is put at its end.
    pub fn at(&self, strength: &Strength) -> f64 {
        let last = self.blocks.len().saturating_sub(1);
        let above = self.blocks.iter().position(|block| strength <= block).unwrap_or(last);
        match above.checked_sub(1).and_then(|below| Some((self.blocks.get(below)?, self.blocks.get(above)?))) {
            Some((low, high)) if strength < high => (above - 1) as f64 + (strength - low).over(&(high - low)).to_f64(),
            _ => above as f64,
        }
    }

    /// From where to where a band reaches: beside an edge that passes, and not up to one that does not.
    pub fn band(&self, band: &Passing) -> (f64, f64) {
        let aside = |passes: bool| if passes { ASIDE } else { -ASIDE };
        (self.at(&band.low) - aside(band.low_passes), self.at(&band.high) + aside(band.high_passes))
    }

    /// Middle of a place, in per cent of the drawing's width.
    fn across(&self, at: f64) -> f64 {
        rounded(LEFT + self.width(at + 0.5))
    }

    fn width(&self, blocks: f64) -> f64 {
        blocks / self.blocks.len().max(1) as f64 * (100.0 - LEFT)
    }

    /// A dot on a block or where a number lies, a bar between two.
    fn mark(&self, reading: &Reading) -> Value {
        let (low, high) = (self.at(&reading.low), self.at(&reading.high));
        if low < high {
            json!({ "x": self.across(low + ASIDE), "width": rounded(self.width((high - low - 2.0 * ASIDE).max(0.1))) })
        } else {
            json!({ "x": self.across(low), "width": null })
        }
    }
}

/// To a hundredth: finer than a dot.
fn rounded(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::parse::scale;

    #[test]
    fn strengths_lie_on_and_between_the_blocks() {
        let blocks = scale("0, 400, 800, 1600 ppm").expect("a scale");
        let scale = Scale { blocks: &blocks };
        let at = |ppm| scale.at(&Strength::milligrams_per_litre(crate::quantity::Number::int(ppm)));
        assert_eq!((at(0), at(400), at(1600)), (0.0, 1.0, 3.0));
        assert_eq!((at(200), at(1200)), (0.5, 2.5));
        assert_eq!((at(5000), scale.across(-0.5)), (3.0, LEFT));
        assert_eq!(scale.across(3.5), 100.0);
    }
}
