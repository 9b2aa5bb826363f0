//! Bad input: each mistake gets its own clear error with place and remedy, all of them at once, exit status 2, and
//! nothing is written.

use crate::starter::{Project, run};
use inkjoule::project::load_files;
use inkjoule::source::files::Files;
use std::path::Path;

/// The messages of a project in which one text was replaced, as the program shows them; the exit status must be 2.
fn complaint(file: &str, from: &str, to: &str) -> String {
    let project = Project::new();
    project.edit(file, from, to);
    let shown = run(&["check", project.path()]);
    assert_eq!(shown.status, 2, "{}", shown.stderr);
    assert_eq!(shown.stdout, "", "nothing belongs on standard output");
    shown.stderr
}

/// Messages are broken where their lines would be too long.
fn assert_says(text: &str, parts: &[&str]) {
    let plain = |text: &str| text.replace(['│', '=', '^'], " ").split_whitespace().collect::<Vec<_>>().join(" ");
    let said = plain(text);
    for part in parts {
        assert!(text.contains(part) || said.contains(&plain(part)), "expected {part:?} in:\n{text}");
    }
}

#[test]
fn a_typo_in_a_key_names_the_nearest_key() {
    let text = complaint("device.toml", "viewing-distance =", "viewing-distanse =");
    assert_says(
        &text,
        &["device.toml:", "`viewing-distanse` is not known here", "did you mean `viewing-distance`?", "^^^^"],
    );
}

/// A misspelt table once blamed every key of every screen, and each string of their labels.
#[test]
fn a_misspelt_table_is_the_only_mistake_that_is_named() {
    for (from, to) in [("[display]", "[dispaly]"), ("[panel]", "[panle]")] {
        let read = Files::read(Path::new("screens-demo")).expect("the demo");
        let file = |name: &str| (name.to_owned(), read.bytes(name).expect("there").to_vec());
        let mut files: Vec<(String, Vec<u8>)> = read.names().map(file).collect();
        let device = files.iter_mut().find(|(name, _)| name == "device.toml").expect("there");
        device.1 = String::from_utf8_lossy(&device.1).replace(from, to).into_bytes();
        let files = Files::from_memory(files);
        let failed = load_files(files).map(|_| ()).expect_err("a typo");
        let said: Vec<&str> = failed.faults.iter().map(|fault| fault.message.as_str()).collect();
        assert_eq!(said, [format!("the key `{}` is not known here", &to[1..to.len() - 1])], "{from}");
    }
}

#[test]
fn a_typo_in_an_element_names_the_nearest_key() {
    let text = complaint("screens/home.toml", "font = \"small\", top", "fomt = \"small\", top");
    assert_says(&text, &["home.toml:6:", "`fomt` is not known here", "did you mean `font`?"]);
}

/// A mistyped action stands in `[keys]`, behind the root table of its file: the journey that presses the key was blamed too.
#[test]
fn a_typo_in_an_action_does_not_blame_the_journeys_that_press_its_key() {
    let project = Project::new();
    project.edit("device.toml", "steps = [ { look = \"5 s\" } ]", "steps = [ { press = 1, look = \"5 s\" } ]");
    project.edit("screens/home.toml", "go = \"empty\"", "goo = \"empty\"");
    let shown = run(&["check", project.path()]);
    assert_says(&shown.stderr, &["the key `goo` is not known here", "did you mean `go`?"]);
    assert_eq!(shown.stderr.matches("error:").count(), 1, "{}", shown.stderr);
}

/// A list as a value was taken for the heading of a table: the fault was dropped, and `budget` printed figures of a stand-in.
#[test]
fn a_list_where_none_belongs_is_never_swallowed() {
    for (from, to) in [
        ("sleep = { typ = \"1.5 uA\", max = \"3 uA\" }", "sleep = []"),
        ("sleep = { typ = \"1.5 uA\", max = \"3 uA\" }", "sleep = [7]"),
        ("low = \"8 °C\"", "low = [\"8 °C\"]"),
        ("home = \"home\"", "home = [\"home\"]"),
        ("start = ", "days = [7]\nstart = "),
    ] {
        let project = Project::new();
        project.edit("device.toml", from, to);
        for command in ["check", "budget"] {
            let shown = run(&[command, project.path()]);
            assert!(shown.status == 2 && shown.stderr.contains("error: "), "{to}, {command}: {}", shown.stdout);
        }
    }
}

