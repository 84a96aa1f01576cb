//! Visits that were made: they keep their numbers and their times.

use std::collections::BTreeMap;

use jiff::civil::{Date, DateTime, Time};

/// When each visit began that was made, by the number of its job.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Pins(BTreeMap<String, DateTime>);

impl Pins {
    /// When a visit to a site on a day was made, if it was. `pattern` is that of the contract's job numbers; `listed` is the
    /// time that the visit's date is listed with, which tells two visits of a day apart.
    pub(super) fn of(
        &self,
        pattern: &str,
        contract: &str,
        site: &str,
        day: Date,
        listed: Option<Time>,
    ) -> Option<DateTime> {
        if self.0.is_empty() {
            return None;
        }
        let filled = pattern
            .replace("{contract}", contract)
            .replace("{date}", &day.strftime("%Y%m%d").to_string())
            .replace("{site}", site);
        if !filled.contains("{time}") {
            return self.0.get(&filled).copied();
        }
        // the time in the number is the one that is looked for: a visit that was made is known by all the rest
        let is_it = |number: &str, start: &DateTime| {
            filled.replace("{time}", &start.strftime("%H%M").to_string()) == number
                && listed.is_none_or(|listed| listed == start.time())
        };
        let mut made = self.0.iter().filter(|(number, start)| is_it(number, start));
        made.next().map(|(_, start)| *start)
    }
}

impl FromIterator<(String, DateTime)> for Pins {
    fn from_iter<I: IntoIterator<Item = (String, DateTime)>>(visits: I) -> Pins {
        Pins(visits.into_iter().collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::{date, time};

    #[test]
    fn a_visit_that_was_made_is_known_by_its_number() {
        let made = date(2026, 4, 13).at(21, 30, 0, 0);
        let pins: Pins = [
            ("house-20260413".to_owned(), made),
            ("house-20260414-2130".to_owned(), date(2026, 4, 14).at(21, 30, 0, 0)),
        ]
        .into_iter()
        .collect();
        let of = |pattern, site, day, listed| pins.of(pattern, "HB", site, day, listed);
        assert_eq!(of("{site}-{date}", "house", date(2026, 4, 13), None), Some(made));
        assert_eq!(of("{site}-{date}", "gull", date(2026, 4, 13), None), None);
        assert_eq!(of("{site}-{date}", "house", date(2026, 4, 15), None), None);
        // with the time in the number
        let day = date(2026, 4, 14);
        assert!(of("{site}-{date}-{time}", "house", day, None).is_some());
        assert!(of("{site}-{date}-{time}", "house", day, Some(time(21, 30, 0, 0))).is_some());
        assert_eq!(of("{site}-{date}-{time}", "house", day, Some(time(5, 30, 0, 0))), None);
    }
}
