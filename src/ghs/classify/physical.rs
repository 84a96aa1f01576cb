//! Physical hazards. They come from tests of the whole mixture, so what a safety data sheet states is carried on, and after a dilution
//! it is kept unless a rule or a specific limit excludes it: no lower hazard is guessed.

use super::super::RuleSet;
use super::super::class::{Category, Class, Hazard};
use super::super::ingredient::{Figure, FlashPoint, Ingredient};
use super::{Findings, Measure, Note, percent, tenths};
use crate::quantity::Number;

/// Below this share of the whole an ingredient is not expected to make a watery mixture flammable or oxidising. Judgement, no source.
const TRACE: i64 = 1;

/// From this share by weight of flammable liquids on, a watery mixture of unknown flash point is taken to burn as its worst ingredient
/// does: 24 % by volume of ethanol is 19 % by weight, and the transport rules free aqueous alcohol up to 24 % by volume (from memory).
const BURNS: i64 = 19;

/// Finds physical hazards.
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
    all.filter(|hazard| hazard.class() == class)
        .min_by_key(|hazard| hazard.rank())
}

fn carry_on(findings: &mut Findings<'_>, hazard: Hazard) {
    let measure = Measure {
        rule: "stated by the safety data sheet",
        from_memory: false,
        what: if findings.mixture.diluted {
            "stated of the concentrate"
        } else {
            "stated of the mixture"
        },
        value: Number::zero(),
        threshold: Number::zero(),
        unit: "",
    };
    findings.add(hazard, measure, []);
    if findings.mixture.diluted {
        findings.note(Note::StatedBeforeDilution { hazard });
    }
}

/// The ingredients of these classes and their shares together, in per cent.
fn holding<'i>(ingredients: &'i [Ingredient], classes: &[Class]) -> (Vec<&'i Ingredient>, Number) {
    let has = |ingredient: &&Ingredient| classes.iter().any(|&class| ingredient.worst(class).is_some());
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
        FlashPoint::Known(point) => by_flash_point(findings, &point, sheet),
        FlashPoint::BeforeDilution(point) if may_remain => {
            by_flash_point(findings, &point, sheet);
            for found in &findings.found {
                if found.hazard.class() == Class::FlammableLiquid {
                    let note = Note::StatedBeforeDilution { hazard: found.hazard };
                    findings.notes.push(note);
                }
            }
        }
        FlashPoint::BeforeDilution(_) => {}
        FlashPoint::NoneFound => {}
        FlashPoint::Unknown => match sheet {
            Some(hazard) if !findings.mixture.diluted || may_remain => carry_on_if_known(findings, hazard),
            Some(_) => {}
            None if total >= TRACE => without_flash_point(findings, &parts, total),
            None => {}
        },
    }
}

/// A stated Category 4 is none in the EU.
fn carry_on_if_known(findings: &mut Findings<'_>, hazard: Hazard) {
    if findings.rules == RuleSet::UnitedStates || hazard.category() != Category::Four {
        carry_on(findings, hazard);
    }
}