/// Messages of the parser, in the words of a designer: what is wrong with a number, not what it is called in a library.
#[test]
fn numbers_and_lists_that_do_not_fit_are_told_so() {
    let said = |to: &str| complaint("device.toml", "start = ", &format!("{to}\nstart = "));
    assert_says(&said("days = 99999999999"), &["found `99999999999`", "a whole number from 0 to"]);
    assert_says(&said("days = 1.5"), &["found `1.5`, expected a whole number"]);
}

/// A longer list than there are values was cut to its first ones.
#[test]
fn a_list_of_another_length_is_refused() {
    let text = complaint("device.toml", "[panel]\n", "[panel]\npixels = [128, 296, 3]\n");
    assert_says(&text, &["found a list of 3, expected a list of 2", "device.toml:14:10"]);
}

/// A quantity without a tolerance is its typical value, also for `--set`.
#[test]
fn a_part_of_a_plain_quantity_can_be_set() {
    let project = Project::new();
    let plain = ["board.mcu.active=3 mA", "board.mcu.active.max=4 mA"];
    let mut arguments = vec!["budget", project.path(), "--explain", "board.mcu.active"];
    arguments.extend(plain.iter().flat_map(|change| ["--set", change]));
    let shown = run(&arguments);
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    assert_says(&shown.stdout, &["3 mA", "4 mA"]);
}

#[test]
fn an_unknown_kind_of_element_names_the_nearest_kind() {
    let text = complaint("screens/home.toml", "{ line = 1", "{ lin = 1");
    assert_says(&text, &["`lin` is not a kind of element", "did you mean `line`?"]);
}

#[test]
fn an_unknown_screen_in_the_flow_names_the_nearest_screen() {
    let text = complaint("screens/home.toml", "go = \"empty\"", "go = \"emtpy\"");
    assert_says(&text, &["home.toml:", "there is no screen `emtpy`", "did you mean `empty`?"]);
}

#[test]
fn a_bare_number_says_which_unit_was_expected() {
    let text = complaint("device.toml", "sleep = { typ = \"1.5 uA\", max = \"3 uA\" }", "sleep = 1.5");
    assert_says(&text, &["expected a current", "such as \"1.5 uA\"", "1.5 is a bare number", "device.toml:"]);
}

#[test]
fn a_wrong_unit_lists_the_right_ones() {
    let text = complaint("device.toml", "wake = \"1 ms\"", "wake = \"1 mA\"");
    assert_says(&text, &["expected a time", "\"mA\" is not one of its units", "ms"]);
}

#[test]
fn a_missing_file_says_where_it_was_looked_for() {
    let text = complaint("screens/home.toml", "{ line = 1, top = 1 },", "{ icon = \"icons/drop.png\" },");
    assert_says(&text, &["there is no file", "icons/drop.png", "home.toml:7:"]);
}

#[test]
fn a_journey_over_a_key_without_meaning_is_an_error_of_check() {
    let project = Project::new();
    project.edit("device.toml", "steps = [ { look = \"5 s\" } ]", "steps = [ { press = 3, look = \"5 s\" } ]");
    let shown = run(&["check", project.path()]);
    assert_eq!(shown.status, 1);
    assert_says(&shown.stderr, &["the journey `look` stops at its step 1: key 3 does nothing on `home`"]);
    let text = complaint("device.toml", "steps = [ { look = \"5 s\" } ]", "steps = [ { press = 9, look = \"5 s\" } ]");
    assert_says(&text, &["there is no soft key 9", "3 keys"]);
}

#[test]
fn a_temperature_outside_the_panels_table_is_refused() {
    let text = complaint("device.toml", "low = \"8 °C\"", "low = \"-8 °C\"");
    assert_says(&text, &["cannot be refreshed at this temperature", "0 °C to 50 °C", "refused, not guessed"]);
}

