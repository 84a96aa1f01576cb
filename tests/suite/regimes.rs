//! Whose rules a label follows: what it then carries, what it is refused for, and in which languages it speaks.

use serde_json::Value;

use crate::support::program::{Outcome, decant};
use crate::support::workspace::Copy;

fn labels(copy: &Copy, more: &[&str]) -> Outcome {
    let output = copy.output();
    let output = output.to_str().expect("a temporary folder's name is text");
    decant(&copy.folder, [&["render", "job.yaml", "--only", "labels", "-o", output], more].concat())
}

fn data(copy: &Copy, more: &[&str]) -> Value {
    let run = decant(&copy.folder, [&["data", "job.yaml", "labels"], more].concat()).must_end_with(0);
    serde_json::from_str(&run.stdout).expect("data is JSON")
}

/// A job of the ferry terminal whose company works under this regime.
fn under(regime: &str) -> Copy {
    let copy = Copy::of("ferry-terminal");
    copy.set_company(&format!("regime: {regime}\n"));
    copy.change_company("regime: united-states-general", &format!("regime: {regime}"));
    copy
}

#[test]
fn a_label_in_full_is_refused_on_stock_that_cannot_carry_it() {
    let copy = under("united-states");
    let run = labels(&copy, &[]).must_end_with(0);
    assert!(!run.stderr.contains("precautions"), "{}", run.stderr);
    copy.change_company("label: 4 in x 2 in", "label: 2.25 in x 1.25 in");
    let run = labels(&copy, &[]).must_end_with(1);
    assert!(run.stderr.contains("does not fit") && run.stderr.contains("`tag-3x6`"), "{}", run.stderr);
    // with general information at hand the precautions may go
    copy.change_company("    regime: united-states\n", "    regime: united-states-general\n");
    let run = labels(&copy, &[]).must_end_with(0);
    assert!(run.stderr.contains("precautions"), "{}", run.stderr);
}

#[test]
fn canada_wants_both_languages_and_that_a_data_sheet_is_there() {
    let copy = under("canada");
    let run = labels(&copy, &[]).must_end_with(2);
    for part in ["error[label-element-missing]", "the words in French", "SOR/2015-17", "company.yaml"] {
        assert!(run.stderr.contains(part), "no {part:?} in:\n{}", run.stderr);
    }
    copy.set_company("languages: { labels: [fr, en] }\n");
    let label = &data(&copy, &[])["roll-4x6"]["labels"][0];
    assert_eq!(label["second"]["sheet_at_hand"], "A safety data sheet is available at the work place.");
    assert!(label["sheet_at_hand"].as_str().is_some_and(|s| s.contains("données de sécurité")));
    assert_eq!(label["second"]["follows"], "Workplace label after WHMIS");
}

#[test]
fn california_wants_the_signal_word_of_the_products_own_label() {
    let copy = Copy::of("ferry-terminal");
    copy.set_company("state_rules: [california]\n");
    let label = &data(&copy, &[])["roll-4x6"]["labels"][0];
    assert!(label["follows"].as_str().is_some_and(|s| s.ends_with("California, 3 CCR 6678")), "{label}");
    copy.change_company("    label_signal: DANGER\n", "");
    let run = labels(&copy, &[]).must_end_with(2);
    for part in ["the signal word of the label of `solvary-q75`", "3 CCR 6678", "label_signal: DANGER"] {
        assert!(run.stderr.contains(part), "no {part:?} in:\n{}", run.stderr);
    }
    copy.change_company("registration: 00000-75", "registration: 00000-75\n    label_signal: none");
    let label = &data(&copy, &[])["roll-4x6"]["labels"][0];
    assert_eq!(label["pesticide"]["signal"], Value::Null);
    copy.set_company("regime: eu-uk\n");
    let run = labels(&copy, &[]).must_end_with(2);
    assert!(run.stderr.contains("error[bad-state-rules]"), "{}", run.stderr);
}

/// 29 CFR 1910.1200(f)(10): in English; other languages may be added.
#[test]
fn english_stands_on_every_label_of_the_united_states() {
    let given = data(&Copy::of("ferry-terminal"), &["--language", "es"]);
    let roll = &given["roll-4x6"];
    assert_eq!((&roll["lang"], &roll["labels"][0]["second"]["lang"]), (&"es".into(), &"en".into()));
    let copy = Copy::of("ferry-terminal");
    copy.set_company("languages: { labels: [es, fr] }\n");
    let run = labels(&copy, &[]).must_end_with(2);
    assert!(run.stderr.contains("the words in English"), "{}", run.stderr);
}

#[test]
fn stock_cannot_follow_rules_that_hazards_were_not_classified_by() {
    let copy = Copy::of("ferry-terminal");
    copy.change_company("regime: united-states-general", "regime: eu-uk");
    let run = labels(&copy, &[]).must_end_with(2);
    assert!(run.stderr.contains("error[regimes-differ]"), "{}", run.stderr);
}

#[test]
fn two_languages_fit_where_one_does() {
    let copy = Copy::of("ferry-terminal");
    for pair in ["[en, es]", "[en, fr]"] {
        copy.set_company(&format!("languages: {{ labels: {pair} }}\n"));
        labels(&copy, &[]).must_end_with(0);
    }
}

/// Where frames must be red a black label claims less, or is not made.
#[test]
fn black_frames_are_claimed_or_refused() {
    let run = labels(&Copy::of("ferry-terminal"), &["--ink", "black"]).must_end_with(0);
    let notes = run.stderr.lines().filter(|line| line.contains("black frames") && line.contains("(f)(6)(ii)"));
    assert_eq!(notes.count(), 1, "the roll alone follows (f)(6)(i):\n{}", run.stderr);
    let copy = under("eu-uk");
    copy.change_company("roll-4x6: { label: 4 in x 6 in }", "roll-4x6: { label: 4 in x 6 in, ink: black }");
    let run = labels(&copy, &[]).must_end_with(2);
    assert_eq!(run.stderr.matches("error[label-frames-black]").count(), 1, "{}", run.stderr);
    let roll = &data(&Copy::of("ferry-terminal"), &[])["roll-4x6"];
    assert_eq!(roll["labels"][0]["follows"], "Label after 29 CFR 1910.1200(f)(6)(i)");
}

/// The plan's times are printed only where the job asks for them.
#[test]
fn times_are_written_by_who_mixes() {
    let copy = Copy::of("ferry-terminal");
    let label = data(&copy, &[])["roll-4x6"]["labels"][0].take();
    assert_eq!(
        (&label["mixed"], &label["discard"], &label["keeps"]),
        (&Value::Null, &Value::Null, &"keeps 7 days".into())
    );
    assert_eq!(label["pesticide"]["signal"], "Signal word of the concentrate's label: DANGER.");
    assert_eq!(
        (&label["strength"]["of"], &label["site"]),
        (&"active quat".into(), &"Gull Point Ferry Terminal".into())
    );
    copy.change_job("visit:", "label_times: yes\nvisit:");
    let label = data(&copy, &[])["roll-4x6"]["labels"][0].take();
    assert_eq!(
        (&label["mixed"], &label["discard"]),
        (&"Mon, Apr 13, 2026, 6:43\u{a0}PM".into(), &"Mon, Apr 20, 2026, 6:43\u{a0}PM".into())
    );
}
