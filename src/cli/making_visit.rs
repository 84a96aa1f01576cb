//! A visit in a batch: its documents, and how it stands to what was issued of it.

use std::path::Path;

use serde_json::{Value, json};

use super::kept::{kept, replaced, settled_with};
use super::making::{Making, Work, failed};
use super::prepare::{Prepared, log_trouble, read, work_out};
use super::proving::{PROGRAM, attach, earlier_names, follows_on, record_names};
use super::settled::{Standing, issued, may_replace, revisions, settled_files, standing, told_difference};
use super::views::{Asked, views};
use super::{Exit, Refusal};
use crate::batch::{Failed, Made, Maker, Settled, Watched};
use crate::digest::hex;
use crate::document::View;
use crate::job::Job;
use crate::record::rows;

impl Making<'_> {
    /// The files that a job was read from; none where its log cannot be used, so that it is read again when that may be mended.
    pub(super) fn watched(job: &Job) -> Vec<Watched> {
        if job.log_trouble.is_some() {
            return Vec::new();
        }
        let log = job.applied.as_ref().map(|log| &log.source);
        let sources = [(Some(&job.source), false), (Some(&job.catalog.source), true), (log, false)];
        let sources = sources.into_iter().filter_map(|(source, shared)| Some((source?, shared)));
        sources
            .map(|(source, shared)| Watched {
                file: source.file().display().to_string(),
                sha256: hex(&source.digest()),
                shared,
            })
            .collect()
    }

    /// The record that was issued of a job file, if it was when the run began and the job still gives it: it is what happened,
    /// whatever the company file says by now.
    pub(super) fn issued_of(&self, file: &Path) -> Option<Value> {
        let number = self.number(file)?;
        let known = self.settled.get(&number)?;
        let folder = self.output.join(&number);
        let newest = *revisions(&folder, &number).last()?;
        let found = issued(&folder, &number, newest)?;
        let same = |w: &Watched| self.digest(w).as_deref() == Some(w.sha256.as_str());
        if !known.watched.iter().all(same) {
            // a later revision may be made in this run
            let prepared = read(file, self.shelf).and_then(work_out).ok()?;
            let now = now(&prepared).ok()?;
            match standing(&now, &prepared, &folder) {
                Ok(Standing::Free) => return None,
                _ => return Some(found.record),
            }
        }
        Some(found.record)
    }

    /// Whether something was issued of a visit, and whether its job still gives it.
    pub(super) fn settled_work(&self, work: Work, folder: &Path) -> Result<(Work, Option<Settled>), Failed> {
        let job = match work {
            Work::Visit(job) if !revisions(folder, &job.number).is_empty() => *job,
            other => return Ok((other, None)),
        };
        let prepared = work_out(job).map_err(failed)?;
        let number = prepared.plan.job.clone();
        let now = now(&prepared).map_err(failed)?;
        let (issued, differs) = match standing(&now, &prepared, folder) {
            Err(refusal) if refusal.exit == Exit::SomeFailed => (None, Some(refusal.told())),
            Err(refusal) => return Err(failed(refusal)),
            Ok(Standing::Free) => return Ok((Work::Planned(Box::new(prepared)), None)),
            // whoever is writing the next revision must hear of a slip in it
            Ok(Standing::Settled(issued)) => (Some(issued), log_trouble(&prepared)),
            Ok(Standing::Differs(issued, difference)) => {
                let told = format!("error: {}", told_difference(&number, &issued, &difference));
                (Some(issued), Some(told))
            }
        };
        let differs = match (&issued, differs) {
            (Some(issued), differs) if self.replace => {
                match may_replace(&number, issued, &prepared.job.catalog, self.shelf) {
                    Ok(()) => return Ok((Work::Planned(Box::new(prepared)), None)),
                    Err(refusal) => differs.map(|_| refusal.told()),
                }
            }
            (_, differs) => differs,
        };
        let start = issued.as_ref().and_then(|issued| issued.record["plan"]["start"].as_str());
        let settled = Settled {
            files: settled_files(folder, &number).into_iter().collect(),
            start: start.map(str::to_owned),
            differs,
        };
        Ok((Work::Planned(Box::new(prepared)), Some(settled)))
    }

    /// All documents of a visit, but for what was issued.
    pub(super) fn make_visit(&self, prepared: &Prepared, folder: &Path) -> Result<Made, Failed> {
        let asked = Asked {
            kinds: self.kinds,
            draft: self.draft,
            ink: self.ink,
            language: self.language,
            first: None,
            copies: None,
            printer: None,
        };
        let number = &prepared.plan.job;
        let mut put = views(prepared, &asked, self.shelf).map_err(failed)?;
        follows_on(&put.record, number, folder).map_err(failed)?;
        let kept = kept(&put, prepared, folder, self.replace, self.shelf).map_err(failed)?;
        attach(&mut put);
        let mut made = Made {
            rows: rows(&prepared.plan, &prepared.job, &prepared.record.number),
            withheld: !put.withheld.is_empty(),
            // before the work nobody looks at a log
            trouble: log_trouble(prepared),
            ..Made::default()
        };
        made.notes.extend(kept.note.clone());
        if made.withheld {
            made.notes.push(format!("the certificate is withheld: {}", put.withheld.join("; ")));
        }
        if !put.broken.is_empty() {
            made.notes.push(format!("the certificate says what was not kept: {}", put.broken.join("; ")));
        }
        let (left_out, views): (Vec<View>, Vec<View>) = put.views.into_iter().partition(|view| kept.leaves_out(view));
        for view in left_out.iter().filter(|view| !kept.is_beside(view, folder)) {
            made.notes.push(format!("{} was not made: the certificate of this job is issued already", view.stem));
        }
        self.set(&views, prepared, &prepared.record.number, &mut made)?;
        if !made.files.is_empty() {
            let (record, seal) = record_names(number, put.record.revision);
            if !kept.stays(&seal) {
                // the old one would stand beside a new record if the run were killed
                made.first_gone.push(seal.clone());
            }
            made.files.push((record, put.record.json.clone()));
            made.files.push((seal, put.seal));
            made.files.retain(|(name, _)| !kept.stays(name));
            made.keeps = earlier_names(number, put.record.revision);
            if kept.replaces {
                made.first_gone.extend(replaced(folder, number, put.record.revision, &made.files));
            }
        }
        made.settled = Some(settled_with(folder, number, &put.record, &made.files));
        Ok(made)
    }
}

/// A record as far as it is compared with what was issued.
fn now(prepared: &Prepared) -> Result<Value, Refusal> {
    let log = prepared.job.applied.as_ref();
    let revision = log.map_or(1, |log| log.revision);
    let replaces = log.and_then(|log| log.replaces.as_ref());
    let record = json!({
        "plan": prepared.plan,
        "applied": log,
        "revision": revision,
        "replaces": replaces.map(|sha256| json!({ "revision": revision - 1, "sha256": sha256 })),
        "made_by": { "program": PROGRAM },
    });
    // a whole figure is written without its point, and read back so
    let canonical = serde_json_canonicalizer::to_vec(&record).map_err(Refusal::own_fault)?;
    serde_json::from_slice(&canonical).map_err(Refusal::own_fault)
}
