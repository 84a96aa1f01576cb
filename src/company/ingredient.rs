//! Ingredients of a product: how much of it they are, and what section 3 of the safety data sheet says of them.

use super::credible::{density_shape, read_density};
use super::measured::{read_figure, read_ph};
use crate::diagnostic::Diagnostics;
use crate::ghs::{self, Additivity, Ate, AteTable, Peroxide, SpecificLimit, Stated};
use crate::quantity::{Content, Density, Number, Range, Readable, Share, parse, range};
use crate::yaml::{Declared, Line, Node, Origin, Shape, custom, keys, list, text, words};

#[derive(Clone, Debug)]
pub struct Ingredient {
    pub name: String,
    pub cas: Option<String>,
    pub content: Content,
    /// Density of the pure substance, for content by volume.
    pub density: Option<Density>,
    /// Whether it is an active: what the strip measures, and what a label names.
    pub active: bool,
    /// Its own classification, at a share of zero; `None` where the file does not give it.
    pub facts: Option<ghs::Ingredient>,
    /// Whether the file says which hazards it has, be it none.
    pub(crate) hazards_given: bool,
    pub(crate) origin: Origin,
}

keys! {
    /// An ingredient: how much of it there is, and what section 3 of the data sheet says of it.
    pub struct IngredientKeys {
        /// Its name as on the label. Example: `Didecyldimethylammonium chloride`
        name: String, required;
        /// Its CAS number. Example: `7173-51-5`
        cas: String = text("a CAS number", read_cas), optional;
        /// How much of it the product holds. Example: `10 %`, `12.5 % w/v`, `70 % v/v`, `1 g/tablet`
        content: Content = text("a content (%, % w/v, % v/v, g/kg, g/L, g/tablet)", read_content), required;
        /// Density of the pure substance, for a content by volume. Example: `0.79 kg/L`
        density: Density = custom(read_density, density_shape), optional;
        /// Whether it is an active: what the strip measures, and what a label names.
        active: bool, or(true, "yes");
        /// Its hazards as the data sheet writes them; `[]` for none. Example: `[Skin Corr. 1B, Aquatic Acute 1 (M=10)]`
        hazards: Vec<Stated> = list(text("a hazard class and category", read_stated)), optional;
        /// Its acute toxicity estimates.
        ate: Estimates, optional;
        /// Its specific concentration limits. Example: `[Skin Irrit. 2 from 10 % to 35 %]`
        limits: Vec<SpecificLimit>, or(Vec::new(), "[]");
        /// Its pH. Example: `13`
        ph: Number = text("a pH from 0 to 14", read_ph), optional;
        /// Why its effects on skin and eyes do not add up with those of others, where they do not.
        nature: Additivity, optional;
        /// `unknown`: labels print share and route from 1 % on.
        acute_toxicity: AcuteToxicity, optional;
        /// What makes it an organic peroxide.
        peroxide: Peroxide = custom(read_peroxide, PeroxideKeys::shape), optional;
    }
}

words! {
    for Additivity {
        /// effects add up
        Additive = "additive",
        /// an acid
        Acid = "acid",
        /// a base
        Base = "base",
        /// a surfactant
        Surfactant = "surfactant",
        /// another whose effects do not add up
        Other = "other",
    }
}

words! {
    /// What is known of an ingredient's acute toxicity where no estimate is given.
    pub enum AcuteToxicity {
        /// nobody knows
        Unknown = "unknown",
        /// it has none
        Absent = "none",
    }
}

keys! {
    /// Acute toxicity estimates; `none found` where a limit test found nothing.
    pub struct Estimates {
        /// In mg/kg. Example: `300 mg/kg`
        oral: Ate = text("an estimate in mg/kg", |n, r| read_estimate(n, "mg/kg", &range::ATE_DOSE, r)), optional;
        /// In mg/kg. Example: `1100 mg/kg`
        dermal: Ate = text("an estimate in mg/kg", |n, r| read_estimate(n, "mg/kg", &range::ATE_DOSE, r)), optional;
        /// In ppm. Example: `700 ppm`
        gas: Ate = text("an estimate in ppm", |n, r| read_estimate(n, "ppm", &range::ATE_GAS, r)), optional;
        /// In mg/L of air. Example: `10 mg/L`
        vapour: Ate = text("an estimate in mg/L", |n, r| read_estimate(n, "mg/L", &range::ATE_AIR, r)), optional;
        /// In mg/L of air. Example: `none found`
        mist: Ate = text("an estimate in mg/L", |n, r| read_estimate(n, "mg/L", &range::ATE_AIR, r)), optional;
    }
}

keys! {
    /// What makes an ingredient an organic peroxide.
    pub struct PeroxideKeys {
        /// Peroxygen groups in a molecule. Example: `1`
        groups: Number = &range::GROUPS, required;
        /// Molar mass. Example: `76.05 g/mol`
        molar_mass: Number = text("a molar mass (g/mol)", read_molar_mass), required;
    }
}

pub(super) fn all_shape() -> Shape {
    Shape::List { of: Box::new(IngredientKeys::shape()), or_one: false }
}

/// All ingredients, or none where one of them cannot be read.
pub(super) fn read_all(node: &Node<'_>, report: &mut Diagnostics) -> Option<Vec<Ingredient>> {
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
        return report.fail(node.error("over-the-whole", message).hint("a product holds 100 % at most"));
    }
    Some(read)
}

