use super::*;

/// A mix sheet as small as its template takes, in an invented scenario.
fn mix_sheet(site: &str) -> serde_json::Value {
    let words = crate::wording::Words::of("en").unwrap().group("sheet.words");
    serde_json::json!({
        "lang": "en", "title": "Mix sheet", "author": null, "accent": null, "page": "a4", "draft": false, "words": words,
        "header": { "site": site, "when": "Mon 13 Apr 2026", "crew": "R. Okafor", "record": "1", "qr": qr() },
        "back": { "big": "18:40", "small": "Mon 13 Apr 2026" }, "phones": [{ "label": "Office", "value": "555-0142" }],
        "treatments": [{
            "place": "Treatment 1 of 1", "heading": "Hard surfaces", "name": "Solvary Q-75", "registration": null, "facts": ["Mister A"],
            "meaning": "1 part to 64", "dangers": ["Never with bleach."], "each": "Each load", "water": { "big": "12 gal" },
            "product": { "big": "24 fl oz", "small": "710 mL" }, "strip": null, "last": null, "rinsed": false,
            "wear": [{ "sign": "gloves", "words": "Gloves" }], "before": ["Soil removed"],
            "loads": [{ "load": "1", "plan": "18:00", "water": "12 gal", "product": "24 fl oz" }],
            "areas": { "rows": [{ "name": "Hall", "size": "9 ft²", "solution": "1 gal", "plan": "18:00 to 18:10" }], "total": null },
            "stop": ["Anyone coughs."], "steps": ["Water first."], "timeline": null, "cautions": [],
        }],
        "signature": ["Technician", "Date"], "deference": "The product label comes first.",
    })
}

fn qr() -> serde_json::Value {
    serde_json::json!({
        "svg": "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 10 10\"><rect x=\"4\" y=\"4\" width=\"2\" height=\"2\"/></svg>",
        "alt": "QR code",
        "least_mm": 15, "step_mm": 5.13,
    })
}

fn labels(height_mm: f64, address: &str) -> serde_json::Value {
    let words: serde_json::Map<_, _> = [
        "dilution",
        "strength",
        "contact",
        "actives",
        "registration",
        "mixed",
        "by",
        "discard",
        "lot",
        "emergency",
        "record",
        "more",
        "draft",
    ]
    .iter()
    .map(|w| ((*w).to_owned(), (*w).into()))
    .collect();
    serde_json::json!({
        "lang": "en", "title": "Labels", "author": null, "accent": null, "draft": false, "words": words,
        "stock": { "page_width_mm": 101.6, "page_height_mm": height_mm, "label_width_mm": 101.6, "label_height_mm": height_mm, "columns": 1, "rows": 1,
            "left_mm": 0, "top_mm": 0, "gap_x_mm": 0, "gap_y_mm": 0, "insets_mm": { "top": 3, "right": 3, "bottom": 3, "left": 3 },
            "class": "tank", "turned": false, "correction": null, "first": 1, "ink": "color" },
        "minimum_pt": 6, "smallest_pt": 6, "plain": false, "line_pitch": 1, "optional": ["deference", "precautions"],
        "labels": [{
            "group": 0, "copies": 1, "draft": false, "pictogram_mm": 10, "pictogram_wanted_mm": 10, "product": "Solvary Q-10", "state": "Diluted", "kind": "quat", "container": "Tank 1 of 1",
            "dilution": { "big": "2 fl oz/gal", "small": "1 part + 64 parts" }, "strength": { "big": "600 ppm", "of": "active", "small": null }, "contact": { "big": "10 min" },
            "pesticide": { "heading": "Pesticide label", "signal": "Danger", "child": "Keep out of reach of children.", "lines": [] },
            "never_with": "Never mix with: bleach.",
            "ghs": { "heading": "Hazards of this dilution", "signal": "Warning", "pictograms": [{ "name": "exclamation", "alt": "Exclamation mark" }],
                "hazards": ["Causes skin irritation."], "precautions": [{ "text": "Wear gloves." }, { "lead": "If in eyes:", "text": "Rinse." }], "source": null },
            "actives": [{ "name": "quat", "content": "0.1 %" }], "registration": null, "mixed": null, "discard": null, "keeps": "keeps 7 days", "site": "Pier",
            "firm": { "name": "Tern & Tide Hygiene", "address": address, "phone": "555-0142", "emergency": null },
            "deference": "The product label comes first. ".repeat(12), "follows": "Label after a rule", "record": "1", "qr": qr(),
        }],
    })
}

