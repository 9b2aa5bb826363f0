//! Trees as values of serde's types: what each entry is, and where the one stands that does not fit.
//!
//! One type reads values, keys and places, so that serde's code is made once for each type of the project: the general
//! reader of TOML makes it for every form in which a table, a place or a time can reach it, and took a quarter of all the
//! library's code. A list in place of a table is refused: by itself serde would take it for the table's values in order.

use super::spans::Span;
use super::tree::Tree;
use serde::de::value::StrDeserializer;
use serde::de::{
    self, DeserializeOwned, DeserializeSeed, Deserializer, EnumAccess, Expected, IntoDeserializer, MapAccess,
    SeqAccess, Unexpected, VariantAccess, Visitor,
};
use std::fmt;
use std::marker::PhantomData;
use toml::de::{DeTable, DeValue};

/// The name by which a value asks for its place; see [`super::amount::At`].
pub const PLACE: &str = "a place and its value";

/// What keeps an entry from being a value of its type.
#[derive(Debug)]
pub struct EntryFault(Box<Said>);

#[derive(Debug)]
struct Said {
    message: String,
    span: Option<Span>,
}

impl EntryFault {
    fn new(message: impl Into<String>) -> Self {
        Self(Box::new(Said { message: message.into(), span: None }))
    }

    /// serde's words for it.
    pub fn message(&self) -> &str {
        &self.0.message
    }

    /// The smallest entry at fault.
    pub fn span(&self) -> Option<Span> {
        self.0.span.clone()
    }

    /// The same at an entry, unless a smaller one in it is known.
    fn within(mut self, span: Span) -> Self {
        self.0.span.get_or_insert(span);
        self
    }
}

impl fmt::Display for EntryFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0.message)
    }
}

impl std::error::Error for EntryFault {}

impl de::Error for EntryFault {
    fn custom<T: fmt::Display>(message: T) -> Self {
        Self::new(message.to_string())
    }
}

/// Reads a tree as a value.
///
/// # Errors
/// What does not fit, with its place.
pub fn read<T: DeserializeOwned>(tree: &Tree<'_>) -> Result<T, EntryFault> {
    Entry::Value(tree).read(PhantomData)
}

/// Something of a tree that is to become a value.
#[derive(Clone, Copy)]
enum Entry<'a, 't> {
    /// What stands behind a key, or in a list.
    Value(&'a Tree<'t>),
    /// A key.
    Key(&'a str),
    /// Where an entry begins or ends.
    Place(usize),
}

impl<'a, 't> Entry<'a, 't> {
    /// What it is, in serde's words.
    fn found(self) -> Unexpected<'a> {
        match self {
            Entry::Key(text) => Unexpected::Str(text),
            Entry::Place(at) => Unexpected::Unsigned(at as u64),
            Entry::Value(tree) => match tree.get_ref() {
                DeValue::String(text) => Unexpected::Str(text),
                DeValue::Integer(number) => whole(number.as_str(), number.radix())
                    .map_or(Unexpected::Other("a number beyond all measure"), Unexpected::Signed),
                DeValue::Float(number) => Unexpected::Float(number.as_str().parse().unwrap_or(f64::NAN)),
                DeValue::Boolean(value) => Unexpected::Bool(*value),
                DeValue::Datetime(_) => Unexpected::Other("a time"),
                DeValue::Array(_) => Unexpected::Seq,
                DeValue::Table(_) => Unexpected::Map,
            },
        }
    }

    fn refused(self, expected: &dyn Expected) -> EntryFault {
        de::Error::invalid_type(self.found(), expected)
    }

    /// The value of a seed; whatever keeps it from being one lies in this entry, found by serde or by the type itself.
    fn read<'de, S: DeserializeSeed<'de>>(self, seed: S) -> Result<S::Value, EntryFault> {
        self.placed(seed.deserialize(self))
    }

    /// The same, a fault at this entry unless a smaller one in it is known.
    fn placed<V>(self, value: Result<V, EntryFault>) -> Result<V, EntryFault> {
        value.map_err(|fault| match self {
            Entry::Value(tree) => fault.within(tree.span()),
            Entry::Key(_) | Entry::Place(_) => fault,
        })
    }

    fn table(self) -> Option<&'a DeTable<'t>> {
        match self {
            Entry::Value(tree) => tree.get_ref().as_table(),
            Entry::Key(_) | Entry::Place(_) => None,
        }
    }

