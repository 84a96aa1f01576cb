//! What keeps people whole, figure for figure from its source and through the whole program.

use serde_json::Value;

use crate::support::program::decant;
use crate::support::workspace::{Copy, read, root};

fn plan(case: &str) -> Value {
    let folder = root().join("tests/cases/planned").join(case);
    let run = decant(&folder, ["plan", "--json", "job.yaml"]).must_end_with(0);
    serde_json::from_str(&run.stdout).expect("a plan is JSON")
}

fn caution<'p>(plan: &'p Value, code: &str) -> &'p Value {
    let all = plan["cautions"].as_array().expect("cautions");
    all.iter().find(|c| c["code"] == code).unwrap_or_else(|| panic!("no caution {code}"))
}

fn figure(value: &Value) -> f64 {
    value["value"].as_f64().unwrap_or_else(|| panic!("no figure in {value}"))
}

/// CDC 2003, Table B.1: 6 air changes an hour clear 99 % in 46 min with perfect mixing (46.05 before rounding); three
/// times that with a mixing factor of 3.
#[test]
fn a_mist_is_cleared_before_anybody_comes_back() {
    let plan = plan("mist-cleared-by-air");
    let treatment = &plan["treatments"][0];
    assert_eq!(figure(&treatment["air"]["takes"]) / 60.0, 139.0);
    assert_eq!(plan["reentry"], treatment["air"]["clear_at"]);
    assert!(treatment["reentry"].as_str() > treatment["wet_until"].as_str());
}

/// No published rule gives a re-entry time for disinfectants: without the label's, and without air changes, none is printed of
/// a mist, nor of any other treatment of its site.
#[test]
fn no_page_has_a_reentry_time_that_nobody_knows() {
    let folder = root().join("tests/cases/unsafe/reentry-of-a-mist-that-nobody-knows");
    let json = |arguments: &[&str]| -> Value {
        serde_json::from_str(&decant(&folder, arguments).must_end_with(0).stdout).expect("JSON")
    };
    let plan = json(&["plan", "--json", "job.yaml"]);
    assert_eq!(plan["reentry"], "not-known");
    for treatment in plan["treatments"].as_array().expect("a list") {
        assert_eq!(treatment["reentry"], "not-known");
    }
    let said = decant(&folder, ["plan", "job.yaml"]).must_end_with(0).stdout;
    assert!(said.contains("re-entry not known: ask"), "{said}");
    let sheet = json(&["data", "job.yaml", "mix-sheet"]);
    assert_eq!(sheet["back"]["big"], "Not known");
    assert_eq!(sheet["back"]["small"], "ask the maker, or measure the air, before anyone returns");
    for treatment in sheet["treatments"].as_array().expect("a list") {
        assert_eq!(treatment["timeline"]["end"], "?");
    }
    let steps = sheet["treatments"][0]["steps"].to_string();
    assert!(steps.contains("When people may come back to the site is not known"), "{steps}");
    let certificate = json(&["data", "job.yaml", "certificate", "--draft"]);
    assert_eq!(certificate["facts"][0]["big"], "Not known");
    for (case, known) in
        [("by-the-air-alone", true), ("by-the-label-alone", true), ("outdoors-that-nobody-knows", false)]
    {
        let folder = root().join(format!("tests/cases/unsafe/reentry-of-a-mist-{case}"));
        let run = decant(&folder, ["plan", "--json", "job.yaml"]).must_end_with(0);
        let plan: Value = serde_json::from_str(&run.stdout).expect("JSON");
        assert_eq!(plan["reentry"] != "not-known", known, "{case}");
    }
}