fn sheet(template: Template, data: &serde_json::Value) -> Sheet {
    Sheet {
        template,
        data: data.to_string().into_bytes(),
        date: jiff::civil::date(2026, 4, 13).at(18, 0, 0, 0),
        ident: format!("test/{}", template.name()),
    }
}

fn failure(sheet: &Sheet) -> TypesetError {
    match Engine::new().typeset(sheet) {
        Ok(_) => panic!("the sheet was made"),
        Err(e) => e,
    }
}

#[test]
fn the_same_sheet_gives_the_same_bytes() {
    let sheet = sheet(Template::MixSheet, &mix_sheet("Gull Point Ferry Terminal"));
    let first = Engine::new().typeset(&sheet).unwrap();
    typst::comemo::evict(0);
    let second = Engine::new().typeset(&sheet).unwrap();
    assert_eq!(first.pages(), 1);
    let (a, b) = (first.pdf().unwrap(), second.pdf().unwrap());
    assert!(a.starts_with(b"%PDF-1.7"));
    assert_eq!(a, b);
    assert_eq!(first.png(40).unwrap(), second.png(40).unwrap());
    assert_eq!(first.svg(), second.svg());
}

#[test]
fn documents_of_one_press_do_not_see_each_other() {
    let press = Engine::new();
    let one = press.typeset(&sheet(Template::MixSheet, &mix_sheet("One"))).unwrap().pdf().unwrap();
    let two = press.typeset(&sheet(Template::MixSheet, &mix_sheet("Two"))).unwrap().pdf().unwrap();
    assert_ne!(one, two);
    let again = press.typeset(&sheet(Template::MixSheet, &mix_sheet("One"))).unwrap().pdf().unwrap();
    assert_eq!(one, again);
}

#[test]
fn text_is_never_markup() {
    let made =
        Engine::new().typeset(&sheet(Template::MixSheet, &mix_sheet("#panic(\"run\") *bold* $x$ \\ ` @ref <label>")));
    assert_eq!(made.unwrap().pages(), 1);
}

#[test]
fn a_missing_glyph_names_character_and_field() {
    let error = failure(&sheet(Template::MixSheet, &mix_sheet("Gull 😀 Point")));
    let expected =
        TypesetError::MissingGlyph { character: '😀', text: "Gull 😀 Point".into(), field: "header.site".into() };
    assert_eq!(error, expected);
    assert_eq!(error.to_string(), "the font has no glyph for '😀' (U+1F600) in `Gull 😀 Point`");
}

#[test]
fn data_of_the_wrong_shape_is_an_error_that_names_the_template() {
    let mut data = mix_sheet("Gull Point");
    data["treatments"][0].as_object_mut().unwrap().remove("stop");
    let TypesetError::Template { message, place, .. } = failure(&sheet(Template::MixSheet, &data)) else { panic!() };
    assert!(message.contains("\"stop\""), "{message}");
    assert!(place.unwrap().starts_with("mix-sheet.typ:"));
    let no_json = Sheet { data: b"{".to_vec(), ..sheet(Template::MixSheet, &data) };
    assert!(matches!(failure(&no_json), TypesetError::Template { .. }));
}

#[test]
fn a_tall_label_carries_all() {
    let made = Engine::new().typeset(&sheet(Template::Label, &labels(152.4, "14 Quay Lane"))).unwrap();
    assert!(made.left_off().is_empty());
    assert_eq!(made.pages(), 1);
}

