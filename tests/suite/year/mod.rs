//! A year of a firm with many stores, from the workbook to the register. What it comes to is worked out here, from the sizes and the
//! logs that this test wrote, and never read from the program.
//!
//! `cargo test` has few stores; `DECANT_YEAR=43` is the whole of it, and CI gives it a mail server of other people's make.

mod book;
mod office;

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::{Date, date};

use self::book::{
    CHANGE, Changes, FIRST, ROUTES, SECOND, Store, Sums, Visit, ounces, product, stores, visits, workbook,
};
use self::office::{Load, Office, planned_start};
use crate::support::workspace::{change, digests, json, names, read, read_bytes, says, sha256, write};

/// What was logged, by visit.
type Logged = BTreeMap<String, (Visit, Vec<Load>)>;

fn night(all: &[Visit], day: Date, route: usize) -> Vec<&Visit> {
    all.iter().filter(|visit| visit.day == day && visit.store.route == route).collect()
}

/// As the plan has it: each load with its water, and the product that goes into it.
fn as_planned(visit: &Visit, lot: &'static str) -> Vec<Load> {
    // a quarter of a gallon takes a quarter of a gallon's ounces
    let each = |water: &u32| Load { lot, water: *water, product: water * product(visit.day).ounces };
    visit.store.loads(visit.day).iter().map(each).collect()
}

/// What the register must say, from the logs.
fn sums(logged: &Logged) -> Sums {
    let mut sums = Sums::new();
    for (visit, loads) in logged.values() {
        let month = visit.start.strftime("%Y-%m").to_string();
        let sum = sums.entry((visit.store.name(), month, product(visit.day).name)).or_default();
        sum.0 += 1;
        sum.1 += loads.iter().map(|load| load.product).sum::<u32>();
    }
    sums
}

/// What the register says.
fn register(office: &Office) -> BTreeMap<(String, String, String), (u32, String)> {
    office.run(&["register", "contract.yaml", "-o", "register"]).must_end_with(0);
    let csv = read(office.folder.join("register/register.csv"));
    let row = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!((cells[4], cells[9]), ("measured", "fl oz"), "{line}");
        let key = (cells[0].to_owned(), cells[1].to_owned(), cells[2].to_owned());
        (key, (cells[5].parse().expect("a count"), cells[8].to_owned()))
    };
    csv.lines().skip(1).map(row).collect()
}

/// Where register and logs differ.
fn differences(office: &Office, logged: &Logged) -> Vec<String> {
    let found = register(office);
    let wanted: BTreeMap<_, _> = sums(logged)
        .into_iter()
        .map(|((site, month, product), (count, quarters))| {
            let amount = ounces(quarters).trim_end_matches('0').to_owned();
            ((site, month, product.to_owned()), (count, amount))
        })
        .collect();
    let keys: BTreeSet<_> = found.keys().chain(wanted.keys()).collect();
    let differ = keys.into_iter().filter(|key| found.get(*key) != wanted.get(*key));
    differ.map(|key| format!("{key:?}: {:?}, not {:?}", found.get(key), wanted.get(key))).collect()
}

fn jobs_are(office: &Office, all: &[Visit]) {
    let wanted: BTreeSet<String> = all.iter().map(|visit| format!("{}.yaml", visit.job)).collect();
    let found: BTreeSet<String> = names(&office.folder.join("out/jobs")).into_iter().collect();
    assert_eq!(found.difference(&wanted).collect::<Vec<_>>(), Vec::<&String>::new(), "not in the calendar");
    assert_eq!(wanted.difference(&found).collect::<Vec<_>>(), Vec::<&String>::new(), "in the calendar alone");
    for visit in all {
        assert_eq!(planned_start(office, &visit.job), visit.start, "{}", visit.job);
    }
}

