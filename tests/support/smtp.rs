//! A mail server to test against: it speaks TLS with a certificate made for the test, keeps all that it hears, and can be told
//! to misbehave.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::thread;

use crate::support::workspace::write;
use rcgen::{BasicConstraints, CertificateParams, CertifiedIssuer, IsCa, KeyPair};
use rustls::pki_types::{PrivateKeyDer, PrivatePkcs8KeyDer};
use rustls::{ServerConfig, ServerConnection, StreamOwned};

/// The password that is right; the user is `office`.
pub const PASSWORD: &str = "correct horse";

/// What the server does to a message that it would take otherwise.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Manners {
    /// Nothing; it takes it.
    #[default]
    Good,
    /// Hangs up after the first line of the content.
    DiesInContent,
    /// Takes the whole of the content and hangs up instead of answering.
    DiesBeforeAnswer,
    /// Takes the whole of the content and never answers.
    Silent,
    /// Refuses the content when it has it all.
    RefusesContent,
    /// Refuses every recipient with words that steer a terminal.
    Shouts,
    /// Does not offer STARTTLS.
    NoStartTls,
    /// Says after AUTH what it heard, password and all.
    Babbles,
}

/// How the server is set up.
#[derive(Clone, Debug)]
pub struct Plan {
    /// How it behaves in one connection after the other; the last holds for all that follow.
    pub manners: Vec<Manners>,
    /// Recipients that it refuses.
    pub refused: Vec<&'static str>,
    /// Whether TLS begins with the first byte.
    pub tls: bool,
    /// The name that its certificate is for.
    pub name: &'static str,
}

impl Default for Plan {
    fn default() -> Plan {
        Plan { manners: vec![Manners::Good], refused: Vec::new(), tls: false, name: "localhost" }
    }
}

/// A message that the server has taken.
#[derive(Clone, Debug)]
pub struct Taken {
    pub to: Vec<String>,
    pub content: String,
}

/// What the server heard.
#[derive(Clone, Debug, Default)]
pub struct Heard {
    pub connections: usize,
    /// Commands in the clear.
    pub clear: Vec<String>,
    /// Commands after TLS began.
    pub secret: Vec<String>,
    /// Messages whose content was heard to the end, answered or not.
    pub taken: Vec<Taken>,
}

/// A server that listens until the test ends.
pub struct Server {
    pub port: u16,
    /// The certificate of the authority that signed its own.
    pub ca: PathBuf,
    heard: Arc<Mutex<Heard>>,
}

impl Server {
    /// Starts one; its authority's certificate is written into `folder`.
    pub fn start(folder: &Path, plan: Plan) -> Server {
        let mut params = CertificateParams::default();
        params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
        let ca = CertifiedIssuer::self_signed(params, KeyPair::generate().expect("a key")).expect("an authority");
        let key = KeyPair::generate().expect("a key");
        let params = CertificateParams::new([plan.name.to_owned()]).expect("a name");
        let certificate = params.signed_by(&key, &ca).expect("a certificate");
        let file = folder.join("ca.pem");
        write(&file, pem(ca.der()));
        let secret = PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(key.serialize_der()));
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let config = ServerConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .expect("versions")
            .with_no_client_auth()
            .with_single_cert(vec![certificate.der().clone()], secret)
            .expect("a configuration");
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
        let port = listener.local_addr().expect("an address").port();
        let heard = Arc::new(Mutex::new(Heard::default()));
        let (ears, config) = (heard.clone(), Arc::new(config));
        // ends with the test's process
        thread::spawn(move || {
            for (i, stream) in listener.incoming().enumerate() {
                let Ok(stream) = stream else { continue };
                let manners = plan.manners.get(i).or(plan.manners.last()).copied().unwrap_or_default();
                let guest = Guest { manners, plan: plan.clone(), config: config.clone(), ears: ears.clone() };
                guest.ears.lock().expect("ears").connections += 1;
                thread::spawn(move || guest.welcome(stream));
            }
        });
        Server { port, ca: file, heard }
    }

    /// What it heard so far.
    pub fn heard(&self) -> Heard {
        self.heard.lock().expect("ears").clone()
    }

    /// The lines of a company file that name it.
    pub fn mail(&self, more: &str) -> String {
        format!(
            "mail: {{ from: records@tern-and-tide.example, server: localhost, port: {}, ca_file: {}{more} }}",
            self.port,
            self.ca.display()
        )
    }
}

