//! The Food Code's conditions for sanitizers, held against what the job says of temperature, pH and hardness.

use super::{Caution, Fact, StrengthPlan};
use crate::calc::food_code::{Figure, Sanitizer, Unmet, Use, chlorine, contact_time, iodine, quaternary};
use crate::catalog::{ProductKind, Surface};
use crate::job::{Site, Treatment};

/// Cautions for a treatment of surfaces that food touches, where the job says anything of its water.
pub(super) fn cautions(number: usize, written: &Treatment, site: &Site, strength: &StrengthPlan) -> Vec<Caution> {
    let kind = written.product.kind;
    if written.directions.surface != Surface::FoodContact || !site.water.is_known() {
        return Vec::new();
    }
    // The label's pH of the use solution stands in where nobody has measured it.
    let ph = site.water.ph.as_ref().or(written.directions.ph.as_ref());
    let solution = Use {
        strength: Some(&strength.mixed),
        temperature: site.water.temperature.as_ref(),
        ph,
        hardness: site.water.hardness.as_ref(),
    };
    let (unmet, sanitizer) = match kind {
        _ if kind.is_chlorine() => (chlorine(&solution), Sanitizer::Chlorine),
        ProductKind::Iodine => (iodine(&solution, None), Sanitizer::Other),
        ProductKind::Quat => (quaternary(&solution, &strength.label, None), Sanitizer::Other),
        _ => return Vec::new(),
    };
    let mut cautions: Vec<Caution> = unmet.into_iter().map(|unmet| said(number, unmet)).collect();
    let least = contact_time(sanitizer, &solution);
    if written.directions.contact_time < least {
        cautions.push(Caution::new("food-code-short", Some(number)).with("least", Fact::Time(least)));
    }
    cautions
}

fn said(number: usize, unmet: Unmet) -> Caution {
    let about = |code| Caution::new(code, Some(number));
    match unmet {
        Unmet::TooWeak { least } => about("food-code-weak").with("least", Fact::Strength(least)),
        Unmet::TooStrong { most } => about("food-code-strong").with("most", Fact::Strength(most)),
        Unmet::TooCold { least } => about("food-code-cold").with("least", Fact::Temperature(least)),
        Unmet::PhTooHigh { most } => about("food-code-ph").with("most", Fact::Count(most)),
        Unmet::TooHard { most } => about("food-code-hard").with("most", Fact::Strength(most)),
        Unmet::NotGiven { what } => {
            let figure = match what {
                Figure::Strength => "figures.strength",
                Figure::Temperature => "figures.temperature",
                Figure::Ph => "figures.ph",
                Figure::Hardness => "figures.hardness",
            };
            about("food-code-not-given").with("what", Fact::Word(figure.to_owned()))
        }
    }
}
