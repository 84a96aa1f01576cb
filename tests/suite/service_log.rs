//! What the log says is compared with the plan, rule by rule, and the certificate says what did not hold.

use serde_json::Value;

use crate::support::program::decant;
use crate::support::workspace::{Copy, json, make_folder, names, read, write};

const CERTIFICATE: &str = "2026-0420-certificate.pdf";

fn change_log(copy: &Copy, changes: &[(&str, &str)]) {
    let file = copy.folder.join("log.yaml");
    let mut text = read(&file);
    for (from, to) in changes {
        assert!(text.contains(from), "the sample's log no longer holds {from:?}");
        text = text.replace(from, to);
    }
    write(&file, text);
}

/// The verdicts of a rule, as (outcome, all of it).
fn verdicts(record: &Value, rule: &str) -> Vec<(String, Value)> {
    let all = record["verdicts"].as_array().expect("a list");
    all.iter()
        .filter(|v| v["rule"] == rule)
        .map(|v| (v["outcome"].as_str().expect("an outcome").to_owned(), v.clone()))
        .collect()
}

/// A rule that was not kept: the certificate is made, says so, never says "completed", and the exit code is 3.
#[track_caller]
fn deviates(changes: &[(&str, &str)], rule: &str, sentence: &str) {
    let copy = Copy::of("fish-hall");
    change_log(&copy, changes);
    let run = copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(3);
    assert!(run.stderr.contains(sentence), "no {sentence:?} in:\n{}", run.stderr);
    assert!(names(&copy.output()).contains(&CERTIFICATE.to_owned()));
    let record = json(copy.output().join("2026-0420-record.json"));
    assert!(verdicts(&record, rule).iter().any(|(outcome, _)| outcome == "deviates"), "{:#?}", record["verdicts"]);
    let page = &record["certificate"]["data"];
    assert!(!page["lead"].as_str().expect("a lead").contains("completed"), "{}", page["lead"]);
    let reported = page["deviations"].as_array().expect("a list");
    let plain = |text: &str| text.replace('\u{a0}', " ");
    let says = |d: &serde_json::Value| d.as_str().is_some_and(|d| plain(d).contains(&plain(sentence)));
    assert!(reported.iter().any(says), "{reported:?}");
    assert!(
        page["rules"].as_array().expect("a list").iter().any(|r| r["mark"] == "not-met" && r["verdict"] == "not met")
    );
}

#[test]
fn each_rule_that_is_not_kept_is_told() {
    deviates(&[("reading: 600 ppm", "reading: 200 to 400 ppm")], "reading", "the strip read 200 to 400 ppm");
    deviates(&[("reading: 600 ppm", "reading: 312 ppm, instrument: ±5 %")], "reading", "an instrument read 312");
    deviates(
        &[("wet_until: 2026-04-20T22:02\n", "wet_until: 2026-04-20T21:58\n")],
        "last-patch",
        "the last patch was seen wet for 6 min",
    );
    // a rinse ends the contact time whatever was seen
    deviates(
        &[("rinsed: 2026-04-20T22:06", "rinsed: 2026-04-20T21:57")],
        "rinse",
        "rinsed at 9:57\u{a0}PM, before the contact time was over at 10:02\u{a0}PM",
    );
    deviates(&[("rinsed: 2026-04-20T22:06", "rinsed: no")], "rinse", "not rinsed, though a rinse is due");
    deviates(
        &[("reading: 600 ppm", "reading: 600 ppm, water: 2.5 gal, product: 20 fl oz")],
        "dose",
        "is not the label's dilution, which asks for 2.5 fl oz",
    );
    deviates(
        &[("reading: 600 ppm", "reading: 600 ppm, water: 2.5 gal, product: 2 fl oz")],
        "dose",
        "is not the label's dilution",
    );
    deviates(
        &[("by: R. Okafor, reading: 600", "by: A. Nother, reading: 600")],
        "licence",
        "A. Nother: no license is given",
    );
    deviates(
        &[
            (
                "  - { treatment: 1, area: Packing belt, spot: belt end by the scales, wetted: 2026-04-20T21:55, seen_wet: 2026-04-20T22:06 }\n",
                "",
            ),
            (
                "    started: 2026-04-20T21:53\n    finished: 2026-04-20T22:01\n    wet_until: 2026-04-20T22:12\n    rinsed: 2026-04-20T22:15\n",
                "    skipped: the belt was running\n",
            ),
        ],
        "done",
        "Packing belt: not treated (the belt was running)",
    );
}

