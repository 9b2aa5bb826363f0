//! A map as plain shapes: cards in their cells, ways as lines of text, arrows along their tracks. Lengths in points.

use super::cards::{Card, Cards, Leads, Takes};
use super::place::{CardPlace, place};
use super::route::{Route, Side, Stretch, joined, tracks};
use crate::plot::letters::width;
use crate::plot::palette::KINDS;
use crate::plot::scene::{Anchor, Colour, Scene, Shape};
use crate::units::column::Scale;
use crate::units::{Joules, Quantity, Seconds};

/// Colours of arrows; the last kind is grey as notes are.
const ARROWS: usize = KINDS - 1;
/// Width of a card.
const WIDE: f32 = 212.0;
/// Largest picture on a card.
const PICTURE: f32 = 180.0;
const PAD: f32 = 7.0;
/// Size of the letters, and of those of a card's title.
const TEXT: f32 = 7.5;
const TITLE: f32 = 9.5;
/// Height of a line of text.
const LINE: f32 = 11.0;
/// Between two tracks; around the tracks of a gutter or lane.
const TRACK: f32 = 4.5;
const ROOM: f32 = 12.0;
/// Around the whole, and the room of its head.
const MARGIN: f32 = 24.0;
const HEAD: f32 = 46.0;
/// Cut from a corner of an arrow.
const CORNER: f32 = 3.5;
/// From a card's top to where arrows enter.
const ENTRY: f32 = 11.0;
/// Ends of the columns of a way, from the card's left side.
const COLUMNS: [f32; 4] = [66.0, 136.0, 172.0, 206.0];

/// Everything where it stands.
struct Sheet<'a> {
    cards: &'a Cards,
    at: Vec<CardPlace>,
    /// The colour of the arrows to each card.
    colours: Vec<Colour>,
    /// Points on the sheet for each pixel of the panel.
    scale: f32,
    left: Vec<f32>,
    top: Vec<f32>,
}

