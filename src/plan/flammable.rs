//! Flammable solutions: what is refused, and what the crew is warned of.
//!
//! A mist burns below its liquid's flash point (Health and Safety Executive, Research Report RR980, and its page on
//! flammable mists: 37 ignitions, 20 explosions, 29 deaths in the review of 2009), and cleaning a room with alcohol has
//! killed by flash fire. So a flammable solution is not made into a mist, and not sprayed over a large area indoors, unless
//! the label's directions say so.

use super::strength::concentrate;
use super::{Caution, Fact, HazardSource, TreatmentPlan};
use crate::calc::mixing::Family;
use crate::calc::strength::{share_by_weight, strength};
use crate::calc::{Amount, vapour};
use crate::company::{Airborne, Flash, Ingredient, Method, Product, ProductKind};
use crate::diagnostic::Diagnostics;
use crate::ghs::{Category, Class, Hazard};
use crate::job::{Job, Treatment};
use crate::quantity::{Area, Length, Number, Share, Strength, Volume};

/// 29 CFR 1910.106(a)(19): a liquid of Categories 1 to 3 flashes at 60 °C or below.
const FLASHES_AT_MOST: i64 = 60;

/// Below this share by weight, in percent, of what burns, a watery solution of unknown flash point is taken not to burn.
/// No published rule; chosen because it protects: water with 10 % by volume of ethanol still flashes at about 49 °C.
const TRACE: i64 = 1;

/// What is sprayed indoors in one visit beyond this, in milliliters, is a large area. No published rule; chosen because it
/// protects: 1 L of 70 % ethanol brings 35 m³ of air, a small room, to a quarter of the lower flammable limit.
const LARGE: i64 = 1000;

/// The height of ceiling that room air is counted with, in meters. No published rule: a common one, 8 ft.
fn ceiling() -> Number {
    Number::ratio(12, 5)
}

/// Cautions for every treatment whose solution burns; what the label does not direct is an error.
pub(super) fn flammables(job: &Job, treatments: &[TreatmentPlan], report: &mut Diagnostics) -> Vec<Caution> {
    let mut cautions = Vec::new();
    let mut sprayed: Vec<(&Treatment, Volume)> = Vec::new();
    for plan in treatments {
        let written = &job.treatments[plan.number - 1];
        if !burns(written, plan) {
            continue;
        }
        let indoors: Volume = plan.areas.iter().filter(|a| !a.outdoors).map(|a| &a.solution).sum();
        let about = |code| Caution::new(code, Some(plan.number)).with("product", Fact::text(&written.product.name));
        cautions.push(about("flammable"));
        let directions = &written.directions;
        if written.sprayer.airborne().is_none() {
            let over_area = matches!(written.sprayer.method, Method::Spray | Method::Foam);
            if over_area && !directions.large_areas {
                sprayed.push((written, indoors.clone()));
            }
        } else if directions.methods.iter().any(|method| Airborne::of(*method, None).is_some()) {
            cautions.push(about("flammable-mist"));
        } else {
            mist_not_on_label(written, report);
        }
        if let Some(air) = air_for_a_litre(written, plan).filter(|_| !indoors.is_zero()) {
            let cubic_metres = indoors.as_millilitres() / Number::int(1000) * &air;
            let floor = (cubic_metres / ceiling()).ceil_to(&Number::one());
            let caution = Caution::new("flammable-air", Some(plan.number))
                .with("per", Fact::Volume(Volume::millilitres(Number::int(1000) / &air)))
                .with("laid", Fact::Volume(indoors))
                .with("floor", Fact::Area(Area::square_metres(floor)))
                .with("ceiling", Fact::Length(Length::metres(ceiling())));
            cautions.push(caution);
        }
    }
    let all: Volume = sprayed.iter().map(|(_, volume)| volume).sum();
    if *all.as_millilitres() > LARGE {
        for (written, _) in sprayed.iter().filter(|(_, volume)| !volume.is_zero()) {
            large_area(written, &all, report);
        }
    }
    cautions
}

