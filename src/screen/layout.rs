//! Gives every element its rectangle: stacks with docked areas, rows, columns and grids.
//!
//! The arithmetic of flexible boxes and grids is the layout library's (CSS Flexible Box and Grid Layout, W3C);
//! here the project's words are turned into its styles.

use super::element::Element;
use super::place::{Align, Edges, Group, GroupFlow, Justify, Place};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use taffy::prelude::{TaffyMaxContent as _, auto, length, zero};
use taffy::{AlignItems, AvailableSpace, Display, FlexDirection, JustifyContent, NodeId, Position, Style, TaffyTree};

/// An element or group in the tree of a screen; `Leaf` holds the element's number.
#[derive(Debug)]
pub enum Slot<'a> {
    /// A group of slots.
    Group(&'a Place, &'a Group, Vec<Slot<'a>>),
    /// An element.
    Leaf(&'a Place, usize),
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
    let children = stack(&mut tree, slots, &mut leaves)?;
    let root_style = Style { size: pixels(size.width, size.height), ..group_style(&Place::default()) };
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

/// A place in whole pixels, near enough to the glass for sums of places.
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
    leaves: &mut Vec<(usize, NodeId)>,
) -> taffy::TaffyResult<Vec<NodeId>> {
    let mut taken: Taken = [0; 4];
    slots
        .iter()
        .map(|slot| {
            let place = slot.place();
            let style = stacked(place, &mut taken, group_style(place));
            node(tree, slot, style, leaves)
        })
        .collect()
}

fn node(
    tree: &mut TaffyTree<usize>,
    slot: &Slot<'_>,
    style: Style,
    leaves: &mut Vec<(usize, NodeId)>,
) -> taffy::TaffyResult<NodeId> {
    match slot {
        Slot::Leaf(_, leaf) => {
            let id = tree.new_leaf_with_context(style, *leaf)?;
            leaves.push((*leaf, id));
            Ok(id)
        }
        Slot::Group(_, group, slots) if group.flow == GroupFlow::Stack => {
            let children = stack(tree, slots, leaves)?;
            tree.new_with_children(style, &children)
        }
        Slot::Group(_, group, slots) => {
            let children = slots.iter().map(|slot| node(tree, slot, flowing(slot.place(), group), leaves));
            let children = children.collect::<Result<Vec<_>, _>>()?;
            tree.new_with_children(Style { ..container(group, style) }, &children)
        }
    }
}

impl Slot<'_> {
    fn place(&self) -> &Place {
        match self {
            Self::Group(place, ..) | Self::Leaf(place, _) => place,
        }
    }
}

/// Size and margin that the place states.
fn group_style(place: &Place) -> Style {
    let width = place.width.as_ref().map(|w| w.value).or(place.size.as_ref().map(|s| s.value[0]));
    let height = place.height.as_ref().map(|h| h.value).or(place.size.as_ref().map(|s| s.value[1]));
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
fn stacked(place: &Place, taken: &mut Taken, mut style: Style) -> Style {
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
fn flowing(place: &Place, group: &Group) -> Style {
    let mut style = group_style(place);
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
            let columns = own.columns.as_ref().map_or(2, |columns| columns.value.clamp(1, 64));
            style.grid_template_columns = taffy::prelude::evenly_sized_tracks(columns);
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
    use crate::source::amount::At;

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
    fn beside(flow: GroupFlow, stack: Place) -> Vec<[i64; 4]> {
        let (outer, inner, plain) = (group(flow), group(GroupFlow::Stack), Place::default());
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
        let sized = || Place { size: at([30, 12]), ..Place::default() };
        assert_eq!(beside(GroupFlow::Row, sized()), [[0, 0, 30, 12], [30, 0, 9, 40]]);
        assert_eq!(beside(GroupFlow::Column, sized()), [[0, 0, 30, 12], [0, 12, 100, 8]]);
        let wide = Place { width: at(30), ..Place::default() };
        assert_eq!(beside(GroupFlow::Row, wide), [[0, 0, 30, 40], [30, 0, 9, 40]]);
        let tall = Place { height: at(12), ..Place::default() };
        assert_eq!(beside(GroupFlow::Column, tall), [[0, 0, 100, 12], [0, 12, 100, 8]]);
    }

    #[test]
    fn a_stack_that_grows_takes_what_is_left() {
        let grows = || Place { grow: Some(1.0), ..Place::default() };
        assert_eq!(beside(GroupFlow::Row, grows()), [[0, 0, 91, 40], [91, 0, 9, 40]]);
        assert_eq!(beside(GroupFlow::Column, grows()), [[0, 0, 100, 32], [0, 32, 100, 8]]);
    }

    #[test]
    fn a_stack_without_a_size_holds_what_it_contains() {
        assert_eq!(beside(GroupFlow::Row, Place::default()), [[0, 0, 7, 40], [7, 0, 9, 40]]);
        assert_eq!(beside(GroupFlow::Column, Place::default()), [[0, 0, 100, 5], [0, 5, 100, 8]]);
    }
}
