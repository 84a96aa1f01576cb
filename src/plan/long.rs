//! How long a visit may be: a day, unless the job says so.

use jiff::civil::DateTime;

use crate::job::Job;
use crate::quantity::{Number, Time};
use crate::report::Report;

/// Whether the last load is sprayed within the visit's longest time; tells it where not. No published rule; chosen because it
/// protects: a crew does not work round the clock, and such a plan comes of a slip in an area, a coverage or a flow.
pub(super) fn fits(job: &Job, sprayed_by: DateTime, report: &mut Report) -> bool {
    // Times are carried up to whole seconds.
    let takes = Time::seconds(Number::int(sprayed_by.duration_since(job.visit.start).as_secs()));
    if takes <= job.visit.longest {
        return true;
    }
    let hours = |time: &Time| (time.as_minutes() / Number::int(60)).ceil_to(&Number::one()).decimal(0);
    let message = format!(
        "the last load would be sprayed {} h after the start; a visit takes at most {} h",
        hours(&takes),
        hours(&job.visit.longest)
    );
    report.push(
        job.source
            .root()
            .origin()
            .key("visit")
            .error("visit-too-long", message)
            .hint("look at the sizes of the areas, the coverage, the sprayer's `flow` and `pace`, and `mixing`; or add `sprayers`")
            .hint("if it is right, say how long the visit may be: `visit: { longest: 30 h }`"),
    );
    false
}
