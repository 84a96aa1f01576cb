//! The clock: when each load is mixed, each area done, and until when it must stay wet.
//!
//! Sprayers side by side take one load each (a round), spray them at the same time, and fill again together. Solution is
//! laid in the order of the areas; an area is done when the last of its solution is laid, refills included.

use jiff::civil::DateTime;
use jiff::{Span, ToSpan};
use serde::Serialize;

use crate::quantity::{Flow, Number, Time, Volume};

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct AreaTimes {
    pub start: DateTime,
    pub done: DateTime,
    /// Until when the last of it must stay wet.
    pub wet_until: DateTime,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct LoadTimes {
    pub mixed: DateTime,
    pub empty: DateTime,
}

#[derive(Clone, Debug)]
pub(super) struct Laying {
    pub volume: Volume,
    /// Waiting for the next application, over and above spraying.
    pub waiting: Time,
    /// How long it must stay wet after it was wetted last.
    pub wet_for: Time,
}

/// How a treatment is sprayed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pace<'a> {
    pub mixing: &'a Time,
    /// One sprayer's flow.
    pub flow: &'a Flow,
    pub count: u32,
}

/// Lays out one treatment from `start`. `loads` are what each load lays on surfaces.
pub(super) fn clock(
    start: DateTime,
    loads: &[Volume],
    areas: &[Laying],
    pace: &Pace<'_>,
) -> (Vec<LoadTimes>, Vec<AreaTimes>) {
    let Pace { mixing, flow, count } = *pace;
    // Where each area ends, in solution laid, and how long the crew has waited before it.
    let ends = running_sums(areas.iter().map(|area| &area.volume));
    let mut waits = vec![Number::zero()];
    for (i, area) in areas.iter().enumerate() {
        waits.push(&waits[i] + area.waiting.as_seconds());
    }
    // How long the crew has waited by the time so much is laid: in an area they wait after each application alike.
    let waited_by = |volume: &Volume| {
        let at = ends.partition_point(|end| end <= volume);
        let Some(area) = areas.get(at) else {
            return waits[at].clone();
        };
        let begun = at.checked_sub(1).map_or_else(Volume::zero, |before| ends[before].clone());
        &waits[at] + &(area.waiting.as_seconds() * &(volume - &begun).over(&area.volume))
    };
    // Seconds from the start; one entry a round: when spraying begins, how long it lasts, what it lays.
    let mut rounds: Vec<(Number, Number, Volume)> = Vec::new();
    let mut load_seconds = Vec::new();
    let mut now = Number::zero();
    let mut emptied = Volume::zero();
    for round in loads.chunks(count.max(1) as usize) {
        let ready = &now + mixing.as_seconds();
        let longest = round.iter().map(|v| spraying(v, flow)).max().unwrap_or_else(Number::zero);
        let lays: Volume = round.iter().sum();
        let (begun, ended) = (waited_by(&emptied), waited_by(&(&emptied + &lays)));
        for load in round {
            load_seconds.push((&ready + &begun, &(&ready + &spraying(load, flow)) + &ended));
        }
        emptied = &emptied + &lays;
        rounds.push((ready.clone(), longest.clone(), lays));
        now = ready + longest;
    }
    // What has been laid when each round ends.
    let laid_by = running_sums(rounds.iter().map(|(_, _, lays)| lays));
    let at_volume = |volume: &Volume, starting: bool| -> Number {
        // A start on the seam of two rounds belongs to the later, an end to the earlier.
        let at = laid_by.partition_point(|after| after < volume || (starting && after == volume));
        let Some((ready, lasts, lays)) = rounds.get(at) else {
            return now.clone();
        };
        let before = at.checked_sub(1).map_or_else(Volume::zero, |i| laid_by[i].clone());
        let share = if lays.is_zero() { Number::zero() } else { (volume - &before).over(lays) };
        ready + &(lasts * &share)
    };
    let moment = |seconds: &Number| later(start, seconds);
    let load_times = load_seconds.iter().map(|(a, b)| LoadTimes { mixed: moment(a), empty: moment(b) }).collect();
    let mut area_times = Vec::new();
    let mut laid = Volume::zero();
    for (i, area) in areas.iter().enumerate() {
        let begin = &at_volume(&laid, true) + &waited_by(&laid);
        laid = ends[i].clone();
        // The reserve is for wetting again what dries, so the last area is not done before the last tank is empty.
        let sprayed = if i + 1 == areas.len() { now.clone() } else { at_volume(&laid, false) };
        let done = sprayed + waited_by(&laid);
        let wet = &done + area.wet_for.as_seconds();
        area_times.push(AreaTimes { start: moment(&begin), done: moment(&done), wet_until: moment(&wet) });
    }
    (load_times, area_times)
}

fn running_sums<'v>(volumes: impl Iterator<Item = &'v Volume>) -> Vec<Volume> {
    let sum = |sum: &mut Volume, volume: &Volume| {
        *sum = &*sum + volume;
        Some(sum.clone())
    };
    volumes.scan(Volume::zero(), sum).collect()
}

