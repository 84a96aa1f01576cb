//! Where two JSON values first differ, and whether a job still gives what was issued of it.

use std::collections::BTreeSet;
use std::fmt;

use serde_json::{Value, json};

/// The path of the first value that differs, in order of keys, such as `applied.loads[2].reading.low`; `None` if they are the
/// same. A key that only one of them has differs at that key.
pub fn first_difference(one: &Value, other: &Value) -> Option<String> {
    let mut path = String::new();
    walk(one, other, &mut path).then_some(path)
}

/// Whether they differ; then `path` leads to where.
fn walk(one: &Value, other: &Value, path: &mut String) -> bool {
    let before = path.len();
    let mut differs = |step: &str, one: Option<&Value>, other: Option<&Value>| {
        path.truncate(before);
        path.push_str(step);
        one.zip(other).is_none_or(|(one, other)| walk(one, other, path))
    };
    let found = match (one, other) {
        (Value::Object(a), Value::Object(b)) => {
            let dot = if before == 0 { "" } else { "." };
            let keys: BTreeSet<&String> = a.keys().chain(b.keys()).collect();
            keys.into_iter().any(|key| differs(&format!("{dot}{key}"), a.get(key), b.get(key)))
        }
        (Value::Array(a), Value::Array(b)) => {
            (0..a.len().max(b.len())).any(|i| differs(&format!("[{i}]"), a.get(i), b.get(i)))
        }
        (a, b) => a != b,
    };
    if !found {
        path.truncate(before);
    }
    found
}

/// What would be made otherwise than it was issued: the first value that differs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    pub path: String,
    /// What was issued; `None` if the value was absent.
    pub was: Option<String>,
    /// What would be made; `None` if the value would be absent.
    pub would_be: Option<String>,
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = |value: &Option<String>| value.clone().unwrap_or_else(|| "absent".to_owned());
        write!(f, "`{}` was {} and would be {}", self.path, word(&self.was), word(&self.would_be))
    }
}

/// The first value at which the plan or the log of a job would be made otherwise than it was issued; `None` if they say the
/// same. Both are records, of which `plan`, `applied`, `revision`, `replaces` and `made_by` are looked at.
///
/// No published rule; chosen because it protects. What was issued is a statement about work that was done, so that only what
/// was planned and done counts. Left out is what says nothing of it:
/// - the firm's own address and telephone, its paper, licences as they stand now, the client's contact, notes to the crew;
/// - what is in store now and what the data sheet says now: cautions, hazards, equipment, label stock;
/// - the verdicts, which follow from plan, log and the lots that were in store on the day;
/// - the page, which follows from all of these, the language and the templates.
///
/// Another version of the program may round or name things otherwise though the job is the same: of its records only the log,
/// the client, the site and the time are compared.
pub fn issued_difference(issued: &Value, now: &Value) -> Option<Difference> {
    let same_program =
        issued["made_by"]["program"] == now["made_by"]["program"] && issued["plan"]["form"] == now["plan"]["form"];
    difference(&said(issued, same_program), &said(now, same_program))
}

/// The first value at which the plans of two records differ, whatever it is: a record's number follows from all of its plan.
pub fn plan_difference(record: &Value, now: &Value) -> Option<Difference> {
    difference(&json!({ "plan": record["plan"] }), &json!({ "plan": now["plan"] }))
}

fn difference(was: &Value, would_be: &Value) -> Option<Difference> {
    let path = cause(was, would_be).or_else(|| first_difference(was, would_be))?;
    Some(Difference {
        was: value_at(was, &path).map(shortened),
        would_be: value_at(would_be, &path).map(shortened),
        path,
    })
}

