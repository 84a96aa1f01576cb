//! The house style: shown where it is documented, and refused at its line where it cannot be shown.

use std::path::Path;

use serde_json::Value;

use crate::support::program::{Outcome, decant};
use crate::support::workspace::{Copy, temporary, write};

const LOGO: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 20"><path d="M0 20 10 0h10L10 20z" fill="#1b4d6b"/></svg>"##;

/// A sample whose company file ends with these lines.
fn with(style: &str) -> Copy {
    let copy = Copy::of("fish-hall");
    copy.set_company(style);
    write(copy.company_folder().join("logo.svg"), LOGO);
    copy
}

fn refusal(style: &str) -> String {
    let copy = with(style);
    refusal_of(&copy)
}

fn refusal_of(copy: &Copy) -> String {
    decant(&copy.folder, ["plan", "job.yaml"]).must_end_with(2).stderr
}

fn data(copy: &Copy, document: &str) -> Value {
    let run = decant(&copy.folder, ["data", "job.yaml", document]).must_end_with(0);
    serde_json::from_str(&run.stdout).expect("data is JSON")
}

fn render(copy: &Copy, folder: &Path, more: &[&str]) -> Outcome {
    let folder = folder.to_str().expect("a temporary folder's name is text");
    decant(&copy.folder, [&["render", "job.yaml", "-o", folder], more].concat()).must_end_with(0)
}

const STYLE: &str = "style:\n  logo: logo.svg\n  accent: \"#1b4d6b\"\n  lines: [Registered in Port Ansel., Insured.]\n";

#[test]
fn the_style_reaches_every_document() {
    let copy = with(STYLE);
    for document in ["mix-sheet", "certificate"] {
        let data = data(&copy, document);
        assert_eq!(data["accent"], "#1b4d6b", "{document}");
        assert_eq!(data["logo"]["path"], "/house/logo.svg", "{document}");
        assert_eq!(data["logo"]["alt"], "Tern & Tide Hygiene", "{document}");
        assert_eq!(data["lines"], serde_json::json!(["Registered in Port Ansel.", "Insured."]));
    }
}

/// The colour of the logo and the heading stands on both pages; without a style neither page has any colour like it.
#[test]
fn logo_and_accent_are_drawn() {
    let coloured = |copy: &Copy, document: &str| {
        let folder = temporary();
        let run = render(copy, folder.path(), &["--only", document, "--format", "png", "--dpi", "72"]);
        let page = run.stdout.lines().next().expect("a page").to_owned();
        let picture = image::open(page).expect("a picture").to_rgb8();
        picture.pixels().filter(|p| p.0 == [0x1b, 0x4d, 0x6b]).count()
    };
    let (plain, styled) = (with("style:"), with(STYLE));
    for document in ["mix-sheet", "certificate"] {
        assert_eq!(coloured(&plain, document), 0, "{document}");
        let dots = coloured(&styled, document);
        assert!(dots > 100, "{document}: {dots} dots");
    }
}

#[test]
fn the_record_s_number_is_of_the_work_and_not_of_the_paper() {
    let record = |copy: &Copy| {
        let folder = temporary();
        render(copy, folder.path(), &["--only", "mix-sheet"]);
        let bytes = std::fs::read(folder.path().join("2026-0420-record.json")).expect("the record");
        let mut record: serde_json::Value = serde_json::from_slice(&bytes).expect("a record is JSON");
        let page = record["certificate"].take();
        (record, page)
    };
    let (plain, styled) = (record(&with("style:")), record(&with(STYLE)));
    assert_eq!(plain.0, styled.0);
    assert_ne!(plain.1, styled.1, "the certificate in the record has no style");
}

#[test]
fn a_png_logo_will_do_and_too_large_a_one_will_not() {
    let copy = with("style: { logo: logo.png }\n");
    let save = |width, height| {
        let picture = image::GrayImage::from_pixel(width, height, image::Luma([40]));
        picture.save(copy.company_folder().join("logo.png")).expect("a picture can be written");
    };
    save(600, 200);
    let folder = temporary();
    render(&copy, folder.path(), &["--only", "certificate"]);
    save(4001, 1);
    let reported = refusal_of(&copy);
    assert!(reported.contains("error[bad-logo]: the logo is 4001 × 1 pixels"), "{reported}");
    assert!(reported.contains("company.yaml:"), "{reported}");
    write(copy.company_folder().join("logo.png"), vec![b' '; (1 << 20) + 1]);
    assert!(refusal_of(&copy).contains("larger than 1 MiB"));
}

#[test]
fn a_pale_accent_is_refused_with_its_contrast() {
    let reported = refusal("style: { accent: \"#f0a020\" }\n");
    // worked out by hand from the definition in WCAG 2.2: luminance 0.4453, so 1.05 / 0.4953
    assert!(reported.contains("error[pale-accent]") && reported.contains("contrast is 2.1"), "{reported}");
    assert!(reported.contains("at least 4.50 to 1"), "{reported}");
}

#[test]
fn a_colour_without_quotes_does_not_pass_unseen() {
    let reported = refusal("style:\n  accent: #1b4d6b\n");
    assert!(reported.contains("`accent` has no value") && reported.contains("in quotes"), "{reported}");
}

#[test]
fn what_the_foot_has_no_room_for_is_refused() {
    let reported = refusal("style: { lines: [a, b, c, d] }\n");
    assert!(reported.contains("there are 4 lines; the foot has room for 3"), "{reported}");
    let reported = refusal(&format!("style: {{ lines: {} }}\n", "long ".repeat(30)));
    assert!(reported.contains("error[line-too-long]"), "{reported}");
}

#[test]
fn a_logo_from_elsewhere_is_refused() {
    for name in ["../logo.svg", "/etc/hostname", "C:\\logo.svg"] {
        let reported = refusal(&format!("style: {{ logo: '{name}' }}\n"));
        assert!(reported.contains("error[bad-path]"), "{reported}");
    }
    let reported = refusal("style: { logo: absent.svg }\n");
    assert!(reported.contains("error[bad-logo]: cannot read the logo"), "{reported}");
    let copy = with("style: { logo: logo.svg }\n");
    let outside = LOGO.replace("<path", "<image href=\"https://logo.example/a.png\" width=\"9\" height=\"9\"/><path");
    write(copy.company_folder().join("logo.svg"), outside);
    let reported = refusal_of(&copy);
    assert!(reported.contains("outside itself: `https://logo.example/a.png`"), "{reported}");
}
