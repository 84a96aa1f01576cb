//! `decant schema` and `decant manual`: what they say of the files holds of every file that the program takes.

use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::support::program::decant;
use crate::support::schema::faults;
use crate::support::workspace::root;

fn schema(file: &str) -> Value {
    let run = decant(root(), ["schema", file]).must_end_with(0);
    serde_json::from_str(&run.stdout).expect("JSON")
}

/// A YAML file as JSON has it, merge keys and aliases written out.
fn json(file: &Path) -> Value {
    let text = std::fs::read_to_string(file).expect("a file");
    let mut yaml: serde_yaml::Value = serde_yaml::from_str(&text).expect("YAML");
    yaml.apply_merge().expect("merge keys of groups");
    serde_json::to_value(yaml).expect("JSON")
}

fn below(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            below(&path, found);
        } else {
            found.push(path);
        }
    }
}

/// Every file of a name in the samples and in the cases that are planned.
fn files(named: &[&str]) -> Vec<PathBuf> {
    let mut found = Vec::new();
    below(&root().join("samples"), &mut found);
    below(&root().join("tests/cases/planned"), &mut found);
    found.retain(|path| path.file_name().is_some_and(|name| named.iter().any(|named| name == *named)));
    found.sort();
    found
}

#[test]
fn every_sample_and_every_planned_case_fits_the_schema() {
    for (file, named) in [
        ("company", vec!["company.yaml"]),
        ("job", vec!["job.yaml"]),
        ("contract", vec!["contract.yaml"]),
        ("log", vec!["log.yaml"]),
    ] {
        let schema = schema(file);
        let files = files(&named);
        assert!(!files.is_empty(), "{file}: {files:?}");
        for path in files {
            let found = faults(&schema, &schema, &json(&path), "");
            assert!(found.is_empty(), "{}: {found:#?}", path.display());
        }
    }
}

/// A language file has every key of the English one, and no other.
#[test]
fn every_built_in_language_fits_the_schema() {
    let schema = schema("language");
    for tag in ["en", "es", "fr"] {
        let mut words = json(&root().join("templates/lang").join(tag).with_extension("yaml"));
        assert_eq!(faults(&schema, &schema, &words, ""), Vec::<String>::new(), "{tag}");
        words.as_object_mut().expect("groups").remove("number");
        assert_eq!(faults(&schema, &schema, &words, "").len(), 1, "{tag}");
    }
}

/// Every example and every default that is shown is one that may stand there.
#[test]
fn what_the_schema_shows_may_stand_there() {
    fn walk(root: &Value, value: &Value, path: &str, count: &mut usize) {
        for (key, inner) in value.as_object().into_iter().flatten() {
            walk(root, inner, &format!("{path}/{key}"), count);
        }
        for shown in value.get("examples").and_then(Value::as_array).into_iter().flatten().chain(value.get("default")) {
            let found = faults(root, value, shown, path);
            assert!(found.is_empty(), "{shown}: {found:#?}");
            *count += 1;
        }
    }
    for file in ["company", "job", "contract", "log"] {
        let (schema, mut count) = (schema(file), 0);
        walk(&schema, &schema["properties"], "", &mut count);
        walk(&schema, &schema["$defs"], "", &mut count);
        assert!(count > 20, "{file}: {count}");
    }
}

/// What the schema does not know the reader refuses, and what is missing for the one is missing for the other.
#[test]
fn reader_and_schema_refuse_the_same_keys() {
    let schema = schema("job");
    for case in ["unknown-key", "missing-keys", "text-where-a-group-is-wanted"] {
        let job = json(&root().join("tests/cases/refused").join(case).join("job.yaml"));
        assert!(!faults(&schema, &schema, &job, "").is_empty(), "{case}");
    }
}

#[test]
fn the_manual_describes_every_key_and_every_topic_fits_a_terminal() {
    let topics = decant(root(), ["manual"]).must_end_with(0).stdout;
    assert!(topics.lines().count() >= 15, "{topics}");
    for topic in topics.lines().filter_map(|line| line.split_whitespace().next()) {
        let page = decant(root(), ["manual", topic]).must_end_with(0).stdout;
        let long = page.lines().find(|line| line.chars().count() > 110);
        assert!(page.lines().count() > 4 && long.is_none(), "{topic}: {long:?}");
    }
    for file in ["company", "job", "contract", "log"] {
        let page = decant(root(), ["manual", file]).must_end_with(0).stdout;
        let schema = schema(file);
        let groups = schema["$defs"].as_object().expect("groups").values().chain([&schema]);
        for (key, inner) in groups.flat_map(|group| group["properties"].as_object().expect("keys")) {
            let begins = format!("{key}: ");
            assert!(page.lines().any(|line| line.trim_start().starts_with(&begins)), "{file}: no {key}");
            assert!(inner["description"].as_str().is_some_and(|text| text.ends_with(['.', ')'])), "{file}: {key}");
        }
    }
}
