//! The mix sheet: what a technician reads at the tap.

mod fit;
mod steps;
mod timeline;

use minijinja::context;
use serde::Serialize;
use serde_json::{Value, json};

use super::parts::{AreaRow, Extent, Fact, Figure, Qr, Watch, Wear, area_rows, wear};
use super::voice::{Voice, whole_minutes};
use super::{Head, Said, View};
use crate::plan::{Caution, LoadPlan, Severity, StripPlan, TreatmentPlan};
use crate::quantity::{Basis, Shown, Strength};
use crate::typeset::Template;
use crate::wording::Words;
use timeline::Timeline;

pub use fit::{begin, step_down};

#[derive(Serialize)]
struct Body {
    header: Header,
    /// One a page.
    treatments: Vec<Treatment>,
    /// When people may come back to the site: a sentence for every page.
    reentry: String,
    /// When to stop work.
    stop: Vec<String>,
    signature: Vec<String>,
    deference: String,
}

#[derive(Serialize)]
struct Header {
    heading: String,
    site: String,
    address: String,
    when: String,
    /// The last one, the record's number, is repeated at the foot.
    facts: [Fact; 3],
    qr: Qr,
}

#[derive(Serialize)]
struct Treatment {
    heading: String,
    facts: Vec<String>,
    /// The dilution in a sentence.
    meaning: String,
    /// Which loads the boxes are for.
    each: String,
    water: Option<Figure>,
    /// `None` where the product is ready to use.
    product: Option<Figure>,
    strip: Option<Strip>,
    /// The last load, where it differs.
    last: Option<LastLoad>,
    loads: Vec<Load>,
    areas: Areas,
    wear: Vec<Wear>,
    steps: Vec<String>,
    timeline: Option<Timeline>,
    cautions: Vec<Watch>,
}

#[derive(Serialize)]
struct Strip {
    big: String,
    small: String,
    unit: &'static str,
    alt: String,
    how: String,
    blocks: Vec<Block>,
}

#[derive(Serialize)]
struct Block {
    label: String,
    pass: bool,
}

#[derive(Serialize)]
struct LastLoad {
    water: Figure,
    product: Option<Figure>,
    each: String,
}

#[derive(Serialize)]
struct Load {
    load: String,
    water: String,
    product: String,
    expect: String,
}

#[derive(Serialize)]
struct Areas {
    rows: Vec<AreaRow>,
    /// Only where there are several.
    total: Option<Extent>,
}

/// The mix sheet of a plan.
pub fn mix_sheet(voice: &Voice<'_>) -> Said<View> {
    let plan = voice.plan;
    let body = Body {
        header: Header {
            heading: voice.word("sheet.heading")?,
            site: plan.site.name.clone(),
            address: plan.site.address.clone(),
            when: format!("{}, {}", voice.date(plan.start.date())?, voice.clock(plan.start)),
            facts: [
                Fact::new(voice.word("sheet.fact_job")?, &plan.job),
                Fact::new(voice.word("sheet.fact_crew")?, voice.crew()),
                Fact::new(voice.word("sheet.fact_record")?, &voice.record.number),
            ],
            qr: voice.qr()?,
        },
        treatments: plan.treatments.iter().map(|t| treatment(voice, t)).collect::<Said<_>>()?,
        reentry: voice.say("sheet.reentry", context! { at => voice.reentry(plan.reentry)? })?,
        stop: voice.each("sheet.stop", &["irritation", "strip", "people", "leak", "label"])?,
        signature: voice.each("sheet.signature", &["technician", "moment"])?,
        deference: voice.word("deference")?,
    };
    let title = voice.say("sheet.title", context! { job => &plan.job })?;
    let head = Head::of(voice, title, "sheet.words");
    View::new(Template::MixSheet, format!("{}-mix-sheet", plan.job), head, body)
}

/// The mix sheets of several jobs in one print run, in their order; each is a document of its own, with its own page numbers.
/// They are to have the firm's look already.
pub fn mix_sheets(words: &Words, stem: String, run: &str, sheets: Vec<View>) -> Said<View> {
    let title = words.say("sheet.title_run", context! { run })?;
    let sheets: Vec<Value> = sheets.into_iter().map(|sheet| sheet.data).collect();
    Ok(View { template: Template::MixSheet, stem, data: json!({ "title": title, "sheets": sheets }) })
}

