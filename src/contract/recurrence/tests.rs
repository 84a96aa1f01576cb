//! Against the examples of RFC 5545, section 3.8.5.3, with a date in the place of their date-times, and a second library.

use super::*;
use jiff::civil::date;

fn days(rule: &str, first: Date) -> Vec<Date> {
    Rule::parse(rule).unwrap().days(first, None, 10_000)
}

/// `1997-09: 2 3` is two days of that month.
fn list(text: &str) -> Vec<Date> {
    let mut all = Vec::new();
    for line in text.split(';') {
        let (month, numbers) = line.split_once(':').unwrap();
        for number in numbers.split_whitespace() {
            all.push(format!("{}-{:0>2}", month.trim(), number).parse().unwrap());
        }
    }
    all
}

#[track_caller]
fn shows(rule: &str, first: Date, expected: &str) {
    let expected = list(expected);
    let last = expected.last().copied();
    let rule = Rule::parse(rule).unwrap();
    let last = if rule.ends() { None } else { last };
    assert_eq!(rule.days(first, last, 10_000), expected);
}

const SEPTEMBER_2: Date = date(1997, 9, 2);

#[test]
fn daily_examples_of_the_standard() {
    shows("FREQ=DAILY;COUNT=10", SEPTEMBER_2, "1997-09: 2 3 4 5 6 7 8 9 10 11");
    // the standard ends at midnight UTC on 24 December, when New York has the 23rd
    let to_december = days("FREQ=DAILY;UNTIL=19971223", SEPTEMBER_2);
    assert_eq!((to_december.len(), to_december.last()), (113, Some(&date(1997, 12, 23))));
    shows("FREQ=DAILY;INTERVAL=2", SEPTEMBER_2, "1997-09: 2 4 6 8 10 12 14 16 18 20 22 24 26 28 30; 1997-10: 2 4");
    shows("FREQ=DAILY;INTERVAL=10;COUNT=5", SEPTEMBER_2, "1997-09: 2 12 22; 1997-10: 2 12");
    let januaries = days("FREQ=DAILY;UNTIL=20000131;BYMONTH=1", date(1998, 1, 1));
    assert_eq!(januaries.len(), 93);
    assert_eq!(januaries, days("FREQ=YEARLY;UNTIL=20000131;BYMONTH=1;BYDAY=SU,MO,TU,WE,TH,FR,SA", date(1998, 1, 1)));
}

#[test]
fn weekly_examples_of_the_standard() {
    let ten = "1997-09: 2 9 16 23 30; 1997-10: 7 14 21 28; 1997-11: 4";
    shows("FREQ=WEEKLY;COUNT=10", SEPTEMBER_2, ten);
    shows("FREQ=WEEKLY;UNTIL=19971223", SEPTEMBER_2, &format!("{ten} 11 18 25; 1997-12: 2 9 16 23"));
    shows(
        "FREQ=WEEKLY;INTERVAL=2;WKST=SU",
        SEPTEMBER_2,
        "1997-09: 2 16 30; 1997-10: 14 28; 1997-11: 11 25; 1997-12: 9 23; 1998-01: 6 20; 1998-02: 3 17",
    );
    let five_weeks = "1997-09: 2 4 9 11 16 18 23 25 30; 1997-10: 2";
    shows("FREQ=WEEKLY;COUNT=10;WKST=SU;BYDAY=TU,TH", SEPTEMBER_2, five_weeks);
    shows("FREQ=WEEKLY;UNTIL=19971006;WKST=SU;BYDAY=TU,TH", SEPTEMBER_2, five_weeks);
    shows(
        "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971223;WKST=SU;BYDAY=MO,WE,FR",
        date(1997, 9, 1),
        "1997-09: 1 3 5 15 17 19 29; 1997-10: 1 3 13 15 17 27 29 31; 1997-11: 10 12 14 24 26 28; 1997-12: 8 10 12 22",
    );
    shows("FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH", SEPTEMBER_2, "1997-09: 2 4 16 18 30; 1997-10: 2 14 16");
    // the start of the week makes a difference
    let august = date(1997, 8, 5);
    shows("FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO", august, "1997-08: 5 10 19 24");
    shows("FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU", august, "1997-08: 5 17 19 31");
}

