//! Dates and moments as files write them: civil time, as the clocks at the site show it, of the years 1990 to 2199.

use jiff::ToSpan;
use jiff::civil::{Date, DateTime, Time};

use super::node::Complaint;

/// The years that a job or a product of today can name; what lies outside is a slip of the pen.
const YEARS: std::ops::RangeInclusive<i16> = 1990..=2199;

/// Why a date or a moment cannot be taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BadMoment {
    NoDate(String),
    NoMoment(String),
    /// It has an offset from UTC, or a time zone: the text, and what stands there.
    Offset(String, String),
    Year(String),
    /// No time of day, alone or after its date.
    NoTime(String),
    /// A date alone.
    NoClock(String),
    /// Day and month may be either.
    EitherDay(String, [Option<Date>; 2]),
    /// Morning or evening.
    EitherHalf(String, Time),
}

impl Complaint for BadMoment {
    fn code(&self) -> &'static str {
        match self {
            BadMoment::NoDate(_) => "bad-date",
            BadMoment::NoMoment(_) | BadMoment::NoTime(_) | BadMoment::NoClock(_) => "bad-time",
            BadMoment::EitherDay(..) => "date-ambiguous",
            BadMoment::EitherHalf(..) => "hour-ambiguous",
            BadMoment::Offset(..) => "time-with-offset",
            BadMoment::Year(_) => "year-out-of-range",
        }
    }

    fn message(&self) -> String {
        match self {
            BadMoment::NoDate(text) => no_such(text).unwrap_or_else(|| format!("`{text}` is not a date")),
            BadMoment::NoMoment(text) => no_such(text).unwrap_or_else(|| format!("`{text}` is not a date and time")),
            BadMoment::Offset(text, offset) => format!(
                "`{text}` names a time zone or an offset (`{offset}`); times here are what the clocks at the site show"
            ),
            BadMoment::NoTime(text) => format!("`{text}` is not a time"),
            BadMoment::NoClock(text) => format!("`{text}` is a date without a time"),
            BadMoment::EitherDay(text, days) => {
                let days: Vec<String> = days.iter().flatten().map(ToString::to_string).collect();
                format!("`{text}` may be {}", days.join(" or "))
            }
            BadMoment::EitherHalf(text, _) => format!("`{text}` may be morning or evening"),
            BadMoment::Year(text) => format!("the year of `{text}` is not from {} to {}", YEARS.start(), YEARS.end()),
        }
    }

    fn hints(&self) -> Vec<String> {
        let hint = match self {
            BadMoment::NoDate(text) | BadMoment::NoMoment(text) if no_such(text).is_some() => {
                "look at the calendar and the clock again: which day and time is meant?"
            }
            BadMoment::NoDate(_) => "write year-month-day, such as `2026-04-13`",
            BadMoment::NoMoment(_) => "write date and time in the site's own time, such as `2026-04-13T18:00`",
            BadMoment::Offset(..) => {
                "write the site's own time without it, such as `2026-04-13T18:00`; if the time was another zone's, convert it first"
            }
            BadMoment::NoTime(_) => "write `18:52`, `6:52 PM` or `2026-04-13 18:52`",
            BadMoment::Year(_) => "look at the year again",
            BadMoment::NoClock(text) => return vec![format!("write the time too, such as `{text} 18:52`")],
            BadMoment::EitherDay(_, days) => {
                let day = days.iter().flatten().next().map(ToString::to_string).unwrap_or_default();
                return vec![format!("write year, month and day, such as `{day}`")];
            }
            BadMoment::EitherHalf(_, time) => {
                return vec![format!(
                    "write `{} AM`, `{} PM`, or the hour of 24 with two figures, such as `{}` or `{}`",
                    time.strftime("%-I:%M"),
                    time.strftime("%-I:%M"),
                    time.strftime("%H:%M"),
                    time.wrapping_add(12.hours()).strftime("%H:%M")
                )];
            }
        };
        vec![hint.to_owned()]
    }
}

/// What of a text that is written as a date, or as a date and time, no calendar or clock has.
fn no_such(text: &str) -> Option<String> {
    let (day, clock) = text.split_once(['T', 't', ' ']).unwrap_or((text, ""));
    let mut parts = day.splitn(3, '-').map(|part| part.parse::<i16>().ok());
    let (year, month, day) = (parts.next()??, parts.next()??, parts.next()??);
    let Ok(first) = Date::new(year, i8::try_from(month).ok()?, 1) else {
        return Some(format!("`{text}`: no year has a month {month}"));
    };
    if !(1..=i16::from(first.days_in_month())).contains(&day) {
        let month = first.strftime("%B %Y");
        return Some(format!("`{text}`: {month} has {} days, and no day {day}", first.days_in_month()));
    }
    let hour = clock.split(':').next().and_then(|hour| hour.parse::<u32>().ok())?;
    (hour > 24).then(|| format!("`{text}`: a day has 24 hours"))
}

