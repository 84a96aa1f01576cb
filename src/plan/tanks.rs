//! What a tank still holds of another product when a treatment begins.
//!
//! A drained tank keeps a film, its hose and pump keep more than that, and the next load takes it up. So the tank is
//! rinsed whenever its product changes, whether the two are known to react or not. Where they are, or where a label says
//! so, the job must say that somebody rinses: until then it is refused.
//!
//! How: Clemson Extension, Home and Garden Information Center, on cleaning sprayers (2024): a fifth to a quarter of the
//! tank, close, turn, drain, three times; nozzles, screens and filters apart. With ideal mixing three rinses of 1 L leave
//! 1/9261 of what 50 mL held: (50/1050)³. For two disinfectants that do not react there is no published rule; rinsing is
//! chosen because it protects, after 40 CFR 264.177(b), which lets nothing into an unwashed container that held something
//! incompatible.

use super::meetings::meeting;
use super::{Caution, Fact};
use crate::catalog::Product;
use crate::job::{Job, Treatment};
use crate::quantity::{Number, Volume};
use crate::report::Report;

/// How often a tank is rinsed when its product changes.
const RINSES: i64 = 3;

/// What solution of a treatment is in: its sprayer, or another vessel that it is mixed in.
pub(super) struct Vessel<'j> {
    /// Its key in the company file; a vessel is the same wherever this is.
    pub key: &'j str,
    /// Its name.
    pub name: &'j str,
    /// What it holds when full.
    pub holds: &'j Volume,
    /// The key of the treatment that names it.
    pub named_by: &'static str,
}

/// Every vessel that a treatment's solution is in.
fn vessels(treatment: &Treatment) -> Vec<Vessel<'_>> {
    let sprayer = Vessel {
        key: &treatment.sprayer_key,
        name: &treatment.sprayer.name,
        holds: &treatment.sprayer.tank,
        named_by: "sprayer",
    };
    let mut all = vec![sprayer];
    let Some(pour) = &treatment.pour else { return all };
    let named = [(&pour.mixed_in_key, &pour.mixed_in, "mixed_in"), (&pour.into_key, &pour.into, "poured_into")];
    for (key, vessel, named_by) in named {
        if all.iter().all(|other| other.key != key) {
            all.push(Vessel { key, name: &vessel.name, holds: &vessel.holds, named_by });
        }
    }
    all
}

/// Cautions for every tank that changes its product; a load that would mix two products which must never meet is an
/// error, until the job says that the tank is rinsed before it.
pub(super) fn tanks(job: &Job, report: &mut Report) -> Vec<Caution> {
    let mut cautions = Vec::new();
    for (index, treatment) in job.treatments.iter().enumerate() {
        for vessel in vessels(treatment) {
            let before = held_before(&job.treatments, index, vessel.key);
            let product = &treatment.product;
            let reacts = before.iter().find(|other| other.key != product.key && meeting(other, product).is_some());
            if let Some(other) = reacts.filter(|_| !treatment.tank_rinsed) {
                would_mix(treatment, &vessel, other, report);
            }
            if let Some(last) = before.first().filter(|last| last.key != product.key) {
                cautions.push(rinse(index + 1, &vessel, reacts.unwrap_or(last), product));
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

fn rinse(treatment: usize, vessel: &Vessel<'_>, before: &Product, product: &Product) -> Caution {
    let forms = match meeting(before, product) {
        Some(meeting) => meeting.fact(),
        None => Fact::Word("forms.off-label-mixture".to_owned()),
    };
    Caution::new("rinse-tank", Some(treatment))
        .with("sprayer", Fact::text(vessel.name))
        .with("one", Fact::text(&before.name))
        .with("other", Fact::text(&product.name))
        .with("forms", forms)
        .with("times", Fact::Count(Number::int(RINSES)))
        .with("least", Fact::Volume(vessel.holds.times(&Number::ratio(1, 5))))
        .with("most", Fact::Volume(vessel.holds.times(&Number::ratio(1, 4))))
}

fn would_mix(treatment: &Treatment, vessel: &Vessel<'_>, other: &Product, report: &mut Report) {
    let message = format!(
        "the first load would mix `{}` with what `{}` leaves in the tank and hose of `{}`",
        treatment.product.key, other.key, vessel.key
    );
    let mut problem = treatment.origin.key(vessel.named_by).error("load-would-mix", message);
    if let Some(meeting) = meeting(other, &treatment.product) {
        let forms = meeting.forms.unwrap_or("label-says-so").replace('-', " ");
        problem = problem.hint(format!("together: {forms} ({})", meeting.source));
    }
    report.push(problem.hint(
        "use another sprayer; or have tank and hose rinsed three times in between, each time with clean water to a fifth \
         to a quarter of the tank, nozzles, screens and filters apart, and write `tank_rinsed: yes` here",
    ));
}