#[test]
fn monthly_examples_of_the_standard() {
    shows(
        "FREQ=MONTHLY;COUNT=10;BYDAY=1FR",
        date(1997, 9, 5),
        "1997-09: 5; 1997-10: 3; 1997-11: 7; 1997-12: 5; 1998-01: 2; 1998-02: 6; 1998-03: 6; 1998-04: 3; 1998-05: 1; 1998-06: 5",
    );
    shows(
        "FREQ=MONTHLY;INTERVAL=2;COUNT=10;BYDAY=1SU,-1SU",
        date(1997, 9, 7),
        "1997-09: 7 28; 1997-11: 2 30; 1998-01: 4 25; 1998-03: 1 29; 1998-05: 3 31",
    );
    shows(
        "FREQ=MONTHLY;COUNT=6;BYDAY=-2MO",
        date(1997, 9, 22),
        "1997-09: 22; 1997-10: 20; 1997-11: 17; 1997-12: 22; 1998-01: 19; 1998-02: 16",
    );
    shows(
        "FREQ=MONTHLY;BYMONTHDAY=-3",
        date(1997, 9, 28),
        "1997-09: 28; 1997-10: 29; 1997-11: 28; 1997-12: 29; 1998-01: 29; 1998-02: 26",
    );
    shows(
        "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=2,15",
        SEPTEMBER_2,
        "1997-09: 2 15; 1997-10: 2 15; 1997-11: 2 15; 1997-12: 2 15; 1998-01: 2 15",
    );
    shows(
        "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=1,-1",
        date(1997, 9, 30),
        "1997-09: 30; 1997-10: 1 31; 1997-11: 1 30; 1997-12: 1 31; 1998-01: 1 31; 1998-02: 1",
    );
    shows(
        "FREQ=MONTHLY;INTERVAL=18;COUNT=10;BYMONTHDAY=10,11,12,13,14,15",
        date(1997, 9, 10),
        "1997-09: 10 11 12 13 14 15; 1999-03: 10 11 12 13",
    );
    shows(
        "FREQ=MONTHLY;INTERVAL=2;BYDAY=TU",
        SEPTEMBER_2,
        "1997-09: 2 9 16 23 30; 1997-11: 4 11 18 25; 1998-01: 6 13 20 27; 1998-03: 3 10 17 24 31",
    );
    // every Friday the 13th; the standard's first day, 2 September, is not one and is left out by its EXDATE
    shows(
        "FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13",
        SEPTEMBER_2,
        "1998-02: 13; 1998-03: 13; 1998-11: 13; 1999-08: 13; 2000-10: 13",
    );
    shows(
        "FREQ=MONTHLY;BYDAY=SA;BYMONTHDAY=7,8,9,10,11,12,13",
        date(1997, 9, 13),
        "1997-09: 13; 1997-10: 11; 1997-11: 8; 1997-12: 13; 1998-01: 10; 1998-02: 7; 1998-03: 7; 1998-04: 11; 1998-05: 9; 1998-06: 13",
    );
    shows("FREQ=MONTHLY;COUNT=3;BYDAY=TU,WE,TH;BYSETPOS=3", date(1997, 9, 4), "1997-09: 4; 1997-10: 7; 1997-11: 6");
    shows(
        "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2",
        date(1997, 9, 29),
        "1997-09: 29; 1997-10: 30; 1997-11: 27; 1997-12: 30; 1998-01: 29; 1998-02: 26; 1998-03: 30",
    );
    // a day that a month does not have is passed over
    shows("FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5", date(2007, 1, 15), "2007-01: 15 30; 2007-02: 15; 2007-03: 15 30");
}

