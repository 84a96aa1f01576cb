//! Job files of a contract's visits.

use std::collections::BTreeSet;
use std::path::{Component, Path, PathBuf};

use super::keys::{SITE_KEYS, SiteKey};
use super::routes::Stop;
use super::{Contract, write};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::digest::sha256;
use crate::job::Job;
use crate::yaml::{Source, Tree};

/// A visit as a job file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExpandedJob {
    /// The job's number, plain enough to name a file and different for each job of the contract.
    pub name: String,
    /// The job file: YAML as [`Job::read`] takes it, in a file `NAME.yaml` of the folder it is expanded for.
    pub yaml: String,
}

impl Contract {
    /// Every visit as a job for files in `folder`, by day, route and place in the route.
    ///
    /// The folder need not be there. The same contract gives the same jobs, but for the paths of the company file and
    /// of the service logs, which lead there from the folder; a log is named where a file of the job's name is in the
    /// contract's folder of logs.
    pub fn expand(&self, folder: &Path) -> Vec<ExpandedJob> {
        let folder = real(folder);
        let jobs = self.stops.iter().map(|stop| ExpandedJob {
            name: self.job_number(stop),
            yaml: marked(&self.number, &write::yaml(&self.job(stop, &folder))),
        });
        jobs.collect()
    }

    /// Reads the first job of every site as it will be read once it is written, and has `look` look at it, which may
    /// plan it. Problems are reported at the place in the contract or the table that they come from.
    pub fn check(&self, report: &mut Diagnostics, mut look: impl FnMut(&Job, &mut Diagnostics)) {
        let beside = self.source.file().parent().filter(|folder| !folder.as_os_str().is_empty());
        let folder = real(beside.unwrap_or(Path::new(".")));
        let mut seen = BTreeSet::new();
        let mut all: Vec<Diagnostic> = Vec::new();
        for stop in self.stops.iter().filter(|stop| seen.insert(stop.site)) {
            let job = self.job(stop, &folder);
            let file = self.source.beside(&format!("{}.yaml", self.job_number(stop)));
            let text = write::yaml(&job);
            let mut found = Diagnostics::new();
            let job = Source::from_tree(&file, job, text, &mut found).and_then(|s| Job::from_source(&s, &mut found));
            if let Some(job) = job.filter(|_| !found.has_errors()) {
                look(&job, &mut found);
            }
            for problem in found.problems() {
                // what stands in the company file or with a kind is reported once, not for each site
                if !all.contains(problem) {
                    all.push(problem.clone());
                }
            }
        }
        all.into_iter().for_each(|problem| report.push(problem));
    }

    /// The job of a visit, with paths that lead on from a folder.
    fn job(&self, stop: &Stop, folder: &Path) -> Tree {
        let site = &self.sites[stop.site];
        let number = self.job_number(stop);
        let mut job = Tree { from: site.tree.from.clone(), ..Tree::group() };
        let log = self.logs.of_job(&number).map(|log| Tree::text(path_from(folder, log)));
        job.put(&["job"], Tree::text(number));
        job.put(&["company"], Tree::text(path_from(folder, &self.company)));
        job.put(&["client"], self.client.clone());
        for SiteKey { group, name: key, .. } in SITE_KEYS {
            let (Some(group), own) = (group, site.tree.get(key).cloned()) else { continue };
            let value = match *key {
                "address" => own.map(|address| match site.word("postcode") {
                    Some(code) => {
                        let line = format!("{} {code}", address.word().unwrap_or_default());
                        Tree { from: address.from, ..Tree::text(line) }
                    }
                    None => address,
                }),
                "start" => Some(Tree::text(stop.start.strftime("%Y-%m-%dT%H:%M").to_string())),
                "crew" => {
                    let of_route = stop.route.and_then(|at| self.routes[at].keys.crew.clone());
                    site.crew.clone().or(of_route).or(own)
                }
                "language" | "languages" => own.map(|tree| self.language(tree, folder)),
                _ => own,
            };
            if let Some(value) = value {
                let path = [*group, *key];
                job.put(if group.is_empty() { &path[1..] } else { &path }, value);
            }
        }
        if let Some(log) = log {
            job.put(&["log"], log);
        }
        job
    }

    /// A language file of the user's own lies beside the contract; it is named from where the job is.
    fn language(&self, mut tree: Tree, folder: &Path) -> Tree {
        tree.each_text(&mut |name| {
            if Path::new(name.as_str()).extension().is_some() {
                *name = path_from(folder, &self.source.beside(name));
            }
        });
        tree
    }
}

/// From a real folder to a file: up to the folder they share and down from there, with `/` between names.
fn path_from(folder: &Path, file: &Path) -> String {
    let file = real(file);
    let shared = folder.components().zip(file.components()).take_while(|(a, b)| a == b).count();
    if shared == 0 {
        // on another drive there is no way but the full path
        return file.display().to_string();
    }
    let up = folder.components().skip(shared).map(|_| "..".to_owned());
    let down = file.components().skip(shared).map(|c| c.as_os_str().to_string_lossy().into_owned());
    up.chain(down).collect::<Vec<_>>().join("/")
}

/// A path from the root, through no link as far as it is there, with `.` and `..` worked out beyond that.
fn real(path: &Path) -> PathBuf {
    let full = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let there = full.ancestors().find_map(|above| Some((above, above.canonicalize().ok()?)));
    let Some((above, mut real)) = there else { return full };
    for part in full.strip_prefix(above).unwrap_or(Path::new("")).components() {
        match part {
            Component::ParentDir => {
                real.pop();
            }
            other => real.push(other),
        }
    }
    real
}

// The mark at the head of an expanded job file, by which it is known again.
const OF: &str = "# Contract ";
const AFTER_NUMBER: &str = ". Change the contract and expand it again.";
const DIGEST: &str = "# SHA-256 of what follows: ";

/// What the head of a job file says of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// The contract's number.
    pub contract: String,
    /// Whether what follows is as it was expanded.
    pub unchanged: bool,
}

impl Mark {
    /// The mark of a file; `None` for one that was not expanded from a contract.
    pub fn of(text: &str) -> Option<Mark> {
        let mut lines = text.splitn(3, '\n');
        let first = lines.next()?.trim_end_matches('\r');
        let contract = first.strip_prefix(OF)?.strip_suffix(AFTER_NUMBER)?;
        let digest = lines.next().and_then(|line| line.strip_prefix(DIGEST));
        let body = lines.next().unwrap_or_default();
        Some(Mark { contract: contract.to_owned(), unchanged: digest == Some(sha256(body.as_bytes()).as_str()) })
    }
}

/// A job file with its mark.
fn marked(contract: &str, body: &str) -> String {
    format!("{OF}{contract}{AFTER_NUMBER}\n{DIGEST}{}\n{body}", sha256(body.as_bytes()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_known_again_and_so_is_a_change() {
        let text = marked("HB-26", "job: A\n");
        let mark = Mark::of(&text).unwrap();
        assert_eq!((mark.contract.as_str(), mark.unchanged), ("HB-26", true));
        // line ends that an editor changed are a change too, and the file is still the contract's
        let changes =
            [text.clone() + "label_copies: 2\n", text.replace("job: A", "job: B"), text.replace('\n', "\r\n")];
        for changed in changes {
            assert_eq!(Mark::of(&changed).map(|mark| mark.unchanged), Some(false));
        }
        assert_eq!(Mark::of("job: A\n"), None);
        assert_eq!(Mark::of("# Contract of the harbour\njob: A\n"), None);
    }
}
