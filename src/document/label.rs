//! Container labels: one a load and copy, of one job or of several, on the stock their treatments name.

use std::collections::{BTreeMap, BTreeSet};

use minijinja::context;
use serde_json::{Value, json};

use super::elements::{self, Rules, optional};
use super::legible::{code_mm, code_step_mm, least, mm};
use super::voice::Voice;
use super::{DocumentError, View};
use crate::company::{Correction, LabelSignal, Stock};
use crate::diagnostic::Diagnostics;
use crate::engine::Template;
use crate::job::Job;
use crate::plan::{ActiveStrength, LoadPlan, TreatmentPlan};
use crate::record::{Code, code};

/// The labels of one kind of stock.
#[derive(Clone, Debug)]
pub struct LabelBatch {
    /// The stock's key.
    pub stock: String,
    /// The labels, ready to be set.
    pub view: View,
}

/// A job whose labels are printed.
#[derive(Clone, Copy)]
pub struct LabelJob<'a> {
    /// Its voice.
    pub voice: &'a Voice<'a>,
    /// The language that stands on each label as well, where there is one.
    pub second: Option<&'a Voice<'a>>,
    /// The job itself.
    pub job: &'a Job,
}

impl LabelJob<'_> {
    /// What its labels on this stock follow.
    fn rules(&self, stock: &Stock) -> BTreeSet<Rules> {
        Rules::followed(stock.regime, &self.job.company.state_rules)
    }
}

/// How labels are to be printed.
#[derive(Clone, Copy, Debug)]
pub struct LabelRun<'a> {
    /// The first free place of the first sheet, from 1, row by row.
    pub first: u32,
    /// How many of each label, whatever the files say.
    pub copies: Option<u32>,
    /// What the printer does wrong.
    pub correction: Option<&'a Correction>,
    /// Which of them.
    pub only: LabelOnly,
}

/// Of all labels, those of one treatment or load.
#[derive(Clone, Copy, Debug, Default)]
pub struct LabelOnly {
    /// Its place in the job, from 1.
    pub treatment: Option<usize>,
    /// Its place in the treatment, from 1.
    pub load: Option<usize>,
}

impl LabelOnly {
    /// Whether labels of this load are among them.
    fn takes(self, treatment: &TreatmentPlan, load: &LoadPlan) -> bool {
        self.treatment.is_none_or(|number| number == treatment.number)
            && self.load.is_none_or(|number| number == load.number)
    }
}

impl Default for LabelRun<'_> {
    fn default() -> Self {
        LabelRun { first: 1, copies: None, correction: None, only: LabelOnly::default() }
    }
}

