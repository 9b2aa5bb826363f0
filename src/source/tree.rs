//! Walks through parsed trees: to the value at a place, along names, and what is put in or taken out there.
//!
//! Not for what is wrong with a value: that is [`super::read`].

use super::spans::Span;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A parsed value; its spans count in the numbering of [`super::spans::Sources`].
pub type Tree<'t> = Spanned<DeValue<'t>>;

/// A span moved by an offset.
pub fn shift(span: &Span, by: usize) -> Span {
    span.start + by..span.end + by
}

/// The same tree with every span moved by an offset.
pub fn moved(tree: Tree<'_>, by: usize) -> Tree<'_> {
    let span = shift(&tree.span(), by);
    let value = match tree.into_inner() {
        DeValue::Array(items) => DeValue::Array(items.into_iter().map(|item| moved(item, by)).collect()),
        DeValue::Table(table) => DeValue::Table(
            table
                .into_iter()
                .map(|(key, value)| (Spanned::new(shift(&key.span(), by), key.into_inner()), moved(value, by)))
                .collect(),
        ),
        // Dates and times are texts to a project, with quotes or without: `at = 20:00`.
        DeValue::Datetime(time) => DeValue::String(time.to_string().into()),
        scalar => scalar,
    };
    Spanned::new(span, value)
}

/// The names that lead to the value at `span`; positions of lists are left out.
pub fn way_to(tree: &Tree<'_>, span: &Span) -> Option<Vec<String>> {
    if tree.span() == *span {
        return Some(Vec::new());
    }
    match tree.get_ref() {
        DeValue::Table(table) => table.iter().find_map(|(key, value)| {
            let mut way = way_to(value, span)?;
            way.insert(0, key.get_ref().to_string());
            Some(way)
        }),
        DeValue::Array(items) => items.iter().find_map(|item| way_to(item, span)),
        _ => None,
    }
}

/// What a sound tree has at the end of a way; for names that it does not know its first entry stands.
pub fn along<'s, 't>(spare: &'s Tree<'t>, way: &[String]) -> Option<&'s Tree<'t>> {
    let mut at = spare;
    for name in way {
        while let DeValue::Array(items) = at.get_ref() {
            at = items.iter().next()?;
        }
        let table = at.get_ref().as_table()?;
        at = table.get(name.as_str()).or_else(|| table.values().next().filter(|value| value.get_ref().is_table()))?;
    }
    while let DeValue::Array(items) = at.get_ref() {
        at = items.iter().next()?;
    }
    Some(at)
}

/// Puts the missing key of the table at `span` in from a sound tree. Gives the outermost name that is concerned.
pub fn put_in<'t>(tree: &mut Tree<'t>, span: &Span, message: &str, spare: &Tree<'t>) -> Option<String> {
    let key = message.split('`').nth(1)?;
    let way = way_to(tree, span)?;
    let found = along(spare, &way)?.get_ref().as_table()?.get(key)?;
    let value = placed(found.clone(), span);
    let table = at_span(tree, span)?;
    table.insert(Spanned::new(span.clone(), key.to_owned().into()), value);
    Some(way.into_iter().next().unwrap_or_else(|| key.to_owned()))
}

/// The table at `span`.
fn at_span<'a, 't>(tree: &'a mut Tree<'t>, span: &Span) -> Option<&'a mut DeTable<'t>> {
    if tree.span() == *span {
        let DeValue::Table(table) = tree.get_mut() else { return None };
        return Some(table);
    }
    match tree.get_mut() {
        DeValue::Table(table) => table.iter_mut().find_map(|(_, value)| at_span(value, span)),
        DeValue::Array(items) => items.iter_mut().find_map(|item| at_span(item, span)),
        _ => None,
    }
}

/// The same tree with every span at one place.
pub fn placed<'t>(tree: Tree<'t>, span: &Span) -> Tree<'t> {
    let value = match tree.into_inner() {
        DeValue::Array(items) => DeValue::Array(items.into_iter().map(|item| placed(item, span)).collect()),
        DeValue::Table(table) => {
            let entry = |(key, value): (Spanned<_>, Tree<'t>)| {
                (Spanned::new(span.clone(), key.into_inner()), placed(value, span))
            };
            DeValue::Table(table.into_iter().map(entry).collect())
        }
        scalar => scalar,
    };
    Spanned::new(span.clone(), value)
}

/// What was taken out of a tree.
#[derive(Debug)]
pub struct Taken<'t> {
    /// The place of the table or list that held it.
    pub holder: Span,
    /// The names that lead to it, its own last; positions of lists are left out.
    pub way: Vec<String>,
    /// What it was.
    pub value: Tree<'t>,
}

/// Takes the entry at `span` (its key or its value) out of the table or list that holds it. `None` when the span is the
/// whole tree or nowhere in it.
pub fn take_out<'t>(tree: &mut Tree<'t>, span: &Span) -> Option<Taken<'t>> {
    let holder = tree.span();
    match tree.get_mut() {
        DeValue::Table(table) => {
            let found = table.iter().find(|(key, value)| key.span() == *span || value.span() == *span);
            if let Some(name) = found.map(|(key, _)| key.get_ref().to_string()) {
                let value = table.remove(name.as_str())?;
                return Some(Taken { holder, way: vec![name], value });
            }
            table.iter_mut().find_map(|(key, value)| {
                let mut taken = take_out(value, span)?;
                taken.way.insert(0, key.get_ref().to_string());
                Some(taken)
            })
        }
        DeValue::Array(items) => {
            if let Some(index) = items.iter().position(|item| item.span() == *span) {
                let value = items[index].clone();
                let kept = items.iter().enumerate().filter(|(at, _)| *at != index);
                *items = kept.map(|(_, item)| item.clone()).collect();
                return Some(Taken { holder, way: Vec::new(), value });
            }
            items.iter_mut().find_map(|item| take_out(item, span))
        }
        _ => None,
    }
}
