//! Where two JSON values first differ.

use serde_json::Value;

/// The path of the first value that differs, in order of keys, such as `applied.loads[2].reading.low`; `None` if they are the
/// same. A key that only one of them has differs at that key.
pub fn first_difference(one: &Value, other: &Value) -> Option<String> {
    let mut path = String::new();
    walk(one, other, &mut path).then_some(path)
}

/// Whether they differ; then `path` leads to where.
fn walk(one: &Value, other: &Value, path: &mut String) -> bool {
    let before = path.len();
    match (one, other) {
        (Value::Object(a), Value::Object(b)) => {
            let mut keys: Vec<&String> = a.keys().chain(b.keys()).collect();
            keys.sort();
            keys.dedup();
            for key in keys {
                if !path.is_empty() {
                    path.push('.');
                }
                path.push_str(key);
                let differs = match (a.get(key), b.get(key)) {
                    (Some(x), Some(y)) => walk(x, y, path),
                    _ => true,
                };
                if differs {
                    return true;
                }
                path.truncate(before);
            }
            false
        }
        (Value::Array(a), Value::Array(b)) => {
            for i in 0..a.len().max(b.len()) {
                path.push_str(&format!("[{i}]"));
                let differs = match (a.get(i), b.get(i)) {
                    (Some(x), Some(y)) => walk(x, y, path),
                    _ => true,
                };
                if differs {
                    return true;
                }
                path.truncate(before);
            }
            false
        }
        (a, b) => a != b,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn the_path_leads_to_the_first_difference() {
        let one = json!({ "a": [1, { "b": "x" }], "c": null });
        assert_eq!(first_difference(&one, &one), None);
        let other = json!({ "a": [1, { "b": "y" }], "c": 2 });
        assert_eq!(first_difference(&one, &other).as_deref(), Some("a[1].b"));
        assert_eq!(first_difference(&one, &json!({ "a": [1] })).as_deref(), Some("a[1]"));
        assert_eq!(
            first_difference(&json!({}), &json!({ "z": null })).as_deref(),
            Some("z")
        );
    }
}
