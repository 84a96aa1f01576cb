//! The mix sheet: what a technician reads at the tap.

mod steps;
mod timeline;

use minijinja::context;
use serde::Serialize;
use serde_json::{Value, json};

use super::parts::{Fact, Figure, Qr, Watch, Wear, phone_number, wear};
use super::voice::Voice;
use super::{Head, Said, View};
use crate::engine::Template;
use crate::plan::{
    AreaPlan, Caution, Floor, LoadPlan, Passing, Reentry, Release, Severity, StripPlan, TreatmentPlan, whole_minute,
};
use crate::quantity::{Basis, Shown};
use crate::wording::Words;
use timeline::Timeline;

#[derive(Serialize)]
struct Body {
    header: Header,
    /// When people may come back to the site: one time, whatever the treatment.
    back: Figure,
    /// Whom to call.
    phones: Vec<Fact>,
    /// Each begins a page.
    treatments: Vec<Treatment>,
    signature: Vec<String>,
    deference: String,
}

#[derive(Serialize)]
struct Header {
    site: String,
    address: String,
    when: String,
    crew: String,
    /// Its number, which is repeated at the foot.
    record: String,
    qr: Qr,
}

#[derive(Serialize)]
struct Treatment {
    place: String,
    /// Which treatments are done at the same time.
    beside: Option<String>,
    heading: String,
    name: String,
    registration: Option<String>,
    facts: Vec<String>,
    meaning: String,
    dangers: Vec<String>,
    /// Which loads the boxes are for.
    each: String,
    water: Option<Figure>,
    /// `None` where the product is ready to use.
    product: Option<Figure>,
    strip: Option<Strip>,
    /// The last load, where it differs.
    last: Option<LastLoad>,
    wear: Vec<Wear>,
    /// When to stop work.
    stop: Vec<String>,
    /// To be ticked off before anything is mixed.
    before: Vec<String>,
    loads: Vec<Load>,
    areas: Areas,
    /// Whether surfaces are rinsed afterwards.
    rinsed: bool,
    steps: Vec<String>,
    cautions: Vec<Watch>,
    timeline: Option<Timeline>,
}

#[derive(Serialize)]
struct Strip {
    heading: String,
    name: Option<String>,
    /// The blocks that pass; a word where none does.
    big: String,
    /// Spaces between blocks that pass as well.
    between: Option<String>,
    expect: String,
    how: String,
    /// What does not pass, and what to do then.
    fails: Option<String>,
    then: String,
    alt: String,
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
    /// When it is mixed by the plan.
    plan: String,
    water: String,
    product: String,
}

#[derive(Serialize)]
struct Areas {
    rows: Vec<Area>,
    /// All of them together; only where there are several.
    total: Option<Total>,
}

#[derive(Serialize)]
struct Total {
    size: String,
    solution: String,
}

#[derive(Serialize)]
struct Area {
    name: String,
    size: String,
    solution: String,
    /// From when it is applied until when it stays wet.
    plan: String,
}

