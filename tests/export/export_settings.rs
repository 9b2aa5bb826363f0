//! What settings change is drawn alike in C and here: units, marks of locales, editors, lists that vary, values and charts
//! with a cursor, labels of keys by conditions.

use crate::firmware::drawn::compare;
use crate::firmware::order;
use crate::sheet::Sheet;
use inkjoule::firmware::drawing::Drawing;

const FIELDS: &str = "
    size = [200, 120]
    keys-at = 'bottom'
    keys = ['5 mm', '15 mm']
    formats = { thousands = true, locales = { it = 'it-CH' } }
    strings.de.a = 'a'\nstrings.en-IN.a = 'a'\nstrings.en-US.a = 'a'\nstrings.it.a = 'a'\nstrings.pl.a = 'a'
    fields.system = { choices = ['metric', 'feet', 'miles'] }
    quantities.length = { by = 'system', units = [
        { unit = 'm', decimals = 2 }, { unit = 'ft', factor = 3.280839895013123, decimals = 1 },
        { unit = 'mi', factor = 0.000621371192237334, decimals = 3 } ] }
    quantities.heat = { by = 'system', units = [
        { unit = 'C', decimals = 1 }, { unit = 'F', factor = 1.8, offset = 32, decimals = 0 },
        { unit = 'K', offset = 273.15, decimals = 1 } ] }
    fields.level = { quantity = 'length', range = [-3, 1200], sample = 3.048 }
    fields.air = { quantity = 'heat', range = [-40, 60], sample = 20, every = '60 s' }
    fields.count = { range = [-2000000, 2000000], decimals = 1, sample = 1234567.8 }
    fields.many = { range = [0, 99999], sample = 1234 }
    fields.hours = { choices = ['24 h', '12 h'] }
    fields.clock = { clock = { by = 'hours', patterns = ['%H:%M', '%-I:%M %p'] }, sample = 54420 }
    fields.now = { clock = '%x %X', sample = 54420 }
    fields.back = { range = [0, 23] }
    fields.posts = { range = [0, 7], sample = 5 }
    fields.row = { range = [0, 6], within = 'posts' }
    fields.name = { text = { length = 5, letters = ' ABCdef', sample = 'AB' } }
    fields.digit = { range = [0, 5] }
    fields.place = { range = [0, 4] }
    fields.warm = { range = [0, 3], decimals = 1 }
";

/// Settled with everything that a design can say of settings; nothing is left to the firmware, every byte is equal.
fn alike(content: &str, seed: u64) {
    let sheet = Sheet::new(&format!("{FIELDS}\nscreen.content = [ {content} ]"));
    let own = Drawing::of(&order(&sheet.device)).expect("tables").own;
    assert_eq!(own, [], "nothing is left to the firmware");
    compare(&order(&sheet.device), 150, seed);
}

#[test]
fn texts_and_values_in_units_and_locales() {
    alike(
        "{ column = [ { text = 'Level {level} {level.unit}, {air} {air.unit}' }, { value = 'level' },
           { text = '{count} {many} {warm}' }, { text = '{clock} and {now}' }, { text = '[{name}]', wrap = true } ] }",
        1,
    );
}

#[test]
fn gauges_and_charts_in_units() {
    alike(
        "{ gauge = 'level', ticks = 4, font = 'small', at = [0, 0], size = [200, 30] },
         { chart = 'air', samples = 24, time = 'none', grid = true, font = 'small', cursor = 'back', at = [0, 30], size = [100, 50] },
         { chart = 'air', samples = 24, low = -40, high = 60, threshold = 21.5, time = 'none', style = 'bars', font = 'small', at = [100, 30], size = [100, 50] },
         { chart = 'air', samples = 24, low = 0, threshold = 'warm', time = 'back', font = 'small', cursor = 'back', at = [0, 80], size = [100, 40] },
         { text = '{air@back} {air.unit}', font = 'small', at = [100, 80], size = [60, 9] },
         { value = 'air', back = 'back', font = 'small', at = [100, 90], size = [60, 9] }",
        2,
    );
}

/// Factors of many digits: the chart counts as finely as it can.
#[test]
fn charts_in_units_of_many_digits() {
    let fields = format!(
        "{FIELDS}\n
         quantities.depth = {{ by = 'system', units = [
             {{ unit = 'm', decimals = 1 }}, {{ unit = 'ft', factor = 3.28084, decimals = 1 }},
             {{ unit = 'yd', factor = 1.09361, decimals = 1 }} ] }}
         fields.depth = {{ quantity = 'depth', range = [0, 450], sample = 20, every = '60 s' }}
         screen.content = [ {{ chart = 'depth', samples = 24, time = 'none', grid = true, font = 'small', at = [0, 0],
             size = [200, 60] }} ]"
    );
    let sheet = Sheet::new(&fields);
    let own = Drawing::of(&order(&sheet.device)).expect("tables").own;
    assert_eq!(own, [], "nothing is left to the firmware");
    compare(&order(&sheet.device), 100, 4);
}

