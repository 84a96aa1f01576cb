//! Shared air: what earlier treatments left in it, and what that asks of the next.
//!
//! A mist is in every area that shares its air, not only where it was made. Until it has cleared, a treatment in that air
//! begins later; where nobody can say when it clears, or where the job asks for it, everyone in that air wears a
//! respirator. Respirators and keep-out: 29 CFR 1910.134(a)(1), (d)(1); clearing: CDC, Guidelines for Environmental
//! Infection Control, 2003, Table B.1. No published rule says how air is shared between rooms; see [`crate::job`] for the
//! side chosen.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::DateTime;

use super::clock::{after, whole_minute};
use super::{Caution, Fact, Reentry, TreatmentPlan};
use crate::job::{InMist, Job, Treatment};

/// What is in each air space of a site as its treatments follow one another.
#[derive(Debug, Default)]
pub(super) struct Airs {
    spaces: BTreeMap<u32, Air>,
}

#[derive(Debug, Default)]
struct Air {
    mists: BTreeMap<String, Mist>,
    watched: Option<(DateTime, String)>,
}

/// The mist of one product in one air space.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Mist {
    product: String,
    /// When it has cleared and the label's interval is over; not known where it is not known how the air is changed.
    until: Reentry,
}

#[derive(Debug)]
pub(super) struct Entry {
    /// When it may begin: as planned, or later.
    pub at: DateTime,
    waits_for: Option<Wait>,
    mist: Option<Mist>,
}

#[derive(Clone, Debug)]
enum Wait {
    Mist(String),
    Surfaces(String),
}

impl Airs {
    /// How a treatment enters the air of its areas where it could begin at `planned`.
    ///
    /// Who mists the same product does not wait: they wear respirators, and what they would wait for is what they make.
    pub(super) fn enter(&self, written: &Treatment, job: &Job, planned: DateTime) -> Entry {
        let spaces: BTreeSet<u32> = written.areas.iter().filter_map(|at| job.areas.get(*at)?.air_space).collect();
        let airborne = written.sprayer.airborne().is_some();
        let (mut at, mut waits_for) = (planned, None);
        let mut later = |until: DateTime, wait: Wait| {
            let until = whole_minute(until);
            if until > at {
                (at, waits_for) = (until, Some(wait));
            }
        };
        for air in spaces.iter().filter_map(|space| self.spaces.get(space)) {
            if let Some((until, product)) = air.watched.as_ref().filter(|_| airborne) {
                later(*until, Wait::Surfaces(product.clone()));
            }
            for (key, mist) in &air.mists {
                let makes_it_too = airborne && *key == written.product.key;
                if let (Reentry::At(until), InMist::Wait, false) = (mist.until, written.in_mist, makes_it_too) {
                    later(until, Wait::Mist(mist.product.clone()));
                }
            }
        }
        let mists = spaces.iter().filter_map(|space| self.spaces.get(space));
        let mist = mists
            .flat_map(|air| air.mists.values())
            .filter(|mist| mist.until > Reentry::At(at))
            .max_by_key(|mist| mist.until)
            .cloned();
        Entry { at, waits_for, mist }
    }

    /// What a treatment leaves in the air of its areas.
    pub(super) fn leave(&mut self, plan: &TreatmentPlan) {
        let spaces: BTreeSet<u32> = plan.areas.iter().filter_map(|area| area.air_space).collect();
        let airborne = plan.sprayer.airborne().is_some();
        let done = plan.areas.iter().map(|area| area.times.done).max();
        let label = after(done.unwrap_or(plan.begins), plan.directions.reentry.as_ref());
        for space in spaces {
            let air = self.spaces.entry(space).or_default();
            if airborne {
                let until = plan.air.as_ref().map_or(Reentry::NotKnown, |air| Reentry::At(air.clear_at.max(label)));
                let mist = Mist { product: plan.product.name.clone(), until };
                let known = air.mists.entry(plan.product.key.clone()).or_insert(mist.clone());
                if mist.until > known.until {
                    *known = mist;
                }
            } else if air.watched.as_ref().is_none_or(|(until, _)| *until < plan.wet_until) {
                air.watched = Some((plan.wet_until, plan.product.name.clone()));
            }
        }
    }
}

impl Entry {
    /// Whether those who do the treatment are in uncleared mist of an earlier one.
    pub(super) fn in_mist(&self) -> bool {
        self.mist.is_some()
    }

    /// The reasons, for the sheet.
    pub(super) fn cautions(&self, plan: &TreatmentPlan) -> Vec<Caution> {
        let indoors = plan.areas.iter().find(|area| !area.outdoors);
        let begins = indoors.map_or(plan.begins, |area| area.times.start);
        let about = |code, one: &str| {
            Caution::new(code, Some(plan.number))
                .with("area", Fact::text(indoors.map_or("", |area| area.name.as_str())))
                .with("one", Fact::text(one))
                .with("other", Fact::text(&plan.product.name))
        };
        let mut cautions = Vec::new();
        match &self.waits_for {
            Some(Wait::Mist(one)) => cautions.push(about("waits-for-air", one).with("at", Fact::Moment(self.at))),
            Some(Wait::Surfaces(one)) => cautions.push(about("mist-waits", one).with("at", Fact::Moment(self.at))),
            None => {}
        }
        if let Some(mist) = &self.mist {
            let caution = match mist.until {
                Reentry::At(until) => about("works-in-mist", &mist.product).with("until", Fact::Moment(until)),
                Reentry::NotKnown => about("back-in-mist", &mist.product),
            };
            cautions.push(caution.with("at", Fact::Moment(begins)));
        }
        cautions
    }
}

#[cfg(test)]
mod tests;
