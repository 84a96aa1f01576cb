use super::*;
use crate::quantity::Number;

#[test]
fn amounts_are_read_by_their_unit() {
    assert_eq!(amount("3 tablets").expect("a count"), Amount::Tablets(Number::int(3)));
    assert!(matches!(amount("12 fl oz"), Ok(Amount::Liquid(_))));
    assert!(matches!(amount("40 g"), Ok(Amount::Powder(_))));
    assert!(amount("40").is_err());
}

/// A log with this text in a file of this name, and what is said of it.
fn log_of(name: &str, text: &str) -> (Option<ServiceLog>, String) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = folder.path().join(name);
    std::fs::write(&file, text).expect("the log can be written");
    let mut report = Diagnostics::new();
    let of = OfVisit { job: "1", start: "2026-04-13T18:00".parse().expect("a start"), month_first: true };
    (ServiceLog::read(&file, &of, &mut report), report.to_string())
}

#[test]
fn the_blank_of_a_spot_that_nobody_watched_is_passed_over() {
    let head = "what,treatment,area,spot,wetted,seen_wet,lot\n";
    for (name, text, expected) in [
        ("a.csv", format!("{head}check,1,Hall,,,,\ncheck,1,Hall,by the door,18:13,18:31,\n"), Ok(1)),
        (
            "a.yaml",
            "checks:\n  - treatment: 1\n    area: Hall\n    spot:\n    wetted:\n    seen_wet:\n".to_owned(),
            Ok(0),
        ),
        // what is half filled in, or says something else, is a slip
        ("a.csv", format!("{head}check,1,Hall,by the door,,,\n"), Err("`wetted` is missing here")),
        ("a.csv", format!("{head}check,1,Hall,,,,A-1\n"), Err("`seen_wet` is missing here")),
        ("a.yaml", "checks: [{ area: Hall, spto: by the door }]".to_owned(), Err("spto")),
    ] {
        let (log, reported) = log_of(name, &text);
        match expected {
            Ok(count) => assert_eq!((log.map(|log| log.checks.len()), reported), (Some(count), String::new())),
            Err(part) => assert!(reported.contains(part), "{text}: {reported}"),
        }
    }
}

#[test]
fn a_table_and_yaml_say_the_same() {
    let yaml = "revision: 2\nreplaces: 00000000000000000000000000000000000000000000000000000000000000ff\n\
                loads: [{ treatment: 2, load: 1, lot: A-1, mixed: 2026-04-13T18:08, water: 2 gal, product: 4 fl oz, reading: 700 ppm, instrument: ±5 % }]\n\
                areas: [{ area: Hall, started: 2026-04-13T18:12, finished: 2026-04-13T18:20, rewets: [2026-04-13T18:25, 2026-04-13T18:29], wet_until: 2026-04-13T18:31, rinsed: no }]\n\
                checks: [{ area: Hall, spot: by the door, wetted: 2026-04-13T18:13, seen_wet: 2026-04-13T18:31 }]\n\
                deviations: [{ what: late, reason: \"rain, then fog\" }]\n";
    let csv = "what,treatment,load,area,lot,mixed,water,product,reading,instrument,started,finished,rewets,wet_until,rinsed,spot,wetted,seen_wet,deviation,reason,revision,replaces\n\
               load,2,1,,A-1,2026-04-13 18:08,2 gal,4 fl oz,700 ppm,±5 %,,,,,,,,,,,,\n\
               area,,,Hall,,,,,,,2026-04-13 18:12,2026-04-13 18:20,2026-04-13 18:25; 2026-04-13 18:29,2026-04-13 18:31,no,,,,,,,\n\
               check,,,Hall,,,,,,,,,,,,by the door,2026-04-13 18:13,2026-04-13 18:31,,,,\n\
               deviation,,,,,,,,,,,,,,,,,,late,\"rain, then fog\",,\n\
               revision,,,,,,,,,,,,,,,,,,,,2,00000000000000000000000000000000000000000000000000000000000000ff\n";
    let read = |name: &str, text: &str| {
        let (log, reported) = log_of(name, text);
        let log = log.unwrap_or_else(|| panic!("{reported}"));
        assert_eq!(reported, "");
        assert_eq!((log.revision, log.replaces.as_ref().map(String::len)), (2, Some(64)));
        serde_json::to_value(&log).expect("a log is JSON")
    };
    assert_eq!(read("a.yaml", yaml), read("a.csv", csv));
}
