//! Contracts as text: what they expand to, and how what is wrong with them is reported.

use std::fs;

use super::*;
use crate::job::Job;

const SOUND: &str = "\
contract: HB-26
company: company.yaml
client: { name: Port Ansel Harbour Board }
until: 2026-06-30
notes: [Keys at the office.]
kinds:
  terminal:
    treatments:
      - { product: q75, directions: hard, sprayer: bottle, areas: [Hall, Bar] }
      - { product: q75, directions: hard, sprayer: bottle, areas: [Bar] }
    areas: { Hall: { walls_to: 3 ft }, Bar: { surfaces: 30 ft2 } }
sites:
  b-pier: { name: B, address: 2 Quay, kind: terminal, route: north, order: 2, notes: [Ring twice.], areas: { Hall: { floor: 9 ft x 9 ft }, Bar: none } }
  a-pier: { name: A, address: 1 Quay, postcode: \"00417\", kind: terminal, route: north, order: 1, areas: { Hall: { floor: 9 ft x 9 ft } } }
routes:
  north: { crew: [okafor], start: \"22:30\", takes: 50 min }
visits:
  rule: FREQ=WEEKLY;INTERVAL=2;BYDAY=MO
  from: 2026-05-11
holidays: { days: [2026-05-25, 2026-05-26], then: next-working-day }
";

const COMPANY: &str = "\
company: { name: T, address: 1 Q, phone: 555-0100 }
record_link: https://t.example/{record}
crew: { okafor: R. Okafor, lindqvist: D. Lindqvist }
products:
  q75:
    name: Q
    kind: quat
    form: liquid
    density: 1 kg/L
    ingredients: [{ name: quat, content: 7.5 % }]
    sds: { revised: 2026-01-01, hazards: [Eye Irrit. 2] }
    directions: { hard: { title: Hard, dilution: 2 fl oz/gal, contact_time: 10 min, coverage: 200 ft2/gal, methods: [spray], surface: hard } }
sprayers:
  bottle: { name: Bottle, method: spray, tank: 32 fl oz, pace: { speed: 15 ft/min, swath: 1 ft }, stock: roll }
stock: { roll: { label: 4 in x 6 in } }
";

/// The contract with texts replaced, read and checked; what was told.
fn read(changes: &[(&str, &str)], table: &str) -> (Option<Contract>, String) {
    let folder = tempfile::tempdir().unwrap();
    let mut text = SOUND.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replace(from, to);
    }
    for (name, text) in [("contract.yaml", text.as_str()), ("company.yaml", COMPANY), ("sites.csv", table)] {
        fs::write(folder.path().join(name), text).unwrap();
    }
    let mut report = Diagnostics::new();
    let contract = Contract::read(&folder.path().join("contract.yaml"), &Past::default(), &mut report);
    if let Some(contract) = &contract {
        contract.check(&mut report, |_, _| {});
    }
    let reported = report.to_string().replace(&format!("{}/", folder.path().display()), "");
    (contract, reported)
}

fn expanded(changes: &[(&str, &str)]) -> Vec<ExpandedJob> {
    let (contract, reported) = read(changes, "");
    assert_eq!(reported, "");
    contract.unwrap().expand(Path::new("jobs"), &|_| None)
}

fn starts(jobs: &[ExpandedJob]) -> Vec<String> {
    let start = |job: &ExpandedJob| {
        job.yaml.lines().find_map(|line| Some(line.trim().strip_prefix("start: \"2026-")?.to_owned()))
    };
    jobs.iter().map(|job| format!("{} {}", job.name, start(job).unwrap().trim_end_matches('"'))).collect()
}

#[test]
fn visits_are_in_the_order_of_day_and_route_and_holidays_move_them() {
    let jobs = expanded(&[]);
    let expected = [
        "a-pier-20260511 05-11T22:30",
        "b-pier-20260511 05-11T23:20",
        "a-pier-20260527 05-27T22:30",
        "b-pier-20260527 05-27T23:20",
        "a-pier-20260608 06-08T22:30",
        "b-pier-20260608 06-08T23:20",
        "a-pier-20260622 06-22T22:30",
        "b-pier-20260622 06-22T23:20",
    ];
    assert_eq!(starts(&jobs), expected);
}

#[test]
fn a_holiday_skips_a_visit_or_finds_the_next_working_day() {
    let skipped = expanded(&[("then: next-working-day", "then: skip")]);
    assert_eq!(skipped.len(), 6);
    let tuesdays = expanded(&[("then: next", "working_days: [tu], then: next")]);
    assert_eq!(tuesdays[2].name, "a-pier-20260602");
    // moved onto a day that has a visit already, it is that visit
    let daily = expanded(&[("FREQ=WEEKLY;INTERVAL=2;BYDAY=MO", "FREQ=DAILY;COUNT=18")]);
    assert_eq!(daily.len(), 2 * 16);
}

#[test]
fn an_area_that_a_site_has_not_leaves_its_treatments() {
    let jobs = expanded(&[]);
    let (head, body) = jobs[1].yaml.split_at(jobs[1].yaml.find("job: ").unwrap());
    assert!(
        head.starts_with("# Contract HB-26, file ") && head.contains(". Change the contract and expand it again.\n")
    );
    assert_eq!(
        body,
        "\
         job: b-pier-20260511\ncompany: COMPANY\nclient:\n  name: Port Ansel Harbour Board\nsite:\n  name: B\n  \
         address: 2 Quay\nvisit:\n  start: \"2026-05-11T23:20\"\n  crew: [okafor]\nnotes: [Keys at the office., \
         Ring twice.]\ntreatments:\n  -\n    product: q75\n    directions: hard\n    sprayer: bottle\n    areas: [Hall]\n\
         areas:\n  Hall: { walls_to: 3 ft, floor: 9 ft x 9 ft }\n"
            .replace("COMPANY", body.lines().nth(1).unwrap().trim_start_matches("company: "))
    );
    assert!(jobs[0].yaml.contains("address: 1 Quay 00417\n"));
    assert!(jobs[0].yaml.contains("areas: [Hall, Bar]\n") && jobs[0].yaml.contains("areas: [Bar]\n"));
}

#[test]
fn times_run_on_past_midnight_and_fixed_ones_are_kept() {
    let late = expanded(&[("22:30", "23:30")]);
    assert_eq!(starts(&late)[..2], ["a-pier-20260511 05-11T23:30", "b-pier-20260511 05-12T00:20"]);
    let fixed = expanded(&[("order: 2", "order: 2, start: \"23:45\""), ("takes: 50 min }", "takes: 50 min }")]);
    assert_eq!(starts(&fixed)[1], "b-pier-20260511 05-11T23:45");
    let longer = expanded(&[("order: 1", "order: 1, takes: 61 min")]);
    assert_eq!(starts(&longer)[1], "b-pier-20260511 05-11T23:31");
    let listed = expanded(&[(
        "  rule: FREQ=WEEKLY;INTERVAL=2;BYDAY=MO\n  from: 2026-05-11\n",
        "  on: [2026-05-25, 2026-05-27T05:15]\n  sites: a-pier\n",
    )]);
    // who lists a day means it, holiday or not
    assert_eq!(starts(&listed), ["a-pier-20260525 05-25T22:30", "a-pier-20260527 05-27T05:15"]);
}

#[test]
fn the_crew_is_the_sites_then_the_routes_then_the_contracts() {
    let crew = |job: &ExpandedJob| job.yaml.lines().find(|l| l.contains("crew:")).unwrap().trim().to_owned();
    let own =
        expanded(&[("order: 2", "order: 2, crew: lindqvist"), ("contract: HB-26", "contract: HB-26\ncrew: lindqvist")]);
    assert_eq!([crew(&own[0]), crew(&own[1])], ["crew: [okafor]", "crew: lindqvist"]);
    let none = expanded(&[("crew: [okafor], ", ""), ("contract: HB-26", "contract: HB-26\ncrew: lindqvist")]);
    assert_eq!(crew(&none[0]), "crew: lindqvist");
}

#[test]
fn jobs_are_read_as_any_job_and_logs_are_found() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::create_dir_all(at("logs")).unwrap();
    fs::create_dir_all(at("out/deep")).unwrap();
    fs::write(at("company.yaml"), COMPANY).unwrap();
    fs::write(at("contract.yaml"), SOUND.replace("until:", "logs: logs\nuntil:")).unwrap();
    fs::write(at("logs/a-pier-20260511.yaml"), "loads: []\nareas: {}\n").unwrap();
    let mut report = Diagnostics::new();
    let contract = Contract::read(&at("contract.yaml"), &Past::default(), &mut report).unwrap();
    let jobs = contract.expand(&at("out/deep"), &|_| None);
    assert!(jobs[0].yaml.contains("company: \"../../company.yaml\"\n"), "{}", jobs[0].yaml);
    assert!(jobs[0].yaml.contains("log: \"../../logs/a-pier-20260511.yaml\"\n"), "{}", jobs[0].yaml);
    assert!(!jobs[1].yaml.contains("log: "));
    for job in &jobs[1..] {
        fs::write(at("out/deep/job.yaml"), &job.yaml).unwrap();
        let read = Job::read(&at("out/deep/job.yaml"), &mut report).expect("a job");
        assert_eq!((&read.number, read.areas.len()), (&job.name, 1 + usize::from(job.name.starts_with("a-pier"))));
    }
    assert_eq!(report, Diagnostics::new());
    // a folder that is not there yet, and the same contract again
    assert_eq!(contract.expand(&at("out/new"), &|_| None), jobs);
}

