//! What must be on the van for some visits: concentrate in whole containers, strips, labels, sprayers, things to wear.
//!
//! Nothing here is less than the visits' plans ask for. Spare is for what the mix sheet allows: a load whose strip does
//! not pass is mixed again once. So each product has one more of its largest load, and each load a second strip.

use std::collections::BTreeMap;

use jiff::civil::{Date, DateTime};

use super::containers::{Taken, whole_containers};
use super::incompatible::Incompatible;
use super::{Floor, LoadPlan, Plan, TreatmentPlan};
use crate::calc::Amount;
use crate::company::{Equipment, Lots, Member, Product, Stock, StripScale};
use crate::ghs::Hazard;
use crate::job::{Job, Treatment};
use crate::quantity::{Form, Length, Strength, Volume};

#[derive(Clone, Debug)]
pub struct LoadOut {
    pub stops: Vec<Stop>,
    pub crew: Vec<Member>,
    /// Products, in the order they are first used.
    pub products: Vec<LoadedProduct>,
    /// Strips, in the order they are first used.
    pub strips: Vec<Strips>,
    pub labels: Vec<Labels>,
    /// Sprayers, and vessels to mix in and pour into, in the order they are first used.
    pub sprayers: Vec<LoadedSprayer>,
    pub wear: Vec<Equipment>,
    pub apart: Vec<Apart>,
    /// Wet-floor signs: one for each area of the visit that has most.
    pub signs: usize,
    /// Liquids whose data sheet says that they corrode skin: for transport they are of class 8, or near it.
    pub corrosive: Vec<String>,
    pub water: Volume,
}

#[derive(Clone, Debug)]
pub struct Stop {
    pub job: String,
    pub site: String,
    pub address: String,
    pub start: DateTime,
    pub sprayed_by: DateTime,
    pub loads: usize,
    pub too_early: bool,
}

