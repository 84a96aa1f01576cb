//! Strip readings drawn against their band. Blocks stand one beside the other as on the strip, whatever they count. On a
//! page places are in percent of the drawing's width, so that it can be as narrow as a telephone while its letters stay as
//! large.

use minijinja::context;
use serde::Serialize;

use super::Said;
use super::used::band_word;
use super::voice::Voice;
use crate::job::{Reading, ServiceLog};
use crate::plan::{Passing, StripPlan, TreatmentPlan};
use crate::quantity::Strength;
use crate::record::{Band, compare, entries_of};

/// Space for a load's name, in percent.
const LEFT: f64 = 22.0;
/// From one block to the next, in blocks: a band, or a reading between two blocks, ends so far beside a block's middle.
const ASIDE: f64 = 0.22;
/// A row's height in px, and that of the row of blocks above all.
const ROW: usize = 26;
const HEAD: usize = 24;
/// Letters that the blocks' names may take together on the narrowest page: 220 px for names of 7 px a letter.
const LETTERS: usize = 32;

/// The drawing of one treatment.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Chart {
    id: usize,
    heading: String,
    title: String,
    /// All of it in sentences, for who cannot see it.
    words: String,
    /// In px.
    height: usize,
    band: Span,
    blocks: Vec<Block>,
    /// What was read; empty where nothing was.
    marks: Vec<Mark>,
}

/// From where, and how far; `None` is a point.
#[derive(Clone, Debug, Serialize)]
struct Span {
    x: f64,
    width: Option<f64>,
}

#[derive(Clone, Debug, Serialize)]
struct Block {
    x: f64,
    label: Option<String>,
}

#[derive(Clone, Debug, Serialize)]
struct Mark {
    #[serde(flatten)]
    span: Span,
    /// In px.
    y: usize,
    label: String,
    pass: bool,
}

/// A drawing a treatment.
pub(super) fn charts(voice: &Voice<'_>, service_log: Option<&ServiceLog>) -> Said<Vec<Chart>> {
    let Some(service_log) = service_log else { return Ok(Vec::new()) };
    let mut all = Vec::new();
    for treatment in &voice.plan.treatments {
        if let Some(strip) = &treatment.strip {
            all.extend(chart(voice, treatment, strip, service_log)?);
        }
    }
    Ok(all)
}

fn chart(
    voice: &Voice<'_>,
    treatment: &TreatmentPlan,
    strip: &StripPlan,
    service_log: &ServiceLog,
) -> Said<Option<Chart>> {
    let (Some(passes), Some(band)) = (strip.band(), voice.band(strip)?) else {
        return Ok(None);
    };
    let scale = Scale { blocks: &strip.blocks };
    let mut sentences = vec![voice.say("page.chart_band", context! { band })?];
    let mut marks = Vec::new();
    for load in &treatment.loads {
        for reading in entries_of(service_log, treatment.number, load.number).filter_map(|entry| entry.reading.as_ref())
        {
            let result = compare(reading, treatment);
            let blanks = context! {
                load => load.number,
                read => voice.reading(reading)?,
                result => band_word(voice, result)?,
            };
            sentences.push(voice.say("page.chart_reading", blanks)?);
            marks.push(Mark {
                span: scale.span(scale.reach(reading)),
                y: HEAD + ROW * marks.len() + ROW / 2,
                label: voice.say("page.chart_load", context! { load => load.number })?,
                pass: result == Band::Passes,
            });
        }
    }
    let every = names_every(voice, strip);
    let block = |(i, block)| Block { x: scale.across(i as f64), label: (i % every == 0).then(|| voice.bare(block)) };
    let (product, title) = (&treatment.product.name, &treatment.directions.title);
    Ok(Some(Chart {
        id: treatment.number,
        heading: voice.say("page.chart_heading", context! { product, title })?,
        title: voice.say("page.chart", context! { product })?,
        words: sentences.join(" "),
        height: HEAD + ROW * marks.len() + 8,
        band: scale.span(scale.band(&passes)),
        blocks: strip.blocks.iter().enumerate().map(block).collect(),
        marks,
    }))
}

/// Every block is named, or every second or third where the names would run into each other on a telephone.
fn names_every(voice: &Voice<'_>, strip: &StripPlan) -> usize {
    let longest = strip.blocks.iter().map(|b| voice.bare(b).chars().count() + 1).max().unwrap_or(1);
    (longest * strip.blocks.len()).div_ceil(LETTERS).max(1)
}

/// The blocks of a strip, side by side. Places are counted in blocks, from 0.
pub(super) struct Scale<'a> {
    pub blocks: &'a [Strength],
}

impl Scale<'_> {
    /// Where a strength lies; what lies beyond the strip is put at its end.
    fn at(&self, strength: &Strength) -> f64 {
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

    /// From where to where a reading reaches: between two blocks it is a bar that touches neither.
    pub fn reach(&self, reading: &Reading) -> (f64, f64) {
        let (low, high) = (self.at(&reading.low), self.at(&reading.high));
        if low < high { (low + ASIDE, high - ASIDE) } else { (low, high) }
    }

    fn span(&self, (from, to): (f64, f64)) -> Span {
        Span { x: self.across(from), width: (from != to).then(|| rounded(self.width((to - from).max(0.1)))) }
    }

    /// Middle of a place, in percent of the drawing's width.
    fn across(&self, at: f64) -> f64 {
        rounded(LEFT + self.width(at + 0.5))
    }

    fn width(&self, blocks: f64) -> f64 {
        blocks / self.blocks.len().max(1) as f64 * (100.0 - LEFT)
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
