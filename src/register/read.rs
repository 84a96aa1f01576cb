//! A record's file, as far as registers need it.

use serde_json::Value;

use super::{Basis, Key, Sum};
use crate::company::Dates;
use crate::quantity::{Number, System};
use crate::record::{Band, FORM, Made, json_within_bounds};

/// Why a file is not taken for a record.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct ReadError(String);

fn missing(field: &str) -> ReadError {
    ReadError(format!("`{field}` is missing or is not what a plan holds there"))
}

/// A record, read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recorded {
    /// The job's number.
    pub job: String,
    /// The day on which the visit was to begin, `2026-04-13`.
    pub day: String,
    /// Which revision it is, from 1.
    pub revision: u64,
    /// The firm's name.
    pub company: String,
    /// The paper that its sheets are printed on.
    pub page: String,
    /// The units that its documents have first; a record of an earlier program does not say, and metric units are what it holds.
    pub units: System,
    pub dates: Dates,
    /// Whether its rules are those of the United States, whose agency registers products.
    pub united_states: bool,
    /// Whether any area was treated, by its log; not known without one.
    pub made: Made,
    /// What each treatment used, by its log.
    pub uses: Vec<(Key, Sum)>,
    /// What the strips showed.
    pub readings: Vec<Reading>,
}

/// One strip reading, with the band that held for it. Strengths in mg/L.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reading {
    /// When the load was mixed, as the log has it; empty if it does not.
    pub mixed: String,
    pub job: String,
    pub site: String,
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
    /// How it compares, as the record's own verdict has it; without one nothing passes.
    pub compared: Band,
}

/// The readings that pass, in mg/L, and whether the edges do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadBand {
    pub low: Number,
    pub low_passes: bool,
    pub high: Number,
    pub high_passes: bool,
}

impl Reading {
    /// `passes`, `below`, `above`, `cannot_tell` or `no_band`: what the certificate says.
    pub fn result(&self) -> &'static str {
        match self.compared {
            Band::Passes => "passes",
            Band::Below => "below",
            Band::Above => "above",
            Band::CannotTell => "cannot_tell",
            Band::Unknown => "no_band",
        }
    }
}

/// Reads a record's file.
///
/// # Errors
/// [`ReadError`] if it is none.
pub fn read(bytes: &[u8]) -> Result<Recorded, ReadError> {
    let record = json_within_bounds(bytes).map_err(|why| ReadError(format!("it is not JSON: {why}")))?;
    recorded(&record)
}

/// Reads a record.
pub(super) fn recorded(record: &Value) -> Result<Recorded, ReadError> {
    if record["form"] != FORM {
        return Err(ReadError("it is not a record of a form that is known".to_owned()));
    }
    let (plan, log) = (&record["plan"], &record["applied"]);
    let (job, site, start) = (text(plan, "/job")?, text(plan, "/site/name")?, text(plan, "/start")?);
    let month = start.get(..7).unwrap_or_default().to_owned();
    let treatments = plan["treatments"].as_array().ok_or_else(|| missing("treatments"))?;
    let mut uses = Vec::new();
    // without a log nothing is known to have been done
    for treatment in treatments.iter().filter(|_| log.is_object()) {
        let (unit, basis, used) = used(treatment, log)?;
        // what was neither mixed nor laid was not used
        if used.solution.is_zero() && used.treatments == 0 {
            continue;
        }
        let (site, month, product) = (site.clone(), month.clone(), text(treatment, "/product/name")?);
        let registration = clean(treatment["product"]["registration"].as_str().unwrap_or_default());
        uses.push((Key { site, month, product, registration, unit, basis }, used));
    }
    let verdicts: Vec<&Value> = list(record, "verdicts").iter().filter(|v| v["rule"] == "reading").collect();
    let mut readings = Vec::new();
    for load in list(log, "loads").iter().filter(|load| !load["reading"].is_null()) {
        let unnumbered = || missing("applied/loads/treatment");
        let at = load["treatment"].as_u64().ok_or_else(unnumbered)?;
        let index = usize::try_from(at).ok().and_then(|at| at.checked_sub(1));
        let treatment = index.and_then(|at| treatments.get(at)).ok_or_else(unnumbered)?;
        // one verdict a reading; the same reading of one load has the same verdict however often it was read
        let same = |v: &&&Value| {
            v["treatment"] == load["treatment"] && v["load"] == load["load"] && v["read"] == load["reading"]
        };
        let verdict = verdicts.iter().find(same).map_or(&Value::Null, |verdict| *verdict);
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
            band: band(&verdict["band"]),
            compared: match verdict["result"].as_str() {
                Some("passes") => Band::Passes,
                Some("below") => Band::Below,
                Some("above") => Band::Above,
                Some("cannot-tell") => Band::CannotTell,
                _ => Band::Unknown,
            },
        });
    }
    let revision = record["revision"].as_u64().ok_or_else(|| missing("revision"))?;
    let day = start.get(..10).unwrap_or_default().to_owned();
    let maker = &record["made_by"];
    Ok(Recorded {
        job,
        day,
        revision,
        company: text(plan, "/company/name")?,
        page: text(plan, "/page")?,
        units: if maker["units"] == "us" { System::Us } else { System::Si },
        dates: if maker["dates"] == Dates::Us.word() { Dates::Us } else { Dates::International },
        made: made(treatments, log),
        united_states: plan["regime"].as_str().is_some_and(|regime| regime.starts_with("united-states")),
        uses,
        readings,
    })
}

