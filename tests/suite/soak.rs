//! Mutated inputs over all formats: no panic, no fault of the program, no hang, no memory without bound.
//!
//! `cargo test` runs a short form. `DECANT_SOAK=20000` runs so many, from the seed that `DECANT_SOAK_FROM` names (0 by default); a run
//! prints the seeds of what it found, and those are kept in [`KEPT`]. One seed gives one input, always the same.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

use serde_json::Value;

use crate::support::forged::{carrying, certificate, forged, record_of};
use crate::support::limits::decant_measured;
use crate::support::mutate::{
    Random, mutate_bytes, mutate_json, mutate_pdf, mutate_svg, mutate_table, mutate_yaml, mutate_zip,
};
use crate::support::workspace::{make_folder, read, read_bytes, root, temporary, write};

/// How many inputs the short form has.
const SHORT: u64 = 240;

/// Seeds that once found a fault, with what it was.
const KEPT: [u64; 0] = [];

/// What all inputs are made from.
struct Sound {
    /// The folder of samples, file by file.
    files: BTreeMap<PathBuf, Vec<u8>>,
    certificate: Vec<u8>,
    record: Value,
    record_bytes: Vec<u8>,
    seal: Vec<u8>,
    workbook: Vec<u8>,
    language: String,
    log: String,
}

fn read_all(folder: &Path, from: &Path, files: &mut BTreeMap<PathBuf, Vec<u8>>) {
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            read_all(&path, from, files);
        } else if !path.to_string_lossy().ends_with(".png") {
            let name = path.strip_prefix(from).expect("it lies there").to_owned();
            files.insert(name, read_bytes(&path));
        }
    }
}

impl Sound {
    fn new() -> Sound {
        let samples = root().join("samples");
        let mut files = BTreeMap::new();
        read_all(&samples, &samples, &mut files);
        let certificate = certificate("fish-hall");
        let within = decant::front::attached(&certificate);
        let of_form = |form: &str| {
            let is_it = |file: &&Vec<u8>| serde_json::from_slice::<Value>(file).is_ok_and(|v| v["form"] == form);
            within.iter().find(is_it).expect("it is attached").clone()
        };
        let log = "what,treatment,load,lot,mixed,by,water,product,reading,area,started,finished,wet_until\n\
                   load,1,1,A1,2026-04-20T21:00,okafor,4 gal,2 fl oz,200 ppm,,,,\n\
                   area,1,,,,,,,,Hall,2026-04-20T21:05,2026-04-20T21:30,2026-04-20T21:45\n";
        Sound {
            files,
            record: record_of(&certificate),
            record_bytes: of_form(decant::front::FORM),
            seal: of_form(decant::front::SEAL_FORM),
            certificate,
            workbook: read_bytes(root().join("tests/tables/sound.xlsx")),
            language: read(root().join("templates/lang/en.yaml")).replace("language: en", "language: pt"),
            log: log.to_owned(),
        }
    }

    fn text(&self, name: &str) -> String {
        let bytes = self.files.get(Path::new(name)).unwrap_or_else(|| panic!("no sample {name}"));
        String::from_utf8(bytes.clone()).expect("a sample is text")
    }
}

/// A folder, what to run in it, and what was changed.
struct Input {
    what: &'static str,
    changed: Vec<(PathBuf, Vec<u8>)>,
    arguments: Vec<&'static str>,
    folder: &'static str,
}

