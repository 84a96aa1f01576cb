//! From a job to what its templates are given.

use super::certify::{Certified, certify};
use super::context::Context;
use super::failure::{Failure, valid};
use super::labels::{check_first, label_run};
use super::planned::Planned;
use crate::diagnostic::Diagnostics;
use crate::document::{
    LabelJob, LabelOnly, View, certificate, check_elements, failed_rules, labels, missing_texts, mix_sheet, notice,
};
use crate::engine::Template;
use crate::record::{Made, RecordFile};

/// A document that can be asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum Kind {
    /// Container labels, one a load
    Labels,
    /// The technician's mix sheet
    MixSheet,
    /// The client's certificate
    Certificate,
    /// Of a visit that was not made: a notice that says so
    Notice,
}

/// In what form pages are written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum Format {
    /// Tagged PDF/A
    #[default]
    Pdf,
    /// One picture a page
    Png,
    /// One drawing a page
    Svg,
}

/// Where labels go on their sheets, and how many there are.
#[derive(Clone, Debug, Default)]
pub struct LabelOptions {
    /// First free place of a part-used sheet, from 1.
    pub first: Option<u32>,
    /// How many of each, whatever the files say.
    pub copies: Option<u32>,
    /// Key of the printer that is corrected for.
    pub printer: Option<String>,
    /// Which of them.
    pub only: LabelOnly,
}

/// Which documents, and how.
#[derive(Clone, Debug, Default)]
pub struct Options {
    pub kinds: Vec<Kind>,
    pub format: Format,
    /// Of PNG.
    pub dpi: u32,
    pub draft: bool,
    /// Whether what was issued and never went out is replaced.
    pub replace_draft: bool,
    pub labels: LabelOptions,
}

impl Options {
    /// One document in PDF.
    pub fn of(kind: Kind) -> Options {
        Options { kinds: vec![kind], ..Options::default() }
    }

    fn wants(&self, kind: Kind) -> bool {
        self.kinds.contains(&kind)
    }
}

/// The documents of a job as their templates are given them, in the firm's look.
pub struct Documents {
    pub views: Vec<View>,
    /// Why a certificate that was asked for may not be made, one thing each; empty if it may.
    pub withheld: Vec<String>,
    /// Which rules the certificate that was asked for says were not kept; empty if all were.
    pub broken: Vec<String>,
    /// Whether a certificate was asked for of a visit that was not made.
    pub not_made: bool,
    /// The record, whatever was asked for.
    pub record: RecordFile,
    pub seal: Vec<u8>,
}

pub fn documents(planned: &Planned, options: &Options, context: &Context) -> Result<Documents, Failure> {
    let Planned { job, log, .. } = planned;
    let words = planned.printable(context)?;
    let Certified { certificate: certified, record, seal } = certify(planned, options.draft, &words, context)?;
    let run = label_run(&options.labels, planned.company(), context.ink)?;
    let mut made =
        Documents { views: Vec::new(), withheld: Vec::new(), broken: Vec::new(), not_made: false, record, seal };
    let mut report = Diagnostics::new();
    let mut stocks = Vec::new();
    if options.wants(Kind::Labels) {
        let second = words.labels_second.as_deref().map(|words| planned.voice(words));
        let of_job = LabelJob { voice: &planned.voice(&words.labels), second: second.as_ref(), job };
        check_elements(&[of_job], &run, &mut report)?;
        for batch in labels(&[of_job], &run)? {
            stocks.push(batch.stock);
            made.views.push(batch.view);
        }
    }
    if options.wants(Kind::MixSheet) {
        made.views.push(mix_sheet(&planned.voice(&words.mix_sheet))?);
    }
    let voice = planned.voice(&words.certificate);
    if options.wants(Kind::Certificate) {
        if job.log_trouble.is_some() {
            // a draft says what the log says, too
            made.withheld.push(format!("the log of job {} cannot be used", job.number));
        } else if let Some(view) = certified {
            made.broken = failed_rules(&planned.voice(&words.terminal), log)?;
            made.views.push(view);
        } else if log.visit == Made::Not {
            made.not_made = true;
            made.withheld.push(words.terminal.word("certificate.missing.not_made")?.to_owned());
        } else if options.draft {
            made.views.push(certificate(&voice, job.service_log.as_ref(), log, true)?);
        } else {
            made.withheld = missing_texts(&planned.voice(&words.terminal), job, &log.missing)?;
        }
    }
    if options.wants(Kind::Notice) {
        if log.visit != Made::Not {
            return Err(Failure::error(
                "the log does not say that this visit was not made: a notice says so of a visit of which every area was `skipped`",
            ));
        }
        made.views.push(notice(&voice, job.service_log.as_ref(), &made.record.digest)?);
    }
    valid(Some(()), &report)?;
    check_first(&run, &stocks, planned.company())?;
    made.views.iter_mut().for_each(|view| finish(planned, view));
    Ok(made)
}

/// The mix sheet alone, which takes no record.
pub fn sheet_of(planned: &Planned, context: &Context) -> Result<View, Failure> {
    let mut view = mix_sheet(&planned.voice(&planned.printable(context)?.mix_sheet))?;
    finish(planned, &mut view);
    Ok(view)
}

/// The firm's look, and whether it is a draft.
fn finish(planned: &Planned, view: &mut View) {
    planned.dress(view);
    // a label says it before the name of each product that is not
    if view.template != Template::Label && !planned.is_checked() {
        view.data["draft"] = true.into();
    }
}
