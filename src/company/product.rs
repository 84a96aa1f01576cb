//! Products: what is in them, what their label directs, what their safety data sheet says.

use std::collections::BTreeMap;
use std::ops::Deref;

use super::containers::{Container, read_containers};
use super::credible::{self, density_shape, read_density};
use super::directions::{Directions, DirectionsKeys, read_dilution};
use super::ingredient::{self, Ingredient};
use super::measured::{Flash, read_ph, read_viscosity};
use super::{Lots, Sds, StripScale};
use crate::calc::mixing::Family;
use crate::calc::never_words::{Named, denies, named};
use crate::diagnostic::Diagnostics;
use crate::quantity::{Content, Density, Form, Mass, Number, Temperature, Time, range};
use crate::yaml::{Declared, Line, Node, Shape, custom, keys, text, words};

/// A concentrate or ready-to-use product.
#[derive(Clone, Debug)]
pub struct Product {
    pub key: String,
    pub directions: BTreeMap<String, Directions>,
    /// What the words of `never_with` name, in its order.
    pub never_with_named: Vec<Named>,
    /// Its chemical families, for what must never meet: as the file lists them, and as its kind and CAS numbers tell.
    pub families: Vec<Family>,
    /// The containers it is bought in, the largest first; none where the file does not say.
    pub containers: Vec<Container>,
    keys: ProductKeys,
}

impl Deref for Product {
    type Target = ProductKeys;

    fn deref(&self) -> &ProductKeys {
        &self.keys
    }
}

keys! {
    /// A product: a concentrate or a ready-to-use liquid, with the facts of its label and its safety data sheet.
    #[derive(Clone, Debug)]
    pub struct ProductKeys {
        /// Its name as on its label. Example: `Solvary Q-75`
        name: String, required;
        /// Its chemistry.
        kind: ProductKind, required;
        /// Whether somebody has compared what stands here with the product's label and safety data sheet. With `no`, every page
        /// of its jobs says DRAFT, and none of them has a certificate.
        label_checked: bool, or(true, "yes");
        /// Which of its keys stand as `decant new` invented them. While one is named here, `label_checked: yes` is an error: put
        /// the label's or the data sheet's in its place, then take its name out. Example: `[density, sds.hazards]`
        invented: Vec<String>, or(Vec::new(), "[]");
        /// Its registration, printed as written. Example: `00000-75`
        registration: String, optional;
        /// How it is sold.
        form: Form, required;
        /// Mass by volume; needed where an active's content is by weight and the product is measured by volume. Outside 0.6 to
        /// 2.5 kg/L it is confirmed. Example: `0.99 kg/L`, `{ is: 0.5 kg/L, confirmed: yes }`
        density: Density = custom(read_density, density_shape), optional;
        /// Of the product as sold, as section 9 of the data sheet gives it, for the calculation of hazards. Example: `7.5`
        ph: Number = text("a pH from 0 to 14", read_ph), optional;
        /// Closed cup, as section 9 gives it; or `none found`. Example: `52 C`, `none found`
        flash_point: Flash, optional;
        /// Where boiling begins, as section 9 gives it. Example: `78 C`
        boiling_point: Temperature = &range::BOILING, optional;
        /// Kinematic, at 40 degrees Celsius, as section 9 gives it. Example: `12 mm2/s`
        viscosity: Number = text("a kinematic viscosity (mm2/s, cSt)", read_viscosity), optional;
        /// The weight of one tablet. Example: `3.3 g`
        tablet: Mass = &range::TABLET, optional;
        /// The actives, and what else section 3 of the data sheet lists.
        ingredients: Vec<Ingredient> = custom(ingredient::read_all, ingredient::all_shape), required;
        /// Where the label states it; else it is worked out, if there is one active and its CAS number is known. More than the
        /// compound can hold, or than its content gives, is an error. Example: `12.5 % trade`
        available_chlorine: Content = text("a content of available chlorine", read_available_chlorine), optional;
        /// The signal word on the concentrate's own label. Under `DANGER` the data sheet's `hazards` cannot be `[]`.
        label_signal: LabelSignal, optional;
        /// What its safety data sheet says.
        sds: Sds, required;
        /// By key, one entry for each use that the label gives.
        directions: BTreeMap<String, DirectionsKeys>, required;
        /// The test strip that its solution is read with.
        strip: StripScale, optional;
        /// What it must never meet, as its label says it: families (`acids`, `ammonia or bleach`), names of products in this
        /// file, `other cleaners` for all. Other words are printed and reported as a caution, since the program cannot check
        /// them. `[]` says that the label names nothing. Example: `[acids, bleach]`
        never_with: Vec<String> = custom(read_never_with, Vec::<String>::shape), optional;
        /// Its chemistry, for what must never meet, beside what kind and CAS numbers say. Example: `[acid]`
        families: Vec<Family>, or(Vec::new(), "[]");
        /// How long the use solution may be kept; each load's discard time is its mixing time and this. Example: `24 h`
        keeps: Time = &range::KEEPS, optional;
        /// Lots in store, each with its last day. A lot past it, or not listed where there is a list, keeps a certificate from
        /// being issued. Example: `{ A-1: 2027-03-31 }`
        lots: Lots, or(Lots::default(), "{}");
        /// The sizes of container it is bought in, for load-outs: volumes, weights of a powder, numbers of tablets.
        /// Example: `[1 qt, 1 gal]`, `150 tablets`
        containers: Vec<String>, or(Vec::new(), "[]");
    }
    + origin
}

