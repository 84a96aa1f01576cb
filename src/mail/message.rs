//! A message as bytes (RFC 5322, MIME): text and HTML, with the certificate attached. The same input gives the same bytes.

use std::time::{Duration, SystemTime};

use jiff::Timestamp;
use lettre::message::header::{ContentType, Header, HeaderName, HeaderValue};
use lettre::message::{Attachment, Mailbox, Message, MultiPart, SinglePart};

use super::Letter;
use crate::company::Address;
use crate::diagnostic::is_unseen;
use crate::digest::sha256;

/// One message to one address.
pub struct Mailing<'a> {
    /// The firm's name and address.
    pub from: (&'a str, &'a Address),
    /// Where answers go, if not there.
    pub reply_to: Option<&'a Address>,
    /// The client's name and address.
    pub to: (&'a str, &'a Address),
    /// Subject and bodies.
    pub letter: &'a Letter,
    /// Names and bytes of the certificates.
    pub certificates: &'a [(&'a str, &'a [u8])],
    /// SHA-256 of the record that each carries, in hexadecimal: the message is named after them.
    pub records: &'a [&'a str],
    /// When it is sent; a draft may have none, and gets it from the program that sends it.
    pub date: Option<Timestamp>,
    /// Whether it is for a mail program to be looked at and sent.
    pub draft: bool,
    /// The largest message, in bytes.
    pub largest: u64,
}

/// A message, written.
pub struct Written {
    /// Its `Message-ID`, in angle brackets.
    pub id: String,
    /// Its bytes: ASCII, lines ended by CR and LF, none longer than 998 characters.
    pub bytes: Vec<u8>,
}

/// Why a message is not made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MessageError {
    /// For what the user gave: it is too large, or something for a header could end its line or turn its order about.
    #[error("{0}")]
    Refused(String),
    /// It is larger than the company file allows.
    #[error(
        "the message would have {kb} kB as it is sent; at most {most_kb} kB are allowed (`largest_message` in the company file)"
    )]
    TooLarge { kb: u64, most_kb: u64 },
    /// The library does not make it; a fault of the program.
    #[error("the message cannot be made: {0}")]
    Library(String),
}

/// A header that tells some mail programs to open a message as one that is still to be sent.
#[derive(Clone)]
struct Unsent;

impl Header for Unsent {
    fn name() -> HeaderName {
        HeaderName::new_from_ascii_str("X-Unsent")
    }
    fn parse(_: &str) -> Result<Self, Box<dyn std::error::Error + Send + Sync>> {
        Ok(Unsent)
    }
    fn display(&self) -> HeaderValue {
        HeaderValue::new(Self::name(), "1".to_owned())
    }
}

/// Writes a message.
///
/// # Errors
/// [`MessageError`] if it is too large, or a name or the subject could break out of its header.
pub fn write(mailing: &Mailing<'_>) -> Result<Written, MessageError> {
    let headers =
        [("sender's name", mailing.from.0), ("recipient's name", mailing.to.0), ("subject", &mailing.letter.subject)];
    let attached = mailing.certificates.iter().map(|(name, _)| ("attachment's name", *name));
    for (what, text) in headers.into_iter().chain(attached) {
        if let Some(found) = text.chars().find(|c| is_unseen(*c) || matches!(c, '\u{2028}' | '\u{2029}')) {
            let code = u32::from(found);
            let why = format!("the {what} holds a character that cannot stand in a header (U+{code:04X})");
            return Err(MessageError::Refused(why));
        }
    }
    let library = |e: &dyn std::fmt::Display| MessageError::Library(e.to_string());
    let mailbox = |name: &str, address: &Address| {
        let parsed = lettre::Address::new(address.local(), address.domain()).map_err(|e| library(&e))?;
        Ok::<_, MessageError>(Mailbox::new(Some(name.to_owned()), parsed))
    };
    let named = named_after(mailing);
    let id = format!("<{}@{}>", &named[..40], mailing.from.1.domain());
    let mut builder = Message::builder()
        .from(mailbox(mailing.from.0, mailing.from.1)?)
        .to(mailbox(mailing.to.0, mailing.to.1)?)
        .subject(mailing.letter.subject.clone())
        .message_id(Some(id.clone()))
        .date(moment(mailing.date.unwrap_or(Timestamp::UNIX_EPOCH))?);
    if let Some(address) = mailing.reply_to {
        builder = builder.reply_to(mailbox(mailing.from.0, address)?);
    }
    if mailing.draft {
        builder = builder.header(Unsent);
    }
    let pdf = ContentType::parse("application/pdf").map_err(|e| library(&e))?;
    // a part's boundary must stand nowhere else: what is named after a digest does not come about by chance
    let bodies = MultiPart::alternative()
        .boundary(format!("bodies-{}", &named[40..]))
        .singlepart(SinglePart::plain(mailing.letter.text.clone()))
        .singlepart(SinglePart::html(mailing.letter.html.clone()));
    let mut whole = MultiPart::mixed().boundary(format!("parts-{}", &named[40..])).multipart(bodies);
    for (name, bytes) in mailing.certificates {
        whole = whole.singlepart(Attachment::new((*name).to_owned()).body(bytes.to_vec(), pdf.clone()));
    }
    let mut message = builder.multipart(whole).map_err(|e| library(&e))?;
    if mailing.date.is_none() {
        message.headers_mut().remove_raw("Date");
    }
    let bytes = message.formatted();
    let size = bytes.len() as u64;
    if size > mailing.largest {
        return Err(MessageError::TooLarge { kb: size / 1000, most_kb: mailing.largest / 1000 });
    }
    if !bytes.is_ascii() {
        return Err(MessageError::Library("it holds characters outside ASCII".into()));
    }
    Ok(Written { id, bytes })
}

