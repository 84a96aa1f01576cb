//! Products: what is in them, what their label directs, what their safety data sheet says.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::Serialize;

use super::{Equipment, Method, Surface, plain_key};
use crate::ghs::Hazard;
use crate::quantity::{Basis, Content, Density, Dilution, Film, Form, Strength, Time, parse};
use crate::report::Report;
use crate::yaml::{Fields, Node, Origin};

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
    /// Actives with their content.
    pub actives: Vec<Active>,
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
    /// How long the use solution may be kept.
    pub keeps: Option<Time>,
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
        ("other", ProductKind::Other),
    ];

    /// The word a file uses.
    pub fn word(self) -> &'static str {
        Self::WORDS
            .iter()
            .find(|(_, kind)| *kind == self)
            .map_or("other", |(word, _)| word)
    }

    /// Whether its strips show available chlorine.
    pub fn is_chlorine(self) -> bool {
        matches!(self, ProductKind::Hypochlorite | ProductKind::ChlorineTablets)
    }
}

/// An active ingredient.
#[derive(Clone, Debug, Serialize)]
pub struct Active {
    /// Its name as on the label.
    pub name: String,
    /// Its CAS number.
    pub cas: Option<String>,
    /// How much of it the product holds.
    pub content: Content,
    /// Density of the pure substance, for content by volume.
    pub density: Option<Density>,
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
}

impl LabelSignal {
    const WORDS: &'static [(&'static str, LabelSignal)] = &[
        ("DANGER", LabelSignal::Danger),
        ("WARNING", LabelSignal::Warning),
        ("CAUTION", LabelSignal::Caution),
    ];

    /// As it is printed.
    pub fn word(self) -> &'static str {
        Self::WORDS
            .iter()
            .find(|(_, signal)| *signal == self)
            .map_or("", |(word, _)| word)
    }
}

/// What the safety data sheet says.
#[derive(Clone, Debug, Serialize)]
pub struct Sds {
    /// Date of the revision at hand.
    pub revised: Date,
    /// Hazards of the product as sold.
    pub hazards: Vec<Hazard>,
    /// Hazards of the use solution, where the sheet states them.
    pub use_solution: DilutedHazards,
    /// Protective equipment the sheet asks for.
    pub equipment: Vec<Equipment>,
    /// Where the sheet can be had.
    pub link: Option<String>,
}

/// What a safety data sheet says of the diluted product.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum DilutedHazards {
    /// Nothing: the concentrate's hazards are shown.
    NotStated,
    /// That the use solution is not classified.
    NotClassified,
    /// These.
    Stated(Vec<Hazard>),
}

/// The label's directions for one kind of use.
#[derive(Clone, Debug, Serialize)]
pub struct Directions {
    /// Their key in the company file.
    pub key: String,
    /// How the label heads them.
    pub title: String,
    /// The dilution as the label writes it.
    pub dilution: Dilution,
    /// How long the surface must stay visibly wet.
    pub contact_time: Time,
    /// How much solution the label lays on a surface.
    pub coverage: Option<Film>,
    /// The methods the label permits.
    pub methods: Vec<Method>,
    /// The surfaces they are for.
    pub surface: Surface,
    /// What to rinse with afterwards, if anything.
    pub rinse: Option<String>,
    /// How long people stay out after application.
    pub reentry: Option<Time>,
    /// The strength the label prints for this dilution.
    pub stated_strength: Option<Strength>,
    #[serde(skip)]
    pub(crate) origin: Origin,
}

/// The colour blocks of a test strip.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StripScale {
    /// The strip's name.
    pub name: Option<String>,
    /// The blocks, ascending.
    pub blocks: Vec<Strength>,
    /// How long it stays in the solution.
    pub dip: Option<Time>,
    /// How long to wait before reading it.
    pub wait: Option<Time>,
}

const FORMS: &[(&str, Form)] = &[
    ("liquid", Form::Liquid),
    ("powder", Form::Powder),
    ("tablet", Form::Tablet),
    ("ready-to-use", Form::ReadyToUse),
];

const KEYS: &[&str] = &[
    "name",
    "kind",
    "registration",
    "form",
    "density",
    "ingredients",
    "available_chlorine",
    "label_signal",
    "sds",
    "directions",
    "strip",
    "never_with",
    "keeps",
];

