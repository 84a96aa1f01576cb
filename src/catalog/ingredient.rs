//! Ingredients of a product: how much of it they are, and what section 3 of the safety data sheet says of them.

use serde::Serialize;

use super::credible::read_density;
use crate::ghs::{self, Additivity, Ate, AteTable, Peroxide, SpecificLimit, Stated};
use crate::quantity::{Content, Density, Number, Readable, Share, parse, range};
use crate::report::Report;
use crate::yaml::{Fields, Node, Origin};

/// An ingredient.
#[derive(Clone, Debug, Serialize)]
pub struct Ingredient {
    /// Its name as on the label.
    pub name: String,
    /// Its CAS number.
    pub cas: Option<String>,
    /// How much of it the product holds.
    pub content: Content,
    /// Density of the pure substance, for content by volume.
    pub density: Option<Density>,
    /// Whether it is an active: what the strip measures, and what a label names.
    pub active: bool,
    /// Its own classification, at a share of nought; `None` where the file does not give it.
    pub facts: Option<ghs::Ingredient>,
    /// Whether the file says which hazards it has, be it none.
    #[serde(skip)]
    pub(crate) hazards_given: bool,
    #[serde(skip)]
    pub(crate) origin: Origin,
}

const KEYS: &[&str] = &[
    "name",
    "cas",
    "content",
    "density",
    "active",
    "hazards",
    "ate",
    "limits",
    "ph",
    "nature",
    "acute_toxicity",
    "peroxide",
];

const NATURES: &[(&str, Additivity)] = &[
    ("additive", Additivity::Additive),
    ("acid", Additivity::Acid),
    ("base", Additivity::Base),
    ("surfactant", Additivity::Surfactant),
    ("other", Additivity::Other),
];

pub(super) fn read_all(fields: &Fields<'_>, report: &mut Report) -> Option<Vec<Ingredient>> {
    let node = fields.need("ingredients", report)?;
    let items = node.items(report)?;
    let read: Vec<Ingredient> = items.iter().filter_map(|item| Ingredient::read(item, report)).collect();
    if read.len() < items.len() {
        return None;
    }
    let by_weight: Share = read
        .iter()
        .filter_map(|i| match &i.content {
            Content::ByWeight(share) => Some(share),
            _ => None,
        })
        .sum();
    if by_weight.as_of_one() > &Number::one() {
        let message = format!("the ingredients by weight come to {} % together", by_weight.as_percent().decimal(2));
        report.push(node.error("over-the-whole", message).hint("a product holds 100 % at most"));
        return None;
    }
    Some(read)
}

impl Ingredient {
    fn read(node: &Node<'_>, report: &mut Report) -> Option<Ingredient> {
        let fields = node.fields(KEYS, report)?;
        let name = fields.need_text("name", report);
        let content = fields.need("content", report).and_then(|n| read_content(&n, report));
        let density = fields.get("density").and_then(|n| read_density(&n, report));
        let cas = fields.get("cas").and_then(|n| read_cas(&n, report));
        let active = fields.get("active").map_or(Some(true), |n| n.flag(report));
        let facts = read_facts(&fields, report);
        let facts = facts.map(|facts| facts.map(|facts| known(facts, name.as_deref(), cas.as_deref())));
        Some(Ingredient {
            name: name?,
            cas,
            content: content?,
            density,
            active: active?,
            facts: facts?,
            hazards_given: fields.get("hazards").is_some(),
            origin: node.origin(),
        })
    }
}

fn known(facts: ghs::Ingredient, name: Option<&str>, cas: Option<&str>) -> ghs::Ingredient {
    ghs::Ingredient { name: name.unwrap_or_default().to_owned(), cas: cas.map(str::to_owned), ..facts }
}

/// Trade per cent counts available chlorine, not the substance: it belongs to the product.
fn read_content(node: &Node<'_>, report: &mut Report) -> Option<Content> {
    let text = node.text(report)?;
    if text.contains("trade") {
        let hint = format!("write `available_chlorine: {text}` at the product, and here the substance's own content");
        let message = "trade per cent is available chlorine, not the content of the ingredient";
        report.push(node.error("trade-per-cent", message).hint(hint));
        return None;
    }
    node.parse(report, Content::parse)
}

fn read_cas(node: &Node<'_>, report: &mut Report) -> Option<String> {
    let text = node.text(report)?;
    if is_cas_number(&text) {
        return Some(text);
    }
    let hint = "copy it from the safety data sheet, such as `7173-51-5`";
    report.push(node.error("bad-cas-number", format!("`{text}` is not a CAS number")).hint(hint));
    None
}

