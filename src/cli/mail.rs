//! `decant mail`: certificates to clients, as drafts or through a server.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::dates::DateArgs;
use super::output::{self, Exit};
use crate::app::{Cause, Context, Failure, MAIL_LOG, Mailable, Message, SendLogView, Sending, Unmailed, chosen};
use crate::company::{Address, Mail, Security, Server};
use crate::digest::sha256;
use crate::mail::{Courier, Outcome, Parcel, SendLog, Standing, send, standing};
use crate::record::revision_mark;

/// Mail certificates to clients: as drafts for your mail program, or through a server
#[derive(Debug, clap::Args)]
#[command(
    group(clap::ArgGroup::new("way").required(true).multiple(true).args(["drafts", "send", "dry_run"])),
    after_help = "Examples:\n  decant mail job.yaml --dry-run\n  decant mail job.yaml --drafts drafts\n  decant mail mon-*.yaml --documents out --send\n\nAddresses are those of `client.email` and `site.email` in each job, the server is that of\n`mail` in the company file. Only a certificate that is whole and is the job's newest revision\ngoes out, and each revision goes to each address once, however often this is run. Prints a\nline a recipient."
)]
pub(super) struct Args {
    /// Job files, folders of them, or contracts
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    #[command(flatten)]
    dates: DateArgs,
    /// Folder that the certificates are in [default: `out` beside each job file or contract]
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
    /// Jobs that were not made, and those that have no log: no certificate is due.
    not_made: Vec<String>,
    no_log: Vec<String>,
}

impl Tally {
    fn refuse(&mut self, failure: &Failure) {
        self.refused.push(output::failure(failure));
    }

    /// Says of the visits of which no certificate is due that they have none; of many in one line.
    fn say_none_due(&self) {
        for (jobs, why) in [(&self.not_made, "not made: there is no certificate"), (&self.no_log, "no service log yet")]
        {
            if !jobs.is_empty() {
                let more = if jobs.len() > 10 { format!(" and {} more", jobs.len() - 10) } else { String::new() };
                output::say(format_args!(
                    "{}{more}: {why}, and nothing is mailed",
                    jobs[..jobs.len().min(10)].join(", ")
                ));
            }
        }
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
            (0, 0) => Exit::CertificateWithheld,
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
        let chosen = chosen(&self.jobs, self.documents.as_deref(), self.dates.dates())?;
        for file in &chosen.jobs {
            match Mailable::of(file, chosen.documents.as_deref(), &context) {
                Ok(found) => ready.push(found),
                Err(Unmailed::NotMade(job)) => tally.not_made.push(job),
                Err(Unmailed::NoLog(job)) => tally.no_log.push(job),
                Err(Unmailed::Failed(failure)) => tally.refuse(&failure),
            }
        }
        tally.say_none_due();
        let Some(first) = ready.first() else { return Ok(tally.exit()) };
        check_one_firm(&ready)?;
        // one log for a firm, wherever its documents lie
        let log = self.log.clone().or_else(|| first.mail.log.clone());
        let log = log.unwrap_or_else(|| first.company_file.with_file_name(MAIL_LOG));
        let courier = if sends { Some(courier(&first.mail)?) } else { None };
        let stands =
            standing(&log).map_err(|e| Failure::error(e).because(if sends { Cause::Disk } else { Cause::Input }))?;
        let again = self.again(&ready, &stands)?;
        let date = self.date.or_else(|| drafts.is_none().then(Timestamp::now));
        let sending = Sending { date, draft: drafts.is_some(), stands: &stands, again: &again };
        let mut messages = Vec::new();
        for message in sending.messages(&ready) {
            match message {
                Ok(message) => messages.push(message),
                Err(failure) => tally.refuse(&failure),
            }
        }
        match (drafts, courier) {
            (Some(folder), _) => draft(folder, &stands, &messages, &mut tally)?,
            (None, Some(courier)) => dispatch(courier, &log, &messages, &mut tally)?,
            (None, None) => show(first.mail.server.as_ref(), &stands, &messages, &mut tally),
        }
        Ok(tally.exit())
    }

    /// What is to be sent although it may have been sent before. Only what is unknown can be.
    fn again(&self, ready: &[Mailable], stands: SendLogView<'_>) -> Result<Vec<(String, Address)>, Failure> {
        let refuse = |why: String| Failure::error(format_args!("--resend: {why}"));
        let mut again = Vec::new();
        for pair in self.resend.chunks(2) {
            let [job, to] = pair else { continue };
            let to = Address::parse(to).map_err(|e| refuse(e.to_string()))?;
            let is_to = |one: &&Mailable| one.to.iter().any(|other| other.address.folded() == to.folded());
            let Some(found) = ready.iter().filter(|one| one.job == *job).find(is_to) else {
                return Err(refuse(format!("no message of job {job} to {to} is at hand; nothing was sent")));
            };
            match stands(job, found.revision, &to) {
                Standing::Unknown { .. } => again.push((job.clone(), to)),
                Standing::Open => return Err(refuse(format!("job {job} was never sent to {to}; leave it out"))),
                Standing::Sent { at, .. } => {
                    let why = "a revision goes to an address once; `--drafts DIR` makes a copy to send by hand";
                    return Err(refuse(format!("job {job} was sent to {to}, {at}: {why}")));
                }
            }
        }
        Ok(again)
    }
}

