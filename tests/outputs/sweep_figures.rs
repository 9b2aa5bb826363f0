//! Sweeps against single runs, against what must rise or fall, and against bad ranges.

use crate::starter::{Project, run};
use serde_json::Value;

fn json(arguments: &[&str]) -> Value {
    let shown = run(arguments);
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    serde_json::from_str(&shown.stdout).expect("JSON on standard output")
}

fn figures(sweep: &Value, pointer: &str) -> Vec<f64> {
    let rows = sweep["rows"].as_array().expect("rows");
    rows.iter().map(|row| row.pointer(pointer).and_then(Value::as_f64).expect("a number")).collect()
}

fn rises(values: &[f64]) -> bool {
    values.len() > 1 && values.windows(2).all(|pair| pair[0] < pair[1])
}

#[test]
fn every_row_equals_a_single_run_with_set() {
    let project = Project::new();
    let all = "life-days,energy-per-day-j,refreshes-per-day,latency-p95-s,update-energy-j,supply-voltage-v";
    for (path, range) in
        [("board.mcu.sleep", "1uA..20uA"), ("policy.max-partials", "2..30"), ("battery.charge-voltage", "4.2V,4.0V")]
    {
        let arguments = ["sweep", project.path(), path, range, "--steps", "3", "--figure", all, "--format", "json"];
        let sweep = json(&arguments);
        for row in sweep["rows"].as_array().unwrap() {
            let set = format!("{path}={}", row["set"][0].as_str().unwrap());
            let single = json(&["budget", project.path(), "--set", &set, "--format", "json"]);
            let figures = &row["figures"];
            assert_eq!(figures["life_days"], single["life"]["days"], "{set}");
            assert_eq!(figures["energy_per_day_j"], single["per_day"]["energy_j"], "{set}");
            assert_eq!(figures["latency_p95_s"], single["per_day"]["latency_s"]["p95"], "{set}");
            assert_eq!(figures["supply_voltage_v"], single["battery"]["v_min_under_peak"], "{set}");
            let refreshes = ["full", "partial"].map(|kind| single["per_day"][kind].as_f64().unwrap());
            let swept = figures["refreshes_per_day"].as_f64().unwrap();
            assert!((swept - refreshes[0] - refreshes[1]).abs() < 1e-9, "{set}");
            let ways = single["transitions"].as_array().unwrap().iter();
            let most = ways.map(|way| way["energy_j"].as_f64().unwrap()).fold(0.0, f64::max);
            assert_eq!(figures["update_energy_j"].as_f64(), Some(most), "{set}");
        }
    }
}

/// A sweep over profiles once kept the capacity that the project had laid over its old battery, and one value that cannot
/// be ended it.
#[test]
fn profiles_are_swept_as_they_are_compared_and_impossible_words_are_told() {
    let sweep = json(&[
        "sweep",
        "screens-demo",
        "battery.from",
        "lithium-ion-pouch-2000,lithium-ion-pouch-250",
        "--format",
        "json",
    ]);
    assert_eq!(sweep["inputs"][0]["now"], "lithium-ion-pouch", "the one in use is told");
    let words = ["sweep", "screens-demo", "battery.from", "lithium-ion-pouch-2000,lithium-ion-pouch-250"];
    assert!(run(&words).stdout.contains("battery.from: lithium-ion-pouch as designed"));
    for (row, profile) in
        sweep["rows"].as_array().unwrap().iter().zip(["lithium-ion-pouch-2000", "lithium-ion-pouch-250"])
    {
        let compared = json(&["compare", "screens-demo", "--battery", profile, "--format", "json"]);
        let life = compared["projects"][1]["figures"]["life-days"]
            .as_f64()
            .or(compared["projects"][1]["figures"]["life_days"].as_f64());
        assert!(life.is_some(), "{compared:#}");
        assert_eq!(row["figures"]["life_days"]["p50"].as_f64(), life, "{profile}");
    }
    let project = Project::new();
    let shown = run(&["sweep", project.path(), "policy.buffer", "ram,external"]);
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    assert!(shown.stdout.contains("with policy.buffer=external: "), "{}", shown.stdout);
    let none = run(&["sweep", project.path(), "panel.from", "mono-296x127,mono-296x128"]);
    assert_eq!(none.status, 2);
    assert!(none.stderr.contains("did you mean `mono-296x128`?"), "{}", none.stderr);
}