/// From the workbook to a contract that expands.
fn intake(office: &Office, stores: &[Store]) {
    write(office.folder.join("stores.xlsx"), workbook(stores));
    let run = office.run(&["new", "contract", "stores.xlsx", "-o", "contract.yaml"]).must_end_with(0);
    says(&run.stderr, &["`Opened`: what it holds is not known", "CHECK"]);
    let text = read(office.folder.join("contract.yaml"));
    // what was proposed stays; what says CHECK is decided
    let (head, rest) = text.split_once("\ncontract: ").expect("a number");
    let table = rest.find("# A table of sites").map(|at| &rest[at..]).expect("a table");
    let table = table.split("# Routes by their keys").next().expect("columns");
    let mut routes = String::new();
    for (route, crew, _) in ROUTES {
        routes += &format!("  {route}: {{ crew: [{crew}], start: \"23:30\", takes: 1 h }}\n");
    }
    let days = ["MO", "TU", "WE", "TH"].into_iter().zip(ROUTES);
    let rules: String = days
        .map(|(day, (route, ..))| {
            format!("  - {{ rule: FREQ=MONTHLY;BYDAY=1{day}, from: {}, routes: {route} }}\n", first(day))
        })
        .collect();
    let treatment = "product: solvary-q75, directions: hard-surface, sprayer: pump, areas: [Sales floor, Restrooms]";
    let contract = format!(
        "{head}\ncontract: QS-26\ncompany: company.yaml\n\
         client: {{ name: Quay Street Stores, email: head@quay.example, certificates: night }}\n\
         until: 2026-12-31\nlogs: logs\nkinds:\n  corner-store:\n    treatments:\n      - {{ {treatment} }}\n\
         {table}sites:\n  \"100\": {{ email: store-100@quay.example }}\n\
         routes:\n{routes}visits:\n{rules}holidays: {{ days: [2026-09-07], then: next-working-day }}\n"
    );
    write(office.folder.join("contract.yaml"), contract);
    let run = office.run(&["expand", "contract.yaml", "-o", "out/jobs"]).must_end_with(0);
    assert!(!run.stderr.contains("warning") && !run.stderr.contains("error"), "{}", run.stderr);
}

fn first(weekday: &str) -> Date {
    let nth = ["TH", "FR", "SA", "SU", "MO", "TU", "WE"].iter().position(|day| *day == weekday).expect("a weekday");
    date(2026, 1, 1 + nth as i8)
}

/// The second product, made of the first's entry in the company file.
fn new_product(office: &Office) {
    let company = office.folder.join("company.yaml");
    let text = read(&company);
    let (from, to) = (text.find("  solvary-q75:").expect("a product"), text.find("\n  ostrane-p5:").expect("the next"));
    let new = text[from..to]
        .replace("solvary-q75", "solvary-q50")
        .replace(FIRST.name, SECOND.name)
        .replace("00000-75", "00000-50")
        .replace("content: 4.5 %", "content: 3 %")
        .replace("content: 3 %\n        hazards: [Acute Tox. 4", "content: 2 %\n        hazards: [Acute Tox. 4")
        .replace("dilution: 2 fl oz/gal", "dilution: 3 fl oz/gal")
        .replace("L-1: 2026-03-31, L-3", "M-1: 2027-12-31, M-3");
    write(&company, format!("{}\n{new}{}", &text[..to], &text[to..]));
}