/// All labels of some jobs, in their order, one batch a stock: labels of one stock share its sheets.
///
/// # Errors
/// `DocumentError` if a word or a statement is missing.
pub fn labels(jobs: &[LabelJob<'_>], run: &LabelRun<'_>) -> Result<Vec<LabelBatch>, DocumentError> {
    let Some(first) = jobs.first() else {
        return Ok(Vec::new());
    };
    let mut stocks: BTreeMap<&str, (&Stock, Vec<Value>, Common)> = BTreeMap::new();
    let mut group = 0;
    for wanted in jobs {
        let LabelJob { voice, second, job } = wanted;
        let code = printed_code(voice)?;
        for (treatment, written) in voice.plan.treatments.iter().zip(&job.treatments) {
            if !treatment.loads.iter().any(|load| run.only.takes(treatment, load)) {
                continue;
            }
            // a job is not planned unless its stock is in the company file
            let Some(stock) = job.company.stock.get(&treatment.stock) else {
                continue;
            };
            let entry = stocks.entry(&treatment.stock);
            let (_, labels, document) = entry.or_insert_with(|| (stock, Vec::new(), Common::default()));
            let rules = wanted.rules(stock);
            document.take(stock, treatment, &rules);
            let mut view = label(voice, treatment, &rules, &code)?;
            if !written.product.label_checked {
                let draft = voice.words.word("label.words.draft")?.to_uppercase();
                view["product"] = json!(format!("{draft}: {}", treatment.product.name));
            }
            view["group"] = json!(group);
            view["copies"] = json!(run.copies.or(written.label_copies).unwrap_or(stock.copies));
            view["second"] = match second {
                Some(second) => in_second(label(second, treatment, &rules, &Value::Null)?, second),
                None => Value::Null,
            };
            let filled = treatment.loads.iter().flat_map(|load| std::iter::repeat_n(load, load.containers));
            for (index, load) in filled.enumerate().filter(|(_, load)| run.only.takes(treatment, load)) {
                let which = Filled { load, number: index + 1 };
                let mut view = view.clone();
                which.put_on(&mut view, voice, treatment)?;
                if let Some(second) = second {
                    which.put_on(&mut view["second"], second, treatment)?;
                }
                labels.push(view);
            }
            group += 1;
        }
    }
    let words = first.voice.words;
    let numbers: Vec<&str> = jobs.iter().map(|j| j.voice.plan.job.as_str()).collect();
    let (title, stem) = match numbers.as_slice() {
        [job] => (words.say("label.title", context! { job => *job })?, format!("{job}-labels")),
        _ => {
            let jobs = numbers.join(", ");
            (words.say("label.title_run", context! { jobs })?, "labels".to_owned())
        }
    };
    let mut batches = Vec::new();
    for (key, (stock, labels, document)) in stocks {
        let data = json!({
            "lang": words.language,
            "title": title,
            "author": first.voice.plan.company.name,
            "accent": null,
            "draft": false,
            "words": words.group("label.words"),
            "rules": document.rules.iter().map(|rules| rules.word()).collect::<Vec<_>>(),
            "optional": optional(stock.class(), &document.rules),
            "minimum_pt": document.type_points,
            "line_pitch": document.line_pitch,
            "stock": stock_view(stock, run),
            "labels": labels,
        });
        let view = View { template: Template::Label, stem: format!("{stem}-{key}"), data };
        batches.push(LabelBatch { stock: key.to_owned(), view });
    }
    Ok(batches)
}

/// What a label says again in its second language: words, and figures as that language writes them. What is the same in every
/// language (names, numbers, the code) is not repeated.
fn in_second(mut label: Value, second: &Voice<'_>) -> Value {
    let again = [
        "state",
        "kind",
        "container",
        "dilution",
        "strength",
        "contact",
        "pesticide",
        "ghs",
        "mixed",
        "discard",
        "deference",
        "sheet_at_hand",
        "follows",
    ];
    let mut said = json!({ "lang": second.words.language, "words": second.words.group("label.words") });
    for key in again {
        said[key] = label[key].take();
    }
    said
}

/// What labels lack of what their rules require, added to `report`.
///
/// # Errors
/// [`DocumentError`] if a word or a statement is missing.
pub fn check_elements(jobs: &[LabelJob<'_>], report: &mut Diagnostics) -> Result<(), DocumentError> {
    for wanted in jobs {
        for treatment in &wanted.voice.plan.treatments {
            let (Some(stock), Some(load)) = (wanted.job.company.stock.get(&treatment.stock), treatment.loads.first())
            else {
                continue;
            };
            let rules = wanted.rules(stock);
            let mut label = label(wanted.voice, treatment, &rules, &Value::Null)?;
            Filled { load, number: 1 }.put_on(&mut label, wanted.voice, treatment)?;
            for problem in elements::lacking(wanted, treatment, &label, &rules) {
                // what the company or a product lacks is lacking on every load
                if !report.problems().contains(&problem) {
                    report.push(problem);
                }
            }
        }
    }
    Ok(())
}

/// The same labels on other stock, each once, from the first place: to see whether they would fit there.
pub fn on_other_stock(view: &View, stock: &Stock) -> View {
    let mut data = view.data.clone();
    data["stock"] = stock_view(stock, &LabelRun::default());
    // what states ask for stays; the country's rules are those of that stock
    let words = view.data["rules"].as_array().into_iter().flatten().filter_map(Value::as_str);
    let states = words.filter_map(Rules::of_word).filter_map(|rules| match rules {
        Rules::In(state) => Some(state),
        _ => None,
    });
    let rules = Rules::followed(stock.regime, &states.collect::<Vec<_>>());
    data["rules"] = json!(rules.iter().map(|rules| rules.word()).collect::<Vec<_>>());
    data["optional"] = json!(optional(stock.class(), &rules));
    for label in data["labels"].as_array_mut().into_iter().flatten() {
        label["copies"] = json!(1);
    }
    View { data, ..view.clone() }
}

/// What the labels of a document have in common: the strictest that one of them asks for.
#[derive(Default)]
struct Common {
    type_points: f64,
    line_pitch: f64,
    rules: BTreeSet<Rules>,
}

impl Common {
    fn take(&mut self, stock: &Stock, treatment: &TreatmentPlan, rules: &BTreeSet<Rules>) {
        let least = least(stock.regime.rules(), &treatment.filled.holds);
        self.type_points = self.type_points.max(least.type_points.to_f64());
        self.line_pitch = self.line_pitch.max(least.line_pitch.to_f64());
        self.rules.extend(rules);
    }
}

fn stock_view(stock: &Stock, run: &LabelRun<'_>) -> Value {
    let insets = stock.insets();
    let correction = run.correction.map(correction_view);
    json!({
        "class": stock.class().word(),
        "page_width_mm": mm(&stock.page_width),
        "page_height_mm": mm(&stock.page_height),
        "label_width_mm": mm(&stock.width),
        "label_height_mm": mm(&stock.height),
        "columns": stock.columns,
        "rows": stock.rows,
        "left_mm": mm(&stock.left),
        "top_mm": mm(&stock.top),
        "gap_x_mm": mm(&stock.gap_x),
        "gap_y_mm": mm(&stock.gap_y),
        "turned": stock.turned,
        "insets_mm": {
            "top": mm(&insets.top),
            "right": mm(&insets.right),
            "bottom": mm(&insets.bottom),
            "left": mm(&insets.left),
        },
        // a sheet of one has no other place to begin at
        "first": if stock.per_page() > 1 { run.first } else { 1 },
        "ink": stock.ink.word(),
        "correction": correction,
    })
}

pub(super) fn correction_view(correction: &Correction) -> Value {
    json!({
        "right_mm": correction.right.to_f64(),
        "down_mm": correction.down.to_f64(),
        "scale": correction.scale.to_f64(),
    })
}

/// The code of a job's labels, with the sizes it may be printed in.
fn printed_code(voice: &Voice<'_>) -> Result<Value, DocumentError> {
    let link = &voice.record.link;
    let Code { svg, modules } = code(link).ok_or(DocumentError::Code)?;
    let alt = voice.words.say("qr_alt", context! { link })?;
    let (least, step) = (code_mm(modules).to_f64(), code_step_mm(modules).to_f64());
    Ok(json!({ "svg": svg, "alt": alt, "least_mm": least, "step_mm": step }))
}

/// What all labels of a treatment say.
fn label(
    voice: &Voice<'_>,
    treatment: &TreatmentPlan,
    follows: &BTreeSet<Rules>,
    code: &Value,
) -> Result<Value, DocumentError> {
    let words = voice.words;
    let plan = voice.plan;
    let ready = treatment.ratio.is_ready_to_use();
    let (dilution, meaning, _) = voice.dilution(treatment)?;
    let said = if ready { "label.undiluted" } else { "label.diluted" };
    let wants_sheet = elements::wants_sheet_at_hand(follows);
    let sheet_at_hand = wants_sheet.then(|| words.word("label.sheet_at_hand")).transpose()?;
    Ok(json!({
        "group": 0,
        "copies": 1,
        "pictogram_mm": least(plan.regime.rules(), &treatment.filled.holds).pictogram_mm.to_f64(),
        "product": treatment.product.name,
        "state": words.word(if ready { "label.state_ready" } else { "label.state" })?,
        "kind": words.word(&format!("kinds.{}", treatment.product.kind.word()))?,
        "container": null,
        "dilution": { "big": dilution, "small": meaning },
        "strength": null,
        "contact": {
            "big": voice.time(&treatment.directions.contact_time),
            "small": words.word(&format!("surfaces.{}", surface_word(treatment)))?,
        },
        "pesticide": {
            "heading": words.word("label.pesticide_heading")?,
            "signal": treatment.product.label_signal.and_then(LabelSignal::printed),
            "child": words.word("label.child")?,
            "lines": [words.word(said)?, words.word("label.not_drink")?],
        },
        "ghs": super::hazards::hazards(voice, treatment)?,
        "actives": null,
        "registration": voice.registration(treatment)?,
        "mixed": { "date": voice.date(plan.start.date())?, "time": null, "by": null, "usual": voice.usual_date()? },
        "discard": null,
        "lot": null,
        "firm": {
            "name": plan.company.name,
            "address": plan.company.address,
            "phone": plan.company.phone,
            "emergency": plan.company.emergency_phone,
        },
        "deference": words.word("deference")?,
        "follows": said_to_follow(voice, follows)?,
        "sheet_at_hand": sheet_at_hand,
        "record": voice.record.number,
        "qr": code,
    }))
}

/// A container that is filled: from which load, and its place among all of the treatment, from 1.
struct Filled<'a> {
    load: &'a LoadPlan,
    number: usize,
}

impl Filled<'_> {
    /// What only the label of this container says.
    fn put_on(&self, label: &mut Value, voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<(), DocumentError> {
        let load = self.load;
        let small = match treatment.strip.as_ref().map(|s| voice.band(s)).transpose()?.flatten() {
            Some(band) => voice.words.say("label.strip", context! { band })?,
            None => voice.words.say("label.calculated", context! { of => voice.measured(treatment)? })?,
        };
        label["container"] = json!(container(voice, treatment, self)?);
        label["strength"] = json!({ "big": voice.units.strength(&load.strength).main, "small": small });
        label["discard"] = json!(load.discard_after.map(|moment| voice.until(moment)).transpose()?);
        if label.get("actives").is_some() {
            label["actives"] = json!(actives(voice, load));
        }
        Ok(())
    }
}

/// `Label after 29 CFR 1910.1200(f)(6)(i); 3 CCR 6678`. Advice is not named: no label is made after it alone.
fn said_to_follow(voice: &Voice<'_>, follows: &BTreeSet<Rules>) -> Result<String, DocumentError> {
    let binding = follows.iter().filter(|rules| **rules != Rules::Epa);
    let said: Result<Vec<&str>, _> =
        binding.map(|rules| voice.words.word(&format!("label.follows.{}", rules.word()))).collect();
    Ok(said?.join("; "))
}

/// `Mister A · load 2 of 3`, `Trigger bottle · 3 of 5`
fn container(voice: &Voice<'_>, treatment: &TreatmentPlan, filled: &Filled<'_>) -> Result<String, DocumentError> {
    let load = filled.load;
    if treatment.mixed_in.is_some() {
        let blanks = context! {
            container => &treatment.filled.name,
            number => filled.number,
            count => treatment.containers(),
            load => load.number,
            loads => treatment.loads.len(),
        };
        let one = treatment.loads.len() == 1;
        let key = if one { "container_poured" } else { "container_poured_load" };
        return Ok(voice.words.say(key, blanks)?);
    }
    let blanks = context! {
        sprayer => &treatment.sprayer.name,
        which => load.sprayer,
        load => load.number,
        loads => treatment.loads.len(),
    };
    let key = if treatment.sprayer.count > 1 { "container_of" } else { "container" };
    Ok(voice.words.say(key, blanks)?)
}

pub(super) fn surface_word(treatment: &TreatmentPlan) -> &'static str {
    use crate::company::Surface;
    match treatment.directions.surface {
        Surface::Hard => "hard",
        Surface::FoodContact => "food-contact",
    }
}

/// Each active with its share of this load.
fn actives(voice: &Voice<'_>, load: &LoadPlan) -> Vec<Value> {
    let shown = |a: &ActiveStrength| json!({ "name": a.name, "content": voice.units.percent(&a.share).main });
    load.actives.iter().map(shown).collect()
}

#[cfg(test)]
mod geometry;
