//! The job file: one visit to one site.

use std::collections::{HashMap, HashSet};
use std::path::Path;
use std::sync::Arc;

use jiff::civil::DateTime;
use serde::Serialize;

use super::area::Areas;
use super::mixing::{Pour, read_pour};
use super::{Area, InMist, ServiceLog, Site, shared_air};
use crate::company::{
    Address, CompanyFile, Directions, DocumentLanguages, Languages, Member, Product, Sprayer, Tongue, Vessel,
    check_droplets,
};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::quantity::{Number, Share, Time, range};
use crate::yaml::{
    At, Declared, Later, Line, Node, Origin, Shape, Source, count, custom, keys, nearest, plain_key, text, words,
};

/// A job, resolved: every name in it found in the company file.
#[derive(Debug)]
pub struct Job {
    /// The file itself.
    pub source: Arc<Source>,
    /// The company file it names.
    pub company: Arc<CompanyFile>,
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
    pub service_log: Option<ServiceLog>,
    /// Why the log that the job names cannot be used, where it cannot; `applied` is then `None`. It blocks the certificate and
    /// nothing that is needed before the work.
    pub log_trouble: Option<Diagnostics>,
    /// Which language each document is in, where the company's choice is not followed.
    pub languages: Languages,
}

keys! {
    /// The client.
    #[derive(Clone, Debug, Serialize)]
    pub struct Client {
        /// Name. Example: `Port Ansel Harbour Board`
        name: String, required;
        /// Person to speak to. Example: `M. Castellane`
        contact: String, optional;
        /// E-mail addresses that certificates go to; a plan has none. Example: `harbour@port-ansel.example`
        email: Vec<Address> = custom(read_addresses, addresses_shape), optional;
        /// In how many messages those addresses get certificates. The site's own address gets one for each.
        #[serde(skip)]
        certificates: Gathered, or(Gathered::Each, "each");
    }
}

