//! The words each document is written in.

use std::collections::BTreeMap;
use std::rc::Rc;

use super::Exit;
use super::prepare::{Prepared, tell};
use crate::catalog::{Languages, Tongue};
use crate::report::Report;
use crate::wording::{WordingError, Words};

/// The words of all documents of a job.
pub(super) struct Spoken {
    /// Of the terminal: the company's.
    pub terminal: Rc<Words>,
    /// Of labels.
    pub labels: Rc<Words>,
    /// Of the same labels, beside the first.
    pub labels_second: Option<Rc<Words>>,
    /// Of the mix sheet.
    pub mix_sheet: Rc<Words>,
    /// Of the certificate.
    pub certificate: Rc<Words>,
}

impl Spoken {
    /// All of them; some may be the same.
    pub fn each(&self) -> impl Iterator<Item = &Words> {
        let second = self.labels_second.iter();
        [&self.terminal, &self.labels, &self.mix_sheet, &self.certificate]
            .into_iter()
            .chain(second)
            .map(Rc::as_ref)
    }
}

/// What is to be spoken: `option` from the command line goes before the job, and the job before the company.
pub(super) fn spoken(prepared: &Prepared, option: Option<&Tongue>) -> Result<Spoken, Exit> {
    let company = &prepared.job.catalog.languages;
    let wanted = match option {
        Some(tongue) => Languages {
            all: Some(tongue.clone()),
            ..Languages::default()
        },
        None => prepared.job.languages.or(company),
    };
    let mut shelf = Shelf::default();
    let all = wanted.all.as_ref();
    let found = (|| {
        Some(Spoken {
            terminal: shelf.words(option.or(company.all.as_ref()))?,
            labels: shelf.words(wanted.labels.first().or(all))?,
            labels_second: match wanted.labels.get(1) {
                Some(tongue) => Some(shelf.words(Some(tongue))?),
                None => None,
            },
            mix_sheet: shelf.words(wanted.mix_sheet.as_ref().or(all))?,
            certificate: shelf.words(wanted.certificate.as_ref().or(all))?,
        })
    })();
    if let Some(fault) = shelf.fault {
        return Err(super::plan::own_fault(&fault.to_string()));
    }
    match found {
        Some(spoken) if !shelf.report.has_errors() => Ok(spoken),
        _ => {
            tell(&shelf.report);
            Err(Exit::BadInput)
        }
    }
}

/// Languages that were read, each once.
#[derive(Default)]
struct Shelf {
    read: BTreeMap<Tongue, Rc<Words>>,
    report: Report,
    fault: Option<WordingError>,
}

impl Shelf {
    /// The words of a language, English where none is asked for.
    fn words(&mut self, tongue: Option<&Tongue>) -> Option<Rc<Words>> {
        let tongue = tongue.cloned().unwrap_or_else(|| Tongue::BuiltIn("en".to_owned()));
        if let Some(words) = self.read.get(&tongue) {
            return Some(words.clone());
        }
        let words = match &tongue {
            Tongue::Own(file) => Words::from_file(file, &mut self.report)?,
            Tongue::BuiltIn(tag) => match Words::of(tag) {
                Ok(words) => words,
                Err(fault) => {
                    self.fault = Some(fault);
                    return None;
                }
            },
        };
        let words = Rc::new(words);
        self.read.insert(tongue, words.clone());
        Some(words)
    }
}
