use super::*;

fn entry(state: State) -> Entry {
    Entry {
        at: "2026-04-14T07:00:00Z".parse().expect("a time"),
        job: "7".into(),
        revision: 1,
        record: "ab".into(),
        to: "Office@client.example".into(),
        message: "<x@firm.example>".into(),
        state,
        told: None,
    }
}

fn to() -> Address {
    Address::parse("office@client.example").expect("an address")
}

fn place() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("log.jsonl");
    (folder, file)
}

#[test]
fn lines_cut_off_the_end_and_a_log_that_is_gone_are_noticed() {
    let (_folder, file) = place();
    let mut log = SendLog::open(&file).expect("a log");
    log.write(&entry(State::Sending)).expect("written");
    log.write(&entry(State::Sent)).expect("written");
    drop(log);
    let text = std::fs::read_to_string(&file).expect("a log");
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    std::fs::write(&file, lines[..2].concat()).expect("written");
    assert!(matches!(SendLog::open(&file), Err(LogError::Cut(_))));
    assert!(matches!(went_out(&file), Err(LogError::Cut(_))));
    std::fs::remove_file(&file).expect("removed");
    assert!(matches!(went_out(&file), Err(LogError::Cut(_))));
    // whole again, and with a line that a crash kept from being noted
    std::fs::write(&file, &text).expect("written");
    SendLog::open(&file).expect("whole").write(&entry(State::Unknown)).expect("written");
    std::fs::remove_file(end_file(&file)).expect("removed");
    assert!(SendLog::open(&file).is_ok());
}

#[test]
fn what_was_left_being_sent_is_unknown_and_what_was_refused_is_open() {
    for (states, wanted) in [
        (vec![], "Open"),
        (vec![State::Sending], "Unknown"),
        (vec![State::Sending, State::Unknown], "Unknown"),
        (vec![State::Sending, State::Sent], "Sent"),
        (vec![State::Sending, State::Refused], "Open"),
        (vec![State::Sending, State::NotSent], "Open"),
        (vec![State::Refused, State::Sending], "Unknown"),
    ] {
        let (_folder, file) = place();
        let mut log = SendLog::open(&file).expect("a log");
        for state in &states {
            log.write(&entry(*state)).expect("written");
        }
        let now = log.standing("7", 1, &to());
        drop(log);
        let log = SendLog::open(&file).expect("a log");
        assert_eq!(log.standing("7", 1, &to()), now);
        assert_eq!(standing(&file).expect("a log")("7", 1, &to()), now);
        assert!(format!("{now:?}").starts_with(wanted), "{states:?}: {now:?}");
        assert_eq!(log.standing("7", 2, &to()), Standing::Open);
        assert_eq!(log.standing("8", 1, &to()), Standing::Open);
    }
}

#[test]
fn two_runs_never_have_one_log() {
    let (_folder, file) = place();
    let first = SendLog::open(&file).expect("a log");
    assert!(matches!(SendLog::open(&file), Err(LogError::Busy(_))));
    drop(first);
    SendLog::open(&file).expect("free again");
}

#[test]
fn a_line_cut_short_at_any_byte_is_as_if_it_were_not_there() {
    let (_folder, file) = place();
    let mut log = SendLog::open(&file).expect("a log");
    let head = std::fs::read(&file).expect("read").len();
    log.write(&entry(State::Sending)).expect("written");
    let before = std::fs::read(&file).expect("read").len();
    log.write(&entry(State::Sent)).expect("written");
    drop(log);
    let whole = std::fs::read(&file).expect("read");
    for cut in 0..=whole.len() {
        std::fs::write(&file, &whole[..cut]).expect("cut");
        // by a crash, which leaves no note of what was not written
        let _ = std::fs::remove_file(end_file(&file));
        let seen = standing(&file).expect("a log")("7", 1, &to());
        let mut log = SendLog::open(&file).unwrap_or_else(|e| panic!("cut at {cut}: {e}"));
        let found = log.standing("7", 1, &to());
        assert_eq!(seen, found);
        match cut {
            cut if cut < before => assert_eq!(found, Standing::Open, "cut at {cut}"),
            cut if cut < whole.len() => assert!(matches!(found, Standing::Unknown { .. }), "cut at {cut}"),
            _ => assert!(matches!(found, Standing::Sent { .. })),
        }
        log.write(&entry(State::Sent)).expect("written");
        drop(log);
        let again = SendLog::open(&file).expect("mended");
        assert!(matches!(again.standing("7", 1, &to()), Standing::Sent { .. }));
        assert!(std::fs::read(&file).expect("read").len() > head);
    }
}

