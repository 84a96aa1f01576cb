//! A company's own templates: used one by one, kept within their folder, and told of as the company's where they fail.

use std::fs;
use std::path::Path;

use crate::support::program::Outcome;
use crate::support::workspace::{Copy, digests, make_folder, names, write};

/// As short as a certificate can be and keep PDF/UA-1: a title and a language.
const CERTIFICATE: &str = "#let render(data) = {\n  set document(title: data.title)\n  set text(lang: data.lang, font: \"IBM Plex Sans\")\n  heading(data.heading)\n  data.site.name\n}\n";

fn with(files: &[(&str, &str)]) -> Copy {
    let copy = Copy::of("fish-hall");
    copy.set_company("templates: house-templates\n");
    for (name, text) in files {
        put(&copy, name, text);
    }
    copy
}

fn put(copy: &Copy, name: &str, text: &str) {
    let path = copy.company_folder().join("house-templates").join(name);
    make_folder(path.parent().expect("a folder"));
    write(&path, text);
}

/// The run is refused as the user's fault, in words that hold all of these.
#[track_caller]
fn refused(run: Outcome, code: i32, reported: &[&str]) {
    let run = run.must_end_with(code);
    for part in reported {
        assert!(run.stderr.contains(part), "no {part:?} in:\n{}", run.stderr);
    }
    assert!(!run.stderr.contains("fault of the program"), "{}", run.stderr);
}

#[test]
fn one_template_is_replaced_and_the_others_stay() {
    let plain = Copy::of("fish-hall");
    let own = with(&[("certificate.typ", CERTIFICATE)]);
    plain.render(&[]).must_end_with(0);
    own.render(&[]).must_end_with(0);
    let (plain, own) = (digests(&plain.output()), digests(&own.output()));
    let changed: Vec<&String> = plain.keys().filter(|name| plain[*name] != own[*name]).collect();
    // the record says which templates the certificate is drawn with
    let about = ["2026-0420-certificate.pdf", "2026-0420-record.json", "2026-0420-seal.json"];
    assert_eq!(changed, about);
}

#[test]
fn the_same_templates_give_the_same_bytes() {
    let made = || {
        let copy = with(&[("certificate.typ", CERTIFICATE)]);
        copy.render(&["--only", "certificate"]).must_end_with(0);
        digests(&copy.output())
    };
    assert_eq!(made(), made());
}

#[test]
fn a_part_is_replaced_for_all_that_import_it() {
    let strip = "#let strip-scale(strip, height: 15pt) = figure(text(strip.big), alt: strip.alt)\n";
    let (plain, own) = (Copy::of("fish-hall"), with(&[("parts/strip.typ", strip)]));
    for copy in [&plain, &own] {
        copy.render(&["--only", "mix-sheet"]).must_end_with(0);
    }
    let sheet = "2026-0420-mix-sheet.pdf";
    assert_ne!(digests(&plain.output())[sheet], digests(&own.output())[sheet]);
}

#[test]
fn a_fault_is_told_with_file_and_line_and_the_rest_is_made() {
    let copy = with(&[("certificate.typ", "#let render(data) = {\n  data.no_such_field\n}\n")]);
    let reported =
        ["error[template-fault]", "no_such_field", "house-templates/certificate.typ:2:", "  data.no_such_field"];
    refused(copy.render(&["--only", "certificate"]), 2, &reported);
    assert_eq!(names(&copy.output()), [""; 0]);
    refused(copy.render(&[]), 1, &reported);
    assert_eq!(names(&copy.output()), ["2026-0420-labels-roll-4x6.pdf", "2026-0420-mix-sheet.pdf"]);
}

#[test]
fn every_way_to_fail_is_the_users() {
    let only = ["--only", "certificate"];
    for (file, text, reported) in [
        ("certificate.typ", "#let render(data) = {\n", "unclosed delimiter"),
        ("certificate.typ", "#let other = 1\n", "unresolved import"),
        ("certificate.typ", "#let render(data) = panic(\"stop\")\n", "stop"),
        ("certificate.typ", "#let render(data) = { let i = 0; while i >= 0 { i += 1 } }\n", "infinite"),
        // ours imports what this no longer has: the fault shows in our file and is not ours
        ("parts/house.typ", "#let ink = black\n", "unresolved import"),
        // ours is called with what it cannot take
        (
            "certificate.typ",
            "#import \"parts/house.typ\": paper, sheet\n#let render(data) = sheet((draft: false), \"\", [])\n",
            "certificate.typ:2",
        ),
        // a warning of Typst's is a wrong page
        ("certificate.typ", "#let render(data) = text(font: \"No Such Family\")[a]\n", "unknown font family"),
        (
            "certificate.typ",
            "#let render(data) = { set document(title: \"a\"); image(\"bad.svg\", alt: \"b\") }\n",
            "bad.svg",
        ),
    ] {
        let copy = with(&[(file, text), ("bad.svg", "<svg")]);
        refused(copy.render(&only), 2, &["error[template-fault]", reported]);
    }
}