/// The input of a seed.
fn input(seed: u64, sound: &Sound) -> Input {
    let mut random = Random::new(seed);
    let yaml = |random: &mut Random, name: &str| {
        let other = ["company.yaml", "fish-hall/job.yaml", "fish-hall/log.yaml", "harbour-contract/contract.yaml"];
        let other = sound.text(other[random.below(other.len())]);
        mutate_yaml(&sound.text(name), &other, random).into_bytes()
    };
    let logo = sound.files.get(Path::new("logo.svg")).map(Vec::as_slice);
    let (what, name, bytes, folder, arguments): (_, &str, Vec<u8>, _, Vec<&'static str>) = match random.below(16) {
        0 => (
            "job",
            "fish-hall/job.yaml",
            yaml(&mut random, "fish-hall/job.yaml"),
            "fish-hall",
            vec!["plan", "job.yaml"],
        ),
        1 => (
            "job, all documents",
            "ferry-terminal/job.yaml",
            yaml(&mut random, "ferry-terminal/job.yaml"),
            "ferry-terminal",
            vec!["render", "job.yaml", "-o", "out"],
        ),
        2 => (
            "company",
            "company.yaml",
            yaml(&mut random, "company.yaml"),
            "fish-hall",
            vec!["plan", "job.yaml", "--json"],
        ),
        3 => (
            "company, labels",
            "company.yaml",
            yaml(&mut random, "company.yaml"),
            "fish-hall",
            vec!["data", "job.yaml", "labels"],
        ),
        4 => (
            "log",
            "fish-hall/log.yaml",
            yaml(&mut random, "fish-hall/log.yaml"),
            "fish-hall",
            vec!["data", "job.yaml", "certificate"],
        ),
        5 => (
            "contract",
            "harbour-contract/contract.yaml",
            yaml(&mut random, "harbour-contract/contract.yaml"),
            "harbour-contract",
            vec!["expand", "contract.yaml", "-o", "out"],
        ),
        6 => (
            "sites",
            "harbour-contract/sites.csv",
            mutate_table(&sound.text("harbour-contract/sites.csv"), &mut random).into_bytes(),
            "harbour-contract",
            vec!["expand", "contract.yaml", "-o", "out"],
        ),
        7 => (
            "workbook",
            "harbour-contract/sites.xlsx",
            mutate_zip(&sound.workbook, &mut random),
            "harbour-contract",
            vec!["expand", "book.yaml", "-o", "out"],
        ),
        8 => (
            "language",
            "fish-hall/own.yaml",
            mutate_yaml(&sound.language, &sound.text("company.yaml"), &mut random).into_bytes(),
            "fish-hall",
            vec!["plan", "job.yaml", "--language", "own.yaml"],
        ),
        9 => (
            "log as a table",
            "fish-hall/log.csv",
            mutate_table(&sound.log, &mut random).into_bytes(),
            "fish-hall",
            vec!["data", "table.yaml", "certificate"],
        ),
        10 => (
            "certificate",
            "x-certificate.pdf",
            mutate_pdf(&sound.certificate, &mut random),
            "",
            vec!["verify", "x-certificate.pdf"],
        ),
        11 => (
            "forged certificate",
            "x.pdf",
            forged(mutate_json(sound.record.clone(), &mut random), logo),
            "",
            vec!["verify", "x.pdf"],
        ),
        12 => (
            "forged page",
            "x.pdf",
            {
                let mut record = sound.record.clone();
                let page = record["certificate"].take();
                record["certificate"] = mutate_json(page, &mut random);
                forged(record, logo)
            },
            "",
            vec!["verify", "x.pdf"],
        ),
        13 => (
            "record",
            "x-record.json",
            match random.below(2) {
                0 => mutate_bytes(&sound.record_bytes, &mut random),
                _ => serde_json_canonicalizer::to_vec(&mutate_json(sound.record.clone(), &mut random)).expect("JSON"),
            },
            "",
            vec!["verify", "x-record.json"],
        ),
        14 => ("seal", "x-seal.json", mutate_bytes(&sound.seal, &mut random), "", vec!["verify", "x-record.json"]),
        _ => (
            "logo",
            "logo.svg",
            mutate_svg(&sound.text("logo.svg"), &mut random).into_bytes(),
            "fish-hall",
            vec!["render", "job.yaml", "-o", "out", "--only", "mix-sheet"],
        ),
    };
    let mut changed = vec![(PathBuf::from(name), bytes)];
    match what {
        "workbook" => {
            // the columns of the workbook's own sheet
            let contract = sound
                .text("harbour-contract/contract.yaml")
                .replace("file: sites.csv", "file: sites.xlsx\n  sheet: Sites 2026\n  header: 3");
            changed.push(("harbour-contract/book.yaml".into(), contract.into_bytes()));
        }
        "log as a table" => {
            let job = sound.text("fish-hall/job.yaml").replace("log.yaml", "log.csv");
            changed.push(("fish-hall/table.yaml".into(), job.into_bytes()));
        }
        "seal" => changed.push(("x-record.json".into(), sound.record_bytes.clone())),
        "record" => changed.push(("x-seal.json".into(), sound.seal.clone())),
        _ => {}
    }
    Input { what, changed, arguments, folder }
}

