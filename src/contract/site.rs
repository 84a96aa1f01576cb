//! The sites of a contract: what stands in the table and in the file, laid over what holds for their kind.

use std::collections::BTreeMap;

use super::columns::{Listed, bad_key};
use super::tree::{From, Tree, Value};
use crate::report::{Diagnostic, Report};
use crate::yaml::{Fields, nearest};

/// Keys that hold for every site where nothing nearer says otherwise.
pub(super) const DEFAULTS: &[&str] = &[
    "crew",
    "mixing",
    "longest",
    "notes",
    "label_stock",
    "label_copies",
    "language",
    "languages",
    "air",
    "air_spaces",
    "water",
    "food_place",
];

/// Those of them that a kind cannot say, since sites of one kind have crews and clients of their own.
const NOT_OF_A_KIND: &[&str] = &["crew", "language", "languages"];

/// What a site or its kind says of the work.
const WORK: &[&str] = &["treatments", "areas", "takes"];

/// What a site alone can say.
const SITE: &[&str] = &["name", "address", "postcode", "kind", "contact", "email", "route", "order", "start"];

/// A site.
#[derive(Clone, Debug)]
pub(super) struct Site {
    pub key: String,
    /// Everything that holds for it, but the crew.
    pub tree: Tree,
    /// The crew that its own entry names.
    pub crew: Option<Tree>,
    /// Where it stands.
    pub from: From,
}

impl Site {
    /// A problem at a value of the site, or at the site where the value is not there.
    pub(super) fn error(&self, key: &str, code: &'static str, message: impl Into<String>) -> Diagnostic {
        let from = self.tree.get(key).and_then(|tree| tree.from.as_ref()).unwrap_or(&self.from);
        Diagnostic::error(code, message).at(from.place())
    }

    pub(super) fn word(&self, key: &str) -> Option<&str> {
        self.tree.get(key).and_then(Tree::word)
    }
}

/// Reads the defaults, the kinds and the sites, in the order of the table and then of the file.
pub(super) fn read_sites(fields: &Fields<'_>, report: &mut Report) -> Vec<Site> {
    let mut defaults = Tree::group(Vec::new());
    for key in DEFAULTS {
        if let Some(tree) = fields.get(key).and_then(|n| Tree::of(&n, report)) {
            defaults.put(&[key], tree);
        }
    }
    let kinds = read_kinds(fields, report);
    let listed = match fields.get("site_table") {
        Some(node) => Listed::read(&node, report),
        None => Some(Listed::default()),
    };
    let Some(listed) = listed else { return Vec::new() };
    let mut own: Vec<(String, Tree, Option<usize>)> =
        listed.rows.iter().map(|row| (row.key.clone(), row.tree.clone(), Some(row.row))).collect();
    for (key, node) in fields.get("sites").and_then(|n| n.entries(report)).unwrap_or_default() {
        if let Some(problem) = bad_key(&key) {
            report.push(problem.at(node.origin().place()));
            continue;
        }
        if node.fields(&[SITE, WORK, DEFAULTS].concat(), report).is_none() {
            continue;
        }
        let Some(tree) = Tree::of(&node, report) else { continue };
        match own.iter_mut().find(|(known, ..)| *known == key) {
            Some((_, listed, _)) => {
                let from = listed.from.clone();
                *listed = listed.under(&tree);
                listed.from = from;
            }
            None => own.push((key, tree, None)),
        }
    }
    if own.is_empty() && !report.has_errors() {
        let problem = fields.node().error("no-site", "the contract has no site");
        report.push(problem.hint("give `sites`, or a table of them in `site_table`"));
    }
    let mut sites = Vec::new();
    let torn: Vec<usize> = listed.rows.iter().filter(|row| !row.whole).map(|row| row.row).collect();
    for (key, tree, row) in own {
        // what is wrong with its cells has been told
        if row.is_some_and(|row| torn.contains(&row)) {
            continue;
        }
        let cell = |path: &[&str]| row.and_then(|row| listed.cell(row, path));
        sites.extend(lay_over(key, tree, &defaults, &kinds, &cell, report));
    }
    sites
}

/// Kinds that could not be read stand as `None`.
fn read_kinds(fields: &Fields<'_>, report: &mut Report) -> BTreeMap<String, Option<Tree>> {
    let entries = fields.get("kinds").and_then(|n| n.entries(report)).unwrap_or_default();
    let general = DEFAULTS.iter().filter(|key| !NOT_OF_A_KIND.contains(key));
    let keys: Vec<&str> = WORK.iter().chain(general).copied().collect();
    let read = entries.into_iter().map(|(key, node)| {
        let known = node.fields(&keys, report).is_some();
        (key, known.then(|| Tree::of(&node, report)).flatten())
    });
    read.collect()
}

