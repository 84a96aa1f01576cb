//! What an office and its crews do: files written, the program run, and what came of it read back.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::PathBuf;
use std::process::Command;

use jiff::ToSpan;
use jiff::civil::{Date, DateTime};
use serde_json::Value;
use tempfile::TempDir;

use super::book::{ROUTES, Visit, ounces, product};
use crate::support::program::{Outcome, decant};
use crate::support::smtp::{PASSWORD, Plan, Server};
use crate::support::workspace::{change, copy_file, make_folder, names, read, root, temporary, write};

/// A mail server: one of ours, or in CI the one of other people's make whose folder `DECANT_YEAR_MAIL` names.
enum Post {
    Ours(Server),
    Theirs(PathBuf),
}

impl Post {
    /// Recipients and content of all that was taken, in order.
    fn taken(&self) -> Vec<(String, String)> {
        match self {
            Post::Ours(server) => server.heard().taken.into_iter().map(|t| (t.to.join(" "), t.content)).collect(),
            Post::Theirs(folder) => {
                let files = names(folder).into_iter().filter(|name| name.ends_with(".eml"));
                let to = |name: &str| read(folder.join(name.replace(".eml", ".json")));
                files.map(|name| (to(&name), read(folder.join(name)))).collect()
            }
        }
    }
}

/// What a crew wrote of a load.
#[derive(Clone, Debug)]
pub struct Load {
    pub lot: &'static str,
    /// Quarters of a gallon, and of a fluid ounce.
    pub water: u32,
    pub product: u32,
}

pub struct Office {
    _folder: TempDir,
    pub folder: PathBuf,
    post: Post,
    password: &'static str,
    seen: RefCell<usize>,
}

impl Office {
    pub fn open() -> Office {
        let folder = temporary();
        let (path, samples) = (folder.path().to_owned(), root().join("samples"));
        copy_file(samples.join("company.yaml"), path.join("company.yaml"));
        copy_file(samples.join("logo.svg"), path.join("logo.svg"));
        make_folder(path.join("logs"));
        let (post, password) = match std::env::var_os("DECANT_YEAR_MAIL") {
            Some(folder) => (Post::Theirs(folder.into()), "secret"),
            None => (Post::Ours(Server::start(&path, Plan::default())), PASSWORD),
        };
        let login = ", user: office, password_env: DECANT_TEST_PASSWORD";
        let mail = match &post {
            Post::Ours(server) => server.mail(login),
            Post::Theirs(folder) => {
                let (port, ca) = (read(folder.join("port")), folder.join("ca.pem"));
                format!(
                    "mail: {{ from: records@tern-and-tide.example, server: localhost, port: {port}, ca_file: {}{login} }}",
                    ca.display()
                )
            }
        };
        let company = path.join("company.yaml");
        change(&company, "\npublish:", &format!("\n{mail}\npublish:"));
        change(&company, "\nproducts:", "  marsh: { name: K. Marsh, licence: T-0126 }\n\nproducts:");
        Office { _folder: folder, folder: path, post, password, seen: RefCell::new(0) }
    }

    pub fn run(&self, arguments: &[&str]) -> Outcome {
        let output = Command::new(env!("CARGO_BIN_EXE_decant"))
            .current_dir(&self.folder)
            .args(arguments)
            .env("DECANT_TEST_PASSWORD", self.password)
            .output()
            .expect("the program starts");
        let text = |bytes| String::from_utf8(bytes).expect("it is UTF-8");
        Outcome { code: output.status.code(), stdout: text(output.stdout), stderr: text(output.stderr) }
    }

    /// Certificates of what is logged; those of visits without a log are withheld.
    pub fn batch(&self) -> Outcome {
        let run = ["batch", "contract.yaml", "-o", "out", "--only", "certificate", "--remove-stale"];
        self.run(&run).must_end_with(3)
    }

    pub fn edit(&self, from: &str, to: &str) {
        change(&self.folder.join("contract.yaml"), from, to);
    }

    /// The log of a night in one table; `loads` are those of each visit.
    pub fn log(&self, day: Date, visits: &[&Visit], loads: &[Vec<Load>], more: &str) {
        let mut text = "job,what,load,area,lot,mixed,by,reading,water,product,started,finished,wet_until,spot,wetted,seen_wet,revision,replaces\n".to_owned();
        for (visit, loads) in visits.iter().zip(loads) {
            let Visit { job, start, store, .. } = visit;
            let at = |minutes: i64| (*start + minutes.minutes()).strftime("%Y-%m-%d %H:%M").to_string();
            let by = ROUTES[store.route].1;
            for (n, Load { lot, water, product }) in (1_i64..).zip(loads) {
                let (water, product) = (ounces(*water), ounces(*product));
                let mixed = at(15 * n - 10);
                let _ =
                    writeln!(text, "{job},load,{n},,{lot},{mixed},{by},1200 ppm,{water} gal,{product} fl oz,,,,,,,,");
            }
            let areas = [("Sales floor", 6, 40), ("Restrooms", 40, 45)];
            for (area, from, to) in areas.iter().take(if store.restrooms == 0 { 1 } else { 2 }) {
                let _ = writeln!(text, "{job},area,,{area},,,,,,,{},{},{},,,,,", at(*from), at(*to), at(to + 11));
                let _ = writeln!(text, "{job},check,,{area},,,,,,,,,,by the door,{},{},,", at(from + 1), at(from + 12));
            }
        }
        write(self.folder.join(format!("logs/{}.csv", day.strftime("%Y-%m-%d"))), text + more);
    }

