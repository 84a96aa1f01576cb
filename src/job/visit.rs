//! The job file: one visit to one site.

use std::collections::{HashMap, HashSet};
use std::path::Path;
use std::sync::Arc;

use jiff::civil::DateTime;
use serde::Serialize;

use super::mixing::{Pour, read_pour};
use super::{Applied, Area, InMist, Site, shared_air};
use crate::catalog::stock::read::read_copies;
use crate::catalog::{Address, CompanyFile, Directions, Languages, Member, Product, Sprayer, Vessel, check_droplets};
use crate::quantity::{Number, Share, Time, parse, range};
use crate::report::Report;
use crate::yaml::{self, Fields, Node, Origin, Source, nearest};

/// A job, resolved: every name in it found in the company file.
#[derive(Debug)]
pub struct Job {
    /// The file itself.
    pub source: Arc<Source>,
    /// The company file it names.
    pub catalog: Arc<CompanyFile>,
    /// The job's number, as written; it heads every file name.
    pub number: String,
    /// For whom.
    pub client: Client,
    /// Where.
    pub site: Site,
    /// When, and who.
    pub visit: Visit,
    /// What is done, in order.
    pub treatments: Vec<Treatment>,
    /// All areas, in the order they stand.
    pub areas: Vec<Area>,
    /// A remark for the crew.
    pub notes: Vec<String>,
    /// What was really done, once it has been.
    pub applied: Option<Applied>,
    /// Why the log that the job names cannot be used, where it cannot; `applied` is then `None`. It blocks the certificate and
    /// nothing that is needed before the work.
    pub log_trouble: Option<Report>,
    /// Which language each document is in, where the company's choice is not followed.
    pub languages: Languages,
}

/// The client.
#[derive(Clone, Debug, Serialize)]
pub struct Client {
    /// Name.
    pub name: String,
    /// Person to speak to.
    pub contact: Option<String>,
    /// E-mail addresses; a plan has none.
    pub email: Option<Vec<Address>>,
}

/// The visit.
#[derive(Clone, Debug, Serialize)]
pub struct Visit {
    /// When work begins, in the site's own time.
    pub start: DateTime,
    /// Who goes.
    pub crew: Vec<Member>,
    /// How long one load takes to mix and read.
    pub mixing: Time,
    /// How long the work may take, from the start to the last load sprayed; a day, or what the job says.
    pub longest: Time,
}

/// One product by one set of directions, put on with one kind of sprayer, over some areas.
#[derive(Clone, Debug)]
pub struct Treatment {
    /// The product.
    pub product: Product,
    /// The label's directions followed.
    pub directions: Directions,
    /// The sprayer's key.
    pub sprayer_key: String,
    /// The sprayer.
    pub sprayer: Sprayer,
    /// How many of that sprayer work side by side.
    pub sprayers: u32,
    /// What it is mixed in and poured into, where that is not the sprayer itself.
    pub pour: Option<Pour>,
    /// Areas, as positions in [`Job::areas`].
    pub areas: Vec<usize>,
    /// How much more than the areas need is mixed.
    pub reserve: Share,
    /// Whether loads are made equal rather than full with a rest.
    pub equal_loads: bool,
    /// The label stock of its containers, by key.
    pub stock: String,
    /// Whether tank and hose are rinsed with water before it, which matters where another product was in them.
    pub tank_rinsed: bool,
    /// What is done where the mist of an earlier treatment is still in its air.
    pub in_mist: InMist,
    pub(crate) origin: Origin,
    /// How many of each label, where this treatment or the job says so.
    pub label_copies: Option<u32>,
}

const KEYS: &[&str] = &[
    "job",
    "company",
    "client",
    "site",
    "visit",
    "treatments",
    "areas",
    "notes",
    "label_stock",
    "language",
    "languages",
    "label_copies",
    "applied",
];

impl Job {
    /// The number of a job file, of which nothing else is looked at; `None` if it has none that can be read.
    pub fn number_in(file: &Path) -> Option<String> {
        let mut report = Report::new();
        let source = Source::read(file, &mut report)?;
        let fields = source.root().fields(KEYS, &mut report)?;
        read_number(&fields.get("job")?, &mut report)
    }

