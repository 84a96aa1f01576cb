use super::*;
use crate::diagnostic::Diagnostics;
use crate::yaml::{Declared, Source};

fn read(yaml: &str) -> (Option<Stock>, String) {
    let mut report = Diagnostics::new();
    let source = Source::from_text("company.yaml".as_ref(), yaml.into(), &mut report).unwrap();
    (Stock::from_node(&source.root(), &mut report), report.to_string())
}

fn good(yaml: &str) -> Stock {
    let (stock, reported) = read(yaml);
    stock.unwrap_or_else(|| panic!("{yaml}\n{reported}"))
}

fn mm(top: i64, bottom: i64) -> Length {
    Length::metres(Number::ratio(top, bottom * 1000))
}

#[test]
fn a_roll_needs_its_label_alone() {
    let stock = good("{ label: 4 in x 6 in }");
    assert_eq!((stock.page_width.clone(), stock.page_height.clone()), (mm(1016, 10), mm(1524, 10)));
    assert_eq!((stock.per_page(), stock.copies, stock.turned), (1, 1, false));
    assert_eq!(stock.safe, mm(4, 1));
}

#[test]
fn classes_go_by_area_and_hole() {
    for (label, class) in [
        ("30 mm x 20 mm", SizeClass::SmallBottle),
        ("3 in x 2 in", SizeClass::SmallBottle),
        ("4 in x 2 in", SizeClass::LargeBottle),
        ("74 mm x 105 mm", SizeClass::Tank),
        ("4 in x 6 in", SizeClass::Tank),
        ("105 mm x 148 mm", SizeClass::Drum),
        ("210 mm x 148 mm", SizeClass::Drum),
    ] {
        assert_eq!(good(&format!("{{ label: {label} }}")).class(), class, "{label}");
    }
    let tag = good("{ label: 80 mm x 150 mm, hole: { diameter: 6 mm, from_top: 8 mm } }");
    assert_eq!(tag.class(), SizeClass::Tag);
}

#[test]
fn a_sheet_that_does_not_fit_says_by_how_much_and_where() {
    // 3 × 101.6 mm = 304.8 mm on 215.9 mm; 12 + 6 × 50.8 + 5 × 2 = 326.8 mm on 279.4 mm
    let (stock, reported) = read(
        "{ sheet: us-letter, label: 4 in x 2 in, columns: 3, rows: 6, margins: { left: 0 mm, top: 12 mm }, gaps: { down: 2 mm } }",
    );
    assert!(stock.is_none());
    for part in [
        "88.9 mm (3.5 in) past the page's right edge",
        "47.4 mm (1.866 in) past the page's bottom edge",
        "a margin of 12 mm (0.472 in), 6 of 50.8 mm (2 in) and 2 mm (0.079 in) between them take 326.8 mm",
        "the page is 279.4 mm (11 in) high",
    ] {
        assert!(reported.contains(part), "no {part:?} in:\n{reported}");
    }
}

#[test]
fn a_sheet_that_fits_to_the_hair_fits() {
    // 2 × 101.6 + 0.156 in + 0.188 in = 8.344 in ≤ 8.5 in; 0.5 in + 5 × 2 in = 10.5 in ≤ 11 in
    let margins = "margins: { left: 0.156 in, top: 0.5 in }, gaps: { across: 0.188 in }";
    let sheet = good(&format!("{{ sheet: us-letter, label: 4 in x 2 in, columns: 2, rows: 5, {margins} }}"));
    assert_eq!(sheet.per_page(), 10);
    good("{ sheet: a4, label: 105 mm x 148.5 mm, columns: 2, rows: 2 }");
    assert!(read("{ sheet: a4, label: 105 mm x 148.51 mm, columns: 2, rows: 2 }").0.is_none());
}

#[test]
fn orientation_turns_what_is_printed_only_where_it_lies_otherwise() {
    assert!(good("{ label: 4 in x 6 in, orientation: landscape }").turned);
    assert!(!good("{ label: 4 in x 6 in, orientation: portrait }").turned);
    assert!(good("{ label: 4 in x 2 in, orientation: portrait }").turned);
    assert!(!good("{ label: 2 in x 2 in, orientation: landscape }").turned);
}

#[test]
fn print_keeps_clear_of_a_hole_on_the_side_where_it_is() {
    let tag = "label: 80 mm x 150 mm, safe: 3 mm, hole: { diameter: 6 mm, from_top: 8 mm }";
    let upright = good(&format!("{{ {tag} }}")).insets();
    // 8 mm to the centre, 3 mm to the edge of the hole, 3 mm safe
    assert_eq!((upright.top, upright.right, upright.bottom), (mm(14, 1), mm(3, 1), mm(3, 1)));
    let turned = good(&format!("{{ {tag}, orientation: landscape }}")).insets();
    // turned against the clock the stock's top is at the reader's right
    assert_eq!((turned.top, turned.right, turned.left), (mm(3, 1), mm(14, 1), mm(3, 1)));
}

#[test]
fn what_cannot_be_is_refused_with_the_amount() {
    for (yaml, code, amount) in [
        ("{ label: 30 mm x 20 mm, corners: 11 mm, safe: 4 mm }", "bad-corners", "1 mm"),
        ("{ label: 80 mm x 60 mm, corners: 10 mm, safe: 2 mm }", "bad-safe", "0.93 mm"),
        ("{ label: 30 mm x 13 mm }", "no-room", "1 mm"),
        (
            "{ label: 80 mm x 60 mm, hole: { diameter: 6 mm, from_top: 2 mm } }",
            "bad-hole",
            "1 mm (0.039 in) past the label's top edge",
        ),
        ("{ label: 80 mm x 60 mm, hole: { diameter: 6 mm } }", "bad-hole", "not said where"),
        ("{ label: 80 mm x 60 mm, copies: 0 }", "bad-count", "1 to 100"),
        ("{ label: 300 ft2 }", "bad-size", "width by height"),
    ] {
        let (_, reported) = read(yaml);
        assert!(reported.contains(code) && reported.contains(amount), "{yaml}: {reported}");
    }
}

#[test]
fn sheets_are_the_same_by_their_lengths() {
    let inches = good("{ label: 4 in x 2 in }");
    assert!(inches.same_sheet(&good("{ label: 101.6 mm x 50.8 mm, copies: 3, ink: black }")));
    assert!(!inches.same_sheet(&good("{ label: 101.6 mm x 51 mm }")));
    assert!(!inches.same_sheet(&good("{ label: 4 in x 2 in, orientation: portrait }")));
}
