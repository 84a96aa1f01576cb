//! Acute toxicity by the additivity formula: 29 CFR 1910.1200 App. A.1.3.6, CLP Annex I 3.1.3.6.
//!
//! `100 / ATEmix = Σ Ci / ATEi`, with `100 − Σ C unknown` in place of 100 where more than 10 % is of unknown toxicity. Ci in per cent.
//! A mixture is never worse than the worst of its ingredients: the point estimates are set low within their category, and where all
//! ingredients share one, that one is the mixture's (A.1.3.3(c), CLP 3.1.3.3(c)).

use super::super::RuleSet;
use super::super::class::{Category, Class, Hazard};
use super::super::ingredient::{Ate, Ingredient};
use super::{Findings, Measure, Note, UnknownAcute, percent, read_in, tenths};
use crate::quantity::{Number, Share};

/// One route: its class, the upper ends of Categories 1 to 4 (Table A.1.1, CLP Table 3.1.1), their converted point estimates
/// (Table A.1.2, CLP Table 3.1.2), and the highest estimate that is still counted.
struct Route {
    class: Class,
    unit: &'static str,
    limits: [Number; 4],
    points: [Number; 4],
    /// Estimates up to 5000 mg/kg are counted, above the 2000 mg/kg of Category 4 (A.1.3.6.1(a)). For breathing in no such figure
    /// is printed; the same 2.5 times Category 4 is taken. So it is in the EU too, whose text may stop at Category 4 (not
    /// verified): counting more is the side that protects.
    counted: Number,
}

const CATEGORIES: [Category; 4] = [Category::One, Category::Two, Category::Three, Category::Four];

fn routes() -> [Route; 5] {
    let n = Number::ratio;
    let whole = |a, b, c, d| [a, b, c, d].map(Number::int);
    [
        Route {
            class: Class::AcuteOral,
            unit: "mg/kg",
            limits: whole(5, 50, 300, 2000),
            points: [n(1, 2), n(5, 1), n(100, 1), n(500, 1)],
            counted: n(5000, 1),
        },
        Route {
            class: Class::AcuteDermal,
            unit: "mg/kg",
            limits: whole(50, 200, 1000, 2000),
            points: whole(5, 50, 300, 1100),
            counted: n(5000, 1),
        },
        Route {
            class: Class::AcuteGas,
            unit: "ppm",
            limits: whole(100, 500, 2500, 20_000),
            points: whole(10, 100, 700, 4500),
            counted: n(50_000, 1),
        },
        Route {
            class: Class::AcuteVapour,
            unit: "mg/L",
            limits: [n(1, 2), n(2, 1), n(10, 1), n(20, 1)],
            points: [n(1, 20), n(1, 2), n(3, 1), n(11, 1)],
            counted: n(50, 1),
        },
        Route {
            class: Class::AcuteMist,
            unit: "mg/L",
            limits: [n(1, 20), n(1, 2), n(1, 1), n(5, 1)],
            points: [n(1, 200), n(1, 20), n(1, 2), n(3, 2)],
            counted: n(25, 2),
        },
    ]
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
    /// The ingredients that count.
    parts: Vec<&'i Ingredient>,
    /// The place of the worst category among them; past the last where none has a category.
    worst: usize,
    /// Whether a category was converted to its point estimate.
    converted: bool,
    /// Whether an ingredient below 1 % counts.
    trace: bool,
}

/// The place of the first category whose upper end the value does not pass.
fn place_of(value: &Number, route: &Route) -> Option<usize> {
    route.limits.iter().position(|limit| value <= limit)
}

/// Whether anything at all is known of the ingredient breathed in.
fn inhalation_known(ingredient: &Ingredient) -> bool {
    let ate = &ingredient.ate;
    [&ate.gas, &ate.vapour, &ate.mist].into_iter().any(Option::is_some)
        || [Class::AcuteInhalation, Class::AcuteGas, Class::AcuteVapour, Class::AcuteMist]
            .into_iter()
            .any(|class| ingredient.worst(class).is_some())
}

/// The hazard of an ingredient that is toxic by breathing in but says neither how nor how much. It counts as mist, the form with the
/// strictest figures, and as vapour.
fn unspecified_inhalation(ingredient: &Ingredient) -> Option<Hazard> {
    let ate = &ingredient.ate;
    let measured = [&ate.gas, &ate.vapour, &ate.mist].into_iter().any(Option::is_some);
    if measured { None } else { ingredient.worst(Class::AcuteInhalation) }
}

