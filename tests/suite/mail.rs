//! Certificates by mail: each to each address once, whatever the server does.

use std::ffi::OsStr;
use std::fs;
use std::process::{Command, Stdio};
use std::time::Duration;

use sha2::{Digest, Sha256};

use crate::support::firm::{ADDRESS, CERTIFICATE, Firm, LOGIN, attachment, change, header, says};
use crate::support::program::decant;
use crate::support::smtp::{Manners, PASSWORD, Plan};
use crate::support::workspace::{read, read_bytes, remove, write};

#[test]
fn a_certificate_goes_once_with_its_bytes() {
    for tls in [false, true] {
        let security = if tls { ", security: tls" } else { ", security: starttls" };
        let plan = Plan { tls, ..Plan::default() };
        let firm = Firm::with(plan, &format!("{LOGIN}{security}, reply_to: office@tern-and-tide.example"));
        let run = firm.mail(&["--send", "--date", "2026-04-21T08:00-04:00"]).must_end_with(0);
        assert_eq!(run.stdout, format!("2026-0420, revision 1, to {ADDRESS}: sent (250 taken as 4711)\n"));
        let heard = firm.server.heard();
        assert_eq!(heard.taken.len(), 1);
        assert_eq!(heard.taken[0].to, [format!("<{ADDRESS}>")]);
        let message = &heard.taken[0].content;
        assert_eq!(header(message, "Date").as_deref(), Some("Tue, 21 Apr 2026 12:00:00 +0000"));
        assert!(header(message, "X-Unsent").is_none());
        assert!(header(message, "Reply-To").is_some_and(|to| to.ends_with("<office@tern-and-tide.example>")));
        let certificate = read_bytes(firm.output.join(CERTIFICATE));
        assert!(attachment(message) == certificate, "the attachment is not the certificate");
        // in the clear there was nothing but the wish for encryption
        let clear: Vec<&str> = heard.clear.iter().map(|c| &c[..4]).collect();
        assert_eq!(clear, if tls { vec![] } else { vec!["EHLO", "STAR"] });
        assert_eq!(firm.states(), ["sending", "sent"]);
        let record = read_bytes(firm.output.join("2026-0420-record.json"));
        let digest: String = Sha256::digest(record).iter().map(|byte| format!("{byte:02x}")).collect();
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
    let plan = Plan { refused: vec!["two@"], ..Plan::default() };
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
        assert_eq!((taken.to.len(), taken.content.matches("@ansel-fish.example>").count()), (1, 1));
    }
    assert_eq!(firm.states(), ["sending", "sent", "refused", "sending", "sent"]);
    // the next run tries the refused one alone
    firm.mail(&["--send"]).must_end_with(1);
    assert_eq!(firm.server.heard().taken.len(), 2);
}

#[test]
fn a_server_that_dies_in_the_middle_leaves_it_unknown_and_the_rest_goes_on() {
    for death in [Manners::DiesInContent, Manners::DiesBeforeAnswer] {
        let plan = Plan { manners: vec![death, Manners::Good], ..Plan::default() };
        let two = "email: [one@ansel-fish.example, two@ansel-fish.example]";
        let firm = Firm::to(two, plan, LOGIN);
        let run = firm.mail(&["--send"]).must_end_with(1);
        says(
            &run.stdout,
            &["to one@ansel-fish.example: UNKNOWN whether it was sent: ", "to two@ansel-fish.example: sent (250"],
        );
        says(&run.stderr, &["--resend NUMBER ADDRESS"]);
        assert_eq!(firm.states(), ["sending", "unknown", "sending", "sent"]);
        let heard = firm.server.heard().taken.len();
        let run = firm.mail(&["--send"]).must_end_with(1);
        says(&run.stdout, &["one@ansel-fish.example: UNKNOWN whether it was sent, ", "not sent again"]);
        assert_eq!(firm.server.heard().taken.len(), heard);
        // another one, or one that was sent, cannot be named
        for (job, to, said) in [
            ("2026-0420", "two@ansel-fish.example", "a revision goes to an address once"),
            ("2026-0420", "three@ansel-fish.example", "is at hand"),
            ("2026-0421", "one@ansel-fish.example", "is at hand"),
            ("2026-0420", "one", "not an e-mail address"),
        ] {
            let run = firm.mail(&["--send", "--resend", job, to]).must_end_with(2);
            says(&run.stderr, &[said]);
        }
        assert_eq!(firm.server.heard().taken.len(), heard);
        firm.mail(&["--send", "--resend", "2026-0420", "ONE@ansel-fish.example"]).must_end_with(0);
        assert_eq!(firm.server.heard().taken.len(), heard + 1);
        firm.mail(&["--send"]).must_end_with(0);
    }
}

