//! The company file: who we are and what we own. Products, sprayers, label stock, crew.

mod company;
mod product;
mod sprayer;
mod stock;
mod words;

pub use company::{Company, CompanyFile, Member, PageSize};
pub use product::{Active, DilutedHazards, Directions, LabelSignal, Product, ProductKind, Sds, StripScale};
pub use sprayer::{Graduations, Pace, Sprayer};
pub use stock::{Hole, Stock};
pub use words::{Equipment, Method, Surface};

/// Keys of products, sprayers and stock: they name files and must be plain.
pub(crate) fn plain_key(key: &str) -> bool {
    !key.is_empty()
        && key.len() <= 64
        && key
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.'))
        && key.starts_with(|c: char| c.is_ascii_alphanumeric())
}
