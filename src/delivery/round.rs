//! A round of messages: each is held against the log, handed over, and accounted for by itself.

use jiff::Timestamp;

use super::{Entry, Fate, SendLog, Standing, State};
use crate::catalog::Address;

/// A message that is ready for its recipient.
#[derive(Clone, Debug)]
pub struct Parcel {
    /// The job's number.
    pub job: String,
    /// Which revision of its record.
    pub revision: u32,
    /// SHA-256 of the record, in hexadecimal.
    pub record: String,
    /// The sender.
    pub from: Address,
    /// The recipient.
    pub to: Address,
    /// The message's `Message-ID`.
    pub id: String,
    /// The message.
    pub bytes: Vec<u8>,
    /// Whether it is to be sent although it may have been sent before.
    pub again: bool,
}

/// What became of a parcel in this round.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// The server took it, and what it said.
    Sent(String),
    /// It was sent in a round before, and is not sent again.
    SentBefore(Timestamp),
    /// This revision was sent before with another record; a change needs a new revision.
    SentOtherwise(Timestamp),
    /// The server refused it, and what it said.
    Refused(String),
    /// It did not leave, and why.
    NotSent(String),
    /// The server may have it, and what happened.
    Unknown(String),
    /// The server may have it from a round before.
    UnknownBefore(Timestamp),
    /// The server took it, and the log could not be told: the next round will not know.
    SentNotLogged(String),
}

impl Outcome {
    /// Whether the recipient has it, as far as the server's word goes.
    pub fn is_good(&self) -> bool {
        matches!(self, Outcome::Sent(_) | Outcome::SentBefore(_))
    }
}

impl std::fmt::Display for Outcome {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Outcome::Sent(reply) => write!(f, "sent ({reply})"),
            Outcome::SentBefore(at) => write!(f, "sent already, {at}; not sent again"),
            Outcome::SentOtherwise(at) => write!(
                f,
                "NOT SENT: this revision was sent with another record, {at}; what is changed needs a new revision"
            ),
            Outcome::Refused(reply) => write!(f, "REFUSED by the server: {reply}"),
            Outcome::NotSent(why) => write!(f, "NOT SENT: {why}"),
            Outcome::Unknown(why) => write!(f, "UNKNOWN whether it was sent: {why}"),
            Outcome::UnknownBefore(at) => {
                write!(f, "UNKNOWN whether it was sent, {at}: that run was cut short; not sent again")
            }
            Outcome::SentNotLogged(why) => write!(f, "sent, but the next run will not know: {why}"),
        }
    }
}

/// Whoever hands messages over.
pub trait Postman {
    /// Makes sure that there is a connection.
    ///
    /// # Errors
    /// Why there is none.
    fn be_ready(&mut self) -> Result<(), String>;

    /// Hands a parcel over; `before` is called when its content is about to leave.
    fn deliver(&mut self, parcel: &Parcel, before: &mut dyn FnMut() -> Result<(), String>) -> Fate;
}

/// Sends what the log leaves open, in order. `ended` is told of each parcel as it ends. One that the server refuses stops nobody
/// else's. When the server is lost twice running with a message under way, or cannot be reached again, the rest is not tried:
/// each would only add to what is unknown.
pub fn round(
    parcels: &[Parcel],
    log: &mut SendLog,
    postman: &mut dyn Postman,
    now: &dyn Fn() -> Timestamp,
    ended: &mut dyn FnMut(&Parcel, &Outcome),
) -> Vec<Outcome> {
    let mut outcomes = Vec::new();
    let mut stopped: Option<String> = None;
    let mut lost = 0;
    for parcel in parcels {
        let outcome = match (log.standing(&parcel.job, parcel.revision, &parcel.to), &stopped) {
            (Standing::Sent { at, record }, _) if record == parcel.record => Outcome::SentBefore(at),
            (Standing::Sent { at, .. }, _) => Outcome::SentOtherwise(at),
            (Standing::Unknown { at }, _) if !parcel.again => Outcome::UnknownBefore(at),
            (_, Some(why)) => Outcome::NotSent(why.clone()),
            (_, None) => match postman.be_ready() {
                Err(why) => {
                    stopped = Some(why.clone());
                    Outcome::NotSent(why)
                }
                Ok(()) => {
                    let (outcome, may_go_on) = send(parcel, log, postman, now);
                    lost = if matches!(outcome, Outcome::Unknown(_)) { lost + 1 } else { 0 };
                    if !may_go_on {
                        stopped = Some("the send log cannot be written".into());
                    } else if lost == 2 {
                        stopped = Some("the server was lost twice in the middle of a message".into());
                    }
                    outcome
                }
            },
        };
        ended(parcel, &outcome);
        outcomes.push(outcome);
    }
    outcomes
}

