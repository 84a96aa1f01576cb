//! Acute toxicity by the additivity formula: 29 CFR 1910.1200 App. A.1.3.6, CLP Annex I 3.1.3.6.
//!
//! `100 / ATEmix = Σ Ci / ATEi`, with `100 − Σ C unknown` in place of 100 where more than 10 % is of unknown toxicity. Ci in per cent.
//! A mixture is never worse than the worst of its ingredients: the point estimates are set low within their category, and where all
//! ingredients share one, that one is the mixture's (A.1.3.3(c), CLP 3.1.3.3(c)).

use std::sync::LazyLock;

use serde::Deserialize;

use super::super::RuleSet;
use super::super::hazard::{Class, Hazard};
use super::super::ingredient::{Ate, Ingredient};
use super::super::table::{number, parsed};
use super::{Findings, Note, Reason, Source, UnknownAcute, read_in};
use crate::quantity::{Number, Share, built_in};

/// A row of the table `acute.csv`: see its comments.
#[derive(Deserialize)]
struct Step {
    #[serde(deserialize_with = "parsed")]
    hazard: Hazard,
    unit: String,
    #[serde(deserialize_with = "number")]
    up_to: Number,
    #[serde(deserialize_with = "number")]
    point: Number,
}

static STEPS: LazyLock<Vec<Step>> = LazyLock::new(|| built_in(include_str!("acute.csv")));

/// The categories of one route, the worst first. A category is meant by its place here.
type Route = [Step];

/// Oral, dermal, gas, vapour, mist.
fn routes() -> impl Iterator<Item = &'static Route> {
    STEPS.chunk_by(|one, next| one.hazard.class() == next.hazard.class())
}

fn class_of(route: &Route) -> Class {
    route[0].hazard.class()
}

/// Estimates up to 5000 mg/kg are counted, above the 2000 mg/kg of Category 4 (A.1.3.6.1(a)). For breathing in no such figure is printed; the
/// same 2.5 times Category 4 is taken. So it is in the EU too, whose text may stop at Category 4 (not verified): counting more is the side
/// that protects.
fn highest_counted(route: &Route) -> Number {
    &route[route.len() - 1].up_to * &Number::ratio(5, 2)
}

/// The place of the first category whose upper end the value does not pass; past the last where there is none.
fn place_of(value: &Number, route: &Route) -> usize {
    route.iter().position(|step| *value <= step.up_to).unwrap_or(route.len())
}

/// What an ingredient brings to a route.
enum Brings {
    Nothing,
    Unknown,
    /// A figure of its own.
    Estimate(Number),
    /// The point estimate of a category, by its place.
    Point(usize),
}

/// The estimate for a mixture by one route.
struct Estimate<'i> {
    value: Number,
    parts: Vec<&'i Ingredient>,
    /// The place of the worst category among them; past the last where none has a category.
    worst: usize,
    /// Whether a category was converted to its point estimate.
    converted: bool,
    /// Whether an ingredient below 1 % counts.
    trace: bool,
}

fn is_measured_in_air(ingredient: &Ingredient) -> bool {
    let ate = &ingredient.ate;
    [&ate.gas, &ate.vapour, &ate.mist].into_iter().any(Option::is_some)
}

/// The hazard of an ingredient that is toxic by breathing in but says neither how nor how much. It counts as mist, the form with the
/// strictest figures, and as vapour.
fn unspecified_inhalation(ingredient: &Ingredient) -> Option<Hazard> {
    if is_measured_in_air(ingredient) { None } else { ingredient.worst(Class::AcuteInhalation) }
}

fn brings(ingredient: &Ingredient, route: &Route) -> Brings {
    if ingredient.no_acute_toxicity {
        return Brings::Nothing;
    }
    let class = class_of(route);
    match ingredient.ate.get(class) {
        Some(Ate::Value(value)) if *value <= highest_counted(route) => return Brings::Estimate(value.clone()),
        Some(_) => return Brings::Nothing,
        None => {}
    }
    let stated = ingredient.worst(class).or_else(|| match class {
        Class::AcuteVapour | Class::AcuteMist => unspecified_inhalation(ingredient),
        _ => None,
    });
    let same = |hazard: Hazard| route.iter().position(|step| step.hazard.category() == hazard.category());
    if let Some(place) = stated.and_then(same) {
        return Brings::Point(place);
    }
    let inhaled = |hazard: Hazard| hazard.class().is_acute_inhalation();
    let known_otherwise =
        class.is_acute_inhalation() && (is_measured_in_air(ingredient) || ingredient.all_hazards().any(inhaled));
    if ingredient.unknown_acute && !known_otherwise { Brings::Unknown } else { Brings::Nothing }
}

