//! Streams that end early, disks that are full, and names that nothing should be written under.

#![cfg(target_os = "linux")]

use std::fs::{self, File};
use std::io::{BufRead, BufReader};
use std::os::unix::fs::{FileTypeExt, PermissionsExt, symlink};
use std::os::unix::net::UnixListener;
use std::path::Path;
use std::process::{Command, Stdio};

use crate::support::program::decant;
use crate::support::workspace::{Copy, make_folder, names, read, remove, root, write};

/// Every command that prints, in a copy of a sample whose documents are in `out`; each with its exit code, and whether it prints
/// data when all goes well.
const COMMANDS: &[(&[&str], i32, bool)] = &[
    (&["--help"], 0, true),
    (&["plan", "job.yaml"], 0, true),
    (&["plan", "job.yaml", "--json"], 0, true),
    (&["plan", "missing.yaml"], 2, false),
    (&["explain"], 0, true),
    (&["explain", "rewet"], 0, true),
    (&["schema"], 0, true),
    (&["data", "job.yaml", "mix-sheet"], 0, true),
    (&["render", "job.yaml", "-o", "out"], 0, true),
    (&["batch", "job.yaml", "-o", "batch", "--workers", "1"], 0, true),
    (&["merge", "batch", "-o", "merged"], 0, true),
    (&["labels", "job.yaml", "-o", "run.pdf"], 0, true),
    (&["load-out", "job.yaml", "-o", "van.pdf"], 0, true),
    (&["page", "job.yaml", "-o", "site"], 0, true),
    (&["register", "out", "-o", "register"], 0, true),
    (&["service-report", "job.yaml", "-o", "report"], 0, true),
    (&["test-print", "sheet-4x2", "--company", "../company.yaml", "-o", "test.pdf"], 0, true),
    (&["verify", "out"], 0, true),
    (&["mail", "job.yaml", "--drafts", "drafts"], 0, true),
    (&["mail", "job.yaml", "--dry-run"], 0, true),
    (&["expand", "contract.yaml", "-o", "jobs"], 2, false),
];

fn program(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_decant"));
    command.current_dir(folder).args(arguments);
    command
}

/// A sample with its documents, and with mail.
fn firm() -> Copy {
    let copy = Copy::of("fish-hall");
    copy.set_company("mail: { from: office@firm.example }");
    decant(&copy.folder, ["render", "job.yaml", "-o", "out"]).must_end_with(0);
    copy
}

#[test]
fn a_reader_that_goes_away_is_no_fault() {
    let copy = firm();
    for (arguments, code, _) in COMMANDS {
        for which in ["stdout", "stderr", "both"] {
            let (reader, writer) = std::io::pipe().expect("a pipe");
            drop(reader);
            let mut command = program(&copy.folder, arguments);
            match which {
                "stdout" => command.stdout(writer).stderr(Stdio::piped()),
                "stderr" => command.stdout(Stdio::piped()).stderr(writer),
                _ => command.stdout(writer.try_clone().expect("a pipe")).stderr(writer),
            };
            let run = command.output().expect("the program runs");
            let reported = String::from_utf8_lossy(&run.stderr);
            assert_eq!(run.status.code(), Some(*code), "{arguments:?}, {which}: {reported}");
            for part in ["panicked", "fault of the program", "Broken pipe", "stopped at"] {
                assert!(!reported.contains(part), "{arguments:?}, {which}: {reported}");
            }
        }
    }
    // what the command is for was done all the same
    for file in ["run.pdf", "van.pdf", "test.pdf", "site/index.html", "register/register.pdf", "batch/manifest.json"] {
        assert!(copy.folder.join(file).is_file(), "{file}");
    }
}

#[test]
fn the_first_lines_of_messages_are_enough_for_a_reader() {
    let copy = Copy::of("fish-hall");
    let many: String = (0..3000).map(|i| format!("key{i}: x\n")).collect();
    write(copy.folder.join("errors.yaml"), many);
    let (reader, writer) = std::io::pipe().expect("a pipe");
    let mut child = program(&copy.folder, &["plan", "errors.yaml"])
        .stdout(writer.try_clone().expect("a pipe"))
        .stderr(writer)
        .spawn()
        .expect("the program starts");
    let mut lines = BufReader::new(reader).lines();
    let first: Vec<String> = lines.by_ref().take(2).map(|line| line.expect("text")).collect();
    assert!(first[0].starts_with("error["), "{first:?}");
    drop(lines);
    assert_eq!(child.wait().expect("it ends").code(), Some(2));
}

