//! Dates and times of day, as a language and a firm write them.

use jiff::Span;
use jiff::civil::{Date, DateTime};
use minijinja::context;

use super::Said;
use crate::company::Dates;
use crate::plan::whole_minute;
use crate::wording::Words;

/// A language and a form of dates.
#[derive(Clone, Copy, Debug)]
pub(super) struct Calendar<'a> {
    pub words: &'a Words,
    pub dates: Dates,
}

impl Calendar<'_> {
    fn word(self, key: &str) -> Said {
        Ok(self.words.word(key)?.to_owned())
    }

    fn say(self, key: &str, blanks: minijinja::Value) -> Said {
        Ok(self.words.say(key, blanks)?)
    }

    /// `Apr`
    fn month(self, date: Date) -> Said {
        self.word(&format!("month.m{}", date.month()))
    }

    /// `Mon, Apr 13, 2026`
    pub fn date(self, date: Date) -> Said {
        let day = date.strftime("%a").to_string().to_lowercase();
        let (weekday, month) = (self.word(&format!("weekday.{day}"))?, self.month(date)?);
        let key = format!("date.{}", self.dates.word());
        self.say(&key, context! { weekday, day => date.day(), month, year => date.year() })
    }

    /// `Apr 13`, where the year stands elsewhere.
    pub fn day(self, date: Date) -> Said {
        self.say(&format!("day.{}", self.dates.word()), context! { day => date.day(), month => self.month(date)? })
    }

    /// `6:05 PM` or `18:05`; seconds are carried up to the next minute, so that nobody comes back early.
    pub fn clock(self, moment: DateTime) -> Said {
        self.clock_of(whole_minute(moment))
    }

    /// The clock of a whole minute. With 12 hours, noon and midnight have names: nobody agrees on which of them is 12:00 PM.
    fn clock_of(self, moment: DateTime) -> Said {
        let minute = format!("{:02}", moment.minute());
        if !self.has_twelve_hours()? {
            return self.say("clock.of_24", context! { hour => format!("{:02}", moment.hour()), minute });
        }
        match (moment.hour(), moment.minute()) {
            (0, 0) => self.word("clock.midnight"),
            (12, 0) => self.word("clock.noon"),
            (hour, _) => {
                let half = self.word(if hour < 12 { "clock.am" } else { "clock.pm" })?;
                self.say("clock.of_12", context! { hour => twelve(hour), minute, half })
            }
        }
    }

    fn has_twelve_hours(self) -> Said<bool> {
        Ok(self.word(&format!("hours.{}", self.dates.word()))? == "12")
    }

    /// `6:10 to 7:41 PM`: the half of the day once, where both have the same.
    pub fn clock_range(self, from: DateTime, to: DateTime) -> Said {
        let (first, last) = (whole_minute(from), whole_minute(to));
        let is_named = |moment: DateTime| moment.hour() % 12 == 0 && moment.minute() == 0;
        let same_half = first.date() == last.date() && first.hour() / 12 == last.hour() / 12;
        let from = if self.has_twelve_hours()? && same_half && !is_named(first) && !is_named(last) {
            format!("{}:{:02}", twelve(first.hour()), first.minute())
        } else {
            self.clock_of(first)?
        };
        self.say("clock_range", context! { from, to => self.clock_of(last)? })
    }

    /// `Apr 2026`
    pub fn month_of(self, date: Date) -> Said {
        Ok(format!("{}\u{a0}{}", self.month(date)?, date.year()))
    }

    /// `Mon, Apr 20, 2026, 6:05 PM`, cut down to the minute: nothing is kept longer than it may be. Midnight by name is the minute
    /// before it, so that nobody takes it for the end of the day.
    pub fn until(self, moment: DateTime) -> Said {
        let cut = moment.date().at(moment.hour(), moment.minute(), 0, 0);
        let cut = if (cut.hour(), cut.minute()) == (0, 0) && self.has_twelve_hours()? {
            cut.saturating_sub(Span::new().minutes(1))
        } else {
            cut
        };
        Ok(format!("{}, {}", self.date(cut.date())?, self.clock_of(cut)?))
    }
}

/// An hour of the clock of twelve.
fn twelve(hour: i8) -> i8 {
    if hour % 12 == 0 { 12 } else { hour % 12 }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn dates_and_times_are_those_of_the_reader() {
        let languages = ["en", "es", "fr"].map(|tag| Words::of(tag).unwrap());
        let day = date(2026, 4, 13);
        let said = |words: &Words, dates: Dates| {
            let calendar = Calendar { words, dates };
            let clocks = [(0, 0), (0, 20), (11, 59), (12, 0), (12, 20), (18, 5)];
            let clocks = clocks.map(|(hour, minute)| calendar.clock(day.at(hour, minute, 0, 0)).unwrap());
            format!("{}; {}", calendar.date(day).unwrap(), clocks.join(", ")).replace('\u{a0}', " ")
        };
        let [english, spanish, french] = languages.each_ref().map(|words| said(words, Dates::Us));
        assert_eq!(english, "Mon, Apr 13, 2026; 12:00 midnight, 12:20 AM, 11:59 AM, 12:00 noon, 12:20 PM, 6:05 PM");
        assert_eq!(spanish, "lun 13 abr 2026; 12:00 medianoche, 12:20 AM, 11:59 AM, 12:00 mediodía, 12:20 PM, 6:05 PM");
        assert_eq!(french, "lun. 13 avr. 2026; 00:00, 00:20, 11:59, 12:00, 12:20, 18:05");
        let international = said(&languages[0], Dates::International);
        assert_eq!(international, "Mon 13 Apr 2026; 00:00, 00:20, 11:59, 12:00, 12:20, 18:05");
    }

    #[test]
    fn a_range_says_the_half_of_the_day_once_and_a_limit_is_never_midnight() {
        let words = Words::english().unwrap();
        let calendar = Calendar { words: &words, dates: Dates::Us };
        let at = |hour, minute| date(2026, 4, 13).at(hour, minute, 0, 0);
        let range = |from, to| calendar.clock_range(from, to).unwrap().replace('\u{a0}', " ");
        assert_eq!(range(at(18, 10), at(19, 41)), "6:10 to 7:41 PM");
        assert_eq!(range(at(11, 10), at(12, 10)), "11:10 AM to 12:10 PM");
        assert_eq!(range(at(12, 0), at(13, 10)), "12:00 noon to 1:10 PM");
        // seconds are carried up
        assert_eq!(range(at(18, 10), date(2026, 4, 13).at(23, 59, 30, 0)), "6:10 PM to 12:00 midnight");
        let until = calendar.until(at(0, 0)).unwrap().replace('\u{a0}', " ");
        assert_eq!(until, "Sun, Apr 12, 2026, 11:59 PM");
    }
}
