//! Cautions: each is explained, and the list in README.md is the one that the program prints.

use crate::support::program::decant;
use crate::support::workspace::{read, root};

#[test]
fn every_caution_is_explained() {
    let list = decant(root(), ["explain"]).must_end_with(0).stdout;
    let codes: Vec<&str> = list.lines().filter_map(|line| line.split_whitespace().next()).collect();
    assert!(codes.len() > 30, "only {} cautions", codes.len());
    for code in codes {
        let reported = decant(root(), ["explain", code]).must_end_with(0).stdout;
        assert!(reported.starts_with(code) && reported.contains("\nSource: "), "{reported}");
        for tag in ["es", "fr"] {
            let other = decant(root(), ["explain", code, "--language", tag]).must_end_with(0).stdout;
            assert!(other.starts_with(code) && other != reported, "{other}");
        }
    }
}

#[test]
fn a_caution_that_is_not_there_is_refused_with_the_nearest() {
    let run = decant(root(), ["explain", "respirators"]).must_end_with(2);
    assert!(run.stderr.contains("did you mean `respirator`?"), "{}", run.stderr);
    // the code of an error, which says itself what to do
    let run = decant(root(), ["explain", "bad-quantity"]).must_end_with(2);
    assert!(run.stderr.contains("only cautions are explained; an error says what to do"), "{}", run.stderr);
}

/// Every code that the plan's sources hand out has its kind: `add("code"`, `about("code")`, `Caution::new("code"`.
#[test]
fn no_caution_without_a_kind() {
    let list = decant(root(), ["explain"]).must_end_with(0).stdout;
    let known: Vec<&str> = list.lines().filter_map(|line| line.split_whitespace().next()).collect();
    let mut seen = 0;
    for file in ["cautions.rs", "flammable.rs", "incompatible.rs", "reentry.rs", "shared_air.rs"] {
        let source = read(root().join("src/plan").join(file));
        for call in ["add(\"", "about(\"", "Caution::new(\""] {
            for rest in source.split(call).skip(1) {
                let code = rest.split('"').next().unwrap_or_default();
                assert!(known.contains(&code), "{file}: `{code}` has no kind");
                seen += 1;
            }
        }
    }
    assert!(seen > 25, "only {seen} codes seen");
}
