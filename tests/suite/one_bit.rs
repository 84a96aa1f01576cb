//! Pictures for label printers of one ink: one bit a dot, the stock's size to the dot, and the code reads.

use serde_json::Value;

use crate::support::page_code::codes_on;
use crate::support::program::decant;
use crate::support::workspace::{Copy, read, read_bytes, root, samples, temporary};

/// Millimetres to dots, as a printer counts them.
fn dots(stock: &Value, side: &str, dpi: u32) -> u32 {
    let mm = stock[side].as_f64().expect("a size");
    (mm / 25.4 * f64::from(dpi)).round() as u32
}

#[test]
fn labels_are_of_one_bit_and_their_codes_read() {
    for job in samples() {
        let job = job.to_str().expect("a sample's name is text");
        let plan = decant(root(), ["plan", job]).must_end_with(0).stdout;
        let link = plan.split_whitespace().find(|word| word.starts_with("https://")).expect("a plan has its link");
        let reported = decant(root(), ["data", job, "labels", "--ink", "black"]).must_end_with(0);
        let data: Value = serde_json::from_str(&reported.stdout).expect("data is JSON");
        for dpi in [203, 300] {
            let output = temporary();
            let folder = output.path().to_str().expect("a temporary folder's name is text");
            let resolution = dpi.to_string();
            let options = ["--only", "labels", "--format", "png", "--ink", "black", "--dpi", &resolution];
            let run = decant(root(), [&["render", job, "-o", folder], options.as_slice()].concat()).must_end_with(0);
            let pages: Vec<&str> = run.stdout.lines().filter(|line| line.ends_with(".png")).collect();
            assert!(!pages.is_empty(), "no page of {job}");
            for page in pages {
                let reader = png::Decoder::new(std::io::Cursor::new(read_bytes(page))).read_info().expect("a PNG");
                let info = reader.info();
                assert_eq!(info.bit_depth, png::BitDepth::One, "{page}");
                assert_eq!(info.color_type, png::ColorType::Grayscale, "{page}");
                let (key, _) = page
                    .split_once("-labels-")
                    .and_then(|(_, rest)| rest.rsplit_once('-'))
                    .expect("the stock is in the name");
                let stock = &data[key]["stock"];
                assert_eq!(stock["ink"], "black");
                assert_eq!(
                    (info.width, info.height),
                    (dots(stock, "page_width_mm", dpi), dots(stock, "page_height_mm", dpi)),
                    "{page} at {dpi} dpi"
                );
                let codes = codes_on(page.as_ref());
                assert!(!codes.is_empty(), "no code on {page} at {dpi} dpi");
                assert!(codes.iter().all(|code| code == link), "{page} at {dpi} dpi: {codes:?}");
            }
        }
    }
}

/// A roll of 4 × 6 in at 203 dots an inch has 812 × 1218 dots; one more or less shifts every label after it.
#[test]
fn a_four_inch_roll_is_812_dots_wide() {
    let output = temporary();
    let folder = output.path().to_str().expect("a temporary folder's name is text");
    let job = "samples/fish-hall/job.yaml";
    let options = ["--only", "labels", "--format", "png", "--ink", "black", "--dpi", "203"];
    decant(root(), [&["render", job, "-o", folder], options.as_slice()].concat()).must_end_with(0);
    let page = image::open(output.path().join("2026-0420-labels-roll-4x6-1.png")).expect("a page");
    assert_eq!((page.width(), page.height()), (812, 1218));
}

/// In one ink nothing of a PDF is colored either: a driver that would break red up into dots is given none.
#[test]
fn no_color_is_left_on_a_label_in_black() {
    let colored = |ink: &str| {
        let output = temporary();
        let folder = output.path().to_str().expect("a temporary folder's name is text");
        let options = ["--only", "labels", "--format", "svg", "--ink", ink];
        let run =
            decant(root(), [&["render", "samples/fish-hall/job.yaml", "-o", folder], options.as_slice()].concat());
        let run = run.must_end_with(0);
        let page = run.stdout.lines().find(|line| line.ends_with(".svg")).expect("a page").to_owned();
        let text = read(page);
        // greys of captions and thin rules
        text.matches("fill=\"#").count()
            - text.matches("fill=\"#000000\"").count()
            - text.matches("fill=\"#ffffff\"").count()
    };
    assert!(colored("color") > 0);
    assert_eq!(colored("black"), 0);
}

/// Twenty feet of paper at 1200 dots per inch is more than a computer holds: told, not tried.
#[test]
fn a_page_too_large_to_be_drawn_is_refused() {
    let copy = Copy::of("fish-hall");
    copy.change_company("roll-4x6: { label: 4 in x 6 in }", "roll-4x6: { label: 240 in x 240 in }");
    let options = ["render", "job.yaml", "--only", "labels", "--format", "png", "--dpi", "1200"];
    let run = decant(&copy.folder, options).must_end_with(2);
    assert!(run.stderr.contains("page 1 is too large to be drawn at 1200 dots per inch"), "{}", run.stderr);
}