/// A time as it was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WrittenTime {
    Moment(DateTime),
    /// The day in figures, of which the first two may be month and day or day and month; whether a slash stands between them.
    Day([i8; 2], i16, bool, Time),
    /// A time of day; whether it may also be meant as the other half of the day.
    Clock(Time, bool),
}

/// A date: `2026-04-13`, or in another order where it can be no other.
///
/// # Errors
/// What is no date and nothing but a date, or may be two; a year outside 1990 to 2199.
pub fn date(text: &str) -> Result<Date, BadMoment> {
    if let Some(offset) = offset_in(text) {
        return Err(BadMoment::Offset(text.to_owned(), offset));
    }
    let plain = text.bytes().all(|b| b.is_ascii_digit() || b == b'-');
    if let Some((figures, _)) = figures_of_date(text).filter(|(figures, _)| figures[0] <= 31) {
        let (two, year) = two_and_year(figures);
        return day(text, two, year, false).map_err(|refusal| match refusal {
            BadMoment::NoTime(text) => BadMoment::NoDate(text),
            other => other,
        });
    }
    let date = text.parse::<Date>().ok().filter(|_| plain);
    let date = date.ok_or_else(|| BadMoment::NoDate(text.to_owned()))?;
    if YEARS.contains(&date.year()) { Ok(date) } else { Err(BadMoment::Year(text.to_owned())) }
}

/// A date and time: `2026-04-13T18:00`, `2026-04-13 18:00`, `4/13/2026 6:00 PM`.
///
/// # Errors
/// What is no date and time, or may be two; an offset from UTC or a time zone, which would otherwise be dropped; a year outside 1990 to
/// 2199.
pub fn moment(text: &str) -> Result<DateTime, BadMoment> {
    if let Some(offset) = offset_in(text) {
        return Err(BadMoment::Offset(text.to_owned(), offset));
    }
    let moment = text.parse::<DateTime>().ok().filter(|_| text.contains(['T', ' ', 't']));
    let Some(moment) = moment else { return otherwise(text) };
    if YEARS.contains(&moment.year()) { Ok(moment) } else { Err(BadMoment::Year(text.to_owned())) }
}

/// A date and time in any other form than the usual, where it can be but one.
fn otherwise(text: &str) -> Result<DateTime, BadMoment> {
    let found = written(text).and_then(|found| match found {
        WrittenTime::Moment(moment) => Ok(moment),
        WrittenTime::Day(two, year, _, time) => day(text, two, year, false).map(|day| day.to_datetime(time)),
        WrittenTime::Clock(..) => Err(BadMoment::NoMoment(text.to_owned())),
    });
    let found = found.map_err(|refusal| match refusal {
        BadMoment::EitherDay(..) | BadMoment::Year(_) => refusal,
        _ => BadMoment::NoMoment(text.to_owned()),
    })?;
    let rest = text.split_once(['T', ' ']).map_or(text, |(_, rest)| rest.trim());
    match clock(rest) {
        Some((time, true)) => Err(BadMoment::EitherHalf(text.to_owned(), time)),
        _ => Ok(found),
    }
}

/// What of a text, after its date or its time of day, names an offset from UTC or a time zone: `-05:00`, `Z`,
/// `[America/New_York]`, `EST`.
pub fn offset_in(text: &str) -> Option<String> {
    let minus = |c: char| matches!(c, '-' | '\u{2212}' | '\u{2013}');
    // The hyphens of a date are no offset: what counts stands after the first colon or behind the T.
    let clock = text.find(':').or_else(|| text.find(['T', 't', ' '])).map_or(0, |at| at + 1);
    let (before, after) = text.split_at_checked(clock)?;
    let bracket = |part: &str| part.find('[').map(|at| part.get(at..).unwrap_or_default().to_owned());
    let found = after.char_indices().find(|(_, c)| *c == '+' || minus(*c) || *c == '[');
    if let Some((at, _)) = found.filter(|_| clock > 0) {
        return after.get(at..).map(|offset| offset.trim().to_owned());
    }
    if let Some(zone) = bracket(before).or_else(|| bracket(after)) {
        return Some(zone);
    }
    let letters: String = after.chars().rev().take_while(char::is_ascii_alphabetic).collect();
    let letters: String = letters.chars().rev().collect();
    let zones = ["Z", "UTC", "GMT", "UT"];
    let upper = letters.to_ascii_uppercase();
    // EST, EDT, CST, CDT, MST, MDT, PST, PDT, AKST, HST, CET, CEST, BST …
    let named = (3..=4).contains(&upper.len()) && upper.ends_with('T') && letters == upper;
    let behind_a_figure = after.chars().any(|c| c.is_ascii_digit()) || text.ends_with(['z', 'Z']);
    ((zones.contains(&upper.as_str()) || named) && behind_a_figure).then_some(letters)
}

