//! Labels as they come to lie on the page: several hundred generated ones on stock of every class. Every letter and
//! picture lies in the room to print in, none lies over another, and no type is too small to read.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use super::*;
use crate::company::{Regime, SizeClass};
use crate::diagnostic::Diagnostics;
use crate::engine::{Engine, Sheet, TypesetError};
use crate::ghs::RuleSet;
use crate::quantity::{Number, Volume};
use crate::wording::Words;
use crate::yaml::Source;

/// Stock of all classes, both ways up, single and on sheets.
const STOCKS: &[&str] = &[
    "{ label: 30 mm x 20 mm }",
    "{ label: 50 mm x 50 mm, corners: 3 mm, ink: black }",
    "{ label: 3 in x 2 in, corners: 0.125 in }",
    "{ label: 2 in x 3 in }",
    "{ sheet: us-letter, label: 4 in x 2 in, columns: 2, rows: 5, margins: { left: 0.156 in, top: 0.5 in }, gaps: { across: 0.188 in } }",
    "{ sheet: a4, label: 105 mm x 74 mm, columns: 2, rows: 4, margins: { left: 0 mm, top: 0.5 mm } }",
    "{ label: 62 mm x 100 mm, ink: black }",
    "{ label: 4 in x 6 in }",
    "{ label: 4 in x 6 in, orientation: landscape }",
    "{ label: 70 mm x 140 mm, hole: { diameter: 6 mm, from_top: 9 mm } }",
    "{ label: 70 mm x 140 mm, orientation: landscape, hole: { diameter: 6 mm, from_top: 9 mm } }",
    "{ label: 140 mm x 90 mm, hole: { diameter: 8 mm, from_left: 10 mm } }",
    "{ label: 210 mm x 148 mm }",
    "{ label: 148 mm x 210 mm, corners: 5 mm }",
    "{ sheet: a4, label: 200 mm x 140 mm, columns: 1, rows: 2, margins: { left: 5 mm, top: 5 mm }, gaps: { down: 7 mm } }",
];

/// Numbers that look like chance and are the same every time (Knuth's linear congruence for MMIX).
struct Chance(u64);

impl Chance {
    fn below(&mut self, limit: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap() % limit
    }

    fn of<'a>(&mut self, choices: &[&'a str]) -> &'a str {
        choices[self.below(choices.len())]
    }

    fn some<'a>(&mut self, choices: &[&'a str], most: usize) -> Vec<&'a str> {
        let count = self.below(most.min(choices.len()) + 1);
        let start = self.below(choices.len());
        (0..count).map(|i| choices[(start + i) % choices.len()]).collect()
    }
}

