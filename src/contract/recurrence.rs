//! Recurrence rules of iCalendar: RFC 5545, section 3.3.10, on days without a time zone.
//!
//! Every part that speaks of days is followed but `BYWEEKNO`; parts that speak of hours, and frequencies below a day, are
//! refused, since a route gives the times. The general calendar library for this works on instants in time zones and
//! brings a table of all of them; a visit has the site's own date and no more, so the days are counted here.

use jiff::ToSpan;
use jiff::civil::{Date, Weekday};

use crate::yaml::Complaint;

/// A rule without `UNTIL` whose count is not reached in so many years never reaches it: the calendar repeats after 400,
/// and no contract runs for 100.
const YEARS_SEARCHED: i16 = 100;

/// How often a rule comes round.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Frequency {
    #[default]
    Daily,
    Weekly,
    Monthly,
    Yearly,
}

const FREQUENCIES: &[(&str, Frequency)] = &[
    ("DAILY", Frequency::Daily),
    ("WEEKLY", Frequency::Weekly),
    ("MONTHLY", Frequency::Monthly),
    ("YEARLY", Frequency::Yearly),
];

/// A weekday, or the n-th of them in the month or year, from its end where n is below 0.
type ByDay = (Option<i16>, Weekday);

/// A recurrence rule, read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Rule {
    frequency: Frequency,
    interval: u32,
    count: Option<u32>,
    until: Option<Date>,
    /// Monday where the rule does not say.
    week_start: Option<Weekday>,
    months: Vec<i16>,
    year_days: Vec<i16>,
    month_days: Vec<i16>,
    days: Vec<ByDay>,
    positions: Vec<i16>,
}

/// What is wrong with a rule, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct BadRule {
    message: String,
    hint: String,
}

fn bad<T>(message: impl Into<String>, hint: impl Into<String>) -> Result<T, BadRule> {
    Err(BadRule { message: message.into(), hint: hint.into() })
}

impl Complaint for BadRule {
    fn code(&self) -> &'static str {
        "bad-rule"
    }
    fn message(&self) -> String {
        self.message.clone()
    }
    fn hints(&self) -> Vec<String> {
        vec![self.hint.clone()]
    }
}

const WEEKDAYS: &[(&str, Weekday)] = &[
    ("MO", Weekday::Monday),
    ("TU", Weekday::Tuesday),
    ("WE", Weekday::Wednesday),
    ("TH", Weekday::Thursday),
    ("FR", Weekday::Friday),
    ("SA", Weekday::Saturday),
    ("SU", Weekday::Sunday),
];

/// The two letters that stand for a weekday in a rule, in upper or lower case.
pub(super) fn weekday(word: &str) -> Option<Weekday> {
    find(WEEKDAYS, &word.to_ascii_uppercase())
}

fn find<T: Copy>(table: &[(&str, T)], word: &str) -> Option<T> {
    table.iter().find(|(known, _)| *known == word).map(|(_, value)| *value)
}

impl Rule {
    /// Reads a rule such as `FREQ=WEEKLY;INTERVAL=2;BYDAY=MO`, with or without `RRULE:` before it.
    pub(super) fn parse(text: &str) -> Result<Rule, BadRule> {
        let text = text.to_ascii_uppercase();
        let text = text.strip_prefix("RRULE:").unwrap_or(&text);
        let mut frequency = None;
        let mut rule = Rule { interval: 1, ..Rule::default() };
        let mut seen: Vec<&str> = Vec::new();
        for part in text.split(';') {
            let Some((name, value)) = part.split_once('=') else {
                let hint = "a rule is parts joined by `;`, such as `FREQ=WEEKLY;INTERVAL=2;BYDAY=MO`";
                return bad(format!("`{part}` is not a part `NAME=VALUE` of a rule"), hint);
            };
            if seen.contains(&name) {
                return bad(format!("`{name}` stands twice in this rule"), "keep one of the two");
            }
            seen.push(name);
            match name {
                "FREQ" => match find(FREQUENCIES, value) {
                    Some(found) => frequency = Some(found),
                    None => {
                        let hint = "one of: DAILY, WEEKLY, MONTHLY, YEARLY";
                        return bad(format!("`{value}` is no frequency of visits"), hint);
                    }
                },
                "INTERVAL" => rule.interval = read_count(name, value)?,
                "COUNT" => rule.count = Some(read_count(name, value)?),
                "UNTIL" => rule.until = Some(read_until(value)?),
                "WKST" => rule.week_start = Some(read_weekday(value)?),
                "BYMONTH" => rule.months = numbers(name, value, 12, false)?,
                "BYYEARDAY" => rule.year_days = numbers(name, value, 366, true)?,
                "BYMONTHDAY" => rule.month_days = numbers(name, value, 31, true)?,
                "BYSETPOS" => rule.positions = numbers(name, value, 366, true)?,
                "BYDAY" => rule.days = value.split(',').map(read_by_day).collect::<Result<_, _>>()?,
                "BYHOUR" | "BYMINUTE" | "BYSECOND" => {
                    let hint = "take it out: `start` of a route, a site or the visits gives the time";
                    return bad(format!("`{name}` speaks of times of day"), hint);
                }
                "BYWEEKNO" => {
                    let hint = "use INTERVAL with FREQ=WEEKLY, BYYEARDAY, or list the dates";
                    return bad("`BYWEEKNO` is not followed here", hint);
                }
                _ => {
                    let hint =
                        "parts are FREQ, INTERVAL, COUNT, UNTIL, WKST, BYMONTH, BYYEARDAY, BYMONTHDAY, BYDAY, BYSETPOS";
                    return bad(format!("`{name}` is not a part of a rule"), hint);
                }
            }
        }
        let Some(frequency) = frequency else {
            return bad("`FREQ` is missing", "begin with FREQ=DAILY, WEEKLY, MONTHLY or YEARLY");
        };
        rule.frequency = frequency;
        rule.check()?;
        Ok(rule)
    }

