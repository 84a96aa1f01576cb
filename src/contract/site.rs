//! The sites of a contract: what the table and the file say of each, over what holds for its kind.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::civil::{Date, DateTime};

use super::columns::{Listed, bad_key};
use super::dates::{Days, check_crew, read_date};
use super::keys::{ContractKeys, Who, names_of};
use super::visits::Due;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::yaml::{Node, Origin, Tree, TreeValue, Written, alike, nearest};

/// A site as the table and the file have it.
#[derive(Clone, Debug)]
pub(super) struct Entry {
    pub key: String,
    pub tree: Tree,
    /// Its row in the table.
    pub row: Option<usize>,
    /// Whether every cell of it could be read.
    pub sound: bool,
}

/// A site.
#[derive(Clone, Debug)]
pub(super) struct Site {
    pub key: String,
    /// Everything that holds for it, but the crew.
    pub tree: Tree,
    /// The crew that its own entry names.
    pub crew: Option<Tree>,
    /// The days on which it is in the contract.
    pub days: Days,
    /// Days on which it is not visited, each with where it stands.
    pub except: Vec<(Date, Tree)>,
}

impl Site {
    pub(super) fn word(&self, key: &str) -> Option<&str> {
        self.tree.get(key).and_then(Tree::word)
    }
}

/// Leaves out visits on days on which a site is not visited. One that was made stays.
pub(super) fn leave_out(
    due: &mut Vec<Due>,
    sites: &[Site],
    made: &dyn Fn(&Due) -> Option<DateTime>,
    report: &mut Diagnostics,
) {
    let days: BTreeSet<(usize, Date)> = due.iter().map(|visit| (visit.site, visit.named)).collect();
    for (at, site) in sites.iter().enumerate() {
        for (day, tree) in &site.except {
            // a day that had none is a slip that would leave a visit standing
            if !days.contains(&(at, *day)) {
                let problem = tree.error("", "except-unused", format!("`{}` is not visited on {day} anyway", site.key));
                report.push(problem.hint("look at the date again, or take it out"));
            }
        }
    }
    due.retain(|visit| {
        let site = &sites[visit.site];
        let is_visited = site.days.hold(visit.named) && site.except.iter().all(|(day, _)| *day != visit.named);
        is_visited || made(visit).is_some()
    });
}

/// The cell in which a value of a site would stand.
type CellOf<'a> = &'a dyn Fn(&[&str]) -> Option<Arc<dyn Written>>;

/// Reads the defaults, the kinds and the sites, in the order of the table and then of the file.
pub(super) fn read_sites(contract: &ContractKeys, report: &mut Diagnostics) -> Vec<Site> {
    let mut defaults = Tree::group();
    for key in names_of(Who::Contract).into_iter().filter(|key| *key != "kind") {
        if let Some(tree) = contract.origin.key(key).node().and_then(|n| Tree::of(&n, report)) {
            defaults.put(&[key], tree);
        }
    }
    defaults.get("crew").iter().for_each(|crew| check_crew(crew, report));
    let kinds = read_kinds(entries_of(contract.kinds.as_ref(), report), report);
    let listed = match &contract.site_table {
        Some(table) => table.read(report).and_then(|table| Listed::read(&table, report)),
        None => Some(Listed::default()),
    };
    let Some(listed) = listed else { return Vec::new() };
    let mut entries = listed.sites.clone();
    let of_site = names_of(Who::Site);
    for (key, node) in entries_of(contract.sites.as_ref(), report) {
        if let Some(problem) = bad_key(&key) {
            report.push(problem.at(node.origin().place()));
            continue;
        }
        if node.fields(&of_site, report).is_none() {
            continue;
        }
        let Some(tree) = Tree::of(&node, report) else { continue };
        match entries.iter_mut().find(|entry| entry.key == key) {
            Some(entry) => entry.tree = Tree { from: entry.tree.from.clone(), ..entry.tree.overridden_by(&tree) },
            None => entries.push(Entry { key, tree, row: None, sound: true }),
        }
    }
    if entries.is_empty() && !report.has_errors() {
        let problem = contract.origin.error("no-site", "the contract has no site");
        report.push(problem.hint("give `sites`, or a table of them in `site_table`"));
    }
    let kind = contract.origin.key("kind").node().and_then(|n| Tree::of(&n, report));
    let routes: Vec<String> = entries_of(contract.routes.as_ref(), report).into_iter().map(|(key, _)| key).collect();
    let mut sites = Vec::new();
    // what is wrong with the cells of the others has been reported
    for mut entry in entries.into_iter().filter(|entry| entry.sound) {
        if let Some(kind) =
            kind.as_ref().filter(|_| entry.tree.get("kind").is_none() && entry.tree.get("treatments").is_none())
        {
            entry.tree.put(&["kind"], kind.clone());
        }
        named_alike(&mut entry.tree, "kind", kinds.keys());
        named_alike(&mut entry.tree, "route", &routes);
        let row = entry.row;
        let cell = |path: &[&str]| row.and_then(|row| listed.cell(row, path));
        sites.extend(site(entry, &defaults, &kinds, &cell, report));
    }
    sites
}

