//! JSON Schema of the project's files, made from the types that read them.

use super::device::ProjectSpec;
use super::screen::ScreenHead;
use crate::elements::KINDS;
use crate::screen::place::{GROUPS, GroupStyle, PlaceSpec};
use schemars::{JsonSchema as _, Schema, SchemaGenerator, json_schema};
use serde_json::{Map, Value, json};

/// A kind of file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "cli", derive(clap::ValueEnum))]
pub enum File {
    /// device.toml
    Device,
    /// screens/*.toml
    Screen,
    /// parts/*.toml
    Part,
    /// strings/*.toml
    Strings,
}

/// The schema of a kind of file.
pub fn schema(file: File) -> Schema {
    let mut generator = SchemaGenerator::default();
    match file {
        File::Device => generator.into_root_schema_for::<ProjectSpec>(),
        File::Strings => json_schema!({ "type": "object", "additionalProperties": { "type": "string" } }),
        File::Screen | File::Part => {
            let mut properties = match file {
                File::Screen => properties(ScreenHead::json_schema(&mut generator)),
                _ => Map::new(),
            };
            properties.insert("content".into(), json!({ "type": "array", "items": { "$ref": "#/$defs/element" } }));
            let mut definitions = Map::new();
            definitions.insert("element".into(), element(&mut generator));
            definitions.extend(generator.take_definitions(true));
            json_schema!({
                "$schema": "https://json-schema.org/draft/2020-12/schema",
                "type": "object",
                "properties": properties,
                "required": ["content"],
                "additionalProperties": false,
                "$defs": definitions,
            })
        }
    }
}

/// Of a table that may start from a profile: what it needs otherwise is needed only without one.
pub(super) fn whole_or_from(schema: &mut Schema) {
    if let Some(required) = schema.remove("required") {
        schema.insert("anyOf".to_owned(), json!([{ "required": ["from"] }, { "required": required }]));
    }
}

/// The keys of a table that must be there.
fn required(schema: &Schema) -> Vec<String> {
    let names = schema.get("required").and_then(Value::as_array).into_iter().flatten();
    names.filter_map(Value::as_str).map(str::to_owned).collect()
}

fn properties(schema: Schema) -> Map<String, Value> {
    match schema.to_value() {
        Value::Object(mut object) => match object.remove("properties") {
            Some(Value::Object(properties)) => properties,
            _ => Map::new(),
        },
        _ => Map::new(),
    }
}

/// One element: a group, a part, or one of the kinds; place keys belong to all of them.
fn element(generator: &mut SchemaGenerator) -> Value {
    let place = properties(PlaceSpec::json_schema(generator));
    let style = properties(GroupStyle::json_schema(generator));
    let with_place = |mut own: Map<String, Value>, name: &str, mut needed: Vec<String>| {
        if !needed.iter().any(|key| key == name) {
            needed.insert(0, name.to_owned());
        }
        for (key, of_place) in place.clone() {
            // An element's own key of this name has another form.
            let both = own.remove(&key).map(|of_kind| json!({ "anyOf": [of_kind, &of_place] }));
            own.insert(key, both.unwrap_or(of_place));
        }
        json!({ "title": name, "type": "object", "properties": own, "required": needed, "additionalProperties": false })
    };
    let mut forms = Vec::new();
    for (name, _) in GROUPS {
        let mut own = style.clone();
        own.insert(name.into(), json!({ "type": "array", "items": { "$ref": "#/$defs/element" } }));
        forms.push(with_place(own, name, Vec::new()));
    }
    let mut part = Map::new();
    part.insert("part".into(), json!({ "type": "string", "description": "A file of parts/, without its ending." }));
    part.insert("with".into(), json!({ "type": "object", "additionalProperties": { "type": "string" } }));
    forms.push(with_place(part, "part", Vec::new()));
    for kind in KINDS {
        let schema = (kind.schema)(generator);
        let needed = required(&schema);
        forms.push(with_place(properties(schema), kind.name, needed));
    }
    json!({ "oneOf": forms })
}