#[test]
fn a_crew_without_licences_is_judged_unless_the_company_says_no() {
    let copy = Copy::of("fish-hall");
    copy.change_company(", licence: T-0101", "");
    let run = copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(3);
    assert!(run.stderr.contains("R. Okafor: no license is given"), "{}", run.stderr);
    copy.set_company("licence_required: no");
    copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(0);
    assert!(verdicts(&json(copy.output().join("2026-0420-record.json")), "licence").is_empty());
}

#[test]
fn wetting_again_is_asked_for_where_the_plan_asks() {
    let copy = Copy::of("fish-hall");
    // warm, dry and windy: the film does not last
    copy.change_job("visit:", "#visit:");
    let job = copy.folder.join("job.yaml");
    let text = read(&job).replace("#visit:", "visit:");
    let dry = "  air: { temperature: 95 F, humidity: 10 %, speed: 2 m/s }\n";
    let text = text.lines().filter(|l| !l.trim_start().starts_with("air:")).fold(String::new(), |all, line| {
        let more = if line.starts_with("site:") { dry } else { "" };
        all + line + "\n" + more
    });
    write(&job, text);
    let run = copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(3);
    assert!(run.stderr.contains("still to write down: Wetted again"), "{}", run.stderr);
    let asked = {
        let output = copy.output();
        make_folder(&output);
        let reported = decant(&copy.folder, ["plan", "--json", "job.yaml"]).must_end_with(0);
        let plan: Value = serde_json::from_str(&reported.stdout).expect("JSON");
        let most = plan["treatments"].as_array().expect("a list").iter().map(|t| t["wetness"]["applications"].as_u64());
        most.max().flatten().expect("applications") - 1
    };
    assert!(asked > 0);
    // more is laid, so more loads are planned; one that is skipped is a deviation, whatever the reason
    let spare = [(1, 2), (1, 3), (2, 2)]
        .map(|(treatment, load)| format!("  - {{ treatment: {treatment}, load: {load}, skipped: not needed }}\n"))
        .concat();
    change_log(
        &copy,
        &[("wet_until:", &format!("rewets: {asked}\n    wet_until:")), ("loads:\n", &format!("loads:\n{spare}"))],
    );
    let run = copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(3);
    assert!(run.stderr.contains("not mixed (not needed)"), "{}", run.stderr);
    assert!(!run.stderr.contains("wetted again"), "{}", run.stderr);
    assert!(
        verdicts(&json(copy.output().join("2026-0420-record.json")), "rewets")
            .iter()
            .all(|(outcome, _)| outcome == "holds")
    );
    change_log(&copy, &[(&format!("rewets: {asked}"), "rewets: 0")]);
    let run = copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(3);
    assert!(run.stderr.contains("wetted again 0 times"), "{}", run.stderr);
}

#[test]
fn a_log_from_a_spreadsheet_gives_the_same_record() {
    let copy = Copy::of("fish-hall");
    copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(0);
    let from_yaml = json(copy.output().join("2026-0420-record.json"));
    let csv = "what;treatment;load;area;lot;mixed;by;reading;started;finished;wet_until;rinsed;spot;wetted;seen_wet\r\n\
        load;1;1;;SQ-2603-11;2026-04-20 21:41;R. Okafor;600 ppm;;;;;;;\r\n\
        load;2;1;;CP-2602-04;2026-04-20 22:20;R. Okafor;1600 ppm;;;;;;;\r\n\
        area;1;;Filleting tables;;;;;2026-04-20 21:42;2026-04-20 21:52;2026-04-20 22:02;2026-04-20 22:06;;;\r\n\
        area;1;;Packing belt;;;;;2026-04-20 21:53;2026-04-20 22:01;2026-04-20 22:12;2026-04-20 22:15;;;\r\n\
        area;2;;Hall floor;;;;;2026-04-20 22:22;2026-04-20 22:41;2026-04-20 22:49;;;;\r\n\
        check;1;;Filleting tables;;;;;;;;;table 3;2026-04-20 21:45;2026-04-20 21:56\r\n\
        check;1;;Packing belt;;;;;;;;;belt end by the scales;2026-04-20 21:55;2026-04-20 22:06\r\n\
        check;2;;Hall floor;;;;;;;;;drain in the middle;2026-04-20 22:30;2026-04-20 22:36\r\n";
    write(copy.folder.join("log.csv"), csv);
    copy.change_job("log: log.yaml", "log: log.csv");
    copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(0);
    assert_eq!(json(copy.output().join("2026-0420-record.json")), from_yaml);
    // every fault at once, each at its cell
    let spoilt = csv
        .replace("600 ppm", "600 pm")
        .replace("2026-04-20 22:02", "20.13.2026 22:02")
        .replace("Hall floor", "Hal floor");
    write(copy.folder.join("log.csv"), spoilt);
    let run = copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(2);
    for part in ["log.csv:2:49", "log.csv:4:64", "bad-quantity", "bad-time"] {
        assert!(run.stderr.contains(part), "no {part:?} in:\n{}", run.stderr);
    }
}

