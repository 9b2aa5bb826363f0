//! `screens/*.toml` and `parts/*.toml`: a head of keys, timers and events, and a tree of elements.
//!
//! An element is one flat table. The first key that names an element kind says what it is and holds its main
//! value; place keys (`at`, `top`, `grow`, ...) are the same for every kind; the rest belongs to the kind.

use super::rules::{AfterSpec, KeySpec, OnSpec};
use crate::elements::{self, Spec};
use crate::limits;
use crate::screen::Role;
use crate::screen::place::{GROUPS, Group, GroupFlow, GroupStyle, PLACE_KEYS, PlaceSpec};
use crate::source::amount::{At, List, Named};
use crate::source::fault::{Fault, Level, near, nearest, no_such};
use crate::source::levels::{Extent, Levels};
use crate::source::messages::unknown_key;
use crate::source::read::Reader;
use crate::source::spans::Span;
use crate::source::tree::Tree;
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::RangeInclusive;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The part of a screen file beside its content.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct ScreenHead {
    /// The screen's title for people; also an `@string`.
    pub title: At<String>,
    /// What the keys do here, by key number.
    pub keys: BTreeMap<String, At<KeySpec>>,
    /// What happens after a while.
    pub after: Vec<At<AfterSpec>>,
    /// What happens on events.
    pub on: BTreeMap<String, At<OnSpec>>,
    /// What the screen is for, where the program must know: `battery-empty`, `link-lost`, `alarm`.
    pub role: Option<Role>,
    /// Makes it a box over the screen, with this place.
    #[serde(rename = "box")]
    pub over: Option<At<BoxSpec>>,
    /// Fields that are edited here: `cancel` sets them back to what they were on entry.
    pub edit: Vec<At<String>>,
    /// Levels of lints for this screen: `[lints] slow-key = "off"`. An element's own come before these, these before those of
    /// device.toml.
    pub lints: Named<Level>,
}

/// The place of a box over the screen.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct BoxSpec {
    /// Left and top corner in pixels; absent: in the middle.
    pub at: Option<List<i32, 2>>,
    /// Width and height in pixels.
    pub size: List<u32, 2>,
    /// What becomes of the screen below.
    #[serde(default)]
    pub below: BelowSpec,
}

/// Kinds that have a `size` of their own: one number, where a place's is width and height.
const OWN_SIZE: [&str; 2] = ["icon", "icons"];

/// What becomes of the screen below a box.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum BelowSpec {
    /// Its values go on.
    #[default]
    Live,
    /// It stays as it was when the box opened.
    Frozen,
}

/// Rules of a screen, or rules that hold anywhere.
#[derive(Clone, Copy, Debug)]
pub struct RulesSpec<'s> {
    /// What the keys do, by key number.
    pub keys: &'s BTreeMap<String, At<KeySpec>>,
    /// What happens after a while.
    pub after: &'s [At<AfterSpec>],
    /// What happens on events.
    pub on: &'s BTreeMap<String, At<OnSpec>>,
}

impl ScreenHead {
    /// The screen's own rules.
    pub fn rules(&self) -> RulesSpec<'_> {
        RulesSpec { keys: &self.keys, after: &self.after, on: &self.on }
    }
}

/// One element as written.
#[derive(Debug)]
pub struct Node {
    /// Its table.
    pub span: Span,
    /// Where it goes.
    pub place: PlaceSpec,
    /// What it is.
    pub what: What,
}

