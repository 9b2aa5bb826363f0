//! From the files' text to the [`Device`]: every name found, every default settled, every fault noted at once.

mod counts;
mod fields;
mod flow;
pub mod hardware;
mod recall;
mod screens;
mod supply;
mod unused;

use crate::assets::{fonts, pictures, strings};
use crate::behaviour::Event;
use crate::device::{Device, Limit, Limits, Stock};
use crate::elements::scope;
use crate::hardware::panel::Drive;
use crate::parameters::Inputs;
use crate::project::device::{ProjectSpec, TemperatureSpec};
use crate::project::screen::ScreenSpec;
use crate::screen::values::FieldId;
use crate::screen::{Item, Screen};
use crate::source::amount::At;
use crate::source::fault::Fault;
use crate::source::files::Files;
use crate::source::levels::Levels;
use crate::source::spans::Span;
use embedded_graphics::prelude::Size;
use std::collections::{BTreeMap, BTreeSet};

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
    let Draft { project, screens, strings, characters, files } = draft;
    if screens.is_empty() {
        faults
            .push(Fault::plain("the project has no screens").help("write screens/<name>.toml with content = [ ... ]"));
    }
    let mut inputs = Inputs::default();
    let mut bench = hardware::Bench { inputs: &mut inputs, faults };
    let board = bench.board(&project.board);
    let panel = bench.panel(&project.panel, &board.rails)?;
    let battery = bench.battery(&project.battery, project.board.charger.as_ref())?;
    let glass = bench.glass(&project.glass, &panel);
    supply::check(&project, &board.rails, &battery, &inputs, faults);
    faults.extend(supply::no_partials(&project));

    let mut strings = strings::Strings::new(strings);
    let event_names: Vec<&str> = project.events.keys().map(String::as_str).collect();
    let mut fields =
        fields::fields(&project.fields, &project.usage.sample_at, &event_names, &mut strings, &files, faults);
    let mut events = Vec::new();
    for (name, at) in &project.events {
        let times = fields::times(name, at, &fields, faults);
        let mut bench = hardware::Bench { inputs: &mut inputs, faults };
        let charge = at.value.charge.as_ref().map(|charge| {
            let rail = bench.rail(&board.rails, at.value.rail.as_ref(), &format!("events.{name}"));
            let path = format!("events.{name}.charge");
            (rail, bench.inputs.enter(&path, charge.spread, charge.source.clone()))
        });
        events.push(Event { name: name.clone(), times, charge, link: at.value.link });
    }

    let ids: Vec<String> = screens.iter().map(|(id, _)| id.clone()).collect();
    let names = flow::Names { screens: &ids, events: &event_names, fields: &fields, keys: glass.keys.len() };
    let wirings: Vec<_> = screens.iter().map(|(_, spec)| flow::wiring(spec, &names, faults)).collect();
    let cold = usage_outside(&panel.full, &project.usage.temperature);
    faults.extend(cold.map(|span| {
        let (low, high) = (panel.full.knots.first().map(|knot| knot.at), panel.full.knots.last().map(|knot| knot.at));
        let range = low.zip(high).map_or(String::new(), |(low, high)| format!("the full waveform is given from {low} to {high}"));
        Fault::at(span, "the panel cannot be refreshed at this temperature")
            .label(range)
            .help("values outside a table are refused, not guessed: extend panel.full.drive with the maker's data, or narrow the usage")
    }));
    let policy = flow::policy(&project.policy, panel.native.height, board.memory.is_some(), &names, faults);
    let usage = flow::usage(&project.usage, &names, &wirings, board.charger.is_some(), faults);

    let recall = recall::recall(&screens, &events, strings.locales().len(), &mut fields);
    let mut faces = fonts::Faces::new(project.faces, files.clone(), characters);
    let mut pictures = pictures::Pictures::new(files.clone());
    let mut shelf = Shelf {
        faces: &mut faces,
        pictures: &mut pictures,
        strings: &mut strings,
        fields: &fields,
        events: &events,
        screens: &ids,
        recall: &recall,
        side: glass.side,
    };
    let settled: Vec<Screen> =
        screens.iter().map(|(id, spec)| shelf.screen(id, spec, panel.size(), &glass.keys, faults)).collect();
    faults.extend(faces.gaps());
    faults.extend(strings.unused());
    let faces_in_use = faces.all(faults);
    faults.extend(unused::unused(&files, &faces, &pictures, &project.fields));
    for (field, samples) in histories(&settled) {
        let kept = &mut fields[field.0].history;
        *kept = (*kept).max(samples);
    }
    let stock = Stock { images: pictures.flash_bytes(), fonts: faces.flash_bytes(), strings: strings.flash_bytes() };
    Some(Device {
        name: project.name,
        note: project.note,
        inputs,
        panel,
        glass,
        board,
        battery,
        locales: strings.locales().to_vec(),
        fields,
        events,
        screens: settled,
        recall,
        wirings,
        policy,
        usage: usage?,
        limits: limits(&project.limits),
        stock,
        faces: faces_in_use,
        levels,
    })
}

/// The place of a usage temperature that a drive table does not reach.
fn usage_outside(drive: &Drive, usage: &TemperatureSpec) -> Option<Span> {
    let daily = [&usage.low, &usage.high].into_iter().flatten();
    let daily = daily.map(|end| (end.value.0, end.span.clone()));
    let monthly =
        usage.months.iter().flat_map(|months| months.value.iter().flatten().map(|end| (end.0, months.span.clone())));
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
    recall: &'a crate::behaviour::recall::Recall,
    side: crate::hardware::glass::Side,
}

impl Shelf<'_> {
    fn screen(
        &mut self,
        id: &str,
        spec: &ScreenSpec,
        size: Size,
        keys: &[crate::hardware::glass::KeyPlace],
        faults: &mut Vec<Fault>,
    ) -> Screen {
        let label = |(index, place): (usize, &crate::hardware::glass::KeyPlace)| {
            let key = spec.head.keys.get(&(index + 1).to_string());
            let acts = key.is_some_and(|key| key.value.go.is_some() || key.value.change.is_some());
            (key.and_then(|key| key.value.label.clone()), place.centre_px, place.width_px, acts)
        };
        let labels: Vec<_> = keys.iter().enumerate().map(label).collect();
        let locales = self.strings.locales().len();
        let mut titles = Vec::new();
        let mut pictures = Vec::new();
        for locale in 0..locales {
            let title = At { span: spec.span.clone(), value: spec.head.title.clone() };
            titles.push(self.strings.words(&title, locale, faults).unwrap_or_default());
            let mut scope = scope::Scope {
                faults,
                faces: self.faces,
                pictures: self.pictures,
                strings: self.strings,
                fields: self.fields,
                events: self.events,
                screens: self.screens,
                recall: self.recall,
                side: self.side,
                locale,
                screen: id,
                labels: labels.clone(),
            };
            pictures.push(screens::picture(&spec.content, &mut scope, size));
        }
        Screen { id: id.to_owned(), span: spec.span.clone(), role: spec.head.role, titles, pictures }
    }
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
        refreshes_per_day: spec
            .refreshes_per_day
            .as_ref()
            .map(|limit| Limit { value: limit.value, span: limit.span.clone() }),
    }
}