/// The mix sheet of a plan.
pub fn mix_sheet(voice: &Voice<'_>) -> Said<View> {
    let plan = voice.plan;
    let body = Body {
        header: Header {
            site: plan.site.name.clone(),
            address: plan.site.address.clone(),
            when: format!("{}, {}", voice.date(plan.start.date())?, voice.clock(plan.start)?),
            crew: voice.crew(),
            record: voice.record.number.clone(),
            qr: voice.qr()?,
        },
        back: match plan.reentry {
            Reentry::At(moment) => {
                let moment = whole_minute(moment);
                let (at, day) = (voice.clock(moment)?, voice.date(moment.date())?);
                let small = match Release::of(&plan.treatments) {
                    Release::Time => None,
                    Release::Dry => Some("sheet.back_dry"),
                    Release::Label => Some("sheet.back_allowed"),
                    Release::LabelAndDry => Some("sheet.back_allowed_dry"),
                };
                match small {
                    None => Figure { big: at, small: Some(day) },
                    // no more than a bound: it must not look as if somebody let people in
                    Some(small) => Figure {
                        big: voice.say("sheet.back_not_before", context! { at })?,
                        small: Some(voice.say(small, context! { day })?),
                    },
                }
            }
            Reentry::NotKnown => {
                Figure { big: voice.word("sheet.back_not_known")?, small: Some(voice.word("sheet.back_ask")?) }
            }
        },
        phones: phones(voice)?,
        treatments: plan.treatments.iter().map(|t| treatment(voice, t)).collect::<Said<_>>()?,
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

fn phones(voice: &Voice<'_>) -> Said<Vec<Fact>> {
    let company = &voice.plan.company;
    let mut phones = vec![Fact::new(voice.word("sheet.office")?, phone_number(&company.phone))];
    if let Some(emergency) = &company.emergency_phone {
        phones.push(Fact::new(voice.word("sheet.emergency")?, phone_number(emergency)));
    }
    let site = &voice.plan.site;
    let phone = site.phone.as_deref().map(phone_number);
    let there: Vec<String> = site.contact.iter().cloned().chain(phone).collect();
    if !there.is_empty() {
        phones.push(Fact::new(voice.word("sheet.at_site")?, there.join(", ")));
    }
    Ok(phones)
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
            plan: voice.clock(load.mixed_at)?,
            water: first_in(voice, load).main,
            product: voice.dose(&load.product)?.main,
        })
    };
    let place = context! { number => treatment.number, treatments => voice.plan.treatments.len() };
    let others: Vec<String> = treatment.beside.iter().map(ToString::to_string).collect();
    let beside = match others.as_slice() {
        [] => None,
        [other] => Some(voice.say("sheet.beside_one", context! { other })?),
        others => Some(voice.say("sheet.beside_several", context! { others => others.join(", ") })?),
    };
    let (dangers, cautions): (Vec<Watch>, _) =
        cautions(voice, treatment)?.into_iter().partition(|watch| watch.severity == Severity::Danger.word());
    Ok(Treatment {
        place: voice.say("sheet.place", place)?,
        beside,
        heading: treatment.directions.title.clone(),
        name: treatment.product.name.clone(),
        registration: voice.registered(treatment.product.registration.as_deref())?,
        facts: facts(voice, treatment)?,
        meaning,
        dangers: dangers.into_iter().map(|danger| danger.text).collect(),
        each,
        water,
        product,
        strip: treatment.strip.as_ref().map(|s| strip(voice, treatment, s)).transpose()?,
        last,
        wear: wear(voice, treatment.equipment.iter().map(|worn| worn.item))?,
        stop: stop(voice, treatment)?,
        before: before(voice, treatment)?,
        loads: treatment.loads.iter().map(load).collect::<Said<_>>()?,
        areas: areas(voice, treatment)?,
        rinsed: treatment.rinse.is_some(),
        steps: steps::steps(voice, treatment)?,
        cautions,
        timeline: timeline::timeline(voice, treatment)?,
    })
}