#[test]
fn a_full_disk_behind_standard_output_is_said_to_be_full() {
    let copy = firm();
    for (arguments, code, prints) in COMMANDS {
        let full = File::options().write(true).open("/dev/full").expect("/dev/full");
        let run = program(&copy.folder, arguments).stdout(full).output().expect("the program runs");
        let reported = String::from_utf8_lossy(&run.stderr);
        let wanted = if *prints { 1 } else { *code };
        assert_eq!(run.status.code(), Some(wanted), "{arguments:?}: {reported}");
        assert_eq!(
            reported.contains("cannot write to standard output: the disk is full"),
            *prints,
            "{arguments:?}: {reported}"
        );
        assert!(
            !reported.contains("fault of the program") && !reported.contains("stopped at"),
            "{arguments:?}: {reported}"
        );
    }
    // messages that cannot be written are something that failed too
    let full = File::options().write(true).open("/dev/full").expect("/dev/full");
    let run = program(&copy.folder, &["mail", "job.yaml", "--dry-run"]).stderr(full).output();
    assert_eq!(run.expect("the program runs").status.code(), Some(1));
}

#[test]
fn a_full_disk_has_one_exit_code_whatever_is_written() {
    let copy = firm();
    copy.set_company("signing_key: company.key");
    let key = ["key", "--company", "../company.yaml"];
    let writing = COMMANDS.iter().filter(|(arguments, code, _)| {
        let writes = arguments.contains(&"-o") || arguments.contains(&"--drafts");
        *code == 0 && writes && arguments[0] != "merge"
    });
    for arguments in [&key[..]].into_iter().chain(writing.map(|(arguments, ..)| *arguments)) {
        let run = program(&copy.folder, arguments).env("DECANT_TEST_FULL_AT", "1").output().expect("the program runs");
        let reported = String::from_utf8_lossy(&run.stderr);
        assert_eq!(run.status.code(), Some(1), "{arguments:?}: {reported}");
        assert!(reported.contains("the disk is full"), "{arguments:?}: {reported}");
        assert!(!reported.contains("nothing was written"), "{arguments:?}: {reported}");
        if arguments[0] == "key" {
            assert!(!copy.company_folder().join("company.key").exists());
            copy.set_company("signing_key:");
        }
    }
}

#[test]
fn nothing_was_written_is_said_where_it_is_true_alone() {
    let copy = Copy::of("fish-hall");
    write(copy.folder.join("bad.yaml"), "job: x\nwat: 1\n");
    for (arguments, said) in [
        (&["render", "bad.yaml", "-o", "out"][..], true),
        (&["labels", "job.yaml", "bad.yaml", "-o", "run.pdf"], true),
        (&["page", "bad.yaml", "-o", "site"], true),
        (&["plan", "bad.yaml"], false),
        (&["data", "bad.yaml", "labels"], false),
        (&["verify", "job.yaml", "--job", "bad.yaml"], false),
        (&["batch", "bad.yaml", "-o", "batch"], false),
        (&["mail", "bad.yaml", "--dry-run"], false),
    ] {
        let run = decant(&copy.folder, arguments).must_end_with(2);
        assert_eq!(run.stderr.contains("; nothing was written"), said, "{arguments:?}: {}", run.stderr);
        assert!(run.stderr.contains("problems found"), "{arguments:?}: {}", run.stderr);
    }
    for name in ["out", "run.pdf", "site"] {
        assert!(!copy.folder.join(name).exists(), "{name}");
    }
}

#[test]
fn an_output_folder_that_is_a_file_is_told_once_and_first() {
    let copy = firm();
    write(copy.folder.join("file"), "mine");
    write(copy.folder.join("bad.yaml"), "job: x\nwat: 1\n");
    for command in ["render", "batch", "page", "service-report", "register", "expand"] {
        for into in ["file", "file/below"] {
            // the input is wrong too, which is not even looked at
            let run = decant(&copy.folder, [command, "bad.yaml", "-o", into]).must_end_with(2);
            assert_eq!(run.stdout, "");
            assert_eq!(
                run.stderr,
                format!(
                    "error: cannot write into {into}: `file` is a file, not a folder\n  = name another folder with `-o`\n"
                )
            );
        }
    }
    for arguments in [
        &["merge", "out", "-o", "file"][..],
        &["mail", "job.yaml", "--drafts", "file"],
        &["labels", "job.yaml", "-o", "file/run.pdf"],
        &["load-out", "job.yaml", "-o", "file/van.pdf"],
    ] {
        let run = decant(&copy.folder, arguments).must_end_with(2);
        assert_eq!(run.stderr.matches("is a file, not a folder").count(), 1, "{}", run.stderr);
    }
    assert_eq!(read(copy.folder.join("file")), "mine");
}

