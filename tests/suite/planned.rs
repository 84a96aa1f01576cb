//! Good input: the plan, number for number.

use serde_json::Value;

use crate::support::case::{cases, difference, none_differ};
use crate::support::program::decant;
use crate::support::workspace::root;

#[test]
fn every_plan_is_as_expected() {
    let all = cases("planned");
    assert!(all.len() >= 9, "only {} cases", all.len());
    let mut differences = Vec::new();
    for case in all {
        let run = decant(&case.folder, ["plan", "--json", "job.yaml"]);
        if run.code != Some(0) || !run.stderr.is_empty() {
            differences.push(format!("{}: exit {:?}, stderr:\n{}", case.name, run.code, run.stderr));
        }
        differences.extend(difference(&case, "expected.json", &run.stdout));
    }
    none_differ(&differences);
}

/// Common practice, no source: 1 fl oz/gal into 15 gal of water needs 15 fl oz, and at 8.9 fl oz/min that lasts a
/// little over three and a half hours. Checked apart from the expected file, which re-blessing would overwrite.
#[test]
fn fifteen_gallons_at_one_ounce_a_gallon_need_fifteen_ounces() {
    const FLUID_OUNCE: f64 = 29.573_529_562_5;
    let run = decant(&root().join("tests/cases/planned/fifteen-gallon-tank"), ["plan", "--json", "job.yaml"]);
    let plan: Value = serde_json::from_str(&run.must_end_with(0).stdout).expect("a plan is JSON");
    let loads = plan["treatments"][0]["loads"].as_array().expect("loads");
    assert_eq!(loads.len(), 1);
    let millilitres = |value: &Value| value["value"].as_f64().expect("a volume");
    let water = millilitres(&loads[0]["water"]) / FLUID_OUNCE;
    let product = find_volume(&loads[0]["product"]).expect("a volume of product") / FLUID_OUNCE;
    assert!((water - 15.0 * 128.0).abs() < 1e-6, "{water} fl oz of water");
    assert!((product - 15.0).abs() < 1e-6, "{product} fl oz of product");
    let hours = plan["treatments"][0]["spraying"]["value"].as_f64().expect("a time") / 3600.0;
    assert!((3.5..3.7).contains(&hours), "{hours} h");
}

/// The one volume in an amount, however the amount is wrapped.
fn find_volume(amount: &Value) -> Option<f64> {
    match amount {
        Value::Object(map) if map.get("unit").is_some_and(|unit| unit == "mL") => map.get("value")?.as_f64(),
        Value::Object(map) => map.values().find_map(find_volume),
        _ => None,
    }
}