#[test]
fn photographs_are_known_by_their_digest() {
    let copy = Copy::of("fish-hall");
    write(copy.folder.join("belt.jpg"), b"abc");
    // FIPS 180-4's example: SHA-256 of `abc`
    let digest = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    change_log(&copy, &[("areas:\n", "photographs: [{ file: belt.jpg, shows: the belt }]\nareas:\n")]);
    copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(0);
    assert_eq!(json(copy.output().join("2026-0420-record.json"))["applied"]["photographs"][0]["sha256"], digest);
    let page = json(copy.output().join("2026-0420-record.json"))["certificate"]["data"]["photographs"][0]
        .as_str()
        .expect("a text")
        .to_owned();
    assert!(page.contains("belt.jpg") && page.contains(&digest[..8]), "{page}");
    change_log(&copy, &[("file: belt.jpg", &format!("file: belt.jpg, sha256: {}", "0".repeat(64)))]);
    let run = copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(2);
    assert!(run.stderr.contains("photograph-differs") && run.stderr.contains(digest), "{}", run.stderr);
    change_log(&copy, &[("file: belt.jpg", "file: ../company.yaml")]);
    let run = copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(2);
    assert!(run.stderr.contains("bad-photograph"), "{}", run.stderr);
}

#[test]
fn amounts_really_used_take_the_place_of_those_planned() {
    let copy = Copy::of("fish-hall");
    let page = |copy: &Copy| {
        json(copy.output().join("2026-0420-record.json"))["certificate"]["data"]["products"][0]["used"]
            .as_str()
            .expect("a text")
            .replace('\u{a0}', " ")
    };
    copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(0);
    assert!(page(&copy).ends_with("not measured"), "{}", page(&copy));
    change_log(&copy, &[("reading: 600 ppm", "reading: 600 ppm, water: 2.5 gal, product: 2.5 fl oz")]);
    copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(0);
    assert!(page(&copy).contains("2.5 fl oz") && page(&copy).ends_with("as measured"), "{}", page(&copy));
    change_log(&copy, &[("product: 2.5 fl oz", "product: 2 tablets")]);
    let run = copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(2);
    assert!(run.stderr.contains("applied-wrong-amount"), "{}", run.stderr);
}

#[test]
fn moments_that_cannot_be_of_the_visit_are_told() {
    for (from, to, code) in [
        ("mixed: 2026-04-20T21:41", "mixed: 2025-04-20T21:41", "moment-far"),
        ("finished: 2026-04-20T22:41", "finished: 2026-05-20T22:41", "moment-far"),
        ("wet_until: 2026-04-20T22:02", "wet_until: 2026-04-22T22:02", "times-backwards"),
        ("wet_until: 2026-04-20T22:02", "wet_until: 2026-04-20T21:50", "times-backwards"),
    ] {
        let copy = Copy::of("fish-hall");
        change_log(&copy, &[(from, to)]);
        let run = copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(2);
        assert!(run.stderr.contains(code) && run.stderr.contains("log.yaml:"), "{to}: {}", run.stderr);
    }
}

#[test]
fn what_was_mixed_after_its_use_or_too_long_before_is_not_certified() {
    let copy = Copy::of("fish-hall");
    change_log(&copy, &[("mixed: 2026-04-20T21:41", "mixed: 2026-04-20T21:58")]);
    let run = copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(3);
    assert!(run.stderr.contains("begun before anything was mixed"), "{}", run.stderr);
    let copy = Copy::of("fish-hall");
    copy.change_company("keeps: 7 days", "keeps: 10 min");
    let run = copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(3);
    assert!(run.stderr.contains("load 1: areas were still treated after it had to be thrown away"), "{}", run.stderr);
}
