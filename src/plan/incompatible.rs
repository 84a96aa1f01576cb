//! Products that must not meet on one job: on the van, on a surface, in a tank.
//!
//! The products of two treatments are compared with the table of `calc::mixing` and with what each product's own label
//! says it must never meet.
//!
//! A drained tank keeps a film, its hose and pump keep more than that, and the next load takes it up. So a tank is rinsed
//! whenever its product changes, whether the two are known to react or not. Where they are, or where a label says so, the
//! job must say that somebody rinses: until then it is refused.
//!
//! How: Clemson Extension, Home and Garden Information Center, on cleaning sprayers (2024): a fifth to a quarter of the
//! tank, close, turn, drain, three times; nozzles, screens and filters apart. With ideal mixing three rinses of 1 L leave
//! 1/9261 of what 50 mL held: (50/1050)³. For two disinfectants that do not react there is no published rule; rinsing is
//! chosen because it protects, after 40 CFR 264.177(b), which lets nothing into an unwashed container that held something
//! incompatible.

use std::collections::BTreeSet;

use super::{Caution, Fact};
use crate::calc::mixing::{Danger, conflicts};
use crate::company::Product;
use crate::diagnostic::Diagnostics;
use crate::job::{Job, Treatment};
use crate::quantity::{Number, Volume};

/// How often a tank is rinsed when its product changes.
const RINSES: i64 = 3;

/// The worst that two products do to each other.
pub(super) struct Incompatible {
    /// What is formed, as language files name it under `forms`.
    pub forms: &'static str,
    pub source: &'static str,
    pub loses_effect: bool,
}

impl Incompatible {
    /// By the table, and by what a label says of its own product. `None` where neither says anything.
    pub fn pair(one: &Product, other: &Product) -> Option<Incompatible> {
        let label_says = names(one, other) || names(other, one);
        match conflicts(&one.families, &other.families).first() {
            Some(worst) => Some(Incompatible {
                forms: &worst.forms,
                source: &worst.source,
                loses_effect: worst.danger == Danger::LosesEffect && !label_says,
            }),
            None => label_says.then_some(Incompatible {
                forms: "label-says-so",
                source: "the product's own label or safety data sheet",
                loses_effect: false,
            }),
        }
    }

    fn fact(&self) -> Fact {
        Fact::Word(format!("forms.{}", self.forms))
    }
}

/// Whether the label or data sheet of one product names the other.
fn names(one: &Product, other: &Product) -> bool {
    one.never_with.iter().flatten().any(|words| is_called(other, words))
        || one.never_with_named.iter().any(|named| {
            named.everything
                || named.families.iter().any(|family| other.families.contains(family))
                || named.unknown.iter().any(|words| is_called(other, words))
        })
}

/// Whether the words are the product's name, its key, or the name of something it holds.
fn is_called(product: &Product, words: &str) -> bool {
    let words = words.trim().to_lowercase();
    let held = product.ingredients.iter().map(|ingredient| &ingredient.name);
    [&product.name, &product.key].into_iter().chain(held).any(|name| name.trim().to_lowercase() == words)
}

/// Cautions for every pair of treatments, and for words of a label that cannot be checked.
pub(super) fn incompatible_pairs(job: &Job) -> Vec<Caution> {
    let mut cautions = unchecked(job);
    for (later, second) in job.treatments.iter().enumerate() {
        for first in job.treatments[..later].iter().filter(|first| first.product.key != second.product.key) {
            let Some(pair) = Incompatible::pair(&first.product, &second.product) else { continue };
            let about = |code, treatment| {
                Caution::new(code, treatment)
                    .with("one", Fact::text(&first.product.name))
                    .with("other", Fact::text(&second.product.name))
                    .with("source", Fact::text(pair.source))
                    .with("forms", pair.fact())
            };
            cautions.push(about(if pair.loses_effect { "loses-effect" } else { "never-meet" }, None));
            let in_second: BTreeSet<&usize> = second.areas.iter().collect();
            if let Some(area) = first.areas.iter().find(|area| in_second.contains(area)) {
                let name = job.areas.get(*area).map_or("", |a| a.name.as_str());
                cautions.push(about("never-meet-area", Some(later + 1)).with("area", Fact::text(name)));
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
        let unknown = product.never_with_named.iter().flat_map(|named| &named.unknown);
        let unknown: Vec<Fact> = unknown
            .filter(|words| !job.company.products.values().any(|other| is_called(other, words)))
            .map(Fact::text)
            .collect();
        if !unknown.is_empty() {
            let caution = Caution::new("never-with-unknown", Some(index + 1)).with("words", Fact::List(unknown));
            cautions.push(caution.with("product", Fact::text(&product.name)));
        }
    }
    cautions
}

/// What solution of a treatment is in.
struct Vessel<'j> {
    /// Its key in the company file; a vessel is the same wherever this is.
    key: &'j str,
    name: &'j str,
    holds: &'j Volume,
    /// The key of the treatment that names it.
    named_by: &'static str,
}

/// Every vessel that a treatment's solution is in, each once.
fn vessels(treatment: &Treatment) -> Vec<Vessel<'_>> {
    let sprayer = &treatment.sprayer;
    let mut all = vec![(&treatment.sprayer_key, &sprayer.name, &sprayer.tank, "sprayer")];
    if let Some(pour) = &treatment.pour {
        all.push((&pour.mixed_in_key, &pour.mixed_in.name, &pour.mixed_in.holds, "mixed_in"));
        all.push((&pour.into_key, &pour.into.name, &pour.into.holds, "poured_into"));
    }
    let mut vessels: Vec<Vessel<'_>> = Vec::new();
    for (key, name, holds, named_by) in all {
        if vessels.iter().all(|other| other.key != key) {
            vessels.push(Vessel { key, name, holds, named_by });
        }
    }
    vessels
}