fn by_flash_point(findings: &mut Findings<'_>, point: &Number, sheet: Option<Hazard>) {
    let (category, below) = if *point < 23 {
        let low_boiling = match &findings.mixture.boiling_point {
            // Water boils higher than anything that matters here; it does not bring the boiling point down to 35 °C.
            Figure::Known(boiling) | Figure::BeforeDilution(boiling) => *boiling <= 35,
            Figure::Unknown => {
                let category_2 = sheet.is_some_and(|hazard| hazard.category() == Category::Two);
                if !category_2 {
                    findings.note(Note::BoilingPointNeeded);
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
    let measure = Measure {
        rule: findings.rule("29 CFR 1910.1200 App. B Table B.6.1", "CLP Annex I Table 2.6.1"),
        from_memory: false,
        what: if below == 23 {
            "flash point, below"
        } else {
            "flash point, at most"
        },
        value: point.clone(),
        threshold: percent(below),
        unit: "°C",
    };
    findings.add(Hazard::of(Class::FlammableLiquid, category), measure, []);
}

fn without_flash_point(findings: &mut Findings<'_>, parts: &[&Ingredient], total: Number) {
    findings.note(Note::FlashPointNeeded {
        ingredients: parts.iter().map(|part| part.name.clone()).collect(),
    });
    let worst = parts
        .iter()
        .filter_map(|part| part.worst(Class::FlammableLiquid))
        .min_by_key(|hazard| hazard.rank());
    let Some(worst) = worst else { return };
    if total < BURNS || (findings.rules == RuleSet::EuUk && worst.category() == Category::Four) {
        return;
    }
    let measure = Measure {
        rule: "flash point not known: the worst ingredient's category is taken",
        from_memory: true,
        what: "sum of flammable liquids",
        value: total,
        threshold: percent(BURNS),
        unit: "%",
    };
    findings.add(worst, measure, parts.iter().copied());
}

/// Oxidising liquids and solids. No sum of ingredients decides them: a specific limit (hydrogen peroxide has some) or a test does.
fn oxidising(findings: &mut Findings<'_>) {
    let classes = [Class::OxidisingLiquid, Class::OxidisingSolid];
    let (parts, _) = holding(findings.ingredients, &classes);
    let sheet: Vec<Hazard> = classes
        .into_iter()
        .filter_map(|class| stated(findings, class))
        .collect();
    let mut open = parts.is_empty();
    for ingredient in parts {
        let decided = classes.map(|class| findings.by_specific_limit(ingredient, class));
        if decided.contains(&true) || ingredient.share.as_percent() < TRACE {
            continue;
        }
        open = true;
        for hazard in classes
            .into_iter()
            .filter_map(|class| ingredient.worst(class))
            .filter(|_| sheet.is_empty())
        {
            let hazard = in_solution(findings, hazard);
            let measure = Measure {
                rule: "no test and no specific limit known: the ingredient's category is taken",
                from_memory: true,
                what: "share of the ingredient",
                value: ingredient.share.as_percent(),
                threshold: percent(TRACE),
                unit: "%",
            };
            findings.add(hazard, measure, [ingredient]);
            findings.note(Note::TestNeeded {
                ingredient: ingredient.name.clone(),
                hazard,
            });
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

/// Hydrogen peroxide, by number or by name.
fn is_hydrogen_peroxide(ingredient: &Ingredient) -> bool {
    ingredient.cas.as_deref() == Some("7722-84-1") || ingredient.name.trim().eq_ignore_ascii_case("hydrogen peroxide")
}

/// 16 × groups × share / molar mass, in per cent; `None` where an organic peroxide's molecule is not described. The coefficient, the
/// atomic mass of oxygen, is from memory: the copies of the rule show the formula as a picture.
fn available_oxygen(peroxides: &[&Ingredient]) -> Option<Number> {
    let mut sum = Number::zero();
    for ingredient in peroxides {
        let peroxide = ingredient.peroxide.as_ref()?;
        sum += &(percent(16) * &peroxide.groups * &ingredient.share.as_percent() / &peroxide.molar_mass);
    }
    Some(sum)
}

/// 29 CFR 1910.1200 App. B.15.2.1: no organic peroxide with at most 1.0 % available oxygen beside at most 1.0 % hydrogen peroxide, or
/// at most 0.5 % beside more than 1.0 and at most 7.0 %.
fn organic_peroxide(findings: &mut Findings<'_>) {
    let ingredients = findings.ingredients;
    let peroxides: Vec<&Ingredient> = ingredients
        .iter()
        .filter(|i| i.worst(Class::OrganicPeroxide).is_some() || i.peroxide.is_some())
        .collect();
    let sheet = stated(findings, Class::OrganicPeroxide);
    if let Some(hazard) = sheet.filter(|_| !findings.mixture.diluted) {
        carry_on(findings, hazard);
        return;
    }
    let hydrogen: Number = ingredients
        .iter()
        .filter(|i| is_hydrogen_peroxide(i))
        .map(|ingredient| ingredient.share.as_percent())
        .sum();
    let allowed = if hydrogen <= 1 {
        Some(tenths(10))
    } else if hydrogen <= 7 {
        Some(tenths(5))
    } else {
        None
    };
    let oxygen = if peroxides.is_empty() {
        None
    } else {
        available_oxygen(&peroxides)
    };
    if let (Some(oxygen), Some(allowed)) = (&oxygen, &allowed)
        && oxygen <= allowed
    {
        return;
    }
    if let Some(hazard) = sheet {
        carry_on(findings, hazard);
        return;
    }
    let worst = peroxides
        .iter()
        .filter_map(|i| i.worst(Class::OrganicPeroxide))
        .min_by_key(|hazard| hazard.rank());
    let Some(hazard) = worst else { return };
    let measure = Measure {
        rule: findings.rule("29 CFR 1910.1200 App. B.15.2.1", "CLP Annex I 2.15.2.1"),
        from_memory: oxygen.is_none() || findings.rules == RuleSet::EuUk,
        what: "available oxygen, above; the ingredient's type is taken until it is tested",
        value: oxygen.unwrap_or_else(Number::zero),
        threshold: allowed.unwrap_or_else(Number::zero),
        unit: "%",
    };
    for ingredient in &peroxides {
        findings.note(Note::TestNeeded {
            ingredient: ingredient.name.clone(),
            hazard,
        });
    }
    findings.add(hazard, measure, peroxides);
}

#[cfg(test)]
mod tests {
    use super::super::super::Mixture;
    use super::super::super::ingredient::{Peroxide, SpecificLimit};
    use super::super::bench::{found, ingredient, share};
    use super::super::classify;
    use super::*;

    fn number(text: &str) -> Number {
        Number::parse(text).unwrap()
    }

    fn at(flash: &str, boiling: &str) -> Mixture {
        Mixture {
            flash_point: FlashPoint::Known(number(flash)),
            boiling_point: Figure::Known(number(boiling)),
            ..Mixture::default()
        }
    }

    /// 29 CFR 1910.1200 App. B Table B.6.1; CLP Annex I Table 2.6.1 stops at 60 °C.
    #[test]
    fn flash_point_at_the_limits() {
        for (flash, boiling, us, eu) in [
            ("22.9", "35", Some("Flam. Liq. 1"), Some("Flam. Liq. 1")),
            ("22.9", "35.1", Some("Flam. Liq. 2"), Some("Flam. Liq. 2")),
            ("23", "35", Some("Flam. Liq. 3"), Some("Flam. Liq. 3")),
            ("60", "100", Some("Flam. Liq. 3"), Some("Flam. Liq. 3")),
            ("60.1", "100", Some("Flam. Liq. 4"), None),
            ("93", "100", Some("Flam. Liq. 4"), None),
            ("93.1", "100", None, None),
        ] {
            assert_eq!(
                found(&at(flash, boiling), RuleSet::UnitedStates),
                Vec::from_iter(us),
                "{flash}"
            );
            assert_eq!(found(&at(flash, boiling), RuleSet::EuUk), Vec::from_iter(eu), "{flash}");
        }
    }

    /// Flash points of ethanol in water by volume, from a laboratory safety list of 2015 (secondary): 70 % 21 °C, 50 % 24 °C, 10 % 49 °C.
    #[test]
    fn ethanol_in_water() {
        assert_eq!(found(&at("21", "80"), RuleSet::EuUk), ["Flam. Liq. 2"]);
        assert_eq!(found(&at("24", "80"), RuleSet::EuUk), ["Flam. Liq. 3"]);
        assert_eq!(found(&at("49", "90"), RuleSet::EuUk), ["Flam. Liq. 3"]);
    }

    #[test]
    fn without_a_flash_point_nothing_lower_is_guessed() {
        let of = |percent: &str| {
            classify(
                &Mixture::of(vec![ingredient(percent, &["Flam. Liq. 2"])]),
                RuleSet::EuUk,
            )
            .unwrap()
        };
        assert_eq!(of("62").hazards(), ["Flam. Liq. 2".parse().unwrap()]);
        assert!(!of("62").is_complete());
        assert!(of("8").hazards.is_empty() && !of("8").is_complete());
        assert!(of("0.5").hazards.is_empty() && of("0.5").is_complete());
        let mut mixture = at("21", "80");
        mixture.ingredients = vec![ingredient("62", &["Flam. Liq. 2"])];
        assert_eq!(found(&mixture.dilute(&share("50")), RuleSet::EuUk), ["Flam. Liq. 2"]);
        assert!(found(&mixture.dilute(&share("1")), RuleSet::EuUk).is_empty());
        mixture.boiling_point = Figure::Unknown;
        assert_eq!(found(&mixture, RuleSet::EuUk), ["Flam. Liq. 1"]);
        mixture.stated_physical = vec!["Flam. Liq. 2".parse().unwrap()];
        assert_eq!(found(&mixture, RuleSet::EuUk), ["Flam. Liq. 2"]);
    }

    /// Hydrogen peroxide's limits in CLP Annex VI (index 008-003-00-9).
    #[test]
    fn oxidising_by_specific_limit() {
        let of = |percent: &str| {
            let mut peroxide = ingredient(percent, &["Ox. Liq. 1"]);
            let limit = |hazard: &str, from: &str| SpecificLimit {
                hazard: hazard.parse().unwrap(),
                at_least: share(from),
                below: None,
            };
            peroxide.limits = vec![limit("Ox. Liq. 1", "70"), limit("Ox. Liq. 2", "50")];
            found(&Mixture::of(vec![peroxide]), RuleSet::EuUk)
        };
        assert_eq!(of("70"), ["Ox. Liq. 1"]);
        assert_eq!(of("69.9"), ["Ox. Liq. 2"]);
        assert_eq!(of("50"), ["Ox. Liq. 2"]);
        assert!(of("49.9").is_empty());
        let untested = classify(&Mixture::of(vec![ingredient("5", &["Ox. Liq. 1"])]), RuleSet::EuUk).unwrap();
        assert_eq!((untested.hazards.len(), untested.is_complete()), (1, false));
    }

    /// Peracetic acid: one group, 76.05 g/mol. 29 CFR 1910.1200 App. B.15.2.1 at its limits; the oxygen figures computed from the formula:
    /// 15 % gives 3.156 %, 5.6 % gives 1.178 %, 0.2 % gives 0.0421 %; 1.0 % is 4.753 % of acid, 0.5 % is 2.377 %.
    #[test]
    fn organic_peroxides_are_excluded_by_available_oxygen() {
        let peracetic = |percent: &str| {
            let mut acid = ingredient(percent, &["Org. Perox. D"]);
            acid.peroxide = Some(Peroxide {
                groups: Number::one(),
                molar_mass: number("76.05"),
            });
            acid
        };
        for (percent, oxygen) in [("15", "3.156"), ("5.6", "1.178"), ("0.2", "0.042")] {
            assert_eq!(available_oxygen(&[&peracetic(percent)]).unwrap().decimal(3), oxygen);
        }
        let with = |acid: &str, hydrogen: &str| {
            let mut peroxide = ingredient(hydrogen, &[]);
            peroxide.cas = Some("7722-84-1".to_owned());
            !found(&Mixture::of(vec![peracetic(acid), peroxide]), RuleSet::UnitedStates).is_empty()
        };
        for (acid, hydrogen, classified) in [
            ("4.753", "1.0", false),
            ("4.754", "1.0", true),
            ("2.376", "1.1", false),
            ("2.377", "7.0", true),
            ("2.376", "7.0", false),
            ("0.2", "7.1", true),
        ] {
            assert_eq!(
                with(acid, hydrogen),
                classified,
                "{acid} % with {hydrogen} % hydrogen peroxide"
            );
        }
    }

    /// The same rule exactly at its limits: one group in 80 g/mol is 0.2 % of oxygen for every 1 %, two groups twice as much, and the
    /// oxygen of several peroxides is summed.
    #[test]
    fn available_oxygen_at_its_limits_is_excluded() {
        let peroxide = |percent: &str, groups| {
            let mut one = ingredient(percent, &["Org. Perox. F"]);
            one.peroxide = Some(Peroxide {
                groups: Number::int(groups),
                molar_mass: Number::int(80),
            });
            one
        };
        let classified = |peroxides: &[Ingredient], hydrogen: &str| {
            let mut mixture = Mixture::of(peroxides.to_vec());
            mixture
                .ingredients
                .push(Ingredient::new("Hydrogen peroxide", share(hydrogen), vec![]));
            let us = found(&mixture, RuleSet::UnitedStates);
            assert_eq!(us, found(&mixture, RuleSet::EuUk));
            !us.is_empty()
        };
        assert!(!classified(&[peroxide("5", 1)], "1"), "1.0 % of oxygen beside 1.0 %");
        assert!(classified(&[peroxide("5.01", 1)], "1"));
        assert!(
            !classified(&[peroxide("2.5", 1)], "1.01"),
            "0.5 % of oxygen beside more"
        );
        assert!(classified(&[peroxide("2.51", 1)], "1.01"));
        assert!(!classified(&[peroxide("2.5", 1)], "7"));
        assert!(classified(&[peroxide("0.1", 1)], "7.01"));
        assert!(!classified(&[peroxide("2.5", 2)], "0") && classified(&[peroxide("2.51", 2)], "0"));
        assert!(!classified(&[peroxide("3", 1), peroxide("2", 1)], "0"));
        assert!(classified(&[peroxide("3", 1), peroxide("2.1", 1)], "0"));
    }

    /// Corrosive to metals: as stated, and kept in the dilution until that is tested.
    #[test]
    fn corrosive_to_metals_is_never_computed() {
        let lye = Mixture::of(vec![ingredient("50", &["Met. Corr. 1"])]);
        assert!(found(&lye, RuleSet::EuUk).is_empty());
        let mut stated = lye;
        stated.stated_physical = vec!["Met. Corr. 1".parse().unwrap()];
        let diluted = classify(&stated.dilute(&share("0.1")), RuleSet::EuUk).unwrap();
        let hazard = "Met. Corr. 1".parse().unwrap();
        assert_eq!(diluted.hazards(), [hazard]);
        assert_eq!(diluted.notes, [Note::StatedBeforeDilution { hazard }]);
    }

    #[test]
    fn what_the_sheet_states_is_kept() {
        let stated_physical = ["Met. Corr. 1", "Ox. Liq. 3"]
            .map(|hazard| hazard.parse().unwrap())
            .to_vec();
        let mixture = Mixture {
            stated_physical,
            ..Mixture::default()
        };
        assert_eq!(found(&mixture, RuleSet::UnitedStates), ["Ox. Liq. 3", "Met. Corr. 1"]);
        let diluted = classify(&mixture.dilute(&share("1")), RuleSet::UnitedStates).unwrap();
        assert_eq!((diluted.hazards.len(), diluted.notes.len()), (2, 2));
    }
}
