//! How the firm sends mail: who it is from, and through which server.

use std::net::IpAddr;
use std::path::PathBuf;

use super::Address;
use super::address::is_domain;
use super::style::read_file;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::yaml::{Declared, Fields, Node, Origin, Shape, custom, keys, text, words};

/// The largest message if the company file does not say, in bytes as it is sent.
const LARGEST_MESSAGE: u64 = 10_000_000;

#[derive(Clone, Debug)]
pub struct Mail {
    pub from: Address,
    pub reply_to: Option<Address>,
    /// What it is sent through; without one there are drafts alone.
    pub server: Option<Server>,
    /// The largest message, in bytes as it is sent: a file grows by more than a third on its way.
    pub largest_message: u64,
    /// Where it is kept what was sent.
    pub log: Option<PathBuf>,
    pub origin: Origin,
}

/// A server that takes mail to pass on. The connection is encrypted and the server's certificate is checked, always.
#[derive(Clone, Debug)]
pub struct Server {
    /// Its name, or its address of the internet protocol; its certificate must be for this.
    pub host: String,
    pub port: u16,
    pub security: Security,
    /// Whom the server knows us as, if it asks.
    pub login: Option<Login>,
    /// A file of certificates (PEM) that are trusted besides the system's.
    pub ca_file: Option<(PathBuf, Origin)>,
}

words! {
    /// When encryption begins.
    pub enum Security {
        /// after a command in the clear (RFC 3207), on port 587; a server that does not offer it is not used
        StartTls = "starttls",
        /// with the first byte (RFC 8314), on port 465
        Tls = "tls",
    }
}

/// A user and where the password is had from; it never stands in the file.
#[derive(Clone, Debug)]
pub struct Login {
    pub user: String,
    pub password: Secret,
    pub origin: Origin,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Secret {
    /// In a variable of the environment, by its name.
    Variable(String),
    /// In a file that none but its owner may read.
    File(PathBuf),
}

keys! {
    /// How the firm sends mail: who it is from, and through which server. Addresses are of plain letters.
    struct MailKeys {
        /// The sender. Example: `records@firm.example`
        from: Address = text("an e-mail address", read_address), required;
        /// Where answers go, if not to the sender. Example: `office@firm.example`
        reply_to: Address = text("an e-mail address", read_address), optional;
        /// A server that takes mail to pass on; without one there are drafts alone. Example: `smtp.provider.example`
        server: String = text("the name of a server", read_host), optional;
        /// Its port: 587 for `starttls` and 465 for `tls` where the file does not say.
        port: u16 = custom(read_port, || Shape::Count { least: 1, most: 65_535 }), optional;
        /// When encryption begins. The server's certificate is always checked.
        security: Security, or(Security::StartTls, "starttls");
        /// Whom the server knows us as, if it asks. Example: `records`
        user: String, optional;
        /// No password stands in this file, which is passed around.
        #[expect(dead_code, reason = "it is always refused")]
        password: () = text("nothing", refuse_password), hidden;
        /// The variable of the environment that holds the password. Example: `MAIL_PASSWORD`
        password_env: String = text("the name of a variable", read_variable), optional;
        /// A file that only its owner can read, whose one line is the password. Example: `mail.password`
        password_file: (PathBuf, Origin) = text("a file", read_file), optional;
        /// Certificates (PEM) to trust besides those that the system trusts. Example: `mail-ca.pem`
        ca_file: (PathBuf, Origin) = text("a file", read_file), optional;
        /// The largest message as it is sent, a third larger than the certificate: from 100 kB to 100 MB. Example: `10 MB`
        largest_message: u64 = text("a size (kB, MB)", read_size), or(LARGEST_MESSAGE, "10 MB");
        /// The send log: `mail-log.jsonl` beside this file where nothing is said. Example: `sent.jsonl`
        log: (PathBuf, Origin) = text("a file", read_file), optional;
    }
    + origin => needs_a_server
}

impl Declared for Mail {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Mail> {
        let keys = MailKeys::from_node(node, report)?;
        let file = keys.password_file.map(|(file, _)| file);
        let login = read_login(node, keys.user, keys.password_env, file, report);
        // RFC 6409, section 3.1, and RFC 8314, section 7.3
        let port = keys.port.unwrap_or(if keys.security == Security::Tls { 465 } else { 587 });
        let (security, ca_file) = (keys.security, keys.ca_file);
        Some(Mail {
            from: keys.from,
            reply_to: keys.reply_to,
            server: keys.server.map(|host| Server { host, port, security, login, ca_file }),
            largest_message: keys.largest_message,
            log: keys.log.map(|(file, _)| file),
            origin: keys.origin,
        })
    }