#[test]
fn a_line_that_was_changed_or_taken_out_is_noticed() {
    let (_folder, file) = place();
    let mut log = SendLog::open(&file).expect("a log");
    for state in [State::Sending, State::Sent, State::Sending, State::Refused] {
        log.write(&entry(state)).expect("written");
    }
    drop(log);
    let whole = std::fs::read_to_string(&file).expect("read");
    let lines: Vec<&str> = whole.split_inclusive('\n').collect();
    let without = |i: usize| [&lines[..i], &lines[i + 1..]].concat().concat();
    let mut swapped = lines.clone();
    swapped.swap(1, 3);
    for (text, line) in [
        (without(1), 2),
        (without(2), 3),
        (without(3), 4),
        (whole.replacen("Office@", "other@", 1), 3),
        (whole.replacen("\"sent\"", "\"refused\"", 1), 4),
        (whole.replacen("\"7\"", "\"8\"", 1), 3),
        (swapped.concat(), 2),
        // an entry without a digest where the others have one
        (format!("{whole}{}\n", serde_json::to_string(&entry(State::Sent)).expect("JSON")), 6),
    ] {
        std::fs::write(&file, &text).expect("written");
        for found in [SendLog::open(&file).map(|_| ()), standing(&file).map(|_| ())] {
            match found {
                Err(LogError::Changed { line: at, .. }) => assert_eq!(at, line, "{text}"),
                other => panic!("{other:?}: {text}"),
            }
        }
    }
}

#[test]
fn a_log_begun_before_there_were_digests_is_gone_on_with() {
    let (_folder, file) = place();
    let old = serde_json::to_string(&entry(State::Sending)).expect("JSON");
    std::fs::write(&file, format!("{{\"form\":\"{FORM_1}\"}}\n{old}\n")).expect("written");
    SendLog::open(&file).expect("a log").write(&entry(State::Sent)).expect("written");
    let both = std::fs::read_to_string(&file).expect("read");
    assert!(matches!(standing(&file).expect("a log")("7", 1, &to()), Standing::Sent { .. }));
    std::fs::write(&file, both.replacen("\"7\"", "\"8\"", 1)).expect("written");
    assert!(matches!(SendLog::open(&file), Err(LogError::Changed { line: 3, .. })));
}

#[test]
fn a_log_that_cannot_be_relied_on_is_refused() {
    let good = serde_json::to_string(&entry(State::Sent)).expect("JSON");
    let head = format!("{{\"form\":\"{FORM_1}\"}}\n");
    for (text, line) in [
        ("name,amount\n".to_owned(), 1),
        (format!("{good}\n"), 1),
        (format!("{head}{good}\nrubbish\n{good}\n"), 3),
        (format!("{head}{}\n", good.replace("\"sent\"", "\"mailed\"")), 2),
        (format!("{head}{}\n", good.replace("\"job\"", "\"jobs\"")), 2),
        (format!("{head}{}", "x".repeat(70_000)), 2),
    ] {
        let (_folder, file) = place();
        std::fs::write(&file, &text).expect("written");
        match SendLog::open(&file) {
            Err(LogError::Spoilt { line: found, .. }) => assert_eq!(found, line, "{text:.80}"),
            other => panic!("{text:.80}: {other:?}"),
        }
        assert_eq!(std::fs::read_to_string(&file).expect("read"), text, "it was changed");
    }
    let (folder, _) = place();
    assert!(SendLog::open(folder.path()).is_err());
}
