//! `decant render`: the documents of a job.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use std::thread::{self, ScopedJoinHandle};

use sha2::{Digest, Sha256};

use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};

use super::jobs::{cautions, no_certificate, plan_one};
use super::options::{Choice, Places};
use super::output::{self, Exit};
use crate::app::{Cause, Context, Failure, Options, Planned, Visit, files, label_notes, output_folder};
use crate::document::View;
use crate::engine::Template;
use crate::record::{latest, strangers_in};

/// Make the labels, the mix sheet and the certificate of a job
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant render samples/ferry-terminal/job.yaml\n  decant render job.yaml -o van-3 --only labels --only mix-sheet\n  decant render job.yaml --format png --dpi 203\n\nPrints the paths written, one a line."
)]
pub(super) struct Args {
    /// The job file; `-` is standard input
    pub job: PathBuf,
    /// Folder to write into [default: `out` beside the job file]
    #[arg(short, long, value_name = "DIR")]
    output: Option<PathBuf>,
    #[command(flatten)]
    choice: Choice,
    #[command(flatten)]
    places: Places,
    /// Key of the printer in the company file whose shift and scale the labels are corrected for
    #[arg(long, value_name = "KEY")]
    printer: Option<String>,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        self.make(&self.context(), None)
    }

    pub fn context(&self) -> Context {
        self.choice.context()
    }

    /// Makes what is due; of `before` only what has changed since.
    pub fn make(&self, context: &Context, before: Option<&Made>) -> Result<Exit, Failure> {
        self.choice.check(self.places.is_given() || self.printer.is_some())?;
        let folder = output_folder(self.output.as_deref(), &self.job);
        output::check_output_folder(&folder)?;
        let planned = plan_one(&self.job, context)?;
        let options = Options { labels: self.places.options(self.printer.as_ref()), ..self.choice.options() };
        let visit = Visit::of(&planned, &options, &folder, context)?;
        let documents = &visit.documents;
        cautions(&planned, context)?;
        // before the work nobody has a log
        let not_due =
            planned.job.service_log.is_none() && planned.job.log_trouble.is_none() && self.choice.only.is_empty();
        let unusable_log = planned.job.log_trouble.is_some() && !documents.withheld.is_empty();
        if unusable_log {
            output::say("The certificate is withheld until the log can be used.");
        } else if not_due {
            output::say("note: no certificate yet: the job names no service log (`log: log.yaml`)");
        } else {
            no_certificate(documents);
        }
        if !documents.broken.is_empty() {
            output::say("Not every rule was kept, and the certificate says so:");
            documents.broken.iter().for_each(|line| output::say(format_args!("  - {line}")));
        }
        if let Some(note) = &visit.kept.note {
            output::say(format_args!("note: {note}"));
        }
        let is_certificate = |view: &&View| view.template == Template::Certificate && view.data["draft"] == false;
        let issues = visit.kept.is_free() && documents.views.iter().any(|view| is_certificate(&view));
        if issues {
            before_issuing(&planned);
        }
        let ended =
            Rendering { planned: &planned, options: &options, context, folder: &folder, before }.write(&visit)?;
        if issues && ended == Exit::Done {
            output::say(format_args!(
                "note: the certificate of job {} is issued now, and no edit changes it. Until it goes out, `--replace-draft` \
                 makes it anew; then a correction is `revision: {}` in the log",
                planned.job.number,
                documents.record.revision + 1
            ));
        }
        // What failed outweighs a certificate that was rightly withheld, or that says what was not kept.
        Ok(match ended {
            // what is wrong with a log is an error in the input; everything else was made
            Exit::Done if unusable_log && documents.views.is_empty() => Exit::BadInput,
            Exit::Done if unusable_log => Exit::SomeFailed,
            Exit::Done if not_due => Exit::Done,
            Exit::Done if !documents.withheld.is_empty() || !documents.broken.is_empty() => Exit::CertificateWithheld,
            _ => ended,
        })
    }
}

/// A document as its files, with what is said of it.
#[derive(Clone)]
struct Ready {
    notes: Vec<String>,
    files: Vec<(String, Vec<u8>)>,
}

/// The documents that a context made last, by their names, each with the digest of all that it was made from.
#[derive(Default)]
pub(super) struct Made(Mutex<BTreeMap<String, ([u8; 32], Ready)>>);

impl Made {
    fn get(&self, name: &str, digest: &[u8; 32]) -> Option<Ready> {
        let kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.get(name).filter(|(of, _)| of == digest).map(|(_, ready)| ready.clone())
    }

    fn put(&self, name: &str, digest: [u8; 32], ready: &Ready) {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.insert(name.to_owned(), (digest, ready.clone()));
    }
}

