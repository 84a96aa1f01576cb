//! From a dilution as a label writes it to water and product.
//!
//! Volumes of liquids are taken as additive. A powder or a tablet is taken to add no volume, as the published mixing
//! tables take it (CDC, "How to make 0.1 % chlorine solution", 2021: 30 g into 20 L). The real solution is then a
//! little larger than said, by under 1 mL for each gram, so the strength printed is at most about 0.1 % too high at 1
//! g/L: on the side that protects for residue and hazard, and far inside the reading of any strip.

use serde::Serialize;

use super::amount::{Amount, Form};
use super::error::{CalcError, positive};
use super::strength::{Concentrate, active_in};
use crate::quantity::{Basis, Dilution, Mass, Number, Volume};

/// A dilution, resolved: how much water and product make a litre of solution.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Ratio {
    pub product_per_litre_of_solution: Amount,
    /// Water in one litre of solution. Zero for a ready-to-use product.
    pub water_per_litre_of_solution: Volume,
    /// Whether the label counts water ([`Basis::AddedTo`]) or solution ([`Basis::MadeUpTo`]); the sheet says which in
    /// words.
    pub basis: Basis,
}

impl Ratio {
    /// Product for one litre of water; `None` for a ready-to-use product.
    pub fn product_per_litre_of_water(&self) -> Option<Amount> {
        let scale = times_into(&self.water_per_litre_of_solution, &litre())?;
        Some(self.product_per_litre_of_solution.times(&scale))
    }

    /// Product for so much water, before any rounding; `None` for a ready-to-use product.
    pub fn product_for_water(&self, water: &Volume) -> Option<Amount> {
        self.product_per_litre_of_water().map(|product| product.times(&water.over(&litre())))
    }

    /// Product in so much solution, before any rounding.
    pub fn product_in_solution(&self, solution: &Volume) -> Amount {
        self.product_per_litre_of_solution.times(&solution.over(&litre()))
    }

    /// Whether nothing is mixed.
    pub fn is_ready_to_use(&self) -> bool {
        self.water_per_litre_of_solution.is_zero()
    }

    /// Parts of water for one part of a liquid product by volume: `C_strong / C_target − 1` in the published form
    /// (CDC guidance on chlorine solutions). `None` for powders, tablets and ready-to-use products.
    pub fn parts_of_water(&self) -> Option<Number> {
        match &self.product_per_litre_of_solution {
            Amount::Liquid(product) if !self.is_ready_to_use() => {
                times_into(product, &self.water_per_litre_of_solution)
            }
            _ => None,
        }
    }
}