impl Ingredient {
    fn read(node: &Node<'_>, report: &mut Diagnostics) -> Option<Ingredient> {
        let before = report.count();
        let keys = IngredientKeys::from_node(node, report)?;
        // with half of its facts an ingredient would be classified wrongly
        if report.count() > before {
            return None;
        }
        let hazards_given = keys.hazards.is_some();
        // whoever gives any figure of it has its data sheet before them; `hazards: []` says that it has none
        let known =
            hazards_given || keys.ate.is_some() || node.get("limits").is_some() || keys.acute_toxicity.is_some();
        let mut facts = ghs::Ingredient::new(&keys.name, Share::zero(), Vec::new());
        facts.cas.clone_from(&keys.cas);
        for stated in keys.hazards.into_iter().flatten() {
            if stated.m_factor.is_some() {
                match stated.hazard.class() {
                    ghs::Class::AquaticAcute => facts.m_acute = stated.m_factor,
                    _ => facts.m_chronic = stated.m_factor,
                }
            }
            facts.hazards.push(stated.hazard);
        }
        if let Some(Estimates { oral, dermal, gas, vapour, mist }) = keys.ate {
            facts.ate = AteTable { oral, dermal, gas, vapour, mist };
        }
        facts.limits = keys.limits;
        facts.ph = keys.ph;
        facts.additivity = keys.nature.unwrap_or(facts.additivity);
        facts.unknown_acute = keys.acute_toxicity == Some(AcuteToxicity::Unknown);
        facts.no_acute_toxicity = keys.acute_toxicity == Some(AcuteToxicity::Absent);
        facts.peroxide = keys.peroxide;
        Some(Ingredient {
            name: keys.name,
            cas: keys.cas,
            content: keys.content,
            density: keys.density,
            active: keys.active,
            facts: known.then_some(facts),
            hazards_given,
            origin: node.origin(),
        })
    }
}

fn read_stated(node: &Node<'_>, report: &mut Diagnostics) -> Option<Stated> {
    node.parse(report, |text| text.parse::<Stated>())
}

/// Trade per cent counts available chlorine, not the substance: it belongs to the product.
fn read_content(node: &Node<'_>, report: &mut Diagnostics) -> Option<Content> {
    let text = node.text(report)?;
    if text.contains("trade") {
        let hint = format!("write `available_chlorine: {text}` at the product, and here the substance's own content");
        let message = "trade per cent is available chlorine, not the content of the ingredient";
        return report.fail(node.error("trade-per-cent", message).hint(hint));
    }
    node.parse(report, Content::parse)
}

fn read_cas(node: &Node<'_>, report: &mut Diagnostics) -> Option<String> {
    let text = node.text(report)?;
    if is_cas_number(&text) {
        return Some(text);
    }
    let hint = "copy it from the safety data sheet, such as `7173-51-5`";
    report.fail(node.error("bad-cas-number", format!("`{text}` is not a CAS number")).hint(hint))
}

/// `300 mg/kg`, or `none found` where a limit test found no toxicity.
fn read_estimate(node: &Node<'_>, unit: &str, believed: &Range<Number>, report: &mut Diagnostics) -> Option<Ate> {
    let text = node.text(report)?;
    if text == "none found" {
        return Some(Ate::NoneFound);
    }
    let value = text.strip_suffix(unit).and_then(|figure| Number::read(figure).ok());
    match value {
        Some(value) if value.is_positive() => match believed.check(&value, &text) {
            Ok(()) => Some(Ate::Value(value)),
            Err(refusal) => report.fail(node.error("out-of-range", refusal.message)),
        },
        _ => {
            let message = format!("`{text}` is no acute toxicity estimate by this route");
            let hint = format!("write it like `300 {unit}`, or `none found` where a limit test found nothing");
            report.fail(node.error("bad-estimate", message).hint(hint))
        }
    }
}

/// `Skin Corr. 1B from 50 % to 70 %`, `STOT SE 3 (respiratory) from 35 %`.
impl Declared for SpecificLimit {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<SpecificLimit> {
        let text = node.text(report)?;
        let hint = "write it like `Skin Corr. 1B from 50 % to 70 %` or `STOT SE 3 (respiratory) from 35 %`";
        let Some((hazard, range)) = text.rsplit_once(" from ") else {
            return report
                .fail(node.error("bad-limit", format!("`{text}` is no specific concentration limit")).hint(hint));
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
            return report.fail(node.error("bad-limit", message).hint(hint));
        }
        Some(SpecificLimit { hazard, at_least, below })
    }

    fn shape() -> Shape {
        Shape::line("a hazard, `from` a share and perhaps `to` another", Line::Text)
    }
}

fn read_peroxide(node: &Node<'_>, report: &mut Diagnostics) -> Option<Peroxide> {
    let PeroxideKeys { groups, molar_mass } = PeroxideKeys::from_node(node, report)?;
    Some(Peroxide { groups, molar_mass })
}

fn read_molar_mass(node: &Node<'_>, report: &mut Diagnostics) -> Option<Number> {
    read_figure(node, "a molar mass", &["g/mol"], "write it like `76.05 g/mol`", &range::MOLAR_MASS, report)
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