/// Factors of so many digits that no chart counts them exactly: samples go to the nearest part of the last decimal, here and
/// there. It was left to the firmware, with the reasons for long texts.
#[test]
fn charts_count_in_parts() {
    let fields = format!(
        "{FIELDS}\n
         quantities.travel = {{ by = 'system', units = [
             {{ unit = 'mm', decimals = 2 }}, {{ unit = 'in', factor = 0.0393701, decimals = 2 }},
             {{ unit = 'yd', factor = 0.00109361329833771, offset = 0.37, decimals = 4 }} ] }}
         fields.travel = {{ quantity = 'travel', range = [-500, 9500], sample = 20, every = '60 s' }}
         fields.most = {{ quantity = 'travel', range = [-500, 9500], sample = 20, every = '60 s' }}
         fields.least = {{ range = [0, 900], sample = 20, every = '60 s' }}
         screen.content = [
             {{ chart = 'travel', samples = 24, time = 'none', grid = true, threshold = 'most', font = 'small', at = [0, 0],
                size = [100, 60] }},
             {{ chart = 'travel', samples = 24, style = 'bars', low = -400.3, high = 9000.7, threshold = 'least', cursor = 'back',
                font = 'small', at = [100, 0], size = [100, 60] }},
             {{ chart = 'travel', samples = 24, min-span = 33.3, threshold = 1234.56, cursor = 'back', font = 'small',
                at = [0, 60], size = [200, 60] }} ]"
    );
    let sheet = Sheet::new(&fields);
    let drawing = Drawing::of(&order(&sheet.device)).expect("tables");
    assert_eq!(drawing.own, [], "nothing is left to the firmware");
    assert!(!drawing.spare.contains(&"INK_PARTS"));
    compare(&order(&sheet.device), 300, 6);
}

/// What is left says why: one cause, in its own words.
#[test]
fn what_is_left_is_named_with_its_cause() {
    let long = "fifteen letters".repeat(9);
    let steps = "fields.fine = { range = [0, 90], decimals = 8, sample = 20, every = '60 s' }";
    let factor = FIELDS.replace("factor = 1.8, offset = 32", "factor = 1834.5678912345, offset = 0");
    for (fields, content, why) in [
        (
            factor.as_str(),
            "{ text = '{air} {air.unit}' }",
            "a unit's factor takes too many digits for its values: round it",
        ),
        (
            FIELDS,
            &format!("{{ text = '{long}' }}"),
            "a text of more than 127 characters: shorten it, or make two of it",
        ),
        (
            &format!("{FIELDS}\nfields.week = {{ clock = '%U' }}"),
            "{ text = '{week}' }",
            "a clock pattern beyond dates and times: use parts of the date and the time of day",
        ),
        (
            &format!("{FIELDS}\n{steps}"),
            "{ chart = 'fine', samples = 24, time = 'none', font = 'small', size = [100, 60] }",
            "a chart's scale of more than 50 million steps of its finest decimal: use fewer decimals",
        ),
    ] {
        let sheet = Sheet::new(&format!("{fields}\nscreen.content = [ {content} ]"));
        let own = Drawing::of(&order(&sheet.device)).expect("tables").own;
        assert_eq!(own.iter().map(|area| area.why.to_string()).collect::<Vec<_>>(), [why]);
        // The header says so, without a name where there is none.
        let folder = tempfile::tempdir().expect("a folder");
        crate::firmware::export(&order(&sheet.device), "c-live", folder.path());
        let header = std::fs::read_to_string(folder.path().join("screens_live.h")).expect("a header");
        let (kind, fields) = (own[0].kind, !own[0].fields.is_empty());
        let begins = format!("/* one: {kind}{}", if fields { ", fields " } else { ": " });
        let line =
            header.lines().find(|line| line.starts_with(&begins)).unwrap_or_else(|| panic!("{begins} in\n{header}"));
        assert!(line.contains(why), "{line}");
    }
}

#[test]
fn lists_that_vary_and_editors() {
    alike(
        "{ list = 'row', count = 'posts', empty = 'none', row = ['#', '{level}'], of = 7, font = 'small', row-height = 9, at = [0, 0], size = [80, 40] },
         { list = 'row', count = 'posts', empty = '-', row = ['#'], of = 7, font = 'small', row-height = 9, at = [150, 90], size = [80, 60] },
         { editor = 'level', cursor = 'digit', font = 'small', at = [0, 44], size = [90, 9] },
         { editor = 'count', cursor = 'digit', font = 'small', at = [0, 54], size = [90, 9] },
         { editor = 'name', cursor = 'place', at = [0, 64], size = [90, 20] }",
        3,
    );
}