/// The estimate for the mixture; `None` where no ingredient counts.
fn estimate<'i>(ingredients: &'i [Ingredient], route: &Route) -> Option<Estimate<'i>> {
    let (mut sum, mut known, mut unknown) = (Number::zero(), Number::zero(), Number::zero());
    let (mut parts, mut worst, mut converted, mut trace) = (Vec::new(), route.len(), false, false);
    for ingredient in ingredients {
        let share = ingredient.share.as_percent();
        let (value, place, is_point) = match brings(ingredient, route) {
            Brings::Estimate(value) => {
                let place = place_of(&value, route);
                (value, place, false)
            }
            Brings::Point(place) => (route[place].point.clone(), place, true),
            Brings::Unknown => {
                if share >= 1 {
                    unknown += &share;
                }
                continue;
            }
            Brings::Nothing => continue,
        };
        // Relevant from 1 % (A.1.3.3), and lower where it may matter: 0.1 % for Categories 1 to 3 (CLP
        // Table 1.1, not verified against the published text).
        let from = if place <= 2 { Number::ratio(1, 10) } else { Number::one() };
        if share < from {
            continue;
        }
        sum += &(&share / &value);
        known += &share;
        worst = worst.min(place);
        converted |= is_point;
        trace |= share < 1;
        parts.push(ingredient);
    }
    if !sum.is_positive() {
        return None;
    }
    // Strictly above 10 % (A.1.3.6.2.4 as corrected, 89 FR 81829). Upper ends of ranges may add up to more than the whole, so the
    // numerator is never less than what is known.
    let whole = Number::int(100);
    let numerator = if unknown > 10 { (whole - &unknown).max(known) } else { whole };
    Some(Estimate { value: numerator / sum, parts, worst, converted, trace })
}

const SOURCE: Source = Source::new(
    "29 CFR 1910.1200 App. A.1.3.6 and Table A.1.1",
    "CLP Annex I 3.1.3.6 and Table 3.1.1",
    read_in::THE_RULE,
);

/// Finds acute toxicity by every route, and says how much is unknown.
pub fn find(findings: &mut Findings<'_>) -> Vec<UnknownAcute> {
    let ingredients = findings.ingredients;
    for ingredient in ingredients {
        findings.by_specific_limit(ingredient, Class::AcuteInhalation);
        if unspecified_inhalation(ingredient).is_some() && !ingredient.no_acute_toxicity {
            findings.notes.push(Note::InhalationFormAssumed { ingredient: ingredient.name.clone() });
        }
    }
    for route in routes() {
        for ingredient in ingredients {
            findings.by_specific_limit(ingredient, class_of(route));
        }
        if let Some(found) = estimate(ingredients, route) {
            by_estimate(findings, found, route);
        }
    }
    unknown(ingredients)
}

fn by_estimate(findings: &mut Findings<'_>, found: Estimate<'_>, route: &'static Route) {
    let Some(step) = route.get(place_of(&found.value, route).max(found.worst)) else { return };
    let what = "acute toxicity estimate of the mixture, at most";
    let reason = findings.reason(&SOURCE, what, found.value, step.up_to.clone());
    let read_in = match findings.rules {
        _ if found.trace => read_in::NOT_VERIFIED,
        RuleSet::EuUk if found.converted => read_in::AGENCY_GUIDE,
        _ => reason.read_in,
    };
    findings.add(step.hazard, Reason { read_in, unit: &step.unit, ..reason }, found.parts);
}

/// A.1.3.6.2.3: said from the first ingredient at 1 % on.
fn unknown(ingredients: &[Ingredient]) -> Vec<UnknownAcute> {
    let mut all = Vec::new();
    for route in routes() {
        let name = match class_of(route) {
            Class::AcuteOral => "oral",
            Class::AcuteDermal => "dermal",
            Class::AcuteMist => "inhalation",
            _ => continue,
        };
        let counts = |i: &&Ingredient| i.share.as_percent() >= 1 && matches!(brings(i, route), Brings::Unknown);
        let share: Share = ingredients.iter().filter(counts).map(|ingredient| &ingredient.share).sum();
        if !share.is_zero() {
            all.push(UnknownAcute { route: name, share });
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::super::cases::ingredient;
    use super::*;

    /// Tables A.1.1 and A.1.2: the upper end of a category belongs to it, and a category stands for its point estimate.
    #[test]
    fn bounds_are_inclusive_and_points_are_the_tables() {
        assert_eq!(routes().count(), 5);
        for route in routes() {
            for (place, step) in route.iter().enumerate() {
                let at = |percent: &str| {
                    let one = ingredient(&format!("{percent} % {}", step.hazard));
                    estimate(std::slice::from_ref(&one), route).unwrap().value
                };
                assert_eq!(at("100"), step.point);
                assert_eq!(
                    (place_of(&at("99"), route), place_of(&step.up_to, route)),
                    (place, place),
                    "{}",
                    step.hazard
                );
            }
        }
    }

    /// UN ST/SG/AC.10/C.4/2008/23 Annex 2, example 3.1.3.6.1(c): 43 425 mg/kg, not classified.
    #[test]
    fn un_example_of_what_is_left_out() {
        let mixture = ["4 %; oral 1737", "5 %; oral 5001", "5 %; oral 5400", "86 %; oral none"].map(ingredient);
        assert_eq!(estimate(&mixture, routes().next().unwrap()).unwrap().value, 43_425);
    }
}
