//! Rows of cells with one selected, and their scroll bar.

use crate::frame::Frame;
use crate::screen::operation::{Column, Rows, SCROLL_BAR as BAR};
use crate::screen::template::Template;
use crate::screen::typeset::Setting;
use crate::screen::values::Values;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// Height of a more-items mark and the space to the track.
const MARK: u32 = 5;

/// Which rows are seen.
struct View {
    total: usize,
    selected: usize,
    first: usize,
}

impl Rows {
    /// The area of the row in a visible place.
    pub fn row(&self, area: Rectangle, place: usize) -> Rectangle {
        let corner = area.top_left + Point::new(0, (place as u32 * self.pitch) as i32);
        Rectangle::new(corner, Size::new(self.width, self.pitch)).intersection(&area)
    }

    /// Rows that exist.
    fn total(&self, values: &Values) -> usize {
        // The cast turns a missing number into 0.
        let count = |field| (values.of(field).round() as usize).min(self.rows.len());
        self.count.map_or(self.rows.len(), count)
    }

    fn view(&self, values: &Values) -> View {
        let total = self.total(values);
        // The cast turns a missing value into 0.
        let selected = (values.of(self.selected).round() as usize).min(total.saturating_sub(1));
        let first = match self.pages {
            true => selected / self.visible * self.visible,
            false => selected.saturating_sub(self.visible / 2),
        };
        View { total, selected, first: first.min(total - self.visible.min(total)) }
    }

    /// The texts of the cells that are seen, each with its room and how it is set.
    pub fn cells(&self, area: Rectangle, values: &Values) -> Vec<(String, Rectangle, &Setting)> {
        let view = self.view(values);
        let seen = self.rows.iter().take(view.total).skip(view.first).take(self.visible);
        let row = |(place, cells): (usize, &Vec<Template>)| {
            let (row, selected) = (self.row(area, place), view.first + place == view.selected);
            let cells = cells.iter().zip(&self.columns).map(|(cell, column)| {
                (cell.text(values).into_owned(), column.cell(row), &column.settings[usize::from(selected)])
            });
            cells.collect::<Vec<_>>()
        };
        seen.enumerate().flat_map(row).collect()
    }

    pub(super) fn draw(&self, area: Rectangle, values: &Values, frame: &mut Frame) {
        let view = self.view(values);
        let seen = self.rows.iter().take(view.total).skip(view.first).take(self.visible);
        for (place, _) in seen.enumerate().filter(|(place, _)| view.first + place == view.selected) {
            frame.fill(self.row(area, place), true);
        }
        for (text, room, setting) in self.cells(area, values) {
            setting.draw(&text, room, frame);
        }
        if view.total > self.visible {
            self.scroll_bar(&view, frame);
        }
    }

    /// A track, a thumb as long as the visible share, and a triangle at each end with more rows.
    fn scroll_bar(&self, view: &View, frame: &mut Frame) {
        let (area, total) = (self.bar, view.total);
        let part = |x: u32, y: u32, w, h| {
            Rectangle::new(area.top_left + Point::new(x as i32, y as i32), Size::new(w, h)).intersection(&area)
        };
        for row in 0..3 {
            let side = BAR / 2 - row.min(BAR / 2);
            if view.first > 0 {
                frame.fill(part(side, row, BAR - 2 * side, 1), true);
            }
            if view.first + self.visible < total {
                frame.fill(part(side, area.size.height.saturating_sub(row + 1), BAR - 2 * side, 1), true);
            }
        }
        let track = area.size.height.saturating_sub(2 * MARK);
        frame.fill(part(BAR / 2, MARK, 1, track), true);
        let share = |rows: usize| (u64::from(track) * rows as u64 / total.max(1) as u64) as u32;
        let (start, end) = (share(view.first), share(view.first + self.visible));
        frame.fill(part(BAR / 2 - 1, MARK + start, 3, (end - start).max(3)), true);
    }
}

impl Column {
    /// The cell of this column in a row.
    pub fn cell(&self, row: Rectangle) -> Rectangle {
        let corner = row.top_left + Point::new(self.left, 0);
        Rectangle::new(corner, Size::new(self.width, row.size.height))
    }
}
