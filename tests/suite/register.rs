//! Registers: sums over records, and what is refused.

use std::fs;
use std::path::Path;

use serde_json::{Value, json};
use tempfile::TempDir;

use crate::support::program::{Outcome, decant};
use crate::support::record::record;
use crate::support::workspace::{make_folder, read_bytes, temporary, write};

/// A load as the log has it, and the verdict on its reading.
fn reading(load: u64, low: f64, high: f64, result: &str) -> (Value, Value) {
    let strength = |value| json!({ "value": value, "unit": "mg/L" });
    let read = json!({ "low": strength(low), "high": strength(high), "instrument": null });
    let band = json!({ "low": strength(1000.0), "low_passes": false, "high": strength(1200.0), "high_passes": true });
    (
        json!({ "treatment": 2, "load": load, "mixed": "2026-04-13T18:08:00", "reading": read }),
        json!({ "rule": "reading", "treatment": 2, "load": load, "read": read, "band": band, "result": result }),
    )
}

fn put(folder: &Path, name: &str, record: &Value) {
    make_folder(folder.join(name).parent().expect("a folder"));
    write(folder.join(name), record.to_string());
}

fn register(folder: &TempDir, more: &[&str]) -> Outcome {
    decant(folder.path(), [&["register", ".", "-o", "out"], more].concat())
}

fn written(folder: &TempDir, name: &str) -> String {
    fs::read_to_string(folder.path().join("out").join(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
}

#[test]
fn treatments_of_a_product_are_added_up_by_site_and_month() {
    let folder = temporary();
    let ferry = record("ferry-terminal");
    put(folder.path(), "a/2026-0413-record.json", &ferry);
    let mut planned = ferry.clone();
    // without a log nothing is known to have been done
    (planned["plan"]["job"], planned["applied"]) = (json!("2026-0414"), Value::Null);
    put(folder.path(), "b/2026-0414-record.json", &planned);
    let mut later = ferry.clone();
    (later["plan"]["job"], later["plan"]["start"]) = (json!("2026-0501"), json!("2026-05-01T18:00:00"));
    put(folder.path(), "2026-0501-record.json", &later);
    // the same record in two places counts once
    put(folder.path(), "copy/2026-0501-record.json", &later);
    register(&folder, &[]).must_end_with(0);
    let csv = written(&folder, "register.csv");
    let lines: Vec<&str> = csv.split("\r\n").collect();
    assert_eq!(lines.len(), 6, "{csv}");
    // 2 fl oz in the pail, measured, and 54 fl oz for the mister; its load 2, of 23.5 fl oz, was mixed twice: 77.5 fl oz
    let measured = "Gull Point Ferry Terminal,2026-04,Solvary Q-75,00000-75,measured,1,59.1,mL,2,fl oz,";
    let logged = "Gull Point Ferry Terminal,2026-04,Solvary Q-75,00000-75,logged,1,2291.9,mL,77.5,fl oz,";
    for (line, row) in [measured, logged].into_iter().enumerate() {
        assert!(lines[line + 1].starts_with(row), "{}", lines[line + 1]);
        assert!(lines[line + 3].starts_with(&row.replace("2026-04", "2026-05")), "{}", lines[line + 3]);
    }
    let pdf = read_bytes(folder.path().join("out/register.pdf"));
    assert!(pdf.starts_with(b"%PDF-"));
}

#[test]
fn readings_stand_beside_the_band_that_held_for_them() {
    let folder = temporary();
    let read = [
        reading(1, 1000.0, 1200.0, "passes"),
        reading(2, 800.0, 800.0, "below"),
        reading(3, 1500.0, 1500.0, "above"),
        reading(3, 1000.0, 1000.0, "cannot-tell"),
    ];
    let (mut loads, verdicts): (Vec<Value>, Vec<Value>) = read.into_iter().unzip();
    // a reading on which the record holds no verdict does not pass
    loads.push(reading(2, 1200.0, 1200.0, "").0);
    let mut ferry = record("ferry-terminal");
    ferry["applied"]["loads"] = json!(loads);
    ferry["verdicts"] = json!(verdicts);
    put(folder.path(), "2026-0413-record.json", &ferry);
    for language in ["en", "es", "fr"] {
        register(&folder, &["--language", language]).must_end_with(0);
    }
    let csv = written(&folder, "register-readings.csv");
    let results: Vec<&str> = csv.lines().skip(1).filter_map(|line| line.rsplit(',').next()).collect();
    // sorted by load: the two readings of the second and of the third stand side by side
    assert_eq!(results, ["passes", "below", "no_band", "above", "cannot_tell"], "{csv}");
    assert!(csv.contains(
        "2026-04-13T18:08:00,Gull Point Ferry Terminal,2026-0413,Solvary Q-75,2,1,1000,1200,,1000,no,1200,yes,passes"
    ));
}

#[test]
fn what_is_no_record_is_named_and_nothing_is_written() {
    let folder = temporary();
    let empty = register(&folder, &[]).must_end_with(2);
    assert!(empty.stderr.contains("no file named"), "{}", empty.stderr);
    put(folder.path(), "good-record.json", &record("fish-hall"));
    put(folder.path(), "other-record.json", &json!({ "form": "invoice 3" }));
    write(folder.path().join("broken-record.json"), "{\"plan\":");
    let mut short = record("ferry-terminal");
    short["plan"]["treatments"][0]["need"]["product"]["unit"] = json!(["a lot"]);
    put(folder.path(), "short-record.json", &short);
    let run = register(&folder, &[]).must_end_with(2);
    for reported in
        ["other-record.json: it is not a record", "broken-record.json: it is not JSON", "short-record.json: `need/"]
    {
        assert!(run.stderr.contains(reported), "no {reported:?} in {}", run.stderr);
    }
    assert!(!folder.path().join("out").exists());
}

#[test]
fn two_different_records_of_one_job_are_not_added_up() {
    let folder = temporary();
    let fish = record("fish-hall");
    put(folder.path(), "a/2026-0420-record.json", &fish);
    let mut other = fish.clone();
    other["applied"] = Value::Null;
    put(folder.path(), "b/2026-0420-record.json", &other);
    let run = register(&folder, &[]).must_end_with(2);
    assert!(run.stderr.contains("are different records of job 2026-0420"), "{}", run.stderr);
}

#[test]
fn measured_amounts_and_the_newest_revision_count() {
    let folder = temporary();
    let mut fish = record("fish-hall");
    put(folder.path(), "2026-0420-record.json", &fish);
    fish["revision"] = json!(2);
    for load in fish["applied"]["loads"].as_array_mut().expect("loads") {
        load["water"] = json!({ "value": 9_000, "unit": "mL" });
        load["product"] = json!({ "value": 70, "unit": "mL" });
    }
    fish["applied"]["areas"][0]["skipped"] = json!("locked");
    put(folder.path(), "2026-0420-record-r2.json", &fish);
    register(&folder, &[]).must_end_with(0);
    let csv = written(&folder, "register.csv");
    assert!(csv.contains(",measured,1,70,mL,2.37,fl oz,9.07,24.15\r\n"), "{csv}");
    assert!(!csv.contains("logged"), "{csv}");
}