    /// Reads a job file, the company file it names and its as-applied file; every problem is told to `report`.
    pub fn read(file: &Path, report: &mut Report) -> Option<Job> {
        Self::from_source(&Source::read(file, report)?, report)
    }

    /// Reads a job from what is taken to stand in its file.
    pub fn from_source(source: &Arc<Source>, report: &mut Report) -> Option<Job> {
        Self::resolved(source, report, |company, report| CompanyFile::read(company, report).map(Arc::new))
    }

    /// A job file with a company file from elsewhere: `company` is given its path, and may have read it before.
    pub fn read_with(
        file: &Path,
        report: &mut Report,
        company: impl FnOnce(&Path, &mut Report) -> Option<Arc<CompanyFile>>,
    ) -> Option<Job> {
        Self::resolved(&Source::read(file, report)?, report, company)
    }

    fn resolved(
        source: &Arc<Source>,
        report: &mut Report,
        company: impl FnOnce(&Path, &mut Report) -> Option<Arc<CompanyFile>>,
    ) -> Option<Job> {
        let fields = source.root().fields(KEYS, report)?;
        let number = fields.need("job", report).and_then(|n| read_number(&n, report));
        let client = fields.need("client", report).and_then(|n| read_client(&n, report));
        let site = fields.need("site", report).and_then(|n| Site::read(&n, report));
        let catalog = fields.need("company", report).and_then(|n| {
            let name = n.text(report)?;
            company(&source.beside(&name), report)
        });
        let visit = fields.need("visit", report).and_then(|n| read_visit(&n, catalog.as_deref(), report));
        let (mut areas, every_area_read) = read_areas(&fields, report);
        let spaces = fields.get("site").and_then(|n| shared_air::spaces_of(&n));
        shared_air::assign(spaces.as_ref(), &mut areas, every_area_read, report);
        let stock = fields.get("label_stock").filter(|n| n.text(report).is_some());
        let copies = fields.get("label_copies").and_then(|n| read_copies(&n, report));
        let treatments = match (fields.need("treatments", report), &catalog) {
            (Some(n), Some(catalog)) => {
                let known = Known {
                    catalog,
                    areas: &areas,
                    places: areas.iter().enumerate().map(|(at, area)| (area.name.as_str(), at)).collect(),
                    every_area_read,
                    default_stock: stock.as_ref(),
                    default_copies: copies,
                };
                read_treatments(&n, &known, report)
            }
            _ => None,
        };
        if let (Some(treatments), true) = (&treatments, every_area_read) {
            let treated: HashSet<usize> = treatments.iter().flat_map(|t| &t.areas).copied().collect();
            for (i, area) in areas.iter().enumerate() {
                if !treated.contains(&i) {
                    let problem =
                        area.origin.error("area-untreated", format!("nobody treats the area `{}`", area.name));
                    report.push(problem.hint("name it in a treatment's `areas`, or take it out"));
                }
            }
        }
        let notes = fields.get("notes").and_then(|n| n.items_or_one(report)).unwrap_or_default();
        let notes = notes.iter().filter_map(|n| n.text(report)).collect();
        let named = fields.get("applied").and_then(|n| n.text(report));
        let (applied, log_trouble) = match named {
            Some(name) => Applied::named_in(source.file(), &source.beside(&name)),
            None => (None, None),
        };
        let languages = Languages::read(&fields, report);
        Some(Job {
            number: number?,
            client: client?,
            site: site?,
            visit: visit?,
            treatments: treatments?,
            areas,
            notes,
            applied,
            log_trouble,
            languages,
            catalog: catalog?,
            source: source.clone(),
        })
    }
}

fn read_number(node: &Node<'_>, report: &mut Report) -> Option<String> {
    let text = node.text(report)?;
    if text.len() > 24 || !crate::catalog::plain_key(&text) {
        let hint = "at most 24 letters, digits, `-`, `_` and `.`: the number names files and is part of a link";
        report.push(node.error("bad-job-number", format!("`{text}` cannot be a job number")).hint(hint));
        return None;
    }
    Some(text)
}

