//! Input that was once taken in silence: each is refused with what to do, or remarked on.

use crate::starter::{Project, run};

/// What `check` says after one text was replaced, with its status.
fn after(file: &str, from: &str, to: &str) -> (i32, String) {
    let project = Project::new();
    project.edit(file, from, to);
    let shown = run(&["check", project.path()]);
    (shown.status, shown.stderr)
}

fn refused(file: &str, from: &str, to: &str, parts: &[&str]) {
    let (status, text) = after(file, from, to);
    assert_eq!(status, 2, "{to}: {text}");
    for part in parts {
        assert!(text.contains(part), "expected {part:?} after {to:?} in:\n{text}");
    }
}

const PANEL: &str = "from = \"mono-296x128\"";
const FIELD: &str = "[fields.taken]";

#[test]
fn a_full_refresh_more_often_than_the_panel_can_is_refused() {
    for every in ["1 ms", "1 s"] {
        let to = format!("full-every = \"{every}\"");
        refused("device.toml", "full-every = \"24 h\"", &to, &["is more than the panel can do", "one takes about"]);
    }
    let (status, text) = after("device.toml", "full-every = \"24 h\"", "full-every = \"1 min\"");
    assert_ne!(status, 2, "{text}");
}

/// As long as a table has keys, a list was once taken for its values in their order.
#[test]
fn a_list_is_no_table() {
    let name = "name = \"My instrument\"\n";
    let limits = "limits = [\"6 KiB\", \"40 KiB\", \"150 mJ\", \"6 s\", \"60 d\", 200, \"4 %\"]\n";
    refused("device.toml", name, &format!("{name}{limits}"), &["found a list, expected a table"]);
}

#[test]
fn grades_fall_and_do_not_grade_themselves() {
    let grade = |name: &str, of: &str, below: &str| {
        format!(
            "[fields.{name}]\nrange = [0, 3]\nevery = \"1 h\"\nsignal = {{ thresholds = {{ field = \"{of}\", below = {below} }} }}\n\n{FIELD}"
        )
    };
    refused("device.toml", FIELD, &grade("g", "level", "[1, 2]"), &["thresholds fall"]);
    refused("device.toml", FIELD, &grade("g", "level", "[2, 2]"), &["thresholds fall"]);
    refused("device.toml", FIELD, &grade("g", "level", "[]"), &["thresholds fall"]);
    refused("device.toml", FIELD, &grade("g", "g", "[2, 1]"), &["`g` takes its thresholds from itself"]);
    let circle = grade("a", "b", "[2, 1]").replace(FIELD, &grade("b", "a", "[2, 1]"));
    refused(
        "device.toml",
        FIELD,
        &circle,
        &["`a` takes its thresholds from itself", "`b` takes its thresholds from itself"],
    );
    let (status, text) = after("device.toml", FIELD, &grade("g", "level", "[2, 1]"));
    assert_ne!(status, 2, "{text}");
}

#[test]
fn charging_ends_below_the_current_it_begins_with() {
    let charger = |termination: &str| {
        format!(
            "[board.charger]\ncurrent = \"50 mA\"\ntermination-current = \"{termination}\"\ntemperature = \"20 °C\"\n\n{FIELD}"
        )
    };
    refused("device.toml", FIELD, &charger("60 mA"), &["charging ends at 60 mA, and begins with 50 mA"]);
    let (status, text) = after("device.toml", FIELD, &charger("5 mA"));
    assert_ne!(status, 2, "{text}");
}

#[test]
fn strips_columns_and_strides_have_bounds() {
    let strips = "max-partials = 10\nbuffer = { strip-lines = 100000 }";
    refused("device.toml", "max-partials = 10", strips, &["100000 lines is more than the 296 lines"]);
    let line = "{ line = 1, top = 1 },";
    for columns in ["0", "65"] {
        let grid = format!("{{ grid = [ {{ line = 1 }} ], columns = {columns}, at = [0, 0] }},");
        refused("screens/home.toml", line, &grid, &["columns cannot be laid out", "expected 1 to 64"]);
    }
    let stride = |bytes: &str| format!("{PANEL}\npacking = {{ stride = {bytes} }}");
    for bytes in ["4097", "400000", "1"] {
        refused("device.toml", PANEL, &stride(bytes), &["this packing does not suit the panel"]);
    }
    let (status, text) = after("device.toml", PANEL, &stride("0"));
    assert_ne!(status, 2, "as on the command line, 0 stands for lines without a gap: {text}");
}

#[test]
fn temperatures_and_voltages_are_possible_ones() {
    refused("device.toml", "low = \"8 °C\"", "low = \"-300 °C\"", &["-273", "lies outside"]);
    let rail = format!(
        "{FIELD}\nrange = [0, 1]\n[board.rails.extra]\nregulator = \"ldo\"\noutput = \"400 V\"\ndropout = \"1 V\"\n[fields.other]"
    );
    refused("device.toml", FIELD, &rail, &["a voltage from 0 V to 100 V", "lies outside"]);
    for arguments in [["--temperature", "-300 °C"], ["--voltage", "4000 V"]] {
        let shown = run(&["trace", "nothing.csv", arguments[0], arguments[1]]);
        assert_eq!(shown.status, 2);
        assert!(shown.stderr.contains("lies outside"), "{}", shown.stderr);
    }
}

