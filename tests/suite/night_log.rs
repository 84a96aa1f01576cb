//! The way back from paper: a log as people keep one, in whatever table, for one visit or a whole night; a visit that began late; what
//! is still to be written down; and the page that a crew writes it on.

use std::path::Path;

use rust_xlsxwriter::{ExcelDateTime, Format, Workbook};
use serde_json::Value;

use crate::support::program::decant;
use crate::support::workspace::{Copy, change, json, read, remove, says, sha256, short_contract, write};

const ROWS: [&str; 9] = [
    "what;treatment;load;area;lot;mixed;by;reading;started;finished;wet_until;rinsed;spot;wetted;seen_wet",
    "load;1;1;;SQ-2603-11;9:41 PM;R. Okafor;600 ppm;;;;;;;",
    "load;2;1;;CP-2602-04;22:20;R. Okafor;1600 ppm;;;;;;;",
    "area;1;;Filleting tables;;;;;21:42;9:52 pm;22:02;22:06;;;",
    "area;1;;Packing belt;;;;;21:53;4/20/2026 10:01 PM;22h12;22:15;;;",
    "area;2;;Hall floor;;;;;22:22;2026-04-20 22:41;22:49;;;;",
    "check;1;;Filleting tables;;;;;;;;;table 3;21:45;21:56",
    "check;1;;Packing belt;;;;;;;;;belt end by the scales;21:55;22:06",
    "check;2;;Hall floor;;;;;;;;;drain in the middle;22:30;22:36",
];

fn record(copy: &Copy) -> Value {
    copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(0);
    json(copy.output().join("2026-0420-record.json"))
}

fn log_is(copy: &Copy, name: &str, bytes: impl AsRef<[u8]>) {
    write(copy.folder.join(name), bytes);
    let job = copy.folder.join("job.yaml");
    let text = read(&job);
    let at = text.rfind("log: ").expect("a log is named");
    write(&job, format!("{}log: {name}\n", &text[..at]));
}

/// A workbook as somebody fills one in: times as times, dates as dates, some as text, numbers as numbers.
fn workbook(rows: &[&str]) -> Vec<u8> {
    let mut book = Workbook::new();
    book.add_worksheet().set_name("Notes").expect("a sheet").write(0, 0, "read this first").expect("a cell");
    let sheet = book.add_worksheet().set_name("Log").expect("a sheet");
    let (clock, whole) = (Format::new().set_num_format("hh:mm"), Format::new().set_num_format("m/d/yyyy h:mm"));
    for (row, line) in rows.iter().enumerate() {
        for (column, cell) in line.split(';').enumerate().filter(|(_, cell)| !cell.is_empty()) {
            let (row, column) = (u32::try_from(row).expect("few"), u16::try_from(column).expect("few"));
            let day = ExcelDateTime::from_ymd(2026, 4, 20).expect("a day");
            let (hour, minute) = cell.split_at_checked(3).map_or(("", ""), |(hour, minute)| (hour, minute));
            let time = hour.trim_end_matches(':').parse::<u16>().ok().zip(minute.parse::<u8>().ok());
            match time.filter(|_| hour.ends_with(':')) {
                Some((hour, minute)) if minute % 2 == 0 => {
                    let at = ExcelDateTime::from_hms(hour, minute, 0).expect("a time");
                    sheet.write_with_format(row, column, &at, &clock).expect("a cell");
                }
                Some((hour, minute)) => {
                    let at = day.and_hms(hour, minute, 0).expect("a moment");
                    sheet.write_with_format(row, column, &at, &whole).expect("a cell");
                }
                None => match cell.parse::<f64>() {
                    Ok(number) => sheet.write(row, column, number).map(|_| ()).expect("a cell"),
                    Err(_) => sheet.write(row, column, cell).map(|_| ()).expect("a cell"),
                },
            }
        }
    }
    book.save_to_buffer().expect("a workbook")
}

#[test]
fn times_as_people_write_them_in_any_table_give_the_same_record() {
    let copy = Copy::of("fish-hall");
    let from_yaml = record(&copy);
    let table = ROWS.join("\r\n");
    for (name, bytes) in [
        // a spreadsheet's own two ways
        ("log.csv", format!("\u{feff}{table}").into_bytes()),
        ("log.csv", table.replace(';', ",").into_bytes()),
        ("log.tsv", table.replace(';', "\t").into_bytes()),
        ("log.xlsx", workbook(&ROWS)),
    ] {
        log_is(&copy, name, bytes);
        assert_eq!(record(&copy), from_yaml, "{name}");
    }
    // the same in YAML
    let yaml = read(copy.folder.join("log.yaml"));
    log_is(&copy, "short.yaml", yaml.replace("2026-04-20T", ""));
    assert_eq!(record(&copy), from_yaml);
}

