//! Certificates of a contract by mail: each site its own, head office all of a night in one message.

use std::path::Path;

use crate::support::program::{Outcome, decant};
use crate::support::workspace::{change, json, read, remove, says, short_contract, write};

/// The drafts of a night, each by its name.
fn drafts(contract: &Path, folder: &str) -> Vec<(String, String)> {
    decant(contract, ["mail", "contract.yaml", "--on", "2026-04-13", "--drafts", folder]).must_end_with(0);
    let mut all: Vec<(String, String)> = std::fs::read_dir(contract.join(folder))
        .expect("drafts")
        .map(|file| file.expect("a draft").path())
        .map(|file| (file.display().to_string(), read(&file).replace("\r\n ", " ")))
        .collect();
    all.sort();
    all
}

fn batch(contract: &Path) -> Outcome {
    decant(contract, ["batch", "contract.yaml", "-o", "out", "--only", "certificate"]).must_end_with(3)
}

#[test]
fn a_site_gets_its_own_and_head_office_a_night() {
    let tuesdays = "  - { rule: FREQ=MONTHLY;BYDAY=1TU, from: 2026-05-05, routes: south }";
    let (folder, contract) = short_contract("2026-04-30", "2026-04-29", tuesdays, "20260413");
    let file = contract.join("contract.yaml");
    change(&folder.path().join("company.yaml"), "\npublish:", "\nmail: { from: records@tern.example }\npublish:");
    change(&file, "email: harbour@port-ansel.example }", "email: harbour@port-ansel.example, certificates: night }");
    // one site has an address of its own, one has head office's, one has none
    change(&file, "    key: Code\n", "    key: Code\n    contact: Who\n    email: Mail\n");
    let table = contract.join("sites.csv");
    let text = read(&table);
    let mut lines = text.lines().map(str::to_owned).collect::<Vec<_>>();
    for (line, cells) in lines.iter_mut().zip(
        [",Who,Mail", ",P. Ferrante,gull@port-ansel.example", ",L. Osei,Harbour@port-ansel.example"]
            .into_iter()
            .chain(std::iter::repeat(",,")),
    ) {
        *line += cells;
    }
    write(&table, lines.join("\n") + "\n");
    batch(&contract);
    let job = read(contract.join("out/jobs/gull-20260413.yaml"));
    says(&job, &["contact: M. Castellane", "contact: P. Ferrante", "email: \"gull@port-ansel.example\""]);
    let record = json(contract.join("out/gull-20260413/gull-20260413-record.json"));
    says(&record["certificate"]["data"]["site"].to_string(), &["P. Ferrante"]);
    assert!(!record.to_string().contains("@port-ansel"), "an address is in the record");

    let found = drafts(&contract, "drafts");
    let to = |address: &str| -> Vec<&String> {
        found.iter().map(|(_, text)| text).filter(|text| text.contains(&format!("<{address}>"))).collect()
    };
    assert_eq!(found.len(), 2, "{found:?}");
    let [head] = to("harbour@port-ansel.example")[..] else { panic!("{found:?}") };
    let [gull] = to("gull@port-ansel.example")[..] else { panic!("{found:?}") };
    let attached = |message: &str| -> Vec<String> {
        let parts = message.split("Content-Disposition: attachment; filename=\"").skip(1);
        parts.map(|part| part.split('"').next().unwrap_or_default().to_owned()).collect()
    };
    let night = ["gull", "house", "north"].map(|site| format!("{site}-20260413-certificate.pdf"));
    assert_eq!(attached(head), night);
    assert_eq!(attached(gull), night[..1]);
    // head office is addressed by its own name, the site by its own, and neither sees the other's address
    says(head, &["To: \"M. Castellane\" <harbour@port-ansel.example>"]);
    says(gull, &["To: \"Gull Point Ferry Terminal\" <gull@port-ansel.example>"]);
    assert!(!gull.contains("harbour@") && !head.contains("gull@port-ansel"));
    for other in ["house-20260413", "north-20260413", "Customs House", "North Pier"] {
        assert!(!gull.contains(other), "{other} is in the message of another site");
    }

    // an address that is mended reaches a visit that is settled, and nothing of its documents
    let before = read(contract.join("out/gull-20260413/gull-20260413-record.json"));
    change(&table, "gull@port-ansel.example", "terminal@port-ansel.example");
    change(&file, "certificates: night", "certificates: each");
    let run = batch(&contract);
    assert!(!run.stderr.contains("left as planned"), "{}", run.stderr);
    assert_eq!(read(contract.join("out/gull-20260413/gull-20260413-record.json")), before);
    let found = drafts(&contract, "again");
    assert_eq!(found.len(), 4, "{found:?}");
    assert!(found.iter().any(|(_, text)| text.contains("<terminal@port-ansel.example>")), "{found:?}");
    // with nobody to send to that is said of both
    change(&file, ", email: harbour@port-ansel.example, certificates: each", "");
    remove(contract.join("out/jobs/north-20260413.yaml"));
    batch(&contract);
    let run = decant(&contract, ["mail", "out/jobs/north-20260413.yaml", "--documents", "out", "--dry-run"]);
    says(&run.must_end_with(2).stderr, &["neither the client nor the site has an `email`"]);
}
