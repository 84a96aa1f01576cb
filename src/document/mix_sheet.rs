//! The mix sheet: what a technician reads at the tap.

mod fit;

use jiff::civil::DateTime;
use minijinja::context;
use serde_json::{Value, json};

use super::facts::{caution_text, rinse_with};
use super::voice::{Voice, whole_minutes};
use super::{DocumentError, View};
use crate::catalog::{Method, PageSize, Surface};
use crate::plan::{Caution, LoadPlan, Reentry, Severity, StripPlan, TreatmentPlan, whole_minute};
use crate::quantity::{Basis, Strength};
use crate::typeset::Template;
use crate::wording::Words;

pub use fit::{begin, step_down};

/// The mix sheet of a plan.
///
/// # Errors
/// [`DocumentError`] if a word is missing.
pub fn mix_sheet(voice: &Voice<'_>) -> Result<View, DocumentError> {
    let (plan, words) = (voice.plan, voice.words);
    let mut treatments = Vec::new();
    for treatment in &plan.treatments {
        treatments.push(self::treatment(voice, treatment)?);
    }
    let crew: Vec<&str> = plan.crew.iter().map(|m| m.name.as_str()).collect();
    let stop = ["irritation", "strip", "people", "leak", "label"];
    let stop: Result<Vec<&str>, _> = stop.iter().map(|key| words.word(&format!("sheet.stop.{key}"))).collect();
    let data = json!({
        "lang": words.language,
        "title": words.say("sheet.title", context! { job => &plan.job })?,
        "author": plan.company.name,
        "accent": null,
        "page": page_word(plan.page),
        "draft": false,
        "words": words.group("sheet.words"),
        "header": {
            "heading": words.word("sheet.heading")?,
            "site": plan.site.name,
            "address": plan.site.address,
            "when": format!("{}, {}", voice.date(plan.start.date())?, voice.clock(plan.start)),
            "facts": [
                { "label": words.word("sheet.fact_job")?, "value": plan.job },
                { "label": words.word("sheet.fact_crew")?, "value": crew.join(", ") },
                { "label": words.word("sheet.fact_record")?, "value": voice.record.number },
            ],
            "qr": voice.qr()?,
        },
        "treatments": treatments,
        "reentry": words.say("sheet.reentry", context! { at => voice.reentry(plan.reentry)? })?,
        "stop": stop?,
        "signature": [words.word("sheet.signature.technician")?, words.word("sheet.signature.moment")?],
        "deference": words.word("deference")?,
    });
    Ok(View { template: Template::MixSheet, stem: format!("{}-mix-sheet", plan.job), data })
}

/// The mix sheets of several jobs in one print run, in their order; each keeps its own page numbers. They are to have the
/// firm's look already.
///
/// # Errors
/// [`DocumentError`] if a word is missing.
pub fn mix_sheets(words: &Words, stem: String, run: &str, sheets: Vec<View>) -> Result<View, DocumentError> {
    let sheets: Vec<Value> = sheets
        .into_iter()
        .enumerate()
        .map(|(place, mut sheet)| {
            sheet.data["place"] = json!(place);
            sheet.data
        })
        .collect();
    let author = sheets.first().map(|sheet| sheet["author"].clone());
    Ok(View {
        template: Template::MixSheets,
        stem,
        data: json!({
            "lang": words.language,
            "title": words.say("sheet.title_run", context! { run })?,
            "author": author,
            "draft": false,
            "words": words.group("sheet.words"),
            "sheets": sheets,
        }),
    })
}

pub(super) fn page_word(page: PageSize) -> &'static str {
    match page {
        PageSize::UsLetter => "us-letter",
        PageSize::A4 => "a4",
    }
}

