//! The manifest: what became of every job of a run, joined from the states.

use std::cell::RefCell;
use std::collections::BTreeSet;

use serde::{Deserialize, Serialize, Serializer};

use super::jobs::{Item, Placed};
use super::run::{Kept, Run};
use super::stale::Stale;
use super::state::Output;
use super::{Ended, Failed, Store, VISIT, is_caution};
use crate::spreadsheet::table;

/// The form of the manifest's JSON; it changes when a field changes its meaning or goes.
pub(super) const FORM: &str = "decant manifest 1";

/// A manifest.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest<J = Vec<ManifestJob>> {
    /// The form of this JSON.
    pub form: String,
    /// The program and its version.
    pub made_by: String,
    /// Which part of all jobs it is of, such as `2/8`; `1/1` is all.
    pub shard: String,
    /// How many jobs were named, in all shards together.
    pub jobs_of_all_shards: usize,
    /// SHA-256 of the numbers of them all: the same in every shard of one run.
    pub jobs_digest: String,
    /// How many ended how.
    pub totals: Totals,
    /// The jobs, in the order of their numbers.
    pub jobs: J,
    /// Files of earlier runs that are there and do not belong.
    pub stale: Vec<String>,
    /// Those that were removed.
    pub removed: Vec<String>,
    /// Numbers of jobs that are not among these and of which something was issued: their files stay.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub kept: Vec<String>,
    /// Files of the input that no job takes, and why.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub unused: Vec<String>,
    /// What else is to be looked at in the input.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub warnings: Vec<String>,
}

/// How many jobs ended how.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Totals {
    /// Made.
    pub done: usize,
    /// Not changed since they were made.
    pub up_to_date: usize,
    /// Not made.
    pub failed: usize,
    /// Made or not changed, of which something asked for was rightly not made.
    pub withheld: usize,
    /// Issued before, and as they were.
    #[serde(default)]
    pub settled: usize,
    /// Settled, of which the job gives something else now.
    #[serde(default)]
    pub differing: usize,
}

/// One job of a manifest.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ManifestJob {
    /// Its number; `None` where it cannot be read.
    pub job: Option<String>,
    /// The job file, as it was named.
    pub file: String,
    /// `visit`; `route`, the visits of one van on one day; or `report`, a contract's service report.
    #[serde(default = "visit")]
    pub kind: String,
    /// `done`, `up-to-date`, `settled` or `failed`.
    pub state: String,
    /// Of a visit whose files were made: `done`, `deviates`, `not-made`, `withheld`, or `not-yet` without a log.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub visit: Option<String>,
    /// SHA-256 of everything its files depend on.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub inputs: Option<String>,
    /// Its files, in the folder of its number.
    pub outputs: Vec<Output>,
    /// What was left off or not made, and why.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
    /// What the job gives now that is not what was issued.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub differs: Option<String>,
    /// What in the input cannot be used and kept a part from being made.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trouble: Option<String>,
    /// Why it was not made.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub error: Option<String>,
    /// The output folder, where several were merged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub folder: Option<String>,
}

fn visit() -> String {
    VISIT.to_owned()
}

impl Totals {
    pub(super) fn count(&mut self, ended: &Ended) {
        let (of_state, also, is_also) = match ended {
            Ended::Done { withheld } => (&mut self.done, &mut self.withheld, *withheld),
            Ended::UpToDate { withheld } => (&mut self.up_to_date, &mut self.withheld, *withheld),
            Ended::Settled { differs } => (&mut self.settled, &mut self.differing, differs.is_some()),
            Ended::Failed(_) => (&mut self.failed, &mut self.differing, false),
        };
        *of_state += 1;
        *also += usize::from(is_also);
    }

    pub(super) fn add(&mut self, other: Totals) {
        self.done += other.done;
        self.up_to_date += other.up_to_date;
        self.failed += other.failed;
        self.withheld += other.withheld;
        self.settled += other.settled;
        self.differing += other.differing;
    }

    /// All jobs.
    pub fn all(&self) -> usize {
        self.done + self.up_to_date + self.settled + self.failed
    }
}

