//! The flow as a map: what is on it, that arrows run beside the cards, that texts stay apart, that its SVG is XML. The
//! pictures of all three maps are left in the tests' folder under `target`, to be looked at.

use crate::plain::{BASE, load};
use inkjoule::budget::transition::transitions;
use inkjoule::device::Device;
use inkjoule::map::cards::{Leads, cards};
use inkjoule::map::map;
use inkjoule::plot::letters::width;
use inkjoule::plot::palette::{Colour, Theme};
use inkjoule::plot::png::png;
use inkjoule::plot::scene::{Anchor, Scene, Shape};
use inkjoule::plot::svg::svg;
use std::path::Path;

const USAGE: &str = "[usage]\nhome = \"home\"\nstart = \"2031-01-01\"\n\
                     temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";

fn root(more: &str) -> String {
    let keys = (0..4).map(|key| format!("{{ centre = \"{} mm\", width = \"5 mm\" }}", 4 + 7 * key)).collect::<Vec<_>>();
    let two = "keys = [ { centre = \"5 mm\", width = \"8 mm\" }, { centre = \"20 mm\", width = \"8 mm\" } ]";
    assert!(BASE.contains(two));
    BASE.replace(two, &format!("keys = [ {} ]", keys.join(", "))) + more + USAGE
}

fn built(more: &str, screens: &[(String, String)]) -> Device {
    let screens: Vec<(&str, &str)> = screens.iter().map(|(id, text)| (id.as_str(), text.as_str())).collect();
    load(root(more), &screens).unwrap_or_else(|text| panic!("{text}"))
}

/// A menu of eight groups with five screens each, boxes, a row of steps, an alarm from anywhere: 60 in all.
fn large() -> Device {
    let text = |title: &str, rules: &str| {
        format!("title = \"{title}\"\ncontent = [ {{ text = \"{title}\" }}, {{ value = \"row\" }} ]\n{rules}")
    };
    let menu = |field: &str, targets: Vec<String>, first: &str| {
        let names = targets.iter().map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", ");
        format!(
            "[keys]\n1 = {first}\n2 = {{ change = {{ field = \"{field}\", by = -1 }} }}\n3 = {{ change = {{ field = \"{field}\", by = 1 }} }}\n\
             4 = {{ go = {{ by = \"{field}\", to = [{names}] }} }}\n"
        )
    };
    let mut screens = Vec::new();
    let groups: Vec<String> = (0..8).map(|group| format!("group{group}")).collect();
    let home = menu("row", groups.clone(), "{ hold = { after = \"2 s\", open = \"ask\" }, go = \"step0\" }");
    screens.push(("home".to_owned(), text("Overview", &home)));
    for (index, group) in groups.iter().enumerate() {
        let leaves: Vec<String> = (0..5).map(|leaf| format!("leaf{index}x{leaf}")).collect();
        screens
            .push((group.clone(), text(&format!("Group {index}"), &menu("leaf", leaves.clone(), "{ back = true }"))));
        for (number, leaf) in leaves.iter().enumerate() {
            let more = if number == 0 { "3 = { open = \"saved\" }\n" } else { "" };
            let keys = format!("[keys]\n1 = {{ back = true }}\n{more}");
            screens.push((leaf.clone(), text(&format!("Value {index}.{number} & more <{number}>"), &keys)));
        }
    }
    for step in 0..6 {
        let next = if step == 5 { "home".to_owned() } else { format!("step{}", step + 1) };
        let keys = format!("[keys]\n1 = {{ back = true }}\n4 = {{ go = \"{next}\" }}\n");
        screens.push((format!("step{step}"), text(&format!("Step {step}"), &keys)));
    }
    let over = |keys: &str| format!("box = {{ size = [80, 30] }}\ncontent = [ {{ text = \"Sure?\" }} ]\n{keys}");
    screens.push(("ask".to_owned(), over("[keys]\n1 = { close = true }\n4 = { open = \"saved\" }\n")));
    screens.push(("saved".to_owned(), over("[[after]]\nwait = \"2 s\"\nclose = true\n")));
    screens.push(("alarm".to_owned(), text("Alarm", "[keys]\n1 = { back = true }\n")));
    screens.push(("empty".to_owned(), "role = \"battery-empty\"\n".to_owned() + &text("Battery empty", "")));
    screens.push(("about".to_owned(), text("About", "[keys]\n1 = { go = \"home\" }\n")));
    let more = "[fields.row]\nrange = [0, 7]\n[fields.leaf]\nrange = [0, 4]\n[events.leak]\nper-day = 1\n[anywhere.on]\nleak = { go = \"alarm\" }\n";
    built(more, &screens)
}

