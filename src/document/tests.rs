//! Every word that documents ask for is in every language, and no language holds a word that nothing asks for. And a label in
//! two languages: what the second says, and that the first stays as it is alone.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use super::*;
use crate::calc::mixing::{self, Family};
use crate::company::{Equipment, Method, ProductKind};
use crate::diagnostic::Diagnostics;
use crate::job::Job;
use crate::plan::{KINDS, Plan, plan};
use crate::quantity::{Notation, Printer};
use crate::record::{Conformity, Record, Rule, conformity};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// All files of a folder with this ending.
fn files(folder: &str, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![root().join(folder)];
    while let Some(folder) = folders.pop() {
        for path in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
            if path.is_dir() {
                folders.push(path);
            } else if path.to_string_lossy().ends_with(ending) {
                found.push(path);
            }
        }
    }
    found
}

/// Keys that are put together from the word of a thing, for each thing that there is.
fn of_things() -> BTreeSet<String> {
    fn under(group: &str, words: impl IntoIterator<Item = impl std::fmt::Display>) -> Vec<String> {
        words.into_iter().map(|word| format!("{group}.{word}")).collect()
    }
    let groups = [
        under("kinds", ProductKind::WORDS.iter().map(|(word, _)| word)),
        under("equipment", Equipment::WORDS.iter().map(|(word, _)| word)),
        under("steps.methods", Method::WORDS.iter().map(|(word, _)| word)),
        under("certificate.methods", Method::WORDS.iter().map(|(word, _)| word)),
        under("certificate.rules", Rule::NAMES),
        under("cautions", KINDS.iter().map(|kind| &kind.code)),
        under("explanations", KINDS.iter().map(|kind| &kind.code)),
        under("families", Family::all().map(Family::name)),
        under("forms", mixing::TABLE.iter().map(|row| row.forms.as_str())),
        // where it is a label that says so, and no published table
        under("forms", ["label-says-so", "off-label-mixture"]),
        under("weekday", ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]),
        under("month", (1..=12).map(|month| format!("m{month}"))),
        under("units", Notation::NAMES),
    ];
    groups.into_iter().flatten().collect()
}

#[test]
fn every_word_of_a_thing_is_there_and_no_other() {
    let words = Words::english().unwrap();
    let wanted = of_things();
    let groups: BTreeSet<&str> = wanted.iter().filter_map(|key| Some(key.rsplit_once('.')?.0)).collect();
    let held = groups.iter().flat_map(|group| words.group(group).into_keys().map(move |key| format!("{group}.{key}")));
    assert_eq!(held.collect::<BTreeSet<_>>(), wanted);
}

/// Keys in branches that no sample takes: whatever looks like a key between two quotation marks is one, or a group of them.
#[test]
fn every_key_in_the_code_is_there() {
    let words = Words::english().unwrap();
    let groups: BTreeSet<&str> = words.keys().filter_map(|key| Some(key.split_once('.')?.0)).collect();
    let is_plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || "_-.".contains(c);
    let mut seen = 0;
    for file in [files("src/document", ".rs"), files("src/plan", ".rs")].concat() {
        let code = fs::read_to_string(&file).unwrap();
        let is_key = |text: &&str| {
            let (group, rest) = text.split_once('.').unwrap_or_default();
            groups.contains(group) && rest != "csv" && text.chars().all(is_plain)
        };
        for key in code.split('"').filter(is_key) {
            let is_there = words.word(key).is_ok() || !words.group(key).is_empty();
            assert!(is_there, "{}: no `{key}`", file.display());
            seen += 1;
        }
    }
    assert!(seen > 150, "only {seen} keys were found");
}