    /// What RFC 5545 says must not or cannot stand together.
    fn check(&self) -> Result<(), BadRule> {
        let days = [&self.months, &self.year_days, &self.month_days];
        let by_any = !self.days.is_empty() || days.iter().any(|part| !part.is_empty());
        let numbered = self.days.iter().any(|(nth, _)| nth.is_some());
        let (weekly, yearly) = (self.frequency == Frequency::Weekly, self.frequency == Frequency::Yearly);
        if self.count.is_some() && self.until.is_some() {
            return bad("`COUNT` and `UNTIL` stand in one rule", "keep one of the two");
        }
        if numbered && !yearly && self.frequency != Frequency::Monthly {
            let hint = "such as `FREQ=MONTHLY;BYDAY=2MO` for the second Monday";
            return bad("a numbered weekday belongs to months or years", hint);
        }
        if !self.month_days.is_empty() && weekly {
            return bad("`BYMONTHDAY` does not go with FREQ=WEEKLY", "use FREQ=MONTHLY");
        }
        if !self.year_days.is_empty() && !yearly {
            return bad("`BYYEARDAY` goes with FREQ=YEARLY only", "use BYMONTHDAY, or FREQ=YEARLY");
        }
        if !self.positions.is_empty() && !by_any {
            return bad("`BYSETPOS` picks from what another BY part gives", "add BYDAY or BYMONTHDAY");
        }
        Ok(())
    }

    /// Whether the rule ends of itself.
    pub(super) fn ends(&self) -> bool {
        self.count.is_some() || self.until.is_some()
    }

    /// The days of a rule that begins on `first`, at most up to and with `last` and at most `most` of them.
    ///
    /// `first` counts only where the rule names it: a rule that does not is undefined in RFC 5545, section 3.8.5.3, so
    /// the caller compares.
    pub(super) fn days(&self, first: Date, last: Option<Date>, most: usize) -> Vec<Date> {
        let far = || first.checked_add(YEARS_SEARCHED.years()).unwrap_or(Date::MAX);
        let last = [self.until, last].into_iter().flatten().min().unwrap_or_else(far);
        let most = self.count.map_or(most, |count| most.min(count as usize));
        let mut found = Vec::new();
        let mut period = Some(self.period_of(first));
        while let Some(begin) = period.filter(|begin| *begin <= last) {
            for day in self.in_period(begin, first) {
                if day > last || found.len() >= most {
                    return found;
                }
                if day >= first {
                    found.push(day);
                }
            }
            period = self.next_period(begin);
        }
        found
    }

    /// The first day of the day, week, month or year that a day lies in.
    fn period_of(&self, day: Date) -> Date {
        match self.frequency {
            Frequency::Daily => day,
            Frequency::Weekly => {
                let back = self.week_start.unwrap_or(Weekday::Monday).until(day.weekday());
                day.checked_sub(i64::from(back).days()).unwrap_or(Date::MIN)
            }
            Frequency::Monthly => day.first_of_month(),
            Frequency::Yearly => day.first_of_year(),
        }
    }

    fn next_period(&self, begin: Date) -> Option<Date> {
        let interval = i64::from(self.interval);
        let step = match self.frequency {
            Frequency::Daily => interval.days(),
            Frequency::Weekly => interval.weeks(),
            Frequency::Monthly => interval.months(),
            Frequency::Yearly => interval.years(),
        };
        begin.checked_add(step).ok()
    }

