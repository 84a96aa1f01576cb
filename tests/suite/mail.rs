//! Certificates by mail: whole and newest ones alone, each to each address once, whatever the server does.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;

use serde_json::Value;
use sha2::{Digest, Sha256};

use crate::support::program::{Outcome, decant};
use crate::support::smtp::{Manners, PASSWORD, Plan, Server};
use crate::support::workspace::{Copy, names};

const CERTIFICATE: &str = "2026-0420-certificate.pdf";
const ADDRESS: &str = "quality@ansel-fish.example";
const LOGIN: &str = ", user: office, password_env: DECANT_TEST_PASSWORD";

/// A firm with a rendered job and a company file that names a server.
struct Firm {
    copy: Copy,
    output: PathBuf,
    server: Server,
}

impl Firm {
    fn with(plan: Plan, more: &str) -> Firm {
        Firm::to("email: quality@ansel-fish.example", plan, more)
    }

    /// To these addresses.
    fn to(email: &str, plan: Plan, more: &str) -> Firm {
        let copy = Copy::of("fish-hall");
        copy.change_job("email: quality@ansel-fish.example", email);
        let server = Server::start(copy.company_folder(), plan);
        copy.set_company(&server.mail(more));
        let output = copy.output();
        let folder = output.to_str().expect("a name is text");
        decant(
            &copy.folder,
            ["render", "job.yaml", "-o", folder, "--only", "certificate"],
        )
        .must_end_with(0);
        Firm { copy, output, server }
    }

    fn mail(&self, more: &[&str]) -> Outcome {
        self.mail_with(PASSWORD, more)
    }

    fn mail_with(&self, password: &str, more: &[&str]) -> Outcome {
        let output = self.command(password, more).output().expect("the program starts");
        Outcome {
            code: output.status.code(),
            stdout: String::from_utf8(output.stdout).expect("stdout is UTF-8"),
            stderr: String::from_utf8(output.stderr).expect("stderr is UTF-8"),
        }
    }

    fn command(&self, password: &str, more: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_decant"));
        command
            .current_dir(&self.copy.folder)
            .args(["mail", "job.yaml", "--documents"])
            .arg(&self.output)
            .args(more)
            .env("DECANT_TEST_PASSWORD", password);
        command
    }

    fn log(&self) -> Vec<Value> {
        let text = fs::read_to_string(self.log_file()).unwrap_or_default();
        let lines = text.lines().skip(1);
        lines
            .map(|line| serde_json::from_str(line).expect("a line of JSON"))
            .collect()
    }

    fn log_file(&self) -> PathBuf {
        self.copy.company_folder().join("mail-log.jsonl")
    }

    /// `state` of each line of the log.
    fn states(&self) -> Vec<String> {
        let state = |line: &Value| line["state"].as_str().unwrap_or_default().to_owned();
        self.log().iter().map(state).collect()
    }
}

#[track_caller]
fn says(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "no {part:?} in:\n{text}");
    }
}

fn header(message: &str, name: &str) -> Option<String> {
    let head = message
        .split("\r\n\r\n")
        .next()
        .unwrap_or_default()
        .replace("\r\n ", " ");
    let start = format!("{name}: ");
    head.split("\r\n")
        .find_map(|line| line.strip_prefix(&start).map(str::to_owned))
}

/// The attachment of a message, its base64 undone.
fn attachment(message: &str) -> Vec<u8> {
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
    let letters: Vec<u8> = body
        .bytes()
        .filter(|c| !c.is_ascii_whitespace() && *c != b'=')
        .collect();
    let mut bytes = Vec::new();
    for four in letters.chunks(4) {
        let bits = four.iter().fold(0, |bits, c| bits << 6 | value(*c)) << (6 * (4 - four.len()));
        bytes.extend(bits.to_be_bytes()[1..four.len()].iter().copied());
    }
    bytes
}