/// So much later, in whole seconds rounded up.
pub fn after(moment: DateTime, time: Option<&Time>) -> DateTime {
    time.map_or(moment, |time| later(moment, time.as_seconds()))
}

/// So many seconds later, carried up to a whole one. What lies beyond the calendar is its last moment, never an earlier one:
/// nobody is let in early, and a visit that long is refused.
fn later(moment: DateTime, seconds: &Number) -> DateTime {
    let whole = seconds.ceil_to(&Number::one()).to_i64();
    let span = whole.and_then(|whole| Span::new().try_seconds(whole).ok());
    span.and_then(|span| moment.checked_add(span).ok()).unwrap_or(DateTime::MAX)
}

/// Carried up to the next whole minute, as every clock time is shown: nobody comes back early.
pub fn whole_minute(moment: DateTime) -> DateTime {
    let whole = moment.with().second(0).subsec_nanosecond(0).build().unwrap_or(moment);
    if whole == moment {
        whole
    } else {
        // the calendar's last minute has none after it
        whole.checked_add(1.minute()).unwrap_or(moment)
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

    /// An area that takes so many liters, is waited at for so long, and stays wet for so long, in minutes.
    fn laying(litres: i64, waiting: i64, contact: i64) -> Laying {
        let minutes = |n| Time::minutes(Number::int(n));
        Laying { volume: volume(litres), waiting: minutes(waiting), wet_for: minutes(contact) }
    }

    fn volume(litres: i64) -> Volume {
        Volume::millilitres(Number::int(litres * 1000))
    }

    fn at(hour: i8, minute: i8) -> DateTime {
        date(2026, 4, 13).at(hour, minute, 0, 0)
    }

    /// From 18:00, at 1 L/min, 5 min to mix.
    fn run(loads: &[i64], areas: &[Laying], count: u32) -> (Vec<LoadTimes>, Vec<AreaTimes>) {
        let (mixing, flow) = (Time::minutes(Number::int(5)), Flow::millilitres_per_minute(Number::int(1000)));
        let loads: Vec<Volume> = loads.iter().map(|litres| volume(*litres)).collect();
        clock(at(18, 0), &loads, areas, &Pace { mixing: &mixing, flow: &flow, count })
    }

    #[test]
    fn areas_run_through_refills() {
        let (loads, areas) = run(&[10, 10], &[laying(6, 0, 10), laying(8, 0, 10), laying(6, 0, 10)], 1);
        assert_eq!((loads[0].mixed, loads[0].empty), (at(18, 5), at(18, 15)));
        assert_eq!((loads[1].mixed, loads[1].empty), (at(18, 20), at(18, 30)));
        assert_eq!((areas[0].start, areas[0].done), (at(18, 5), at(18, 11)));
        // 4 L before the refill, 4 L after it.
        assert_eq!((areas[1].start, areas[1].done), (at(18, 11), at(18, 24)));
        assert_eq!((areas[2].done, areas[2].wet_until), (at(18, 30), at(18, 40)));
    }

    #[test]
    fn a_time_beyond_the_calendar_is_its_end_and_never_earlier() {
        let late = date(9999, 12, 31).at(23, 59, 30, 0);
        let hour = Time::minutes(Number::int(60));
        let ages = Time::seconds(Number::parse("1e30").unwrap());
        for (from, time) in [(late, &hour), (at(18, 0), &ages), (late, &ages)] {
            assert_eq!(after(from, Some(time)), DateTime::MAX);
            assert!(whole_minute(after(from, Some(time))) >= from);
        }
        assert!(whole_minute(late) >= late);
        assert_eq!(after(late, None), late);
    }

    #[test]
    fn an_area_without_volume_or_a_load_that_lays_nothing_takes_no_time() {
        let (_, areas) = run(&[10, 0], &[laying(6, 0, 10), laying(0, 0, 10), laying(4, 0, 10)], 1);
        assert_eq!((areas[1].start, areas[1].done), (at(18, 11), at(18, 11)));
        assert_eq!(areas[2].start, at(18, 11));
    }

    #[test]
    fn two_sprayers_halve_the_spraying_and_not_the_mixing() {
        let (_, areas) = run(&[10, 10], &[laying(20, 0, 1)], 2);
        assert_eq!(areas[0].done, at(18, 15));
    }

    #[test]
    fn waiting_to_wet_again_delays_all_that_follows() {
        // The first area is sprayed for 4 min and waited at for 6; the second for 6 min.
        let (loads, areas) = run(&[10], &[laying(4, 6, 2), laying(6, 0, 2)], 1);
        assert_eq!((areas[0].start, areas[0].done, areas[0].wet_until), (at(18, 5), at(18, 15), at(18, 17)));
        assert_eq!((areas[1].start, areas[1].done), (at(18, 15), at(18, 21)));
        assert_eq!(loads[0].empty, at(18, 21));
    }
}
