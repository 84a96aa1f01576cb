//! What nobody must find out at night: said by `expand` and `batch`, and in the manifest.

use serde_json::Value;

use crate::support::program::decant;
use crate::support::workspace::{Copy, change, copy_file, json, make_folder, names, says, short_contract, write};

#[test]
fn a_crew_at_two_places_sites_without_a_visit_and_logs_of_nobody_are_said() {
    let (_folder, contract) = short_contract("2026-05-12", "2026-04-29", "# Six sites", "20260413");
    let file = contract.join("contract.yaml");
    // okafor is on the southern route on the evening of the northern one, and nobody goes to the slip
    change(
        &file,
        "FREQ=MONTHLY;BYDAY=1TU, from: 2026-05-05, routes: south",
        "FREQ=WEEKLY;INTERVAL=2;BYDAY=MO, from: 2026-04-13, sites: [light, mussel]",
    );
    change(&file, "crew: okafor, start: \"06:00\"", "crew: okafor, start: \"20:00\"");
    // the northern route allows too little for its second stop
    change(&file, "start: \"18:00\", takes: 1 h 30 min", "start: \"18:00\", takes: 5 min");
    let logs = contract.join("logs");
    copy_file(logs.join("house-20260413.yaml"), logs.join("House-20260413 (2).yaml"));
    write(logs.join("gull-20260413.yaml.txt"), "loads: []");
    write(logs.join("tonight.ods"), "PK");
    write(logs.join("IMG_0412.JPG"), "JFIF");
    make_folder(logs.join("April"));
    copy_file(logs.join("house-20260413.yaml"), logs.join("April/house-20260427.yaml"));
    make_folder(logs.join("photographs"));
    write(logs.join("photographs/IMG_0413.jpg"), "JFIF");
    let warnings = [
        "warning[crew-at-two-places]: `okafor` is at two places at once: at `gull` until 21:40, 2026-04-13, and at `light` from 20:00\n  --> sites.csv:5:1",
        "the same 2 times more",
        "warning[begins-too-early]: the visit to `north` at 21:45 begins before the one to `house` ends",
        "warning[site-unvisited]: no visit is planned to `slip`\n  --> sites.csv:7:1",
        "House-20260413 (2).yaml: it seems to be the log of house-20260413 and is not named as that",
        "gull-20260413.yaml.txt: it seems to be the log of gull-20260413 and is not named as that",
        "tonight.ods: it is no log, and no photograph",
        "April: it is a folder, and logs in it are not read",
    ];
    let run = decant(&contract, ["expand", "contract.yaml", "-o", "jobs"]).must_end_with(0);
    says(&run.stderr, &warnings);
    assert!(!run.stderr.contains("IMG_0412") && !run.stderr.contains("photographs:"), "{}", run.stderr);
    let run = decant(&contract, ["batch", "contract.yaml", "-o", "out", "--only", "certificate"]);
    says(&run.stderr, &warnings);
    let manifest = json(contract.join("out/manifest.json"));
    assert_eq!(manifest["unused"].as_array().map(Vec::len), Some(4), "{}", manifest["unused"]);
    let said = manifest["warnings"].to_string();
    says(&said, &["`okafor` is at two places at once", "`slip`", "begins before the one to `house` ends"]);
    // a job that was made has said so before
    assert!(names(&contract.join("out/jobs")).len() >= 12);
}

/// When the two treatments of the ferry terminal begin, with changes of the job.
fn begins(changes: &[(&str, &str)]) -> Result<[String; 2], String> {
    let copy = Copy::of("ferry-terminal");
    copy.change_job("\nlog: log.yaml", "");
    for (from, to) in changes {
        copy.change_job(from, to);
    }
    let run = decant(&copy.folder, ["plan", "--json", "job.yaml"]);
    if run.code != Some(0) {
        return Err(run.stderr);
    }
    let plan: serde_json::Value = serde_json::from_str(&run.stdout).expect("JSON");
    Ok([0, 1].map(|at| plan["treatments"][at]["begins"].as_str().unwrap_or_default().to_owned()))
}

#[test]
fn each_sheet_names_the_treatments_that_are_done_at_the_same_time() {
    const LANGUAGES: [(&str, &str); 3] = [
        ("en", "At the same time as treatment "),
        ("es", "Al mismo tiempo que el tratamiento "),
        ("fr", "En même temps que le traitement "),
    ];
    let said = |sprayer: &str, language: &str| -> [Value; 2] {
        let copy = Copy::of("ferry-terminal");
        copy.change_job("    sprayer: mister\n", sprayer);
        let run = decant(&copy.folder, ["data", "job.yaml", "mix-sheet", "--language", language]).must_end_with(0);
        let data: Value = serde_json::from_str(&run.stdout).expect("JSON");
        [0, 1].map(|at| data["treatments"][at]["beside"].clone())
    };
    for (language, words) in LANGUAGES {
        let beside = said("    sprayer: pump\n    beside: yes\n", language);
        assert_eq!(beside, [2, 1].map(|other| Value::from(format!("{words}{other}"))));
    }
    // one after the other; and a mist, which waits whatever the job says
    for sprayer in ["    sprayer: pump\n", "    sprayer: mister\n    beside: yes\n"] {
        assert_eq!(said(sprayer, "en"), [Value::Null, Value::Null]);
    }
}

#[test]
fn treatments_are_side_by_side_only_where_the_job_says_so_and_it_can_be_done() {
    const BESIDE: (&str, &str) = ("    sprayer: mister\n", "    sprayer: pump\n    beside: yes\n");
    let after = begins(&[("sprayer: mister", "sprayer: pump")]).expect("a plan");
    assert!(after[1] > after[0], "{after:?}");
    let beside = begins(&[BESIDE]).expect("a plan");
    assert_eq!(beside[1], beside[0]);
    // a mist in the air of those who work there waits, whatever the job says
    let mist = begins(&[("    sprayer: mister\n", "    sprayer: mister\n    beside: yes\n")]).expect("a plan");
    assert!(mist[1] > mist[0], "{mist:?}");
    for (change, reported) in [
        (
            ("crew: [okafor, lindqvist]", "crew: [okafor]"),
            "2 treatments at the same time take a crew of 2, and 1 are named",
        ),
        (
            ("areas: [Counter tops]", "areas: [Counter tops, Restrooms]"),
            "the area `Restrooms` cannot have two treatments",
        ),
        (
            ("    sprayer: bottle\n    mixed_in: pail\n", "    sprayer: pump\n"),
            "`pump` cannot be used in two treatments",
        ),
        (
            ("    areas: [Counter tops]\n", "    areas: [Counter tops]\n    beside: yes\n"),
            "no treatment is before the first",
        ),
    ] {
        let refused = begins(&[BESIDE, change]).expect_err("it was planned");
        says(&refused, &["error[cannot-be-beside]", reported]);
    }
}
