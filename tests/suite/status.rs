//! What needs doing in a contract, and the same days on every command.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;
use tempfile::TempDir;

use crate::support::program::decant;
use crate::support::workspace::{change, digests, names, read, remove, says, short_contract, write};

/// Two nights of the northern route, 13 and 27 April, and a morning of the southern, 5 May; logs of the first night, one of them
/// not whole and one missing. The batch is made.
fn april() -> (TempDir, PathBuf) {
    let (folder, contract) = short_contract("2026-05-12", "2026-04-29", "# Six sites", "20260413");
    write(contract.join("logs/north-20260413.yaml"), "loads: []\nareas: {}\n");
    remove(contract.join("logs/house-20260413.yaml"));
    change(&folder.path().join("company.yaml"), "records.tern-and-tide.example", "r.example");
    decant(&contract, ["batch", "contract.yaml", "-o", "out", "--only", "certificate", "--only", "labels"]);
    (folder, contract)
}

fn status(contract: &Path, more: &[&str]) -> String {
    decant(contract, ["status", "contract.yaml"].iter().chain(more)).must_end_with(0).stdout
}

#[test]
fn what_needs_doing_on_a_day_is_said_and_no_more() {
    let (folder, contract) = april();
    let before = digests(&contract.join("out/gull-20260413"));
    let said = status(&contract, &["--on", "2026-04-27"]);
    says(
        &said,
        &[
            "HB-26, 2026-04-27\nTo be made: 3\n  2026-04-27 18:00  gull-20260427  north  Gull Point Ferry Terminal\n",
            "Logs missing: 1\n  2026-04-13 21:40  house-20260413  north  Old Customs House\n",
            "Certificates withheld: 1\n  2026-04-13 23:10  north-20260413",
            "Certificates ready, not mailed: 1\n  2026-04-13 18:00  gull-20260413",
            "Mailed: 0\n",
        ],
    );
    assert!(!said.contains("20260505"), "nothing of what is to come: {said}");
    // the night before nothing of it was due
    says(&status(&contract, &["--on", "2026-04-13"]), &["To be made: 1\n", "Logs missing: 0\n"]);
    // sent, and refused
    let line = |state: &str, told: &str| {
        format!(
            "{{\"form\":\"decant send log 1\"}}\n{{\"at\":\"2026-04-14T07:00:00Z\",\"job\":\"gull-20260413\",\"revision\":1,\
             \"record\":\"ab\",\"to\":\"a@b.example\",\"message\":\"<x@y.example>\",\"state\":\"{state}\",\"told\":{told}}}\n"
        )
    };
    let log = folder.path().join("mail-log.jsonl");
    write(&log, line("refused", "\"550 no such user\""));
    says(
        &status(&contract, &["--on", "2026-04-27"]),
        &["Mail refused, or nobody knows: 1\n", "      a@b.example: refused, 2026-04-14T07:00:00Z\n"],
    );
    write(&log, line("sent", "null"));
    let said = status(&contract, &["--on", "2026-04-27"]);
    assert!(said.contains("Mailed: 1\n") && !said.contains("a@b.example"), "{said}");
    // a week, as JSON and as a page
    let run = [
        "status",
        "contract.yaml",
        "--from",
        "2026-04-13",
        "--to",
        "2026-04-19",
        "--json",
        "--page",
        "week.html",
        "--language",
        "es",
    ];
    let run = decant(&contract, run).must_end_with(0);
    let json = run.stdout.split_once('\n').map(|(_, json)| json).unwrap_or_default();
    let told: Value = serde_json::from_str(json).expect("JSON");
    let stands = |at: usize| told["visits"][at]["stands"].as_str().unwrap_or_default().to_owned();
    assert_eq!([stands(0), stands(1), stands(2)], ["mailed", "log-missing", "withheld"]);
    assert_eq!(told["visits"].as_array().map(Vec::len), Some(3));
    let page = read(contract.join("week.html"));
    says(
        &page,
        &["<html lang=\"es\"", "Estado de HB-26", "Faltan registros de servicio (1)", "<bdi>Old Customs House</bdi>"],
    );
    assert!(!page.contains("<script"));
    // nothing was changed by looking
    assert_eq!(digests(&contract.join("out/gull-20260413")), before);
    // a record without its page is nothing that could be mailed
    remove(contract.join("out/gull-20260413/gull-20260413-certificate.pdf"));
    says(
        &status(&contract, &["--on", "2026-04-13"]),
        &["Certificates ready, not mailed: 0\n", "it is not made yet: `decant batch`"],
    );
    decant(&contract, ["status", "contract.yaml"]).must_end_with(2);
}