/// When to stop work; a strip is named only where one can fail.
fn stop(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Vec<String>> {
    let has_band = voice.band_of(treatment)?.is_some();
    let all = ["irritation", "strip", "people", "leak", "label"].into_iter().filter(|key| has_band || *key != "strip");
    voice.each("sheet.stop", &all.collect::<Vec<_>>())
}

/// What is ticked off before anything is mixed.
fn before(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Vec<String>> {
    let mut before = voice.each("sheet.before", &["name", "soil"])?;
    before.push(match &treatment.mixed_in {
        Some(_) => voice.word("sheet.before.labels")?,
        None => voice.say("sheet.before.label", context! { held => steps::held(voice, treatment)? })?,
    });
    if treatment.floor() == Floor::Wet {
        before.push(voice.word("sheet.before.signs")?);
    }
    Ok(before)
}

fn facts(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Vec<String>> {
    let sprayer = &treatment.sprayer;
    let tank = voice.units.water(&sprayer.tank).main;
    let blanks = context! { sprayer => &sprayer.name, tank, count => sprayer.count };
    let key = if sprayer.count > 1 { "sheet.tanks" } else { "sheet.tank" };
    let mut facts = vec![voice.say(key, blanks)?];
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
        let solution = voice.units.measured_water(&load.solution).both();
        water.small = Some(voice.say("sheet.top_up", context! { solution })?);
    }
    let product = if load.water.is_zero() { None } else { Some(Figure::from(voice.dose(&load.product)?)) };
    Ok((water, product))
}

/// What is filled in first: water, or a ready-to-use product itself.
fn first_in(voice: &Voice<'_>, load: &LoadPlan) -> Shown {
    voice.units.measured_water(if load.water.is_zero() { &load.solution } else { &load.water })
}

fn strip(voice: &Voice<'_>, treatment: &TreatmentPlan, strip: &StripPlan) -> Said<Strip> {
    let band = strip.band();
    let big = match (&band, strip.passes.first(), strip.passes.last()) {
        (Some(_), Some(first), Some(last)) if first != last => {
            let [low, high] = [first, last].map(|i| voice.bare(&strip.blocks[*i]));
            voice.say("range", context! { low, high })?
        }
        (Some(_), Some(block), _) => voice.bare(&strip.blocks[*block]),
        // no block alone, only a space between two
        (Some(band), ..) => {
            voice.say("sheet.space", context! { low => voice.bare(&band.low), high => voice.bare(&band.high) })?
        }
        _ if strip.off_scale => voice.word("sheet.off_scale")?,
        _ => voice.word("sheet.cannot_show")?,
    };
    let passes: Vec<String> = strip.passes.iter().map(|i| voice.bare(&strip.blocks[*i])).collect();
    let low = strip.blocks.first().map(|low| voice.bare(low));
    let high = strip.blocks.last().map(|high| voice.units.strength(high).main);
    let block = |(i, block)| Block { label: voice.bare(block), pass: strip.passes.contains(&i) };
    let expect =
        context! { strength => voice.units.strength(&treatment.strength.mixed).main, of => voice.measured(treatment)? };
    Ok(Strip {
        heading: voice.word("sheet.strip_heading")?,
        name: strip.name.clone(),
        big,
        between: between(voice, strip)?,
        expect: voice.say("sheet.strip_expect", expect)?,
        how: voice.strip_how(strip)?,
        then: match &band {
            Some(_) => voice.say("sheet.then", context! { phone => phone_number(&voice.plan.company.phone) })?,
            None => voice.word("steps.strip_cannot_show")?,
        },
        fails: band.map(|band| fails(voice, &band)).transpose()?,
        alt: voice.say("sheet.strip_alt", context! { low, high, passes => passes.join(", ") })?,
        blocks: strip.blocks.iter().enumerate().map(block).collect(),
    })
}

/// The spaces that pass beside the blocks that do; those between two blocks that pass are said with them.
fn between(voice: &Voice<'_>, strip: &StripPlan) -> Said<Option<String>> {
    let inside = |i: usize| strip.passes.contains(&i) && strip.passes.contains(&(i + 1));
    let spaces = strip.passes_between.iter().filter(|i| !strip.passes.is_empty() && !inside(**i));
    let said = spaces.filter_map(|i| Some((strip.blocks.get(*i)?, strip.blocks.get(i + 1)?)));
    let said = said.map(|(low, high)| {
        voice.say("sheet.or_between", context! { low => voice.bare(low), high => voice.bare(high) })
    });
    let said: Vec<String> = said.collect::<Said<_>>()?;
    Ok((!said.is_empty()).then(|| said.join(", ")))
}

/// The readings that do not pass.
fn fails(voice: &Voice<'_>, band: &Passing) -> Said {
    let low = if band.low_passes { "sheet.fails_below" } else { "sheet.fails_to" };
    let high = if band.high_passes { "sheet.fails_above" } else { "sheet.fails_from" };
    let low = voice.say(low, context! { figure => voice.bare(&band.low) })?;
    let high = voice.say(high, context! { figure => voice.units.strength(&band.high).main })?;
    voice.say("sheet.fails", context! { low, high })
}

fn areas(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Areas> {
    let sizes: Vec<_> = treatment.areas.iter().map(|area| area.size.clone()).collect();
    let solutions: Vec<_> = treatment.areas.iter().map(|area| area.solution.clone()).collect();
    let ((sizes, size), (solutions, solution)) = (voice.units.areas(&sizes), voice.units.solutions(&solutions));
    let row = |((area, size), solution): ((&AreaPlan, String), String)| {
        Ok(Area {
            name: area.name.clone(),
            size,
            solution,
            plan: voice.clock_range(area.times.start, area.times.wet_until)?,
        })
    };
    let rows: Vec<Area> = treatment.areas.iter().zip(sizes).zip(solutions).map(row).collect::<Said<_>>()?;
    let total = if rows.len() > 1 { Some(Total { size, solution }) } else { None };
    Ok(Areas { rows, total })
}

/// What to watch for in a treatment; what the office wrote for the whole job stands where the crew looks first.
fn cautions(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Vec<Watch>> {
    let concerns = |c: &&Caution| c.is_on_sheet() && c.treatment.is_none_or(|t| t == treatment.number);
    let mut all = Vec::new();
    for caution in voice.plan.cautions.iter().filter(concerns) {
        let severity = caution.severity.word();
        let word = voice.word(&format!("sheet.severity.{}", caution.severity.word()))?;
        all.push(Watch { severity, word, text: voice.caution(caution)? });
    }
    if treatment.number == 1 {
        let word = voice.word("sheet.severity.note")?;
        all.extend(voice.plan.notes.iter().map(|n| Watch { severity: "note", word: word.clone(), text: n.clone() }));
    }
    Ok(all)
}
