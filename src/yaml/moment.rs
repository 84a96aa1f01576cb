//! Dates and moments as files write them: civil time, as the clocks at the site show it, of the years 1990 to 2199.

use jiff::civil::{Date, DateTime};

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
}

impl Complaint for BadMoment {
    fn code(&self) -> &'static str {
        match self {
            BadMoment::NoDate(_) => "bad-date",
            BadMoment::NoMoment(_) => "bad-time",
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
            BadMoment::Year(_) => "look at the year again",
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

/// A date: `2026-04-13`.
///
/// # Errors
/// What is no date and nothing but a date; a year outside 1990 to 2199.
pub fn date(text: &str) -> Result<Date, BadMoment> {
    if let Some(offset) = offset_in(text) {
        return Err(BadMoment::Offset(text.to_owned(), offset));
    }
    let plain = text.bytes().all(|b| b.is_ascii_digit() || b == b'-');
    let date = text.parse::<Date>().ok().filter(|_| plain);
    let date = date.ok_or_else(|| BadMoment::NoDate(text.to_owned()))?;
    if YEARS.contains(&date.year()) { Ok(date) } else { Err(BadMoment::Year(text.to_owned())) }
}

/// A date and time: `2026-04-13T18:00`, `2026-04-13 18:00`.
///
/// # Errors
/// What is no date and time; an offset from UTC or a time zone, which would otherwise be dropped; a year outside 1990 to
/// 2199.
pub fn moment(text: &str) -> Result<DateTime, BadMoment> {
    if let Some(offset) = offset_in(text) {
        return Err(BadMoment::Offset(text.to_owned(), offset));
    }
    let moment = text.parse::<DateTime>().ok().filter(|_| text.contains(['T', ' ', 't']));
    let moment = moment.ok_or_else(|| BadMoment::NoMoment(text.to_owned()))?;
    if YEARS.contains(&moment.year()) { Ok(moment) } else { Err(BadMoment::Year(text.to_owned())) }
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
        for bad in ["2026-04-13", "2026-02-30T18:00", "2026-04-13 6 pm", "tonight"] {
            assert_eq!(moment(bad), Err(BadMoment::NoMoment(bad.to_owned())), "{bad}");
        }
    }

    #[test]
    fn years_of_no_visit_are_refused() {
        assert!(matches!(moment("9999-12-31T23:00"), Err(BadMoment::Year(_))));
        assert!(matches!(date("0206-04-13"), Err(BadMoment::Year(_))));
        assert!(date("1990-01-01").is_ok() && date("2199-12-31").is_ok());
    }
}
