//! Values as they stand in the files: with their place, their unit, and their spread.

use super::spans::Span;
use super::typed::PLACE;
use crate::limits;
use crate::units::{Quantity, stated};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{Deserialize, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;
use std::marker::PhantomData;
use std::ops::Deref;

/// A table whose keys keep their names in order.
pub type Named<T> = BTreeMap<String, At<T>>;

/// A value and where it stands.
#[derive(Clone, Debug)]
pub struct At<T> {
    /// The place.
    pub span: Span,
    /// The value.
    pub value: T,
}

impl<T: Default> Default for At<T> {
    fn default() -> Self {
        Self { span: 0..0, value: T::default() }
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for At<T> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_tuple_struct(PLACE, 3, AtVisitor(PhantomData))
    }
}

struct AtVisitor<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de>> Visitor<'de> for AtVisitor<T> {
    type Value = At<T>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(PLACE)
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut parts: A) -> Result<At<T>, A::Error> {
        let (start, end, value) = (parts.next_element()?, parts.next_element()?, parts.next_element()?);
        match (start, end, value) {
            (Some(start), Some(end), Some(value)) => Ok(At { span: start..end, value }),
            _ => Err(A::Error::invalid_length(0, &self)),
        }
    }
}

impl<T: JsonSchema> JsonSchema for At<T> {
    fn inline_schema() -> bool {
        T::inline_schema()
    }
    fn schema_name() -> Cow<'static, str> {
        T::schema_name()
    }
    // Without it two types of one name would share the schema of the first.
    fn schema_id() -> Cow<'static, str> {
        T::schema_id()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        T::json_schema(generator)
    }
}

/// A list of exactly so many values. An array alone takes the first ones of a longer list in silence.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct List<T, const N: usize>(pub [T; N]);

impl<T, const N: usize> Deref for List<T, N> {
    type Target = [T; N];

    fn deref(&self) -> &[T; N] {
        &self.0
    }
}

impl<'de, T: Deserialize<'de>, const N: usize> Deserialize<'de> for List<T, N> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let all = Vec::<T>::deserialize(from)?;
        let found = all.len();
        let exact = all.try_into().map(Self);
        exact.map_err(|_| D::Error::custom(format!("found a list of {found}, expected a list of {N}")))
    }
}

impl<T: JsonSchema, const N: usize> JsonSchema for List<T, N>
where
    [T; N]: JsonSchema,
{
    fn inline_schema() -> bool {
        <[T; N]>::inline_schema()
    }
    fn schema_name() -> Cow<'static, str> {
        <[T; N]>::schema_name()
    }
    fn schema_id() -> Cow<'static, str> {
        <[T; N]>::schema_id()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        <[T; N]>::json_schema(generator)
    }
}

/// A quantity written as a string with its unit: `"250 ms"`.
#[derive(Clone, Copy, Debug)]
pub struct Qty<Q>(pub Q);

struct QtyVisitor<Q>(PhantomData<Q>);

impl<Q: Quantity> Visitor<'_> for QtyVisitor<Q> {
    type Value = Qty<Q>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} as a string with its unit, such as {:?}", Q::WHAT, Q::EXAMPLE)
    }
    fn visit_str<E: Error>(self, text: &str) -> Result<Qty<Q>, E> {
        let length = text.chars().count();
        if length > limits::QUANTITY {
            let most = limits::QUANTITY;
            return Err(E::custom(format!("expected {} of at most {most} characters, found {length}", Q::WHAT)));
        }
        stated(text).map(Qty).map_err(E::custom)
    }
    fn visit_i64<E: Error>(self, number: i64) -> Result<Qty<Q>, E> {
        Err(bare::<Q, E>(&number))
    }
    fn visit_f64<E: Error>(self, number: f64) -> Result<Qty<Q>, E> {
        Err(bare::<Q, E>(&number))
    }
}

/// How messages about a number without a unit end.
pub const NO_UNIT: &str = " is a bare number";

/// The message for a number without a unit.
fn bare<Q: Quantity, E: Error>(number: &dyn fmt::Display) -> E {
    let units: Vec<&str> = Q::SYMBOLS.iter().map(|(symbol, _)| *symbol).collect();
    E::custom(format!(
        "expected {} as a string with its unit ({}), such as {:?}; {number}{NO_UNIT}",
        Q::WHAT,
        units.join(", "),
        Q::EXAMPLE
    ))
}

impl<'de, Q: Quantity> Deserialize<'de> for Qty<Q> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(QtyVisitor(PhantomData))
    }
}

impl<Q: Quantity> JsonSchema for Qty<Q> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        format!("Quantity in {}", Q::SI).into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let units: Vec<&str> = Q::SYMBOLS.iter().map(|(symbol, _)| *symbol).collect();
        json_schema!({
            "type": "string",
            "description": format!("{} with its unit ({}), such as {:?}", Q::WHAT, units.join(", "), Q::EXAMPLE),
            "examples": [Q::EXAMPLE],
        })
    }
}

/// A quantity that may carry its spread and source: `"4.5 mA"` or `{ typ = "4.5 mA", max = "8 mA", source = "..." }`.
#[derive(Clone, Debug)]
pub struct Amount<Q> {
    /// Smallest, typical and largest value.
    pub spread: [Q; 3],
    /// Where it comes from; `None` makes it an assumption.
    pub source: Option<String>,
}

impl<Q: Quantity> Amount<Q> {
    /// A value without spread.
    pub fn exact(value: Q) -> Self {
        Self { spread: [value; 3], source: None }
    }
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields, bound(deserialize = "Q: Quantity"))]
struct Spread<Q> {
    typ: Qty<Q>,
    min: Option<Qty<Q>>,
    max: Option<Qty<Q>>,
    source: Option<String>,
}

struct AmountVisitor<Q>(PhantomData<Q>);

impl<'de, Q: Quantity> Visitor<'de> for AmountVisitor<Q> {
    type Value = Amount<Q>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        QtyVisitor::<Q>(PhantomData).expecting(f)?;
        f.write_str(", or a table with typ, min, max and source")
    }
    fn visit_str<E: Error>(self, text: &str) -> Result<Amount<Q>, E> {
        QtyVisitor(PhantomData).visit_str(text).map(|Qty(value)| Amount::exact(value))
    }
    fn visit_i64<E: Error>(self, number: i64) -> Result<Amount<Q>, E> {
        Err(bare::<Q, E>(&number))
    }
    fn visit_f64<E: Error>(self, number: f64) -> Result<Amount<Q>, E> {
        Err(bare::<Q, E>(&number))
    }
    fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Amount<Q>, A::Error> {
        let spread = Spread::<Q>::deserialize(serde::de::value::MapAccessDeserializer::new(map))?;
        let typ = spread.typ.0;
        let (min, max) = (spread.min.map_or(typ, |q| q.0), spread.max.map_or(typ, |q| q.0));
        if min.into() > typ.into() || typ.into() > max.into() {
            return Err(A::Error::custom("expected min <= typ <= max"));
        }
        Ok(Amount { spread: [min, typ, max], source: spread.source })
    }
}

impl<'de, Q: Quantity> Deserialize<'de> for Amount<Q> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(AmountVisitor(PhantomData))
    }
}

impl<Q: Quantity> JsonSchema for Amount<Q> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        format!("Amount in {}", Q::SI).into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let quantity = Qty::<Q>::json_schema(generator);
        json_schema!({ "anyOf": [quantity, {
            "type": "object",
            "properties": { "typ": quantity, "min": quantity, "max": quantity, "source": { "type": "string" } },
            "required": ["typ"],
            "additionalProperties": false,
        }]})
    }
}