words! {
    /// How the certificates of a client go into messages.
    pub enum Gathered {
        /// a message for each certificate
        Each = "each",
        /// one message for the visits that began between noon and noon of the next day
        Night = "night",
        /// one message for the nights of Monday to Sunday, not before noon (UTC) of the Monday after
        Week = "week",
    }
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

keys! {
    /// A job file: one visit to one site.
    pub struct JobKeys {
        /// Its number: at most 24 letters, digits, `-`, `_` and `.`. It names the files and is part of the link.
        /// Example: `2026-0413`
        job: String = text("a job number", read_number), wanted;
        /// The company file, found from this file's folder. Example: `../company.yaml`
        company: String, wanted;
        /// For whom. Example: `{ name: Port Ansel Harbour Board, contact: M. Castellane }`
        client: Client, wanted;
        /// Where.
        site: Site, wanted;
        /// When, and who. Example: `{ start: 2026-04-13T18:00, crew: [okafor] }`
        visit: VisitKeys, wanted;
        /// What is done, in order: each begins when the last load of the one before is empty and its air has cleared.
        treatments: Later<Treatments>, wanted;
        /// By name: what is treated. An area that no treatment names is an error.
        /// Example: `{ Hall: { floor: 40 ft x 55 ft, walls_to: 3 ft } }`
        areas: Later<Areas>, wanted;
        /// What the office has to say to the crew; it stands on the mix sheet. Example: `Keys at the harbour office.`
        notes: Vec<String>, or(Vec::new(), "[]");
        /// The label stock where nothing else names one, by its key. Example: `roll-4x6`
        label_stock: At<String>, optional;
        /// The language of all documents; what the job says goes before what the company file says. Example: `es`
        language: Tongue, optional;
        /// The language of single documents. Example: `{ labels: [en, es] }`
        languages: DocumentLanguages, or(DocumentLanguages::default(), "that of all");
        /// How many of each label, where no treatment says so; else as the stock says.
        label_copies: u32 = count(1, 100), optional;
        /// The service log, once the work is done: a file beside this one. Example: `log.yaml`
        log: String, optional;
    }
}

keys! {
    /// When, and who.
    pub struct VisitKeys {
        /// When work begins. Example: `2026-04-13T18:00`
        start: DateTime, wanted;
        /// Who goes, by their keys in the company file. Example: `[okafor, lindqvist]`
        crew: Vec<At<String>>, wanted;
        /// How long one load takes to mix and read. Example: `15 min`
        mixing: Time = &range::MIXING, or(Time::minutes(Number::int(10)), "10 min");
        /// How long the work may take, from the start to the last load sprayed; a longer plan is an error. Example: `30 h`
        longest: Time = &range::LONGEST, or(Time::minutes(Number::int(24 * 60)), "24 h");
    }
}

keys! {
    /// One product by one set of directions, put on with one kind of sprayer, over some areas.
    pub struct TreatmentKeys {
        /// The product, by its key in the company file. Example: `solvary-q75`
        product: At<String>, wanted;
        /// Which of that product's directions is followed, by its key. Example: `hard-surface`
        directions: At<String>, wanted;
        /// The sprayer, by its key; its method must be one that the directions name. Example: `mister`
        sprayer: At<String>, wanted;
        /// How many of that sprayer work side by side.
        sprayers: u32 = count(1, 50), or(1, "1");
        /// The vessel or sprayer that the solution is mixed in, where that is not the treatment's sprayer: one mix, one reading,
        /// and a label for every container that is filled. Example: `pail`
        mixed_in: At<String>, optional;
        /// What it is poured into; the treatment's own sprayer if nothing is said. Example: `bottle`
        poured_into: At<String>, optional;
        /// The areas, in order. Example: `[Waiting hall, Restrooms]`
        areas: Vec<At<String>>, wanted;
        /// How much more than the areas need is mixed. Example: `10 %`
        reserve: Share, or(Share::percent(Number::int(5)), "5 %");
        /// How the loads are filled.
        loads: Loads, or(Loads::Full, "full");
        /// The label stock, by its key; else the sprayer's, else the job's `label_stock`. Example: `roll-2x3`
        stock: At<String>, optional;
        /// Whether tank and hose are rinsed three times before it. A tank is rinsed whenever its product changes; where the two
        /// must not meet, also with another product between, it is an error until the job says so.
        tank_rinsed: bool, or(false, "no");
        /// How many of each label; else as the job says, else the stock.
        label_copies: u32 = count(1, 100), optional;
        /// What is done where an earlier treatment's mist is still in its air.
        in_mist: InMist, or(InMist::Wait, "wait");
    }
    + origin
}

words! {
    /// How the loads of a treatment are filled.
    pub enum Loads {
        /// full, and the last with what is left
        Full = "full",
        /// all with the same
        Equal = "equal",
    }
}

impl Job {
    /// The number of a job file, of which nothing else is looked at; `None` if it has none that can be read.
    pub fn number_in(file: &Path) -> Option<String> {
        let mut report = Diagnostics::new();
        let source = Source::read(file, &mut report)?;
        read_number(&source.root().get("job")?, &mut report)
    }

    /// Reads a job file, the company file it names and its service log; every problem is reported.
    pub fn read(file: &Path, report: &mut Diagnostics) -> Option<Job> {
        Self::from_source(&Source::read(file, report)?, report)
    }

    /// Reads a job from what is taken to stand in its file.
    pub fn from_source(source: &Arc<Source>, report: &mut Diagnostics) -> Option<Job> {
        Self::resolved(source, report, |company, report| CompanyFile::read(company, report).map(Arc::new))
    }

    /// A job file with a company file from elsewhere: `company` is given its path, and may have read it before.
    pub fn read_with(
        file: &Path,
        report: &mut Diagnostics,
        company: impl FnOnce(&Path, &mut Diagnostics) -> Option<Arc<CompanyFile>>,
    ) -> Option<Job> {
        Self::resolved(&Source::read(file, report)?, report, company)
    }

    fn resolved(
        source: &Arc<Source>,
        report: &mut Diagnostics,
        company: impl FnOnce(&Path, &mut Diagnostics) -> Option<Arc<CompanyFile>>,
    ) -> Option<Job> {
        let keys = JobKeys::from_node(&source.root(), report)?;
        let company = keys.company.and_then(|name| company(&source.beside(&name), report));
        let visit = keys.visit.map(|visit| visit.resolved(company.as_deref(), report));
        let Areas { all: mut areas, every: every_area_read } =
            keys.areas.and_then(|areas| areas.read(report)).unwrap_or_default();
        let spaces = keys.site.as_ref().and_then(|site| site.air_spaces.as_ref());
        shared_air::assign(spaces, &mut areas, every_area_read, report);
        let treatments = keys.treatments.and_then(|treatments| treatments.read(report));
        let treatments = treatments.zip(company.as_deref()).and_then(|(Treatments(treatments), company)| {
            let known = Known {
                company,
                areas: &areas,
                places: areas.iter().enumerate().map(|(at, area)| (area.name.as_str(), at)).collect(),
                every_area_read,
                default_stock: keys.label_stock.as_ref(),
                default_copies: keys.label_copies,
            };
            let count = treatments.len();
            let found: Vec<Treatment> = treatments.into_iter().filter_map(|t| t.resolved(&known, report)).collect();
            (found.len() == count).then_some(found)
        });
        if let (Some(treatments), true) = (&treatments, every_area_read) {
            let treated: HashSet<usize> = treatments.iter().flat_map(|t| &t.areas).copied().collect();
            for (_, area) in areas.iter().enumerate().filter(|(i, _)| !treated.contains(i)) {
                let problem = area.origin.error("area-untreated", format!("nobody treats the area `{}`", area.name));
                report.push(problem.hint("name it in a treatment's `areas`, or take it out"));
            }
        }
        let (service_log, log_trouble) = match keys.log {
            Some(name) => ServiceLog::named_in(source.file(), &source.beside(&name)),
            None => (None, None),
        };
        Some(Job {
            number: keys.job?,
            client: keys.client?,
            site: keys.site?,
            visit: visit??,
            treatments: treatments?,
            areas,
            notes: keys.notes,
            service_log,
            log_trouble,
            languages: Languages::new(keys.language, keys.languages),
            company: company?,
            source: source.clone(),
        })
    }
}

fn read_number(node: &Node<'_>, report: &mut Diagnostics) -> Option<String> {
    let text = node.text(report)?;
    if text.len() > 24 || !plain_key(&text) {
        let hint = "at most 24 letters, digits, `-`, `_` and `.`: the number names files and is part of a link";
        report.push(node.error("bad-job-number", format!("`{text}` cannot be a job number")).hint(hint));
        return None;
    }
    Some(text)
}

pub(super) fn addresses_shape() -> Shape {
    Shape::List { of: Box::new(Shape::line("an e-mail address", Line::Text)), or_one: true }
}

/// One address or several, each of them once.
pub(super) fn read_addresses(node: &Node<'_>, report: &mut Diagnostics) -> Option<Vec<Address>> {
    let mut found: Vec<Address> = Vec::new();
    for item in node.items_or_one(report)? {
        let Some(address) = item.parse(report, Address::parse) else {
            continue;
        };
        if found.iter().any(|other| other.folded() == address.folded()) {
            report.push(item.error("address-twice", format!("the address `{address}` stands here twice")));
        }
        found.push(address);
    }
    Some(found)
}

/// All treatments; none where one of them is no group of keys.
pub struct Treatments(Vec<TreatmentKeys>);

impl Declared for Treatments {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Treatments> {
        let items = node.items(report)?;
        if items.is_empty() {
            report.push(node.error("no-treatment", "a job has at least one treatment"));
            return None;
        }
        let read: Vec<TreatmentKeys> = items.iter().filter_map(|item| Declared::from_node(item, report)).collect();
        (read.len() == items.len()).then_some(Treatments(read))
    }

    fn shape() -> Shape {
        Shape::List { of: Box::new(TreatmentKeys::shape()), or_one: false }
    }
}

impl VisitKeys {
    fn resolved(self, company: Option<&CompanyFile>, report: &mut Diagnostics) -> Option<Visit> {
        let mut crew = Vec::new();
        let company = company?;
        for named in self.crew.iter().flatten() {
            match company.crew.get(&named.value) {
                Some(member) => crew.push(member.clone()),
                None => {
                    let message = format!("nobody `{}` is in the company's crew", named.value);
                    report.push(unknown(named, "crew-unknown", &message, company.crew.keys()));
                }
            }
        }
        Some(Visit { start: self.start?, crew, mixing: self.mixing, longest: self.longest })
    }
}

/// What a treatment's names are looked up in, and what holds where it does not say otherwise.
struct Known<'k> {
    company: &'k CompanyFile,
    areas: &'k [Area],
    /// Where each area stands in `areas`, by name.
    places: HashMap<&'k str, usize>,
    every_area_read: bool,
    default_stock: Option<&'k At<String>>,
    default_copies: Option<u32>,
}

