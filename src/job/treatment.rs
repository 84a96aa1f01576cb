//! The treatments of a job: their names looked up in the company file and among the job's areas.

use std::collections::{BTreeMap, HashMap, HashSet};

use super::mixing::{Pour, read_pour};
use super::{Area, InMist};
use crate::company::{CompanyFile, Directions, Product, Sprayer, Vessel, check_droplets};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::quantity::{Number, Share};
use crate::yaml::{At, Declared, Node, Origin, Shape, count, keys, nearest, suggestion, words};

/// One product by one set of directions, put on with one kind of sprayer, over some areas.
#[derive(Clone, Debug)]
pub struct Treatment {
    pub product: Product,
    pub directions: Directions,
    pub sprayer_key: String,
    pub sprayer: Sprayer,
    /// How many of that sprayer work side by side.
    pub sprayers: u32,
    /// What it is mixed in and poured into, where that is not the sprayer itself.
    pub pour: Option<Pour>,
    /// Areas, as positions in [`Job::areas`].
    pub areas: Vec<usize>,
    /// Whether it is done at the same time as the one before it.
    pub beside: bool,
    pub reserve: Share,
    pub equal_loads: bool,
    pub stock: String,
    /// Whether tank and hose are rinsed with water before it, which matters where another product was in them.
    pub tank_rinsed: bool,
    /// What is done where the mist of an earlier treatment is still in its air.
    pub in_mist: InMist,
    pub(crate) origin: Origin,
    /// How many of each label, where this treatment or the job says so.
    pub label_copies: Option<u32>,
}

impl Treatment {
    /// Where one of its keys stands; what was filled without a job has no keys, but a container.
    pub(crate) fn at(&self, key: &str) -> Origin {
        if self.sprayer_key.is_empty() { self.origin.clone() } else { self.origin.key(key) }
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
        /// Whether it is done at the same time as the treatment before it, by others of the crew with a sprayer of their own.
        beside: bool, or(false, "no");
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

/// All treatments; none where one of them is no group of keys.
pub struct Treatments(pub(super) Vec<TreatmentKeys>);

impl Declared for Treatments {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Treatments> {
        let items = node.items(report)?;
        if items.is_empty() {
            let hint = "write what is done: `- { product: …, directions: …, sprayer: …, areas: […] }`";
            return report.fail(node.error("no-treatment", "a job has at least one treatment").hint(hint));
        }
        let read: Vec<TreatmentKeys> = items.iter().filter_map(|item| Declared::from_node(item, report)).collect();
        (read.len() == items.len()).then_some(Treatments(read))
    }

    fn shape() -> Shape {
        Shape::List { of: Box::new(TreatmentKeys::shape()), or_one: false }
    }
}

/// What a treatment's names are looked up in, and what holds where it does not say otherwise.
pub(super) struct Known<'k> {
    pub company: &'k CompanyFile,
    pub areas: &'k [Area],
    /// Where each area stands in `areas`, by name.
    pub places: HashMap<&'k str, usize>,
    pub every_area_read: bool,
    pub default_stock: Option<&'k At<String>>,
    pub default_copies: Option<u32>,
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
                    report.push(unknown(item, "area-unknown", message, self.areas.iter().map(|a| &a.name)));
                }
            }
        }
        chosen
    }

    fn product(&self, named: &At<String>, report: &mut Diagnostics) -> Option<&Product> {
        let message = format!("no product `{}` is in the company file", named.value);
        self.find(named, &self.company.products, &["products"], ("product-unknown", message), report)
    }

    fn directions<'p>(
        &self,
        named: &At<String>,
        product: &'p Product,
        report: &mut Diagnostics,
    ) -> Option<&'p Directions> {
        let message = format!("the product `{}` has no directions `{}`", product.key, named.value);
        let path = ["products", &product.key, "directions"];
        self.find(named, &product.directions, &path, ("directions-unknown", message), report)
    }

    fn sprayer(&self, named: &At<String>, report: &mut Diagnostics) -> Option<&Sprayer> {
        let message = format!("no sprayer `{}` is in the company file", named.value);
        self.find(named, &self.company.sprayers, &["sprayers"], ("sprayer-unknown", message), report)
    }

    /// What is named, from those read at `path` of the company file. One that stands there and could not be read has been
    /// reported there.
    fn find<'t, T>(
        &self,
        named: &At<String>,
        read: &'t BTreeMap<String, T>,
        path: &[&str],
        (code, message): (&'static str, String),
        report: &mut Diagnostics,
    ) -> Option<&'t T> {
        let found = read.get(&named.value);
        if found.is_none() && !self.company.source.holds(&[path, &[&named.value]].concat()) {
            report.push(unknown(named, code, message, read.keys()));
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
        report.fail(problem)
    }
}

impl TreatmentKeys {
    pub(super) fn resolved(self, known: &Known<'_>, report: &mut Diagnostics) -> Option<Treatment> {
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
            beside: self.beside,
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
            return known.stock(key, &vessel.origin.key("stock"), report);
        }
        if let Some(job_wide) = known.default_stock {
            return known.stock(&job_wide.value, &job_wide.origin, report);
        }
        // A sprayer or vessel that is named and not found may have its own stock: it has been reported. So has a slip in the key.
        let is_given = self.origin.has("stock") || self.origin.source().root().get("label_stock").is_some();
        let slips = ["stock", "label_stock", "sprayer"].iter().any(|key| report.has_slip_for(key));
        if is_given || slips || self.origin.has("sprayer") && filled.is_none() {
            return None;
        }
        let hint = "give `stock` in the treatment or at the sprayer, or `label_stock` in the job: every tank must carry a label";
        let message = "it is not said on which label stock the containers' labels go";
        report.fail(self.origin.error("no-stock", message).hint(hint))
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
    message: String,
    known: impl Iterator<Item = &'k String>,
) -> Diagnostic {
    let known: Vec<&str> = known.map(String::as_str).collect();
    let problem = named.origin.error(code, message);
    if known.is_empty() { problem } else { problem.hint(suggestion(&named.value, &known, "there are")) }
}
