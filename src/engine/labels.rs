//! Labels: the fit of each group is found once for all that are alike, and pages are laid out a few at a time.
//!
//! The loads of a treatment and the visits of a contract differ in figures. The fit is found on a label that
//! stands for all of them ([`Run::typical`]) and kept for the run. Whether the real labels keep to it shows on the finished
//! page; for a group of which one does not, the fit is found again with its own texts. Both are decided by the group's
//! labels alone, so a label looks the same alone, in a batch and whatever was laid out before.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::{Mutex, PoisonError};

use jiff::civil::DateTime;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use typst::introspection::MetadataElem;
use typst::model::Document;
use typst_layout::PagedDocument;

use super::fonts::advance;
use super::joined::Joined;
use super::stock::Stock;
use super::{Engine, Sheet, Template, Typeset, TypesetError, export, glyphs};

/// Labels that are laid out at once, at most: what Typst keeps of them is then dropped.
const AT_ONCE: usize = 8;
/// Fits that are kept; a run has a few for each product and stock.
const MOST_FITS: usize = 4096;
/// How much less than wanted may be between a label's parts, in points.
const TOLERANCE: f64 = 0.05;

/// The fits found so far, by the digest of all that decides them.
#[derive(Default)]
pub(super) struct Fits(Mutex<HashMap<[u8; 32], Result<Value, TypesetError>>>);

/// A document's labels by group, with all else that their template is given.
struct Run<'a> {
    sheet: Sheet,
    /// The data without the labels.
    data: Value,
    labels: &'a [Value],
    groups: BTreeMap<String, Vec<usize>>,
    /// Whether they are of several visits.
    gathers: bool,
}

/// What the fit of a group was found with, after [`Run::typical`].
#[derive(Clone, Copy, PartialEq, Eq)]
enum Texts {
    /// Those of its own labels, with figures as wide as any.
    Own,
    /// Those of its own labels, as they are printed: another letter may break a line elsewhere.
    AsTheyAre,
}

/// The fit of each group, and of which it was searched with texts of their own.
#[derive(Default)]
struct Found<'r> {
    by_group: BTreeMap<&'r String, Value>,
    searched: BTreeMap<&'r String, Texts>,
}

impl<'r> Found<'r> {
    fn insert(&mut self, group: &'r String, fit: Value, searched: Option<Texts>) {
        self.by_group.insert(group, fit);
        self.searched.extend(searched.map(|texts| (group, texts)));
    }

    /// Whether any of them leaves this off.
    fn leave_off(&self, key: &Value) -> bool {
        self.by_group.values().any(|fit| fit["without"].as_array().is_some_and(|without| without.contains(key)))
    }
}

impl Engine {
    /// Lays labels out that are given as the data of their template.
    ///
    /// # Errors
    /// As [`Engine::typeset`].
    pub fn labels(&self, data: &Value, date: DateTime, ident: &str) -> Result<Typeset, TypesetError> {
        glyphs::check(data)?;
        let mut sheet = Sheet { template: Template::Label, data: Vec::new(), date, ident: ident.to_owned() };
        let stock = Stock::of(data).map_err(|why| self.blame(&why))?;
        let labels = data["labels"].as_array().map_or(&[][..], Vec::as_slice);
        let copies: Vec<usize> = labels.iter().map(copies).collect();
        let on_stock = |(pages, info)| {
            let pages = stock.filled(pages, &copies).map_err(|why| self.blame(&why))?;
            Ok::<_, TypesetError>(PagedDocument::new(pages.into_iter().collect(), info))
        };
        // a template of the user's own may find its fit in another way
        if self.templates.is_own("label.typ") {
            let mut alone = data.clone();
            without_stock_places(&mut alone);
            sheet.data = alone.to_string().into_bytes();
            let document = self.lay_out(&sheet)?;
            let left_off = left_off(&document);
            let pages = (document.pages().to_vec(), document.info().clone());
            return self.finished(on_stock(pages)?, data, &sheet, left_off);
        }
        let run = Run::of(data, labels, sheet, !self.shared.files().any_own());
        let mut fits = Found::default();
        for group in run.groups.keys() {
            match self.fit(&run, vec![run.typical(group)]) {
                Err(TypesetError::DoesNotFit { .. }) => {
                    fits.insert(group, self.fit_of_own(&run, group)?, Some(Texts::Own))
                }
                other => fits.insert(group, other?, None),
            }
        }
        let drawn = self.drawn(&run, &mut fits)?;
        let optional = run.data["optional"].as_array().into_iter().flatten().filter(|key| fits.leave_off(key));
        let left_off = optional.filter_map(|key| key.as_str().map(str::to_owned)).collect();
        self.finished(on_stock(drawn.finish())?, data, &run.sheet, left_off)
    }