impl Known<'_> {
    /// A treatment's areas as positions, each once.
    fn areas(&self, named: &[At<String>], report: &mut Diagnostics) -> Vec<usize> {
        let (mut chosen, mut seen) = (Vec::new(), HashSet::new());
        for item in named {
            let name = &item.value;
            match self.places.get(name.as_str()).copied() {
                Some(at) if !seen.insert(at) => {
                    let message = format!("the area `{name}` stands twice in this treatment");
                    report.push(item.origin.error("area-twice", message));
                }
                Some(at) => chosen.push(at),
                // An area with a problem of its own has been reported already.
                None if !self.every_area_read => {}
                None => {
                    let message = format!("no area `{name}` is in this job");
                    report.push(unknown(item, "area-unknown", &message, self.areas.iter().map(|a| &a.name)));
                }
            }
        }
        chosen
    }

    fn product(&self, named: &At<String>, report: &mut Diagnostics) -> Option<&Product> {
        let found = self.company.products.get(&named.value);
        // What stands in the file and could not be read has been reported there.
        if found.is_none() && !self.company.source.holds(&["products", &named.value]) {
            let message = format!("no product `{}` is in the company file", named.value);
            report.push(unknown(named, "product-unknown", &message, self.company.products.keys()));
        }
        found
    }

    fn directions<'p>(
        &self,
        named: &At<String>,
        product: &'p Product,
        report: &mut Diagnostics,
    ) -> Option<&'p Directions> {
        let found = product.directions.get(&named.value);
        let unread = self.company.source.holds(&["products", &product.key, "directions", &named.value]);
        if found.is_none() && !unread {
            let message = format!("the product `{}` has no directions `{}`", product.key, named.value);
            report.push(unknown(named, "directions-unknown", &message, product.directions.keys()));
        }
        found
    }

    fn sprayer(&self, named: &At<String>, report: &mut Diagnostics) -> Option<&Sprayer> {
        let found = self.company.sprayers.get(&named.value);
        if found.is_none() && !self.company.source.holds(&["sprayers", &named.value]) {
            let message = format!("no sprayer `{}` is in the company file", named.value);
            report.push(unknown(named, "sprayer-unknown", &message, self.company.sprayers.keys()));
        }
        found
    }

    /// The label stock under a key, which stands at `origin`.
    fn stock(&self, key: &str, origin: &Origin, report: &mut Diagnostics) -> Option<String> {
        let stocks = &self.company.stock;
        if stocks.contains_key(key) {
            return Some(key.to_owned());
        }
        if self.company.source.holds(&["stock", key]) {
            return None;
        }
        let keys: Vec<&str> = stocks.keys().map(String::as_str).collect();
        let mut problem = origin.error("stock-unknown", format!("no label stock `{key}` is in the company file"));
        if let Some(near) = nearest(key, &keys) {
            problem = problem.hint(format!("did you mean `{near}`?"));
        }
        if !keys.is_empty() {
            problem = problem.hint(format!("label stock there: {}", keys.join(", ")));
        }
        report.push(problem);
        None
    }
}