/// What a cell names is found whatever its capitals and spaces.
fn named_alike<'a>(site: &mut Tree, key: &str, known: impl IntoIterator<Item = &'a String>) {
    let Some(named) = site.get(key) else { return };
    let found = named.word().and_then(|word| alike(word, known.into_iter().map(String::as_str)));
    if let Some(found) = found {
        let tree = Tree { from: named.from.clone(), ..Tree::text(found) };
        site.put(&[key], tree);
    }
}

fn entries_of<'a>(group: Option<&'a Origin>, report: &mut Diagnostics) -> Vec<(String, Node<'a>)> {
    group.and_then(Origin::node).and_then(|n| n.entries(report)).unwrap_or_default()
}

/// Kinds that could not be read stand as `None`.
fn read_kinds(entries: Vec<(String, Node<'_>)>, report: &mut Diagnostics) -> BTreeMap<String, Option<Tree>> {
    let keys = names_of(Who::Kind);
    let read = entries.into_iter().map(|(key, node)| {
        let known = node.fields(&keys, report).is_some();
        let kind = known.then(|| Tree::of(&node, report)).flatten();
        kind.iter().for_each(|kind| check_work(kind, report));
        (key, kind)
    });
    read.collect()
}

/// A problem at the cell that should hold something, or at the site where no column is for it.
fn lacking(at: Option<Arc<dyn Written>>, site: &Tree, code: &'static str, message: String) -> Diagnostic {
    let code = if at.is_some() { "cell-empty" } else { code };
    let place = at.as_ref().or(site.from.as_ref()).map(|from| from.place());
    Diagnostic { place, ..Diagnostic::error(code, message) }
}

fn site(
    Entry { key, tree: own, .. }: Entry,
    defaults: &Tree,
    kinds: &BTreeMap<String, Option<Tree>>,
    cell: CellOf<'_>,
    report: &mut Diagnostics,
) -> Option<Site> {
    let mut problems = Vec::new();
    for name in ["name", "address"].into_iter().filter(|name| own.get(name).is_none()) {
        let problem = lacking(cell(&[name]), &own, "missing-key", format!("the site `{key}` has no {name}"));
        problems.push(problem.hint("fill it in; it stands on every document"));
    }
    let (mut kind, mut unread) = (None, false);
    if let Some(word) = own.get("kind").and_then(Tree::word) {
        match kinds.get(word) {
            Some(Some(known)) => kind = Some(known),
            // what is wrong with the kind has been reported
            Some(None) => unread = true,
            None => {
                let known: Vec<&str> = kinds.keys().map(String::as_str).collect();
                let problem =
                    own.error("kind", "kind-unknown", format!("no kind of site `{word}` is in this contract"));
                problems.push(problem.hint(match nearest(word, &known) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("kinds there: {}", known.join(", ")),
                }));
            }
        }
    } else if own.get("treatments").is_none() {
        let problem = lacking(cell(&["kind"]), &own, "missing-key", format!("the site `{key}` has no kind"));
        problems.push(problem.hint("name one of `kinds`, or give the site `treatments` of its own"));
    }
    if unread || !problems.is_empty() {
        problems.into_iter().for_each(|problem| report.push_alike(problem));
        return None;
    }
    let crew = own.get("crew").cloned();
    let layers: Vec<&Tree> = [Some(defaults), kind, Some(&own)].into_iter().flatten().collect();
    let notes: Vec<Tree> = layers.iter().filter_map(|l| l.get("notes")).flat_map(Tree::items).cloned().collect();
    let mut tree = layers.iter().skip(1).fold(defaults.clone(), |under, over| under.overridden_by(over));
    if !notes.is_empty() {
        tree.put(&["notes"], TreeValue::List(notes).into());
    }
    check_work(&own, report);
    own.get("crew").iter().for_each(|crew| check_crew(crew, report));
    let days = Days::of(&own, report);
    let except = own.get("except").map(Tree::items).unwrap_or_default().iter();
    let except = except.filter_map(|day| Some((read_date(day, report)?, day.clone()))).collect();
    let mut site = Site { key, tree, crew, days, except };
    settle_areas(&mut site, cell, report).then_some(site)
}