    /// The days that the rule names in the period that begins here, in order.
    fn in_period(&self, begin: Date, first: Date) -> Vec<Date> {
        let length = match self.frequency {
            Frequency::Daily => 1,
            Frequency::Weekly => 7,
            Frequency::Monthly => begin.days_in_month() as usize,
            Frequency::Yearly => begin.days_in_year() as usize,
        };
        let named: Vec<Date> = begin.series(1.day()).take(length).filter(|day| self.names(*day, first)).collect();
        if self.positions.is_empty() {
            return named;
        }
        let at = |position: &i16| {
            let from = if *position > 0 { i64::from(*position) - 1 } else { named.len() as i64 + i64::from(*position) };
            usize::try_from(from).ok().filter(|at| *at < named.len())
        };
        let mut kept: Vec<usize> = self.positions.iter().filter_map(at).collect();
        kept.sort_unstable();
        kept.dedup();
        kept.into_iter().map(|at| named[at]).collect()
    }

    /// Whether a day fits every part; what no part says is taken from the first day (RFC 5545, section 3.3.10).
    fn names(&self, day: Date, first: Date) -> bool {
        let listed = |list: &[i16], from_start: i16, length: i16| {
            list.is_empty() || list.contains(&from_start) || list.contains(&(from_start - length - 1))
        };
        let in_month = listed(&self.month_days, i16::from(day.day()), i16::from(day.days_in_month()));
        let in_year = listed(&self.year_days, day.day_of_year(), day.days_in_year());
        let month = self.months.is_empty() || self.months.contains(&i16::from(day.month()));
        let by_day = self.days.is_empty() || self.days.iter().any(|by| self.is_numbered_day(day, by));
        month && in_month && in_year && by_day && self.as_the_first(day, first)
    }

    fn as_the_first(&self, day: Date, first: Date) -> bool {
        let no_day = self.days.is_empty() && self.month_days.is_empty() && self.year_days.is_empty();
        match self.frequency {
            _ if !no_day => true,
            Frequency::Daily => true,
            Frequency::Weekly => day.weekday() == first.weekday(),
            Frequency::Monthly => day.day() == first.day(),
            Frequency::Yearly => day.day() == first.day() && (!self.months.is_empty() || day.month() == first.month()),
        }
    }

    /// Whether a day is such a weekday, and the n-th of its month or, in a yearly rule without months, of its year.
    fn is_numbered_day(&self, day: Date, (nth, weekday): &ByDay) -> bool {
        if day.weekday() != *weekday {
            return false;
        }
        let Some(nth) = *nth else { return true };
        let of_year = self.frequency == Frequency::Yearly && self.months.is_empty();
        let (at, length) = if of_year {
            (day.day_of_year(), day.days_in_year())
        } else {
            (i16::from(day.day()), i16::from(day.days_in_month()))
        };
        nth == (at - 1) / 7 + 1 || nth == -((length - at) / 7 + 1)
    }
}

fn read_count(name: &str, value: &str) -> Result<u32, BadRule> {
    match value.parse::<u32>() {
        Ok(count @ 1..=10_000) => Ok(count),
        _ => bad(format!("`{value}` is no whole number for `{name}`"), "a whole number from 1 to 10000"),
    }
}

fn read_until(value: &str) -> Result<Date, BadRule> {
    let plain = value.len() == 8 && value.bytes().all(|b| b.is_ascii_digit());
    match Date::strptime("%Y%m%d", value) {
        Ok(date) if plain => Ok(date),
        _ => bad(
            format!("`{value}` is no last day"),
            "write the last day as eight digits, such as `UNTIL=20261231`, without a time: visits are counted in days",
        ),
    }
}

fn read_weekday(value: &str) -> Result<Weekday, BadRule> {
    let wrong = || bad(format!("`{value}` is no weekday"), "one of: MO, TU, WE, TH, FR, SA, SU");
    weekday(value).map_or_else(wrong, Ok)
}

fn read_by_day(value: &str) -> Result<ByDay, BadRule> {
    // a letter of more than one byte is no weekday either
    let split = value.len().checked_sub(2).filter(|at| value.is_char_boundary(*at));
    let (nth, name) = value.split_at(split.unwrap_or(0));
    let day = read_weekday(name)?;
    let nth = if nth.is_empty() { None } else { Some(number("BYDAY", nth, 53, true)?) };
    Ok((nth, day))
}

fn numbers(name: &str, value: &str, most: i16, signed: bool) -> Result<Vec<i16>, BadRule> {
    value.split(',').map(|item| number(name, item, most, signed)).collect()
}

/// From 1 to `most`, or where it is `signed` as far below 0.
fn number(name: &str, item: &str, most: i16, signed: bool) -> Result<i16, BadRule> {
    match item.parse::<i16>() {
        Ok(n) if (1..=most).contains(&n) || (signed && (-most..=-1).contains(&n)) => Ok(n),
        _ => {
            let from_end = if signed { ", or below 0 to count from the end" } else { "" };
            bad(format!("`{item}` cannot stand in `{name}`"), format!("a whole number from 1 to {most}{from_end}"))
        }
    }
}

#[cfg(test)]
mod tests;
