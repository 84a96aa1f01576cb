//! `decant mail`: certificates to clients, as drafts or through a server.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::output::{self, Exit};
use crate::app::{Cause, Context, Failure, MAIL_LOG, Mailable};
use crate::catalog::{Address, Mail, Security, Server};
use crate::delivery::{Courier, Outcome, Parcel, SendLog, Standing, Written, round, standing};
use crate::digest::sha256;
use crate::record::revision_mark;

/// Mail certificates to clients: as drafts for your mail program, or through a server
#[derive(Debug, clap::Args)]
#[command(
    group(clap::ArgGroup::new("way").required(true).multiple(true).args(["drafts", "send", "dry_run"])),
    after_help = "Examples:\n  decant mail job.yaml --dry-run\n  decant mail job.yaml --drafts drafts\n  decant mail mon-*.yaml --documents out --send\n\nAddresses are those of `client.email` in each job, the server is that of `mail` in the company\nfile. Only a certificate that is whole and is the job's newest revision goes out, and each\nrevision goes to each address once, however often this is run. Prints a line a recipient."
)]
pub(super) struct Args {
    /// The job files
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    /// Folder that the certificates are in [default: `out` beside each job file]
    #[arg(long, value_name = "DIR")]
    documents: Option<PathBuf>,
    /// Write messages into this folder, to be looked at and sent with a mail program
    #[arg(long, value_name = "DIR", conflicts_with = "send")]
    drafts: Option<PathBuf>,
    /// Send
    #[arg(long)]
    send: bool,
    /// Show every message and what would become of it; nothing is sent and nothing written
    #[arg(long)]
    dry_run: bool,
    /// The log of what was sent [default: as the company file says, or `mail-log.jsonl` beside it]
    #[arg(long, value_name = "FILE")]
    log: Option<PathBuf>,
    /// Date of the messages, such as `2026-04-14T09:00-04:00` [default: now; drafts have none]
    #[arg(long, value_name = "TIME")]
    date: Option<Timestamp>,
    /// Send this job to this address although it may have been sent before (repeat for several)
    #[arg(long, num_args = 2, value_names = ["NUMBER", "ADDRESS"], conflicts_with = "drafts")]
    resend: Vec<String>,
}

/// A message to one address.
struct Item<'a> {
    mailable: &'a Mailable,
    to: &'a Address,
    written: Written,
}

/// How many came to what.
#[derive(Default)]
struct Tally {
    /// Of the recipients that were come to.
    reached: usize,
    failed: usize,
    /// Drafts that could not be written.
    unwritten: usize,
    /// Jobs that were not mailed, and how each ended.
    refused: Vec<Exit>,
}

impl Tally {
    fn refuse(&mut self, failure: &Failure) {
        self.refused.push(output::failure(failure));
    }

