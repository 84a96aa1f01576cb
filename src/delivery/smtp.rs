//! One connection to a server (RFC 5321), encrypted and with its certificate checked, or none.

use std::time::Duration;

use lettre::transport::smtp::Error;
use lettre::transport::smtp::authentication::{Credentials, Mechanism};
use lettre::transport::smtp::client::{Certificate, SmtpConnection, TlsParameters};
use lettre::transport::smtp::commands::{Data, Mail, Rcpt, Rset};
use lettre::transport::smtp::extension::ClientId;
use lettre::transport::smtp::response::Response;

use super::Password;
use crate::catalog::{Address, Security, Server};
use crate::report::is_unseen;

/// How long a server may take for an answer.
const PATIENCE: Duration = Duration::from_secs(60);
/// How much of what a server says is passed on, in characters.
const LONGEST_REPLY: usize = 300;

/// Why there is no connection. Nothing was sent.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SmtpError {
    /// It cannot be reached, or does not speak as a mail server does.
    #[error("the server {server} cannot be used: {why}")]
    Unusable {
        /// Name and port.
        server: String,
        /// Why.
        why: String,
    },
    /// It does not offer STARTTLS.
    #[error("the server {0} does not offer STARTTLS, and nothing goes to it in the clear")]
    NoStartTls(String),
    /// Its certificate is not accepted.
    #[error("the certificate of the server {server} is not accepted: {why}")]
    Certificate {
        /// Name and port.
        server: String,
        /// Why.
        why: String,
    },
    /// It offers no way to log in that we know.
    #[error("the server {0} lets nobody log in with PLAIN or LOGIN")]
    NoLogin(String),
    /// User or password is wrong.
    #[error("the server {server} does not accept the user and password: {reply}")]
    Login {
        /// Name and port.
        server: String,
        /// What it said.
        reply: String,
    },
    /// The parameters of encryption cannot be made.
    #[error("encryption cannot be set up: {0}")]
    Encryption(String),
}

/// What became of one message.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fate {
    /// The server has taken it, and what it said.
    Accepted(String),
    /// The server has refused it, and what it said; the connection is good for the next.
    Refused(String),
    /// The connection was lost before any of its content left.
    NotSent(String),
    /// The connection was lost when the server may have had it.
    Unknown(String),
    /// The send log cannot be written, so nothing more may leave.
    NotLogged(String),
}

/// A connection.
pub struct Session {
    connection: SmtpConnection,
    password: Option<Password>,
    /// Whether it can take another message.
    usable: bool,
}

impl Session {
    /// Connects, encrypts, checks the certificate against the system's trusted ones and `ca`, and logs in.
    ///
    /// # Errors
    /// [`SmtpError`] with the step that failed. No password has left unless the connection is encrypted to the server named.
    pub fn open(server: &Server, password: Option<&Password>, ca: Option<&Certificate>) -> Result<Session, SmtpError> {
        let name = format!("{}:{}", server.host, server.port);
        let mut builder = TlsParameters::builder(server.host.clone());
        if let Some(ca) = ca {
            builder = builder.add_root_certificate(ca.clone());
        }
        let tls = builder.build().map_err(|e| SmtpError::Encryption(said(&e)))?;
        let failed = |e: &Error| {
            let why = said(e);
            match why.split_once("invalid peer certificate: ") {
                Some((_, why)) => SmtpError::Certificate { server: name.clone(), why: why.to_owned() },
                None => SmtpError::Unusable { server: name.clone(), why },
            }
        };
        // an address literal: a firm's computers have no names that mean anything to a stranger
        let hello = ClientId::Ipv4(std::net::Ipv4Addr::LOCALHOST);
        let at = (server.host.as_str(), server.port);
        let mut connection = match server.security {
            Security::Tls => SmtpConnection::connect(at, Some(PATIENCE), &hello, Some(&tls), None),
            Security::StartTls => SmtpConnection::connect(at, Some(PATIENCE), &hello, None, None),
        }
        .map_err(|e| failed(&e))?;
        if server.security == Security::StartTls {
            if !connection.can_starttls() {
                connection.abort();
                return Err(SmtpError::NoStartTls(name));
            }
            connection.starttls(&tls, &hello).map_err(|e| failed(&e))?;
        }
        let mut session = Session { connection, password: password.cloned(), usable: true };
        if let (Some(login), Some(password)) = (&server.login, password) {
            session.log_in(&login.user, password, &name)?;
        }
        Ok(session)
    }

    fn log_in(&mut self, user: &str, password: &Password, name: &str) -> Result<(), SmtpError> {
        let known = [Mechanism::Plain, Mechanism::Login];
        if self.connection.server_info().get_auth_mechanism(&known).is_none() {
            self.connection.abort();
            return Err(SmtpError::NoLogin(name.to_owned()));
        }
        let credentials = Credentials::new(user.to_owned(), password.reveal().to_owned());
        let reply = match self.connection.auth(&known, &credentials) {
            // RFC 4954, section 6: any other would be an answer to something else
            Ok(reply) if reply.has_code(235) => return Ok(()),
            Ok(reply) => text(&reply),
            Err(e) if e.status().is_some() => said(&e),
            Err(e) => {
                return Err(SmtpError::Unusable { server: name.to_owned(), why: password.taken_out_of(&said(&e)) });
            }
        };
        self.connection.abort();
        Err(SmtpError::Login { server: name.to_owned(), reply: password.taken_out_of(&reply) })
    }