/// A label that says `when dry`: no clock time is made of it, and what else keeps people out still does.
#[test]
fn surfaces_that_must_be_dry_are_looked_at() {
    let copy = Copy::of("ferry-terminal");
    let json = |arguments: &[&str]| -> Value {
        serde_json::from_str(&decant(&copy.folder, arguments).must_end_with(0).stdout).expect("JSON")
    };
    let timed = json(&["plan", "--json", "job.yaml"]);
    copy.change_company("reentry: 30 min", "reentry: Until the surfaces are dry.");
    let plan = json(&["plan", "--json", "job.yaml"]);
    caution(&plan, "reentry-when-dry");
    // the mist clears later than either label says
    assert_eq!(plan["reentry"], timed["reentry"]);
    assert_eq!(plan["treatments"][1]["directions"]["reentry"], Value::Null);
    for (language, big, small) in [
        ("en", "Not before ", "and not before the surfaces are dry"),
        ("es", "No antes de las ", "y no antes de que las superficies estén secas"),
        ("fr", "Pas avant ", "et pas avant que les surfaces soient sèches"),
    ] {
        let sheet = json(&["data", "job.yaml", "mix-sheet", "--language", language]);
        let certificate = json(&["data", "job.yaml", "certificate", "--draft", "--language", language]);
        for fact in [&sheet["back"], &certificate["facts"][0]] {
            assert!(fact["big"].as_str().expect("words").starts_with(big), "{fact}");
            assert!(fact["small"].as_str().expect("words").contains(small), "{fact}");
        }
        let end = sheet["treatments"][0]["timeline"]["end"].as_str().expect("words");
        assert!(end.starts_with(big), "{end}");
    }
    // dry surfaces say nothing of a mist in the air
    let air = "  air: { temperature: 72 F, humidity: 45 %, changes_per_hour: 6, mixing_factor: 3, cleared: 99 % }\n";
    copy.change_job(air, "");
    assert_eq!(json(&["plan", "--json", "job.yaml"])["reentry"], "not-known");
    // both a time and dry surfaces: the later of the two
    copy.change_company("reentry: Until the surfaces are dry.", "reentry: 18 h, or until dry");
    let sheet = json(&["data", "job.yaml", "mix-sheet"]);
    assert!(sheet["back"]["big"].as_str().expect("words").starts_with("Not before "), "{}", sheet["back"]);
    assert!(json(&["plan", "--json", "job.yaml"])["reentry"].as_str() > timed["reentry"].as_str());
    copy.change_company("reentry: 18 h, or until dry", "reentry: some hours and until dry");
    let run = decant(&copy.folder, ["plan", "job.yaml"]).must_end_with(2);
    assert!(run.stderr.contains("error[bad-quantity]") && run.stderr.contains("some hours"), "{}", run.stderr);
}

/// One label says `when dry`, another's re-entry is not on file: neither hides the other. Who comes back in the same visit
/// is warned, however late the clock says it is.
#[test]
fn dry_surfaces_are_not_forgotten_beside_a_label_that_is_not_on_file() {
    let folder = root().join("tests/cases/unsafe/reentry-of-a-second-treatment-where-it-may-be-wet");
    let json = |arguments: &[&str]| -> Value {
        serde_json::from_str(&decant(&folder, arguments).must_end_with(0).stdout).expect("JSON")
    };
    let plan = json(&["plan", "--json", "job.yaml"]);
    let [first, .., last] = plan["treatments"].as_array().expect("treatments").as_slice() else { panic!("{plan}") };
    assert!(last["begins"].as_str() > first["wet_until"].as_str(), "the contact time is over");
    assert_eq!(caution(&plan, "back-before-dry")["facts"]["area"]["text"], "Counters");
    for (language, dry, label) in [
        ("en", "and not before the surfaces are dry", "and only when the product label allows it"),
        ("es", "y no antes de que las superficies estén secas", "y solo cuando la etiqueta"),
        ("fr", "et pas avant que les surfaces soient sèches", "et seulement quand l'étiquette"),
    ] {
        let sheet = json(&["data", "job.yaml", "mix-sheet", "--language", language]);
        let certificate = json(&["data", "job.yaml", "certificate", "--draft", "--language", language]);
        for fact in [&sheet["back"], &certificate["facts"][0]] {
            let small = fact["small"].as_str().expect("words");
            assert!(small.contains(dry) && small.contains(label), "{fact}");
        }
    }
}

/// MMWR 43(RR-13), 1994: mixing factors run to 10; 99.9 % at 6 air changes takes 69 min, ten times that is 691.
#[test]
fn without_a_mixing_factor_the_worst_is_taken() {
    let plan = plan("mist-with-unknown-mixing");
    assert_eq!(figure(&plan["treatments"][0]["air"]["takes"]) / 60.0, 691.0);
    caution(&plan, "air-mixing-assumed");
}

/// 40 CFR 180.940(a): didecyldimethylammonium chloride 240 ppm. The label asks for no rinse; the limit does.
#[test]
fn a_solution_over_the_limit_is_rinsed_off() {
    let plan = plan("residue-over-the-limit");
    let over = caution(&plan, "residue-over");
    assert_eq!(figure(&over["facts"]["limit"]["strength"]), 240.0);
    assert_eq!(plan["treatments"][0]["rinse"]["why"], "residue");
    // Food Code 4-501.114(C): quaternary ammonium at 75 °F (23.9 °C) at least, hardness 500 mg/L at most.
    let warm = figure(&caution(&plan, "food-code-cold")["facts"]["least"]["temperature"]);
    assert!((warm - 23.888_9).abs() < 1e-3, "{warm}");
    assert_eq!(figure(&caution(&plan, "food-code-hard")["facts"]["most"]["strength"]), 500.0);
}