/// Makes the shapes of a map.
pub fn draw(cards: &Cards) -> Scene {
    let ways: Vec<(usize, usize)> = cards
        .cards
        .iter()
        .enumerate()
        .flat_map(|(from, card)| card.ways.iter().filter_map(move |way| to(way.to).map(|to| (from, to))))
        .collect();
    let scale = scale(cards);
    let heights: Vec<f32> = cards.cards.iter().map(|card| height(card, scale)).collect();
    let mean = heights.iter().sum::<f32>() / heights.len().max(1) as f32;
    let at = place(cards.cards.len(), &ways, cards.home, (WIDE + 50.0) / (mean + 20.0));
    let columns = at.iter().map(|at| at.column + 1).max().unwrap_or(0);
    let rows = at.iter().map(|at| at.row + 1).max().unwrap_or(0);
    let routes: Vec<Vec<Option<Route>>> = (0..cards.cards.len())
        .map(|from| {
            let route = |way: &super::cards::Exit| to(way.to).map(|to| Route::new(at[from], to, at[to]));
            cards.cards[from].ways.iter().map(route).collect()
        })
        .collect();
    let all = || routes.iter().flatten().flatten();

    // Lanes first: they need no lengths. Then the rows' tops, then gutters, then the columns' left sides.
    let lanes = joined(all().filter(|route| route.crosses()).map(|route| {
        let (from, until) = (route.from_gutter.min(route.to_gutter), route.from_gutter.max(route.to_gutter));
        Stretch { channel: at[route.to].row, to: route.to, from: from as f32, until: until as f32 }
    }));
    let (lane_tracks, lane_counts) = tracks(&lanes, rows + 1, 0.5);
    let mut top = Vec::new();
    let mut y = MARGIN + HEAD;
    for (row, count) in lane_counts.iter().enumerate().take(rows) {
        y += ROOM + TRACK * *count as f32;
        top.push(y);
        let highest = (0..cards.cards.len()).filter(|card| at[*card].row == row).map(|card| heights[card]);
        y += highest.fold(0.0, f32::max);
    }
    let high = y + ROOM + MARGIN;
    let colours = colours(&at);
    let mut sheet = Sheet { cards, at, colours, scale, left: Vec::new(), top };
    let lane_y = |to: usize| {
        let index = lanes.iter().position(|lane| lane.to == to)?;
        let row = lanes[index].channel;
        Some(sheet.top[row] - ROOM / 2.0 - TRACK * (lane_counts[row] - 1 - lane_tracks[index]) as f32)
    };
    let lane_y: Vec<Option<f32>> = (0..cards.cards.len()).map(lane_y).collect();
    let gutters = joined(routes.iter().enumerate().flat_map(|(from, routes)| {
        let (sheet, lane_y) = (&sheet, &lane_y);
        routes.iter().enumerate().filter_map(move |(way, route)| Some((way, (*route)?))).flat_map(
            move |(way, route)| {
                let (port, entry) = (sheet.port(from, way), sheet.entry(route.to));
                let stretch =
                    |channel, a: f32, b: f32| Stretch { channel, to: route.to, from: a.min(b), until: a.max(b) };
                match lane_y[route.to].filter(|_| route.crosses()) {
                    Some(lane) => vec![stretch(route.from_gutter, port, lane), stretch(route.to_gutter, lane, entry)],
                    None => vec![stretch(route.from_gutter, port, entry)],
                }
            },
        )
    }));
    let (gutter_tracks, gutter_counts) = tracks(&gutters, columns + 1, 6.0);
    let mut x = MARGIN;
    let mut gutter_left = Vec::new();
    for (index, count) in gutter_counts.iter().enumerate() {
        gutter_left.push(x);
        let room = if *count > 0 { 2.0 * ROOM + TRACK * (*count as f32 - 1.0) } else { 0.0 };
        x += if index == 0 || index == columns { room } else { room.max(2.0 * ROOM) };
        if index < columns {
            sheet.left.push(x);
            x += WIDE;
        }
    }
    let size = [(x + MARGIN).max(560.0), high];
    let track_x = |gutter: usize, to: usize| {
        let index = gutters.iter().position(|one| (one.channel, one.to) == (gutter, to));
        gutter_left[gutter] + ROOM + TRACK * index.map_or(0, |index| gutter_tracks[index]) as f32
    };

    let mut shapes = sheet.head();
    let mut heads: Vec<(usize, Side)> = Vec::new();
    for (from, routes) in routes.iter().enumerate() {
        for (way, route) in routes.iter().enumerate() {
            let Some(route) = route else { continue };
            let mut points = vec![[sheet.side(from, route.exit), sheet.port(from, way)]];
            let first = track_x(route.from_gutter, route.to);
            points.push([first, points[0][1]]);
            if let Some(lane) = lane_y[route.to].filter(|_| route.crosses()) {
                points.push([first, lane]);
                points.push([track_x(route.to_gutter, route.to), lane]);
            }
            let last = track_x(route.to_gutter, route.to);
            let entry = [sheet.side(route.to, route.entry), sheet.entry(route.to)];
            points.extend([[last, entry[1]], entry]);
            let colour = sheet.colours[route.to];
            shapes.push(Shape::Line { points: cut(&points), width: 1.0, colour, dash: None });
            if !heads.contains(&(route.to, route.entry)) {
                heads.push((route.to, route.entry));
            }
        }
    }
    (0..cards.cards.len()).for_each(|card| sheet.card(card, heights[card], &mut shapes));
    for (from, routes) in routes.iter().enumerate() {
        for (way, route) in routes.iter().enumerate() {
            let Some(route) = route else { continue };
            let (x, y) = (sheet.side(from, route.exit), sheet.port(from, way));
            shapes.push(square([x, y], 1.8, sheet.colours[route.to]));
        }
    }
    for (to, side) in heads {
        let (x, y) = (sheet.side(to, side), sheet.entry(to));
        let back = if side == Side::Left { -6.0 } else { 6.0 };
        let points = vec![[x, y], [x + back, y - 3.2], [x + back, y + 3.2]];
        shapes.push(Shape::Area { points, colour: sheet.colours[to], opacity: 1.0 });
    }
    Scene { size, title: format!("{}: the flow as a map", cards.name), shapes }
}

fn to(leads: Leads) -> Option<usize> {
    match leads {
        Leads::To(card) => Some(card),
        Leads::Here | Leads::Many(_) => None,
    }
}

/// Points for each pixel of the panel: a half, a third and so on, so that the pictures stay sharp when enlarged.
fn scale(cards: &Cards) -> f32 {
    let across = cards.cards.first().map_or(1, |card| card.frame.width()).max(1) as f32;
    if across <= PICTURE { 1.0 } else { 1.0 / (across / PICTURE).ceil() }
}

fn height(card: &Card, scale: f32) -> f32 {
    let lines = card.entries.len() + card.ways.len() + usize::from(card.role.is_some());
    PAD + TITLE + 6.0 + card.frame.height() as f32 * scale + 6.0 + LINE * lines as f32 + PAD
}