    /// The labels at their fits. For a group of which a label turns out too tall the fit is found again, and what has such labels is
    /// drawn again.
    fn drawn<'r>(&self, run: &'r Run<'_>, fits: &mut Found<'r>) -> Result<Joined, TypesetError> {
        let (chunks, mut known) = self.chunks(run, &fits.by_group);
        let mut drawn = Joined::default();
        let mut to_draw: Vec<usize> = (0..chunks.len()).collect();
        let mut is_full = false;
        loop {
            let mut crowded = BTreeSet::new();
            for at in to_draw {
                let document = match known.remove(&at) {
                    Some(document) => document,
                    None => {
                        let sheet = run.chunk(&fits.by_group, &chunks[at]);
                        let (document, is_new) = self.gathered_or_new(&sheet, run.gathers)?;
                        if is_new && chunks.len() > 1 {
                            typst::comemo::evict(1);
                            is_full = true;
                        }
                        document
                    }
                };
                crowded.extend(run.crowded(&document, &chunks[at]));
                drawn.put(at, document);
            }
            crowded.retain(|group| fits.searched.get(group) != Some(&Texts::AsTheyAre));
            if crowded.is_empty() {
                break;
            }
            for group in &crowded {
                let (texts, fit) = match fits.searched.get(group) {
                    None => (Texts::Own, self.fit_of_own(run, group)?),
                    Some(_) => (Texts::AsTheyAre, self.fit_of(run, group, Value::clone)?),
                };
                fits.insert(group, fit, Some(texts));
            }
            let changes = |chunk: &[usize]| run.groups_of(chunk).any(|group| crowded.contains(group));
            to_draw = (0..chunks.len()).filter(|at| changes(&chunks[*at])).collect();
        }
        if is_full {
            // what is written next needs room
            typst::comemo::evict(0);
        }
        Ok(drawn)
    }

    /// Whether a label fits its stock at all, which takes one trial.
    pub fn label_fits(&self, data: &Value) -> bool {
        let mut data = data.clone();
        data["find"] = json!("whether");
        let date = DateTime::constant(2000, 1, 1, 0, 0, 0, 0);
        let sheet =
            Sheet { template: Template::Label, data: data.to_string().into_bytes(), date, ident: String::new() };
        self.lay_out(&sheet).is_ok()
    }

    /// The fit of a group by the texts that its labels really have; all figures are equally wide. Only what does not fit with
    /// a record's number that is as wide as any is measured with its own.
    fn fit_of_own(&self, run: &Run<'_>, group: &String) -> Result<Value, TypesetError> {
        match self.fit_of(run, group, leveled) {
            Err(TypesetError::DoesNotFit { .. }) => self.fit_of(run, group, with_zeros),
            other => other,
        }
    }

    fn fit_of(&self, run: &Run<'_>, group: &String, leveled: fn(&Value) -> Value) -> Result<Value, TypesetError> {
        let mut different: Vec<Value> = Vec::new();
        let mut first = Vec::new();
        for at in &run.groups[group] {
            let label = leveled(&run.labels[*at]);
            if !different.contains(&label) {
                different.push(label);
                first.push(*at);
            }
        }
        self.fit(run, different).map_err(|error| match error {
            TypesetError::DoesNotFit { label, needed_mm, have_mm } => {
                TypesetError::DoesNotFit { label: first.get(label).copied().unwrap_or(label), needed_mm, have_mm }
            }
            other => other,
        })
    }

    /// The fit of labels that are to look alike.
    fn fit(&self, run: &Run<'_>, labels: Vec<Value>) -> Result<Value, TypesetError> {
        let mut data = run.data.clone();
        data["find"] = json!(true);
        data["labels"] = Value::Array(labels);
        data["title"] = json!("fit");
        data["author"] = Value::Null;
        let data = data.to_string().into_bytes();
        let key: [u8; 32] = Sha256::digest(&data).into();
        let kept = || self.fits.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(found) = kept().get(&key) {
            return found.clone();
        }
        // no date of a run either, which a template of the user's might read
        let date = DateTime::constant(2000, 1, 1, 0, 0, 0, 0);
        let found = self.lay_out(&Sheet { template: Template::Label, data, date, ident: String::new() });
        let found = found.map(|document| json!(export::metadata(&document, "fit")));
        let mut kept = kept();
        if kept.len() >= MOST_FITS {
            kept.clear();
        }
        kept.insert(key, found.clone());
        found
    }

    /// The labels in parts that are laid out at once, and the parts that were laid out for their visit a moment ago.
    fn chunks(
        &self,
        run: &Run<'_>,
        fits: &BTreeMap<&String, Value>,
    ) -> (Vec<Vec<usize>>, BTreeMap<usize, PagedDocument>) {
        let (mut chunks, mut known) = (Vec::<Vec<usize>>::new(), BTreeMap::new());
        for mut visit in run.visits() {
            let document = if run.gathers { self.recent.take(&run.chunk(fits, &visit).data) } else { None };
            let last = chunks.len().wrapping_sub(1);
            let is_open = |chunk: &&mut Vec<usize>| chunk.len() + visit.len() <= AT_ONCE && !known.contains_key(&last);
            match chunks.last_mut().filter(is_open) {
                Some(chunk) if run.gathers && document.is_none() => chunk.append(&mut visit),
                _ => {
                    known.extend(document.map(|document| (chunks.len(), document)));
                    chunks.push(visit);
                }
            }
        }
        (chunks, known)
    }
}

