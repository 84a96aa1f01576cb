//! Products: what is in them, what their label directs, what their safety data sheet says.

use std::collections::BTreeMap;

use serde::Serialize;

use super::containers::{Container, read_containers};
use super::credible::{self, read_density};
use super::ingredient::{self, Ingredient};
use super::sds::read_sds;
use super::strip_scale::read_strip;
use super::{Directions, Lots, Measured, Sds, StripScale, directions};
use crate::calc::mixing::Family;
use crate::calc::never_words::{Named, named};
use crate::quantity::{Content, Density, Form, Time, range};
use crate::report::Report;
use crate::yaml::{Fields, Node, Origin, nearest};

/// A concentrate or ready-to-use product.
#[derive(Clone, Debug, Serialize)]
pub struct Product {
    /// Its key in the company file.
    pub key: String,
    /// Its name as on its label.
    pub name: String,
    /// Its chemistry.
    pub kind: ProductKind,
    /// Registration, printed as written.
    pub registration: Option<String>,
    /// Liquid, powder, tablet or ready to use.
    #[serde(skip)]
    pub form: Form,
    /// Mass by volume; needed where content is by weight.
    pub density: Option<Density>,
    /// What it holds.
    pub ingredients: Vec<Ingredient>,
    /// What was measured on it.
    pub measured: Measured,
    /// Available chlorine, where the product states that.
    pub available_chlorine: Option<Content>,
    /// The signal word of the product's own (pesticide) label, printed as written there.
    pub label_signal: Option<LabelSignal>,
    /// What its safety data sheet says.
    pub sds: Sds,
    /// The label's directions, by key.
    pub directions: BTreeMap<String, Directions>,
    /// The strip its solution is read with.
    pub strip: Option<StripScale>,
    /// What it must never meet, as the label or data sheet words it.
    pub never_with: Vec<String>,
    /// Its chemical families, for what must never meet: as the file lists them, and as its kind and CAS numbers tell.
    pub families: Vec<Family>,
    /// What the words of `never_with` name, in its order.
    #[serde(skip)]
    pub never_with_named: Vec<Named>,
    /// How long the use solution may be kept.
    pub keeps: Option<Time>,
    /// Lots in store.
    pub lots: Lots,
    /// The containers it is bought in, the largest first; none where the file does not say.
    pub containers: Vec<Container>,
    #[serde(skip)]
    pub(crate) origin: Origin,
}

/// The chemistry of a product.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ProductKind {
    /// Quaternary ammonium compounds.
    Quat,
    /// Sodium or calcium hypochlorite.
    Hypochlorite,
    /// Chlorine-releasing tablets or granules.
    ChlorineTablets,
    /// Peracetic acid.
    PeraceticAcid,
    /// Hydrogen peroxide.
    HydrogenPeroxide,
    /// Ethanol or isopropanol.
    Alcohol,
    /// Iodophors.
    Iodine,
    /// Anything else.
    Other,
}

impl ProductKind {
    const WORDS: &'static [(&'static str, ProductKind)] = &[
        ("quat", ProductKind::Quat),
        ("hypochlorite", ProductKind::Hypochlorite),
        ("chlorine-tablets", ProductKind::ChlorineTablets),
        ("peracetic-acid", ProductKind::PeraceticAcid),
        ("hydrogen-peroxide", ProductKind::HydrogenPeroxide),
        ("alcohol", ProductKind::Alcohol),
        ("iodine", ProductKind::Iodine),
        ("other", ProductKind::Other),
    ];

    /// The word a file uses.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, kind)| *kind == self).map_or("other", |(word, _)| word)
    }

    /// The chemical families its products belong to. A peracetic acid product is an equilibrium of all four.
    fn families(self) -> &'static [Family] {
        match self {
            ProductKind::Quat => &[Family::Quaternary],
            ProductKind::Hypochlorite => &[Family::Hypochlorite],
            ProductKind::ChlorineTablets => &[Family::Chloroisocyanurate],
            ProductKind::PeraceticAcid => {
                &[Family::PeraceticAcid, Family::HydrogenPeroxide, Family::AceticAcid, Family::Acid]
            }
            ProductKind::HydrogenPeroxide => &[Family::HydrogenPeroxide],
            ProductKind::Alcohol => &[Family::Alcohol],
            ProductKind::Iodine => &[Family::Iodine, Family::Acid],
            ProductKind::Other => &[Family::Other],
        }
    }

    /// Whether its strips show available chlorine.
    pub fn is_chlorine(self) -> bool {
        matches!(self, ProductKind::Hypochlorite | ProductKind::ChlorineTablets)
    }
}

/// The signal word on a pesticide label. It belongs to the concentrate and never merges with the word for the dilution.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "UPPERCASE")]
pub enum LabelSignal {
    /// Toxicity category I.
    Danger,
    /// Toxicity category II.
    Warning,
    /// Toxicity categories III and IV.
    Caution,
    /// The label has none, as it may in category IV.
    #[serde(rename = "none")]
    Absent,
}