#[test]
fn only_an_ordinary_file_is_ever_replaced() {
    let copy = firm();
    let at = |name: &str| copy.folder.join(name);
    let make = |program: &str, arguments: &[&str]| {
        let done = Command::new(program).args(arguments).current_dir(&copy.folder).output();
        done.is_ok_and(|done| done.status.success())
    };
    assert!(make("mkfifo", &["pipe.pdf"]), "mkfifo");
    let _listener = UnixListener::bind(at("socket.pdf")).expect("a socket");
    symlink("pipe.pdf", at("link.pdf")).expect("a link");
    write(at("file"), "mine");
    symlink("file", at("to-file.pdf")).expect("a link");
    make_folder(at("folder.pdf"));
    let mut targets = vec!["pipe.pdf", "socket.pdf", "link.pdf", "to-file.pdf", "folder.pdf"];
    // a device of one's own takes root; the one of the system is never tried
    let device = make("mknod", &["null.pdf", "c", "1", "3"]);
    if device {
        targets.push("null.pdf");
    }
    for target in targets {
        for arguments in [
            &["labels", "job.yaml", "-o", target][..],
            &["load-out", "job.yaml", "-o", target],
            &["test-print", "sheet-4x2", "--company", "../company.yaml", "-o", target],
            &["key", "-o", target],
        ] {
            let run = decant(&copy.folder, arguments).must_end_with(2);
            assert!(run.stderr.starts_with("error: "), "{arguments:?}: {}", run.stderr);
            assert_eq!(run.stdout, "", "{arguments:?}");
        }
    }
    // a key is never printed
    let run = decant(&copy.folder, ["key", "-o", "-"]).must_end_with(2);
    assert_eq!(run.stdout, "");
    let kind = |name: &str| fs::symlink_metadata(at(name)).expect("still there").file_type();
    assert!(kind("pipe.pdf").is_fifo() && kind("socket.pdf").is_socket() && kind("link.pdf").is_symlink());
    assert!(!device || kind("null.pdf").is_char_device());
    assert!(!at("-").exists() && !at("-.pub").exists());
    assert_eq!(read(at("file")), "mine");
    // in a folder of output, under the names of documents
    for (command, folder, name) in [
        ("render", "out", "2026-0420-mix-sheet.pdf"),
        ("page", "site", "index.html"),
        ("register", "register", "register.csv"),
        ("service-report", "report", "service-report.pdf"),
        ("batch", "batch", "manifest.json"),
    ] {
        let folder = at(folder);
        make_folder(&folder);
        let _ = fs::remove_file(folder.join(name));
        assert!(make("mkfifo", &[folder.join(name).to_str().expect("text")]), "mkfifo");
        let input = if command == "register" { "out" } else { "job.yaml" };
        let run = decant(&copy.folder, [command, input, "-o", folder.to_str().expect("text")]).must_end_with(1);
        assert!(run.stderr.contains("only an ordinary file is replaced"), "{command}: {}", run.stderr);
        assert!(fs::symlink_metadata(folder.join(name)).expect("still there").file_type().is_fifo());
        remove(folder.join(name));
        if command == "render" {
            decant(&copy.folder, ["render", "job.yaml", "-o", "out"]).must_end_with(0);
        }
    }
}

