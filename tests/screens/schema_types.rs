//! Types of the JSON Schema: one name each.

use inkjoule::project::schema::{File, schema};

/// Two types of one name: the second would be numbered, or stand for the first.
#[test]
fn every_type_of_the_schema_has_a_name_of_its_own() {
    for file in [File::Device, File::Screen, File::Part] {
        let schema = schema(file).to_value();
        let names: Vec<&String> = schema["$defs"].as_object().expect("definitions").keys().collect();
        let numbered: Vec<_> = names.iter().filter(|name| name.ends_with(|last: char| last.is_numeric())).collect();
        assert!(names.len() > 10 && numbered.is_empty(), "{numbered:?}");
    }
}

/// `hold` of a key was once given the schema of the booster's.
#[test]
fn a_table_within_another_has_the_schema_of_its_own_type() {
    let schema = schema(File::Device).to_value();
    let keys = |name: &str| schema["$defs"][name]["properties"].as_object().expect(name).clone();
    assert!(keys("HoldSpec").contains_key("after") && keys("BoosterHoldSpec").contains_key("current"));
    assert!(keys("StepSpec").contains_key("press") && keys("ProfileStepSpec").contains_key("current"));
    assert!(keys("AlternativeSpec").contains_key("do") && keys("ProjectAlternativeSpec").contains_key("set"));
}
