//! A record's file, as far as registers need it.

use serde_json::Value;

use super::{Basis, Key};
use crate::quantity::Number;
use crate::record::{FORM, json_within_bounds};

/// Why a file is not taken for a record.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ReadError {
    /// Not JSON at all.
    #[error("it is not JSON: {0}")]
    Json(String),
    /// No record of ours.
    #[error("it is not a record of a form that is known")]
    NoRecord,
    /// A field that a plan always has.
    #[error("`{0}` is missing or is not what a plan holds there")]
    Field(String),
}

/// A record, read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recorded {
    /// The job's number.
    pub job: String,
    /// Which revision it is, from 1.
    pub revision: u64,
    /// The firm's name.
    pub company: String,
    /// The paper that its sheets are printed on.
    pub page: String,
    /// What each treatment used.
    pub uses: Vec<Use>,
    /// What the strips showed.
    pub readings: Vec<Reading>,
}

/// The product of one treatment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Use {
    /// What it is summed under.
    pub key: Key,
    /// Product in the key's unit.
    pub product: Number,
    /// Solution in mL.
    pub solution: Number,
    /// Surface in m².
    pub area: Number,
}

/// One strip reading, with the band that held for it. Strengths in mg/L.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reading {
    /// When the load was mixed, as the log has it; empty if it does not.
    pub mixed: String,
    /// The job's number.
    pub job: String,
    /// The site's name.
    pub site: String,
    /// The product's name.
    pub product: String,
    /// Which treatment, from 1.
    pub treatment: u64,
    /// Which load, from 1.
    pub load: u64,
    /// The lower block, or the only one.
    pub low: Number,
    /// The upper block, or the only one.
    pub high: Number,
    /// The band: its lower edge, whether that edge passes, its upper edge.
    pub band: Option<(Number, bool, Number)>,
}

impl Reading {
    /// `passes`, `below`, `above`, or `no_band`, by the rule that the certificate goes by.
    pub fn result(&self) -> &'static str {
        let Some((low, low_passes, high)) = &self.band else {
            return "no_band";
        };
        let on_block = self.low == self.high;
        if self.low < *low || (on_block && self.low == *low && !low_passes) {
            "below"
        } else if self.high > *high {
            "above"
        } else {
            "passes"
        }
    }
}

/// Reads a record's file.
///
/// # Errors
/// [`ReadError`] if it is none.
pub fn read(bytes: &[u8]) -> Result<Recorded, ReadError> {
    let whole: Value = json_within_bounds(bytes).map_err(ReadError::Json)?;
    if whole["form"] != FORM {
        return Err(ReadError::NoRecord);
    }
    let plan = &whole["plan"];
    let job = text(plan, "/job")?;
    let site = text(plan, "/site/name")?;
    let start = text(plan, "/start")?;
    let month = start.get(..7).unwrap_or_default().to_owned();
    let treatments = plan["treatments"]
        .as_array()
        .ok_or_else(|| ReadError::Field("treatments".to_owned()))?;
    let mut uses = Vec::new();
    for treatment in treatments {
        let amounts = amounts(treatment, &whole["applied"])?;
        uses.push(Use {
            key: Key {
                site: site.clone(),
                month: month.clone(),
                product: text(treatment, "/product/name")?,
                registration: clean(treatment["product"]["registration"].as_str().unwrap_or_default()),
                unit: amounts.unit,
                basis: amounts.basis,
            },
            product: amounts.product,
            solution: amounts.solution,
            area: amounts.area,
        });
    }
    let mut readings = Vec::new();
    for load in list(&whole["applied"], "loads") {
        if load["reading"].is_null() {
            continue;
        }
        let at = load["treatment"]
            .as_u64()
            .ok_or_else(|| ReadError::Field("applied/loads/treatment".to_owned()))?;
        let index = usize::try_from(at).ok().and_then(|at| at.checked_sub(1));
        let treatment = index
            .and_then(|at| treatments.get(at))
            .ok_or_else(|| ReadError::Field("applied/loads/treatment".to_owned()))?;
        readings.push(Reading {
            mixed: clean(load["mixed"].as_str().unwrap_or_default()),
            job: job.clone(),
            site: site.clone(),
            product: text(treatment, "/product/name")?,
            treatment: at,
            load: load["load"].as_u64().unwrap_or_default(),
            low: number(load, "/reading/low/value")?,
            high: number(load, "/reading/high/value")?,
            band: band(&treatment["strip"]),
        });
    }
    Ok(Recorded {
        job,
        revision: whole["revision"]
            .as_u64()
            .ok_or_else(|| ReadError::Field("revision".to_owned()))?,
        company: text(plan, "/company/name")?,
        page: text(plan, "/page")?,
        uses,
        readings,
    })
}

