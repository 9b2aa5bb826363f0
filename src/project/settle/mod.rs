//! From the files' text to the [`Device`]: every name found, every default settled, every fault noted at once.

mod actions;
mod battery;
mod counts;
mod drive;
mod endless;
mod fields;
mod flow;
mod flow_state;
pub mod hardware;
mod loads;
mod rails;
mod rules;
mod screens;
mod shown;
mod states;
mod supply;
mod switched;
mod unused;
mod whiles;
mod windows;

use crate::assets::{fonts, pictures, strings};
use crate::behaviour::Event;
use crate::device::{Device, Limit, Limits, Stock};
use crate::elements::scope;
use crate::hardware::panel::Drive;
use crate::parameters::Inputs;
use crate::project::device::{EventSpec, FieldSpec, ProjectSpec, SetsSpec};
use crate::project::hardware::BoardSpec;
use crate::project::screen::{BelowSpec, BoxSpec, ScreenSpec};
use crate::project::usage::TemperatureSpec;
use crate::screen::condition::WhileSpec;
use crate::screen::values::FieldId;
use crate::screen::{Item, Over, Screen, ScreenId};
use crate::source::amount::At;
use crate::source::amount::Named;
use crate::source::fault::{Fault, Level, Table};
use crate::source::files::Files;
use crate::source::levels::{LINTS, Levels};
use crate::source::spans::Span;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

/// Everything read from a project's files.
pub struct Draft {
    /// `device.toml`.
    pub project: ProjectSpec,
    /// Screens by id.
    pub screens: Vec<(String, ScreenSpec)>,
    /// Texts of each locale.
    pub strings: Vec<(String, BTreeMap<String, At<String>>)>,
    /// Every character of the project's texts.
    pub characters: BTreeSet<char>,
    /// The files, for faces and pictures.
    pub files: Files,
}

