//! A contract of a table of sites, with what a company file offers for the work.

use std::cmp::Reverse;

use jiff::ToSpan;
use jiff::civil::Date;
use serde::Serialize;

use super::fill;
use crate::company::{CompanyFile, ProductKind};
use crate::contract::{ContractKeys, Proposal, scalar};
use crate::wording::WordingError;
use crate::yaml::{Declared, annotated};

const YAML: &str = include_str!("../../templates/start/contract.yaml");

/// What a contract needs beside its table.
#[derive(Debug, Serialize)]
pub struct Around<'a> {
    /// The contract's own file, as it is named in its commands.
    pub file: &'a str,
    /// The table, from the contract's folder.
    pub table: &'a str,
    /// The company file, from there.
    pub company: &'a str,
    /// The contract's number.
    pub number: &'a str,
    pub day: Date,
    pub schema: Option<&'a str>,
}

/// A way to do the work: product, directions and sprayer, by their keys.
#[derive(Clone, Debug, Serialize)]
pub struct Work {
    product: String,
    directions: String,
    sprayer: String,
}

/// The ways that go together in a company file: the label names the sprayer's method, and no mist is made. What burns comes last,
/// sprays before cloth and mop, large tanks before small ones.
pub fn works(company: &CompanyFile) -> Vec<Work> {
    let mut found = Vec::new();
    for (product, of) in &company.products {
        for (directions, way) in &of.directions {
            let fits = company.sprayers.iter().filter(|(_, sprayer)| {
                way.methods.contains(&sprayer.method) && sprayer.airborne().is_none() && sprayer.stock.is_some()
            });
            let burns = of.kind == ProductKind::Alcohol;
            found.extend(fits.map(|(key, sprayer)| {
                let work = Work { product: scalar(product), directions: scalar(directions), sprayer: scalar(key) };
                (burns, sprayer.method, sprayer.tank.clone(), work)
            }));
        }
    }
    found.sort_by_key(|(burns, method, tank, _)| (*burns, *method, Reverse(tank.clone())));
    found.into_iter().map(|(.., work)| work).collect()
}

/// A rule of one weekday.
#[derive(Serialize)]
struct Weekly<'a> {
    day: &'a str,
    from: Date,
    sites: &'a [String],
}

/// The first day with this name, as a rule writes it, on a day or after it.
fn first_on(name: &str, day: Date) -> Date {
    let named = |day: &Date| format!("{:?}", day.weekday()).to_uppercase().starts_with(name);
    (0..7).map(|more| day.saturating_add(more.days())).find(named).unwrap_or(day)
}

/// The contract as text.
///
/// # Errors
/// An internal error: the template asks for what it is not given.
pub fn contract(
    proposal: &Proposal,
    work: &Work,
    company: &CompanyFile,
    around: &Around<'_>,
) -> Result<String, WordingError> {
    #[derive(Serialize)]
    struct Blanks<'a> {
        crew: String,
        days: Vec<Weekly<'a>>,
        /// The last day of the rules: twelve weeks on.
        until: Date,
        #[serde(flatten)]
        proposal: &'a Proposal,
        #[serde(flatten)]
        work: &'a Work,
        #[serde(flatten)]
        around: &'a Around<'a>,
    }
    let crew = company.crew.keys().next().map(|key| scalar(key)).unwrap_or_default();
    let days =
        proposal.weekdays.iter().map(|(day, sites)| Weekly { day, from: first_on(day, around.day), sites }).collect();
    let until = around.day.saturating_add(12.weeks());
    let text = fill("contract.yaml", YAML, &Blanks { crew, days, until, proposal, work, around })?;
    Ok(annotated(&text, &ContractKeys::shape()))
}