impl TreatmentKeys {
    fn resolved(self, known: &Known<'_>, report: &mut Diagnostics) -> Option<Treatment> {
        let product = self.product.as_ref().and_then(|named| known.product(named, report));
        let directions =
            self.directions.as_ref().zip(product).and_then(|(named, of)| known.directions(named, of, report));
        let sprayer = self.sprayer.as_ref().and_then(|named| Some((named, known.sprayer(named, report)?)));
        let areas = known.areas(self.areas.as_deref().unwrap_or_default(), report);
        if let (Some(directions), Some((named, sprayer))) = (directions, sprayer) {
            check_method(directions, sprayer, &named.origin, report);
            check_droplets(directions, sprayer, &named.origin, report);
        }
        let named = (self.mixed_in.as_ref(), self.poured_into.as_ref());
        let pour = sprayer.map(|(key, _)| read_pour(named, &key.value, known.company, report));
        let filled = pour.as_ref().and_then(Option::as_ref).map(|pour| pour.into.clone());
        let poured = named.0.is_some() || named.1.is_some();
        let filled = filled.or_else(|| sprayer.filter(|_| !poured).map(|(_, s)| Vessel::of_sprayer(s)));
        let stock = self.stock(filled.as_ref(), known, report);
        if areas.is_empty() {
            return None;
        }
        let (sprayer_key, sprayer) = sprayer?;
        Some(Treatment {
            product: product?.clone(),
            directions: directions?.clone(),
            sprayer_key: sprayer_key.value.clone(),
            sprayer: sprayer.clone(),
            sprayers: self.sprayers,
            pour: pour?,
            areas,
            reserve: self.reserve,
            equal_loads: self.loads == Loads::Equal,
            stock: stock?,
            tank_rinsed: self.tank_rinsed,
            in_mist: self.in_mist,
            origin: self.origin,
            label_copies: self.label_copies.or(known.default_copies),
        })
    }