#[test]
fn a_certificate_goes_once_with_its_bytes() {
    for tls in [false, true] {
        let security = if tls { ", security: tls" } else { ", security: starttls" };
        let plan = Plan { tls, ..Plan::default() };
        let firm = Firm::with(
            plan,
            &format!("{LOGIN}{security}, reply_to: office@tern-and-tide.example"),
        );
        let run = firm
            .mail(&["--send", "--date", "2026-04-21T08:00-04:00"])
            .must_end_with(0);
        assert_eq!(
            run.stdout,
            format!("2026-0420, revision 1, to {ADDRESS}: sent (250 taken as 4711)\n")
        );
        let heard = firm.server.heard();
        assert_eq!(heard.taken.len(), 1);
        assert_eq!(heard.taken[0].to, [format!("<{ADDRESS}>")]);
        let message = &heard.taken[0].content;
        assert_eq!(
            header(message, "Date").as_deref(),
            Some("Tue, 21 Apr 2026 12:00:00 +0000")
        );
        assert!(header(message, "X-Unsent").is_none());
        assert!(header(message, "Reply-To").is_some_and(|to| to.ends_with("<office@tern-and-tide.example>")));
        let certificate = fs::read(firm.output.join(CERTIFICATE)).expect("the certificate");
        assert!(
            attachment(message) == certificate,
            "the attachment is not the certificate"
        );
        // in the clear there was nothing but the wish for encryption
        let clear: Vec<&str> = heard.clear.iter().map(|c| &c[..4]).collect();
        assert_eq!(clear, if tls { vec![] } else { vec!["EHLO", "STAR"] });
        assert_eq!(firm.states(), ["sending", "sent"]);
        let record = fs::read(firm.output.join("2026-0420-record.json")).expect("the record");
        let digest: String = Sha256::digest(record)
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect();
        assert_eq!(firm.log()[0]["record"], digest);
        // once more, and from another folder: nobody is even called
        let run = firm.mail(&["--send"]).must_end_with(0);
        says(&run.stdout, &["sent already, ", "not sent again"]);
        assert_eq!(firm.server.heard().connections, 1);
        // with capitals it is the same mailbox
        firm.copy.change_job(ADDRESS, "Quality@Ansel-Fish.example");
        firm.mail(&["--send"]).must_end_with(0);
        assert_eq!(firm.server.heard().connections, 1);
    }
}

#[test]
fn a_refused_recipient_stops_nobody_else() {
    let plan = Plan {
        refused: vec!["two@"],
        ..Plan::default()
    };
    let three = "email: [one@ansel-fish.example, two@ansel-fish.example, three@ansel-fish.example]";
    let firm = Firm::to(three, plan, LOGIN);
    let run = firm.mail(&["--send"]).must_end_with(1);
    let lines: Vec<&str> = run.stdout.lines().collect();
    says(lines[0], &["to one@", ": sent (250"]);
    says(lines[1], &["to two@", ": REFUSED by the server: 550 no such user"]);
    says(lines[2], &["to three@", ": sent (250"]);
    let heard = firm.server.heard();
    // nobody is told of the others
    for taken in &heard.taken {
        assert_eq!(
            (taken.to.len(), taken.content.matches("@ansel-fish.example>").count()),
            (1, 1)
        );
    }
    assert_eq!(firm.states(), ["sending", "sent", "refused", "sending", "sent"]);
    // the next run tries the refused one alone
    firm.mail(&["--send"]).must_end_with(1);
    assert_eq!(firm.server.heard().taken.len(), 2);
}

