//! A round of messages: each is compared with the log, handed over, and accounted for by itself.

use jiff::Timestamp;

use super::{Entry, SendLog, Standing, State};
use crate::company::Address;

/// A certificate in a message.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Content {
    /// The job's number.
    pub job: String,
    /// Which revision of its record.
    pub revision: u32,
    /// SHA-256 of the record, in hexadecimal.
    pub record: String,
}

/// A message that is ready for its recipient.
#[derive(Clone, Debug)]
pub struct Parcel {
    /// What it carries: one certificate, or several that were never sent.
    pub contents: Vec<Content>,
    pub from: Address,
    pub to: Address,
    /// The message's `Message-ID`.
    pub id: String,
    pub bytes: Vec<u8>,
    /// Whether it is to be sent although it may have been sent before.
    pub again: bool,
    /// Until when it waits for others that go with it, where it does.
    pub waits: Option<String>,
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
    /// The server took it, and the log could not be written: the next round will not know.
    SentNotLogged(String),
    /// It goes with others at a later time.
    Waits(String),
}

impl Outcome {
    /// Whether the recipient has it, as far as the server's word goes.
    pub fn is_good(&self) -> bool {
        matches!(self, Outcome::Sent(_) | Outcome::SentBefore(_) | Outcome::Waits(_))
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
            Outcome::Waits(until) => write!(f, "waits for its week's message, {until}"),
            Outcome::SentNotLogged(why) => write!(f, "sent, but the next run will not know: {why}"),
        }
    }
}

