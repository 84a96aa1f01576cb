//! What must never meet on one job: on the van, on a surface.
//!
//! The products of two treatments are compared with the table of `calc::mixing` and with what each product's own label
//! says it must never meet. What a tank still holds of another product is judged in `tanks.rs`.

use std::collections::BTreeSet;

use super::{Caution, Fact};
use crate::calc::mixing::{Conflict, Danger, conflicts};
use crate::catalog::Product;
use crate::job::Job;

/// Cautions for every pair of treatments, and for words of a label that cannot be checked.
pub(super) fn meetings(job: &Job) -> Vec<Caution> {
    let mut cautions = unchecked(job);
    for (later, second) in job.treatments.iter().enumerate() {
        for first in &job.treatments[..later] {
            if first.product.key == second.product.key {
                continue;
            }
            let Some(meeting) = meeting(&first.product, &second.product) else {
                continue;
            };
            let about = |code| {
                Caution::new(code, None)
                    .with("one", Fact::text(&first.product.name))
                    .with("other", Fact::text(&second.product.name))
                    .with("source", Fact::text(meeting.source))
                    .with("forms", meeting.fact())
            };
            let met = if meeting.loses_effect { "loses-effect" } else { "never-meet" };
            cautions.push(about(met));
            let in_second: BTreeSet<usize> = second.areas.iter().copied().collect();
            if let Some(area) = first.areas.iter().find(|area| in_second.contains(area)) {
                let name = job.areas.get(*area).map_or("", |a| a.name.as_str());
                let mut caution = about("never-meet-area").with("area", Fact::text(name));
                caution.treatment = Some(later + 1);
                cautions.push(caution);
            }
        }
    }
    cautions
}

/// Words of `never_with` that name no family known here and no product of the company file: they are printed as they
/// stand, and cannot be compared with another product.
fn unchecked(job: &Job) -> Vec<Caution> {
    let mut cautions = Vec::new();
    for (index, treatment) in job.treatments.iter().enumerate() {
        let product = &treatment.product;
        let unknown: Vec<Fact> = product
            .never_with_named
            .iter()
            .flat_map(|named| &named.unknown)
            .filter(|words| !job.catalog.products.values().any(|other| is_called(other, words)))
            .map(Fact::text)
            .collect();
        if !unknown.is_empty() {
            let caution = Caution::new("never-with-unknown", Some(index + 1))
                .with("product", Fact::text(&product.name))
                .with("words", Fact::List(unknown));
            cautions.push(caution);
        }
    }
    cautions
}

/// Whether the words are the product's name, its key, or the name of something it holds.
fn is_called(product: &Product, words: &str) -> bool {
    let words = words.trim().to_lowercase();
    let names = [&product.name, &product.key];
    let held = product.ingredients.iter().map(|ingredient| &ingredient.name);
    names.into_iter().chain(held).any(|name| name.trim().to_lowercase() == words)
}

/// Whether the label or data sheet of one product names the other.
fn names(one: &Product, other: &Product) -> bool {
    let written = one.never_with.iter().any(|words| is_called(other, words));
    written
        || one.never_with_named.iter().any(|named| {
            named.everything
                || named.families.iter().any(|family| other.families.contains(family))
                || named.unknown.iter().any(|words| is_called(other, words))
        })
}

pub(super) struct Meeting {
    pub forms: Option<&'static str>,
    pub source: &'static str,
    pub loses_effect: bool,
}

impl Meeting {
    /// What is formed, as a word of the language files.
    pub fn fact(&self) -> Fact {
        Fact::Word(match self.forms {
            Some(forms) => format!("forms.{forms}"),
            None => "forms.label-says-so".to_owned(),
        })
    }
}

/// The worst that two products do to each other; what a label says of its own counts as well.
pub(super) fn meeting(one: &Product, other: &Product) -> Option<Meeting> {
    let worst: Option<&Conflict> = conflicts(&one.families, &other.families).first().copied();
    let label_says = names(one, other) || names(other, one);
    match worst {
        Some(conflict) => Some(Meeting {
            forms: Some(&conflict.forms),
            source: &conflict.source,
            loses_effect: conflict.danger == Danger::LosesEffect && !label_says,
        }),
        None if label_says => {
            Some(Meeting { forms: None, source: "the product's own label or safety data sheet", loses_effect: false })
        }
        None => None,
    }
}