#[test]
fn a_year() {
    let count = std::env::var("DECANT_YEAR").map_or(6, |count| count.parse().expect("a number of stores"));
    let mut stores = stores(count);
    let office = Office::open();
    let company = office.folder.join("company.yaml");
    change(&company, "SQ-2603-07: 2027-03-31, SQ-2603-11: 2027-03-31", "L-1: 2026-03-31, L-2: 2027-06-30");
    intake(&office, &stores);
    let mut changes = Changes::default();
    let mut all = visits(&stores, &changes);
    jobs_are(&office, &all);
    office.batch();
    let mut logged = Logged::new();
    let mut keep = |night: &[&Visit], loads: &[Vec<Load>]| {
        let each = night.iter().zip(loads).map(|(visit, loads)| (visit.job.clone(), ((*visit).clone(), loads.clone())));
        logged.extend(each);
    };

    // January: the northern night
    let january = date(2026, 1, 5);
    let north = night(&all, january, 0);
    office.check_load_out(&north);
    let stands = office.status(&["--on", "2026-01-05"]);
    assert_eq!(stands.values().filter(|stands| *stands == "planned").count(), north.len(), "{stands:?}");
    let stands = office.status(&["--on", "2026-01-06"]);
    assert!(north.iter().all(|visit| stands[&visit.job] == "log-missing"), "{stands:?}");
    let loads: Vec<Vec<Load>> = north.iter().map(|visit| as_planned(visit, "L-1")).collect();
    office.log(january, &north, &loads, "");
    keep(&north, &loads);
    office.batch();
    let folders: Vec<_> = north.iter().map(|visit| office.folder.join("out").join(&visit.job)).collect();
    let issued: Vec<_> = folders.iter().map(|folder| digests(folder)).collect();
    assert!(issued.iter().all(|files| files.len() == 3), "{issued:?}");
    let stands = office.status(&["--on", "2026-01-06"]);
    assert!(north.iter().all(|visit| stands[&visit.job] == "ready"), "{stands:?}");
    let mut files: Vec<String> = north.iter().map(|visit| format!("{}-certificate.pdf", visit.job)).collect();
    files.sort();
    let mailed = office.mail(january, "2026-01-06T16:00Z");
    // head office has the night in one message, the store its own
    let [head, own] = ["head@quay.example", "store-100@quay.example"].map(str::to_owned);
    assert_eq!(mailed, [(head.clone(), files), (own.clone(), vec!["100-20260105-certificate.pdf".to_owned()])]);
    let stands = office.status(&["--on", "2026-01-06"]);
    assert!(north.iter().all(|visit| stands[&visit.job] == "mailed"), "{stands:?}");
    assert_eq!(office.mail(january, "2026-01-06T17:00Z"), []);

    // a store closes, a lot has run out and another comes, a night is left out, another is moved
    let closed = stores.iter().rposition(|store| store.route == 0).expect("a store");
    stores[closed].until = Some(date(2026, 3, 31));
    let key = stores[closed].number;
    office.edit("sites:\n", &format!("sites:\n  \"{key}\": {{ until: 2026-03-31 }}\n"));
    change(&company, "L-1: 2026-03-31, L-2", "L-1: 2026-03-31, L-3: 2027-06-30, L-2");
    office.edit("BYDAY=1MO, from: 2026-01-05,", "BYDAY=1MO, from: 2026-01-05, except: 2026-06-01,");
    let to = date(2026, 5, 7).at(19, 0, 0, 0);
    let contract = office.folder.join("contract.yaml");
    write(&contract, read(&contract) + "moves:\n  - { routes: south, from: 2026-05-05, to: 2026-05-07T19:00 }\n");
    changes.except.push((0, date(2026, 6, 1)));
    changes.moved.push((1, date(2026, 5, 5), to));
    all = visits(&stores, &changes);
    office.batch();
    jobs_are(&office, &all);

    // April: somebody used what was left of the lot, as the log has it
    let april = date(2026, 4, 6);
    let north = night(&all, april, 0);
    office.check_load_out(&north);
    let mut loads: Vec<Vec<Load>> = north.iter().map(|visit| as_planned(visit, "L-3")).collect();
    loads[0][0].lot = "L-1";
    office.log(april, &north, &loads, "");
    office.batch();
    let stands = office.status(&["--on", "2026-04-08"]);
    let of_night: Vec<&str> = north.iter().map(|visit| stands[&visit.job].as_str()).collect();
    assert_eq!((of_night[0], of_night.iter().filter(|s| **s == "ready").count()), ("withheld", of_night.len() - 1));
    // it was the other one
    loads[0][0].lot = "L-2";
    office.log(april, &north, &loads, "");
    keep(&north, &loads);
    office.batch();
    office.mail(april, "2026-04-07T16:00Z");

    // May: the night that was moved
    let moved = date(2026, 5, 5);
    let south = night(&all, moved, 1);
    let stands = office.status(&["--on", "2026-05-06"]);
    assert!(south.iter().all(|visit| !stands.contains_key(&visit.job)), "{stands:?}");
    let stands = office.status(&["--on", "2026-05-07"]);
    assert!(south.iter().all(|visit| stands[&visit.job] == "planned"), "{stands:?}");
    let loads: Vec<Vec<Load>> = south.iter().map(|visit| as_planned(visit, "L-2")).collect();
    office.log(date(2026, 5, 7), &south, &loads, "");
    keep(&south, &loads);
    office.batch();

    // July: the other product
    new_product(&office);
    let treatment = "product: solvary-q75, directions: hard-surface, sprayer: pump, areas: [Sales floor, Restrooms]";
    let other = treatment.replace("q75", "q50");
    let before = CHANGE.yesterday().expect("a day");
    office.edit(
        &format!("      - {{ {treatment} }}\n"),
        &format!("      - {{ {treatment}, until: {before} }}\n      - {{ {other}, from: {CHANGE} }}\n"),
    );
    office.batch();
    let east = night(&all, CHANGE, 2);
    office.check_load_out(&night(&all, date(2026, 6, 3), 2));
    office.check_load_out(&east);
    let loads: Vec<Vec<Load>> = east.iter().map(|visit| as_planned(visit, "M-1")).collect();
    office.log(CHANGE, &east, &loads, "");
    keep(&east, &loads);
    office.batch();

    // a correction of January: less was used than was written down, and so it was too weak
    let north = night(&all, january, 0);
    let mut loads: Vec<Vec<Load>> = north.iter().map(|visit| as_planned(visit, "L-1")).collect();
    loads[0][0].product -= 1;
    let job = &north[0].job;
    let record = read_bytes(office.folder.join(format!("out/{job}/{job}-record.json")));
    office.log(january, &north, &loads, &format!("{job},revision,,,,,,,,,,,,,,,2,{}\n", sha256(&record)));
    keep(&north, &loads);
    office.batch();
    let corrected = office.mail(january, "2026-07-10T16:00Z");
    let file = vec![format!("{job}-certificate-r2.pdf")];
    assert_eq!(corrected, [(head, file.clone()), (own, file)]);
    // nothing else of January was touched, by whatever came since
    for (folder, before) in folders.iter().zip(&issued) {
        let now = digests(folder);
        assert!(before.iter().all(|(name, digest)| now.get(name) == Some(digest)), "{}", folder.display());
    }

    // the year is over
    jobs_are(&office, &all);
    assert_eq!(differences(&office, &logged), Vec::<String>::new());
    let mut wanted = BTreeMap::from([("mailed", 0), ("ready", 0), ("log-missing", 0)]);
    let sent = [january, april];
    for visit in &all {
        let stands = match logged.contains_key(&visit.job) {
            true if sent.contains(&visit.day) => "mailed",
            true => "ready",
            false => "log-missing",
        };
        *wanted.entry(stands).or_default() += 1;
    }
    let stands = office.status(&["--on", "2026-12-31"]);
    let mut found: BTreeMap<&str, i32> = BTreeMap::new();
    stands.values().for_each(|stands| *found.entry(stands.as_str()).or_default() += 1);
    assert_eq!(found, wanted);
    office.run(&["service-report", "contract.yaml", "-o", "report"]).must_end_with(0);
    let visits = read(office.folder.join("report/QS-26-service-report-visits.csv"));
    assert_eq!(visits.lines().count(), 1 + all.len());
    for (visit, loads) in logged.values() {
        let (n, begins) = (loads.len(), visit.start.strftime("%Y-%m-%dT%H:%M"));
        let state = if visit.job == *job { "deviates" } else { "done" };
        let row = format!("{},{},{begins},{state},{n},{n},{n}\r\n", visit.job, visit.store.name());
        assert!(visits.contains(&row), "no {row:?} in {visits}");
    }
    office.run(&["verify", "out"]).must_end_with(0);
    let run = office.batch();
    says(&run.stderr, &[&format!("{} settled", logged.len())]);
    let manifest = json(office.folder.join("out/manifest.json"));
    let totals = ["done", "failed", "settled"].map(|state| manifest["totals"][state].as_u64());
    assert_eq!(totals, [Some(0), Some(0), Some(logged.len() as u64)]);

    // what is planted is found, by the program and by the sums
    let planted = east[0];
    let file = office.folder.join(format!("out/{0}/{0}-record.json", planted.job));
    let text = read(&file);
    let at = text.find("\"product\":{\"unit\":\"mL\",\"value\":").expect("an amount") + 31;
    let digit = if text.as_bytes()[at] == b'9' { "8" } else { "9" };
    write(&file, format!("{}{digit}{}", &text[..at], &text[at + 1..]));
    let run = office.run(&["verify", "out"]).must_end_with(1);
    says(&(run.stdout + &run.stderr), &[&format!("{}-record.json", planted.job)]);
    let differ = differences(&office, &logged);
    assert_eq!(differ.len(), 1, "{differ:?}");
    says(&differ[0], &[&planted.store.name(), "2026-07"]);
}