const NAMES: &[&str] = &[
    "Q",
    "Solvary Q-75",
    "Désinfectant Éclat Fraîcheur des Îles Concentré",
    "Flächendesinfektionsmittelkonzentratausgießer",
    "Hard Surface Disinfectant Cleaner and Deodoriser, Lemon and Pine, Professional Grade",
    "ÅÉÎÕÜ-ÇŁŻ 9000",
];
const PICTOGRAMS: &[&str] = &[
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
const HAZARDS: &[&str] = &[
    "Causes skin irritation.",
    "Causes serious eye damage.",
    "May cause drowsiness or dizziness.",
    "Provoque de graves brûlures de la peau et de graves lésions des yeux.",
    "May intensify fire; oxidiser.",
    "Muy tóxico para los organismos acuáticos, con efectos nocivos duraderos.",
];
const PRECAUTIONS: &[(&str, &str)] = &[
    (
        "IF IN EYES:",
        "Rinse cautiously with water for several minutes. Remove contact lenses, if present and easy to do. Continue rinsing.",
    ),
    ("IF ON SKIN (or hair):", "Take off immediately all contaminated clothing. Rinse skin with water or shower."),
    ("", "Wear protective gloves, protective clothing, eye protection and face protection."),
    ("", "Wash hands thoroughly after handling."),
    (
        "EN CAS D’INHALATION:",
        "Transporter la personne à l’extérieur et la garder dans une position où elle peut confortablement respirer.",
    ),
    ("", "Store locked up."),
    ("", "Dispose of contents and container as the local authority directs."),
];

fn generated(chance: &mut Chance, group: usize, least: &Least) -> Value {
    let precautions: Vec<Value> = (0..chance.below(12))
        .map(|i| {
            let (lead, text) = PRECAUTIONS[i % PRECAUTIONS.len()];
            json!({ "lead": (!lead.is_empty()).then_some(lead), "text": text })
        })
        .collect();
    let hazards = chance.some(HAZARDS, 5);
    let classified = !hazards.is_empty();
    let pictograms = if classified { chance.some(PICTOGRAMS, 6) } else { Vec::new() };
    let actives: Vec<Value> = (0..chance.below(4))
        .map(|_| {
            let names = ["hydrogen peroxide", "alkyl (C12–16) dimethylbenzylammonium chloride", "troclosène sodique"];
            json!({ "name": chance.of(&names), "content": "0.0742 %" })
        })
        .collect();
    let pesticide = json!({
        "heading": "Label of the concentrate",
        "signal": (chance.below(4) > 0).then_some("Signal word of the concentrate's label: DANGER."),
        "child": "Keep out of reach of children.",
        "lines": ["The product in this container is diluted as directed on the product label.", "Not for food or drink."],
    });
    let small = |chance: &mut Chance, text: &str| (chance.below(3) > 0).then(|| text.to_owned());
    let mut label = json!({
        "group": group, "draft": group % 2 == 1,
        "copies": 1 + chance.below(2),
        "pictogram_mm": least.pictogram_mm.to_f64(),
        "pictogram_wanted_mm": least.pictogram_wanted_mm.to_f64(),
        "product": chance.of(NAMES),
        "state": chance.of(&["Diluted · ready to use", "Ready to use", "Dilué · prêt à l’emploi"]),
        "kind": chance.of(&["quaternary ammonium disinfectant", "disinfectant"]),
        "container": chance.of(&["Mister A · load 1 of 3", "Hochdrucksprühgerätebehälter 12 · load 10 of 12", "B · load 1 of 1"]),
        "dilution": { "big": chance.of(&["2 fl oz/gal", "1:64", "1 tablet/10 L", "ready to use"]), "small": small(chance, "1 part product + 64 parts water") },
        "strength": { "big": "12,300 ppm", "of": chance.of(&["available chlorine", "active quat"]), "small": small(chance, "strip > 1,000 to 1,200 ppm") },
        "contact": { "big": chance.of(&["10 min", "1 h 30 min"]), "small": small(chance, "on food-contact surfaces") },
        "pesticide": pesticide,
        "never_with": chance.of(&[
            "Never mix with any other product.",
            "Never mix with: chlorine bleach, soap.",
            "Never mix with: acids, ammonia or amines, alcohol, hydrogen peroxide, any other cleaner.",
        ]),
        "ghs": {
            "heading": chance.of(&["Hazards of this dilution (GHS)", "Hazards of the concentrate (GHS)"]),
            "signal": if classified { Some(chance.of(&["Danger", "Warning"])) } else { None },
            "pictograms": pictograms.iter().map(|p| json!({ "name": p, "alt": p })).collect::<Vec<_>>(),
            "hazards": if classified { json!(hazards) } else { json!(["The safety data sheet of Sun 1 Feb 2026 does not classify the use solution. Handle as the product label directs."]) },
            "precautions": if classified { precautions } else { Vec::new() },
            "source": small(chance, "As the safety data sheet of Sun 1 Feb 2026 states for the use solution."),
        },
        "actives": actives,
        "registration": small(chance, "00000-75-0000000"),
        "mixed": (chance.below(3) == 0).then_some("Mon 13 Apr 2026, 18:43"),
        "discard": (chance.below(3) == 0).then_some("Mon 20 Apr 2026, 18:10"),
        "keeps": small(chance, "keeps 7 days"),
        "site": chance.of(&["Gull Point Ferry Terminal", "Pier"]),
        "firm": {
            "name": chance.of(&["Tern & Tide Hygiene", "Gebäudereinigungsgesellschaft Möwenstraße mbH"]),
            "address": chance.of(&["14 Quay Lane, Port Ansel", "1428 North Old Harbour Breakwater Road, Suite 2200, Port Ansel, Province of Somewhere 00000"]),
            "phone": "555-0142",
            "emergency": small(chance, "555-0199"),
        },
        "deference": "The product label and its safety data sheet come first; local codes and licensed practice come before anything printed here.",
        "record": "2026-0413-daeabcc0",
        "qr": { "svg": "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 41 41\"><rect width=\"41\" height=\"41\"/></svg>", "alt": "QR code", "least_mm": 15.0, "step_mm": 5.13 },
        "follows": "Label after 29 CFR 1910.1200(f)(6)(ii); the safety data sheet is kept at hand; California, 3 CCR 6678",
        "sheet_at_hand": (chance.below(4) == 0).then_some("A safety data sheet is available at the work place."),
        "second": null,
    });
    if chance.below(3) == 0 {
        label["second"] = second_of(&label, chance.of(&["es", "fr"]));
    }
    label
}

fn captions(words: &Words) -> BTreeMap<String, String> {
    let mut captions = words.group("label.words");
    captions.insert("registration".to_owned(), words.word("registration.epa").unwrap().to_owned());
    captions
}

/// The same label again, as a longer language would say it.
fn second_of(label: &Value, tag: &str) -> Value {
    let words = Words::of(tag).unwrap();
    let mut second = json!({ "lang": tag, "words": captions(&words) });
    for key in ["kind", "container", "dilution", "strength", "contact", "mixed", "discard", "keeps"] {
        second[key] = label[key].clone();
    }
    let said = |key: &str| json!(words.word(&format!("label.{key}")).unwrap());
    second["state"] = said("state");
    second["never_with"] = said("never_with_any");
    second["follows"] = said("follows.united-states-general");
    second["deference"] = json!(words.word("deference").unwrap());
    second["sheet_at_hand"] = if label["sheet_at_hand"].is_null() { Value::Null } else { said("sheet_at_hand") };
    second["dilution"]["big"] = json!("2 oz líq./gal US");
    second["pesticide"] = label["pesticide"].clone();
    second["pesticide"]["heading"] = said("pesticide_heading");
    second["pesticide"]["child"] = said("child");
    second["pesticide"]["lines"] = json!([said("diluted"), said("not_drink")]);
    second["ghs"] = label["ghs"].clone();
    second["ghs"]["heading"] = said("ghs_concentrate");
    if !second["ghs"]["signal"].is_null() {
        second["ghs"]["signal"] = json!(words.word("signal.warning").unwrap());
    }
    second
}

fn stock(yaml: &str) -> Stock {
    let mut report = Diagnostics::new();
    let text = format!(
        "company: {{ name: A, address: B, phone: C }}\nrecord_link: https://a.example/{{record}}\nstock:\n  it: {yaml}\n"
    );
    let source = Source::from_text("company.yaml".as_ref(), text, &mut report).unwrap();
    let company = crate::company::CompanyFile::from_source(&source, &mut report);
    company.and_then(|c| c.stock.get("it").cloned()).unwrap_or_else(|| panic!("{yaml}\n{report}"))
}

fn document(seed: u64, stock: &Stock, labels: usize, rules: RuleSet) -> Value {
    let mut chance = Chance(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
    let container = Volume::millilitres(Number::int([500, 1_000, 45_000, 200_000][chance.below(4)]));
    let least = least(rules, &container);
    let words = Words::english().unwrap();
    let labels: Vec<Value> = (0..labels).map(|group| generated(&mut chance, group, &least)).collect();
    let run =
        LabelRun { first: 1 + u32::try_from(chance.below(stock.per_page() as usize)).unwrap(), ..LabelRun::default() };
    json!({
        "lang": "en", "title": "Labels", "author": null, "accent": null, "draft": false,
        "words": captions(&words),
        "optional": optional(stock.class(), &rules_of(rules)),
        "minimum_pt": least.type_points.to_f64(),
        "smallest_pt": legible::SMALLEST_POINTS,
        "plain": least.plain,
        "line_pitch": least.line_pitch.to_f64().max(1.15),
        "rules": [],
        "stock": stock_view(stock, &run),
        "labels": labels,
    })
}

/// The laxest rules of a set, so that all that can be left off is.
fn rules_of(rules: RuleSet) -> BTreeSet<Rules> {
    let regime = match rules {
        RuleSet::UnitedStates => Regime::UnitedStatesGeneral,
        RuleSet::EuUk => Regime::EuUk,
    };
    Rules::followed(regime, &[])
}

fn sheet(data: &Value) -> Sheet {
    Sheet {
        template: Template::Label,
        data: data.to_string().into_bytes(),
        date: jiff::civil::date(2026, 4, 13).at(18, 0, 0, 0),
        ident: "test".into(),
    }
}

/// What a round of documents came to.
#[derive(Default)]
struct Outcome {
    made: usize,
    refused: usize,
    classes: BTreeSet<SizeClass>,
    dropped: BTreeSet<String>,
    faults: Vec<String>,
}

fn try_all(seeds: std::ops::Range<u64>, rules: RuleSet) -> Outcome {
    let press = Engine::new();
    let mut outcome = Outcome::default();
    for seed in seeds {
        for yaml in STOCKS {
            let stock = stock(yaml);
            let data = document(seed, &stock, 1 + usize::from(stock.per_page() > 1), rules);
            match press.typeset(&sheet(&data)) {
                Ok(made) => {
                    outcome.made += 1;
                    outcome.classes.insert(stock.class());
                    outcome.dropped.extend(made.left_off().iter().cloned());
                    let faults = made.label_faults(&data);
                    outcome.faults.extend(faults.into_iter().map(|f| format!("{seed} on {yaml}: {f}")));
                }
                Err(TypesetError::DoesNotFit { needed_mm, have_mm, .. }) => {
                    outcome.refused += 1;
                    assert!(needed_mm > have_mm, "{needed_mm} of {have_mm} mm does fit: {seed} on {yaml}");
                }
                Err(other) => panic!("{seed} on {yaml}: {other}"),
            }
        }
    }
    outcome
}

#[test]
fn nothing_on_a_label_is_cut_covered_or_too_small() {
    let halves = std::thread::scope(|scope| {
        let rounds = [(0..9, RuleSet::UnitedStates), (100..106, RuleSet::EuUk)];
        let running = rounds.map(|(seeds, rules)| {
            let builder = std::thread::Builder::new().stack_size(16 << 20);
            builder.spawn_scoped(scope, move || try_all(seeds, rules)).unwrap()
        });
        running.map(|thread| thread.join().unwrap())
    });
    for outcome in &halves {
        assert!(
            outcome.faults.is_empty(),
            "{} faults, the first:\n{}",
            outcome.faults.len(),
            outcome.faults[..outcome.faults.len().min(12)].join("\n")
        );
    }
    let made: usize = halves.iter().map(|o| o.made).sum();
    let refused: usize = halves.iter().map(|o| o.refused).sum();
    // else the labels were too easy or too hard to say anything
    assert!(made > 110 && refused > 20, "{made} made, {refused} refused");
    assert_eq!(halves[0].classes.len(), 5, "{:?}", halves[0].classes);
    for key in optional(SizeClass::Tank, &rules_of(RuleSet::UnitedStates)) {
        assert!(key == "logo" || halves.iter().any(|o| o.dropped.contains(key)), "`{key}` was never left off");
    }
}

#[test]
fn the_geometry_test_notices_planted_faults() {
    let stock = stock("{ label: 4 in x 6 in }");
    let data = document(3, &stock, 1, RuleSet::UnitedStates);
    let faults = |spoil: &dyn Fn(&str) -> String| {
        let mut templates = crate::engine::Templates::built_in();
        let shapes = templates
            .files()
            .find(|(path, _)| *path == "parts/label-shapes.typ")
            .map(|(_, bytes)| String::from_utf8(bytes.to_vec()).unwrap())
            .unwrap();
        let spoilt = spoil(&shapes);
        templates.replace("parts/label-shapes.typ", spoilt);
        let made = Engine::with(templates).typeset(&sheet(&data)).unwrap();
        made.label_faults(&data).join("\n")
    };
    assert_eq!(faults(&str::to_owned), "");
    let planted = |from: &'static str, to: &'static str| {
        faults(&|shapes: &str| {
            assert!(shapes.contains(from), "the template no longer holds {from:?}");
            shapes.replace(from, to)
        })
    };
    let moved = planted("place(top, inner", "place(top, dx: 6mm, inner");
    assert!(moved.contains("outside its label"), "{moved}");
    let crossed = planted("+ foot)", "+ move(dy: -40mm, foot))");
    assert!(crossed.contains(" crosses "), "{crossed}");
    let shrunk = planted("+ foot)", "+ scale(50%, foot))");
    assert!(shrunk.contains(" pt"), "{shrunk}");
}

#[test]
fn what_may_be_left_off_is_what_the_template_can_leave_off() {
    let templates = crate::engine::Templates::built_in();
    let text: String = templates
        .files()
        .filter(|(path, _)| path.starts_with("label") || path.starts_with("parts/label"))
        .map(|(_, bytes)| String::from_utf8_lossy(bytes).into_owned())
        .collect();
    for class in [SizeClass::SmallBottle, SizeClass::Tank] {
        for key in optional(class, &rules_of(RuleSet::UnitedStates)) {
            // a figure's second line is asked for by the figure's name
            let asked = key.strip_suffix("-small").unwrap_or(key);
            assert!(text.contains(&format!("\"{asked}\"")), "the template does not know `{key}`");
            for never in ["product", "signal", "pictograms", "hazards"] {
                assert_ne!(key, never);
            }
        }
    }
}