fn brings(ingredient: &Ingredient, route: &Route) -> Brings {
    if ingredient.no_acute_toxicity {
        return Brings::Nothing;
    }
    match ingredient.ate.get(route.class) {
        Some(Ate::Value(value)) if *value <= route.counted => return Brings::Estimate(value.clone()),
        Some(_) => return Brings::Nothing,
        None => {}
    }
    let stated = ingredient.worst(route.class).or_else(|| match route.class {
        Class::AcuteVapour | Class::AcuteMist => unspecified_inhalation(ingredient),
        _ => None,
    });
    if let Some(place) = stated.and_then(|hazard| CATEGORIES.iter().position(|category| *category == hazard.category()))
    {
        return Brings::Point(place);
    }
    let known_otherwise = route.class.is_acute_inhalation() && inhalation_known(ingredient);
    if ingredient.unknown_acute && !known_otherwise { Brings::Unknown } else { Brings::Nothing }
}

/// The estimate for the mixture; `None` where no ingredient counts.
fn estimate<'i>(ingredients: &'i [Ingredient], route: &Route) -> Option<Estimate<'i>> {
    let (mut sum, mut known, mut unknown) = (Number::zero(), Number::zero(), Number::zero());
    let (mut parts, mut worst, mut converted, mut trace) = (Vec::new(), CATEGORIES.len(), false, false);
    for ingredient in ingredients {
        let share = ingredient.share.as_percent();
        let (value, place, is_point) = match brings(ingredient, route) {
            Brings::Estimate(value) => {
                let place = place_of(&value, route).unwrap_or(CATEGORIES.len());
                (value, place, false)
            }
            Brings::Point(place) => (route.points[place].clone(), place, true),
            Brings::Unknown => {
                if share >= percent(1) {
                    unknown += &share;
                }
                continue;
            }
            Brings::Nothing => continue,
        };
        // Relevant from 1 % (A.1.3.3), and lower where it may matter: 0.1 % for Categories 1 to 3 (CLP
        // Table 1.1, not verified against the published text).
        let from = if place <= 2 { tenths(1) } else { percent(1) };
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
    let numerator = if unknown > 10 { (percent(100) - &unknown).max(known) } else { percent(100) };
    Some(Estimate { value: numerator / sum, parts, worst, converted, trace })
}

/// Finds acute toxicity by every route, and says how much is unknown.
pub fn find(findings: &mut Findings<'_>) -> Vec<UnknownAcute> {
    let ingredients = findings.ingredients;
    for ingredient in ingredients {
        findings.by_specific_limit(ingredient, Class::AcuteInhalation);
    }
    for route in routes() {
        for ingredient in ingredients {
            findings.by_specific_limit(ingredient, route.class);
        }
        let Some(found) = estimate(ingredients, &route) else {
            continue;
        };
        let place = place_of(&found.value, &route).map(|place| place.max(found.worst));
        let Some(place) = place.filter(|place| *place < CATEGORIES.len()) else {
            continue;
        };
        let measure = Measure {
            rule: findings.rule("29 CFR 1910.1200 App. A.1.3.6 and Table A.1.1", "CLP Annex I 3.1.3.6 and Table 3.1.1"),
            read_in: match findings.rules {
                _ if found.trace => read_in::NOT_VERIFIED,
                RuleSet::EuUk if found.converted => read_in::AGENCY_GUIDE,
                _ => read_in::THE_RULE,
            },
            what: "acute toxicity estimate of the mixture, at most",
            value: found.value,
            threshold: route.limits[place].clone(),
            unit: route.unit,
        };
        findings.add(Hazard::of(route.class, CATEGORIES[place]), measure, found.parts);
    }
    for ingredient in ingredients {
        if unspecified_inhalation(ingredient).is_some() && !ingredient.no_acute_toxicity {
            findings.note(Note::InhalationFormAssumed { ingredient: ingredient.name.clone() });
        }
    }
    unknown(ingredients)
}

/// A.1.3.6.2.3: said from the first ingredient at 1 % on.
fn unknown(ingredients: &[Ingredient]) -> Vec<UnknownAcute> {
    let routes = routes();
    let told = [("oral", &routes[0]), ("dermal", &routes[1]), ("inhalation", &routes[4])];
    let mut all = Vec::new();
    for (name, route) in told {
        let share: Share = ingredients
            .iter()
            .filter(|ingredient| {
                ingredient.share.as_percent() >= 1 && matches!(brings(ingredient, route), Brings::Unknown)
            })
            .map(|ingredient| &ingredient.share)
            .sum();
        if !share.is_zero() {
            all.push(UnknownAcute { route: name, share });
        }
    }
    all
}

#[cfg(test)]
#[path = "acute_tests.rs"]
mod tests;