#[test]
fn an_active_area_with_its_sides_exchanged_is_remarked_on() {
    let (status, text) = after("device.toml", PANEL, &format!("{PANEL}\nactive = [\"66.9 mm\", \"29.06 mm\"]"));
    assert!(status < 3 && text.contains("warning[pixel-shape]"), "{text}");
    assert!(text.contains("5.32 times as long as wide"), "{text}");
    let (_, text) = after("device.toml", PANEL, PANEL);
    assert!(!text.contains("pixel-shape"));
}

/// Buffers, batteries and modes are words: a sweep over them gives the figures that `--set` gives, one beside the other.
#[test]
fn words_are_swept_like_numbers() {
    let project = Project::new();
    let ask = |arguments: &[&str]| {
        let shown = run(arguments);
        assert_eq!(shown.status, 0, "{}", shown.stderr);
        serde_json::from_str::<serde_json::Value>(&shown.stdout).expect("JSON")
    };
    let words = "lithium-ion-pouch,lithium-ion-pouch-250";
    let swept = ask(&["sweep", project.path(), "battery.from", words, "--figure", "life-days", "--format", "json"]);
    for (row, word) in words.split(',').enumerate() {
        let one = ask(&["budget", project.path(), "--set", &format!("battery.from={word}"), "--format", "json"]);
        let (found, alone) = (&swept["rows"][row], one["life"]["days"]["p50"].clone());
        assert_eq!((&found["set"][0], &found["figures"]["life_days"]["p50"]), (&word.into(), &alone), "{found}");
    }
    let shown = run(&["sweep", project.path(), "battery.from", words, "--plot", "plot.svg"]);
    assert!(shown.status == 2 && shown.stderr.contains("these values are words"), "{}", shown.stderr);
}

#[test]
fn a_name_with_an_equals_sign_can_be_set() {
    let project = Project::new();
    project.edit("device.toml", FIELD, &format!("[board.loads.\"a=b.c\"]\ncurrent = \"5 uA\"\n\n{FIELD}"));
    let set = "board.loads.\"a=b.c\".current=7 uA";
    let shown = run(&["budget", project.path(), "--set", set, "--explain", "always-on"]);
    assert!(shown.status == 0 && shown.stdout.contains("7 uA"), "{}{}", shown.stdout, shown.stderr);
    let range = ["sweep", project.path(), "board.loads.\"a=b.c\".current", "1uA..2uA", "--steps", "2"];
    assert_eq!(run(&range).status, 0, "{}", run(&range).stderr);
}

/// 30,000 dots once aborted the program.
#[test]
fn changes_and_deep_tables_are_bounded() {
    let project = Project::new();
    let dots = format!("a{}=1", ".a".repeat(30_000));
    let inline = format!("note={{ a{} = 1 }}", ".a".repeat(2_000));
    let nested = format!("note={}", "[".repeat(4_000));
    for set in [&dots, &inline, &nested] {
        let shown = run(&["check", project.path(), "--set", set]);
        assert!(shown.stderr.len() < 20_000, "{} bytes of messages", shown.stderr.len());
    }
    let many: Vec<String> = (0..201).flat_map(|number| ["--set".into(), format!("note={number}")]).collect();
    let arguments: Vec<&str> = ["check", project.path()].into_iter().chain(many.iter().map(String::as_str)).collect();
    let shown = run(&arguments);
    assert!(shown.status == 2 && shown.stderr.contains("at most 200"), "{}", shown.stderr);
    project.write("screens/deep.toml", format!("a{} = 1\n", ".a".repeat(100_000)).as_bytes());
    assert_eq!(run(&["check", project.path()]).status, 2);
}

#[test]
fn the_lints_are_listed_without_a_project() {
    let folder = tempfile::tempdir().unwrap();
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_inkjoule"))
        .current_dir(folder.path())
        .args(["check", "--lints"])
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(String::from_utf8_lossy(&output.stdout).contains("text-cut"));
}

#[cfg(target_os = "linux")]
#[test]
fn help_to_a_full_disk_is_an_error() {
    for arguments in [["--help"].as_slice(), &["--version"], &["budget", "--help"], &["man"], &["check", "--lints"]] {
        let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let folder = tempfile::tempdir().unwrap();
        let status = std::process::Command::new(env!("CARGO_BIN_EXE_inkjoule"))
            .current_dir(folder.path())
            .args(arguments)
            .stdout(full)
            .stderr(std::process::Stdio::null())
            .status()
            .unwrap();
        assert_eq!(status.code(), Some(2), "{arguments:?}");
    }
}