#[test]
fn every_command_takes_the_same_days_and_contracts() {
    let (folder, contract) = april();
    let run = |arguments: &[&str]| decant(&contract, arguments);
    // labels of one night, of the contract and of the folder of its jobs
    let night = run(&["labels", "contract.yaml", "--on", "2026-04-27", "-o", "a.pdf"]).must_end_with(0);
    run(&["labels", "out/jobs", "--on", "2026-04-27", "-o", "b.pdf"]).must_end_with(0);
    assert_eq!(night.stdout.lines().count(), 2);
    let (a, b) = (fs::read(contract.join("a-roll-4x6.pdf")), fs::read(contract.join("b-roll-4x6.pdf")));
    assert_eq!(a.expect("labels"), b.expect("labels"));
    let none = run(&["labels", "contract.yaml", "--on", "2026-04-28", "-o", "c.pdf"]).must_end_with(2);
    says(&none.stderr, &["no visit is on these days"]);
    change(&folder.path().join("company.yaml"), "\npublish:", "\nmail: { from: records@tern.example }\npublish:");
    // mail says of one night only what became of that
    let mail = run(&["mail", "contract.yaml", "--from", "2026-04-13", "--to", "2026-04-19", "--dry-run"]);
    says(&mail.stdout, &["gull-20260413, revision 1, to harbour@port-ansel.example"]);
    assert!(!mail.stderr.contains("20260427") && !mail.stderr.contains("20260505"), "{}", mail.stderr);
    // pages and reports
    run(&["page", "contract.yaml", "--on", "2026-04-27", "-o", "site"]).must_end_with(0);
    run(&["service-report", "contract.yaml", "--to", "2026-04-19", "-o", "report"]).must_end_with(0);
    let visits = read(contract.join("report/HB-26-service-report-visits.csv"));
    assert_eq!(visits.lines().count(), 1 + 3, "{visits}");
    // a register of the contract is that of its folder, and no record is of May
    run(&["register", "contract.yaml", "-o", "r1"]).must_end_with(0);
    run(&["register", "out", "--from", "2026-04-01", "--to", "2026-04-30", "-o", "r2"]).must_end_with(0);
    assert_eq!(names(&contract.join("r1")).len(), 3);
    assert_ne!(read(contract.join("r1/register.csv")), "");
    let none = run(&["register", "contract.yaml", "--on", "2026-06-01", "-o", "r3"]).must_end_with(2);
    says(&none.stderr, &["of these days is in it"]);
    // what is not planned yet is named, and not passed over
    let next = run(&["labels", "contract.yaml", "--documents", "elsewhere", "--on", "2026-04-27", "-o", "d.pdf"])
        .must_end_with(2);
    says(
        &next.stderr,
        &[
            "these visits are not planned yet",
            "elsewhere/jobs/gull-20260427.yaml",
            "decant batch contract.yaml -o elsewhere",
        ],
    );
}

#[test]
fn a_calendar_moves_the_event_of_a_visit_that_is_moved() {
    let (_folder, contract) = april();
    let calendar = |more: &[&str]| {
        decant(&contract, ["calendar", "contract.yaml", "-o", "v.ics"].iter().chain(more)).must_end_with(0);
        read(contract.join("v.ics")).replace("\r\n ", "")
    };
    let event = |text: &str, number: &str| {
        let of = text.split("BEGIN:VEVENT").find(|event| event.contains(&format!("UID:HB-26.{number}@r.example")));
        of.unwrap_or_else(|| panic!("no {number} in {text}")).to_owned()
    };
    let first = calendar(&[]);
    assert_eq!(first.matches("BEGIN:VEVENT").count(), 12);
    says(
        &event(&first, "gull-20260427"),
        &[
            "DTSTART:20260427T180000\r\n",
            "DTEND:20260427T214000\r\n",
            "SUMMARY:Gull Point Ferry Terminal\r\n",
            "LOCATION:1 Breakwater Road\\, Port Ansel 00417\r\n",
        ],
    );
    let file = contract.join("contract.yaml");
    write(
        &file,
        read(&file)
            + "moves:\n  - { sites: gull, from: 2026-04-27, to: 2026-04-28T22:00 }\n  - { sites: gull, from: 2026-04-13, to: 2026-04-14T22:00 }\n",
    );
    let moved = calendar(&[]);
    says(&event(&moved, "gull-20260427"), &["DTSTART:20260428T220000\r\n"]);
    // the one that was made stays
    says(&event(&moved, "gull-20260413"), &["DTSTART:20260413T180000\r\n"]);
    let own = calendar(&["--crew", "lindqvist", "--from", "2026-04-20"]);
    assert!(own.contains("house-20260427") && !own.contains("20260413") && !own.contains("slip"), "{own}");
    decant(&contract, ["calendar", "contract.yaml", "--route", "east", "-o", "none.ics"]).must_end_with(2);
}