impl Parcel {
    /// What keeps it from being sent: it waits, or the log knows of it.
    pub fn sent_before(&self, standing: &dyn Fn(&Content) -> Standing) -> Option<Outcome> {
        if let Some(until) = &self.waits {
            return Some(Outcome::Waits(until.clone()));
        }
        let stands: Vec<(&Content, Standing)> = self.contents.iter().map(|c| (c, standing(c))).collect();
        if let [(content, stands)] = stands.as_slice() {
            return match stands {
                Standing::Sent { at, record } if *record == content.record => Some(Outcome::SentBefore(*at)),
                Standing::Sent { at, .. } => Some(Outcome::SentOtherwise(*at)),
                Standing::Unknown { at } if !self.again => Some(Outcome::UnknownBefore(*at)),
                Standing::Open | Standing::Unknown { .. } => None,
            };
        }
        let is_open = stands.iter().all(|(_, stands)| *stands == Standing::Open);
        (!is_open).then(|| Outcome::NotSent("another run sent a part of it in the meantime; run it again".into()))
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
    ///
    /// # Errors
    /// What `before` said, if it fails; then nothing has left.
    fn deliver(&mut self, parcel: &Parcel, before: &mut dyn FnMut() -> Result<(), String>) -> Result<Fate, String>;
}

/// What became of one message, and what the server said or what happened.
#[derive(Clone, Debug)]
pub struct Fate {
    pub state: State,
    pub reply: String,
}

impl Fate {
    pub fn new(state: State, reply: impl ToString) -> Fate {
        Fate { state, reply: reply.to_string() }
    }
}

/// Sends what the log leaves open, in order. `ended` is called for each parcel as it ends. One that the server refuses stops nobody
/// else's. When the server is lost twice running with a message under way, or cannot be reached again, the rest is not tried:
/// each would only add to what is unknown.
pub fn send(
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
        let before = parcel.sent_before(&|content| log.standing(&content.job, content.revision, &parcel.to));
        let outcome = match (before, &stopped) {
            (Some(outcome), _) => outcome,
            (None, Some(why)) => Outcome::NotSent(why.clone()),
            (None, None) => match postman.be_ready() {
                Err(why) => {
                    stopped = Some(why.clone());
                    Outcome::NotSent(why)
                }
                Ok(()) => {
                    let (outcome, may_go_on) = send_one(parcel, log, postman, now);
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
fn send_one(
    parcel: &Parcel,
    log: &mut SendLog,
    postman: &mut dyn Postman,
    now: &dyn Fn() -> Timestamp,
) -> (Outcome, bool) {
    let mut note = |state, told: Option<&str>| {
        parcel.contents.iter().try_for_each(|content| {
            log.write(&Entry {
                at: now(),
                job: content.job.clone(),
                revision: content.revision,
                record: content.record.clone(),
                to: parcel.to.as_str().to_owned(),
                message: parcel.id.clone(),
                state,
                told: told.map(str::to_owned),
            })
        })
    };
    let mut before = || note(State::Sending, None).map_err(|e| e.to_string());
    let Fate { state, reply } = match postman.deliver(parcel, &mut before) {
        Ok(fate) => fate,
        Err(why) => return (Outcome::NotSent(why), false),
    };
    // what came of it stands there for good, whatever becomes of the next
    let written = note(state, Some(&reply));
    let outcome = match (state, &written) {
        (State::Sent, Ok(())) => Outcome::Sent(reply),
        (State::Sent, Err(error)) => Outcome::SentNotLogged(error.to_string()),
        (State::Refused, _) => Outcome::Refused(reply),
        (State::NotSent, _) => Outcome::NotSent(reply),
        (State::Sending | State::Unknown, _) => Outcome::Unknown(reply),
    };
    (outcome, written.is_ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A postman who meets with what is written down for each parcel.
    struct Scripted {
        fates: Vec<State>,
        tried: Vec<String>,
        /// How often there is a connection.
        ready: usize,
    }

    impl Postman for Scripted {
        fn be_ready(&mut self) -> Result<(), String> {
            self.ready = self.ready.checked_sub(1).ok_or("nobody answers")?;
            Ok(())
        }

        fn deliver(&mut self, parcel: &Parcel, before: &mut dyn FnMut() -> Result<(), String>) -> Result<Fate, String> {
            self.tried.push(parcel.to.to_string());
            let state = self.fates.remove(0);
            if state != State::NotSent {
                before()?;
            }
            Ok(Fate::new(state, "said"))
        }
    }

    fn parcels(to: &[&str]) -> Vec<Parcel> {
        let address = |text: &str| Address::parse(text).expect("an address");
        let one = |to: &&str| Parcel {
            contents: vec![Content { job: "7".into(), revision: 1, record: "ab".into() }],
            waits: None,
            from: address("records@firm.example"),
            to: address(to),
            id: "<x@firm.example>".into(),
            bytes: b"x".to_vec(),
            again: false,
        };
        to.iter().map(one).collect()
    }

    const THREE: [&str; 3] = ["a@c.example", "b@c.example", "c@c.example"];
    const THEN: Timestamp = Timestamp::UNIX_EPOCH;

    /// A log, and what comes of sending by it.
    struct Bench(tempfile::TempDir);

    impl Bench {
        fn new() -> Bench {
            Bench(tempfile::tempdir().expect("a folder"))
        }

        /// What came of each parcel, and which were tried.
        fn send(&self, parcels: &[Parcel], fates: &[State], ready: usize) -> (Vec<Outcome>, Vec<String>) {
            let mut log = SendLog::open(&self.0.path().join("log.jsonl")).expect("a log");
            let mut postman = Scripted { fates: fates.to_vec(), tried: Vec::new(), ready };
            let outcomes = send(parcels, &mut log, &mut postman, &|| THEN, &mut |_, _| ());
            (outcomes, postman.tried)
        }
    }

    fn said() -> String {
        "said".to_owned()
    }

    #[test]
    fn each_goes_once_and_one_refused_stops_nobody() {
        let (bench, all) = (Bench::new(), parcels(&THREE));
        let (outcomes, _) = bench.send(&all, &[State::Sent, State::Refused, State::Sent], 9);
        assert_eq!(outcomes, [Outcome::Sent(said()), Outcome::Refused(said()), Outcome::Sent(said())]);
        let (outcomes, tried) = bench.send(&all, &[State::Sent], 9);
        assert_eq!(tried, ["b@c.example"]);
        assert!(outcomes.iter().all(Outcome::is_good));
        assert!(bench.send(&all, &[], 9).1.is_empty());
    }

    #[test]
    fn what_is_unknown_is_sent_only_when_named() {
        let (bench, mut all) = (Bench::new(), parcels(&["a@c.example"]));
        assert_eq!(bench.send(&all, &[State::Unknown], 9).0, [Outcome::Unknown(said())]);
        assert_eq!(bench.send(&all, &[], 9), (vec![Outcome::UnknownBefore(THEN)], vec![]));
        all[0].again = true;
        assert_eq!(bench.send(&all, &[State::Sent], 9).0, [Outcome::Sent(said())]);
        assert_eq!(bench.send(&all, &[], 9), (vec![Outcome::SentBefore(THEN)], vec![]));
    }

    #[test]
    fn a_server_lost_twice_or_for_good_is_not_tried_further() {
        let (outcomes, tried) = Bench::new().send(&parcels(&THREE), &[State::Unknown, State::Unknown], 9);
        assert!(matches!(&outcomes[2], Outcome::NotSent(why) if why.contains("twice")), "{outcomes:?}");
        assert_eq!(tried.len(), 2);
        let (outcomes, tried) = Bench::new().send(&parcels(&THREE), &[State::NotSent], 1);
        assert_eq!(outcomes[2], Outcome::NotSent("nobody answers".to_owned()));
        assert_eq!(tried.len(), 1);
    }

    #[test]
    fn another_record_of_a_revision_that_was_sent_is_not_sent() {
        let (bench, mut all) = (Bench::new(), parcels(&["a@c.example"]));
        bench.send(&all, &[State::Sent], 9);
        all[0].contents[0].record = "cd".into();
        assert_eq!(bench.send(&all, &[], 9), (vec![Outcome::SentOtherwise(THEN)], vec![]));
        all[0].contents[0].revision = 2;
        assert!(bench.send(&all, &[State::Sent], 9).0[0].is_good());
    }
}
