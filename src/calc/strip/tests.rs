use super::*;
use crate::calc::testing::{n, ppm};

fn scale(figures: &[&str]) -> Vec<Strength> {
    figures.iter().map(|figure| ppm(figure)).collect()
}

fn quat() -> Vec<Strength> {
    scale(&["0", "100", "200", "400", "600", "800", "1000"])
}

/// Mixed at the label's dose exactly, measured within 5 %.
fn bounds(dose: &str) -> Bounds {
    Bounds::of(&ppm(dose), &ppm(dose), &Number::ratio(1, 20), None).unwrap()
}

fn expect(blocks: &[Strength], dose: &str) -> StripExpectation {
    expectation(blocks, &bounds(dose)).unwrap()
}

/// What `LOW` or `LOW-HIGH` says on a scale of a mix with these bounds.
fn read(blocks: &[Strength], bounds: &Bounds, reading: &str) -> Verdict {
    let (low, high) = reading.split_once('-').unwrap_or((reading, reading));
    let span = Span::of_reading(blocks, &ppm(low), &ppm(high)).expect("on the scale");
    let can_show = expectation(blocks, bounds).unwrap().can_show;
    judge_on_strip(bounds, can_show, &span)
}

#[test]
fn the_common_case_passes_between_two_blocks() {
    // Common practice, no source: a quat of which 1 fl oz/gal gives 660 ppm reads between the 600 and 800 blocks and
    // passes.
    let blocks = quat();
    let strip = expect(&blocks, "660");
    assert_eq!(
        (strip.passes.as_slice(), strip.passes_between.as_slice(), strip.can_show),
        ([4].as_slice(), [4].as_slice(), true)
    );
    for (reading, verdict) in [
        ("0", Verdict::TooWeak),
        ("0-100", Verdict::TooWeak),
        ("400", Verdict::TooWeak),
        // as little as 400, which is 61 % of the dose
        ("400-600", Verdict::TooWeak),
        // 500 to 700: 76 % at least
        ("600", Verdict::Pass),
        ("600-800", Verdict::Pass),
        // 700 to 900, and the strongest right mix is 693
        ("800", Verdict::TooStrong),
        ("800-1000", Verdict::TooStrong),
        ("1000", Verdict::TooStrong),
    ] {
        assert_eq!(read(&blocks, &bounds("660"), reading), verdict, "{reading}");
    }
}

#[test]
fn a_load_that_was_planned_stronger_may_read_stronger() {
    // rounded up to 690 ppm by the measure, and 5 % of error: 724 ppm is block 800's
    let bounds = Bounds::of(&ppm("660"), &ppm("690"), &Number::ratio(1, 20), None).unwrap();
    assert_eq!(read(&quat(), &bounds, "800"), Verdict::Pass);
    assert_eq!(read(&quat(), &bounds, "800-1000"), Verdict::TooStrong);
}

#[test]
fn on_a_block() {
    let strip = expect(&quat(), "400");
    // three quarters of 400 is 300, where block 400 begins; 420 is above the block
    assert_eq!((strip.passes.as_slice(), strip.passes_between.as_slice()), ([3].as_slice(), [3].as_slice()));
    let top = expect(&quat(), "1000");
    assert_eq!((top.passes.as_slice(), top.off_scale), ([6].as_slice(), None));
}

#[test]
fn blocks_finer_than_a_quarter_are_told_from_the_dose() {
    let blocks = scale(&["80", "90", "100", "110", "120"]);
    // 90 stands for 85 to 95: more than three quarters of 110, and not 110
    assert_eq!(read(&blocks, &bounds("110"), "90"), Verdict::TooWeak);
    assert_eq!(read(&blocks, &bounds("110"), "100-110"), Verdict::TooWeak);
    assert_eq!(read(&blocks, &bounds("110"), "110"), Verdict::Pass);
    assert_eq!(read(&blocks, &bounds("110"), "110-120"), Verdict::Pass);
    assert_eq!(read(&blocks, &bounds("110"), "120"), Verdict::Pass);
    assert_eq!(read(&blocks, &bounds("109"), "120"), Verdict::TooStrong);
}

