//! As much of JSON Schema as the schemas of the record and of the files use: types, constants, bounds, keys and references. Patterns are left to a
//! checker of others (`.ci/outside/schema.py`).

use serde_json::Value;

/// What is wrong with a value, each with its path.
pub fn faults(root: &Value, schema: &Value, value: &Value, path: &str) -> Vec<String> {
    let (mut own, mut found) = (Vec::new(), Vec::new());
    let mut fault = |what: String| own.push(format!("{path}: {what}"));
    let rules = schema.as_object().expect("a schema is an object");
    for (rule, wanted) in rules {
        match rule.as_str() {
            "type" => {
                let types: Vec<&str> = wanted.as_array().map_or_else(
                    || vec![wanted.as_str().expect("a type")],
                    |all| all.iter().filter_map(Value::as_str).collect(),
                );
                if !types.iter().any(|kind| is_of(value, kind)) {
                    fault(format!("not of the type {types:?}"));
                }
            }
            "const" if value != wanted => fault(format!("not {wanted}")),
            "enum" if !wanted.as_array().expect("a list").contains(value) => fault(format!("none of {wanted}")),
            "minimum" if value.as_f64() < wanted.as_f64() && value.is_number() => fault(format!("below {wanted}")),
            "maximum" if value.as_f64() > wanted.as_f64() => fault(format!("above {wanted}")),
            "minLength" if value == "" => fault("empty".into()),
            "required" => {
                for key in wanted.as_array().expect("a list").iter().filter_map(Value::as_str) {
                    if value.as_object().is_some_and(|map| !map.contains_key(key)) {
                        fault(format!("no `{key}`"));
                    }
                }
            }
            "additionalProperties" if wanted.is_object() => {
                for (key, inner) in value.as_object().into_iter().flatten() {
                    if rules.get("properties").and_then(|named| named.get(key)).is_none() {
                        found.extend(faults(root, wanted, inner, &format!("{path}/{key}")));
                    }
                }
            }
            "additionalProperties" if *wanted == false => {
                for key in value.as_object().into_iter().flat_map(|map| map.keys()) {
                    if rules["properties"].get(key).is_none() {
                        fault(format!("`{key}` is not in the schema"));
                    }
                }
            }
            "properties" => {
                for (key, inner) in wanted.as_object().expect("an object") {
                    if let Some(value) = value.get(key) {
                        found.extend(faults(root, inner, value, &format!("{path}/{key}")));
                    }
                }
            }
            "items" => {
                for (i, item) in value.as_array().into_iter().flatten().enumerate() {
                    found.extend(faults(root, wanted, item, &format!("{path}/{i}")));
                }
            }
            "allOf" => {
                for one in wanted.as_array().expect("a list") {
                    found.extend(faults(root, one, value, path));
                }
            }
            "anyOf" => {
                let all = wanted.as_array().expect("a list").iter();
                let tried: Vec<Vec<String>> = all.map(|one| faults(root, one, value, path)).collect();
                if !tried.iter().any(Vec::is_empty) {
                    found.push(format!("{path}: none of {} fits: {tried:?}", tried.len()));
                }
            }
            "oneOf" => {
                let all = wanted.as_array().expect("a list").iter();
                let tried: Vec<Vec<String>> = all.map(|one| faults(root, one, value, path)).collect();
                if tried.iter().filter(|f| f.is_empty()).count() != 1 {
                    found.push(format!("{path}: not exactly one of {} fits: {tried:?}", tried.len()));
                }
            }
            "$ref" => {
                let at = wanted.as_str().and_then(|r| r.strip_prefix('#')).expect("a reference within");
                let inner = root.pointer(at).unwrap_or_else(|| panic!("{at} is not in the schema"));
                found.extend(faults(root, inner, value, path));
            }
            "$schema" | "$defs" | "title" | "description" | "pattern" | "maxLength" | "minItems" | "const" | "enum"
            | "examples" | "default" | "propertyNames" | "minimum" | "maximum" | "minLength" => {}
            other => panic!("the checker does not know `{other}`"),
        }
    }
    own.extend(found);
    own
}

fn is_of(value: &Value, kind: &str) -> bool {
    match kind {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        "number" => value.is_number(),
        "integer" => value.as_f64().is_some_and(|n| n.fract() == 0.0),
        other => panic!("no type `{other}`"),
    }
}
