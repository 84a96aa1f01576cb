//! The documents of a route, which is a van's day: the load-out, the mix sheets in one run, the labels in one run.

use super::context::Context;
use super::documents::{Kind, sheet_of};
use super::failure::Failure;
use super::labels::{label_batches, printable_words};
use super::planned::{Planned, job_words};
use crate::contract::VanDay;
use crate::document::{LabelRun, Van, View, load_out as load_out_view, mix_sheets};
use crate::plan::load_out;

/// What is made of a route.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RouteKinds {
    pub load_out: bool,
    pub sheets: bool,
    pub labels: bool,
}

impl RouteKinds {
    /// With all documents of visits, all of a route; else those that gather what is made of the visits.
    pub fn beside(only: &[Kind]) -> RouteKinds {
        RouteKinds {
            load_out: only.is_empty(),
            sheets: only.is_empty() || only.contains(&Kind::MixSheet),
            labels: only.is_empty() || only.contains(&Kind::Labels),
        }
    }

    pub fn any(self) -> bool {
        self.load_out || self.sheets || self.labels
    }
}

/// The views of a route; `jobs` are in its order.
pub fn route_views(
    route: &VanDay,
    jobs: &[Planned],
    kinds: RouteKinds,
    context: &Context,
) -> Result<Vec<View>, Failure> {
    let mut made = Vec::new();
    let Some(leading) = jobs.first() else { return Ok(made) };
    if kinds.load_out {
        let van = Van { name: Some(&route.van), day: route.day, stem: &format!("{}-load-out", route.name) };
        made.push(van_view(&van, jobs, context)?);
    }
    if kinds.sheets {
        let sheets = jobs.iter().map(|job| sheet_of(job, context)).collect::<Result<_, _>>()?;
        let words = job_words(&leading.job, context)?.mix_sheet;
        let stem = format!("{}-mix-sheets", route.name);
        made.push(mix_sheets(&words, stem, &format!("{}, {}", route.van, route.day), sheets)?);
    }
    if kinds.labels {
        for mut batch in label_batches(jobs, &LabelRun { ink: context.ink, ..LabelRun::default() }, context)? {
            batch.view.stem = format!("{}-labels-{}", route.name, batch.stock);
            made.push(batch.view);
        }
    }
    Ok(made)
}

/// The load-out of some jobs.
pub fn van_view(van: &Van<'_>, jobs: &[Planned], context: &Context) -> Result<View, Failure> {
    let words = printable_words(jobs, context)?;
    let (Some(leading), Some(words)) = (jobs.first(), words.first()) else {
        return Err(Failure::error("no job was named"));
    };
    let visits: Vec<_> = jobs.iter().map(|planned| (&planned.job, &planned.plan)).collect();
    let mut view = load_out_view(&leading.voice(&words.mix_sheet), van, &load_out(&visits, van.day))?;
    leading.dress(&mut view);
    if !jobs.iter().all(Planned::is_checked) {
        view.data["draft"] = true.into();
    }
    Ok(view)
}
