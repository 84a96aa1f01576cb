use proptest::prelude::*;

use super::*;
use crate::calc::testing::{n, ppm};

fn scale(figures: &[&str]) -> Vec<Strength> {
    figures.iter().map(|figure| ppm(figure)).collect()
}

/// Mixed at the label's dose exactly, measured within 5 %.
fn bounds(dose: &str) -> Bounds {
    Bounds::of(&ppm(dose), &ppm(dose), &Number::ratio(1, 20), None).unwrap()
}

/// What every reading of a scale says: `-` too weak, `=` passes, `+` too strong, `?` cannot tell; block, space, block and so on.
fn all_readings(blocks: &[Strength], bounds: &Bounds) -> String {
    let can_show = expectation(blocks, bounds).unwrap().can_show;
    let spans = (0..blocks.len()).flat_map(|at| [Span::of_block(blocks, at), Span::of_space(blocks, at)]);
    let signs = spans.flatten().map(|span| match judge_on_strip(bounds, can_show, &span) {
        Verdict::TooWeak => '-',
        Verdict::Pass => '=',
        Verdict::TooStrong => '+',
        Verdict::CannotTell => '?',
    });
    signs.collect()
}

const QUAT: &str = "0 100 200 400 600 800 1000";

#[test]
fn readings_of_a_dose() {
    for (blocks, dose, expected) in [
        // Common practice, no source: a quat of which 1 fl oz/gal gives 660 ppm reads between the 600 and 800 blocks and
        // passes. 400-600 is as little as 400, which is 61 % of the dose; block 600 is 500 to 700, 76 % at least; block 800
        // is 700 to 900, and the strongest right mix is 693.
        (QUAT, "660", "--------==+++"),
        // On a block: three quarters of 400 is 300, where block 400 begins; 420 is above the block.
        (QUAT, "400", "------==+++++"),
        (QUAT, "1000", "------------="),
        // Blocks finer than a quarter are told from the dose: 90 stands for 85 to 95, more than three quarters of 110, and
        // not 110.
        ("80 90 100 110 120", "110", "------==="),
        ("80 90 100 110 120", "109", "-----===+"),
        // A scale too coarse proves nothing: block 200 is anything from 100 to 300, so it is no proof of 195.
        ("0 200 400", "195", "-???+"),
        // No block within a quarter of 280, and 100 is far too weak.
        ("0 100 200 400", "280", "----??+"),
        // Chlorine 50 ppm on 0, 50, 100: block 50 is 25 to 75.
        ("0 50 100 200", "50", "-???+++"),
        ("0 25 50 75 100", "50", "----==+++"),
        // A block of zero and the space above it never pass.
        ("0 20 40", "1", "??+++"),
        ("0 20 40", "20", "-???+"),
        // Below the scale, and above it: 4 fl oz/gal of the common quat, the usual food-plant dose.
        ("50 100", "20", "?++"),
        (QUAT, "2640", "------------?"),
    ] {
        let blocks = scale(&blocks.split(' ').collect::<Vec<_>>());
        assert_eq!(all_readings(&blocks, &bounds(dose)), expected, "{dose} on {blocks:?}");
    }
}

#[test]
fn a_load_that_was_planned_stronger_may_read_stronger() {
    // Rounded up to 690 ppm by the measure, and 5 % of error: 724 ppm is block 800's.
    let bounds = Bounds::of(&ppm("660"), &ppm("690"), &Number::ratio(1, 20), None).unwrap();
    let blocks = scale(&QUAT.split(' ').collect::<Vec<_>>());
    assert_eq!(all_readings(&blocks, &bounds), "--------===++");
}

#[test]
fn a_dose_beyond_the_scale_is_said_to_be() {
    for (dose, off_scale) in [("20", Some(OffScale::Below)), ("75", None), ("2640", Some(OffScale::Above))] {
        assert_eq!(expectation(&scale(&["50", "100"]), &bounds(dose)).unwrap().off_scale, off_scale, "{dose}");
    }
}