/// What was used of a product, and over how much surface.
struct Amounts {
    unit: String,
    basis: Basis,
    product: Number,
    solution: Number,
    area: Number,
}

/// From the log where there is one: each load as often as it was mixed, areas that were left out not at all.
fn amounts(treatment: &Value, applied: &Value) -> Result<Amounts, ReadError> {
    // of a product that is ready to use, what is laid is the product itself
    let ready = treatment["need"]["product"].is_null() || treatment["directions"]["dilution"] == "ready-to-use";
    let amount = if ready { "mixed" } else { "product" };
    let unit = text(treatment, &format!("/need/{amount}/unit"))?;
    if !applied.is_object() {
        return Ok(Amounts {
            unit,
            basis: Basis::Planned,
            product: number(treatment, &format!("/need/{amount}/value"))?,
            solution: number(treatment, "/need/mixed/value")?,
            area: number(treatment, "/size/value")?,
        });
    }
    let own = |key: &str| {
        let all = applied[key].as_array().map(Vec::as_slice).unwrap_or_default();
        all.iter().filter(|entry| entry["treatment"] == treatment["number"])
    };
    let mut sum = Amounts {
        unit,
        basis: Basis::Measured,
        product: Number::zero(),
        solution: Number::zero(),
        area: Number::zero(),
    };
    for entry in own("loads").filter(|entry| entry["skipped"].is_null()) {
        let planned = list(treatment, "loads")
            .iter()
            .find(|load| load["number"] == entry["load"])
            .ok_or_else(|| ReadError::Field("applied/loads/load".to_owned()))?;
        let mixed_in = |from: &Value| -> Result<Number, ReadError> {
            let water = number(from, "/water/value")?;
            let liquid = from["product"]["unit"] == "mL";
            Ok(if liquid {
                &water + &number(from, "/product/value")?
            } else {
                water
            })
        };
        let measured = !entry["water"].is_null() && (ready || !entry["product"].is_null());
        let (from, solution) = if measured {
            (entry, mixed_in(entry)?)
        } else {
            sum.basis = Basis::Logged;
            (planned, number(planned, "/solution/value")?)
        };
        sum.product += &if ready {
            solution.clone()
        } else {
            number(from, "/product/value")?
        };
        sum.solution += &solution;
    }
    for area in list(treatment, "areas") {
        let left_out = own("areas").any(|entry| entry["name"] == area["name"] && !entry["skipped"].is_null());
        if !left_out {
            sum.area += &number(area, "/size/value")?;
        }
    }
    Ok(sum)
}

fn list<'v>(value: &'v Value, key: &str) -> &'v [Value] {
    value[key].as_array().map(Vec::as_slice).unwrap_or_default()
}

/// As the plan works it out from the blocks and spaces that pass.
fn band(strip: &Value) -> Option<(Number, bool, Number)> {
    let places = |key: &str| -> Vec<usize> {
        let all = strip[key].as_array().map(Vec::as_slice).unwrap_or_default();
        all.iter().filter_map(|at| usize::try_from(at.as_u64()?).ok()).collect()
    };
    let (passes, between) = (places("passes"), places("passes_between"));
    let block = |at: usize| Number::from_f64(strip["blocks"].get(at)?["value"].as_f64()?);
    let bottom = *passes.first().into_iter().chain(between.first()).min()?;
    Some((block(bottom)?, passes.contains(&bottom), block(*passes.last()?)?))
}

fn text(value: &Value, at: &str) -> Result<String, ReadError> {
    let found = value.pointer(at).and_then(Value::as_str);
    found
        .map(clean)
        .ok_or_else(|| ReadError::Field(at.trim_start_matches('/').to_owned()))
}

fn number(value: &Value, at: &str) -> Result<Number, ReadError> {
    let found = value.pointer(at).and_then(Value::as_f64).and_then(Number::from_f64);
    found.ok_or_else(|| ReadError::Field(at.trim_start_matches('/').to_owned()))
}

/// Without characters that break lines or turn the order of others about.
fn clean(text: &str) -> String {
    let hides = |c: char| {
        c.is_control()
            || matches!(c, '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}')
    };
    text.chars().map(|c| if hides(c) { ' ' } else { c }).collect()
}