/// A manifest of a run.
pub(super) fn manifest<J>(jobs: J, placed: &Placed, totals: Totals, stale: Stale, run: &Run<'_>) -> Manifest<J> {
    Manifest {
        form: FORM.to_owned(),
        made_by: concat!("decant ", env!("CARGO_PKG_VERSION")).to_owned(),
        shard: run.shard.to_string(),
        jobs_of_all_shards: placed.of_all_shards,
        jobs_digest: placed.all_digest.clone(),
        totals,
        jobs,
        stale: stale.left,
        removed: stale.removed,
        kept: stale.kept,
        unused: run.unused.to_vec(),
        warnings: run.warnings.to_vec(),
    }
}

/// The jobs of a run in the order of their numbers, each read from its state when it is written: there may be very many.
pub(super) struct Jobs<'a> {
    pub store: &'a Store,
    pub placed: &'a Placed,
    pub kept: &'a [Kept],
    /// Of those that were written, what differs from what was issued, and what kept a part from being made.
    pub reported: RefCell<[Vec<(String, String)>; 2]>,
    /// The cautions among their notes, each once.
    pub cautions: RefCell<BTreeSet<String>>,
}

impl Serialize for Jobs<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let made = by_number(self.placed, self.kept).into_iter().map(|(item, kept)| of_item(self.store, item, kept));
        let unplaced = self.placed.unplaced.iter().zip(&self.kept[self.placed.items.len()..]);
        let unplaced = unplaced.map(|(unplaced, kept)| ManifestJob {
            job: unplaced.number.clone(),
            file: unplaced.file.display().to_string(),
            kind: visit(),
            state: kept.word.to_owned(),
            error: kept.error.clone(),
            ..ManifestJob::default()
        });
        let note = |job: &ManifestJob| {
            let mut reported = self.reported.borrow_mut();
            for (all, text) in reported.iter_mut().zip([&job.differs, &job.trouble]) {
                all.extend(job.job.clone().zip(text.clone()));
            }
            let cautions = job.notes.iter().filter(|note| is_caution(note)).cloned();
            self.cautions.borrow_mut().extend(cautions);
        };
        serializer.collect_seq(made.chain(unplaced).inspect(note))
    }
}

fn of_item(store: &Store, item: &Item, kept: &Kept) -> ManifestJob {
    let mut job = ManifestJob {
        job: Some(item.number.clone()),
        file: item.file.display().to_string(),
        kind: item.kind.to_owned(),
        state: kept.word.to_owned(),
        ..ManifestJob::default()
    };
    match (kept.failed(), store.state(&item.number)) {
        (true, state) => {
            let error = kept.error.clone().or_else(|| state?.error);
            job.error = error.or_else(|| Some("not made".to_owned()));
        }
        (false, Some(state)) => {
            job.inputs = state.inputs;
            job.visit = state.visit;
            job.outputs = state.outputs;
            job.notes = state.notes;
            job.trouble = state.trouble;
            job.differs = state.settled.and_then(|settled| settled.differs);
        }
        // somebody removed it between the job's end and the run's
        (false, None) => job.notes.push("the state of this job is gone".to_owned()),
    }
    job
}

fn by_number<'a>(placed: &'a Placed, kept: &'a [Kept]) -> Vec<(&'a Item, &'a Kept)> {
    let mut all: Vec<_> = placed.items.iter().zip(kept).collect();
    all.sort_by(|(a, _), (b, _)| a.number.cmp(&b.number));
    all
}

/// Rows of the summary, in the same order, each read when it is written: there may be very many.
pub(super) fn rows<'a>(
    store: &'a Store,
    placed: &'a Placed,
    kept: &'a [Kept],
) -> impl Iterator<Item = Vec<String>> + use<'a> {
    let made = by_number(placed, kept).into_iter().filter(|(_, kept)| !kept.failed());
    made.filter_map(|(item, _)| store.state(&item.number)).flat_map(|state| state.rows)
}

/// As JSON, one line a field.
pub(super) fn to_json<J: Serialize>(manifest: &Manifest<J>) -> Result<Vec<u8>, Failed> {
    let fault = |e| Failed { own_fault: true, ..Failed::new(format!("the manifest cannot be written as JSON: {e}")) };
    let mut json = serde_json::to_vec_pretty(manifest).map_err(fault)?;
    json.push(b'\n');
    Ok(json)
}

/// A summary as a spreadsheet takes it.
pub(super) fn summary<R>(header: &[&str], rows: impl IntoIterator<Item = R>) -> Result<Vec<u8>, Failed>
where
    R: IntoIterator<Item: AsRef<str>>,
{
    table(header, rows).map_err(|e| Failed::new(format!("the summary cannot be written: {e}")))
}