    fn exit(&self) -> Exit {
        let refused = &self.refused;
        if refused.contains(&Exit::Internal) {
            return Exit::Internal;
        }
        if self.unwritten > 0 {
            return Exit::SomeFailed;
        }
        match (self.reached, self.failed + refused.len()) {
            (_, 0) => Exit::Done,
            (0, _) if refused.iter().all(|exit| *exit == Exit::CertificateWithheld) => Exit::CertificateWithheld,
            (0, _) => Exit::BadInput,
            _ => Exit::SomeFailed,
        }
    }
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        // a dry run of anything is a dry run
        let drafts = self.drafts.as_deref().filter(|_| !self.dry_run);
        let sends = self.send && !self.dry_run;
        let context = Context::default();
        let mut tally = Tally::default();
        let mut ready = Vec::new();
        for file in &self.jobs {
            match Mailable::of(file, self.documents.as_deref(), &context) {
                Ok(found) => ready.push(found),
                Err(failure) => tally.refuse(&failure),
            }
        }
        let Some(first) = ready.first() else { return Ok(tally.exit()) };
        check_one_firm(&ready)?;
        let date = self.date.or_else(|| sends.then(Timestamp::now));
        let mut items = Vec::new();
        for mailable in &ready {
            match messages(mailable, date, drafts.is_some()) {
                Ok(found) => items.extend(found),
                Err(failure) => tally.refuse(&failure),
            }
        }
        // one log for a firm, wherever its documents lie
        let log = self.log.clone().or_else(|| first.mail.log.clone());
        let log = log.unwrap_or_else(|| first.company_file.with_file_name(MAIL_LOG));
        match drafts {
            Some(folder) => draft(folder, &log, &items, &mut tally)?,
            None if sends => self.send(&first.mail, &log, &items, &mut tally)?,
            None => self.show(&first.mail, &log, &items, &mut tally)?,
        }
        Ok(tally.exit())
    }

    fn show(&self, mail: &Mail, log: &Path, items: &[Item<'_>], tally: &mut Tally) -> Result<(), Failure> {
        let stands = standing(log).map_err(Failure::error)?;
        let stands_now = |item: &Item<'_>| stands(&item.mailable.job, item.mailable.revision, item.to);
        let again = resend(&self.resend, items, &stands_now)?;
        for (item, again) in items.iter().zip(again) {
            tally.reached += 1;
            let said = match stands_now(item) {
                Standing::Sent { at, record } if record == item.mailable.record => Outcome::SentBefore(at).to_string(),
                Standing::Sent { at, .. } => {
                    tally.failed += 1;
                    Outcome::SentOtherwise(at).to_string()
                }
                Standing::Unknown { at } if !again => {
                    tally.failed += 1;
                    Outcome::UnknownBefore(at).to_string()
                }
                Standing::Open | Standing::Unknown { .. } => match &mail.server {
                    Some(server) => format!("would be sent through {}", through(server)),
                    None => "would be a draft; the company file names no `server`".into(),
                },
            };
            output::line(format_args!("{}: {said}", named(item)));
            shown(item).iter().for_each(output::line);
            output::line("");
        }
        if let Some(server) = &mail.server
            && let Err(e) = Courier::of(server)
        {
            output::say(format_args!("note: it could not be sent as it is: {e}"));
        }
        output::say("This was a dry run: nothing was sent and nothing was written.");
        Ok(())
    }

    fn send(&self, mail: &Mail, log: &Path, items: &[Item<'_>], tally: &mut Tally) -> Result<(), Failure> {
        let Some(server) = &mail.server else {
            let problem = mail.origin.error("missing-key", "`server` is missing here, so that nothing can be sent");
            return Err(Failure::from(problem.hint("`--drafts DIR` writes messages for your mail program")));
        };
        let mut courier = Courier::of(server)
            .map_err(|e| Failure::from(mail.origin.error("mail-secret", e.to_string()).hint("nothing was sent")))?;
        let mut log = SendLog::open(log).map_err(|e| Failure::error(e).because(Cause::Disk))?;
        let again =
            resend(&self.resend, items, &|item| log.standing(&item.mailable.job, item.mailable.revision, item.to))?;
        let parcels: Vec<Parcel> = items
            .iter()
            .zip(again)
            .map(|(item, again)| Parcel {
                job: item.mailable.job.clone(),
                revision: item.mailable.revision,
                record: item.mailable.record.clone(),
                from: mail.from.clone(),
                to: item.to.clone(),
                id: item.written.id.clone(),
                bytes: item.written.bytes.clone(),
                again,
            })
            .collect();
        let mut unknown = false;
        let outcomes = round(&parcels, &mut log, &mut courier, &Timestamp::now, &mut |parcel, outcome| {
            output::line(format_args!("{}, revision {}, to {}: {outcome}", parcel.job, parcel.revision, parcel.to));
        });
        courier.close();
        for outcome in &outcomes {
            tally.reached += 1;
            tally.failed += usize::from(!outcome.is_good());
            unknown |= matches!(outcome, Outcome::Unknown(_) | Outcome::UnknownBefore(_) | Outcome::SentNotLogged(_));
        }
        if unknown {
            output::say(
                "What is unknown is not sent again by itself: ask the client, or whoever runs the server. If it did not arrive,",
            );
            output::say("`--resend NUMBER ADDRESS` with the job's number sends that one again.");
        }
        Ok(())
    }
}

/// One firm's, and each job once.
fn check_one_firm(ready: &[Mailable]) -> Result<(), Failure> {
    let mut numbers = BTreeSet::new();
    for one in ready {
        if one.company_file != ready[0].company_file {
            return Err(Failure::error(format!(
                "{} and {} are different firms; mail the jobs of each by themselves",
                ready[0].company_file.display(),
                one.company_file.display()
            )));
        }
        if !numbers.insert(&one.job) {
            return Err(Failure::error(format!("the job {} is named twice", one.job)));
        }
    }
    Ok(())
}

/// The messages of a job, all or none.
fn messages(mailable: &Mailable, date: Option<Timestamp>, draft: bool) -> Result<Vec<Item<'_>>, Failure> {
    let one = |to| Ok(Item { mailable, to, written: mailable.message(to, date, draft)? });
    mailable.to.iter().map(one).collect()
}

