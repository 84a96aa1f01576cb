//! Of any scale and dose: what passes is never weak and never wholly too strong.

use proptest::prelude::*;

use super::*;

fn strength(tenths: i64) -> Strength {
    Strength::milligrams_per_litre(Number::ratio(tenths, 10))
}

/// A scale of 2 to 9 blocks, from zero or above, with steps of any size.
fn scale() -> impl Strategy<Value = Vec<Strength>> {
    let first = prop_oneof![Just(0_i64), 1..3000_i64];
    (first, prop::collection::vec(1..4000_i64, 1..9)).prop_map(|(first, steps)| {
        let mut at = first;
        let rest = steps.into_iter().map(|step| {
            at += step;
            strength(at)
        });
        std::iter::once(strength(first)).chain(rest).collect()
    })
}

/// Dose in tenths of a ppm, the strongest load above it in thousandths, the measure's error in thousandths, a limit in
/// thousandths of the dose.
fn bounds() -> impl Strategy<Value = Bounds> {
    let limit = prop::option::of(900..1300_i64);
    (1..20_000_i64, 1000..1060_i64, 0..101_i64, limit).prop_map(|(dose, above, error, limit)| {
        let dose = strength(dose);
        let share = |thousandths: i64| Number::ratio(thousandths, 1000);
        let limit = limit.map(|limit| dose.times(&share(limit)));
        Bounds::of(&dose, &dose.times(&share(above)), &share(error), limit.as_ref()).expect("a dose above zero")
    })
}

/// Whether a true strength is read as `reading`, by the definition in words: of the block that it is nearest to, or between the
/// two that it lies between.
fn reads_as(blocks: &[Strength], truth: &Strength, low: usize, high: usize) -> bool {
    if low == high {
        let away = |at: usize| (truth.as_milligrams_per_litre() - blocks[at].as_milligrams_per_litre()).abs();
        return (0..blocks.len()).all(|other| away(low) <= away(other));
    }
    blocks[low] < *truth && *truth < blocks[high]
}

fn readings(blocks: &[Strength]) -> impl Iterator<Item = (usize, usize)> {
    let last = blocks.len() - 1;
    (0..=last).map(|at| (at, at)).chain((0..last).map(|at| (at, at + 1)))
}

proptest! {
    #[test]
    fn nothing_passes_that_may_be_weak_or_is_surely_too_strong(
        blocks in scale(), bounds in bounds(), truth in 0..30_000_i64,
    ) {
        let truth = strength(truth);
        let strip = expectation(&blocks, &bounds).expect("a scale");
        for (low, high) in readings(&blocks) {
            let span = Span::of_reading(&blocks, &blocks[low], &blocks[high]).expect("a reading");
            let verdict = judge_on_strip(&bounds, strip.can_show, &span);
            let listed = if low == high { strip.passes.contains(&low) } else { strip.passes_between.contains(&low) };
            prop_assert_eq!(verdict == Verdict::Pass, listed);
            if verdict == Verdict::Pass {
                prop_assert!(span.low >= bounds.dose.times(&Number::ratio(3, 4)));
                prop_assert!(span.low <= bounds.most);
                prop_assert!(!blocks[low].is_zero());
                // whatever the solution truly is that reads so
                if reads_as(&blocks, &truth, low, high) {
                    prop_assert!(truth >= bounds.dose.times(&Number::ratio(3, 4)), "{truth:?} passes as {low} {high}");
                }
            }
            // a true strength is never said to be on the wrong side of the dose
            if reads_as(&blocks, &truth, low, high) {
                if verdict == Verdict::TooStrong {
                    prop_assert!(truth > bounds.most || (truth == bounds.most && low != high));
                }
                if truth < bounds.least {
                    prop_assert_ne!(verdict, Verdict::Pass);
                    prop_assert_ne!(verdict, Verdict::TooStrong);
                }
            }
        }
    }

    #[test]
    fn readings_that_pass_lie_side_by_side(blocks in scale(), bounds in bounds()) {
        let strip = expectation(&blocks, &bounds).expect("a scale");
        let mut places: Vec<usize> = strip.passes.iter().map(|at| 2 * at).collect();
        places.extend(strip.passes_between.iter().map(|at| 2 * at + 1));
        places.sort_unstable();
        prop_assert!(places.windows(2).all(|two| two[0] + 1 == two[1]), "{:?}", places);
        prop_assert_eq!(strip.can_show, !places.is_empty());
    }

    #[test]
    fn an_instrument_never_passes_what_may_be_weak_or_is_surely_too_strong(
        bounds in bounds(), figure in 0..30_000_i64, error in 1..5000_i64, within in -1000..1001_i64,
    ) {
        let (figure, error) = (strength(figure), strength(error));
        let verdict = bounds.judge(&Span::of_instrument(&figure, &error));
        let off = error.as_milligrams_per_litre() * &Number::ratio(within, 1000);
        let truth = (figure.as_milligrams_per_litre() + &off).max(Number::zero());
        let truth = Strength::milligrams_per_litre(truth);
        if verdict == Verdict::Pass {
            prop_assert!(truth >= bounds.dose.times(&Number::ratio(3, 4)));
            prop_assert!(figure <= &bounds.most + &error);
        }
        if verdict == Verdict::TooStrong {
            prop_assert!(truth > bounds.most);
        }
    }
}