/// Settles a project. The device is `None` when too much is wrong to go on; faults hold what was found either way.
pub fn resolve(draft: Draft, levels: Levels, faults: &mut Vec<Fault>) -> Option<Device> {
    let many = counts::faults(&draft);
    if !many.is_empty() {
        // What is too much is not settled.
        faults.extend(many);
        return None;
    }
    let Draft { mut project, screens, strings, characters, files } = draft;
    switched::rails(&mut project, faults);
    if screens.is_empty() {
        faults
            .push(Fault::plain("the project has no screens").help("write screens/<name>.toml with content = [ ... ]"));
    }
    let mut inputs = Inputs::default();
    let mut bench = hardware::Bench { inputs: &mut inputs, faults };
    let board = bench.board(&project.board);
    let panel = bench.panel(&project.panel, &board)?;
    let panel_rail = project.panel.rail.as_ref().map(|rail| rail.span.clone());
    bench.fed(&board.rails, "the panel", panel.rail, panel_rail, false);
    let battery = bench.battery(&project.battery, project.board.charger.as_ref())?;
    let display = bench.display(&project.display, &panel);
    supply::check(&project, &board.rails, &battery, &inputs, faults);
    faults.extend(supply::no_partials(&project));
    faults.extend(supply::stale_plane(&project));

    let mut strings = strings::Strings::new(strings);
    let event_names: Vec<&str> = project.events.keys().map(String::as_str).collect();
    let formats =
        shown::Formats::new(&project.fields, &project.quantities, project.formats.as_ref(), strings.locales(), faults);
    let sample_at = &project.usage.sample_at;
    let mut fields = fields::fields(&project.fields, sample_at, &event_names, &mut strings, &formats, &files, faults);
    let mut events = Vec::new();
    for (name, at) in &project.events {
        let times = fields::times(name, at, &fields, faults);
        let mut bench = hardware::Bench { inputs: &mut inputs, faults };
        let taken = bench.taken(&board.rails, name, at);
        let awake = at.value.mcu_awake.as_ref();
        let awake = awake.map(|time| bench.enter(&format!("events.{name}.mcu-awake"), time));
        let supply = bench.window(at.value.supply.as_ref());
        let (name, span, link) = (name.clone(), at.span.clone(), at.value.link);
        events.push(Event { name, span, times, only: Vec::new(), taken, awake, link, supply });
    }

    windows::check(&board, &panel, &events, &battery, &inputs, faults);

    let ids: Vec<String> = screens.iter().map(|(id, _)| id.clone()).collect();
    let boxes: Vec<bool> = screens.iter().map(|(_, spec)| spec.head.over.is_some()).collect();
    let entered = rules::entered(&project.anywhere, &screens, &ids, project.usage.home.value.as_str());
    let names = flow::Names {
        screens: &ids,
        events: &event_names,
        fields: &fields,
        keys: display.keys.len(),
        boxes: &boxes,
        entered: &entered,
    };
    let except: Vec<ScreenId> = project.anywhere.except.iter().filter_map(|name| names.screen(name, faults)).collect();
    let anywhere = project.anywhere.rules();
    if let Some(home) = ids.iter().position(|id| *id == project.usage.home.value) {
        rules::anywhere(&anywhere, ScreenId(home), &names, faults);
    }
    let wirings: Vec<_> = screens
        .iter()
        .enumerate()
        .map(|(index, (_, spec))| {
            let here = ScreenId(index);
            rules::wiring(spec, here, Some(&anywhere).filter(|_| !except.contains(&here)), &names, faults)
        })
        .collect();
    let spans: Vec<Span> = project.events.values().map(|at| at.span.clone()).collect();
    endless::endless(&events, &spans, &wirings, faults);
    let cold = usage_outside(&panel.full, &project.usage.temperature.value);
    faults.extend(cold.map(|span| {
        let (low, high) = (panel.full.knots.first().map(|knot| knot.at), panel.full.knots.last().map(|knot| knot.at));
        let range = low.zip(high).map_or(String::new(), |(low, high)| format!("the full waveform is given from {low} to {high}"));
        Fault::at(span, "the panel cannot be refreshed at this temperature")
            .label(range)
            .help("values outside a table are refused, not guessed: extend panel.full.drive with the maker's data, or narrow the usage")
    }));
    let policy = flow::policy(&project.policy, panel.native.height, board.memory.is_some(), &names, faults);
    faults.extend(supply::too_often(&project, &panel, (&board.bus, &inputs)));
    let usage = flow::usage(&project.usage, &names, board.charger.is_some(), faults);
    let high = usage.as_ref().map(|usage| usage.climate.high);
    if let Some(high) = high {
        let drives = [Some(&panel.full), panel.partial.as_ref()];
        drive::check(&project, drives, (&board.bus, &inputs.typical()), (policy.buffer, high), faults);
    }

    let flow_state = {
        let asked = whiles::Asked { screens: &ids, events: &events, keys: display.keys.len() };
        flow_state::flow_state(&screens, &project, &asked, strings.locales().len(), &mut fields)
    };
    let asked = whiles::Asked { screens: &ids, events: &events, keys: display.keys.len() };
    let mut only = |spec: Option<&At<WhileSpec>>| whiles::conditions(spec, &asked, &flow_state, &fields, faults);
    let of_events: Vec<_> = project.events.values().map(|at| only(at.value.only.as_ref())).collect();
    let of_fields: Vec<_> = project.fields.values().map(|at| only(at.value.only.as_ref())).collect();
    let load_only = project.board.loads.values().map(|at| only(at.value.only.as_ref())).collect();
    events.iter_mut().zip(of_events).for_each(|(event, only)| event.only = only);
    faults.extend(whiles::after_themselves(&events, &flow_state, &project));
    fields.iter_mut().zip(of_fields).for_each(|(field, only)| field.only = only);
    let coincident = loads::together(&project, &board, &events, faults);
    let states = states::states(&project.fields, &fields, faults);
    states::over_the_link(&states, &mut events);
    let language = language(&project, strings.locales().len(), faults);
    let mut faces = fonts::Faces::new(project.fonts, files.clone(), characters);
    let mut pictures = pictures::Pictures::new(files.clone());
    let mut shelf = Shelf {
        faces: &mut faces,
        pictures: &mut pictures,
        strings: &mut strings,
        fields: &fields,
        events: &events,
        screens: &ids,
        flow_state: &flow_state,
        side: display.side,
        formats: &formats,
    };
    let settled: Vec<Screen> =
        screens.iter().map(|(id, spec)| shelf.screen(id, spec, panel.size(), &display.keys, faults)).collect();
    let glyphs = LINTS.iter().find(|lint| lint.id == "missing-glyph");
    faults.extend(faces.gaps(|span| glyphs.map_or(Level::Error, |lint| levels.at(lint, Some(span)))));
    faults.extend(strings.unused());
    let faces_in_use = faces.all(faults);
    faults.extend(unused::unused(&files, &faces, &pictures, &project.fields));
    for (field, samples) in histories(&settled) {
        let kept = &mut fields[field.0].history;
        *kept = (*kept).max(samples);
    }
    // Of another panel nothing can be said.
    let sized = project.panel.pixels.value.0 == [panel.native.width, panel.native.height];
    inputs.settle_streams(|row| unnamed(&project.board, &project.events, &row.path));
    let stock = Stock { images: pictures.flash_bytes(), fonts: faces.flash_bytes(), strings: strings.flash_bytes() };
    sized.then_some(())?;
    let passes = (0..settled.len() * strings.locales().len().max(1)).map(|_| OnceLock::new()).collect();
    Some(Device {
        name: project.name,
        note: project.note,
        inputs,
        panel,
        display,
        board,
        battery,
        locales: strings.locales().to_vec(),
        language,
        load_only,
        coincident,
        fields,
        events,
        screens: settled,
        flow_state,
        states,
        wirings,
        policy,
        usage: usage?,
        limits: limits(&project.limits),
        stock,
        faces: faces_in_use,
        levels,
        passes,
        strips: OnceLock::new(),
    })
}

