//! The label's directions, one for each kind of use.

use std::collections::BTreeMap;

use serde::Serialize;

use super::ingredient::read_ph;
use super::measured::read_viscosity;
use super::{Flash, Method, Surface, dose, plain_key};
use crate::quantity::{Basis, Dilution, Film, Form, Number, Strength, Time, range};
use crate::report::Report;
use crate::yaml::{Node, Origin};

/// The label's directions for one kind of use.
#[derive(Clone, Debug, Serialize)]
pub struct Directions {
    /// Their key in the company file.
    pub key: String,
    /// How the label heads them.
    pub title: String,
    /// The dilution as the label writes it; of a range the lower end, which is the dose.
    pub dilution: Dilution,
    /// The upper end of a range: the most that the label allows.
    pub dilution_most: Option<Dilution>,
    /// How long the surface must stay visibly wet.
    pub contact_time: Time,
    /// How much solution the label lays on a surface.
    pub coverage: Option<Film>,
    /// The methods the label permits.
    pub methods: Vec<Method>,
    /// Whether the label directs spraying large areas, which a flammable solution needs.
    pub large_areas: bool,
    /// The surfaces they are for.
    pub surface: Surface,
    /// What the label says to rinse with afterwards, if it asks for a rinse. A residue may ask for one all the same.
    pub rinse: Option<String>,
    /// How long people stay out after application.
    pub reentry: Option<Time>,
    /// pH of the use solution at this dilution, 0 to 14, where label or data sheet gives it.
    pub ph: Option<Number>,
    /// Its flash point, closed cup, where one of them gives it.
    pub flash_point: Option<Flash>,
    /// Its kinematic viscosity at 40 °C, mm²/s, where one of them gives it.
    pub viscosity: Option<Number>,
    /// The strength the label prints for this dilution.
    pub stated_strength: Option<Strength>,
    #[serde(skip)]
    pub(crate) origin: Origin,
}

pub(super) fn read_all(node: &Node<'_>, form: Form, report: &mut Report) -> BTreeMap<String, Directions> {
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
        "large_areas",
        "surface",
        "rinse",
        "reentry",
        "ph",
        "flash_point",
        "viscosity",
        "stated_strength",
    ];
    let fields = node.fields(keys, report)?;
    let bases = &[("added-to", Basis::AddedTo), ("made-up-to", Basis::MadeUpTo)];
    // What `per gal` counts when the label does not say: water, which is how labels are commonly worded.
    let written = fields.get("basis");
    let basis = written.as_ref().map_or(Some(Basis::AddedTo), |n| n.choice(report, bases));
    let dilution = match fields.need("dilution", report) {
        Some(n) => basis.and_then(|basis| {
            let (dilution, most) = n.parse(report, |text| Dilution::parse_range(text, form, basis))?;
            let agrees =
                written.is_none_or(|written| dose::basis_agrees(&written, &n, (&dilution, form, basis), report));
            let strongest = most.as_ref().unwrap_or(&dilution);
            (dose::is_plausible(strongest, &n, report) && agrees).then_some((dilution, most))
        }),
        None => None,
    };
    let contact_time = fields.need("contact_time", report).and_then(|n| n.within(report, &range::CONTACT));
    let coverage = fields.get("coverage").and_then(|n| n.within(report, &range::COVERAGE));
    let methods = fields.need("methods", report).and_then(|n| n.items_or_one(report));
    let methods = methods.map(|items| items.iter().filter_map(|n| n.choice(report, Method::WORDS)).collect());
    let large_areas = fields.get("large_areas").map_or(Some(false), |n| n.flag(report));
    let surface = fields.get("surface").map_or(Some(Surface::Hard), |n| n.choice(report, Surface::WORDS));
    let reentry = fields.get("reentry").and_then(|n| n.within(report, &range::REENTRY));
    let stated_strength = fields.get("stated_strength").and_then(|n| n.within(report, &range::STATED));
    let rinse = fields.get("rinse").and_then(|n| read_rinse(&n, report));
    let ph = fields.get("ph").and_then(|n| read_ph(&n, report));
    let viscosity = fields.get("viscosity").and_then(|n| read_viscosity(&n, report));
    let flash_point = fields.get("flash_point").and_then(|n| Flash::read(&n, report));
    let title = fields.text("title", report).unwrap_or_else(|| key.replace(['-', '_'], " "));
    let (dilution, dilution_most) = dilution?;
    Some(Directions {
        key: key.to_owned(),
        title,
        dilution,
        dilution_most,
        contact_time: contact_time?,
        coverage,
        methods: methods?,
        large_areas: large_areas?,
        surface: surface?,
        rinse,
        reentry,
        ph,
        flash_point,
        viscosity,
        stated_strength,
        origin: node.origin(),
    })
}

/// How files say that the label asks for no rinse.
const NO_RINSE: &[&str] = &[
    "none",
    "no",
    "false",
    "no rinse",
    "not required",
    "none required",
    "not needed",
    "no rinse required",
    "not necessary",
];

/// What to rinse with. `none` and its like say that the label asks for no rinse; they are never printed as what to rinse
/// with, and never set aside the rinse that a residue asks for.
fn read_rinse(node: &Node<'_>, report: &mut Report) -> Option<String> {
    let text = node.text(report)?;
    let said = text.trim_end_matches('.').to_lowercase();
    if NO_RINSE.contains(&said.as_str()) {
        return None;
    }
    if matches!(said.as_str(), "yes" | "true" | "required") {
        let problem = node.error("rinse-with-what", format!("`{text}` does not say what to rinse with"));
        report.push(problem.hint("write what the label names, such as `rinse: potable water`; or `none`"));
        return None;
    }
    Some(text)
}
