//! Cautions that come from the company file alone: what may be true of a product and is rarely so.

use super::{Caution, Fact, TreatmentPlan};
use crate::catalog::Doubt;
use crate::job::Treatment;

/// What to ask about a treatment's product, and what of it nobody knows.
pub(super) fn cautions(written: &Treatment, plan: &TreatmentPlan) -> Vec<Caution> {
    let about = |code| Caution::new(code, Some(plan.number)).with("product", Fact::text(&written.product.name));
    let mut all: Vec<Caution> = written
        .product
        .doubts()
        .into_iter()
        .map(|doubt| match doubt {
            Doubt::NearlyDry { stated, with_water } => {
                about("chlorine-high").with("stated", Fact::Share(stated)).with("most", Fact::Share(with_water))
            }
            Doubt::WeakChlorine { share } => about("chlorine-low").with("share", Fact::Share(share)),
            Doubt::SignalWithoutHazards => about("signal-without-hazards"),
        })
        .collect();
    for unknown in &plan.hazards.unknown_acute {
        all.push(
            about("unknown-toxicity")
                .with("share", Fact::Share(unknown.share.clone()))
                .with("route", Fact::Word(format!("routes.{}", unknown.route))),
        );
    }
    all
}