impl LabelSignal {
    const WORDS: &'static [(&'static str, LabelSignal)] = &[
        ("DANGER", LabelSignal::Danger),
        ("WARNING", LabelSignal::Warning),
        ("CAUTION", LabelSignal::Caution),
        ("none", LabelSignal::Absent),
    ];

    /// As it is printed, if anything is.
    pub fn word(self) -> Option<&'static str> {
        let of_this = Self::WORDS.iter().find(|(_, signal)| *signal == self);
        of_this.filter(|_| self != LabelSignal::Absent).map(|(word, _)| *word)
    }
}

const FORMS: &[(&str, Form)] =
    &[("liquid", Form::Liquid), ("powder", Form::Powder), ("tablet", Form::Tablet), ("ready-to-use", Form::ReadyToUse)];

const KEYS: &[&str] = &[
    "name",
    "kind",
    "registration",
    "form",
    "density",
    "ph",
    "flash_point",
    "boiling_point",
    "viscosity",
    "tablet",
    "ingredients",
    "available_chlorine",
    "label_signal",
    "sds",
    "directions",
    "strip",
    "never_with",
    "families",
    "keeps",
    "lots",
    "containers",
];

impl Product {
    pub(super) fn read(key: &str, node: &Node<'_>, report: &mut Report) -> Option<Product> {
        let fields = node.fields(KEYS, report)?;
        let name = fields.need_text("name", report);
        let kind = fields.need("kind", report).and_then(|n| n.choice(report, ProductKind::WORDS));
        let form = fields.need("form", report).and_then(|n| n.choice(report, FORMS));
        let density = fields.get("density").and_then(|n| read_density(&n, report));
        let available_chlorine =
            fields.get("available_chlorine").and_then(|n| n.parse(report, Content::parse_available_chlorine));
        let ingredients = ingredient::read_all(&fields, report);
        let measured = Measured::read(&fields, report);
        let label_signal = fields.get("label_signal").and_then(|n| n.choice(report, LabelSignal::WORDS));
        let sds = fields.need("sds", report).and_then(|n| read_sds(&n, report));
        let directions = match (fields.need("directions", report), form) {
            (Some(n), Some(form)) => directions::read_all(&n, form, report),
            _ => BTreeMap::new(),
        };
        let strip = fields.get("strip").and_then(|n| read_strip(&n, report));
        let never_with = texts(&fields, "never_with", report);
        let written = fields.get("families").and_then(|n| read_families(&n, report));
        let lots = fields.get("lots").and_then(|n| Lots::read(&n, report));
        let containers = match (fields.get("containers"), form) {
            (Some(n), Some(form)) => read_containers(&n, form, report),
            _ => Vec::new(),
        };
        let keeps = fields.get("keeps").and_then(|n| n.within(report, &range::KEEPS));
        let registration = fields.text("registration", report);
        let product = Product {
            key: key.to_owned(),
            name: name?,
            kind: kind?,
            registration,
            form: form?,
            density,
            families: families(kind?, ingredients.as_deref()?, &written.unwrap_or_default()),
            ingredients: ingredients?,
            measured,
            available_chlorine,
            label_signal,
            sds: sds?,
            directions,
            strip,
            never_with_named: never_with.iter().map(|words| named(words)).collect(),
            never_with,
            keeps,
            lots: lots.unwrap_or_default(),
            containers,
            origin: node.origin(),
        };
        credible::check(&product, report);
        Some(product)
    }

    /// Its active ingredients.
    pub fn actives(&self) -> impl Iterator<Item = &Ingredient> {
        self.ingredients.iter().filter(|i| i.active)
    }

    /// Where it stands in the company file.
    pub fn origin(&self) -> &Origin {
        &self.origin
    }
}

fn texts(fields: &Fields<'_>, key: &str, report: &mut Report) -> Vec<String> {
    let items = fields.get(key).and_then(|n| n.items_or_one(report)).unwrap_or_default();
    items.iter().filter_map(|n| n.text(report)).collect()
}

fn read_families(node: &Node<'_>, report: &mut Report) -> Option<Vec<Family>> {
    let mut families = Vec::new();
    for item in node.items_or_one(report)? {
        let Some(text) = item.text(report) else { continue };
        match Family::from_name(&text) {
            Some(family) => families.push(family),
            None => {
                let known: Vec<&str> = Family::all().map(Family::name).collect();
                let mut problem = item.error("unknown-word", format!("`{text}` is no chemical family known here"));
                if let Some(near) = nearest(&text, &known) {
                    problem = problem.hint(format!("did you mean `{near}`?"));
                }
                report.push(problem.hint(format!("one of: {}", known.join(", "))));
            }
        }
    }
    Some(families)
}

/// What the file lists, what the kind says, and what the CAS numbers say, each once.
fn families(kind: ProductKind, ingredients: &[Ingredient], written: &[Family]) -> Vec<Family> {
    let mut all = written.to_vec();
    all.extend(kind.families());
    for cas in ingredients.iter().filter_map(|i| i.cas.as_deref()) {
        all.extend(Family::of_cas(cas));
    }
    // Vinegar is an acid too, whichever way it was listed.
    if all.contains(&Family::AceticAcid) {
        all.push(Family::Acid);
    }
    all.sort_unstable();
    all.dedup();
    all
}