words! {
    /// The chemistry of a product.
    pub enum ProductKind {
        /// quaternary ammonium compounds
        Quat = "quat",
        /// sodium or calcium hypochlorite
        Hypochlorite = "hypochlorite",
        /// chlorine-releasing tablets or granules
        ChlorineTablets = "chlorine-tablets",
        /// peracetic acid
        PeraceticAcid = "peracetic-acid",
        /// hydrogen peroxide
        HydrogenPeroxide = "hydrogen-peroxide",
        /// ethanol or isopropanol
        Alcohol = "alcohol",
        /// iodophors
        Iodine = "iodine",
        /// anything else
        Other = "other",
    }
}

impl ProductKind {
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

words! {
    /// The signal word on a pesticide label. It belongs to the concentrate and never merges with the word for the dilution.
    pub enum LabelSignal {
        /// toxicity category I
        Danger = "DANGER",
        /// toxicity category II
        Warning = "WARNING",
        /// toxicity categories III and IV
        Caution = "CAUTION",
        /// the label has none, as it may in category IV
        Absent = "none",
    }
}

impl LabelSignal {
    /// As it is printed, if anything is.
    pub fn printed(self) -> Option<&'static str> {
        (self != LabelSignal::Absent).then(|| self.word())
    }
}

words! {
    for Form {
        /// a liquid concentrate, by volume
        Liquid = "liquid",
        /// a powder or granules, by weight
        Powder = "powder",
        /// tablets, by number
        Tablet = "tablet",
        /// a liquid that is applied as it is sold
        ReadyToUse = "ready-to-use",
    }
}

impl Declared for Product {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Product> {
        let keys = ProductKeys::from_node(node, report);
        // a dilution and a container are read by the product's form; what is wrong with either is reported whatever else is wrong
        let form = node.get("form").and_then(|form| Form::from_node(&form, &mut Diagnostics::new()));
        let uses = node.get("directions").and_then(|uses| uses.entries(&mut Diagnostics::new())).unwrap_or_default();
        let mut dilutions = BTreeMap::new();
        for (key, uses) in form.map(|_| uses).unwrap_or_default() {
            dilutions.extend(read_dilution(&uses, form?, report).map(|dilution| (key, dilution)));
        }
        let containers = node.get("containers").zip(form).map(|(node, form)| read_containers(&node, form, report));
        let mut keys = keys?;
        let directions = std::mem::take(&mut keys.directions).into_iter().filter_map(|(key, of)| {
            let dilution = dilutions.remove(&key)?;
            Some((key.clone(), Directions::new(key, dilution, of)))
        });
        let product = Product {
            key: node.name(),
            directions: directions.collect(),
            never_with_named: keys.never_with.iter().flatten().map(|words| named(words)).collect(),
            families: families(keys.kind, &keys.ingredients, &keys.families),
            containers: containers.unwrap_or_default(),
            keys,
        };
        credible::check(&product, report);
        Some(product)
    }

    fn shape() -> Shape {
        ProductKeys::shape()
    }
}

impl Product {
    pub fn actives(&self) -> impl Iterator<Item = &Ingredient> {
        self.ingredients.iter().filter(|i| i.active)
    }
}

/// All entries, without the period of a sentence; none where one of them would say the opposite of what it is to say.
fn read_never_with(node: &Node<'_>, report: &mut Diagnostics) -> Option<Vec<String>> {
    let mut is_sound = true;
    for item in node.items_or_one(&mut Diagnostics::new()).unwrap_or_default() {
        let Some(text) = item.text(&mut Diagnostics::new()).filter(|text| denies(text)) else { continue };
        is_sound = false;
        let message = format!("`{text}` cannot stand behind `Never mix with:` on a label");
        let named = item
            .error("never-with-denies", message)
            .hint("name what it must never meet: `never_with: [acids, bleach]`");
        let empty = "write `never_with: []` where the label and the data sheet name nothing";
        report.push(named.hint(empty).hint("leave the key out where nobody has looked"));
    }
    let all = Vec::<String>::from_node(node, report)?;
    is_sound.then(|| all.iter().map(|text| text.trim().trim_end_matches('.').to_owned()).collect())
}

fn read_available_chlorine(node: &Node<'_>, report: &mut Diagnostics) -> Option<Content> {
    node.parse(report, Content::parse_available_chlorine)
}

impl Declared for Family {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Family> {
        let text = node.text(report)?;
        let known: Vec<&str> = Family::all().map(Family::name).collect();
        let refusal = || node.unknown_word(&text, &known, format!("`{text}` is no chemical family known here"));
        Family::from_name(&text).or_else(|| report.fail(refusal()))
    }

    fn shape() -> Shape {
        let known: Vec<&str> = Family::all().map(Family::name).collect();
        Shape::line(format!("a family ({})", known.join(", ")), Line::Text)
    }
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