/// What a message is named after: its records and its recipient, and nothing else, so that the same message is the same for
/// every server and mail program that sees it twice.
fn named_after(mailing: &Mailing<'_>) -> String {
    sha256(format!("{}\n{}", mailing.records.join("\n"), mailing.to.1.folded()).as_bytes())
}

/// As the library takes it, whose dates are those of the years 1970 to 9999.
fn moment(date: Timestamp) -> Result<SystemTime, MessageError> {
    // up to the year 10000
    let seconds = u64::try_from(date.as_second()).ok().filter(|seconds| *seconds < 253_402_300_800);
    let since = seconds.map(|seconds| SystemTime::UNIX_EPOCH + Duration::from_secs(seconds));
    since.ok_or_else(|| MessageError::Refused(format!("{date} cannot be the date of a message")))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address(text: &str) -> Address {
        Address::parse(text).expect("an address")
    }

    fn made(name: &str, subject: &str, pdf: &[u8], change: impl Fn(&mut Mailing<'_>)) -> Result<String, MessageError> {
        let (from, to) = (address("records@firm.example"), address("Office@client.example"));
        let letter = Letter {
            subject: subject.to_owned(),
            text: "Año nuevo\n.\n.. dots\n".into(),
            html: "<p>Año nuevo</p>".into(),
        };
        let mut mailing = Mailing {
            from: ("Firm, Ltd.", &from),
            reply_to: None,
            to: (name, &to),
            letter: &letter,
            certificates: &[("7-certificate.pdf", pdf)],
            records: &["ab"],
            date: None,
            draft: false,
            largest: 100_000,
        };
        change(&mut mailing);
        write(&mailing).map(|written| String::from_utf8(written.bytes).expect("ASCII"))
    }

    #[test]
    fn the_same_input_gives_the_same_bytes() {
        let one = made("Ana", "Subject", b"%PDF-", |_| ()).expect("a message");
        assert_eq!(one, made("Ana", "Subject", b"%PDF-", |_| ()).expect("a message"));
        assert!(!one.contains("\nDate:") && !one.contains("X-Unsent"), "{one}");
        let dated = made("Ana", "Subject", b"%PDF-", |m| {
            m.date = Some("2026-04-14T07:00:00Z".parse().expect("a time"));
            m.draft = true;
        });
        let dated = dated.expect("a message");
        assert!(dated.contains("\r\nDate: Tue, 14 Apr 2026 07:00:00 +0000\r\n"), "{dated}");
        assert!(dated.contains("\r\nX-Unsent: 1\r\n"), "{dated}");
        let id = |text: &str| text.lines().find(|l| l.starts_with("Message-ID:")).map(str::to_owned);
        assert!(id(&one).is_some_and(|line| line.ends_with("@firm.example>")));
        assert_eq!(id(&one), id(&dated));
    }

    #[test]
    fn a_line_is_never_ended_by_a_name() {
        for bad in ["A\r\nBcc: x@y.example", "A\nB", "A\u{202E}B", "A\0", "A\u{2028}B"] {
            for (name, subject, what) in [(bad, "S", "recipient's name"), ("A", bad, "subject")] {
                let refused = made(name, subject, b"%PDF-", |_| ()).expect_err(bad);
                assert!(refused.to_string().contains(what), "{refused}");
            }
        }
    }

    #[test]
    fn every_name_keeps_to_its_header() {
        for name in
            ["\"Quoted\" \\ Name", "Name, <x@y.example>", "Año 😀 très long ".repeat(20).trim(), "=?utf-8?q?x?="]
        {
            let text = made(name, name, b"%PDF-", |_| ()).expect("a message");
            let head = text.split("\r\n\r\n").next().unwrap_or_default();
            let names: Vec<&str> = head
                .split("\r\n")
                .filter(|line| !line.starts_with([' ', '\t']))
                .map(|line| line.split(':').next().unwrap_or_default())
                .collect();
            assert_eq!(names, ["From", "To", "Subject", "Message-ID", "MIME-Version", "Content-Type"], "{head}");
            assert!(text.lines().all(|line| line.len() <= 998));
        }
    }

    #[test]
    fn what_is_too_large_or_older_than_mail_is_refused() {
        let said = made("A", "S", &vec![0xFF; 80_000], |_| ()).expect_err("too large").to_string();
        assert!(said.contains("would have 1") && said.contains("at most 100 kB"), "{said}");
        assert!(made("A", "S", &vec![0xFF; 70_000], |_| ()).is_ok());
        let early = |m: &mut Mailing<'_>| m.date = Some("1969-12-31T23:59:59Z".parse().expect("a time"));
        let said = made("A", "S", b"%PDF-", early).expect_err("too early").to_string();
        assert!(said.contains("cannot be the date"), "{said}");
    }
}
