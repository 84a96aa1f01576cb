//! How many whole containers to take.

use crate::calc::Amount;
use crate::company::Container;
use crate::quantity::Number;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Taken {
    /// The size, as the company file writes it.
    pub size: String,
    pub count: i64,
}

/// As few whole containers as hold at least this much: full large ones first, then smaller ones, the last of which is
/// rounded up; smaller ones that together hold as much as a larger one are that one. `sizes` begins with the largest.
pub(super) fn whole_containers(needed: &Amount, sizes: &[Container]) -> Vec<Taken> {
    let mut counts: Vec<i64> = Vec::with_capacity(sizes.len());
    let mut left = needed.value();
    for (i, size) in sizes.iter().enumerate() {
        let holds = size.holds.value();
        let times = &left / &holds;
        let last = i + 1 == sizes.len();
        let count = if last { times.ceil_to(&Number::one()) } else { times.floor_to(&Number::one()) };
        left = &left - &(&count * &holds);
        // a count beyond 2^63 containers cannot be: loads are bounded
        counts.push(count.to_i64().unwrap_or(i64::MAX));
    }
    for larger in (0..sizes.len().saturating_sub(1)).rev() {
        let smaller = (larger + 1..sizes.len())
            .fold(Number::zero(), |sum, i| &sum + &(&sizes[i].holds.value() * &Number::int(counts[i])));
        if smaller >= sizes[larger].holds.value() {
            counts[larger] += 1;
            counts[larger + 1..].fill(0);
        }
    }
    let taken = sizes.iter().zip(counts).filter(|(_, count)| *count > 0);
    taken.map(|(size, count)| Taken { size: size.written.clone(), count }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Volume;

    fn litres(n: i64, of: i64) -> Amount {
        Amount::Liquid(Volume::millilitres(Number::ratio(n * 1000, of)))
    }

    fn sizes(of: &[(i64, i64)]) -> Vec<Container> {
        of.iter().map(|(n, d)| Container { holds: litres(*n, *d), written: format!("{n}/{d}") }).collect()
    }

    fn taken(needed: Amount, of: &[(i64, i64)]) -> Vec<(String, i64)> {
        whole_containers(&needed, &sizes(of)).into_iter().map(|t| (t.size, t.count)).collect()
    }

    #[test]
    fn containers_are_whole_and_hold_what_is_needed() {
        assert_eq!(taken(litres(9, 1), &[(5, 1)]), [("5/1".into(), 2)]);
        // to the last drop, and a drop more
        assert_eq!(taken(litres(10, 1), &[(5, 1)]), [("5/1".into(), 2)]);
        assert_eq!(taken(litres(10_001, 1000), &[(5, 1)]), [("5/1".into(), 3)]);
        assert_eq!(taken(litres(6, 1), &[(5, 1), (1, 1)]), [("5/1".into(), 1), ("1/1".into(), 1)]);
        // five small ones are one large one
        assert_eq!(taken(litres(9, 2), &[(5, 1), (1, 1)]), [("5/1".into(), 1)]);
        assert_eq!(taken(litres(31, 10), &[(5, 1), (4, 1), (1, 1)]), [("4/1".into(), 1)]);
        assert!(taken(Amount::None, &[(5, 1)]).is_empty());
    }

    #[test]
    fn containers_never_hold_less_than_is_needed() {
        let of = [(20, 1), (5, 1), (19, 5), (1, 1), (1, 4)];
        let sizes = sizes(&of);
        for tenths in 1..600 {
            let needed = litres(tenths, 10);
            let taken = whole_containers(&needed, &sizes);
            let hold = taken.iter().fold(Number::zero(), |sum, t| {
                let size = sizes.iter().find(|s| s.written == t.size).unwrap();
                &sum + &(&size.holds.value() * &Number::int(t.count))
            });
            assert!(hold >= needed.value(), "{tenths}: {taken:?}");
            // without the smallest of them it would not do
            let least = taken.last().and_then(|t| sizes.iter().find(|s| s.written == t.size)).unwrap();
            assert!(&hold - &least.holds.value() < needed.value(), "{tenths}: {taken:?}");
        }
    }
}
