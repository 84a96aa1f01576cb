//! What may stand in a contract file. A key of a site has one row in [`SITE_KEYS`]: readers, schema, manual and the columns of a
//! table go by it. One that goes into the jobs as it is has the job's declaration.

use jiff::civil::Date;

use super::columns::{Kind, SiteTable};
use super::moves::MoveKeys;
use super::{dates, read_number, read_pattern, routes, visits};
use crate::diagnostic::Diagnostics;
use crate::job::JobKeys;
use crate::yaml::{
    Declared, Group, Key, Kind as KeyKind, Later, Line, Node, Origin, Presence, Shape, Tree, custom, keys, list_of,
    text,
};

keys! {
    /// A contract: many sites and visits, expanded into a job for each visit.
    pub struct ContractKeys {
        /// Its number: at most 24 letters, digits, `-`, `_` and `.`. Example: `HB-2026`
        contract: String = text("a contract's number", read_number), wanted;
        /// The company file, found from this file's folder. Example: `../company.yaml`
        company: String, wanted;
        /// For whom. Example: `{ name: Port Ansel Harbour Board, contact: M. Castellane }`
        client: Tree = AsInJob("", "client"), wanted;
        /// The last day; a rule that ends of itself needs none. Example: `2026-09-30`
        until: Date, optional;
        /// The pattern of job numbers. `{contract}`, `{site}`, `{date}` and `{time}` are filled in.
        /// Example: `"{site}-{date}-{time}"`
        job_number: String = text("text", read_pattern), or("{site}-{date}".to_owned(), "{site}-{date}");
        /// The folder of service logs, each named as its job; or one table with a column `job`. Example: `logs`, `season.xlsx`
        logs: String, optional;
        /// Kinds of sites, by name: what is done at each site of the kind.
        kinds: Origin = later(|| by_key(group_of(Who::Kind))), optional;
        /// A table of sites: CSV, TSV or XLSX.
        site_table: Later<SiteTable>, optional;
        /// Sites by their keys, which head job numbers; what stands here goes before the table.
        sites: Origin = later(|| by_key(group_of(Who::Site))), optional;
        /// Routes by their keys, in the order of a day: what one van does.
        routes: Origin = later(|| by_key(routes::RouteKeys::shape())), optional;
        /// When which sites are visited: one group, or a list of groups.
        visits: Origin = later(|| one_or_list(visits::VisitsKeys::shape())), wanted;
        /// Days without visits. Listed dates are not moved.
        holidays: Later<visits::Holidays>, optional;
        /// Single visits that are made on another day or at another time.
        /// Example: `[{ sites: gull, from: 2026-04-14, to: 2026-04-16T22:00 }]`
        moves: Vec<MoveKeys> = list_of::<MoveKeys>(), optional;
    }
    + origin
    & defaults
}

/// Who may say something of a site: the nearest is followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Who {
    /// The contract, for all sites.
    Contract,
    Kind,
    /// The site itself, in the file or in its table.
    Site,
}

