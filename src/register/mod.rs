//! Registers: what many records say together. Product used by site, month and product; strip readings over time.
//!
//! Records are files that others may have had in hand: what does not look like one is refused, never guessed at.

mod issued;
mod read;
mod rows;
mod service;

use std::collections::BTreeMap;

pub use read::{ReadError, Reading, Recorded, read};
pub use rows::{READINGS, USES, readings_rows, uses_rows};
pub use service::{Point, Series, ServedVisit, Service, VISITS, Visited};

use crate::quantity::Number;

/// What products are summed by, in the order in which a register is sorted.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Key {
    /// The site's name.
    pub site: String,
    /// Year and month of the visit, `2026-04`.
    pub month: String,
    /// The product's name.
    pub product: String,
    /// Its registration, as written in the company file.
    pub registration: String,
    /// What it is measured in: `mL`, `g` or `tablet`.
    pub unit: String,
    /// What the amounts rest on.
    pub basis: Basis,
}

/// What amounts rest on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Basis {
    /// The log has the water and the product of every load that was mixed.
    Measured,
    /// The log says which loads were mixed, and the plan how much goes into each: the amounts are planned.
    Logged,
    /// There is no log, and the work may not have been done at all.
    Planned,
}

impl Basis {
    /// As the registers name it.
    pub fn word(self) -> &'static str {
        match self {
            Basis::Measured => "measured",
            Basis::Logged => "logged",
            Basis::Planned => "planned",
        }
    }
}

/// Sums of one product at one site in one month.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sum {
    /// How many treatments.
    pub treatments: usize,
    /// Product in the key's unit.
    pub product: Number,
    /// Solution in mL.
    pub solution: Number,
    /// Surface in m².
    pub area: Number,
}

impl Default for Sum {
    fn default() -> Sum {
        Sum { treatments: 0, product: Number::zero(), solution: Number::zero(), area: Number::zero() }
    }
}

/// Product used, added up exactly.
pub fn sums(records: &[Recorded]) -> BTreeMap<Key, Sum> {
    let mut sums: BTreeMap<Key, Sum> = BTreeMap::new();
    for used in records.iter().flat_map(|record| &record.uses) {
        let sum = sums.entry(used.key.clone()).or_default();
        sum.treatments += usize::from(used.made);
        sum.product += &used.product;
        sum.solution += &used.solution;
        sum.area += &used.area;
    }
    sums
}

/// All readings, the earliest first; those without a time last.
pub fn readings(records: &[Recorded]) -> Vec<&Reading> {
    let mut all: Vec<&Reading> = records.iter().flat_map(|record| &record.readings).collect();
    all.sort_by(|a, b| {
        let key = |r: &Reading| (r.mixed.is_empty(), r.mixed.clone(), r.job.clone(), r.treatment, r.load);
        key(a).cmp(&key(b))
    });
    all
}