/// Alternatives of the project as swept words, alone and over another input, which wins over them as `--set` does.
#[test]
fn alternatives_are_swept_as_single_runs_with_them() {
    let project = Project::new();
    let text = std::fs::read_to_string(project.folder().join("device.toml")).unwrap();
    let alternatives = "[alternatives.thick]\nset = [\"battery.capacity=1700 mAh\", \"board.mcu.sleep=1 uA\"]\n\
                        [alternatives.thin]\nset = [\"battery.capacity=300 mAh\"]\n\
                        [alternatives.odd]\nset = [\"battery.capacity=1 V\"]\n";
    project.write("device.toml", format!("{text}\n{alternatives}").as_bytes());
    let single = |name: &str, set: &[&str]| {
        let budget = json(&[&["budget", project.path(), "--alternative", name, "--format", "json"], set].concat());
        budget["life"]["days"]["p50"].as_f64().expect("a life")
    };
    let swept = |arguments: &[&str]| json(&[&["sweep", project.path()], arguments, &["--format", "json"]].concat());
    let lives = |sweep: &Value| figures(sweep, "/figures/life_days/p50");
    assert_eq!(lives(&swept(&["alternative", "thick,thin"])), [single("thick", &[]), single("thin", &[])]);
    let text = run(&["sweep", project.path(), "alternative", "thick,thin"]).stdout;
    assert!(text.contains("alternative: none as designed"), "{text}");
    let odd = swept(&["alternative", "thick,odd"]);
    assert!(odd["rows"][1].to_string().contains("with alternative=odd: "), "{odd:#}");
    let both = lives(&swept(&["board.mcu.sleep", "2uA,9uA", "--and", "alternative", "thick,thin"]));
    let set = ["2 uA", "9 uA"].map(|sleep| format!("board.mcu.sleep={sleep}"));
    let singles = set.iter().flat_map(|set| ["thick", "thin"].map(|name| single(name, &["--set", set])));
    assert_eq!(both, singles.collect::<Vec<f64>>());
    let unknown = run(&["sweep", project.path(), "alternative", "slim,other"]);
    assert!(unknown.status == 2 && unknown.stderr.contains("it has thick, thin, odd"), "{}", unknown.stderr);
}

#[test]
fn more_load_takes_more_and_lasts_less() {
    let project = Project::new();
    let arguments = ["sweep", project.path(), "board.loads.gauge.current", "0.5uA..80uA", "--log", "--steps", "6"];
    let sweep = json(&[&arguments[..], &["--figure", "life-days,energy-per-day-j", "--format", "json"]].concat());
    assert!(rises(&figures(&sweep, "/figures/energy_per_day_j")));
    for part in ["p10", "p50", "p90"] {
        let mut lives = figures(&sweep, &format!("/figures/life_days/{part}"));
        lives.reverse();
        assert!(rises(&lives), "{part}: {lives:?}");
    }
    let capacity =
        json(&["sweep", project.path(), "battery.capacity", "200mAh..900mAh", "--steps", "4", "--format", "json"]);
    assert!(rises(&figures(&capacity, "/figures/life_days/p50")));
    let arguments =
        ["sweep", project.path(), "events.reading.every", "60min..5min", "--steps", "4", "--format", "json"];
    let often = json(&[&arguments[..], &["--figure", "energy-per-day-j,refreshes-per-day"]].concat());
    assert!(rises(&figures(&often, "/figures/energy_per_day_j")));
    assert!(rises(&figures(&often, "/figures/refreshes_per_day")));
}

#[test]
fn any_number_of_threads_gives_the_same() {
    let project = Project::new();
    let shown = |threads: &str| {
        let arguments = ["sweep", project.path(), "board.mcu.sleep", "1uA..9uA", "--steps", "5", "--format", "json"];
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_inkjoule"));
        command.args(arguments).env("RAYON_NUM_THREADS", threads).output().expect("the program starts").stdout
    };
    let one = shown("1");
    assert!(one.len() > 100);
    assert_eq!(one, shown("2"));
    assert_eq!(one, shown("7"));
}

