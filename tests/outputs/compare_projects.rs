//! `compare`: figures equal each project's own budget, pictures are counted, revisions come from git.

use crate::starter::{Project, Shown, run};
use serde_json::Value;
use std::path::Path;
use std::process::Command;

fn compare(arguments: &[&str]) -> Value {
    let shown = run(&[&["compare"], arguments, &["--format", "json"]].concat());
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    serde_json::from_str(&shown.stdout).expect("JSON alone on standard output")
}

fn budget(project: &str) -> Value {
    serde_json::from_str(&run(&["budget", project, "--format", "json"]).stdout).expect("JSON")
}

#[test]
fn figures_are_those_of_each_budget() {
    let project = Project::new();
    let both = compare(&["screens-demo", project.path()]);
    for (index, name) in ["screens-demo", project.path()].into_iter().enumerate() {
        let own = budget(name);
        for (key, pointer) in [
            ("frame_bytes", "/panel/frame_bytes"),
            ("flash_bytes", "/memory/flash_bytes/total"),
            ("energy_per_day_j", "/per_day/energy_j"),
            ("full_per_day", "/per_day/full"),
            ("latency_p95_s", "/per_day/latency_s/p95"),
            ("minimum_energy_per_day_j", "/policy/minimum_energy_j"),
            ("usable_charge_c", "/battery/usable_c"),
            ("supply_voltage_v", "/battery/v_min_under_peak"),
            ("life_p10_days", "/life/days/p10"),
            ("life_days", "/life/days/p50"),
            ("life_p90_days", "/life/days/p90"),
        ] {
            let (ours, theirs) = (&both["projects"][index]["figures"][key], own.pointer(pointer).expect(pointer));
            assert_eq!(ours.as_f64(), theirs.as_f64(), "{key} of {name}");
        }
    }
}

/// Pixels that differ between two PBM files (P4, `pbm(5)`), counted on their own bytes.
fn differing(a: &Path, b: &Path) -> u32 {
    let (a, b) = (std::fs::read(a).expect("an image"), std::fs::read(b).expect("an image"));
    assert_eq!(a.len(), b.len());
    a.iter().zip(&b).map(|(a, b)| (a ^ b).count_ones()).sum()
}

#[test]
fn pictures_that_differ_are_counted_pixel_by_pixel() {
    let (old, new) = (Project::new(), Project::new());
    let title = std::fs::read_to_string(new.folder().join("screens/home.toml")).expect("the starter's screen");
    let line = title.lines().find(|line| line.contains("text = \"")).expect("a text").to_owned();
    let changed = line.replacen("text = \"", "text = \"W", 1);
    new.edit("screens/home.toml", &line, &changed);
    let pictures = tempfile::tempdir().expect("a folder");
    for (name, project) in [("old", &old), ("new", &new)] {
        let out = pictures.path().join(name);
        let shown = run(&["render", project.path(), "--to", "pbm", "--out", out.to_str().expect("a plain path")]);
        assert_eq!(shown.status, 0, "{}", shown.stderr);
    }
    let expected = differing(&pictures.path().join("old/home.pbm"), &pictures.path().join("new/home.pbm"));
    assert!(expected > 0);
    let both = compare(&[old.path(), new.path()]);
    let found = &both["projects"][1]["images"];
    assert_eq!(found.as_array().map(Vec::len), Some(1), "{found}");
    assert_eq!(found[0]["screen"], "home");
    assert_eq!(found[0]["changed_px"], expected);
    assert_eq!(both["projects"][0]["images"].as_array().map(Vec::len), Some(0), "the first against itself");
}

fn git(folder: &Path, arguments: &[&str]) {
    let quiet = ["-c", "user.name=Test", "-c", "user.email=test@example.org", "-c", "commit.gpgsign=false"];
    let ended = Command::new("git").arg("-C").arg(folder).args(quiet).args(arguments).output().expect("git runs");
    assert!(ended.status.success(), "{}", String::from_utf8_lossy(&ended.stderr));
}

/// A project under git whose panel sleeps at 1 uA in the first revision and at 9 uA in the work tree.
fn versioned() -> Project {
    let project = Project::new();
    git(project.folder(), &["init", "-q"]);
    git(project.folder(), &["add", "."]);
    git(project.folder(), &["commit", "-q", "-m", "first"]);
    project
}

