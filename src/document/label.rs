//! Container labels: one a load and copy, of one job or of several, on the stock their treatments name.

use std::collections::{BTreeMap, BTreeSet};

use minijinja::context;
use serde_json::{Value, json};

use super::elements::{self, Rules, optional};
use super::legible::{self, Least, least};
use super::parts::phone_number;
use super::voice::{Voice, registration_number};
use super::{DocumentError, Head, View};
use crate::company::stock::Ink as StockInk;
use crate::company::{Correction, LabelSignal, Regime, Stock};
use crate::diagnostic::Diagnostics;
use crate::engine::{Ink, Template};
use crate::job::Job;
use crate::plan::{LoadPlan, Measured, TreatmentPlan};

mod given;

use given::{Body, Figure, Firm, Label, Pesticide, Second, Strength, Texts, actives, printed_code, stock_view};

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
    /// What the run is printed in; stock of one ink is printed in black whatever the run is.
    pub ink: Ink,
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
        LabelRun { first: 1, copies: None, correction: None, ink: Ink::Color, only: LabelOnly::default() }
    }
}

impl LabelRun<'_> {
    fn ink_of(&self, stock: &Stock) -> StockInk {
        if self.ink == Ink::Black { StockInk::Black } else { stock.ink }
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
    let mut stocks: BTreeMap<&str, (&Stock, Vec<Label>, Common)> = BTreeMap::new();
    let mut group = 0;
    for wanted in jobs {
        let LabelJob { voice, job, .. } = wanted;
        let code = printed_code(voice)?;
        for (treatment, written) in voice.plan.treatments.iter().zip(&job.treatments) {
            if !treatment.loads.iter().any(|load| run.only.takes(treatment, load)) {
                continue;
            }
            // a job is not planned unless its stock is in the company file
            let Some(stock) = job.company.stock.get(&treatment.stock) else {
                continue;
            };
            let least = least(stock.regime.rules(), &treatment.filled.holds);
            let entry = stocks.entry(&treatment.stock);
            let first = || (stock, Vec::new(), Common { least: least.clone(), rules: BTreeSet::new() });
            let (_, labels, document) = entry.or_insert_with(first);
            document.least = least.stricter(document.least.clone());
            document.rules.extend(wanted.rules(stock));
            let label = wanted.label(treatment, stock, run)?;
            let product = match written.product.label_checked {
                true => label.product.clone(),
                false => format!("{}: {}", voice.words.word("label.words.draft")?.to_uppercase(), label.product),
            };
            let alike = Label {
                group,
                copies: run.copies.or(written.label_copies).unwrap_or(stock.copies),
                qr: Some(code.clone()),
                draft: !written.product.label_checked,
                product,
                ..label
            };
            let filled = treatment.loads.iter().flat_map(|load| std::iter::repeat_n(load, load.containers));
            for (index, load) in filled.enumerate().filter(|(_, load)| run.only.takes(treatment, load)) {
                let which = Filled { load, number: index + 1 };
                let mut label = alike.clone();
                which.put_on(&mut label, wanted, treatment)?;
                labels.push(label);
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
        let author = Some(first.voice.plan.company.name.clone());
        let mut head = Head { author, ..Head::plain(words, title.clone(), "label.words") };
        head.words.insert("registration".to_owned(), first.registration_caption(stock, first.voice)?);
        let body = Body {
            rules: document.rules.iter().map(|rules| rules.word()).collect(),
            optional: optional(stock.class(), &document.rules),
            minimum_pt: document.least.type_points.to_f64(),
            smallest_pt: legible::SMALLEST_POINTS,
            line_pitch: document.least.line_pitch.to_f64().max(pitch_of(jobs)),
            plain: document.least.plain,
            stock: stock_view(stock, run),
            labels,
        };
        let view = View::new(Template::Label, format!("{stem}-{key}"), head, body)?;
        batches.push(LabelBatch { stock: key.to_owned(), view });
    }
    Ok(batches)
}

/// The least pitch of lines in ems that keeps the accents of capitals clear of the letters above them, in languages that have
/// such; 0.22 em hang below a line, and a capital with its accent is 0.93 em high.
fn pitch_of(jobs: &[LabelJob<'_>]) -> f64 {
    let mut spoken = jobs.iter().flat_map(|job| [Some(job.voice), job.second]).flatten();
    if spoken.all(|voice| voice.words.language == "en") { 1.0 } else { 1.15 }
}

/// What labels lack of what their rules require, added to `report`.
///
/// # Errors
/// [`DocumentError`] if a word or a statement is missing.
pub fn check_elements(
    jobs: &[LabelJob<'_>],
    run: &LabelRun<'_>,
    report: &mut Diagnostics,
) -> Result<(), DocumentError> {
    for wanted in jobs {
        for treatment in &wanted.voice.plan.treatments {
            let (Some(stock), Some(load)) = (wanted.job.company.stock.get(&treatment.stock), treatment.loads.first())
            else {
                continue;
            };
            let mut label = wanted.label(treatment, stock, run)?;
            Filled { load, number: 1 }.put_on(&mut label, wanted, treatment)?;
            let is_black = run.ink_of(stock) == StockInk::Black && label.said.ghs.has_pictograms();
            let label = serde_json::to_value(label).map_err(|error| DocumentError::Data(error.to_string()))?;
            let mut problems = elements::lacking(wanted, treatment, &label, &wanted.rules(stock));
            if is_black {
                problems.extend(elements::black_frames(wanted, treatment, stock));
            }
            for problem in problems {
                // what the company or a product lacks is lacking on every load
                if !report.problems().contains(&problem) {
                    report.push(problem);
                }
            }
        }
    }
    Ok(())
}

/// Whether labels that would follow 29 CFR 1910.1200(f)(6)(i) in color are printed in black.
pub fn has_black_frames(view: &View) -> bool {
    let follow = |rules: &Value| *rules == Rules::Of(Regime::UnitedStates).word();
    let has_any = |label: &Value| label["ghs"]["pictograms"].as_array().is_some_and(|all| !all.is_empty());
    view.data["stock"]["ink"] == StockInk::Black.word()
        && view.data["rules"].as_array().is_some_and(|rules| rules.iter().any(follow))
        && view.data["labels"].as_array().is_some_and(|labels| labels.iter().any(has_any))
}

/// A label on other stock, once, in the first place: to see whether it would fit there.
pub fn on_other_stock(view: &View, label: usize, stock: &Stock) -> View {
    let mut data = view.data.clone();
    data["stock"] = json!(stock_view(stock, &LabelRun::default()));
    // what states ask for stays; the country's rules are those of that stock
    let words = view.data["rules"].as_array().into_iter().flatten().filter_map(Value::as_str);
    let states = words.filter_map(Rules::of_word).filter_map(|rules| match rules {
        Rules::In(state) => Some(state),
        _ => None,
    });
    let rules = Rules::followed(stock.regime, &states.collect::<Vec<_>>());
    data["rules"] = json!(rules.iter().map(|rules| rules.word()).collect::<Vec<_>>());
    data["optional"] = json!(optional(stock.class(), &rules));
    let mut label = data["labels"][label].take();
    label["copies"] = json!(1);
    data["labels"] = json!([label]);
    View { data, ..view.clone() }
}

/// What the labels of a document have in common: the strictest that one of them asks for.
struct Common {
    least: Least,
    rules: BTreeSet<Rules>,
}

impl LabelJob<'_> {
    /// What all labels of a treatment say.
    fn label(&self, treatment: &TreatmentPlan, stock: &Stock, run: &LabelRun<'_>) -> Result<Label, DocumentError> {
        let plan = self.voice.plan;
        let least = least(stock.regime.rules(), &treatment.filled.holds);
        let second = self.second.map(|second| {
            let lang = second.words.language.clone();
            let mut words = second.words.group("label.words");
            words.insert("registration".to_owned(), self.registration_caption(stock, second)?);
            Ok::<_, DocumentError>(Second { lang, words, said: self.texts(second, treatment, stock, run)? })
        });
        Ok(Label {
            group: 0,
            copies: 1,
            pictogram_mm: least.pictogram_mm.to_f64(),
            pictogram_wanted_mm: least.pictogram_wanted_mm.to_f64(),
            product: treatment.product.name.clone(),
            registration: {
                let (words, epa) = (self.voice.words, stock.regime.is_of_the_united_states());
                let written = treatment.product.registration.as_deref();
                written.map(|written| registration_number(words, written, epa)).transpose()?
            },
            actives: Vec::new(),
            firm: Firm {
                name: plan.company.name.clone(),
                address: plan.company.address.clone(),
                phone: phone_number(&plan.company.phone),
                emergency: plan.company.emergency_phone.as_deref().map(phone_number),
            },
            site: self.job.site.name.clone(),
            record: Some(self.voice.record.number.clone()),
            by: None,
            qr: None,
            draft: false,
            said: self.texts(self.voice, treatment, stock, run)?,
            second: second.transpose()?,
        })
    }

    /// The caption of registration numbers in a language. In the United States both languages have that of the agency, in
    /// English where it is one of them: 40 CFR 156.10(e) gives its words.
    fn registration_caption(&self, stock: &Stock, voice: &Voice<'_>) -> Result<String, DocumentError> {
        if !stock.regime.is_of_the_united_states() {
            return Ok(voice.words.word("registration.any")?.to_owned());
        }
        let english = self.second.filter(|second| second.words.language == "en").unwrap_or(self.voice);
        Ok(english.words.word("registration.epa")?.to_owned())
    }

    fn texts(
        &self,
        voice: &Voice<'_>,
        treatment: &TreatmentPlan,
        stock: &Stock,
        run: &LabelRun<'_>,
    ) -> Result<Texts, DocumentError> {
        let rules = self.rules(stock);
        let ready = treatment.ratio.is_ready_to_use();
        let (dilution, meaning, _) = voice.dilution(treatment)?;
        let applied = if ready { "label.undiluted" } else { "label.diluted" };
        let wants_sheet = elements::wants_sheet_at_hand(&rules);
        // the dilution has a signal word of its own: that of the concentrate stands in a sentence
        let signal = treatment.product.label_signal.and_then(LabelSignal::printed);
        let signal = signal.filter(|_| elements::wants_concentrate_signal(&rules));
        let signal = signal.map(|word| voice.say("label.concentrate_signal", context! { word }));
        let keeps = treatment.product.keeps.as_ref();
        let ghs = super::hazards::hazards(voice, treatment)?;
        let is_black = run.ink_of(stock) == StockInk::Black && ghs.has_pictograms();
        Ok(Texts {
            state: voice.word(if ready { "label.state_ready" } else { "label.state" })?,
            kind: voice.word(&format!("kinds.{}", treatment.product.kind.word()))?,
            container: String::new(),
            dilution: Figure { big: dilution, small: meaning },
            mix: None,
            strength: Strength::default(),
            contact: Figure {
                big: voice.time(&treatment.directions.contact_time),
                small: voice.word(&format!("surfaces.{}", surface_word(treatment)))?,
            },
            pesticide: Pesticide {
                heading: voice.word("label.pesticide_heading")?,
                signal: signal.transpose()?,
                child: voice.word("label.child")?,
                lines: vec![voice.word(applied)?, voice.word("label.not_drink")?],
            },
            never_with: match treatment.product.never_with.as_slice() {
                [] => voice.word("label.never_with_any")?,
                others => {
                    let others = voice.never_with(others)?;
                    match others == voice.word("families.other")? {
                        true => voice.word("label.never_with_any")?,
                        false => voice.say("label.never_with", context! { others })?,
                    }
                }
            },
            ghs,
            mixed: None,
            discard: None,
            keeps: keeps.map(|keeps| voice.say("label.keeps", context! { keeps => voice.time(keeps) })).transpose()?,
            deference: voice.word("deference")?,
            follows: said_to_follow(voice, &rules, is_black)?,
            sheet_at_hand: wants_sheet.then(|| voice.word("label.sheet_at_hand")).transpose()?,
        })
    }
}

/// A container that is filled: from which load, and its place among all of the treatment, from 1.
struct Filled<'a> {
    load: &'a LoadPlan,
    number: usize,
}

impl Filled<'_> {
    /// What only the label of this container says.
    fn put_on(&self, label: &mut Label, job: &LabelJob<'_>, treatment: &TreatmentPlan) -> Result<(), DocumentError> {
        label.actives = actives(job.voice, self.load);
        self.say(&mut label.said, job.voice, job.job, treatment)?;
        match (&mut label.second, job.second) {
            (Some(second), Some(voice)) => self.say(&mut second.said, voice, job.job, treatment),
            _ => Ok(()),
        }
    }

    fn say(
        &self,
        said: &mut Texts,
        voice: &Voice<'_>,
        job: &Job,
        treatment: &TreatmentPlan,
    ) -> Result<(), DocumentError> {
        let load = self.load;
        let band = treatment.strip.as_ref().map(|strip| voice.band(strip)).transpose()?.flatten();
        said.container = container(voice, treatment, self)?;
        said.strength = Strength {
            big: voice.units.strength(&load.strength).main,
            of: strength_of(voice, treatment)?,
            small: Some(match band {
                Some(band) => voice.say("label.strip", context! { band })?,
                None => voice.word("label.calculated")?,
            }),
        };
        // what the crew does decides when; the plan's times are printed only where the job asks for them
        if job.label_times {
            said.mixed = Some(voice.until(load.mixed_at)?);
            said.discard = load.discard_after.map(|moment| voice.until(moment)).transpose()?;
        }
        Ok(())
    }
}

/// What the ppm of a label are of: available chlorine, or the actives of a kind of product.
fn strength_of(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<String, DocumentError> {
    match treatment.strength.of {
        Measured::Actives => voice.word(&format!("measured_of.{}", treatment.product.kind.word())),
        Measured::AvailableChlorine => voice.measured(treatment),
    }
}

/// `Label after 29 CFR 1910.1200(f)(6)(i); 3 CCR 6678`. Advice is not named: no label is made after it alone. With frames of
/// pictograms in black no label of the United States claims the full label of (f)(6)(i), whose pictograms are those of
/// Appendix C.2.3 with red frames.
fn said_to_follow(voice: &Voice<'_>, rules: &BTreeSet<Rules>, is_black: bool) -> Result<String, DocumentError> {
    let binding = rules.iter().filter(|rules| **rules != Rules::Epa);
    let claimed = binding.map(|rules| match rules {
        Rules::Of(Regime::UnitedStates) if is_black => Rules::Of(Regime::UnitedStatesGeneral),
        rules => *rules,
    });
    let said: Result<Vec<&str>, _> =
        claimed.map(|rules| voice.words.word(&format!("label.follows.{}", rules.word()))).collect();
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

#[cfg(test)]
mod geometry;
