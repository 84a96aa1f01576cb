//! Folders: the project's own, and temporary ones with a sample in them.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;
use sha2::{Digest, Sha256};
use tempfile::TempDir;

use super::program::{Outcome, decant};

/// The project's folder.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// All sample jobs: every folder of `samples` with a job file in it (the folder of pictures has none).
pub fn samples() -> Vec<PathBuf> {
    let entries = fs::read_dir(root().join("samples")).expect("the samples can be listed");
    let mut jobs: Vec<PathBuf> =
        entries.map(|entry| entry.expect("a sample").path().join("job.yaml")).filter(|job| job.is_file()).collect();
    jobs.sort();
    assert!(jobs.len() >= 2, "only {} samples", jobs.len());
    jobs
}

/// A temporary copy of a sample, to be changed at will.
#[derive(Debug)]
pub struct Copy {
    root: TempDir,
    /// The folder of the job file, `job.yaml`.
    pub folder: PathBuf,
}

impl Copy {
    /// Copies `samples/<name>` and, beside it, the company file and the logo it names.
    pub fn of(name: &str) -> Copy {
        let root_folder = tempfile::tempdir().expect("a temporary folder");
        let folder = root_folder.path().join(name);
        fs::create_dir(&folder).expect("a folder can be made");
        let samples = root().join("samples");
        for file in
            ["company.yaml".to_owned(), "logo.svg".to_owned(), format!("{name}/job.yaml"), format!("{name}/log.yaml")]
        {
            fs::copy(samples.join(&file), root_folder.path().join(&file)).unwrap_or_else(|e| panic!("{file}: {e}"));
        }
        Copy { root: root_folder, folder }
    }

    /// Replaces a text of the job file; it must be there.
    #[track_caller]
    pub fn change_job(&self, from: &str, to: &str) {
        let file = self.folder.join("job.yaml");
        let text = fs::read_to_string(&file).expect("the job can be read");
        assert!(text.contains(from), "the sample's job no longer holds {from:?}");
        fs::write(&file, text.replace(from, to)).expect("the job can be written");
    }

    /// Replaces a text of the company file; it must be there.
    #[track_caller]
    pub fn change_company(&self, from: &str, to: &str) {
        let file = self.company_folder().join("company.yaml");
        let text = fs::read_to_string(&file).expect("the company file can be read");
        assert!(text.contains(from), "the sample's company file no longer holds {from:?}");
        fs::write(&file, text.replace(from, to)).expect("the company file can be written");
    }

    /// Puts these lines, which begin with a key at the margin, in the place of that key's in the company file, or after
    /// all others. `key:` alone leaves the key without a value, which is as good as leaving it out.
    pub fn set_company(&self, lines: &str) {
        let file = self.company_folder().join("company.yaml");
        let text = fs::read_to_string(&file).expect("the company file can be read");
        let key = lines.split_inclusive(':').next().unwrap_or_default();
        let mut rest = String::new();
        let mut within = false;
        for line in text.lines() {
            if !line.starts_with([' ', '#']) && !line.is_empty() {
                within = line.starts_with(key);
            }
            if !within {
                rest += line;
                rest.push('\n');
            }
        }
        fs::write(&file, rest + lines + "\n").expect("the company file can be written");
    }

    /// The folder that the company file lies in.
    pub fn company_folder(&self) -> &Path {
        self.root.path()
    }

    /// Renders the job into the folder for it.
    pub fn render(&self, more: &[&str]) -> Outcome {
        self.written(&[&["render", "job.yaml"], more].concat())
    }

    /// Runs in the job's folder, and writes into the folder for what is rendered.
    pub fn written(&self, arguments: &[&str]) -> Outcome {
        let output = self.output();
        let folder = output.to_str().expect("a temporary folder's name is text");
        decant(&self.folder, [arguments, &["-o", folder]].concat())
    }

    /// A folder that is not there yet, for what is rendered.
    pub fn output(&self) -> PathBuf {
        self.root.path().join("rendered")
    }
}

/// A copy of the sample contract, with the company file where it expects it.
pub fn sample_contract() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let contract = folder.path().join("harbour-contract");
    fs::create_dir(&contract).expect("a folder can be made");
    for file in ["company.yaml", "logo.svg", "harbour-contract/contract.yaml", "harbour-contract/sites.csv"] {
        fs::copy(root().join("samples").join(file), folder.path().join(file)).expect("copied");
    }
    fs::create_dir(contract.join("logs")).expect("a folder can be made");
    for log in names(&root().join("samples/harbour-contract/logs")) {
        let from = root().join("samples/harbour-contract/logs").join(&log);
        fs::copy(from, contract.join("logs").join(&log)).expect("copied");
    }
    (folder, contract)
}

