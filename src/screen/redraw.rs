//! Redraws only what changed: elements whose areas touch one another form an island, and an island is drawn anew when
//! one of its fields changed. Since elements stay inside their areas, the picture is the same as a whole redraw.

use super::values::Values;
use super::{Item, Screen};
use crate::frame::Frame;
use embedded_graphics::primitives::Rectangle;

/// Elements whose areas touch, directly or through others.
#[derive(Debug)]
struct Island {
    /// Positions in the screen's list, in drawing order.
    items: Vec<usize>,
    /// Fields that can change its pixels.
    fields: Vec<usize>,
}

/// What is needed to redraw one screen in one locale.
#[derive(Debug)]
pub struct Redraw {
    islands: Vec<Island>,
}

impl Redraw {
    /// Finds the islands of a screen in a locale.
    pub fn new(screen: &Screen, locale: usize) -> Self {
        let items = &screen.pictures[locale];
        let mut of: Vec<usize> = (0..items.len()).collect();
        for a in 0..items.len() {
            for b in 0..a {
                if touch(&items[a].area, &items[b].area) {
                    let (keep, drop) = (root(&of, b), root(&of, a));
                    of[drop.max(keep)] = drop.min(keep);
                }
            }
        }
        let roots: Vec<usize> = (0..items.len()).map(|item| root(&of, item)).collect();
        let islands = (0..items.len()).filter(|item| roots[*item] == *item);
        Self { islands: islands.map(|island| Island::new(items, &roots, island)).collect() }
    }

    /// Brings a frame that shows this screen with older values up to date. `changed` tells for each field whether it
    /// was set since.
    pub fn draw(&self, screen: &Screen, locale: usize, values: &Values, changed: &[bool], frame: &mut Frame) {
        let items = &screen.pictures[locale];
        for island in self.islands.iter().filter(|island| island.fields.iter().any(|field| changed[*field])) {
            for item in &island.items {
                frame.fill(items[*item].area, false);
            }
            for item in &island.items {
                items[*item].draw(values, frame);
            }
        }
    }
}

impl Island {
    fn new(items: &[Item], roots: &[usize], island: usize) -> Self {
        let members: Vec<usize> = (0..items.len()).filter(|item| roots[*item] == island).collect();
        let mut fields: Vec<usize> =
            members.iter().flat_map(|item| items[*item].fields()).map(|field| field.0).collect();
        fields.sort_unstable();
        fields.dedup();
        Self { items: members, fields }
    }
}

fn root(of: &[usize], mut item: usize) -> usize {
    while of[item] != item {
        item = of[item];
    }
    item
}

fn touch(a: &Rectangle, b: &Rectangle) -> bool {
    let overlap = a.intersection(b).size;
    overlap.width > 0 && overlap.height > 0
}
