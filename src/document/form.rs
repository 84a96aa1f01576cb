//! The form: one page for the crew's telephone, made from the plans of a night. What its script is given stands here; it shows these
//! texts, notes what is tapped, and works nothing out.

use std::collections::BTreeMap;

use minijinja::context;
use serde::Serialize;

use super::open::caption;
use super::voice::Voice;
use super::{DocumentError, Said};
use crate::calc::Amount;
use crate::company::Lots;
use crate::engine::fonts;
use crate::job::{Job, LogKeys, NO_REASON, Treatment as Written};
use crate::plan::{AreaPlan, LoadPlan, StripPlan, TreatmentPlan};
use crate::quantity::{Strength, System, Volume, parse};
use crate::record::{Of, rewets, wanted};
use crate::table::TableShape;
use crate::wording::Words;
use crate::yaml::Declared;

/// What the page's template is given; `data` is what its script is given.
#[derive(Debug, Serialize)]
pub struct FormPage {
    lang: String,
    title: String,
    company: String,
    deference: String,
    words: BTreeMap<String, String>,
    #[serde(skip)]
    pub data: Form,
}

/// What the script is given.
#[derive(Debug, Serialize)]
pub struct Form {
    /// Under which name the browser keeps what was tapped: a plan that is changed has another.
    key: String,
    /// The name of the log's file.
    file: String,
    /// The columns of the log.
    columns: Vec<&'static str>,
    words: BTreeMap<String, String>,
    /// What a key of the log is called.
    fields: BTreeMap<&'static str, String>,
    nothing_open: String,
    /// The characters that can be printed, as ranges of a script's pattern.
    printable: String,
    /// Words that are no reason.
    no_reason: &'static [&'static str],
    visits: Vec<Visit>,
}

#[derive(Debug, Serialize)]
struct Visit {
    job: String,
    site: String,
    lines: Vec<String>,
    crew: Vec<String>,
    treatments: Vec<Treatment>,
}

#[derive(Debug, Serialize)]
struct Treatment {
    number: usize,
    heading: String,
    title: String,
    lots: Vec<Choice>,
    strip_lots: Vec<Choice>,
    strip: Option<Strip>,
    /// What a meter must show.
    meter: Option<String>,
    loads: Vec<Load>,
    areas: Vec<Area>,
}

/// Something to tap: what the log says, and how it is shown.
#[derive(Debug, Serialize)]
struct Choice {
    value: String,
    shown: String,
}

#[derive(Debug, Serialize)]
struct Strip {
    heading: String,
    how: String,
    /// What to do where the reading does not pass.
    fails: String,
    blocks: Vec<Reading>,
    between: Vec<Reading>,
}

#[derive(Debug, Serialize)]
struct Reading {
    value: String,
    shown: String,
    passes: bool,
}

#[derive(Debug, Serialize)]
struct Load {
    number: usize,
    heading: String,
    mix: String,
    keys: Vec<&'static str>,
    /// What is measured: `water`, and `product` unless it is ready to use.
    amounts: Vec<Measured>,
}

#[derive(Debug, Serialize)]
struct Measured {
    key: &'static str,
    planned: String,
    units: Vec<&'static str>,
}

#[derive(Debug, Serialize)]
struct Area {
    name: String,
    lines: Vec<String>,
    keys: Vec<&'static str>,
}