/// What the code and the templates hold in quotation marks or after `words.`: a key that nothing names there, and that is of
/// no thing, is never printed.
#[test]
fn no_word_is_there_that_nothing_asks_for() {
    let sources = files("src", ".rs").into_iter().filter(|file| !file.ends_with("document/tests.rs"));
    let code: String = sources.map(|file| fs::read_to_string(file).unwrap()).collect();
    let templates = ["templates", "src"]
        .iter()
        .flat_map(|folder| [".typ", ".html", ".js", ".txt"].iter().flat_map(move |ending| files(folder, ending)));
    let templates: String = templates.map(|file| fs::read_to_string(file).unwrap()).collect();
    let of_things = of_things();
    let is_asked_for = |key: &str| {
        let (group, last) = key.rsplit_once('.').unwrap_or(("", key));
        let in_quotes = |text: &str| code.contains(&format!("\"{text}\""));
        let by_template =
            |text: &str| templates.contains(&format!("words.{text}")) || templates.contains(&format!("columns.{text}"));
        let by_group = code.contains(&format!("{group}.{{")) || in_quotes(group);
        of_things.contains(key) || in_quotes(key) || (by_group && (in_quotes(last) || by_template(last)))
    };
    let words = Words::english().unwrap();
    let idle: Vec<&str> = words.keys().filter(|key| !is_asked_for(key)).collect();
    assert!(idle.is_empty(), "{idle:?}");
}

/// A job that is planned, with its record and its log.
struct Planned {
    job: Job,
    plan: Plan,
    record: Record,
    log: Conformity,
}

impl Planned {
    fn of(file: &Path) -> Planned {
        let mut report = Diagnostics::new();
        let job = Job::read(file, &mut report).unwrap();
        let plan = plan(&job, &mut report).unwrap();
        let record = Record::of(&plan, &job.company.record_link, &job.company.source.root().origin()).unwrap();
        let log = conformity(&plan, &job, &mut report);
        Planned { job, plan, record, log }
    }

    fn voice<'a>(&'a self, words: &'a Words) -> Voice<'a> {
        let units = Printer::new(self.job.company.units).with(words.notation());
        Voice { words, units, dates: self.job.company.dates(), plan: &self.plan, record: &self.record }
    }

    fn write_all(&self, words: &Words) -> Said<()> {
        let (job, log, voice) = (&self.job, &self.log, self.voice(words));
        let service_log = job.service_log.as_ref();
        summary(&voice)?;
        mix_sheet(&voice)?;
        labels(&[LabelJob { voice: &voice, second: None, job }], &LabelRun::default())?;
        certificate(&voice, service_log, log, true)?;
        certificate(&voice, None, log, true)?;
        notice(&voice, service_log, "00")?;
        let known = Known { service_log, bad_log: false, conformity: log, digest: "00", revision: 1 };
        page(&voice, &known, job.company.publish, None)?;
        missing_texts(&voice, job, &log.missing)?;
        Ok(())
    }
}

/// Samples and planned cases: what a document asks for and does not find is an error.
#[test]
fn every_document_can_be_written_in_every_language() {
    let jobs = [files("samples", "/job.yaml"), files("tests/cases/planned", "/job.yaml")].concat();
    assert!(jobs.len() > 20);
    let languages: Vec<Words> = Words::tags().map(|tag| Words::of(tag).unwrap()).collect();
    for file in jobs {
        let planned = Planned::of(&file);
        for words in &languages {
            assert_eq!(planned.write_all(words), Ok(()), "{} {}", file.display(), words.language);
        }
    }
}

#[test]
fn a_label_says_again_what_the_crew_must_read() {
    let planned = Planned::of(&root().join("samples/ferry-terminal/job.yaml"));
    let (english, spanish) = (Words::of("en").unwrap(), Words::of("es").unwrap());
    let made = |second: Option<&Voice<'_>>| {
        let job = LabelJob { voice: &planned.voice(&english), second, job: &planned.job };
        labels(&[job], &LabelRun::default()).unwrap()
    };
    let (alone, both) = (made(None), made(Some(&planned.voice(&spanish))));
    for (alone, both) in alone.iter().zip(&both) {
        let mut label = both.view.data["labels"][0].clone();
        let second = label["second"].take();
        assert_eq!(label, alone.view.data["labels"][0]);
        assert_eq!((&both.view.data["lang"], &second["lang"]), (&"en".into(), &"es".into()));
        assert_eq!(second["words"]["contact"], "Mantener mojado");
        assert_eq!(second["ghs"]["signal"], "Atención");
        assert_eq!(second["dilution"]["big"], "2 oz líq/gal");
        assert!(second["ghs"]["hazards"][0].as_str().unwrap().contains("Provoca"), "{second}");
    }
    assert!(!both.is_empty());
}
