//! Job files of a contract's visits.

use std::path::{Component, Path, PathBuf};

use jiff::civil::{Date, DateTime};

use super::Contract;
use super::mark::marked;
use super::routes::Stop;
use super::tree::Tree;
use crate::job::Job;
use crate::report::{Diagnostic, Report};
use crate::yaml::Source;

/// A visit as a job file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExpandedJob {
    /// The job's number, plain enough to name a file and different for each job of the contract.
    pub name: String,
    /// The job file: YAML as [`Job::read`] takes it, in a file `NAME.yaml` of the folder it is expanded for.
    pub yaml: String,
    /// Key of the site.
    pub site: String,
    /// Key of the route, if the site is on one.
    pub route: Option<String>,
    /// The day of the route; a visit after midnight begins on the next.
    pub day: Date,
    /// When the visit begins, in the site's own time.
    pub start: DateTime,
}

/// Keys of a site that stand in a job as they are.
const SAME: &[&str] = &["notes", "label_stock", "label_copies", "treatments", "areas"];

impl Contract {
    /// Every visit as a job for files in `folder`, by day, route and place in the route.
    ///
    /// The folder need not be there. The same contract gives the same jobs, but for the paths of the company file and
    /// of the as-applied logs, which lead there from the folder; a log is named where a file of the job's name is in the
    /// contract's folder of logs.
    pub fn expand(&self, folder: &Path) -> Vec<ExpandedJob> {
        let paths = Paths::from(folder);
        self.stops.iter().map(|stop| self.job(stop, &paths)).collect()
    }

    /// Reads the first job of every site as it will be read once it is written, and has `look` look at it, which may
    /// plan it. Problems are told at the place in the contract or the table that they come from.
    pub fn check(&self, report: &mut Report, mut look: impl FnMut(&Job, &mut Report)) {
        let beside = self.source.file().parent().filter(|folder| !folder.as_os_str().is_empty());
        let paths = Paths::from(beside.unwrap_or(Path::new(".")));
        let mut seen = vec![false; self.sites.len()];
        let mut told: Vec<Diagnostic> = Vec::new();
        for stop in &self.stops {
            if std::mem::replace(&mut seen[stop.site], true) {
                continue;
            }
            let tree = self.tree(stop, &paths);
            let file = self.source.beside(&format!("{}.yaml", self.job_number(stop)));
            let mut found = Report::new();
            let job = Source::from_text(&file, tree.to_string(), &mut found)
                .and_then(|source| Job::from_source(&source, &mut found));
            if let Some(job) = job.filter(|_| !found.has_errors()) {
                look(&job, &mut found);
            }
            let name = file.display().to_string();
            for problem in found.problems() {
                let mut problem = problem.clone();
                if let Some(place) = problem.place.as_mut().filter(|place| place.file == name) {
                    let from = tree.written_at(&place.path);
                    let from = from.unwrap_or_else(|| self.sites[stop.site].from.clone());
                    *place = from.place();
                }
                // what stands in the company file or with a kind is told once, not for each site
                if !told.contains(&problem) {
                    told.push(problem);
                }
            }
        }
        told.into_iter().for_each(|problem| report.push(problem));
    }

    fn job(&self, stop: &Stop, paths: &Paths) -> ExpandedJob {
        let name = self.job_number(stop);
        ExpandedJob {
            yaml: marked(&self.number, &self.tree(stop, paths).to_string()),
            name,
            site: self.sites[stop.site].key.clone(),
            route: stop.route.map(|at| self.routes[at].key.clone()),
            day: stop.day,
            start: stop.start,
        }
    }

    fn tree(&self, stop: &Stop, paths: &Paths) -> Tree {
        let site = &self.sites[stop.site];
        let number = self.job_number(stop);
        let mut job = Tree::group(Vec::new());
        job.put(&["job"], Tree::text(number.clone()));
        job.put(&["company"], Tree::text(paths.to(&self.company)));
        job.put(&["client"], self.client.clone());
        for key in ["contact", "email"] {
            if let Some(tree) = site.tree.get(key) {
                job.put(&["client", key], tree.clone());
            }
        }
        for key in ["name", "address", "air", "air_spaces", "water", "food_place"] {
            if let Some(tree) = site.tree.get(key) {
                job.put(&["site", key], tree.clone());
            }
        }
        if let (Some(address), Some(postcode)) = (site.tree.get("address"), site.word("postcode")) {
            let mut line = Tree::text(format!("{} {postcode}", address.word().unwrap_or_default()));
            line.from = address.from.clone();
            job.put(&["site", "address"], line);
        }
        job.put(&["visit", "start"], Tree::text(stop.start.strftime("%Y-%m-%dT%H:%M").to_string()));
        let route = stop.route.and_then(|at| self.routes[at].crew.as_ref());
        if let Some(crew) = site.crew.as_ref().or(route).or(site.tree.get("crew")) {
            job.put(&["visit", "crew"], crew.clone());
        }
        for key in ["mixing", "longest"] {
            if let Some(tree) = site.tree.get(key) {
                job.put(&["visit", key], tree.clone());
            }
        }
        for key in SAME {
            if let Some(tree) = site.tree.get(key) {
                job.put(&[key], tree.clone());
            }
        }
        for key in ["language", "languages"] {
            if let Some(tree) = site.tree.get(key) {
                job.put(&[key], self.language(tree, paths));
            }
        }
        if let Some(log) = self.logs.of_job(&number) {
            job.put(&["applied"], Tree::text(paths.to(log)));
        }
        job
    }

    /// A language file of the user's own lies beside the contract; it is named from where the job is.
    fn language(&self, tree: &Tree, paths: &Paths) -> Tree {
        let mut moved = tree.clone();
        moved.each_text(&mut |name| {
            if Path::new(name.as_str()).extension().is_some() {
                *name = paths.to(&self.source.beside(name));
            }
        });
        moved
    }
}

/// Paths as they are written in a file of a folder.
struct Paths {
    folder: PathBuf,
}

impl Paths {
    fn from(folder: &Path) -> Paths {
        Paths { folder: real(folder) }
    }

    /// From the folder to a file: up to the folder they share and down from there, with `/` between names.
    fn to(&self, file: &Path) -> String {
        let file = real(file);
        let shared = self.folder.components().zip(file.components()).take_while(|(a, b)| a == b).count();
        if shared == 0 {
            // on another drive there is no way but the whole path
            return file.display().to_string();
        }
        let up = self.folder.components().skip(shared).map(|_| "..".to_owned());
        let down = file.components().skip(shared).map(|c| c.as_os_str().to_string_lossy().into_owned());
        up.chain(down).collect::<Vec<_>>().join("/")
    }
}

/// A path from the root, through no link as far as it is there, with `.` and `..` worked out beyond that.
fn real(path: &Path) -> PathBuf {
    let whole = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let mut known = whole.as_path();
    let mut beyond = Vec::new();
    loop {
        if let Ok(real) = known.canonicalize() {
            let mut real = real;
            for part in beyond.iter().rev() {
                match part {
                    Component::ParentDir => {
                        real.pop();
                    }
                    other => real.push(other),
                }
            }
            return real;
        }
        match (known.parent(), known.components().next_back()) {
            (Some(parent), Some(last)) => {
                beyond.push(last);
                known = parent;
            }
            _ => return whole,
        }
    }
}
