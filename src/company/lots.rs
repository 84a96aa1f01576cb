//! Lots of concentrates and strips, with the last day of each.

use std::collections::BTreeMap;

use crate::diagnostic::Diagnostics;
use crate::yaml::{Declared, Node, Shape};
use jiff::civil::Date;

/// Lots in store: the last day on which each may be used.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Lots(BTreeMap<String, Date>);

impl Declared for Lots {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Lots> {
        let entries = node.entries(report)?;
        let read = entries.iter().filter_map(|(lot, n)| Some((lot.clone(), Date::from_node(n, report)?)));
        Some(Lots(read.collect()))
    }

    fn shape() -> Shape {
        Shape::ByKey { of: Box::new(Date::shape()), plain: false }
    }
}

impl Lots {
    /// The last day of a lot; `None` for a lot that is not listed.
    pub fn last_day(&self, lot: &str) -> Option<Date> {
        self.0.get(lot).copied()
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Lots that may not be used on a day, with their last day.
    pub fn expired_on(&self, day: Date) -> impl Iterator<Item = (&str, Date)> {
        self.0.iter().filter(move |(_, last)| **last < day).map(|(lot, last)| (lot.as_str(), *last))
    }

    /// Lots that may be used on a day, with their last day, the one that ends first first.
    pub fn usable_on(&self, day: Date) -> Vec<(&str, Date)> {
        let mut usable: Vec<(&str, Date)> = self.0.iter().map(|(lot, last)| (lot.as_str(), *last)).collect();
        usable.retain(|(_, last)| *last >= day);
        usable.sort_by_key(|(_, last)| *last);
        usable
    }

    /// Whether there are lots, and every one of them has expired on a day.
    pub fn all_expired_on(&self, day: Date) -> bool {
        !self.is_empty() && self.expired_on(day).count() == self.0.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn a_lot_may_be_used_on_its_last_day() {
        let lots = Lots(BTreeMap::from([("A-1".to_owned(), date(2026, 4, 13))]));
        assert!(!lots.all_expired_on(date(2026, 4, 13)));
        assert!(lots.all_expired_on(date(2026, 4, 14)));
        assert!(!Lots::default().all_expired_on(date(2026, 4, 14)));
    }
}