/// What a key means, and what may stand under it.
type Own = (&'static str, fn() -> Shape);

/// A key of a site.
pub(super) struct SiteKey {
    pub name: &'static str,
    /// The group of the job's keys that it goes into, empty for the job itself; `None` for what the contract alone uses.
    pub group: Option<&'static str>,
    said_by: &'static [Who],
    /// What it means and what may stand there, where the job does not declare it.
    own: Option<Own>,
}

const fn of_job(group: &'static str, name: &'static str, said_by: &'static [Who]) -> SiteKey {
    SiteKey { name, group: Some(group), said_by, own: None }
}

const fn own(name: &'static str, said_by: &'static [Who], about: &'static str, shape: fn() -> Shape) -> SiteKey {
    SiteKey { name, group: None, said_by, own: Some((about, shape)) }
}

const ALL: &[Who] = &[Who::Contract, Who::Kind, Who::Site];
const WORK: &[Who] = &[Who::Kind, Who::Site];
/// Sites of one kind have crews and clients of their own.
const NOT_KIND: &[Who] = &[Who::Contract, Who::Site];
const SITE: &[Who] = &[Who::Site];

/// The keys of a site, in the order of a job file.
pub(super) const SITE_KEYS: &[SiteKey] = &[
    of_job("site", "name", SITE),
    of_job("site", "address", SITE),
    of_job("site", "contact", SITE),
    of_job("site", "email", SITE),
    of_job("site", "phone", SITE),
    own(
        "postcode",
        SITE,
        "The postal code, put behind the address; in quotes where it begins with 0. Example: `\"00417\"`",
        || line("text"),
    ),
    own(
        "kind",
        NOT_KIND,
        "One of `kinds`; without it the site needs `treatments` of its own. Example: `terminal`",
        || line("text"),
    ),
    own("route", SITE, "The route it is on, by its key. Example: `north`", || line("text")),
    own("from", SITE, "The first day on which it is visited. Example: `2026-07-01`", Date::shape),
    own("until", SITE, "The last day on which it is visited. Example: `2026-06-30`", Date::shape),
    own("except", SITE, "Days on which it is not visited. Example: `[2026-07-06]`", Vec::<Date>::shape),
    own("order", SITE, "Its place in the route. Example: `3`", || Shape::Count { least: 0, most: 1_000_000 }),
    own("takes", WORK, "How long the visit takes, with the way to the next site. Example: `45 min`", || {
        Shape::line("a time (min, h)", Line::Text)
    }),
    of_job("site", "air", ALL),
    of_job("site", "air_spaces", ALL),
    of_job("site", "water", ALL),
    of_job("site", "food_place", ALL),
    SiteKey {
        own: Some(("When a visit begins, in the site's own time. Example: `\"18:00\"`", time_of_day)),
        ..of_job("visit", "start", SITE)
    },
    SiteKey {
        own: Some((
            "Who goes, by their keys in the company file; with days where that changes. \
             Example: `[okafor, { member: lindqvist, until: 2026-06-30 }]`",
            crew,
        )),
        ..of_job("visit", "crew", NOT_KIND)
    },
    of_job("visit", "mixing", ALL),
    of_job("visit", "longest", ALL),
    of_job("", "notes", ALL),
    of_job("", "label_stock", ALL),
    of_job("", "label_copies", ALL),
    of_job("", "label_times", ALL),
    SiteKey {
        own: Some((
            "What is done, in order: as in a job, with `from` and `until` where it changes. \
             Example: `[{ product: solvary-q75, directions: hard-surface, sprayer: mister, areas: [Hall], until: 2026-06-30 }]`",
            treatments,
        )),
        ..of_job("", "treatments", WORK)
    },
    SiteKey {
        own: Some(("By name: what is treated; sizes may come from the table.", areas)),
        ..of_job("", "areas", WORK)
    },
    of_job("", "language", NOT_KIND),
    of_job("", "languages", NOT_KIND),
];

/// Names of what may be said there.
pub(super) fn names_of(who: Who) -> Vec<&'static str> {
    SITE_KEYS.iter().filter(|key| key.said_by.contains(&who)).map(|key| key.name).collect()
}

fn keys_of(who: Who) -> Vec<Key> {
    SITE_KEYS.iter().filter(|key| key.said_by.contains(&who)).filter_map(SiteKey::key).collect()
}

/// What holds for every site where nothing nearer says otherwise.
fn defaults() -> Vec<Key> {
    keys_of(Who::Contract)
}

fn group_of(who: Who) -> Shape {
    let (name, about) = match who {
        Who::Kind => ("Kind", "What is done at sites of one kind."),
        _ => ("ContractSite", "A site of the contract."),
    };
    Shape::Group(Group { name, about, keys: keys_of(who) })
}

impl SiteKey {
    fn key(&self) -> Option<Key> {
        let Some((about, shape)) = self.own else {
            let key = declared(self.group.unwrap_or_default(), self.name)?;
            // a site, its kind, the table or the contract may say it
            let presence = if matches!(key.presence, Presence::Required) { Presence::Optional } else { key.presence };
            return Some(Key { presence, ..key });
        };
        Some(Key { name: self.name, about, shape: shape(), presence: Presence::Optional })
    }
}

/// A key as the job declares it.
fn declared(group: &str, name: &str) -> Option<Key> {
    let find = |shape, name: &str| match shape {
        Shape::Group(group) => group.keys.into_iter().find(|key| key.name == name),
        _ => None,
    };
    let job = JobKeys::shape();
    find(if group.is_empty() { job } else { find(job, group)?.shape }, name)
}

