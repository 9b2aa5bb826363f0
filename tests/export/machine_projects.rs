//! Random projects with everything that a design can say about behaviour: presses, holds, repetitions, releases, boxes
//! over boxes, the way back, editing, targets by a field, alternatives, rules that hold anywhere, events, conditions,
//! policies, panels in every orientation and packing.

#[path = "../plain/mod.rs"]
mod plain;

use inkjoule::device::Device;
use plain::BASE;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::fmt::Write as _;

struct Maker {
    random: ChaCha8Rng,
    screens: usize,
    boxes: usize,
}

impl Maker {
    fn one<'a>(&mut self, all: &[&'a str]) -> &'a str {
        all[self.random.random_range(0..all.len())]
    }

    fn chance(&mut self, share: f64) -> bool {
        self.random.random_bool(share)
    }

    fn screen(&mut self) -> String {
        format!("s{}", self.random.random_range(0..self.screens))
    }

    fn condition(&mut self) -> String {
        let test = match self.random.random_range(0..9) {
            6 => "field = \"usb\", is = 1",
            7 => "field = \"charge\", below = 30",
            8 => "field = \"link\", is = 0",
            0 => "field = \"n\", below = 5",
            1 => "field = \"t\", below = \"limit\"",
            2 => "field = \"limit\", from = \"t\"",
            3 => "field = \"t\", from = 1.5",
            4 => "field = \"n\", is = 7",
            _ => "field = \"pick\", is = 1",
        };
        format!("{{ {test} }}")
    }

    /// What a `while` says: a condition, a screen, a time after something, or several of them.
    fn only(&mut self) -> String {
        let lasts = self.one(&["0.4 s", "3 s", "12 s", "40 s"]);
        match self.random.random_range(0..7) {
            0 => format!("{{ screen = \"{}\" }}", self.screen()),
            1 | 2 => {
                let key = self.one(&["\"any\"", "1", "2", "4"]);
                format!("{{ for = \"{lasts}\", after = {{ key = {key} }} }}")
            }
            3 => {
                let boxed = self.boxes > 0 && self.chance(0.5);
                let to = if boxed { format!("b{}", self.random.random_range(0..self.boxes)) } else { self.screen() };
                format!("{{ for = \"{lasts}\", after = {{ screen = \"{to}\" }} }}")
            }
            4 => {
                let event = self.one(&["tick", "call", "seven", "cold", "shake"]);
                format!("{{ for = \"{lasts}\", after = {{ event = \"{event}\" }} }}")
            }
            5 => format!("[ {}, {} ]", self.condition(), self.only().trim_start_matches('[').trim_end_matches(']')),
            _ => self.condition(),
        }
    }

    fn change(&mut self, from: &str) -> String {
        let mut wrap = if self.chance(0.5) { ", wrap = true".to_owned() } else { String::new() };
        let by = self.one(&["1", "-1", "3", "-7"]);
        if self.boxes > 0 && self.chance(0.15) {
            let to = format!("b{}", self.random.random_range(0..self.boxes));
            if to != from {
                wrap = format!(", outside = \"{to}\"");
            }
        }
        match self.random.random_range(0..14) {
            7 | 8 => format!("{{ field = \"level\", by = {}{wrap} }}", self.one(&["0.1", "-0.5", "1", "-2"])),
            9 => format!("{{ field = \"level\", digit = \"cursor\", by = {}{wrap} }}", self.one(&["1", "-1"])),
            10 => format!("{{ field = \"heat\", by = {}{wrap} }}", self.one(&["1", "-1", "0.4"])),
            11 => format!("{{ field = \"system\", by = 1{wrap} }}"),
            12 => format!("{{ field = \"row\", by = {}{wrap} }}", self.one(&["1", "-1", "2"])),
            13 => match self.random.random_range(0..5) {
                0 => "{ field = \"name\", character = \"place\", by = 1, wrap = true }".into(),
                1 => format!("{{ field = [\"n\", \"limit\", \"level\"], item = \"pick\", by = {by}{wrap} }}"),
                2 => "{ field = \"place\", by = 1, wrap = true }".into(),
                3 => format!("{{ field = \"posts\", by = {}{wrap} }}", self.one(&["1", "-1"])),
                _ => "{ field = \"level\", to = 7.5 }".into(),
            },
            0 => format!("{{ field = \"n\", by = {by}{wrap} }}"),
            1 => format!("{{ field = \"limit\", by = {}{wrap} }}", self.one(&["0.05", "-0.3", "1"])),
            2 => "{ field = \"n\", to = 7 }".into(),
            3 => format!("{{ field = \"pick\", by = 1{wrap} }}"),
            4 => format!("{{ field = \"deep\", digit = \"cursor\", by = {}{wrap} }}", self.one(&["1", "-1", "9"])),
            5 => "{ field = \"cursor\", by = 1, wrap = true }".into(),
            _ => format!("{{ field = \"tongue\", by = 1{wrap} }}"),
        }
    }

    /// One action as an entry of `do`; `here` is a box.
    fn action(&mut self, from: &str, leads: bool) -> String {
        let here_is_box = from.starts_with('b');
        match self.random.random_range(0..if leads { 9 } else { 3 }) {
            0..2 => format!("{{ change = {} }}", self.change(from)),
            2 => "{ cancel = true }".into(),
            3 => {
                let to = self.screen();
                format!("{{ go = \"{to}\" }}")
            }
            4 => {
                let list: Vec<String> = (0..3).map(|_| format!("\"{}\"", self.screen())).collect();
                format!("{{ go = {{ by = \"pick\", to = [{}] }} }}", list.join(", "))
            }
            8 if self.screens > 1 => {
                let list: Vec<String> = (0..5).map(|_| format!("\"{}\"", self.screen())).collect();
                format!("{{ go = {{ by = \"row\", to = [{}] }} }}", list.join(", "))
            }
            5 | 6 if self.boxes > 0 => {
                let mut number = self.random.random_range(0..self.boxes);
                // Often the next one, so that boxes come to lie over one another.
                if let Some(own) = from.strip_prefix('b').and_then(|own| own.parse::<usize>().ok())
                    && self.chance(0.7)
                {
                    number = (own + 1) % self.boxes;
                }
                let to = format!("b{number}");
                if to == from { "{ close = true }".into() } else { format!("{{ open = \"{to}\" }}") }
            }
            _ if here_is_box => "{ close = true }".into(),
            _ if from != "s0" => "{ back = true }".into(),
            _ => format!("{{ change = {} }}", self.change(from)),
        }
    }

    fn actions(&mut self, from: &str) -> String {
        let mut list = Vec::new();
        for _ in 0..self.random.random_range(0..3) {
            list.push(self.action(from, false));
        }
        list.push(self.action(from, true));
        if self.chance(0.2) {
            list.push(self.action(from, false));
        }
        format!("[ {} ]", list.join(", "))
    }

    fn reaction(&mut self, from: &str) -> String {
        if self.chance(0.3) {
            let mut list = Vec::new();
            for _ in 0..self.random.random_range(1..3) {
                list.push(format!("{{ when = {}, do = {} }}", self.condition(), self.actions(from)));
            }
            if self.chance(0.6) {
                list.push(format!("{{ do = {} }}", self.actions(from)));
            }
            format!("first = [ {} ]", list.join(", "))
        } else {
            format!("do = {}", self.actions(from))
        }
    }

    fn key(&mut self, from: &str) -> String {
        if self.chance(0.1) {
            // A lamp while the key is down, whatever comes to the front meanwhile.
            let lit = "do = [ { change = { field = \"lamp\", to = 1 } } ], release = { change = { field = \"lamp\", to = 0 } }";
            return lit.into();
        }
        let mut rule = self.reaction(from);
        match self.random.random_range(0..6) {
            0 => {
                let after = self.one(&["0.3 s", "0.8 s", "1.25 s"]);
                let _ = write!(rule, ", hold = {{ after = \"{after}\", {} }}", self.reaction(from));
            }
            1 | 2 => {
                let every = self.one(&["100 ms", "70 ms", "333 ms"]);
                let faster = if self.chance(0.6) { ", faster = { from = 3, times = 2.5 }" } else { "" };
                let _ = write!(rule, ", repeat = {{ after = \"400 ms\", every = \"{every}\"{faster} }}");
            }
            _ => {}
        }
        if self.chance(0.2) {
            let _ = write!(rule, ", release = {{ {} }}", self.reaction(from));
        }
        rule
    }

    fn rules(&mut self, from: &str) -> String {
        let mut text = String::from("[keys]\n");
        for key in 1..=3 {
            if self.chance(0.7) {
                let _ = writeln!(text, "{key} = {{ {} }}", self.key(from));
            }
        }
        for _ in 0..self.random.random_range(0..3) {
            let wait = self.one(&["1 s", "2.5 s", "7 s", "31 s"]);
            let since = self.one(&["press", "entry"]);
            let _ = writeln!(text, "[[after]]\nwait = \"{wait}\"\nsince = \"{since}\"\n{}", self.reaction(from));
        }
        text.push_str("[on]\n");
        for event in ["tick", "call", "seven", "cold", "plugged", "lost", "low"] {
            if self.chance(0.4) {
                let _ = writeln!(text, "{event} = {{ {} }}", self.reaction(from));
            }
        }
        text
    }

    fn packing(&mut self) -> String {
        let mounted = self.one(&["0", "90", "180", "270"]);
        let mut text = format!("mounted = {mounted}\nmirrored = {}\n", self.chance(0.3));
        let scan = self.one(&["rows", "columns"]);
        let along = self.one(&["x", "y"]);
        let bits = self.one(&["msb-first", "lsb-first"]);
        let origin = self.one(&["top-left", "top-right", "bottom-left", "bottom-right"]);
        let ink = self.one(&["0", "1"]);
        let _ = writeln!(
            text,
            "packing = {{ scan = \"{scan}\", along = \"{along}\", bits = \"{bits}\", pixel-polarity = {ink}, origin = \"{origin}\", origin-at = [8, 3] }}"
        );
        text
    }
}

