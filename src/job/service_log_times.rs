//! Times as a crew writes them: with a date or alone, by 24 hours or with AM and PM. A time alone gets its day from the time before
//! it in its list, so that a night rolls on past midnight.

use jiff::civil::{DateTime, Time};
use jiff::{SignedDuration, ToSpan};

use crate::diagnostic::Diagnostics;
use crate::yaml::{self, BadMoment, Complaint, Declared, Line, Node, Origin, Shape, WrittenTime};

/// How long before the visit's start a time without a date may lie. No published rule, as for the next; chosen so that a slip of half
/// a day never passes for the day before or after.
const EARLIEST: SignedDuration = SignedDuration::from_hours(-3);
/// How long after the start: with the above less than a day, so that every time of day has one moment at most.
const LATEST: SignedDuration = SignedDuration::from_hours(20);

/// A visit that was put off began at most so many days after it was to. No published rule; chosen because lots, weather and air of a
/// plan that is older are another day's.
const DAYS_PUT_OFF: i64 = 31;

/// A time of a log and where it stands.
#[derive(Clone, Debug)]
pub struct When {
    text: String,
    written: WrittenTime,
    origin: Origin,
}

impl Declared for When {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<When> {
        let text = node.text(report)?;
        match yaml::written(&text) {
            Ok(written) => Some(When { text, written, origin: node.origin() }),
            Err(refusal) => {
                report.push(node.origin().refused(&refusal));
                None
            }
        }
    }

    fn shape() -> Shape {
        Shape::line("a time by the clocks at the site, alone or after its date", Line::Text)
    }
}

/// Several times, from a list or from one text with semicolons between them.
pub(super) fn several(node: &Node<'_>, report: &mut Diagnostics) -> Option<Vec<When>> {
    if !node.is_scalar() {
        let items = node.items(report)?;
        return Some(items.iter().filter_map(|item| When::from_node(item, report)).collect());
    }
    let text = node.text(report)?;
    let each = text.split(';').map(str::trim).map(|text| {
        let written = yaml::written(text)?;
        Ok(When { text: text.to_owned(), written, origin: node.origin() })
    });
    match each.collect::<Result<Vec<When>, BadMoment>>() {
        Ok(times) => Some(times),
        Err(refusal) => {
            report.push(node.origin().refused(&refusal));
            None
        }
    }
}

/// What gives times of one list their days.
#[derive(Clone, Debug)]
pub(super) struct Clock {
    /// When the visit began or was to begin.
    start: DateTime,
    /// The time before.
    last: DateTime,
    /// Whether `4/5/2026` is a day in April: the firm's units are those of the United States.
    month_first: bool,
}

impl Clock {
    pub(super) fn of(start: DateTime, month_first: bool) -> Clock {
        Clock { start, last: start, month_first }
    }

    /// The moment that is meant; what it cannot be taken for is reported.
    pub(super) fn read(&mut self, when: Option<&When>, report: &mut Diagnostics) -> Option<DateTime> {
        let when = when?;
        let found = match when.written {
            WrittenTime::Moment(moment) => Ok(moment),
            WrittenTime::Day(figures, year, slash, time) => {
                let day = yaml::day(&when.text, figures, year, slash && self.month_first);
                day.map(|day| day.to_datetime(time)).map_err(BadTime::Moment)
            }
            WrittenTime::Clock(time, either_half) => self.on_its_day(&when.text, time, either_half),
        };
        match found {
            Ok(moment) => {
                self.last = moment;
                Some(moment)
            }
            Err(refusal) => {
                report.push(when.origin.refused(&refusal));
                None
            }
        }
    }

    fn on_its_day(&self, text: &str, time: Time, either_half: bool) -> Result<DateTime, BadTime> {
        let found = nearest(self.last, time);
        let far = |moment: DateTime| moment.duration_since(self.last).abs();
        if either_half && far(nearest(self.last, time.wrapping_add(12.hours()))) < far(found) {
            return Err(BadTime::Moment(BadMoment::EitherHalf(text.to_owned(), time)));
        }
        let from_start = found.duration_since(self.start);
        if from_start < EARLIEST || from_start > LATEST {
            return Err(BadTime::FarFromStart(text.to_owned(), found, self.start));
        }
        Ok(found)
    }
}

/// Whether a beginning that the log gives is one of this visit; reported where it is not.
pub(super) fn is_near_the_plan(began: DateTime, start: DateTime, at: &Origin, report: &mut Diagnostics) -> bool {
    let days = began.duration_since(start).as_hours().div_euclid(24);
    let is_near = (-1..=DAYS_PUT_OFF).contains(&days);
    if !is_near {
        let message = format!("{} is far from the visit, which was to begin {}", shown(began), shown(start));
        let hint =
            "look at year and month again; a visit that was put off for longer is planned anew, with another `start`";
        let problem = at.error("moment-far", message).hint(hint);
        report.push(problem.hint("labels and sheets then have another number"));
    }
    is_near
}

/// The moment of a time of day that lies nearest to another moment.
fn nearest(to: DateTime, time: Time) -> DateTime {
    let days = [-1, 0, 1].into_iter().filter_map(|days| to.date().checked_add(days.days()).ok());
    let each = days.map(|day| day.to_datetime(time));
    each.min_by_key(|moment| moment.duration_since(to).abs()).unwrap_or(to)
}

/// Why a time cannot be taken.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum BadTime {
    Moment(BadMoment),
    /// A time alone, the moment that it would be, and the visit's start.
    FarFromStart(String, DateTime, DateTime),
}

fn shown(moment: DateTime) -> String {
    moment.strftime("%Y-%m-%d %H:%M").to_string()
}

