//! Certificates by e-mail: what a letter says, the message as bytes, the server it is handed to, and the log of what was sent.
//!
//! A message goes to one address alone, so that each recipient is accounted for and none learns of another. Before a message's
//! content leaves, the log says on disk that it is being sent; after the server has taken it, that it was. What a crash leaves
//! between the two cannot be known from here, is reported as such, and is not sent again unless that one is named.

mod letter;
mod log;
mod message;
mod secret;
mod send;
mod smtp;

pub use letter::{Letter, LetterError, Occasion, letter};
pub use log::{Entry, LastSent, SendLog, Standing, State, last_sent, standing, went_out};
pub use message::{Mailing, MessageError, write};
pub use send::{Content, Fate, Outcome, Parcel, Postman, send};
pub use smtp::Courier;