#[test]
fn a_server_that_dies_in_the_middle_leaves_it_unknown_and_the_rest_goes_on() {
    for death in [Manners::DiesInContent, Manners::DiesBeforeAnswer] {
        let plan = Plan {
            manners: vec![death, Manners::Good],
            ..Plan::default()
        };
        let two = "email: [one@ansel-fish.example, two@ansel-fish.example]";
        let firm = Firm::to(two, plan, LOGIN);
        let run = firm.mail(&["--send"]).must_end_with(1);
        says(
            &run.stdout,
            &[
                "to one@ansel-fish.example: UNKNOWN whether it was sent: ",
                "to two@ansel-fish.example: sent (250",
            ],
        );
        says(&run.stderr, &["--resend NUMBER ADDRESS"]);
        assert_eq!(firm.states(), ["sending", "unknown", "sending", "sent"]);
        let heard = firm.server.heard().taken.len();
        let run = firm.mail(&["--send"]).must_end_with(1);
        says(
            &run.stdout,
            &[
                "one@ansel-fish.example: UNKNOWN whether it was sent, ",
                "not sent again",
            ],
        );
        assert_eq!(firm.server.heard().taken.len(), heard);
        // another one, or one that was sent, cannot be named
        for (job, to, said) in [
            (
                "2026-0420",
                "two@ansel-fish.example",
                "a revision goes to an address once",
            ),
            ("2026-0420", "three@ansel-fish.example", "is at hand"),
            ("2026-0421", "one@ansel-fish.example", "is at hand"),
            ("2026-0420", "one", "not an e-mail address"),
        ] {
            let run = firm.mail(&["--send", "--resend", job, to]).must_end_with(2);
            says(&run.stderr, &[said]);
        }
        assert_eq!(firm.server.heard().taken.len(), heard);
        firm.mail(&["--send", "--resend", "2026-0420", "ONE@ansel-fish.example"])
            .must_end_with(0);
        assert_eq!(firm.server.heard().taken.len(), heard + 1);
        firm.mail(&["--send"]).must_end_with(0);
    }
}

#[test]
fn a_run_that_was_killed_in_the_middle_is_told_and_nothing_is_sent_twice() {
    let firm = Firm::with(Plan::default(), LOGIN);
    firm.mail(&["--send"]).must_end_with(0);
    let whole = fs::read_to_string(firm.log_file()).expect("the log");
    let lines: Vec<&str> = whole.split_inclusive('\n').collect();
    // killed before the last line, in the middle of it, or of the one before
    for (kept, said, code) in [
        (format!("{}{}", lines[0], lines[1]), "UNKNOWN", 1),
        (format!("{}{}{}", lines[0], lines[1], &lines[2][..20]), "UNKNOWN", 1),
        (format!("{}{}", lines[0], &lines[1][..30]), "sent (250", 0),
    ] {
        fs::write(firm.log_file(), kept).expect("written");
        let run = firm.mail(&["--send"]).must_end_with(code);
        says(&run.stdout, &[said]);
    }
    // what somebody changed is relied on by nobody
    fs::write(firm.log_file(), whole.replace("sending", "seeding")).expect("written");
    let before = firm.server.heard().connections;
    let run = firm.mail(&["--send"]).must_end_with(1);
    says(&run.stderr, &["line 2 of ", "is no line of a send log"]);
    assert_eq!(firm.server.heard().connections, before);
}