/// Sends one; also whether the log can still be written.
fn send(parcel: &Parcel, log: &mut SendLog, postman: &mut dyn Postman, now: &dyn Fn() -> Timestamp) -> (Outcome, bool) {
    let entry = |state, told: Option<&str>| Entry {
        at: now(),
        job: parcel.job.clone(),
        revision: parcel.revision,
        record: parcel.record.clone(),
        to: parcel.to.as_str().to_owned(),
        message: parcel.id.clone(),
        state,
        told: told.map(str::to_owned),
    };
    let fate = postman.deliver(parcel, &mut || log.write(&entry(State::Sending, None)).map_err(|e| e.to_string()));
    let (outcome, state) = match fate {
        Fate::NotLogged(why) => return (Outcome::NotSent(why), false),
        Fate::Accepted(reply) => (Outcome::Sent(reply), State::Sent),
        Fate::Refused(reply) => (Outcome::Refused(reply), State::Refused),
        Fate::NotSent(why) => (Outcome::NotSent(why), State::NotSent),
        Fate::Unknown(why) => (Outcome::Unknown(why), State::Unknown),
    };
    let told = match &outcome {
        Outcome::Sent(text) | Outcome::Refused(text) | Outcome::NotSent(text) | Outcome::Unknown(text) => text.as_str(),
        _ => "",
    };
    // what came of it stands there for good, whatever becomes of the next
    match (log.write(&entry(state, Some(told))), outcome) {
        (Ok(()), outcome) => (outcome, true),
        (Err(error), Outcome::Sent(_)) => (Outcome::SentNotLogged(error.to_string()), false),
        (Err(_), outcome) => (outcome, false),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A postman who meets with what is written down for each parcel.
    struct Scripted {
        fates: Vec<Fate>,
        tried: Vec<String>,
        ready: usize,
    }

    impl Postman for Scripted {
        fn be_ready(&mut self) -> Result<(), String> {
            if self.ready == 0 {
                return Err("nobody answers".into());
            }
            self.ready -= 1;
            Ok(())
        }

        fn deliver(&mut self, parcel: &Parcel, before: &mut dyn FnMut() -> Result<(), String>) -> Fate {
            self.tried.push(parcel.to.to_string());
            let fate = self.fates.remove(0);
            if !matches!(fate, Fate::NotSent(_))
                && let Err(why) = before()
            {
                return Fate::NotLogged(why);
            }
            fate
        }
    }

    fn parcels(to: &[&str]) -> Vec<Parcel> {
        let address = |text: &str| Address::parse(text).expect("an address");
        let one = |to: &&str| Parcel {
            job: "7".into(),
            revision: 1,
            record: "ab".into(),
            from: address("records@firm.example"),
            to: address(to),
            id: "<x@firm.example>".into(),
            bytes: b"x".to_vec(),
            again: false,
        };
        to.iter().map(one).collect()
    }

    const THREE: [&str; 3] = ["a@c.example", "b@c.example", "c@c.example"];

    fn go(parcels: &[Parcel], log: &mut SendLog, fates: Vec<Fate>, ready: usize) -> (Vec<Outcome>, Vec<String>) {
        let tried = Vec::new();
        let mut postman = Scripted { fates, tried, ready };
        let outcomes = round(parcels, log, &mut postman, &|| Timestamp::UNIX_EPOCH, &mut |_, _| ());
        (outcomes, postman.tried)
    }

    fn log() -> (tempfile::TempDir, SendLog) {
        let folder = tempfile::tempdir().expect("a folder");
        let log = SendLog::open(&folder.path().join("log.jsonl")).expect("a log");
        (folder, log)
    }

    fn text(text: &str) -> String {
        text.to_owned()
    }

    #[test]
    fn each_goes_once_and_one_refused_stops_nobody() {
        let (_folder, mut log) = log();
        let all = parcels(&THREE);
        let fates = vec![Fate::Accepted(text("250")), Fate::Refused(text("550")), Fate::Accepted(text("250"))];
        let (outcomes, _) = go(&all, &mut log, fates, 9);
        assert_eq!(outcomes, [Outcome::Sent(text("250")), Outcome::Refused(text("550")), Outcome::Sent(text("250"))]);
        let (outcomes, tried) = go(&all, &mut log, vec![Fate::Accepted(text("250"))], 9);
        assert_eq!(tried, ["b@c.example"]);
        assert!(outcomes.iter().all(Outcome::is_good));
        let (_, tried) = go(&all, &mut log, vec![], 9);
        assert!(tried.is_empty());
    }

    #[test]
    fn what_is_unknown_is_sent_only_when_named() {
        let (_folder, mut log) = log();
        let mut all = parcels(&["a@c.example"]);
        let (outcomes, _) = go(&all, &mut log, vec![Fate::Unknown(text("gone"))], 9);
        assert_eq!(outcomes, [Outcome::Unknown(text("gone"))]);
        let (outcomes, tried) = go(&all, &mut log, vec![], 9);
        assert_eq!((outcomes, tried.len()), (vec![Outcome::UnknownBefore(Timestamp::UNIX_EPOCH)], 0));
        all[0].again = true;
        let (outcomes, _) = go(&all, &mut log, vec![Fate::Accepted(text("250"))], 9);
        assert_eq!(outcomes, [Outcome::Sent(text("250"))]);
        let (outcomes, tried) = go(&all, &mut log, vec![], 9);
        assert_eq!((outcomes, tried.len()), (vec![Outcome::SentBefore(Timestamp::UNIX_EPOCH)], 0));
    }

    #[test]
    fn a_server_lost_twice_or_for_good_is_not_tried_further() {
        let (_folder, mut log) = log();
        let fates = || vec![Fate::Unknown(text("gone")), Fate::Unknown(text("gone"))];
        let (outcomes, tried) = go(&parcels(&THREE), &mut log, fates(), 9);
        assert!(matches!(&outcomes[2], Outcome::NotSent(why) if why.contains("twice")), "{outcomes:?}");
        assert_eq!(tried.len(), 2);
        let (_folder, mut log) = self::log();
        let (outcomes, tried) = go(&parcels(&THREE), &mut log, vec![Fate::NotSent(text("gone"))], 1);
        assert_eq!(outcomes[2], Outcome::NotSent(text("nobody answers")));
        assert_eq!(tried.len(), 1);
    }

    #[test]
    fn another_record_of_a_revision_that_was_sent_is_not_sent() {
        let (_folder, mut log) = log();
        let mut all = parcels(&["a@c.example"]);
        go(&all, &mut log, vec![Fate::Accepted(text("250"))], 9);
        all[0].record = "cd".into();
        let (outcomes, tried) = go(&all, &mut log, vec![], 9);
        assert_eq!((outcomes, tried.len()), (vec![Outcome::SentOtherwise(Timestamp::UNIX_EPOCH)], 0));
        all[0].revision = 2;
        let (outcomes, _) = go(&all, &mut log, vec![Fate::Accepted(text("250"))], 9);
        assert!(outcomes[0].is_good());
    }
}