fn treatment(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Treatment> {
    let (_, _, meaning) = voice.dilution(treatment)?;
    let (water, product) = match treatment.loads.first() {
        Some(load) => {
            let (water, product) = load_boxes(voice, treatment, load)?;
            (Some(water), product)
        }
        // a treatment without a load cannot be planned; an empty sheet would be the honest outcome if it could
        None => (None, None),
    };
    let (each, last) = captions(voice, treatment)?;
    let load = |load: &LoadPlan| {
        Ok(Load {
            load: load.number.to_string(),
            water: first_in(voice, load).main,
            product: voice.dose(&load.product)?.main,
            expect: voice.units.strength(&load.strength).main,
        })
    };
    Ok(Treatment {
        heading: treatment.directions.title.clone(),
        facts: facts(voice, treatment)?,
        meaning,
        each,
        water,
        product,
        strip: treatment.strip.as_ref().map(|s| strip(voice, s, &treatment.strength.mixed)).transpose()?,
        last,
        loads: treatment.loads.iter().map(load).collect::<Said<_>>()?,
        areas: areas(voice, treatment)?,
        wear: wear(voice, treatment.equipment.iter().map(|worn| worn.item))?,
        steps: steps::steps(voice, treatment)?,
        timeline: timeline::timeline(voice, treatment)?,
        cautions: cautions(voice, treatment)?,
    })
}

fn facts(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Vec<String>> {
    let sprayer = &treatment.sprayer;
    let tank = voice.units.water(&sprayer.tank).main;
    let blanks = context! { sprayer => &sprayer.name, tank, count => sprayer.count };
    let key = if sprayer.count > 1 { "sheet.tanks" } else { "sheet.tank" };
    let mut facts = vec![treatment.product.name.clone(), voice.say(key, blanks)?];
    if let Some(vessel) = &treatment.mixed_in {
        let blanks = context! {
            vessel => &vessel.name,
            holds => voice.units.water(&vessel.holds).main,
            count => treatment.containers(),
            container => &treatment.filled.name,
        };
        facts.push(voice.say("sheet.poured", blanks)?);
    }
    facts.push(voice.units.flow(&sprayer.flow).main);
    facts.push(voice.units.coverage(&treatment.film).main);
    Ok(facts)
}

/// The line over the boxes, and the last load where it differs from the first.
fn captions(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<(String, Option<LastLoad>)> {
    let all = &treatment.loads;
    let (Some(first), Some(last)) = (all.first(), all.last()) else {
        return Ok((String::new(), None));
    };
    let (loads, same) = (all.len(), all.iter().take_while(|l| l.water == first.water && l.product == first.product));
    let same = same.count();
    let each = if loads == 1 {
        voice.word("sheet.each_one")?
    } else {
        let several = || voice.say("sheet.numbers", context! { first => 1, last => same });
        let numbers = if same > 1 { several()? } else { "1".to_owned() };
        voice.say("sheet.each_full", context! { numbers, loads })?
    };
    if same == loads {
        return Ok((each, None));
    }
    let (water, product) = load_boxes(voice, treatment, last)?;
    let caption = voice.say("sheet.last", context! { number => last.number, loads })?;
    Ok((each, Some(LastLoad { water, product, each: caption })))
}

/// What goes in first, and then the product; a dose that is made up to a volume says up to which mark water follows.
fn load_boxes(voice: &Voice<'_>, treatment: &TreatmentPlan, load: &LoadPlan) -> Said<(Figure, Option<Figure>)> {
    let mut water = Figure::from(first_in(voice, load));
    if treatment.basis() == Some(Basis::MadeUpTo) {
        let solution = voice.units.water(&load.solution).both();
        water.small = Some(voice.say("sheet.top_up", context! { solution })?);
    }
    let product = if load.water.is_zero() { None } else { Some(Figure::from(voice.dose(&load.product)?)) };
    Ok((water, product))
}

/// What is filled in first: water, or a ready-to-use product itself.
fn first_in(voice: &Voice<'_>, load: &LoadPlan) -> Shown {
    voice.units.water(if load.water.is_zero() { &load.solution } else { &load.water })
}

fn strip(voice: &Voice<'_>, strip: &StripPlan, expected: &Strength) -> Said<Strip> {
    let how = match (&strip.dip, &strip.wait) {
        (Some(dip), Some(wait)) => {
            voice.say("sheet.strip_dip_wait", context! { dip => voice.time(dip), wait => voice.time(wait) })?
        }
        (Some(dip), None) => voice.say("sheet.strip_dip", context! { dip => voice.time(dip) })?,
        _ => voice.word("sheet.strip_read")?,
    };
    let big = match voice.band(strip)? {
        Some(band) => band,
        None if strip.off_scale => voice.word("sheet.off_scale")?,
        None => voice.word("sheet.cannot_show")?,
    };
    let passes: Vec<String> = strip.passes.iter().map(|i| voice.bare(&strip.blocks[*i])).collect();
    let low = strip.blocks.first().map(|low| voice.bare(low));
    let high = strip.blocks.last().map(|high| voice.units.strength(high).main);
    let block = |(i, block)| Block { label: voice.bare(block), pass: strip.passes.contains(&i) };
    let strength = voice.units.strength(expected).main;
    Ok(Strip {
        big,
        small: voice.say("sheet.strip_expect", context! { strength })?,
        unit: "ppm",
        alt: voice.say("sheet.strip_alt", context! { low, high, passes => passes.join(", ") })?,
        how,
        blocks: strip.blocks.iter().enumerate().map(block).collect(),
    })
}

fn areas(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Areas> {
    let rows = area_rows(voice, treatment);
    let total = Extent {
        name: voice.word("sheet.total")?,
        size: voice.units.area(&treatment.size).main,
        solution: voice.units.solution(&treatment.need.laid).main,
        // the sum of the rows as they are printed, each carried up to a minute
        minutes: voice.units.count(&treatment.areas.iter().map(|a| whole_minutes(&a.spraying)).sum()).main,
    };
    Ok(Areas { total: (rows.len() > 1).then_some(total), rows })
}

/// What to watch for in a treatment; what the office wrote for the whole job stands where the crew looks first.
fn cautions(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Vec<Watch>> {
    let concerns = |c: &&Caution| c.is_on_sheet() && c.treatment.is_none_or(|t| t == treatment.number);
    let mut all = Vec::new();
    for caution in voice.plan.cautions.iter().filter(concerns) {
        let severity = match caution.severity {
            Severity::Danger => "stop",
            severity => severity.word(),
        };
        let word = voice.word(&format!("sheet.severity.{}", caution.severity.word()))?;
        all.push(Watch { severity, word, text: voice.caution(caution)? });
    }
    if treatment.number == 1 {
        let word = voice.word("sheet.severity.note")?;
        all.extend(voice.plan.notes.iter().map(|n| Watch { severity: "note", word: word.clone(), text: n.clone() }));
    }
    Ok(all)
}