#[test]
fn job_numbers_follow_the_pattern() {
    let jobs = expanded(&[("contract: HB-26", "contract: HB\njob_number: \"{contract}.{site}.{date}{time}\"")]);
    assert_eq!(jobs[0].name, "HB.a-pier.202605112230");
}

#[test]
fn what_is_wrong_is_told_at_its_place() {
    let visits = "  rule: FREQ=WEEKLY;INTERVAL=2;BYDAY=MO\n  from: 2026-05-11\n";
    for (changes, reported) in [
        (&[("order: 2", "order: x")][..], "error[bad-count]: `x` is no place in a route\n  --> contract.yaml:13"),
        (
            &[("kind: terminal, route: north, order: 2", "kind: termnal")],
            "error[kind-unknown]: no kind of site `termnal`",
        ),
        (
            &[("kind: terminal, route: north, order: 2", "order: 2")],
            "error[missing-key]: the site `b-pier` has no kind",
        ),
        (&[("name: B, ", "")], "error[missing-key]: the site `b-pier` has no name"),
        (&[("route: north, order: 2", "route: nort")], "error[route-unknown]: no route `nort`"),
        (&[("b-pier:", "b/pier:")], "error[bad-site-key]: `b/pier` cannot be the key"),
        (&[("b-pier:", "b-pier-of-the-north:")], "error[bad-job-number]: `b-pier-of-the-north-20260511` cannot"),
        (
            &[("contract: HB-26", "contract: HB-26\njob_number: \"{site}\"")],
            "error[job-number-twice]: two visits have the job number `a-pier`",
        ),
        (
            &[("contract: HB-26", "contract: HB-26\njob_number: \"{sit}\"")],
            "error[bad-job-number]: `{sit}` has a blank",
        ),
        (&[("contract: HB-26", "contract: HB 26")], "error[bad-contract-number]"),
        (&[("until: 2026-06-30\n", "")], "error[rule-without-end]"),
        (&[("BYDAY=MO", "BYDAY=TU")], "error[rule-not-from]: the rule does not name its first day, 2026-05-11"),
        (&[("BYDAY=MO", "BYWEEKNO=3")], "error[bad-rule]: `BYWEEKNO` is not followed here"),
        (
            &[("until: 2026-06-30", "until: 2026-05-26")],
            "error[visit-past-end]: the visit of 2026-05-25 is moved to 2026-05-27",
        ),
        (&[(visits, "  on: [2026-07-01]\n")], "error[visit-past-end]: 2026-07-01 is after"),
        (&[(visits, "  on: [2026-06-01, 2026-06-01]\n")], "error[visit-twice]: the site `b-pier` is visited twice"),
        (&[(visits, "  from: 2026-05-11\n")], "error[visits-how]"),
        (&[(visits, "  on: 2026-06-01 six\n")], "error[bad-time]: `2026-06-01 six`"),
        (
            &[(visits, "  on: 2026-06-01\n  sites: c-pier\n")],
            "error[site-unknown]: no site of this contract goes by `c-pier`",
        ),
        (&[(visits, "  on: []\n")], "error[no-visit]"),
        (&[("2026-06-30", "2199-12-31"), ("WEEKLY;INTERVAL=2;BYDAY=MO", "DAILY")], "error[too-many-visits]"),
        (&[("start: \"22:30\", ", "")], "error[start-missing]: when the visit to `a-pier` begins"),
        (&[("start: \"22:30\"", "start: ten")], "error[bad-time]: `ten` is not a time of day"),
        (&[(", takes: 50 min", "")], "error[takes-missing]"),
        (&[("takes: 50 min", "takes: 0 min")], "error[out-of-range]"),
        (&[("order: 1", "order: 1, takes: 2 days ago")], "error[bad-quantity]"),
        (
            &[("order: 2", "order: 2, start: \"23:00\"")],
            "error[route-too-tight]: the visit to `b-pier` at 23:00 begins before the crew is free",
        ),
        (&[("then: next-working-day", "then: maybe")], "error[unknown-word]: `maybe`"),
        (&[("then: next", "working_days: [xx], then: next")], "error[unknown-word]: `xx` is not known here"),
        (
            &[("areas: { Hall: { floor: 9 ft x 9 ft } }", "areas: {}")],
            "error[area-not-given]: the size of the area `Hall` at the site `a-pier`",
        ),
        (&[("Bar: none", "Bar: none, Hall: none")], "error[yaml-duplicate-key]"),
        (
            &[("Hall: { floor: 9 ft x 9 ft }, Bar: none", "Hall: none, Bar: none")],
            "error[no-treatment]: nothing is treated at the site `b-pier`",
        ),
        (&[("Hall: { floor: 9 ft x 9 ft }, Bar: none", "Hall: { floor: 9 ft x 9 gal }")], "error[bad-quantity]"),
        (
            &[("Bar: none", "Bar: none, Shed: { floor: 1 ft x 1 ft }")],
            "error[area-untreated]: nobody treats the area `Shed`\n  --> contract.yaml:13:",
        ),
        (
            &[("crew: [okafor]", "crew: [okafr]")],
            "error[crew-unknown]: nobody `okafr` is in the company's crew\n  --> contract.yaml:16:19",
        ),
        (&[("address: 2 Quay", "address: 2 Quay, adress: x")], "error[unknown-key]: the key `adress`"),
        (&[("company: company.yaml", "company: c.yaml")], "error[file-unreadable]"),
        (&[("until:", "site_table: { file: t.pdf, columns: { key: A } }\nuntil:")], "error[table-unknown]"),
        (&[("until:", "site_table: { file: none.csv, columns: { key: A } }\nuntil:")], "error[file-unreadable]"),
    ] {
        let (_, found) = read(changes, "");
        assert!(found.starts_with(reported), "{changes:?}: wanted {reported}\n{found}");
    }
}

