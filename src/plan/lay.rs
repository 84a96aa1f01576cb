//! What is laid on a surface, and what each load lays.

use super::told::told;
use crate::calc::{coverage, loads};
use crate::job::Treatment;
use crate::quantity::{Film, Flow, Number, Volume};
use crate::report::Report;

/// What is laid on a surface, and one sprayer's flow.
pub(super) fn lay(written: &Treatment, report: &mut Report) -> Option<(Film, Flow)> {
    let (directions, sprayer) = (&written.directions, &written.sprayer);
    let film = match (&directions.coverage, &sprayer.flow, &sprayer.pace) {
        (Some(film), ..) => film.clone(),
        (None, Some(flow), Some(pace)) => {
            told(coverage::film_from_pace(flow, &pace.speed, &pace.swath), &sprayer.origin.key("pace"), report)?
        }
        _ => {
            let hint = "add the label's `coverage: 200 ft2/gal` to the directions, or `flow` and `pace` to the sprayer";
            let message = "how much solution a surface takes is not known: the directions give no coverage";
            report.push(directions.origin.error("no-coverage", message).hint(hint));
            return None;
        }
    };
    let flow = match (&sprayer.flow, &sprayer.pace) {
        (Some(flow), _) => flow.clone(),
        (None, Some(pace)) => {
            let per_second = pace.speed.as_metres_per_second() * pace.swath.as_metres();
            Flow::millilitres_per_minute(per_second * Number::int(60) * film.as_millilitres_per_square_metre())
        }
        // A sprayer with neither is refused when the company file is read.
        (None, None) => return None,
    };
    if film.is_zero() || flow.is_zero() {
        report.push(directions.origin.error("no-coverage", "a coverage of nought wets nothing"));
        return None;
    }
    Some((film, flow))
}

/// What each load lays on surfaces: all of it, but for what the hose keeps of each sprayer's first, and no more than is
/// `wanted` in all: a load may hold more, since it is mixed to the marks.
pub(super) fn sprayable(loads: &[loads::Load], hose: &Volume, sprayers: u32, wanted: &Volume) -> Vec<Volume> {
    let mut still = wanted.clone();
    let mut left = |(i, load): (usize, &loads::Load)| {
        let lays =
            if i < sprayers as usize && load.solution > *hose { &load.solution - hose } else { load.solution.clone() };
        let lays = lays.min(still.clone());
        still = &still - &lays;
        lays
    };
    loads.iter().enumerate().map(&mut left).collect()
}