/// Says what of a log is rarely true. The clock is asked for this alone: nothing that is made depends on it.
fn before_issuing(planned: &Planned) {
    if planned.company().licence_required {
        for by in strangers_in(&planned.job) {
            output::say(format_args!(
                "caution[person-unknown]: `{by}`, who mixed by the log, is not in the company file: the certificate says that no \
                 license is given"
            ));
        }
    }
    // where the zone is not known, nowhere on earth is it later
    let latest_zone = || TimeZone::UTC.to_datetime(Timestamp::now().saturating_add(14.hours()).unwrap_or_default());
    let now = TimeZone::try_system().map_or_else(|_| latest_zone(), |zone| zone.to_datetime(Timestamp::now()));
    if let Some(last) = planned.job.service_log.as_ref().and_then(latest).filter(|last| *last > now) {
        output::say(format_args!(
            "caution[log-in-future]: the log says what was done at {last}, and by this computer's clock it is {}: look at its \
             days and times again",
            now.strftime("%Y-%m-%dT%H:%M")
        ));
    }
}

struct Rendering<'a> {
    planned: &'a Planned,
    options: &'a Options,
    context: &'a Context,
    folder: &'a Path,
    before: Option<&'a Made>,
}

impl Rendering<'_> {
    /// Makes the documents side by side and writes one after the other; the record is written if all of them were made.
    fn write(&self, visit: &Visit) -> Result<Exit, Failure> {
        let views = &visit.documents.views;
        // each on a thread of its own, which also does what Typst hands to rayon
        let made_of = |view: &View| {
            if visit.kept.leaves_out(view) {
                return Ok(None);
            }
            let pool = rayon::ThreadPoolBuilder::new().num_threads(1).stack_size(16 << 20).build();
            pool.map_err(Failure::internal)?.install(|| self.ready(view)).map(Some)
        };
        let made_of = &made_of;
        let each: Vec<Result<Option<Ready>, Failure>> = thread::scope(|scope| {
            let tasks: Vec<_> = views.iter().map(|view| scope.spawn(move || made_of(view))).collect();
            let joined = tasks.into_iter().map(ScopedJoinHandle::join);
            joined.map(|ended| ended.unwrap_or_else(|_| Err(Failure::internal("a document was not made")))).collect()
        });
        let (mut made, mut failed) = (0, 0);
        for (view, ready) in views.iter().zip(each) {
            match ready.and_then(|ready| self.document(view, ready, visit)) {
                Ok(()) => made += 1,
                // a disk that is full is full for the next one too
                Err(failure) if matches!(failure.cause, Cause::Internal | Cause::Disk) => return Err(failure),
                Err(failure) => {
                    failed += 1;
                    output::failure(&failure);
                }
            }
        }
        if failed == 0 && made > 0 {
            self.remove_outdated_seal(visit)?;
            self.write_files(visit, visit.record_files())?;
        }
        Ok(Exit::of(made, failed))
    }

    /// A document laid out, or as it was before where nothing that it is made from has changed.
    fn ready(&self, view: &View) -> Result<Ready, Failure> {
        let ident = format!("{}/{}", self.planned.record.number, view.stem);
        let digest: [u8; 32] = Sha256::digest(format!("{ident} {} {}", self.planned.plan.start, view.data)).into();
        if let Some(ready) = self.before.and_then(|before| before.get(&view.stem, &digest)) {
            return Ok(ready);
        }
        let typeset = self.planned.lay_out(view, &ident, self.context)?;
        let files = files(view, &typeset, self.options, self.context.ink)?;
        let ready = Ready { notes: label_notes(view, &typeset), files };
        if let Some(before) = self.before {
            before.put(&view.stem, digest, &ready);
        }
        Ok(ready)
    }

    fn document(&self, view: &View, ready: Option<Ready>, visit: &Visit) -> Result<(), Failure> {
        let Some(Ready { notes, files }) = ready else {
            return match visit.kept.serves(view, self.folder) {
                true => Ok(()),
                false => Err(Failure::error(format_args!(
                    "{} was not made: the certificate of this job is issued already; name another folder with -o",
                    view.stem
                ))),
            };
        };
        notes.iter().for_each(|note| output::note(note));
        if view.template == Template::Certificate {
            self.remove_outdated_seal(visit)?;
        }
        self.write_files(visit, files)
    }

    fn remove_outdated_seal(&self, visit: &Visit) -> Result<(), Failure> {
        let Some(seal) = visit.outdated_seal(self.folder) else { return Ok(()) };
        let path = self.folder.join(seal);
        fs::remove_file(&path).map_err(|e| Failure::unwritten(&path, &e))
    }

    fn write_files(&self, visit: &Visit, files: impl IntoIterator<Item = (String, Vec<u8>)>) -> Result<(), Failure> {
        output::files(self.folder, files.into_iter().filter(|(name, _)| !visit.kept.stays(name)))
    }
}