/// Runs one input; what is wrong with the run, if anything.
fn run(seed: u64, sound: &Sound) -> Option<String> {
    let input = input(seed, sound);
    let folder = temporary();
    let files = sound.files.iter();
    for (name, bytes) in files.chain(input.changed.iter().map(|(name, bytes)| (name, bytes))) {
        let path = folder.path().join(name);
        make_folder(path.parent().expect("a folder"));
        write(path, bytes);
    }
    let run = decant_measured(&folder.path().join(input.folder), &input.arguments);
    let fault = run.fault()?;
    let said: String = run.outcome.stderr.chars().take(600).collect();
    if let Some(keep) = std::env::var_os("DECANT_SOAK_KEEP") {
        let keep = Path::new(&keep).join(format!("{seed}"));
        make_folder(&keep);
        for (name, bytes) in &input.changed {
            write(keep.join(name.file_name().expect("a name")), bytes);
        }
    }
    Some(format!("seed {seed} ({}, {:?}): {fault}\n{said}", input.what, input.arguments))
}

#[test]
fn mutated_inputs_are_answered() {
    let number = |name: &str| std::env::var(name).ok().map(|text| text.parse::<u64>().expect("a number"));
    let (count, from) = (number("DECANT_SOAK").unwrap_or(SHORT), number("DECANT_SOAK_FROM").unwrap_or(0));
    let seeds: Vec<u64> = KEPT.into_iter().chain(from..from + count).collect();
    let sound = Sound::new();
    let (next, found) = (AtomicU64::new(0), Mutex::new(Vec::new()));
    let workers = std::thread::available_parallelism().map_or(2, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..workers {
            scope.spawn(|| {
                while let Some(seed) =
                    usize::try_from(next.fetch_add(1, Ordering::Relaxed)).ok().and_then(|i| seeds.get(i))
                {
                    if let Some(fault) = run(*seed, &sound) {
                        eprintln!("{fault}");
                        found.lock().expect("no other panicked").push(fault);
                    }
                }
            });
        }
    });
    let found = found.into_inner().expect("no worker panicked");
    assert!(found.is_empty(), "{} of {} inputs:\n{}", found.len(), seeds.len(), found.join("\n"));
}

/// Files that carry nothing sound are answered too, whatever the kind.
#[test]
fn noise_is_answered() {
    let folder = temporary();
    let mut random = Random::new(1);
    for length in [0, 1, 7, 300, 70_000] {
        let noise: Vec<u8> = (0..length).map(|_| random.byte()).collect();
        for (name, bytes) in [
            ("x.pdf", [b"%PDF-1.7\n".as_slice(), &noise].concat()),
            ("y.pdf", carrying(std::slice::from_ref(&noise))),
            ("x-record.json", noise.clone()),
        ] {
            write(folder.path().join(name), bytes);
            let run = decant_measured(folder.path(), ["verify", name]);
            assert!(run.fault().is_none() && matches!(run.outcome.code, Some(1 | 2)), "{name}, {length}: {run:?}");
        }
    }
}