/// Sixty screens in one row, each with the next and the one before.
fn chain() -> Device {
    let screen = |index: usize| {
        let id = if index == 0 { "home".to_owned() } else { format!("s{index}") };
        let next = if index == 59 { "home".to_owned() } else { format!("s{}", index + 1) };
        (
            id,
            format!(
                "content = [ {{ text = \"{index}\" }} ]\n[keys]\n1 = {{ back = true }}\n4 = {{ go = \"{next}\" }}\n"
            ),
        )
    };
    built("", &(0..60).map(screen).collect::<Vec<_>>())
}

/// Left, top, right, bottom.
type Box4 = [f32; 4];

/// The cards' outlines: closed lines of a card's width.
fn outlines(scene: &Scene) -> Vec<Box4> {
    let closed = |shape: &Shape| match shape {
        Shape::Line { points, .. } if points.len() == 5 && points[0] == points[4] => {
            let ([left, top], [right, bottom]) = (points[0], points[2]);
            (right - left == 212.0).then_some([left, top, right, bottom])
        }
        _ => None,
    };
    scene.shapes.iter().filter_map(closed).collect()
}

fn arrow(shape: &Shape) -> Option<&Vec<[f32; 2]>> {
    match shape {
        Shape::Line { points, colour: Colour::Kind(_), .. } => Some(points),
        _ => None,
    }
}

fn arrows(scene: &Scene) -> Vec<&Vec<[f32; 2]>> {
    scene.shapes.iter().filter_map(arrow).collect()
}

fn texts(scene: &Scene) -> Vec<(Box4, &str)> {
    let text = |shape| match shape {
        &Shape::Text { at: [x, y], anchor, size, ref text, .. } => {
            let long = width(text, size);
            let left = match anchor {
                Anchor::Start => x,
                Anchor::Middle => x - long / 2.0,
                Anchor::End => x - long,
            };
            Some(([left, y - 0.7 * size, left + long, y + 0.1 * size], text.as_str()))
        }
        _ => None,
    };
    scene.shapes.iter().filter_map(text).collect()
}

fn meet(a: &Box4, b: &Box4) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

/// What every map must be.
fn sound(device: &Device, name: &str) -> Scene {
    let scene = map(device, 0);
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
    std::fs::write(folder.join(format!("map-{name}.png")), png(&scene, 1.5, Theme::Light).expect("an image"))
        .expect("written");
    let cards_drawn = outlines(&scene);
    assert_eq!(cards_drawn.len(), device.screens.len());
    for (index, card) in cards_drawn.iter().enumerate() {
        assert!(card[0] >= 0.0 && card[1] >= 0.0 && card[2] <= scene.size[0] && card[3] <= scene.size[1]);
        assert!(!cards_drawn[..index].iter().any(|other| meet(card, other)), "{name}: cards lie over one another");
    }
    let content = cards(device, 0);
    let leading = content.cards.iter().flat_map(|card| &card.ways).filter(|way| matches!(way.to, Leads::To(_))).count();
    assert_eq!(arrows(&scene).len(), leading, "an arrow for each way that leads to a card");
    for points in arrows(&scene) {
        for pair in points.windows(2) {
            let ([a, b], [c, d]) = (pair[0], pair[1]);
            let stretch = [a.min(c) - 0.01, b.min(d) - 0.01, a.max(c) + 0.01, b.max(d) + 0.01];
            let inside = |card: &Box4| meet(&stretch, &[card[0] + 0.5, card[1] + 0.5, card[2] - 0.5, card[3] - 0.5]);
            assert!(!cards_drawn.iter().any(inside), "{name}: an arrow runs over a card: {points:?}");
        }
    }
    let texts = texts(&scene);
    for (index, (area, text)) in texts.iter().enumerate() {
        let over = texts[..index].iter().find(|(other, _)| meet(area, other));
        assert!(over.is_none(), "{name}: `{text}` runs into `{}`", over.map_or("", |(_, text)| text));
    }
    let written = svg(&scene, Theme::Light);
    let parsed = roxmltree::Document::parse(&written).expect("XML");
    let pictures = parsed.descendants().filter(|node| node.has_tag_name("image")).count();
    assert_eq!(pictures, device.screens.len());
    scene
}