#[test]
fn a_scale_too_coarse_for_the_dose_proves_nothing() {
    // Block 200 of 0, 200, 400 is anything from 100 to 300, so it is no proof of 195.
    let coarse = scale(&["0", "200", "400"]);
    let strip = expect(&coarse, "195");
    assert!(!strip.can_show && strip.passes.is_empty() && strip.passes_between.is_empty());
    assert_eq!(strip.off_scale, None);
    for (reading, verdict) in [
        ("0", Verdict::TooWeak),
        ("0-200", Verdict::CannotTell),
        ("200", Verdict::CannotTell),
        ("200-400", Verdict::CannotTell),
        ("400", Verdict::TooStrong),
    ] {
        assert_eq!(read(&coarse, &bounds("195"), reading), verdict, "{reading}");
    }
    // no block within a quarter of 280, and 100 is far too weak
    let blocks = scale(&["0", "100", "200", "400"]);
    assert!(!expect(&blocks, "280").can_show);
    assert_eq!(read(&blocks, &bounds("280"), "100"), Verdict::TooWeak);
    assert_eq!(read(&blocks, &bounds("280"), "200"), Verdict::CannotTell);
    // chlorine 50 ppm on 0, 50, 100: block 50 is 25 to 75
    assert!(!expect(&scale(&["0", "50", "100", "200"]), "50").can_show);
    assert!(expect(&scale(&["0", "25", "50", "75", "100"]), "50").can_show);
}

#[test]
fn a_block_of_zero_and_the_space_above_it_never_pass() {
    let blocks = scale(&["0", "20", "40"]);
    for dose in ["1", "10", "20", "22"] {
        for reading in ["0", "0-20"] {
            assert_ne!(read(&blocks, &bounds(dose), reading), Verdict::Pass, "{dose}: {reading}");
        }
    }
}

#[test]
fn a_residue_limit_bounds_from_above() {
    let limit = ppm("200");
    let bounds = Bounds::of(&ppm("195"), &ppm("200"), &Number::ratio(1, 20), Some(&limit)).unwrap();
    assert_eq!(bounds.most, limit);
    let blocks = scale(&["0", "50", "100", "150", "200", "300"]);
    assert_eq!(read(&blocks, &bounds, "200"), Verdict::Pass);
    assert_eq!(read(&blocks, &bounds, "200-300"), Verdict::TooStrong);
    // a limit above what was planned says nothing more
    let bounds = Bounds::of(&ppm("195"), &ppm("195"), &Number::ratio(1, 20), Some(&ppm("500"))).unwrap();
    assert_eq!(bounds.most, ppm("204.75"));
    // and below the dose nothing is right
    let bounds = Bounds::of(&ppm("195"), &ppm("195"), &Number::ratio(1, 20), Some(&ppm("180"))).unwrap();
    assert_eq!(read(&blocks, &bounds, "200"), Verdict::CannotTell);
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
fn off_the_scale() {
    let blocks = scale(&["50", "100"]);
    let below = expect(&blocks, "20");
    assert_eq!((below.off_scale, below.can_show), (Some(OffScale::Below), false));
    // 4 fl oz/gal of the common quat, the usual food-plant dose
    let strong = expect(&quat(), "2640");
    assert_eq!((strong.off_scale, strong.can_show), (Some(OffScale::Above), false));
    assert_eq!(read(&quat(), &bounds("2640"), "1000"), Verdict::CannotTell);
    assert_eq!(read(&quat(), &bounds("2640"), "600"), Verdict::TooWeak);
}

#[test]
fn scales_that_are_none() {
    for bad in [&["0"][..], &[], &["0", "0"], &["100", "50"], &["-1", "5"]] {
        assert_eq!(expectation(&scale(bad), &bounds("1")), Err(CalcError::BadStrip), "{bad:?}");
    }
    assert!(Bounds::of(&ppm("0"), &ppm("1"), &n("0.05"), None).is_err());
}
