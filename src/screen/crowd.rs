//! What is docked, or stated in a row or column, so large that it leaves no room for the rest: it is the cause, and what it pushes out its victims. Not for
//! placing anything; see [`super::layout`].

use super::element::Element;
use super::layout::{Slot, Spot};
use super::place::{GroupFlow, PlaceSpec};
use crate::source::amount::At;
use crate::source::spans::Span;
use embedded_graphics::prelude::Size;

/// An element or group that takes more than there is, or more than it holds while others lack it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Crowd {
    /// The number of pixels at fault, in the file.
    pub span: Span,
    /// Pixels that it takes.
    pub takes: u32,
    /// Pixels that are left where it docks.
    pub left: u32,
    /// Pixels that it holds, where it takes more than that from others.
    pub holds: Option<u32>,
    /// It docks; otherwise it stands in a row or column.
    pub docks: bool,
}

impl Crowd {
    /// In words.
    pub fn message(&self) -> String {
        match self.holds {
            None if !self.docks => format!("this takes {} px, {} are left", self.takes, self.left),
            None => format!("what is docked here takes {} px, {} are left", self.takes, self.left),
            Some(holds) => {
                format!("what is docked here takes {} px and holds {holds}; the rest has too little room", self.takes)
            }
        }
    }

    /// What to do about it.
    pub fn help(&self) -> &'static str {
        if self.docks { "dock it with fewer pixels" } else { "give it fewer pixels" }
    }
}

/// For each element the crowd that pushes it out, if there is one.
pub fn crowds(slots: &[Slot<'_>], elements: &[Box<dyn Element>], spots: &[Spot], size: Size) -> Vec<Option<Crowd>> {
    let mut found = vec![None; elements.len()];
    let look = Look { elements, spots, screen: size };
    look.stack(slots, [Some(size.width), Some(size.height)], &mut found);
    found
}

struct Look<'a> {
    elements: &'a [Box<dyn Element>],
    spots: &'a [Spot],
    screen: Size,
}

impl Look<'_> {
    fn stack(&self, slots: &[Slot<'_>], room: [Option<u32>; 2], found: &mut [Option<Crowd>]) {
        let mut taken = [0u32; 2];
        let mut rest = Vec::new();
        for (index, slot) in slots.iter().enumerate() {
            let left = [0, 1].map(|axis| room[axis].map(|room| room.saturating_sub(taken[axis])));
            let Some((axis, dock)) = docked(slot.place()) else {
                let place = slot.place();
                let sized = place.size.as_ref().map(|size| size.value);
                let stated = [&place.width, &place.height].map(|side| side.as_ref().map(|side| side.value));
                let own = |axis: usize| stated[axis].or(sized.map(|size| size[axis]));
                let fills = |axis: usize| left[axis].filter(|_| place.at.is_none());
                self.inside(slot, [0, 1].map(|axis| own(axis).or(fills(axis))), found);
                rest.extend(leaves(slot));
                continue;
            };
            if let Some(left) = left[axis].filter(|left| dock.value > *left) {
                let crowd = Crowd { span: dock.span.clone(), takes: dock.value, left, holds: None, docks: true };
                slots[index..].iter().flat_map(leaves).for_each(|leaf| found[leaf] = Some(crowd.clone()));
                return;
            }
            let mut inner = left;
            inner[axis] = Some(dock.value);
            self.inside(slot, inner, found);
            taken[axis] = taken[axis].saturating_add(dock.value);
        }
        self.blame(slots, &rest, room[1].unwrap_or(0), found);
    }

    fn inside(&self, slot: &Slot<'_>, room: [Option<u32>; 2], found: &mut [Option<Crowd>]) {
        match slot {
            Slot::Group(_, group, slots) if group.flow == GroupFlow::Stack => self.stack(slots, room, found),
            Slot::Group(_, group, slots) => {
                let along = match group.flow {
                    GroupFlow::Row => room[0].map(|room| (0, room)),
                    GroupFlow::Column => room[1].map(|room| (1, room)),
                    _ => None,
                };
                let pushed = along.and_then(|(axis, room)| pushing(slots, axis, room));
                let sound = pushed.as_ref().map_or(slots.len(), |(first, _)| *first);
                slots[..sound].iter().for_each(|slot| self.inside(slot, [None; 2], found));
                if let Some((_, crowd)) = pushed {
                    slots[sound..].iter().flat_map(leaves).for_each(|leaf| found[leaf] = Some(crowd.clone()));
                }
            }
            Slot::Leaf(..) => {}
        }
    }

    /// Where what fills the rest is pushed out upwards or downwards, and something docked takes that much more than it
    /// holds, the latter is the cause.
    fn blame(&self, slots: &[Slot<'_>], rest: &[usize], room: u32, found: &mut [Option<Crowd>]) {
        let out: Vec<(usize, u32)> =
            rest.iter().map(|leaf| (*leaf, self.lacks(*leaf))).filter(|(_, px)| *px > 0).collect();
        let Some(most) = out.iter().map(|(_, px)| *px).max() else { return };
        let spare = |slot: &Slot<'_>| {
            let (axis, dock) = docked(slot.place())?;
            let holds = slot.natural(self.elements)[1];
            (axis == 1 && holds > 0).then(|| (dock.value.saturating_sub(holds), holds, dock.clone()))
        };
        let Some((_, holds, dock)) =
            slots.iter().filter_map(spare).filter(|(px, ..)| *px >= most).max_by_key(|(px, ..)| *px)
        else {
            return;
        };
        let crowd = Crowd { span: dock.span, takes: dock.value, left: room, holds: Some(holds), docks: true };
        out.into_iter().for_each(|(leaf, _)| found[leaf] = Some(crowd.clone()));
    }

    /// Pixels by which an element reaches out of its group or off the screen, upwards or downwards.
    fn lacks(&self, leaf: usize) -> u32 {
        let Some(spot) = self.spots.get(leaf) else { return 0 };
        let ends = |area: embedded_graphics::primitives::Rectangle| {
            (i64::from(area.top_left.y), i64::from(area.top_left.y) + i64::from(area.size.height))
        };
        let (top, bottom) = ends(spot.area);
        let (room_top, room_bottom) = ends(spot.room);
        let out = (room_top.max(0) - top).max(bottom - room_bottom.min(i64::from(self.screen.height)));
        u32::try_from(out.max(0)).unwrap_or(0)
    }
}

/// The first of a row or column whose stated size is more than what those before it leave.
fn pushing(slots: &[Slot<'_>], axis: usize, room: u32) -> Option<(usize, Crowd)> {
    let mut left = room;
    for (index, slot) in slots.iter().enumerate() {
        let place = slot.place();
        let Some(side) = [&place.width, &place.height][axis] else { continue };
        if side.value > left {
            let crowd = Crowd { span: side.span.clone(), takes: side.value, left, holds: None, docks: false };
            return Some((index, crowd));
        }
        left -= side.value;
    }
    None
}

/// Along which axis something docks, 0 being across, and how many pixels it takes.
fn docked(place: &PlaceSpec) -> Option<(usize, &At<u32>)> {
    if place.at.is_some() {
        return None;
    }
    let down = place.top.as_ref().or(place.bottom.as_ref()).map(|dock| (1, dock));
    down.or(place.left.as_ref().or(place.right.as_ref()).map(|dock| (0, dock)))
}

/// The elements of a slot.
fn leaves(slot: &Slot<'_>) -> Vec<usize> {
    match slot {
        Slot::Leaf(_, leaf) => vec![*leaf],
        Slot::Group(_, _, slots) => slots.iter().flat_map(leaves).collect(),
    }
}