#[derive(Clone, Debug)]
pub struct LoadedProduct {
    pub key: String,
    pub name: String,
    pub registration: Option<String>,
    pub planned: Amount,
    pub spare: Amount,
    pub needed: Amount,
    /// Whole containers that hold at least that much, the largest first; `None` where no size is known.
    pub containers: Option<Vec<Taken>>,
    pub lots: Vec<Lot>,
    pub expired: Vec<Lot>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lot {
    pub number: String,
    pub last_day: Date,
}

#[derive(Clone, Debug)]
pub struct Strips {
    pub name: Option<String>,
    pub products: Vec<String>,
    pub scale: Option<(Strength, Strength)>,
    pub readings: usize,
    /// Strips to take: a second for each load that is mixed again.
    pub take: usize,
    pub lots: Vec<Lot>,
    pub expired: Vec<Lot>,
    blocks: Vec<Strength>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Labels {
    /// Width and height of one label.
    pub size: (Length, Length),
    pub count: usize,
    /// Sheets they fill, the last one begun; `None` for rolls.
    pub sheets: Option<usize>,
}

#[derive(Clone, Debug)]
pub struct LoadedSprayer {
    pub key: String,
    pub name: String,
    pub tank: Volume,
    pub count: u32,
}

/// Two products that must not meet, on the van either.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Apart {
    pub one: String,
    pub other: String,
    pub forms: &'static str,
}

/// What must be on the van for these visits, planned from these jobs, on a day. All jobs are of one company file.
pub fn load_out(visits: &[(&Job, &Plan)], day: Date) -> LoadOut {
    let mut out = LoadOut {
        stops: Vec::new(),
        crew: Vec::new(),
        products: Vec::new(),
        strips: Vec::new(),
        labels: labels(visits),
        sprayers: Vec::new(),
        wear: Vec::new(),
        apart: Vec::new(),
        signs: 0,
        corrosive: Vec::new(),
        water: Volume::zero(),
    };
    let mut products: Vec<&Product> = Vec::new();
    for (job, plan) in visits {
        out.stops.push(Stop {
            job: plan.job.clone(),
            site: plan.site.name.clone(),
            address: plan.site.address.clone(),
            start: plan.start,
            sprayed_by: plan.sprayed_by,
            loads: plan.treatments.iter().map(|t| t.loads.len()).sum(),
            too_early: out.stops.last().is_some_and(|before| plan.start < before.sprayed_by),
        });
        for member in &plan.crew {
            entry(&mut out.crew, |known| known.name == member.name, || member.clone());
        }
        out.wear.extend(&plan.equipment);
        let wet = plan.treatments.iter().filter(|t| t.floor() == Floor::Wet);
        out.signs = out.signs.max(wet.map(|t| t.areas.len()).sum());
        for (treatment, written) in plan.treatments.iter().zip(&job.treatments) {
            let product = &written.product;
            entry(&mut products, |known| known.key == product.key, || product);
            add_product(&mut out.products, product, treatment, day);
            if let Some(scale) = &product.strip {
                add_strips(&mut out.strips, scale, &product.name, treatment.loads.len(), day);
            }
            add_vessels(&mut out.sprayers, treatment, written);
            for load in &treatment.loads {
                out.water = &out.water + &load.water;
            }
        }
    }
    for product in &mut out.products {
        // all amounts of one product are measured one way
        product.needed = product.planned.plus(&product.spare).unwrap_or_else(|| product.planned.clone());
        let sizes = products.iter().find(|p| p.key == product.key).map(|p| p.containers.as_slice());
        product.containers =
            sizes.filter(|sizes| !sizes.is_empty()).map(|sizes| whole_containers(&product.needed, sizes));
    }
    out.wear.sort_unstable();
    out.wear.dedup();
    out.apart = apart(&products);
    out.corrosive = products.iter().filter(|product| is_corrosive_liquid(product)).map(|p| p.name.clone()).collect();
    out
}

/// What a load takes of the product; a ready-to-use one is the whole load.
fn taken_by(treatment: &TreatmentPlan, load: &LoadPlan) -> Amount {
    if treatment.ratio.is_ready_to_use() { Amount::Liquid(load.solution.clone()) } else { load.product.clone() }
}

/// The entry that is the same, else a new one at the end.
fn entry<T>(all: &mut Vec<T>, is_same: impl FnMut(&T) -> bool, new: impl FnOnce() -> T) -> &mut T {
    let at = all.iter().position(is_same).unwrap_or_else(|| {
        all.push(new());
        all.len() - 1
    });
    &mut all[at]
}

fn add_product(all: &mut Vec<LoadedProduct>, product: &Product, treatment: &TreatmentPlan, day: Date) {
    let new = || LoadedProduct {
        key: product.key.clone(),
        name: product.name.clone(),
        registration: product.registration.clone(),
        planned: Amount::None,
        spare: Amount::None,
        needed: Amount::None,
        containers: None,
        lots: usable(&product.lots, day),
        expired: expired(&product.lots, day),
    };
    let loaded = entry(all, |p| p.key == product.key, new);
    for load in &treatment.loads {
        let taken = taken_by(treatment, load);
        if let Some(sum) = loaded.planned.plus(&taken) {
            loaded.planned = sum;
        }
        if taken.value() > loaded.spare.value() {
            loaded.spare = taken;
        }
    }
}

fn usable(lots: &Lots, day: Date) -> Vec<Lot> {
    lots.usable_on(day).into_iter().map(lot).collect()
}

fn expired(lots: &Lots, day: Date) -> Vec<Lot> {
    lots.expired_on(day).map(lot).collect()
}

fn lot((number, last_day): (&str, Date)) -> Lot {
    Lot { number: number.to_owned(), last_day }
}

/// Strips of one name and scale are one kind, whatever they are read for.
fn add_strips(all: &mut Vec<Strips>, scale: &StripScale, product: &str, loads: usize, day: Date) {
    let new = || Strips {
        name: scale.name.clone(),
        products: Vec::new(),
        scale: scale.scale.first().cloned().zip(scale.scale.last().cloned()),
        readings: 0,
        take: 0,
        lots: Vec::new(),
        expired: Vec::new(),
        blocks: scale.scale.clone(),
    };
    let strips = entry(all, |s| s.name == scale.name && s.blocks == scale.scale, new);
    strips.readings += loads;
    strips.take += 2 * loads;
    if strips.products.iter().any(|name| name == product) {
        return;
    }
    strips.products.push(product.to_owned());
    for (into, more) in [(&mut strips.lots, usable(&scale.lots, day)), (&mut strips.expired, expired(&scale.lots, day))]
    {
        let new: Vec<Lot> = more.into_iter().filter(|lot| !into.contains(lot)).collect();
        into.extend(new);
    }
}

/// The sprayer of a treatment, and what it is mixed in and poured into: as many as the visit that needs most.
fn add_vessels(all: &mut Vec<LoadedSprayer>, treatment: &TreatmentPlan, written: &Treatment) {
    let mut add = |key: &str, name: &str, holds: &Volume, count: u32| {
        let new = || LoadedSprayer { key: key.to_owned(), name: name.to_owned(), tank: holds.clone(), count };
        let there = entry(all, |s| s.key == key, new);
        there.count = there.count.max(count);
    };
    let sprayer = &treatment.sprayer;
    add(&sprayer.key, &sprayer.name, &sprayer.tank, sprayer.count);
    if let Some(pour) = &written.pour {
        add(&pour.mixed_in_key, &pour.mixed_in.name, &pour.mixed_in.holds, 1);
        let containers = u32::try_from(treatment.containers()).unwrap_or(u32::MAX);
        add(&pour.into_key, &pour.into.name, &pour.into.holds, containers);
    }
}

/// Labels of all loads with their copies, printed in one run.
fn labels(visits: &[(&Job, &Plan)]) -> Vec<Labels> {
    let mut counts: BTreeMap<&str, (&Stock, usize)> = BTreeMap::new();
    for (job, plan) in visits {
        for (treatment, written) in plan.treatments.iter().zip(&job.treatments) {
            // a job is not planned unless its stock is in the company file
            let Some(stock) = job.company.stock.get(&treatment.stock) else {
                continue;
            };
            let copies = written.label_copies.unwrap_or(stock.copies) as usize;
            counts.entry(&treatment.stock).or_insert((stock, 0)).1 += treatment.containers() * copies;
        }
    }
    counts
        .into_values()
        .map(|(stock, count)| Labels {
            size: (stock.width.clone(), stock.height.clone()),
            count,
            sheets: (stock.per_page() > 1).then(|| count.div_ceil(stock.per_page() as usize)),
        })
        .collect()
}

/// Whether the data sheet says that a liquid corrodes skin. What class it has for transport its section 14 says.
fn is_corrosive_liquid(product: &Product) -> bool {
    let corrodes = |hazard: &Hazard| hazard.to_string().starts_with("Skin Corr.");
    product.form == Form::Liquid && product.sds.hazards.iter().any(corrodes)
}

/// Pairs that are dangerous together. Those that only undo each other may ride side by side; what a label says of its own
/// product counts as well.
fn apart(products: &[&Product]) -> Vec<Apart> {
    let mut apart = Vec::new();
    for (i, one) in products.iter().enumerate() {
        for other in &products[i + 1..] {
            if let Some(pair) = Incompatible::pair(one, other).filter(|pair| !pair.loses_effect) {
                apart.push(Apart { one: one.name.clone(), other: other.name.clone(), forms: pair.forms });
            }
        }
    }
    apart
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use jiff::civil::date;

    use super::*;
    use crate::diagnostic::Diagnostics;
    use crate::plan::plan;
    use crate::quantity::Number;

    fn read(sample: &str) -> (Job, Plan) {
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples").join(sample).join("job.yaml");
        let mut report = Diagnostics::new();
        let job = Job::read(&file, &mut report).unwrap();
        let planned = plan(&job, &mut report).unwrap();
        (job, planned)
    }

    #[test]
    fn two_visits_add_up() {
        let (job, planned) = read("market-kitchen");
        let one = load_out(&[(&job, &planned)], date(2026, 5, 4));
        let two = load_out(&[(&job, &planned), (&job, &planned)], date(2026, 5, 4));
        // nobody is at two places at once
        assert_eq!(two.stops.iter().map(|stop| stop.too_early).collect::<Vec<_>>(), [false, true]);
        for (once, twice) in one.products.iter().zip(&two.products) {
            assert_eq!(twice.planned, once.planned.times(&Number::int(2)));
            assert_eq!(twice.spare, once.spare);
            assert_eq!(Some(&once.needed), once.planned.plus(&once.spare).as_ref());
        }
        let loads: usize = planned.treatments.iter().filter(|t| t.strip.is_some()).map(|t| t.loads.len()).sum();
        assert_eq!(one.strips.iter().map(|s| s.readings).sum::<usize>(), loads);
        assert_eq!(two.strips.iter().map(|s| s.take).sum::<usize>(), 4 * loads);
        // the same sprayers go round
        let sprayers = |out: &LoadOut| out.sprayers.iter().map(|s| (s.key.clone(), s.count)).collect::<Vec<_>>();
        assert_eq!(sprayers(&one), sprayers(&two));
        assert_eq!(one.wear, planned.equipment);
    }

    #[test]
    fn what_forms_a_gas_rides_apart_and_expired_lots_stay_behind() {
        let all = ["ferry-terminal", "fish-hall", "market-kitchen"].map(read);
        let visits: Vec<(&Job, &Plan)> = all.iter().map(|(job, plan)| (job, plan)).collect();
        let out = load_out(&visits, date(2026, 4, 13));
        let tablets = |a: &Apart| a.one == "Harbour Tabs" || a.other == "Harbour Tabs";
        assert!(out.apart.iter().any(tablets), "{:?}", out.apart);
        let lots = |out: &LoadOut| {
            let quat = out.products.iter().find(|p| p.key == "solvary-q75").unwrap();
            (quat.lots.len(), quat.expired.len())
        };
        assert_eq!(lots(&out), (2, 0));
        assert_eq!(lots(&load_out(&visits, date(2027, 4, 1))), (0, 2));
    }
}
