//! What many jobs share, read once a run: company files, languages, presses.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use sha2::{Digest, Sha256};

use super::Refusal;
use super::proving::made_by;
use super::settled::{Mailed, mailed};
use super::views::templates;
use crate::catalog::{CompanyFile, Tongue};
use crate::job::Job;
use crate::record::{MadeBy, SigningKey};
use crate::report::Report;
use crate::typeset::{Ink, Press};
use crate::wording::{WordingError, Words};

/// Things of one kind that are kept at once. A run has one company file or a few; one that has a file for each job must
/// not grow with it.
const MOST_KEPT: usize = 32;

/// What was read so far. Every worker of a batch takes from the same shelf.
#[derive(Default)]
pub(super) struct Shelf {
    companies: Once<PathBuf, (Option<Arc<CompanyFile>>, Report)>,
    words: Once<Tongue, Found>,
    presses: Once<(PathBuf, Ink), Result<Arc<Equipped>, Refusal>>,
    keys: Once<PathBuf, Result<Arc<SigningKey>, Refusal>>,
    mailed: Once<PathBuf, Arc<Mailed>>,
    digests: Once<PathBuf, Option<String>>,
}

/// The words of a language, or why there are none.
pub(super) type Found = (Result<Option<Arc<Words>>, WordingError>, Report);

/// A press with a company's templates and logo in it.
pub(super) struct Equipped {
    pub press: Press,
    /// SHA-256 of all that is in it, our own templates included.
    pub digest: [u8; 32],
    /// How a record names it.
    pub made_by: MadeBy,
}

impl Shelf {
    /// A company file; its problems are told to every job that names it.
    pub fn company(&self, file: &Path, report: &mut Report) -> Option<Arc<CompanyFile>> {
        // jobs of different folders write the same file in different ways; a link keeps the folder it lies in, since
        // what the file names is looked for there
        let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty());
        let truly = std::fs::canonicalize(folder.unwrap_or(Path::new("."))).ok();
        let key = match (truly, file.file_name()) {
            (Some(folder), Some(name)) => folder.join(name),
            _ => file.to_owned(),
        };
        let (company, problems) = self.companies.get(key, || {
            let mut report = Report::new();
            (CompanyFile::read(file, &mut report).map(Arc::new), report)
        });
        problems.problems().iter().for_each(|problem| report.push(problem.clone()));
        company
    }

    /// When revisions of a firm's jobs were mailed, as its send log says at the beginning of the run.
    pub fn mailed(&self, catalog: &CompanyFile) -> Mailed {
        let log = self.mailed.get(catalog.source.file().to_owned(), || Arc::new(mailed(catalog)));
        (*log).clone()
    }

    /// The digest of a file that many jobs share, read once.
    pub fn digest(&self, file: &Path, read: impl FnOnce() -> Option<String>) -> Option<String> {
        self.digests.get(file.to_owned(), read)
    }

    /// The words of a language.
    pub fn words(&self, tongue: &Tongue) -> Found {
        self.words.get(tongue.clone(), || {
            let mut report = Report::new();
            let found = match tongue {
                Tongue::Own(file) => Ok(Words::from_file(file, &mut report)),
                Tongue::BuiltIn(tag) => Words::of(tag).map(Some),
            };
            (found.map(|words| words.map(Arc::new)), report)
        })
    }

    /// The press for the documents of a job.
    pub fn press(&self, job: &Job, ink: Ink) -> Result<Arc<Equipped>, Refusal> {
        let key = (job.catalog.source.file().to_owned(), ink);
        self.presses.get(key, || {
            let templates = templates(&job.catalog, ink)?;
            let mut hash = Sha256::new();
            for (path, bytes) in templates.files() {
                hash.update(path);
                hash.update([0]);
                hash.update(Sha256::digest(bytes));
            }
            let digest = hash.finalize().into();
            Ok(Arc::new(Equipped { digest, made_by: made_by(&templates), press: Press::with(templates) }))
        })
    }

    /// The key that a company signs its records with, if it has one.
    pub fn signing_key(&self, catalog: &CompanyFile) -> Result<Option<Arc<SigningKey>>, Refusal> {
        let Some((file, origin)) = &catalog.signing_key else {
            return Ok(None);
        };
        let key = self.keys.get(file.clone(), || {
            SigningKey::read(file).map(Arc::new).map_err(|error| {
                let mut report = Report::new();
                let hint = "`decant key --company FILE` makes one; keep its file from everybody else";
                report.push(origin.error("bad-signing-key", error.to_string()).hint(hint));
                Refusal::bad_input(report)
            })
        });
        key.map(Some)
    }
}

/// Each thing made once, however many ask for it at the same time.
struct Once<K, V>(Mutex<BTreeMap<K, Arc<OnceLock<V>>>>);

impl<K, V> Default for Once<K, V> {
    fn default() -> Self {
        Once(Mutex::default())
    }
}

impl<K: Ord, V: Clone> Once<K, V> {
    fn get(&self, key: K, make: impl FnOnce() -> V) -> V {
        let place = {
            // whoever panicked held the lock only to look a key up
            let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
            if kept.len() >= MOST_KEPT && !kept.contains_key(&key) {
                kept.clear();
            }
            kept.entry(key).or_default().clone()
        };
        place.get_or_init(make).clone()
    }
}
