//! Gives every element its rectangle: stacks with docked areas, rows, columns and grids.
//!
//! The arithmetic of flexible boxes and grids is the layout library's (CSS Flexible Box and Grid Layout, W3C);
//! here the project's words are turned into its styles.

use super::element::Element;
use super::place::{Align, Edges, Group, GroupFlow, Justify, PlaceSpec};
use crate::source::amount::At;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use taffy::prelude::{TaffyMaxContent as _, auto, length, zero};
use taffy::{AlignItems, AvailableSpace, Display, FlexDirection, JustifyContent, NodeId, Position, Style, TaffyTree};

/// An element or group in the tree of a screen; `Leaf` holds the element's number.
#[derive(Debug)]
pub enum Slot<'a> {
    /// A group of slots.
    Group(&'a PlaceSpec, &'a Group, Vec<Slot<'a>>),
    /// An element.
    Leaf(&'a PlaceSpec, usize),
}

/// Pixels along a side of an area: beyond any screen, so that stated sizes cost no time however large.
const LARGEST_AREA: u32 = 4 * crate::limits::PANEL_SIDE;

/// What docked elements have taken from a stack so far: top, right, bottom, left.
type Taken = [u32; 4];

/// Where an element stands.
#[derive(Clone, Copy, Debug)]
pub struct Spot {
    /// Its own rectangle on the screen.
    pub area: Rectangle,
    /// The rectangle of the group that holds it; the whole screen where none does.
    pub room: Rectangle,
}

/// The place of every element, in the order of `elements`, on a screen of `size` pixels.
pub fn arrange(slots: &[Slot<'_>], elements: &[Box<dyn Element>], size: Size) -> Vec<Spot> {
    let nowhere = Spot { area: Rectangle::zero(), room: Rectangle::new(Point::zero(), size) };
    let mut areas = vec![nowhere; elements.len()];
    // The library reports errors only for nodes of another tree; there are none here.
    let _ = try_arrange(slots, elements, size, &mut areas);
    areas
}

fn try_arrange(
    slots: &[Slot<'_>],
    elements: &[Box<dyn Element>],
    size: Size,
    areas: &mut [Spot],
) -> taffy::TaffyResult<()> {
    let mut tree: TaffyTree<usize> = TaffyTree::new();
    let mut leaves = Vec::new();
    let children = stack(&mut tree, slots, elements, &mut leaves)?;
    let root_style = Style { size: pixels(size.width, size.height), ..group_style(&PlaceSpec::default()) };
    let root = tree.new_with_children(root_style, &children)?;
    tree.compute_layout_with_measure(root, taffy::Size::MAX_CONTENT, |inputs, _, leaf, style| {
        taffy::compute_leaf_layout(
            inputs,
            style,
            |_, _| 0.0,
            |known, space| match leaf.and_then(|leaf| elements.get(*leaf)) {
                None => taffy::Size::ZERO,
                Some(element) => measured(element.as_ref(), known, space),
            },
        )
    })?;
    for (leaf, node) in leaves {
        let mut corner = Point::zero();
        let mut above = Some(node);
        while let Some(node) = above {
            let at = tree.layout(node)?.location;
            corner += pixel(at);
            above = tree.parent(node);
        }
        let area = Rectangle::new(corner, whole(tree.layout(node)?));
        areas[leaf].area = area;
        if let Some(holder) = tree.parent(node) {
            let at = tree.layout(node)?.location;
            let begin = corner - pixel(at);
            areas[leaf].room = Rectangle::new(begin, whole(tree.layout(holder)?));
        }
    }
    Ok(())
}

/// A place in whole pixels, near enough to the panel for sums of places.
fn pixel(at: taffy::Point<f32>) -> Point {
    let far = LARGEST_AREA as f32;
    Point::new(at.x.round().clamp(-far, far) as i32, at.y.round().clamp(-far, far) as i32)
}

/// A node's size in whole pixels.
fn whole(layout: &taffy::Layout) -> Size {
    let side = |length: f32| (length.round() as u32).min(LARGEST_AREA);
    Size::new(side(layout.size.width), side(layout.size.height))
}

fn measured(
    element: &dyn Element,
    known: taffy::Size<Option<f32>>,
    space: taffy::Size<AvailableSpace>,
) -> taffy::Size<f32> {
    let width = known.width.or(match space.width {
        AvailableSpace::Definite(width) => Some(width),
        _ => None,
    });
    let size = element.measure(width.map(|width| width.max(0.0) as u32));
    taffy::Size { width: known.width.unwrap_or(size.width as f32), height: known.height.unwrap_or(size.height as f32) }
}

fn pixels(width: u32, height: u32) -> taffy::Size<taffy::Dimension> {
    taffy::Size { width: length(width as f32), height: length(height as f32) }
}

/// Nodes of a stack's children: each is absolute, inside what docked ones before it have left.
fn stack(
    tree: &mut TaffyTree<usize>,
    slots: &[Slot<'_>],
    elements: &[Box<dyn Element>],
    leaves: &mut Vec<(usize, NodeId)>,
) -> taffy::TaffyResult<Vec<NodeId>> {
    let mut taken: Taken = [0; 4];
    slots
        .iter()
        .map(|slot| {
            let place = slot.place();
            let style = stacked(place, &mut taken, group_style(place));
            node(tree, slot, style, elements, leaves)
        })
        .collect()
}

fn node(
    tree: &mut TaffyTree<usize>,
    slot: &Slot<'_>,
    style: Style,
    elements: &[Box<dyn Element>],
    leaves: &mut Vec<(usize, NodeId)>,
) -> taffy::TaffyResult<NodeId> {
    match slot {
        Slot::Leaf(_, leaf) => {
            let id = tree.new_leaf_with_context(style, *leaf)?;
            leaves.push((*leaf, id));
            Ok(id)
        }
        Slot::Group(_, group, slots) if group.flow == GroupFlow::Stack => {
            let children = stack(tree, slots, elements, leaves)?;
            tree.new_with_children(style, &children)
        }
        Slot::Group(_, group, slots) => {
            let children = slots.iter().map(|slot| node(tree, slot, flowing(slot, group, elements), elements, leaves));
            let children = children.collect::<Result<Vec<_>, _>>()?;
            tree.new_with_children(Style { ..container(group, style) }, &children)
        }
    }
}

impl Slot<'_> {
    pub(super) fn place(&self) -> &PlaceSpec {
        match self {
            Self::Group(place, ..) | Self::Leaf(place, _) => place,
        }
    }

    /// Pixels that it takes where nothing makes it larger: what is stated, else what it holds.
    pub(super) fn natural(&self, elements: &[Box<dyn Element>]) -> [u32; 2] {
        let (width, height) = stated(self.place());
        let [across, down] = match (width, height) {
            (Some(width), Some(height)) => [width, height],
            _ => self.held(elements),
        };
        let [top, right, bottom, left] = self.place().margin.map_or([0; 4], Edges::each);
        [sum(width.unwrap_or(across), [left, right]), sum(height.unwrap_or(down), [top, bottom])]
    }

    /// Pixels that what it holds takes.
    fn held(&self, elements: &[Box<dyn Element>]) -> [u32; 2] {
        let (group, slots) = match self {
            Self::Leaf(_, leaf) => {
                let size = elements.get(*leaf).map_or(Size::zero(), |element| element.measure(None));
                return [size.width, size.height];
            }
            Self::Group(_, group, slots) => (group, slots),
        };
        let sizes = || slots.iter().map(|slot| slot.natural(elements));
        let most = sizes().fold([0, 0], |most, size| [most[0].max(size[0]), most[1].max(size[1])]);
        let gaps = group.style.gap.saturating_mul(slots.len().saturating_sub(1) as u32);
        let all = |side: usize| sizes().fold(gaps, |all, size| all.saturating_add(size[side]));
        let inside = match group.flow {
            GroupFlow::Stack => return stack_held(slots, elements),
            GroupFlow::Row => [all(0), most[1]],
            GroupFlow::Column => [most[0], all(1)],
            GroupFlow::Grid => {
                let columns = u32::from(columns(group));
                let rows = (slots.len() as u32).div_ceil(columns);
                let side = |size: u32, count: u32| {
                    let gaps = group.style.gap.saturating_mul(count.saturating_sub(1));
                    size.saturating_mul(count).saturating_add(gaps)
                };
                [side(most[0], columns), side(most[1], rows)]
            }
        };
        let [top, right, bottom, left] = group.style.padding.map_or([0; 4], Edges::each);
        [sum(inside[0], [left, right]), sum(inside[1], [top, bottom])]
    }
}

/// Pixels of what is docked in a stack, and of the largest of the rest.
fn stack_held(slots: &[Slot<'_>], elements: &[Box<dyn Element>]) -> [u32; 2] {
    let (mut docked, mut most) = ([0u32; 2], [0u32; 2]);
    for slot in slots {
        let (place, [width, height]) = (slot.place(), slot.natural(elements));
        let [x, y] = place.at.as_ref().map_or([0; 2], |at| at.value.map(|pixels| pixels.max(0) as u32));
        let docks = [place.left.as_ref().or(place.right.as_ref()), place.top.as_ref().or(place.bottom.as_ref())];
        for (side, needs) in [sum(x, [width, 0]), sum(y, [height, 0])].into_iter().enumerate() {
            // What docks after others stands inside what they have left.
            match docks[side].filter(|_| place.at.is_none()) {
                Some(dock) => docked[side] = docked[side].saturating_add(dock.value),
                None => most[side] = most[side].max(needs.saturating_add(docked[side])),
            }
        }
    }
    [most[0].max(docked[0]), most[1].max(docked[1])]
}

fn sum(size: u32, edges: [u32; 2]) -> u32 {
    size.saturating_add(edges[0]).saturating_add(edges[1])
}

/// Width and height that a place states.
fn stated(place: &PlaceSpec) -> (Option<u32>, Option<u32>) {
    let side = |own: &Option<At<u32>>, index: usize| {
        own.as_ref().map(|own| own.value).or(place.size.as_ref().map(|size| size.value[index]))
    };
    (side(&place.width, 0), side(&place.height, 1))
}

fn columns(group: &Group) -> u16 {
    group.style.columns.as_ref().map_or(2, |columns| columns.value.clamp(1, 64))
}

/// Size and margin that the place states.
fn group_style(place: &PlaceSpec) -> Style {
    let (width, height) = stated(place);
    Style {
        size: taffy::Size {
            width: width.map_or(auto(), |w| length(w as f32)),
            height: height.map_or(auto(), |h| length(h as f32)),
        },
        margin: edges(place.margin).map(|pixels| length(pixels as f32)),
        flex_shrink: 0.0,
        ..Style::default()
    }
}

fn edges(edges: Option<Edges>) -> taffy::Rect<u32> {
    let [top, right, bottom, left] = edges.map_or([0; 4], Edges::each);
    taffy::Rect { top, right, bottom, left }
}

/// The style of a child of a stack.
fn stacked(place: &PlaceSpec, taken: &mut Taken, mut style: Style) -> Style {
    style.position = Position::Absolute;
    let [top, right, bottom, left] = *taken;
    let at = |pixels: u32| length(pixels as f32);
    let (t, r, b, l) = (at(top), at(right), at(bottom), at(left));
    if let Some(corner) = &place.at {
        let [x, y] = corner.value;
        style.inset = taffy::Rect { left: length(x as f32), top: length(y as f32), right: auto(), bottom: auto() };
    } else if let Some(n) = &place.top {
        style.inset = taffy::Rect { left: l, top: t, right: r, bottom: auto() };
        style.size.height = length(n.value as f32);
        taken[0] = top.saturating_add(n.value);
    } else if let Some(n) = &place.bottom {
        style.inset = taffy::Rect { left: l, top: auto(), right: r, bottom: b };
        style.size.height = length(n.value as f32);
        taken[2] = bottom.saturating_add(n.value);
    } else if let Some(n) = &place.left {
        style.inset = taffy::Rect { left: l, top: t, right: auto(), bottom: b };
        style.size.width = length(n.value as f32);
        taken[3] = left.saturating_add(n.value);
    } else if let Some(n) = &place.right {
        style.inset = taffy::Rect { left: auto(), top: t, right: r, bottom: b };
        style.size.width = length(n.value as f32);
        taken[1] = right.saturating_add(n.value);
    } else {
        // Fills what is left, or starts at its corner where the size is stated.
        let stated = (place.width.is_some() || place.size.is_some(), place.height.is_some() || place.size.is_some());
        style.inset = taffy::Rect {
            left: l,
            top: t,
            right: if stated.0 { auto() } else { r },
            bottom: if stated.1 { auto() } else { b },
        };
    }
    style
}

/// The style of a child of a row, column or grid.
fn flowing(slot: &Slot<'_>, group: &Group, elements: &[Box<dyn Element>]) -> Style {
    let place = slot.place();
    let mut style = group_style(place);
    // What a stack holds stands in the stack, not in what holds the stack.
    style.position = Position::Relative;
    if matches!(slot, Slot::Group(_, inner, _) if inner.flow == GroupFlow::Stack) {
        let (width, height) = stated(place);
        let [across, down] = slot.held(elements);
        let least = |stated: Option<u32>, held: u32| if stated.is_some() { auto() } else { length(held as f32) };
        style.min_size = taffy::Size { width: least(width, across), height: least(height, down) };
    }
    if let Some(grow) = place.grow {
        style.flex_grow = grow.max(0.0);
        style.flex_shrink = 1.0;
        style.min_size = taffy::Size { width: zero(), height: zero() };
        match group.flow {
            GroupFlow::Row if place.width.is_none() && place.size.is_none() => style.flex_basis = zero(),
            GroupFlow::Column if place.height.is_none() && place.size.is_none() => style.flex_basis = zero(),
            _ => {}
        }
    }
    style.align_self = place.align_self.map(align);
    style
}

fn container(group: &Group, mut style: Style) -> Style {
    let own = &group.style;
    style.gap = taffy::Size { width: length(own.gap as f32), height: length(own.gap as f32) };
    style.padding = edges(own.padding).map(|pixels| length(pixels as f32));
    style.align_items = own.align.map_or(AlignItems::STRETCH, align);
    if let Some(distribution) = own.justify {
        style.justify_content = justify(distribution);
    }
    match group.flow {
        GroupFlow::Grid => {
            style.display = Display::Grid;
            style.grid_template_columns = taffy::prelude::evenly_sized_tracks(columns(group));
            style.grid_auto_rows = vec![taffy::prelude::fr(1.0)];
        }
        GroupFlow::Column => {
            style.display = Display::Flex;
            style.flex_direction = FlexDirection::Column;
        }
        GroupFlow::Row | GroupFlow::Stack => style.display = Display::Flex,
    }
    style
}

fn align(word: Align) -> AlignItems {
    match word {
        Align::Start => AlignItems::START,
        Align::Center => AlignItems::CENTER,
        Align::End => AlignItems::END,
        Align::Stretch => AlignItems::STRETCH,
        Align::Baseline => AlignItems::BASELINE,
    }
}

fn justify(word: Justify) -> JustifyContent {
    match word {
        Justify::Start => JustifyContent::START,
        Justify::Center => JustifyContent::CENTER,
        Justify::End => JustifyContent::END,
        Justify::SpaceBetween => JustifyContent::SPACE_BETWEEN,
        Justify::SpaceAround => JustifyContent::SPACE_AROUND,
        Justify::SpaceEvenly => JustifyContent::SPACE_EVENLY,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screen::operation::Operation;
    use crate::screen::place::GroupStyle;

    /// An element of a fixed size that draws nothing.
    #[derive(Debug)]
    struct Block(Size);

    impl Element for Block {
        fn measure(&self, _: Option<u32>) -> Size {
            self.0
        }

        fn operations(&self, _: Rectangle) -> Vec<Operation> {
            Vec::new()
        }
    }

    fn at<T>(value: T) -> Option<At<T>> {
        Some(At { span: 0..0, value })
    }

    fn group(flow: GroupFlow) -> Group {
        Group { flow, style: GroupStyle::default() }
    }

    /// The areas `[x, y, width, height]` of a stack's filling child and of the block after it, in a group of 100 x 40.
    fn beside(flow: GroupFlow, stack: PlaceSpec) -> Vec<[i64; 4]> {
        let (outer, inner, plain) = (group(flow), group(GroupFlow::Stack), PlaceSpec::default());
        let slots = [Slot::Group(
            &plain,
            &outer,
            vec![Slot::Group(&stack, &inner, vec![Slot::Leaf(&plain, 0)]), Slot::Leaf(&plain, 1)],
        )];
        let elements: [Box<dyn Element>; 2] = [Box::new(Block(Size::new(7, 5))), Box::new(Block(Size::new(9, 8)))];
        let spots = arrange(&slots, &elements, Size::new(100, 40));
        let numbers = |spot: &Spot| {
            let Rectangle { top_left, size } = spot.area;
            [top_left.x.into(), top_left.y.into(), size.width.into(), size.height.into()]
        };
        spots.iter().map(numbers).collect()
    }

    #[test]
    fn a_stack_in_a_row_or_column_has_the_size_it_states() {
        let sized = || PlaceSpec { size: at([30, 12]), ..PlaceSpec::default() };
        assert_eq!(beside(GroupFlow::Row, sized()), [[0, 0, 30, 12], [30, 0, 9, 40]]);
        assert_eq!(beside(GroupFlow::Column, sized()), [[0, 0, 30, 12], [0, 12, 100, 8]]);
        let wide = PlaceSpec { width: at(30), ..PlaceSpec::default() };
        assert_eq!(beside(GroupFlow::Row, wide), [[0, 0, 30, 40], [30, 0, 9, 40]]);
        let tall = PlaceSpec { height: at(12), ..PlaceSpec::default() };
        assert_eq!(beside(GroupFlow::Column, tall), [[0, 0, 100, 12], [0, 12, 100, 8]]);
    }

    #[test]
    fn a_stack_that_grows_takes_what_is_left() {
        let grows = || PlaceSpec { grow: Some(1.0), ..PlaceSpec::default() };
        assert_eq!(beside(GroupFlow::Row, grows()), [[0, 0, 91, 40], [91, 0, 9, 40]]);
        assert_eq!(beside(GroupFlow::Column, grows()), [[0, 0, 100, 32], [0, 32, 100, 8]]);
    }

    #[test]
    fn a_stack_without_a_size_holds_what_it_contains() {
        assert_eq!(beside(GroupFlow::Row, PlaceSpec::default()), [[0, 0, 7, 40], [7, 0, 9, 40]]);
        assert_eq!(beside(GroupFlow::Column, PlaceSpec::default()), [[0, 0, 100, 5], [0, 5, 100, 8]]);
    }
}