    /// Mails what is ready of a night, at a moment: to whom and with which files, by recipient.
    pub fn mail(&self, night: Date, at: &str) -> Vec<(String, Vec<String>)> {
        let night = night.to_string();
        self.run(&["mail", "contract.yaml", "--on", &night, "--send", "--date", at]).must_end_with(0);
        let taken = self.post.taken();
        let new = taken.iter().skip(self.seen.replace(taken.len()));
        let mut all: Vec<(String, Vec<String>)> = new
            .map(|(to, content)| {
                let files = content.split("filename=\"").skip(1).filter_map(|rest| rest.split('"').next());
                let to = to.split(['<', '>', '"', ' ']).find(|part| part.ends_with("@quay.example"));
                (
                    to.unwrap_or_default().to_owned(),
                    files.map(str::to_owned).collect::<BTreeSet<_>>().into_iter().collect(),
                )
            })
            .collect();
        all.sort();
        all
    }

    /// Where the visits stand, by their numbers.
    pub fn status(&self, days: &[&str]) -> BTreeMap<String, String> {
        let run = self.run(&[&["status", "contract.yaml", "--json"], days].concat()).must_end_with(0);
        let status: Value = serde_json::from_str(&run.stdout).expect("JSON");
        let word = |value: &Value| value.as_str().unwrap_or_default().to_owned();
        let visits = status["visits"].as_array().expect("visits").iter();
        visits.map(|visit| (word(&visit["job"]), word(&visit["stands"]))).collect()
    }

    /// Compares a night's load-out with what its stores take by the arithmetic of this test.
    pub fn check_load_out(&self, visits: &[&Visit]) {
        let jobs: Vec<String> = visits.iter().map(|visit| format!("out/jobs/{}.yaml", visit.job)).collect();
        let run = ["load-out", "--json"].into_iter().chain(jobs.iter().map(String::as_str));
        let run = decant(&self.folder, run).must_end_with(0);
        let out: Value = serde_json::from_str(&run.stdout).expect("JSON");
        let day = visits[0].day;
        let used = product(day);
        let loads: Vec<u32> = visits.iter().flat_map(|visit| visit.store.loads(day)).map(|w| w * used.ounces).collect();
        let (planned, spare) = (loads.iter().sum::<u32>(), loads.iter().max().copied().unwrap_or_default());
        // in quarters: a gallon has 512, a quart 128; as few containers as hold it, and no fuller than they must be
        let needed = (planned + spare).div_ceil(4);
        let (gallons, rest) = (needed / 128, needed % 128);
        let quarts = rest.div_ceil(32);
        let row = &out["products"][0];
        assert_eq!(row["name"], used.name);
        assert_eq!(out["products"].as_array().map(Vec::len), Some(1));
        let amount = |key: &str| row[key].as_str().unwrap_or_default().replace('\u{a0}', " ");
        assert_eq!(in_ounces(&amount("planned")), planned, "{row}");
        assert_eq!(in_ounces(&amount("spare")), spare, "{row}");
        let taken: u32 = row["take"].as_array().expect("containers").iter().map(container).sum();
        assert!(taken >= needed && taken <= gallons * 128 + quarts * 32, "{needed} fl oz: {row}");
        let strips = out["strips"][0]["take"].as_str().and_then(|take| take.parse().ok());
        assert_eq!(strips, Some(2 * loads.len()), "{out}");
        assert_eq!(out["stops"].as_array().map(Vec::len), Some(visits.len()));
    }
}

/// `1 gal 2 qt 3.5 fl oz` in quarters of a fluid ounce.
fn in_ounces(text: &str) -> u32 {
    let words: Vec<&str> = text.split(' ').collect();
    let mut quarters = 0.0;
    let mut at = 0;
    while at < words.len() {
        let figure: f64 = words[at].replace(',', "").parse().unwrap_or_else(|_| panic!("an amount: {text}"));
        let unit = match words.get(at + 1..) {
            Some(["fl", "oz", ..]) => 4.0,
            Some(["qt", ..]) => 128.0,
            Some(["gal", ..]) => 512.0,
            _ => panic!("an amount: {text}"),
        };
        quarters += figure * unit;
        at += if unit == 4.0 { 3 } else { 2 };
    }
    quarters.round() as u32
}

/// `2 × 1 gal` in fluid ounces.
fn container(take: &Value) -> u32 {
    let text = take.as_str().unwrap_or_default().replace('\u{a0}', " ");
    let (count, size) = text.split_once(" × ").unwrap_or_else(|| panic!("containers: {text}"));
    count.parse::<u32>().expect("a count") * in_ounces(size) / 4
}

/// The moment a visit begins, as the program has it in its job file.
pub fn planned_start(office: &Office, job: &str) -> DateTime {
    let text = read(office.folder.join(format!("out/jobs/{job}.yaml")));
    let line = text.lines().find_map(|line| line.trim().strip_prefix("start: \"")).expect("a start");
    line.trim_end_matches('"').parse().expect("a moment")
}