/// Cautions for every tank that changes its product; a load that would mix two products which must never meet is an
/// error, until the job says that the tank is rinsed before it.
pub(super) fn tanks(job: &Job, report: &mut Diagnostics) -> Vec<Caution> {
    let mut cautions = Vec::new();
    for (index, treatment) in job.treatments.iter().enumerate() {
        for vessel in vessels(treatment) {
            let before = held_before(&job.treatments, index, vessel.key);
            let product = &treatment.product;
            let others = before.iter().filter(|other| other.key != product.key);
            let reacts = others.filter_map(|other| Some((*other, Incompatible::pair(other, product)?))).next();
            if let Some((other, pair)) = reacts.as_ref().filter(|_| !treatment.tank_rinsed) {
                would_mix(treatment, &vessel, other, pair, report);
            }
            if let Some(last) = before.first().filter(|last| last.key != product.key) {
                let (other, pair) = reacts.map_or((*last, None), |(other, pair)| (other, Some(pair)));
                cautions.push(rinse(index + 1, &vessel, other, product, pair));
            }
        }
    }
    cautions
}

/// Products whose residue a vessel may hold when a treatment begins, the last one first, back to the last rinse that the
/// job states. One used twice stands once for each time; the treatment's own product is not left out.
fn held_before<'j>(treatments: &'j [Treatment], index: usize, key: &str) -> Vec<&'j Product> {
    let mut held = Vec::new();
    for earlier in treatments[..index].iter().rev() {
        if vessels(earlier).iter().any(|vessel| vessel.key == key) {
            held.push(&earlier.product);
            if earlier.tank_rinsed {
                break;
            }
        }
    }
    held
}

fn rinse(
    treatment: usize,
    vessel: &Vessel<'_>,
    before: &Product,
    product: &Product,
    pair: Option<Incompatible>,
) -> Caution {
    let unknown = || Fact::Word("forms.off-label-mixture".to_owned());
    Caution::new("rinse-tank", Some(treatment))
        .with("sprayer", Fact::text(vessel.name))
        .with("one", Fact::text(&before.name))
        .with("other", Fact::text(&product.name))
        .with("forms", pair.map_or_else(unknown, |pair| pair.fact()))
        .with("times", Fact::Count(Number::int(RINSES)))
        .with("least", Fact::Volume(vessel.holds.times(&Number::ratio(1, 5))))
        .with("most", Fact::Volume(vessel.holds.times(&Number::ratio(1, 4))))
}

fn would_mix(
    treatment: &Treatment,
    vessel: &Vessel<'_>,
    other: &Product,
    pair: &Incompatible,
    report: &mut Diagnostics,
) {
    let message = format!(
        "the first load would mix `{}` with what `{}` leaves in the tank and hose of `{}`",
        treatment.product.key, other.key, vessel.key
    );
    report.push(
        treatment
            .origin
            .key(vessel.named_by)
            .error("load-would-mix", message)
            .hint(format!("together: {} ({})", pair.forms.replace('-', " "), pair.source))
            .hint(
                "use another sprayer; or have tank and hose rinsed three times in between, each time with clean water to a \
                 fifth to a quarter of the tank, nozzles, screens and filters apart, and write `tank_rinsed: yes` here",
            ),
    );
}