#[test]
fn a_run_that_was_killed_in_the_middle_is_told_and_nothing_is_sent_twice() {
    let firm = Firm::with(Plan::default(), LOGIN);
    firm.mail(&["--send"]).must_end_with(0);
    let whole = read(firm.log_file());
    let lines: Vec<&str> = whole.split_inclusive('\n').collect();
    // killed before the last line, in the middle of it, or of the one before
    for (kept, said, code) in [
        (format!("{}{}", lines[0], lines[1]), "UNKNOWN", 1),
        (format!("{}{}{}", lines[0], lines[1], &lines[2][..20]), "UNKNOWN", 1),
        (format!("{}{}", lines[0], &lines[1][..30]), "sent (250", 0),
    ] {
        write(firm.log_file(), kept);
        // a run that was killed has not noted the end of what it did not write
        remove(firm.log_file().with_extension("jsonl.end"));
        let run = firm.mail(&["--send"]).must_end_with(code);
        says(&run.stdout, &[said]);
    }
    // what somebody changed is relied on by nobody
    write(firm.log_file(), whole.replace("sending", "seeding"));
    let before = firm.server.heard().connections;
    let run = firm.mail(&["--send"]).must_end_with(1);
    says(&run.stderr, &["line 2 of ", "is no line of a send log"]);
    assert_eq!(firm.server.heard().connections, before);
}

#[test]
fn a_run_that_is_killed_while_the_server_thinks_leaves_it_unknown() {
    let plan = Plan { manners: vec![Manners::Silent, Manners::Good], ..Plan::default() };
    let firm = Firm::with(plan, LOGIN);
    let mut command = firm.command(PASSWORD, &["--send"]);
    let mut run = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().expect("the program starts");
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
    firm.mail(&["--send", "--resend", "2026-0420", ADDRESS]).must_end_with(0);
    assert_eq!(firm.states(), ["sending", "sending", "sent"]);
}

