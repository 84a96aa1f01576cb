//! How strong the mix is, of what the product's strip measures.

use super::{ActiveStrength, Measured, StrengthPlan};
use crate::calc::strength::{milligrams_per_kilogram, solution_density, strength};
use crate::calc::{CalcError, Concentrate, Ratio, chlorine, dilution};
use crate::company::{Directions, Product};
use crate::quantity::{Content, Density, Dilution, Number, Share, Strength};

pub(super) fn ratio(product: &Product, written: &Dilution) -> Result<Ratio, CalcError> {
    let (content, pure) = measured_content(product).unzip();
    let concentrate = Concentrate { content: content.as_ref(), ..concentrate(product, pure.flatten()) };
    dilution::resolve(written, &concentrate)
}

/// The strength at the label's own dose: available chlorine for chlorine products, else all actives together.
pub(super) fn measured(product: &Product, ratio: &Ratio) -> Result<Strength, CalcError> {
    if product.kind.is_chlorine()
        && let Some((content, density)) = measured_content(product)
    {
        return strength(&content, &concentrate(product, density), ratio);
    }
    product.actives().map(|a| strength(&a.content, &concentrate(product, a.density.as_ref()), ratio)).sum()
}

/// The whole of it: at the label's dose, as mixed in the weakest and the strongest load, each active.
pub(super) fn plan(
    product: &Product,
    directions: &Directions,
    ratio: &Ratio,
    at_label: &Strength,
    weakest: &Number,
    strongest: &Number,
) -> Result<StrengthPlan, CalcError> {
    let mut actives = Vec::new();
    // Without the product's density there is no mg/kg; everything else stands.
    let density = solution_density(&concentrate(product, None), ratio).ok();
    for active in product.actives() {
        let concentrate = concentrate(product, active.density.as_ref());
        let by_volume = strength(&active.content, &concentrate, ratio)?.times(weakest);
        let by_mass = density.as_ref().map(|d| milligrams_per_kilogram(&by_volume, d)).transpose()?;
        let per_million = by_mass.clone().unwrap_or_else(|| by_volume.as_milligrams_per_litre().clone());
        actives.push(ActiveStrength {
            name: active.name.clone(),
            cas: active.cas.clone(),
            by_volume,
            milligrams_per_kilogram: by_mass,
            share: Share::of_one(per_million / Number::int(1_000_000)),
        });
    }
    let chlorine = product.kind.is_chlorine() && measured_content(product).is_some();
    Ok(StrengthPlan {
        of: if chlorine { Measured::AvailableChlorine } else { Measured::Actives },
        label: at_label.clone(),
        mixed: at_label.times(weakest),
        strongest: at_label.times(strongest),
        stated: directions.stated_strength.clone().filter(|s| !s.is_zero()),
        actives,
    })
}

impl StrengthPlan {
    /// Each active in a load whose strength is so many times the label's.
    pub(super) fn actives_at(&self, factor: &Number) -> Vec<ActiveStrength> {
        // `actives` are those of the weakest load.
        let scale = factor / &self.mixed.over(&self.label);
        let at = |active: &ActiveStrength| ActiveStrength {
            by_volume: active.by_volume.times(&scale),
            milligrams_per_kilogram: active.milligrams_per_kilogram.as_ref().map(|figure| figure * &scale),
            share: active.share.times(&scale),
            ..active.clone()
        };
        self.actives.iter().map(at).collect()
    }
}

/// A product as calculations take it; `pure` is the density of the substance in question.
pub(super) fn concentrate<'p>(product: &'p Product, pure: Option<&'p Density>) -> Concentrate<'p> {
    Concentrate { form: product.form, density: product.density.as_ref(), content: None, active_density: pure }
}

/// The content of what the strip measures: stated available chlorine; else worked out from a single chlorine compound;
/// else the actives together, where all are given in the same way.
fn measured_content(product: &Product) -> Option<(Content, Option<&Density>)> {
    if let Some(stated) = &product.available_chlorine {
        return Some((stated.clone(), None));
    }
    if product.kind.is_chlorine() {
        let actives: Vec<_> = product.actives().collect();
        let [active] = actives.as_slice() else {
            return None;
        };
        let factor = active.cas.as_deref().and_then(chlorine::available_chlorine_factor)?;
        return Some((scaled(&active.content, &factor), None));
    }
    let actives: Vec<_> = product.actives().collect();
    let (first, rest) = actives.split_first()?;
    let mut sum = first.content.clone();
    for active in rest {
        sum = added(&sum, &active.content)?;
    }
    // A share by volume needs one density; two actives by volume have two.
    (rest.is_empty() || !matches!(sum, Content::VolumeShare(_))).then_some((sum, first.density.as_ref()))
}

fn scaled(content: &Content, factor: &Number) -> Content {
    match content {
        Content::ByWeight(share) => Content::ByWeight(share.times(factor)),
        Content::ByVolume(strength) => Content::ByVolume(strength.times(factor)),
        Content::VolumeShare(share) => Content::VolumeShare(share.times(factor)),
        Content::PerTablet(mass) => Content::PerTablet(mass.times(factor)),
    }
}

fn added(a: &Content, b: &Content) -> Option<Content> {
    Some(match (a, b) {
        (Content::ByWeight(a), Content::ByWeight(b)) => Content::ByWeight(a + b),
        (Content::ByVolume(a), Content::ByVolume(b)) => Content::ByVolume(a + b),
        (Content::PerTablet(a), Content::PerTablet(b)) => Content::PerTablet(a + b),
        _ => return None,
    })
}