/// Colours in the order of the cards' places, so that neighbours differ.
fn colours(at: &[CardPlace]) -> Vec<Colour> {
    let mut order: Vec<usize> = (0..at.len()).collect();
    order.sort_by_key(|card| (at[*card].column, at[*card].row));
    let mut colours = vec![Colour::Kind(0); at.len()];
    order.into_iter().enumerate().for_each(|(place, card)| colours[card] = Colour::Kind(place % ARROWS));
    colours
}

/// A line whose corners are cut, so that a turn and a crossing look different.
fn cut(points: &[[f32; 2]]) -> Vec<[f32; 2]> {
    let mut line: Vec<[f32; 2]> = Vec::with_capacity(points.len() * 2);
    for (index, point) in points.iter().enumerate() {
        let neighbours = index.checked_sub(1).and_then(|before| points.get(before)).zip(points.get(index + 1));
        match neighbours {
            None => line.push(*point),
            Some((before, after)) => line.extend([towards(*point, *before), towards(*point, *after)]),
        }
    }
    line
}

fn towards([x, y]: [f32; 2], [to_x, to_y]: [f32; 2]) -> [f32; 2] {
    let (across, down) = (to_x - x, to_y - y);
    let length = across.hypot(down);
    let share = if length > 0.0 { CORNER.min(length / 2.0) / length } else { 0.0 };
    [x + across * share, y + down * share]
}

fn square([x, y]: [f32; 2], half: f32, colour: Colour) -> Shape {
    Shape::Area { points: rectangle([x - half, y - half], [2.0 * half, 2.0 * half]), colour, opacity: 1.0 }
}

fn rectangle([x, y]: [f32; 2], [wide, high]: [f32; 2]) -> Vec<[f32; 2]> {
    vec![[x, y], [x + wide, y], [x + wide, y + high], [x, y + high]]
}

fn frame(at: [f32; 2], size: [f32; 2], colour: Colour, width: f32, dash: Option<[f32; 2]>) -> Shape {
    let mut points = rectangle(at, size);
    points.push(points[0]);
    Shape::Line { points, width, colour, dash }
}

fn text(at: [f32; 2], anchor: Anchor, size: f32, colour: Colour, text: String) -> Shape {
    Shape::Text { at, anchor, size, colour, text }
}

/// A text cut where it is wider than there is room.
fn fitted(text: &str, size: f32, room: f32) -> String {
    if width(text, size) <= room {
        return text.to_owned();
    }
    let mut kept: Vec<char> = text.chars().collect();
    while kept.pop().is_some() {
        let shorter = kept.iter().collect::<String>().trim_end().to_owned() + "…";
        if width(&shorter, size) <= room {
            return shorter;
        }
    }
    String::new()
}

