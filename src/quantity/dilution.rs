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
    Liquid {
        /// Product, in the amount the label names.
        product: Volume,
        /// For this much, water or solution by `basis`.
        per: Volume,
        /// What `per` is.
        basis: Basis,
    },
    /// `10 g/L`, `1 oz/gal` of a powder: so much by weight for so much.
    Powder {
        /// Product, in the amount the label names.
        product: Mass,
        /// For this much, water or solution by `basis`.
        per: Volume,
        /// What `per` is.
        basis: Basis,
    },
    /// `2 tablets/10 L`: so many tablets for so much.
    Tablets {
        /// How many tablets.
        count: Number,
        /// For this much, water or solution by `basis`.
        per: Volume,
        /// What `per` is.
        basis: Basis,
    },
    /// `1:64` (one part product and 64 parts water) or `1 in 64` (one part product in 64 parts in all).
    Parts {
        /// Parts of product.
        product: Number,
        /// Parts of water (`1:64`) or of solution (`1 in 64`), by `basis`.
        per: Number,
        /// [`Basis::AddedTo`] for `1:64`, [`Basis::MadeUpTo`] for `1 in 64`.
        basis: Basis,
    },
    /// `0.5 %`: the product's share of the solution's volume (liquid) or grams in 100 mL of solution (powder).
    Percent {
        /// The share.
        share: Share,
    },
    /// `400 ppm`: the dose is solved from the product's content.
    Target {
        /// The strength wanted, of what the product's strip measures.
        strength: Strength,
    },
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