#[test]
fn sixty_screens_stay_apart_and_every_way_has_its_arrow() {
    let device = large();
    assert_eq!(device.screens.len(), 60);
    let scene = sound(&device, "60");
    let [wide, high] = scene.size;
    assert!((0.5..4.0).contains(&(wide / high)), "{wide} x {high}");
    let content = cards(&device, 0);
    assert!(content.complete);
    let card = |id: &str| content.cards.iter().position(|card| card.id == id).expect("a card");
    // The alarm comes from all screens but itself and the two that nothing leads to: told once.
    let alarm = &content.cards[card("alarm")];
    assert_eq!(alarm.entries.len(), 1);
    assert_eq!((alarm.entries[0].cause.as_str(), alarm.entries[0].from), ("event leak", 57));
    assert!(content.cards.iter().all(|card| card.ways.iter().all(|way| way.cause != "event leak")));
    // A menu of eight has eight ways by one key, and the one hold is told.
    let home = &content.cards[content.home];
    assert_eq!(home.ways.iter().filter(|way| way.cause == "key 4").count(), 8);
    let asks = home.ways.iter().find(|way| way.cause == "hold key 1").map(|way| way.to);
    assert_eq!(asks, Some(Leads::To(card("ask"))));
    // Back from the alarm leads to whichever of the other screens was shown; not to boxes.
    assert_eq!(alarm.ways[0].to, Leads::Many(60 - 3 - 2));
    // Angle brackets and ampersands of titles come through.
    let written = svg(&scene, Theme::Light);
    let parsed = roxmltree::Document::parse(&written).expect("XML");
    let texts: Vec<&str> = parsed.descendants().filter_map(|node| node.text()).collect();
    assert!(texts.contains(&"Value 3.4 & more <4>"), "{texts:?}");
}

#[test]
fn a_row_of_sixty_screens_is_folded() {
    let scene = sound(&chain(), "chain");
    let [wide, high] = scene.size;
    assert!((0.5..4.0).contains(&(wide / high)), "{wide} x {high}");
}

#[test]
fn the_demo_has_the_budgets_figures() {
    let loaded = inkjoule::project::load(Path::new("screens-demo"), &[]);
    let device = loaded.unwrap_or_else(|failed| panic!("{:?}", failed.faults)).device;
    sound(&device, "demo");
    let content = cards(&device, 0);
    let budget = transitions(&device, &device.inputs.typical(), device.usage.climate.mean());
    let mut compared = 0;
    for way in &budget {
        let here = content.cards[way.from.0].ways.iter().filter(|one| one.cause == way.trigger.words(&device.events));
        let to = if way.to == way.from { Leads::Here } else { Leads::To(way.to.0) };
        for one in here.filter(|one| one.to == to) {
            let takes = one.takes.expect("within the tables");
            assert_eq!((takes.energy, takes.latency), (way.change.energy, way.change.latency), "{}", one.cause);
            compared += 1;
        }
    }
    assert!(compared >= 20, "{compared}");
}

/// A box that opens over five screens leads back to each: that is one line, while a menu of five has five.
#[test]
fn a_way_back_to_many_is_one_line_and_a_menu_is_not() {
    let pages: Vec<String> = (0..5).map(|page| format!("page{page}")).collect();
    let list = pages.iter().map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", ");
    let row = "content = [ { text = \"{row}\" } ]\n";
    let menu = format!(
        "{row}[keys]\n1 = {{ go = {{ by = \"row\", to = [{list}] }} }}\n2 = {{ change = {{ field = \"row\", by = 1, wrap = true }} }}\n"
    );
    let page = format!("{row}[keys]\n1 = {{ go = \"home\" }}\n2 = {{ open = \"card\" }}\n");
    let card =
        "box = { size = [60, 30] }\ncontent = [ { text = \"card\" } ]\n[keys]\n1 = { close = true }\n".to_owned();
    let mut screens = vec![("home".to_owned(), menu), ("card".to_owned(), card)];
    screens.extend(pages.iter().map(|name| (name.clone(), page.clone())));
    let device = built("[fields.row]\nrange = [0, 4]\n", &screens);
    let found = cards(&device, 0);
    let leads = |id: &str| -> Vec<Leads> {
        let card = found.cards.iter().find(|card| card.id == id).expect("a card");
        card.ways.iter().filter(|way| way.cause == "key 1").map(|way| way.to).collect()
    };
    assert_eq!(leads("card"), [Leads::Many(5)]);
    assert_eq!(leads("home").len(), 5);
}