/// A label that has no page would be missing from its stock, and one of another size would lie over its neighbor.
#[test]
fn a_label_template_makes_a_page_for_each_label_of_its_size() {
    let label = |size: &str, pages: &str| {
        format!("#let render(data) = {{ set document(title: \"a\"); set page({size}, margin: 0pt); {pages} }}\n")
    };
    let size = "width: data.stock.label_width_mm * 1mm, height: data.stock.label_height_mm * 1mm";
    let each =
        "for (i, d) in data.labels.enumerate() { if i > 0 { pagebreak() }; place(dx: 10mm, dy: 10mm, d.product) }";
    // where its pages go is the program's, which would else correct for the printer twice
    let placed = format!("assert(data.stock.correction == none and data.stock.first == 1); {each}");
    let own = with(&[("label.typ", &label(size, &placed))]);
    own.set_company("printers: { van: { right: 1 mm, down: 1 mm } }\n");
    own.render(&["--only", "labels", "--printer", "van"]).must_end_with(0);
    for (size, pages) in [(size, "[a]"), ("width: 50mm, height: 50mm", each)] {
        let copy = with(&[("label.typ", &label(size, pages))]);
        refused(copy.render(&["--only", "labels"]), 2, &["error[template-fault]", "make one a label"]);
        assert_eq!(names(&copy.output()), [""; 0]);
    }
}

/// A picture shows an empty box where a PDF would be refused, so it is refused as well.
#[test]
fn a_character_without_a_glyph_is_refused_in_pictures_too() {
    let copy = with(&[("certificate.typ", &CERTIFICATE.replace("data.site.name", "\"漢\""))]);
    for format in ["pdf", "png", "svg"] {
        let run = copy.render(&["--only", "certificate", "--format", format]);
        refused(run, 2, &["error[template-fault]", "漢"]);
    }
}

#[test]
fn a_template_reads_nothing_outside_its_folder() {
    for path in ["/etc/hostname", "../company.yaml", "../../../etc/hostname", "/job.yaml"] {
        let text = format!("#let render(data) = read(\"{path}\")\n");
        let copy = with(&[("certificate.typ", &text)]);
        refused(
            copy.render(&["--only", "certificate"]),
            2,
            &["error[template-fault]", "house-templates/certificate.typ:1:"],
        );
    }
    let copy = with(&[("certificate.typ", "#import \"@preview/example:0.1.0\": add\n")]);
    refused(copy.render(&["--only", "certificate"]), 2, &["error[template-fault]"]);
}

#[test]
fn what_lies_in_the_folder_can_be_read() {
    let text = CERTIFICATE.replace("data.site.name", "read(\"more/words.txt\")");
    let copy = with(&[("certificate.typ", &text), ("more/words.txt", "Harbour side.")]);
    copy.render(&["--only", "certificate"]).must_end_with(0);
}

#[cfg(unix)]
#[test]
fn a_link_that_leads_out_is_refused_before_anything_is_made() {
    let link = |to: &Path, name: &str| {
        let copy = with(&[("certificate.typ", CERTIFICATE)]);
        let from = copy.company_folder().join("house-templates").join(name);
        std::os::unix::fs::symlink(to, from).expect("a link can be made");
        copy
    };
    for (to, name, reported) in [
        ("/etc/hostname", "hostname", "leads out of the folder"),
        ("/etc", "more", "leads out of the folder"),
        ("../company.yaml", "label.typ", "leads out of the folder"),
        (".", "more", "leads back"),
        ("absent", "label.typ", "cannot read it"),
    ] {
        let copy = link(to.as_ref(), name);
        refused(copy.render(&[]), 2, &["error[bad-template-file]", reported, name, "company.yaml:"]);
        assert_eq!(names(&copy.output()), [""; 0]);
    }
    let within = link("certificate.typ".as_ref(), "label.typ");
    within.render(&["--only", "certificate"]).must_end_with(0);
}

#[test]
fn a_folder_that_will_not_do_is_told_at_its_line() {
    for (files, reported) in [
        (vec![("labels.typ", "")], "did you mean `label.typ`?"),
        (vec![("common.typ", "")], "goes into `parts`"),
        (vec![("doc/data.json", "{}")], "folder of the program's own"),
        (vec![("label.typ", "")], "unresolved import"),
        (vec![(".hidden", "")], "is empty"),
        (vec![("a/b/c/d/e/f/g/h/i/x.svg", "")], "more than templates need"),
    ] {
        refused(with(&files).render(&[]), if reported == "unresolved import" { 1 } else { 2 }, &[reported]);
    }
    refused(with(&[]).render(&[]), 2, &["error[bad-templates]", "cannot read the folder", "company.yaml:"]);
    let copy = Copy::of("fish-hall");
    for name in ["../elsewhere", ".", "/tmp", "a/../.."] {
        copy.set_company(&format!("templates: {name}\n"));
        refused(copy.render(&[]), 2, &["error[bad-path]", "company.yaml:"]);
    }
    let copy = Copy::of("fish-hall");
    copy.set_company("templates: company.yaml\n");
    refused(copy.render(&[]), 2, &["is not a folder"]);
    let copy = with(&[]);
    for i in 0..201 {
        put(&copy, &format!("parts/p{i}.typ"), "");
    }
    refused(copy.render(&[]), 2, &["more than templates need"]);
    let copy = with(&[("photo.png", "")]);
    let photo = fs::File::create(copy.company_folder().join("house-templates/photo.png")).expect("a file");
    photo.set_len((2 << 20) + 1).expect("a sparse file can be made");
    refused(copy.render(&[]), 2, &["larger than 2 MiB"]);
}