#[test]
fn a_tight_label_leaves_off_in_the_order_given_and_a_tighter_one_is_refused() {
    let address = "14 Quay Lane ".repeat(40);
    let press = Engine::new();
    let heights: Vec<_> = (30..75).rev().map(f64::from).collect();
    let made: Vec<_> = heights
        .iter()
        .map(|&h| press.typeset(&sheet(Template::Label, &labels(h, &address))).map(|t| t.left_off().to_vec()))
        .collect();
    assert_eq!(made.first(), Some(&Ok(vec![])));
    assert!(made.iter().any(|m| m.as_ref().is_ok_and(|off| off == &["deference"])), "{made:?}");
    match made.last() {
        Some(Err(TypesetError::DoesNotFit { label: 0, needed_mm, have_mm: 30 })) => {
            // the height it asks for does do
            let tall = f64::from(*needed_mm);
            assert!(press.typeset(&sheet(Template::Label, &labels(tall, &address))).is_ok());
        }
        other => panic!("{other:?}"),
    }
}

/// How much of the lower half of a picture is ink, in dots.
fn ink_below(file: &[u8]) -> f64 {
    let mut decoder = png::Decoder::new(std::io::Cursor::new(file));
    decoder.set_transformations(png::Transformations::EXPAND);
    let mut reader = decoder.read_info().unwrap();
    let mut dots = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut dots).unwrap();
    let half = info.line_size * (info.height as usize / 2);
    let samples = info.color_type.samples();
    let dark = |dot: &[u8]| f64::from(255 - dot[0]) / 255.0;
    dots[half..info.buffer_size()].chunks(samples).map(dark).sum()
}

/// At 203 dots per inch a stem of 6 pt type is not two dots wide. Too low a threshold would break letters up, too high
/// a one would fill them; either shows in how much ink there is.
#[test]
fn the_smallest_type_keeps_its_ink_in_one_bit() {
    let mut templates = Templates::built_in();
    templates.set_ink(Ink::Black);
    let press = Engine::with(templates);
    let address = "14 Quay Lane ".repeat(40);
    let tight = (40..75)
        .filter_map(|height| {
            let made = press.typeset(&sheet(Template::Label, &labels(f64::from(height), &address)));
            made.ok().filter(|made| !made.left_off().is_empty())
        })
        .next()
        .expect("a label in the smallest type");
    let (grey, bits) = (tight.png(203).unwrap(), tight.one_bit_png(203).unwrap());
    let ratio = ink_below(&bits[0]) / ink_below(&grey[0]);
    assert!((0.95..1.2).contains(&ratio), "{ratio}");
}

#[test]
fn every_drawing_is_embedded() {
    let mut data = mix_sheet("Gull Point");
    let signs = ["goggles", "gloves", "respirator", "suit", "boots", "apron", "face-shield", "mask"];
    data["treatments"][0]["wear"] = signs.iter().map(|s| serde_json::json!({ "sign": s, "words": s })).collect();
    assert!(Engine::new().typeset(&sheet(Template::MixSheet, &data)).is_ok());
    let mut data = labels(152.4, "14 Quay Lane");
    let pictograms = [
        "exploding-bomb",
        "flame",
        "flame-over-circle",
        "gas-cylinder",
        "corrosion",
        "skull",
        "exclamation",
        "health-hazard",
        "environment",
    ];
    data["labels"][0]["ghs"]["pictograms"] =
        pictograms.iter().map(|p| serde_json::json!({ "name": p, "alt": p })).collect();
    assert!(Engine::new().typeset(&sheet(Template::Label, &data)).unwrap().pdf().is_ok());
}

#[test]
fn a_press_may_be_shared_between_threads() {
    fn shared<T: Send + Sync>() {}
    shared::<Engine>();
    shared::<Typeset>();
}

/// The sizes of legible type (`document/legible.rs`) are worked out from an x-height of 0.516 em.
#[test]
fn a_letter_x_is_516_thousandths_of_its_size() {
    let mut data = mix_sheet("Gull Point");
    data["treatments"][0]["steps"] = serde_json::json!(["xxxx"]);
    let made = Engine::new().typeset(&sheet(Template::MixSheet, &data)).unwrap();
    let pieces = geometry::pieces_of(&made.document().pages()[0], &mut geometry::Inks::default());
    let found = pieces.iter().find(|p| p.text.as_deref() == Some("xxxx")).unwrap();
    let x_height = (found.area.bottom - found.area.top) / found.points;
    assert!((x_height - 0.516).abs() < 0.001, "{x_height}");
}
