use super::*;

#[test]
fn a_problem_reads_well() {
    let problem = Diagnostic::error("unknown-unit", "`5 gl` has a unit that is not known")
        .at(Place {
            file: "job.yaml".into(),
            path: "treatments[0].reserve".into(),
            spot: Some(Spot { line: 12, column: 14, text: "    reserve: 5 gl".into() }),
        })
        .hint("did you mean `gal`?");
    let expected = "error[unknown-unit]: `5 gl` has a unit that is not known\n  --> job.yaml:12:14  treatments[0].reserve\n      |\n   12 |     reserve: 5 gl\n      |              ^\n  = did you mean `gal`?\n";
    assert_eq!(problem.to_string(), expected);
}

#[test]
fn the_same_problem_of_the_same_place_is_reported_once() {
    let place = |path: &str| Place { file: "company.yaml".into(), path: path.into(), spot: None };
    let mut report = Diagnostics::new();
    for path in ["products.a", "products.a", "products.b"] {
        report.push(Diagnostic::error("no-coverage", "not known").at(place(path)));
    }
    report.push(Diagnostic::error("no-coverage", "known otherwise").at(place("products.a")));
    assert_eq!(report.problems().len(), 3);
}

#[test]
fn the_first_fifty_are_shown_and_all_are_counted() {
    let mut report = Diagnostics::new();
    for i in 0..MOST_SHOWN {
        assert!(!report.is_full());
        report.push(Diagnostic::error("e", format!("problem {i}.")));
    }
    assert!(report.is_full());
    report.push(Diagnostic::error("e", "the last"));
    report.push_unseen();
    let mut warning = Diagnostic::error("w", "a warning is kept though the errors are many");
    warning.severity = Severity::Warning;
    report.push(warning);
    let shown = report.to_string();
    assert_eq!(shown.matches("error[e]").count(), MOST_SHOWN);
    assert!(shown.contains("a warning is kept") && !shown.contains("the last"), "{shown}");
    assert!(shown.contains("… and 2 more; mend these first"), "{shown}");
    assert!(shown.ends_with("52 problems found\n"), "{shown}");
    assert!(report.has_errors() && !Diagnostics::new().has_errors());
}

#[test]
fn a_value_can_neither_steer_the_terminal_nor_forge_a_line() {
    let bad = "x\u{1b}[2J\nerror[forged]: no\u{202e}";
    let problem = Diagnostic::error("unknown-key", format!("the key `{bad}` is not known"))
        .at(Place {
            file: bad.into(),
            path: bad.into(),
            spot: Some(Spot { line: 1, column: 4, text: "\u{1b}\ta: 1\u{7}".into() }),
        })
        .hint(bad);
    let reported = problem.to_string();
    assert!(!reported.chars().any(|c| c != '\n' && crate::shown::steers(c)), "{reported}");
    assert_eq!(reported.lines().filter(|line| line.starts_with("error")).count(), 1, "{reported}");
    assert!(reported.contains("\n   1 | \\u{1b} a: 1\\u{7}\n     |         ^\n"), "{reported}");
}

#[test]
fn a_very_long_line_is_cut_around_the_spot() {
    let line = "x".repeat(10_000);
    let (shown, column) = excerpt(&line, 5_000);
    assert_eq!((shown.len(), column), (72, 36));
    assert_eq!(excerpt(&line, 1 << 20).1, 73);
    assert_eq!(excerpt("x", 1 << 20).1, 73);
}