#[test]
fn a_residue_limit_bounds_from_above() {
    let of = |strongest, limit: &str| {
        Bounds::of(&ppm("195"), &ppm(strongest), &Number::ratio(1, 20), Some(&ppm(limit))).unwrap()
    };
    let blocks = scale(&["0", "50", "100", "150", "200", "300"]);
    assert_eq!(of("200", "200").most, ppm("200"));
    assert_eq!(all_readings(&blocks, &of("200", "200")), "-------==++");
    // A limit above what was planned says nothing more, and below the dose nothing is right.
    assert_eq!(of("195", "500").most, ppm("204.75"));
    assert!(!expectation(&blocks, &of("195", "180")).unwrap().can_show);
}

#[test]
fn an_instrument_is_compared_with_the_dose() {
    let by = |bounds: &Bounds, figure: &str, error: &str| bounds.judge(&Span::of_instrument(&ppm(figure), &ppm(error)));
    let dose = bounds("198");
    assert_eq!(by(&dose, "110", "5.5"), Verdict::TooWeak);
    // 168 at most: not the dose, though more than three quarters of it
    assert_eq!(by(&dose, "160", "8"), Verdict::TooWeak);
    assert_eq!(by(&dose, "190", "9.5"), Verdict::Pass);
    assert_eq!(by(&dose, "215", "10"), Verdict::Pass);
    assert_eq!(by(&dose, "225", "10"), Verdict::TooStrong);
    // an error so large that the mix may be half strength
    assert_eq!(by(&dose, "198", "60"), Verdict::TooWeak);
    assert_eq!(by(&dose, "10", "60"), Verdict::TooWeak);
    // peracetic acid, 58 ppm at most (40 CFR 180.940(a))
    let limited = Bounds::of(&ppm("57"), &ppm("57"), &Number::ratio(1, 20), Some(&ppm("58"))).unwrap();
    assert_eq!(by(&limited, "85", "4"), Verdict::TooStrong);
    assert_eq!(by(&limited, "57", "3"), Verdict::Pass);
}

#[test]
fn figures_that_are_no_reading_of_the_scale() {
    let blocks = scale(&["0", "200", "400", "600"]);
    for (low, high) in [("20", "20"), ("200", "600"), ("200", "300"), ("150", "200"), ("600", "800")] {
        assert_eq!(Span::of_reading(&blocks, &ppm(low), &ppm(high)), None, "{low} {high}");
    }
}

#[test]
fn scales_that_are_none() {
    for bad in [&["0"][..], &[], &["0", "0"], &["100", "50"], &["-1", "5"]] {
        assert_eq!(expectation(&scale(bad), &bounds("1")), Err(CalcError::BadStrip), "{bad:?}");
    }
    assert!(Bounds::of(&ppm("0"), &ppm("1"), &n("0.05"), None).is_err());
}

fn strength(tenths: i64) -> Strength {
    Strength::milligrams_per_litre(Number::ratio(tenths, 10))
}

/// A scale of 2 to 9 blocks, from zero or above, with steps of any size.
fn any_scale() -> impl Strategy<Value = Vec<Strength>> {
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
fn any_bounds() -> impl Strategy<Value = Bounds> {
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
        blocks in any_scale(), bounds in any_bounds(), truth in 0..30_000_i64,
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
    fn readings_that_pass_lie_side_by_side(blocks in any_scale(), bounds in any_bounds()) {
        let strip = expectation(&blocks, &bounds).expect("a scale");
        let mut places: Vec<usize> = strip.passes.iter().map(|at| 2 * at).collect();
        places.extend(strip.passes_between.iter().map(|at| 2 * at + 1));
        places.sort_unstable();
        prop_assert!(places.windows(2).all(|two| two[0] + 1 == two[1]), "{:?}", places);
        prop_assert_eq!(strip.can_show, !places.is_empty());
    }

    #[test]
    fn an_instrument_never_passes_what_may_be_weak_or_is_surely_too_strong(
        bounds in any_bounds(), figure in 0..30_000_i64, error in 1..5000_i64, within in -1000..1001_i64,
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