#[test]
fn two_inputs_give_every_combination() {
    let project = Project::new();
    let arguments =
        ["sweep", project.path(), "board.mcu.sleep", "1uA..3uA", "--steps", "3", "--and", "battery.capacity"];
    let sweep = json(&[&arguments[..], &["400 mAh, 800 mAh", "--format", "json"]].concat());
    let set: Vec<String> = sweep["rows"].as_array().unwrap().iter().map(|row| row["set"].to_string()).collect();
    let first = [r#"["1 uA","400 mAh"]"#, r#"["1 uA","800 mAh"]"#, r#"["2 uA","400 mAh"]"#];
    assert_eq!(set.len(), 6);
    assert_eq!(set[..3], first);
    let csv = run(&[&arguments[..], &["400 mAh, 800 mAh", "--format", "csv"]].concat());
    let mut reader = csv::Reader::from_reader(csv.stdout.as_bytes());
    let heads = reader.headers().unwrap().iter().map(str::to_owned).collect::<Vec<_>>();
    assert_eq!(heads[..2], ["board.mcu.sleep (uA)", "battery.capacity (mAh)"]);
    assert_eq!(heads[2..], ["life_days_p10", "life_days_p50", "life_days_p90"]);
    let rows: Vec<Vec<f64>> = reader.deserialize().collect::<Result<_, _>>().unwrap();
    assert_eq!(rows.len(), 6);
    assert_eq!(rows[1][..2], [1.0, 800.0]);
    assert!(rows[0][3] < rows[1][3], "twice the capacity lasts longer");
}

#[test]
fn the_design_point_and_the_crossing_of_the_limit_are_told() {
    let project = Project::new();
    let arguments = ["sweep", project.path(), "board.mcu.sleep", "1uA..60uA", "--format", "json"];
    let sweep = json(&arguments);
    assert_eq!(sweep["inputs"][0]["now"].as_f64(), Some(1.5));
    let lives = figures(&sweep, "/figures/life_days/p10");
    let limit = ((lives[4] + lives[5]) / 2.0).to_string();
    let sweep = json(&[&arguments[..], &["--limit", &limit]].concat());
    let values = figures(&sweep, "/values/0");
    let at = sweep["limit"]["passed_at"][0].as_f64().expect("a crossing");
    // A run of its own at the crossing has the limit for its life; the straight line between the points is near it.
    let there = json(&[
        "sweep",
        project.path(),
        "board.mcu.sleep",
        &format!("{at}uA..60uA"),
        "--steps",
        "2",
        "--format",
        "json",
    ]);
    let found = figures(&there, "/figures/life_days/p10")[0];
    let wanted: f64 = limit.parse().expect("a number");
    assert!((found / wanted - 1.0).abs() < 0.005, "{found} d at {at} uA, {wanted} d wanted");
    assert!((at - (values[4] + values[5]) / 2.0).abs() < 0.2 * (values[5] - values[4]), "{at}");
    let text = run(&["sweep", project.path(), "board.mcu.sleep", "1uA..60uA", "--limit", &limit]).stdout;
    assert!(text.contains("1.5 uA as designed") && text.contains("the limit is passed at board.mcu.sleep ="), "{text}");
    // Values of a built-in profile, and plain numbers, have a design point too.
    let float =
        json(&["sweep", project.path(), "battery.charge-voltage", "4.0V..4.2V", "--steps", "2", "--format", "json"]);
    assert_eq!(float["inputs"][0]["now"].as_f64(), Some(4.1));
    let count = json(&["sweep", project.path(), "policy.max-partials", "5..15", "--steps", "2", "--format", "json"]);
    assert_eq!(count["inputs"][0]["now"].as_f64(), Some(10.0));
}

#[test]
fn bad_ranges_and_values_are_refused_with_place_and_remedy() {
    let project = Project::new();
    let refused = |arguments: &[&str], parts: &[&str]| {
        let shown = run(&[&["sweep", project.path()], arguments].concat());
        assert_eq!(shown.status, 2, "{arguments:?}");
        assert_eq!(shown.stdout, "", "nothing belongs on standard output");
        // Lines are broken where they would be too long.
        let said = shown.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
        for part in parts {
            assert!(said.contains(part), "expected {part:?} in:\n{}", shown.stderr);
        }
    };
    refused(&["board.mcu.sleep", "1uA..10V"], &["do not belong together", "FROM..TO"]);
    refused(&["board.mcu.sleep", "much"], &["\"much\" is a word alone", "--set"]);
    refused(&["board.mcu.sleep", "0uA..10uA", "--log"], &["above 0"]);
    refused(&["board.mcu.sleep", "1..10"], &["with board.mcu.sleep=1", "expected a current", "bare number"]);
    refused(&["board.mcu.slep", "1uA..10uA"], &["`slep` is not known here", "did you mean `sleep`?"]);
    refused(
        &["battery.charge-voltage", "4.0V..4.4V", "--steps", "3"],
        &["with battery.charge-voltage=4.4 V", "from 3.9 V to 4.2 V"],
    );
    refused(&["board.mcu.sleep", "1uA..10uA", "--plot", "plot.bmp"], &["ends in .svg or .png"]);
    refused(&["board.mcu.sleep", "1uA..10uA", "--limit", "5 apples"], &["--limit", "expected a time"]);
    refused(&["board.mcu.sleep"], &["\"board.mcu.sleep\" is a word", "--set"]);
    refused(&[], &["needs the path of an input and its values", "inkjoule sweep PROJECT"]);
    refused(&["a", "1..2", "--list", "1,2"], &["both as RANGE and in --list"]);
    refused(&["board.mcu.sleep", "1uA..10uA", "--steps", "1"], &["from 2 to 1000 steps"]);
}
