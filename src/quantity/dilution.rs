//! Every way a product label writes a dilution, and how much of an active a concentrate holds.

use serde::Serialize;

use super::kinds::{Mass, Share, Strength, Volume};
use super::number::Number;

/// A dilution as the label writes it. What it means in water and product is worked out in [`crate::calc`].
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Dilution {
    /// `ready to use`: nothing is added.
    ReadyToUse,
    /// `2 fl oz/gal`, `8 mL/L`, `2 fl oz per gal`: so much liquid product for so much.
    Liquid { product: Volume, per: Volume, basis: Basis },
    /// `10 g/L`, `1 oz/gal` of a powder: so much by weight for so much.
    Powder { product: Mass, per: Volume, basis: Basis },
    /// `2 tablets/10 L`: so many tablets for so much.
    Tablets { count: Number, per: Volume, basis: Basis },
    /// `1:64` (one part product and 64 parts water, [`Basis::AddedTo`]) or `1 in 64` (one part product in 64 parts in all,
    /// [`Basis::MadeUpTo`]).
    Parts { product: Number, per: Number, basis: Basis },
    /// `0.5 %`: the product's share of the solution's volume (liquid) or grams in 100 mL of solution (powder).
    Percent { share: Share },
    /// `400 ppm`: the dose is solved from the product's content.
    Target { strength: Strength },
}

impl Dilution {
    /// Whether its second figure counts water or solution; per cent and a strength are of the solution. `None` where nothing is
    /// added.
    pub fn basis(&self) -> Option<Basis> {
        match self {
            Dilution::Liquid { basis, .. }
            | Dilution::Powder { basis, .. }
            | Dilution::Tablets { basis, .. }
            | Dilution::Parts { basis, .. } => Some(*basis),
            Dilution::Percent { .. } | Dilution::Target { .. } => Some(Basis::MadeUpTo),
            Dilution::ReadyToUse => None,
        }
    }
}

/// What the second figure of a dilution counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Basis {
    /// Water: the product is added to that much water.
    AddedTo,
    /// Solution: the mix is made up to that much in all.
    MadeUpTo,
}

/// The form a product is sold in; it decides how an amount of it may be written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Form {
    /// A liquid concentrate: by volume; `oz` is a fluid ounce.
    Liquid,
    /// A powder or granules: by weight; `oz` is an ounce by weight.
    Powder,
    /// Tablets: by number.
    Tablet,
    /// A liquid applied as it is sold: by volume, and never diluted.
    ReadyToUse,
}

/// How much of a substance a concentrate holds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Content {
    /// By weight: `10 %`, `10 % w/w`, `80 g/kg`.
    ByWeight(Share),
    /// By weight in volume: `12.5 % w/v`, `120 g/L`, `12.5 % trade` (grams of available chlorine in 100 mL).
    ByVolume(Strength),
    /// By volume: `70 % v/v`, alcohols; the density of the substance turns it to weight.
    VolumeShare(Share),
    /// By piece: `1 g/tablet`.
    PerTablet(Mass),
}