#[test]
fn a_revision_is_what_was_committed() {
    let project = versioned();
    let before = budget(project.path());
    let text = std::fs::read_to_string(project.folder().join("device.toml")).expect("the starter");
    project.write("device.toml", format!("{text}\n[board.loads.extra]\ncurrent = \"50 uA\"\n").as_bytes());
    let revision = format!("{}@HEAD", project.path());
    let both = compare(&[&revision, project.path()]);
    let life = |index: usize| both["projects"][index]["figures"]["life_days"].as_f64().expect("a life");
    assert_eq!(Some(life(0)), before.pointer("/life/days/p50").and_then(Value::as_f64));
    assert!(life(1) < life(0), "one more load, a shorter life");
    assert_eq!(both["projects"][0]["images_compared"], both["projects"][1]["images_compared"]);
}

#[test]
fn a_folder_that_has_gone_can_still_be_read_from_its_revision() {
    let root = tempfile::tempdir().expect("a folder");
    let project = Project::new();
    let place = root.path().join("designs/old");
    std::fs::create_dir_all(place.parent().expect("a parent")).expect("made");
    let shown = run(&["new", place.to_str().expect("a plain path")]);
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    git(root.path(), &["init", "-q"]);
    git(root.path(), &["add", "."]);
    git(root.path(), &["commit", "-q", "-m", "first"]);
    std::fs::remove_dir_all(root.path().join("designs")).expect("removed");
    let both = compare(&[&format!("{}@HEAD", place.display()), project.path()]);
    assert_eq!(both["projects"][0]["figures"]["life_days"], both["projects"][1]["figures"]["life_days"]);
}

fn refused(shown: &Shown, words: &str) {
    assert_eq!(shown.status, 2, "{}", shown.stdout);
    assert!(shown.stderr.contains(words), "{}", shown.stderr);
    assert!(shown.stdout.is_empty());
}

#[test]
fn what_cannot_be_compared_says_why() {
    let project = versioned();
    let path = project.path();
    refused(&run(&["compare", path]), "one project alone cannot be compared");
    refused(&run(&["compare", path, &format!("{path}@nowhere")]), "nowhere");
    refused(&run(&["compare", path, &format!("{path}@--help")]), "is no revision");
    let plain = Project::new();
    refused(&run(&["compare", path, &format!("{}@HEAD", plain.path())]), "needs a git repository");
    refused(&run(&["compare", path, "--battery", "lithium-ion-pouhc"]), "did you mean `lithium-ion-pouch`?");
    refused(&run(&["compare", path, "not-there"]), "no such project folder");
}

#[test]
fn without_git_a_revision_says_what_it_needs() {
    let project = versioned();
    let empty = tempfile::tempdir().expect("a folder");
    let output = Command::new(env!("CARGO_BIN_EXE_inkjoule"))
        .args(["compare", project.path(), &format!("{}@HEAD", project.path())])
        .env("PATH", empty.path())
        .output()
        .expect("the program starts");
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(said.contains("cannot run git") && said.contains("install git"), "{said}");
}

#[test]
fn a_profile_is_swapped_and_named() {
    let project = Project::new();
    let small = include_str!("../../src/hardware/batteries/lithium-ion-pouch.toml").replace(
        "min = \"800 mAh\", typ = \"850 mAh\", max = \"870 mAh\"",
        "min = \"400 mAh\", typ = \"425 mAh\", max = \"435 mAh\"",
    );
    project.write("batteries/half.toml", small.as_bytes());
    let both = compare(&[project.path(), "--battery", "lithium-ion-pouch", "half"]);
    let usable = |index: usize| both["projects"][index]["figures"]["usable_charge_c"].as_f64().expect("a charge");
    assert_eq!(both["projects"][2]["label"], "battery half");
    // But for the charge of the last screen, which both keep back.
    assert!((usable(2) / usable(1) - 0.5).abs() < 1e-4, "half the capacity, half the charge");
    let text = run(&["compare", project.path(), "--battery", "half"]).stdout;
    assert!(text.contains("== life ==") && text.contains('-') && text.contains("are the same"), "{text}");
}