#[test]
fn a_charger_for_a_primary_battery_is_refused_with_the_caution() {
    let text = complaint(
        "device.toml",
        "[battery]\nfrom = \"lithium-ion-pouch\"",
        "[board.charger]\ncurrent = \"50 mA\"\ntermination-current = \"5 mA\"\ntemperature = \"20 °C\"\n\n[battery]\nfrom = \"lithium-ion-pouch\"\nchemistry = \"alkaline\"",
    );
    assert_says(&text, &["must never be charged", "leak, burn or burst"]);
}

#[test]
fn an_efficiency_above_one_is_refused() {
    let text = complaint("device.toml", "efficiency = \"88 %\"", "efficiency = \"108 %\"");
    assert_says(&text, &["an efficiency lies above 0 % and at most at 100 %"]);
}

#[test]
fn an_unknown_profile_names_the_known_ones() {
    let text = complaint("device.toml", "from = \"mono-296x128\"", "from = \"mono-296x127\"");
    assert_says(&text, &["there is no profile `mono-296x127`", "did you mean `mono-296x128`?"]);
}

#[test]
fn an_unknown_locale_is_refused() {
    let text = complaint("device.toml", "name = \"My instrument\"", "name = \"My instrument\"\nlocale = \"en\"");
    assert_says(&text, &["there is no strings/en.toml", "device.toml:"]);
}

#[test]
fn several_errors_are_reported_together() {
    let project = Project::new();
    project.edit("device.toml", "wake = \"1 ms\"", "wake = 1");
    project.edit("device.toml", "home = \"home\"", "home = \"hom\"");
    project.edit("screens/home.toml", "value = \"level\"", "value = \"levl\"");
    project.edit("screens/empty.toml", "role = \"battery-empty\"", "role = \"empty\"");
    let shown = run(&["check", project.path()]);
    assert_eq!(shown.status, 2);
    let all = ["is a bare number", "`empty` is not one of the values allowed here", "there is no screen `hom`"];
    assert_says(&shown.stderr, &all);
    assert_says(&shown.stderr, &["there is no field `levl`", "4 errors"]);
    assert!(!shown.stderr.contains("does nothing"), "{}", shown.stderr);
}

/// Wrong keys, units, names, strings and layouts were once found in three stages, 2, 4 and 8 of them.
#[test]
fn faults_of_every_kind_are_named_in_one_run() {
    let project = Project::new();
    project.write("strings/en.toml", b"used = \"Level\"\n");
    project.edit("device.toml", "cycles-per-pixel", "cycles-per-pixle");
    project.edit("device.toml", "overhead = ", "overhaed = ");
    project.edit("device.toml", "wake = \"1 ms\"", "wake = \"1 mA\"");
    project.edit("screens/home.toml", "value = \"level\"", "value = \"levl\"");
    let text =
        "{ line = 1, top = 1 },\n  { text = \"@missing\", at = [0, 40] },\n  { text = \"far out\", at = [290, 60] },";
    project.edit("screens/home.toml", "{ line = 1, top = 1 },", text);
    project.write(
        "screens/other.toml",
        b"title = \"@used\"\ncontent = [ { text = \"x\", fase = \"small\" } ]\nrole = \"none\"\n",
    );
    project.edit("screens/empty.toml", "role = \"battery-empty\"", "role = \"battery-empty\"\ntitel = \"x\"");
    for arguments in [&["check", project.path()] as &[&str], &["check", project.path(), "--format", "json"]] {
        let shown = run(arguments);
        assert_eq!(shown.status, 2);
        let all = [
            "`cycles-per-pixle` is not known here",
            "`overhaed` is not known here",
            "is not one of its units",
            "there is no field `levl`",
            "there is no string `missing`",
            "px off the display",
            "`fase` is not known here",
            "`none` is not one of the values",
            "`titel` is not known here",
        ];
        assert_says(&(shown.stderr + &shown.stdout), &all);
    }
    // Nothing is said twice, and nothing that only follows from the rest.
    let shown = run(&["check", project.path()]);
    assert_eq!(shown.stderr.matches("\nerror").count() + 1, 9, "{}", shown.stderr);
}