/// SHA-256 of each file of a folder, by name.
pub fn digests(folder: &Path) -> BTreeMap<String, String> {
    let entries = fs::read_dir(folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
    entries
        .map(|entry| {
            let path = entry.expect("a file").path();
            let bytes = fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
            (path.file_name().unwrap_or_default().to_string_lossy().into_owned(), sha256(&bytes))
        })
        .collect()
}

/// Names of a folder's files, sorted; none if the folder is not there.
pub fn names(folder: &Path) -> Vec<String> {
    if folder.exists() { digests(folder).into_keys().collect() } else { Vec::new() }
}

/// A temporary folder.
pub fn temporary() -> TempDir {
    tempfile::tempdir().expect("a temporary folder")
}

/// A file's text.
#[track_caller]
pub fn read(file: impl AsRef<Path>) -> String {
    fs::read_to_string(&file).unwrap_or_else(|e| panic!("{}: {e}", file.as_ref().display()))
}

/// A file's bytes.
#[track_caller]
pub fn read_bytes(file: impl AsRef<Path>) -> Vec<u8> {
    fs::read(&file).unwrap_or_else(|e| panic!("{}: {e}", file.as_ref().display()))
}

/// A file of JSON.
#[track_caller]
pub fn json(file: impl AsRef<Path>) -> Value {
    serde_json::from_slice(&read_bytes(&file)).unwrap_or_else(|e| panic!("{}: {e}", file.as_ref().display()))
}

/// State of everything in the manifest of a folder, by its number.
pub fn states(out: &Path) -> BTreeMap<String, String> {
    states_in(&out.join("manifest.json"))
}

/// State of everything in a manifest, by its number.
pub fn states_in(manifest: &Path) -> BTreeMap<String, String> {
    let manifest = json(manifest);
    let word = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let jobs = manifest["jobs"].as_array().expect("jobs").iter();
    jobs.map(|job| (word(&job["job"]), word(&job["state"]))).collect()
}

#[track_caller]
pub fn write(file: impl AsRef<Path>, text: impl AsRef<[u8]>) {
    fs::write(&file, text).unwrap_or_else(|e| panic!("{}: {e}", file.as_ref().display()));
}

#[track_caller]
pub fn remove(file: impl AsRef<Path>) {
    fs::remove_file(&file).unwrap_or_else(|e| panic!("{}: {e}", file.as_ref().display()));
}

#[track_caller]
pub fn make_folder(folder: impl AsRef<Path>) {
    fs::create_dir_all(&folder).unwrap_or_else(|e| panic!("{}: {e}", folder.as_ref().display()));
}

#[track_caller]
pub fn copy_file(from: impl AsRef<Path>, to: impl AsRef<Path>) {
    fs::copy(&from, &to).unwrap_or_else(|e| panic!("{}: {e}", from.as_ref().display()));
}

/// SHA-256 in hexadecimal.
pub fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Puts `to` in the place of `from` in a file that holds it.
#[track_caller]
pub fn change(file: &Path, from: &str, to: &str) {
    let text = fs::read_to_string(file).expect("the file can be read");
    assert!(text.contains(from), "{} no longer holds {from:?}", file.display());
    fs::write(file, text.replace(from, to)).expect("the file can be written");
}

/// Fails the test unless the text holds every part.
#[track_caller]
pub fn says(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "no {part:?} in:\n{text}");
    }
}

/// The sample contract cut short: its last day, a holiday before that, without one of its rules, and with the logs of one day.
pub fn short_contract(until: &str, holiday: &str, without: &str, logs_of: &str) -> (TempDir, PathBuf) {
    let (folder, contract) = sample_contract();
    let file = contract.join("contract.yaml");
    change(&file, "until: 2026-09-30", &format!("until: {until}"));
    change(&file, "  - { on: [2026-06-19T05:30], sites: gull }", "#");
    change(&file, "2026-05-25, 2026-07-03, 2026-09-07", holiday);
    change(&file, without, "#");
    for log in fs::read_dir(contract.join("logs")).expect("the logs") {
        let log = log.expect("a log").path();
        if !log.to_string_lossy().ends_with(&format!("-{logs_of}.yaml")) {
            fs::remove_file(log).expect("removed");
        }
    }
    (folder, contract)
}