/// An element's kind.
#[derive(Debug)]
pub enum What {
    /// Holds other elements.
    Group(Group, Vec<Node>),
    /// Draws something; with the key that names its kind.
    Leaf(&'static str, Box<dyn Spec>),
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct PartUse {
    part: At<String>,
    #[serde(default)]
    with: BTreeMap<String, String>,
}

/// A whole screen file.
#[derive(Debug)]
pub struct ScreenSpec {
    /// The root table, to which findings about the whole screen point. It ends where its own keys do.
    pub span: Span,
    /// The file as a whole, tables such as `[keys]` included.
    pub extent: Span,
    /// Keys, timers, events.
    pub head: ScreenHead,
    /// The elements.
    pub content: Vec<Node>,
}

impl ScreenSpec {
    /// Adds the levels of lints that the screen at a position and its elements set.
    pub fn levels(&self, screen: usize, levels: &mut Levels, faults: &mut Vec<Fault>) {
        levels.within(screen, Extent::Screen(self.extent.clone()), &self.head.lints, faults);
        self.content.iter().for_each(|node| node.levels(screen, levels, faults));
    }
}

impl Node {
    fn levels(&self, screen: usize, levels: &mut Levels, faults: &mut Vec<Fault>) {
        if !self.place.lints.is_empty() {
            let mut held = Vec::new();
            self.held_elsewhere(&self.span, &mut held);
            levels.within(screen, Extent::Element(self.span.clone(), held), &self.place.lints, faults);
        }
        self.content().iter().for_each(|node| node.levels(screen, levels, faults));
    }

    /// The places of its content that do not lie in `own`: those of parts.
    fn held_elsewhere(&self, own: &Span, held: &mut Vec<Span>) {
        for node in self.content() {
            if !(own.start <= node.span.start && node.span.end <= own.end) {
                held.push(node.span.clone());
            }
            node.held_elsewhere(own, held);
        }
    }

    fn content(&self) -> &[Node] {
        match &self.what {
            What::Group(_, content) => content,
            What::Leaf(..) => &[],
        }
    }
}

/// The key of the elements.
const CONTENT: &str = "content";

/// Takes the `content` array out of a file's tree, also from under a key that is nearly that. `file` is the place of the
/// whole file: of what is not well-formed nothing is taken.
fn take_content<'t>(tree: Tree<'t>, what: &str, file: &Span, reader: &mut Reader) -> (Option<Tree<'t>>, Tree<'t>) {
    let span = tree.span();
    let DeValue::Table(mut table) = tree.into_inner() else {
        return (None, Spanned::new(span, DeValue::Table(DeTable::new())));
    };
    let mut content = table.remove(CONTENT);
    let meant = table.keys().find(|key| content.is_none() && near(key.get_ref(), CONTENT)).cloned();
    if let Some(key) = meant {
        reader.fault(unknown_key(key.get_ref(), [CONTENT], key.span()));
        content = table.remove(key.get_ref().as_ref());
    }
    if content.is_none() && !reader.is_broken(file) {
        let fault = Fault::at(span.start..span.start, format!("the {what} has no content"));
        reader.fault(fault.help("add `content = [ { text = \"...\" } ]` to the file"));
    }
    let sound = content.filter(|content| !reader.is_broken(&content.span()));
    (sound, Spanned::new(span, DeValue::Table(table)))
}

/// The content of a part's file. `None` where it cannot be used; the reasons are noted.
pub fn part<'t>(tree: Tree<'t>, file: &Span, reader: &mut Reader) -> Option<Tree<'t>> {
    let (content, rest) = take_content(tree, "part", file, reader);
    if let DeValue::Table(rest) = rest.get_ref() {
        for key in rest.keys() {
            reader.fault(unknown_key(key.get_ref(), [CONTENT], key.span()));
        }
    }
    content
}

/// Groups and parts inside one another beyond this depth are refused.
const DEEPEST: usize = 24;

/// Columns of a grid.
const COLUMNS: RangeInclusive<u16> = 1..=64;

/// Bytes of a part's text that count as one more element each time it is used: bounds what parts in parts take.
const BYTES_OF_ONE: usize = 1024;

/// Reads elements, with the parts they may use.
pub struct Nodes<'r, 't> {
    /// Collects the faults.
    pub reader: &'r mut Reader,
    /// The content of each part.
    pub parts: &'r BTreeMap<String, Tree<'t>>,
    /// Parts used so far.
    pub used: BTreeSet<String>,
    /// Parts that are being read, the outermost first: a part may not hold itself.
    open: Vec<String>,
    /// Elements and groups read for this screen; long texts of parts count as several.
    count: usize,
    /// The limit of elements was passed, and that was said.
    full: bool,
}

