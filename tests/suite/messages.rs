//! What the program says of bad input, word for word: `cases/messages.txt`, beside the folders of `cases/refused`.

use std::fmt::Write;
use std::fs;
use std::path::Path;

use crate::support::case::{Case, cases, difference, none_differ};
use crate::support::program::decant;
use crate::support::workspace::{change, copy_file, read, root, temporary, write};

/// Codes of what concerns a file as a whole, so that no line can be named.
const WHOLE_FILE: &[&str] = &[
    "file-unreadable",
    "file-is-folder",
    "file-too-large",
    "file-not-utf8",
    "file-empty",
    "yaml-alias-bomb",
    "yaml-too-deep",
    "yaml-several-documents",
];

/// A case as it stands in the file: its name, the lines of input, and what the program says of it.
struct Message {
    name: String,
    input: Vec<String>,
}

fn messages() -> Vec<Message> {
    let text = read(root().join("tests/cases/messages.txt"));
    let (_, cases) = text.split_once("\n## ").expect("cases");
    cases
        .split("\n## ")
        .map(|case| {
            let mut lines = case.lines();
            let name = lines.next().unwrap_or_default().to_owned();
            let input = lines.take_while(|line| line.starts_with("> ")).map(str::to_owned).collect();
            Message { name, input }
        })
        .collect()
}

/// The input as it is given, one edit a line: `> FILE: OLD => NEW`, `> FILE: + LINE` at its end, or `> $ COMMAND`.
fn said(case: &Message) -> String {
    let folder = temporary();
    let at = folder.path();
    for file in ["job.yaml", "log.yaml", "contract.yaml"] {
        copy_file(root().join("tests/cases/messages").join(file), at.join(file));
    }
    copy_file(root().join("tests/cases/refused/company.yaml"), at.join("company.yaml"));
    let mut command = "plan job.yaml".to_owned();
    for line in &case.input {
        let line = line.trim_start_matches("> ").replace("\\t", "\t").replace("\\n", "\n");
        if let Some(given) = line.strip_prefix("$ ") {
            command = given.to_owned();
            continue;
        }
        let (file, edit) = line.split_once(": ").unwrap_or_else(|| panic!("{}: {line}", case.name));
        let file = at.join(file);
        if let Some(more) = edit.strip_prefix("+ ") {
            let there = fs::read_to_string(&file).unwrap_or_default();
            write(&file, there + more + "\n");
        } else {
            let (from, to) = edit.split_once(" => ").unwrap_or_else(|| panic!("{}: {edit}", case.name));
            change(&file, from, to);
        }
    }
    let run = decant(at, arguments(&command));
    format!("{}exit {}\n", run.stderr, run.code.unwrap_or(-1))
}

fn arguments(command: &str) -> Vec<String> {
    command.split_whitespace().map(str::to_owned).collect()
}

#[test]
fn every_message_is_as_it_was_read() {
    let file = root().join("tests/cases/messages.txt");
    let text = read(&file);
    let (head, _) = text.split_once("\n## ").expect("cases");
    let mut found = head.to_owned() + "\n";
    for case in messages() {
        let _ = write!(found, "## {}\n{}\n{}\n", case.name, case.input.join("\n"), said(&case));
    }
    let case = Case { name: "messages".into(), folder: root().join("tests/cases") };
    none_differ(
        &difference(&case, "messages.txt", &(found.trim_end().to_owned() + "\n")).into_iter().collect::<Vec<_>>(),
    );
}

/// Each says in which file and line, what is wrong and what to do.
#[test]
fn every_message_has_file_line_cause_and_repair() {
    let mut all = vec![read(root().join("tests/cases/messages.txt"))];
    let expected = |case: &Case| fs::read_to_string(Path::new(&case.folder).join("expected.txt")).unwrap_or_default();
    all.extend(cases("refused").iter().map(expected));
    let mut lacking = Vec::new();
    let mut count = 0;
    for block in all.iter().flat_map(|text| text.split("\n\n")) {
        let Some(start) = block.find("error[").filter(|at| *at == 0 || block[..*at].ends_with('\n')) else { continue };
        let block = &block[start..];
        count += 1;
        let code = block.strip_prefix("error[").and_then(|rest| rest.split(']').next()).unwrap_or_default();
        let place = block.lines().find_map(|line| line.strip_prefix("  --> "));
        let has_line =
            place.is_some_and(|place| place.split(':').nth(1).is_some_and(|line| line.parse::<u32>().is_ok()));
        if !(has_line || place.is_some() && WHOLE_FILE.contains(&code)) || !block.contains("\n  = ") {
            lacking.push(block.to_owned());
        }
    }
    assert!(lacking.is_empty(), "{} without a line or a repair:\n{}", lacking.len(), lacking.join("\n\n"));
    assert!(count >= 120, "only {count} messages");
}
