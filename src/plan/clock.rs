//! The clock: when each load is mixed, each area done, and until when it must stay wet.
//!
//! Sprayers side by side take one load each (a round), spray them at the same time, and fill again together. Solution is
//! laid in the order of the areas; an area is done when the last of its solution is laid, refills included.

use jiff::ToSpan;
use jiff::civil::DateTime;
use serde::Serialize;

use crate::quantity::{Flow, Number, Time, Volume};

/// The times of an area.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct AreaTimes {
    /// When work on it begins.
    pub start: DateTime,
    /// When the last of it is wetted.
    pub done: DateTime,
    /// Until when the last of it must stay wet.
    pub wet_until: DateTime,
}

/// The times of a load.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct LoadTimes {
    pub mixed: DateTime,
    pub empty: DateTime,
}

/// Lays out one treatment from `start`. `loads` are what each load lays on surfaces, `areas` what each area takes;
/// `mixing` is the time to mix and read one round of loads; `flow` is one sprayer's, `count` work side by side.
pub(super) fn clock(
    start: DateTime,
    loads: &[Volume],
    areas: &[Volume],
    mixing: &Time,
    contact: &Time,
    flow: &Flow,
    count: u32,
) -> (Vec<LoadTimes>, Vec<AreaTimes>) {
    // Seconds from the start; one entry a round: when spraying begins, how long it lasts, what it lays.
    let mut rounds: Vec<(Number, Number, Volume)> = Vec::new();
    let mut load_seconds = Vec::new();
    let mut now = Number::zero();
    for round in loads.chunks(count.max(1) as usize) {
        let ready = &now + mixing.as_seconds();
        let longest = round
            .iter()
            .map(|v| spraying(v, flow))
            .max()
            .unwrap_or_else(Number::zero);
        for load in round {
            load_seconds.push((ready.clone(), &ready + &spraying(load, flow)));
        }
        rounds.push((ready.clone(), longest.clone(), round.iter().sum()));
        now = ready + longest;
    }
    let at_volume = |volume: &Volume, starting: bool| -> Number {
        let mut before = Volume::zero();
        for (ready, lasts, lays) in &rounds {
            let after = &before + lays;
            // A start on the seam of two rounds belongs to the later, an end to the earlier.
            if *volume < after || (!starting && *volume == after) {
                let share = if lays.is_zero() {
                    Number::zero()
                } else {
                    (volume - &before).over(lays)
                };
                return ready + &(lasts * &share);
            }
            before = after;
        }
        now.clone()
    };
    let moment = |seconds: &Number| -> DateTime {
        // Rounded up to whole seconds. A plan of over a century does not come out of bounded tanks and areas.
        let whole = seconds.ceil_to(&Number::one()).to_i64().unwrap_or(0);
        start.checked_add(whole.seconds()).unwrap_or(start)
    };
    let load_times = load_seconds
        .iter()
        .map(|(a, b)| LoadTimes {
            mixed: moment(a),
            empty: moment(b),
        })
        .collect();
    let mut laid = Volume::zero();
    let mut area_times = Vec::new();
    for (i, area) in areas.iter().enumerate() {
        let begin = at_volume(&laid, true);
        laid = &laid + area;
        // The reserve is for wetting again what dries, so the last area is not done before the last tank is empty.
        let done = if i + 1 == areas.len() {
            now.clone()
        } else {
            at_volume(&laid, false)
        };
        let wet = &done + contact.as_seconds();
        area_times.push(AreaTimes {
            start: moment(&begin),
            done: moment(&done),
            wet_until: moment(&wet),
        });
    }
    (load_times, area_times)
}

/// Carried up to the next whole minute, as every clock time is shown: nobody comes back early.
pub fn whole_minute(moment: DateTime) -> DateTime {
    let whole = moment.with().second(0).subsec_nanosecond(0).build().unwrap_or(moment);
    if whole == moment {
        whole
    } else {
        whole.checked_add(1.minute()).unwrap_or(whole)
    }
}

/// Seconds in which one sprayer lays so much.
fn spraying(volume: &Volume, flow: &Flow) -> Number {
    volume.as_millilitres() / flow.as_millilitres_per_minute() * Number::int(60)
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn litres(n: i64) -> Volume {
        Volume::millilitres(Number::int(n * 1000))
    }

    #[test]
    fn areas_run_through_refills() {
        // 1 L/min; loads of 10 L; 5 min to mix; areas of 6, 8 and 6 L; contact 10 min.
        let start = date(2026, 4, 13).at(18, 0, 0, 0);
        let (loads, areas) = clock(
            start,
            &[litres(10), litres(10)],
            &[litres(6), litres(8), litres(6)],
            &Time::minutes(Number::int(5)),
            &Time::minutes(Number::int(10)),
            &Flow::millilitres_per_minute(Number::int(1000)),
            1,
        );
        let at = |h, m| date(2026, 4, 13).at(h, m, 0, 0);
        assert_eq!((loads[0].mixed, loads[0].empty), (at(18, 5), at(18, 15)));
        assert_eq!((loads[1].mixed, loads[1].empty), (at(18, 20), at(18, 30)));
        assert_eq!((areas[0].start, areas[0].done), (at(18, 5), at(18, 11)));
        // 4 L before the refill, 4 L after it.
        assert_eq!((areas[1].start, areas[1].done), (at(18, 11), at(18, 24)));
        assert_eq!((areas[2].done, areas[2].wet_until), (at(18, 30), at(18, 40)));
    }

    #[test]
    fn two_sprayers_halve_the_spraying_and_not_the_mixing() {
        let start = date(2026, 4, 13).at(18, 0, 0, 0);
        let one = Flow::millilitres_per_minute(Number::int(1000));
        let mixing = Time::minutes(Number::int(5));
        let contact = Time::minutes(Number::int(1));
        let (_, areas) = clock(
            start,
            &[litres(10), litres(10)],
            &[litres(20)],
            &mixing,
            &contact,
            &one,
            2,
        );
        assert_eq!(areas[0].done, date(2026, 4, 13).at(18, 15, 0, 0));
    }
}