/// A recipient, as every line begins.
fn named(item: &Item<'_>) -> String {
    format!("{}, revision {}, to {}", item.mailable.job, item.mailable.revision, item.to)
}

fn through(server: &Server) -> String {
    let security = match server.security {
        Security::StartTls => "STARTTLS",
        Security::Tls => "TLS",
    };
    let user = server.login.as_ref().map_or("nobody", |login| &login.user);
    format!("{}:{} ({security}) as {user}", server.host, server.port)
}

/// A message for people to read.
fn shown(item: &Item<'_>) -> Vec<String> {
    let (mailable, mail) = (item.mailable, &item.mailable.mail);
    let mut lines = vec![format!("From: {} <{}>", mailable.company, mail.from)];
    lines.extend(mail.reply_to.iter().map(|a| format!("Reply-To: {} <{a}>", mailable.company)));
    lines.push(format!("To: {} <{}>", mailable.to_name, item.to));
    lines.push(format!("Subject: {}", mailable.letter.subject));
    lines.push(format!("Message-ID: {}", item.written.id));
    lines.push(format!("Attached: {}, {} bytes, SHA-256 {}", mailable.file, mailable.pdf.len(), sha256(&mailable.pdf)));
    lines.push(format!(
        "Size: {} kB, of at most {} kB",
        item.written.bytes.len().div_ceil(1000),
        mail.largest_message / 1000
    ));
    lines.push(String::new());
    lines.extend(mailable.letter.text.lines().map(str::to_owned));
    lines.iter().map(|line| format!("  {line}").trim_end().to_owned()).collect()
}

fn draft(folder: &Path, log: &Path, items: &[Item<'_>], tally: &mut Tally) -> Result<(), Failure> {
    output::check_output_folder(folder)?;
    let stands = standing(log).map_err(Failure::error)?;
    for item in items {
        tally.reached += 1;
        let Mailable { job, revision, to, .. } = item.mailable;
        // an address may hold what a file's name must not
        let number = to.iter().position(|a| a == item.to).unwrap_or_default() + 1;
        let which = if to.len() > 1 { format!("-{number}") } else { String::new() };
        let path = folder.join(format!("{job}-mail{}{which}.eml", revision_mark(*revision)));
        if let Err(failure) = output::file(&path, &item.written.bytes) {
            tally.unwritten += 1;
            output::failure(&failure);
        }
        match stands(job, *revision, item.to) {
            Standing::Open => {}
            Standing::Sent { at, .. } => {
                output::say(format_args!("note: {}: was sent already, {at}", named(item)));
            }
            Standing::Unknown { at } => {
                output::say(format_args!("note: {}: may have been sent already, {at}", named(item)));
            }
        }
    }
    Ok(())
}

/// For each message, whether it is to be sent although it may have been sent before. Only what is unknown can be.
fn resend(asked: &[String], items: &[Item<'_>], stands: &dyn Fn(&Item<'_>) -> Standing) -> Result<Vec<bool>, Failure> {
    let mut again = vec![false; items.len()];
    for pair in asked.chunks(2) {
        let [job, to] = pair else { continue };
        let to = Address::parse(to).map_err(|e| Failure::error(format!("--resend: {e}")))?;
        let found = items.iter().position(|item| item.mailable.job == *job && item.to.folded() == to.folded());
        let Some(found) = found else {
            return Err(Failure::error(format!(
                "--resend: no message of job {job} to {to} is at hand; nothing was sent"
            )));
        };
        match stands(&items[found]) {
            Standing::Unknown { .. } => again[found] = true,
            Standing::Open => {
                return Err(Failure::error(format!("--resend: job {job} was never sent to {to}; leave it out")));
            }
            Standing::Sent { at, .. } => {
                let why = "a revision goes to an address once; `--drafts DIR` makes a copy to send by hand";
                return Err(Failure::error(format!("--resend: job {job} was sent to {to}, {at}: {why}")));
            }
        }
    }
    Ok(again)
}