/// Not made where the log says of every area that it was left out.
fn made(treatments: &[Value], log: &Value) -> Made {
    if !log.is_object() {
        return Made::Unknown;
    }
    let left_out = |treatment: &Value, area: &Value| {
        let is_its = |entry: &&Value| entry["treatment"] == treatment["number"] && entry["name"] == area["name"];
        list(log, "areas").iter().find(is_its).is_some_and(|entry| !entry["skipped"].is_null())
    };
    let nothing = treatments.iter().all(|t| list(t, "areas").iter().all(|area| left_out(t, area)));
    if nothing { Made::Not } else { Made::Partly }
}

/// The unit, what the amounts rest on, and the amounts by the log: each load as often as it was mixed, areas that were left out, or that
/// it does not name, not at all.
fn used(treatment: &Value, log: &Value) -> Result<(String, Basis, Sum), ReadError> {
    // of a product that is ready to use, what is laid is the product itself
    let ready = treatment["need"]["product"].is_null() || treatment["directions"]["dilution"] == "ready-to-use";
    let amount = if ready { "mixed" } else { "product" };
    let unit = text(treatment, &format!("/need/{amount}/unit"))?;
    let own = |key: &str| {
        let all = list(log, key).iter();
        all.filter(|entry| entry["treatment"] == treatment["number"] && entry["skipped"].is_null())
    };
    let (mut basis, mut sum) = (Basis::Measured, Sum::default());
    for entry in own("loads") {
        let planned = list(treatment, "loads").iter().find(|load| load["number"] == entry["load"]);
        let planned = planned.ok_or_else(|| missing("applied/loads/load"))?;
        let measured = !entry["water"].is_null() && (ready || !entry["product"].is_null());
        let (from, solution) = if measured {
            let mut solution = number(entry, "/water/value")?;
            if entry["product"]["unit"] == "mL" {
                solution += &number(entry, "/product/value")?;
            }
            (entry, solution)
        } else {
            basis = Basis::Logged;
            (planned, number(planned, "/solution/value")?)
        };
        sum.product += &if ready { solution.clone() } else { number(from, "/product/value")? };
        sum.solution += &solution;
    }
    for area in list(treatment, "areas") {
        if own("areas").any(|entry| entry["name"] == area["name"]) {
            sum.treatments = 1;
            sum.area += &number(area, "/size/value")?;
        }
    }
    Ok((unit, basis, sum))
}

pub(super) fn list<'v>(value: &'v Value, key: &str) -> &'v [Value] {
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
    found.map(clean).ok_or_else(|| missing(at.trim_start_matches('/')))
}

fn number(value: &Value, at: &str) -> Result<Number, ReadError> {
    let found = value.pointer(at).and_then(Value::as_f64).and_then(Number::from_f64);
    found.ok_or_else(|| missing(at.trim_start_matches('/')))
}

/// Without characters that break lines or turn the order of others about.
fn clean(text: &str) -> String {
    let hides = |c: char| {
        c.is_control()
            || matches!(c, '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}')
    };
    text.chars().map(|c| if hides(c) { ' ' } else { c }).collect()
}
