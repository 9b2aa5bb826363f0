//! Keys of JSON are in one style: snake_case, and what has a unit has it at its end. Names that a user also types (figures,
//! screens, lints) stand as values, or as the keys of `figures`.

use crate::starter::run;
use serde_json::Value;

/// Endings that name a unit, or that a number has none.
const UNITS: [&str; 16] = [
    "_s",
    "_j",
    "_c",
    "_a",
    "_v",
    "_w",
    "_ohm",
    "_px",
    "_bytes",
    "_m",
    "_degc",
    "days",
    "_fraction",
    "_arcmin",
    "bytes",
    "ppi",
];

/// Numbers without a unit: counts (of a day in `per_day` and `use`), shares, positions and sizes of rectangles in pixels.
const PLAIN: &[&str] = &[
    "schema",
    "x",
    "y",
    "w",
    "h",
    "share",
    "state_of_charge",
    "from_state_of_charge",
    "to_state_of_charge",
    "elasticity",
    "full",
    "periodic_full",
    "flashes_seen",
    "partial",
    "windows",
    "blocked",
    "presses",
    "dropped_presses",
    "unassigned_presses",
    "journeys",
    "derailed_journeys",
    "key",
    "dropped",
    "unassigned",
    "entered",
    "devices",
    "limited_by_voltage",
    "reserve_updates",
    "refreshes_per_day",
    "refreshes",
    "busiest_drives",
    "max_partials_between_full",
    "first_refresh",
    "below_partial_range",
    "full_on_entry",
    "partial_limit",
    "images_compared",
    "now",
    "values",
    "value",
    "passed_at",
    "rows",
    "missing_rows",
    "gaps",
    "count",
    "phases_of",
    "kind",
    "duration",
    "current",
    "charge",
    "states",
    "bound",
    "glyphs",
];

fn snake(key: &str) -> bool {
    let part = |part: &str| !part.is_empty() && part.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit());
    key.split('_').all(part) && key.starts_with(|c: char| c.is_ascii_lowercase())
}

/// Keys of numbers without a unit and keys in another style, each with where it stands. A list or a group such as
/// `{ min, typ, max }` has the unit of the key that it stands under.
fn odd(value: &Value, path: &str, unit: bool, found: &mut Vec<String>) {
    match value {
        Value::Object(entries) => entries.iter().filter(|(key, _)| *key != "figures").for_each(|(key, value)| {
            let path = format!("{path}/{key}");
            if !snake(key) {
                found.push(format!("{path} is not in snake_case"));
            }
            // Of the voltages of the supply the unit comes first.
            let volts = key.starts_with("v_");
            let named = volts || UNITS.iter().any(|end| key.ends_with(end)) || PLAIN.contains(&key.as_str());
            odd(value, &path, named || (unit && !value.is_object()), found);
        }),
        Value::Array(values) => values.iter().for_each(|value| odd(value, path, unit, found)),
        Value::Number(_) if !unit => found.push(format!("{path} has no unit")),
        _ => {}
    }
}

#[test]
fn keys_are_in_one_style_with_their_units() {
    let trace = "screens-demo/traces/bench-current.csv";
    for arguments in [
        &["budget", "screens-demo"][..],
        &["compare", "screens-demo", "tests/product"],
        &["sweep", "screens-demo", "policy.max-partials", "2..6", "--steps", "2", "--figure", "life-days"],
        &["trace", trace, "--against", "screens-demo", "--voltage", "3.7 V"],
        &["check", "tests/faulty"],
        &["fonts", "screens-demo"],
        &["fonts", "tests/faulty"],
    ] {
        let shown = run(&[arguments, &["--format", "json"]].concat());
        let value: Value = serde_json::from_str(&shown.stdout).expect("JSON alone on standard output");
        let mut found = Vec::new();
        odd(&value, "", false, &mut found);
        found.sort();
        found.dedup();
        assert!(found.is_empty(), "{arguments:?}: {found:#?}");
    }
}

#[test]
fn one_quantity_has_one_name() {
    let budget = run(&["budget", "screens-demo", "--format", "json"]).stdout;
    let budget: Value = serde_json::from_str(&budget).expect("JSON");
    // A temperature is no charge: `_c` is coulombs.
    let corner = &budget["battery"]["supply_corners"]["updates"][0]["corners"][0];
    for key in ["temperature_degc", "open_circuit_v", "under_load_v", "resistance_ohm"] {
        assert!(corner[key].is_number(), "{key}: {corner}");
    }
    assert!(budget["screens"][0]["full"]["latency_s"].is_number() && budget["transitions"][0]["latency_s"].is_number());
    assert!(budget["memory"]["schemes"][0]["external_bytes"].is_number());
}