/// Rutala, disinfectionandsterilization.org, FAQ: wiped films dry in 1.5 to 2 min; 10 min take 5 to 6 applications, and
/// one more at the shorter end. A pass of 5 mL/m² on 60 ft² is 27.9 mL.
#[test]
fn wiping_again_is_counted_in_the_solution() {
    let plan = plan("wiped-in-unknown-air");
    let treatment = &plan["treatments"][0];
    assert_eq!(treatment["wetness"]["applications"], 7);
    let rewet = figure(&treatment["need"]["rewet"]);
    assert!((rewet - 6.0 * 5.0 * 60.0 * 0.092_903_04).abs() < 1e-6, "{rewet} mL");
    let sum = figure(&treatment["need"]["areas"]) + rewet;
    assert!((figure(&treatment["need"]["laid"]) - sum).abs() < 1e-6);
}

/// 29 CFR 1910.1200 App. A: 0.057 % of a skin corrosive is under 1 %, so that nothing of it is classified; the EU's rules
/// for the aquatic environment find nothing of M = 10 × 0.057 % either.
#[test]
fn a_calculation_that_somebody_decided_is_what_the_label_shows() {
    let plan = plan("calculated-hazards");
    let hazards = &plan["treatments"][0]["hazards"];
    assert_eq!(hazards["source"], "calculated");
    assert_eq!(hazards["decided"]["by"], "A. Marlow");
    assert_eq!(hazards["classes"].as_array().map(Vec::len), Some(0));
    // 1 fl oz of 0.99 kg/L to 128 fl oz of water, 0.998 kg/L; the measure's marks divide the dose.
    let share = figure(&hazards["computed"]["share"]);
    assert!((share - 0.99 / (0.99 + 128.0 * 0.998)).abs() < 1e-9, "{share}");
}

#[test]
fn an_expired_lot_withholds_the_certificate_alone() {
    let copy = Copy::of("fish-hall");
    let company = copy.folder.join("../company.yaml");
    let text = std::fs::read_to_string(&company).expect("the company file");
    assert!(text.contains("SQ-2603-11: 2027-03-31"), "the sample's lots have changed");
    std::fs::write(&company, text.replace("SQ-2603-11: 2027-03-31", "SQ-2603-11: 2026-04-19")).expect("written");
    let output = copy.output();
    let run = decant(&copy.folder, ["render", "job.yaml", "-o", output.to_str().expect("text")]).must_end_with(3);
    assert!(run.stderr.contains("lot `SQ-2603-11` had its last day on 2026-04-19"), "{}", run.stderr);
    assert!(run.stdout.contains("mix-sheet.pdf") && !run.stdout.contains("certificate.pdf"), "{}", run.stdout);
}

/// What the company file lacks of a label is missing on every page, and never filled in by something that looks like it.
#[test]
fn what_nobody_copied_from_the_label_is_said_to_be_missing() {
    let copy = Copy::of("ferry-terminal");
    let company = read(copy.company_folder().join("company.yaml"));
    let of_other = company.find("  ostrane-p5:").expect("the second product");
    let mut first = company[..of_other].to_owned();
    for key in ["reentry:", "strip:", "never_with:"] {
        let lines: Vec<&str> = first.lines().filter(|line| !line.trim_start().starts_with(key)).collect();
        first = lines.join("\n") + "\n";
    }
    copy.change_company(&company[..of_other], &first);
    let json = |arguments: &[&str]| -> Value {
        serde_json::from_str(&decant(&copy.folder, arguments).must_end_with(0).stdout).expect("JSON")
    };
    let plan = json(&["plan", "--json", "job.yaml"]);
    for code in ["reentry-unknown", "strip-missing", "never-with-missing", "never-with-family"] {
        caution(&plan, code);
    }
    let sheet = json(&["data", "job.yaml", "mix-sheet"]);
    assert!(sheet["back"]["big"].as_str().expect("words").starts_with("Not before "), "{}", sheet["back"]);
    assert!(sheet["back"]["small"].as_str().expect("words").contains("only when the product label allows it"));
    for treatment in sheet["treatments"].as_array().expect("a list") {
        assert!(!treatment["stop"].to_string().contains("strip"), "{}", treatment["stop"]);
        assert!(treatment["dangers"].to_string().contains("never together with bleach"), "{}", treatment["dangers"]);
    }
    // a bottle on counters drips, a mist wets the floor
    let before = |at: usize| sheet["treatments"][at]["before"].to_string();
    assert!(!before(0).contains("Wet-floor") && before(1).contains("Wet-floor"), "{} {}", before(0), before(1));
    assert!(sheet["treatments"][0]["steps"].to_string().contains("drips on the floor"));
    // the log holds readings by the strip that is gone
    copy.change_job("log: log.yaml", "");
    let certificate = json(&["data", "job.yaml", "certificate", "--draft"]);
    assert!(
        certificate["facts"][0]["small"].as_str().expect("words").contains("only when the product label allows it")
    );
    assert_eq!(certificate["readings"], serde_json::json!([]));
    assert!(certificate["not_evaluated"].to_string().contains("no test strip was given"));
}
