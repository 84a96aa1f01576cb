//! The postman who goes to a real server, and comes back to it when a connection was lost.

use lettre::transport::smtp::client::Certificate;

use super::{Fate, Parcel, Password, Postman, SecretError, Session, password, trusted};
use crate::catalog::Server;

/// Hands parcels to one server, over one connection as long as it holds.
pub struct Courier<'a> {
    server: &'a Server,
    password: Option<Password>,
    ca: Option<Certificate>,
    session: Option<Session>,
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
            session: None,
        })
    }

    /// Takes leave of the server, if there is a connection.
    pub fn close(self) {
        if let Some(session) = self.session {
            session.close();
        }
    }
}

impl Postman for Courier<'_> {
    fn be_ready(&mut self) -> Result<(), String> {
        if self.session.as_ref().is_some_and(Session::is_usable) {
            return Ok(());
        }
        self.session = None;
        let session = Session::open(self.server, self.password.as_ref(), self.ca.as_ref());
        self.session = Some(session.map_err(|e| e.to_string())?);
        Ok(())
    }

    fn deliver(&mut self, parcel: &Parcel, before: &mut dyn FnMut() -> Result<(), String>) -> Fate {
        match &mut self.session {
            Some(session) => session.deliver(&parcel.from, &parcel.to, &parcel.bytes, before),
            None => Fate::NotSent("there is no connection".into()),
        }
    }
}
