//! Job files of a contract's visits.

use std::collections::BTreeSet;
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

use jiff::civil::{Date, DateTime};

use super::dates::{crew_on, treatments_on, which_on};
use super::keys::{SITE_KEYS, SiteKey};
use super::routes::Stop;
use super::{Contract, write};
use crate::company::CompanyFile;
use crate::diagnostic::{Diagnostic, Diagnostics, is_unseen};
use crate::digest::sha256;
use crate::job::Job;
use crate::yaml::{Declared, Node, Source, Tree};

/// A visit as a job file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExpandedJob {
    /// The job's number, plain enough to name a file and different for each job of the contract.
    pub name: String,
    /// The job file: YAML as [`Job::read`] takes it, in a file `NAME.yaml` of the folder it is expanded for.
    pub yaml: String,
    /// Whether the visit was made, and the contract says something else of it now.
    pub differs: bool,
    pub has_log: bool,
    /// The day it belongs to.
    pub day: Date,
    pub start: DateTime,
    /// The site's name.
    pub site: String,
    /// Its van, as [`VanDay`](super::VanDay) names it; empty for a visit that the contract no longer has.
    pub van: String,
}

impl Contract {
    /// Every visit as a job for files in `folder`, by day, route and place in the route.
    ///
    /// The folder need not be there. The same contract gives the same jobs, but for the paths of the company file and
    /// of the service logs, which lead there from the folder; a log is named where a file of the job's name is in the
    /// contract's folder of logs.
    ///
    /// `planned` gives the job file of a visit that was made: it stays as it was planned, but for the paths and its log.
    pub fn expand(&self, folder: &Path, planned: &dyn Fn(&str) -> Option<String>) -> Vec<ExpandedJob> {
        let folder = real(folder);
        let file = self.named_from(&folder);
        let jobs = self.stops.iter().map(|stop| {
            let now = self.job(stop, &folder);
            let made = planned(&stop.number).and_then(|text| as_planned(text, &now));
            let yaml = write::yaml(&now);
            let differs = made.as_ref().is_some_and(|made| *made != yaml);
            ExpandedJob {
                name: stop.number.clone(),
                yaml: marked(&self.number, &file, &made.unwrap_or(yaml)),
                differs,
                has_log: self.logs.of_job(&stop.number).is_some(),
                day: stop.day,
                start: stop.start,
                site: self.sites[stop.site].word("name").unwrap_or_default().to_owned(),
                van: self.van(stop),
            }
        });
        jobs.collect()
    }

    /// The contract's file as it is named from a folder, by which job files of it are known again.
    pub fn named_from(&self, folder: &Path) -> String {
        let path = path_from(&real(folder), self.source.file());
        path.replace(|c: char| c.is_control() || is_unseen(c), "?")
    }

    /// The job of a visit that the contract no longer has and that has a log, with that log, by the job file that is there.
    pub fn made_before(&self, text: String, folder: &Path, log: &Path) -> Option<ExpandedJob> {
        let folder = real(folder);
        let mut now = Tree::group();
        now.put(&["company"], Tree::text(path_from(&folder, &self.company)));
        now.put(&["log"], Tree::text(path_from(&folder, log)));
        let source = Source::from_text(Path::new(""), text.clone(), &mut Diagnostics::new())?;
        let word = |node: Node<'_>| node.text(&mut Diagnostics::new());
        let start = start_of(&source)?;
        Some(ExpandedJob {
            name: source.root().get("job").and_then(word)?,
            yaml: marked(&self.number, &self.named_from(&folder), &as_planned(text, &now)?),
            differs: false,
            has_log: true,
            day: start.date(),
            start,
            site: source.root().get("site").and_then(|site| site.get("name")).and_then(word).unwrap_or_default(),
            van: String::new(),
        })
    }

    /// Where the company file lies.
    pub fn company(&self) -> &Path {
        &self.company
    }

    /// What jobs of one site differ in, but for their day: what is done, and who goes.
    pub(super) fn variant(&self, stop: &Stop) -> (usize, Vec<usize>, Vec<String>) {
        let done = self.sites[stop.site].tree.get("treatments").map(|all| which_on(all, stop.day));
        (stop.site, done.unwrap_or_default(), self.crew_names(stop))
    }

    /// The keys of those who go.
    pub(super) fn crew_names(&self, stop: &Stop) -> Vec<String> {
        let crew = self.crew_of(stop);
        crew.iter().flat_map(Tree::items).filter_map(Tree::word).map(str::to_owned).collect()
    }

