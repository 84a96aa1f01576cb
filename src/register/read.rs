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
    /// Whether any area was treated, or may have been: there is no log.
    pub made: bool,
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
    /// An instrument's error; `None` for a strip.
    pub error: Option<Number>,
    /// The readings that pass.
    pub band: Option<ReadBand>,
    /// How it compares, as the record's own verdict has it; `None` where it holds none.
    pub result: Option<String>,
}

/// The readings that pass, in mg/L.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadBand {
    /// The lower edge.
    pub low: Number,
    /// Whether it passes.
    pub low_passes: bool,
    /// The upper edge.
    pub high: Number,
    /// Whether it passes.
    pub high_passes: bool,
}

impl Reading {
    /// `passes`, `below`, `above`, `cannot_tell` or `no_band`: what the certificate says. Without a verdict in the record nothing
    /// passes.
    pub fn result(&self) -> &'static str {
        match self.result.as_deref() {
            Some("passes") => "passes",
            Some("below") => "below",
            Some("above") => "above",
            Some("cannot-tell") => "cannot_tell",
            _ => "no_band",
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
    let treatments = plan["treatments"].as_array().ok_or_else(|| ReadError::Field("treatments".to_owned()))?;
    let mut uses = Vec::new();
    for treatment in treatments {
        let amounts = amounts(treatment, &whole["applied"])?;
        // what was neither mixed nor laid was not used
        if whole["applied"].is_object() && amounts.solution.is_zero() && !amounts.made {
            continue;
        }
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
            made: amounts.made,
        });
    }
    let verdicts: Vec<&Value> = list(&whole, "verdicts").iter().filter(|v| v["rule"] == "reading").collect();
    let mut readings = Vec::new();
    for load in list(&whole["applied"], "loads") {
        if load["reading"].is_null() {
            continue;
        }
        let at = load["treatment"].as_u64().ok_or_else(|| ReadError::Field("applied/loads/treatment".to_owned()))?;
        let index = usize::try_from(at).ok().and_then(|at| at.checked_sub(1));
        let treatment = index
            .and_then(|at| treatments.get(at))
            .ok_or_else(|| ReadError::Field("applied/loads/treatment".to_owned()))?;
        // one verdict a reading; the same reading of one load has the same verdict however often it was read
        let same = |v: &&&Value| {
            v["treatment"] == load["treatment"] && v["load"] == load["load"] && v["read"] == load["reading"]
        };
        let verdict = verdicts.iter().find(same);
        readings.push(Reading {
            mixed: clean(load["mixed"].as_str().unwrap_or_default()),
            job: job.clone(),
            site: site.clone(),
            product: text(treatment, "/product/name")?,
            treatment: at,
            load: load["load"].as_u64().unwrap_or_default(),
            low: number(load, "/reading/low/value")?,
            high: number(load, "/reading/high/value")?,
            error: number(load, "/reading/instrument/value").ok(),
            band: verdict.and_then(|verdict| band(&verdict["band"])),
            result: verdict.and_then(|verdict| verdict["result"].as_str()).map(str::to_owned),
        });
    }
    Ok(Recorded {
        job,
        revision: whole["revision"].as_u64().ok_or_else(|| ReadError::Field("revision".to_owned()))?,
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
    made: bool,
}

/// From the log where there is one: each load as often as it was mixed, areas that were left out, or that it does not name, not at
/// all.
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
            made: true,
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
        made: false,
    };
    for entry in own("loads").filter(|entry| entry["skipped"].is_null()) {
        let planned = list(treatment, "loads")
            .iter()
            .find(|load| load["number"] == entry["load"])
            .ok_or_else(|| ReadError::Field("applied/loads/load".to_owned()))?;
        let mixed_in = |from: &Value| -> Result<Number, ReadError> {
            let water = number(from, "/water/value")?;
            let liquid = from["product"]["unit"] == "mL";
            Ok(if liquid { &water + &number(from, "/product/value")? } else { water })
        };
        let measured = !entry["water"].is_null() && (ready || !entry["product"].is_null());
        let (from, solution) = if measured {
            (entry, mixed_in(entry)?)
        } else {
            sum.basis = Basis::Logged;
            (planned, number(planned, "/solution/value")?)
        };
        sum.product += &if ready { solution.clone() } else { number(from, "/product/value")? };
        sum.solution += &solution;
    }
    for area in list(treatment, "areas") {
        if own("areas").any(|entry| entry["name"] == area["name"] && entry["skipped"].is_null()) {
            sum.made = true;
            sum.area += &number(area, "/size/value")?;
        }
    }
    Ok(sum)
}

fn list<'v>(value: &'v Value, key: &str) -> &'v [Value] {
    value[key].as_array().map(Vec::as_slice).unwrap_or_default()
}

/// As the verdict has it.
fn band(band: &Value) -> Option<ReadBand> {
    Some(ReadBand {
        low: number(band, "/low/value").ok()?,
        low_passes: band["low_passes"].as_bool()?,
        high: number(band, "/high/value").ok()?,
        high_passes: band["high_passes"].as_bool()?,
    })
}

fn text(value: &Value, at: &str) -> Result<String, ReadError> {
    let found = value.pointer(at).and_then(Value::as_str);
    found.map(clean).ok_or_else(|| ReadError::Field(at.trim_start_matches('/').to_owned()))
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