/// Alternatives stand side by side, on the command line as well; one that cannot be used is told by `check`.
#[test]
fn alternatives_of_a_project_are_compared_and_checked() {
    let project = Project::new();
    let path = project.folder().join("device.toml");
    let text = std::fs::read_to_string(&path).expect("the file is there");
    let with = |more: &str| std::fs::write(&path, format!("{text}{more}")).expect("written");
    with("[alternatives.thick]\nset = [\"battery.capacity=1700 mAh\"]\n");
    let both = compare(&[project.path()]);
    let usable = |index: usize| both["projects"][index]["figures"]["usable_charge_c"].as_f64().expect("a charge");
    assert_eq!((both["projects"].as_array().map(Vec::len), &both["projects"][1]["label"]), (Some(2), &"thick".into()));
    let plain = json_of(&["budget", project.path()]);
    let thick = json_of(&["budget", project.path(), "--alternative", "thick"]);
    let life = |json: &serde_json::Value| json["life"]["days"]["p50"].as_f64().expect("a life");
    assert!(usable(1) > 1.8 * usable(0) && life(&thick) > 1.5 * life(&plain), "{} and {}", usable(0), usable(1));
    assert_eq!(run(&["check", project.path()]).status, 0);
    refused(&run(&["budget", project.path(), "--alternative", "thin"]), "it has thick");
    // With and without an accessory: the report has all of them beside the project, and none where one is chosen.
    let accessory = "[board.loads.receiver]\nrail = \"main\"\ncurrent = \"90 uA\"\n";
    let without = "[alternatives.without-receiver]\nset = [\"board.loads.receiver.current=0 uA\"]\n";
    with(&format!("{accessory}{without}[alternatives.thick]\nset = [\"battery.capacity=1700 mAh\"]\n"));
    let both = compare(&[project.path()]);
    let days = |index: usize| both["projects"][index]["figures"]["life_days"].as_f64().expect("a life");
    assert!(days(2) > 1.2 * days(0) && days(1) > 1.5 * days(0), "{both:#}");
    let page = |more: &[&str]| {
        let out = project.folder().join("r.html");
        let shown = run(&[&["report", project.path(), "--out", &out.to_string_lossy()][..], more].concat());
        assert_eq!(shown.status, 0, "{}", shown.stderr);
        std::fs::read_to_string(out).expect("a page")
    };
    let text = page(&[]);
    let section = text.split("id=\"alternatives\"").nth(1).and_then(|rest| rest.split("</section>").next());
    let section = section.expect("the report has its section");
    assert!(["thick", "without-receiver", "better"].iter().all(|word| section.contains(word)), "{section}");
    assert!(!page(&["--alternative", "thick"]).contains("id=\"alternatives\""));
    with("[alternatives.odd]\nset = [\"battery.capacitty=1700 mAh\"]\n");
    let shown = run(&["check", project.path()]);
    assert_eq!(shown.status, 1, "{}", shown.stderr);
    let said = shown.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("the alternative `odd` cannot be used: the key `capacitty` is not known here"), "{said}");
    assert!(said.contains("did you mean `capacity`?"), "{said}");
}

fn json_of(arguments: &[&str]) -> serde_json::Value {
    let shown = run(&[arguments, &["--format", "json"]].concat());
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    serde_json::from_str(&shown.stdout).expect("JSON")
}

/// A project alone: what to add is said in words that can be copied, and works.
#[test]
fn a_project_alone_is_told_what_to_compare_with() {
    let project = Project::new();
    let shown = run(&["compare", project.path()]);
    assert_eq!(shown.status, 2);
    assert!(
        shown.stderr.contains("one project alone") && shown.stderr.contains("[alternatives.changed]"),
        "{}",
        shown.stderr
    );
    let set =
        shown.stderr.lines().find(|line| line.contains("set = [")).expect("what to set").trim_matches(['│', ' ', '=']);
    let device = std::fs::read_to_string(project.folder().join("device.toml")).expect("there");
    std::fs::write(project.folder().join("device.toml"), format!("{device}\n[alternatives.changed]\n{set}\n"))
        .expect("written");
    let compared = compare(&[project.path()]);
    let life = |index: usize| compared["projects"][index]["figures"]["life_days"].as_f64().expect("a life");
    assert!(life(1) > life(0), "{compared}");
    // `--set` changes both sides alike.
    let shown = run(&["compare", Project::new().path(), "--set", "board.mcu.sleep=1 uA"]);
    assert!(
        shown.stderr.contains("--set changes every project") && shown.stderr.contains("board.mcu.sleep=1 uA"),
        "{}",
        shown.stderr
    );
}