    /// The label stock of its containers: its own, else that of what is filled, else the job's.
    fn stock(&self, filled: Option<&Vessel>, known: &Known<'_>, report: &mut Diagnostics) -> Option<String> {
        if let Some(own) = &self.stock {
            return known.stock(&own.value, &own.origin, report);
        }
        if let Some((vessel, key)) = filled.and_then(|vessel| Some((vessel, vessel.stock.as_ref()?))) {
            return known.stock(key, &vessel.origin().key("stock"), report);
        }
        if let Some(job_wide) = known.default_stock {
            return known.stock(&job_wide.value, &job_wide.origin, report);
        }
        // A sprayer or vessel that is named and not found may have its own stock: it has been reported.
        if self.origin.has("sprayer") && filled.is_none() {
            return None;
        }
        let hint = "give `stock` in the treatment or at the sprayer, or `label_stock` in the job: every tank must carry a label";
        let message = "it is not said on which label stock the containers' labels go";
        report.push(self.origin.error("no-stock", message).hint(hint));
        None
    }
}

/// The method must be one the label's directions name. For mist and fog this protects people's lungs: EPA does not
/// recommend either unless the label has directions for it, and has reviewed no data for it (EPA, "Can I use fogging,
/// fumigation, or electrostatic spraying …", page on disinfectant use, read in the agency's archive of 2021).
fn check_method(directions: &Directions, sprayer: &Sprayer, named: &Origin, report: &mut Diagnostics) {
    if directions.methods.contains(&sprayer.method) {
        return;
    }
    let methods: Vec<&str> = directions.methods.iter().map(|m| m.word()).collect();
    let message = format!(
        "the directions `{}` do not name the method `{}` of this sprayer",
        directions.key,
        sprayer.method.word()
    );
    let mut problem = named.error("method-not-on-label", message);
    problem = problem.hint(format!("methods these directions name: {}", methods.join(", ")));
    if sprayer.airborne().is_some() {
        problem = problem.hint(
            "EPA does not recommend fogging, misting or electrostatic spraying unless the product label has directions for it: \
             without them it has reviewed neither safety nor effect",
        );
    }
    report.push(problem);
}

/// A name that is not there, with the nearest that is.
pub(super) fn unknown<'k>(
    named: &At<String>,
    code: &'static str,
    message: &str,
    known: impl Iterator<Item = &'k String>,
) -> Diagnostic {
    let known: Vec<&str> = known.map(String::as_str).collect();
    let problem = named.origin.error(code, message);
    match nearest(&named.value, &known) {
        Some(near) => problem.hint(format!("did you mean `{near}`?")),
        None if known.is_empty() => problem,
        None => problem.hint(format!("there are: {}", known.join(", "))),
    }
}
