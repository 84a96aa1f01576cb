//! Files to begin with: a company file and a job that render at once, a log to fill in, a contract of a table of sites.
//!
//! Their texts stand in `templates/start`, their comments in the declarations of the keys.

mod contract;
mod log;

pub use contract::{Around, contract, works};
pub use log::{LogForm, blank_log};

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use jiff::civil::Date;
use minijinja::AutoEscape;
use minijinja::value::Serde;
use serde::Serialize;
use serde_json::{Map, Value, json};

use crate::company::{CompanyFile, CompanyKeys};
use crate::contract::scalar;
use crate::diagnostic::{Diagnostic, Diagnostics, Place};
use crate::job::{Job, JobKeys};
use crate::plan::plan;
use crate::wording::{WordingError, engine};
use crate::yaml::{Declared, Node, Source, annotated};

const DEFAULTS: &str = include_str!("../../templates/start/defaults.yaml");
const COMPANY: &str = include_str!("../../templates/start/company.yaml");
const JOB: &str = include_str!("../../templates/start/job.yaml");

/// The chemistries that there is an example of, as a company file names them.
pub const KINDS: [&str; 6] =
    ["quat", "hypochlorite", "peracetic-acid", "hydrogen-peroxide", "alcohol", "chlorine-tablets"];

/// The sprayers of the example, by their keys.
pub const SPRAYERS: [&str; 5] = ["bottle", "gallon", "pump", "bucket", "cloth"];

/// Which of them somebody means by such words.
pub fn sprayer(words: &str) -> Option<&'static str> {
    const MEANT: [(&str, &str); 9] = [
        ("trigger", "bottle"),
        ("bottle", "bottle"),
        ("gal", "gallon"),
        ("pump", "pump"),
        ("backpack", "pump"),
        ("mop", "bucket"),
        ("bucket", "bucket"),
        ("cloth", "cloth"),
        ("wip", "cloth"),
    ];
    let words = words.to_lowercase();
    MEANT.into_iter().find(|(word, _)| words.contains(word)).map(|(_, key)| key)
}

/// What the user says of firm, product and site, by the name of each question.
pub type Answers = BTreeMap<String, String>;

/// The two files.
#[derive(Debug)]
pub struct Start {
    pub company: String,
    pub job: String,
}

/// A text of `templates/start` with its blanks filled in; the filter `yaml` writes a text so that YAML takes it for nothing else.
fn fill(name: &str, template: &str, blanks: &impl Serialize) -> Result<String, WordingError> {
    let fault = |e: minijinja::Error| WordingError::Sentence { key: format!("start/{name}"), why: format!("{e:#}") };
    let mut engine = engine(AutoEscape::None).map_err(fault)?;
    engine.add_filter("yaml", |text: String| scalar(&text));
    engine.render_named_str(name, template, Serde(blanks)).map_err(fault)
}

/// What is taken for every question that nobody answers, given the answer to what the product is.
pub fn defaults(kind: Option<&str>, today: Date) -> Answers {
    let mut report = Diagnostics::new();
    let source = Source::from_text(Path::new("defaults.yaml"), DEFAULTS.to_owned(), &mut report);
    let texts = |node: &Node<'_>| -> Answers {
        let entries = node.entries(&mut Diagnostics::new()).unwrap_or_default().into_iter();
        entries.filter_map(|(key, node)| Some((key, node.text(&mut Diagnostics::new())?))).collect()
    };
    let Some(source) = source else { return Answers::new() };
    let root = source.root();
    let mut all = texts(&root);
    let kind = kind.map_or_else(|| all["kind"].clone(), str::to_owned);
    let of_kind = root.get("kinds").and_then(|kinds| kinds.get(&kind));
    all.extend(of_kind.map(|node| texts(&node)).unwrap_or_default());
    all.insert("kind".into(), kind);
    all.insert("licence".into(), String::new());
    all.insert("start".into(), format!("{today}T18:00"));
    all.insert("job".into(), today.strftime("%Y-%m%d").to_string());
    all
}

