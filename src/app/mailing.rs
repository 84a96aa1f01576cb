//! From certificates to messages: one each, or those of a client's night or week in one.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::{Date, Weekday};
use jiff::tz::Offset;

use super::failure::Failure;
use super::mailable::{Mailable, Recipient};
use crate::company::Address;
use crate::job::Gathered;
use crate::mail::{Content, Letter, LetterError, Mailing, MessageError, Occasion, Parcel, Standing, letter, write};

/// What the send log says of a job's revision and an address.
pub type SendLogView<'a> = &'a dyn Fn(&str, u32, &Address) -> Standing;

/// A message, with what it was made of.
pub struct Message<'a> {
    pub parcel: Parcel,
    pub to_name: String,
    pub letter: Letter,
    pub of: Vec<&'a Mailable>,
}

/// How messages are made.
pub struct Sending<'a> {
    /// Their date; none for drafts without one.
    pub date: Option<Timestamp>,
    pub draft: bool,
    pub stands: SendLogView<'a>,
    /// Jobs and addresses that are sent to although they may have been sent to before.
    pub again: &'a [(String, Address)],
}

impl Sending<'_> {
    /// The messages for all recipients, in the order of the jobs. Those that cannot be made are errors of their own.
    pub fn messages<'m>(&self, ready: &'m [Mailable]) -> Vec<Result<Message<'m>, Failure>> {
        // one entry a message, at the place of its first certificate
        let mut groups: Vec<(&Recipient, Option<Date>, Vec<&Mailable>)> = Vec::new();
        let mut known = BTreeMap::new();
        for mailable in ready {
            for to in &mailable.to {
                let open = (self.stands)(&mailable.job, mailable.revision, &to.address) == Standing::Open;
                // what was sent is reported by itself
                let first_day = first_day(to.gathered, mailable).filter(|_| open);
                let Some(day) = first_day else {
                    groups.push((to, None, vec![mailable]));
                    continue;
                };
                let key = (to.address.folded(), to.gathered == Gathered::Week, day, mailable.words.language.clone());
                match known.get(&key) {
                    Some(&at) => {
                        let (.., group): &mut (_, _, Vec<&Mailable>) = &mut groups[at];
                        group.push(mailable);
                    }
                    None => {
                        known.insert(key, groups.len());
                        groups.push((to, (to.gathered == Gathered::Week).then_some(day), vec![mailable]));
                    }
                }
            }
        }
        groups.into_iter().flat_map(|(to, week, group)| self.packed(to, week, group)).collect()
    }

    /// One message, or as many as its size asks for.
    fn packed<'m>(
        &self,
        to: &Recipient,
        week: Option<Date>,
        group: Vec<&'m Mailable>,
    ) -> Vec<Result<Message<'m>, Failure>> {
        match self.message(to, week, &group) {
            Err(MessageError::TooLarge { .. }) if group.len() > 1 => {
                let (one, other) = group.split_at(group.len() / 2);
                [one, other].into_iter().flat_map(|half| self.packed(to, week, half.to_vec())).collect()
            }
            Err(MessageError::Library(e)) => vec![Err(Failure::internal(MessageError::Library(e)))],
            Err(e) => {
                let numbers: Vec<&str> = group.iter().map(|m| m.job.as_str()).collect();
                vec![Err(Failure::error(format_args!("job {} is not mailed: {e}", numbers.join(", "))))]
            }
            Ok(message) => vec![message],
        }
    }

    fn message<'m>(
        &self,
        to: &Recipient,
        week: Option<Date>,
        group: &[&'m Mailable],
    ) -> Result<Result<Message<'m>, Failure>, MessageError> {
        let occasions: Vec<Occasion<'_>> =
            group.iter().map(|m| Occasion { record: &m.content, digest: &m.record, file: &m.file }).collect();
        let first = group[0]; // a group begins with a certificate
        let letter = match letter(&first.words, &occasions) {
            Err(e @ LetterError::Record(_)) => return Ok(Err(Failure::error(format_args!("{}: {e}", first.file)))),
            Err(e) => return Ok(Err(Failure::internal(e))),
            Ok(letter) => letter,
        };
        let certificates: Vec<(&str, &[u8])> = group.iter().map(|m| (m.file.as_str(), m.pdf.as_slice())).collect();
        let records: Vec<&str> = group.iter().map(|m| m.record.as_str()).collect();
        let written = write(&Mailing {
            from: (&first.company, &first.mail.from),
            reply_to: first.mail.reply_to.as_ref(),
            to: (&to.name, &to.address),
            letter: &letter,
            certificates: &certificates,
            records: &records,
            date: self.date,
            draft: self.draft,
            largest: first.mail.largest_message,
        })?;
        let content = |m: &&Mailable| Content { job: m.job.clone(), revision: m.revision, record: m.record.clone() };
        let is_again = |(job, address): &(String, Address)| {
            group.len() == 1 && *job == first.job && address.folded() == to.address.folded()
        };
        let parcel = Parcel {
            contents: group.iter().map(content).collect(),
            from: first.mail.from.clone(),
            to: to.address.clone(),
            id: written.id,
            bytes: written.bytes,
            again: self.again.iter().any(is_again),
            waits: week.and_then(|monday| self.waits(monday)),
        };
        Ok(Ok(Message { parcel, to_name: to.name.clone(), letter, of: group.to_vec() }))
    }

    /// From when on the message of the week that begins on `monday` goes out, if that is still to come. A draft is for a person who
    /// sends it when it is time.
    fn waits(&self, monday: Date) -> Option<String> {
        let next = monday.checked_add(jiff::Span::new().days(7)).ok()?;
        let now = Offset::UTC.to_datetime(self.date?);
        (!self.draft && now < next.at(12, 0, 0, 0)).then(|| format!("which goes from {next}, 12:00 UTC"))
    }
}

/// The first day of the night or week that a visit belongs to; none where each certificate has a message of its own.
fn first_day(gathered: Gathered, mailable: &Mailable) -> Option<Date> {
    let start = mailable.start;
    let night = if start.hour() < 12 { start.date().yesterday().ok()? } else { start.date() };
    match gathered {
        Gathered::Each => None,
        Gathered::Night => Some(night),
        Gathered::Week => night.tomorrow().ok()?.nth_weekday(-1, Weekday::Monday).ok(),
    }
}
