//! `decant mail`: certificates to clients, as drafts or through a server.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::exit::unwritten;
use super::mailing::{Mailable, mailable};
use super::settled::MAIL_LOG;
use super::shelf::Shelf;
use super::{Exit, Refusal, output, target};
use crate::catalog::{Address, Mail, Security, Server};
use crate::delivery::{Courier, MessageError, Outcome, Parcel, SendLog, Standing, Written, round, standing};
use crate::digest::sha256;
use crate::record::revision_mark;
use crate::whole::write_whole;

/// What was asked for.
pub(super) struct Request<'a> {
    pub jobs: &'a [PathBuf],
    pub documents: Option<&'a Path>,
    pub way: Way<'a>,
    pub log: Option<&'a Path>,
    pub date: Option<Timestamp>,
    /// Numbers of jobs and addresses, in turn.
    pub resend: &'a [String],
}

/// What becomes of the messages.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Way<'a> {
    /// They are shown.
    Show,
    /// They are written into a folder.
    Draft(&'a Path),
    /// They are sent.
    Send,
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
    fn refuse(&mut self, refusal: &Refusal) {
        self.refused.push(refusal.tell());
    }

    fn exit(&self) -> Exit {
        let refused = &self.refused;
        if refused.contains(&Exit::OwnFault) {
            return Exit::OwnFault;
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

pub(super) fn run(request: &Request<'_>) -> Exit {
    let shelf = Shelf::default();
    let mut tally = Tally::default();
    let mut ready = Vec::new();
    for file in request.jobs {
        match mailable(file, request.documents, &shelf) {
            Ok(found) => ready.push(found),
            Err(refusal) => tally.refuse(&refusal),
        }
    }
    let Some(first) = ready.first() else {
        return tally.exit();
    };
    if let Err(refusal) = belong_together(&ready) {
        return refusal.tell();
    }
    let (mail, log) = (first.mail.clone(), log_file(request, first));
    let date = match request.way {
        Way::Send => Some(request.date.unwrap_or_else(Timestamp::now)),
        _ => request.date,
    };
    let mut items = Vec::new();
    for mailable in &ready {
        match written(mailable, date, matches!(request.way, Way::Draft(_))) {
            Ok(found) => items.extend(found),
            Err(refusal) => tally.refuse(&refusal),
        }
    }
    let ended = match request.way {
        Way::Show => show(request, &mail, &log, &items, &mut tally),
        Way::Draft(folder) => draft(folder, &log, &items, &mut tally),
        Way::Send => send(request, &mail, &log, &items, &mut tally),
    };
    match ended {
        Ok(()) => tally.exit(),
        Err(refusal) => refusal.tell(),
    }
}

/// One firm's, and each job once.
fn belong_together(ready: &[Mailable]) -> Result<(), Refusal> {
    let mut numbers = BTreeSet::new();
    for one in ready {
        if one.company_file != ready[0].company_file {
            return Err(Refusal::error(format!(
                "{} and {} are different firms; mail the jobs of each by themselves",
                ready[0].company_file.display(),
                one.company_file.display()
            )));
        }
        if !numbers.insert(&one.job) {
            return Err(Refusal::error(format!("the job {} is named twice", one.job)));
        }
    }
    Ok(())
}

/// Where it is kept what was sent: one log for a firm, wherever its documents lie.
fn log_file(request: &Request<'_>, first: &Mailable) -> PathBuf {
    let beside = || first.company_file.with_file_name(MAIL_LOG);
    let named = request.log.map(Path::to_owned).or_else(|| first.mail.log.clone());
    named.unwrap_or_else(beside)
}

/// The messages of a job, all or none.
fn written(mailable: &Mailable, date: Option<Timestamp>, draft: bool) -> Result<Vec<Item<'_>>, Refusal> {
    let one = |to| {
        let written = mailable.message(to, date, draft).map_err(|e| match e {
            MessageError::Library(_) => Refusal::own_fault(e),
            e => Refusal::error(format!("job {} is not mailed: {e}", mailable.job)),
        })?;
        Ok(Item { mailable, to, written })
    };
    mailable.to.iter().map(one).collect()
}

/// A recipient, as every line begins.
fn named(item: &Item<'_>) -> String {
    format!("{}, revision {}, to {}", item.mailable.job, item.mailable.revision, item.to)
}

fn show(request: &Request<'_>, mail: &Mail, log: &Path, items: &[Item<'_>], tally: &mut Tally) -> Result<(), Refusal> {
    let stands = standing(log).map_err(Refusal::error)?;
    let stands_now = |item: &Item<'_>| stands(&item.mailable.job, item.mailable.revision, item.to);
    let again = resend(request.resend, items, &stands_now)?;
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

fn draft(folder: &Path, log: &Path, items: &[Item<'_>], tally: &mut Tally) -> Result<(), Refusal> {
    target::folder(folder)?;
    let stands = standing(log).map_err(Refusal::error)?;
    for item in items {
        tally.reached += 1;
        let Mailable { job, revision, to, .. } = item.mailable;
        // an address may hold what a file's name must not
        let number = to.iter().position(|a| a == item.to).unwrap_or_default() + 1;
        let which = if to.len() > 1 { format!("-{number}") } else { String::new() };
        let path = folder.join(format!("{job}-mail{}{which}.eml", revision_mark(*revision)));
        match write_whole(&path, &item.written.bytes) {
            Ok(()) => output::line(path.display()),
            Err(e) => {
                tally.unwritten += 1;
                output::say(format_args!("error: {}", unwritten(&path, &e)));
            }
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

fn send(request: &Request<'_>, mail: &Mail, log: &Path, items: &[Item<'_>], tally: &mut Tally) -> Result<(), Refusal> {
    let Some(server) = &mail.server else {
        let problem = mail.origin.error("missing-key", "`server` is missing here, so that nothing can be sent");
        return Err(Refusal::bad_input(problem.hint("`--drafts DIR` writes messages for your mail program")));
    };
    let mut courier = Courier::of(server)
        .map_err(|e| Refusal::bad_input(mail.origin.error("mail-secret", e.to_string()).hint("nothing was sent")))?;
    let mut log = SendLog::open(log).map_err(|e| Refusal::error(e).ending(Exit::SomeFailed))?;
    let again =
        resend(request.resend, items, &|item| log.standing(&item.mailable.job, item.mailable.revision, item.to))?;
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

/// For each message, whether it is to be sent although it may have been sent before. Only what is unknown can be.
fn resend(asked: &[String], items: &[Item<'_>], stands: &dyn Fn(&Item<'_>) -> Standing) -> Result<Vec<bool>, Refusal> {
    let mut again = vec![false; items.len()];
    for pair in asked.chunks(2) {
        let [job, to] = pair else { continue };
        let to = Address::parse(to).map_err(|e| Refusal::error(format!("--resend: {e}")))?;
        let found = items.iter().position(|item| item.mailable.job == *job && item.to.folded() == to.folded());
        let Some(found) = found else {
            return Err(Refusal::error(format!(
                "--resend: no message of job {job} to {to} is at hand; nothing was sent"
            )));
        };
        match stands(&items[found]) {
            Standing::Unknown { .. } => again[found] = true,
            Standing::Open => {
                return Err(Refusal::error(format!("--resend: job {job} was never sent to {to}; leave it out")));
            }
            Standing::Sent { at, .. } => {
                let why = "a revision goes to an address once; `--drafts DIR` makes a copy to send by hand";
                return Err(Refusal::error(format!("--resend: job {job} was sent to {to}, {at}: {why}")));
            }
        }
    }
    Ok(again)
}