#[test]
fn two_runs_at_once_send_once() {
    let firm = Firm::with(Plan::default(), LOGIN);
    let start = |_| {
        let mut command = firm.command(PASSWORD, &["--send"]);
        command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("the program starts")
    };
    let runs: Vec<_> = (0..4).map(start).collect();
    for run in runs {
        let output = run.wait_with_output().expect("it ends");
        let reported = String::from_utf8_lossy(&output.stderr).into_owned();
        match output.status.code() {
            Some(0) => {}
            _ => says(&reported, &["another run is sending with the log"]),
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
    let plan = Plan { manners: vec![Manners::Babbles], ..Plan::default() };
    let firm = Firm::with(plan, LOGIN);
    let run = firm.mail(&["--send"]).must_end_with(1);
    says(&run.stdout, &["535 no, … is not your password"]);
    let log = read(firm.log_file());
    assert!(!format!("{}{}{log}", run.stdout, run.stderr).contains(PASSWORD));
    let run = firm.mail_with("", &["--send"]).must_end_with(2);
    says(&run.stderr, &["`DECANT_TEST_PASSWORD`", "company.yaml:", "nothing was sent"]);
}

#[test]
fn a_password_file_that_others_can_read_is_refused() {
    use std::os::unix::fs::PermissionsExt;
    let firm = Firm::with(Plan::default(), ", user: office, password_file: secret");
    let file = firm.copy.company_folder().join("secret");
    write(&file, format!("{PASSWORD}\n"));
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
        let plan = Plan { tls, name: "elsewhere.example", ..Plan::default() };
        let security = if tls { ", security: tls" } else { "" };
        let firm = Firm::with(plan, &format!("{LOGIN}{security}"));
        let run = firm.mail(&["--send"]).must_end_with(1);
        says(&run.stdout, &["NOT SENT: the certificate of the server localhost:", "is not accepted: "]);
        assert!(firm.server.heard().secret.is_empty() && firm.log().is_empty());
    }
    // an authority that nobody trusts
    let firm = Firm::with(Plan::default(), LOGIN);
    let company = firm.copy.company_folder().join("company.yaml");
    let text = read(&company);
    let named = format!(", ca_file: {}", firm.server.ca.display());
    assert!(text.contains(&named));
    write(&company, text.replace(&named, ""));
    let run = firm.mail(&["--send"]).must_end_with(1);
    says(&run.stdout, &["is not accepted: UnknownIssuer"]);
    assert!(firm.server.heard().secret.is_empty());
    // no encryption at all
    let plan = Plan { manners: vec![Manners::NoStartTls], ..Plan::default() };
    let firm = Firm::with(plan, LOGIN);
    let run = firm.mail(&["--send"]).must_end_with(1);
    says(&run.stdout, &["does not offer STARTTLS, and nothing goes to it in the clear"]);
    assert!(!firm.server.heard().clear.iter().any(|c| c.starts_with("AUTH") || c.starts_with("MAIL")));
}

#[test]
fn what_a_server_refuses_or_shouts_is_told_in_plain_letters() {
    for (manners, said) in [
        (Manners::RefusesContent, "REFUSED by the server: 554 looks like junk"),
        (Manners::Shouts, "REFUSED by the server: 550 "),
    ] {
        let plan = Plan { manners: vec![manners], ..Plan::default() };
        let firm = Firm::with(plan, LOGIN);
        let run = firm.mail(&["--send"]).must_end_with(1);
        says(&run.stdout, &[said]);
        assert!(!run.stdout.contains(['\u{1b}', '\u{7}']), "{:?}", run.stdout);
        assert_eq!(firm.states().last().map(String::as_str), Some("refused"));
    }
}

#[test]
fn a_later_revision_is_a_new_message_and_an_unmarked_change_is_none() {
    let firm = Firm::with(Plan::default(), LOGIN);
    firm.mail(&["--send"]).must_end_with(0);
    let folder = firm.output.to_str().expect("a name is text");
    let render = |code| {
        decant(&firm.copy.folder, ["render", "job.yaml", "-o", folder, "--only", "certificate"]).must_end_with(code)
    };
    let log = firm.copy.folder.join("log.yaml");
    let first = read_bytes(firm.output.join("2026-0420-record.json"));
    change(&log, "1600 ppm", "1600 to 3200 ppm");
    // what was sent is never written over
    render(1);
    firm.mail(&["--send"]).must_end_with(2);
    // where somebody puts another one in its place, the send log knows
    let sent = firm.copy.folder.join("sent");
    fs::rename(&firm.output, &sent).expect("renamed");
    render(0);
    let run = firm.mail(&["--send"]).must_end_with(1);
    says(&run.stdout, &["NOT SENT: this revision was sent with another record", "needs a new revision"]);
    fs::remove_dir_all(&firm.output).expect("removed");
    fs::rename(&sent, &firm.output).expect("put back");
    let digest: String = Sha256::digest(&first).iter().map(|byte| format!("{byte:02x}")).collect();
    let text = read(&log);
    write(&log, format!("revision: 2\nreplaces: {digest}\n{text}"));
    render(0);
    let run = firm.mail(&["--send"]).must_end_with(0);
    says(&run.stdout, &["2026-0420, revision 2, to quality@ansel-fish.example: sent (250"]);
    let heard = firm.server.heard();
    assert_eq!(heard.taken.len(), 2);
    let [one, two] = [&heard.taken[0].content, &heard.taken[1].content];
    assert!(header(two, "Subject").is_some_and(|s| s.contains("revision 2")));
    assert_ne!(header(one, "Message-ID"), header(two, "Message-ID"));
    says(two, &["2026-0420-certificate-r2.pdf", "takes the place of every earlier certificate"]);
}

#[test]
fn a_bad_job_stops_no_other() {
    let firm = Firm::with(Plan::default(), LOGIN);
    write(firm.copy.folder.join("broken.yaml"), "job: 1\n");
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
    assert_eq!(fs::metadata(&file).expect("the log").permissions().mode() & 0o777, 0o600);
    assert!(!firm.log_file().exists());
    let other = firm.copy.company_folder().join("other.jsonl");
    let run = firm.mail(&["--send", "--log", other.to_str().expect("a name is text")]).must_end_with(0);
    says(&run.stdout, &["sent (250"]);
    let run = firm.mail(&["--send", "--log", "nowhere/log.jsonl"]).must_end_with(1);
    says(&run.stderr, &["the send log nowhere/log.jsonl"]);
    assert_eq!(firm.server.heard().taken.len(), 2);
}

/// Head office gets one message a night or a week, the site one for each certificate.
#[test]
fn certificates_of_a_night_or_a_week_go_in_one_message() {
    let clients = "email: [head@ansel-fish.example], certificates: night";
    let firm = Firm::to(clients, Plan::default(), LOGIN);
    firm.copy.change_job("site:", "site:\n  email: hall@ansel-fish.example");
    let second = read(firm.copy.folder.join("job.yaml")).replace("job: 2026-0420", "job: 2026-0421");
    write(firm.copy.folder.join("second.yaml"), second);
    let output = firm.output.to_str().expect("a name is text");
    decant(&firm.copy.folder, ["render", "second.yaml", "-o", output, "--only", "certificate"]).must_end_with(0);

    let run = firm.mail(&["second.yaml", "--send"]).must_end_with(0);
    assert_eq!(run.stdout.matches(": sent (250").count(), 4, "{}", run.stdout);
    let taken = firm.server.heard().taken;
    let to = |address: &str| taken.iter().filter(|t| t.to == [format!("<{address}>")]).collect::<Vec<_>>();
    let (head, hall) = (to("head@ansel-fish.example"), to("hall@ansel-fish.example"));
    assert_eq!((head.len(), hall.len()), (1, 2));
    for file in [CERTIFICATE, "2026-0421-certificate.pdf"] {
        assert!(head[0].content.contains(&format!("filename=\"{file}\"")), "{file} is attached");
    }
    says(&header(&head[0].content, "Subject").expect("a subject"), &["2 certificates: "]);
    // both stand in the log, and nothing goes twice
    let of_head: Vec<_> = firm.log().into_iter().filter(|line| line["to"] == "head@ansel-fish.example").collect();
    let told: Vec<_> = of_head.iter().map(|line| (line["job"].clone(), line["state"].clone())).collect();
    assert_eq!(
        told,
        [("2026-0420", "sending"), ("2026-0421", "sending"), ("2026-0420", "sent"), ("2026-0421", "sent")]
            .map(|(j, s)| (j.into(), s.into()))
    );
    let run = firm.mail(&["second.yaml", "--send"]).must_end_with(0);
    assert_eq!(run.stdout.matches("sent already, ").count(), 4, "{}", run.stdout);
    assert_eq!(firm.server.heard().taken.len(), 3);

    // a week's message waits for its Monday: 20 April 2026 is one
    let firm = Firm::to("email: [head@ansel-fish.example], certificates: week", Plan::default(), LOGIN);
    let run = firm.mail(&["--send", "--date", "2026-04-26T23:00Z"]).must_end_with(0);
    says(
        &run.stdout,
        &["2026-0420, revision 1, to head@", ": waits for its week's message, which goes from 2026-04-27"],
    );
    assert!(firm.server.heard().taken.is_empty() && firm.log().is_empty());
    let run = firm.mail(&["--send", "--date", "2026-04-27T12:00Z"]).must_end_with(0);
    says(&run.stdout, &[": sent (250"]);
}
