//! Files that cannot be true, where a refusal or a list of cautions is not all: what is printed, and what goes through.

use std::fs;
use std::path::PathBuf;

use serde_json::Value;
use tempfile::TempDir;

use crate::support::program::decant;
use crate::support::workspace::{Copy, copy_file, make_folder, read, root, temporary, write};

fn unsafe_case(name: &str) -> PathBuf {
    root().join("tests/cases/unsafe").join(name)
}

fn json(folder: &std::path::Path, arguments: &[&str]) -> Value {
    let run = decant(folder, arguments).must_end_with(0);
    serde_json::from_str(&run.stdout).expect("JSON")
}

/// The hazard statements of the first label.
fn statements(case: &str) -> Vec<String> {
    let data = json(&unsafe_case(case), &["data", "job.yaml", "labels"]);
    let label = &data["roll"]["labels"][0];
    let all = label["ghs"]["hazards"].as_array().expect("statements");
    all.iter().map(|s| s.as_str().expect("text").to_owned()).collect()
}

/// A case with its company file beside it, in a folder of its own, to be changed.
fn changed(case: &str, file: &str, from: &str, to: &str) -> TempDir {
    let folder = temporary();
    let inside = folder.path().join("case");
    make_folder(&inside);
    let shared = root().join("tests/cases/unsafe/company.yaml");
    copy_file(shared, folder.path().join("company.yaml"));
    for entry in fs::read_dir(unsafe_case(case)).expect("the case") {
        let path = entry.expect("a file").path();
        copy_file(&path, inside.join(path.file_name().expect("a name")));
    }
    let path = inside.join(file);
    let text = read(&path);
    assert!(text.contains(from), "{case}: {file} no longer holds {from:?}");
    write(&path, text.replace(from, to));
    folder
}

/// 29 CFR 1910.1200 App. A.1.3.6.2.3 and C.3.3: from 1 % on the share and its routes stand on the label. The concentrate's
/// hazards are shown, so the share is that of the concentrate.
#[test]
fn unknown_acute_toxicity_is_printed_with_its_share_and_routes() {
    let of_concentrate = statements("unknown-acute-toxicity-of-the-concentrate");
    assert_eq!(
        of_concentrate.last().map(String::as_str),
        Some("7.5 % of the mixture consists of ingredients of unknown acute toxicity (oral, dermal, inhalation).")
    );
    let alone = statements("unknown-acute-toxicity-where-nothing-is-classified");
    assert_eq!(alone.len(), 2, "{alone:?}");
    assert!(alone[1].contains("unknown acute toxicity (oral, dermal, inhalation)"), "{alone:?}");
}

/// `rinse: none` is no liquid, and sets aside no rinse that a residue asks for.
#[test]
fn a_rinse_that_the_label_does_not_ask_for_is_never_printed_as_its_liquid() {
    for case in ["rinse-none-where-a-residue-asks-for-one", "rinse-not-required-where-a-residue-asks-for-one"] {
        let plan = json(&unsafe_case(case), &["plan", "--json", "job.yaml"]);
        let rinse = &plan["treatments"][0]["rinse"];
        assert_eq!((&rinse["with"], &rinse["why"]), (&Value::Null, &Value::from("residue")), "{case}");
        let sheet = json(&unsafe_case(case), &["data", "job.yaml", "mix-sheet"]).to_string();
        assert!(sheet.contains("potable water"), "{case}");
        assert!(!sheet.contains("rinse with none") && !sheet.contains("rinse with not"), "{case}");
    }
    // Where no residue asks, there is none.
    let hard =
        changed("rinse-none-where-a-residue-asks-for-one", "company.yaml", "surface: food-contact", "surface: hard");
    let plan = json(&hard.path().join("case"), &["plan", "--json", "job.yaml"]);
    assert_eq!(plan["treatments"][0]["rinse"], Value::Null);
}

#[test]
fn a_confirmed_density_and_a_confirmed_long_visit_go_through() {
    let light = changed(
        "density-of-half-a-kilogram",
        "company.yaml",
        "density: 0.50 kg/L",
        "density: { is: 0.50 kg/L, confirmed: yes }",
    );
    decant(&light.path().join("case"), ["plan", "job.yaml"]).must_end_with(0);
    let long = changed("visit-longer-than-the-job-says", "job.yaml", "longest: 2 h", "longest: 20 h");
    decant(&long.path().join("case"), ["plan", "job.yaml"]).must_end_with(0);
}