/// The place of a usage temperature that a drive table does not reach.
fn usage_outside(drive: &Drive, usage: &TemperatureSpec) -> Option<Span> {
    let daily = [&usage.low, &usage.high].into_iter().flatten();
    let daily = daily.map(|end| (end.value.0, end.span.clone()));
    let monthly = usage
        .months
        .iter()
        .flat_map(|months| months.value.iter().flat_map(|pair| pair.iter()).map(|end| (end.0, months.span.clone())));
    daily.chain(monthly).find(|(temperature, _)| !drive.covers(*temperature)).map(|(_, span)| span)
}

/// What the screens share while they are settled.
struct Shelf<'a> {
    faces: &'a mut fonts::Faces,
    pictures: &'a mut pictures::Pictures,
    strings: &'a mut strings::Strings,
    fields: &'a [crate::behaviour::field::Field],
    events: &'a [Event],
    screens: &'a [String],
    flow_state: &'a crate::behaviour::flow_state::FlowState,
    side: crate::hardware::display::Side,
    formats: &'a shown::Formats<'a>,
}

impl Shelf<'_> {
    fn screen(
        &mut self,
        id: &str,
        spec: &ScreenSpec,
        size: Size,
        keys: &[crate::hardware::display::KeyPlace],
        faults: &mut Vec<Fault>,
    ) -> Screen {
        let over = spec.head.over.as_ref().map(|over| placed(over, size, faults));
        let locales = self.strings.locales().len();
        let mut titles = Vec::new();
        let mut pictures = Vec::new();
        let mut labels = Vec::new();
        for locale in 0..locales {
            titles.push(self.strings.words(&spec.head.title, locale, faults).unwrap_or_default());
            let mut scope = scope::Scope {
                faults,
                faces: self.faces,
                pictures: self.pictures,
                strings: self.strings,
                fields: self.fields,
                events: self.events,
                screens: self.screens,
                flow_state: self.flow_state,
                side: self.side,
                locale,
                marks: self.formats.marks(locale),
                screen: id,
                labels: Vec::new(),
            };
            scope.labels = screens::labels(&spec.head, keys, &mut scope);
            labels.push(scope.labels.clone());
            let area = over.map_or(Rectangle::new(Point::zero(), size), |over: Over| over.area);
            pictures.push(screens::picture(&spec.content, &mut scope, area));
        }
        Screen { id: id.to_owned(), span: spec.span.clone(), role: spec.head.role, over, titles, labels, pictures }
    }
}