#[test]
fn a_table_that_cannot_be_read_is_told_with_what_to_do() {
    let copy = Copy::of("fish-hall");
    let table = ROWS.join("\r\n");
    let refused = |bytes: &[u8], parts: &[&str]| {
        log_is(&copy, "log.csv", bytes);
        let run = copy.render(&["--only", "certificate"]).must_end_with(2);
        says(&run.stderr, parts);
    };
    // a spreadsheet's CSV in the code page of its country: whose letters they are nobody can tell
    let mut bytes = table.replace("Okafor", "Oka?or").into_bytes();
    bytes.iter_mut().filter(|byte| **byte == b'?').for_each(|byte| *byte = 0xE9);
    refused(&bytes, &["file-not-utf8", "line 2 is not UTF-8 text (byte 0xE9)", "`CSV UTF-8`"]);
    for (from, to, parts) in [
        ("9:41 PM", "9:41", ["hour-ambiguous", "`9:41` may be morning or evening", "log.csv:2:22"]),
        ("22:20", "4.5.2026 22:20", ["date-ambiguous", "may be 2026-04-05 or 2026-05-04", "log.csv:3:22"]),
        ("22:20", "12:20", ["hour-ambiguous", "`12:20`", "log.csv:3:22"]),
        ("22:20", "10:20 AM", ["time-far", "`10:20 AM` would be 11 h before the start", "write its date too"]),
    ] {
        refused(table.replace(from, to).as_bytes(), &parts);
    }
}

fn tuesday() -> (tempfile::TempDir, std::path::PathBuf) {
    let mondays = "  - { rule: FREQ=WEEKLY;INTERVAL=2;BYDAY=MO, from: 2026-04-13, routes: north }";
    let (folder, contract) = short_contract("2026-05-05", "2026-05-01", mondays, "20260505");
    for site in ["slip", "light", "mussel"] {
        remove(contract.join(format!("logs/{site}-20260505.yaml")));
    }
    (folder, contract)
}

const NIGHT: &str = "job,what,load,area,lot,mixed,by,reading,started,finished,wet_until,deviation,reason
light-20260505,load,1,,SQ-2603-07,6:11 AM,R. Okafor,1200 ppm,,,,,
light-20260505,area,,Benches and rails,,,,,6:12 AM,6:18 AM,6:29 AM,,
mussel-20260505,load,1,,SQ-2603-07,7:11,R. Okafor,1200 ppm,,,,,
mussel-20260505,area,,Benches and rails,,,,,7:12,7:18,7:29,,
slip-20260505,load,1,,SQ-2603-07,8:11,R. Okafor,1200 ppm,,,,,
slip-20260505,area,,Benches and rails,,,,,8:12,8:18,8:29,,
slip-20260505,deviation,,,,,,,,,,One bench was left.,people sat on it
";

fn certificates(contract: &Path) -> Vec<bool> {
    let made = |job: &str| contract.join("out").join(job).join(format!("{job}-certificate.pdf")).is_file();
    ["light-20260505", "mussel-20260505", "slip-20260505"].map(made).to_vec()
}

#[test]
fn one_table_holds_the_logs_of_a_night() {
    let (_folder, contract) = tuesday();
    let batch = || decant(&contract, ["batch", "contract.yaml", "-o", "out", "--only", "certificate"]);
    write(contract.join("logs/tuesday.csv"), NIGHT);
    let run = batch().must_end_with(0);
    assert_eq!(certificates(&contract), [true; 3], "{}", run.stderr);
    let slip = json(contract.join("out/slip-20260505/slip-20260505-record.json"));
    assert_eq!(slip["applied"]["deviations"].as_array().map(Vec::len), Some(1));
    assert_eq!(slip["applied"]["loads"][0]["mixed"], "2026-05-05T08:11:00");
    let light = json(contract.join("out/light-20260505/light-20260505-record.json"));
    assert_eq!(light["applied"]["deviations"].as_array().map(Vec::len), Some(0));
    // an edit of one visit leaves the others as they were issued
    write(contract.join("logs/tuesday.csv"), NIGHT.replace("8:29", "8:31"));
    let run = batch().must_end_with(1);
    says(&run.stderr, &["slip-20260505"]);
    assert!(!run.stderr.contains("light-20260505") && !run.stderr.contains("mussel-20260505"), "{}", run.stderr);
}