impl Sheet<'_> {
    fn side(&self, card: usize, side: Side) -> f32 {
        self.left[self.at[card].column] + if side == Side::Left { 0.0 } else { WIDE }
    }

    fn entry(&self, card: usize) -> f32 {
        self.top[self.at[card].row] + ENTRY
    }

    /// The middle of a way's line.
    fn port(&self, card: usize, way: usize) -> f32 {
        let above = self.cards.cards[card].entries.len() + way;
        self.lines(card) + LINE * above as f32 + LINE / 2.0
    }

    /// Where a card's lines of text begin.
    fn lines(&self, card: usize) -> f32 {
        let picture = self.cards.cards[card].frame.height() as f32 * self.scale;
        self.top[self.at[card].row] + PAD + TITLE + 6.0 + picture + 6.0
    }

    fn head(&self) -> Vec<Shape> {
        let Cards { name, cards, states, complete, .. } = self.cards;
        let boxes = cards.iter().filter(|card| card.over).count();
        let counted = |count: usize, one: &str| if count == 1 { format!("1 {one}") } else { format!("{count} {one}") };
        let screens = counted(cards.len() - boxes, if cards.len() - boxes == 1 { "screen" } else { "screens" });
        let boxed = if boxes == 0 {
            String::new()
        } else {
            format!(", {} (dashed)", counted(boxes, if boxes == 1 { "box" } else { "boxes" }))
        };
        let more = if *complete { "" } else { ", not all" };
        let note = format!(
            "{screens}{boxed}; {states} states{more}. Each transition: cause, screen it leads to, energy at the battery, update \
             latency; a filled square marks a full refresh."
        );
        vec![
            text([MARGIN, MARGIN + 14.0], Anchor::Start, 15.0, Colour::Ink, name.clone()),
            text([MARGIN, MARGIN + 30.0], Anchor::Start, 8.5, Colour::Grey, note),
        ]
    }

    fn card(&self, index: usize, high: f32, shapes: &mut Vec<Shape>) {
        let card = &self.cards.cards[index];
        let CardPlace { column, row } = self.at[index];
        let (x, y) = (self.left[column], self.top[row]);
        shapes.push(Shape::Area { points: rectangle([x, y], [WIDE, high]), colour: Colour::Paper, opacity: 1.0 });
        let home = index == self.cards.home;
        let dash = card.over.then_some([3.0, 2.0]);
        shapes.push(frame(
            [x, y],
            [WIDE, high],
            if home { Colour::Ink } else { Colour::Axis },
            if home { 1.6 } else { 0.8 },
            dash,
        ));
        let base = y + PAD + TITLE - 1.5;
        let room = WIDE - 2.0 * PAD;
        let title = fitted(&card.title, TITLE, room);
        let beside = room - width(&title, TITLE) - 6.0;
        shapes.push(text([x + PAD, base], Anchor::Start, TITLE, Colour::Ink, title));
        if card.id != card.title && beside > 20.0 {
            shapes.push(text([x + WIDE - PAD, base], Anchor::End, TEXT, Colour::Grey, fitted(&card.id, TEXT, beside)));
        }
        let size = [card.frame.width() as f32 * self.scale, card.frame.height() as f32 * self.scale];
        let corner = [x + PAD, y + PAD + TITLE + 6.0];
        shapes.push(Shape::Area { points: rectangle(corner, size), colour: Colour::White, opacity: 1.0 });
        shapes.push(Shape::Picture { at: corner, size, frame: card.frame.clone() });
        shapes.push(frame([corner[0] - 0.5, corner[1] - 0.5], [size[0] + 1.0, size[1] + 1.0], Colour::Grid, 1.0, None));
        let mut base = self.lines(index) + LINE - 3.5;
        let all =
            || card.entries.iter().map(|entry| entry.takes).chain(card.ways.iter().map(|way| way.takes)).flatten();
        let energies = Scale::of(all().map(|takes| takes.energy.0), Joules::SI);
        let latencies = Scale::of(all().map(|takes| takes.latency.0), Seconds::SI);
        let told = |takes: Option<Takes>| {
            takes.map(|takes| (takes.full, [energies.show(takes.energy.0), latencies.show(takes.latency.0)]))
        };
        for entry in &card.entries {
            let words = format!("from {} others: {}", entry.from, entry.cause);
            self.line([x, base], [&words, ""], told(entry.takes), [Colour::Alert, Colour::Alert], shapes);
            base += LINE;
        }
        for way in &card.ways {
            let (words, colour) = match way.to {
                Leads::Here => ("stays here".to_owned(), Colour::Grey),
                Leads::To(to) => (self.cards.cards[to].title.clone(), self.colours[to]),
                Leads::Many(count) => (format!("one of {count}"), Colour::Ink),
            };
            self.line([x, base], [&way.cause, &words], told(way.takes), [Colour::Ink, colour], shapes);
            base += LINE;
        }
        if let Some(role) = card.role {
            shapes.push(text(
                [x + PAD, base],
                Anchor::Start,
                TEXT,
                Colour::Alert,
                format!("shown by the firmware: {role}"),
            ));
        }
    }

    /// One line of a card; a first text without a second takes the room of both.
    fn line(
        &self,
        [x, base]: [f32; 2],
        words: [&str; 2],
        takes: Option<(bool, [String; 2])>,
        colours: [Colour; 2],
        shapes: &mut Vec<Shape>,
    ) {
        let ends = if words[1].is_empty() { [COLUMNS[1]; 2] } else { [COLUMNS[0], COLUMNS[1]] };
        let first = fitted(words[0], TEXT, ends[0] - PAD - 3.0);
        shapes.push(text([x + PAD, base], Anchor::Start, TEXT, colours[0], first));
        if !words[1].is_empty() {
            let second = fitted(words[1], TEXT, ends[1] - ends[0] - 6.0);
            shapes.push(text([x + ends[0], base], Anchor::Start, TEXT, colours[1], second));
        }
        let (full, [energy, latency]) = takes.unwrap_or((false, ["blocked".to_owned(), String::new()]));
        if full {
            shapes.push(square([x + COLUMNS[1] - 1.0, base - 2.7], 1.6, Colour::Ink));
        }
        shapes.push(text([x + COLUMNS[2], base], Anchor::End, TEXT, Colour::Ink, energy));
        shapes.push(text([x + COLUMNS[3], base], Anchor::End, TEXT, Colour::Ink, latency));
    }
}
