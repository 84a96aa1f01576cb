//! The company file: who we are and what we own. Products, sprayers, label stock, crew.

mod address;
mod airborne;
mod company;
mod containers;
mod contrast;
mod correction;
mod credible;
mod directions;
mod dose;
mod ingredient;
mod language;
mod logo;
mod lots;
mod mail;
mod measured;
mod product;
mod publish;
mod regime;
mod sds;
mod sprayer;
pub(crate) mod stock;
mod strip_scale;
mod style;
mod vessel;
mod words;

pub use address::Address;
pub use airborne::Airborne;
pub(crate) use airborne::check_droplets;
pub use company::{Company, CompanyFile, Member, PageSize};
pub use containers::Container;
pub use correction::Correction;
pub use credible::Doubt;
pub use directions::Directions;
pub use ingredient::Ingredient;
pub use language::{Languages, Tongue};
pub use logo::{Logo, check as check_logo};
pub use lots::Lots;
pub use mail::{Mail, Secret, Security, Server};
pub use measured::{Flash, Measured};
pub use product::{LabelSignal, Product, ProductKind};
pub use publish::Publish;
pub use regime::{Regime, StateRule};
pub use sds::{DilutedHazards, Sds};
pub use sprayer::Sprayer;
pub use stock::{SizeClass, Stock};
pub use strip_scale::StripScale;
pub use style::Style;
pub use vessel::Vessel;
pub use words::{Equipment, Method, Surface};

use jiff::civil::Date;

use crate::report::Report;
use crate::yaml::{self, Node};

/// Keys of products, sprayers and stock: they name files and must be plain.
pub(crate) fn plain_key(key: &str) -> bool {
    !key.is_empty()
        && key.len() <= 64
        && key.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.'))
        && key.starts_with(|c: char| c.is_ascii_alphanumeric())
}

/// A date, in the years that a job or a product of today can name.
pub(crate) fn read_date(node: &Node<'_>, report: &mut Report) -> Option<Date> {
    node.parse(report, yaml::date)
}
