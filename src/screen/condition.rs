//! Conditions as written. Not for testing them; see [`super::values::Condition`].

use crate::source::amount::At;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Deserialize;
use std::borrow::Cow;

/// A condition: on a field, or, for elements, on where the flow is.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct ConditionSpec {
    /// The field asked, by exactly one of `below`, `from` and `is`.
    pub field: Option<At<String>>,
    /// True below this number, or below this field.
    pub below: Option<At<LimitSpec>>,
    /// True at or above this number, or this field.
    pub from: Option<At<LimitSpec>>,
    /// True at exactly this number (of a choice: its position, counted from 0).
    pub is: Option<f64>,
    /// True on this screen, or on one of these: for what several screens share.
    pub screen: Option<At<ScreenNames>>,
    /// True while the screen shown was entered from this one.
    pub from_screen: Option<At<String>>,
    /// True once this event has happened while the screen is shown; entering a screen makes it false.
    pub event: Option<At<String>>,
}

/// The schema of a condition where only fields can be asked: everywhere but on elements.
pub struct OnField;

impl JsonSchema for OnField {
    fn schema_name() -> Cow<'static, str> {
        "condition-on-field".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let mut schema = ConditionSpec::json_schema(generator);
        if let Some(keys) = schema.get_mut("properties").and_then(|keys| keys.as_object_mut()) {
            keys.retain(|key, _| !["screen", "from-screen", "event"].contains(&key.as_str()));
        }
        schema.insert("description".to_owned(), "A condition on a field.".into());
        schema.insert("required".to_owned(), vec!["field"].into());
        schema
    }
}

/// A screen, or several.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(untagged, expecting = "expected the name of a screen, or a list of names")]
pub enum ScreenNames {
    /// One.
    One(String),
    /// One of these.
    Any(Vec<String>),
}

impl ScreenNames {
    /// The names.
    pub fn names(&self) -> &[String] {
        match self {
            Self::One(name) => std::slice::from_ref(name),
            Self::Any(names) => names,
        }
    }
}

/// A number or another field.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(untagged, expecting = "expected a number or the name of a field")]
pub enum LimitSpec {
    /// A number.
    Number(f64),
    /// A field's name.
    Field(String),
}