    fn list(self) -> Option<&'a [Tree<'t>]> {
        match self {
            Entry::Value(tree) => tree.get_ref().as_array().map(|list| &**list),
            Entry::Key(_) | Entry::Place(_) => None,
        }
    }
}

/// A whole number as it is written: in any base, its digits in groups or not.
fn whole(digits: &str, radix: u32) -> Option<i64> {
    i64::from_str_radix(digits, radix).ok()
}

impl<'de> Deserializer<'de> for Entry<'_, '_> {
    type Error = EntryFault;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, EntryFault> {
        let tree = match self {
            Entry::Key(text) => return visitor.visit_str(text),
            Entry::Place(at) => return visitor.visit_u64(at as u64),
            Entry::Value(tree) => tree,
        };
        match tree.get_ref() {
            DeValue::String(text) => visitor.visit_str(text),
            DeValue::Integer(number) => match whole(number.as_str(), number.radix()) {
                Some(number) => visitor.visit_i64(number),
                None => Err(EntryFault::new(format!("{} is not a usable number", number.as_str()))),
            },
            DeValue::Float(number) => match number.as_str().parse() {
                Ok(number) => visitor.visit_f64(number),
                Err(_) => Err(EntryFault::new(OVERFLOWED)),
            },
            DeValue::Boolean(value) => visitor.visit_bool(*value),
            DeValue::Datetime(time) => visitor.visit_str(&time.to_string()),
            DeValue::Array(list) => visitor.visit_seq(Elements(list.iter())),
            DeValue::Table(table) => visitor.visit_map(Entries { left: table.iter(), value: None }),
        }
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, EntryFault> {
        visitor.visit_some(self)
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(self, _: &'static str, visitor: V) -> Result<V::Value, EntryFault> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_map<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, EntryFault> {
        let Some(table) = self.table() else { return Err(self.refused(&visitor)) };
        visitor.visit_map(Entries { left: table.iter(), value: None })
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, EntryFault> {
        self.deserialize_map(visitor)
    }

    fn deserialize_seq<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, EntryFault> {
        let Some(list) = self.list() else { return Err(self.refused(&visitor)) };
        visitor.visit_seq(Elements(list.iter()))
    }

    fn deserialize_tuple<V: Visitor<'de>>(self, _: usize, visitor: V) -> Result<V::Value, EntryFault> {
        self.deserialize_seq(visitor)
    }

    fn deserialize_tuple_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        _: usize,
        visitor: V,
    ) -> Result<V::Value, EntryFault> {
        match self {
            Entry::Value(tree) if name == PLACE => visitor.visit_seq(Placed { tree, given: 0 }),
            _ => Err(self.refused(&visitor)),
        }
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, EntryFault> {
        let chosen = match self {
            Entry::Key(text) => Ok(Chosen { name: text, at: None, value: None }),
            Entry::Place(_) => Err(self.refused(&visitor)),
            Entry::Value(tree) => match tree.get_ref() {
                DeValue::String(text) => Ok(Chosen { name: text, at: None, value: None }),
                DeValue::Table(table) => match (table.iter().next(), table.len()) {
                    (Some((key, value)), 1) => {
                        Ok(Chosen { name: key.get_ref(), at: Some(key.span()), value: Some(value) })
                    }
                    (None, _) => Err(EntryFault::new(NO_KEY)),
                    _ => Err(EntryFault::new("expected one key, found several")),
                },
                _ => Err(EntryFault::new("expected a text or a table")),
            },
        };
        visitor.visit_enum(chosen?)
    }

    fn deserialize_identifier<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, EntryFault> {
        match self {
            Entry::Key(text) => visitor.visit_str(text),
            Entry::Value(_) | Entry::Place(_) => Err(self.refused(&visitor)),
        }
    }

    serde::forward_to_deserialize_any! {
        bool u8 u16 u32 u64 i8 i16 i32 i64 f32 f64 i128 u128 char str string bytes byte_buf unit ignored_any unit_struct
    }
}

/// What is said of a table of one key that has none.
pub const NO_KEY: &str = "expected one key, found none";

/// What is said of digits that are no number: noted where the file is parsed.
pub const OVERFLOWED: &str = "floating-point number overflowed";

/// The elements of a list.
struct Elements<'a, 't>(std::slice::Iter<'a, Tree<'t>>);

impl<'de> SeqAccess<'de> for Elements<'_, '_> {
    type Error = EntryFault;

    fn next_element_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, EntryFault> {
        self.0.next().map(|tree| Entry::Value(tree).read(seed)).transpose()
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.0.len())
    }
}

/// Where a value begins, where it ends, and the value.
struct Placed<'a, 't> {
    tree: &'a Tree<'t>,
    given: usize,
}

impl<'de> SeqAccess<'de> for Placed<'_, '_> {
    type Error = EntryFault;