#[test]
fn rows_of_no_visit_are_told_and_a_log_may_be_one_file() {
    let (_folder, contract) = tuesday();
    let file = contract.join("contract.yaml");
    change(&file, "logs: logs", "logs: season.csv");
    write(contract.join("season.csv"), format!("{NIGHT}slip-20260506,load,1,,SQ-2603-07,8:11,,1200 ppm,,,,,\n"));
    let batch = || decant(&contract, ["batch", "contract.yaml", "-o", "out", "--only", "certificate"]);
    let run = batch().must_end_with(0);
    says(&run.stderr, &["warning[log-unused]", "it has rows of `slip-20260506`, which is no visit of the contract"]);
    assert_eq!(certificates(&contract), [true; 3], "{}", run.stderr);
    // a slip in the number of a visit hides no deviation
    let (_folder, contract) = tuesday();
    let slip = NIGHT.replace("slip-20260505,deviation", "slip-2026505,deviation");
    write(contract.join("logs/tuesday.csv"), slip);
    let run = decant(&contract, ["batch", "contract.yaml", "-o", "out", "--only", "certificate"]).must_end_with(1);
    says(
        &run.stderr,
        &["table-visit-alone", "no load or area of a visit `slip-2026505`", "did you mean `slip-20260505`?"],
    );
    assert_eq!(certificates(&contract), [false; 3], "{}", run.stderr);
    // a log that two files hold is neither's
    write(contract.join("logs/tuesday.csv"), NIGHT);
    write(contract.join("logs/light-20260505.yaml"), "loads: []\n");
    let run = decant(&contract, ["batch", "contract.yaml", "-o", "out", "--only", "certificate"]).must_end_with(3);
    says(&run.stderr, &["the visit light-20260505 has several logs, so that none of them is taken"]);
    assert_eq!(certificates(&contract), [false, true, true], "{}", run.stderr);
}

/// Labels and sheets are printed before the work, with the record's number: a visit that begins late keeps it.
#[test]
fn a_visit_that_was_put_off_keeps_its_number() {
    let copy = Copy::of("fish-hall");
    let planned = record(&copy)["number"].clone();
    let log = copy.folder.join("log.yaml");
    let text = read(&log);
    // two days later, at another time: every time without a date counts from there
    let late = text.replace("2026-04-20T21", "20").replace("2026-04-20T22", "21").replace("2026-04-20T", "");
    write(&log, format!("{late}began: 2026-04-22 20:35\n"));
    let run = copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(3);
    let made = json(copy.output().join("2026-0420-record.json"));
    assert_eq!(made["number"], planned);
    assert_eq!(made["plan"]["start"], "2026-04-20T21:30:00");
    assert_eq!(made["applied"]["began"], "2026-04-22T20:35:00");
    assert_eq!(made["applied"]["loads"][0]["mixed"], "2026-04-22T20:41:00");
    let began =
        made["verdicts"].as_array().expect("verdicts").iter().find(|v| v["rule"] == "began").expect("a verdict");
    assert_eq!((&began["outcome"], &began["began"]), (&"deviates".into(), &"2026-04-22T20:35:00".into()));
    says(&run.stderr, &["Not every rule was kept"]);
    assert_eq!(made["certificate"]["data"]["date"]["name"], "Wed, Apr 22, 2026");
    decant(&copy.folder, ["verify", copy.output().to_str().expect("text"), "--job", "job.yaml"]).must_end_with(0);
    // without it the times are those of the day that was planned
    write(&log, &late);
    let run = copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(3);
    says(&run.stderr, &["Begun at 8:41\u{a0}PM, 49 min earlier than planned (9:30\u{a0}PM)."]);
    for (began, code) in [
        ("2026-04-22 20:50", "times-backwards"),
        ("2026-05-10 20:50", "times-backwards"),
        ("2026-07-22 20:35", "moment-far"),
        ("2025-04-22 20:35", "moment-far"),
        ("8:35", "hour-ambiguous"),
    ] {
        let moved = late.replace("20:41", "2026-04-22 20:41");
        write(&log, format!("{moved}began: {began}\n"));
        let run = copy.render(&["--only", "certificate", "--replace-draft"]).must_end_with(2);
        // at its place, and once: no other time is far from a beginning that is wrong
        says(&run.stderr, &[&format!("error[{code}]"), "  began\n"]);
        assert_eq!(run.stderr.matches("error[").count(), 1, "{}", run.stderr);
    }
    // an hour late on the same evening, with dates or without
    for began in ["2026-04-20 22:30", "22:30", "10:30 PM"] {
        let hour = text.replace("T22", "T23").replace("T21", "T22");
        write(&log, format!("{hour}began: {began}\n"));
        copy.render(&["--only", "certificate", "--replace-draft"]);
        let made = json(copy.output().join("2026-0420-record.json"));
        assert_eq!((&made["number"], &made["applied"]["began"]), (&planned, &"2026-04-20T22:30:00".into()));
    }
}

