//! Physical hazards. They come from tests of the whole mixture, so what a safety data sheet states is carried on, and after a dilution
//! it is kept unless a rule or a specific limit excludes it: no lower hazard is guessed.

use super::super::RuleSet;
use super::super::hazard::{Category, Class, Hazard};
use super::super::ingredient::{Figure, Ingredient};
use super::{Findings, Note, Reason, SHARE, Source, read_in};
use crate::quantity::Number;

/// Below this share of the whole an ingredient is not expected to make a watery mixture flammable or oxidising. No published
/// rule; a judgement.
const TRACE: i64 = 1;

/// From this share by weight of flammable liquids on, a watery mixture of unknown flash point is taken to burn as its worst ingredient
/// does: 24 % by volume of ethanol is 19 % by weight, and 49 CFR 173.150(e) frees aqueous alcohol up to 24 % by volume. No published rule
/// for classification; chosen because it protects.
const BURNS: i64 = 19;

pub fn find(findings: &mut Findings<'_>) {
    for &hazard in &findings.mixture.stated_physical {
        match hazard.class() {
            Class::FlammableLiquid | Class::OxidisingLiquid | Class::OxidisingSolid | Class::OrganicPeroxide => {}
            // A solution in water is neither a solid nor under pressure.
            Class::FlammableSolid | Class::GasUnderPressure if findings.mixture.diluted => {}
            _ => carry_on(findings, hazard),
        }
    }
    flammable(findings);
    oxidising(findings);
    organic_peroxide(findings);
}

/// The worst of a class that the safety data sheet states.
fn stated(findings: &Findings<'_>, class: Class) -> Option<Hazard> {
    let all = findings.mixture.stated_physical.iter().copied();
    all.filter(|hazard| hazard.class() == class).min_by_key(|hazard| hazard.rank())
}

fn carry_on(findings: &mut Findings<'_>, hazard: Hazard) {
    let source = Source::same("stated by the safety data sheet", read_in::THE_RULE);
    let what = if findings.mixture.diluted { "stated of the concentrate" } else { "stated of the mixture" };
    let reason = findings.reason(&source, what, Number::zero(), Number::zero());
    findings.add(hazard, Reason { unit: "", ..reason }, []);
    if findings.mixture.diluted {
        findings.notes.push(Note::StatedBeforeDilution { hazard });
    }
}

/// The ingredients of these classes and their shares together, in per cent.
fn holding<'i>(ingredients: &'i [Ingredient], classes: &[Class]) -> (Vec<&'i Ingredient>, Number) {
    let has = |ingredient: &&Ingredient| classes.iter().any(|&class| ingredient.has(class));
    let parts: Vec<&Ingredient> = ingredients.iter().filter(has).collect();
    let total = parts.iter().map(|ingredient| ingredient.share.as_percent()).sum();
    (parts, total)
}

/// 29 CFR 1910.1200 App. B Table B.6.1, CLP Annex I Table 2.6.1. Closed cup; Category 4 (above 60 to 93 °C) is the United States' alone.
fn flammable(findings: &mut Findings<'_>) {
    let (parts, total) = holding(findings.ingredients, &[Class::FlammableLiquid]);
    let sheet = stated(findings, Class::FlammableLiquid);
    // What was flammable before the dilution may still be, unless what made it so is a trace by now.
    let may_remain = parts.is_empty() || total >= TRACE;
    match findings.mixture.flash_point.clone() {
        Figure::Known(point) => by_flash_point(findings, &point, sheet),
        Figure::BeforeDilution(point) if may_remain => {
            by_flash_point(findings, &point, sheet);
            let flammable = findings.found.iter().filter(|found| found.hazard.class() == Class::FlammableLiquid);
            findings.notes.extend(flammable.map(|found| Note::StatedBeforeDilution { hazard: found.hazard }));
        }
        Figure::BeforeDilution(_) | Figure::NoneFound => {}
        Figure::Unknown => match sheet {
            Some(hazard) if (findings.mixture.diluted && !may_remain) || !exists(findings, hazard) => {}
            Some(hazard) => carry_on(findings, hazard),
            None if total >= TRACE => without_flash_point(findings, &parts, total),
            None => {}
        },
    }
}