fn treatment(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<Value, DocumentError> {
    let words = voice.words;
    let (_, _, meaning) = voice.dilution(treatment)?;
    let mut wear = Vec::new();
    for worn in &treatment.equipment {
        let sign = worn.item.word();
        wear.push(json!({ "sign": sign, "words": words.word(&format!("equipment.{sign}"))? }));
    }
    let (each, first, last) = boxes(voice, treatment)?;
    let cautions =
        voice.plan.cautions.iter().filter(|c| c.is_on_sheet() && c.treatment.is_none_or(|t| t == treatment.number));
    let cautions: Result<Vec<Value>, DocumentError> = cautions.map(|c| caution(voice, c)).collect();
    let mut cautions = cautions?;
    if treatment.number == 1 {
        // What the office wrote for the whole job stands where the crew looks first.
        let word = words.word("sheet.severity.note")?;
        cautions.extend(voice.plan.notes.iter().map(|n| json!({ "severity": "note", "word": word, "text": n })));
    }
    let strip = match &treatment.strip {
        Some(strip) => Some(strip_view(voice, strip, &treatment.strength.mixed)?),
        None => None,
    };
    let mut loads = Vec::new();
    for load in &treatment.loads {
        loads.push(json!({
            "load": load.number.to_string(),
            "water": water(voice, load).main,
            "product": voice.dose(&load.product)?.main,
            "expect": voice.units.strength(&load.strength).main,
        }));
    }
    Ok(json!({
        "heading": treatment.directions.title,
        "facts": facts(voice, treatment)?,
        "meaning": meaning,
        "each": each,
        "water": first["water"],
        "product": first["product"],
        "strip": strip,
        "last": last,
        "loads": loads,
        "areas": areas(voice, treatment)?,
        "wear": wear,
        "steps": steps(voice, treatment)?,
        "timeline": timeline(voice, treatment)?,
        "cautions": cautions,
    }))
}

fn facts(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<Vec<String>, DocumentError> {
    let sprayer = &treatment.sprayer;
    let blanks = context! {
        sprayer => &sprayer.name,
        tank => voice.units.water(&sprayer.tank).main,
        count => sprayer.count,
    };
    let key = if sprayer.count > 1 { "sheet.tanks" } else { "sheet.tank" };
    let mut facts = vec![treatment.product.name.clone(), voice.words.say(key, blanks)?];
    if let Some(vessel) = &treatment.mixed_in {
        let blanks = context! {
            vessel => &vessel.name,
            holds => voice.units.water(&vessel.holds).main,
            count => treatment.containers(),
            container => &treatment.filled.name,
        };
        facts.push(voice.words.say("sheet.poured", blanks)?);
    }
    facts.push(voice.units.flow(&sprayer.flow).main);
    facts.push(voice.units.coverage(&treatment.film).main);
    Ok(facts)
}

/// The line over the boxes, the first load's boxes, and the last load's where it differs.
fn boxes(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<(String, Value, Option<Value>), DocumentError> {
    let words = voice.words;
    let loads = &treatment.loads;
    let Some(first) = loads.first() else {
        // A treatment without a load cannot be planned; an empty sheet would be the honest outcome if it could.
        return Ok((String::new(), json!({ "water": null, "product": null }), None));
    };
    let same = loads.iter().take_while(|l| l.water == first.water && l.product == first.product).count();
    let numbers =
        if same > 1 { words.say("sheet.numbers", context! { first => 1, last => same })? } else { "1".to_owned() };
    let each = if loads.len() == 1 {
        words.word("sheet.each_one")?.to_owned()
    } else {
        words.say("sheet.each_full", context! { numbers, loads => loads.len() })?
    };
    let last = match loads.last() {
        Some(load) if same < loads.len() => {
            let caption = words.say("sheet.last", context! { number => load.number, loads => loads.len() })?;
            let mut measured = load_boxes(voice, treatment, load)?;
            measured["each"] = json!(caption);
            Some(measured)
        }
        _ => None,
    };
    Ok((each, load_boxes(voice, treatment, first)?, last))
}

fn load_boxes(voice: &Voice<'_>, treatment: &TreatmentPlan, load: &LoadPlan) -> Result<Value, DocumentError> {
    let filled = water(voice, load);
    let ready = load.water.is_zero();
    let product = voice.dose(&load.product)?;
    let small = |also: &str| if also.is_empty() { Value::Null } else { json!(also) };
    let beside = match top_up(voice, treatment, load)? {
        Some(sentence) => json!(sentence),
        None => small(&filled.also),
    };
    Ok(json!({
        "water": { "big": filled.main, "small": beside },
        "product": if ready { Value::Null } else { json!({ "big": product.main, "small": small(&product.also) }) },
    }))
}

/// Where the label's dose is made up to a volume: up to which mark water follows the product.
fn top_up(voice: &Voice<'_>, treatment: &TreatmentPlan, load: &LoadPlan) -> Result<Option<String>, DocumentError> {
    if treatment.basis() != Some(Basis::MadeUpTo) {
        return Ok(None);
    }
    let solution = voice.units.water(&load.solution).both();
    Ok(Some(voice.words.say("sheet.top_up", context! { solution })?))
}

/// What is filled in first: water, or a ready-to-use product itself.
fn water(voice: &Voice<'_>, load: &LoadPlan) -> super::Fact {
    voice.units.water(if load.water.is_zero() { &load.solution } else { &load.water })
}

fn strip_view(voice: &Voice<'_>, strip: &StripPlan, expected: &Strength) -> Result<Value, DocumentError> {
    let words = voice.words;
    let band = voice.band(strip)?;
    let blocks: Vec<Value> = (0..strip.blocks.len())
        .map(|i| json!({ "label": voice.bare(&strip.blocks[i]), "pass": strip.passes.contains(&i) }))
        .collect();
    let passes: Vec<String> = strip.passes.iter().map(|i| voice.bare(&strip.blocks[*i])).collect();
    let (low, high) = (strip.blocks.first().map(|b| voice.bare(b)), strip.blocks.last());
    let high = high.map(|h| voice.units.strength(h).main);
    let how = match (&strip.dip, &strip.wait) {
        (Some(dip), Some(wait)) => {
            words.say("sheet.strip_dip_wait", context! { dip => voice.time(dip), wait => voice.time(wait) })?
        }
        (Some(dip), None) => words.say("sheet.strip_dip", context! { dip => voice.time(dip) })?,
        _ => words.word("sheet.strip_read")?.to_owned(),
    };
    let big = match band {
        Some(band) => band,
        None if strip.off_scale => words.word("sheet.off_scale")?.to_owned(),
        None => words.word("sheet.cannot_show")?.to_owned(),
    };
    let expected = voice.units.strength(expected).main;
    Ok(json!({
        "big": big,
        "small": words.say("sheet.strip_expect", context! { strength => expected })?,
        "unit": "ppm",
        "alt": words.say("sheet.strip_alt", context! { low, high, passes => passes.join(", ") })?,
        "how": how,
        "blocks": blocks,
    }))
}

fn areas(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<Value, DocumentError> {
    let rows: Vec<Value> = treatment
        .areas
        .iter()
        .map(|area| {
            json!({
                "name": area.name,
                "size": voice.units.area(&area.size).main,
                "solution": voice.units.solution(&area.solution).main,
                "minutes": voice.minutes(&area.spraying),
                "start": voice.clock(area.times.start),
                "wet_until": voice.clock(area.times.wet_until),
            })
        })
        .collect();
    let total = json!({
        "name": voice.words.word("sheet.total")?,
        "size": voice.units.area(&treatment.size).main,
        "solution": voice.units.solution(&treatment.need.laid).main,
        // the sum of the rows as they are printed, each carried up to a minute
        "minutes": voice.units.count(&treatment.areas.iter().map(|a| whole_minutes(&a.spraying)).sum()).main,
    });
    Ok(json!({ "rows": rows, "total": if rows.len() > 1 { total } else { Value::Null } }))
}

fn steps(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<Vec<String>, DocumentError> {
    let words = voice.words;
    let mut steps = vec![words.word("steps.wear")?.to_owned(), words.word("steps.clean")?.to_owned()];
    let contact = voice.time(&treatment.directions.contact_time);
    let changes = |caution: &Caution| caution.code == "rinse-tank" && caution.treatment == Some(treatment.number);
    if treatment.tank_rinsed || voice.plan.cautions.iter().any(changes) {
        steps.push(words.word("steps.rinse_tank")?.to_owned());
    }
    if let Some(load) = treatment.loads.first() {
        if treatment.ratio.is_ready_to_use() {
            steps.push(words.word("steps.ready")?.to_owned());
        } else {
            let water = water(voice, load).both();
            steps.push(match &treatment.mixed_in {
                Some(vessel) => words.say("steps.water_in", context! { water, vessel => &vessel.name })?,
                None => words.say("steps.water", context! { water })?,
            });
            let product = voice.dose(&load.product)?.both();
            steps.push(words.say("steps.product", context! { product })?);
            if treatment.basis() == Some(Basis::MadeUpTo) {
                let solution = voice.units.water(&load.solution).both();
                steps.push(words.say("steps.top_up", context! { solution })?);
            }
        }
    }
    steps.push(match treatment.strip.as_ref().map(|s| voice.band(s)).transpose()?.flatten() {
        Some(band) => words.say("steps.strip", context! { band })?,
        None if treatment.strip.is_some() => words.word("steps.strip_cannot_show")?.to_owned(),
        None => words.word("steps.no_strip")?.to_owned(),
    });
    match &treatment.mixed_in {
        Some(vessel) => {
            let (count, container) = (treatment.containers(), &treatment.filled.name);
            steps.push(words.say("steps.label_poured", context! { count, container })?);
            steps.push(words.say("steps.pour", context! { count, container, vessel => &vessel.name })?);
        }
        None => steps.push(words.word("steps.label")?.to_owned()),
    }
    let method = words.word(&format!("steps.methods.{}", treatment.sprayer.method.word()))?;
    steps.push(words.say("steps.apply", context! { method })?);
    steps.push(wet(voice, treatment)?);
    if let Some(rinse) = &treatment.rinse {
        let rinse = rinse_with(voice, rinse)?;
        let food = treatment.directions.surface == Surface::FoodContact;
        let key = if food { "steps.rinse" } else { "steps.rinse_other" };
        steps.push(words.say(key, context! { contact, rinse })?);
    }
    if treatment.sprayer.method != Method::Dip {
        steps.push(match treatment.floor_dry {
            Some(dry) => words.say("steps.signs_until", context! { until => voice.moment(dry)? })?,
            None => words.word("steps.signs")?.to_owned(),
        });
    }
    if let Some(air) = &treatment.air {
        // The crew may have work there once the mist has cleared; everyone else waits for the whole site's time.
        let at = whole_minute(air.clear_at);
        let key = match voice.plan.reentry {
            Reentry::At(reentry) if at < whole_minute(reentry) => "steps.air_first",
            Reentry::At(_) => "steps.air",
            Reentry::NotKnown => "steps.air_not_known",
        };
        let blanks = context! { at => voice.moment(at)?, reentry => voice.reentry(voice.plan.reentry)? };
        steps.push(words.say(key, blanks)?);
    } else if treatment.sprayer.airborne().is_some() && voice.plan.reentry == Reentry::NotKnown {
        steps.push(words.word("steps.reentry_not_known")?.to_owned());
    }
    steps.push(match treatment.discard_after {
        Some(moment) => words.say("steps.discard", context! { moment => voice.until(moment)? })?,
        None => words.word("steps.discard_today")?.to_owned(),
    });
    Ok(steps)
}

/// How a surface is kept wet: once and looked after, or wetted again at intervals.
fn wet(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<String, DocumentError> {
    let contact = voice.time(&treatment.directions.contact_time);
    let again = treatment.wetness.as_ref().and_then(|w| Some((w.applications, w.every.as_ref()?)));
    Ok(match again {
        Some((applications, every)) => {
            let every = voice.time(every);
            voice.words.say("steps.wet_again", context! { contact, every, applications })?
        }
        None => voice.words.say("steps.wet", context! { contact })?,
    })
}

fn caution(voice: &Voice<'_>, caution: &Caution) -> Result<Value, DocumentError> {
    let (severity, word) = match caution.severity {
        Severity::Danger => ("stop", "sheet.severity.danger"),
        Severity::Caution => ("caution", "sheet.severity.caution"),
        Severity::Note => ("note", "sheet.severity.note"),
    };
    let text = caution_text(voice, caution)?;
    Ok(json!({ "severity": severity, "word": voice.words.word(word)?, "text": text }))
}

/// The treatment on a line: mixing, applying with its refills, wet, and until people may come back.
fn timeline(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Result<Value, DocumentError> {
    let Some(first) = treatment.loads.first() else {
        return Ok(Value::Null);
    };
    // the whole site's re-entry: no page shows an earlier one; one that is not known is drawn as long as the line allows
    let known = |reentry: Reentry, unknown: DateTime| match reentry {
        Reentry::At(moment) => moment,
        Reentry::NotKnown => unknown,
    };
    let end = known(voice.plan.reentry, DateTime::MAX);
    let mut marks: Vec<(&str, DateTime)> = vec![("mix", treatment.begins), ("spray", first.mixed_at)];
    for pair in treatment.loads.windows(2) {
        if pair[1].mixed_at > pair[0].mixed_at {
            marks.push(("refill", pair[0].empty_at));
            marks.push(("spray", pair[1].mixed_at));
        }
    }
    let sprayed = treatment.loads.iter().map(|l| l.empty_at).max().unwrap_or(first.empty_at);
    marks.push(("wet", sprayed));
    if treatment.rinse.is_some() {
        // how long rinsing takes is not known: it is shown for as long as the treatment itself keeps people out
        let done = treatment.areas.iter().map(|a| a.times.done).max().unwrap_or(sprayed);
        let own = known(treatment.reentry_after(done), treatment.wet_until);
        let own = own.max(treatment.wet_until).min(end);
        marks.push(("rinse", treatment.wet_until));
        marks.push(("air", own));
    } else {
        marks.push(("air", treatment.wet_until));
    }
    marks.push(("end", end));
    let parts = drawn(voice, &marks)?;
    let alt = voice.words.say(
        "sheet.timeline.alt",
        context! {
            start => voice.clock(treatment.begins),
            sprayed => voice.clock(sprayed),
            wet => voice.clock(treatment.wet_until),
            reentry => voice.reentry(voice.plan.reentry)?,
        },
    )?;
    let end = if voice.plan.reentry == Reentry::NotKnown { "?".to_owned() } else { voice.clock(end) };
    Ok(json!({ "alt": alt, "end": end, "parts": parts }))
}

/// The most of a time line that waiting for re-entry takes.
const KEPT_OUT: f64 = 0.45;

/// The parts between the marks of a time line, each as long as it lasts. Only the last, the wait for re-entry, is cut
/// where other treatments follow for hours and the work would have no space left; its clock times stand there all the same.
fn drawn(voice: &Voice<'_>, marks: &[(&str, DateTime)]) -> Result<Vec<Value>, DocumentError> {
    let spans: Vec<f64> = marks
        .windows(2)
        .map(|pair| (pair[1].1 - pair[0].1).total(jiff::Unit::Second).map_or(0.0, |s| s.max(0.0)))
        .collect();
    let (work, wait) = match spans.split_last() {
        Some((last, before)) => (before.iter().sum::<f64>(), *last),
        None => (0.0, 0.0),
    };
    let wait = if work > 0.0 { wait.min(work * KEPT_OUT / (1.0 - KEPT_OUT)) } else { wait };
    let whole = (work + wait).max(1.0);
    let (mut parts, mut at) = (Vec::new(), 0.0);
    for (i, ((kind, from), span)) in marks.iter().zip(&spans).enumerate() {
        let span = if i + 1 == spans.len() { wait } else { *span } / whole;
        if span > 0.0 {
            let label = voice.words.word(&format!("sheet.timeline.{kind}"))?;
            parts.push(json!({ "kind": kind, "label": label, "from": voice.clock(*from), "at": at, "span": span }));
        }
        at += span;
    }
    Ok(parts)
}