fn show(server: Option<&Server>, stands: SendLogView<'_>, messages: &[Message<'_>], tally: &mut Tally) {
    for message in messages {
        let parcel = &message.parcel;
        let before = parcel.sent_before(&|content| stands(&content.job, content.revision, &parcel.to));
        tally.reached += parcel.contents.len();
        if before.as_ref().is_some_and(|outcome| !outcome.is_good()) {
            tally.failed += parcel.contents.len();
        }
        let outcome = match (before, server) {
            (Some(outcome), _) => outcome.to_string(),
            (None, Some(server)) => format!("would be sent through {}", through(server)),
            (None, None) => "would be a draft; the company file names no `server`".to_owned(),
        };
        named(parcel).for_each(|name| output::line(format_args!("{name}: {outcome}")));
        content(message).iter().for_each(output::line);
        output::line("");
    }
    if let Some(server) = server
        && let Err(e) = Courier::of(server)
    {
        output::say(format_args!("note: it could not be sent as it is: {e}"));
    }
    output::say("This was a dry run: nothing was sent and nothing was written.");
}

fn courier(mail: &Mail) -> Result<Courier<'_>, Failure> {
    let Some(server) = &mail.server else {
        let problem = mail.origin.error("missing-key", "`server` is missing here, so that nothing can be sent");
        return Err(problem.hint("`--drafts DIR` writes messages for your mail program").into());
    };
    Courier::of(server)
        .map_err(|e| Failure::from(mail.origin.error("mail-secret", e.to_string()).hint("nothing was sent")))
}

fn dispatch(mut courier: Courier<'_>, log: &Path, messages: &[Message<'_>], tally: &mut Tally) -> Result<(), Failure> {
    let mut log = SendLog::open(log).map_err(|e| Failure::error(e).because(Cause::Disk))?;
    let parcels: Vec<Parcel> = messages.iter().map(|message| message.parcel.clone()).collect();
    let mut unknown = false;
    send(&parcels, &mut log, &mut courier, &Timestamp::now, &mut |parcel, outcome| {
        named(parcel).for_each(|name| output::line(format_args!("{name}: {outcome}")));
        tally.reached += parcel.contents.len();
        tally.failed += if outcome.is_good() { 0 } else { parcel.contents.len() };
        unknown |= matches!(outcome, Outcome::Unknown(_) | Outcome::UnknownBefore(_) | Outcome::SentNotLogged(_));
    });
    courier.close();
    if unknown {
        output::say(
            "What is unknown is not sent again by itself: ask the client, or whoever runs the server. If it did not arrive,",
        );
        output::say("`--resend NUMBER ADDRESS` with the job's number sends that one again.");
    }
    Ok(())
}

/// One firm's, and each job once.
fn check_one_firm(ready: &[Mailable]) -> Result<(), Failure> {
    let mut numbers = BTreeSet::new();
    for one in ready {
        if one.company_file != ready[0].company_file {
            let (first, other) = (ready[0].company_file.display(), one.company_file.display());
            return Err(Failure::error(format_args!(
                "{first} and {other} are different firms; mail the jobs of each by themselves"
            )));
        }
        if !numbers.insert(&one.job) {
            return Err(Failure::error(format_args!("the job {} is named twice", one.job)));
        }
    }
    Ok(())
}

/// A certificate and its recipient, as every line begins.
fn named(parcel: &Parcel) -> impl Iterator<Item = String> {
    parcel.contents.iter().map(|c| format!("{}, revision {}, to {}", c.job, c.revision, parcel.to))
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
fn content(message: &Message<'_>) -> Vec<String> {
    let Message { parcel, to_name, letter, of } = message;
    let Mailable { company, mail, .. } = of[0]; // a message carries at least one certificate
    let mut lines = vec![format!("From: {company} <{}>", mail.from)];
    lines.extend(mail.reply_to.iter().map(|a| format!("Reply-To: {company} <{a}>")));
    lines.push(format!("To: {to_name} <{}>", parcel.to));
    lines.push(format!("Subject: {}", letter.subject));
    lines.push(format!("Message-ID: {}", parcel.id));
    lines.extend(of.iter().map(|m| format!("Attached: {}, {} bytes, SHA-256 {}", m.file, m.pdf.len(), sha256(&m.pdf))));
    let (size, most) = (parcel.bytes.len().div_ceil(1000), mail.largest_message / 1000);
    lines.push(format!("Size: {size} kB, of at most {most} kB"));
    lines.push(String::new());
    lines.extend(letter.text.lines().map(str::to_owned));
    lines.iter().map(|line| format!("  {line}").trim_end().to_owned()).collect()
}

fn draft(folder: &Path, stands: SendLogView<'_>, messages: &[Message<'_>], tally: &mut Tally) -> Result<(), Failure> {
    output::check_output_folder(folder)?;
    for message in messages {
        let (parcel, first) = (&message.parcel, message.of[0]);
        tally.reached += parcel.contents.len();
        // an address may hold what a file's name must not
        let number = first.to.iter().position(|to| to.address == parcel.to).unwrap_or_default() + 1;
        let which = if first.to.len() > 1 { format!("-{number}") } else { String::new() };
        let more = match message.of.len() - 1 {
            0 => String::new(),
            more => format!("-and-{more}-more"),
        };
        let mark = revision_mark(first.revision);
        let path = folder.join(format!("{}{more}-mail{mark}{which}.eml", first.job));
        if let Err(failure) = output::file(&path, &parcel.bytes) {
            tally.unwritten += 1;
            output::failure(&failure);
        }
        for (content, name) in parcel.contents.iter().zip(named(parcel)) {
            match stands(&content.job, content.revision, &parcel.to) {
                Standing::Open => {}
                Standing::Sent { at, .. } => output::say(format_args!("note: {name}: was sent already, {at}")),
                Standing::Unknown { at } => output::say(format_args!("note: {name}: may have been sent already, {at}")),
            }
        }
    }
    Ok(())
}
