//! What templates are given, and templates/README.md, which says so: neither may hold a field that the other does not.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::support::program::decant;
use crate::support::workspace::{Copy, read, root, samples, write};

const DOCUMENTS: [(&str, &str); 3] =
    [("labels", "**label.typ**"), ("mix-sheet", "**mix-sheet.typ**"), ("certificate", "**certificate.typ**")];

fn data(folder: &std::path::Path, job: &str, document: &str, more: &[&str]) -> Value {
    let run = decant(folder, [&["data", job, document], more].concat()).must_end_with(0);
    assert_eq!(run.stderr, "");
    serde_json::from_str(&run.stdout).expect("data is JSON")
}

/// Every document of that name: of all samples, and of one with a hole in its label and a house style.
fn given(document: &str) -> Vec<Value> {
    let copy = Copy::of("ferry-terminal");
    copy.set_company("style: { logo: logo.svg, accent: \"#1b4d6b\", lines: Insured. }\n");
    copy.change_company("label: 4 in x 6 in", "label: 4 in x 6 in, hole: { diameter: 6 mm, from_top: 8 mm }");
    let logo = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 1 1\"><path d=\"M0 0h1v1z\"/></svg>";
    write(copy.company_folder().join("logo.svg"), logo);
    copy.change_company("stock:\n  tag", "printers: { office: { right: 0.4 mm, scale: 100.2 % } }\nstock:\n  tag");
    let printer = if document == "labels" { &["--printer", "office"][..] } else { &[] };
    let mut all = vec![data(&copy.folder, "job.yaml", document, printer)];
    all.extend(samples().iter().map(|job| data(root(), job.to_str().expect("a name is text"), document, &[])));
    if document == "labels" {
        // each kind of stock is a document
        all = all
            .into_iter()
            .flat_map(|by_stock| by_stock.as_object().expect("labels by stock").values().cloned().collect::<Vec<_>>())
            .collect();
    }
    all
}

/// The names of all fields, those of `words` left out: they are captions.
fn fields(value: &Value, found: &mut BTreeSet<String>) {
    match value {
        Value::Object(map) => {
            for (key, inner) in map {
                found.insert(key.clone());
                if key != "words" {
                    fields(inner, found);
                }
            }
        }
        Value::Array(items) => items.iter().for_each(|item| fields(item, found)),
        _ => {}
    }
}

/// What templates/README.md says of one template, with what it says of every document.
fn section(heading: &str) -> (String, String) {
    let text = read(root().join("templates/README.md"));
    let common = text.split("\n**").next().unwrap_or_default();
    let (_, own) = text.split_once(heading).expect("the template has its table");
    let own = own.split("\n**").next().unwrap_or_default();
    (common.to_owned(), own.to_owned())
}

fn quoted(text: &str) -> impl Iterator<Item = &str> {
    text.split('`').skip(1).step_by(2)
}

fn names(code: &str) -> impl Iterator<Item = &str> {
    code.split(|c: char| !c.is_ascii_lowercase() && c != '_').filter(|name| !name.is_empty())
}

#[test]
fn every_field_is_documented() {
    for (document, heading) in DOCUMENTS {
        let (common, own) = section(heading);
        let reported: BTreeSet<&str> = quoted(&common).chain(quoted(&own)).flat_map(names).collect();
        for data in given(document) {
            let mut found = BTreeSet::new();
            fields(&data, &mut found);
            let missing: Vec<&String> = found.iter().filter(|name| !reported.contains(name.as_str())).collect();
            assert!(missing.is_empty(), "{document}: templates/README.md does not name {missing:?}");
        }
    }
}

/// Names in the first column, and those within `{ … }`, are fields; each must be given to some document.
#[test]
fn every_documented_field_is_given() {
    for (document, heading) in DOCUMENTS {
        let mut found = BTreeSet::new();
        given(document).iter().for_each(|data| fields(data, &mut found));
        let (_, own) = section(heading);
        for row in own.lines().filter(|line| line.starts_with("| `")) {
            let mut columns = row.split(" | ");
            let first = columns.next().unwrap_or_default();
            let groups = columns.flat_map(quoted).filter(|code| code.contains('{'));
            for name in quoted(first).chain(groups).flat_map(names) {
                assert!(
                    found.contains(name),
                    "{document}: no document is given `{name}`, though templates/README.md says so in\n{row}"
                );
            }
        }
    }
}

#[test]
fn a_certificate_that_is_withheld_has_no_data() {
    let copy = Copy::of("fish-hall");
    copy.change_job("log: log.yaml", "");
    let run = decant(&copy.folder, ["data", "job.yaml", "certificate"]).must_end_with(3);
    assert_eq!(run.stdout, "");
    assert!(run.stderr.starts_with("The certificate is withheld:"), "{}", run.stderr);
    let run = decant(&copy.folder, ["data", "job.yaml", "certificate", "--draft"]).must_end_with(0);
    let data: Value = serde_json::from_str(&run.stdout).expect("data is JSON");
    assert_eq!(data["draft"], true);
}