impl<'r, 't> Nodes<'r, 't> {
    /// Reads elements that may use these parts; `used` are those used before.
    pub fn new(reader: &'r mut Reader, parts: &'r BTreeMap<String, Tree<'t>>, used: BTreeSet<String>) -> Self {
        Self { reader, parts, used, open: Vec::new(), count: 0, full: false }
    }
}

impl<'t> Nodes<'_, 't> {
    /// Reads a screen file's tree; `extent` is the place of the whole file.
    pub fn screen(&mut self, tree: Tree<'t>, extent: Span) -> ScreenSpec {
        let span = tree.span();
        let (content, head) = take_content(tree, "screen", &extent, self.reader);
        let nodes = content.map(|content| self.list(content, 0));
        let head = self.reader.read::<ScreenHead>(head, None).unwrap_or_default();
        ScreenSpec { extent, span, head, content: nodes.unwrap_or_default() }
    }

    fn list(&mut self, tree: Tree<'t>, depth: usize) -> Vec<Node> {
        let span = tree.span();
        if depth > DEEPEST {
            self.reader.fault(Fault::at(span, format!("groups and parts are nested more than {DEEPEST} deep")));
            return Vec::new();
        }
        match tree.into_inner() {
            DeValue::Array(items) => items.into_iter().filter_map(|item| self.node(item, depth)).collect(),
            _ => {
                let fault = Fault::at(span, "expected a list of elements");
                self.reader.fault(fault.help("write [ { text = \"...\" }, ... ]"));
                Vec::new()
            }
        }
    }

    fn node(&mut self, tree: Tree<'t>, depth: usize) -> Option<Node> {
        let span = tree.span();
        // Parts in parts multiply: the limit holds while they are read, not only afterwards.
        self.count += 1;
        if self.count > limits::ELEMENTS {
            if !std::mem::replace(&mut self.full, true) {
                let text =
                    format!("a screen may have at most {} elements, those of its parts included", limits::ELEMENTS);
                self.reader.fault(Fault::at(span, text));
            }
            return None;
        }
        let DeValue::Table(mut table) = tree.into_inner() else {
            let fault = Fault::at(span, "expected an element");
            self.reader.fault(fault.help("write a table such as { text = \"...\" }"));
            return None;
        };
        let Some(kind) = table.keys().map(|key| key.get_ref().to_string()).find(|key| is_kind(key)) else {
            self.reader.fault(no_kind(&table, span));
            return None;
        };
        let own = |key: &str, value: &DeValue<'_>| {
            key == "size" && OWN_SIZE.contains(&kind.as_str()) && matches!(value, DeValue::Integer(_))
        };
        let place_table = split_off(&mut table, |key, value| PLACE_KEYS.contains(&key) && !own(key, value));
        let place = self.reader.read::<PlaceSpec>(Spanned::new(span.clone(), DeValue::Table(place_table)), None);
        let what = if let Some((_, flow)) = GROUPS.iter().find(|(name, _)| *name == kind) {
            self.group(*flow, &kind, table, span.clone(), depth)
        } else if let Some(entry) = elements::kind(&kind) {
            (entry.read)(self.reader, Spanned::new(span.clone(), DeValue::Table(table)))
                .map(|spec| What::Leaf(entry.name, spec))
        } else {
            self.part(Spanned::new(span.clone(), DeValue::Table(table)), depth)
        };
        Some(Node { span, place: place?, what: what? })
    }

    fn group(&mut self, flow: GroupFlow, kind: &str, mut table: DeTable<'t>, span: Span, depth: usize) -> Option<What> {
        let content = table.remove(kind)?;
        let children = self.list(content, depth + 1);
        let style = self.reader.read::<GroupStyle>(Spanned::new(span, DeValue::Table(table)), None)?;
        if let Some(columns) = style.columns.as_ref().filter(|columns| !COLUMNS.contains(&columns.value)) {
            let message = format!("a grid of {} columns cannot be laid out", columns.value);
            let fault = Fault::at(columns.span.clone(), message);
            self.reader.fault(fault.help(format!("expected {} to {}", COLUMNS.start(), COLUMNS.end())));
        }
        Some(What::Group(Group { flow, style }, children))
    }

    /// A part becomes a stack of its content, `$names` filled in.
    fn part(&mut self, tree: Tree<'t>, depth: usize) -> Option<What> {
        let used = self.reader.read::<PartUse>(tree, None)?;
        let Some(content) = self.parts.get(&used.part.value).cloned() else {
            let known = self.parts.keys().map(String::as_str);
            let fault = no_such("part", "parts", (&used.part.value, &used.part.span), known);
            self.reader.fault(fault.or_help(format!("write parts/{}.toml", used.part.value)));
            return None;
        };
        let name = used.part.value;
        if self.open.contains(&name) {
            let fault = Fault::at(used.part.span, format!("the part `{name}` holds itself"));
            self.reader.fault(fault.label(format!("inside {}", self.open.join(", then "))));
            return None;
        }
        self.used.insert(name.clone());
        self.count += content.span().len() / BYTES_OF_ONE;
        let content = fill_in(self.reader, content, &used.with);
        self.open.push(name);
        let children = self.list(content, depth + 1);
        self.open.pop();
        Some(What::Group(Group { flow: GroupFlow::Stack, style: GroupStyle::default() }, children))
    }
}

