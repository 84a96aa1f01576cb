//! The company file: who we are and what we own. Products, sprayers, label stock, crew.

mod address;
mod airborne;
mod containers;
mod contrast;
mod correction;
mod credible;
mod directions;
mod dose;
mod firm;
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
mod words;

pub use address::Address;
pub use airborne::Airborne;
pub(crate) use airborne::check_droplets;
pub use containers::Container;
pub use correction::Correction;
pub use credible::Doubt;
pub use directions::Directions;
pub use firm::{Company, CompanyFile, CompanyKeys, Dates, LINK_TOO_LONG, Member, PageSize};
pub use ingredient::Ingredient;
pub use language::{DocumentLanguages, Languages, Tongue};
pub use logo::{Logo, check as check_logo};
pub use lots::Lots;
pub use mail::{Mail, Secret, Security, Server};
pub use measured::Flash;
pub use product::{LabelSignal, Product, ProductKind};
pub use publish::Publish;
pub use regime::{Regime, StateRule};
pub use sds::{DilutedHazards, Sds};
pub use sprayer::{Sprayer, Vessel};
pub use stock::{SizeClass, Stock};
pub use strip_scale::StripScale;
pub use style::Style;
pub use words::{Equipment, Method, Surface};

use jiff::civil::Date;

use crate::diagnostic::Diagnostics;
pub(crate) use crate::yaml::plain_key;
use crate::yaml::{self, Node};

/// A date, in the years that a job or a product of today can name.
pub(crate) fn read_date(node: &Node<'_>, report: &mut Diagnostics) -> Option<Date> {
    node.parse(report, yaml::date)
}
