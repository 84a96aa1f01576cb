//! Pages as pictures: what was kept, what was made, and how far apart they are.

use std::fs;
use std::path::Path;

use crate::support::workspace::temporary;
use image::{GrayImage, Luma};

/// A dot that is off by more than this, of 255, differs.
const DOT: u8 = 64;
/// So many dots in ten thousand may differ: rounding of curves on another machine, and nothing that a reader would see.
const DOTS_IN_TEN_THOUSAND: usize = 1;

/// How a picture differs from the one that was kept, in words; `None` if it does not. On a difference both stand side by
/// side in `shown`, with the dots that differ. With `DECANT_BLESS=1` the picture is kept instead.
pub fn difference(kept: &Path, made: &GrayImage, shown: &Path) -> Option<String> {
    if std::env::var_os("DECANT_BLESS").is_some_and(|value| value == "1") {
        keep(kept, made);
        return None;
    }
    let expected = match image::open(kept) {
        Ok(picture) => picture.to_luma8(),
        Err(e) => return Some(format!("{} cannot be read: {e}", kept.display())),
    };
    let reported = compare(&expected, made)?;
    let folder = shown.parent().expect("a file has a folder");
    fs::create_dir_all(folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
    side_by_side(&expected, made).save(shown).unwrap_or_else(|e| panic!("{}: {e}", shown.display()));
    Some(format!("{}: {reported}; see {}", kept.display(), shown.display()))
}

/// Sixteen greys are enough to compare by, and half the size.
fn keep(file: &Path, picture: &GrayImage) {
    let mut packed = Vec::new();
    for row in picture.as_raw().chunks(picture.width() as usize) {
        packed.extend(row.chunks(2).map(|two| {
            let sixteenth = |grey: u8| (u16::from(grey) * 15 + 127) / 255;
            let low = two.get(1).map_or(0, |grey| sixteenth(*grey));
            u8::try_from(sixteenth(two[0]) << 4 | low).expect("two numbers below 16")
        }));
    }
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, picture.width(), picture.height());
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Four);
    encoder.set_compression(png::Compression::High);
    let mut writer = encoder.write_header().expect("a PNG can be begun");
    writer.write_image_data(&packed).expect("a PNG can be written");
    writer.finish().expect("a PNG can be ended");
    fs::write(file, bytes).unwrap_or_else(|e| panic!("{}: {e}", file.display()));
}

fn compare(expected: &GrayImage, made: &GrayImage) -> Option<String> {
    if expected.dimensions() != made.dimensions() {
        return Some(format!("{:?} dots expected, {:?} found", expected.dimensions(), made.dimensions()));
    }
    let off = expected.pixels().zip(made.pixels()).filter(|(a, b)| differs(**a, **b)).count();
    let allowed = made.pixels().len() * DOTS_IN_TEN_THOUSAND / 10_000;
    (off > allowed).then(|| format!("{off} dots differ, {allowed} may"))
}

fn differs(a: Luma<u8>, b: Luma<u8>) -> bool {
    a.0[0].abs_diff(b.0[0]) > DOT
}

/// Expected, found, and what differs in black on a pale copy of what was found.
fn side_by_side(expected: &GrayImage, made: &GrayImage) -> GrayImage {
    const GAP: u32 = 8;
    let width = expected.width().max(made.width());
    let height = expected.height().max(made.height());
    let mut all = GrayImage::from_pixel(3 * width + 2 * GAP, height, Luma([128]));
    image::imageops::replace(&mut all, expected, 0, 0);
    image::imageops::replace(&mut all, made, i64::from(width + GAP), 0);
    for (x, y, dot) in made.enumerate_pixels() {
        let same = expected.get_pixel_checked(x, y).is_some_and(|other| !differs(*other, *dot));
        let shade = if same { 200 + dot.0[0] / 5 } else { 0 };
        all.put_pixel(x + 2 * (width + GAP), y, Luma([shade]));
    }
    all
}

#[test]
fn a_moved_word_is_a_difference_and_a_trace_is_not() {
    let page = GrayImage::from_pixel(200, 200, Luma([255]));
    let with = |dots: u32, shade| {
        let mut page = page.clone();
        (0..dots).for_each(|i| page.put_pixel(10 + i % 50, 10 + i / 50, Luma([shade])));
        page
    };
    assert_eq!(compare(&page, &with(100, 255 - DOT)), None);
    assert_eq!(compare(&page, &with(4, 0)), None);
    assert!(compare(&page, &with(5, 0)).is_some());
    assert!(compare(&page, &GrayImage::new(200, 199)).is_some());
}

#[test]
fn a_difference_is_kept_to_be_looked_at() {
    let folder = temporary();
    let (kept, shown) = (folder.path().join("kept.png"), folder.path().join("shown/page.png"));
    let page = GrayImage::from_fn(31, 20, |x, _| Luma([if x < 9 { 0 } else { 255 }]));
    keep(&kept, &page);
    if std::env::var_os("DECANT_BLESS").is_none() {
        assert_eq!(difference(&kept, &page, &shown), None);
        let reported = difference(&kept, &GrayImage::new(31, 20), &shown).expect("it differs");
        assert!(reported.contains("kept.png") && reported.contains("shown/page.png"), "{reported}");
        let seen = image::open(&shown).expect("both side by side").to_luma8();
        assert_eq!(seen.dimensions(), (3 * 31 + 16, 20));
        assert!(difference(&folder.path().join("absent.png"), &page, &shown).is_some());
    }
}