/// Without its panel's size nothing can be said about layouts.
#[test]
fn an_unknown_panel_hides_neither_names_nor_makes_up_layouts() {
    let project = Project::new();
    project.edit("device.toml", "from = \"mono-296x128\"", "from = \"mono-296x127\"");
    project.edit("device.toml", "from = \"lithium-ion-pouch\"", "from = \"lithium\"");
    project.edit("screens/home.toml", "value = \"level\"", "value = \"levl\"");
    project.edit("screens/home.toml", "{ line = 1, top = 1 },", "{ text = \"far out\", at = [290, 60] },");
    let shown = run(&["check", project.path()]);
    let all =
        ["there is no profile `mono-296x127`", "there is no profile `lithium`", "there is no field `levl`", "3 errors"];
    assert_says(&shown.stderr, &all);
}

#[test]
fn a_number_without_unit_is_shown_with_the_unit_of_its_key() {
    let hint = |from: &str, to: &str| complaint("device.toml", from, to);
    let text = hint("sleep = { typ = \"1.5 uA\", max = \"3 uA\" }", "sleep = 5.2\n#");
    assert_says(&text, &["write \"5.2 uA\", or another unit"]);
    let starter = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/src/cli/starter/device.toml")).unwrap();
    let line = |key: &str| starter.lines().find(|line| line.trim_start().starts_with(key)).unwrap().to_owned();
    for (key, unit) in [("active =", "mA"), ("clock =", "MHz"), ("ram =", "KiB")] {
        let text = hint(&line(key), &format!("{key} 5"));
        assert_says(&text, &[&format!("write \"5 {unit}\", or another unit")]);
        let text = hint(&line(key), &format!("{key} \"5\""));
        assert_says(&text, &[&format!("write \"5 {unit}\", or another unit")]);
    }
}

#[test]
fn what_is_docked_too_large_is_named_itself() {
    for dock in ["200", "110"] {
        let project = Project::new();
        let rest = "{ column = [ { text = \"one\" }, { text = \"two\" }, { text = \"three\" } ] },";
        let content = format!("content = [\n  {{ text = \"Title\", top = {dock} }},\n  {rest}\n]\n");
        project.write("screens/other.toml", content.as_bytes());
        let shown = run(&["check", project.path()]);
        assert_says(&shown.stderr, &["what is docked here takes", "other.toml:2:"]);
        for victim in ["other.toml:3:", "px off the display", "is cut off"] {
            assert!(!shown.stderr.contains(victim), "{dock}: {}", shown.stderr);
        }
    }
}

/// Names of the program's own types mean nothing to a designer.
/// A time of the day without quotes was "found a table".
#[test]
fn dates_and_times_are_texts_with_quotes_or_without() {
    let project = Project::new();
    let charging = "usage.charging={ every = \"2 d\", at = 20:00, for = \"2 h\" }";
    let charger = "board.charger={ current = \"50 mA\", termination-current = \"5 mA\", temperature = \"20 °C\" }";
    for set in [charging, "usage.start=2031-03-01", "usage.start=\"2031-03-01\""] {
        let shown = run(&["check", project.path(), "--set", charger, "--set", set]);
        assert_eq!(shown.status, 0, "{set}: {}", shown.stderr);
    }
    let shown =
        run(&["check", project.path(), "--set", charger, "--set", charging, "--set", "usage.charging.at=21:30"]);
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    let wrong = run(&["check", project.path(), "--set", "board.mcu.sleep=20:00"]);
    assert!(wrong.status == 2 && !wrong.stderr.contains("a table"), "{}", wrong.stderr);
}