    fn next_element_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, EntryFault> {
        self.given += 1;
        let span = self.tree.span();
        let entry = match self.given {
            1 => Entry::Place(span.start),
            2 => Entry::Place(span.end),
            3 => Entry::Value(self.tree),
            _ => return Ok(None),
        };
        entry.read(seed).map(Some)
    }
}

/// The entries of a table.
struct Entries<'a, 't> {
    left: toml::map::Iter<'a, toml::Spanned<toml::de::DeString<'t>>, Tree<'t>>,
    value: Option<&'a Tree<'t>>,
}

impl<'de> MapAccess<'de> for Entries<'_, '_> {
    type Error = EntryFault;

    fn next_key_seed<K: DeserializeSeed<'de>>(&mut self, seed: K) -> Result<Option<K::Value>, EntryFault> {
        let Some((key, value)) = self.left.next() else { return Ok(None) };
        self.value = Some(value);
        Entry::Key(key.get_ref()).read(seed).map(Some).map_err(|fault| fault.within(key.span()))
    }

    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, EntryFault> {
        match self.value.take() {
            Some(value) => Entry::Value(value).read(seed),
            None => Err(EntryFault::new("a key without its value")),
        }
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.left.len())
    }
}

/// One of several words, alone or with what belongs to it.
struct Chosen<'a, 't> {
    name: &'a str,
    at: Option<Span>,
    value: Option<&'a Tree<'t>>,
}

impl<'de, 'a, 't> EnumAccess<'de> for Chosen<'a, 't> {
    type Error = EntryFault;
    type Variant = Belongings<'a, 't>;

    fn variant_seed<V: DeserializeSeed<'de>>(self, seed: V) -> Result<(V::Value, Self::Variant), EntryFault> {
        let name: StrDeserializer<'a, EntryFault> = self.name.into_deserializer();
        let chosen = seed.deserialize(name).map_err(|fault| match self.at {
            Some(at) => fault.within(at),
            None => fault,
        })?;
        Ok((chosen, Belongings(self.value.map(Entry::Value))))
    }
}

/// What belongs to a word.
struct Belongings<'a, 't>(Option<Entry<'a, 't>>);

impl<'de> VariantAccess<'de> for Belongings<'_, '_> {
    type Error = EntryFault;

    fn unit_variant(self) -> Result<(), EntryFault> {
        let Some(entry) = self.0 else { return Ok(()) };
        let empty = entry.table().is_some_and(|table| table.is_empty()) || entry.list().is_some_and(<[_]>::is_empty);
        entry.placed(if empty { Ok(()) } else { Err(entry.refused(&"an empty table")) })
    }

    fn newtype_variant_seed<T: DeserializeSeed<'de>>(self, seed: T) -> Result<T::Value, EntryFault> {
        match self.0 {
            Some(entry) => entry.read(seed),
            None => Err(alone(&"newtype variant")),
        }
    }

    fn tuple_variant<V: Visitor<'de>>(self, _: usize, visitor: V) -> Result<V::Value, EntryFault> {
        match self.0 {
            Some(entry) => entry.placed(entry.deserialize_seq(visitor)),
            None => Err(alone(&"tuple variant")),
        }
    }

    fn struct_variant<V: Visitor<'de>>(
        self,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, EntryFault> {
        let Some(entry) = self.0 else { return Err(alone(&"struct variant")) };
        let unknown = entry.table().and_then(|table| table.keys().find(|key| !fields.contains(&&**key.get_ref())));
        match unknown {
            Some(key) => {
                let fault: EntryFault = de::Error::unknown_field(key.get_ref(), fields);
                Err(fault.within(key.span()))
            }
            None => entry.placed(entry.deserialize_map(visitor)),
        }
    }
}

/// A word alone where values belong to it.
fn alone(expected: &dyn Expected) -> EntryFault {
    de::Error::invalid_type(Unexpected::UnitVariant, expected)
}

#[cfg(test)]
mod tests;