/// The outer `None`: something in it could not be read. The inner: the file gives no classification.
#[allow(clippy::option_option)]
fn read_facts(fields: &Fields<'_>, report: &mut Report) -> Option<Option<ghs::Ingredient>> {
    let mut facts = ghs::Ingredient::new("", Share::zero(), Vec::new());
    let before = report.count();
    for item in fields.get("hazards").and_then(|n| n.items(report)).unwrap_or_default() {
        let Some(stated) = item.parse(report, |text| text.parse::<Stated>()) else {
            continue;
        };
        if stated.m_factor.is_some() {
            match stated.hazard.class() {
                ghs::Class::AquaticAcute => facts.m_acute = stated.m_factor,
                _ => facts.m_chronic = stated.m_factor,
            }
        }
        facts.hazards.push(stated.hazard);
    }
    if let Some(n) = fields.get("ate") {
        facts.ate = read_ate(&n, report).unwrap_or_default();
    }
    for item in fields.get("limits").and_then(|n| n.items_or_one(report)).unwrap_or_default() {
        facts.limits.extend(read_limit(&item, report));
    }
    facts.ph = fields.get("ph").and_then(|n| read_ph(&n, report));
    if let Some(nature) = fields.get("nature").and_then(|n| n.choice(report, NATURES)) {
        facts.additivity = nature;
    }
    match fields.get("acute_toxicity").and_then(|n| n.choice(report, &[("unknown", true), ("none", false)])) {
        Some(true) => facts.unknown_acute = true,
        Some(false) => facts.no_acute_toxicity = true,
        None => {}
    }
    facts.peroxide = fields.get("peroxide").and_then(|n| read_peroxide(&n, report));
    if report.count() > before {
        return None;
    }
    // Whoever gives any figure of it has its data sheet before them; `hazards: []` says that it has none.
    let given = ["hazards", "ate", "limits", "acute_toxicity"];
    Some(given.iter().any(|key| fields.get(key).is_some()).then_some(facts))
}

pub(super) fn read_ph(node: &Node<'_>, report: &mut Report) -> Option<Number> {
    let ph = node.parse(report, parse::number)?;
    if ph > 14 {
        report.push(node.error("out-of-range", "a pH lies from 0 to 14"));
        return None;
    }
    Some(ph)
}

fn read_ate(node: &Node<'_>, report: &mut Report) -> Option<AteTable> {
    let fields = node.fields(&["oral", "dermal", "gas", "vapour", "mist"], report)?;
    let mut one = |key: &str, unit: &str| fields.get(key).and_then(|n| read_estimate(&n, unit, report));
    Some(AteTable {
        oral: one("oral", "mg/kg"),
        dermal: one("dermal", "mg/kg"),
        gas: one("gas", "ppm"),
        vapour: one("vapour", "mg/L"),
        mist: one("mist", "mg/L"),
    })
}

/// `300 mg/kg`, or `none found` where a limit test found no toxicity.
fn read_estimate(node: &Node<'_>, unit: &str, report: &mut Report) -> Option<Ate> {
    let text = node.text(report)?;
    if text == "none found" {
        return Some(Ate::NoneFound);
    }
    let value = text.strip_suffix(unit).and_then(|figure| Number::read(figure).ok());
    let believed = match unit {
        "mg/kg" => range::ATE_DOSE,
        "ppm" => range::ATE_GAS,
        _ => range::ATE_AIR,
    };
    match value {
        Some(value) if value.is_positive() => match believed.check(&value, &text) {
            Ok(()) => Some(Ate::Value(value)),
            Err(refusal) => {
                report.push(node.error("out-of-range", refusal.message));
                None
            }
        },
        _ => {
            let message = format!("`{text}` is no acute toxicity estimate by this route");
            let hint = format!("write it like `300 {unit}`, or `none found` where a limit test found nothing");
            report.push(node.error("bad-estimate", message).hint(hint));
            None
        }
    }
}

/// `Skin Corr. 1B from 50 % to 70 %`, `STOT SE 3 (respiratory) from 35 %`.
fn read_limit(node: &Node<'_>, report: &mut Report) -> Option<SpecificLimit> {
    let text = node.text(report)?;
    let hint = "write it like `Skin Corr. 1B from 50 % to 70 %` or `STOT SE 3 (respiratory) from 35 %`";
    let Some((hazard, range)) = text.rsplit_once(" from ") else {
        report.push(node.error("bad-limit", format!("`{text}` is no specific concentration limit")).hint(hint));
        return None;
    };
    let hazard = node.parse(report, |_| hazard.parse::<ghs::Hazard>())?;
    let (from, to) = match range.split_once(" to ") {
        Some((from, to)) => (from, Some(to)),
        None => (range, None),
    };
    let at_least = node.parse(report, |_| parse::share(from))?;
    let below = match to {
        Some(to) => Some(node.parse(report, |_| parse::share(to))?),
        None => None,
    };
    if at_least.is_zero() || below.as_ref().is_some_and(|below| *below <= at_least) {
        let message = "a limit begins above 0 and ends above where it begins";
        report.push(node.error("bad-limit", message).hint(hint));
        return None;
    }
    Some(SpecificLimit { hazard, at_least, below })
}

fn read_peroxide(node: &Node<'_>, report: &mut Report) -> Option<Peroxide> {
    let fields = node.fields(&["groups", "molar_mass"], report)?;
    let groups = fields.need("groups", report).and_then(|n| n.within(report, &range::GROUPS));
    let molar_mass = fields.need("molar_mass", report).and_then(|n| {
        let text = n.text(report)?;
        let figure = text.strip_suffix("g/mol").map(str::trim).and_then(|figure| Number::read(figure).ok());
        let Some(value) = figure else {
            report.push(
                n.error("bad-quantity", format!("`{text}` is not a molar mass")).hint("write it like `76.05 g/mol`"),
            );
            return None;
        };
        if let Err(refusal) = range::MOLAR_MASS.check(&value, &text) {
            report.push(n.error("out-of-range", refusal.message));
            return None;
        }
        Some(value)
    });
    let peroxide = Peroxide { groups: groups?, molar_mass: molar_mass? };
    if peroxide.groups < 1 || !peroxide.molar_mass.is_positive() {
        report.push(node.error("bad-peroxide", "a peroxide has at least one group and a molar mass above 0"));
        return None;
    }
    Some(peroxide)
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