fn read_client(node: &Node<'_>, report: &mut Report) -> Option<Client> {
    let fields = node.fields(&["name", "contact", "email"], report)?;
    let name = fields.need_text("name", report);
    Some(Client {
        contact: fields.text("contact", report),
        email: fields.get("email").map(|n| read_addresses(&n, report)),
        name: name?,
    })
}

/// One address or several, each of them once.
fn read_addresses(node: &Node<'_>, report: &mut Report) -> Vec<Address> {
    let mut found: Vec<Address> = Vec::new();
    for item in node.items_or_one(report).unwrap_or_default() {
        let Some(address) = item.parse(report, Address::parse) else {
            continue;
        };
        if found.iter().any(|other| other.folded() == address.folded()) {
            report.push(item.error("address-twice", format!("the address `{address}` stands here twice")));
        }
        found.push(address);
    }
    found
}

fn read_visit(node: &Node<'_>, catalog: Option<&CompanyFile>, report: &mut Report) -> Option<Visit> {
    let fields = node.fields(&["start", "crew", "mixing", "longest"], report)?;
    let start = fields.need("start", report).and_then(|n| read_moment(&n, report));
    let mixing = match fields.get("mixing") {
        Some(n) => n.within(report, &range::MIXING),
        None => Some(Time::minutes(Number::int(10))),
    };
    let longest = match fields.get("longest") {
        Some(n) => n.within(report, &range::LONGEST),
        None => Some(Time::minutes(Number::int(24 * 60))),
    };
    let mut crew = Vec::new();
    for item in fields.need("crew", report).and_then(|n| n.items_or_one(report)).unwrap_or_default() {
        let Some(key) = item.text(report) else { continue };
        let Some(catalog) = catalog else { continue };
        match catalog.crew.get(&key) {
            Some(member) => crew.push(member.clone()),
            None => report.push(unknown(
                &item,
                "crew-unknown",
                &format!("nobody `{key}` is in the company's crew"),
                &key,
                catalog.crew.keys(),
            )),
        }
    }
    Some(Visit { start: start?, crew, mixing: mixing?, longest: longest? })
}

pub(super) fn read_moment(node: &Node<'_>, report: &mut Report) -> Option<DateTime> {
    node.parse(report, yaml::moment)
}

fn read_areas(fields: &Fields<'_>, report: &mut Report) -> (Vec<Area>, bool) {
    let entries = fields.need("areas", report).and_then(|n| n.entries(report));
    let Some(entries) = entries else {
        return (Vec::new(), false);
    };
    let count = entries.len();
    let areas: Vec<Area> = entries.iter().filter_map(|(name, node)| Area::read(name, node, report)).collect();
    let every = areas.len() == count;
    (areas, every)
}

fn read_treatments(node: &Node<'_>, known: &Known<'_, '_>, report: &mut Report) -> Option<Vec<Treatment>> {
    let items = node.items(report)?;
    if items.is_empty() {
        report.push(node.error("no-treatment", "a job has at least one treatment"));
        return None;
    }
    let count = items.len();
    let treatments: Vec<Treatment> = items.iter().filter_map(|item| read_treatment(item, known, report)).collect();
    (treatments.len() == count).then_some(treatments)
}

/// What a treatment's names are looked up in, and what holds where it does not say otherwise.
struct Known<'k, 'n> {
    catalog: &'k CompanyFile,
    areas: &'k [Area],
    /// Where each area stands in `areas`, by name.
    places: HashMap<&'k str, usize>,
    every_area_read: bool,
    default_stock: Option<&'k Node<'n>>,
    default_copies: Option<u32>,
}