#[test]
fn yearly_examples_of_the_standard() {
    shows(
        "FREQ=YEARLY;COUNT=10;BYMONTH=6,7",
        date(1997, 6, 10),
        "1997-06: 10; 1997-07: 10; 1998-06: 10; 1998-07: 10; 1999-06: 10; 1999-07: 10; 2000-06: 10; 2000-07: 10; 2001-06: 10; 2001-07: 10",
    );
    shows(
        "FREQ=YEARLY;INTERVAL=2;COUNT=10;BYMONTH=1,2,3",
        date(1997, 3, 10),
        "1997-03: 10; 1999-01: 10; 1999-02: 10; 1999-03: 10; 2001-01: 10; 2001-02: 10; 2001-03: 10; 2003-01: 10; 2003-02: 10; 2003-03: 10",
    );
    shows(
        "FREQ=YEARLY;INTERVAL=3;COUNT=10;BYYEARDAY=1,100,200",
        date(1997, 1, 1),
        "1997-01: 1; 1997-04: 10; 1997-07: 19; 2000-01: 1; 2000-04: 9; 2000-07: 18; 2003-01: 1; 2003-04: 10; 2003-07: 19; 2006-01: 1",
    );
    shows("FREQ=YEARLY;BYDAY=20MO", date(1997, 5, 19), "1997-05: 19; 1998-05: 18; 1999-05: 17");
    shows(
        "FREQ=YEARLY;BYMONTH=3;BYDAY=TH",
        date(1997, 3, 13),
        "1997-03: 13 20 27; 1998-03: 5 12 19 26; 1999-03: 4 11 18 25",
    );
    // election day of the United States
    shows(
        "FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8",
        date(1996, 11, 5),
        "1996-11: 5; 2000-11: 7; 2004-11: 2",
    );
}

#[test]
fn two_hundred_rules_give_the_days_that_dateutil_gives() {
    let table = include_str!("../../../tests/reference/recurrence.csv");
    let mut rows = 0;
    for line in table.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let mut cells = line.split(',');
        let (rule, first) = (cells.next().unwrap().replace('+', ","), cells.next().unwrap().parse().unwrap());
        let expected: Vec<Date> = cells.map(|day| day.parse().unwrap()).collect();
        assert_eq!(days(&rule, first), expected, "{rule} from {first}");
        rows += 1;
    }
    assert_eq!(rows, 200);
}

#[test]
fn what_is_not_followed_is_refused_in_words() {
    for (rule, reported) in [
        ("", "`` is not a part"),
        ("INTERVAL=2", "`FREQ` is missing"),
        ("FREQ=HOURLY", "`HOURLY` is no frequency of visits"),
        ("FREQ=DAILY;BYHOUR=9", "`BYHOUR` speaks of times"),
        ("FREQ=YEARLY;BYWEEKNO=20", "`BYWEEKNO` is not followed"),
        ("FREQ=DAILY;RSCALE=GREGORIAN", "`RSCALE` is not a part"),
        ("FREQ=DAILY;FREQ=DAILY", "`FREQ` stands twice"),
        ("FREQ=DAILY;COUNT=2;UNTIL=20260101", "`COUNT` and `UNTIL`"),
        ("FREQ=DAILY;COUNT=0", "`0` is no whole number for `COUNT`"),
        ("FREQ=DAILY;INTERVAL=-1", "`-1` is no whole number"),
        ("FREQ=DAILY;UNTIL=20260101T000000Z", "is no last day"),
        ("FREQ=DAILY;UNTIL=20260230", "is no last day"),
        ("FREQ=WEEKLY;BYDAY=1MO", "numbered weekday"),
        ("FREQ=WEEKLY;BYDAY=MX", "`MX` is no weekday"),
        ("FREQ=WEEKLY;BYDAY=ÄÖ", "is no weekday"),
        ("FREQ=WEEKLY;BYDAY=M", "`M` is no weekday"),
        ("FREQ=MONTHLY;BYDAY=54MO", "`54` cannot stand in `BYDAY`"),
        ("FREQ=WEEKLY;BYMONTHDAY=3", "does not go with FREQ=WEEKLY"),
        ("FREQ=MONTHLY;BYMONTHDAY=0", "`0` cannot stand"),
        ("FREQ=MONTHLY;BYYEARDAY=3", "FREQ=YEARLY only"),
        ("FREQ=MONTHLY;BYSETPOS=1", "picks from what another"),
        ("FREQ=MONTHLY;BYMONTH=-1", "`-1` cannot stand in `BYMONTH`"),
    ] {
        let refused = Rule::parse(rule).unwrap_err();
        assert!(refused.message().contains(reported), "{rule}: {}", refused.message());
        assert!(!refused.hints()[0].is_empty());
    }
}

#[test]
fn a_rule_that_never_comes_ends_the_search() {
    assert!(days("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30;COUNT=1", date(2026, 1, 1)).is_empty());
    assert_eq!(days("rrule:freq=daily;count=2", date(2026, 1, 1)).len(), 2);
    assert!(days("FREQ=DAILY;COUNT=5", date(9999, 12, 30)).len() <= 2);
}
