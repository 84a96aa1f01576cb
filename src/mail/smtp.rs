//! The server (RFC 5321): one connection, encrypted and with its certificate checked, or none; a new one when it was lost.

use std::time::Duration;

use lettre::transport::smtp::Error;
use lettre::transport::smtp::authentication::{Credentials, Mechanism};
use lettre::transport::smtp::client::{Certificate, SmtpConnection, TlsParameters};
use lettre::transport::smtp::commands::{Data, Mail, Rcpt, Rset};
use lettre::transport::smtp::extension::ClientId;
use lettre::transport::smtp::response::Response;

use super::secret::{Password, SecretError, password, trusted};
use super::{Fate, Parcel, Postman, State};
use crate::company::{Address, Security, Server};
use crate::diagnostic::is_unseen;

/// How long a server may take for an answer.
const PATIENCE: Duration = Duration::from_secs(60);
/// How much of what a server says is passed on, in characters.
const LONGEST_REPLY: usize = 300;

/// Hands parcels to one server, over one connection as long as it holds.
pub struct Courier<'a> {
    server: &'a Server,
    password: Option<Password>,
    ca: Option<Certificate>,
    /// One that can take another message.
    connection: Option<SmtpConnection>,
}

impl<'a> Courier<'a> {
    /// Gets ready all that is needed for a connection, and makes none yet.
    ///
    /// # Errors
    /// [`SecretError`] if the password or the file of trusted certificates cannot be had.
    pub fn of(server: &'a Server) -> Result<Courier<'a>, SecretError> {
        Ok(Courier {
            server,
            password: server.login.as_ref().map(|login| password(&login.password)).transpose()?,
            ca: server.ca_file.as_ref().map(|(file, _)| trusted(file)).transpose()?,
            connection: None,
        })
    }

    /// Takes leave of the server, if there is a connection. What was taken by the server stays taken, whatever it answers.
    pub fn close(self) {
        if let Some(mut connection) = self.connection.filter(|connection| !connection.has_broken()) {
            let _ = connection.quit();
        }
    }

    /// Connects, encrypts, checks the certificate against the system's trusted ones and the firm's own, and logs in.
    ///
    /// # Errors
    /// The step that failed. Nothing was sent, and no password has left unless the connection is encrypted to the server named.
    fn connect(&self) -> Result<SmtpConnection, String> {
        let server = self.server;
        let name = format!("{}:{}", server.host, server.port);
        let mut builder = TlsParameters::builder(server.host.clone());
        if let Some(ca) = &self.ca {
            builder = builder.add_root_certificate(ca.clone());
        }
        let tls = builder.build().map_err(|e| format!("encryption cannot be set up: {}", said(&e)))?;
        let failed = |e: &Error| {
            let why = said(e);
            match why.split_once("invalid peer certificate: ") {
                Some((_, why)) => format!("the certificate of the server {name} is not accepted: {why}"),
                None => unusable(&name, &why),
            }
        };
        // an address literal: a firm's computers have no names that mean anything to a stranger
        let hello = ClientId::Ipv4(std::net::Ipv4Addr::LOCALHOST);
        let at = (server.host.as_str(), server.port);
        let at_once = (server.security == Security::Tls).then_some(&tls);
        let mut connection =
            SmtpConnection::connect(at, Some(PATIENCE), &hello, at_once, None).map_err(|e| failed(&e))?;
        if server.security == Security::StartTls {
            if !connection.can_starttls() {
                connection.abort();
                return Err(format!("the server {name} does not offer STARTTLS, and nothing goes to it in the clear"));
            }
            connection.starttls(&tls, &hello).map_err(|e| failed(&e))?;
        }
        if let (Some(login), Some(password)) = (&server.login, &self.password) {
            log_in(&mut connection, &login.user, password, &name)?;
        }
        Ok(connection)
    }
}

fn unusable(server: &str, why: &str) -> String {
    format!("the server {server} cannot be used: {why}")
}

fn log_in(connection: &mut SmtpConnection, user: &str, password: &Password, server: &str) -> Result<(), String> {
    let known = [Mechanism::Plain, Mechanism::Login];
    if connection.server_info().get_auth_mechanism(&known).is_none() {
        connection.abort();
        return Err(format!("the server {server} lets nobody log in with PLAIN or LOGIN"));
    }
    let credentials = Credentials::new(user.to_owned(), password.reveal().to_owned());
    let reply = match connection.auth(&known, &credentials) {
        // RFC 4954, section 6: any other would be an answer to something else
        Ok(reply) if reply.has_code(235) => return Ok(()),
        Ok(reply) => text(&reply),
        Err(e) if e.status().is_some() => said(&e),
        Err(e) => return Err(unusable(server, &password.taken_out_of(&said(&e)))),
    };
    connection.abort();
    let reply = password.taken_out_of(&reply);
    Err(format!("the server {server} does not accept the user and password: {reply}"))
}

impl Postman for Courier<'_> {
    fn be_ready(&mut self) -> Result<(), String> {
        if self.connection.as_ref().is_none_or(SmtpConnection::has_broken) {
            self.connection = None;
            self.connection = Some(self.connect()?);
        }
        Ok(())
    }