/// The caption stands once, and the record keeps what was written.
#[test]
fn a_registration_number_has_one_caption() {
    let copy = Copy::of("ferry-terminal");
    copy.change_company("registration: 00000-75", "registration: EPA Reg. No. 00000-75");
    let labels = json(&copy.folder, &["data", "job.yaml", "labels"]);
    let stock = labels.as_object().and_then(|all| all.values().next()).expect("labels by stock");
    assert_eq!(stock["labels"][0]["registration"], "00000-75");
    assert_eq!(stock["words"]["registration"], "EPA Reg. No.");
    let certificate = json(&copy.folder, &["data", "job.yaml", "certificate", "--draft"]);
    assert!(!certificate.to_string().contains("EPA Reg. No. 00000-75"));
    let plan = json(&copy.folder, &["plan", "--json", "job.yaml"]);
    assert_eq!(plan["treatments"][0]["product"]["registration"], "EPA Reg. No. 00000-75");
}

/// What is wrong with the company file is reported once, however many treatments and jobs meet it.
#[test]
fn a_fault_of_the_company_file_is_reported_once() {
    let copy = Copy::of("ferry-terminal");
    copy.change_company("    density: 0.99 kg/L\n", "");
    let run = decant(&copy.folder, ["plan", "job.yaml"]).must_end_with(2);
    assert!(run.stderr.contains("needs the liquid's density"), "{}", run.stderr);
    let mut places: Vec<&str> = run.stderr.lines().filter(|line| line.starts_with("  --> ")).collect();
    let all = places.len();
    places.sort_unstable();
    places.dedup();
    assert_eq!(places.len(), all, "{}", run.stderr);

    // Two jobs of one company file that cannot be read.
    copy.change_company("tank: 12 gal", "tank: 12");
    let second = read(copy.folder.join("job.yaml"));
    write(copy.folder.join("second.yaml"), second.replace("2026-0413", "2026-0414"));
    let run = decant(&copy.folder, ["labels", "job.yaml", "second.yaml", "-o", "run.pdf"]).must_end_with(2);
    assert_eq!(run.stderr.matches("sprayers.mister.tank").count(), 1, "{}", run.stderr);
    let run = decant(&copy.folder, ["load-out", "job.yaml", "second.yaml", "-o", "van.pdf"]).must_end_with(2);
    assert_eq!(run.stderr.matches("sprayers.mister.tank").count(), 1, "{}", run.stderr);
}

/// A quantity that is read without its range lets a slip of the pen through. Those that are left have bounds beside them.
#[test]
fn every_quantity_of_company_file_and_job_has_a_range() {
    let bounded_beside = [
        ("company/credible.rs", 1, "a density, once it is read"),
        ("company/ingredient.rs", 2, "the ends of a specific limit"),
        ("company/measured.rs", 1, "a pH"),
        ("company/sprayer.rs", 1, "the measure's error, a share"),
        ("company/strip_scale.rs", 1, "a scale's blocks, once they are read"),
        ("job/area.rs", 1, "a floor's sides, once they are read"),
        ("job/service_log_read.rs", 2, "counts"),
        ("job/service_log_words.rs", 1, "an instrument's error"),
    ];
    for folder in ["company", "company/stock", "job"] {
        for entry in fs::read_dir(root().join("src").join(folder)).expect("the sources") {
            let path = entry.expect("an entry").path();
            if path.extension().is_none_or(|e| e != "rs") {
                continue;
            }
            let text = read(&path);
            let count = text.matches("parse(report, parse::").count() + text.matches("|_| parse::").count();
            let name = format!("{folder}/{}", path.file_name().expect("a name").to_string_lossy());
            let allowed = bounded_beside.iter().find(|(file, ..)| *file == name).map_or(0, |(_, count, _)| *count);
            assert_eq!(count, allowed, "quantities that {name} reads without a range of `quantity/range.rs`");
        }
    }
}