#[test]
fn messages_name_no_types() {
    let project = Project::new();
    project.write("strings/en.toml", b"a = 5\nb = [1]\n");
    let wrong = [
        "title = 5",
        "title = [1]",
        "title = { a = 1 }",
        "keys = 5",
        "keys = [1]",
        "keys = { 1 = 5 }",
        "keys = { 1 = [ 5 ] }",
        "keys = { 1 = { go = 5 } }",
        "keys = { 1 = { do = 5 } }",
        "keys = { 1 = { change = 5 } }",
        "keys = { 1 = { hold = 5 } }",
        "after = 5",
        "after = [ 5 ]",
        "on = 5",
        "on = { reading = 5 }",
        "box = 5",
        "box = { size = 5 }",
        "box = { size = [1] }",
        "box = { size = [1, 2, 3] }",
        "box = { size = [-1, 2] }",
        "box = { size = [1.5, 2] }",
        "edit = 5",
        "edit = [5]",
        "role = 5",
    ];
    for head in wrong {
        project.write("screens/other.toml", format!("{head}\ncontent = [ {{ text = \"x\" }} ]\n").as_bytes());
        let shown = run(&["check", project.path()]);
        assert_eq!(shown.status, 2, "{head}");
        no_types(head, &shown.stderr);
    }
    for element in [
        "text = 5",
        "text = \"x\", at = 5",
        "text = \"x\", at = [1]",
        "text = \"x\", size = [1, 2, 3]",
        "line = \"x\"",
        "box = 5",
        "text = \"x\", when = 5",
        "text = \"x\", margin = \"x\"",
        "gauge = 5",
        "chart = 5",
        "list = 5",
        "table = 5",
        "table = [5]",
        "qr = 5",
        "row = 5",
        "grid = [], columns = -1",
        "icon = 5",
        "battery = 5",
        "text = \"x\", grow = \"x\"",
        "text = \"x\", when = { field = 5 }",
    ] {
        project.write("screens/other.toml", format!("content = [ {{ {element} }} ]\n").as_bytes());
        no_types(element, &run(&["check", project.path()]).stderr);
    }
    for path in [
        "panel",
        "panel.pixels",
        "panel.full",
        "panel.full.drive",
        "panel.packing",
        "display.keys",
        "board",
        "board.mcu",
        "board.rails.main",
        "board.loads",
        "battery",
        "fields",
        "fields.level",
        "fields.level.range",
        "fields.level.signal",
        "events",
        "events.reading",
        "policy",
        "policy.buffer",
        "policy.max-partials",
        "usage",
        "usage.temperature",
        "usage.journeys.look",
        "usage.journeys.look.steps",
        "limits",
        "lints",
        "fonts",
        "anywhere",
    ] {
        for value in ["5", "-5", "5.5", "true", "\"x\"", "[1]", "[1, 2, 3]", "{ a = 1 }", "[{ a = 1 }]"] {
            let set = format!("{path}={value}");
            no_types(&set, &run(&["check", project.path(), "--set", &set]).stderr);
        }
    }
    // A word that is known, but not alone.
    for set in
        ["fields.level.signal=\"count\"", "fields.level.signal=\"cycle\"", "fields.level.signal={ count = \"x\" }"]
    {
        let said = run(&["check", project.path(), "--set", set]).stderr;
        assert!(said.contains("expected a table") || said.contains("expected a number"), "{said}");
        no_types(set, &said);
    }
}

fn no_types(what: &str, text: &str) {
    let words: Vec<&str> = text
        .lines()
        .filter(|line| line.starts_with("error") || line.contains("= help") || line.contains('^'))
        .flat_map(|line| line.split(|letter: char| !letter.is_alphanumeric() && letter != '_'))
        .collect();
    let types = [
        "u8", "u16", "u32", "u64", "usize", "i8", "i16", "i32", "i64", "f32", "f64", "bool", "str", "struct", "enum",
        "tuple", "variant", "sequence", "untagged", "newtype", "Option", "Vec", "map",
    ];
    let found = words.iter().find(|word| types.contains(word) || word.ends_with("Spec"));
    assert!(found.is_none(), "{what}: {found:?} in\n{text}");
}

#[test]
fn invalid_utf8_names_file_and_line() {
    let project = Project::new();
    project.write("screens/home.toml", b"title = \"x\"\ncontent = [ { text = \"\xff\" } ]\n");
    let shown = run(&["check", project.path()]);
    assert_eq!(shown.status, 2);
    assert_says(&shown.stderr, &["home.toml", "is not UTF-8 text: line 2"]);
}

#[test]
fn broken_toml_points_at_the_place() {
    let text = complaint("device.toml", "[board.bus]", "[board.bus");
    assert_says(&text, &["not well-formed TOML", "device.toml:"]);
}

#[test]
fn an_empty_project_and_a_missing_one_say_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().to_str().unwrap();
    let shown = run(&["check", path]);
    assert_eq!(shown.status, 2);
    assert_says(&shown.stderr, &["no such file", "device.toml", "inkjoule new"]);
    std::fs::write(folder.path().join("device.toml"), "").unwrap();
    let shown = run(&["check", path]);
    assert_eq!(shown.status, 2);
    assert_says(&shown.stderr, &["the key `name` is missing"]);
    assert_eq!(run(&["check", "/nowhere/at/all"]).status, 2);
}