/// Works out what a dilution means for a concentrate.
///
/// | written | product in 1 L of solution | water in 1 L of solution |
/// | --- | --- | --- |
/// | `x` added to `y` (liquid) | `x/(x+y)` | `y/(x+y)` |
/// | `x` made up to `y` (liquid) | `x/y` | `1 − x/y` |
/// | powder, tablets, either way | `x/y` | 1 L |
/// | `1:N`, `1 in N` | `1/(1+N)`, `1/N` | the rest |
/// | `s %` | `s` (liquid), `10 s` g (powder) | the rest, 1 L |
/// | target | target ÷ active in one unit of product | the rest (liquid), 1 L |
pub fn resolve(dilution: &Dilution, concentrate: &Concentrate) -> Result<Ratio, CalcError> {
    let form = concentrate.form;
    if form == Form::ReadyToUse {
        return match dilution {
            Dilution::ReadyToUse => Ok(Ratio {
                product_per_litre_of_solution: Amount::Liquid(litre()),
                water_per_litre_of_solution: Volume::zero(),
                basis: Basis::MadeUpTo,
            }),
            _ => Err(wrong("a dilution", form)),
        };
    }
    match dilution {
        Dilution::ReadyToUse => Err(wrong("`ready to use`", form)),
        Dilution::Liquid { product, per, basis } => {
            expect(form, Form::Liquid, "a dose by volume")?;
            liquid(product.as_millilitres(), per.as_millilitres(), *basis)
        }
        Dilution::Parts { product, per, basis } => {
            // Parts are parts by volume: nobody measures a powder so, and by weight the label says so in grams.
            expect(form, Form::Liquid, "a dilution in parts by volume")?;
            liquid(product, per, *basis)
        }
        Dilution::Powder { product, per, basis } => {
            expect(form, Form::Powder, "a dose by weight")?;
            Ok(dry(Amount::Powder(Mass::grams(litres_of(product.as_grams(), per)?)), *basis))
        }
        Dilution::Tablets { count, per, basis } => {
            expect(form, Form::Tablet, "a dose in tablets")?;
            Ok(dry(Amount::Tablets(litres_of(count, per)?), *basis))
        }
        Dilution::Percent { share } if form == Form::Liquid => {
            liquid(share.as_of_one(), &Number::one(), Basis::MadeUpTo)
        }
        Dilution::Percent { share } => {
            expect(form, Form::Powder, "a percentage")?;
            // 1 % is 1 g in 100 mL: 10 g in a litre.
            let grams = positive(share.as_of_one(), "the dose")? * &Number::int(1000);
            Ok(dry(Amount::Powder(Mass::grams(grams)), Basis::MadeUpTo))
        }
        Dilution::Target { strength } => {
            let target = positive(strength.as_milligrams_per_litre(), "the target strength")?;
            let one = match form {
                Form::Liquid | Form::ReadyToUse => Amount::Liquid(Volume::millilitres(Number::one())),
                Form::Powder => Amount::Powder(Mass::grams(Number::one())),
                Form::Tablet => Amount::Tablets(Number::one()),
            };
            let content = concentrate.content.ok_or(CalcError::MissingContent)?;
            let held = active_in(content, concentrate, &one)?;
            let dose = target / positive(&held, "the content of the active")?;
            if form != Form::Liquid {
                return Ok(dry(one.times(&dose), Basis::MadeUpTo));
            }
            liquid(&dose, &Number::int(1000), Basis::MadeUpTo)
                .map_err(|e| if e == CalcError::NoRoomForWater { CalcError::TargetTooStrong } else { e })
        }
    }
}

fn litre() -> Volume {
    Volume::millilitres(Number::int(1000))
}

/// So much liquid for so much, in any one unit of volume.
fn liquid(product: &Number, per: &Number, basis: Basis) -> Result<Ratio, CalcError> {
    let product = positive(product, "the dose")?;
    let per = positive(per, "the volume that the dose is for")?;
    let whole = match basis {
        Basis::AddedTo => product + per,
        Basis::MadeUpTo => per.clone(),
    };
    let share = product / &whole;
    if share >= Number::one() {
        return Err(CalcError::NoRoomForWater);
    }
    let litre = litre();
    let water = litre.times(&(Number::one() - &share));
    Ok(Ratio {
        product_per_litre_of_solution: Amount::Liquid(litre.times(&share)),
        water_per_litre_of_solution: water,
        basis,
    })
}

/// A dry product in one litre: it adds no volume, so a litre of solution takes a litre of water on either basis.
fn dry(product_per_litre_of_solution: Amount, basis: Basis) -> Ratio {
    Ratio { product_per_litre_of_solution, water_per_litre_of_solution: litre(), basis }
}

/// A dose for `per`, brought to one litre.
fn litres_of(dose: &Number, per: &Volume) -> Result<Number, CalcError> {
    let per = positive(per.as_millilitres(), "the volume that the dose is for")?;
    Ok(positive(dose, "the dose")? * &Number::int(1000) / per)
}

fn expect(form: Form, needed: Form, what: &'static str) -> Result<(), CalcError> {
    if form == needed { Ok(()) } else { Err(wrong(what, form)) }
}

fn wrong(what: &'static str, form: Form) -> CalcError {
    CalcError::WrongForm { what, form: form.words() }
}

impl Form {
    /// The form in words, as a message says it.
    pub fn words(self) -> &'static str {
        match self {
            Form::Liquid => "a liquid concentrate",
            Form::Powder => "a powder",
            Form::Tablet => "a tablet",
            Form::ReadyToUse => "ready to use",
        }
    }
}

/// How many times `part` goes into `whole`; `None` for a part of 0.
fn times_into(part: &Volume, whole: &Volume) -> Option<Number> {
    (!part.is_zero()).then(|| whole.over(part))
}

#[cfg(test)]
mod tests;