const FIELDS: &str = r#"
[fields.n]
range = [0, 9]
sample = 2
[fields.t]
range = [-3, 4]
decimals = 1
sample = 1.5
every = "11 s"
[fields.limit]
range = [-1, 2]
decimals = 2
sample = 0.25
[fields.pick]
range = [0, 2]
[fields.cursor]
range = [0, 3]
[fields.deep]
range = [-500, 500]
decimals = 1
sample = 12.5
[fields.clock]
clock = "%H:%M:%S"
every = "7 s"
[fields.slow]
range = [0, 40]
sample = 3
on = "tick"
[fields.system]
choices = ["metric", "feet", "miles"]
[quantities.length]
by = "system"
units = [ { unit = "m", decimals = 2 }, { unit = "ft", factor = 3.280839895013123, decimals = 1 }, { unit = "mi", factor = 0.000621371192237334, decimals = 3 } ]
[quantities.warmth]
by = "system"
units = [ { unit = "C", decimals = 1 }, { unit = "F", factor = 1.8, offset = 32, decimals = 0 }, { unit = "K", offset = 273.15, decimals = 1 } ]
[fields.level]
quantity = "length"
range = [-3, 12]
sample = 3.048
[fields.heat]
quantity = "warmth"
range = [-40, 60]
sample = 20.5
[fields.posts]
range = [0, 5]
sample = 5
every = "29 s"
[fields.row]
range = [0, 4]
within = "posts"
[fields.name]
text = { length = 3, letters = " ABC", sample = "AB" }
[fields.place]
range = [0, 2]
[fields.tongue]
choices = ["one", "two"]
[fields.usb]
range = [0, 1]
holds = "usb"
[fields.link]
range = [0, 1]
sample = 1
holds = "link"
[fields.charge]
range = [0, 100]
sample = 60
holds = "charge"
[fields.shaken]
range = [0, 9]
[fields.calls]
range = [0, 9]
[fields.lamp]
range = [0, 1]
[fields.odd]
range = [-2, 3]
sample = 1
every = "23 s"
"#;