#[test]
fn what_stands_with_a_kind_is_told_once() {
    let (_, reported) = read(
        &[(
            "product: q75, directions: hard, sprayer: bottle, areas: [Hall, Bar]",
            "product: q76, directions: hard, sprayer: bottle, areas: [Hall, Bar]",
        )],
        "",
    );
    assert!(
        reported.contains("no product `q76`") && reported.contains("kinds.terminal.treatments[0].product"),
        "{reported}"
    );
    assert!(reported.ends_with("\n1 problem found\n"), "{reported}");
}

#[test]
fn a_table_is_read_with_the_sites_of_the_file_laid_over_it() {
    let columns = "site_table: { file: sites.csv, columns: { key: C, name: N, address: [S, T], postcode: P, kind: K, route: R, crew: W, \
                   notes: [X], areas: { Hall: { floor: H }, Bar: { surfaces: { column: B, unit: ft2 } } } } }\nuntil:";
    let table = "C,N,S,T,P,K,R,W,X,H,B\n\
                 a-pier,Not this,1 Quay,Ansel,00417,terminal,north,,,8 ft x 8 ft,\n\
                 c-pier,\"C, the last\",3 Quay,Ansel,02134,terminal,north,okafor; lindqvist,Mind the step,9 ft x 7 ft,12.5\n\
                 d-pier,D,4 Quay,Ansel,02134,terminal,north,,,9 ft x 7 ft,none\n";
    let (contract, reported) = read(&[("until:", columns)], table);
    assert_eq!(reported, "");
    let jobs = contract.unwrap().expand(Path::new("."), &|_| None);
    // those without a place in the route come last, in the order of the table and then of the file
    let first: Vec<&str> = jobs.iter().take(4).map(|job| &job.name[..6]).collect();
    assert_eq!(first, ["a-pier", "b-pier", "c-pier", "d-pier"]);
    assert!(jobs[0].yaml.contains("name: A\n") && jobs[0].yaml.contains("floor: 9 ft x 9 ft"), "{}", jobs[0].yaml);
    for part in [
        "name: \"C, the last\"\n",
        "address: \"3 Quay, Ansel 02134\"\n",
        "crew: [okafor, lindqvist]\n",
        "notes: [Keys at the office., Mind the step]\n",
        "Bar: { surfaces: 12.5 ft2 }\n",
    ] {
        assert!(jobs[2].yaml.contains(part), "no {part} in\n{}", jobs[2].yaml);
    }
    assert!(!jobs[3].yaml.contains("Bar"), "{}", jobs[3].yaml);

    let wrong = [
        ("c-pier,", ",", "error[cell-empty]: this site has no key\n  --> sites.csv:3:1"),
        ("c-pier,", "a-pier,", "error[site-twice]: the site `a-pier` stands in this table twice\n  --> sites.csv:3:1"),
        ("\"C, the last\"", "", "error[cell-empty]: the site `c-pier` has no name\n  --> sites.csv:3:8"),
        ("8 ft x 8 ft", "", "error[cell-empty]: the size of the area `Hall` at the site `c-pier`"),
        ("9 ft x 7 ft", "9 ft x 7 gal", "error[bad-quantity]"),
        (
            "okafor; lindqvist",
            "okafor; nobody",
            "error[crew-unknown]: nobody `nobody` is in the company's crew\n  --> sites.csv:3:56",
        ),
        ("Mind the step", "Mind\u{202e} the step", "error[unprintable-character]"),
        (",B\n", ",Bar\n", "error[column-missing]: no column is headed `B`\n  --> sites.csv:1:1"),
        (",W,X,", ",X,X,", "error[column-"),
    ];
    for (from, to, expected) in wrong {
        let table = table.replace("8 ft x 8 ft", "9 ft x 9 ft").replace(
            if from == "8 ft x 8 ft" { "step,9 ft x 7 ft" } else { from },
            if from == "8 ft x 8 ft" { "step," } else { to },
        );
        let (_, reported) = read(&[("until:", columns)], &table);
        assert!(reported.starts_with(expected), "{from} to {to}: wanted {expected}\n{reported}");
    }
}

