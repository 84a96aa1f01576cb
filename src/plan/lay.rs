//! What is laid on a surface, and how it is shared out among loads.

use super::told::told;
use crate::calc::{Amount, CalcError, Ratio, coverage, loads};
use crate::job::Treatment;
use crate::quantity::{Film, Flow, Number, Volume};
use crate::report::Report;

/// What is laid on a surface, and one sprayer's flow.
pub(super) fn lay(written: &Treatment, report: &mut Report) -> Option<(Film, Flow)> {
    let (directions, sprayer) = (&written.directions, &written.sprayer);
    let film = match (&directions.coverage, &sprayer.flow, &sprayer.pace) {
        (Some(film), ..) => film.clone(),
        (None, Some(flow), Some(pace)) => told(
            coverage::film_from_pace(flow, &pace.speed, &pace.swath),
            &sprayer.origin.key("pace"),
            report,
        )?,
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
        report.push(
            directions
                .origin
                .error("no-coverage", "a coverage of nought wets nothing"),
        );
        return None;
    }
    Some((film, flow))
}

pub(super) fn share_out(
    written: &Treatment,
    ratio: &Ratio,
    solution: &Volume,
    hose: &Volume,
) -> Result<Vec<loads::Load>, CalcError> {
    let marks = &written.sprayer.graduations;
    let graduations = loads::Graduations {
        water: marks.water.clone(),
        liquid: Some(marks.product.clone()),
        powder: Some(marks.powder.clone()),
    };
    let need = loads::Need {
        solution: solution.clone(),
        kept_in_hose: hose.clone(),
        tank: written.sprayer.tank.clone(),
        ratio,
        graduations: &graduations,
    };
    let sharing = if written.equal_loads {
        loads::Sharing::EqualLoads
    } else {
        loads::Sharing::FullTanksThenRest
    };
    loads::loads(&need, sharing)
}

/// What each load lays on surfaces: all of it, but for what the hose keeps of each sprayer's first, and of tablets no more
/// than is `wanted` in all, since their loads may hold much more than that.
pub(super) fn sprayable(loads: &[loads::Load], hose: &Volume, sprayers: u32, wanted: &Volume) -> Vec<Volume> {
    let mut still = wanted.clone();
    let mut left = |(i, load): (usize, &loads::Load)| {
        let lays = if i < sprayers as usize && load.solution > *hose {
            &load.solution - hose
        } else {
            load.solution.clone()
        };
        if !matches!(load.product, Amount::Tablets(_)) {
            return lays;
        }
        let lays = lays.min(still.clone());
        still = &still - &lays;
        lays
    };
    loads.iter().enumerate().map(&mut left).collect()
}
