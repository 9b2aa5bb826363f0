//! The verb as it is called: layouts of files, bad input, what is printed and written.

use std::path::Path;
use std::process::{Command, Output};

fn run(folder: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_inkjoule")).arg("trace").args(args).current_dir(folder).output().unwrap()
}

/// Runs on a file with this text and returns status, standard output and standard error.
fn on(text: &str, args: &[&str]) -> (Option<i32>, String, String) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.csv"), text).unwrap();
    let output = run(folder.path(), &[&["a.csv"], args].concat());
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

/// A trace with one update of 4 mA for half a second, 1 ms apart, and a way to write each row.
fn rows(head: &str, row: impl Fn(u32, f64) -> String) -> String {
    let noise = |n: u32| f64::from(n * 7919 % 13) / 13.0;
    let current = |n: u32| if (1000..1500).contains(&n) { 4000.0 + 20.0 * noise(n) } else { 10.0 + noise(n) };
    let rows: String = (0..3000).map(|n| row(n, current(n))).collect();
    format!("{head}\n{rows}")
}

fn charge_in(json: &str) -> f64 {
    let json: serde_json::Value = serde_json::from_str(json).unwrap();
    assert_eq!(json["updates"].as_array().map(Vec::len), Some(1), "{json}");
    json["updates"][0]["charge_c"].as_f64().unwrap()
}

#[test]
fn every_layout_gives_the_same_charge() {
    let comma = |value: f64| format!("{value:.3}").replace('.', ",");
    let layouts = [
        (rows("t [ms],I [uA]", |n, current| format!("{n},{current:.3}\n")), vec![]),
        (
            rows("t/s;I/mA", |n, current| {
                format!("{};{}\n", comma(f64::from(n) * 1e-3), format!("{:.6}", current * 1e-3).replace('.', ","))
            }),
            vec![],
        ),
        (rows("time\tnote\tcurrent\nms\t-\tµA", |n, current| format!("{n}\tx\t{current:.3}\r\n")), vec![]),
        (rows("t [ms],U [mV]", |n, current| format!("{n},{:.6}\n", current * 1e-3)), vec!["--shunt", "1 Ohm"]),
        (
            rows("t [us],U [V]", |n, current| format!("{},{:.3e}\n", 1000 * n + 5_000_000, current * 0.1e-6)),
            vec!["--shunt", "100 mOhm"],
        ),
        (rows("t [ms],I [uA],V [V]", |n, current| format!("\"{n}\",\"{current:.3}\",3.7\n")), vec![]),
    ];
    for (text, args) in layouts {
        let (status, json, errors) = on(&text, &[&args[..], &["--format", "json"]].concat());
        assert_eq!(status, Some(0), "{errors}");
        // 500 rows of 1 ms at 4000 to 4018.5 uA above 10 to 10.9 uA, 4009.2 and 10.5 on average.
        let charge = charge_in(&json);
        assert!((charge / 1.99938e-3 - 1.0).abs() < 1e-3, "{charge} {}", &text[..40]);
    }
}

