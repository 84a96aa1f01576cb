//! The days of the week that a cell of a table names.

/// Days of the week, as people write them, whole or cut short, and as rules name them.
pub(super) const WEEKDAYS: [(&str, &str); 7] = [
    ("monday", "MO"),
    ("tuesday", "TU"),
    ("wednesday", "WE"),
    ("thursday", "TH"),
    ("friday", "FR"),
    ("saturday", "SA"),
    ("sunday", "SU"),
];

/// The days that a cell such as `Mon` or `Tuesday, Friday` names; `None` where it holds anything else.
pub(super) fn weekdays(cell: &str) -> Option<Vec<&'static str>> {
    let words = cell.split(|c: char| !c.is_alphabetic()).filter(|word| !word.is_empty() && *word != "and");
    let days = words.map(|word| {
        let word = word.to_lowercase();
        let word = word.trim_end_matches('s');
        WEEKDAYS.into_iter().find(|(name, _)| word.len() >= 3 && name.starts_with(word)).map(|(_, day)| day)
    });
    days.collect::<Option<Vec<_>>>().filter(|days| !days.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_as_people_write_them() {
        for (cell, days) in [("Mon", "MO"), ("tuesday", "TU"), ("Wed, Fri", "WE FR"), ("Mondays and Thurs", "MO TH")] {
            assert_eq!(weekdays(cell).expect(cell).join(" "), days);
        }
        for cell in ["", "Monet Street", "daily", "Sunset Hall", "2", "Mon 9th"] {
            assert_eq!(weekdays(cell), None, "{cell}");
        }
    }
}
