//! What the template of a label document is given, field by field as `templates/README.md` lists it.

use std::collections::BTreeMap;

use minijinja::context;
use serde::Serialize;

use super::LabelRun;
use crate::company::Stock;
use crate::document::DocumentError;
use crate::document::grid::{CorrectionView, Grid};
use crate::document::hazards::Hazards;
use crate::document::legible::{code_mm, code_step_mm, mm};
use crate::document::voice::Voice;
use crate::plan::{ActiveStrength, LoadPlan};
use crate::record::Code;

/// What the template of a label document is given, beside its head.
#[derive(Serialize)]
pub(super) struct Body {
    pub(super) rules: Vec<&'static str>,
    pub(super) optional: Vec<&'static str>,
    pub(super) minimum_pt: f64,
    /// The smallest type of what no rule asks for.
    pub(super) smallest_pt: f64,
    pub(super) line_pitch: f64,
    /// Whether nothing is set narrow, grey, or white on black.
    pub(super) plain: bool,
    pub(super) stock: StockView,
    pub(super) labels: Vec<Label>,
}

/// One label.
#[derive(Clone, Serialize)]
pub(super) struct Label {
    pub(super) group: usize,
    pub(super) copies: u32,
    pub(super) pictogram_mm: f64,
    pub(super) pictogram_wanted_mm: f64,
    pub(super) product: String,
    pub(super) registration: Option<String>,
    pub(super) actives: Vec<Active>,
    pub(super) firm: Firm,
    pub(super) site: String,
    /// None for a label without a job.
    pub(super) record: Option<String>,
    /// Who mixed it, where that is known.
    pub(super) by: Option<String>,
    pub(super) qr: Option<PrintedCode>,
    /// Whether nobody has compared its product with the label.
    pub(super) draft: bool,
    #[serde(flatten)]
    pub(super) said: Texts,
    pub(super) second: Option<Second>,
}

/// What a label says again in its second language: words, and figures as that language writes them. What is the same in every
/// language (names, numbers, the code) is not repeated.
#[derive(Clone, Serialize)]
pub(super) struct Texts {
    pub(super) state: String,
    pub(super) kind: String,
    pub(super) container: String,
    pub(super) dilution: Figure,
    /// What goes into the container, where the label says it.
    pub(super) mix: Option<String>,
    pub(super) strength: Strength,
    pub(super) contact: Figure,
    pub(super) pesticide: Pesticide,
    /// What it must never be mixed with, in a sentence.
    pub(super) never_with: String,
    pub(super) ghs: Hazards,
    pub(super) mixed: Option<String>,
    pub(super) discard: Option<String>,
    pub(super) keeps: Option<String>,
    pub(super) deference: String,
    pub(super) follows: String,
    pub(super) sheet_at_hand: Option<String>,
}

#[derive(Clone, Serialize)]
pub(super) struct Second {
    pub(super) lang: String,
    pub(super) words: BTreeMap<String, String>,
    #[serde(flatten)]
    pub(super) said: Texts,
}

#[derive(Clone, Serialize)]
pub(super) struct Figure {
    pub(super) big: String,
    pub(super) small: String,
}

/// A strength says what it is of.
#[derive(Clone, Default, Serialize)]
pub(super) struct Strength {
    pub(super) big: String,
    pub(super) of: String,
    pub(super) small: Option<String>,
}

#[derive(Clone, Serialize)]
pub(super) struct Pesticide {
    pub(super) heading: String,
    pub(super) signal: Option<String>,
    pub(super) child: String,
    pub(super) lines: Vec<String>,
}

#[derive(Clone, Serialize)]
pub(super) struct Active {
    pub(super) name: String,
    pub(super) content: String,
}

#[derive(Clone, Serialize)]
pub(super) struct Firm {
    pub(super) name: String,
    pub(super) address: String,
    pub(super) phone: String,
    pub(super) emergency: Option<String>,
}

/// The code of a job's labels, with the sizes it may be printed in.
#[derive(Clone, Serialize)]
pub(super) struct PrintedCode {
    pub(super) svg: String,
    pub(super) alt: String,
    pub(super) least_mm: f64,
    pub(super) step_mm: f64,
}

#[derive(Serialize)]
pub(super) struct StockView {
    pub(super) class: &'static str,
    #[serde(flatten)]
    pub(super) grid: Grid,
    pub(super) insets_mm: Insets,
    pub(super) first: u32,
    pub(super) ink: &'static str,
    pub(super) correction: Option<CorrectionView>,
}

#[derive(Serialize)]
pub(super) struct Insets {
    pub(super) top: f64,
    pub(super) right: f64,
    pub(super) bottom: f64,
    pub(super) left: f64,
}

pub(super) fn stock_view(stock: &Stock, run: &LabelRun<'_>) -> StockView {
    let insets = stock.insets();
    StockView {
        class: stock.class().word(),
        grid: Grid::of(stock),
        insets_mm: Insets {
            top: mm(&insets.top),
            right: mm(&insets.right),
            bottom: mm(&insets.bottom),
            left: mm(&insets.left),
        },
        // a sheet of one has no other place to begin at
        first: if stock.per_page() > 1 { run.first } else { 1 },
        ink: run.ink_of(stock).word(),
        correction: run.correction.map(CorrectionView::of),
    }
}

pub(super) fn printed_code(voice: &Voice<'_>) -> Result<PrintedCode, DocumentError> {
    let link = &voice.record.link;
    let Code { svg, modules } = voice.record.code().ok_or(DocumentError::Code)?;
    let alt = voice.words.say("qr_alt", context! { link })?;
    let (least_mm, step_mm) = (code_mm(*modules).to_f64(), code_step_mm(*modules).to_f64());
    Ok(PrintedCode { svg: svg.clone(), alt, least_mm, step_mm })
}

/// Each active with its share of this load.
pub(super) fn actives(voice: &Voice<'_>, load: &LoadPlan) -> Vec<Active> {
    let shown = |a: &ActiveStrength| Active { name: a.name.clone(), content: voice.units.percent(&a.share).main };
    load.actives.iter().map(shown).collect()
}