#[test]
fn a_supply_voltage_in_the_file_gives_the_energy() {
    let text = rows("t [ms],I [uA],V [V]", |n, current| format!("{n},{current:.3},3.5\n"));
    let (_, json, _) = on(&text, &["--format", "json", "--voltage", "9 V"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let update = &json["updates"][0];
    assert!((update["energy_j"].as_f64().unwrap() / update["charge_c"].as_f64().unwrap() - 3.5).abs() < 1e-9);
    // A row without a voltage has that of the row before.
    let gaps = rows("t [ms],I [uA],V [V]", |n, current| {
        if n % 3 == 1 { format!("{n},{current:.3},\n") } else { format!("{n},{current:.3},3.5\n") }
    });
    let (_, with_gaps, _) = on(&gaps, &["--format", "json"]);
    let with_gaps: serde_json::Value = serde_json::from_str(&with_gaps).unwrap();
    assert_eq!(with_gaps["updates"][0]["energy_j"], update["energy_j"]);
}

/// What is wrong, what goes into the file or the arguments, and what the message must hold.
#[test]
fn bad_input_is_refused_with_its_place_and_a_remedy() {
    let plain = |n: u32, current: f64| format!("{n},{current:.3}\n");
    let clipped =
        rows("t [ms],I [uA]", |n, current| plain(n, if (1100..1130).contains(&n) { 5000.0 } else { current }));
    let back = rows("t [ms],I [uA]", |n, current| plain(if n == 700 { 698 } else { n }, current));
    let same = rows("t [s],I [uA]", |n, current| format!("{:.2},{current:.3}\n", f64::from(n) * 1e-3));
    let no_time =
        rows("t [ms],I [uA]", |n, current| if n == 40 { format!(",{current:.3}\n") } else { plain(n, current) });
    let text = rows("t [ms],I [uA]", |n, current| if n == 40 { "40,OVER\n".to_owned() } else { plain(n, current) });
    let clock = rows("t [s],I [uA]", |n, current| if n == 9 { "12:00:01,5\n".to_owned() } else { plain(n, current) });
    let good = rows("t [ms],I [uA]", plain);
    let volts = rows("t [ms],U [mV]", plain);
    let cases: [(&str, &[&str], &[&str]); 14] = [
        (&clipped, &[], &["a.csv:1102:", "stands at 5 mA for 30 rows", "larger range"]),
        (&back, &[], &["a.csv:702:", "goes back by 1 ms from line 701", "sort the rows"]),
        (&same, &[], &["a.csv:3:", "the same as in line 2", "more digits"]),
        (&no_time, &[], &["a.csv:42:", "the time is missing", "leave a missing current empty"]),
        (&text, &[], &["a.csv:42:", "`OVER` is not a number", "leave it empty"]),
        (&clock, &[], &["a.csv:11:", "`12:00:01` is not a number", "seconds since the start"]),
        (&volts, &[], &["a.csv:", "gives a voltage (`U [mV]`) and no current", "--shunt"]),
        (&volts, &["--shunt", "0 Ohm"], &["a shunt of 0 Ohm"]),
        (&good, &["--shunt", "1 Ohm"], &["has a current already", "leave out --shunt"]),
        (&good, &["--voltage", "3.7"], &["the unit is missing"]),
        (&good, &["--threshold", "0 mA"], &["--threshold must be more than zero"]),
        ("1,2\n3,4\n", &[], &["a.csv:1:", "no heading", "t [ms],I [uA]"]),
        ("t [s],I [A]\n", &[], &["no row with two numbers"]),
        ("t [s],I [A]\n0,1\n", &[], &["fewer than two rows"]),
    ];
    for (text, args, expected) in cases {
        let (status, out, errors) = on(text, args);
        assert_eq!((status, out.as_str()), (Some(2), ""), "{errors}");
        let flat = errors.split_whitespace().collect::<Vec<_>>().join(" ");
        expected.iter().for_each(|part| assert!(flat.contains(part), "{part}: {errors}"));
    }
}

#[test]
fn no_bytes_make_it_panic() {
    let binary: Vec<u8> = (0..200_000_u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
    let long = [b"t [s],I [A]\n0,1\n".to_vec(), vec![b'1'; 600_000]].concat();
    let huge = b"t [s],I [A]\n0,1e300\n1e300,-1e300\n2e300,1e300\n3e300,0\n".to_vec();
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes, status) in [("binary", binary, 2), ("long", long, 2), ("huge", huge, 0), ("empty", Vec::new(), 2)]
    {
        std::fs::write(folder.path().join(name), bytes).unwrap();
        let output = run(folder.path(), &[name]);
        assert_eq!(output.status.code(), Some(status), "{name}: {}", String::from_utf8_lossy(&output.stderr));
    }
    assert_eq!(run(folder.path(), &["."]).status.code(), Some(2));
    assert_eq!(run(folder.path(), &["none.csv"]).status.code(), Some(2));
}

#[test]
fn the_demo_is_compared_and_its_profile_written() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("measured.toml");
    let args = [
        "screens-demo/traces/bench-current.csv",
        "--against",
        "screens-demo",
        "--temperature",
        "22 °C",
        "--profile",
        out.to_str().unwrap(),
    ];
    let output = run(root, &args);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    for part in ["full: a full refresh", "largest error: drive, full", "mainly by its time", "profile written to"] {
        assert!(text.contains(part), "{part}: {text}");
    }
    assert!(std::fs::read_to_string(&out).unwrap().contains("[partial]"));
    // Without a temperature a caution stands there; the project's own is taken only when it is asked for.
    let bare = String::from_utf8(run(root, &args[..3]).stdout).unwrap();
    assert!(bare.contains("caution: the temperature of the") && bare.contains("at 25 °C"), "{bare}");
    let asked = String::from_utf8(run(root, &[&args[..4], &["project"]].concat()).stdout).unwrap();
    assert!(!asked.contains("caution") && !asked.contains("at 25 °C and"), "{asked}");
    assert_eq!(run(root, &[args[0], "--temperature", "project"]).status.code(), Some(2));
    let cold = run(root, &[&args[..4], &["-40 °C"]].concat());
    assert_eq!(cold.status.code(), Some(2));
    assert!(String::from_utf8(cold.stderr).unwrap().contains("from 0 °C to 50 °C"));
}

/// The smallest and the largest value of each measure stand in columns of their own, in the unit of their heading; of one
/// update alone there is just its value.
#[test]
fn each_measure_of_a_phase_has_its_min_and_max_in_columns() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = String::from_utf8(run(root, &["screens-demo/traces/bench-current.csv"]).stdout).unwrap();
    let mut lines = text.lines().skip_while(|line| !line.trim_start().starts_with("phase"));
    let heading = lines.next().unwrap();
    assert_eq!(heading.split_whitespace().filter(|word| *word == "min" || *word == "max").count(), 6, "{heading}");
    let drive = lines.find(|line| line.trim_start().starts_with("drive")).unwrap();
    let numbers: Vec<f64> = drive.split_whitespace().skip(1).map(|word| word.parse().unwrap()).collect();
    assert_eq!(numbers.len(), 10, "{drive}");
    for measure in numbers.chunks(3).take(3) {
        assert!(measure[1] <= measure[0] && measure[0] <= measure[2], "{drive}");
    }
    assert!(numbers[1] < numbers[2] && numbers[7] < numbers[8], "{drive}");
    let (_, one, _) = on(&rows("t [ms],I [uA]", |n, current| format!("{n},{current:.3}\n")), &[]);
    let heading = one.lines().find(|line| line.trim_start().starts_with("phase")).unwrap();
    assert!(!heading.contains("min"), "{heading}");
}