    /// Reads the first job of every site, and the first after each change of what is done or who goes, as it will be read once it is written, and has `look` look at it, which may
    /// plan it. Problems are reported at the place in the contract or the table that they come from.
    pub fn check(&self, report: &mut Diagnostics, mut look: impl FnMut(&Job, &mut Diagnostics)) {
        let beside = self.source.file().parent().filter(|folder| !folder.as_os_str().is_empty());
        let folder = real(beside.unwrap_or(Path::new(".")));
        let mut seen = BTreeSet::new();
        let mut all: Vec<Diagnostic> = Vec::new();
        let mut company: Option<Option<Arc<CompanyFile>>> = None;
        for stop in self.stops.iter().filter(|stop| seen.insert(self.variant(stop))) {
            let job = self.job(stop, &folder);
            let file = self.source.beside(&format!("{}.yaml", stop.number));
            let text = write::yaml(&job);
            let mut found = Diagnostics::new();
            let job = Source::from_tree(&file, job, text, &mut found).and_then(|source| {
                Job::with_company(&source, &mut found, |file, found| {
                    company.get_or_insert_with(|| CompanyFile::read(file, found).map(Arc::new)).clone()
                })
            });
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
        all.into_iter().for_each(|problem| report.push_alike(problem));
    }

    /// The job of a visit, with paths that lead on from a folder.
    fn job(&self, stop: &Stop, folder: &Path) -> Tree {
        let site = &self.sites[stop.site];
        let number = stop.number.clone();
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
                "crew" => self.crew_of(stop),
                "treatments" => own.map(|treatments| treatments_on(&treatments, stop.day)),
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

    /// Who goes: whom the site names, or its route, or the contract.
    pub(super) fn crew_of(&self, stop: &Stop) -> Option<Tree> {
        let site = &self.sites[stop.site];
        let of_route = stop.route.and_then(|at| self.routes[at].keys.crew.as_ref());
        let crew = site.crew.as_ref().or(of_route).or(site.tree.get("crew"))?;
        Some(crew_on(crew, stop.day))
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

/// From a folder, which need not be there, to a file, as another file of the folder names it.
pub fn path_between(folder: &Path, file: &Path) -> String {
    path_from(&real(folder), file)
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

/// A job file as it was planned, with the paths, the log and the e-mail addresses of now.
fn as_planned(text: String, now: &Tree) -> Option<String> {
    let mut report = Diagnostics::new();
    let source = Source::from_text(Path::new(""), text, &mut report)?;
    let mut job = Tree::of(&source.root(), &mut report).filter(|_| !report.has_errors())?;
    for key in ["company", "language", "languages", "log"] {
        now.get(key).into_iter().for_each(|tree| job.put(&[key], tree.clone()));
    }
    // an address that was mended is where the certificate goes
    for (group, key) in [("client", "email"), ("client", "certificates"), ("site", "email")] {
        let tree = now.get(group).and_then(|group| group.get(key));
        tree.into_iter().for_each(|tree| job.put(&[group, key], tree.clone()));
    }
    Some(write::yaml(&job))
}

/// When a visit begins, by the job file that was planned for it before.
pub fn planned_start(file: &Path) -> Option<DateTime> {
    start_of(&Source::read(file, &mut Diagnostics::new())?)
}

fn start_of(source: &Arc<Source>) -> Option<DateTime> {
    let start = source.root().get("visit")?.get("start")?;
    DateTime::from_node(&start, &mut Diagnostics::new())
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
const IN: &str = ", file ";
const AFTER: &str = ". Change the contract and expand it again.";
const DIGEST: &str = "# SHA-256 of what follows: ";

/// What the head of a job file says of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// The contract's number.
    pub contract: String,
    /// The contract's file, as it is named from the folder of the job file: several files may have one number.
    pub file: String,
    /// Whether what follows is as it was expanded.
    pub unchanged: bool,
}

impl Mark {
    /// The mark of a file; `None` for one that was not expanded from a contract.
    pub fn of(text: &str) -> Option<Mark> {
        let mut lines = text.splitn(3, '\n');
        let first = lines.next()?.trim_end_matches('\r');
        let of = first.strip_prefix(OF)?.strip_suffix(AFTER)?;
        let (contract, file) = of.split_once(IN).unwrap_or((of, ""));
        let digest = lines.next().and_then(|line| line.strip_prefix(DIGEST));
        let body = lines.next().unwrap_or_default();
        let unchanged = digest == Some(sha256(body.as_bytes()).as_str());
        Some(Mark { contract: contract.to_owned(), file: file.to_owned(), unchanged })
    }
}

/// A job file with its mark.
fn marked(contract: &str, file: &str, body: &str) -> String {
    format!("{OF}{contract}{IN}{file}{AFTER}\n{DIGEST}{}\n{body}", sha256(body.as_bytes()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_known_again_and_so_is_a_change() {
        let text = marked("HB-26", "../c, of 26.yaml", "job: A\n");
        let mark = Mark::of(&text).unwrap();
        assert_eq!((mark.contract.as_str(), mark.file.as_str(), mark.unchanged), ("HB-26", "../c, of 26.yaml", true));
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
