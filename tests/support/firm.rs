//! A firm that mails: a rendered job, a company file that names a server of ours, and what its messages hold.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;

use super::program::{Outcome, decant};
use super::smtp::{PASSWORD, Plan, Server};
use super::workspace::{Copy, read, write};

pub const CERTIFICATE: &str = "2026-0420-certificate.pdf";
pub const ADDRESS: &str = "quality@ansel-fish.example";
pub const LOGIN: &str = ", user: office, password_env: DECANT_TEST_PASSWORD";

/// A firm with a rendered job and a company file that names a server.
pub struct Firm {
    pub copy: Copy,
    pub output: PathBuf,
    pub server: Server,
}

impl Firm {
    pub fn with(plan: Plan, more: &str) -> Firm {
        Firm::to("email: quality@ansel-fish.example", plan, more)
    }

    /// To these addresses.
    pub fn to(email: &str, plan: Plan, more: &str) -> Firm {
        let copy = Copy::of("fish-hall");
        copy.change_job("email: quality@ansel-fish.example", email);
        let server = Server::start(copy.company_folder(), plan);
        copy.set_company(&server.mail(more));
        let output = copy.output();
        let folder = output.to_str().expect("a name is text");
        decant(&copy.folder, ["render", "job.yaml", "-o", folder, "--only", "certificate"]).must_end_with(0);
        Firm { copy, output, server }
    }

    pub fn mail(&self, more: &[&str]) -> Outcome {
        self.mail_with(PASSWORD, more)
    }

    pub fn mail_with(&self, password: &str, more: &[&str]) -> Outcome {
        let output = self.command(password, more).output().expect("the program starts");
        Outcome {
            code: output.status.code(),
            stdout: String::from_utf8(output.stdout).expect("stdout is UTF-8"),
            stderr: String::from_utf8(output.stderr).expect("stderr is UTF-8"),
        }
    }

    pub fn command(&self, password: &str, more: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_decant"));
        command
            .current_dir(&self.copy.folder)
            .args(["mail", "job.yaml", "--documents"])
            .arg(&self.output)
            .args(more)
            .env("DECANT_TEST_PASSWORD", password);
        command
    }

    pub fn log(&self) -> Vec<Value> {
        let text = fs::read_to_string(self.log_file()).unwrap_or_default();
        let lines = text.lines().skip(1);
        lines.map(|line| serde_json::from_str(line).expect("a line of JSON")).collect()
    }

    pub fn log_file(&self) -> PathBuf {
        self.copy.company_folder().join("mail-log.jsonl")
    }

    /// `state` of each line of the log.
    pub fn states(&self) -> Vec<String> {
        let state = |line: &Value| line["state"].as_str().unwrap_or_default().to_owned();
        self.log().iter().map(state).collect()
    }
}

#[track_caller]
pub fn says(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "no {part:?} in:\n{text}");
    }
}

pub fn header(message: &str, name: &str) -> Option<String> {
    let head = message.split("\r\n\r\n").next().unwrap_or_default().replace("\r\n ", " ");
    let start = format!("{name}: ");
    head.split("\r\n").find_map(|line| line.strip_prefix(&start).map(str::to_owned))
}

/// The attachment of a message, its base64 undone.
pub fn attachment(message: &str) -> Vec<u8> {
    let start = format!("Content-Disposition: attachment; filename=\"{CERTIFICATE}\"\r\n");
    let (_, part) = message.split_once(&start).expect("an attachment");
    let (head, rest) = part.split_once("\r\n\r\n").expect("its head");
    for wanted in ["Content-Type: application/pdf", "Content-Transfer-Encoding: base64"] {
        assert!(head.contains(wanted), "{head}");
    }
    let (body, _) = rest.split_once("\r\n--").expect("its end");
    let value = |c: u8| match c {
        b'A'..=b'Z' => u32::from(c - b'A'),
        b'a'..=b'z' => u32::from(c - b'a' + 26),
        b'0'..=b'9' => u32::from(c - b'0' + 52),
        b'+' => 62,
        _ => 63,
    };
    let letters: Vec<u8> = body.bytes().filter(|c| !c.is_ascii_whitespace() && *c != b'=').collect();
    let mut bytes = Vec::new();
    for four in letters.chunks(4) {
        let bits = four.iter().fold(0, |bits, c| bits << 6 | value(*c)) << (6 * (4 - four.len()));
        bytes.extend(bits.to_be_bytes()[1..four.len()].iter().copied());
    }
    bytes
}

/// Changes a text of a file once; it must be there.
#[track_caller]
pub fn change(file: &Path, from: &str, to: &str) {
    let text = read(file);
    assert!(text.contains(from), "{} no longer holds {from:?}", file.display());
    write(file, text.replacen(from, to, 1));
}
