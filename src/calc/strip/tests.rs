use super::*;
use crate::calc::testing::{n, ppm};

fn scale(figures: &[&str]) -> Vec<Strength> {
    figures.iter().map(|figure| ppm(figure)).collect()
}

fn quat() -> Vec<Strength> {
    scale(&["0", "100", "200", "400", "600", "800", "1000"])
}

fn expect(blocks: &[Strength], strength: &str) -> StripExpectation {
    expectation(blocks, &ppm(strength), &ppm(strength), Limits::default()).unwrap()
}

#[test]
fn between_two_blocks() {
    // Common practice, no source: a quat of which 1 fl oz/gal gives 660 ppm reads between the 600 and 800 blocks and
    // passes.
    let blocks = quat();
    let strip = expect(&blocks, "660");
    assert_eq!(
        (strip.lower, strip.upper, strip.exact, strip.off_scale),
        (Some(4), Some(5), false, None)
    );
    assert_eq!(
        (strip.passes.as_slice(), strip.passes_between.as_slice()),
        ([4, 5].as_slice(), [4].as_slice())
    );
    for (reading, verdict) in [
        ("0", Verdict::TooWeak),
        ("400", Verdict::TooWeak),
        ("500", Verdict::TooWeak),
        ("600", Verdict::Pass),
        ("700", Verdict::Pass),
        ("800", Verdict::Pass),
        ("900", Verdict::TooStrong),
        ("1000", Verdict::TooStrong),
        ("2000", Verdict::TooStrong),
    ] {
        assert_eq!(strip.judge(&blocks, &ppm(reading)), verdict, "{reading}");
    }
    // … and 4 fl oz/gal of it, the usual food-plant dose, is off that scale.
    let strong = expect(&blocks, "2640");
    assert_eq!(
        (strong.off_scale, strong.lower, strong.upper),
        (Some(OffScale::Above), Some(6), None)
    );
    assert!(strong.passes.is_empty());
    assert_eq!(strong.judge(&blocks, &ppm("1000")), Verdict::CannotTell);
}

#[test]
fn on_a_block() {
    let strip = expect(&quat(), "400");
    assert_eq!((strip.lower, strip.upper, strip.exact), (Some(3), Some(3), true));
    assert_eq!(strip.passes, [3]);
    assert!(strip.passes_between.is_empty());
    let top = expect(&quat(), "1000");
    assert_eq!((top.passes.as_slice(), top.off_scale), ([6].as_slice(), None));
}

#[test]
fn rounding_up_does_not_fail_the_labels_block() {
    let strip = expectation(&quat(), &ppm("412"), &ppm("400"), Limits::default()).unwrap();
    assert_eq!((strip.lower, strip.upper), (Some(3), Some(4)));
    assert_eq!(strip.passes, [3, 4]);
    // Rounding over a block: the label's 590 still reads between 400 and 600.
    let strip = expectation(&quat(), &ppm("610"), &ppm("590"), Limits::default()).unwrap();
    assert_eq!(
        (strip.passes.as_slice(), strip.passes_between.as_slice()),
        ([4, 5].as_slice(), [3, 4].as_slice())
    );
}

#[test]
fn a_block_much_weaker_than_the_label_fails() {
    // 190 ppm lies between 100 and 200; matching the 100 block is half strength.
    let strip = expect(&quat(), "190");
    assert_eq!((strip.lower, strip.upper), (Some(1), Some(2)));
    assert_eq!(
        (strip.passes.as_slice(), strip.passes_between.as_slice()),
        ([2].as_slice(), [1].as_slice())
    );
    assert_eq!(strip.judge(&quat(), &ppm("100")), Verdict::TooWeak);
    assert_eq!(strip.judge(&quat(), &ppm("150")), Verdict::Pass);
    // Midway is weak.
    assert_eq!(expect(&quat(), "150").passes, [2]);
    assert_eq!(expect(&quat(), "149").passes, [1, 2]);
}

#[test]
fn a_block_of_nought_never_passes() {
    let strip = expect(&quat(), "30");
    assert_eq!((strip.lower, strip.upper), (Some(0), Some(1)));
    assert_eq!(
        (strip.passes.as_slice(), strip.passes_between.as_slice()),
        ([1].as_slice(), [0].as_slice())
    );
    assert_eq!(strip.judge(&quat(), &ppm("0")), Verdict::TooWeak);
}

#[test]
fn stated_limits_cut_off_blocks() {
    let blocks = scale(&["10", "50", "100", "200"]);
    let (minimum, maximum) = (ppm("60"), ppm("100"));
    let limits = Limits {
        minimum: Some(&minimum),
        maximum: None,
    };
    assert_eq!(
        expectation(&blocks, &ppm("70"), &ppm("70"), limits).unwrap().passes,
        [2]
    );
    let limits = Limits {
        minimum: None,
        maximum: Some(&maximum),
    };
    let strip = expectation(&blocks, &ppm("105"), &ppm("105"), limits).unwrap();
    assert_eq!(
        (strip.passes.as_slice(), strip.passes_between.len()),
        ([2].as_slice(), 0)
    );
}

#[test]
fn below_the_scale() {
    let blocks = scale(&["50", "100"]);
    let strip = expect(&blocks, "20");
    assert_eq!(
        (strip.off_scale, strip.lower, strip.upper),
        (Some(OffScale::Below), None, Some(0))
    );
    assert!(strip.passes.is_empty() && !strip.exact);
}

#[test]
fn scales_that_are_none() {
    let of = |blocks: &[&str]| expectation(&scale(blocks), &ppm("1"), &ppm("1"), Limits::default());
    for bad in [&["0"][..], &[], &["0", "0"], &["100", "50"], &["-1", "5"]] {
        assert_eq!(of(bad), Err(CalcError::BadStrip), "{bad:?}");
    }
    assert!(expectation(&quat(), &ppm("0"), &ppm("1"), Limits::default()).is_err());
}

#[test]
fn where_the_arrow_goes() {
    assert_eq!(place(&quat(), &ppm("660")), Some(n("4.3")));
    assert_eq!(place(&quat(), &ppm("400")), Some(n("3")));
    assert_eq!(place(&quat(), &ppm("1001")), None);
}