/// The first difference among the values that others follow from: a dilution rather than the time that it ends in.
fn cause(was: &Value, would_be: &Value) -> Option<String> {
    let within = |path: String| {
        let absent = Value::Null;
        let of = |value| value_at(value, &path).unwrap_or(&absent);
        let rest = first_difference(of(was), of(would_be))?;
        let dot = if rest.is_empty() || rest.starts_with('[') { "" } else { "." };
        Some(format!("{path}{dot}{rest}"))
    };
    let of_job = ["job", "client", "site", "start", "crew"];
    let of_job = of_job.iter().find_map(|key| within(format!("plan.{key}")));
    let count = was["plan"]["treatments"].as_array().map_or(0, Vec::len);
    let of_treatments = || {
        let keys = ["product", "directions", "sprayer", "ratio"];
        let paths = (0..count).flat_map(|i| keys.map(|key| format!("plan.treatments[{i}].{key}")));
        paths.into_iter().find_map(within)
    };
    of_job.or_else(of_treatments)
}

/// What a record says of the work, without what is empty.
fn said(record: &Value, same_program: bool) -> Value {
    let mut plan = record["plan"].clone();
    if !same_program {
        plan = json!({
            "job": plan["job"], "start": plan["start"],
            "client": { "name": plan["client"]["name"] },
            "site": { "name": plan["site"]["name"], "address": plan["site"]["address"] },
        });
    }
    let leave_out = |value: &mut Value, keys: &[&str]| {
        if let Some(fields) = value.as_object_mut() {
            fields.retain(|key, _| !keys.contains(&key.as_str()));
        }
    };
    leave_out(&mut plan, &["company", "page", "notes", "equipment", "cautions", "regime", "form"]);
    leave_out(&mut plan["client"], &["contact"]);
    for member in plan["crew"].as_array_mut().into_iter().flatten() {
        leave_out(member, &["licence"]);
    }
    for treatment in plan["treatments"].as_array_mut().into_iter().flatten() {
        leave_out(treatment, &["hazards", "equipment", "stock"]);
        leave_out(&mut treatment["product"], &["sds_link", "label_signal", "never_with"]);
    }
    bare(json!({
        "plan": plan,
        "applied": record["applied"],
        "revision": record["revision"],
        "replaces": record["replaces"],
    }))
}

/// Without values that hold nothing, so that a key that a later version adds, and leaves empty, makes no difference.
fn bare(value: Value) -> Value {
    let is_empty = |value: &Value| match value {
        Value::Null => true,
        Value::Array(items) => items.is_empty(),
        Value::Object(fields) => fields.is_empty(),
        _ => false,
    };
    match value {
        Value::Object(fields) => {
            fields.into_iter().map(|(key, value)| (key, bare(value))).filter(|(_, value)| !is_empty(value)).collect()
        }
        // places in a list count
        Value::Array(items) => items.into_iter().map(bare).collect(),
        other => other,
    }
}

/// The value at a path as [`first_difference`] writes it.
pub fn value_at<'v>(value: &'v Value, path: &str) -> Option<&'v Value> {
    let pointer = format!("/{}", path.replace('[', "/").replace(']', "").replace('.', "/"));
    value.pointer(&pointer)
}