    fn shape() -> Shape {
        MailKeys::shape()
    }
}

fn needs_a_server(fields: &Fields<'_>, report: &mut Diagnostics) {
    if fields.holds("server") {
        return;
    }
    for key in ["port", "security", "user", "password_env", "password_file", "ca_file"] {
        if fields.holds(key) {
            let message = format!("`{key}` says something of a server, and there is no `server`");
            report.push(fields.node().origin().key(key).error("mail-no-server", message));
        }
    }
}

fn refuse_password(node: &Node<'_>, report: &mut Diagnostics) -> Option<()> {
    let hint = "name a variable of the environment (`password_env`) or a file that only you may read (`password_file`)";
    let message = "a password does not belong in this file, which is passed around";
    report.fail(unshown(node, Diagnostic::error("password-in-file", message)).hint(hint))
}

fn read_address(node: &Node<'_>, report: &mut Diagnostics) -> Option<Address> {
    node.parse(report, Address::parse)
}

fn read_login(
    node: &Node<'_>,
    user: Option<String>,
    variable: Option<String>,
    file: Option<PathBuf>,
    report: &mut Diagnostics,
) -> Option<Login> {
    let mut refuse = |message: &str, hint: &str| report.fail(node.error("mail-login", message).hint(hint));
    let hint = "give `user` and one of `password_env` and `password_file`, or none of them";
    let (user, password) = match (user, variable, file) {
        (None, None, None) => return None,
        (Some(user), Some(name), None) => (user, Secret::Variable(name)),
        (Some(user), None, Some(file)) => (user, Secret::File(file)),
        (_, Some(_), Some(_)) => return refuse("two places are named for one password", hint),
        (Some(_), None, None) => return refuse("it is not said where the user's password is", hint),
        (None, ..) => return refuse("there is a password and no `user`", hint),
    };
    Some(Login { user, password, origin: node.origin() })
}

fn read_host(node: &Node<'_>, report: &mut Diagnostics) -> Option<String> {
    let text = node.text(report)?;
    if is_domain(&text) || text.parse::<IpAddr>().is_ok() {
        return Some(text);
    }
    let problem = node.error("bad-server", format!("`{text}` is not the name of a server"));
    report.fail(problem.hint("write it like `smtp.provider.example`; the port has a key of its own"))
}

fn read_port(node: &Node<'_>, report: &mut Diagnostics) -> Option<u16> {
    let text = node.text(report)?;
    let port = text.parse::<u16>().ok().filter(|port| *port > 0);
    if port.is_none() {
        report.push(node.error("bad-port", format!("`{text}` is not a port: a number from 1 to 65535")));
    }
    port
}

fn read_variable(node: &Node<'_>, report: &mut Diagnostics) -> Option<String> {
    let text = node.text(report)?;
    let plain = text.chars().all(|c| c.is_ascii_alphanumeric() || c == '_');
    if plain && text.starts_with(|c: char| !c.is_ascii_digit()) {
        return Some(text);
    }
    let problem = Diagnostic::error("bad-variable", "this is not the name of a variable of the environment");
    report.fail(
        unshown(node, problem).hint("write its name, such as `MAIL_PASSWORD`, and put the password into the variable"),
    )
}

/// A problem at a value that is, or may be, a secret: its line is shown up to there.
fn unshown(node: &Node<'_>, problem: Diagnostic) -> Diagnostic {
    let mut place = node.origin().place();
    if let Some(spot) = &mut place.spot {
        spot.text = spot.text.chars().take(spot.column.saturating_sub(1)).chain(['…']).collect();
    }
    problem.at(place)
}

/// A size such as `10 MB`, in bytes.
fn read_size(node: &Node<'_>, report: &mut Diagnostics) -> Option<u64> {
    let text = node.text(report)?;
    let size = text.split_once(' ').and_then(|(number, unit)| {
        let unit = match unit {
            "kB" => 1_000,
            "MB" => 1_000_000,
            _ => return None,
        };
        number.parse::<u64>().ok()?.checked_mul(unit)
    });
    // a certificate alone has some 50 kB; more than 100 MB is taken by no server
    let found = size.filter(|size| (100_000..=100_000_000).contains(size));
    if found.is_none() {
        let problem = node.error("bad-size", format!("`{text}` is not a size from 100 kB to 100 MB"));
        report.push(problem.hint("write it like `10 MB`"));
    }
    found
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::yaml::Source;

    fn read(text: &str) -> (Option<Mail>, String) {
        let mut report = Diagnostics::new();
        let source = Source::from_text(Path::new("f/company.yaml"), text.to_owned(), &mut report).expect("YAML");
        let mail = Mail::from_node(&source.root(), &mut report);
        (mail, report.to_string())
    }

    #[test]
    fn ports_follow_the_security() {
        for (more, port) in [("", 587), ("security: tls", 465), ("security: starttls\nport: 2525", 2525)] {
            let (mail, reported) = read(&format!("from: a@b.example\nserver: smtp.b.example\n{more}\n"));
            assert_eq!(reported, "");
            assert_eq!(mail.and_then(|m| m.server).map(|s| s.port), Some(port));
        }
    }

    #[test]
    fn a_server_is_not_needed_for_drafts() {
        let (mail, reported) = read("from: a@b.example\nreply_to: c@b.example\nlargest_message: 2 MB");
        assert_eq!(reported, "");
        let mail = mail.expect("mail");
        assert!(mail.server.is_none());
        assert_eq!((mail.largest_message, mail.reply_to.map(|a| a.folded())), (2_000_000, Some("c@b.example".into())));
    }

    #[test]
    fn each_fault_is_told_at_its_place() {
        for (text, part) in [
            ("server: smtp.b.example", "`from` is missing"),
            ("from: nobody", "there is no `@` in it"),
            ("from: a@b.example\nserver: smtp.b.example:587", "the port has a key of its own"),
            ("from: a@b.example\nport: 587", "`port` says something of a server"),
            ("from: a@b.example\nserver: b.example\nport: 0", "`0` is not a port"),
            ("from: a@b.example\nserver: b.example\nsecurity: none", "one of: starttls, tls"),
            ("from: a@b.example\nserver: b.example\nuser: a", "where the user's password is"),
            ("from: a@b.example\nserver: b.example\npassword_env: A", "no `user`"),
            ("from: a@b.example\nserver: b.example\nuser: a\npassword_env: A\npassword_file: b", "two places"),
            ("from: a@b.example\nserver: b.example\nuser: a\npassword: hush", "does not belong in this file"),
            ("from: a@b.example\nlargest_message: 10 GB", "write it like `10 MB`"),
        ] {
            let (_, reported) = read(text);
            assert!(reported.contains(part) && reported.contains("f/company.yaml:"), "no {part:?} in:\n{reported}");
        }
        for line in ["password_env: hush-hush", "password: hush"] {
            let (_, reported) = read(&format!("from: a@b.example\nserver: b.example\nuser: a\n{line}"));
            assert!(reported.contains("company.yaml:4:") && !reported.contains("hush"), "{reported}");
        }
    }
}
