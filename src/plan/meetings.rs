//! What must never meet on one job: on the van, on a surface, in a tank.
//!
//! The products of two treatments are held against the table of `calc::mixing` and against what each product's own label
//! says it must never meet. A tank that still holds what its hose keeps of one product would mix it into the first load of
//! the next: that is an error until the job says that the tank is rinsed.

use std::collections::BTreeSet;

use super::{Caution, Fact};
use crate::calc::mixing::{Conflict, Danger, conflicts};
use crate::catalog::Product;
use crate::job::{Job, Treatment};
use crate::report::Report;

/// Cautions for every pair of treatments; loads that would mix two products are told to `report`.
pub(super) fn meetings(job: &Job, report: &mut Report) -> Vec<Caution> {
    let mut cautions = Vec::new();
    for (later, second) in job.treatments.iter().enumerate() {
        for (earlier, first) in job.treatments[..later].iter().enumerate() {
            if first.product.key == second.product.key {
                continue;
            }
            let Some(meeting) = meeting(&first.product, &second.product) else {
                continue;
            };
            let about = |code| {
                let caution = Caution::new(code, None)
                    .with("one", Fact::text(&first.product.name))
                    .with("other", Fact::text(&second.product.name))
                    .with("source", Fact::text(meeting.source));
                match meeting.forms {
                    Some(forms) => caution.with("forms", Fact::Word(format!("forms.{forms}"))),
                    None => caution.with("forms", Fact::Word("forms.label-says-so".to_owned())),
                }
            };
            let met = if meeting.loses_effect {
                "loses-effect"
            } else {
                "never-meet"
            };
            cautions.push(about(met));
            let in_second: BTreeSet<usize> = second.areas.iter().copied().collect();
            if let Some(area) = first.areas.iter().find(|area| in_second.contains(area)) {
                let name = job.areas.get(*area).map_or("", |a| a.name.as_str());
                let mut caution = about("never-meet-area").with("area", Fact::text(name));
                caution.treatment = Some(later + 1);
                cautions.push(caution);
            }
            if first.sprayer_key == second.sprayer_key && last_in_tank(job, earlier, later) {
                if second.tank_rinsed {
                    let mut caution = about("rinse-tank").with("sprayer", Fact::text(&second.sprayer.name));
                    caution.treatment = Some(later + 1);
                    cautions.push(caution);
                } else {
                    would_mix(first, second, report);
                }
            }
        }
    }
    cautions
}

/// Whether no treatment between the two rinsed the tank already.
fn last_in_tank(job: &Job, earlier: usize, later: usize) -> bool {
    let key = &job.treatments[later].sprayer_key;
    !job.treatments[earlier + 1..later]
        .iter()
        .any(|between| between.sprayer_key == *key && between.tank_rinsed)
}

fn would_mix(first: &Treatment, second: &Treatment, report: &mut Report) {
    let message = format!(
        "the first load would mix `{}` with what `{}` leaves in the tank and hose of `{}`",
        second.product.key, first.product.key, second.sprayer_key
    );
    let problem = second.origin.key("sprayer").error("load-would-mix", message);
    report.push(problem.hint(
        "use another sprayer, or have tank and hose rinsed with water between the two and write `tank_rinsed: yes` here",
    ));
}

pub(super) struct Meeting {
    pub forms: Option<&'static str>,
    pub source: &'static str,
    pub loses_effect: bool,
}

/// The worst that two products do to each other; what a label says of its own counts as well.
pub(super) fn meeting(one: &Product, other: &Product) -> Option<Meeting> {
    let worst: Option<&Conflict> = conflicts(&one.families, &other.families).first().copied();
    let named = |a: &Product, b: &Product| a.never_with_families.iter().any(|f| b.families.contains(f));
    let label_says = named(one, other) || named(other, one);
    match worst {
        Some(conflict) => Some(Meeting {
            forms: Some(conflict.forms),
            source: conflict.source,
            loses_effect: conflict.danger == Danger::LosesEffect && !label_says,
        }),
        None if label_says => Some(Meeting {
            forms: None,
            source: "the product's own label or safety data sheet",
            loses_effect: false,
        }),
        None => None,
    }
}