/// The days of treatments, where a kind or a site itself names them.
fn check_work(group: &Tree, report: &mut Diagnostics) {
    for treatment in group.get("treatments").map(Tree::items).unwrap_or_default() {
        Days::of(treatment, report);
    }
}

/// Takes out the areas that the site says it has not; those that remain must have a size.
///
/// An area that treatments name and nobody gives is an error, never left out in silence: a cell forgotten in a table must
/// not leave a room untreated.
fn settle_areas(site: &mut Site, cell: CellOf<'_>, report: &mut Diagnostics) -> bool {
    let areas = site.tree.get("areas").cloned().unwrap_or_else(Tree::group);
    let absent = |name: &str| areas.get(name).and_then(Tree::word) == Some("none");
    let Some(treatments) = site.tree.get("treatments").cloned() else {
        let message = format!("the kind of the site `{}` has no treatments", site.key);
        report.push(site.tree.error("kind", "no-treatment", message));
        return false;
    };
    let mut good = true;
    let mut kept = Vec::new();
    for treatment in treatments.items() {
        let named = treatment.get("areas").map(Tree::items).unwrap_or_default();
        let names: Vec<&str> = named.iter().filter_map(Tree::word).collect();
        for name in names.iter().filter(|name| !absent(name)) {
            if areas.get(name).is_some_and(|a| a.get("floor").is_some() || a.get("surfaces").is_some()) {
                continue;
            }
            let at = ["floor", "surfaces"].iter().find_map(|size| cell(&["areas", name, size]));
            let message = format!("the size of the area `{name}` at the site `{}` is not given", site.key);
            let problem = lacking(at, &site.tree, "area-not-given", message);
            report.push_alike(problem.hint("give it, or write `none` where the site has no such area"));
            good = false;
        }
        let here: Vec<Tree> = named.iter().filter(|t| t.word().is_none_or(|name| !absent(name))).cloned().collect();
        if !here.is_empty() || names.is_empty() {
            let mut treatment = treatment.clone();
            if let Some(from) = treatment.get("areas").map(|areas| areas.from.clone()) {
                treatment.put(&["areas"], Tree { value: TreeValue::List(here), from });
            }
            kept.push(treatment);
        }
    }
    if kept.is_empty() && good {
        let message = format!("nothing is treated at the site `{}`", site.key);
        report.push(site.tree.error("treatments", "no-treatment", message));
        return false;
    }
    let remaining = areas.entries().iter().filter(|(name, _)| !absent(name)).cloned().collect();
    site.tree.put(&["areas"], Tree { value: TreeValue::Group(remaining), from: areas.from.clone() });
    site.tree.put(&["treatments"], Tree { value: TreeValue::List(kept), from: treatments.from });
    good
}
