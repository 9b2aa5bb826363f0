//! Every key of behaviour that a project file may have stands in the files of the second product: the keys are those of the
//! program's own schema, so that a feature which comes later must be used there or be named here with its reason.

use inkjoule::project::schema::{File, schema};
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::Path;

/// Parts of the schema that say nothing of behaviour: the board, the panel, the battery, pictures, fonts, limits. They are
/// used by the demo and by tests of their own.
const OTHER_MATTERS: [&str; 35] = [
    "AtRateSpec",
    "AtRestSpec",
    "CycleLifeSpec",
    "ProjectAlternativeSpec",
    "AtChargeSpec",
    "AtTemperatureSpec",
    "BatterySpec",
    "BoardSpec",
    "BufferSpec",
    "BusSpec",
    "CapacitorSpec",
    "ChargerSpec",
    "ClockSpec",
    "ClockedSpec",
    "PowerOffSpec",
    "StageSpec",
    "DisplaySpec",
    "DriveSpec",
    "EfficiencyAt",
    "EfficiencySpec",
    "element",
    "FontSpec",
    "FormatSpec",
    "FormatsSpec",
    "LimitsSpec",
    "McuSpec",
    "MemorySpec",
    "Packing",
    "PanelSpec",
    "PhaseSpec",
    "RailSpec",
    "RefreshSpec",
    "TemperatureSpec",
    "VoltageAtSpec",
    "WindowSpec",
];

/// Keys of behaviour that the product leaves out, and why.
const EXCEPTIONS: [(&str, &str, &str); 21] = [
    ("device", "alternatives", "batteries and panels to choose among: no behaviour"),
    ("device", "fonts", "pictures"),
    ("device", "lints", "it is clean without"),
    ("screen", "lints", "it is clean without"),
    ("PolicySpec", "buffer", "memory: no behaviour"),
    ("UsageSpec", "spread", "uncertainty of the use"),
    ("FieldSpec", "worst", "what is drawn at its widest"),
    ("EventSpec", "mcu-awake", "the supply's part of an event"),
    ("EventSpec", "never-with", "the supply's part of an event"),
    ("EventSpec", "profile", "the supply's part of an event"),
    ("LoadSpec", "mcu-awake", "the supply's part of a load"),
    ("LoadSpec", "never-with", "the supply's part of a load"),
    ("LoadSpec", "needed", "the supply's part of a load"),
    ("LoadSpec", "power", "the supply's part of a load"),
    ("LoadSpec", "profile", "the supply's part of a load"),
    ("SignalSpec", "random", "the world around it: the demo has it"),
    ("SignalSpec", "replay", "the world around it: the demo has it"),
    ("SignalSpec", "thresholds", "the world around it: the demo has it"),
    ("ProfileStepSpec", "power", "a step of a load's profile"),
    ("ProfileStepSpec", "current", "a step of a load's profile"),
    ("ProfileStepSpec", "time", "a step of a load's profile"),
];

type Keys = BTreeSet<(String, String)>;

/// What a part of a schema is called: its own name, or that of the file.
fn resolve<'s>(root: &'s Value, part: &'s Value, name: &'s str) -> (&'s Value, &'s str) {
    match part["$ref"].as_str().and_then(|link| link.strip_prefix("#/$defs/")) {
        Some(name) => (&root["$defs"][name], name),
        None => (part, name),
    }
}

/// The parts that a part consists of, or is one of.
fn branches(part: &Value) -> impl Iterator<Item = &Value> {
    ["anyOf", "oneOf", "allOf"].into_iter().flat_map(|word| part[word].as_array().into_iter().flatten())
}

/// Every key, with the part it stands in.
fn known(root: &Value, part: &Value, name: &str, seen: &mut BTreeSet<String>, keys: &mut Keys) {
    let (part, own) = resolve(root, part, name);
    if own != name && !seen.insert(own.to_owned()) {
        return;
    }
    for (key, value) in part["properties"].as_object().into_iter().flatten() {
        keys.insert((own.to_owned(), key.clone()));
        known(root, value, &format!("{own}.{key}"), seen, keys);
    }
    branches(part).for_each(|branch| known(root, branch, own, seen, keys));
    for inner in [&part["items"], &part["additionalProperties"]].into_iter().filter(|inner| inner.is_object()) {
        known(root, inner, own, seen, keys);
    }
}

/// Every key that a file uses, with the part it stands in.
fn used(root: &Value, part: &Value, name: &str, value: &toml::Value, keys: &mut Keys) {
    let (part, own) = resolve(root, part, name);
    branches(part).for_each(|branch| used(root, branch, own, value, keys));
    match value {
        toml::Value::Table(table) => {
            let properties = part["properties"].as_object();
            for (key, inner) in table {
                match properties.and_then(|properties| properties.get(key)) {
                    Some(below) => {
                        keys.insert((own.to_owned(), key.clone()));
                        used(root, below, &format!("{own}.{key}"), inner, keys);
                    }
                    None if part["additionalProperties"].is_object() => {
                        used(root, &part["additionalProperties"], own, inner, keys);
                    }
                    None => {}
                }
            }
        }
        toml::Value::Array(list) => list.iter().for_each(|inner| used(root, &part["items"], own, inner, keys)),
        _ => {}
    }
}

fn read(path: &Path) -> toml::Value {
    let text = std::fs::read_to_string(path).expect("readable");
    toml::Value::Table(text.parse().expect("a table"))
}

#[test]
fn every_key_of_behaviour_is_used_by_the_product() {
    let folder = Path::new("tests/product");
    let (mut all, mut found) = (Keys::new(), Keys::new());
    for (file, name) in [(File::Device, "device"), (File::Screen, "screen")] {
        let root = serde_json::to_value(schema(file)).expect("JSON");
        known(&root, &root, name, &mut BTreeSet::new(), &mut all);
        let files = match file {
            File::Screen => {
                let entries = std::fs::read_dir(folder.join("screens")).expect("the folder is there");
                entries.map(|entry| entry.expect("readable").path()).collect()
            }
            _ => vec![folder.join("device.toml")],
        };
        files.iter().for_each(|path| used(&root, &root, name, &read(path), &mut found));
    }
    assert!(all.len() > 150, "{}", all.len());
    let except = |(part, key): &&(String, String)| EXCEPTIONS.iter().any(|(of, one, _)| of == part && one == key);
    let other = |(part, _): &&(String, String)| {
        let begin = part.split('.').next().unwrap_or_default();
        OTHER_MATTERS.contains(&begin) || part.contains('.')
    };
    // An action is an action wherever it stands: what each place does with it, the random designs try.
    let names: BTreeSet<&str> = found.iter().map(|(_, key)| key.as_str()).collect();
    let unused = all.difference(&found).filter(|(_, key)| !names.contains(key.as_str()));
    let missing: Vec<_> = unused.filter(|key| !other(key) && !except(key)).collect();
    assert!(missing.is_empty(), "use these in tests/product, or say why not: {missing:?}");
    // No exception outlives its reason.
    let idle: Vec<_> = EXCEPTIONS
        .iter()
        .filter(|(part, key, _)| {
            let key = ((*part).to_owned(), (*key).to_owned());
            !all.contains(&key) || found.contains(&key)
        })
        .collect();
    assert!(idle.is_empty(), "no exceptions any more: {idle:?}");
    let gone: Vec<_> = OTHER_MATTERS.iter().filter(|name| !all.iter().any(|(part, _)| part == *name)).collect();
    assert!(gone.is_empty(), "no such parts: {gone:?}");
}