#[test]
fn what_is_no_file_is_refused_before_it_is_read() {
    let copy = firm();
    copy.set_company(
        "mail: { from: office@firm.example, server: localhost, user: a, password_file: pipe, log: mail.jsonl }",
    );
    for folder in [&copy.folder, copy.company_folder()] {
        let pipes = ["pipe", "pipe.yaml", "sites.csv"].map(|name| folder.join(name));
        let made = Command::new("mkfifo").args(pipes).status();
        assert!(made.expect("mkfifo").success());
    }
    let company = read(copy.company_folder().join("company.yaml"));
    let job = read(copy.folder.join("job.yaml"));
    let log = read(copy.folder.join("log.yaml"));
    let write = |name: &str, text: &str| write(copy.folder.join(name), text);
    let replaced = |line: &str, with: &str| {
        assert!(job.lines().any(|l| l.starts_with(line)), "{line}");
        let lines: Vec<String> =
            job.lines().map(|l| if l.starts_with(line) { with.to_owned() } else { l.to_owned() }).collect();
        lines.join("\n") + "\n"
    };
    write("company-is-pipe.yaml", &replaced("company:", "company: pipe"));
    write("log-is-pipe.yaml", &replaced("log:", "log: pipe"));
    write("language-is-pipe.yaml", &format!("{job}language: pipe.yaml\n"));
    write("photo-log.yaml", &format!("{log}photographs: [{{ file: pipe }}]\n"));
    write("photo-is-pipe.yaml", &replaced("log:", "log: photo-log.yaml"));
    write(
        "contract.yaml",
        "contract: x\ncompany: ../company.yaml\nsite_table: { file: sites.csv, columns: { key: Code } }\n",
    );
    let firm_with = |name: &str, key: &str| {
        let lines: String = company.lines().filter(|l| !l.starts_with(key)).map(|l| format!("{l}\n")).collect();
        fs::write(copy.company_folder().join(format!("{name}.yaml")), format!("{lines}{key} pipe\n")).expect("written");
        write(&format!("{name}-job.yaml"), &replaced("company:", &format!("company: ../{name}.yaml")));
    };
    firm_with("key", "signing_key:");
    firm_with("templates", "templates:");
    for arguments in [
        &["plan", "pipe"][..],
        &["plan", "company-is-pipe.yaml"],
        &["render", "log-is-pipe.yaml", "-o", "out-5", "--only", "certificate"],
        &["render", "photo-is-pipe.yaml", "-o", "out-6", "--only", "certificate"],
        &["plan", "language-is-pipe.yaml"],
        &["plan", "job.yaml", "--language", "pipe.yaml"],
        &["render", "key-job.yaml", "-o", "out-2"],
        &["render", "templates-job.yaml", "-o", "out-2"],
        &["batch", "pipe", "-o", "out-3"],
        &["expand", "contract.yaml", "-o", "out-4"],
        &["verify", "pipe"],
        &["verify", "out", "--key", "pipe"],
        &["verify", "out", "--job", "pipe"],
        &["mail", "job.yaml", "--send"],
        &["mail", "job.yaml", "--send", "--log", "pipe"],
        &["test-print", "sheet-4x2", "--company", "pipe"],
        &["key", "--company", "pipe"],
    ] {
        let mut command = Command::new("timeout");
        command.args(["20", env!("CARGO_BIN_EXE_decant")]).args(arguments);
        let run = command.current_dir(&copy.folder).output().expect("the program runs");
        let reported = String::from_utf8_lossy(&run.stderr).into_owned() + &String::from_utf8_lossy(&run.stdout);
        assert!(matches!(run.status.code(), Some(1 | 2)), "{arguments:?}: {:?}: {reported}", run.status);
        assert!(
            reported.contains("not an ordinary file") || reported.contains("is not a folder"),
            "{arguments:?}: {reported}"
        );
    }
}

#[test]
fn the_umask_is_kept_to() {
    let copy = Copy::of("fish-hall");
    for (umask, mode) in [("077", 0o600), ("022", 0o644), ("002", 0o664)] {
        let script = format!("umask {umask}; exec \"$0\" render job.yaml -o out-{umask} --only labels");
        let run =
            Command::new("sh").args(["-c", &script, env!("CARGO_BIN_EXE_decant")]).current_dir(&copy.folder).output();
        assert!(run.expect("the program runs").status.success());
        let folder = copy.folder.join(format!("out-{umask}"));
        for name in names(&folder) {
            let is = fs::metadata(folder.join(&name)).expect("a file").permissions().mode() & 0o777;
            assert_eq!(is, mode, "{name} under umask {umask}");
        }
    }
}

#[test]
fn the_sample_stock_of_these_tests_is_there() {
    let text = read(root().join("samples/company.yaml"));
    assert!(text.contains("sheet-4x2:"));
}