fn lay_over(
    key: String,
    own: Tree,
    defaults: &Tree,
    kinds: &BTreeMap<String, Option<Tree>>,
    cell: &dyn Fn(&[&str]) -> Option<From>,
    report: &mut Report,
) -> Option<Site> {
    let from = own.from.clone()?;
    let mut good = true;
    let mut missing = |name: &str, message: String, hint: &str| {
        let at = cell(&[name]);
        let code = if at.is_some() { "cell-empty" } else { "missing-key" };
        report.push(Diagnostic::error(code, message).at(at.as_ref().unwrap_or(&from).place()).hint(hint));
        good = false;
    };
    for name in ["name", "address"] {
        if own.get(name).is_none() {
            missing(name, format!("the site `{key}` has no {name}"), "fill it in; it stands on every document");
        }
    }
    let word = own.get("kind").and_then(Tree::word);
    let mut kind = None;
    match (word, own.get("treatments")) {
        (Some(word), _) => match kinds.get(word) {
            Some(known) => kind = Some(known.as_ref()?),
            None => {
                let known: Vec<&str> = kinds.keys().map(String::as_str).collect();
                let at = own.get("kind").and_then(|tree| tree.from.as_ref()).unwrap_or(&from);
                let problem =
                    Diagnostic::error("kind-unknown", format!("no kind of site `{word}` is in this contract"));
                report.push(problem.at(at.place()).hint(match nearest(word, &known) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("kinds there: {}", known.join(", ")),
                }));
                good = false;
            }
        },
        (None, Some(_)) => {}
        (None, None) => {
            let hint = "name one of `kinds`, or give the site `treatments` of its own";
            missing("kind", format!("the site `{key}` has no kind"), hint);
        }
    }
    if !good {
        return None;
    }
    let crew = own.get("crew").cloned();
    let layers: Vec<&Tree> = [Some(defaults), kind, Some(&own)].into_iter().flatten().collect();
    let notes: Vec<Tree> = layers.iter().filter_map(|l| l.get("notes")).flat_map(Tree::items).cloned().collect();
    let mut tree = layers.iter().skip(1).fold(defaults.clone(), |under, over| under.under(over));
    if !notes.is_empty() {
        tree.put(&["notes"], Tree::list(notes));
    }
    tree.from = Some(from.clone());
    let mut site = Site { key, tree, crew, from };
    settle_areas(&mut site, cell, report).then_some(site)
}

/// Takes out the areas that the site says it has not; those that remain must have a size.
///
/// An area that treatments name and nobody gives is an error, never left out in silence: a cell forgotten in a table must
/// not leave a room untreated.
fn settle_areas(site: &mut Site, cell: &dyn Fn(&[&str]) -> Option<From>, report: &mut Report) -> bool {
    let areas = site.tree.get("areas").cloned().unwrap_or_else(|| Tree::group(Vec::new()));
    let absent = |name: &str| areas.get(name).and_then(Tree::word) == Some("none");
    let Some(treatments) = site.tree.get("treatments").cloned() else {
        let told = format!("the kind of the site `{}` has no treatments", site.key);
        report.push(site.error("kind", "no-treatment", told));
        return false;
    };
    let mut good = true;
    let mut kept = Vec::new();
    for treatment in treatments.items() {
        let named: Vec<Tree> = treatment.get("areas").map(Tree::items).unwrap_or_default().to_vec();
        let names: Vec<String> = named.iter().filter_map(|t| t.word().map(str::to_owned)).collect();
        for name in names.iter().filter(|name| !absent(name)) {
            let sized = areas.get(name).is_some_and(|a| a.get("floor").is_some() || a.get("surfaces").is_some());
            if sized {
                continue;
            }
            let at = ["floor", "surfaces"].iter().find_map(|size| cell(&["areas", name, size]));
            let message = format!("the size of the area `{name}` at the site `{}` is not given", site.key);
            let code = if at.is_some() { "cell-empty" } else { "area-not-given" };
            let problem = Diagnostic::error(code, message).at(at.as_ref().unwrap_or(&site.from).place());
            report.push(problem.hint("give it, or write `none` where the site has no such area"));
            good = false;
        }
        let here: Vec<Tree> = named.into_iter().filter(|t| t.word().is_none_or(|name| !absent(name))).collect();
        if !here.is_empty() || names.is_empty() {
            let mut treatment = treatment.clone();
            if let Some(inner) = treatment.get("areas").cloned() {
                treatment.put(&["areas"], Tree { value: Value::List(here), from: inner.from });
            }
            kept.push(treatment);
        }
    }
    if kept.is_empty() && good {
        let told = format!("nothing is treated at the site `{}`", site.key);
        report.push(site.error("treatments", "no-treatment", told));
        return false;
    }
    let remaining = areas.entries().iter().filter(|(name, _)| !absent(name)).cloned().collect();
    site.tree.put(&["areas"], Tree { value: Value::Group(remaining), from: areas.from.clone() });
    site.tree.put(&["treatments"], Tree { value: Value::List(kept), from: treatments.from.clone() });
    good
}
