//! What is mailed: whole and newest certificates alone, in letters that hold what they should, and nothing else.

use std::fs;
use std::path::{Path, PathBuf};

use crate::support::firm::{ADDRESS, CERTIFICATE, Firm, LOGIN, change, header, says};
use crate::support::program::decant;
use crate::support::smtp::Plan;
use crate::support::workspace::{copy_file, names, read, read_bytes, remove, write};

/// Every file of a folder and below, with its bytes.
fn everything(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("a file").path();
        if path.is_dir() {
            found.extend(everything(&path));
        } else {
            let bytes = read_bytes(&path);
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
    for more in [&["--dry-run"][..], &["--dry-run", "--send"], &["--dry-run", "--drafts", "drafts"]] {
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
        let read = |n| read(folder.join(format!("2026-0420-mail-{n}.eml")));
        [read(1), read(2)]
    };
    let first = drafts("a", &[]);
    assert_eq!(first, drafts("b", &[]));
    assert!(header(&first[0], "Date").is_none());
    assert_eq!(header(&first[0], "X-Unsent").as_deref(), Some("1"));
    let dated = drafts("c", &["--date", "2026-04-21T12:00Z"]);
    assert_eq!(header(&dated[0], "Date").as_deref(), Some("Tue, 21 Apr 2026 12:00:00 +0000"));
    assert_ne!(header(&first[0], "Message-ID"), header(&first[1], "Message-ID"));
    assert_eq!(header(&first[0], "Message-ID"), header(&dated[0], "Message-ID"));
    assert_eq!((firm.server.heard().connections, firm.log().len()), (0, 0));
}

#[test]
fn a_letter_is_in_the_certificates_language() {
    let firm = Firm::with(Plan::default(), "");
    let folder = firm.output.to_str().expect("a name is text");
    for (language, said) in [("es", "A la atenci=C3=B3n de I. Brandt"), ("fr", "l'attention de I. Brandt")] {
        let again =
            ["render", "job.yaml", "-o", folder, "--only", "certificate", "--replace-draft", "--language", language];
        decant(&firm.copy.folder, again).must_end_with(0);
        firm.mail(&["--drafts", "drafts"]).must_end_with(0);
        let draft = read(firm.copy.folder.join("drafts/2026-0420-mail.eml"));
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
    copy_file(both.join("2026-0420").join(CERTIFICATE), both.join(CERTIFICATE));
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

#[test]
fn only_what_is_whole_goes_out() {
    let firm = Firm::with(Plan::default(), LOGIN);
    let (pdf, record) = (firm.output.join(CERTIFICATE), firm.output.join("2026-0420-record.json"));
    let (whole, sound) = (read_bytes(&pdf), read_bytes(&record));
    let mut spoilt = whole.clone();
    let middle = spoilt.len() / 2;
    spoilt[middle] ^= 1;
    write(&pdf, &spoilt);
    refused(&firm, 2, &["is not mailed:", "ALTERED"]);
    write(&pdf, &whole[..middle]);
    refused(&firm, 2, &["is not mailed:"]);
    write(&pdf, b"%PDF-1.7 nothing");
    refused(&firm, 2, &["is not mailed:", "UNREADABLE"]);
    write(&pdf, &sound);
    refused(&firm, 2, &["is not mailed:"]);
    write(&pdf, &whole);
    write(&record, [&sound[..], b" "].concat());
    refused(&firm, 2, &["another record than 2026-0420-record.json"]);
    remove(&record);
    refused(&firm, 2, &["its record 2026-0420-record.json cannot be read"]);
    write(&record, &sound);
    write(firm.output.join("2026-0420-certificate-r2.pdf"), &whole);
    refused(&firm, 2, &["the log gives revision 1", "2026-0420-certificate-r2.pdf", "of a later one"]);
    remove(firm.output.join("2026-0420-certificate-r2.pdf"));
    // the log was changed since: the certificate is not of what the job says
    change(&firm.copy.folder.join("log.yaml"), "1600 ppm", "1600 to 3200 ppm");
    refused(&firm, 2, &["is not mailed:", "the job gives another record"]);
    change(&firm.copy.folder.join("log.yaml"), "1600 to 3200 ppm", "1600 ppm");
    remove(&pdf);
    refused(&firm, 2, &["there is no 2026-0420-certificate.pdf in", "--documents"]);
    write(&pdf, &whole);
    firm.mail(&["--send"]).must_end_with(0);
}

#[test]
fn what_is_withheld_or_a_draft_is_never_mailed() {
    let firm = Firm::with(Plan::default(), LOGIN);
    let folder = firm.output.to_str().expect("a name is text");
    decant(
        &firm.copy.folder,
        ["render", "job.yaml", "-o", folder, "--only", "certificate", "--draft", "--replace-draft"],
    );
    refused(&firm, 2, &["is not mailed:", "it is a draft"]);
    firm.copy.change_job("log: log.yaml", "");
    refused(&firm, 3, &["2026-0420: no service log yet, and nothing is mailed"]);
}

#[test]
fn a_bad_address_or_name_is_told_at_its_line() {
    for (email, parts) in [
        (
            "email: quality",
            &["`quality` is not an e-mail address: there is no `@` in it", "job.yaml:3:", "client.email"][..],
        ),
        ("email: \"a@b.example\\r\\nBcc: c@d.example\"", &["is not an e-mail address", "client.email"]),
        ("email: \"quality\\u202E@ansel-fish.example\"", &["U+202E", "client.email"]),
        ("email: [a@b.example, A@B.example]", &["stands here twice", "client.email[1]"]),
        ("email: a@b.example\\0", &["client.email"]),
    ] {
        let firm = Firm::with(Plan::default(), LOGIN);
        firm.copy.change_job("email: quality@ansel-fish.example", email);
        refused(&firm, 2, parts);
    }
    // a line's end in a name is a space, as everywhere; it ends no header
    let firm = Firm::with(Plan::default(), LOGIN);
    firm.copy.change_job("contact: I. Brandt", "contact: \"I. Brandt\\r\\nBcc: spy@evil.example\"");
    let folder = firm.output.to_str().expect("a name is text");
    decant(&firm.copy.folder, ["render", "job.yaml", "-o", folder, "--only", "certificate", "--replace-draft"])
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
        &["job 2026-0420 is not mailed: the message would have 1", "at most 100 kB", "`largest_message`"],
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
    refused(&firm, 2, &["neither the client nor the site has an `email`", "job.yaml:3:"]);
    firm.copy.set_company("mail: { from: records@tern-and-tide.example }");
    firm.copy.change_job("contact: I. Brandt", "contact: I. Brandt, email: quality@ansel-fish.example");
    refused(&firm, 2, &["`server` is missing here", "--drafts DIR"]);
    firm.copy.set_company("mail:");
    refused(&firm, 2, &["`mail` is missing here", "company.yaml"]);
}
