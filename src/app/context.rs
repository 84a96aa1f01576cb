//! What is read once, however many jobs ask for it: company files, languages, templates, keys, send logs.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use sha2::{Digest, Sha256};

use super::certify::made_by;
use super::failure::{Failure, valid};
use super::issued::{Mailed, mailed};
use crate::company::{CompanyFile, Tongue};
use crate::diagnostic::Diagnostics;
use crate::document::furnish;
use crate::engine::{Engine, Ink, Templates};
use crate::job::Job;
use crate::record::{MadeBy, SigningKey};
use crate::wording::{WordingError, Words};

/// Things of one kind that are kept at once. A run has one company file or a few; one that has a file for each job must
/// not grow with it.
const MOST_KEPT: usize = 32;

/// The words of a language; `None` if they cannot be read, which the report then says.
type Found = Result<Option<Arc<Words>>, WordingError>;

/// What was read so far, and what is the same for all documents of a run; all workers of a batch share one.
#[derive(Default)]
pub struct Context {
    pub ink: Ink,
    /// Of all documents; by default as the job or company file says.
    pub language: Option<Tongue>,
    companies: Cache<PathBuf, (Option<Arc<CompanyFile>>, Diagnostics)>,
    words: Cache<Tongue, (Found, Diagnostics)>,
    engines: Cache<PathBuf, Result<Arc<CompanyEngine>, Failure>>,
    keys: Cache<PathBuf, Result<Arc<SigningKey>, Failure>>,
    mailed: Cache<PathBuf, Arc<Mailed>>,
    digests: Cache<PathBuf, Option<String>>,
}

/// The layout engine with a company's templates and logo in it.
pub struct CompanyEngine {
    pub engine: Engine,
    /// SHA-256 of all that is in it, our own templates included.
    pub digest: [u8; 32],
    /// How a record names it.
    pub made_by: MadeBy,
}

impl Context {
    pub fn new(ink: Ink, language: Option<&Tongue>) -> Context {
        Context { ink, language: language.cloned(), ..Context::default() }
    }

    /// A company file; its problems are reported of every job that names it.
    pub fn company(&self, file: &Path, report: &mut Diagnostics) -> Option<Arc<CompanyFile>> {
        // jobs of different folders write the same file in different ways; a link keeps the folder it lies in, since
        // what the file names is looked for there
        let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty());
        let canonical = std::fs::canonicalize(folder.unwrap_or(Path::new("."))).ok();
        let key = match (canonical, file.file_name()) {
            (Some(folder), Some(name)) => folder.join(name),
            _ => file.to_owned(),
        };
        let (company, problems) = self.companies.get(key, || {
            let mut report = Diagnostics::new();
            (CompanyFile::read(file, &mut report).map(Arc::new), report)
        });
        repeat(&problems, report);
        company
    }

    /// When revisions of a firm's jobs were mailed, as its send log says at the beginning of the run.
    pub fn mailed(&self, company: &CompanyFile) -> Arc<Mailed> {
        self.mailed.get(company.source.file().to_owned(), || Arc::new(mailed(company)))
    }

    /// The digest of a file that many jobs share.
    pub fn digest(&self, file: &Path, read: impl FnOnce() -> Option<String>) -> Option<String> {
        self.digests.get(file.to_owned(), read)
    }

    /// The words of a language, English by default.
    pub fn words(&self, tongue: Option<&Tongue>, report: &mut Diagnostics) -> Found {
        let tongue = tongue.cloned().unwrap_or_else(|| Tongue::BuiltIn("en".to_owned()));
        let (found, problems) = self.words.get(tongue.clone(), || {
            let mut report = Diagnostics::new();
            let found = match &tongue {
                Tongue::Own(file) => Ok(Words::from_file(file, &mut report)),
                Tongue::BuiltIn(tag) => Words::of(tag).map(Some),
            };
            (found.map(|words| words.map(Arc::new)), report)
        });
        repeat(&problems, report);
        found
    }

    /// The words of what is of no job.
    pub fn own_words(&self) -> Result<Arc<Words>, Failure> {
        let mut report = Diagnostics::new();
        let words = self.words(self.language.as_ref(), &mut report)?;
        valid(words, &report)
    }

    /// The engine for the documents of a job.
    pub fn engine(&self, job: &Job) -> Result<Arc<CompanyEngine>, Failure> {
        self.engines.get(job.company.source.file().to_owned(), || {
            let templates = self.templates(&job.company)?;
            let mut hash = Sha256::new();
            for (path, bytes) in templates.files() {
                hash.update(path);
                hash.update([0]);
                hash.update(Sha256::digest(bytes));
            }
            let digest = hash.finalize().into();
            Ok(Arc::new(CompanyEngine {
                digest,
                made_by: made_by(&templates, &job.company),
                engine: Engine::with(templates),
            }))
        })
    }

    /// The key that a company signs its records with, if it has one.
    pub fn signing_key(&self, company: &CompanyFile) -> Result<Option<Arc<SigningKey>>, Failure> {
        let Some((file, origin)) = &company.signing_key else { return Ok(None) };
        let key = self.keys.get(file.clone(), || {
            SigningKey::read(file).map(Arc::new).map_err(|error| {
                let mut report = Diagnostics::new();
                let hint = "`decant key --company FILE` makes one; keep its file from everybody else";
                report.push(origin.error("bad-signing-key", error.to_string()).hint(hint));
                report.into()
            })
        });
        key.map(Some)
    }

    /// The templates of a company: the built-in ones, and its own in their place.
    pub fn templates(&self, company: &CompanyFile) -> Result<Templates, Failure> {
        let mut templates = Templates::built_in();
        templates.set_ink(self.ink);
        furnish(&mut templates, &company.style);
        let mut report = Diagnostics::new();
        if let Some((folder, origin)) = &company.templates {
            templates.read_folder(folder, origin, &mut report);
        }
        valid(Some(templates), &report)
    }
}

fn repeat(problems: &Diagnostics, report: &mut Diagnostics) {
    problems.problems().iter().for_each(|problem| report.push(problem.clone()));
}

/// Each value is made once, however many ask for it at the same time.
struct Cache<K, V>(Mutex<BTreeMap<K, Arc<OnceLock<V>>>>);

impl<K, V> Default for Cache<K, V> {
    fn default() -> Self {
        Cache(Mutex::default())
    }
}

impl<K: Ord, V: Clone> Cache<K, V> {
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