/// A value on one line, cut to 60 characters, without characters that a terminal would obey.
pub fn shortened(value: &Value) -> String {
    const MOST: usize = 60;
    let text = match value {
        // a quantity reads better than the group that holds it
        Value::Object(fields) if fields.len() == 2 && fields.contains_key("value") && fields.contains_key("unit") => {
            format!("{} {}", fields["value"], fields["unit"].as_str().unwrap_or_default())
        }
        other => other.to_string(),
    };
    let plain = text.chars().filter(|c| !crate::diagnostic::is_unseen(*c));
    let shown: String = plain.clone().take(MOST).collect();
    if plain.count() > MOST { format!("{shown}…") } else { shown }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn record() -> Value {
        json!({
            "made_by": { "program": "decant 1" },
            "plan": {
                "form": "decant plan 2", "job": "7", "start": "2026-04-13T18:00:00",
                "company": { "phone": "555-0100" }, "client": { "name": "A", "contact": "B" }, "site": { "name": "S" },
                "crew": [{ "name": "C", "licence": "1" }], "cautions": [{ "code": "lot-expired" }],
                "treatments": [{ "loads": [{ "water": { "value": 7570.8, "unit": "mL" } }], "hazards": { "a": 1 } }],
            },
            "applied": { "loads": [{ "reading": { "low": 600 } }], "areas": [] },
            "verdicts": [{ "rule": "lot", "outcome": "holds" }],
            "certificate": { "data": {} },
            "revision": 1, "replaces": null,
        })
    }

    fn change(path: &str, value: Value) -> Option<Difference> {
        let mut now = record();
        *now.pointer_mut(path).expect("there") = value;
        issued_difference(&record(), &now)
    }

    #[test]
    fn what_says_nothing_of_the_work_is_no_difference() {
        assert_eq!(issued_difference(&record(), &record()), None);
        for (path, value) in [
            ("/plan/company/phone", json!("555-0199")),
            ("/plan/client/contact", json!(null)),
            ("/plan/crew/0/licence", json!("2")),
            ("/plan/cautions", json!([])),
            ("/plan/treatments/0/hazards", json!({})),
            ("/verdicts/0/outcome", json!("deviates")),
            ("/certificate", json!(null)),
            // a key of a later version, with nothing in it
            ("/applied/areas", json!(null)),
        ] {
            assert_eq!(change(path, value), None, "{path}");
        }
    }

    #[test]
    fn what_was_planned_and_done_is_compared_and_shown() {
        let differs = |path, value| change(path, value).map(|found| found.to_string());
        assert_eq!(
            differs("/plan/treatments/0/loads/0/water/value", json!(3785.4)).as_deref(),
            Some("`plan.treatments[0].loads[0].water.value` was 7570.8 and would be 3785.4")
        );
        assert_eq!(
            differs("/applied", json!(null)).as_deref(),
            Some("`applied` was {\"loads\":[{\"reading\":{\"low\":600}}]} and would be absent")
        );
        assert!(differs("/revision", json!(2)).is_some());
        assert!(differs("/plan/start", json!("2026-04-13T19:00:00")).is_some());
    }

    #[test]
    fn the_cause_is_named_before_what_follows_from_it() {
        let (mut was, mut now) = (record(), record());
        was["plan"]["treatments"][0]["directions"] = json!({ "dilution": { "value": 2 } });
        now["plan"]["treatments"][0]["directions"] = json!({ "dilution": { "value": 3 } });
        now["plan"]["treatments"][0]["areas"] = json!([{ "done": "2026-04-13T19:00:00" }]);
        let found = issued_difference(&was, &now).expect("a difference");
        assert_eq!(found.path, "plan.treatments[0].directions.dilution.value");
    }

    #[test]
    fn of_another_version_only_the_log_and_what_the_job_says_are_compared() {
        let mut now = record();
        now["made_by"]["program"] = json!("decant 2");
        now["plan"]["treatments"][0]["loads"][0]["water"]["value"] = json!(7570.9);
        assert_eq!(issued_difference(&record(), &now), None);
        now["applied"]["loads"][0]["reading"]["low"] = json!(500);
        let found = issued_difference(&record(), &now).expect("a difference");
        assert_eq!(found.path, "applied.loads[0].reading.low");
    }

    #[test]
    fn the_path_leads_to_the_first_difference() {
        let one = json!({ "a": [1, { "b": "x" }], "c": null });
        for (other, path) in [
            (one.clone(), None),
            (json!({ "a": [1, { "b": "y" }], "c": 2 }), Some("a[1].b")),
            (json!({ "a": [1] }), Some("a[1]")),
            (json!({ "a": [1, { "b": "x" }], "c": null, "z": null }), Some("z")),
        ] {
            assert_eq!(first_difference(&one, &other).as_deref(), path);
        }
    }
}
