//! The reference of all keys, made from the JSON Schema. Not for what keys mean beyond their own sentence: the pages say that.

use crate::project::schema::{File, schema};
use crate::screen::place::PLACE_KEYS;
use crate::table::wrap;
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet};

/// Columns of a line.
const WIDE: usize = 100;

/// Every key of every file, in Markdown.
pub fn keys() -> String {
    let mut text = "# All keys\n\nEvery key of a project's files with its form and meaning; `NAME` stands for a name of your own, `[]` for each entry of a list. A quantity that varies is a table of `typ`, `min`, `max` and `source`: only `typ` is required, and without a `source` the value counts as an assumption.\n".to_owned();
    text += &format!("\n## Quantities\n\n{}", quantities(&schema(File::Device).to_value()));
    for (file, name) in [(File::Device, "device.toml"), (File::Screen, "screens/NAME.toml")] {
        let root = schema(file).to_value();
        let mut page =
            Page { definitions: root.get("$defs").unwrap_or(&Value::Null), seen: BTreeMap::new(), text: String::new() };
        page.table("", &root);
        text += &format!("\n## {name}\n\n{}", page.text);
        if file == File::Screen {
            text += &elements(page.definitions);
        }
    }
    text += "\n## parts/NAME.toml\n\n- `content`: as on a screen; a text that begins with `$` is filled in where the part is used.\n";
    text + "\n## strings/LOCALE.toml\n\n- `NAME`: text. The text that `@NAME` stands for in this locale.\n"
}

/// Each quantity with its units, once.
fn quantities(root: &Value) -> String {
    let mut found = BTreeSet::new();
    collect(root, &mut found);
    found.iter().map(|about| wrap(&format!("- {about}"), WIDE, 2)).collect()
}

fn collect(schema: &Value, found: &mut BTreeSet<String>) {
    let about = schema["description"].as_str().filter(|about| about.contains(" with its unit ("));
    found.extend(about.filter(|_| schema["examples"].is_array()).map(str::to_owned));
    let below = schema.as_object().into_iter().flat_map(Map::values).chain(schema.as_array().into_iter().flatten());
    below.for_each(|part| collect(part, found));
}

/// Whether a table is a quantity with its tolerance and source.
fn varies(schema: &Value) -> bool {
    let keys = schema["properties"].as_object().into_iter().flatten().map(|(key, _)| key.as_str());
    let mut keys: Vec<&str> = keys.collect();
    keys.sort_unstable();
    keys == ["max", "min", "source", "typ"]
}

/// The kinds of element: the keys that all share, then each kind's own.
fn elements(definitions: &Value) -> String {
    let forms = definitions["element"]["oneOf"].as_array().map(Vec::as_slice).unwrap_or_default();
    let keys = |form: &Value, wanted: &dyn Fn(&str) -> bool| {
        let own: Map<String, Value> = form["properties"]
            .as_object()
            .into_iter()
            .flatten()
            .filter(|(key, _)| wanted(key))
            .map(|(key, value)| (key.clone(), value.clone()))
            .collect();
        let table = serde_json::json!({ "type": "object", "properties": own, "required": form["required"] });
        let mut page = Page { definitions, seen: BTreeMap::new(), text: String::new() };
        page.table("", &table);
        page.text
    };
    let shared = forms.first().map(|form| keys(form, &|key| PLACE_KEYS.contains(&key))).unwrap_or_default();
    let mut text = format!("\n## Every element\n\n{shared}");
    for form in forms {
        let name = form["title"].as_str().unwrap_or_default();
        text += &format!("\n### {name}\n\n{}", keys(form, &|key| !PLACE_KEYS.contains(&key)));
    }
    text
}

/// Lines about keys, one below the other.
struct Page<'s> {
    definitions: &'s Value,
    /// Tables that were listed already, and under which key.
    seen: BTreeMap<String, String>,
    text: String,
}

impl<'s> Page<'s> {
    /// The keys of a table, with those of the tables in it.
    fn table(&mut self, path: &str, schema: &'s Value) {
        let required = schema["required"].as_array();
        for (key, value) in schema["properties"].as_object().into_iter().flatten() {
            let needed = required.is_some_and(|keys| keys.iter().any(|name| name == key));
            self.key(&joined(path, key), value, needed);
        }
    }