impl Complaint for BadTime {
    fn code(&self) -> &'static str {
        match self {
            BadTime::Moment(refusal) => refusal.code(),
            BadTime::FarFromStart(..) => "time-far",
        }
    }

    fn message(&self) -> String {
        match self {
            BadTime::Moment(refusal) => refusal.message(),
            BadTime::FarFromStart(text, found, start) => {
                let hours = found.duration_since(*start).as_secs().abs().div_euclid(3600);
                let side = if found < start { "before" } else { "after" };
                format!("`{text}` would be {hours} h {side} the start of the visit, {}", shown(*start))
            }
        }
    }

    fn hints(&self) -> Vec<String> {
        match self {
            BadTime::Moment(refusal) => refusal.hints(),
            BadTime::FarFromStart(_, found, _) => vec![
                format!("if that is right, write its date too, such as `{}`", shown(*found)),
                "if the visit began late, write into the log when: `began`, with its date".to_owned(),
            ],
        }
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::yaml::Source;

    /// What these times are, one after the other, of a visit that begins on 13 April 2026; of what is refused its code.
    fn read_all(start: &str, month_first: bool, texts: &[&str]) -> Vec<String> {
        let start: DateTime = format!("2026-04-13T{start}").parse().expect("a start");
        let mut clock = Clock::of(start, month_first);
        let one = |text: &&str| {
            let mut report = Diagnostics::new();
            let yaml = format!("at: \"{text}\"");
            let source = Source::from_text(Path::new("log.yaml"), yaml, &mut report).expect("YAML");
            let when = When::from_node(&source.root().get("at").expect("a value"), &mut report);
            let found = clock.read(when.as_ref(), &mut report).map(|moment| moment.strftime("%d %H:%M:%S").to_string());
            found.unwrap_or_else(|| report.to_string().split(['[', ']']).nth(1).unwrap_or_default().to_owned())
        };
        texts.iter().map(one).collect()
    }

    #[test]
    fn a_time_is_read_as_people_write_it() {
        for text in [
            "18:52",
            "18:52:00",
            "6:52 PM",
            "6:52pm",
            "6:52 p.m.",
            "06:52 PM",
            "18h52",
            "18 h 52",
            "2026-04-13 18:52",
            "2026-04-13T18:52",
            "2026-04-13 6:52 PM",
            "2026/04/13 18:52",
            "4/13/2026 6:52 PM",
            "4/13/2026, 6:52 PM",
            "4/13/26 18:52",
            "13/4/2026 18:52",
            "13.04.2026 18:52",
            "13.4.2026 18h52",
        ] {
            for month_first in [true, false] {
                assert_eq!(read_all("18:00", month_first, &[text]), ["13 18:52:00"], "{text}");
            }
        }
        assert_eq!(
            read_all("08:00", true, &["12:10 PM", "12 PM", "9:00"]),
            ["13 12:10:00", "13 12:00:00", "13 09:00:00"]
        );
        assert_eq!(read_all("18:00", true, &["18:52:41", "6 PM"]), ["13 18:52:41", "13 18:00:00"]);
    }

    #[test]
    fn what_is_no_time_is_refused() {
        for text in [
            "yesterday",
            "18",
            "1852",
            "25:00",
            "18:5",
            "13:20 PM",
            "0:10 AM",
            "18:52:30:10",
            "18:61",
            "4/13/2026x 18:52",
            "31/31/2026 18:00",
            "6.52",
            ":",
            "h",
        ] {
            assert_eq!(read_all("18:00", true, &[text]), ["bad-time"], "{text}");
        }
        for (text, code) in [
            ("2026-04-13", "bad-time"),
            ("18:52-05:00", "time-with-offset"),
            ("4/13/2026 18:52 EST", "time-with-offset"),
            ("13/4/1026 18:52", "year-out-of-range"),
        ] {
            assert_eq!(read_all("18:00", true, &[text]), [code], "{text}");
        }
    }

    #[test]
    fn month_or_day_is_not_guessed() {
        assert_eq!(read_all("18:00", true, &["4/5/2026 18:52"]), ["05 18:52:00"]);
        assert_eq!(read_all("18:00", false, &["4/5/2026 18:52", "4/4/2026 18:52"]), ["date-ambiguous", "04 18:52:00"]);
        // no firm of the United States writes its own dates with points
        assert_eq!(read_all("18:00", true, &["4.5.2026 18:52"]), ["date-ambiguous"]);
    }

    #[test]
    fn a_night_rolls_on_and_a_slip_of_half_a_day_is_found() {
        let night = ["22:05", "23:50", "00:10", "0:40", "1:15 AM", "23:55", "02:30"];
        let read =
            ["13 22:05:00", "13 23:50:00", "14 00:10:00", "14 00:40:00", "14 01:15:00", "13 23:55:00", "14 02:30:00"];
        assert_eq!(read_all("22:00", true, &night), read);
        // before midnight, for a visit that begins after it
        assert_eq!(read_all("00:30", true, &["23:55", "00:35"]), ["12 23:55:00", "13 00:35:00"]);
        for (start, text, code) in [
            ("18:00", "6:52", "hour-ambiguous"),
            ("19:30", "6:52", "hour-ambiguous"),
            ("23:00", "12:10", "hour-ambiguous"),
            ("08:00", "1:15", "hour-ambiguous"),
            ("18:00", "06:52", "time-far"),
            ("18:00", "14:59", "time-far"),
            ("18:00", "6:52 AM", "time-far"),
        ] {
            assert_eq!(read_all(start, true, &[text]), [code], "{start} {text}");
        }
        assert_eq!(read_all("18:00", true, &["15:00"]), ["13 15:00:00"]);
        // the day before is no day of the visit, however near it lies to the time before it
        assert_eq!(read_all("18:00", true, &["2026-04-14 13:00", "14:30"])[1], "time-far");
    }
}