fn read_treatment(node: &Node<'_>, known: &Known<'_, '_>, report: &mut Report) -> Option<Treatment> {
    let keys = &[
        "product",
        "directions",
        "sprayer",
        "sprayers",
        "mixed_in",
        "poured_into",
        "areas",
        "reserve",
        "loads",
        "stock",
        "tank_rinsed",
        "label_copies",
        "in_mist",
    ];
    let fields = node.fields(keys, report)?;
    let catalog = known.catalog;

    let product_node = fields.need("product", report);
    let product = product_node.as_ref().and_then(|n| {
        let key = n.text(report)?;
        let found = catalog.products.get(&key);
        // What stands in the file and could not be read has been reported there.
        if found.is_none() && !catalog.source.holds(&["products", &key]) {
            let message = format!("no product `{key}` is in the company file");
            report.push(unknown(n, "product-unknown", &message, &key, catalog.products.keys()));
        }
        found
    });
    let directions_node = fields.need("directions", report);
    let directions = directions_node.as_ref().zip(product).and_then(|(n, product)| {
        let key = n.text(report)?;
        let found = product.directions.get(&key);
        let unread = catalog.source.holds(&["products", &product.key, "directions", &key]);
        if found.is_none() && !unread {
            let message = format!("the product `{}` has no directions `{key}`", product.key);
            report.push(unknown(n, "directions-unknown", &message, &key, product.directions.keys()));
        }
        found
    });
    let sprayer_node = fields.need("sprayer", report);
    let sprayer = sprayer_node.as_ref().and_then(|n| {
        let key = n.text(report)?;
        let found = catalog.sprayers.get_key_value(&key);
        if found.is_none() && !catalog.source.holds(&["sprayers", &key]) {
            let message = format!("no sprayer `{key}` is in the company file");
            report.push(unknown(n, "sprayer-unknown", &message, &key, catalog.sprayers.keys()));
        }
        found
    });
    let sprayers = fields.get("sprayers").map_or(Some(1), |n| {
        let text = n.text(report)?;
        let count = text.parse::<u32>().ok().filter(|c| (1..=50).contains(c));
        if count.is_none() {
            report.push(n.error("bad-count", format!("`{text}` is not a count from 1 to 50")));
        }
        count
    });
    let (mut chosen, mut seen) = (Vec::new(), HashSet::new());
    for item in fields.need("areas", report).and_then(|n| n.items_or_one(report)).unwrap_or_default() {
        let Some(name) = item.text(report) else { continue };
        match known.places.get(name.as_str()).copied() {
            Some(at) if !seen.insert(at) => {
                report.push(item.error("area-twice", format!("the area `{name}` stands twice in this treatment")));
            }
            Some(at) => chosen.push(at),
            // An area with a problem of its own has been reported already.
            None if !known.every_area_read => {}
            None => {
                let names = known.areas.iter().map(|a| &a.name);
                report.push(unknown(&item, "area-unknown", &format!("no area `{name}` is in this job"), &name, names));
            }
        }
    }
    if let (Some(directions), Some((_, sprayer)), Some(n)) = (directions, sprayer, &sprayer_node) {
        check_method(directions, sprayer, n, report);
        check_droplets(directions, sprayer, n, report);
    }
    let reserve =
        fields.get("reserve").map_or_else(|| Some(Share::percent(Number::int(5))), |n| n.parse(report, parse::share));
    let equal_loads =
        fields.get("loads").map_or(Some(false), |n| n.choice(report, &[("full", false), ("equal", true)]));
    let tank_rinsed = fields.get("tank_rinsed").map_or(Some(false), |n| n.flag(report));
    let label_copies = match fields.get("label_copies") {
        Some(n) => Some(read_copies(&n, report)?),
        None => known.default_copies,
    };
    let in_mist = InMist::read(&fields, report);
    let pour = sprayer.map(|(key, _)| read_pour(&fields, key, catalog, report));
    let filled = pour.as_ref().and_then(Option::as_ref).map(|pour| pour.into.clone());
    let poured = fields.get("mixed_in").is_some() || fields.get("poured_into").is_some();
    let filled = filled.or_else(|| sprayer.filter(|_| !poured).map(|(_, s)| Vessel::of_sprayer(s)));
    let stock = read_stock(&fields, (filled.as_ref(), sprayer_node.is_some()), known, report);
    if chosen.is_empty() {
        return None;
    }
    let (key, sprayer) = sprayer?;
    Some(Treatment {
        product: product?.clone(),
        directions: directions?.clone(),
        sprayer_key: key.clone(),
        sprayer: sprayer.clone(),
        sprayers: sprayers?,
        pour: pour?,
        areas: chosen,
        reserve: reserve?,
        equal_loads: equal_loads?,
        stock: stock?,
        tank_rinsed: tank_rinsed?,
        in_mist: in_mist?,
        origin: node.origin(),
        label_copies,
    })
}

