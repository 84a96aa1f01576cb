//! How long air changes take to clear what is in the air.
//!
//! `t = K × 60 ln(C1/C2) / ACH` minutes, with `C2/C1 = 1 − share cleared` (CDC, Guidelines for Environmental Infection
//! Control in Health-Care Facilities, 2003, Table B.1). It holds for air that nobody adds to. `K` is 1 for perfect
//! mixing, up to 10 for very poor distribution of air (MMWR 43(RR-13), 1994). Settling of droplets is not credited.

use super::error::{CalcError, positive};
use super::real::whole_above;
use crate::quantity::{Number, Share, Time};

/// Minutes to clear a share of what is in the air, before rounding.
fn minutes(cleared: &Share, changes_per_hour: &Number, mixing: &Number) -> Result<f64, CalcError> {
    let share = cleared.as_of_one();
    if !share.is_positive() || share >= &Number::one() {
        return Err(CalcError::OutOfRange { what: "the share cleared", range: "above 0 and below 100 %" });
    }
    if mixing < &Number::one() || mixing > &Number::int(10) {
        return Err(CalcError::OutOfRange { what: "the mixing factor", range: "from 1 (perfect) to 10 (very poor)" });
    }
    let changes = positive(changes_per_hour, "the number of air changes an hour")?;
    let left = (Number::one() - share).to_f64();
    Ok(-60.0 * left.ln() / changes.to_f64() * mixing.to_f64())
}

/// Time to clear a share of what is in the air, in whole minutes rounded up.
pub fn clearing_time(cleared: &Share, changes_per_hour: &Number, mixing: &Number) -> Result<Time, CalcError> {
    let minutes = minutes(cleared, changes_per_hour, mixing)?;
    whole_above(minutes).map(Time::minutes).ok_or(CalcError::OutOfRange {
        what: "the number of air changes an hour",
        range: "large enough for the room ever to clear",
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::calc::built_in;
    use crate::calc::testing::{n, near, percent};

    fn exact(share: &str, changes: i64) -> f64 {
        minutes(&percent(share), &Number::int(changes), &Number::one()).unwrap()
    }

    #[test]
    fn the_published_table() {
        let rows = built_in::<(i64, [f64; 3])>(include_str!("../../tests/reference/air-changes.csv"));
        assert_eq!(rows.len(), 26);
        for (changes, row) in rows {
            for (share, published) in ["90", "99", "99.9"].into_iter().zip(row) {
                let exact = exact(share, changes);
                assert_eq!((exact + 0.5).floor(), published, "{changes} ACH, {share} %");
                // The table rounds to the nearest minute; we round up.
                let ours = clearing_time(&percent(share), &Number::int(changes), &Number::one()).unwrap();
                let ours = ours.as_minutes().to_f64();
                assert!(ours >= exact && ours - exact < 1.0);
            }
        }
        near(exact("99.9", 1), 414.465, 1e-6);
        // WHO glossary (NBK179247): one air change removes 63 %.
        near(exact("63.212", 1), 60.0, 1e-4);
    }

    #[test]
    fn poor_mixing_takes_longer() {
        let of = |mixing: &str| clearing_time(&percent("99"), &n("6"), &n(mixing)).unwrap();
        assert_eq!(of("1"), Time::minutes(n("47")));
        assert_eq!(of("3"), Time::minutes(n("139")));
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn more_air_clears_sooner(share in 1..999i64, changes in 1..500i64, mixing in 10..100i64, more in 1..100i64) {
            let time = |share: i64, changes: i64, mixing: i64| {
                let share = Share::of_one(Number::ratio(share, 1000));
                clearing_time(&share, &Number::ratio(changes, 10), &Number::ratio(mixing, 10)).unwrap()
            };
            let base = time(share, changes, mixing);
            prop_assert!(time(share, changes + more, mixing) <= base);
            prop_assert!(time((share + more).min(999), changes, mixing) >= base);
            prop_assert!(time(share, changes, (mixing + more).min(100)) >= base);
            // Twice the air takes half the time, but for the rounding up.
            let half = time(share, 2 * changes, mixing).as_minutes() * Number::int(2);
            prop_assert!(half >= base.as_minutes() && half < base.as_minutes() + Number::int(2));
        }
    }

    #[test]
    fn nonsense_is_refused() {
        for (share, changes, mixing) in
            [("0", "6", "1"), ("100", "6", "1"), ("99", "0", "1"), ("99", "6", "0.5"), ("99", "6", "11")]
        {
            assert!(clearing_time(&percent(share), &n(changes), &n(mixing)).is_err(), "{share} {changes} {mixing}");
        }
        assert!(clearing_time(&percent("99"), &n("1e-30"), &n("1")).is_err());
    }
}
