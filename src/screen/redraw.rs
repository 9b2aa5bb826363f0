//! Redraws only what changed: elements whose extents touch one another form an island, and an island is drawn anew when
//! one of its fields changed. Since elements stay inside their extents, the picture is the same as a whole redraw.

use super::values::Values;
use super::{Item, Screen};
use crate::frame::Frame;
use crate::limits::PANEL_SIDE;
use embedded_graphics::primitives::Rectangle;
use std::ops::Range;

/// Live elements that are drawn anew together, with the fixed ones that touch them.
#[derive(Debug)]
pub struct Island {
    /// Positions in the screen's list, in drawing order, and extents.
    items: Vec<(usize, Rectangle)>,
    /// Fields that can change its pixels.
    fields: Vec<usize>,
    /// The rows of the picture that it lies in, and perhaps some beyond the picture.
    pub rows: Range<u32>,
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
        let extents: Vec<Rectangle> = items.iter().map(Item::extent).collect();
        let members = |all: Vec<usize>| all.into_iter().map(|item| (item, extents[item])).collect();
        Self { islands: islands(&extents).into_iter().filter_map(|all| Island::new(items, members(all))).collect() }
    }

    /// The islands to be drawn anew; `changed` tells for each field whether it was set since they were drawn.
    pub fn stale<'a>(&'a self, changed: &'a [bool]) -> impl Iterator<Item = &'a Island> {
        self.islands.iter().filter(|island| island.fields.iter().any(|field| changed[*field]))
    }
}

impl Island {
    /// Nothing where no field can change its pixels.
    fn new(all: &[Item], items: Vec<(usize, Rectangle)>) -> Option<Self> {
        let mut fields: Vec<usize> =
            items.iter().flat_map(|(item, _)| all[*item].fields()).map(|field| field.0).collect();
        fields.sort_unstable();
        fields.dedup();
        let row = |y: i64| u32::try_from(y.max(0)).unwrap_or(u32::MAX);
        let tops = items.iter().map(|(_, extent)| row(extent.top_left.y.into()));
        let bottoms = items.iter().map(|(_, extent)| row(bottom(extent)));
        let rows = tops.min()?..bottoms.max()?;
        (!fields.is_empty()).then_some(Self { items, fields, rows })
    }

    /// Draws it anew into a frame that shows its screen with older values.
    pub fn draw(&self, screen: &Screen, locale: usize, values: &Values, frame: &mut Frame) {
        for (_, extent) in &self.items {
            frame.fill(*extent, false);
        }
        for (item, _) in &self.items {
            screen.pictures[locale][*item].draw(values, frame);
        }
    }
}

/// Groups areas that touch one another, directly or through others: members in rising order, groups by their first.
///
/// From top to bottom, each column of pixels remembers the area seen there that reaches down farthest. Where that one
/// ends above a new area, so do all others of the column; where it does not, those that also reach the new one hold a
/// pixel in common with it and are in its group already. So time grows with the areas' widths and not with their pairs.
fn islands(areas: &[Rectangle]) -> Vec<Vec<usize>> {
    let mut of: Vec<usize> = (0..areas.len()).collect();
    let mut order: Vec<usize> = (0..areas.len()).filter(|area| !areas[*area].is_zero_sized()).collect();
    order.sort_by_key(|area| areas[*area].top_left.y);
    let mut deepest: Vec<Option<usize>> = vec![None; PANEL_SIDE as usize];
    let bottom = |area: usize| bottom(&areas[area]);
    for area in order {
        for column in &mut deepest[columns(&areas[area])] {
            if let Some(other) = column.filter(|other| bottom(*other) > i64::from(areas[area].top_left.y)) {
                let (a, b) = (root(&mut of, area), root(&mut of, other));
                of[a.max(b)] = a.min(b);
            }
            if column.is_none_or(|other| bottom(area) > bottom(other)) {
                *column = Some(area);
            }
        }
    }
    let mut groups: Vec<Vec<usize>> = vec![Vec::new(); areas.len()];
    for area in 0..areas.len() {
        groups[root(&mut of, area)].push(area);
    }
    groups.retain(|group| !group.is_empty());
    groups
}

/// The row below an area.
fn bottom(area: &Rectangle) -> i64 {
    i64::from(area.top_left.y) + i64::from(area.size.height)
}

/// The columns of an area that can be on a panel; beyond it nothing is drawn that could be redrawn.
fn columns(area: &Rectangle) -> std::ops::Range<usize> {
    let on_panel = |x: i64| x.clamp(0, i64::from(PANEL_SIDE)) as usize;
    let left = i64::from(area.top_left.x);
    on_panel(left)..on_panel(left + i64::from(area.size.width))
}

/// The least member of a group, with the way to it made shorter.
fn root(of: &mut [usize], mut item: usize) -> usize {
    while of[item] != item {
        of[item] = of[of[item]];
        item = of[item];
    }
    item
}

#[cfg(test)]
mod tests {
    use super::*;
    use embedded_graphics::prelude::{Point, Size};
    use rand::{RngExt, SeedableRng};

    /// By pairs, as the words say it.
    fn by_pairs(areas: &[Rectangle]) -> Vec<Vec<usize>> {
        let mut group: Vec<usize> = (0..areas.len()).collect();
        for a in 0..areas.len() {
            for b in 0..a {
                if !areas[a].intersection(&areas[b]).is_zero_sized() {
                    let (keep, drop) = (group[a].min(group[b]), group[a].max(group[b]));
                    group.iter_mut().filter(|of| **of == drop).for_each(|of| *of = keep);
                }
            }
        }
        let members = |wanted| (0..areas.len()).filter(|area| group[*area] == wanted).collect::<Vec<_>>();
        (0..areas.len()).map(members).filter(|members| !members.is_empty()).collect()
    }

    #[test]
    fn islands_are_those_of_all_pairs() {
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(11);
        for count in (0..400).map(|n| n % 40) {
            let mut area = || {
                let corner = Point::new(random.random_range(0..80), random.random_range(-9..80));
                Rectangle::new(corner, Size::new(random.random_range(0..16), random.random_range(0..16)))
            };
            let areas: Vec<Rectangle> = (0..count).map(|_| area()).collect();
            assert_eq!(islands(&areas), by_pairs(&areas), "{areas:?}");
        }
    }

    #[test]
    fn areas_beyond_the_panel_are_no_harm() {
        let far = |x, y| Rectangle::new(Point::new(x, y), Size::new(u32::MAX, u32::MAX));
        let areas = [far(i32::MIN, i32::MIN), far(i32::MAX, 0), far(-5, i32::MAX)];
        assert_eq!(islands(&areas).iter().map(Vec::len).sum::<usize>(), 3);
    }

    #[test]
    fn a_screen_of_the_most_elements_is_grouped() {
        let apart = |n: usize| Rectangle::new(Point::new(n as i32 % 60 * 5, n as i32 / 60 * 5), Size::new(4, 4));
        let heap = |_: usize| Rectangle::new(Point::new(0, 0), Size::new(300, 128));
        for area in [&apart as &dyn Fn(usize) -> Rectangle, &heap] {
            let areas: Vec<Rectangle> = (0..crate::limits::ELEMENTS).map(area).collect();
            let groups = islands(&areas);
            assert_eq!(groups.iter().map(Vec::len).sum::<usize>(), areas.len());
        }
    }
}