/// The files, with the user's own product first and an example of every other kind. What cannot be measured for one bottle is mixed
/// in a pail.
///
/// # Errors
/// An internal error: a template asks for what it is not given.
pub fn start(given: &Answers, today: Date) -> Result<Start, WordingError> {
    let in_bottle = files(given, today, false)?;
    let in_pail = files(given, today, true)?;
    let has_errors = |start: &Start| {
        let mut report = Diagnostics::new();
        start.check(&mut report);
        report.has_errors()
    };
    Ok(if has_errors(&in_bottle) && !has_errors(&in_pail) { in_pail } else { in_bottle })
}

fn files(given: &Answers, today: Date, mixed_in: bool) -> Result<Start, WordingError> {
    let mut all = defaults(given.get("kind").map(String::as_str), today);
    all.extend(given.clone());
    let own = all["kind"].clone();
    let mut products: Vec<Value> = Vec::new();
    let nobody = Answers::new();
    for kind in [own.as_str()].into_iter().chain(KINDS.into_iter().filter(|kind| *kind != own)) {
        let (said, given) = if kind == own { (all.clone(), given) } else { (defaults(Some(kind), today), &nobody) };
        let mut key = plain(&said["product"]);
        if products.iter().any(|other| other["key"] == key.as_str()) {
            key += "-2";
        }
        products.push(product(said, given, &key));
    }
    let mut blanks: Map<String, Value> = all.iter().map(|(name, text)| (name.clone(), text.as_str().into())).collect();
    blanks.insert("crew_key".into(), plain(all["crew"].rsplit(' ').next().unwrap_or_default()).into());
    blanks.insert("products".into(), products.into());
    blanks.insert("mixed_in".into(), mixed_in.into());
    Ok(Start {
        company: annotated(&fill("company.yaml", COMPANY, &blanks)?, &CompanyKeys::shape()),
        job: annotated(&fill("job.yaml", JOB, &blanks)?, &JobKeys::shape()),
    })
}

/// The keys of a product that a question asks for, with the question's name.
const ASKED: [(&str, &str); 13] = [
    ("name", "product"),
    ("registration", "registration"),
    ("label_signal", "signal"),
    ("ingredients", "actives"),
    ("density", "density"),
    ("sds.revised", "revised"),
    ("sds.hazards", "hazards"),
    ("keeps", "keeps"),
    ("never_with", "never_with"),
    ("directions.hard-surface.dilution", "dilution"),
    ("directions.hard-surface.contact_time", "contact_time"),
    ("directions.hard-surface.reentry", "reentry"),
    ("directions.hard-surface.stated_strength", "stated_strength"),
];

/// A product as its template takes it. What nobody said of it is named as invented; `none` leaves out what a label need not give.
fn product(mut said: Answers, given: &Answers, key: &str) -> Value {
    for name in ["stated_strength", "keeps", "never_with", "reentry", "hazards", "density"] {
        let text = said.entry(name.to_owned()).or_default();
        if text.eq_ignore_ascii_case("none") {
            text.clear();
        }
    }
    let of = |name: &str| said.get(name).map_or("", String::as_str);
    let asked = ASKED.iter().filter(|(_, name)| {
        !given.contains_key(*name) && !of(name).is_empty() || *name == "actives" && !given.contains_key("actives")
    });
    let mut invented: Vec<&str> = asked.map(|(key, _)| *key).collect();
    invented.extend(of("unasked").split(", ").filter(|key| !key.is_empty()));
    invented.extend([
        "sds.use_solution_hazards",
        "sds.protective_equipment",
        "directions.hard-surface.coverage",
        "directions.hard-surface.methods",
    ]);
    let lists = json!({
        "key": key,
        "invented": invented,
        "hazards": listed(of("hazards")),
        "never_with": listed(of("never_with")),
        "actives": actives(of("actives")),
    });
    let mut all: Map<String, Value> = said.iter().map(|(name, text)| (name.clone(), text.as_str().into())).collect();
    all.extend(lists.as_object().into_iter().flatten().map(|(name, list)| (name.clone(), list.clone())));
    Value::Object(all)
}