#[test]
fn what_is_still_to_be_written_is_listed_load_by_load_and_area_by_area() {
    let copy = Copy::of("fish-hall");
    decant(&copy.folder, ["log", "job.yaml"]).must_end_with(0);
    let log = copy.folder.join("log.yaml");
    let whole = read(&log);
    write(
        &log,
        whole
            .replace(", reading: 600 ppm", "")
            .replace("    finished: 2026-04-20T22:01\n", "")
            .replace("lot: CP-2602-04, mixed: 2026-04-20T22:20, ", ""),
    );
    let lines = [
        "  - treatment 1, load 1, still to write down: Read\n",
        "  - treatment 1, area `Packing belt`, still to write down: Finished\n",
        "  - treatment 2, load 1, still to write down: Mixed, Lot\n",
    ];
    let run = decant(&copy.folder, ["log", "job.yaml"]).must_end_with(3);
    says(&run.stdout, &lines);
    says(&copy.render(&["--only", "certificate"]).must_end_with(3).stderr, &lines);
    // without a log all of it, in the crew's language
    let job = copy.folder.join("job.yaml");
    write(&job, read(&job).replace("log: log.yaml", "language: es"));
    let run = decant(&copy.folder, ["log", "job.yaml"]).must_end_with(3);
    assert_eq!(run.stdout.lines().filter(|line| line.contains("falta anotar: ")).count(), 5, "{}", run.stdout);
    says(
        &run.stdout,
        &["tratamiento 1, área `Packing belt`, falta anotar: Comienzo, Fin, Visto mojado hasta, Enjuagado"],
    );
}

/// What is between two texts.
fn between<'t>(text: &'t str, from: &str, to: &str) -> &'t str {
    text.split_once(from).and_then(|(_, rest)| rest.split_once(to)).map(|(inside, _)| inside).unwrap_or_default()
}

#[test]
fn the_form_holds_what_it_needs_and_text_is_data() {
    let copy = Copy::of("fish-hall");
    let hostile = "</script><script>alert(1)</script><!--\u{e9} & \"x\"";
    copy.change_job("  name: Packing hall, Pier 3", &format!("  name: '{hostile}'"));
    decant(&copy.folder, ["log", "job.yaml", "-o", "form.html", "--language", "fr"]).must_end_with(0);
    let page = read(copy.folder.join("form.html"));
    assert_eq!(page.matches("<script").count(), 2, "data that ends its element");
    let given: Value = serde_json::from_str(between(&page, "id=\"given\">", "</script>")).expect("JSON");
    assert_eq!(given["visits"][0]["site"], hostile);
    // the policy names the script that is there, and nothing is from elsewhere
    let script = between(&page, "<script>", "</script>");
    let digest = between(&page, "script-src 'sha256-", "'");
    let hex: String = sha256(script.as_bytes());
    assert_eq!(base64(&hex), digest.replace("&#x2f;", "/"));
    for part in ["default-src 'none'", "base-uri 'none'", "form-action 'none'"] {
        assert!(page.contains(part), "no {part}");
    }
    assert!(
        !page.contains("http://") && !page.contains("https://") && !page.contains(" src="),
        "something from elsewhere"
    );
    assert_eq!(given["visits"][0]["treatments"][0]["loads"][0]["keys"], serde_json::json!(["mixed", "lot", "reading"]));
    // the same bytes again, and nothing for a name that is no page
    decant(&copy.folder, ["log", "job.yaml", "-o", "again.html", "--language", "fr"]).must_end_with(0);
    assert_eq!(page, read(copy.folder.join("again.html")));
    says(
        &decant(&copy.folder, ["log", "job.yaml", "-o", "form.pdf"]).must_end_with(2).stderr,
        &["does not end in .html"],
    );
    let twice = decant(&copy.folder, ["log", "job.yaml", "job.yaml", "-o", "two.html"]).must_end_with(2);
    says(&twice.stderr, &["the job `2026-0420` is named twice"]);
    assert!(!copy.folder.join("two.html").exists() && !copy.folder.join("form.pdf").exists());
}

/// Base64 of a digest in hexadecimal, the slow way.
fn base64(hex: &str) -> String {
    let bits: String =
        hex.chars().map(|c| format!("{:04b}", c.to_digit(16).expect("a digit"))).collect::<String>() + "00";
    let digits: Vec<char> = ('A'..='Z').chain('a'..='z').chain('0'..='9').chain(['+', '/']).collect();
    let digit = |six: &str| digits[usize::from_str_radix(six, 2).expect("bits")];
    (0..bits.len() / 6).map(|at| digit(&bits[6 * at..6 * at + 6])).collect::<String>() + "="
}