    fn key(&mut self, path: &str, schema: &'s Value, needed: bool) {
        let inner = self.tables(schema);
        let mut line = format!("- `{path}`: {}", self.form(schema, 0));
        if needed {
            line += ", required";
        }
        if let Some(default) = schema.get("default").filter(|default| !empty(default)) {
            line += &format!(", {default} if left out");
        }
        if let Some(about) = self.about(schema) {
            line += &format!(". {}", about.replace('\n', " "));
        }
        self.text += &wrap(&line, WIDE, 2);
        // A value may have several tables under one name: each form of it is listed at the first key that has it.
        let before = self.seen.clone();
        for (end, table, name) in inner {
            let path = format!("{path}{end}");
            match name.as_ref().and_then(|name| before.get(name)) {
                Some(first) => {
                    let line = format!("- `{path}...`: as `{first}...`\n");
                    if !self.text.ends_with(&line) && *first != path && !path.starts_with(&format!("{first}.")) {
                        self.text += &line;
                    }
                }
                None => {
                    self.seen.extend(name.map(|name| (name, path.clone())));
                    self.table(&path, table);
                }
            }
        }
    }

    /// A schema's own sentence, or that of what it refers to.
    fn about(&self, schema: &'s Value) -> Option<&'s str> {
        let own = schema["description"].as_str();
        own.or_else(|| self.referred(schema).and_then(|(_, schema)| self.about(schema)))
    }

    fn referred(&self, schema: &'s Value) -> Option<(&'s str, &'s Value)> {
        let name = schema["$ref"].as_str()?.strip_prefix("#/$defs/")?;
        Some((name, &self.definitions[name]))
    }

    /// The tables in a value: the end of their path, their schema, and the name by which others refer to them.
    fn tables(&self, schema: &'s Value) -> Vec<(&'static str, &'s Value, Option<String>)> {
        if let Some((name, schema)) = self.referred(schema) {
            if name == "element" {
                return Vec::new();
            }
            let named =
                |(end, table, inner): (_, _, Option<String>)| (end, table, inner.or_else(|| Some(name.to_owned())));
            return self.tables(schema).into_iter().map(named).collect();
        }
        let mut found = Vec::new();
        if !schema.is_object() {
            return found;
        }
        for form in ["anyOf", "oneOf"].iter().filter_map(|word| schema[*word].as_array()).flatten() {
            found.extend(self.tables(form));
        }
        if schema["properties"].is_object() && !varies(schema) {
            found.push(("", schema, None));
        }
        let below = |end: &'static str, schema: &'s Value| {
            self.tables(schema)
                .into_iter()
                .filter(|(more, ..)| more.is_empty())
                .map(move |(_, table, name)| (end, table, name))
        };
        found.extend(below(".NAME", &schema["additionalProperties"]));
        found.extend(below("[]", &schema["items"]));
        found
    }

    /// What is written for a value.
    fn form(&self, schema: &'s Value, depth: usize) -> String {
        if depth > 6 {
            return "...".to_owned();
        }
        if let Some((name, schema)) = self.referred(schema) {
            return if name == "element" { "element".to_owned() } else { self.form(schema, depth + 1) };
        }
        if let Some(word) = schema.get("const") {
            return word.to_string();
        }
        if let Some(words) = schema["enum"].as_array() {
            return words.iter().filter(|word| !word.is_null()).map(Value::to_string).collect::<Vec<_>>().join(" or ");
        }
        if let Some(example) = schema["examples"].as_array().and_then(|examples| examples.first()) {
            return format!("such as {example}");
        }
        let mut forms: Vec<String> = Vec::new();
        for form in ["anyOf", "oneOf"].iter().filter_map(|word| schema[*word].as_array()).flatten() {
            forms.push(self.form(form, depth + 1));
        }
        let types = schema["type"].as_array().cloned().unwrap_or_else(|| vec![schema["type"].clone()]);
        for kind in types.iter().filter_map(Value::as_str) {
            forms.push(match kind {
                "string" => "text".to_owned(),
                "integer" => "whole number".to_owned(),
                "number" => "number".to_owned(),
                "boolean" => "true or false".to_owned(),
                "array" => {
                    let one = self.form(&schema["items"], depth + 1);
                    if one.starts_with("such as") { format!("list, each {one}") } else { format!("list of {one}") }
                }
                "object" if varies(schema) => "one that varies".to_owned(),
                "object" => "table".to_owned(),
                _ => continue,
            });
        }
        let mut once: Vec<String> = Vec::new();
        for form in forms.into_iter().filter(|form| !form.is_empty()) {
            if !once.contains(&form) {
                once.push(form);
            }
        }
        once.join(" or ")
    }
}

/// Defaults that say nothing.
fn empty(default: &Value) -> bool {
    match default {
        Value::Null => true,
        Value::String(text) => text.is_empty(),
        Value::Array(list) => list.is_empty(),
        Value::Object(table) => table.is_empty() || table.values().all(empty),
        _ => false,
    }
}

fn joined(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }
}