    fn deliver(&mut self, parcel: &Parcel, before: &mut dyn FnMut() -> Result<(), String>) -> Result<Fate, String> {
        let Some(mut connection) = self.connection.take() else {
            return Ok(Fate::new(State::NotSent, "there is no connection"));
        };
        let mut fate = hand_over(&mut connection, parcel, before)?;
        let usable = match fate.state {
            State::Sent => true,
            // what stands half agreed upon is dropped
            State::Refused => connection.command(Rset).is_ok_and(|reply| reply.has_code(250)),
            State::Sending | State::NotSent | State::Unknown => {
                connection.abort();
                false
            }
        };
        self.connection = Some(connection).filter(|_| usable);
        if let Some(password) = &self.password {
            fate.reply = password.taken_out_of(&fate.reply);
        }
        Ok(fate)
    }
}

/// Hands over a message to one recipient. `before` is called when server and recipient are agreed upon and the content is about to
/// leave; if it fails, nothing leaves.
fn hand_over(
    connection: &mut SmtpConnection,
    parcel: &Parcel,
    before: &mut dyn FnMut() -> Result<(), String>,
) -> Result<Fate, String> {
    let parsed = |a: &Address| lettre::Address::new(a.local(), a.domain());
    let (from, to) = match (parsed(&parcel.from), parsed(&parcel.to)) {
        (Ok(from), Ok(to)) => (from, to),
        (Err(e), _) | (_, Err(e)) => return Ok(Fate::new(State::Refused, e)),
    };
    if let Some(fate) = not_agreed(connection.command(Mail::new(Some(from), Vec::new())), &[250]) {
        return Ok(fate);
    }
    // RFC 5321, section 4.2.3: 251 and 252 take the message too, for a mailbox elsewhere or one that was not looked for
    if let Some(fate) = not_agreed(connection.command(Rcpt::new(to, Vec::new())), &[250, 251, 252]) {
        return Ok(fate);
    }
    before()?;
    if let Some(fate) = not_agreed(connection.command(Data), &[354]) {
        return Ok(fate);
    }
    Ok(match connection.message(&parcel.bytes) {
        Ok(reply) if reply.has_code(250) => Fate::new(State::Sent, text(&reply)),
        Ok(reply) => Fate::new(State::Unknown, format!("the server answered {}", text(&reply))),
        Err(e) if e.status().is_some() => Fate::new(State::Refused, said(&e)),
        Err(e) => Fate::new(State::Unknown, said(&e)),
    })
}

/// What becomes of a message if the answer before its content is not one of `wanted`.
fn not_agreed(reply: Result<Response, Error>, wanted: &[u16]) -> Option<Fate> {
    match reply {
        Ok(reply) if wanted.iter().any(|code| reply.has_code(*code)) => None,
        Ok(reply) => Some(Fate::new(State::NotSent, format!("the server answered {}", text(&reply)))),
        // RFC 5321, section 3.8: at 421 the server is about to close the connection
        Err(e) => {
            let refused = e.status().is_some_and(|code| u16::from(code) != 421);
            Some(Fate::new(if refused { State::Refused } else { State::NotSent }, said(&e)))
        }
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