    /// Whether it can take another message.
    pub fn is_usable(&self) -> bool {
        self.usable && !self.connection.has_broken()
    }

    /// Hands over a message to one recipient. `before` is called when server and recipient are agreed upon and the content is
    /// about to leave; if it fails, nothing leaves.
    pub fn deliver(
        &mut self,
        from: &Address,
        to: &Address,
        message: &[u8],
        before: &mut dyn FnMut() -> Result<(), String>,
    ) -> Fate {
        let fate = self.hand_over(from, to, message, before);
        match &fate {
            Fate::Accepted(_) => {}
            // what stands half agreed upon is dropped
            Fate::Refused(_) => self.usable = self.connection.command(Rset).is_ok_and(|r| r.has_code(250)),
            Fate::NotSent(_) | Fate::Unknown(_) => {
                self.usable = false;
                self.connection.abort();
            }
            Fate::NotLogged(_) => self.usable = false,
        }
        self.without_password(fate)
    }

    fn hand_over(
        &mut self,
        from: &Address,
        to: &Address,
        message: &[u8],
        before: &mut dyn FnMut() -> Result<(), String>,
    ) -> Fate {
        let parsed = |a: &Address| lettre::Address::new(a.local(), a.domain());
        let (from, to) = match (parsed(from), parsed(to)) {
            (Ok(from), Ok(to)) => (from, to),
            (Err(e), _) | (_, Err(e)) => return Fate::Refused(e.to_string()),
        };
        if let Some(fate) = not_agreed(self.connection.command(Mail::new(Some(from), Vec::new())), &[250]) {
            return fate;
        }
        // RFC 5321, section 4.2.3: 251 and 252 take the message too, for a mailbox elsewhere or one that was not looked for
        if let Some(fate) = not_agreed(self.connection.command(Rcpt::new(to, Vec::new())), &[250, 251, 252]) {
            return fate;
        }
        if let Err(why) = before() {
            return Fate::NotLogged(why);
        }
        if let Some(fate) = not_agreed(self.connection.command(Data), &[354]) {
            return fate;
        }
        match self.connection.message(message) {
            Ok(reply) if reply.has_code(250) => Fate::Accepted(text(&reply)),
            Ok(reply) => Fate::Unknown(format!("the server answered {}", text(&reply))),
            Err(e) if e.status().is_some() => Fate::Refused(said(&e)),
            Err(e) => Fate::Unknown(said(&e)),
        }
    }

    fn without_password(&self, fate: Fate) -> Fate {
        let Some(password) = &self.password else { return fate };
        match fate {
            Fate::Accepted(text) => Fate::Accepted(password.taken_out_of(&text)),
            Fate::Refused(text) => Fate::Refused(password.taken_out_of(&text)),
            Fate::NotSent(text) => Fate::NotSent(password.taken_out_of(&text)),
            Fate::Unknown(text) => Fate::Unknown(password.taken_out_of(&text)),
            Fate::NotLogged(text) => Fate::NotLogged(text),
        }
    }

    /// Takes leave. What was taken by the server stays taken, whatever it answers.
    pub fn close(mut self) {
        if self.is_usable() {
            let _ = self.connection.quit();
        }
    }
}

/// What becomes of a message if the answer before its content is not one of `wanted`.
fn not_agreed(reply: Result<Response, Error>, wanted: &[u16]) -> Option<Fate> {
    match reply {
        Ok(reply) if wanted.iter().any(|code| reply.has_code(*code)) => None,
        Ok(reply) => Some(Fate::NotSent(format!("the server answered {}", text(&reply)))),
        // RFC 5321, section 3.8: the server is about to close the connection
        Err(e) if e.status().is_some_and(|code| u16::from(code) == 421) => Some(Fate::NotSent(said(&e))),
        Err(e) if e.status().is_some() => Some(Fate::Refused(said(&e))),
        Err(e) => Some(Fate::NotSent(said(&e))),
    }
}

/// What a server said.
fn text(reply: &Response) -> String {
    let lines: Vec<&str> = reply.message().collect();
    cleaned(&format!("{} {}", reply.code(), lines.join(" ")))
}

/// What went wrong: the server's own words with their code, or the innermost cause.
fn said(error: &Error) -> String {
    use std::error::Error as _;
    if error.is_timeout() {
        return format!("there was no answer in {} s", PATIENCE.as_secs());
    }
    let cause = error.source().map(ToString::to_string).unwrap_or_default();
    match error.status() {
        Some(code) => cleaned(&format!("{code} {cause}")),
        None if cause == "incomplete response" => "the server closed the connection".into(),
        None if cause.is_empty() => cleaned(&error.to_string()),
        None => cleaned(&cause),
    }
}

/// One line with nothing in it that a terminal would obey.
fn cleaned(text: &str) -> String {
    let plain: String = text.chars().map(|c| if is_unseen(c) { ' ' } else { c }).collect();
    let line = plain.split_whitespace().collect::<Vec<_>>().join(" ");
    match line.char_indices().nth(LONGEST_REPLY) {
        Some((at, _)) => format!("{}…", &line[..at]),
        None => line,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_server_says_cannot_steer_a_terminal() {
        assert_eq!(cleaned("550 \u{1b}[2J\u{202e}no\r\nsuch  user\u{7}"), "550 [2J no such user");
        assert_eq!(cleaned(&"é".repeat(400)).chars().count(), LONGEST_REPLY + 1);
    }
}