#[test]
fn a_visit_that_was_made_is_known_by_its_number() {
    let made = jiff::civil::date(2026, 4, 13).at(21, 30, 0, 0);
    let time = |hour, minute| jiff::civil::time(hour, minute, 0, 0);
    let pins = Pins::from([("house-20260413".to_owned(), made), ("house-20260413-1800".to_owned(), made)]);
    let number = |filled: &str, written, listed: &[Time]| {
        let (number, start) = number_of(&pins, filled, Some(written), listed.iter().copied());
        (number, start.is_some())
    };
    assert_eq!(number("house-20260413", time(18, 0), &[]), ("house-20260413".into(), true));
    assert_eq!(number("gull-20260413", time(18, 0), &[]), ("gull-20260413".into(), false));
    // with the time in the number, whatever the contract says now
    assert_eq!(number("house-20260413-{time}", time(18, 0), &[]), ("house-20260413-1800".into(), true));
    assert_eq!(number("house-20260413-{time}", time(19, 0), &[]), ("house-20260413-1800".into(), true));
    // a visit that is listed with its time has that number and no other
    assert_eq!(number("house-20260413-{time}", time(5, 30), &[time(5, 30)]), ("house-20260413-0530".into(), false));
    assert_eq!(number("house-20260413-{time}", time(19, 0), &[time(18, 0)]), ("house-20260413-1900".into(), false));
}