/// An input's path without the names that a project gives.
fn unnamed(board: &BoardSpec, events: &Named<EventSpec>, path: &str) -> String {
    let loads = board.loads.keys().map(|name| ("board.loads.", name));
    let rails = board.rails.keys().map(|name| ("board.rails.", name));
    let events = events.keys().map(|name| ("events.", name));
    let rest = |(kind, name): (&'static str, &String)| {
        let rest = path.strip_prefix(kind)?.strip_prefix(name.as_str())?.strip_prefix('.')?;
        Some(format!("{kind}*.{rest}"))
    };
    loads.chain(rails).chain(events).find_map(rest).unwrap_or_else(|| path.to_owned())
}

/// The field that sets the language.
fn language(project: &ProjectSpec, locales: usize, faults: &mut Vec<Fault>) -> Option<FieldId> {
    let sets = |at: &At<FieldSpec>| at.value.sets.as_ref().is_some_and(|sets| sets.value == SetsSpec::Language);
    let mut found = project.fields.values().enumerate().filter(|(_, at)| sets(at));
    let (index, at) = found.next()?;
    if let Some((_, other)) = found.next() {
        faults.push(Fault::at(other.span.clone(), "another field sets the language already"));
    }
    let choices = at.value.choices.as_ref().map_or(0, |choices| choices.value.len());
    if choices != locales {
        let fault = Fault::at(
            at.span.clone(),
            format!("a field that sets the language has a choice for each of {locales} locales"),
        );
        faults.push(fault.help("write choices = [ ... ] in the order of the locales, the project's own first"));
        return None;
    }
    Some(FieldId(index))
}

/// A box in its place on the screen.
fn placed(spec: &At<BoxSpec>, screen: Size, faults: &mut Vec<Fault>) -> Over {
    let [width, height] = spec.value.size.0;
    let size = Size::new(width.clamp(1, screen.width), height.clamp(1, screen.height));
    let rest = screen - size;
    let middle = [(rest.width / 2) as i32, (rest.height / 2) as i32];
    let [x, y] = spec.value.at.map_or(middle, |at| at.0);
    let inside = (0..=rest.width as i32).contains(&x) && (0..=rest.height as i32).contains(&y);
    if [width, height] != [size.width, size.height] || !inside {
        let fault = Fault::at(spec.span.clone(), "this box does not lie on the screen");
        let fault = fault.label(format!("the screen is {} x {} pixels", screen.width, screen.height));
        faults.push(fault.follows(Table::Panel).help("give it a smaller size, or another place"));
    }
    let corner = Point::new(x.clamp(0, rest.width as i32), y.clamp(0, rest.height as i32));
    Over { area: Rectangle::new(corner, size), frozen: spec.value.below == BelowSpec::Frozen }
}

/// Histories that the screens' charts ask for.
fn histories(screens: &[Screen]) -> Vec<(FieldId, usize)> {
    let items = screens.iter().flat_map(|screen| screen.pictures.iter().flatten());
    items.flat_map(Item::histories).collect()
}

fn limits(spec: &crate::project::device::LimitsSpec) -> Limits {
    use crate::source::amount::Qty;
    fn one<Q: Copy>(limit: &Option<At<Qty<Q>>>) -> Option<Limit<Q>> {
        limit.as_ref().map(|limit| Limit { value: limit.value.0, span: limit.span.clone() })
    }
    Limits {
        ram: one(&spec.ram),
        flash: one(&spec.flash),
        update_energy: one(&spec.update_energy),
        latency: one(&spec.latency),
        life: one(&spec.life),
        residue: one(&spec.residue),
        refreshes_per_day: spec
            .refreshes_per_day
            .as_ref()
            .map(|limit| Limit { value: limit.value, span: limit.span.clone() }),
    }
}