/// The form of some visits, in the order in which they are made; each with its words, its plan and its record.
pub fn form(words: &Words, visits: &[(Voice<'_>, &Job)]) -> Said<FormPage> {
    let jobs: Vec<&str> = visits.iter().map(|(voice, _)| voice.plan.job.as_str()).collect();
    let records: Vec<&str> = visits.iter().map(|(voice, _)| voice.record.number.as_str()).collect();
    let first = visits.first().map(|(voice, _)| voice.plan);
    let keys = ["mixed", "lot", "strip_lot", "reading", "water", "product", "by", "started", "finished", "rewets"];
    let keys = keys.into_iter().chain(["wet_until", "rinsed"]);
    let file = match (jobs.as_slice(), first) {
        ([one], _) => format!("{one}.csv"),
        (_, Some(plan)) => format!("{}-{}.csv", plan.start.date(), jobs.len()),
        _ => String::new(),
    };
    Ok(FormPage {
        lang: words.language.clone(),
        title: words.say("form.title", context! { jobs => jobs.join(", ") })?,
        company: first.map(|plan| plan.company.name.clone()).unwrap_or_default(),
        deference: words.word("deference")?.to_owned(),
        words: words.group("form.words"),
        data: Form {
            key: format!("decant {}", records.join(" ")),
            file,
            columns: TableShape::of(&LogKeys::shape()).columns(),
            words: words.group("form.words"),
            fields: keys.map(|key| Ok((key, words.word(caption(key))?.to_owned()))).collect::<Said<_>>()?,
            nothing_open: words.word("form.nothing_open")?.to_owned(),
            printable: printable(),
            no_reason: &NO_REASON,
            visits: visits.iter().map(|(voice, job)| visit(voice, job)).collect::<Said<_>>()?,
        },
    })
}

fn printable() -> String {
    let all: Vec<u32> = (0x20..=0xFFFF).filter(|c| char::from_u32(*c).is_some_and(fonts::can_print)).collect();
    let ranges = all.chunk_by(|one, next| one + 1 == *next);
    ranges.filter_map(|range| Some(format!("\\u{:04x}-\\u{:04x}", range.first()?, range.last()?))).collect()
}

fn visit(voice: &Voice<'_>, job: &Job) -> Said<Visit> {
    let plan = voice.plan;
    let when = format!("{}, {}", voice.date(plan.start.date())?, voice.clock(plan.start)?);
    let address = Some(plan.site.address.clone()).filter(|address| !address.is_empty());
    let treatments = plan.treatments.iter().zip(&job.treatments);
    Ok(Visit {
        job: plan.job.clone(),
        site: plan.site.name.clone(),
        lines: address.into_iter().chain([when, voice.record.number.clone()]).collect(),
        crew: plan.crew.iter().map(|member| member.name.clone()).collect(),
        treatments: treatments
            .map(|(treatment, written)| self::treatment(voice, job, treatment, written))
            .collect::<Said<_>>()?,
    })
}

fn treatment(voice: &Voice<'_>, job: &Job, treatment: &TreatmentPlan, written: &Written) -> Said<Treatment> {
    let (mut loads, mut areas) = (Vec::new(), Vec::new());
    for line in wanted(voice.plan, job).into_iter().filter(|line| line.treatment.number == treatment.number) {
        match line.of {
            Of::Load(load) => loads.push(self::load(voice, treatment, load, line.keys)?),
            Of::Area(area) => areas.push(self::area(voice, treatment, area, line.keys)?),
        }
    }
    let product = &treatment.product.name;
    let strip_lots = written.product.strip.as_ref().map(|strip| &strip.lots);
    Ok(Treatment {
        number: treatment.number,
        heading: voice.say("form.treatment", context! { number => treatment.number, product })?,
        title: treatment.directions.title.clone(),
        lots: lots(voice, &written.product.lots)?,
        strip_lots: strip_lots.map_or(Ok(Vec::new()), |lots| self::lots(voice, lots))?,
        strip: treatment.strip.as_ref().map(|strip| self::strip(voice, strip)).transpose()?,
        meter: meter(voice, treatment)?,
        loads,
        areas,
    })
}

fn meter(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Option<String>> {
    let Some(figures) = treatment.bounds.of_figures() else { return Ok(None) };
    let [low, high, error] = figures.map(|figure| voice.units.count(&figure).main);
    let phone = &voice.plan.company.phone;
    voice.say("form.meter", context! { low, high, error, phone }).map(Some)
}

/// Lots that may be used on the day of the visit.
fn lots(voice: &Voice<'_>, lots: &Lots) -> Said<Vec<Choice>> {
    let usable = lots.usable_on(voice.plan.start.date());
    let choice = |(lot, last): (&str, _)| {
        let shown = voice.say("form.last_day", context! { lot, day => voice.date(last)? })?;
        Ok(Choice { value: lot.to_owned(), shown })
    };
    usable.into_iter().map(choice).collect()
}

fn strip(voice: &Voice<'_>, strip: &StripPlan) -> Said<Strip> {
    let written = |block: &Strength| format!("{} mg/L", block.as_milligrams_per_litre().decimal(6));
    let block = |(at, block): (usize, &Strength)| Reading {
        value: written(block),
        shown: voice.bare(block),
        passes: strip.passes.contains(&at),
    };
    let between = |(at, two): (usize, &[Strength])| {
        let [low, high] = two else { return Err(DocumentError::Data("a space has two blocks".to_owned())) };
        Ok(Reading {
            value: format!("{} to {}", written(low), written(high)),
            shown: voice.say("range", context! { low => voice.bare(low), high => voice.bare(high) })?,
            passes: strip.passes_between.contains(&at),
        })
    };
    let name = strip.name.clone().map_or_else(|| voice.word("sheet.strip_heading"), Ok)?;
    let fails = match strip.band() {
        Some(_) => voice.say("form.fails", context! { phone => &voice.plan.company.phone })?,
        None => voice.word("form.cannot_tell")?,
    };
    Ok(Strip {
        heading: name,
        how: voice.strip_how(strip)?,
        fails,
        blocks: strip.blocks.iter().enumerate().map(block).collect(),
        between: strip.blocks.windows(2).enumerate().map(between).collect::<Said<_>>()?,
    })
}

fn load(voice: &Voice<'_>, treatment: &TreatmentPlan, load: &LoadPlan, keys: Vec<&'static str>) -> Said<Load> {
    let is_ready = treatment.ratio.is_ready_to_use();
    let first = if is_ready { &load.solution } else { &load.water };
    let water = voice.units.water(first).main;
    let mix = match is_ready {
        true => voice.say("form.mix_ready", context! { water })?,
        false => voice.say("form.mix", context! { water, product => voice.dose(&load.product)?.main })?,
    };
    let mut amounts = vec![large(voice, first)?];
    if !is_ready {
        amounts.extend(measured(voice, &load.product)?);
    }
    let loads = treatment.loads.len();
    Ok(Load {
        number: load.number,
        heading: voice.say("form.load", context! { load => load.number, loads })?,
        mix,
        keys,
        amounts,
    })
}

const LARGE: [&str; 4] = ["gal", "qt", "L", "mL"];
const SMALL: [&str; 4] = ["fl oz", "mL", "gal", "L"];

/// So many of a unit, as a log is written: a number with a point.
fn in_unit(volume: &Volume, unit: &str, places: u32) -> Said {
    let one = parse::volume(&format!("1 {unit}")).map_err(|refusal| DocumentError::Data(refusal.message))?;
    Ok(format!("{} {unit}", volume.over(&one).decimal(places)))
}

fn large(voice: &Voice<'_>, volume: &Volume) -> Said<Measured> {
    let (planned, units) = match voice.units.system {
        System::Us => (in_unit(volume, "gal", 4)?, LARGE.to_vec()),
        System::Si => (in_unit(volume, "L", 3)?, vec!["L", "mL"]),
    };
    Ok(Measured { key: "water", planned, units })
}

fn measured(voice: &Voice<'_>, product: &Amount) -> Said<Option<Measured>> {
    let (planned, units) = match (product, voice.units.system) {
        (Amount::None, _) => return Ok(None),
        (Amount::Liquid(volume), System::Us) => (in_unit(volume, "fl oz", 4)?, SMALL.to_vec()),
        (Amount::Liquid(volume), System::Si) => (in_unit(volume, "mL", 2)?, vec!["mL", "L"]),
        (Amount::Powder(mass), System::Us) => (format!("{} g", mass.as_grams().decimal(2)), vec!["g", "oz wt", "lb"]),
        (Amount::Powder(mass), System::Si) => (format!("{} g", mass.as_grams().decimal(2)), vec!["g", "kg"]),
        (Amount::Tablets(count), _) => (format!("{} tablets", count.decimal(2)), vec!["tablets"]),
    };
    Ok(Some(Measured { key: "product", planned, units }))
}

fn area(voice: &Voice<'_>, treatment: &TreatmentPlan, area: &AreaPlan, keys: Vec<&'static str>) -> Said<Area> {
    let (from, to) = (voice.clock(area.times.start)?, voice.clock(area.times.wet_until)?);
    let plan = voice.say("clock_range", context! { from, to })?;
    let contact = voice.time(&treatment.directions.contact_time);
    let mut lines = vec![voice.say("form.planned", context! { plan, contact })?];
    let count = rewets(treatment);
    if count > 0 {
        lines.push(voice.say("form.rewets", context! { count })?);
    }
    Ok(Area { name: area.name.clone(), lines, keys })
}
