//! No certificate without the log of what was really done; labels and mix sheet do not wait for it.

use crate::support::workspace::{Copy, names};

#[test]
fn before_the_visit_no_certificate_is_due() {
    let copy = Copy::of("fish-hall");
    copy.change_job("log: log.yaml", "");
    let run = copy.render(&[]).must_end_with(0);
    assert!(run.stderr.contains("\nnote: no certificate yet: the job names no service log"), "{}", run.stderr);
    assert_eq!(
        names(&copy.output()),
        ["2026-0420-labels-roll-4x6.pdf", "2026-0420-mix-sheet.pdf", "2026-0420-record.json", "2026-0420-seal.json"]
    );
}

#[test]
fn each_gap_of_the_log_is_listed() {
    let copy = Copy::of("fish-hall");
    let file = copy.folder.join("log.yaml");
    let log = std::fs::read_to_string(&file).expect("the log can be read");
    let gone = "    rinsed: 2026-04-20T22:06\n";
    assert!(log.contains(gone) && log.contains(", reading: 1600 ppm"), "the sample's log has changed");
    std::fs::write(&file, log.replace(gone, "").replace(", reading: 1600 ppm", "")).expect("the log can be written");
    let run = copy.render(&["--only", "certificate"]).must_end_with(3);
    let listed: Vec<&str> = run.stderr.lines().filter(|line| line.starts_with("  - ")).collect();
    assert_eq!(listed.len(), 2, "{}", run.stderr);
    assert!(run.stderr.contains("Filleting tables"), "{}", run.stderr);
    assert!(!names(&copy.output()).iter().any(|name| name.contains("certificate")));
}

#[test]
fn a_draft_is_made_without_the_log() {
    let copy = Copy::of("fish-hall");
    copy.change_job("log: log.yaml", "");
    copy.render(&["--draft"]).must_end_with(0);
    let pdf = std::fs::read(copy.output().join("2026-0420-certificate.pdf")).expect("the draft is there");
    assert!(pdf.starts_with(b"%PDF-"));
}

#[test]
fn a_draft_never_looks_like_the_certificate() {
    let copy = Copy::of("fish-hall");
    let certificate = |more: &[&str]| {
        let run = copy.render(&[&["--only", "certificate", "--format", "png", "--dpi", "72"], more].concat());
        let run = run.must_end_with(0);
        let page = run.stdout.lines().find(|line| line.ends_with(".png")).expect("a page").to_owned();
        std::fs::read(page).expect("the page can be read")
    };
    // in this order: a draft is not written over a certificate
    let (draft, whole) = (certificate(&["--draft"]), certificate(&[]));
    assert_ne!(whole, draft, "`--draft` leaves no mark on the page");
}
