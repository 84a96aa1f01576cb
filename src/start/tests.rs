use jiff::civil::date;

use super::*;

fn today() -> Date {
    date(2026, 4, 13)
}

fn given(answers: &[(&str, &str)]) -> Answers {
    answers.iter().map(|(name, answer)| ((*name).to_owned(), (*answer).to_owned())).collect()
}

fn problems(answers: &[(&str, &str)]) -> String {
    let mut report = Diagnostics::new();
    check(&given(answers), today(), &mut report).expect("the templates have all that they ask for");
    report.to_string()
}

#[test]
fn a_job_with_each_kind_can_be_planned() {
    assert_eq!(problems(&[]), "");
    for kind in KINDS {
        assert_eq!(problems(&[("kind", kind)]), "", "{kind}");
        let job = start(&given(&[("kind", kind)]), today()).expect("files").job;
        assert!(job.contains("product: example-"), "{job}");
    }
}

/// The dilutions that labels have most often, from strong to weak.
#[test]
fn a_dilution_that_one_bottle_is_too_small_to_measure_is_mixed_in_a_pail() {
    for dilution in [
        "1:10",
        "8 fl oz/gal",
        "2 fl oz/gal",
        "1:64",
        "1 oz/gal",
        "1 fl oz/gal",
        "1:128",
        "0.5 fl oz/gal",
        "1:256",
        "4 mL/L",
        "0.5 %",
        "1/4 fl oz/gal",
        "1:512",
    ] {
        assert_eq!(problems(&[("dilution", dilution)]), "", "{dilution}");
    }
    for sprayer in ["pump", "bucket", "cloth"] {
        assert_eq!(problems(&[("sprayer", sprayer)]), "", "{sprayer}");
    }
    let weak = start(&given(&[("dilution", "1:2048")]), today()).expect("files");
    assert!(weak.job.contains("    mixed_in: pail\n"), "{}", weak.job);
}

#[test]
fn every_figure_of_an_example_waits_for_its_label() {
    let company = start(&given(&[("product", "Solvary Q-75")]), today()).expect("files").company;
    assert_eq!(company.matches("label_checked: no\n").count(), KINDS.len());
    assert!(company.contains("\n  solvary-q-75:\n"), "{company}");
}

#[test]
fn what_is_said_is_text_and_never_yaml_or_template() {
    for name in ["a: b # c", "{{ company }}", "- x", "yes", "\"quoted\" 'twice'", "{% raw %}", "Ñandú & Söhne", "…"]
    {
        assert_eq!(problems(&[("product", name), ("company", name), ("area", name), ("crew", name)]), "", "{name}");
    }
}

#[test]
fn each_answer_that_cannot_stand_is_named() {
    let reported = problems(&[
        ("actives", "2 fl oz"),
        ("hazards", "corrosive"),
        ("dilution", "2 fl oz"),
        ("contact_time", "soon"),
        ("size", "big"),
        ("job", "no number"),
    ]);
    for option in ["--actives", "--hazards", "--dilution", "--contact-time", "--size", "--job"] {
        assert!(reported.contains(option), "no {option} in:\n{reported}");
    }
}