/// A text as a time.
///
/// # Errors
/// What is no time, or a date without one; an offset from UTC or a time zone; a year outside 1990 to 2199.
pub fn written(text: &str) -> Result<WrittenTime, BadMoment> {
    if let Some(offset) = offset_in(text) {
        return Err(BadMoment::Offset(text.to_owned(), offset));
    }
    let no_time = || BadMoment::NoTime(text.to_owned());
    // `2026-04-13T18:52` in its two parts, and `4/13/2026, 6:52 PM`
    let (first, rest) = match text.split_once(['T', ' ']) {
        Some((first, rest)) => (first.trim_end_matches(','), rest.trim()),
        None => (text, ""),
    };
    let Some((figures, mark)) = figures_of_date(first) else {
        let (time, either_half) = clock(text).ok_or_else(no_time)?;
        return Ok(WrittenTime::Clock(time, either_half));
    };
    if rest.is_empty() {
        return Err(BadMoment::NoClock(text.to_owned()));
    }
    let (time, _) = clock(rest).ok_or_else(no_time)?;
    if figures[0] > 31 {
        return Ok(WrittenTime::Moment(date(&first.replace(['/', '.'], "-"))?.to_datetime(time)));
    }
    let (two, year) = two_and_year(figures);
    Ok(WrittenTime::Day(two, year, mark == '/', time))
}

/// Of three figures those that may be month and day, and the year behind them; two figures of it are of this century.
fn two_and_year(figures: [u32; 3]) -> ([i8; 2], i16) {
    let two = [figures[0], figures[1]].map(|figure| i8::try_from(figure).unwrap_or(i8::MAX));
    let year = if figures[2] < 100 { figures[2] + 2000 } else { figures[2] };
    (two, i16::try_from(year).unwrap_or(i16::MAX))
}

/// The three figures of a date, and the mark between them.
fn figures_of_date(text: &str) -> Option<([u32; 3], char)> {
    let mark = text.chars().find(|c| !c.is_ascii_digit()).filter(|mark| "/.-".contains(*mark))?;
    let parts: Vec<&str> = text.trim_end_matches('.').split(mark).collect();
    let figure =
        |part: &&str| part.parse().ok().filter(|_| part.len() <= 4 && part.bytes().all(|b| b.is_ascii_digit()));
    let figures: Vec<u32> = parts.iter().map_while(figure).collect();
    Some((<[u32; 3]>::try_from(figures).ok().filter(|_| parts.len() == 3)?, mark))
}

/// The day that two figures and a year are.
///
/// # Errors
/// Where they may be two days, or none.
pub fn day(text: &str, [one, two]: [i8; 2], year: i16, month_first: bool) -> Result<Date, BadMoment> {
    let by_month = Date::new(year, one, two).ok();
    let by_day = Date::new(year, two, one).ok();
    let day = match (by_month, by_day) {
        (Some(one), Some(other)) if one != other && !month_first => {
            return Err(BadMoment::EitherDay(text.to_owned(), [Some(one), Some(other)]));
        }
        (Some(day), _) | (None, Some(day)) => day,
        (None, None) => return Err(BadMoment::NoTime(text.to_owned())),
    };
    date(&day.to_string())
}