fn job<'a>(jobs: &'a [ExpandedJob], name: &str) -> &'a str {
    &jobs.iter().find(|job| job.name == name).unwrap_or_else(|| panic!("no {name}")).yaml
}

#[test]
fn sites_crews_and_treatments_change_by_date() {
    let jobs = expanded(&[
        (
            "kind: terminal, route: north, order: 2,",
            "kind: terminal, route: north, order: 2, from: 2026-05-20, except: [2026-06-08],",
        ),
        ("crew: [okafor]", "crew: [okafor, { member: lindqvist, until: 2026-06-07 }]"),
        (
            "areas: [Hall, Bar] }",
            "areas: [Hall, Bar], until: 2026-06-08 }\n      - { product: q75, directions: hard, sprayer: bottle, areas: [Hall], sprayers: 2, from: 2026-06-09 }",
        ),
    ]);
    let names: Vec<&str> = jobs.iter().map(|job| job.name.as_str()).collect();
    let all = [
        "a-pier-20260511",
        "a-pier-20260527",
        "b-pier-20260527",
        "a-pier-20260608",
        "a-pier-20260622",
        "b-pier-20260622",
    ];
    assert_eq!(names, all);
    assert!(job(&jobs, "a-pier-20260527").contains("crew: [okafor, lindqvist]\n"));
    assert!(job(&jobs, "a-pier-20260608").contains("crew: [okafor]\n"));
    let (before, after) = (job(&jobs, "a-pier-20260608"), job(&jobs, "a-pier-20260622"));
    assert!(before.contains("areas: [Hall, Bar]\n") && !before.contains("sprayers: 2"), "{before}");
    assert!(after.contains("sprayers: 2\n") && !after.contains("areas: [Hall, Bar]"), "{after}");
    assert!(!after.contains("from:") && !before.contains("until:"));
}

