//! How much active a litre, or a kilogram, of a use solution holds.

use super::amount::{Amount, Form};
use super::dilution::Ratio;
use super::error::CalcError;
use crate::quantity::{Content, Density, Number, Share, Strength};

/// Density of the water a solution is mixed with, kg/L: 0.998207 at 20 °C (IAPWS-95), rounded down.
/// The lower figure makes mg/kg the higher one: the side that protects.
pub fn water_density() -> Density {
    Density::kilograms_per_litre(Number::ratio(998, 1000))
}

/// What the calculations need to know of a product before it is mixed.
#[derive(Clone, Copy, Debug)]
pub struct Concentrate<'a> {
    pub form: Form,
    /// Its density, kg/L; needed for a liquid whose contents are by weight.
    pub density: Option<&'a Density>,
    /// The content of the active that a target strength counts (what the strip measures).
    pub content: Option<&'a Content>,
    /// Density of that active itself, kg/L; needed for a content by volume (`70 % v/v`).
    pub active_density: Option<&'a Density>,
}

/// Milligrams of an active in an amount of the concentrate.
///
/// | content | liquid, `V` mL | powder, `m` g | tablets, `n` |
/// | --- | --- | --- | --- |
/// | by weight `w` | `1000 w ρ V` | `1000 w m` | – |
/// | by volume `c` mg/L | `c V / 1000` | – | – |
/// | share of volume `φ` | `1000 φ ρ_active V` | – | – |
/// | by tablet `a` g | – | – | `1000 a n` |
///
/// with densities in kg/L (the same figure as g/mL).
pub fn active_in(content: &Content, concentrate: &Concentrate, amount: &Amount) -> Result<Number, CalcError> {
    let thousand = Number::int(1000);
    let density_of = |density: Option<&Density>, missing: CalcError| match density {
        None => Err(missing),
        Some(density) if density.as_kilograms_per_litre().is_positive() => Ok(density.as_kilograms_per_litre().clone()),
        Some(_) => Err(CalcError::NotPositive { what: "a density" }),
    };
    match (content, amount) {
        (_, Amount::None) => Ok(Number::zero()),
        (Content::ByWeight(share), Amount::Liquid(volume)) => {
            let density = density_of(concentrate.density, CalcError::MissingDensity)?;
            Ok(share.as_of_one() * &density * volume.as_millilitres() * thousand)
        }
        (Content::ByWeight(share), Amount::Powder(mass)) => Ok(share.as_of_one() * mass.as_grams() * thousand),
        (Content::ByVolume(strength), Amount::Liquid(volume)) => {
            Ok(strength.as_milligrams_per_litre() * volume.as_millilitres() / thousand)
        }
        (Content::VolumeShare(share), Amount::Liquid(volume)) => {
            let density = density_of(concentrate.active_density, CalcError::MissingActiveDensity)?;
            Ok(share.as_of_one() * &density * volume.as_millilitres() * thousand)
        }
        (Content::PerTablet(mass), Amount::Tablets(count)) => Ok(mass.as_grams() * count * thousand),
        _ => Err(CalcError::WrongForm {
            what: match content {
                Content::ByWeight(_) => "a content by weight",
                Content::ByVolume(_) => "a content by weight in volume",
                Content::VolumeShare(_) => "a content by volume",
                Content::PerTablet(_) => "a content per tablet",
            },
            form: concentrate.form.words(),
        }),
    }
}

/// Strength of an active in the use solution, mg/L: the active in the product of one litre.
pub fn strength(content: &Content, concentrate: &Concentrate, ratio: &Ratio) -> Result<Strength, CalcError> {
    active_in(content, concentrate, &ratio.product_per_litre_of_solution).map(Strength::milligrams_per_litre)
}

/// Mass of one litre of use solution, kg: water at [`water_density`] and product by mass balance.
///
/// A tablet's weight is seldom known and always small: it counts as nothing, which makes mg/kg the higher figure.
pub fn solution_density(concentrate: &Concentrate, ratio: &Ratio) -> Result<Density, CalcError> {
    let thousand = Number::int(1000);
    let water =
        ratio.water_per_litre_of_solution.as_millilitres() / &thousand * water_density().as_kilograms_per_litre();
    let product = match &ratio.product_per_litre_of_solution {
        Amount::Liquid(volume) => {
            let density = concentrate.density.ok_or(CalcError::MissingDensity)?;
            volume.as_millilitres() / &thousand * density.as_kilograms_per_litre()
        }
        Amount::Powder(mass) => mass.as_grams() / &thousand,
        Amount::Tablets(_) | Amount::None => Number::zero(),
    };
    Ok(Density::kilograms_per_litre(water + product))
}

/// Milligrams of active in a kilogram of use solution: mg/L over kg/L. One per cent by weight is 10 000 mg/kg.
pub fn milligrams_per_kilogram(strength: &Strength, solution: &Density) -> Result<Number, CalcError> {
    if !solution.as_kilograms_per_litre().is_positive() {
        return Err(CalcError::NotPositive { what: "the solution's density" });
    }
    Ok(strength.as_milligrams_per_litre() / solution.as_kilograms_per_litre())
}

/// Share by weight of any ingredient (active or not) in the use solution: its mg/kg over 1 000 000.
pub fn share_by_weight(content: &Content, concentrate: &Concentrate, ratio: &Ratio) -> Result<Share, CalcError> {
    let strength = strength(content, concentrate, ratio)?;
    let density = solution_density(concentrate, ratio)?;
    Ok(Share::of_one(milligrams_per_kilogram(&strength, &density)? / Number::int(1_000_000)))
}

#[cfg(test)]
mod tests;