/// What stands between commas or semicolons; those in brackets part nothing.
fn listed(text: &str) -> Vec<&str> {
    let mut depth = 0;
    let parts = text.split(|c: char| {
        depth += i32::from(c == '(') - i32::from(c == ')');
        c == ';' || c == ',' && depth <= 0
    });
    parts.map(str::trim).filter(|part| !part.is_empty()).collect()
}

/// Actives as people write them: `didecyldimethylammonium chloride 7173-51-5 8.7 %, ethanol 70 % v/v`. The content begins at the last
/// word that begins with a digit and is no CAS number; what follows a comma without a content belongs to the name.
fn actives(text: &str) -> Vec<Value> {
    let is_cas = |word: &str| word.matches('-').count() == 2 && word.chars().all(|c| c.is_ascii_digit() || c == '-');
    let mut found = Vec::new();
    let mut name = Vec::new();
    for part in listed(text) {
        let words: Vec<&str> = part.split_whitespace().collect();
        let at = words.iter().rposition(|word| word.starts_with(|c: char| c.is_ascii_digit()) && !is_cas(word));
        let Some(at) = at.filter(|at| *at > 0 || !name.is_empty()) else {
            name.push(part.to_owned());
            continue;
        };
        let bare = |word: &&str| word.trim_matches(|c| c == '(' || c == ')').to_owned();
        let cas = words[..at].iter().map(bare).find(|word| is_cas(word));
        let of_name = words[..at].iter().filter(|word| !is_cas(&bare(word)) && !word.eq_ignore_ascii_case("cas"));
        name.push(of_name.copied().collect::<Vec<_>>().join(" "));
        found.push(json!({ "name": name.join(", "), "cas": cas, "content": words[at..].join(" ") }));
        name.clear();
    }
    if !name.is_empty() {
        found.push(json!({ "name": name.join(", "), "cas": null, "content": "" }));
    }
    found
}

/// A name as a key: small letters, digits and dashes.
fn plain(name: &str) -> String {
    let kept: String =
        name.chars().map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { ' ' }).collect();
    let key: String = kept.split_whitespace().collect::<Vec<_>>().join("-").chars().take(40).collect();
    if key.is_empty() { "it".to_owned() } else { key.trim_end_matches('-').to_owned() }
}

impl Start {
    /// Reads and plans what was written, as it would be read from these files; what is wrong is reported.
    fn check(&self, report: &mut Diagnostics) {
        let source = |name: &str, text: &str, report: &mut Diagnostics| {
            Source::from_text(Path::new(name), text.to_owned(), report)
        };
        let company = source("company.yaml", &self.company, report)
            .and_then(|source| CompanyFile::from_source(&source, report))
            .map(Arc::new);
        let job =
            source("job.yaml", &self.job, report).and_then(|source| Job::with_company(&source, report, |_, _| company));
        if let Some(job) = job.filter(|_| !report.has_errors()) {
            plan(&job, report);
        }
    }
}

/// What is wrong with the answers: each by itself first, so that it is known which one is meant.
///
/// # Errors
/// An internal error: a template asks for what it is not given.
pub fn check(given: &Answers, today: Date, report: &mut Diagnostics) -> Result<(), WordingError> {
    for (name, answer) in given.iter().filter(|(name, _)| *name != "kind") {
        // a product's figures are read by its kind
        let mut alone: Answers =
            given.iter().filter(|(key, _)| *key == "kind").map(|(k, v)| (k.clone(), v.clone())).collect();
        alone.insert(name.clone(), answer.clone());
        let mut found = Diagnostics::new();
        start(&alone, today)?.check(&mut found);
        // what follows from the first is no problem of its own
        if let Some(problem) = found.problems().first().filter(|_| found.has_errors()) {
            let place = Place { file: format!("--{}", name.replace('_', "-")), path: String::new(), spot: None };
            report.push(Diagnostic { place: Some(place), ..problem.clone() });
        }
    }
    if !report.has_errors() {
        start(given, today)?.check(report);
    }
    Ok(())
}

#[cfg(test)]
mod tests;
