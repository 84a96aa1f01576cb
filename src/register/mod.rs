//! Registers: what many records say together. Product used by site, month and product; strip readings over time.
//!
//! Records are files that others may have had in hand: what does not look like one is refused, never guessed at.

mod folder;
mod read;
mod rows;
mod service;

use std::collections::BTreeMap;

pub use folder::{Unusable, records};
pub use read::{ReadError, Reading, Recorded, read};
pub use rows::{READINGS, USES, readings_rows, uses_rows};
pub use service::{Series, ServedVisit, Service, VISITS, Visited};

use crate::quantity::Number;
use crate::record::Made;

/// What products are summed by, in the order in which a register is sorted.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Key {
    pub site: String,
    /// Year and month of the visit, `2026-04`.
    pub month: String,
    pub product: String,
    /// Its registration, as written in the company file.
    pub registration: String,
    /// What it is measured in: `mL`, `g` or `tablet`.
    pub unit: String,
    pub basis: Basis,
}

/// What amounts rest on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Basis {
    /// The log has the water and the product of every load that was mixed.
    Measured,
    /// The log says which loads were mixed, and the plan how much goes into each: the amounts are planned.
    Logged,
}

impl Basis {
    /// As the registers name it.
    pub fn word(self) -> &'static str {
        match self {
            Basis::Measured => "measured",
            Basis::Logged => "logged",
        }
    }
}

/// What was used of a product, and over how much surface: of one treatment, or of many.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sum {
    /// How many treatments were made.
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

impl Sum {
    fn add(&mut self, other: &Sum) {
        self.treatments += other.treatments;
        self.product += &other.product;
        self.solution += &other.solution;
        self.area += &other.area;
    }
}

/// How many visits were made, by their records, how many were not, and how many have no log: only the first are counted.
pub fn visits(records: &[Recorded]) -> [usize; 3] {
    let count = |is: fn(Made) -> bool| records.iter().filter(|record| is(record.made)).count();
    let (not_made, open) = (count(|made| made == Made::Not), count(|made| made == Made::Unknown));
    [records.len() - not_made - open, not_made, open]
}

/// Product used, added up exactly.
pub fn sums(records: &[Recorded]) -> BTreeMap<Key, Sum> {
    let mut sums: BTreeMap<Key, Sum> = BTreeMap::new();
    for (key, used) in records.iter().flat_map(|record| &record.uses) {
        sums.entry(key.clone()).or_default().add(used);
    }
    sums
}

/// All readings, the earliest first; those without a time last.
pub fn readings(records: &[Recorded]) -> Vec<&Reading> {
    let mut all: Vec<&Reading> = records.iter().flat_map(|record| &record.readings).collect();
    let place = |r: &Reading| (r.mixed.is_empty(), r.mixed.clone(), r.job.clone(), r.treatment, r.load);
    all.sort_by_cached_key(|reading| place(reading));
    all
}