/// A Category 4 is none in the EU.
fn exists(findings: &Findings<'_>, hazard: Hazard) -> bool {
    findings.rules == RuleSet::UnitedStates || hazard.category() != Category::Four
}

fn by_flash_point(findings: &mut Findings<'_>, point: &Number, sheet: Option<Hazard>) {
    let (category, below) = if *point < 23 {
        let low_boiling = match &findings.mixture.boiling_point {
            // Water boils higher than anything that matters here; it does not bring the boiling point down to 35 °C.
            Figure::Known(boiling) | Figure::BeforeDilution(boiling) => *boiling <= 35,
            Figure::Unknown | Figure::NoneFound => {
                let category_2 = sheet.is_some_and(|hazard| hazard.category() == Category::Two);
                if !category_2 {
                    findings.notes.push(Note::BoilingPointNeeded);
                }
                !category_2
            }
        };
        (if low_boiling { Category::One } else { Category::Two }, 23)
    } else if *point <= 60 {
        (Category::Three, 60)
    } else if *point <= 93 && findings.rules == RuleSet::UnitedStates {
        (Category::Four, 93)
    } else {
        return;
    };
    let source = Source::new("29 CFR 1910.1200 App. B Table B.6.1", "CLP Annex I Table 2.6.1", read_in::THE_RULE);
    let what = if below == 23 { "flash point, below" } else { "flash point, at most" };
    let reason = findings.reason(&source, what, point.clone(), Number::int(below));
    findings.add(Hazard::of(Class::FlammableLiquid, category), Reason { unit: "°C", ..reason }, []);
}

fn without_flash_point(findings: &mut Findings<'_>, parts: &[&Ingredient], total: Number) {
    findings.notes.push(Note::FlashPointNeeded { ingredients: parts.iter().map(|part| part.name.clone()).collect() });
    let worst = parts.iter().filter_map(|part| part.worst(Class::FlammableLiquid)).min_by_key(|hazard| hazard.rank());
    let Some(worst) = worst else { return };
    if total < BURNS || !exists(findings, worst) {
        return;
    }
    let source = Source::same("flash point not known: the worst ingredient's category is taken", read_in::OWN);
    let reason = findings.reason(&source, "sum of flammable liquids", total, Number::int(BURNS));
    findings.add(worst, reason, parts.iter().copied());
}

/// Oxidising liquids and solids. No sum of ingredients decides them: a specific limit (hydrogen peroxide has some) or a test does.
fn oxidising(findings: &mut Findings<'_>) {
    let classes = [Class::OxidisingLiquid, Class::OxidisingSolid];
    let (parts, _) = holding(findings.ingredients, &classes);
    let sheet: Vec<Hazard> = classes.into_iter().filter_map(|class| stated(findings, class)).collect();
    let mut open = parts.is_empty();
    for ingredient in parts {
        let decided = classes.map(|class| findings.by_specific_limit(ingredient, class));
        if decided.contains(&true) || ingredient.share.as_percent() < TRACE {
            continue;
        }
        open = true;
        for hazard in classes.into_iter().filter_map(|class| ingredient.worst(class)).filter(|_| sheet.is_empty()) {
            let hazard = in_solution(findings, hazard);
            let rule = "no test and no specific limit known: the ingredient's category is taken";
            let source = Source::same(rule, read_in::OWN);
            let reason = findings.reason(&source, SHARE, ingredient.share.as_percent(), Number::int(TRACE));
            findings.add(hazard, reason, [ingredient]);
            findings.notes.push(Note::TestNeeded { ingredient: ingredient.name.clone(), hazard });
        }
    }
    for hazard in sheet {
        if !findings.mixture.diluted || open {
            let hazard = in_solution(findings, hazard);
            carry_on(findings, hazard);
        }
    }
}