#[test]
fn a_run_that_is_killed_while_the_server_thinks_leaves_it_unknown() {
    let plan = Plan {
        manners: vec![Manners::Silent, Manners::Good],
        ..Plan::default()
    };
    let firm = Firm::with(plan, LOGIN);
    let mut command = firm.command(PASSWORD, &["--send"]);
    let mut run = command
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("the program starts");
    // the content has left when the server has it; what stood in the log by then was there before
    for _ in 0..600 {
        if firm.server.heard().taken.len() == 1 {
            break;
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    assert_eq!(firm.states(), ["sending"]);
    run.kill().expect("killed");
    run.wait().expect("it ends");
    let run = firm.mail(&["--send"]).must_end_with(1);
    says(&run.stdout, &["UNKNOWN whether it was sent, "]);
    firm.mail(&["--send", "--resend", "2026-0420", ADDRESS])
        .must_end_with(0);
    assert_eq!(firm.states(), ["sending", "sending", "sent"]);
}

#[test]
fn two_runs_at_once_send_once() {
    let firm = Firm::with(Plan::default(), LOGIN);
    let start = |_| {
        let mut command = firm.command(PASSWORD, &["--send"]);
        command
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts")
    };
    let runs: Vec<_> = (0..4).map(start).collect();
    for run in runs {
        let output = run.wait_with_output().expect("it ends");
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        match output.status.code() {
            Some(0) => {}
            _ => says(&told, &["another run is sending with the log"]),
        }
    }
    assert_eq!(firm.server.heard().taken.len(), 1);
    assert_eq!(firm.states(), ["sending", "sent"]);
}

#[test]
fn a_wrong_password_is_told_and_tried_once() {
    let two = "email: [one@ansel-fish.example, two@ansel-fish.example]";
    let firm = Firm::to(two, Plan::default(), LOGIN);
    let run = firm.mail_with("wrong horse", &["--send"]).must_end_with(1);
    says(
        &run.stdout,
        &[
            "two@ansel-fish.example: NOT SENT: the server localhost:",
            "does not accept the user and password: 535 user or password is wrong",
        ],
    );
    let heard = firm.server.heard();
    assert_eq!((heard.connections, heard.taken.len(), firm.log().len()), (1, 0, 0));
    assert_eq!(heard.secret.iter().filter(|c| c.starts_with("AUTH")).count(), 1);
    firm.mail(&["--send"]).must_end_with(0);
    assert_eq!(firm.server.heard().taken.len(), 2);
}

#[test]
fn a_password_is_shown_nowhere() {
    let plan = Plan {
        manners: vec![Manners::Babbles],
        ..Plan::default()
    };
    let firm = Firm::with(plan, LOGIN);
    let run = firm.mail(&["--send"]).must_end_with(1);
    says(&run.stdout, &["535 no, … is not your password"]);
    let log = fs::read_to_string(firm.log_file()).expect("the log");
    assert!(!format!("{}{}{log}", run.stdout, run.stderr).contains(PASSWORD));
    let run = firm.mail_with("", &["--send"]).must_end_with(2);
    says(
        &run.stderr,
        &["`DECANT_TEST_PASSWORD`", "company.yaml:", "nothing was sent"],
    );
}

#[test]
fn a_password_file_that_others_can_read_is_refused() {
    use std::os::unix::fs::PermissionsExt;
    let firm = Firm::with(Plan::default(), ", user: office, password_file: secret");
    let file = firm.copy.company_folder().join("secret");
    fs::write(&file, format!("{PASSWORD}\n")).expect("written");
    for (mode, code) in [(0o644, 2), (0o640, 2), (0o600, 0)] {
        fs::set_permissions(&file, fs::Permissions::from_mode(mode)).expect("a mode");
        let run = firm.mail(&["--send"]).must_end_with(code);
        if code == 2 {
            says(&run.stderr, &["can be read by others than its owner; `chmod 600` it"]);
        }
    }
}

#[test]
fn a_server_that_cannot_show_who_it_is_gets_nothing() {
    // another name's certificate, for encryption from the start and from STARTTLS on
    for tls in [false, true] {
        let plan = Plan {
            tls,
            name: "elsewhere.example",
            ..Plan::default()
        };
        let security = if tls { ", security: tls" } else { "" };
        let firm = Firm::with(plan, &format!("{LOGIN}{security}"));
        let run = firm.mail(&["--send"]).must_end_with(1);
        says(
            &run.stdout,
            &[
                "NOT SENT: the certificate of the server localhost:",
                "is not accepted: ",
            ],
        );
        assert!(firm.server.heard().secret.is_empty() && firm.log().is_empty());
    }
    // an authority that nobody trusts
    let firm = Firm::with(Plan::default(), LOGIN);
    let company = firm.copy.company_folder().join("company.yaml");
    let text = fs::read_to_string(&company).expect("the company file");
    let named = format!(", ca_file: {}", firm.server.ca.display());
    assert!(text.contains(&named));
    fs::write(&company, text.replace(&named, "")).expect("written");
    let run = firm.mail(&["--send"]).must_end_with(1);
    says(&run.stdout, &["is not accepted: UnknownIssuer"]);
    assert!(firm.server.heard().secret.is_empty());
    // no encryption at all
    let plan = Plan {
        manners: vec![Manners::NoStartTls],
        ..Plan::default()
    };
    let firm = Firm::with(plan, LOGIN);
    let run = firm.mail(&["--send"]).must_end_with(1);
    says(
        &run.stdout,
        &["does not offer STARTTLS, and nothing goes to it in the clear"],
    );
    assert!(
        !firm
            .server
            .heard()
            .clear
            .iter()
            .any(|c| c.starts_with("AUTH") || c.starts_with("MAIL"))
    );
}

#[test]
fn what_a_server_refuses_or_shouts_is_told_in_plain_letters() {
    for (manners, said) in [
        (Manners::RefusesContent, "REFUSED by the server: 554 looks like junk"),
        (Manners::Shouts, "REFUSED by the server: 550 "),
    ] {
        let plan = Plan {
            manners: vec![manners],
            ..Plan::default()
        };
        let firm = Firm::with(plan, LOGIN);
        let run = firm.mail(&["--send"]).must_end_with(1);
        says(&run.stdout, &[said]);
        assert!(!run.stdout.contains(['\u{1b}', '\u{7}']), "{:?}", run.stdout);
        assert_eq!(firm.states().last().map(String::as_str), Some("refused"));
    }
}

/// Every file of a folder and below, with its bytes.
fn everything(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("a file").path();
        if path.is_dir() {
            found.extend(everything(&path));
        } else {
            let bytes = fs::read(&path).expect("a file");
            found.push((path, bytes));
        }
    }
    found.sort();
    found
}

#[test]
fn a_dry_run_shows_all_and_does_nothing() {
    let firm = Firm::with(Plan::default(), LOGIN);
    let before = everything(firm.copy.company_folder());
    for more in [
        &["--dry-run"][..],
        &["--dry-run", "--send"],
        &["--dry-run", "--drafts", "drafts"],
    ] {
        let run = firm.mail(more).must_end_with(0);
        says(
            &run.stdout,
            &[
                "2026-0420, revision 1, to quality@ansel-fish.example: would be sent through localhost:",
                "(STARTTLS) as office",
                "From: Tern & Tide Hygiene <records@tern-and-tide.example>",
                "To: I. Brandt <quality@ansel-fish.example>",
                "Subject: Certificate of disinfection service: Packing hall, Pier 3",
                "Attached: 2026-0420-certificate.pdf, ",
                "SHA-256 ",
                "For the attention of I. Brandt:",
            ],
        );
        says(&run.stderr, &["nothing was sent and nothing was written"]);
    }
    assert_eq!(before, everything(firm.copy.company_folder()));
    assert_eq!(firm.server.heard().connections, 0);
    // it is told what is wrong with the way to the server, and what was sent
    let run = firm.mail_with("", &["--dry-run"]).must_end_with(0);
    says(&run.stderr, &["could not be sent as it is", "DECANT_TEST_PASSWORD"]);
    firm.mail(&["--send"]).must_end_with(0);
    says(&firm.mail(&["--dry-run"]).must_end_with(0).stdout, &["sent already"]);
}

#[test]
fn drafts_are_the_same_bytes_every_time() {
    let two = "email: [one@ansel-fish.example, two@ansel-fish.example]";
    let firm = Firm::to(two, Plan::default(), LOGIN);
    let drafts = |folder: &str, more: &[&str]| {
        let folder = firm.copy.company_folder().join(folder);
        let name = folder.to_str().expect("a name is text");
        let run = firm.mail(&[&["--drafts", name], more].concat()).must_end_with(0);
        assert_eq!(names(&folder), ["2026-0420-mail-1.eml", "2026-0420-mail-2.eml"]);
        assert_eq!(run.stdout.lines().count(), 2);
        let read = |n| fs::read_to_string(folder.join(format!("2026-0420-mail-{n}.eml"))).expect("a draft");
        [read(1), read(2)]
    };
    let first = drafts("a", &[]);
    assert_eq!(first, drafts("b", &[]));
    assert!(header(&first[0], "Date").is_none());
    assert_eq!(header(&first[0], "X-Unsent").as_deref(), Some("1"));
    let dated = drafts("c", &["--date", "2026-04-21T12:00Z"]);
    assert_eq!(
        header(&dated[0], "Date").as_deref(),
        Some("Tue, 21 Apr 2026 12:00:00 +0000")
    );
    assert_ne!(header(&first[0], "Message-ID"), header(&first[1], "Message-ID"));
    assert_eq!(header(&first[0], "Message-ID"), header(&dated[0], "Message-ID"));
    assert_eq!((firm.server.heard().connections, firm.log().len()), (0, 0));
}

#[test]
fn a_letter_is_in_the_certificates_language() {
    let firm = Firm::with(Plan::default(), "");
    let folder = firm.output.to_str().expect("a name is text");
    for (language, said) in [
        ("es", "A la atenci=C3=B3n de I. Brandt"),
        ("fr", "l'attention de I. Brandt"),
    ] {
        let again = [
            "render",
            "job.yaml",
            "-o",
            folder,
            "--only",
            "certificate",
            "--language",
            language,
        ];
        decant(&firm.copy.folder, again).must_end_with(0);
        firm.mail(&["--drafts", "drafts"]).must_end_with(0);
        let draft = fs::read_to_string(firm.copy.folder.join("drafts/2026-0420-mail.eml")).expect("a draft");
        says(&draft, &[said, &format!("<html lang=3D\"{language}\">")]);
    }
}

#[test]
fn what_a_batch_made_is_found() {
    let firm = Firm::with(Plan::default(), LOGIN);
    let batch = ["batch", "job.yaml", "-o", "all", "--only", "certificate"];
    decant(&firm.copy.folder, batch).must_end_with(0);
    let drafts = |documents: &str| {
        let arguments = ["mail", "job.yaml", "--documents", documents, "--drafts", "drafts"];
        decant(&firm.copy.folder, arguments)
    };
    drafts("all").must_end_with(0);
    // in both places it could be either
    let both = firm.copy.folder.join("all");
    fs::copy(both.join("2026-0420").join(CERTIFICATE), both.join(CERTIFICATE)).expect("copied");
    says(&drafts("all").must_end_with(2).stderr, &["which one is it?"]);
}

/// Runs `mail` where nothing may go out, and says what is told.
#[track_caller]
fn refused(firm: &Firm, code: i32, parts: &[&str]) {
    let run = firm.mail(&["--send"]).must_end_with(code);
    says(&run.stderr, parts);
    assert!(run.stderr.ends_with('\n'));
    assert_eq!(firm.server.heard().connections, 0);
    assert!(firm.log().is_empty());
}

fn change(file: &Path, from: &str, to: &str) {
    let text = fs::read_to_string(file).expect("a file");
    assert!(text.contains(from), "{} no longer holds {from:?}", file.display());
    fs::write(file, text.replacen(from, to, 1)).expect("written");
}

#[test]
fn only_what_is_whole_goes_out() {
    let firm = Firm::with(Plan::default(), LOGIN);
    let (pdf, record) = (firm.output.join(CERTIFICATE), firm.output.join("2026-0420-record.json"));
    let (whole, sound) = (
        fs::read(&pdf).expect("the certificate"),
        fs::read(&record).expect("the record"),
    );
    let mut spoilt = whole.clone();
    let middle = spoilt.len() / 2;
    spoilt[middle] ^= 1;
    fs::write(&pdf, &spoilt).expect("written");
    refused(&firm, 2, &["is not mailed:", "ALTERED"]);
    fs::write(&pdf, &whole[..middle]).expect("written");
    refused(&firm, 2, &["is not mailed:"]);
    fs::write(&pdf, b"%PDF-1.7 nothing").expect("written");
    refused(&firm, 2, &["is not mailed:", "UNREADABLE"]);
    fs::write(&pdf, &sound).expect("written");
    refused(&firm, 2, &["is not mailed:"]);
    fs::write(&pdf, &whole).expect("written");
    fs::write(&record, [&sound[..], b" "].concat()).expect("written");
    refused(&firm, 2, &["another record than 2026-0420-record.json"]);
    fs::remove_file(&record).expect("removed");
    refused(&firm, 2, &["its record 2026-0420-record.json cannot be read"]);
    fs::write(&record, &sound).expect("written");
    fs::write(firm.output.join("2026-0420-certificate-r2.pdf"), &whole).expect("written");
    refused(
        &firm,
        2,
        &[
            "the log gives revision 1",
            "2026-0420-certificate-r2.pdf",
            "of a later one",
        ],
    );
    fs::remove_file(firm.output.join("2026-0420-certificate-r2.pdf")).expect("removed");
    // the log was changed since: the certificate is not of what the job says
    change(&firm.copy.folder.join("applied.yaml"), "1600 ppm", "1500 ppm");
    refused(&firm, 2, &["is not mailed:", "the job gives another record"]);
    change(&firm.copy.folder.join("applied.yaml"), "1500 ppm", "1600 ppm");
    fs::remove_file(&pdf).expect("removed");
    refused(&firm, 2, &["there is no 2026-0420-certificate.pdf in", "--documents"]);
    fs::write(&pdf, &whole).expect("written");
    firm.mail(&["--send"]).must_end_with(0);
}

#[test]
fn what_is_withheld_or_a_draft_is_never_mailed() {
    let firm = Firm::with(Plan::default(), LOGIN);
    let folder = firm.output.to_str().expect("a name is text");
    decant(
        &firm.copy.folder,
        ["render", "job.yaml", "-o", folder, "--only", "certificate", "--draft"],
    );
    refused(&firm, 2, &["is not mailed:", "it is a draft"]);
    firm.copy.change_job("applied: applied.yaml", "");
    refused(&firm, 3, &["is withheld, and nothing is mailed in its place"]);
}

#[test]
fn a_later_revision_is_a_new_message_and_an_unmarked_change_is_none() {
    let firm = Firm::with(Plan::default(), LOGIN);
    firm.mail(&["--send"]).must_end_with(0);
    let folder = firm.output.to_str().expect("a name is text");
    let render = |code| {
        decant(
            &firm.copy.folder,
            ["render", "job.yaml", "-o", folder, "--only", "certificate"],
        )
        .must_end_with(code)
    };
    let log = firm.copy.folder.join("applied.yaml");
    let first = fs::read(firm.output.join("2026-0420-record.json")).expect("the record");
    change(&log, "1600 ppm", "1500 ppm");
    render(0);
    let run = firm.mail(&["--send"]).must_end_with(1);
    says(
        &run.stdout,
        &[
            "NOT SENT: this revision was sent with another record",
            "needs a new revision",
        ],
    );
    fs::write(firm.output.join("2026-0420-record.json"), &first).expect("written");
    let digest: String = Sha256::digest(&first)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect();
    let text = fs::read_to_string(&log).expect("the log");
    fs::write(&log, format!("revision: 2\nreplaces: {digest}\n{text}")).expect("written");
    render(0);
    let run = firm.mail(&["--send"]).must_end_with(0);
    says(
        &run.stdout,
        &["2026-0420, revision 2, to quality@ansel-fish.example: sent (250"],
    );
    let heard = firm.server.heard();
    assert_eq!(heard.taken.len(), 2);
    let [one, two] = [&heard.taken[0].content, &heard.taken[1].content];
    assert!(header(two, "Subject").is_some_and(|s| s.contains("revision 2")));
    assert_ne!(header(one, "Message-ID"), header(two, "Message-ID"));
    says(
        two,
        &[
            "2026-0420-certificate-r2.pdf",
            "takes the place of every earlier certificate",
        ],
    );
}

#[test]
fn a_bad_address_or_name_is_told_at_its_line() {
    for (email, parts) in [
        (
            "email: quality",
            &[
                "`quality` is not an e-mail address: there is no `@` in it",
                "job.yaml:3:",
                "client.email",
            ][..],
        ),
        (
            "email: \"a@b.example\\r\\nBcc: c@d.example\"",
            &["is not an e-mail address", "client.email"],
        ),
        (
            "email: \"quality\\u202E@ansel-fish.example\"",
            &["U+202E", "client.email"],
        ),
        (
            "email: [a@b.example, A@B.example]",
            &["stands here twice", "client.email[1]"],
        ),
        ("email: a@b.example\\0", &["client.email"]),
    ] {
        let firm = Firm::with(Plan::default(), LOGIN);
        firm.copy.change_job("email: quality@ansel-fish.example", email);
        refused(&firm, 2, parts);
    }
    // a line's end in a name is a space, as everywhere; it ends no header
    let firm = Firm::with(Plan::default(), LOGIN);
    firm.copy.change_job(
        "contact: I. Brandt",
        "contact: \"I. Brandt\\r\\nBcc: spy@evil.example\"",
    );
    let folder = firm.output.to_str().expect("a name is text");
    decant(
        &firm.copy.folder,
        ["render", "job.yaml", "-o", folder, "--only", "certificate"],
    )
    .must_end_with(0);
    firm.mail(&["--send"]).must_end_with(0);
    let heard = firm.server.heard();
    let message = &heard.taken[0];
    assert_eq!(message.to, [format!("<{ADDRESS}>")]);
    assert!(header(&message.content, "Bcc").is_none());
    assert!(!heard.secret.iter().any(|command| command.contains("spy@")));
}

#[test]
fn what_is_too_large_is_told_before_anything_is_sent() {
    let firm = Firm::with(Plan::default(), &format!("{LOGIN}, largest_message: 100 kB"));
    refused(
        &firm,
        2,
        &[
            "job 2026-0420 is not mailed: the message would have 1",
            "at most 100 kB",
            "`largest_message`",
        ],
    );
}

#[test]
fn what_is_missing_is_told() {
    let firm = Firm::with(Plan::default(), LOGIN);
    let run = firm.mail(&[]).must_end_with(2);
    says(&run.stderr, &["--drafts <DIR>", "--send", "--dry-run"]);
    let run = firm.mail(&["--send", "job.yaml"]).must_end_with(2);
    says(&run.stderr, &["the job 2026-0420 is named twice"]);
    firm.copy.change_job(", email: quality@ansel-fish.example", "");
    refused(&firm, 2, &["the client has no `email`", "job.yaml:3:"]);
    firm.copy.set_company("mail: { from: records@tern-and-tide.example }");
    firm.copy.change_job(
        "contact: I. Brandt",
        "contact: I. Brandt, email: quality@ansel-fish.example",
    );
    refused(&firm, 2, &["`server` is missing here", "--drafts DIR"]);
    firm.copy.set_company("mail:");
    refused(&firm, 2, &["`mail` is missing here", "company.yaml"]);
}

#[test]
fn a_bad_job_stops_no_other() {
    let firm = Firm::with(Plan::default(), LOGIN);
    fs::write(firm.copy.folder.join("broken.yaml"), "job: 1\n").expect("written");
    let output = firm.output.to_str().expect("a name is text");
    let arguments = ["mail", "broken.yaml", "job.yaml", "--documents", output, "--send"];
    let mut command = Command::new(env!("CARGO_BIN_EXE_decant"));
    let run = command
        .current_dir(&firm.copy.folder)
        .args(arguments.iter().map(OsStr::new))
        .env("DECANT_TEST_PASSWORD", PASSWORD)
        .output()
        .expect("the program starts");
    assert_eq!(run.status.code(), Some(1));
    says(&String::from_utf8_lossy(&run.stdout), &["sent (250"]);
    says(&String::from_utf8_lossy(&run.stderr), &["broken.yaml"]);
}

#[test]
fn the_log_is_the_owners_alone_and_lies_where_it_is_said() {
    use std::os::unix::fs::PermissionsExt;
    let firm = Firm::with(Plan::default(), &format!("{LOGIN}, log: sent.jsonl"));
    firm.mail(&["--send"]).must_end_with(0);
    let file = firm.copy.company_folder().join("sent.jsonl");
    assert_eq!(
        fs::metadata(&file).expect("the log").permissions().mode() & 0o777,
        0o600
    );
    assert!(!firm.log_file().exists());
    let other = firm.copy.company_folder().join("other.jsonl");
    let run = firm
        .mail(&["--send", "--log", other.to_str().expect("a name is text")])
        .must_end_with(0);
    says(&run.stdout, &["sent (250"]);
    let run = firm.mail(&["--send", "--log", "nowhere/log.jsonl"]).must_end_with(1);
    says(&run.stderr, &["the send log nowhere/log.jsonl"]);
    assert_eq!(firm.server.heard().taken.len(), 2);
}
