//! Conditions as written. Not for testing them; see [`super::values::Condition`].

use crate::source::amount::{At, Qty};
use crate::source::spans::Span;
use crate::units::Seconds;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::value::{MapAccessDeserializer, SeqAccessDeserializer};
use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use std::borrow::Cow;
use std::fmt;

/// A condition: on a field, or, for elements, on where the flow is.
#[derive(Clone, Debug, Default, serde::Deserialize, JsonSchema)]
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
    /// In `while`, with `after`: true for so long.
    #[serde(rename = "for")]
    pub lasts: Option<At<Qty<Seconds>>>,
    /// In `while`, with `for`: after which cause.
    pub after: Option<At<CauseSpec>>,
}

impl ConditionSpec {
    /// Whether it asks anything beside a field.
    pub fn asks_the_flow(&self) -> bool {
        let places = self.screen.is_some() || self.from_screen.is_some();
        places || self.event.is_some() || self.lasts.is_some() || self.after.is_some()
    }
}

/// After what a time counts; each time that it happens the time begins again.
#[derive(Clone, Debug, serde::Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CauseSpec {
    /// A key goes down, or does something by being kept down or let go: its number counted from 1, or "any".
    Key(CauseKey),
    /// This screen is entered, or this box opens.
    Screen(String),
    /// This event happens.
    Event(String),
}

/// One key, or any.
#[derive(Clone, Copy, Debug, serde::Deserialize, JsonSchema)]
#[serde(untagged, expecting = "expected the number of a key, or \"any\"")]
pub enum CauseKey {
    /// This one, counted from 1.
    Number(u32),
    /// Any.
    Any(AnyKey),
}

/// The word for any key.
#[derive(Clone, Copy, Debug, serde::Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum AnyKey {
    /// Any key.
    Any,
}

/// What must hold while something happens: one condition, or several of which all must hold.
#[derive(Clone, Debug)]
pub enum WhileSpec {
    /// One.
    One(Box<ConditionSpec>),
    /// All of these.
    All(Vec<At<ConditionSpec>>),
}

impl WhileSpec {
    /// Each condition with its place.
    pub fn each(at: &At<Self>) -> Vec<(&ConditionSpec, &Span)> {
        match &at.value {
            Self::One(one) => vec![(one.as_ref(), &at.span)],
            Self::All(all) => all.iter().map(|one| (&one.value, &one.span)).collect(),
        }
    }
}

// By hand, since an untagged enum would lose the places of its parts.
impl<'de> Deserialize<'de> for WhileSpec {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Both;
        impl<'de> Visitor<'de> for Both {
            type Value = WhileSpec;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a condition such as { screen = \"chart\" }, or a list of conditions")
            }
            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<WhileSpec, A::Error> {
                ConditionSpec::deserialize(MapAccessDeserializer::new(map)).map(|one| WhileSpec::One(Box::new(one)))
            }
            fn visit_seq<A: SeqAccess<'de>>(self, seq: A) -> Result<WhileSpec, A::Error> {
                Vec::deserialize(SeqAccessDeserializer::new(seq)).map(WhileSpec::All)
            }
        }
        from.deserialize_any(Both)
    }
}

impl JsonSchema for WhileSpec {
    fn schema_name() -> Cow<'static, str> {
        "while".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let about = "A condition on a field, a screen in front, or a time after a cause.";
        let one = without(generator, &["from-screen", "event"], about);
        json_schema!({
            "description": "One condition, or several of which all must hold.",
            "anyOf": [one, { "type": "array", "items": one }]
        })
    }
}

/// The schema of a condition without what cannot be asked somewhere.
fn without(generator: &mut SchemaGenerator, parts: &[&str], about: &'static str) -> Schema {
    let mut schema = ConditionSpec::json_schema(generator);
    if let Some(keys) = schema.get_mut("properties").and_then(|keys| keys.as_object_mut()) {
        keys.retain(|key, _| !parts.contains(&key.as_str()));
    }
    schema.insert("description".to_owned(), about.into());
    schema
}

/// The schema of a condition of elements and labels: on a field or on where the flow is.
pub struct OnPlace;

impl JsonSchema for OnPlace {
    fn schema_name() -> Cow<'static, str> {
        "condition-on-place".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        without(generator, &["for", "after"], "A condition on a field, or on where the flow is.")
    }
}

/// The schema of a condition where only fields can be asked: that of a key's alternative or of an event.
pub struct OnField;

impl JsonSchema for OnField {
    fn schema_name() -> Cow<'static, str> {
        "condition-on-field".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let flow = ["screen", "from-screen", "event", "for", "after"];
        let mut schema = without(generator, &flow, "A condition on a field.");
        schema.insert("required".to_owned(), vec!["field"].into());
        schema
    }
}

/// A screen, or several.
#[derive(Clone, Debug, serde::Deserialize, JsonSchema)]
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
#[derive(Clone, Debug, serde::Deserialize, JsonSchema)]
#[serde(untagged, expecting = "expected a number or the name of a field")]
pub enum LimitSpec {
    /// A number.
    Number(f64),
    /// A field's name.
    Field(String),
}