/// Once dissolved, an oxidising solid is looked at as a liquid.
fn in_solution(findings: &Findings<'_>, hazard: Hazard) -> Hazard {
    match hazard.class() {
        Class::OxidisingSolid if findings.mixture.diluted => Hazard::of(Class::OxidisingLiquid, hazard.category()),
        _ => hazard,
    }
}

/// Hydrogen peroxide, by number or by what a sheet in English, Spanish or French calls it. Missing it would exclude too much.
fn is_hydrogen_peroxide(ingredient: &Ingredient) -> bool {
    const NAMES: [&str; 4] = ["hydrogen peroxide", "peróxido de hidrógeno", "peroxyde d'hydrogène", "h2o2"];
    let name = ingredient.name.to_lowercase().replace('’', "'").replace('₂', "2");
    ingredient.cas.as_deref() == Some("7722-84-1") || NAMES.iter().any(|known| name.contains(known))
}

/// 16 × groups × share / molar mass, in per cent; `None` where an organic peroxide's molecule is not described. The coefficient is
/// oxygen's atomic mass; it was not verified, since the copies of the rule show the formula as a picture.
fn available_oxygen(peroxides: &[&Ingredient]) -> Option<Number> {
    let mut sum = Number::zero();
    for ingredient in peroxides {
        let peroxide = ingredient.peroxide.as_ref()?;
        sum += &(Number::int(16) * &peroxide.groups * &ingredient.share.as_percent() / &peroxide.molar_mass);
    }
    Some(sum)
}

/// 29 CFR 1910.1200 App. B.15.2.1: no organic peroxide with at most 1.0 % available oxygen beside at most 1.0 % hydrogen peroxide, or
/// at most 0.5 % beside more than 1.0 and at most 7.0 %.
fn organic_peroxide(findings: &mut Findings<'_>) {
    let ingredients = findings.ingredients;
    let peroxides: Vec<&Ingredient> =
        ingredients.iter().filter(|i| i.has(Class::OrganicPeroxide) || i.peroxide.is_some()).collect();
    let sheet = stated(findings, Class::OrganicPeroxide);
    if let Some(hazard) = sheet.filter(|_| !findings.mixture.diluted) {
        carry_on(findings, hazard);
        return;
    }
    let hydrogen: Number =
        ingredients.iter().filter(|i| is_hydrogen_peroxide(i)).map(|ingredient| ingredient.share.as_percent()).sum();
    let allowed = if hydrogen <= 1 {
        Some(Number::one())
    } else if hydrogen <= 7 {
        Some(Number::ratio(1, 2))
    } else {
        None
    };
    let oxygen = if peroxides.is_empty() { None } else { available_oxygen(&peroxides) };
    if let (Some(oxygen), Some(allowed)) = (&oxygen, &allowed)
        && oxygen <= allowed
    {
        return;
    }
    if let Some(hazard) = sheet {
        carry_on(findings, hazard);
        return;
    }
    let worst = peroxides.iter().filter_map(|i| i.worst(Class::OrganicPeroxide)).min_by_key(|hazard| hazard.rank());
    let Some(hazard) = worst else { return };
    let what = "available oxygen, above; the ingredient's type is taken until it is tested";
    let (rule, eu_rule) = ("29 CFR 1910.1200 App. B.15.2.1", "CLP Annex I 2.15.2.1");
    let source = Source::new(rule, eu_rule, read_in::UNITED_STATES_TWIN);
    let zero = Number::zero;
    let known = oxygen.is_some();
    let mut reason = findings.reason(&source, what, oxygen.unwrap_or_else(zero), allowed.unwrap_or_else(zero));
    if !known {
        reason.read_in = read_in::OWN;
    }
    for ingredient in &peroxides {
        findings.notes.push(Note::TestNeeded { ingredient: ingredient.name.clone(), hazard });
    }
    findings.add(hazard, reason, peroxides);
}