/// A time of day: `18:52`, `18:52:30`, `6:52 PM`, `6 p.m.`, `18h52`; and whether it may be of either half of the day.
pub fn clock(text: &str) -> Option<(Time, bool)> {
    let bare: String = text.to_ascii_lowercase().chars().filter(|c| !c.is_whitespace() && *c != '.').collect();
    let (bare, half) = match (bare.strip_suffix("am"), bare.strip_suffix("pm")) {
        (Some(bare), _) => (bare.to_owned(), Some(0)),
        (_, Some(bare)) => (bare.to_owned(), Some(12)),
        _ => (bare, None),
    };
    let of_24 = bare.contains('h');
    let bare = bare.replacen('h', ":", 1);
    let mut parts = bare.split(':');
    let figures = |part: &str, least: usize| -> Option<i8> {
        part.parse().ok().filter(|_| (least..=2).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit()))
    };
    let first = parts.next()?;
    let hour = figures(first, 1)?;
    let minute = match parts.next() {
        // `6 PM`, `18h`
        Some("") if of_24 => 0,
        None if half.is_some() => 0,
        part => figures(part?, 2)?,
    };
    let second = parts.next().map_or(Some(0), |part| figures(part, 2))?;
    let hour = match half {
        Some(half) if (1..=12).contains(&hour) => hour % 12 + half,
        Some(_) => return None,
        None => hour,
    };
    let either = half.is_none() && !of_24 && (1..=12).contains(&hour) && !first.starts_with('0');
    let time = Time::new(hour, minute, second, 0).ok().filter(|_| parts.next().is_none())?;
    Some((time, either))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_offset_is_refused_with_its_reason() {
        for (text, offset) in [
            ("2026-04-13T18:00-05:00", "-05:00"),
            ("2026-04-13T18:00+00:00", "+00:00"),
            ("2026-04-13T18:00:00Z", "Z"),
            ("2026-04-13T18:00z", "z"),
            ("2026-04-13 18:00 -0500", "-0500"),
            ("2026-04-13T18:00[America/New_York]", "[America/New_York]"),
            ("2026-04-13T18:00-04:00[America/New_York]", "-04:00[America/New_York]"),
            ("2026-04-13T18-05", "-05"),
            ("2026-04-13 18:00 EST", "EST"),
            ("2026-04-13 18:00 UTC", "UTC"),
        ] {
            let refused = BadMoment::Offset(text.to_owned(), offset.to_owned());
            assert_eq!(moment(text), Err(refused.clone()), "{text}");
            assert_eq!(date(text), Err(refused), "{text}");
        }
        assert_eq!(offset_in("18:00-05:00").as_deref(), Some("-05:00"));
        assert_eq!(offset_in("18:00Z").as_deref(), Some("Z"));
    }

    #[test]
    fn civil_time_is_taken() {
        for text in ["2026-04-13T18:00", "2026-04-13 18:00", "2026-04-13T18:00:30"] {
            assert!(moment(text).is_ok(), "{text}");
            assert_eq!(offset_in(text), None, "{text}");
        }
        assert!(date("2026-04-13").is_ok());
        assert_eq!(offset_in("18:00"), None);
        for bad in ["2026-04-13T18:00", "next Monday", "2026-02-30", "13 April 2026"] {
            assert_eq!(date(bad), Err(BadMoment::NoDate(bad.to_owned())), "{bad}");
        }
        for bad in ["2026-04-13", "2026-02-30T18:00", "4/13/2026", "6 PM", "4/31/2026 6 PM", "tonight"] {
            assert_eq!(moment(bad), Err(BadMoment::NoMoment(bad.to_owned())), "{bad}");
        }
    }

    #[test]
    fn what_can_be_but_one_moment_is_taken() {
        let evening = moment("2026-04-13T18:00");
        for text in ["4/13/2026 6:00 PM", "2026-04-13 6 pm", "13.04.2026 18h", "4/13/2026 18:00", "13/4/26, 6:00 p.m."]
        {
            assert_eq!(moment(text), evening, "{text}");
        }
        assert_eq!(date("4/13/2026"), date("2026-04-13"));
        assert_eq!(date("4/4/2026"), date("2026-04-04"));
        for (text, code) in [
            ("4/5/2026 6:00 PM", "date-ambiguous"),
            ("4/13/2026 6:00", "hour-ambiguous"),
            ("2026-04-13 6:00", "hour-ambiguous"),
            ("4/13/1026 6 PM", "year-out-of-range"),
        ] {
            assert_eq!(moment(text).expect_err("refused").code(), code, "{text}");
        }
        assert_eq!(date("4/5/2026").expect_err("refused").code(), "date-ambiguous");
        assert_eq!(date("4/31/2026").expect_err("refused").code(), "bad-date");
    }

    #[test]
    fn years_of_no_visit_are_refused() {
        assert!(matches!(moment("9999-12-31T23:00"), Err(BadMoment::Year(_))));
        assert!(matches!(date("0206-04-13"), Err(BadMoment::Year(_))));
        assert!(date("1990-01-01").is_ok() && date("2199-12-31").is_ok());
    }
}
