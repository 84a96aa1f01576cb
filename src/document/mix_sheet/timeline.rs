//! A treatment on a line: mixing, applying with its refills, wet, and until people may come back.

use jiff::civil::DateTime;
use minijinja::context;
use serde::Serialize;

use crate::document::Said;
use crate::document::voice::Voice;
use crate::plan::{Reentry, Release, TreatmentPlan};

/// The most of a time line that waiting for re-entry takes.
const KEPT_OUT: f64 = 0.45;

/// The line; `end` is the whole site's re-entry.
#[derive(Serialize)]
pub(super) struct Timeline {
    alt: String,
    end: String,
    parts: Vec<Part>,
}

/// One part; `at` and `span` are shares of the line, to scale but for a long wait at the end.
#[derive(Serialize)]
struct Part {
    kind: &'static str,
    label: String,
    from: String,
    at: f64,
    span: f64,
}

pub(super) fn timeline(voice: &Voice<'_>, treatment: &TreatmentPlan) -> Said<Option<Timeline>> {
    let Some(first) = treatment.loads.first() else {
        return Ok(None);
    };
    // the whole site's re-entry: no page shows an earlier one; one that is not known is drawn as long as the line allows
    let known = |reentry: Reentry, unknown: DateTime| match reentry {
        Reentry::At(moment) => moment,
        Reentry::NotKnown => unknown,
    };
    let end = known(voice.plan.reentry, DateTime::MAX);
    let mut marks: Vec<(&'static str, DateTime)> = vec![("mix", treatment.begins), ("spray", first.mixed_at)];
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
    let blanks = context! {
        start => voice.clock(treatment.begins)?,
        sprayed => voice.clock(sprayed)?,
        wet => voice.clock(treatment.wet_until)?,
        reentry => voice.reentry(voice.plan.reentry)?,
    };
    let alt = voice.say("sheet.timeline.alt", blanks)?;
    let end = match voice.plan.reentry {
        Reentry::NotKnown => "?".to_owned(),
        Reentry::At(_) if Release::of(&voice.plan.treatments) != Release::Time => {
            voice.say("sheet.back_not_before", context! { at => voice.clock(end)? })?
        }
        Reentry::At(_) => voice.clock(end)?,
    };
    Ok(Some(Timeline { alt, end, parts: parts(voice, &marks)? }))
}

/// The parts between the marks of a time line, each as long as it lasts. Only the last, the wait for re-entry, is cut
/// where other treatments follow for hours and the work would have no space left; its clock times stand there all the same.
fn parts(voice: &Voice<'_>, marks: &[(&'static str, DateTime)]) -> Said<Vec<Part>> {
    let spans: Vec<f64> =
        marks.windows(2).map(|pair| pair[1].1.duration_since(pair[0].1).as_secs_f64().max(0.0)).collect();
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
            let label = voice.word(&format!("sheet.timeline.{kind}"))?;
            parts.push(Part { kind, label, from: voice.clock(*from)?, at, span });
        }
        at += span;
    }
    Ok(parts)
}