/// A random project; the same for the same seed.
pub fn project(seed: u64) -> Device {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let screens = random.random_range(1..6);
    let boxes = random.random_range(0..6);
    let mut maker = Maker { random, screens, boxes };
    let planes = maker.one(&["1", "2"]);
    let mut device = BASE.replace("pixels = [128, 64]", maker.one(&["pixels = [96, 88]", "pixels = [92, 84]"]));
    device = device.replace("active = [\"29 mm\", \"14.5 mm\"]", "active = [\"24 mm\", \"22 mm\"]");
    device = device.replace("[display]", &format!("{}[display]", maker.packing()));
    device = device.replace("partial = { planes = 2", &format!("partial = {{ planes = {planes}"));
    if maker.chance(0.15) {
        let begin = device.find("partial = {").expect("a partial refresh");
        let end = device.find("[display]").expect("a display");
        let packing: String = device[begin..end]
            .lines()
            .filter(|line| line.contains("mounted") || line.contains("mirrored") || line.contains("packing"))
            .map(|line| format!("{line}\n"))
            .collect();
        device.replace_range(begin..end, &packing);
    }
    device = device.replace(
        "keys = [ {",
        "keys = [ { centre = \"11 mm\", width = \"2 mm\" }, { centre = \"14 mm\", width = \"2 mm\" }, {",
    );
    device.push_str(FIELDS);
    if maker.chance(0.5) {
        let only = maker.only();
        device = device.replace("every = \"23 s\"", &format!("every = \"23 s\"\nwhile = {only}"));
    }
    let between = maker.one(&["", "between = [\"00:01\", \"00:02\"]", "between = [\"22:00\", \"06:00\"]"]);
    let busy = maker.one(&["queue", "drop"]);
    let [only, seven] = [(0.5, &["tick", "call"][..]), (0.4, &["seven"])].map(|(share, own)| {
        // None of them waits for itself.
        let waits = |only: String, event: &&str| only.replace(&format!("event = \"{event}\""), "event = \"shake\"");
        let only = own.iter().fold(maker.only(), waits);
        if maker.chance(share) { format!("while = {only}\n") } else { String::new() }
    });
    let partials = maker.one(&["0", "2", "5", "1000"]);
    let partials = if device.contains("partial = {") { partials } else { "0" };
    let full = maker.one(&["", "full-on = [\"s0\"]\n"]);
    let every = maker.one(&["full-every = \"40 s\"", "full-every = \"3 h\"", "full-every = \"400 d\""]);
    let distance = maker.one(&["0 s", "0.5 s", "20 s"]);
    let _ = write!(
        device,
        "[events.tick]\nevery = \"9 s\"\n{between}\n{only}[events.call]\nper-day = 5\n{only}[events.seven]\nwhen = {{ field = \"n\", is = 7 }}\n{seven}\
         [events.cold]\nwhen = {{ field = \"t\", below = \"limit\" }}\n\
         [events.shake]\nper-day = 5\n[events.plugged]\nwhen = {{ field = \"usb\", is = 1 }}\n[events.lost]\nwhen = {{ field = \"link\", is = 0 }}\n\
         [events.low]\nwhen = {{ field = \"charge\", below = 15 }}\n[events.report]\nevery = \"21 s\"\nlink = true\n\
         [anywhere.keys]\n4 = {{ change = {{ field = \"calls\", by = 1, wrap = true }} }}\n\
         [anywhere.on]\nshake = {{ change = {{ field = \"shaken\", by = 1, wrap = true }} }}\nlow = {{ change = {{ field = \"n\", to = 3 }} }}\nreport = {{ change = {{ field = \"pick\", by = 1 }} }}\n\
         [policy]\nmax-partials = {partials}\n{every}\n{full}min-interval = \"{distance}\"\nbusy-presses = \"{busy}\"\n\
         [usage]\nhome = \"s0\"\nstart = \"2031-01-01\"\ntemperature = {{ low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }}\n"
    );
    let mut files = Vec::new();
    for screen in 0..screens {
        let id = format!("s{screen}");
        let when = maker.one(&[
            "",
            ", when = { event = \"tick\" }",
            ", when = { from-screen = \"s0\" }",
            ", when = { field = \"t\", below = \"limit\" }",
        ]);
        let text = format!(
            "edit = [\"deep\", \"n\", \"level\", \"name\"]\ncontent = [ {{ text = \"{} {{n}}\", left = 40 }}, {{ value = \"t\"{when} }}, {{ text = \"{{limit}} {{deep}} {{clock}}\", bottom = 12 }}, {{ text = \"{{tongue}} {{slow}} {{odd}} {{pick}} {{lamp}}\", top = 12 }}, {{ text = \"{{usb}} {{link}} {{charge}} {{shaken}} {{calls}}\", top = 24, left = 40 }} ]\n",
            "#".repeat(screen + 1)
        );
        let mut rules = maker.rules(&id);
        if screen == 0 {
            // Every screen is led to, so that each may lead back.
            let leads = (1..screens).map(|to| format!("[[after]]\nwait = \"{} s\"\ngo = \"s{to}\"\n", 40 + to));
            rules.push_str(&leads.collect::<String>());
        }
        files.push((id.clone(), text + &rules));
    }
    for number in 0..boxes {
        let id = format!("b{number}");
        let below = maker.one(&["", ", below = \"frozen\"", ", below = \"live\""]);
        let text = format!(
            "edit = [\"limit\"]\nbox = {{ size = [{}, 30]{below} }}\ncontent = [ {{ text = \"{{n}} {{limit}} {{t}}\" }} ]\n",
            60 - 7 * number
        );
        files.push((id.clone(), text + &maker.rules(&id)));
    }
    let files: Vec<(&str, &str)> = files.iter().map(|(id, text)| (id.as_str(), text.as_str())).collect();
    plain::load(device, &files).unwrap_or_else(|said| panic!("project {seed}: {said}"))
}
