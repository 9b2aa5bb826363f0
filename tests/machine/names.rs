//! Names and order never change a figure: random draws belong to what they are for.

use crate::plain::BASE;
use inkjoule::budget::summary::{Budget, budget};
use inkjoule::project::load_files;
use inkjoule::source::fault::render;
use inkjoule::source::files::Files;

/// A project with every kind of name; the names decide the order in which things stand.
fn figures(names: [&str; 12]) -> Budget {
    let [lamp, pump, second, third, call, alarm, long, short, warm, wet, list, more] = names;
    let text = format!(
        "[board.loads.{lamp}]\nrail = \"{second}\"\ncurrent = {{ min = \"4 uA\", typ = \"8 uA\", max = \"20 uA\" }}\n\
         [board.loads.{pump}]\nrail = \"{third}\"\ncurrent = {{ min = \"1 uA\", typ = \"3 uA\", max = \"9 uA\" }}\n\
         [board.rails.{second}]\nregulator = \"ldo\"\noutput = \"2.5 V\"\ndropout = \"100 mV\"\nquiescent = {{ min = \"1 uA\", typ = \"2 uA\", max = \"4 uA\" }}\n\
         [board.rails.{third}]\nregulator = \"ldo\"\noutput = \"1.8 V\"\ndropout = \"100 mV\"\nquiescent = {{ min = \"2 uA\", typ = \"3 uA\", max = \"5 uA\" }}\n\
         [fields.{warm}]\nrange = [0, 99]\nevery = \"20 min\"\nsignal = {{ random-walk = {{ step = 9 }} }}\n\
         [fields.{wet}]\nrange = [0, 9]\nevery = \"30 min\"\nsignal = {{ random = {{}} }}\n\
         [events.{call}]\nper-day = 7\ncharge = {{ typ = \"3 mC\", max = \"9 mC\" }}\nrail = \"{second}\"\n\
         [events.{alarm}]\nper-day = 3\ncharge = {{ typ = \"5 mC\", max = \"8 mC\" }}\nrail = \"{third}\"\n\
         [usage]\nhome = \"{list}\"\nstart = \"2031-01-01\"\ndays = 20\nseed = 5\n\
         temperature = {{ low = \"10 °C\", high = \"20 °C\", warmest = \"12:00\" }}\n\
         [usage.journeys.{long}]\nper-day = 5\nsteps = [ {{ press = 1, look = \"9 s\" }}, {{ press = 1, look = \"4 s\" }} ]\n\
         [usage.journeys.{short}]\nper-day = 11\nsteps = [ {{ press = 2, look = \"9 s\" }} ]\n"
    );
    let home = format!(
        "content = [ {{ text = \"{{{warm}}} {{{wet}}}\", left = 60, top = 16 }} ]\n[keys]\n1 = {{ go = \"{more}\" }}\n2 = {{ change = {{ field = \"{warm}\", to = 50 }} }}\n[on]\n{alarm} = {{ go = \"{more}\" }}\n"
    );
    let other = format!(
        "content = [ {{ text = \"{{{wet}}} more\" }} ]\n[keys]\n1 = {{ go = \"{list}\" }}\n2 = {{ go = \"{list}\" }}\n"
    );
    let base = BASE
        .replace("[board.mcu]\n", "[board.mcu]\nrail = \"main\"\n")
        .replace("[panel]\n", "[panel]\nrail = \"main\"\n");
    let files = [
        ("device.toml".to_owned(), format!("{base}{text}")),
        (format!("screens/{list}.toml"), home),
        (format!("screens/{more}.toml"), other),
    ];
    match load_files(Files::from_memory(files)) {
        Ok(loaded) => budget(&loaded.device),
        Err(failed) => panic!("{}", render(&failed.faults, &failed.sources, false)),
    }
}

#[test]
fn renaming_and_reordering_everything_changes_no_figure() {
    let one = figures(["aa", "bb", "cc", "dd", "ee", "ff", "gg", "hh", "ii", "jj", "kk", "ll"]);
    let other = figures(["zz", "yy", "xx", "ww", "vv", "uu", "tt", "ss", "rr", "qq", "pp", "oo"]);
    let (a, b) = (one.life.as_ref().expect("a life"), other.life.as_ref().expect("a life"));
    for (a, b) in [(&a.p10, &b.p10), (&a.p50, &b.p50), (&a.p90, &b.p90)] {
        assert!((a.time.0 / b.time.0 - 1.0).abs() < 1e-9, "{} and {}", a.time, b.time);
    }
    let counts = |budget: &Budget| {
        let counts = &budget.counts;
        (counts.full, counts.partial, counts.presses, counts.changed_pixels, counts.windows, counts.derailed())
    };
    assert_eq!(counts(&one), counts(&other));
    assert!(
        one.counts.presses > 100 && one.counts.events.iter().all(|count| *count > 30),
        "there is something to compare"
    );
}