/// What a job takes under a key, as it stands: group and key.
pub(super) struct AsInJob(pub &'static str, pub &'static str);

impl KeyKind for AsInJob {
    type Value = Tree;

    fn read(&self, node: &Node<'_>, report: &mut Diagnostics) -> Option<Tree> {
        Tree::of(node, report)
    }

    fn shape(&self) -> Shape {
        declared(self.0, self.1).map_or_else(|| line("text"), |key| key.shape)
    }
}

/// What is read by hand, once what it depends on has been.
pub(super) fn later<S: Fn() -> Shape>(shape: S) -> impl KeyKind<Value = Origin> {
    custom(|node, _| Some(node.origin()), shape)
}

/// Members of a crew, by key alone or with the days on which they go.
pub(super) fn crew() -> Shape {
    let about = "Whom the company's crew knows by this key. Example: `okafor`";
    let member = Key { name: "member", about, shape: line("text"), presence: Presence::Required };
    let keys = [member].into_iter().chain(dates::keys()).collect();
    let dated = Group { name: "CrewMember", about: "A member of the crew who goes on some days.", keys };
    one_or_list(Shape::Either(vec![line("text"), Shape::Group(dated)]))
}

fn treatments() -> Shape {
    let Some(Key { shape: Shape::List { of, or_one }, .. }) = declared("", "treatments") else { return line("text") };
    let of = match *of {
        Shape::Group(mut group) => {
            group.keys.extend(dates::keys());
            Shape::Group(group)
        }
        other => other,
    };
    Shape::List { of: Box::new(of), or_one }
}

fn areas() -> Shape {
    let none = Shape::Words(&[("none", "the site has no such area")]);
    match declared("", "areas").map(|key| key.shape) {
        Some(Shape::ByKey { of, .. }) => by_key(Shape::Either(vec![*of, none])),
        _ => by_key(none),
    }
}

/// What a column may hold: the group of a site's keys (`areas`: of each area), the key, and how its cells are taken.
pub(super) fn columns() -> Vec<(&'static str, &'static str, Kind)> {
    let mut all = vec![("", "key", Kind::Text)];
    for key in keys_of(Who::Site) {
        all.extend(kind_of(&key.shape).map(|kind| ("", key.name, kind)));
        all.extend(inner(&key.shape).iter().filter_map(|inner| Some((key.name, inner.name, kind_of(&inner.shape)?))));
    }
    all
}

/// The keys of a group, or of each of several.
fn inner(shape: &Shape) -> &[Key] {
    match shape {
        Shape::ByKey { of, .. } => inner(of),
        Shape::Either(shapes) => shapes.first().map_or(&[], inner),
        other => other.keys(),
    }
}

/// How a cell is taken under a key; `None` where a key holds more than one line.
fn kind_of(shape: &Shape) -> Option<Kind> {
    match shape {
        Shape::Line { line: Line::Number, .. } | Shape::Count { .. } => Some(Kind::Number),
        Shape::Line { line: Line::Text, what, .. } => Some(match what.as_str() {
            what if what.starts_with("a time of day") => Kind::Time,
            what if what.starts_with("a date") => Kind::Date,
            what if what.starts_with("a language") || what.starts_with("an e-mail") => Kind::Text,
            _ => Kind::Quantity,
        }),
        Shape::Line { .. } | Shape::Words(_) | Shape::YesNo => Some(Kind::Text),
        Shape::List { of, .. } if matches!(**of, Shape::Line { .. } | Shape::Either(_)) => kind_of(of),
        // a member of the crew by key alone
        Shape::Either(shapes) => shapes.first().and_then(kind_of),
        _ => None,
    }
}

fn line(what: &'static str) -> Shape {
    Shape::line(what, Line::Any)
}

pub(super) fn time_of_day() -> Shape {
    Shape::line("a time of day", Line::Text)
}

pub(super) fn one_or_list(of: Shape) -> Shape {
    Shape::List { of: Box::new(of), or_one: true }
}

pub(super) fn by_key(of: Shape) -> Shape {
    Shape::ByKey { of: Box::new(of), plain: false }
}
