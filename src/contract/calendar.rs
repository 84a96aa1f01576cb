//! Visits as a calendar that a crew can subscribe to: iCalendar, RFC 5545.
//!
//! Times are those that the clocks at the site show, so that they stand without a zone ("floating", 3.3.5). An event has its visit's
//! number, so that a calendar moves the event of a visit that is moved.

use jiff::ToSpan;
use jiff::civil::{Date, DateTime};

use super::Contract;
use super::routes::Stop;
use crate::yaml::Tree;

impl Contract {
    /// The visits that `wanted` takes, by their day, van and crew. `host` makes the events' names the firm's own. An event lasts as
    /// long as the contract says, or has no end; that of a visit of which `not_made` is true by its number is called off.
    pub fn calendar(
        &self,
        host: &str,
        wanted: &dyn Fn(Date, &str, &[String]) -> bool,
        not_made: &dyn Fn(&str) -> bool,
    ) -> String {
        let mut out = String::new();
        let mut put = |name: &str, value: &str| fold(&mut out, &format!("{name}:{value}"));
        put("BEGIN", "VCALENDAR");
        put("VERSION", "2.0");
        put("PRODID", "-//decant//visits//EN");
        put("X-WR-CALNAME", &escaped(&self.number));
        for stop in self.stops.iter().filter(|stop| wanted(stop.day, &self.van(stop), &self.crew_names(stop))) {
            let site = &self.sites[stop.site];
            let word = |key: &str| site.word(key).unwrap_or_default();
            put("BEGIN", "VEVENT");
            put("UID", &format!("{}.{}@{host}", self.number, stop.number));
            // when it was written is of no account to who subscribes: the same contract gives the same bytes
            put("DTSTAMP", &format!("{}Z", clock(stop.named.to_datetime(jiff::civil::Time::midnight()))));
            put("DTSTART", &clock(stop.start));
            if let Some(ends) = stop.takes.and_then(|minutes| stop.start.checked_add(minutes.minutes()).ok()) {
                put("DTEND", &clock(ends));
            }
            if not_made(&stop.number) {
                put("STATUS", "CANCELLED");
            }
            put("SUMMARY", &escaped(word("name")));
            put("LOCATION", &escaped([word("address"), word("postcode")].join(" ").trim_end()));
            put("DESCRIPTION", &escaped(&self.described(stop).join("\n")));
            put("END", "VEVENT");
        }
        put("END", "VCALENDAR");
        out
    }

    /// The visit's number, who goes, whom to call at the site, and what the office has to say.
    fn described(&self, stop: &Stop) -> Vec<String> {
        let site = &self.sites[stop.site];
        let crew = self.crew_names(stop).join(", ");
        let notes = site.tree.get("notes").map(Tree::items).unwrap_or_default().iter().filter_map(Tree::word);
        let there = ["contact", "phone"].map(|key| site.word(key).unwrap_or_default());
        let lines = [stop.number.as_str(), &crew].into_iter().chain(there).chain(notes);
        lines.filter(|line| !line.is_empty()).map(str::to_owned).collect()
    }
}

/// A date and time without a zone.
fn clock(at: DateTime) -> String {
    at.strftime("%Y%m%dT%H%M%S").to_string()
}

/// Text as a value (3.3.11).
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '\\' | ';' | ',' => out.extend(['\\', c]),
            '\n' => out += "\\n",
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out
}

/// A line of at most 75 octets; the rest goes on behind a space (3.1). No character is cut apart.
fn fold(out: &mut String, line: &str) {
    let mut room = 75;
    for c in line.chars() {
        if c.len_utf8() > room {
            *out += "\r\n ";
            room = 74;
        }
        room -= c.len_utf8();
        out.push(c);
    }
    *out += "\r\n";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lines_are_folded_between_characters() {
        let mut out = String::new();
        fold(&mut out, &format!("SUMMARY:{}é{}", "x".repeat(66), "y".repeat(80)));
        let lines: Vec<&str> = out.split_terminator("\r\n").collect();
        assert_eq!(lines.iter().map(|line| line.len()).collect::<Vec<_>>(), [74, 75, 9]);
        assert!(lines[1].starts_with(" éy") && out.replace("\r\n ", "").ends_with(&format!("é{}\r\n", "y".repeat(80))));
    }

    #[test]
    fn text_can_end_no_value() {
        assert_eq!(escaped("a;b,c\\d\ne\rf"), "a\\;b\\,c\\\\d\\nef");
    }
}