/// Every key that names an element kind.
pub fn kinds() -> impl Iterator<Item = &'static str> {
    GROUPS.iter().map(|(name, _)| *name).chain(["part"]).chain(elements::KINDS.iter().map(|kind| kind.name))
}

fn is_kind(key: &str) -> bool {
    kinds().any(|kind| kind == key)
}

/// The fault for a table in which no key names a kind: points at the key nearest to one.
fn no_kind(table: &DeTable<'_>, span: Span) -> Fault {
    let first = table.keys().find(|key| !PLACE_KEYS.contains(&key.get_ref().as_ref()));
    match first {
        Some(key) => Fault::at(key.span(), format!("`{}` is not a kind of element", key.get_ref()))
            .label("the first key of an element says what it is")
            .help(nearest(key.get_ref(), kinds()).unwrap_or_default()),
        None => Fault::at(span, "this element does not say what it is")
            .help(format!("known here: {}", kinds().collect::<Vec<_>>().join(", "))),
    }
}

/// Moves the entries whose key is wanted into a table of their own.
fn split_off<'t>(table: &mut DeTable<'t>, wanted: impl Fn(&str, &DeValue<'t>) -> bool) -> DeTable<'t> {
    let (taken, kept) =
        std::mem::take(table).into_iter().partition(|(key, value)| wanted(key.get_ref(), value.get_ref()));
    *table = kept;
    taken
}

/// A copy of a tree in which `$name` in every text stands for its value. Unknown names are noted.
pub fn fill_in<'t>(reader: &mut Reader, tree: Tree<'t>, values: &BTreeMap<String, String>) -> Tree<'t> {
    let span = tree.span();
    let value = match tree.into_inner() {
        DeValue::Array(items) => DeValue::Array(items.into_iter().map(|item| fill_in(reader, item, values)).collect()),
        DeValue::Table(table) => {
            DeValue::Table(table.into_iter().map(|(key, value)| (key, fill_in(reader, value, values))).collect())
        }
        DeValue::String(text) if text.starts_with('$') => match values.get(&text[1..]) {
            Some(value) => DeValue::String(value.clone().into()),
            None => {
                let fault = Fault::at(span.clone(), format!("the part's `{text}` has no value where it is used"));
                reader
                    .fault(fault.help(format!("add it where the part is used: with = {{ {} = \"...\" }}", &text[1..])));
                DeValue::String(text)
            }
        },
        scalar => scalar,
    };
    Spanned::new(span, value)
}