#[test]
fn an_image_over_the_limit_is_refused_before_it_is_decoded() {
    let project = Project::new();
    // A PNG whose header declares 60,000 x 60,000 pixels and holds none.
    project.write("icons/bomb.png", &crate::starter::png_header(60_000, 60_000));
    project.edit("screens/home.toml", "{ line = 1, top = 1 },", "{ icon = \"icons/bomb.png\" },");
    let shown = run(&["check", project.path()]);
    assert_eq!(shown.status, 2);
    assert_says(&shown.stderr, &["60000 x 60000 pixels", "at most"]);
}

#[test]
fn a_verb_that_fails_writes_nothing() {
    let project = Project::new();
    project.edit("screens/home.toml", "value = \"level\"", "value = \"levl\"");
    let out = project.folder().join("out");
    let shown = run(&["render", project.path(), "--out", out.to_str().unwrap()]);
    assert_eq!(shown.status, 2);
    assert!(!out.exists(), "nothing may be written");
}

#[test]
fn wrong_usage_exits_with_two() {
    assert_eq!(run(&["chek"]).status, 2);
    assert_eq!(run(&["render", "--scale", "99"]).status, 2);
    let project = Project::new();
    let shown = run(&["render", project.path(), "--screen", "hme"]);
    assert_eq!(shown.status, 2);
    assert_says(&shown.stderr, &["there is no screen `hme`", "did you mean `home`?"]);
    let shown = run(&["budget", project.path(), "--set", "board.mcu.slep=3 uA"]);
    assert_eq!(shown.status, 2);
    assert_says(&shown.stderr, &["`slep` is not known here", "did you mean `sleep`?"]);
}

#[test]
fn new_never_overwrites_a_project() {
    let project = Project::new();
    let before = std::fs::read(project.folder().join("device.toml")).unwrap();
    let shown = run(&["new", project.path()]);
    assert_eq!(shown.status, 2);
    assert_says(&shown.stderr, &["already holds a project"]);
    assert_eq!(std::fs::read(project.folder().join("device.toml")).unwrap(), before);
}

/// The product is called like its folder, whatever that is called.
#[test]
fn new_names_the_product_like_its_folder() {
    let parent = tempfile::tempdir().expect("a temporary folder");
    for name in ["tide-gauge", "Räucher\"ofen", "back\\slash", "$1 & co"] {
        let folder = parent.path().join(name);
        let at = folder.to_str().expect("a plain path");
        let shown = run(&["new", at]);
        assert_eq!(shown.status, 0, "{}", shown.stderr);
        let budget = run(&["budget", at, "--format", "json"]);
        assert_eq!(budget.status, 0, "{name}: {}", budget.stderr);
        let budget: serde_json::Value = serde_json::from_str(&budget.stdout).expect("JSON");
        assert_eq!(budget["project"], *name, "{budget}");
    }
}

/// A sample outside its range was once printed before the range that was written the wrong way round.
#[test]
fn a_range_at_fault_is_told_alone() {
    let project = Project::new();
    let text = std::fs::read_to_string(project.folder().join("device.toml")).expect("a project");
    let field = "\n[fields.odd]\nrange = [40, -20]\nsample = 20\n";
    std::fs::write(project.folder().join("device.toml"), text + field).expect("it can be written");
    let shown = run(&["check", project.path()]);
    assert_eq!(shown.status, 2, "{}", shown.stderr);
    assert!(shown.stderr.contains("a range is [smallest, largest]"), "{}", shown.stderr);
    assert!(!shown.stderr.contains("the sample"), "{}", shown.stderr);
}

/// A cell has tenths of an ohm: the help for a bare number once proposed milliohms.
#[test]
fn a_bare_resistance_is_taken_for_ohms() {
    let project = Project::new();
    let shown = run(&["check", project.path(), "--set", "battery.resistance=0.2"]);
    assert_eq!(shown.status, 2, "{}", shown.stderr);
    assert!(shown.stderr.contains("\"0.2 Ohm\""), "{}", shown.stderr);
    assert!(!shown.stderr.contains("0.2 mOhm"), "{}", shown.stderr);
}