#[test]
fn a_visit_that_is_moved_keeps_its_number() {
    let holidays = (
        "holidays:",
        "moves: [{ from: 2026-06-08, to: 2026-06-10T21:00 }, { from: 2026-06-22, to: 2026-06-11, sites: b-pier }]\nholidays:",
    );
    let expected = [
        "a-pier-20260511 05-11T22:30",
        "b-pier-20260511 05-11T23:20",
        "a-pier-20260527 05-27T22:30",
        "b-pier-20260527 05-27T23:20",
        "a-pier-20260608 06-10T21:00",
        "b-pier-20260608 06-10T21:50",
        "b-pier-20260622 06-11T22:30",
        "a-pier-20260622 06-22T22:30",
    ];
    assert_eq!(starts(&expanded(&[holidays])), expected);
    let timed = |name: &str| name.split_once(' ').map(|(name, _)| format!("{name}-2230"));
    let numbers: Vec<String> = expected.iter().filter_map(|line| timed(line)).collect();
    let jobs = expanded(&[holidays, ("contract: HB-26", "contract: HB-26\njob_number: \"{site}-{date}-{time}\"")]);
    assert_eq!(jobs.iter().map(|job| job.name.clone()).collect::<Vec<_>>(), numbers);
}

#[test]
fn a_slip_in_a_date_is_an_error() {
    for (changes, reported) in [
        (
            ("order: 2,", "order: 2, except: [2026-06-09],"),
            "error[except-unused]: `b-pier` is not visited on 2026-06-09 anyway\n  --> contract.yaml:13:",
        ),
        (
            ("order: 2,", "order: 2, from: 2026-06-09, until: 2026-06-01,"),
            "error[dates-reversed]: this ends on 2026-06-01",
        ),
        (("order: 2,", "order: 2, from: 9 June,"), "error[bad-date]: `9 June` is not a date\n  --> contract.yaml:13:"),
        (
            ("from: 2026-05-11\n", "from: 2026-05-11\n  except: [2026-05-12]\n"),
            "error[except-unused]: none of these visits",
        ),
        (
            ("holidays:", "moves: [{ from: 2026-06-09, to: 2026-06-10 }]\nholidays:"),
            "error[move-unused]: no visit of 2026-06-09",
        ),
        (("holidays:", "moves: [{ from: 2026-06-08, to: 2026-07-10 }]\nholidays:"), "error[visit-past-end]"),
        (("holidays:", "moves: [{ from: 2026-06-08, to: 2026-06-22 }]\nholidays:"), "error[visit-twice]"),
        (
            (
                "holidays:",
                "moves: [{ from: 2026-06-08, to: 2026-06-09 }, { from: 2026-06-08, to: 2026-06-10 }]\nholidays:",
            ),
            "error[move-twice]",
        ),
        (
            ("crew: [okafor]", "crew: [{ member: okafor, until: 2026-06-08 }]"),
            "error[crew-empty]: nobody of this crew goes to `a-pier` on 2026-06-22",
        ),
        (("crew: [okafor]", "crew: [{ membr: okafor }]"), "error[missing-key]: `member` is missing"),
        // from the day on which nothing treats an area that the site has
        (
            (
                "areas: [Bar] }",
                "areas: [Bar] }\n      - { product: q75, directions: hard, sprayer: bottle, areas: [Hall] }",
            ),
            "",
        ),
        (
            ("areas: [Hall, Bar] }", "areas: [Hall, Bar], until: 2026-06-08 }"),
            "error[area-untreated]: nobody treats the area `Hall`",
        ),
    ] {
        let (_, found) = read(&[changes], "");
        assert!(found.starts_with(reported), "{changes:?}: wanted {reported}\n{found}");
    }
}