/// Whether the use solution is a flammable liquid.
///
/// Its own flash point decides, where the file gives it; for a product that is not diluted that is the product's. Then what
/// the data sheet or the mixture rules say of the use solution. Otherwise what burns in it is counted: an alcohol product's
/// actives, alcohols by CAS number, ingredients classified as flammable liquids; or the concentrate as a whole, where it
/// burns and the file does not say by what.
fn burns(written: &Treatment, plan: &TreatmentPlan) -> bool {
    let (product, undiluted) = (&written.product, plan.ratio.is_ready_to_use());
    let own = written.directions.flash_point.as_ref();
    let flash = own.or(product.flash_point.as_ref().filter(|_| undiluted));
    if let Some(flash) = flash {
        return flashes(flash);
    }
    let of_solution =
        matches!(plan.hazards.source, HazardSource::UseSolution | HazardSource::Product | HazardSource::Calculated);
    if of_solution && plan.hazards.classes.iter().any(|hazard| is_flammable(*hazard)) {
        return true;
    }
    let burning: Vec<&Ingredient> = product.ingredients.iter().filter(|i| feeds(product, i)).collect();
    let share = if burning.is_empty() {
        let concentrate = product.flash_point.as_ref().is_some_and(flashes)
            || product.sds.hazards.iter().any(|hazard| is_flammable(*hazard))
            || product.kind == ProductKind::Alcohol;
        if !concentrate {
            return false;
        }
        share_of_concentrate(plan)
    } else {
        burning.iter().map(|ingredient| share_of(ingredient, product, plan)).sum()
    };
    share.as_percent() >= TRACE
}

fn flashes(flash: &Flash) -> bool {
    matches!(flash, Flash::At(point) if *point.as_celsius() <= FLASHES_AT_MOST)
}

fn is_flammable(hazard: Hazard) -> bool {
    hazard.class() == Class::FlammableLiquid && hazard.category() != Category::Four
}

fn feeds(product: &Product, ingredient: &Ingredient) -> bool {
    let is_alcohol = |cas| Family::of_cas(cas).any(|family| family == Family::Alcohol);
    let stated = ingredient.facts.as_ref();
    ingredient.cas.as_deref().is_some_and(is_alcohol)
        || stated.is_some_and(|facts| facts.hazards.iter().any(|hazard| is_flammable(*hazard)))
        || (product.kind == ProductKind::Alcohol && ingredient.active)
}

/// Share by weight in the use solution; as if all the concentrate were this ingredient, where a density is missing.
fn share_of(ingredient: &Ingredient, product: &Product, plan: &TreatmentPlan) -> Share {
    share_by_weight(&ingredient.content, &concentrate(product, ingredient.density.as_ref()), &plan.ratio)
        .unwrap_or_else(|_| share_of_concentrate(plan))
}

/// By volume; a powder or a tablet is not a flammable liquid.
fn share_of_concentrate(plan: &TreatmentPlan) -> Share {
    match &plan.ratio.product_per_litre_of_solution {
        Amount::Liquid(volume) => Share::of_one(volume.as_millilitres() / &Number::int(1000)),
        _ => Share::zero(),
    }
}

/// Cubic meters of air for a liter of the use solution, by what of it is in the table of limits.
fn air_for_a_litre(written: &Treatment, plan: &TreatmentPlan) -> Option<Number> {
    let product = &written.product;
    let held = product.ingredients.iter().filter_map(|ingredient| {
        let concentrate = concentrate(product, ingredient.density.as_ref());
        Some((ingredient.cas.as_deref()?, strength(&ingredient.content, &concentrate, &plan.ratio).ok()?))
    });
    let held: Vec<(&str, Strength)> = held.collect();
    vapour::air_for_a_litre(held.iter().map(|(cas, strength)| (*cas, strength)))
}

fn mist_not_on_label(written: &Treatment, report: &mut Diagnostics) {
    let message = format!(
        "`{}` burns, and `{}` makes a mist of it; the directions `{}` name no mist or fog",
        written.product.key, written.sprayer_key, written.directions.key
    );
    report.push(
        written
            .origin
            .key("sprayer")
            .error("flammable-mist", message)
            .hint("a mist burns below its liquid's flash point (Health and Safety Executive, RR980): wipe it on")
            .hint(FLASH_HINT),
    );
}

const FLASH_HINT: &str = "if the use solution does not burn, give its flash point at the directions, from the data \
                          sheet: `flash_point: none found`";

fn large_area(written: &Treatment, all: &Volume, report: &mut Diagnostics) {
    let message = format!(
        "`{}` burns, and the visit sprays {} L of what burns indoors, more than 1 L",
        written.product.key,
        (all.as_millilitres() / Number::int(1000)).decimal(2)
    );
    report.push(
        written
            .origin
            .key("sprayer")
            .error("flammable-large-area", message)
            .hint("wipe it on, treat less, or choose a product that does not burn")
            .hint("if the label directs spraying large areas with it, write `large_areas: yes` at the directions")
            .hint(FLASH_HINT),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Temperature;

    /// 29 CFR 1910.106(a)(19): 60 °C. What no test found has none.
    #[test]
    fn flash_points() {
        let at = |celsius| Flash::At(Temperature::celsius(Number::int(celsius)));
        assert!(flashes(&at(17)) && flashes(&at(60)));
        assert!(!flashes(&at(61)) && !flashes(&Flash::NoneFound));
    }
}