impl<'a> Run<'a> {
    /// `shares`: the labels of a visit are those of its route, so nothing is said of the document that they are in.
    fn of(data: &Value, labels: &'a [Value], sheet: Sheet, shares: bool) -> Run<'a> {
        let rest = data.as_object().into_iter().flatten().filter(|(key, _)| *key != "labels");
        let mut rest: Value = rest.map(|(key, value)| (key.clone(), value.clone())).collect();
        without_stock_places(&mut rest);
        if shares {
            rest["title"] = json!("labels");
        }
        let mut groups: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for (at, label) in labels.iter().enumerate() {
            groups.entry(label["group"].to_string()).or_default().push(at);
        }
        let gathers = labels.windows(2).any(|pair| pair[0]["record"] != pair[1]["record"]);
        Run { sheet, data: rest, labels, groups, gathers }
    }

    /// The groups of some labels.
    fn groups_of(&self, some: &[usize]) -> impl Iterator<Item = &String> {
        let has = |labels: &Vec<usize>| some.iter().any(|label| labels.binary_search(label).is_ok());
        self.groups.iter().filter(move |(_, labels)| has(labels)).map(|(group, _)| group)
    }

    /// The labels visit by visit, and no more of them than are laid out at once.
    fn visits(&self) -> Vec<Vec<usize>> {
        let labels: Vec<usize> = (0..self.labels.len()).collect();
        let of_visits = labels.chunk_by(|a, b| self.labels[*a]["record"] == self.labels[*b]["record"]);
        of_visits.flat_map(|visit| visit.chunks(AT_ONCE)).map(<[usize]>::to_vec).collect()
    }

    /// Some of the labels. What their template is given says nothing of the run around them, so that the labels of a visit are
    /// those of its route.
    fn chunk(&self, fits: &BTreeMap<&String, Value>, labels: &[usize]) -> Sheet {
        let mut data = self.data.clone();
        let groups: Vec<&String> = self.groups_of(labels).collect();
        let number = |label: usize| groups.iter().position(|group| self.groups[*group].binary_search(&label).is_ok());
        data["fits"] = groups.iter().enumerate().map(|(n, group)| (n.to_string(), fits[group].clone())).collect();
        let labels = labels.iter().map(|label| {
            let mut given = self.labels[*label].clone();
            given["group"] = json!(number(*label));
            given
        });
        data["labels"] = labels.collect();
        Sheet { data: data.to_string().into_bytes(), ..self.sheet.clone() }
    }

    /// The groups of which a label is too tall for its fit.
    fn crowded(&self, document: &PagedDocument, labels: &[usize]) -> Vec<&String> {
        let too_tall = are_crowded(document, self.data["stock"]["turned"] == true);
        let too_tall: Vec<usize> = labels.iter().zip(too_tall).filter_map(|(at, is)| is.then_some(*at)).collect();
        self.groups_of(&too_tall).collect()
    }

    /// A label as wide in every text as the widest of a group, and the same for every load and visit.
    fn typical(&self, group: &String) -> Value {
        let labels = self.groups[group].iter().map(|at| leveled(&self.labels[*at]));
        labels.reduce(wider).unwrap_or_default()
    }
}

/// A label with zeros for its figures, which are all equally wide, and without what does not change its size.
fn with_zeros(label: &Value) -> Value {
    let mut label = label.clone();
    zero(&mut label);
    label["group"] = json!(0);
    label["copies"] = json!(1);
    if label["qr"].is_object() {
        label["qr"]["svg"] = json!(r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"/>"#);
        label["qr"]["alt"] = json!("");
    }
    label
}

/// The same with zeros for the letters of the record's digest as well, which are no wider.
fn leveled(label: &Value) -> Value {
    let mut label = with_zeros(label);
    if let Some(record) = label["record"].as_str() {
        let (number, digest) = record.rsplit_once('-').unwrap_or(("", record));
        label["record"] = json!(format!("{number}-{}", "0".repeat(digest.len())));
    }
    label
}

fn zero(value: &mut Value) {
    match value {
        Value::String(text) if text.contains(|c: char| c.is_ascii_digit()) => {
            *text = text.replace(|c: char| c.is_ascii_digit(), "0");
        }
        Value::Array(items) => items.iter_mut().for_each(zero),
        Value::Object(fields) => fields.values_mut().for_each(zero),
        _ => {}
    }
}

/// The wider of two labels, text by text.
fn wider(one: Value, other: Value) -> Value {
    match (one, other) {
        (Value::String(one), Value::String(other)) => {
            Value::String(if advance(&other) > advance(&one) { other } else { one })
        }
        (Value::Array(mut one), Value::Array(other)) => {
            for (at, item) in other.into_iter().enumerate() {
                match one.get_mut(at) {
                    Some(mine) => *mine = wider(mine.take(), item),
                    None => one.push(item),
                }
            }
            Value::Array(one)
        }
        (Value::Object(mut one), Value::Object(other)) => {
            for (key, item) in other {
                let mine = one.get_mut(&key).map(Value::take).unwrap_or_default();
                one.insert(key, wider(mine, item));
            }
            Value::Object(one)
        }
        (Value::Null, other) => other,
        (one, _) => one,
    }
}

/// Where labels go on their stock is no concern of their template's.
fn without_stock_places(data: &mut Value) {
    data["stock"]["first"] = json!(1);
    data["stock"]["correction"] = Value::Null;
}

/// What a template that finds the fit itself left off.
fn left_off(document: &PagedDocument) -> Vec<String> {
    let keys = export::metadata(document, "left-off").map(|keys| json!(keys));
    keys.and_then(|keys| serde_json::from_value(keys).ok()).unwrap_or_default()
}

/// How many of a label are printed.
fn copies(label: &Value) -> usize {
    usize::try_from(label["copies"].as_u64().unwrap_or(1)).unwrap_or(1)
}

/// Of each label of a document, in the order they are drawn, whether its upper part comes too near to its foot.
fn are_crowded(document: &PagedDocument, is_turned: bool) -> Vec<bool> {
    let ends = export::marks(document, "inner-ends");
    let begins = export::marks(document, "foot-begins");
    let pairs = ends.into_iter().zip(begins);
    pairs
        .map(|((mark, end), (_, begin))| {
            let way = if is_turned { begin.point.x - end.point.x } else { begin.point.y - end.point.y };
            let wanted = mark.to_packed::<MetadataElem>().map_or(json!(0.0), |mark| json!(mark.value));
            way.to_pt() < wanted.as_f64().unwrap_or(0.0) - TOLERANCE
        })
        .collect()
}