fn pem(der: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::new();
    for three in der.chunks(3) {
        let bits = three.iter().fold(0_u32, |bits, byte| bits << 8 | u32::from(*byte)) << (8 * (3 - three.len()));
        for i in 0..4 {
            let letter = LETTERS[(bits >> (18 - 6 * i) & 63) as usize];
            text.push(if i > three.len() { '=' } else { char::from(letter) });
        }
    }
    let lines: Vec<&str> = text.as_bytes().chunks(64).filter_map(|c| std::str::from_utf8(c).ok()).collect();
    format!("-----BEGIN CERTIFICATE-----\n{}\n-----END CERTIFICATE-----\n", lines.join("\n"))
}

/// One connection.
struct Guest {
    manners: Manners,
    plan: Plan,
    config: Arc<ServerConfig>,
    ears: Arc<Mutex<Heard>>,
}

impl Guest {
    fn welcome(self, stream: TcpStream) {
        let secured = |stream: TcpStream| {
            let connection = ServerConnection::new(self.config.clone()).expect("a connection");
            BufReader::new(StreamOwned::new(connection, stream))
        };
        if self.plan.tls {
            self.talk(&mut secured(stream), true, true);
        } else {
            let mut reader = BufReader::new(stream);
            if self.talk(&mut reader, false, true) {
                self.talk(&mut secured(reader.into_inner()), true, false);
            }
        }
    }

    /// Talks; whether TLS is to begin.
    fn talk<S: Read + Write>(&self, stream: &mut BufReader<S>, secret: bool, greet: bool) -> bool {
        let say = |stream: &mut BufReader<S>, line: &str| {
            let to = stream.get_mut();
            let _ = to.write_all(format!("{line}\r\n").as_bytes());
            let _ = to.flush();
        };
        if greet {
            say(stream, "220 localhost ESMTP");
        }
        let mut to: Vec<String> = Vec::new();
        let mut line = String::new();
        loop {
            line.clear();
            match stream.read_line(&mut line) {
                Ok(length) if length > 0 => {}
                _ => return false,
            }
            let command = line.trim_end().to_owned();
            {
                let mut heard = self.ears.lock().expect("ears");
                let heard = &mut *heard;
                if secret { &mut heard.secret } else { &mut heard.clear }.push(command.clone());
            }
            match command.split([' ', ':']).next().unwrap_or_default() {
                "EHLO" if secret => say(stream, "250-localhost\r\n250-AUTH PLAIN LOGIN\r\n250 SIZE 20000000"),
                "EHLO" if self.manners == Manners::NoStartTls => say(stream, "250-localhost\r\n250 AUTH PLAIN"),
                "EHLO" => say(stream, "250-localhost\r\n250 STARTTLS"),
                "STARTTLS" => {
                    say(stream, "220 go on");
                    return true;
                }
                // base64 of NUL office NUL correct horse
                "AUTH" if command == "AUTH PLAIN AG9mZmljZQBjb3JyZWN0IGhvcnNl" && self.manners != Manners::Babbles => {
                    say(stream, "235 welcome");
                }
                "AUTH" if self.manners == Manners::Babbles => {
                    say(stream, &format!("535 no, {PASSWORD} is not your password"));
                }
                "AUTH" => say(stream, "535 user or password is wrong"),
                "MAIL" | "RSET" => {
                    to.clear();
                    say(stream, "250 good");
                }
                "RCPT" if self.plan.refused.iter().any(|who| command.contains(who)) => say(stream, "550 no such user"),
                "RCPT" if self.manners == Manners::Shouts => say(stream, "550 \u{1b}]0;owned\u{7}\u{1b}[31mno"),
                "RCPT" => {
                    to.push(command.trim_start_matches("RCPT TO:").to_owned());
                    say(stream, "250 good");
                }
                "DATA" => {
                    say(stream, "354 go on");
                    match self.content(stream) {
                        Some(content) => {
                            let taken = Taken { to: to.clone(), content };
                            self.ears.lock().expect("ears").taken.push(taken);
                        }
                        None => return false,
                    }
                    match self.manners {
                        Manners::DiesBeforeAnswer => return false,
                        Manners::Silent => {
                            // until whoever called gives up
                            let _ = stream.read_line(&mut line);
                            return false;
                        }
                        Manners::RefusesContent => say(stream, "554 looks like junk"),
                        _ => say(stream, "250 taken as 4711"),
                    }
                }
                "QUIT" => {
                    say(stream, "221 bye");
                    return false;
                }
                _ => say(stream, "502 what?"),
            }
        }
    }

    /// The content to the lone dot, with doubled dots undone.
    fn content<S: Read + Write>(&self, stream: &mut BufReader<S>) -> Option<String> {
        let mut content = String::new();
        let mut line = String::new();
        loop {
            line.clear();
            if stream.read_line(&mut line).ok()? == 0 || self.manners == Manners::DiesInContent {
                return None;
            }
            if line == ".\r\n" {
                return Some(content);
            }
            content += line.strip_prefix('.').unwrap_or(&line);
        }
    }
}