/// The method must be one the label's directions name. For mist and fog this protects people's lungs: EPA does not
/// recommend either unless the label has directions for it, and has reviewed no data for it (EPA, "Can I use fogging,
/// fumigation, or electrostatic spraying …", page on disinfectant use, read in the agency's archive of 2021).
fn check_method(directions: &Directions, sprayer: &Sprayer, node: &Node<'_>, report: &mut Report) {
    if directions.methods.contains(&sprayer.method) {
        return;
    }
    let named: Vec<&str> = directions.methods.iter().map(|m| m.word()).collect();
    let message = format!(
        "the directions `{}` do not name the method `{}` of this sprayer",
        directions.key,
        sprayer.method.word()
    );
    let mut problem = node.error("method-not-on-label", message);
    problem = problem.hint(format!("methods these directions name: {}", named.join(", ")));
    if sprayer.airborne().is_some() {
        problem = problem.hint(
            "EPA does not recommend fogging, misting or electrostatic spraying unless the product label has directions for it: \
             without them it has reviewed neither safety nor effect",
        );
    }
    report.push(problem);
}

fn read_stock(
    fields: &Fields<'_>,
    (filled, sprayer_named): (Option<&Vessel>, bool),
    known: &Known<'_, '_>,
    report: &mut Report,
) -> Option<String> {
    let stocks = &known.catalog.stock;
    let mut check = |key: String, problem: &dyn Fn(String) -> crate::report::Diagnostic| {
        if stocks.contains_key(&key) {
            return Some(key);
        }
        if known.catalog.source.holds(&["stock", &key]) {
            return None;
        }
        let keys: Vec<&str> = stocks.keys().map(String::as_str).collect();
        let mut told = problem(format!("no label stock `{key}` is in the company file"));
        if let Some(near) = nearest(&key, &keys) {
            told = told.hint(format!("did you mean `{near}`?"));
        }
        if !keys.is_empty() {
            told = told.hint(format!("label stock there: {}", keys.join(", ")));
        }
        report.push(told);
        None
    };
    let own = fields.get("stock").and_then(|n| n.text(&mut Report::new()).map(|key| (key, n)));
    if let Some((key, node)) = own {
        return check(key, &|m| node.error("stock-unknown", m));
    }
    if let Some((key, origin)) = filled.and_then(|v| Some((v.stock.clone()?, v.origin().key("stock")))) {
        return check(key, &|m| origin.error("stock-unknown", m));
    }
    // a key that is no text has been told where the job was read
    let job_wide = known.default_stock.and_then(|n| Some((n.text(&mut Report::new())?, n)));
    if let Some((key, node)) = job_wide {
        return check(key, &|m| node.error("stock-unknown", m));
    }
    // A sprayer or vessel that is named and not found may have its own stock: it has been reported.
    if sprayer_named && filled.is_none() {
        return None;
    }
    let hint =
        "give `stock` in the treatment or at the sprayer, or `label_stock` in the job: every tank must carry a label";
    report.push(
        fields.node().error("no-stock", "it is not said on which label stock the containers' labels go").hint(hint),
    );
    None
}

/// A name that is not there, with the nearest that is.
pub(super) fn unknown<'k>(
    node: &Node<'_>,
    code: &'static str,
    message: &str,
    name: &str,
    known: impl Iterator<Item = &'k String>,
) -> crate::report::Diagnostic {
    let known: Vec<&str> = known.map(String::as_str).collect();
    let problem = node.error(code, message);
    match nearest(name, &known) {
        Some(near) => problem.hint(format!("did you mean `{near}`?")),
        None if known.is_empty() => problem,
        None => problem.hint(format!("there are: {}", known.join(", "))),
    }
}
