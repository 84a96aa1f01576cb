//! From when and until when something of a contract holds: sites, members of a crew, products and directions in use.

use jiff::civil::Date;

use crate::diagnostic::{Diagnostic, Diagnostics, Severity};
use crate::yaml::{self, Complaint, Declared, Key, Presence, Tree, TreeValue};

/// The keys that say when something holds.
const FROM: &str = "from";
const UNTIL: &str = "until";

/// Days from one to another, both included.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Days {
    from: Option<Date>,
    until: Option<Date>,
}

impl Days {
    /// The days that a group of keys names.
    pub(super) fn of(group: &Tree, report: &mut Diagnostics) -> Days {
        let mut read = |key| group.get(key).and_then(|day| read_date(day, report));
        let days = Days { from: read(FROM), until: read(UNTIL) };
        if let (Some(from), Some(until)) = (days.from, days.until)
            && until < from
        {
            let message = format!("this ends on {until}, before it begins on {from}");
            report.push(group.error(UNTIL, "dates-reversed", message).hint("`until` is the last day"));
        }
        days
    }

    pub(super) fn hold(self, day: Date) -> bool {
        self.from.is_none_or(|from| from <= day) && self.until.is_none_or(|until| day <= until)
    }
}

/// The two keys for what holds from a day and until a day.
pub(super) fn keys() -> [Key; 2] {
    let key = |name, about| Key { name, about, shape: Date::shape(), presence: Presence::Optional };
    [
        key(FROM, "The first day on which it holds; from the beginning where it is absent. Example: `2026-07-01`"),
        key(UNTIL, "The last day on which it holds; to the end where it is absent. Example: `2026-06-30`"),
    ]
}

pub(super) fn read_date(day: &Tree, report: &mut Diagnostics) -> Option<Date> {
    match yaml::date(day.word().unwrap_or_default()) {
        Ok(day) => Some(day),
        Err(bad) => {
            let problem = Diagnostic {
                place: day.from.as_ref().map(|from| from.place()),
                ..Diagnostic::error(bad.code(), bad.message())
            };
            report.push(bad.hints().into_iter().fold(problem, Diagnostic::hint));
            None
        }
    }
}

/// What of a list holds on a day, without the keys that say so; which items those are.
fn holding(list: &Tree, day: Date) -> impl Iterator<Item = (usize, Tree)> {
    let items = list.items().iter().enumerate();
    items.filter(move |(_, item)| Days::of(item, &mut Diagnostics::new()).hold(day)).map(|(at, item)| {
        let mut item = item.clone();
        if let TreeValue::Group(entries) = &mut item.value {
            entries.retain(|(key, _)| key != FROM && key != UNTIL);
        }
        (at, item)
    })
}

/// Treatments that are done on a day.
pub(super) fn treatments_on(list: &Tree, day: Date) -> Tree {
    let kept = holding(list, day).map(|(_, item)| item).collect();
    Tree { value: TreeValue::List(kept), from: list.from.clone() }
}

/// Which of the treatments are done on a day, by their places.
pub(super) fn which_on(list: &Tree, day: Date) -> Vec<usize> {
    holding(list, day).map(|(at, _)| at).collect()
}

/// Who of a crew goes on a day: a member is a key, or a group with `member` and the days.
pub(super) fn crew_on(crew: &Tree, day: Date) -> Tree {
    if crew.items().iter().all(|item| item.word().is_some()) {
        return crew.clone();
    }
    let member = |item: Tree| item.get("member").cloned().unwrap_or(item);
    let kept = holding(crew, day).map(|(_, item)| member(item)).collect();
    Tree { value: TreeValue::List(kept), from: crew.from.clone() }
}

/// Looks at the days of a crew's members.
pub(super) fn check_crew(crew: &Tree, report: &mut Diagnostics) {
    for item in crew.items().iter().filter(|item| item.word().is_none()) {
        Days::of(item, report);
        let known = ["member", FROM, UNTIL];
        if item.get("member").and_then(Tree::word).is_none() {
            let problem = item.error("member", "missing-key", "`member` is missing here");
            report.push(problem.hint("such as `{ member: okafor, until: 2026-06-30 }`"));
        }
        for (key, _) in item.entries().iter().filter(|(key, _)| !known.contains(&key.as_str())) {
            let problem = item.error(key, "unknown-key", format!("the key `{key}` is not known here"));
            report.push(problem.hint(format!("keys known here: {}", known.join(", "))));
        }
    }
    if matches!(crew.value, TreeValue::Group(_)) {
        let problem = crew.error("", "not-a-list", "a crew is a list");
        report.push(problem.hint("such as `[{ member: okafor, until: 2026-06-30 }, lindqvist]`"));
    }
}

/// A warning at a value.
pub(super) fn warning(at: &Tree, code: &'static str, message: String) -> Diagnostic {
    let place = at.from.as_ref().map(|from| from.place());
    Diagnostic { severity: Severity::Warning, place, ..Diagnostic::error(code, message) }
}