impl Product {
    pub(super) fn read(key: &str, node: &Node<'_>, report: &mut Report) -> Option<Product> {
        let fields = node.fields(KEYS, report)?;
        let name = fields.need_text("name", report);
        let kind = fields
            .need("kind", report)
            .and_then(|n| n.choice(report, ProductKind::WORDS));
        let form = fields.need("form", report).and_then(|n| n.choice(report, FORMS));
        let density = fields.get("density").and_then(|n| n.parse(report, parse::density));
        let available_chlorine = fields
            .get("available_chlorine")
            .and_then(|n| n.parse(report, Content::parse));
        let actives = read_actives(&fields, report);
        let label_signal = fields
            .get("label_signal")
            .and_then(|n| n.choice(report, LabelSignal::WORDS));
        let sds = fields.need("sds", report).and_then(|n| read_sds(&n, report));
        let directions = match (fields.need("directions", report), form) {
            (Some(n), Some(form)) => read_all_directions(&n, form, report),
            _ => BTreeMap::new(),
        };
        let strip = fields.get("strip").and_then(|n| read_strip(&n, report));
        let never_with = texts(&fields, "never_with", report);
        let keeps = fields.get("keeps").and_then(|n| n.parse(report, parse::time));
        let registration = fields.text("registration", report);
        Some(Product {
            key: key.to_owned(),
            name: name?,
            kind: kind?,
            registration,
            form: form?,
            density,
            actives: actives?,
            available_chlorine,
            label_signal,
            sds: sds?,
            directions,
            strip,
            never_with,
            keeps,
            origin: node.origin(),
        })
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

fn read_actives(fields: &Fields<'_>, report: &mut Report) -> Option<Vec<Active>> {
    let node = fields.need("ingredients", report)?;
    let mut actives = Vec::new();
    let mut whole = true;
    for item in node.items(report)? {
        match read_active(&item, report) {
            Some(active) => actives.push(active),
            None => whole = false,
        }
    }
    whole.then_some(actives)
}

fn read_active(node: &Node<'_>, report: &mut Report) -> Option<Active> {
    let fields = node.fields(&["name", "cas", "content", "density"], report)?;
    let name = fields.need_text("name", report);
    let content = fields
        .need("content", report)
        .and_then(|n| n.parse(report, Content::parse));
    let density = fields.get("density").and_then(|n| n.parse(report, parse::density));
    let cas = fields.get("cas").and_then(|n| {
        let text = n.text(report)?;
        if !is_cas_number(&text) {
            let hint = "copy it from the safety data sheet, such as `7173-51-5`";
            report.push(
                n.error("bad-cas-number", format!("`{text}` is not a CAS number"))
                    .hint(hint),
            );
            return None;
        }
        Some(text)
    });
    Some(Active {
        name: name?,
        cas,
        content: content?,
        density,
    })
}

/// Digits-digits-digit, with the check digit that the registry gives (sum of digits × position from the right, mod 10).
fn is_cas_number(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let [first, second, check] = parts.as_slice() else {
        return false;
    };
    let digits: String = format!("{first}{second}");
    if !(2..=7).contains(&first.len()) || second.len() != 2 || check.len() != 1 {
        return false;
    }
    let mut sum = 0;
    for (i, c) in digits.chars().rev().enumerate() {
        let Some(digit) = c.to_digit(10) else { return false };
        sum += digit * (i as u32 + 1);
    }
    check.parse() == Ok(sum % 10)
}

fn read_sds(node: &Node<'_>, report: &mut Report) -> Option<Sds> {
    let keys = &[
        "revised",
        "hazards",
        "use_solution_hazards",
        "protective_equipment",
        "link",
    ];
    let fields = node.fields(keys, report)?;
    let revised = fields.need("revised", report).and_then(|n| read_date(&n, report));
    let hazards = fields.need("hazards", report).and_then(|n| read_hazards(&n, report));
    let use_solution = match fields.get("use_solution_hazards") {
        None => Some(DilutedHazards::NotStated),
        Some(n) if n.is_scalar() => match n.text(report)?.as_str() {
            "none stated" => Some(DilutedHazards::NotStated),
            "not classified" => Some(DilutedHazards::NotClassified),
            _ => {
                let hint = "write `none stated`, `not classified`, or the list of hazards that the data sheet gives";
                report.push(
                    n.error("unknown-word", "this does not say what the data sheet states")
                        .hint(hint),
                );
                None
            }
        },
        Some(n) => read_hazards(&n, report).map(DilutedHazards::Stated),
    };
    let worn = fields
        .get("protective_equipment")
        .and_then(|n| n.items_or_one(report))
        .unwrap_or_default();
    let mut equipment: Vec<Equipment> = worn.iter().filter_map(|n| n.choice(report, Equipment::WORDS)).collect();
    equipment.sort_unstable();
    equipment.dedup();
    let link = fields.text("link", report);
    Some(Sds {
        revised: revised?,
        hazards: hazards?,
        use_solution: use_solution?,
        equipment,
        link,
    })
}

fn read_hazards(node: &Node<'_>, report: &mut Report) -> Option<Vec<Hazard>> {
    let mut hazards = Vec::new();
    let mut whole = true;
    for item in node.items(report)? {
        match item.parse(report, |text| text.parse::<Hazard>()) {
            Some(hazard) => hazards.push(hazard),
            None => whole = false,
        }
    }
    whole.then_some(hazards)
}

pub(crate) fn read_date(node: &Node<'_>, report: &mut Report) -> Option<Date> {
    let text = node.text(report)?;
    match text.parse::<Date>() {
        Ok(date) => Some(date),
        Err(_) => {
            let hint = "write year-month-day, such as `2026-04-13`";
            report.push(node.error("bad-date", format!("`{text}` is not a date")).hint(hint));
            None
        }
    }
}

fn read_strip(node: &Node<'_>, report: &mut Report) -> Option<StripScale> {
    let fields = node.fields(&["name", "scale", "dip", "wait"], report)?;
    let scale = fields.need("scale", report)?;
    let items = scale.items_or_one(report)?;
    let blocks = if let [one] = items.as_slice() {
        one.parse(report, parse::scale)?
    } else {
        let mut texts = Vec::new();
        for item in &items {
            texts.push(item.text(report)?);
        }
        // `[0, 100, 200 ppm]`: the unit stands once, behind the last block.
        scale_of(&scale, &texts.join(", "), report)?
    };
    let dip = fields.get("dip").and_then(|n| n.parse(report, parse::time));
    let wait = fields.get("wait").and_then(|n| n.parse(report, parse::time));
    if blocks.len() < 2 || blocks.windows(2).any(|pair| pair[0] >= pair[1]) {
        let hint = "give the blocks in rising order, such as `0, 100, 200, 400 ppm`";
        report.push(
            scale
                .error(
                    "bad-scale",
                    "a strip's scale has at least two blocks, each stronger than the last",
                )
                .hint(hint),
        );
        return None;
    }
    let name = fields.text("name", report);
    Some(StripScale {
        name,
        blocks,
        dip,
        wait,
    })
}

fn scale_of(node: &Node<'_>, text: &str, report: &mut Report) -> Option<Vec<Strength>> {
    match parse::scale(text) {
        Ok(blocks) => Some(blocks),
        Err(refusal) => {
            let mut problem = node.error("bad-scale", refusal.message);
            problem.hints = refusal.hints;
            report.push(problem);
            None
        }
    }
}

fn read_all_directions(node: &Node<'_>, form: Form, report: &mut Report) -> BTreeMap<String, Directions> {
    let mut all = BTreeMap::new();
    for (key, item) in node.entries(report).unwrap_or_default() {
        if !plain_key(&key) {
            report.push(item.error("bad-name", format!("`{key}` cannot be used as a key")));
        }
        if let Some(directions) = read_directions(&key, &item, form, report) {
            all.insert(key, directions);
        }
    }
    all
}

fn read_directions(key: &str, node: &Node<'_>, form: Form, report: &mut Report) -> Option<Directions> {
    let keys = &[
        "title",
        "dilution",
        "basis",
        "contact_time",
        "coverage",
        "methods",
        "surface",
        "rinse",
        "reentry",
        "stated_strength",
    ];
    let fields = node.fields(keys, report)?;
    let bases = &[("added-to", Basis::AddedTo), ("made-up-to", Basis::MadeUpTo)];
    // What `per gal` counts when the label does not say: water, which is how labels are commonly worded.
    let basis = fields
        .get("basis")
        .map_or(Some(Basis::AddedTo), |n| n.choice(report, bases));
    let dilution = match fields.need("dilution", report) {
        Some(n) => basis.and_then(|basis| n.parse(report, |text| Dilution::parse(text, form, basis))),
        None => None,
    };
    let contact_time = fields
        .need("contact_time", report)
        .and_then(|n| n.parse(report, parse::time));
    let coverage = fields.get("coverage").and_then(|n| n.parse(report, parse::film));
    let methods = fields.need("methods", report).and_then(|n| n.items_or_one(report));
    let methods = methods.map(|items| items.iter().filter_map(|n| n.choice(report, Method::WORDS)).collect());
    let surface = fields
        .get("surface")
        .map_or(Some(Surface::Hard), |n| n.choice(report, Surface::WORDS));
    let reentry = fields.get("reentry").and_then(|n| n.parse(report, parse::time));
    let stated_strength = fields
        .get("stated_strength")
        .and_then(|n| n.parse(report, parse::strength));
    let rinse = fields.text("rinse", report);
    let title = fields
        .text("title", report)
        .unwrap_or_else(|| key.replace(['-', '_'], " "));
    Some(Directions {
        key: key.to_owned(),
        title,
        dilution: dilution?,
        contact_time: contact_time?,
        coverage,
        methods: methods?,
        surface: surface?,
        rinse,
        reentry,
        stated_strength,
        origin: node.origin(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cas_numbers_carry_a_check_digit() {
        // Didecyldimethylammonium chloride, sodium hypochlorite, water (CAS registry).
        for good in ["7173-51-5", "7681-52-9", "7732-18-5"] {
            assert!(is_cas_number(good), "{good}");
        }
        for bad in ["7173-51-6", "7173-51", "a-51-5", "7681-529", ""] {
            assert!(!is_cas_number(bad), "{bad}");
        }
    }
}
